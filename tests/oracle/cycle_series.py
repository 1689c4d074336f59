#!/usr/bin/python3
"""What `cycle` says must not hang on how it is looked at or how finely it steps.

    cycle_series.py PROGRAM

For a few small farms: every figure and every event is the same, to the last digit, without a series, with one at the solver's own steps and
with ones at two intervals; the two series agree where they meet; their depths are those of SciPy's solve_ivp at a relative tolerance of
1e-10 (_course.py), to 2e-5 m or 0.1 %; and half, a tenth and twice the tolerance move no moment by more than 0.1 % of the time since something switched.
"""
import csv
import json
import os
import subprocess
import sys
import tempfile

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _course import Course                                # noqa: E402
from _cycle_farms import FAMILIES                         # noqa: E402
from cycles import DEPTH, MOMENT, SHARE                   # noqa: E402
from random_networks import ValveLosses                   # noqa: E402

FARMS = (("timed-bed", 0), ("siphon", 1), ("power-cut", 1), ("spill", 2), ("until-bare", 0))
DEFAULT = 1e-7                # m: the program's own tolerance of one step
SWITCHING = ("valve-opens", "valve-closes", "power-fails", "power-returns", "pump-stops", "pump-restarts", "siphon-starts", "siphon-breaks",
             "pump-fails", "pump-mended", "setting-changes", "reaches-rim", "leaves-rim")


class Looks:
    def __init__(self, program, family, seed):
        self.program, self.text = os.path.abspath(program), FAMILIES[family](seed)

    def __call__(self, *options, series=False):
        """The routine's answer as text and the rows of its series."""
        with tempfile.TemporaryDirectory() as folder:
            rows = os.path.join(folder, "series.csv")
            with open(os.path.join(folder, "farm.xml"), "w", encoding="utf-8") as file:
                file.write(self.text)
            more = ["--series", rows] if series else []
            done = subprocess.run([self.program, "cycle", "farm.xml", "--routine", "run", "--format", "json", *more, *options], capture_output=True,
                                  timeout=60, check=False, cwd=folder)
            if done.returncode != 0:
                raise RuntimeError(f"exit {done.returncode}: {done.stderr.decode()[-400:]}")
            answer = json.dumps(json.loads(done.stdout)["routines"], sort_keys=True)
            if not series:
                return answer, None
            with open(rows, encoding="utf-8", newline="") as file:
                return answer, list(csv.DictReader(file))


def same_events(own, other):
    """Lines that say which moments moved too far between two answers."""
    wrong, switched = [], 0.0
    for a, b in zip(own, other):
        allowed = max(MOMENT, SHARE * (a["t_s"] - switched))
        if (a["code"], a["about"]) != (b["code"], b["about"]) or abs(a["t_s"] - b["t_s"]) > allowed:
            wrong.append(f"{a['code']} {a['about']} at {a['t_s']:.6f}: now {b['code']} {b['about']} at {b['t_s']:.6f}, allowed {allowed:.3f}")
        if a["code"] in SWITCHING:
            switched = a["t_s"]
    if len(own) != len(other):
        wrong.append(f"{len(own)} events, now {len(other)}")
    return wrong


def judge(program, losses, family, seed):
    look, wrong = Looks(program, family, seed), []
    plain, _ = look()
    own_steps, every_step = look(series=True)
    coarse, by_60 = look("--every", "60 s", series=True)
    fine, by_7 = look("--every", "7 s", series=True)
    for name, answer in (("at its own steps", own_steps), ("every 60 s", coarse), ("every 7 s", fine)):
        if answer != plain:
            wrong.append(f"the answer is another with a series {name}")
    if len(every_step) < 10:
        wrong.append(f"a series at the solver's own steps has {len(every_step)} rows")
    lasts = json.loads(plain)[0]["lasts_s"]
    if abs(len(by_60) - (int(lasts / 60) + 1)) > 1 or abs(len(by_7) - (int(lasts / 7) + 1)) > 1:
        wrong.append(f"{len(by_60)} and {len(by_7)} rows of a series every 60 s and every 7 s over {lasts} s")
    by_moment = {round(float(row["t_s"]), 6): row for row in by_7}
    for row in by_60:
        other = by_moment.get(round(float(row["t_s"]), 6))
        if other is not None and any(abs(float(row[k]) - float(other[k])) > 1e-9 for k in row):
            wrong.append(f"at {row['t_s']} s the series differ: {row} {other}")
    course = Course(look.text, "run", losses)
    course.pieces = []
    course.run()
    for row in by_60:
        for name, depth in zip(course.names, course.depths_at(min(float(row["t_s"]), course.routine.lasts))):
            got = float(row[name + "_depth_m"])
            if not abs(got - depth) <= max(DEPTH, SHARE * depth):
                wrong.append(f"at {row['t_s']} s {name} stands at {got}, own {depth:.9f}")
    for factor in (0.5, 0.1, 2.0):
        other, _ = look("--tolerance", f"{DEFAULT * factor:g} m")
        wrong += [f"{factor} of the tolerance: {line}" for line in same_events(json.loads(plain)[0]["events"], json.loads(other)[0]["events"])]
    return wrong


def main():
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    losses, passed, failed = ValveLosses(sys.argv[1]), 0, 0
    for family, seed in FARMS:
        wrong = judge(sys.argv[1], losses, family, seed)
        passed, failed = passed + (not wrong), failed + bool(wrong)
        for line in wrong[:8]:
            print(f"{family} {seed}: {line}")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
