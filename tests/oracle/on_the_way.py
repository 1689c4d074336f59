#!/usr/bin/python3
"""Arrangements whose settled state depends on the way there: the program against an integration of the levels in time by SciPy.

    on_the_way.py PROGRAM

Mains that top up a sump while it is low for a time; a tank that drains into two idle ones; a sump that runs dry while it fills beds;
a bed inlet that flows only until the header has fallen. Agreement asked for: levels, heads and flows to 1e-3 m and 1e-3 of the largest flow.
"""
import os
import sys
import time

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from random_networks import ValveLosses, judge            # noqa: E402

FARMS = (("on-the-way", 0), ("on-the-way", 1), ("on-the-way", 2), ("loop", 6))


def main():
    if len(sys.argv) != 2:
        print(__doc__, file=sys.stderr)
        return 2
    started = time.monotonic()
    passed = failed = 0
    for family, seed in FARMS:
        good, bad, _ = judge(sys.argv[1], ValveLosses(sys.argv[1]), family, seed, with_way=True)
        passed, failed = passed + good, failed + bad
    print(f"{len(FARMS)} farms, {time.monotonic() - started:.1f} s")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
