#!/usr/bin/python3
"""Follows small farms in time with SciPy (solve_ivp, relative tolerance 1e-10) and compares what the program's `cycle` says of them.

    cycles.py PROGRAM                        a sample of each family, within ten seconds; exits 1 when anything differs
    cycles.py PROGRAM --count N [--seed S]   N farms of random families from seed S on
    cycles.py PROGRAM --family F --seed S [--keep FILE]   one farm, with both lists of events

Agreement asked for: moments of events to 0.1 % of the time since something last switched, at least 10 ms (of a mark that a level creeps
past: to 5e-6 m of level); fill, hold, drain and period to 0.1 %; depths to 2e-5 m or 0.1 %; spilled volumes (or 10 ml), energies, run and dry
seconds to 0.1 %. The equations are those of docs/theory.md; _course.py integrates them with laws typed a second time. The loss of a half-open
valve is read off the program, as in random_networks.py.
"""
import argparse
import bisect
import json
import math
import os
import random
import subprocess
import sys
import tempfile
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")        # the matrices are small
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _course import Course                                # noqa: E402
from _cycle_farms import FAMILIES                         # noqa: E402
from random_networks import ValveLosses                   # noqa: E402

SAMPLE = {"timed-bed": 2, "rotation": 1, "siphon": 4, "power-cut": 4, "level-switch": 3, "top-up": 2, "draws": 2, "levelling": 2, "spill": 1,
          "until-bare": 2, "siphon-loop": 1, "tables": 1}
CODES = ("valve-opens", "valve-closes", "power-fails", "power-returns", "pump-stops", "pump-restarts", "siphon-starts", "siphon-breaks",
         "reaches-lip", "falls-below-lip", "drained", "reaches-rim", "intake-bare")
SHARE, MOMENT, DEPTH = 1e-3, 0.010, 2e-5
PASSED = 5e-6                 # m: a level that creeps past a mark may be said to pass it while it is this near, a quarter of DEPTH
FILM = 1e-5                   # m3: what comes in 20 ms at half a litre a second may stand over a rim instead of having gone over it


def run(program, text, *options):
    """The program's answer to the one routine of a layout."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "farm.xml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        done = subprocess.run([program, "cycle", path, "--routine", "run", "--format", "json", *[o.replace("FOLDER", folder) for o in options]],
                              capture_output=True, timeout=60, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"exit {done.returncode}: {done.stderr.decode()[-600:]}")
    return json.loads(done.stdout)["routines"][0]


class Judge:
    def __init__(self):
        self.seen, self.wrong = 0, []
        self.worst = {}                                   # what: the largest share of what is allowed

    def number(self, what, own, got, allowed):
        self.seen += 1
        if own is None or got is None or not isinstance(got, (int, float)):
            if not (own is None and got is None):
                self.wrong.append(f"{what}: own {own}, program {got}")
            return
        kind = what.split()[-1]
        self.worst[kind] = max(self.worst.get(kind, 0.0), abs(got - own) / allowed)
        if not abs(got - own) <= allowed:
            self.wrong.append(f"{what}: own {own:.10g}, program {got:.10g}, off by {got - own:+.2e}, allowed {allowed:.1e}")

    def share(self, what, own, got, least):
        self.number(what, own, got, max(SHARE * abs(own), least) if own is not None else least)


def judge_events(judge, course, theirs):
    """Each code and thing by itself, in order; what stands within its tolerance of the end may be missing on either side. What follows
    something that switched by itself (a siphon, a level-switch, a rim) is judged from that on: where it came late, the rest comes late."""
    switching = sorted(set(course.switching))
    clock = [0.0] + course.routine.edges()

    def last(moments, t):
        place = bisect.bisect_left(moments, t - 1e-6)
        return moments[place - 1] if place else 0.0

    def allowed(t):
        return max(MOMENT, SHARE * (t - last(switching, t)))

    lists = {}
    for t, code, about in course.events:
        lists.setdefault((code, about), ([], []))[0].append(t)
    for event in theirs["events"]:
        if event["code"] in CODES:
            lists.setdefault((event["code"], event["about"] or ""), ([], []))[1].append(event["t_s"])
    pairs = sorted((t, u, code, about) for (code, about), (own, got) in lists.items() for t, u in zip(own, got))
    shifts = [(0.0, 0.0)]                                 # (moment, how late the program was) of what switched by itself
    for t, u, code, about in pairs:
        began, late = shifts[-1]
        late = late if began > last(clock, t) else 0.0
        speed = course.level_speeds.get((t, code, about), math.inf)
        within = max(allowed(t), PASSED / max(speed, 1e-12))
        judge.number(f"{code} {about} moment", t, u if abs(u - t) <= within else u - late, within)
        if t in switching and t not in clock:
            shifts.append((t, u - t))
    for (code, about), (own, got) in sorted(lists.items()):
        if len(own) != len(got):
            rest = (own if len(own) > len(got) else got)[min(len(own), len(got)):]
            if any(course.routine.lasts - t > allowed(t) for t in rest):
                judge.wrong.append(f"{code} {about}: own {[round(t, 3) for t in own]}, program {[round(t, 3) for t in got]}")
    return abs(shifts[-1][1]) if shifts[-1][0] > clock[-1] else 0.0


def judge_figures(judge, course, theirs, late):
    """`late`: how much later the program was, at the end, with what switched by itself last."""
    def item(group, ident):
        return next(i for i in theirs[group] if i["id"] == ident)

    depths, spilled = course.end_depths(), course.spilled()
    for i, name in enumerate(course.names):
        got = item("vessels", name)
        for key, own in (("least_depth_m", course.least[i]), ("greatest_depth_m", course.greatest[i]), ("end_depth_m", depths[i])):
            moved = late * course.speed(course.y, i) if key == "end_depth_m" else 0.0
            judge.share(f"{name} {key}", float(own), got[key], DEPTH + moved)
        judge.share(f"{name} spilled_m3", float(spilled[i]), got["spilled_m3"], FILM)
    for bed in theirs["beds"]:
        figures = course.bed_figures(bed["id"])
        for key, own in figures.items():
            if key in ("fill_s", "hold_s", "drain_s", "period_s") and (not figures["clocked"] or course.routine.cuts):
                continue                                  # whether water that returns with the power is an opening is not ours to say
            if key == "clocked":
                continue
            if key in ("starts", "breaks"):
                judge.number(f"{bed['id']} {key}", own, bed[key], 0.5)
            else:
                judge.share(f"{bed['id']} {key}", own, bed[key], 1e-9 if key.endswith("m3_s") else MOMENT)
    for i, name in enumerate(course.routine.pumps):
        got, energy = item("pumps", name), course.energy()
        judge.share(f"{name} energy_j", float(energy[i]), got["energy_j"], 1.0)
        judge.share(f"{name} run_s", float(course.run_s[i]), got["run_s"], MOMENT)
        judge.share(f"{name} dry_s", float(course.dry_s[i]), got["dry_s"], MOMENT)


def compare(program, losses, family, seed, keep=None):
    text = FAMILIES[family](seed)
    if keep:
        with open(keep, "w", encoding="utf-8") as file:
            file.write(text)
    theirs = run(program, text)
    course = Course(text, "run", losses).run()
    judge = Judge()
    judge_figures(judge, course, theirs, judge_events(judge, course, theirs))
    if keep:
        own = {(round(t, 2), c, a) for t, c, a in course.events}
        got = {(round(e["t_s"], 2), e["code"], e["about"] or "") for e in theirs["events"]}
        for event in sorted(own | got):
            print("both   " if event in own & got else "own    " if event in own else "program", *event)
    return judge


def campaign(program, chosen, keep=None):
    """Judges farms [(family, seed)], prints what differs and how near the rest came; true when nothing differs."""
    started, losses, worst = time.monotonic(), ValveLosses(program), {}
    passed = failed = seen = 0
    for family, seed in chosen:
        try:
            judge = compare(program, losses, family, seed, keep)
        except (RuntimeError, ValueError, KeyError, StopIteration, subprocess.TimeoutExpired) as problem:
            print(f"{family} {seed}: {type(problem).__name__}: {problem}")
            failed += 1
            continue
        seen += judge.seen
        passed, failed = passed + (not judge.wrong), failed + bool(judge.wrong)
        for kind, share in judge.worst.items():
            worst[kind] = max(worst.get(kind, 0.0), share)
        for line in judge.wrong[: None if keep else 6]:
            print(f"{family} {seed}: {line}")
        if len(judge.wrong) > 6 and not keep:
            print(f"{family} {seed}: and {len(judge.wrong) - 6} more")
    print("largest difference as a share of what is allowed: " + ", ".join(f"{k} {v:.2g}" for k, v in sorted(worst.items())))
    print(f"{len(chosen)} farms, {seen} quantities compared, {time.monotonic() - started:.1f} s")
    print(f"{passed} passed, {failed} failed")
    return failed == 0 and passed > 0


def any_farms(count, seed, family=None):
    rng = random.Random(seed)
    often = [f for f in FAMILIES if f not in ("settled", "nozzles")] * 4 + ["settled", "nozzles"]       # those take seconds each
    return [(family or rng.choice(often), seed + i) for i in range(count)]


def main():
    parser = argparse.ArgumentParser(usage=__doc__)
    parser.add_argument("program")
    parser.add_argument("--count", type=int)
    parser.add_argument("--seed", type=int, default=100)
    parser.add_argument("--family", choices=sorted(FAMILIES))
    parser.add_argument("--keep")
    asked = parser.parse_args()
    if asked.family and not asked.count:
        chosen = [(asked.family, asked.seed)]
    elif asked.count:
        chosen = any_farms(asked.count, asked.seed, asked.family)
    else:
        chosen = [(f, s) for f, n in SAMPLE.items() for s in range(n)]
    return 0 if campaign(asked.program, chosen, asked.keep) else 1


if __name__ == "__main__":
    sys.exit(main())
