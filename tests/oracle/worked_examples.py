#!/usr/bin/python3
"""Worked examples of textbooks and handbooks, side by side with the program.

    worked_examples.py PROGRAM     published | ours | difference | allowed; exits 1 when a figure is out of its tolerance
    worked_examples.py --own       the same with the plain equations of _farm.py in place of the program

The examples are layouts under tests/reference/worked; examples.json beside them holds the published figure, the unit it is printed
in (`unit_is`: its size in SI), the tolerance as a share, and how far the source was seen: `seen` = read, `library` = as quoted by a
general-purpose correlations library, `recalled` = from memory, where only the recomputation says that question and answer belong together. A tolerance is the rounding or the
chart error of the source, never ours.
"""
import json
import os
import re
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
DATA = os.path.join(HERE, "..", "reference", "worked")
sys.path.insert(0, HERE)


def by_program(program, path):
    done = subprocess.run([program, "flows", path, "--format", "json"], capture_output=True, timeout=60, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"exit {done.returncode}: {done.stderr.decode()[-400:]}")
    out = {}
    for arrangement in json.loads(done.stdout)["arrangements"]:
        out[arrangement["name"]] = {group: {item["id"]: item for item in items} for group, items in arrangement.items()
                                    if isinstance(items, list) and items and isinstance(items[0], dict) and "id" in items[0]}
    return out


def by_equations(path):
    from _farm import Farm
    farm = Farm(path)
    return {name: farm.solve(name) for name in farm.names()}


def main():
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    with open(os.path.join(DATA, "examples.json"), encoding="utf-8") as file:
        examples = json.load(file)
    answers, passed, failed = {}, 0, 0
    print(f"{'example':24} {'':34} {'published':>12} {'ours':>12} {'unit':6} {'differs':>9} {'allowed':>9}")
    for row in examples:
        name = row["layout"]
        try:
            if name not in answers:
                path = os.path.join(DATA, name + ".xml")
                answers[name] = by_equations(path) if sys.argv[1] == "--own" else by_program(sys.argv[1], path)
            group, ident, key = re.fullmatch(r"(\w+)\[([^\]]+)\]\.(\w+)", row["quantity"]).groups()
            ours = answers[name][row["arrangement"]][group][ident][key] / row["unit_is"]
        except (RuntimeError, KeyError, TypeError, ValueError, subprocess.TimeoutExpired) as problem:
            print(f"{name:24} {row['says'][:34]:34} no answer: {type(problem).__name__}: {problem}")
            failed += 1
            continue
        off = ours / row["published"] - 1
        good = abs(off) <= row["tolerance"]
        passed, failed = passed + good, failed + (not good)
        print(f"{name:24} {row['says'][:34]:34} {row['published']:12.6g} {ours:12.6g} {row['unit']:6} {off:+9.2%} {row['tolerance']:9.2%}"
              + ("" if good else "   <- out of tolerance"))
    print("\nsources")
    for source in dict.fromkeys(row["source"] for row in examples):
        layouts = ", ".join(sorted({row["layout"] for row in examples if row["source"] == source}))
        seen = "; ".join(dict.fromkeys(row["status"] for row in examples if row["source"] == source))
        print(f"  {source} [{seen}]: {layouts}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
