"""`cycle --power-cut`, `--fill` and `--drain`: what they write, that the three forms agree, that water is kept, and how they refuse.

The sums are checked against the layout's own geometry (plan area times depth), not against the program."""
import csv
import io
import json
import math
import os
import xml.etree.ElementTree as ET

from _program import HERE, Count, layout, run

FARM = os.path.abspath(os.path.join(HERE, "..", "..", "examples", "farm.xml"))
count = Count()


def metres(text):
    number, unit = text.split()
    return float(number) * {"m": 1.0, "mm": 1e-3}[unit]


areas = {}
for vessel in ET.parse(FARM).getroot():
    if vessel.get("length") and vessel.get("width") and vessel.tag in ("sump", "trough", "tier"):
        areas[vessel.get("id")] = metres(vessel.get("length")) * metres(vessel.get("width"))


def asked(*arguments):
    done = run("cycle", FARM, "--format", "json", *arguments)
    count.check(done.returncode == 0 and done.stderr == "", f"{arguments} ends well", done.stderr)
    return json.loads(done.stdout)["questions"]


def rows(*arguments):
    done = run("cycle", FARM, "--format", "csv", *arguments)
    table = list(csv.DictReader(io.StringIO(done.stdout)))
    return {(row["question"], row["about"], row["quantity"]): row["value"] for row in table}


# ---- power cut
cut, = asked("--power-cut", "--arrangement", "coupled")
count.check(next(iter(cut)) == "asks" and cut["asks"] == "power-cut", "an answer begins with what it asks", list(cut)[:2])
by_id = {vessel["id"]: vessel for vessel in cut["vessels"]}
# an empty bed is told as empty where the integration has it a micrometre under its floor: millilitres
count.check(abs(sum(vessel["gained_m3"] + vessel["spilled_m3"] for vessel in cut["vessels"])) < 1e-5, "a cut moves water and makes none")
for name, area in areas.items():
    rise = by_id[name]["end_depth_m"] - by_id[name]["before_depth_m"]
    count.check(abs(by_id[name]["gained_m3"] - area * rise) < 1e-6, f"what {name} gains is its area times its rise", by_id[name])
for home in cut["home"]:
    count.check(abs(sum(one["volume_m3"] for one in home["from"]) - home["returned_m3"]) < 1e-3 * home["returned_m3"],
                f"what comes home to {home['id']} came from somewhere", home)
    count.check(abs(home["returned_m3"] - by_id[home["id"]]["gained_m3"]) < 1e-9, f"{home['id']} gains what comes home")
count.check(cut["restart"]["comes_back"] is True and cut["restart"]["bare"] == [], "the farm comes back by itself", cut["restart"])
table = rows("--power-cut", "--arrangement", "coupled")
count.check(float(table["power-cut: coupled", "PS", "end_depth"]) == by_id["PS"]["end_depth_m"], "CSV and JSON give the same figures")
text = run("cycle", FARM, "--power-cut", "--arrangement", "coupled").stdout
count.check("Nothing spills" in text.split("\n")[3], "the text says first whether anything spills", text[:300])
count.check("10 minutes (common practice)" in text.replace("\n    ", " "), "the clock of the fish is named")
short, = asked("--power-cut", "--arrangement", "coupled", "--lasts", "10 min")
count.check(short["lasted_s"] == 600, "a cut has the length asked for", short["lasted_s"])
count.check(all(home["returned_m3"] < whole["returned_m3"] for home, whole in zip(short["home"], cut["home"])), "less comes home in less time")
for_routine, = asked("--power-cut", "--routine", "beds by turns")
count.check(for_routine["routine"] == "beds by turns" and for_routine["moments_tried"] == 12 and for_routine["moment_s"] is not None,
            "in a routine the moment is found", for_routine["moment_s"])
none, = asked("--power-cut", "--arrangement", "power off")
count.check(none["any_pump_ran"] is False, "where no pump runs nothing is cut")
every = run("cycle", FARM, "--power-cut").stdout
count.check("The worst of them:" in every and every.count("\n") < 90, "of many arrangements a line each and the worst whole", every.count("\n"))

# a tank fed under water through a pump that lets water back: down to the port of its feed, and more than the sump can hold
siphon = run("cycle", layout("drawn_back"), "--power-cut", "--format", "json")
back = json.loads(siphon.stdout)["questions"][0]
flow, = back["drawn_back"]
count.check((flow["pipe"], flow["vessel"], flow["into"], flow["ended_by"]) == ("feed", "T", ["S"], "port"), "the inlet that draws its tank down is named", flow)
area = math.pi * 1.5 ** 2 / 4
fell = back["vessels"][0]["before_depth_m"] - 0.3
count.check(abs(-back["vessels"][0]["gained_m3"] - area * fell) < 5e-3 * area * fell, "the tank loses its area times the fall to the port", back["vessels"][0])
room = 1.2 * (1.0 - back["vessels"][1]["before_depth_m"])
count.check(abs(back["spilled_m3"] + back["vessels"][0]["gained_m3"] + room) < 1e-5, "what the sump has no room for spills", back["spilled_m3"])
count.check(not back["restart"]["comes_back"] and back["restart"]["bare"][0]["pump"] == "P", "and then the pump runs dry", back["restart"])
told = run("cycle", layout("drawn_back"), "--power-cut", "--strict")
count.check(told.returncode == 5 and told.stdout.split("\n")[3].startswith("! S spills"), "the spill comes first, and --strict counts it", told.stdout[:200])
count.check("and stays so: it runs" in " ".join(told.stdout.split()) and "An air hole" in told.stdout, "with what happens next and what would help")

# ---- first fill
fill, = asked("--fill", "--arrangement", "coupled", "--hose", "40 l/min")
way = fill["pumps_by_hand"] if "pumps_by_hand" in fill else fill["pumps_left_on"]
for loop in way["loops"]:
    count.check(abs(loop["hose_m3"] + loop["mains_m3"] - loop["wanted_m3"]) < 1e-3 * loop["wanted_m3"], "hose and mains bring what is wanted", loop)
water = sum(loop["hose_m3"] + loop["mains_m3"] for loop in way["loops"])
count.check(abs(sum(vessel["end_volume_m3"] + vessel["spilled_m3"] for vessel in way["vessels"]) - water) < 1e-3 * water, "and that is what is in the farm")
count.check(way["done_after_s"] >= max(loop["hose_m3"] for loop in way["loops"]) / (40 / 60000) * 0.999, "no faster than the hose runs", way["done_after_s"])
count.check(fill["reaches_running_levels"] is True, "the settled levels are reached", fill["elsewhere"])
settled = json.loads(run("flows", FARM, "--format", "json", "--arrangement", "coupled").stdout)["arrangements"][0]["vessels"]
for vessel, full in zip(settled, way["vessels"]):
    count.check(abs(vessel["depth_m"] - full["end_depth_m"]) < 0.005, f"{vessel['id']} stands as flows has it", full)
slower, = asked("--fill", "--arrangement", "coupled")
count.check(slower["hose_m3_s"] == 20 / 60000 and slower["pumps_left_on"]["done_after_s"] > fill["pumps_left_on"]["done_after_s"],
            "a hose that is not named gives 20 l/min")

# ---- draining
drain, = asked("--drain", "B3", "--arrangement", "coupled")
count.check(drain["stops"] == "drained" and drain["to_75_percent_s"] < drain["to_50_percent_s"] < drain["to_25_percent_s"] < drain["drain_s"],
            "water leaves in order", drain)
count.check(drain["wanted_s"] == 4800 and drain["in_time"] is (drain["drain_s"] <= 4800), "it is held against drains-within")
count.check(abs(sum(way["volume_m3"] for way in drain["through"]) - drain["before_volume_m3"] + drain["end_volume_m3"]) < 1e-9, "the ways share what left")
count.check(drain["shut"] == ["feed-B3"], "only what feeds it is shut", drain["shut"])
lip, = asked("--drain", "T1", "--arrangement", "coupled")
count.check(lip["ways_out"] == [{"kind": "lip", "id": "OT1", "height_m": 0.96}] and lip["end_volume_m3"] > 1.6, "a tank with a lip keeps its water", lip["ways_out"])
count.check("lowest way out is the lip of OT1" in run("cycle", FARM, "--drain", "T1", "--arrangement", "coupled").stdout.replace("\n  ", " "), "and says why")
shut, = asked("--drain", "M1", "--arrangement", "coupled")
count.check(shut["stops"] == "shut-in", "a shut valve is a reason", shut["stops"])

# ---- refusals
for arguments, words in ((("--drain", "B33"), "did you mean"), (("--fill", "--routine", "beds by turns"), "needs no routine"),
                         (("--hose", "20 l/min"), "--fill"), (("--fill", "--hose", "20 m"), "flow"), (("--fill", "--hose", "0 l/min"), "more than nothing"),
                         (("--power-cut", "--series", "/tmp/never.csv"), "--series")):
    done = run("cycle", FARM, *arguments)
    count.check(done.returncode == 2 and done.stdout == "" and words in done.stderr, f"{arguments} is refused in words", done.stderr)
count.end()
