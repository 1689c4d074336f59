#!/usr/bin/python3
"""Recomputes a few dozen random farms as plain equations and compares every flow, head and level of the program with them.

    random_networks.py PROGRAM                     a sample of each family, within a minute; exits 1 when anything differs
    random_networks.py PROGRAM all                 a few dozen more
    random_networks.py PROGRAM FAMILY SEED [KEEP]  one farm, with both answers; writes the layout to the file KEEP

Agreement asked for: flows to 1e-6 of the largest flow of the farm, heads, losses and levels to 1e-6 m. Arrangements whose end depends
on the way there (seen by walking there in two ways) are left to on_the_way.py. The equations are those of
docs/theory.md, solved by _farm.py with laws typed a second time in _laws.py; the loss of a half-open valve (a table, checked
against its source elsewhere) is read off the program by a farm of one pipe.
"""
import json
import math
import os
import subprocess
import sys
import tempfile
import time

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")        # the matrices are small
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import _laws as laws                                      # noqa: E402
from _farm import Farm                                    # noqa: E402
from _random_farms import FAMILIES                        # noqa: E402
from _special_farms import SPECIAL                        # noqa: E402

FAMILIES = {**FAMILIES, **SPECIAL}

SAMPLE = {"mesh": 6, "manifold": 3, "loop": 1, "drowned": 1, "through": 1, "backing-up": 6, "siphon": 3, "spills": 3, "until-dry": 1, "tables": 1,
          "air-hole": 1, "header-tees": 4, "vented-chain": 6, "two-loops": 1, "draw": 2, "taking": 4}
ALL = {"mesh": 14, "manifold": 12, "loop": 8, "drowned": 8, "through": 5, "backing-up": 20, "siphon": 12, "spills": 9, "until-dry": 4, "tables": 8,
       "air-hole": 8, "header-tees": 20, "vented-chain": 30, "two-loops": 6, "draw": 10, "taking": 20}
SHARE, HEAD = 1e-6, 1e-6
INVENTORY = 1e-9              # share of the water of a closed farm that may come or go
ON_THE_WAY = 1e-3             # share and metres where the end depends on the way and had to be integrated in time
WATER_TABLE = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "reference", "water_properties.csv")


def run(program, text):
    """The program's answer to a layout, by arrangement."""
    with tempfile.NamedTemporaryFile("w", suffix=".xml", delete=False, encoding="utf-8") as file:
        file.write(text)
    try:
        done = subprocess.run([program, "flows", file.name, "--format", "json"], capture_output=True, timeout=60, check=False)
    finally:
        os.unlink(file.name)
    if done.returncode not in (0, 4):
        raise RuntimeError(f"exit {done.returncode}: {done.stderr.decode()[-600:]}")
    return {a["name"]: a for a in json.loads(done.stdout)["arrangements"]}


class ValveLosses:
    """Loss coefficient of a throttled valve, by one pipe between two ponds: K = (head - friction - entrance - exit) / velocity head."""

    def __init__(self, program):
        self.program, self.known = program, {}

    def __call__(self, kind, opening, open_loss):
        key = (kind, opening, open_loss)
        if key not in self.known:
            text = (f'<layout name="probe"><site water-temperature="20 degC"/><pond id="A" level="3 m"/><pond id="B" level="0 m"/>'
                    f'<pipe id="p" from="A" to="B" length="0.1 m" bore="50 mm" roughness="0 mm"><valve id="V" kind="{kind}" loss="{open_loss}"/></pipe>'
                    f'<arrangement name="a"><throttle valve="V" to="{opening * 100:.12g} %"/></arrangement></layout>')
            flow = run(self.program, text)["a"]["pipes"][0]["flow_m3_s"]
            friction = laws.Darcy(0.1, 0.05, 0.0, laws.viscosity(20.0) / laws.density(20.0)).loss(flow)
            velocity_head = (flow / (math.pi * 0.05**2 / 4)) ** 2 / (2 * laws.G)
            self.known[key] = (3.0 - friction) / velocity_head - 1.5
        return self.known[key]


def tolerance(key, biggest, own, link, on_the_way):
    share, head = (ON_THE_WAY, ON_THE_WAY) if on_the_way else (SHARE, HEAD)
    if key.endswith("m3_s"):
        return share * biggest
    if key == "velocity_m_s":
        return share * biggest / link["area"]
    if key == "reynolds":
        return share * biggest * link["reynolds"]
    if key == "efficiency":
        return 1e-4 if on_the_way else 1e-5
    if key in ("fill_ratio", "capacity_used"):
        return 1e-3 if on_the_way else 1e-5
    if key == "npsh_available_m":
        return head + 1e-5                # vapour and air pressure to a tenth of a pascal
    if key in ("spilled_m3", "first_spill_s"):
        return 1e-3 * abs(own) + (1e-6 if key == "spilled_m3" else 0.01)
    if key == "volume_m3":
        return None                       # follows from the level
    if key == "power_w":
        return 1e-5 * abs(own)            # a straight function of flow, steep at most tenfold
    return head


def compare(own, theirs, farm, biggest):
    """Lines that say where the two answers differ, and how many quantities were looked at."""
    wrong, seen = [], 0
    if own is None:
        return [] if theirs.get("state") == "cycles" and theirs.get("solved") is False else [f"cycles, program says {theirs.get('state')}"], 1
    if farm.state == "spills-until-dry":
        return compare_dry(theirs, farm)
    if theirs.get("solved") is not True:
        return [f"not solved: {theirs.get('state')} {theirs.get('why', '')}"], 1
    extras = {link.name: link.extra for link in farm.links}
    for group, items in own.items():
        answers = {item["id"]: item for item in theirs.get(group, [])}
        for ident, quantities in items.items():
            answer = answers.get(ident)
            if answer is None:
                if group == "float_valves" and not theirs.get(group):
                    continue
                wrong.append(f"{group}[{ident}] missing")
                continue
            for key, value in quantities.items():
                if group == "tees" and ident in farm.undetermined:
                    continue
                if group == "tees" and ident in farm.held_back:
                    value = farm.held_back[ident]          # behind a one-way link at rest: the least head that holds it
                if key not in answer and group in ("supplies", "float_valves"):
                    continue
                allowed = 0.0 if isinstance(value, bool) else tolerance(key, biggest, value or 0.0, extras.get((group, ident)), farm.on_the_way)
                if allowed is None:
                    continue
                seen += 1
                got = answer.get(key, "missing")
                if isinstance(value, bool):
                    if got is not value:
                        wrong.append(f"{group}[{ident}].{key}: own {value}, program {got}")
                elif value is None or got is None:
                    # a pipe that carries nothing may say 0 or null for its loss
                    if not (got == value or key == "loss_m" and abs(quantities["flow_m3_s"]) <= SHARE * biggest):
                        wrong.append(f"{group}[{ident}].{key}: own {value}, program {got}")
                elif not isinstance(got, (int, float)) or not abs(got - value) <= allowed:
                    off = f", off by {got - value:+.2e}, allowed {allowed:.1e}" if isinstance(got, (int, float)) else ""
                    wrong.append(f"{group}[{ident}].{key}: own {value:.12g}, program {got}{off}")
    return wrong, seen


def compare_dry(theirs, farm):
    """A closed loop that spills until its intake is bare has no settled state: only when, and how much over which rim."""
    if theirs.get("state") != "spills-until-dry" or theirs.get("solved") is not False:
        return [f"spills until dry, program says {theirs.get('state')}"], 1
    pairs = [("dry_after_s", farm.way.dry_after, theirs.get("dry_after_s"))]
    for i, node in enumerate(farm.vessels):
        got = next(v for v in theirs["vessels"] if v["id"] == node.name)
        pairs.append((node.name + " spilled_m3", farm.way.spilled[i], got.get("spilled_m3")))
        if farm.way.spilled[i] > 1e-6:
            pairs.append((node.name + " first_spill_s", farm.way.first[i], got.get("first_spill_s")))
    wrong = [f"{what}: own {own:.9g}, program {got}" for what, own, got in pairs
             if not isinstance(got, (int, float)) or abs(got - own) > 1e-3 * abs(own) + 1e-6]
    return wrong, len(pairs)


def judge(program, losses, family, seed, keep=None, with_way=False):
    """One farm: (arrangements that agree, arrangements that do not, quantities)."""
    text = FAMILIES[family](seed)
    if keep:
        with open(keep, "w", encoding="utf-8") as file:
            file.write(text)
    theirs = run(program, text)
    farm = Farm(text, losses)
    mine = {}
    for name in farm.names():
        answer = farm.solve(name)
        water = farm.start_volume() if farm.is_closed() and farm.state == "settled" and not farm.spills else None
        if farm.unpinned():
            print(f"{family} {seed}, {name}: not judged, an opening more than a bore under water holds the flow back")
            continue
        answer = None if farm.state == "cycles" else answer
        mine[name] = (water, answer, list(farm.links), set(farm.undetermined), dict(farm.held_back), farm.way, farm.state, farm.on_the_way)
    biggest = max([1e-6] + [abs(q["flow_m3_s"]) for _, a, *_ in mine.values() for g in (a or {}).values() for q in g.values() if "flow_m3_s" in q])
    good = bad = count = 0
    for name, (water, answer, *state) in mine.items():
        if state[-1] and family not in ("on-the-way", "spills", "until-dry"):
            if keep:
                print(f"{family} {seed}, {name}: the end depends on the way: see on_the_way.py")
            if not with_way:
                continue
        farm.links, farm.undetermined, farm.held_back, farm.way, farm.state, farm.on_the_way = state
        wrong, seen = compare(answer, theirs[name], farm, biggest)
        if wrong and farm.header_tees and theirs[name].get("solved"):
            # a tee's loss jumps where a leg turns round, so a branch nearly in balance may have two answers: is the program's one of them?
            near = {(group, item["id"]): item["flow_m3_s"] for group in ("pipes", "pumps") for item in theirs[name][group]}
            farm.state = "given-levels"
            try:
                wrong, seen = compare(farm.solve_as_primed(name, near), theirs[name], farm, biggest)
            except RuntimeError:
                pass
            if not wrong:
                print(f"{family} {seed}, {name}: two answers, the program has the other one")
        if water and theirs[name].get("solved"):
            off = sum(v["volume_m3"] for v in theirs[name]["vessels"]) / water - 1
            seen += 1
            if abs(off) > INVENTORY:
                wrong.append(f"the closed loop's water changed by {off:+.1e} of itself, allowed {INVENTORY:.0e}")
        count += seen
        good, bad = good + (not wrong), bad + bool(wrong)
        for line in wrong[: None if keep else 6]:
            print(f"{family} {seed}, {name}: {line}")
        if len(wrong) > 6 and not keep:
            print(f"{family} {seed}, {name}: and {len(wrong) - 6} more")
    return good, bad, count


def main():
    if len(sys.argv) < 2:
        print(__doc__, file=sys.stderr)
        return 2
    program = sys.argv[1]
    started = time.monotonic()
    passed = failed = quantities = 0
    worst = laws.self_check(WATER_TABLE) if os.path.exists(WATER_TABLE) else [0.0, 0.0]
    if worst[0] > 2e-6 or worst[1] > 1e-4:     # SR6-08 states 1 ppm in density, 1 % (in fact far better) in viscosity
        print(f"the oracle's own water is off: density {worst[0]:.1e}, viscosity {worst[1]:.1e}")
        failed += 1
    losses = ValveLosses(program)
    how_many = ALL if sys.argv[2:] == ["all"] else SAMPLE
    chosen = [(sys.argv[2], int(sys.argv[3]))] if len(sys.argv) > 3 else [(f, s) for f, n in how_many.items() for s in range(n)]
    for family, seed in chosen:
        try:
            good, bad, count = judge(program, losses, family, seed, sys.argv[4] if len(sys.argv) > 4 else None)
            passed, failed, quantities = passed + good, failed + bad, quantities + count
        except (RuntimeError, ValueError, KeyError, subprocess.TimeoutExpired) as problem:
            print(f"{family} {seed}: {type(problem).__name__}: {problem}")
            failed += 1
    print(f"{len(chosen)} farms, {quantities} quantities compared, {time.monotonic() - started:.1f} s")
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
