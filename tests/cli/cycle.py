"""`cycle`: the JSON contract, figures against the events they come from and against `flows`, series, formats, exit statuses, an interrupted run."""
import csv
import io
import json
import math
import os
import re
import signal
import subprocess
import tempfile
import xml.etree.ElementTree as ET

from _program import HERE, PROGRAM, Count, layout, run, under_way

count = Count()
check = count.check

# the contract: it only ever grows
CODES = set("valve-opens valve-closes power-fails power-returns pump-stops pump-restarts siphon-starts siphon-breaks reaches-lip falls-below-lip drained "
            "reaches-rim intake-bare".split())
OUR_CODES = set("intake-covered leaves-rim inlet-submerged inlet-free below-least-depth draw-begins draw-ends draw-short setting-changes hose-ends".split())
VESSELS = ("tank", "sump", "trough", "bed", "tier", "vessel")
LISTS = {
    "vessels": "id kind least_depth_m greatest_depth_m end_depth_m end_volume_m3 spilled_m3",
    "beds": "id fill_s hold_s drain_s period_s peak_drain_m3_s starts breaks",
    "pumps": "id energy_j run_s dry_s",
    "events": "t_s code about says",
}
CLOCK = "by the clock"
DARK = "an hour without power"


def refuse(word):
    raise ValueError(f"{word} is no JSON")


def cycle_json(name, *arguments, status=0):
    process = run("cycle", layout(name), "--format", "json", *arguments)
    check(process.returncode == status, f"cycle {name} {arguments} ends with {status}", (process.returncode, process.stderr))
    return json.loads(process.stdout, parse_constant=refuse)


def by(things, key):
    return {thing[key]: thing for thing in things}


def contract(answer):
    tree = ET.parse(layout("tides")).getroot()
    check(answer["layout"] == "Tides" and re.fullmatch(r"\d+\.\d+\.\d+", answer["ebbwright"]), "says version and layout")
    check([r["name"] for r in answer["routines"]] == [CLOCK, DARK], "every routine, in the order of the file", answer["routines"][0]["name"])
    for routine in answer["routines"]:
        name = routine["name"]
        head = list(routine)[:5]
        check(head[:2] == ["name", "arrangement"] and {"lasts_s", "repeats_every_s"} <= set(routine), f"{name}: the keys of the contract", head)
        for group, keys in LISTS.items():
            for element in routine[group]:
                check(set(keys.split()) <= set(element), f"{name}: {group} have every key", (group, sorted(element)))
                check(list(element)[:len(keys.split())] == keys.split(), f"{name}: {group} begin with the contract's keys in its order", list(element))
        check([v["id"] for v in routine["vessels"]] == [e.get("id") for e in tree if e.tag in VESSELS], f"{name}: every vessel, in order")
        check([v["kind"] for v in routine["vessels"]] == [e.tag for e in tree if e.tag in VESSELS], f"{name}: kinds are the words of the layout")
        check([b["id"] for b in routine["beds"]] == ["B1", "B2"] and [p["id"] for p in routine["pumps"]] == ["P1"], f"{name}: beds and pumps")
        times = [e["t_s"] for e in routine["events"]]
        check(times == sorted(times) and all(0 <= t <= routine["lasts_s"] for t in times), f"{name}: events come in order, within the run")
        for event in routine["events"]:
            check(event["code"] in CODES | OUR_CODES, f"{name}: event codes are known", event)
            check(event["says"] and not event["says"].endswith(".") and "{" not in event["says"], f"{name}: an event is a sentence", event)
            check(event["about"] == "" or event["about"] in event["says"] or event["code"].startswith("siphon"), f"{name}: an event names its thing", event)
    check(answer["routines"][0]["lasts_s"] == 5 * 3600 and answer["routines"][1]["arrangement"] == "bed off", "length and arrangement are the routine's")


def documented(answer):
    with open(os.path.join(HERE, "..", "..", "docs", "commands.md"), encoding="utf-8") as page:
        known = set(re.findall(r"[`\"]([a-z0-9_]+)[`\"]", page.read()))

    def keys(value):
        if isinstance(value, dict):
            for key, item in value.items():
                yield key
                yield from keys(item)
        elif isinstance(value, list):
            for item in value:
                yield from keys(item)
    missing = sorted(set(keys(answer)) - known)
    check(not missing, "docs/commands.md has every key of cycle", missing)


def figures_from_events(routine):
    """A bed's figures worked out again from the list of events, by the definitions of the contract."""
    beds = by(routine["beds"], "id")
    moments = [(e["code"], e["about"], e["t_s"]) for e in routine["events"]]

    def times(code, about):
        return [t for c, a, t in moments if (c, a) == (code, about)]
    opens, closes = times("valve-opens", "VB"), times("valve-closes", "VB")
    lips, drained = times("reaches-lip", "B1"), times("drained", "B1")
    last = [t for t in opens if any(d > t for d in drained) and any(c > t for c in closes)][-1]
    lip, shut, dry = (min(t for t in ts if t > last) for ts in (lips, closes, drained))
    for key, wanted in (("fill_s", lip - last), ("hold_s", shut - lip), ("drain_s", dry - shut), ("period_s", 3600.0)):
        check(math.isclose(beds["B1"][key], wanted, abs_tol=0.02), f"B1: {key} is what the events say", (beds["B1"][key], wanted))
    starts, breaks = ([t for c, _, t in moments if c == code] for code in ("siphon-starts", "siphon-breaks"))
    start = max(t for t in starts if t < breaks[-1])
    for key, wanted in (("fill_s", start - breaks[-2]), ("drain_s", breaks[-1] - start), ("period_s", breaks[-1] - breaks[-2])):
        check(math.isclose(beds["B2"][key], wanted, abs_tol=0.02), f"B2: {key} is what the events say", (beds["B2"][key], wanted))
    check((beds["B2"]["starts"], beds["B2"]["breaks"]) == (len(starts), len(breaks)), "B2: starts and breaks are those of the events", beds["B2"])


def water_is_kept(answer):
    for routine in answer["routines"]:
        came = sum(s["given_m3"] for s in routine["supplies"] + routine["ponds"])
        went = sum(v["spilled_m3"] for v in routine["vessels"])
        went += sum(t["taken_m3"] for t in routine["draws"] if t["into"] is None) + sum(t["taken_m3"] for t in routine["uptakes"])
        held = sum(v["end_volume_m3"] for v in routine["vessels"])
        check(abs(routine["water_m3"] + came - went - held) < 1e-9 * routine["water_m3"], f"{routine['name']}: no water appears or is lost",
              (routine["water_m3"], came, went, held))
    clock = answer["routines"][0]
    draw, uptake = clock["draws"][0], clock["uptakes"][0]
    check(math.isclose(draw["taken_m3"], 0.020, rel_tol=1e-6) and math.isclose(uptake["taken_m3"], 0.030 * 5 / 24, rel_tol=1e-6),
          "what is drawn and taken up is what the layout says", (draw, uptake))


def as_flows_says():
    """An arrangement that settles, left alone from its settled levels: each figure is that of `flows`, which integrates nothing."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "still.xml")
        with open(layout("first-loop"), encoding="utf-8") as file:
            text = file.read().replace("</layout>", '<routine name="still" arrangement="all on" lasts="1 h" from="settled"/></layout>')
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        still = json.loads(run("flows", path, "--format", "json", "--arrangement", "all on").stdout)["arrangements"][0]
        hour = json.loads(run("cycle", path, "--format", "json").stdout)["routines"][0]
    check(hour["from"] == "settled" and hour["repeats"] == "still" and hour["repeats_every_s"] is None and hour["events"] == [], "nothing happens",
          (hour["repeats"], hour["events"]))
    for seen, wanted in zip(hour["vessels"], still["vessels"]):
        for key in ("least_depth_m", "greatest_depth_m", "end_depth_m", "mean_depth_m"):
            check(math.isclose(seen[key], wanted["depth_m"], abs_tol=1e-6), f"{seen['id']}: {key} is the settled depth", (seen[key], wanted["depth_m"]))
        check(math.isclose(seen["turnover_s"], wanted["turnover_s"], rel_tol=1e-4), f"{seen['id']}: turns over as in flows", (seen, wanted))
    seen, wanted = hour["pumps"][0], still["pumps"][0]
    check(math.isclose(seen["energy_j"], 3600 * wanted["power_w"], rel_tol=1e-5), "energy is power times time", (seen, wanted))
    check(math.isclose(seen["pumped_m3"], 3600 * wanted["flow_m3_s"], rel_tol=1e-5) and seen["run_s"] == 3600 and seen["dry_s"] == 0, "and so is water", seen)


def without_routines():
    answer = json.loads(run("cycle", layout("first-loop"), "--format", "json", "--arrangement", "all on", "--lasts", "10 min").stdout)
    check([(r["name"], r["arrangement"], r["lasts_s"]) for r in answer["routines"]] == [("as drawn", "all on", 600)], "without a routine: as drawn", answer)
    answer = json.loads(run("cycle", layout("first-loop"), "--format", "json").stdout)
    check([(r["name"], r["lasts_s"]) for r in answer["routines"]] == [("all on", 86400), ("bed off", 86400)], "each arrangement, for a day",
          [r["name"] for r in answer["routines"]])


def without_what_it_cost(answer):
    return [{k: v for k, v in r.items() if k not in ("counts", "worst_water_error_m3")} for r in answer["routines"]]


def series(answer):
    with tempfile.TemporaryDirectory() as folder:
        asked = [(os.path.join(folder, name), every) for name, every in (("own.csv", None), ("even.csv", "60 s"), ("odd.json", "7 s"), ("even.json", "1 min"))]
        for path, every in asked:
            seen = cycle_json("tides", "--series", path, *(["--every", every] if every else []))
            check(without_what_it_cost(seen) == without_what_it_cost(answer), f"the answer is the same with a series every {every}")
        check(sorted(os.listdir(folder)) == ["even.csv", "even.json", "odd.json", "own.csv"], "nothing temporary stays", os.listdir(folder))
        rows = {name: list(csv.DictReader(open(os.path.join(folder, name), encoding="utf-8"))) for name in ("own.csv", "even.csv")}
        columns = ["routine", "t_s", "T1_depth_m", "B1_depth_m", "B2_depth_m", "S1_depth_m", "P1_flow_m3_s"]
        check(list(rows["even.csv"][0]) == columns, "columns of the series", list(rows["even.csv"][0]))
        even = [r for r in rows["even.csv"] if r["routine"] == CLOCK]
        check([float(r["t_s"]) for r in even] == [60.0 * i for i in range(301)], "a row every minute, both ends", [r["t_s"] for r in even[:3]])
        whole = json.load(open(os.path.join(folder, "even.json"), encoding="utf-8"))["series"]
        check([s["routine"] for s in whole] == [CLOCK, DARK], "JSON: one series for each routine")
        check([float(r["B2_depth_m"]) for r in even] == whole[0]["vessels"][2]["depth_m"], "CSV and JSON say the same levels")
        check([float(r["P1_flow_m3_s"]) for r in even] == whole[0]["pumps"][0]["flow_m3_s"], "and the same flows")
        for vessel, values in zip(answer["routines"][0]["vessels"], whole[0]["vessels"]):
            inside = all(vessel["least_depth_m"] - 1e-5 <= d <= vessel["greatest_depth_m"] + 1e-5 for d in values["depth_m"])
            check(inside, f"{vessel['id']}: every level of the series lies between least and greatest", vessel)
        own = {float(r["t_s"]): r for r in rows["own.csv"] if r["routine"] == CLOCK}
        sparse = [r for r in even if float(r["t_s"]) in own]
        check(len(sparse) >= 5 and all(math.isclose(float(r["B1_depth_m"]), float(own[float(r["t_s"])]["B1_depth_m"]), abs_tol=2e-5) for r in sparse),
              "where the solver's own steps and the even ones meet, they agree", len(sparse))
        one = os.path.join(folder, "one.csv")
        run("cycle", layout("tides"), "--routine", DARK, "--series", one, "--every", "1 min")
        check(open(one, encoding="utf-8").readline().startswith("t_s,T1_depth_m"), "of one routine there is no column for its name")


def formats_agree(answer):
    rows = list(csv.DictReader(io.StringIO(run("cycle", layout("tides"), "--format", "csv").stdout)))
    check(rows and list(rows[0]) == ["routine", "kind", "id", "quantity", "unit", "value"], "CSV has its six columns", rows[:1])
    table = {(r["routine"], r["id"], r["quantity"]): r["value"] for r in rows if r["kind"] not in ("event", "warning", "target", "draw", "uptake")}
    compared = 0
    for routine in answer["routines"]:
        for group in ("vessels", "beds", "pumps", "supplies", "float_valves", "pipes"):
            for element in routine[group]:
                for key, value in element.items():
                    quantity = re.sub(r"_(m3_s|m3|m|s|j)$", "", key).replace("_", "-")
                    text = table.get((routine["name"], element["id"], quantity))
                    if key in ("id", "kind") or not check(text is not None, f"CSV has {quantity} of {element['id']}"):
                        continue
                    said = None if text == "" else text == "true" if text in ("true", "false") else float(text)
                    compared += 1
                    check(said == value, f"CSV and JSON agree on {quantity} of {element['id']}", (text, value))
        events = [(r["id"], r["quantity"], float(r["value"])) for r in rows if r["kind"] == "event" and r["routine"] == routine["name"]]
        check(events == [(e["about"], e["code"], e["t_s"]) for e in routine["events"]], f"{routine['name']}: CSV lists the same events", events[:2])
    check(compared > 100, "figures were compared", compared)


def what_is_said():
    text = run("cycle", layout("tides"), "--routine", CLOCK, environment={"LC_ALL": "C"}).stdout
    first = text.split("\n\n")[1]
    check("! B1 fills in 15 min" in first and "wanted 15 min or less" in first, "what is missed comes first", first)
    check(re.search(r"bed B1: fills in 15 min \d\d s, holds \d min \d\d s, drains in \d+ min", text.replace("\n", " ")), "what a bed does is a sentence", text)
    check(text.isascii(), "where the environment does not speak UTF-8, neither does the page", text)
    check(max(map(len, text.splitlines())) <= 100, "the page fits 100 columns", max(text.splitlines(), key=len))
    check("\u2588" in run("cycle", layout("tides"), environment={"LC_ALL": "C.UTF-8"}).stdout, "with UTF-8 the strips are blocks")
    everything = run("cycle", layout("tides"), "--routine", CLOCK, "--events", "all").stdout
    check("--events all" in text and "and so on" not in everything and everything.count("siphon in B2 starts") > text.count("siphon in B2 starts"),
          "--events all lists them all", everything)
    us = run("cycle", layout("tides"), "--routine", CLOCK, "--units", "us", environment={"LC_ALL": "C"}).stdout.split("Take care")[0]
    check("gpm" in us and " mm" not in us and "l/min" not in us, "--units us speaks of inches and gallons", us)
    check("residual-current" in text and "air gap" in text, "cautions are there", text)


def exit_statuses():
    tides = layout("tides")
    for arguments, wanted in ((["--routine", CLOCK, "--strict"], 5), (["--routine", DARK, "--strict"], 0), (["--routine", CLOCK], 0)):
        check(run("cycle", tides, *arguments).returncode == wanted, f"{arguments} ends with {wanted}")
    for arguments, words in ((["--routine", "by the clok"], ["by the clock", "did you mean"]), (["--lasts", "30"], ["no unit", "--lasts"]),
                             (["--lasts", "0 s"], ["more than nothing"]), (["--lasts", "1 l"], ["--lasts"]), (["--every", "1 s"], ["--series"]),
                             (["--series", tides], ["--series", "read"]), (["--arrangement", "al on"], ["all on"]),
                             (["--routine", DARK, "--arrangement", "all on"], ["arrangement"]), (["--events", "some"], ["--events"]),
                             (["--series", "/nowhere/at/all.csv"], ["/nowhere/at/all.csv"]), (["--tolerance", "-1 mm"], ["--tolerance"])):
        r = run("cycle", tides, *arguments)
        check(r.returncode == 2 and r.stdout == "", f"{arguments} ends with 2 and no result", (r.returncode, r.stdout[:200]))
        check(all(word in r.stderr for word in words), f"{arguments}: the message says {words}", r.stderr)
    r = run("cycle", layout("wrong"))
    check(r.returncode == 3 and r.stdout == "" and "wrong.xml:3" in r.stderr, "a wrong file ends with 3", r.stderr)
    fight = cycle_json("chatter", status=4)["routines"][0]
    check(fight["ending"] == "chatters" and fight["lasted_s"] < 60 and "level-switch of S" in fight["why"] and "P" in fight["why"],
          "two things that fight are named, and the run stops", (fight["ending"], fight["why"]))
    check("! It ends after" in run("cycle", layout("chatter")).stdout, "the page says so first")


def tolerance_and_repeats():
    rough, fine = (cycle_json("tides", "--routine", CLOCK, "--tolerance", t)["routines"][0]["beds"] for t in ("1e-6 m", "1e-8 m"))
    for one, other in zip(rough, fine):
        for key in ("fill_s", "hold_s", "drain_s", "period_s"):
            check(one[key] == other[key] or math.isclose(one[key], other[key], rel_tol=1e-3), f"{one['id']}: {key} does not hang on the tolerance",
                  (one[key], other[key]))
    r = cycle_json("tides", "--routine", DARK, "--lasts", "12 h", "--until-repeats")["routines"][0]
    check(r["ending"] == "repeats" and r["lasted_s"] < r["lasts_s"] == 43200, "--until-repeats stops early", (r["ending"], r["lasted_s"]))
    check(math.isclose(r["repeats_every_s"], by(r["beds"], "id")["B2"]["period_s"], rel_tol=1e-3), "the period is the siphon's", r["repeats_every_s"])


def interrupted():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "long.csv")
        process = subprocess.Popen([PROGRAM, "cycle", layout("tides"), "--routine", CLOCK, "--lasts", "20000 day", "--format", "json", "--series", path,
                                    "--every", "1 day"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8")
        under_way(process, 0.7)
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
        routine = json.loads(out)["routines"][0]
        check(process.returncode == 130 and routine["ending"] == "cancelled", "Ctrl-C ends with 130", (process.returncode, routine["ending"], err))
        check(0 < routine["lasted_s"] < routine["lasts_s"] and len(routine["events"]) > 10, "with what was done until then", routine["lasted_s"])
        check("interrupted" in err and os.listdir(folder) == ["long.csv"], "says so, and the series is whole", (err, os.listdir(folder)))


whole = cycle_json("tides")
contract(whole)
documented(whole)
figures_from_events(whole["routines"][0])
water_is_kept(whole)
as_flows_says()
without_routines()
series(whole)
formats_agree(whole)
what_is_said()
exit_statuses()
tolerance_and_repeats()
interrupted()
count.end()
