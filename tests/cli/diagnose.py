#!/usr/bin/python3
"""`diagnose`, the whole program. The faults are put into the layout file by hand, as their meaning asks for, solved by `flows` (another way than the
diagnosis takes), read off with the error of a tape and a bucket, and must be found; its manners."""
import csv
import io
import json
import os
import re
import shutil
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _program import PROGRAM, Count, run  # noqa: E402,F401

EXAMPLES = os.path.join(os.environ["EBB_SOURCE_DIR"], "examples")
FARM, FIRST = os.path.join(EXAMPLES, "farm.xml"), os.path.join(EXAMPLES, "first.xml")
count = Count()
check = count.check
folder = tempfile.TemporaryDirectory()
shutil.copytree(os.path.join(EXAMPLES, "catalogue"), os.path.join(folder.name, "catalogue"))


def write(name, text):
    path = os.path.join(folder.name, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def text_of(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def changed(path, *edits):
    """The layout with a fault in: each edit must fit exactly once."""
    text = text_of(path)
    for old, new in edits:
        assert text.count(old) == 1, (old, text.count(old))
        text = text.replace(old, new)
    return write("faulty.xml", text)


def flows(path, arrangement):
    done = run("flows", path, "--arrangement", arrangement, "--format", "json")
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)["arrangements"][0]


def readings(arrangement, *lines):
    readings.count = getattr(readings, "count", 0) + 1
    return write(f"readings-{readings.count}.xml", f'<readings name="test"><when arrangement="{arrangement}">' + "".join(lines) + "</when></readings>")


def level(answer, vessel, off_m=0.0):
    depth = next(v for v in answer["vessels"] if v["id"] == vessel)["depth_m"] + off_m
    return f'<level of="{vessel}" depth="{depth:.4f} m"/>'


def bucket(answer, pipe, off=0.0):
    flow = next(p for p in answer["pipes"] if p["id"] == pipe)["flow_m3_s"] * (1 + off)
    return f'<bucket of="{pipe}" volume="10 l" seconds="{0.010 / flow:.2f}"/>'


def diagnose(layout, file, *options, status=0):
    done = run("diagnose", layout, file, "--format", "json", *options)
    check(done.returncode == status, f"diagnose {options} ends with {status}", (done.returncode, done.stderr))
    return json.loads(done.stdout)


def first_group(answer):
    return [answer["explanations"][e] for e in answer["ties"][0]["explanations"]]


def holds(answer, kind, at, size=None):
    """That this fault, and nothing beside it, is in the first group, with the true size in the range told."""
    for one in first_group(answer):
        if [(f["kind"], f["at"]) for f in one["faults"]] == [(kind, at)]:
            fault = one["faults"][0]
            return size is None or fault["size_low"] <= size <= fault["size_high"]
    return False


# ------------------------------------------------------------------ faults put in by hand, in the small layout
both = "both"
worn = changed(FIRST, ('model="small 3" check-valve="yes"/>', 'model="small 3" check-valve="yes" wear="25 %"/>'))
seen = flows(worn, both)
answer = diagnose(FIRST, readings(both, bucket(seen, "feed-T1", 0.01), bucket(seen, "feed-B1", -0.02), level(seen, "S1", 0.002)), "--exact")
check(answer["verdict"] == "one-fault" and holds(answer, "worn-pump", "P1", 0.25), "a pump worn by a quarter is found", first_group(answer))
check(answer["considered"] > 20 and answer["network_solves"] > answer["considered"], "the effort is told", answer["network_solves"])

roots = changed(FIRST, ('<drain id="home-B1" from="OB" to="S1" to-height="0.80 m" length="3 m" size="50 mm" series="pvc-pn10"/>',
                        '<drain id="home-B1" from="OB" to="S1" to-height="0.80 m" length="3 m" size="50 mm" series="pvc-pn10">'
                        '<fitting loss="1000" count="1"/></drain>'))
# Borda-Carnot with Weisbach's contraction: (1 / (0.63 x) - 1)^2 = 1000 gives x = 0.0486 of the area (from memory)
seen = flows(roots, both)
answer = diagnose(FIRST, readings(both, level(seen, "B1", -0.001), bucket(seen, "feed-B1", 0.02), level(seen, "S1")), "--exact")
check(answer["verdict"] == "one-fault" and holds(answer, "blocked-drain", "home-B1", 0.0486), "roots in a drain are found", first_group(answer))
check(holds(answer, "blocked-standpipe", "OB"), "and tied with the standpipe before it", first_group(answer))

valve = changed(FIRST, ('<throttle valve="VB" to="31 %"/>', '<throttle valve="VB" to="12 %"/>'))
seen = flows(valve, both)
answer = diagnose(FIRST, readings(both, bucket(seen, "feed-T1", -0.01), bucket(seen, "feed-B1", 0.01)), "--exact")
check(answer["verdict"] == "one-fault" and holds(answer, "valve-elsewhere", "VB", 0.12), "a valve that was turned down is found", first_group(answer))

short = changed(FIRST, ('<throttle valve="VB" to="31 %"/></arrangement>', '<throttle valve="VB" to="31 %"/><fit standpipe="OB" insert="short"/></arrangement>'))
seen = flows(short, both)
answer = diagnose(FIRST, readings(both, level(seen, "B1"), level(seen, "T1"), level(seen, "S1"), bucket(seen, "feed-B1")), "--exact")
check(answer["verdict"] == "one-fault" and answer["explanations"][0]["faults"][0]["kind"] == "wrong-insert", "a wrong insert is found", first_group(answer))

two = changed(FIRST, ('<throttle valve="VB" to="31 %"/></arrangement>', '<throttle valve="VB" to="20 %"/><fit standpipe="OB" insert="short"/></arrangement>'))
seen = flows(two, both)
all_read = [level(seen, v) for v in ("T1", "B1", "S1")] + [bucket(seen, p) for p in ("feed-T1", "feed-B1")]
answer = diagnose(FIRST, readings(both, *all_read), "--exact")
kinds = [sorted(f["kind"] for f in one["faults"]) for one in first_group(answer)]
check(answer["verdict"] == "two-faults" and ["valve-elsewhere", "wrong-insert"] in kinds, "two faults at once are found", first_group(answer))
answer = diagnose(FIRST, readings(both, *all_read), "--exact", "--one")
check(all(len(one["faults"]) < 2 for one in answer["explanations"]) and not answer["pairs_tried"], "--one tries no pairs")

# ------------------------------------------------------------------ nothing wrong, nonsense, contradictions
seen = flows(FIRST, both)
good = readings(both, level(seen, "T1", 0.002), level(seen, "B1", -0.002), bucket(seen, "feed-B1", 0.03), '<overflow of="OB" is="yes"/>')
answer = diagnose(FIRST, good, "--strict")
check(answer["verdict"] == "nothing-needed" and answer["says"][0].startswith("Nothing wrong is needed"), "a sound farm needs nothing", answer["says"])
text = run("diagnose", FIRST, good).stdout
check("Nothing wrong is needed to explain these readings." in text and "Read next" not in text, "and the text says no more than that", text)
off = readings(both, level(seen, "T1"), level(seen, "B1", 0.05), level(seen, "B1"))
answer = diagnose(FIRST, off, "--strict", status=5)
check(len(answer["contradictions"]) == 1 and "contradict" in " ".join(answer["doubts"]), "two readings of one thing that disagree are told", answer["doubts"])
answer = diagnose(FIRST, readings(both, '<bucket of="feed-B1" volume="90 l" seconds="5"/>', level(seen, "T1")))
check(answer["readings"][0]["nothing_comes_near"] and "Nothing considered comes near" in " ".join(answer["doubts"]), "what cannot be is told", answer["doubts"])
answer = diagnose(FIRST, readings(both, '<level of="T1" depth="0.2 m"/>', '<level of="B1" depth="0.04 m"/>', '<level of="S1" depth="0.8 m"/>',
                                  '<bucket of="feed-B1" volume="10 l" seconds="15"/>', '<bucket of="feed-T1" volume="10 l" seconds="10"/>'))
check(answer["verdict"] == "none-of-these" and answer["pairs_tried"], "what nothing explains is explained by nothing", answer["says"])
answer = diagnose(FIRST, readings(both, '<bucket of="feed-B1" volume="10 l" seconds="80"/>'), "--exact")
check(answer["doubts"] and "not enough" in answer["doubts"][0] and answer["next"], "one reading is too few, and what to read next is told", answer["doubts"])
check(all(0 <= one["separates"] <= 1 for one in answer["next"]) and len(answer["next"][0]["predicted"]) == min(12, len(answer["explanations"])),
      "the next reading says what each expects")
check(abs(sum(one["probability"] for one in answer["explanations"]) - 1) < 0.02, "probabilities are shares of what was considered")

# ------------------------------------------------------------------ a farm that has no solution as drawn
dead = write("dead.xml", """<layout><site water-temperature="20 degC"/><pond id="A" level="3 m"/><tee id="J" elevation="0 m" takes="10 l/min"/>
  <pipe id="p" from="A" to="J" length="10 m" bore="40 mm"><valve id="V" kind="gate"/></pipe>
  <sump id="S" floor="0 m" rim="1 m" length="1 m" width="1 m" start-depth="0.5 m"/>
  <pipe id="feed" from="A" to="S" to-height="0.9 m" length="20 m" bore="25 mm"/>
  <pond id="B" level="-2 m"/><standpipe id="O" in="S" bore="60 mm"><insert name="i" lip="0.5 m"/></standpipe>
  <drain id="out" from="O" to="B" length="2 m" bore="60 mm"/>
  <arrangement name="shut"><close valve="V"/></arrangement></layout>""")
read = readings("shut", '<level of="S" depth="0.52 m"/>', '<level of="S" depth="0.12 m"/>', '<overflow of="O" is="yes"/>')
answer = diagnose(dead, read, status=4)
check(answer["verdict"] == "no-solution" and answer["says"][0].startswith("The farm as drawn has no solution"), "where the farm has no solution that is said",
      answer["says"])
check(len(answer["readings"]) == 3 and not any(answer[key] for key in ("explanations", "ties", "next", "ruled_out")) and answer["contradictions"],
      "and nothing is explained; that readings contradict each other is told all the same", answer)
done = run("diagnose", dead, read)
check(done.returncode == 4 and "has no solution in an arrangement that was read" in " ".join(done.stdout.split()) and "What would explain" not in done.stdout,
      "the text says so, and 4", (done.returncode, done.stdout))
done = run("diagnose", dead, read, "--format", "csv")
check(done.returncode == 4 and done.stdout.startswith("group,probability") and len(done.stdout.splitlines()) == 1, "CSV is its heading", done.stdout)

# ------------------------------------------------------------------ the same however many threads; other forms
forms = [run("diagnose", FIRST, off, "--format", "json", "--threads", n).stdout for n in ("1", "2", "5")]
check(forms[0] == forms[1] == forms[2] and forms[0], "threads change nothing")
rows = list(csv.DictReader(io.StringIO(run("diagnose", FIRST, off, "--format", "csv").stdout)))
check(rows and sum(float(row["probability"]) for row in rows) > 0.98 and rows[0]["group"] == "1", "CSV holds every explanation", rows[:2])
us = run("diagnose", FIRST, off, "--units", "us").stdout
check(" in" in us and not re.search(r"\d mm", us), "US units throughout", us)
check(max(map(len, text.splitlines())) <= 100, "no line is longer than the page")
own = write("own.xml", '<readings><how-often kind="wrong-insert" chance="0.5"/><when arrangement="both">' + level(seen, "B1", -0.155) + "</when></readings>")
check(diagnose(FIRST, own)["explanations"][0]["faults"][0]["kind"] == "wrong-insert", "the user's own chances are heeded")

# ------------------------------------------------------------------ a whole farm, with what the layout leaves open allowed for
blocked = changed(FARM, ('<standpipe id="OB3" in="B3" bore="45 mm">', f'<standpipe id="OB3" in="B3" bore="{45 * 0.08 ** 0.5:.3f} mm">'))
seen = flows(blocked, "coupled")
answer = diagnose(FARM, readings("coupled", level(seen, "B3"), bucket(seen, "feed-B3", -0.02), level(seen, "B4", -0.001), level(seen, "PS", 0.001)))
check(answer["verdict"] == "one-fault" and holds(answer, "blocked-standpipe", "OB3", 0.08), "a standpipe blocked to 8 % is found in the farm",
      first_group(answer))
check(not answer["pairs_tried"] and answer["unknowns"] > 50, "with what the layout leaves open", answer["unknowns"])
# the effort, counted: time on a machine that does other things too says nothing
check(answer["network_solves"] <= 40000, "single faults of a whole farm are weighed with few solves", answer["network_solves"])
example = diagnose(FARM, os.path.join(EXAMPLES, "farm_readings.xml"))
check(not example["pairs_tried"] and example["network_solves"] <= 40000, "and so are those of the example", example["network_solves"])
blocked = changed(FARM, *((f'<standpipe id="{i}" in="{i[1:]}" bore="45 mm">', f'<standpipe id="{i}" in="{i[1:]}" bore="{45 * 0.08 ** 0.5:.3f} mm">')
                          for i in ("OB3", "OB5")))
seen = flows(blocked, "coupled")
answer = diagnose(FARM, readings("coupled", level(seen, "B3"), level(seen, "B5", 0.001), bucket(seen, "feed-B3", -0.02), bucket(seen, "feed-B5", 0.01),
                                 level(seen, "B4", -0.001), level(seen, "PS", 0.001)))
check(answer["pairs_tried"] and answer["verdict"] == "two-faults", "two ways out that are blocked at once are two faults", first_group(answer))
check(answer["network_solves"] <= 60000, "and pairs are tried with half as many solves again", answer["network_solves"])

# ------------------------------------------------------------------ the sheet, and the file to fill in
blank = os.path.join(folder.name, "blank.xml")
done = run("diagnose", FARM, "--sheet", "--blank", blank, "--arrangement", "parted", "--arrangement", "coupled")
sheet = done.stdout
check(done.returncode == 0 and sheet.index("Arrangement 'coupled'") < sheet.index("Arrangement 'parted'"), "a sheet for both arrangements", done.stderr)
check(max(map(len, sheet.splitlines())) <= 90 and re.search(r"shut: .*VB7.*VX-over|shut: .*VX-over", sheet), "it fits the page and says what is shut", sheet[:600])
ids = re.findall(r'<(?:tank|bed|sump|vessel|trough|tier) +id="([^"]+)"', text_of(FARM))
places = [sheet.index(f"\n  {i} ") for i in ids]
check(len(ids) == 21 and places == sorted(places), "every vessel, in the order of the file", ids)
filled = text_of(blank)
check(filled.count("<!-- <level") == 42, "the file asks for every level twice", filled[:300])
done = run("diagnose", FARM, blank)
check(done.returncode == 3 and "nothing was read" in done.stderr, "left blank, it is no readings file", done.stderr)
filled = filled.replace('<!-- <level of="B3" below-rim="? mm"/> -->', '<level of="B3" below-rim="84 mm"/>', 1).replace(
    '<!-- <overflow of="OB3" is="?"/> -->', '<overflow of="OB3" is="yes"/>', 1).replace('<!-- <bucket of="feed-B3" volume="10 l" seconds="?"/> -->',
                                                                                         '<bucket of="feed-B3" volume="10 l" seconds="45"/>', 1)
answer = diagnose(FARM, write("filled.xml", filled))
check(answer["verdict"] == "nothing-needed" and len(answer["readings"]) == 3, "with three figures filled in it is one", answer["says"])
done = run("diagnose", FARM, "--blank", blank)
check(done.returncode == 2 and "may hold readings" in done.stderr, "a file that is there is not written over", done.stderr)
check(" gal in ________ s" in run("diagnose", FARM, "--sheet", "--units", "us").stdout, "US units on the sheet")
check(run("diagnose", FARM, "--sheet", "--arrangement", "couple").returncode == 2, "an unknown arrangement")
check(run("diagnose", FARM, good, "--sheet").returncode == 2, "a sheet takes no readings")

# ------------------------------------------------------------------ manners
for options, says in ((("diagnose", FIRST), "the readings file is missing"),
                      (("diagnose", FIRST, good, "--write", "x.xml"), "--write goes with --calibrate"),
                      (("diagnose", FIRST, good, "--threads", "none"), "not a whole number"),
                      (("diagnose", FIRST, good, "--arrangement", "both"), "--arrangement goes with --sheet"),
                      (("diagnose", FIRST, "--sheet", "--calibrate"), "before anything is read")):
    done = run(*options)
    check(done.returncode == 2 and says in done.stderr, f"'{says}' is said, and 2", (done.returncode, done.stderr))
done = run("diagnose", FIRST, write("wrong.xml", '<readings><when><level of="B2" depth="0.1 m"/></when></readings>'))
check(done.returncode == 3 and "wrong.xml:1:" in done.stderr and "'B1'" in done.stderr.replace('"', "'"), "an unknown vessel is told, with the nearest", done.stderr)
check(run("diagnose", FIRST, FIRST).returncode == 3, "a layout is no readings file")
done = run("diagnose", good, good)
check(done.returncode == 3, "nor is a readings file a layout", done.stderr)
done = run("diagnose", FIRST, good, "--output", FIRST)
check(done.returncode == 2 and text_of(FIRST).startswith("<!--"), "the layout is never replaced", done.stderr)
done = run("diagnose", FIRST, good, "--output", good)
check(done.returncode == 2 and "<readings" in text_of(good), "nor are the readings", done.stderr)
count.end()
