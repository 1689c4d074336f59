#!/usr/bin/python3
"""The choice of a pump against brute force: every model, number and speed of a small catalogue put into the farm and solved as plain equations.

    pump_ranking.py PROGRAM

The farm is solved by _farm.py (SciPy, dense, laws typed a second time), never by the program. Speeds: every thousandth from the least speed up
is a choice; the first that meets the targets is found by halving, and the thousandth below it is shown to miss. The duty is found by
scipy.optimize.brentq with an ideal pump of nearly constant head. Agreement asked for: the same candidates, the same standing of each, the same
order; speeds exactly; duty points, energy and costs to 1e-6.
"""
import json
import math
import os
import subprocess
import sys
import tempfile
import xml.etree.ElementTree as ElementTree

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import _laws as laws                                      # noqa: E402
from _elements import number                              # noqa: E402
from _farm import Farm                                    # noqa: E402
from scipy.optimize import brentq                         # noqa: E402

SHARE = 1e-6

MODELS = """
  <pump-model name="strong" price="420" least-speed="40 %">
    <point flow="0 m3/h" head="7.0 m" power="95 W" npsh="0.5 m"/><point flow="3 m3/h" head="6.4 m" power="120 W" npsh="0.8 m"/>
    <point flow="6 m3/h" head="4.9 m" power="145 W" npsh="1.4 m"/><point flow="9 m3/h" head="2.0 m" power="160 W" npsh="2.5 m"/>
  </pump-model>
  <pump-model name="fixed" price="260">
    <point flow="0 m3/h" head="4.6 m" power="60 W" npsh="0.5 m"/><point flow="2 m3/h" head="4.3 m" power="75 W" npsh="0.7 m"/>
    <point flow="4 m3/h" head="3.7 m" power="88 W" npsh="1.0 m"/><point flow="7 m3/h" head="1.5 m" power="98 W" npsh="2.0 m"/>
  </pump-model>
  <pump-model name="low" price="60">
    <point flow="0 m3/h" head="1.9 m" power="20 W" npsh="0.4 m"/><point flow="3 m3/h" head="1.2 m" power="28 W" npsh="0.6 m"/>
    <point flow="5 m3/h" head="0.2 m" power="30 W" npsh="0.9 m"/>
  </pump-model>
  <pump-model name="weak" price="90" least-speed="60 %">
    <point flow="0 m3/h" head="3.6 m" power="26 W" npsh="0.5 m"/><point flow="1.5 m3/h" head="3.1 m" power="35 W" npsh="0.6 m"/>
    <point flow="3 m3/h" head="2.0 m" power="41 W" npsh="0.9 m"/><point flow="4.5 m3/h" head="0.3 m" power="43 W" npsh="1.4 m"/>
  </pump-model>
  <pump-model name="thirsty" price="10">
    <point flow="0 m3/h" head="6.0 m" power="30 W" npsh="10 m"/><point flow="8 m3/h" head="2.0 m" power="40 W" npsh="14 m"/>
  </pump-model>
"""

LAYOUT = """<layout name="one lift, two outlets">
  <site altitude="50 m" water-temperature="22 degC"/>""" + MODELS + """
  <tank id="T" floor="0.2 m" rim="1.2 m" diameter="1.4 m" start-depth="0.85 m" turnover="45 min"/>
  <trough id="R" floor="0.7 m" rim="1.1 m" length="3 m" width="1 m" start-depth="0.25 m" inflow="14 l/min"/>
  <sump id="S" floor="-0.8 m" rim="0.05 m" length="1.2 m" width="1.0 m" start-depth="0.6 m"/>
  <pump id="P" in="S" intake-height="0.06 m" model="fixed" check-valve="yes"/>
  <tee id="J" elevation="0.3 m"/>
  <pipe id="rise" from="P" to="J" length="4 m" bore="32 mm" roughness="0.0015 mm" hazen-williams="150"><fitting loss="2.4"/></pipe>
  <pipe id="to-T" from="J" to="T" to-height="0.95 m" length="4 m" bore="27 mm" roughness="0.0015 mm"><fitting loss="1.8"/></pipe>
  <pipe id="to-R" from="J" to="R" to-height="0.33 m" length="5 m" bore="17 mm" roughness="0.0015 mm"><valve id="VR" kind="ball" loss="0.5"/></pipe>
  <standpipe id="OT" in="T" bore="68 mm"><insert name="i" lip="0.85 m"/></standpipe>
  <standpipe id="OR" in="R" bore="57 mm"><insert name="i" lip="0.25 m"/></standpipe>
  <drain id="home-T" from="OT" to="S" to-height="0.8 m" length="2.5 m" bore="70 mm" roughness="0.0015 mm"/>
  <drain id="home-R" from="OR" to="S" to-height="0.8 m" length="3 m" bore="60 mm" roughness="0.0015 mm"/>
  <arrangement name="day"/>
  <arrangement name="night"><close valve="VR"/></arrangement>
  <economy currency="EUR" price-per-kwh="0.31" years="8" interest="4 %">
    <hours arrangement="day" a-year="5200 h"/><hours arrangement="night" a-year="3400 h"/>
    <candidate model="strong" most="2"/><candidate model="fixed" most="2"/><candidate model="low" most="2"/>
    <candidate model="weak" most="2"/><candidate model="thirsty"/>
  </economy>
</layout>"""

HOURS = {"day": 5200.0, "night": 3400.0}
COUNTS = {"strong": 2, "fixed": 2, "low": 2, "weak": 2, "thirsty": 1}
PRICE, YEARS, INTEREST = 0.31, 8, 0.04


def put_in(model, count, speeds):
    tree = ElementTree.fromstring(LAYOUT)
    pump = tree.find("pump")
    pump.set("model", model)
    pump.set("count", str(count))
    for arrangement in tree.findall("arrangement"):
        run = ElementTree.SubElement(arrangement, "run")
        run.set("pump", "P")
        run.set("speed", f"{100 * speeds[arrangement.get('name')]:.17g} %")
    return tree


class Solved:
    """One arrangement, as the plain equations have it."""

    def __init__(self, tree, name):
        farm = Farm(ElementTree.tostring(tree, encoding="unicode"))
        answer = farm.solve(name)
        self.pump = answer["pumps"]["P"]
        tank, trough = answer["vessels"]["T"], answer["vessels"]["R"]
        turnover = 45 * 60.0
        margins = {"T": tank["inflow_m3_s"] * turnover / tank["volume_m3"] - 1}
        if name == "day":                                  # at night its water is shut off on purpose
            margins["R"] = trough["inflow_m3_s"] / (14e-3 / 60) - 1
        self.margin = min(margins.values())
        self.spills = any(v.get("spill_m3_s", 0.0) > 1e-9 for v in answer["vessels"].values())


class Brute:
    def __init__(self):
        self.solved = {}
        tree = ElementTree.fromstring(LAYOUT)
        self.models = {m.get("name"): m for m in tree.findall("pump-model")}

    def solve(self, model, count, name, speed):
        key = (model, count, name, speed)
        if key not in self.solved:
            self.solved[key] = Solved(put_in(model, count, {"day": speed, "night": speed}), name)
        return self.solved[key]

    def good(self, model, count, name, speed):
        """Everything that a candidate must be in one arrangement."""
        one = self.solve(model, count, name, speed)
        points = self.models[model].findall("point")
        flow, share = one.pump["flow_m3_s"], one.pump["flow_m3_s"] / count / speed
        end = number(points[-1].get("flow"))
        npsh = laws.Pchip([number(p.get("flow")) for p in points], [number(p.get("npsh")) for p in points])
        needed = speed**2 * npsh(share)
        return one.margin >= -1e-9 and not one.spills and flow <= end * count * speed and one.pump["npsh_available_m"] >= needed

    def least(self, model, count, name, least):
        """The least thousandth that is good, or None."""
        low, high = math.ceil(least * 1000) - 1, 1000
        if not self.good(model, count, name, 1.0):
            return None
        while high - low > 1:
            middle = (low + high) // 2
            if self.good(model, count, name, middle / 1000):
                high = middle
            else:
                low = middle
        return high / 1000

    def candidate(self, model, count, mode, speeds):
        meets = all(self.good(model, count, name, speeds[name]) for name in HOURS)
        energy = sum(HOURS[name] * self.solve(model, count, name, speeds[name]).pump["power_w"] / 1000 for name in HOURS)
        price = float(self.models[model].get("price")) * count
        worth = (1 - (1 + INTEREST) ** -YEARS) / INTEREST
        return {"model": model, "count": count, "speed_mode": mode, "standing": "meets" if meets else "rejected", "speeds": speeds, "price": price,
                "energy_kwh_year": energy, "life_cycle_cost": price + worth * PRICE * energy,
                "points": {name: self.solve(model, count, name, speeds[name]).pump for name in HOURS}}

    def all(self):
        found = []
        for model, most in COUNTS.items():
            for count in range(1, most + 1):
                full = {name: 1.0 for name in HOURS}
                found.append(self.candidate(model, count, "as-arranged", full))
                lowest = self.models[model].get("least-speed")
                if not lowest:
                    continue
                each = {name: self.least(model, count, name, number(lowest)) for name in HOURS}
                if None in each.values():
                    continue
                one = dict.fromkeys(HOURS, max(each.values()))
                found += [self.candidate(model, count, mode, speeds) for mode, speeds in (("one-speed", one), ("variable", each))
                          if speeds != full and not (mode == "variable" and each == one)]
        return found

    def duty(self, name):
        """The least constant head at which every target is met, and the flow there."""
        tree = ElementTree.fromstring(LAYOUT)

        def solve(head):
            model = tree.find("pump-model[@name='ideal']")
            if model is None:
                model = ElementTree.SubElement(tree, "pump-model", {"name": "ideal"})
                tree.find("pump").set("model", "ideal")
            for point in list(model):
                model.remove(point)
            for flow, share in (("0 m3/h", 1.0), ("100 m3/h", 0.99)):
                ElementTree.SubElement(model, "point", {"flow": flow, "head": f"{head * share:.17g} m", "power": "1 W"})
            return Solved(tree, name)

        head = brentq(lambda h: solve(h).margin, 1.6, 8.0, xtol=1e-10, rtol=1e-12)
        return solve(head).pump


def near(one, other):
    return abs(one - other) <= SHARE * max(abs(one), abs(other))


def main():
    with tempfile.NamedTemporaryFile("w", suffix=".xml", delete=False, encoding="utf-8") as file:
        file.write(LAYOUT)
    try:
        done = subprocess.run([sys.argv[1], "pumps", file.name, "--format", "json"], capture_output=True, timeout=60, check=False)
    finally:
        os.unlink(file.name)
    if done.returncode != 0:
        print(f"exit {done.returncode}: {done.stderr.decode()}")
        return 1
    said = json.loads(done.stdout)["pumps"][0]
    brute, wrong, compared = Brute(), [], 0

    def check(right, what):
        nonlocal compared
        compared += 1
        if not right:
            wrong.append(what)

    for duty in said["duties"]:
        ours = brute.duty(duty["arrangement"])
        check(near(duty["flow_m3_s"], ours["flow_m3_s"]) and near(duty["head_m"], ours["head_m"]),
              f"duty of {duty['arrangement']}: {duty['flow_m3_s']}, {duty['head_m']} against {ours['flow_m3_s']}, {ours['head_m']}")
    mine = brute.all()
    ranked = sorted((c for c in mine if c["standing"] == "meets"), key=lambda c: c["life_cycle_cost"])
    theirs = [c for c in said["candidates"] if c["standing"] == "meets"]
    name = lambda c: (c["model"], c["count"], c["speed_mode"])          # noqa: E731
    check([name(c) for c in theirs] == [name(c) for c in ranked], f"order: {[name(c) for c in theirs]} against {[name(c) for c in ranked]}")
    check(len(ranked) >= 4 and len(mine) - len(ranked) >= 4, "the catalogue has pumps that do and pumps that do not")
    check(sorted(map(name, said["candidates"])) == sorted(map(name, mine)), f"candidates: {sorted(map(name, said['candidates']))} against {sorted(map(name, mine))}")
    by_name = {name(c): c for c in mine}
    for c in said["candidates"]:
        own = by_name.get(name(c))
        if own is None:
            continue
        check(c["standing"] == own["standing"], f"{name(c)} is {c['standing']}, by brute force {own['standing']}")
        for key in ("price", "energy_kwh_year", "life_cycle_cost"):
            check(near(c[key], own[key]), f"{name(c)} {key}: {c[key]} against {own[key]}")
        for point in c["points"]:
            check(point["speed"] == own["speeds"][point["arrangement"]], f"{name(c)} in {point['arrangement']}: speed {point['speed']} against {own['speeds']}")
            for key in ("flow_m3_s", "head_m", "power_w", "efficiency"):
                check(near(point[key], own["points"][point["arrangement"]][key]),
                      f"{name(c)} in {point['arrangement']} {key}: {point[key]} against {own['points'][point['arrangement']][key]}")
    for line in wrong[:40]:
        print(line)
    print(f"{compared - len(wrong)} agree, {len(wrong)} differ, {len(brute.solved)} farms solved as plain equations")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
