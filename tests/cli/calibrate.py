#!/usr/bin/python3
"""`diagnose --calibrate` against another optimiser: SciPy's least_squares over runs of `flows` on edited layouts; and the layout that --write makes."""
import json
import os
import re
import shutil
import sys
import tempfile

from scipy.optimize import least_squares

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _program import Count, run  # noqa: E402

EXAMPLES = os.path.join(os.environ["EBB_SOURCE_DIR"], "examples")
count = Count()
check = count.check
folder = tempfile.TemporaryDirectory()
shutil.copytree(os.path.join(EXAMPLES, "catalogue"), os.path.join(folder.name, "catalogue"))
with open(os.path.join(EXAMPLES, "first.xml"), encoding="utf-8") as file:
    FIRST = file.read()


def write(name, text):
    path = os.path.join(folder.name, name)
    with open(path, "w", encoding="utf-8") as file:
        file.write(text)
    return path


def drawn_with(wear, tank, bed):
    text = FIRST.replace('model="small 3"', f'model="small 3" wear="{wear:.9f}"').replace('to="57 %"', f'to="{tank:.9f}"').replace('to="31 %"', f'to="{bed:.9f}"')
    return write("changed.xml", text)


def seen(path):
    answer = json.loads(run("flows", path, "--arrangement", "both", "--format", "json").stdout)["arrangements"][0]
    flows = {p["id"]: p["flow_m3_s"] for p in answer["pipes"]}
    return [flows["feed-T1"], flows["feed-B1"], next(t["pressure_m"] for t in answer["tees"] if t["id"] == "J1"), next(p["head_m"] for p in answer["pumps"])]


truth = seen(drawn_with(0.12, 0.52, 0.25))
read = [truth[0] * 1.01, truth[1] * 0.985, truth[2] + 0.02]  # as a bucket and a gauge are off
sigma = [0.025 * read[0], 0.025 * read[1], 0.05]
readings = write("readings.xml", f'<readings><when arrangement="both"><bucket of="feed-T1" volume="10 l" seconds="{0.01 / read[0]:.9f}"/>'
                                 f'<bucket of="feed-B1" volume="10 l" seconds="{0.01 / read[1]:.9f}"/>'
                                 f'<pressure at="J1" is="{read[2]:.9f} m" plus-minus="0.1 m"/></when></readings>')
first = write("first.xml", FIRST)
fitted_file = os.path.join(folder.name, "fitted.xml")
done = run("diagnose", first, readings, "--calibrate", "--write", fitted_file, "--format", "json")
check(done.returncode == 0, "--calibrate ends with 0", (done.returncode, done.stderr))
answer = json.loads(done.stdout)
ours = {(c["what"], tuple(c["of"])): c for c in answer["coefficients"]}
other = least_squares(lambda x: [(r - s) / d for r, s, d in zip(read, seen(drawn_with(*x)), sigma)], [0.05, 0.57, 0.31], bounds=([0, 0.02, 0.02], [0.9, 1, 1]),
                      diff_step=1e-3, xtol=1e-10, ftol=1e-12)
for name, value in zip((("wear", ("P1",)), ("opening", ("VT",)), ("opening", ("VB",))), other.x):
    check(abs(ours[name]["fitted"] - value) < 2e-4 * max(1, value), f"{name} is what SciPy finds", (ours[name], value))
    check(ours[name]["low"] < ours[name]["fitted"] < ours[name]["high"], f"{name} has an interval")
check(all(c["fitted"] == c["drawn"] for c in answer["coefficients"] if c["told"] != "fitted"), "what is not told stays as drawn")
again = seen(fitted_file)
for value, wanted in zip(again, read):
    check(abs(value - wanted) < 1e-5 * abs(wanted) + 1e-9, "the layout written gives what was read", (value, wanted))
with open(fitted_file, encoding="utf-8") as file:
    check("<!-- A routine: what happens in time." in file.read(), "comments are kept")

text = run("diagnose", first, readings, "--calibrate").stdout
check(re.search(r"wear of pump P1 +0\.0 % +1\d\.\d %", text) and max(map(len, text.splitlines())) <= 100, "the text says it", text)
check(run("diagnose", first, readings, "--calibrate", "--format", "csv").stdout.startswith("what,of,unit,drawn,fitted,low,high,told\nroughness,"), "CSV")
threads = {run("diagnose", first, readings, "--calibrate", "--format", "json", "--threads", n).stdout for n in ("1", "3")}
check(len(threads) == 1, "threads change nothing")

only_flow = write("flow.xml", '<readings><when arrangement="both"><bucket of="feed-T1" volume="10 l" seconds="24"/></when></readings>')
done = run("diagnose", first, only_flow, "--calibrate", "--write", os.path.join(folder.name, "none.xml"))
check(done.returncode == 0 and "not told from" in done.stdout, "what is not told apart is named with its partner", done.stdout)
check("wrote nothing" in done.stderr and not os.path.exists(os.path.join(folder.name, "none.xml")), "nothing fitted, nothing written", done.stderr)
check(run("diagnose", first, only_flow, "--calibrate", "--strict").returncode == 5, "--strict: not explained")
done = run("diagnose", first, readings, "--calibrate", "--write", readings)
check(done.returncode == 2 and "<readings" in open(readings, encoding="utf-8").read(), "the readings are not replaced", done.stderr)
done = run("diagnose", first, readings, "--calibrate", "--write", first)
check(done.returncode == 2, "nor is the layout", done.stderr)

filters = os.path.join(EXAMPLES, "farm.xml")
farm = json.loads(run("flows", filters, "--arrangement", "dirty filter", "--format", "json").stdout)["arrangements"][0]
loss = next(f["loss_m"] for f in farm["filters"] if f["id"] == "F1")
flow = {p["id"]: p["flow_m3_s"] for p in farm["pipes"]}
lines = "".join(f'<bucket of="feed-T{n}" volume="20 l" seconds="{0.02 / flow[f"feed-T{n}"]:.6f}"/>' for n in (1, 2, 3, 4))
dirty = write("dirty.xml", f'<readings><when arrangement="coupled"><pressure at="F1" is="{loss:.6f} m" plus-minus="0.1 m"/>{lines}'
                           f'<flow of="PF" is="{flow["rise-fish"] * 60000:.6f} l/min"/></when></readings>')
done = run("diagnose", filters, dirty, "--calibrate", "--write", os.path.join(folder.name, "farm.xml"), "--format", "json")
load = next(c for c in json.loads(done.stdout)["coefficients"] if c["what"] == "filter-load")
check(load["told"] == "fitted" and load["low"] <= 1.0 <= load["high"] + 1e-9 and load["fitted"] > 0.9, "a filter as dirty as can be", load)
written = json.loads(run("flows", os.path.join(folder.name, "farm.xml"), "--arrangement", "coupled", "--format", "json").stdout)["arrangements"][0]
check(abs(next(f["loss_m"] for f in written["filters"] if f["id"] == "F1") - loss) < 0.05, "and the farm written has it", done.stderr)
count.end()
