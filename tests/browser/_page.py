"""What a page shows, read in the browser, and its switches."""

SHOWN = r"""
const rows = (table) => {
  const titles = table && [...table.tHead.rows[0].cells].slice(1).map((cell) => cell.textContent);
  return !table ? {} : Object.fromEntries([...table.tBodies[0].rows].map((row) =>
    [row.cells[0].textContent, Object.fromEntries(titles.map((title, i) => [title, row.cells[i + 1] ? row.cells[i + 1].textContent : ""]))]));
};
"""
STATE = SHOWN + """
const stated = document.getElementById("stated"), select = document.getElementById("arrangement");
return {
  vessels: rows(document.getElementById("state-vessels")), pumps: rows(document.getElementById("state-pumps")),
  stated: stated.textContent, away: stated.classList.contains("away"), said: document.getElementById("state-said").innerText,
  chosen: select.selectedOptions[0].textContent,
  off: [...document.querySelectorAll("input[data-switch]")].filter((box) => !box.checked).map((box) => box.dataset.id),
};
"""
# The tables of an arrangement's own section, by their captions.
SECTION = SHOWN + """
const details = [...document.querySelectorAll("#arrangements details")].find((one) => one.querySelector("summary").textContent.trim() === arguments[0]);
const clean = (table) => Object.fromEntries(Object.entries(rows(table)).map(([name, row]) => [name.replace(/^[!?] /, ""), row]));
return Object.fromEntries([...details.querySelectorAll("table")].map((table) => [table.caption.textContent, clean(table)]));
"""
# All boxes as they are to stand, told to the page once, as the last click of many would.
SET = """
const off = arguments[0], boxes = [...document.querySelectorAll("input[data-switch]")];
boxes.forEach((box) => { box.checked = !off.includes(box.dataset.id); });
boxes[0].dispatchEvent(new Event("change", {bubbles: true}));
"""
# How the water and the labels of the drawing stand.
DRAWING = """
const things = (kind) => [...document.querySelectorAll(".profile-box > svg .thing[data-" + kind + "]")], text = (one) => one ? one.textContent : null;
const name = (group) => group.dataset.name.replace(/^\\S+ /, "");
const height = (group, part) => Number(group.querySelector(part).getAttribute("height"));
return {
  vessels: Object.fromEntries(things("vessel").map((g) => [name(g), {water: height(g, ".water"), room: height(g, ".room"), depth: text(g.querySelector(".depth")),
                                                                      seen: g.querySelector(".water").getBoundingClientRect().height, told: g.getAttribute("aria-label")}])),
  pipes: Object.fromEntries(things("pipe").map((g) => [name(g), {flow: text(g.querySelector(".flow")), told: g.getAttribute("aria-label")}])),
  pumps: Object.fromEntries(things("pump").map((g) => [name(g), {running: g.classList.contains("running"), told: g.getAttribute("aria-label")}])),
  standpipes: Object.fromEntries(things("standpipe").map((g) => [name(g), {tube: height(g, ".tube"), told: g.getAttribute("aria-label")}])),
  line: (() => {  // points of the line of head, where all of them are known
    const chosen = document.querySelector(".profile-paths").selectedOptions[0], marks = [...document.querySelectorAll(".head-mark title")].map(text);
    const points = chosen && chosen.dataset.path ? JSON.parse(chosen.dataset.path).points : [];
    return points.length === marks.length ? points.map((point, i) => [point.follows, point.vessel, point.index, marks[i]]) : [];
  })(),
  valves: Object.fromEntries(things("valve").map((g) => [name(g), {shut: g.classList.contains("shut"), told: g.getAttribute("aria-label")}])),
};
"""


def state(browser):
    return browser.js(STATE)


def section(browser, arrangement):
    return browser.js(SECTION, arrangement)


def set_off(browser, off):
    browser.js(SET, list(off))


def drawing(browser):
    return browser.js(DRAWING)


def click_switch(browser, name):
    """As a finger does: on the switch, wherever it lies."""
    browser.js("return [...document.querySelectorAll('input[data-switch]')].find((box) => box.dataset.id === arguments[0])", name).click()


def choose(browser, arrangement):
    browser.js("""const select = document.getElementById("arrangement");
        select.selectedIndex = [...select.options].findIndex((one) => one.textContent === arguments[0]);
        select.dispatchEvent(new Event("change", {bubbles: true}));""", arrangement)
