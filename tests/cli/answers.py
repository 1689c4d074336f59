"""Whole answers against values computed beforehand by separate programs: tests/reference/layouts holds the layouts, and for each the figures that
were worked out from the equations of docs/theory.md without this project's code (a plain root finder over the whole network), with a tolerance."""
import json
import math
import os
import re

from _program import HERE, Count, run

count = Count()
FOLDER = os.path.join(HERE, "..", "reference", "layouts")


def pick(answer, path):
    """'arrangements[NAME].pipes[ID].flow_m3_s' of the answer."""
    arrangement, group, ident, key = re.fullmatch(r"arrangements\[(.*?)\]\.(?:(\w+)\[([^\]]*)\]\.)?(\w+)", path).groups()
    item = next(a for a in answer["arrangements"] if a["name"] == arrangement)
    if group:
        item = next(i for i in item[group] if i["id"] == ident)
    return item[key]


def agrees(got, wanted, tolerance):
    if wanted is None or isinstance(wanted, (bool, str)):
        return got == wanted and type(got) is type(wanted)
    return isinstance(got, (int, float)) and not isinstance(got, bool) and math.isfinite(got) and abs(got - wanted) <= tolerance


for name in sorted(os.listdir(FOLDER)):
    if not name.endswith(".json"):
        continue
    with open(os.path.join(FOLDER, name), encoding="utf-8") as file:
        expected = json.load(file)
    process = run("flows", os.path.join(FOLDER, expected["layout"]), "--format", "json")
    if not count.check(process.returncode == 0, f"{name}: solved", process.stderr):
        continue
    whole = json.loads(process.stdout)
    for figure in expected["figures"]:
        try:
            seen = pick(whole, figure["path"])
        except (KeyError, StopIteration):
            seen = "missing"
        count.check(agrees(seen, figure["value"], figure["tolerance"]), f"{name}: {figure['path']} is {figure['value']} within {figure['tolerance']}", seen)
count.end()
