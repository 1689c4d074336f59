"""Names that want to be markup or script, names without end, one vessel, three hundred, elevations beyond sense: the page of `report` opens, shows names letter by
letter, runs nothing but its own scripts, and draws every vessel beside the others; a narrow window does not scroll sideways.

    hostile.py PROGRAM"""
import os
import sys

sys.path.append(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "cli"))
import _page as page_of  # noqa: E402
from _browser import address_of  # noqa: E402
from _hostile import NAMES  # noqa: E402
from _pages import HOSTILE, check, is_html, look  # noqa: E402

ELEMENTS = """
const all = [...document.querySelectorAll("*")], attributes = all.flatMap((one) => [...one.attributes].map((a) => [a.name.toLowerCase(), a.value]));
return {
  elements: [...new Set(all.map((one) => one.tagName.toLowerCase()))], scripts: document.scripts.length,
  handlers: attributes.filter(([name]) => name.startsWith("on")).map(([name]) => name),
  links: attributes.filter(([name, value]) => ["href", "src", "xlink:href", "action", "srcdoc"].includes(name) && !value.startsWith("#")).map((pair) => pair.join("=")),
};
"""


def honest_elements(browser, pages):
    """What kinds of elements the pages of the examples have; they too lie within their window."""
    seen = set()
    for name in ("farm", "first", "inserts"):
        browser.open(pages.made(name))
        seen |= set(browser.js(ELEMENTS)["elements"])
        vessels_apart(browser, name)
        not_sideways(browser, name)
    return seen


def hostile_pages(browser, pages):
    honest = honest_elements(browser, pages)
    for name in HOSTILE:
        path = pages.made(name)
        browser.window(1280)
        browser.open(path)
        check(browser.alert() is None, f"{name}: no dialog opens")
        check(browser.ready(), f"{name}: the page is ready")
        check(browser.noticed() == [], f"{name}: nothing is noticed", browser.noticed())
        check(browser.requests() == [address_of(path)], f"{name}: nothing is asked for")
        nothing_injected(browser, honest, name)
        vessels_apart(browser, name)
        not_sideways(browser, name)
        is_html(pages, name)
    names_as_they_are(browser, pages)
    nothing_injected(browser, honest, "markup, after all was switched")
    check(browser.noticed() == [], "markup, after all was switched: nothing is noticed", browser.noticed())


def names_as_they_are(browser, pages):
    browser.open(pages.made("markup"))
    names = NAMES
    shown = page_of.state(browser)
    check({names["tank"], names["bed"], names["sump"]} == set(shown["vessels"]) and names["pump"] in shown["pumps"], "names are shown letter by letter", shown["vessels"])
    check(browser.js("return document.querySelector('h1').textContent") == names["layout"] and browser.driver.title.startswith("</title>"), "so is that of the layout")
    for arrangement in (names["second"], names["third"], names["first"]):
        page_of.choose(browser, arrangement)
        check(page_of.state(browser)["stated"] == f"Shown: '{arrangement}'", "arrangements are named letter by letter", page_of.state(browser)["stated"])
    for valve in (names["valve"], names["valve2"]):
        page_of.click_switch(browser, valve)
        check(page_of.state(browser)["stated"].endswith(f"off: {valve}"), "so are switches", page_of.state(browser)["stated"])
        page_of.click_switch(browser, valve)
    check(browser.alert() is None and not browser.js("return window.pwned"), "nothing ran meanwhile")


def nothing_injected(browser, honest, name):
    seen = browser.js(ELEMENTS)
    check(seen["scripts"] == 3 and browser.js("return window.pwned") is None, f"{name}: three scripts, all of them ours", seen["scripts"])
    check(set(seen["elements"]) <= honest, f"{name}: no element that the honest pages have not", sorted(set(seen["elements"]) - honest))
    check(not {"img", "iframe", "object", "embed", "form", "link"} & set(seen["elements"]), f"{name}: nothing that loads", seen["elements"])
    check(seen["handlers"] == [] and seen["links"] == [], f"{name}: no handlers in attributes, no links that lead away", (seen["handlers"], seen["links"]))


def vessels_apart(browser, name):
    seen = browser.js("""
        const drawn = [...document.querySelectorAll(".profile-box > svg .thing[data-vessel]")].map((one) => [one.dataset.name, one.querySelector(".room").getBoundingClientRect()]);
        const across = (a, b) => Math.min(a.right, b.right) - Math.max(a.left, b.left) > 0.5 && Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 0.5;
        return {drawn: drawn.length, told: document.querySelectorAll("#state-vessels tr[data-vessel]").length, sizes: drawn.filter(([, box]) => !(box.width > 1)).length,
                over: drawn.flatMap(([a, box], i) => drawn.slice(0, i).filter(([, other]) => across(box, other)).map(([b]) => a.slice(0, 30) + " and " + b.slice(0, 30)))};""")
    check(seen["drawn"] == seen["told"] > 0 and seen["sizes"] == 0, f"{name}: every vessel is drawn", seen)
    check(seen["over"] == [], f"{name}: no vessel lies over another", (len(seen["over"]), seen["over"][:5]))


def not_sideways(browser, name):
    for width in (390, 1280):
        browser.window(width)
        is_wide = browser.js("return document.documentElement.scrollWidth")
        check(is_wide <= width, f"{name}: nothing lies beyond a window {width} wide", (is_wide, browser.js("""
            return [...document.querySelectorAll("body *")].filter((one) => one.getBoundingClientRect().right > innerWidth + 1 && !one.closest(".wide, .profile-box, svg"))
              .slice(0, 3).map((one) => one.outerHTML.slice(0, 200));""")))
    browser.window(1280)


if __name__ == "__main__":
    look({"names and sizes": hostile_pages})
