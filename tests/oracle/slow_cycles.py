#!/usr/bin/python3
"""A thousand small farms followed in time by SciPy and by the program (see cycles.py); EBB_SLOW_SHARE in the environment takes a share of them.

    slow_cycles.py PROGRAM

Before that the recomputation is held to itself: the flows of _branches.py are those of the plain equations of _farm.py, at random levels.
"""
import os
import random
import sys

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _branches import Whole                               # noqa: E402
from _course import Course                                # noqa: E402
from _cycle_farms import FAMILIES                         # noqa: E402
from cycles import any_farms, campaign                    # noqa: E402
from random_networks import ValveLosses                   # noqa: E402

FARMS, FIRST_SEED = 1000, 20000


def branches_off(family, seed, losses):
    """Largest difference in flow between the two ways to solve a farm, at levels drawn at random, siphons primed or not; m3/s."""
    course = Course(FAMILIES[family](seed), "run", losses)
    rng, worst = random.Random(seed), 0.0
    for _ in range(3):
        course.primed = set() if rng.random() < 0.5 else {s.get("id") for s in course.farm.tree.findall("siphon")}
        course.build(course.routine.settings(rng.uniform(0, course.routine.lasts), [False] * len(course.routine.switches)))
        levels = {**course.fixed, **{n: n.elevation + rng.random() * (n.rim - n.elevation) for n in course.nodes}}
        own, plain = course.network.flows(levels)[0], Whole(course.now).flows(levels)[0]
        worst = max([worst] + [abs(own[k] - plain[k]) for k in own])
    return worst


def main():
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    losses = ValveLosses(sys.argv[1])
    off = max((branches_off(f, s, losses), f, s) for f in FAMILIES for s in range(2))
    print(f"branches against plain equations: largest difference {off[0]:.1e} m3/s ({off[1]} {off[2]})")
    count = max(4, round(FARMS * float(os.environ.get("EBB_SLOW_SHARE", "1"))))
    return 0 if campaign(sys.argv[1], any_farms(count, FIRST_SEED)) and off[0] < 1e-10 else 1


if __name__ == "__main__":
    sys.exit(main())
