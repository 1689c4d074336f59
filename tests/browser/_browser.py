"""A browser without a window, and what it noticed: messages of its console, requests, errors, what the content policy refused."""
import json
import os
import shutil
import time
import urllib.parse

from selenium import webdriver
from selenium.common.exceptions import NoAlertPresentException, UnexpectedAlertPresentException
from selenium.webdriver.chrome.options import Options
from selenium.webdriver.chrome.service import Service

CHROMIUM, CHROMEDRIVER = shutil.which("chromium") or "chromium", shutil.which("chromedriver") or "chromedriver"

# Runs before anything of the page: notes what goes wrong in it, and when it says that it is ready. It is no part of the page, and its policy does not bind it.
WATCHER = """
window.noticed = [];
addEventListener("error", (event) => noticed.push("error: " + (event.message || event.target.outerHTML)), true);
addEventListener("unhandledrejection", (event) => noticed.push("unhandled: " + event.reason));
addEventListener("securitypolicyviolation", (event) => noticed.push("policy: " + event.violatedDirective + " " + event.blockedURI));
new MutationObserver(() => { if (window.ready_at === undefined) window.ready_at = performance.now(); })
    .observe(document, {subtree: true, attributes: true, attributeFilter: ["data-ready"]});
"""


def address_of(path):
    return "file://" + urllib.parse.quote(os.path.abspath(path))


class Browser:
    """Chromium with a profile of its own, driven by chromedriver."""

    def __init__(self, folder):
        options = Options()
        options.binary_location = CHROMIUM
        for word in ("--headless=new", "--disable-gpu", "--disable-dev-shm-usage", "--disable-background-networking", "--disable-component-update",
                     "--no-first-run", "--no-default-browser-check", "--window-size=1280,900", "--user-data-dir=" + os.path.join(folder, "profile")):
            options.add_argument(word)
        if os.geteuid() == 0:
            options.add_argument("--no-sandbox")  # Chromium's sandbox refuses to start as root
        options.set_capability("goog:loggingPrefs", {"browser": "ALL", "performance": "ALL"})
        options.set_capability("unhandledPromptBehavior", "ignore")
        self.driver = webdriver.Chrome(service=Service(CHROMEDRIVER), options=options)
        self.driver.set_script_timeout(30)
        self.cdp("Page.addScriptToEvaluateOnNewDocument", source=WATCHER)
        self.driver.get("about:blank")

    def close(self):
        self.driver.quit()

    def cdp(self, command, **arguments):
        return self.driver.execute_cdp_cmd(command, arguments)

    def js(self, source, *arguments):
        return self.driver.execute_script(source, *arguments)

    def open(self, path, wait_ready=True):
        """From nothing: what was noticed before is forgotten."""
        self.driver.get("about:blank")
        self.driver.get_log("performance")
        self.driver.get_log("browser")
        self.driver.get(address_of(path))
        end = time.monotonic() + 20
        while wait_ready and not self.ready() and time.monotonic() < end:
            time.sleep(0.02)

    def ready(self):
        return self.js("return document.documentElement.dataset.ready === 'yes'")

    def ready_after_ms(self):
        return self.js("return window.ready_at")

    def noticed(self):
        """All that a person with the console open would see, and more."""
        return [f"console: {entry['message']}" for entry in self.driver.get_log("browser")] + self.js("return window.noticed")

    def requests(self):
        events = [json.loads(entry["message"])["message"] for entry in self.driver.get_log("performance")]
        return [event["params"]["request"]["url"] for event in events if event["method"] == "Network.requestWillBeSent"]

    def alert(self):
        """The words of a dialog that is open, else None."""
        try:
            opened = self.driver.switch_to.alert
            words = opened.text
            opened.dismiss()
            return words
        except (NoAlertPresentException, UnexpectedAlertPresentException):
            return None

    def window(self, width, height=900):
        self.cdp("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)

    def scheme(self, name):
        self.cdp("Emulation.setEmulatedMedia", media="", features=[{"name": "prefers-color-scheme", "value": name}])
