"""The page of `report` in a browser: it opens quietly, asks for nothing, and every figure it shows is what `flows` or `survey` says of the same
conditions, in its tables and in its drawing.

    report.py PROGRAM"""
import functools
import os
import re
import sys

sys.path.append(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "cli"))
import _figures as figures  # noqa: E402
import _page as page_of  # noqa: E402
from _browser import address_of  # noqa: E402
from _pages import FARM, FIRST, check, look, read  # noqa: E402
from _program import PROGRAM, run  # noqa: E402

BEDS = [f"VB{i}" for i in range(1, 7)]


# ------------------------------------------------------------------------------------------ opening

def opens_quietly(browser, pages):
    for name in ("farm", "beds", "first", "us", "inserts"):
        path = pages.made(name)
        browser.open(path)
        check(browser.ready(), f"{name} is ready")
        check(browser.noticed() == [], f"{name} opens without a message, an error or anything refused", browser.noticed())
        check(browser.requests() == [address_of(path)], f"{name} asks for nothing but itself")


def watchers_watch(browser, pages):
    """What is to be noticed is noticed: pages spoilt by hand."""
    text, picture = read(pages.made("first")), '<img src="http://127.0.0.1:9/x.png" alt="">'
    no_policy = re.sub(r'<meta http-equiv="Content-Security-Policy"[^>]*>', "", text)
    for name, spoilt, ready in (("a script that is not ours", text.replace("<main", "<script>window.pwned = true</script><main"), True),
                                ("a picture", text.replace("<main", picture + "<main"), True),
                                ("a changed script", text.replace("\"use strict\";", "\"use strict\"; ", 1), False),
                                ("an error", no_policy.replace("\"use strict\";", "\"use strict\"; nothing.there();", 1), False)):
        browser.open(pages.written("spoilt.html", spoilt), wait_ready=ready)
        check(spoilt != text and browser.noticed() != [] and bool(browser.ready()) == ready, f"{name} is noticed", browser.noticed())
        check(not browser.js("return window.pwned"), f"{name} does not run")
    browser.open(pages.written("spoilt.html", no_policy.replace("<main", picture + "<main")))
    check(len(browser.requests()) == 2, "without the policy a request would be seen")


# ------------------------------------------------------------------------------------------ figures

def same(browser, tables, numbers, what):
    """The page shows what flows says, letter by letter and as numbers."""
    shown = page_of.state(browser)
    check(figures.differences_from_text(shown, tables) == [], f"{what}: as the text of flows", figures.differences_from_text(shown, tables))
    check(figures.differences_from_numbers(shown, numbers) == [], f"{what}: as the numbers of flows", figures.differences_from_numbers(shown, numbers))
    return shown


class Said:
    """What flows says of a layout."""

    def __init__(self, layout, *options):
        self.numbers = figures.flows_numbers(layout, *options)
        units = options if "--units" in options else ()
        self.tables = {name: figures.flows_tables(layout, name, *units) for name in self.numbers}


@functools.cache
def said_of(layout, *options):
    return Said(layout, *options)


def floors():
    return {vessel["id"]: vessel["level_m"] - vessel["depth_m"] for vessel in said_of(FARM).numbers["coupled"]["vessels"]}


def arrangements(browser, path, said, units="si"):
    browser.open(path)
    first = next(iter(said.numbers))
    as_written = page_of.state(browser)
    for name in [*said.numbers, first]:
        page_of.choose(browser, name)
        if units == "si":
            shown = same(browser, said.tables[name], said.numbers[name], f"'{name}' chosen")
        else:
            shown = page_of.state(browser)
            wrong = figures.differences_from_text(shown, said.tables[name])
            check(not wrong, f"'{name}' chosen, in US units: as the text of flows", wrong)
        check(shown["stated"] == f"Shown: '{name}'" and not shown["away"], f"the line says that '{name}' is shown", shown["stated"])
    check(as_written["vessels"] == shown["vessels"] and as_written["pumps"] == shown["pumps"], "the page is written as its script shows the first arrangement")
    check(len({str(table) for table in said.tables.values()}) > len(said.tables) // 2, "arrangements differ, so that one shown for another is seen")


# Flows from drops to cubic metres an hour, vessels from a cup to a lake: every way a figure is written.
SCALES = """<layout name="scales" units="si"><pond id="HIGH" level="6 m"/><pond id="LOW" level="-2 m"/>""" + "".join(
    f"""<tank id="V{i}" floor="0 m" rim="3 m" diameter="{wide} m" start-depth="1 m"/>
    <pipe id="in{i}" from="HIGH" to="V{i}" length="{long} m" bore="{bore} mm"><valve id="W{i}" kind="ball"/></pipe>
    <pipe id="out{i}" from="V{i}" to="LOW" length="{long} m" bore="{bore} mm"/>""" for i, (wide, long, bore) in enumerate(
        ((0.1, 5, 3), (0.1, 5, 150), (1, 20, 10), (1, 30, 65), (1, 8, 90), (1, 60, 30), (20, 10, 200), (60, 90, 20), (900, 50, 12), (90, 900, 3)))) + """
  <arrangement name="open"/><arrangement name="less"><throttle valve="W1" to="20 %"/><throttle valve="W4" to="10 %"/><close valve="W6"/></arrangement></layout>"""


def of_every_size(browser, pages):
    layout = pages.written("scales.xml", SCALES)
    for units in ("si", "us"):
        said = said_of(layout, "--units", units)
        done = run("report", layout, "--output", pages.path("scales.html"), "--units", units)
        check(done.returncode == 0, "report of all scales ends with 0", done.stderr)
        arrangements(browser, pages.path("scales.html"), said, units)
        written = " ".join(cell for tables in said.tables.values() for row in tables["vessel"].values() for cell in row.values())
        ways = ("m3/h", " days", " h ", " min ") if units == "si" else ("gpm", " days", " in", " ft ")
        check(all(way in written for way in ways), f"all ways of writing are met, {units}", written)


def sections(browser, said):
    for name in ("coupled", "bed 3 off", "plant pump failed"):
        own = page_of.section(browser, name)
        for vessel, row in said.tables[name]["vessel"].items():
            seen = {title: own["Vessels"][vessel].get(title) for title in row if title}
            check(seen == {title: cell for title, cell in row.items() if title}, f"the section of '{name}' says of {vessel} what flows says", (seen, row))


def switches(browser, pages):
    """Beds, one at a time, and the plant pump: the same conditions as arrangements of the layout."""
    said = said_of(FARM)
    browser.open(pages.made("farm"))
    for name, arrangement in [(f"VB{i}", f"bed {i} off") for i in range(1, 7)] + [("PP", "plant pump failed"), ("PF", "fish pump failed")]:
        page_of.click_switch(browser, name)
        shown = same(browser, said.tables[arrangement], said.numbers[arrangement], f"{name} clicked off")
        check(shown["stated"] == f"Shown: 'coupled', off: {name}" and not shown["away"], f"the line says that {name} is off", shown["stated"])
        own = page_of.section(browser, arrangement)["Vessels"]
        wrong = [(vessel, title) for vessel, row in shown["vessels"].items() for title in figures.VESSEL_TITLES if row[title] != own[vessel].get(title, "-")]
        check(not wrong, f"{name} off is what the section '{arrangement}' says", wrong)
        page_of.click_switch(browser, name)
        shown = same(browser, said.tables["coupled"], said.numbers["coupled"], f"{name} clicked on again")
        check(shown["stated"] == "Shown: 'coupled', as arranged", "the line says that all is as arranged", shown["stated"])


def several_off(browser, pages):
    """Combinations no arrangement has, written out as arrangements by the test."""
    combinations = (["VB2", "VB5"], ["VB1", "VB4", "VB6", "PP"], BEDS, ["PF", "PP"])
    shut = {name: f'<close valve="{name}"/>' for name in BEDS} | {name: f'<stop pump="{name}"/>' for name in ("PF", "PP")}
    more = "".join(f'<arrangement name="c{i}" based-on="coupled">{"".join(shut[one] for one in off)}</arrangement>' for i, off in enumerate(combinations))
    marker = '<arrangement name="as drawn, at once"'
    farm = pages.written("more.xml", read(FARM).replace(marker, more + marker))
    said = Said(farm, *(word for i in range(len(combinations)) for word in ("--arrangement", f"c{i}")))
    browser.open(pages.made("farm"))
    idle = page_of.state(browser)["off"]  # what the arrangement itself has shut
    for i, off in enumerate(combinations):
        for name in off:
            page_of.click_switch(browser, name)
        shown = same(browser, said.tables[f"c{i}"], said.numbers[f"c{i}"], f"{' '.join(off)} off")
        check(shown["stated"] == f"Shown: 'coupled', off: {', '.join(off)}", "the line names them all", shown["stated"])
        browser.driver.find_element("id", "reset").click()
        shown = page_of.state(browser)
        check(shown["off"] == idle and shown["stated"] == "Shown: 'coupled', as arranged", "'As arranged' returns", (shown["off"], shown["stated"]))


def every_combination(browser, pages):
    """All 64 of the six beds, against the rows of a survey."""
    rows = figures.survey_rows(FARM, " ".join(BEDS), pages.path("each.csv"))
    check(len(rows) == 64, "the survey has 64 rows", len(rows))
    browser.open(pages.made("beds"))
    wrong, stated = [], set()
    for off, row in rows.items():
        page_of.set_off(browser, off)
        shown = page_of.state(browser)
        stated.add(shown["stated"])
        wrong += [(sorted(off), one) for one in figures.differences_from_survey(shown, row, floors())] + ([off] if shown["away"] else [])
    check(not wrong, "all combinations of the six beds are as the survey has them", wrong[:5])
    check(len(stated) == 64, "each says which it is", len(stated))


def inserts(browser, pages):
    """A standpipe, a valve and a pump: each kind of switch."""
    said = said_of(FIRST)
    browser.open(pages.made("inserts"))
    for name, arrangement in (("OB", "short standpipe"), ("VB", "bed off"), ("P1", "pump stopped")):
        page_of.click_switch(browser, name)
        same(browser, said.tables[arrangement], said.numbers[arrangement], f"{name} clicked off")
        lips_are_drawn(page_of.drawing(browser), said.tables[arrangement], f"{name} clicked off")
        page_of.click_switch(browser, name)
    for arrangement, off in (("short standpipe", ["OB"]), ("bed off", ["VB"]), ("pump stopped", ["P1"]), ("both", [])):
        page_of.choose(browser, arrangement)
        check(page_of.state(browser)["off"] == off, f"the switches become what '{arrangement}' is", page_of.state(browser)["off"])


def not_held(browser, pages):
    """A combination the page does not hold is not made up."""
    asked = ["VN1", "VN2", "VT1", "VT2"]
    rows = figures.survey_rows(FARM, " ".join(asked), pages.path("asked.csv"))
    browser.open(pages.made("farm"))
    before = page_of.state(browser)
    idle = before["off"]  # what the arrangement itself has shut
    check(before["stated"] == "Shown: 'coupled'", "the page begins with its first arrangement", before["stated"])
    page_of.set_off(browser, idle + asked)
    shown = page_of.state(browser)
    check("does not hold" in shown["stated"] and shown["away"], "a combination that is not held is said not to be", shown["stated"])
    check(any(name in shown["stated"].split("differs")[-1] for name in asked), "and in what the nearest differs", shown["stated"])
    check(shown["vessels"] == before["vessels"] and shown["stated"].startswith(before["stated"]), "what the figures still are of is still said", shown["stated"])
    browser.driver.find_element("id", "nearest").click()
    shown = page_of.state(browser)
    off = frozenset(shown["off"]) - frozenset(idle)
    left = [name for name in asked if name not in off]
    check(off < frozenset(asked) and left, "the nearest has fewer of them off, and nothing else", shown["off"])
    check(shown["away"] and "nearest" in shown["stated"] and all(name in shown["stated"].split("differs")[1] for name in left), "it says in what it differs", shown["stated"])
    check(all(name in shown["stated"].split("nearest")[0] for name in off), "and which it is", shown["stated"])
    wrong = figures.differences_from_survey(shown, rows[off], floors())
    check(not wrong, "the nearest is as the survey has it", wrong)
    browser.driver.find_element("id", "reset").click()
    shown = page_of.state(browser)
    check(shown["off"] == idle and shown["stated"] == "Shown: 'coupled', as arranged", "'As arranged' returns", (shown["off"], shown["stated"]))


# ------------------------------------------------------------------------------------------ the drawing

def follows(browser, said, path):
    """Water, flows, pumps and valves of the drawing are those of what is chosen."""
    browser.open(path)
    before, first, head_points = page_of.drawing(browser), next(iter(said.numbers)), 0
    for name in [one for one in ("power off", "bed 3 off", "night", "short standpipes", "pump stopped", "bed off", "short standpipe") if one in said.numbers]:
        page_of.choose(browser, name)
        now = page_of.drawing(browser)
        water_moves(before, now, said, first, name)
        flows_are_labelled(now, said.tables[name], name)
        lips_are_drawn(now, said.tables[name], f"'{name}'")
        head_points += head_is_drawn(now, said.numbers[name], f"'{name}'")
        for pump in said.numbers[name]["pumps"]:
            check(now["pumps"][pump["id"]]["running"] == pump["running"], f"'{name}': {pump['id']} runs or not in the drawing")
        for valve in said.numbers[name]["valves"]:
            check(now["valves"][valve["id"]]["shut"] == (valve["opening"] == 0), f"'{name}': {valve['id']} is drawn as it stands", now["valves"][valve["id"]])
    check(head_points > 2, "the line of head is drawn", head_points)
    page_of.choose(browser, first)
    after = page_of.drawing(browser)
    check(all(abs(after["vessels"][name]["water"] - one["water"]) < 0.15 for name, one in before["vessels"].items()), "the water returns to where it was")


def lips_are_drawn(now, tables, what):
    for standpipe, row in tables["overflow"].items():
        lip = " ".join(row["insert"].split()[-2:])
        check(f"lip {lip} above" in now["standpipes"][standpipe]["told"], f"{what}: {standpipe} is drawn with its lip at {lip}", now["standpipes"][standpipe])


def head_is_drawn(now, numbers, what):
    """The line of head, where it is that of a vessel or a tee."""
    for follows_what, vessel, index, told in now["line"]:
        wanted = numbers["vessels"][vessel]["level_m"] if follows_what == "level" else numbers["tees"][index]["head_m"] if follows_what == "tee" else None
        if wanted is not None:
            check(abs(float(re.search(r": (-?[\d.]+) m", told).group(1)) - wanted) < 0.00051, f"{what}: the line of head", (told, wanted))
    return len(now["line"])


def water_moves(before, now, said, first, name):
    moved = 0
    for vessel, was in zip(said.numbers[name]["vessels"], said.numbers[first]["vessels"]):
        drawn, change = now["vessels"][vessel["id"]], vessel["depth_m"] - was["depth_m"]
        share = vessel["depth_m"] / (vessel["depth_m"] + vessel["freeboard_m"])
        check(abs(drawn["water"] - share * drawn["room"]) < 0.2, f"'{name}': {vessel['id']} is {share:.3f} full in the drawing", drawn)
        fits = (None,) if drawn["room"] < 20 else ()  # a tier is too low for letters
        check(drawn["depth"] in (said.tables[name]["vessel"][vessel["id"]]["depth"], *fits), f"'{name}': its depth is written", drawn)
        check(said.tables[name]["vessel"][vessel["id"]]["level"] in drawn["told"], f"'{name}': its level is told", drawn)
        if abs(change) > 0.01:
            moved += 1
            seen = drawn["seen"] - before["vessels"][vessel["id"]]["seen"]
            check(seen * change > 0, f"'{name}': the water of {vessel['id']} is seen to move by {change:.3f} m", seen)
    check(moved or name == "bed off", f"'{name}': some water moves", moved)


def flows_are_labelled(now, tables, name):
    carried = {thing: row["carries"] for kind in ("pipe", "drain") for thing, row in tables.get(kind, {}).items() if "carries" in row}
    labelled = 0
    for thing, drawn in now["pipes"].items():
        wanted = carried.get(thing, "")
        check(drawn["flow"] in (None, "", wanted) and (not drawn["flow"]) in (True, not wanted), f"'{name}': the label of {thing}", (drawn, wanted))
        check(f": {wanted} from " in drawn["told"] if wanted else "l/min" not in drawn["told"], f"'{name}': what is told of {thing}", (drawn, wanted))
        labelled += bool(drawn["flow"])
    check(labelled or not carried or len(carried) < 4, f"'{name}': flows are written in the drawing", labelled)


def arrangements_of_all(browser, pages):
    said = said_of(FARM)
    arrangements(browser, pages.made("farm"), said)
    sections(browser, said)
    arrangements(browser, pages.made("us"), said_of(FARM, "--units", "us"), "us")
    arrangements(browser, pages.made("first"), said_of(FIRST))


def drawings(browser, pages):
    follows(browser, said_of(FARM), pages.made("farm"))
    follows(browser, said_of(FIRST), pages.made("first"))


if __name__ == "__main__":
    look({"opening": opens_quietly, "what watches": watchers_watch,
          "arrangements": arrangements_of_all, "figures of every size": of_every_size, "switches": switches, "several switches": several_off, "all combinations": every_combination,
          "inserts": inserts, "not held": not_held, "drawing": drawings})
