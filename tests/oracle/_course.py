"""A farm followed through a routine in time by scipy.integrate.solve_ivp at a relative tolerance of 1e-10, with events by its root finding.

The states are the volumes of the vessels, what each has spilled and the energy of each pump. The right-hand side is the laws of
_elements.py at the levels of the moment, solved by _branches.py. Whatever switches (a valve, a siphon, a rim, a level-switch, a lip, a bare intake) ends a stretch.
"""
import bisect
import math

import numpy as np
from scipy.integrate import solve_ivp

from _branches import Branches, Whole
from _elements import number
from _farm import Farm
from _routine import SAME, Routine

G = 9.80665
RELATIVE = 1e-10
BARE = 0.020                  # m: an intake is bare while the water stands less than this over it
DRAINED = 0.005               # m: a bed with no more than this over its lowest way out is drained
LAST = 0.002                  # m: draws and uptakes take in proportion below this depth
REARM = 1e-3                  # m: a vessel reaches its rim again only after it has fallen this far


class Vessel:
    """Volume to depth and back, straight between the points."""

    def __init__(self, node):
        self.node, self.floor = node, node.elevation
        self.depths, self.volumes = [p[0] for p in node.volume], [p[1] for p in node.volume]
        self.full = self.volumes[-1]

    def level(self, volume):
        if volume <= 0.0:
            return self.floor
        i = min(max(bisect.bisect_left(self.volumes, volume), 1), len(self.volumes) - 1)
        v0, v1, d0, d1 = self.volumes[i - 1], self.volumes[i], self.depths[i - 1], self.depths[i]
        return self.floor + d0 + (volume - v0) * (d1 - d0) / (v1 - v0)

    def area(self, volume):
        return 2e-6 / (self.level(volume + 1e-6) - self.level(volume - 1e-6))


class Mark:
    """Something to wait for: `value(t, y)` through zero upwards (+1) or downwards (-1)."""

    def __init__(self, what, about, value, direction):
        self.what, self.about, self.direction, self.terminal = what, about, direction, True
        self.value = value

    def __call__(self, t, y):
        return self.value(t, y)


class Course:
    def __init__(self, text, routine, valve_loss=None, method="LSODA", relative=RELATIVE):
        self.farm, self.method, self.relative = Farm(text, valve_loss), method, relative
        tree = self.farm.tree
        element = next(r for r in tree.findall("routine") if r.get("name") == routine)
        arrangement = element.get("arrangement") or self.farm.names()[0]
        self.routine = Routine(tree, routine, self.farm.settings(arrangement))
        if self.routine.from_settled:
            self.farm.solve(arrangement)
            self.first = {n.name: h - n.elevation for n, h in self.farm.heads.items() if n.kind == "vessel"}
            self.primed = set(self.farm.primed)
        else:
            self.first, self.primed = {}, set()
        self.farm.build(self.farm.settings(arrangement))
        self.names = [n.name for n in self.farm.nodes.values() if n.kind == "vessel"]
        self.vessels = [Vessel(self.farm.nodes[n]) for n in self.names]
        self.place = {n: i for i, n in enumerate(self.names)}
        self.count = len(self.names)
        self.lip_of = {s.get("id"): s.get("in") for s in tree.findall("standpipe")}
        self.siphon_in = {s.get("id"): s.get("in") for s in tree.findall("siphon")}
        self.built, self.calls = {}, 0
        self.events, self.switching = [], []
        self.level_speeds = {}                # (t, code, about) of what a level passed: how fast it went, m/s
        self.pieces = None                    # a list: the way between the events is kept there, for depths_at

    # ------------------------------------------------------------------------------------------ what is built for one setting

    def build(self, settings):
        key = (tuple(sorted(settings.items())), tuple(sorted(self.primed)))
        if key not in self.built:
            farm = Farm.__new__(Farm)
            farm.__dict__.update(self.farm.__dict__)
            farm.primed = set(self.primed)
            farm.build(settings)
            for link in farm.links:
                if link.name[0] == "siphons" and link.extra["starts"] is None:
                    bore = number(next(s for s in farm.tree.findall("siphon") if s.get("id") == link.name[1]).get("bore"))
                    link.extra["starts"] = 0.5 * math.pi * bore**2 / 4 * math.sqrt(G * bore)
            branches = Branches(farm)
            self.built[key] = (farm, Whole(farm) if branches.others else branches)
        self.now, self.network = self.built[key]
        self.nodes = [self.now.nodes[n] for n in self.names]
        self.fixed = {n: n.start for n in self.now.nodes.values() if n.kind == "fixed"}
        self.ends = [(k, self.place.get(k.a.name), self.place.get(k.b.name)) for k in self.now.links]
        self.power = [None] * len(self.routine.pumps)
        for k in self.now.links:
            if k.name[0] == "pumps" and k.extra["running"]:
                self.power[self.routine.pumps.index(k.name[1])] = (k, k.extra["power"])
        self.cached = None

    # ------------------------------------------------------------------------------------------ the right-hand side

    def levels(self, y):
        return [v.level(y[i]) for i, v in enumerate(self.vessels)]

    def flows(self, y):
        key = tuple(y[:self.count])
        if key != self.cached:
            self.calls += 1
            levels = dict(self.fixed)
            levels.update(zip(self.nodes, self.levels(y)))
            self.found = self.network.flows(levels)[0]
            self.cached = key
        return self.found

    def net(self, y):
        flows = self.flows(y)
        out = [0.0] * self.count
        for link, a, b in self.ends:
            q = flows[link]
            if q != 0.0:
                if a is not None:
                    out[a] -= q
                if b is not None:
                    out[b] += q
        for source, into, rate in self.taken:
            i = self.place[source]
            q = rate * min(1.0, max(0.0, (self.vessels[i].level(y[i]) - self.vessels[i].floor) / LAST))
            out[i] -= q
            if into is not None and into in self.place:
                out[self.place[into]] += q
        return out

    def slope(self, _, y):
        net, flows = self.net(y), self.flows(y)
        out = np.zeros(len(y))
        for i, q in enumerate(net):
            out[self.count + i if self.brim[i] else i] = q
        for i, power in enumerate(self.power):
            if power is not None:
                out[2 * self.count + i] = power[1](flows[power[0]])
        return out

    # ------------------------------------------------------------------------------------------ what to wait for

    def level_of(self, i):
        return lambda _, y: self.vessels[i].level(y[i])

    def crossing(self, what, about, i, low, high, above):
        """Waits for the level of vessel i to fall to `low` or rise to `high`, whichever side it is on."""
        vessel = self.vessels[i]
        target, direction = (low, -1) if above else (high, 1)
        return Mark(what, about, lambda _, y: vessel.level(y[i]) - target, direction)

    def marks(self, y):
        out = []
        for i, v in enumerate(self.vessels):
            if self.brim[i]:
                out.append(Mark("leaves-rim", self.names[i], lambda _, y, i=i: self.net(y)[i], -1))
            else:
                out.append(Mark("reaches-rim", self.names[i], lambda _, y, i=i, v=v: y[i] - v.full, 1))
        for key, (i, height) in self.heights(y).items():
            out.append(self.crossing(*key, i, height, height, self.above[key]))
        for s, off in zip(range(len(self.routine.switches)), self.off):
            switch = self.routine.switches[s]
            i = self.place[switch["watches"]]
            floor = self.vessels[i].floor
            out.append(self.crossing("switch", s, i, floor + switch["low"], floor + switch["high"], off != switch["off_below"]))
        for k in self.now.links:
            if k.name[0] == "siphons":
                i = self.place[k.a.name]
                if k.extra["primed"]:
                    out.append(Mark("siphon-breaks", k.name[1], lambda _, y, i=i, k=k: self.vessels[i].level(y[i]) - k.extra["breaks"], -1))
                else:
                    out.append(Mark("siphon-starts", k.name[1], lambda _, y, k=k: self.flows(y)[k] - k.extra["starts"], 1))
        return out

    def heights(self, _):
        """Marks that only tell: (what, about): (vessel, elevation)."""
        out = {}
        for k in self.now.links:
            if k.name[0] == "standpipes" and k.a.name in self.place:
                out[("lip", k.name[1])] = (self.place[k.a.name], k.extra["lip"])
            if k.intake is not None:
                out[("intake", k.name[1])] = (self.place[k.a.name], k.intake + BARE)
        for e in self.now.tree:
            if e.tag in ("bed", "tier") and self.lowest_way_out(e.get("id")) is not None:
                out[("drained", e.get("id"))] = (self.place[e.get("id")], self.lowest_way_out(e.get("id")) + DRAINED)
        return out

    def lowest_way_out(self, ident):
        ways = []
        for k in self.now.links:
            if k.a.name == ident:
                if k.name[0] == "standpipes":
                    ways.append(k.extra["lip"])
                elif k.name[0] == "holes":
                    ways.append(k.outlet)
                elif k.name[0] == "siphons":
                    ways.append(k.extra["breaks"])
                elif k.port_a is not None:
                    ways.append(k.port_a[0])
                elif k.intake is not None:
                    ways.append(k.intake)
        return min(ways, default=None)

    # ------------------------------------------------------------------------------------------ the run

    def say(self, t, code, about):
        self.events.append((t, code, about))

    def conditions(self, t, first=False):
        """Sets what stands from t on, and says what changed."""
        power = self.routine.powered(t)
        wanted = self.routine.settings(t, self.off)           # what it would be with power
        if first:
            self.wanted, self.was_powered, self.settings = dict(wanted), True, None
            self.wanted.update((about, 0.0) for about in self.routine.windows)
        if power != self.was_powered:
            self.say(t, "power-returns" if power else "power-fails", "")
            self.was_powered = power
        for about in self.routine.valves + self.routine.pumps:
            was, stands = self.wanted[about] > 0.0, wanted[about] > 0.0
            if was != stands:
                pump = about in self.routine.pumps
                self.say(t, ("pump-restarts" if stands else "pump-stops") if pump else ("valve-opens" if stands else "valve-closes"), about)
        before, self.wanted = self.settings, wanted
        self.settings = wanted if power else {**wanted, **dict.fromkeys(self.routine.pumps, 0.0)}
        if before != self.settings or self.routine.draws:
            self.switching.append(t)
        self.taken = [(a, b, rate) for a, b, rate in self.routine.draw_rates(t)] + [(a, None, rate) for a, rate in self.routine.uptakes]
        self.build(self.settings)

    def look(self, t, y):
        """On which side of each mark the levels are. One that was moved past a level (another insert) counts as passed by it."""
        for key, (i, height) in self.heights(y).items():
            over = self.vessels[i].level(y[i]) - height
            if key not in self.above:
                self.above[key] = over > 0.0
            elif abs(over) > 1e-9 and (over > 0.0) != self.above[key]:
                self.pass_mark(t, y, *key)

    def run(self):
        n, pumps = self.count, len(self.routine.pumps)
        y = np.zeros(2 * n + pumps)
        for i, v in enumerate(self.vessels):
            y[i] = v.node.volume_at(self.first.get(self.names[i], v.node.start))
        self.brim = [y[i] >= v.full for i, v in enumerate(self.vessels)]
        self.armed = [True] * n
        self.above = {}
        self.off = [False] * len(self.routine.switches)
        for s, switch in enumerate(self.routine.switches):
            i = self.place[switch["watches"]]
            depth = self.vessels[i].level(y[i]) - self.vessels[i].floor
            if depth < switch["low"] or depth > switch["high"]:
                self.off[s] = switch["off_below"] == (depth < switch["low"])
        self.least, self.greatest = np.full(n, math.inf), np.full(n, -math.inf)
        self.peak = np.zeros(n)
        self.run_s, self.dry_s = np.zeros(pumps), np.zeros(pumps)
        t = 0.0
        self.conditions(t, True)
        self.look(t, y)
        edges = self.routine.edges() + [self.routine.lasts]
        for edge in edges:
            while t < edge:
                t, y = self.stretch(t, y, edge)
            if edge < self.routine.lasts:
                self.conditions(t)
                self.look(t, y)
        self.y = y
        return self

    def stretch(self, t, y, end):
        """One smooth stretch, to `end` or to the first thing that happens."""
        marks = self.marks(y)
        for m in marks:                       # past it already, because something else was switched
            if m.what in ("siphon-starts", "siphon-breaks", "leaves-rim") and m(t, y) * m.direction > 0.0:
                self.happen(t, y, m)
                return t, y
        absolute = np.concatenate([np.full(self.count, 1e-11), np.full(self.count, 1e-10), np.full(len(self.power), 1e-4)])
        length, method = end - t, self.method
        if length < 1e-9:
            return end, y
        while True:
            try:
                answer = solve_ivp(self.slope, (t, min(t + length, end)), y, method=method, rtol=self.relative, atol=absolute, events=marks,
                                   dense_output=self.pieces is not None)
                if answer.success or method == "DOP853":
                    break
                method = "DOP853"             # LSODA has given up: an explicit method of high order instead
            except ValueError:                # an event within rounding at the end of a step: other steps miss it
                length *= 0.37
                if length < 1e-6:
                    raise
        if not answer.success:
            raise RuntimeError("the integration in time failed: " + answer.message)
        if self.pieces is not None:
            self.pieces.append((t, float(answer.t[-1]), answer.sol))
        after = float(answer.t[-1])
        for i, v in enumerate(self.vessels):
            depths = [v.level(x) - v.floor for x in answer.y[i]]
            low, high = min(depths), max(depths)
            self.least[i], self.greatest[i] = min(self.least[i], low), max(self.greatest[i], high)
            if low + v.floor < v.node.rim - REARM:
                self.armed[i] = True
        for column in answer.y.T:
            self.look_at_peaks(column)
        bare = {about for (what, about), above in self.above.items() if what == "intake" and not above}
        for i, p in enumerate(self.power):
            if p is not None:
                self.run_s[i] += after - t
                if self.routine.pumps[i] in bare:
                    self.dry_s[i] += after - t
        y = answer.y[:, -1].copy()
        for m, times in zip(marks, answer.t_events):
            if len(times):
                self.happen(after, y, m)
        return after, y

    def look_at_peaks(self, y):
        flows = self.flows(y)
        out = np.zeros(self.count)
        for k, a, b in self.ends:
            if a is not None and flows[k] > 0.0:
                out[a] += flows[k]
            elif b is not None and flows[k] < 0.0:
                out[b] -= flows[k]
        self.peak = np.maximum(self.peak, out)

    def happen(self, t, y, mark):
        what, about = mark.what, mark.about
        if what == "leaves-rim":
            i = self.place[about]
            self.brim[i] = False
            y[i] = self.vessels[i].full - 1e-13
            self.switching.append(t)
        elif what == "reaches-rim":
            i = self.place[about]
            self.brim[i], y[i] = True, self.vessels[i].full
            if self.armed[i]:
                self.say(t, what, about)
                self.level_speeds[self.events[-1]] = self.speed(y, i)
                self.armed[i] = False
            self.switching.append(t)
        elif what == "switch":
            self.off[about] = not self.off[about]
            self.conditions(t)
            self.look(t, y)
        elif what in ("siphon-starts", "siphon-breaks"):
            self.say(t, what, about)
            self.level_speeds[self.events[-1]] = self.speed(y, self.place[self.siphon_in[about]])
            (self.primed.add if what == "siphon-starts" else self.primed.discard)(about)
            self.switching.append(t)
            self.build(self.settings)
        else:
            self.pass_mark(t, y, what, about)

    def pass_mark(self, t, y, what, about):
        above = self.above[(what, about)] = not self.above[(what, about)]
        code = {"lip": ("falls-below-lip", "reaches-lip"), "drained": ("drained", None), "intake": ("intake-bare", None)}[what][above]
        if code == "intake-bare" and self.wanted[about] <= 0.0:
            return                                            # nobody would pump there now
        if code:
            i, name = self.heights(y)[(what, about)][0], self.lip_of[about] if what == "lip" else about
            self.say(t, code, name)
            self.level_speeds[self.events[-1]] = self.speed(y, i)

    def speed(self, y, i):
        """How fast a level moves, m/s, over its rim too."""
        return abs(self.net(y)[i]) / self.vessels[i].area(min(y[i], self.vessels[i].full - 2e-6))

    # ------------------------------------------------------------------------------------------ figures

    def end_depths(self):
        return [v.level(self.y[i]) - v.floor for i, v in enumerate(self.vessels)]

    def depths_at(self, t):
        """Depths at a moment inside the run, when `pieces` was a list."""
        sol = next(s for a, b, s in self.pieces if a <= t <= b)
        y = sol(t)
        return [v.level(y[i]) - v.floor for i, v in enumerate(self.vessels)]

    def spilled(self):
        return list(self.y[self.count:2 * self.count])

    def energy(self):
        return list(self.y[2 * self.count:])

    def bed_figures(self, ident):
        """fill, hold, drain and period of the last complete cycle of a bed; None where there is none. `clocked`: a clock or a siphon makes cycles."""
        tree = self.farm.tree
        siphon = next((s.get("id") for s in tree.findall("siphon") if s.get("in") == ident), None)
        out = {"fill_s": None, "hold_s": None, "drain_s": None, "period_s": None, "clocked": True, "peak_drain_m3_s": float(self.peak[self.place[ident]])}

        def times(code, about):
            return [t for t, c, a in self.events if c == code and a == about]

        if siphon is not None:
            starts, breaks = times("siphon-starts", siphon), times("siphon-breaks", siphon)
            out["starts"], out["breaks"] = len(starts), len(breaks)
            if breaks:
                start = max(t for t in starts if t <= breaks[-1])
                out.update(drain_s=breaks[-1] - start, hold_s=0.0)
                if len(breaks) >= 2:
                    out.update(fill_s=start - breaks[-2], period_s=breaks[-1] - breaks[-2])
            return out
        opens, closes = self.openings(ident)
        out["clocked"] = bool(opens)
        lips, dries = times("reaches-lip", ident), times("drained", ident)
        out["period_s"] = opens[-1] - opens[-2] if len(opens) > 1 else None
        # a cycle is complete when the bed is drained, or when it is filled again
        cycles = [(o, c) for o, c in zip(opens, closes)]
        while cycles:
            opened, closed = cycles[-1]
            again = next((o for o in opens if o > opened), math.inf)
            dry = next((t for t in dries if closed <= t <= again), None)
            if dry is not None or again < math.inf:
                lip = next((t for t in lips if opened <= t <= again), None)
                out.update(fill_s=None if lip is None else lip - opened, hold_s=None if lip is None else closed - lip,
                           drain_s=None if dry is None else dry - closed)
                break
            cycles.pop()
        return out

    def openings(self, ident):
        """When water began and ceased to come to a bed, by the clock's valve before it or the clock's pump."""
        tree = self.farm.tree
        ends = [ident] + [n.get("id") for n in tree.findall("nozzle") if n.get("into") == ident]
        valves = [v.get("id") for p in tree.findall("pipe") if p.get("to") in ends for v in p.findall("valve")]
        timed = [a for a in valves + self.routine.pumps if a in self.routine.windows][:1]

        def moments(*codes):
            return [t for t, c, a in self.events if c in codes and a in timed]

        return moments("valve-opens", "pump-restarts"), moments("valve-closes", "pump-stops")
