"""`cycle --if`, `--change` and `--siphon-window`: what they write, that the three forms agree, and how they refuse.

Volumes are checked against the layout's own plan areas, not against the program."""
import csv
import io
import json
import math
import os

from _program import HERE, Count, run

EXAMPLES = os.path.abspath(os.path.join(HERE, "..", "..", "examples"))
FARM, FIRST = os.path.join(EXAMPLES, "farm.xml"), os.path.join(EXAMPLES, "first.xml")
SIPHON = os.path.join(HERE, "layouts", "siphon.xml")
count = Count()


def asked(file, *arguments):
    done = run("cycle", file, "--format", "json", *arguments)
    count.check(done.returncode == 0 and done.stderr == "", f"{arguments} ends well", done.stderr)
    return json.loads(done.stdout)["questions"]


def refused(says, *arguments):
    done = run("cycle", *arguments)
    count.check(done.returncode == 2 and done.stdout == "" and all(word in done.stderr for word in says), f"{arguments} is refused with {says}", done.stderr)


# ---- clocks
answer = asked(FIRST, "--arrangement", "both", "--if", "OT blocks")[0]
count.check(answer["asks"] == "if" and answer["about"] == "OT" and answer["fault"] == "blocks" and answer["arrangement"] == "both", "says what was asked", answer)
over = next(one for one in answer["happens"] if one["what"] == "overflow" and one["about"] == "T1")
tank = next(one for one in answer["vessels"] if one["id"] == "T1")
sump = next(one for one in answer["vessels"] if one["id"] == "S1")
room = math.pi / 4 * 1.4 ** 2 * (1.0 - tank["before_depth_m"])  # first.xml: diameter 1.4 m, rim 1.0 m above the floor
count.check(0.7 * room / over["spill_m3_s"] < over["t_s"] < 1.3 * room / over["spill_m3_s"], "the tank is full after its room over its inflow", over)
count.check(any(one["what"] == "intake-bare" and one["about"] == "P1" and one["t_s"] > over["t_s"] for one in answer["happens"]), "then the pump runs dry", answer)
bed = next(one for one in answer["vessels"] if one["id"] == "B1")
gone = 1.2 * (sump["before_depth_m"] - sump["end_depth_m"]) - math.pi / 4 * 1.4 ** 2 * (1.0 - tank["before_depth_m"]) + 2.0 * 0.42 * (bed["before_depth_m"] - bed["end_depth_m"])
count.check(abs(gone - tank["spilled_m3"]) < 1e-3, "what is on the floor is what the farm has lost", (gone, tank["spilled_m3"]))
times = [one["t_s"] for one in answer["happens"]]
count.check(times == sorted(times), "in order of time", times)
rows = list(csv.DictReader(io.StringIO(run("cycle", FIRST, "--arrangement", "both", "--if", "OT blocks", "--format", "csv").stdout)))
count.check(any(row["about"] == "T1" and row["quantity"] == "overflow" and float(row["value"]) == over["t_s"] for row in rows), "CSV agrees", rows)
text = run("cycle", FIRST, "--arrangement", "both", "--if", "OT blocks", "--if", "feed-B1 breaks").stdout
count.check("T1 runs over its rim" in text and "If feed-B1 breaks" in text and "on the floor" in text, "the text says so", text)
refused(["'feed-B1'"], FIRST, "--if", "feed-B2 breaks")
refused(["blocks", "breaks"], FIRST, "--if", "feed-B1 sings")
refused(["a label and a verb"], FIRST, "--if", "help")

# ---- change of arrangement
change = asked(FARM, "--change", "coupled", "parted")[0]
count.check(change["end"] == "found" and change["moves"] == 2 and len(change["steps"]) == 2, "two moves in two steps", change)
count.check({step["moves"][0]["about"] for step in change["steps"]} == {"VX-over", "VX-home"}, "the two valves", change)
count.check(asked(FARM, "--change", "coupled", "coupled")[0]["end"] == "nothing-to-do", "nothing to do")
text = run("cycle", FARM, "--change", "coupled", "parted").stdout
count.check("  1. " in text and "  2. " in text and "closest call" in text, "numbered steps", text)
refused(["'coupled'"], FARM, "--change", "cuopled", "parted")

# ---- window of a siphon
window = asked(SIPHON, "--siphon-window", "B")[0]
count.check(window["lower_end"] == "found" and window["upper_end"] == "found" and not window["empty"], "a window", window)
count.check(math.isclose(window["starts_from_m3_s"], 0.6 * 3.785411784e-3 / 60, rel_tol=1e-3), "starts with what the layout says: 0.6 gpm", window)
scale = math.pi / 4 * 0.02667 ** 2 * math.sqrt(9.80665 * 0.02667)  # bore 1.05 in
count.check(math.isclose(window["surely_starts_from_m3_s"], scale, rel_tol=1e-6), "A sqrt(g D)", window)
text = run("cycle", SIPHON, "--siphon-window", "B").stdout
count.check("starts and breaks with an inflow from" in text and "gpm" in text, "in a sentence", text)
refused(["no siphons"], FIRST, "--siphon-window", "B1")
count.end()
