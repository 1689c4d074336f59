"""Whether everybody can read the page: by keyboard and by ear, without script, on paper, in the light and in the dark, on a narrow screen, and whether it
is HTML at all.

    looks.py PROGRAM"""
import base64
import os
import re
import subprocess
import sys

from selenium.webdriver.common.keys import Keys

sys.path.append(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "cli"))
import _page as page_of  # noqa: E402
from _figures import flows_tables  # noqa: E402
from _pages import ASKED, FARM, check, is_html, look  # noqa: E402

LEAST_CONTRAST = 4.5            # WCAG 2.1, 1.4.3, text of usual size
A4, LETTER = (8.27, 11.69), (8.5, 11.0)
# Pages of paper, as looked at in 2025: the farm takes 26 and the first example 13 on either paper; with a quarter more something has come loose.
MOST_SHEETS = {"farm": 33, "first": 17}

# Every text that is seen, with the ground it stands on: pairs of colours with their contrast. Text in the drawing may stand on paper, on the room of a
# vessel or on its water: each is looked at.
CONTRASTS = r"""
const parse = (colour) => { const m = colour.match(/^rgba?\(([^)]*)\)$/), v = m && m[1].split(/[ ,\/]+/).map(Number); return v && [v[0], v[1], v[2], v.length > 3 ? v[3] : 1]; };
const over = (top, low) => [0, 1, 2].map((i) => top[i] * top[3] + low[i] * (1 - top[3])).concat(1);
const light = (c) => [0.2126, 0.7152, 0.0722].reduce((sum, share, i) => { const v = c[i] / 255; return sum + share * (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); }, 0);
const contrast = (a, b) => { const [low, high] = [light(a), light(b)].sort((x, y) => x - y); return (high + 0.05) / (low + 0.05); };
const grounds = new Map(), shades = new Map(), found = {};
function ground(one) {
  if (!one) return [255, 255, 255, 1];
  if (!grounds.has(one)) grounds.set(one, over(parse(getComputedStyle(one).backgroundColor), ground(one.parentElement)));
  return grounds.get(one);
}
function shade(one) {
  if (!one) return 1;
  if (!shades.has(one)) shades.set(one, Number(getComputedStyle(one).opacity) * shade(one.parentElement));
  return shades.get(one);
}
for (const one of document.body.querySelectorAll("*")) {
  if (["script", "style", "noscript", "title", "option"].includes(one.tagName.toLowerCase()) || !one.getClientRects().length) continue;
  if (![...one.childNodes].some((node) => node.nodeType === 3 && node.textContent.trim())) continue;
  const style = getComputedStyle(one), svg = one instanceof SVGElement, colour = parse(svg ? style.fill : style.color), on = [ground(svg ? one.closest("svg").parentElement : one)];
  if (style.visibility !== "visible") continue;
  const vessel = svg && one.closest(".vessel");
  for (const part of vessel ? [".room", ".water"] : []) {
    const paint = getComputedStyle(vessel.querySelector(part)), fill = parse(paint.fill);
    if (fill) on.push(over([...fill.slice(0, 3), fill[3] * Number(paint.fillOpacity)], on[on.length - 1]));
  }
  for (const under of on) {
    const seen = over([...colour.slice(0, 3), colour[3] * shade(one)], under), pair = seen.map(Math.round).join() + " on " + under.map(Math.round).join();
    if (!found[pair]) found[pair] = {contrast: contrast(seen, under), texts: 0, such: one.tagName + "." + (svg ? one.className.baseVal : one.className) + " '" + one.textContent.trim().slice(0, 40) + "'"};
    found[pair].texts++;
  }
}
return found;
"""
PLACES = """
const ids = [...document.querySelectorAll("[id]")].map((one) => one.id), known = new Set(ids);
const points = [...document.querySelectorAll("[href^='#'], [aria-labelledby], [aria-describedby], [for]")].map((one) =>
  (one.getAttribute("href") || "").slice(1) || one.getAttribute("aria-labelledby") || one.getAttribute("aria-describedby") || one.getAttribute("for"));
return {
  twice: ids.filter((id, i) => ids.indexOf(id) !== i), nowhere: points.filter((id) => !known.has(id)),
  bare: [...document.querySelectorAll("table")].filter((table) => !table.caption || !table.caption.textContent.trim()).length,
  mute: [...document.querySelectorAll("svg")].filter((svg) => svg.checkVisibility() && !(["img", "group"].includes(svg.getAttribute("role")) && svg.getAttribute("aria-label")) &&
    !(svg.getAttribute("aria-hidden") === "true" && svg.parentElement.textContent.trim().length > 2)).length,  // a sign beside the words that say what it is
  pictures: document.querySelectorAll("svg[role=img]").length, tables: document.querySelectorAll("table").length,
};
"""
# A drawing of which nothing is to be seen: a path without a way. The line of head may have none: where no way is chosen there is nothing to draw.
DRAWN = """
const paths = [...document.querySelectorAll("svg path")];
return {sections: [...document.querySelectorAll("main > section")].map((one) => one.id), plots: document.querySelectorAll("svg.plot").length, paths: paths.length,
        empty: paths.filter((path) => !/^M/.test(path.getAttribute("d") || "") && !path.classList.contains("head-line")).length,
        tables: document.querySelectorAll("table").length};
"""


# ------------------------------------------------------------------------------------------ keyboard and ear

def focused(browser):
    return browser.js("const one = document.activeElement; return one.id || one.getAttribute('data-id') || one.className || one.tagName;")


def press(browser, keys):
    browser.driver.switch_to.active_element.send_keys(keys)


def keyboard(browser, pages):
    browser.open(pages.made("first"))
    press(browser, Keys.TAB)
    check(focused(browser) == "skip", "the first key leads to the link that skips", focused(browser))
    shown = browser.js("const r = document.activeElement.getBoundingClientRect(); return r.left >= 0 && r.top >= 0 && r.width > 20;")
    check(shown, "which is seen then")
    press(browser, Keys.ENTER)
    press(browser, Keys.TAB)
    check(browser.js("return location.hash === '#main' && document.getElementById('main').contains(document.activeElement)"), "it leads past the list of contents", focused(browser))
    stops = 0
    while focused(browser) != "arrangement" and stops < 400:
        press(browser, Keys.TAB)
        stops += 1
    check(focused(browser) == "arrangement", "the choice of an arrangement is reached", focused(browser))
    print(f"stops from the skip link to the choice of an arrangement, first.xml: {stops}")
    before = page_of.state(browser)
    press(browser, Keys.ARROW_DOWN)
    check(page_of.state(browser)["chosen"] == "bed off" and page_of.state(browser)["stated"] == "Shown: 'bed off'", "an arrow chooses the next", page_of.state(browser)["stated"])
    press(browser, Keys.ARROW_UP)
    while browser.js("return !document.activeElement.dataset.switch") and stops < 400:
        press(browser, Keys.TAB)
        stops += 1
    name = focused(browser)
    press(browser, Keys.SPACE)
    shown = page_of.state(browser)
    check(shown["off"] == [name] and shown["stated"].endswith(f"off: {name}") and shown["vessels"] != before["vessels"], f"Space turns {name} off", shown["stated"])
    outline = browser.js("const style = getComputedStyle(document.activeElement); return style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2;")
    check(outline, "where the keys go to is seen")
    press(browser, Keys.SPACE)
    check(page_of.state(browser)["vessels"] == before["vessels"], "and on again")


def names(browser, path):
    browser.open(path)
    nodes = [node for node in browser.cdp("Accessibility.getFullAXTree")["nodes"] if not node["ignored"]]
    what = lambda node: (node["role"]["value"], node.get("name", {}).get("value", ""))  # noqa: E731
    holds = lambda node, name: any(one["name"] == name and one["value"].get("value") for one in node.get("properties", []))  # noqa: E731
    can_be_used = [what(node) for node in nodes if holds(node, "focusable") and node["role"]["value"] != "RootWebArea"]
    check(len(can_be_used) > 20 and all(name.strip() for _, name in can_be_used), "all that can be reached has a name", [one for one in can_be_used if not one[1].strip()])
    switches = [name for role, name in can_be_used if role == "switch"]
    boxes = browser.js("return [...document.querySelectorAll('input[data-switch]')].map((box) => box.dataset.id)")
    check(len(switches) == len(boxes) and all(box in name for box, name in zip(boxes, switches)), "switches are named by what they switch", switches)
    pictures = [name for role, name in map(what, nodes) if role in ("image", "img", "graphics-symbol")]
    check(pictures and all(name.strip() for name in pictures), "every picture says what it shows", len(pictures))
    places = browser.js(PLACES)
    check(places["bare"] == 0 and places["tables"] > 5, "every table has a caption", places)
    check(places["mute"] == 0 and places["pictures"] > 2, "every drawing has a label", places)
    check(places["twice"] == [] and places["nowhere"] == [], "no id is there twice, none is missing", (places["twice"][:5], places["nowhere"][:5]))


# ------------------------------------------------------------------------------------------ eyes

def colours(browser, path, name, scheme):
    browser.scheme(scheme)
    browser.open(path)
    dark = browser.js("return matchMedia('(prefers-color-scheme: dark)').matches")
    check(dark == (scheme == "dark"), f"the {scheme} scheme is emulated")
    found = browser.js(CONTRASTS)
    pale = {pair: one for pair, one in found.items() if one["contrast"] < LEAST_CONTRAST}
    check(len(found) > 8 and not pale, f"{name}, {scheme}: text stands out from its ground by {LEAST_CONTRAST} to 1", pale)
    paper = [pair.split(" on ")[1] for pair in found]
    check(any(sum(map(int, one.split(",")[:3])) < 200 for one in paper) == (scheme == "dark"), f"{name}: the ground is {scheme}", sorted(set(paper)))
    browser.scheme("light")





# ------------------------------------------------------------------------------------------ without script, on paper, as HTML

def without_script(browser, pages):
    browser.open(pages.made("farm"))
    with_script = browser.js(DRAWN)
    browser.cdp("Emulation.setScriptExecutionDisabled", value=True)
    browser.open(pages.made("farm"), wait_ready=False)
    check(not browser.ready(), "no script of the page runs")
    seen = browser.js(DRAWN)
    check(seen == with_script and len(seen["sections"]) > 12 and seen["plots"] > 10, "without script all sections, tables and plots are there", (seen, with_script))
    check(seen["empty"] == 0 and seen["paths"] > 100, "and drawn", seen)
    note = browser.js("const note = document.querySelector('noscript p').getBoundingClientRect(); return note.width > 100 && note.height > 10;")
    check(note and "scripts" in browser.js("return document.querySelector('noscript').innerText"), "and the note on scripts is seen")
    shown = page_of.state(browser)
    gets = {name: row["gets"] for name, row in shown["vessels"].items()}
    check(gets == {name: row["gets"] for name, row in flows_tables(FARM, "coupled")["vessel"].items()}, "with the figures of the first arrangement", gets)
    check(browser.js("return [...document.querySelectorAll('input, #arrangement, #reset')].every((one) => one.disabled)"), "what needs a script cannot be used")
    browser.cdp("Emulation.setScriptExecutionDisabled", value=False)


def on_paper(browser, pages, name):
    for paper, (width, height) in (("A4", A4), ("Letter", LETTER)):
        browser.open(pages.made(name))
        path = pages.path(f"{name}-{paper}.pdf")
        with open(path, "wb") as file:
            file.write(base64.b64decode(browser.cdp("Page.printToPDF", paperWidth=width, paperHeight=height, preferCSSPageSize=False)["data"]))
        told = subprocess.run(["pdfinfo", path], capture_output=True, encoding="utf-8", check=True).stdout
        sheets = int(re.search(r"Pages:\s+(\d+)", told).group(1))
        check(5 <= sheets <= MOST_SHEETS[name], f"{name} takes at most {MOST_SHEETS[name]} sheets of {paper}", sheets)
        print(f"{name} on {paper}: {sheets} sheets")
        texts = subprocess.run(["pdftotext", "-layout", path, "-"], capture_output=True, encoding="utf-8", check=True).stdout.split("\f")[:sheets]
        blank = [number + 1 for number, text in enumerate(texts) if len(text.split()) < 5]
        check(len(texts) == sheets and not blank, f"{name} on {paper}: no sheet is blank", blank)
        begins = [text.strip().split("\n")[0].strip() for text in texts]
        for heading in ("Commissioning sheet", "When the power fails", "Setting out", "Bill of materials"):
            alone = [number + 1 for number, text in enumerate(texts) if re.search(rf"^\s*{heading}\s*$", text, re.M)]
            check(begins.count(heading) == 1 and len(alone) == 1, f"{name} on {paper}: '{heading}' begins on a sheet of its own", (alone, begins))
        words_on_the_sheet(path, f"{name} on {paper}")


def words_on_the_sheet(path, what):
    """A table wider than the paper would be cut off at its edge."""
    boxes = subprocess.run(["pdftotext", "-bbox", path, "-"], capture_output=True, encoding="utf-8", check=True).stdout
    lost, width = [], 0.0
    for line in boxes.splitlines():
        if found := re.search(r'<page width="([\d.]+)"', line):
            width = float(found.group(1))
        elif found := re.search(r'<word xMin="(-?[\d.]+)" .*xMax="(-?[\d.]+)" [^>]*>(.*)</word>', line):
            if float(found.group(1)) < -1 or float(found.group(2)) > width + 1:
                lost.append(found.group(3))
    check(width > 0 and not lost, f"{what}: no word lies beyond the edge of the paper", lost[:20])


def names_of_both(browser, pages):
    for name in ("farm", "first"):
        names(browser, pages.made(name))


def colours_of_both(browser, pages):
    for name in ("farm", "first"):
        for scheme in ("light", "dark"):
            colours(browser, pages.made(name), name, scheme)


def paper(browser, pages):
    for name in ("farm", "first"):
        on_paper(browser, pages, name)


def all_are_html(_, pages):
    for name in ASKED:
        is_html(pages, name)


if __name__ == "__main__":
    look({"keyboard": keyboard, "names": names_of_both, "colours": colours_of_both, "paper": paper, "without script": without_script, "HTML": all_are_html})
