"""What the commands say of an arrangement, as text and as numbers, and whether a figure of the page says the same."""
import csv
import json
import math
import os
import re
import sys

sys.path.insert(0, os.path.abspath(os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "cli")))
from _program import run  # noqa: E402

VESSEL_TITLES = {"gets": "inflow_m3_s", "level": "level_m", "to rim": "freeboard_m", "turns over in": "turnover_s"}
PUMP_TITLES = {"moves": "flow_m3_s", "lifts": "head_m", "power": "power_w"}
UNITS = {"l/min": 60000.0, "m3/h": 3600.0, "m": 1.0, "mm": 1000.0, "W": 1.0}
NO_WATER = 1e-9  # m3/s: with less a vessel is not said to turn over


def flows_numbers(layout, *options):
    """Arrangements of flows by their name."""
    done = run("flows", layout, "--format", "json", *options)
    return {one["name"]: one for one in json.loads(done.stdout)["arrangements"]}


def flows_tables(layout, arrangement, *options):
    """Tables of the text of flows: by the title of the first column, by the first cell, by the title of the column. Asked for one arrangement only, for
    of many at once it says alike things in one row."""
    tables, titles = {}, None
    for line in run("flows", layout, "--arrangement", arrangement, *options).stdout.splitlines():
        cells = re.split(r"\s{2,}", re.sub(r"^[!?] ", "", line.strip()))
        if not line.strip():
            titles = None
        elif titles is None:
            titles = cells
        else:
            untitled = "" if len(cells) <= len(titles) else cells[len(titles)]  # where all pumps stand still their columns have no titles
            tables.setdefault(titles[0], {})[cells[0]] = {**dict(zip(titles[1:], cells[1:])), "": untitled}
    return tables


def survey_rows(layout, switches, path):
    """Rows of the survey by the set of what is off."""
    run("survey", layout, "--switch", switches, "--each", path)
    with open(path, encoding="utf-8", newline="") as file:
        return {frozenset(row["off"].split()): row for row in csv.DictReader(file)}


def seconds_of(text):
    """(seconds, to how many of them it is given)."""
    if text.endswith("days"):
        number = text.split()[0]
        return float(number) * 86400.0, last_place(number) * 86400.0
    if text.endswith("years"):  # three digits, whatever their size
        years = float(text.split()[0])
        return years * 365.25 * 86400.0, 10.0 ** (math.floor(math.log10(years)) - 2) * 365.25 * 86400.0
    parts = {unit: float(number) for number, unit in re.findall(r"([\d.]+) (h|min|s)\b", text)}
    coarse = 60.0 if "h" in parts else 1.0 if "min" in parts else last_place(text.split()[0])
    return parts.get("h", 0.0) * 3600.0 + parts.get("min", 0.0) * 60.0 + parts.get("s", 0.0), coarse


def last_place(number):
    return 10.0 ** -(len(number.split(".")[1]) if "." in number else 0)


def says(text, value, title):
    """Whether a figure as the page writes it is this number in SI: to half its last place, and to three digits where it is not a level."""
    if value is None:
        return text == "-"
    if title == "turns over in":
        given, coarse = seconds_of(text)
        return abs(given - value) <= 0.5 * coarse + (0.5 if coarse == 60.0 else 1e-6)  # minutes are rounded from whole seconds
    number, unit = text.split(" ")
    right = value * UNITS[unit]
    digits = len(number.lstrip("-0.").replace(".", ""))
    three = title not in ("gets", "moves", "power") or digits >= 3 or abs(right) < 1.0
    return three and abs(float(number) - right) <= 0.5 * last_place(number) * (1 + 1e-6)


def differences_from_text(page, tables):
    """What the two tables of the page say otherwise than the text of flows."""
    wrong = []
    for vessel, row in tables["vessel"].items():
        wrong += [(vessel, title, page["vessels"].get(vessel, {}).get(title), row.get(title, "-")) for title in VESSEL_TITLES
                  if page["vessels"].get(vessel, {}).get(title) != row.get(title, "-")]
    for pump, row in tables.get("pump", {}).items():
        wanted = {title: row.get(title, "-") for title in PUMP_TITLES}
        if row[""]:
            wanted["moves"] = row[""]
        wrong += [(pump, title, page["pumps"].get(pump, {}).get(title), words) for title, words in wanted.items()
                  if page["pumps"].get(pump, {}).get(title) != words]
    missing = set(page["vessels"]) ^ set(tables["vessel"]) | set(page["pumps"]) ^ set(tables.get("pump", {}))
    return wrong + [("only one of them has", one) for one in sorted(missing)]


def differences_from_numbers(page, numbers):
    """What the two tables of the page say otherwise than the JSON of flows."""
    wrong = []
    for vessel in numbers["vessels"]:
        row = page["vessels"][vessel["id"]]
        for title, name in VESSEL_TITLES.items():
            value = None if title == "turns over in" and vessel["inflow_m3_s"] <= NO_WATER else vessel[name]
            if not says(row[title], value, title):
                wrong.append((vessel["id"], title, row[title], value))
        if bool(row[""]) != (vessel["spill_m3_s"] > NO_WATER):
            wrong.append((vessel["id"], "runs over", row[""], vessel["spill_m3_s"]))
    for pump in numbers["pumps"]:
        row = page["pumps"][pump["id"]]
        if not pump["running"]:
            wrong += [(pump["id"], row)] if row["moves"] != "stopped" or row["lifts"] != "-" else []
            continue
        wrong += [(pump["id"], title, row[title], pump[name]) for title, name in PUMP_TITLES.items() if not says(row[title], pump[name], title)]
    return wrong


def differences_from_survey(page, row, floors):
    """What the page says otherwise than a row of the survey."""
    wrong = []
    for vessel, shown in page["vessels"].items():
        inflow, level = float(row[vessel + "_inflow_m3_s"]), floors[vessel] + float(row[vessel + "_depth_m"])
        if not says(shown["gets"], inflow, "gets") or not says(shown["level"], level, "level"):
            wrong.append((vessel, shown, inflow, level))
    for pump, shown in page["pumps"].items():
        flow, stopped = float(row[pump + "_flow_m3_s"]), row[pump + "_head_m"] == ""
        if (shown["moves"] == "stopped") != stopped or (not stopped and not says(shown["moves"], flow, "moves")):
            wrong.append((pump, shown, flow))
    return wrong
