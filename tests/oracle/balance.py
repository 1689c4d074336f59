#!/usr/bin/python3
"""Balanced settings found a second time, by scipy.optimize on the plain equations of _farm.py.

    balance.py PROGRAM

The second way knows no opening and no table of valves: it moves velocity heads. scipy.optimize.root finds those that give each outlet its
target where there are as many valves as outlets; scipy.optimize.minimize (SLSQP) the least sum of drops where there are more, the largest share
where the targets cannot be had, and where two arrangements share one setting the least worst shortfall, then, with that kept, the least worst surplus.
"""
import json
import os
import subprocess
import sys
import tempfile

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # small matrices: more threads only wait for each other
import numpy as np                                        # noqa: E402
from scipy.optimize import minimize, root                 # noqa: E402

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _farm import Farm                                    # noqa: E402
from _laws import G                                       # noqa: E402

PROGRAM = sys.argv[1]
passed = failed = 0


def check(right, what, seen=""):
    global passed, failed
    passed, failed = passed + bool(right), failed + (not right)
    if not right:
        print(f"FAILED: {what}\n    seen: {seen}")


PUMP = """<pump-model name="p"><point flow="0 m3/h" head="5.2 m" power="60 W"/><point flow="3 m3/h" head="4.6 m" power="90 W"/>
  <point flow="6 m3/h" head="3.1 m" power="120 W"/><point flow="8 m3/h" head="1.6 m" power="130 W"/></pump-model>"""


def loop(targets, shared=(), levels="", more=""):
    """A sump, a pump, a header of three tees with a branch at each; `shared`: headers (1 to 3) that have a valve of their own."""
    parts = ['<layout name="loop">', PUMP, '<sump id="S" floor="-1 m" rim="0 m" length="1.5 m" width="1 m" start-depth="0.8 m"/>',
             '<pump id="P" in="S" intake-height="0.05 m" model="p" check-valve="yes"/>']
    before = "P"
    for i, (flow, floor) in enumerate(targets, 1):
        valve = f'<valve id="H{i}" kind="ball" loss="0.06"/>' if i in shared else ""
        parts.append(f'<tee id="J{i}" elevation="0.3 m"/>')
        parts.append(f'<pipe id="h{i}" from="{before}" to="J{i}" length="3 m" bore="{45 - 4 * i} mm" roughness="0.0015 mm">{valve}'
                     '<fitting kind="elbow" loss="0.9"/></pipe>')
        parts.append(f'<tank id="T{i}" floor="{floor} m" rim="{floor + 0.8} m" length="1 m" width="1 m" start-depth="0.3 m" inflow="{flow} l/min"/>')
        parts.append(f'<pipe id="f{i}" from="J{i}" to="T{i}" to-height="0.6 m" length="{1.5 + 0.7 * i} m" bore="{23 + i} mm" roughness="0.0015 mm">'
                     f'<fitting kind="elbow" loss="0.9"/><valve id="V{i}" kind="{"gate" if i % 2 else "globe"}" loss="{0.16 if i % 2 else 6.8}"/></pipe>')
        parts.append(f'<standpipe id="O{i}" in="T{i}" bore="60 mm"><insert name="one" lip="0.3 m"/></standpipe>')
        parts.append(f'<drain id="d{i}" from="O{i}" to="S" to-height="0.95 m" length="2 m" bore="60 mm"/>')
        before = f"J{i}"
    parts += [f'<arrangement name="a"{levels}/>', more, "</layout>"]
    return "\n".join(parts).replace('kind="elbow" ', "")


def ours(text, *options):
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "farm.xml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        done = subprocess.run([PROGRAM, "balance", path, "--format", "json", *options], capture_output=True, timeout=120, check=False)
    if done.returncode != 0:
        raise RuntimeError(f"exit {done.returncode}: {done.stderr.decode()}")
    return json.loads(done.stdout)


class Plain:
    """The oracle's farm with velocity heads of its valves for unknowns."""

    def __init__(self, text, valves):
        # a throttled valve's "opening" is the velocity heads it adds; 0 and 1 mean shut and open there, so the heads are given 2 more
        self.farm = Farm(text, lambda kind, opening, loss: loss + (opening - 2.0))
        self.valves = valves
        self.area = {}
        for pipe in self.farm.tree.findall("pipe"):
            for valve in pipe.findall("valve"):
                self.area[valve.get("id")] = (pipe.get("id"), np.pi * (float(pipe.get("bore").split()[0]) / 1000) ** 2 / 4)
        self.tanks = {t.get("id"): float(t.get("inflow").split()[0]) / 60000 for t in self.farm.tree.findall("tank")}
        self.plain_settings = self.farm.settings
        self.near, self.known = None, {}
        walk = self.farm.settle

        def once(x, growth):  # these farms lose no water on the way: the second walk, which would tell, ends where the first did
            if growth < 12.0:
                self.end = walk(x, 12.0)
            return self.end
        self.farm.settle = once
        # Newton's method to the last digits instead of to 1e-9 m and a second solver that confirms it: the optimisers call for hundreds of solves
        closely, confirm = self.farm.at_levels, self.farm.polish
        self.farm.at_levels = lambda x, levels: closely(x, levels, 1e-12)
        self.farm.polish = lambda x, step, old: confirm(x, step, old) if step else (x, 0.0)

    def at(self, heads, arrangement="a"):
        """(shares of the targets, drops of the valves) with these velocity heads added; asked again, told again."""
        key = (np.asarray(heads).tobytes(), arrangement)
        if key not in self.known:
            self.known[key] = self.solved(heads, arrangement)
        return self.known[key]

    def solved(self, heads, arrangement):
        added = {v: max(k, 0.0) + 2.0 for v, k in zip(self.valves, heads)}
        own = self.plain_settings(arrangement)
        self.farm.settings = lambda name: {**own, **{v: k for v, k in added.items() if own.get(v) != 0.0}}
        out = self.farm.solve_as_primed(arrangement, self.near)
        self.near = {k.name: q for k, q in self.farm.flows.items()}
        shares = np.array([out["vessels"][t]["inflow_m3_s"] / wanted for t, wanted in self.tanks.items() if wanted])
        drops = []
        for v, k in zip(self.valves, heads):
            pipe, area = self.area[v]
            drops.append(k * (out["pipes"][pipe]["flow_m3_s"] / area) ** 2 / (2 * G) if own.get(v) != 0.0 else 0.0)
        return shares, np.array(drops)


def drops_of(answer, valves, place=0):
    found = {v["id"]: v["arrangements"][place]["drop_m"] for v in answer["valves"]}
    return np.array([found[v] for v in valves])


def square():
    """As many valves as outlets, levels settled and as drawn: one setting and no other."""
    for targets, levels in (([(20, 0.6), (18, 1.1), (12, 0.2)], ""), ([(30, 1.4), (6, 0.2), (25, 0.9)], ' levels="start"')):
        text = loop(targets, levels=levels)
        answer = ours(text)
        valves = ["V1", "V2", "V3"]
        plain = Plain(text, valves)
        found = root(lambda x: np.log(plain.at(np.exp(x))[0]), np.log([30.0] * 3), method="hybr", options={"xtol": 1e-9, "eps": 1e-5})
        shares, drops = plain.at(np.exp(found.x))
        check(np.abs(shares - 1).max() < 1e-8, "scipy.optimize.root finds the targets", shares)
        check(answer["outcome"] == "balanced", "balanced", answer["outcome"])
        check(np.abs(drops - drops_of(answer, valves)).max() < 2e-6, "drops as scipy.optimize.root finds them", (drops, drops_of(answer, valves)))
        heads = np.array([v["loss_coefficient"] for v in answer["valves"]]) - [0.16, 6.8, 0.16]
        check(np.abs(heads / np.exp(found.x) - 1).max() < 1e-5, "velocity heads as scipy.optimize.root finds them", (heads, np.exp(found.x)))


def scales_of(plain):
    """Velocity heads that drop 1 m at the targets, so that the optimiser moves metres."""
    flow = {"V1": 0, "V2": 1, "V3": 2}
    wanted = list(plain.tanks.values())
    scales = []
    for v in plain.valves:
        _, area = plain.area[v]
        q = wanted[flow[v]] if v in flow else sum(wanted[int(v[1]) - 1:])
        scales.append(2 * G * area**2 / q**2)
    return np.array(scales)


def more_valves_than_outlets():
    for targets in ([(20, 0.6), (18, 0.4), (12, 0.2)],):
        text = loop(targets, shared=(1, 2), levels=' levels="start"')
        answer = ours(text)
        valves = ["H1", "H2", "V1", "V2", "V3"]
        plain = Plain(text, valves)
        scale = scales_of(plain)
        best = minimize(lambda x: plain.at(x * scale)[1].sum(), [0.5] * 5, method="SLSQP", bounds=[(0, 6)] * 5,
                        constraints={"type": "eq", "fun": lambda x: plain.at(x * scale)[0] - 1}, options={"ftol": 1e-10, "maxiter": 200})
        shares, drops = plain.at(best.x * scale)
        check(np.abs(shares - 1).max() < 1e-6, "SLSQP meets the targets", shares)
        check(abs(drops.sum() - answer["throttled_m"]) < 2e-5, "the least sum of drops as SLSQP finds it", (drops, drops_of(answer, valves)))
        check(answer["throttled_m"] < drops.sum() + 1e-6, "no more throttling than SLSQP's", (answer["throttled_m"], drops.sum()))
        check(np.abs(drops - drops_of(answer, valves)).max() < 1e-3, "the same valves throttle", (drops, drops_of(answer, valves)))


def too_much_asked():
    text = loop([(45, 0.6), (40, 1.1), (30, 0.2)], levels=' levels="start"')
    answer = ours(text)
    plain = Plain(text, ["V1", "V2", "V3"])
    scale = scales_of(plain)
    best = minimize(lambda x: -x[3], [0.3, 0.3, 0.3, 0.5], method="SLSQP", bounds=[(0, 6)] * 3 + [(0, 2)],
                    constraints={"type": "ineq", "fun": lambda x: plain.at(x[:3] * scale)[0] - x[3]}, options={"ftol": 1e-12, "maxiter": 200})
    check(answer["outcome"] == "missed", "more is asked than the pump can give", answer["outcome"])
    check(abs(answer["missing"]["greatest_share"] - best.x[3]) < 1e-5, "the largest share as SLSQP finds it",
          (answer["missing"]["greatest_share"], best.x))
    # the head said to be missing, given: a pump that lifts so much more at every flow meets the targets, one that lifts a little less does not
    lacks = answer["missing"]["needed_head_m"] - answer["missing"]["given_head_m"]
    for more, enough in ((lacks + 0.002, True), (lacks - 0.01, False)):
        stronger = text
        for head in ("5.2", "4.6", "3.1", "1.6"):
            stronger = stronger.replace(f'head="{head} m"', f'head="{float(head) + more:.6f} m"')
        check((ours(stronger)["outcome"] == "balanced") == enough, f"the head missing, {lacks:.3f} m, is what is missing", more)


def one_setting_for_two():
    text = loop([(20, 0.6), (18, 0.9), (12, 0.2)], levels=' levels="start"',
                more='<arrangement name="b" levels="start"><close valve="V2"/><run pump="P" speed="96 %"/></arrangement>')
    answer = ours(text, "--arrangement", "a", "--arrangement", "b")
    plain = Plain(text, ["V1", "V2", "V3"])
    scale = scales_of(plain)

    def shares(x):
        return np.concatenate([plain.at(x[:3] * scale, "a")[0], plain.at(x[:3] * scale, "b")[0][[0, 2]]])

    def least(constraint, start):
        return minimize(lambda x: x[3], start, jac=lambda x: np.array([0, 0, 0, 1.0]), method="SLSQP", bounds=[(0, 6)] * 3 + [(0, 2)],
                        constraints={"type": "ineq", "fun": constraint}, options={"ftol": 1e-10, "maxiter": 100}).x

    lacks = least(lambda x: shares(x) - 1 + x[3], [1.0, 1.0, 1.0, 0.5])
    over = least(lambda x: (lambda s: np.concatenate([s - 1 + lacks[3], 1 + x[3] - s]))(shares(x)), [*lacks[:3], 0.5])
    found = {o["id"] + a["name"]: o["share"] for a in answer["arrangements"] for o in a["outlets"]}
    check(len(found) == 5 and abs(max(0, 1 - min(found.values())) - lacks[3]) < 2e-6, "the least worst shortfall as SLSQP finds it", (found, lacks))
    check(abs(max(found.values()) - 1 - over[3]) < 2e-5, "with it the least worst surplus as SLSQP finds it", (found, over))
    check(answer["worst"]["arrangement"] in ("a", "b") and answer["worst"]["about"].startswith("T"), "the worst is named", answer["worst"])


square()
more_valves_than_outlets()
too_much_asked()
one_setting_for_two()
print(f"{passed} checks passed, {failed} failed")
sys.exit(1 if failed else 0)
