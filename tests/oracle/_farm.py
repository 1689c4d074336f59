"""A farm solved as plain equations: a second, independent way from a layout file to its flows, heads and levels.

Unknowns are the heads of the joints, the levels of the vessels and the flow of every link; the equations are the laws of the
links, the balance of the joints and, for a settled farm, the balance of the vessels over one implicit step in time that grows
until nothing moves (so every water inventory is kept by construction). Solved by Newton steps on a dense matrix and then
confirmed and polished by scipy.optimize.root. Made for small farms and clear reading; speed is no aim.
"""
import math
import re
import xml.etree.ElementTree as ElementTree

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import root

import _laws as laws
from _laws import G

UNITS = {"m": 1, "mm": 1e-3, "cm": 1e-2, "ft": 0.3048, "in": 0.0254, "m3/h": 1 / 3600, "l/min": 1e-3 / 60, "l/h": 1e-3 / 3600,
         "m3": 1, "l": 1e-3, "s": 1, "min": 60, "h": 3600, "day": 86400, "%": 0.01, "W": 1, "degC": 1, "bar": 1e5, "kPa": 1e3,
         "gpm": 231 * 0.0254**3 / 60}


def number(text, default=None):
    """'4.2 m' -> 4.2 (SI). A plain number is itself."""
    if text is None:
        return default
    match = re.fullmatch(r"\s*([-+0-9.eE]+)\s*([A-Za-z0-9/%]*)\s*", text)
    return float(match[1]) * (UNITS[match[2]] if match[2] else 1.0)


class Node:
    """A place with a head. kind: fixed, vessel, joint or vented (air stands at `elevation` unless it has filled)."""

    def __init__(self, name, kind, elevation=0.0):
        self.name, self.kind, self.elevation = name, kind, elevation
        self.volume = None       # vessels: [(depth, volume)]
        self.start = 0.0         # vessels: depth; fixed: head

    def volume_at(self, depth):
        points = self.volume
        for (d0, v0), (d1, v1) in zip(points, points[1:]):
            if depth <= d1 or (d1, v1) == points[-1]:
                return v0 + (v1 - v0) / (d1 - d0) * (depth - d0)


class Link:
    """One flow. Law kinds:
    'loss'  head at a - head at b = loss(Q), Q kept between -from_b and from_a (what the ports let in; 0 = one-way or shut)
    'rate'  Q = rate(head at a, head at b)
    'vent'  the drain of a vented joint: min(H - elevation, H - head at b - loss(Q)) = 0
    """

    def __init__(self, name, a, b, kind="loss", loss=None, rate=None):
        self.name, self.a, self.b, self.kind, self.loss, self.rate = name, a, b, kind, loss, rate
        self.port_a = self.port_b = None      # (elevation of the invert, bore) where an end is a port of a vessel or pond
        self.outlet = None                    # an elevation the head at b is never below (nozzles, float valves)
        self.forward = self.backward = True   # False: barred
        self.intake = None                    # pumps in a vessel: elevation below which nothing is taken, and
        self.greatest = 0.0                   # the flow that the curve ends at
        self.square = None                    # k of a pure square law k Q|Q|
        self.extra = {}

    def head(self, end, value):
        node, port = (self.a, self.port_a) if end == "a" else (self.b, self.port_b)
        if port is not None:
            value = max(value, port[0])
        if end == "b" and self.outlet is not None:
            value = max(value, self.outlet)
        return value

    def limit(self, end, value):
        """The greatest flow out of that end into the pipe."""
        node, port = (self.a, self.port_a) if end == "a" else (self.b, self.port_b)
        if not (self.forward if end == "a" else self.backward):
            return 0.0
        if end == "b" and self.outlet is not None:
            return 0.0
        if self.intake is not None:
            # a bare intake gives nothing; all it can from 20 mm above
            return self.greatest * min(1.0, max(0.0, (value - self.intake) / 0.020)) if value < self.intake + 0.020 else math.inf
        if port is None or node.kind == "fixed":
            return math.inf if port is None or node.start >= port[0] else 0.0
        return laws.opening_flow(port[1], value - port[0])

    def residual(self, flow, head_a, head_b, loss=None):
        if self.kind == "rate":
            return 1e3 * (flow - self.rate(head_a, head_b))
        if loss is None:
            loss = self.loss(flow)
        if self.kind == "vent":
            return min(head_a - self.a.elevation, head_a - self.head("b", head_b) - loss)
        mismatch = loss - self.head("a", head_a) + self.head("b", head_b)
        low, high = -self.limit("b", head_b), self.limit("a", head_a)
        if low > -math.inf:
            mismatch = min(1e3 * (flow - low), mismatch)
        if high < math.inf:
            mismatch = max(1e3 * (flow - high), mismatch)
        return mismatch


class Farm:
    def __init__(self, source, valve_loss=None):
        """source: file name or XML text. valve_loss(kind, opening, loss fully open) gives the loss of a throttled valve."""
        text = source if source.lstrip().startswith("<") else open(source, encoding="utf-8").read()
        self.undetermined = self.held_back = self.primed = set()
        self.state = "not run"
        self.on_the_way = False               # the end depended on the way: integrated in time
        self.tree = ElementTree.fromstring(text)
        self.valve_loss = valve_loss
        site = self.tree.find("site")
        site = {} if site is None else site.attrib
        celsius = number(site.get("water-temperature"), 20.0)
        self.rho = laws.density(celsius)
        self.nu = laws.viscosity(celsius) / self.rho
        self.suction_head = (laws.air_pressure(number(site.get("altitude"), 0.0)) - laws.vapour_pressure(celsius)) / (self.rho * G)
        self.hazen = self.tree.get("friction") == "hazen-williams"
        self.curves = {m.get("name"): [(number(p.get("flow")), number(p.get("head")), number(p.get("power"), math.nan))
                                       for p in m.findall("point")] for m in self.tree.findall("pump-model")}

    # ------------------------------------------------------------------------------------------ settings of an arrangement

    def names(self):
        return [a.get("name") for a in self.tree.findall("arrangement")] or ["as drawn"]

    def settings(self, name):
        arrangements = {a.get("name"): a for a in self.tree.findall("arrangement")}
        out = {}
        arrangement = arrangements.get(name)
        if arrangement is None:
            return out
        if arrangement.get("based-on"):
            out = self.settings(arrangement.get("based-on"))
        for line in arrangement:
            about = line.get("valve") or line.get("pump") or line.get("standpipe") or line.get("filter")
            out[about] = {"open": 1.0, "close": 0.0, "stop": 0.0, "run": number(line.get("speed"), 1.0),
                          "throttle": number(line.get("to")), "load": number(line.get("to")), "fit": line.get("insert")}[line.tag]
        return out

    def at_start(self, name):
        return any(a.get("name") == name and a.get("levels") == "start" for a in self.tree.findall("arrangement"))

    # ------------------------------------------------------------------------------------------ from elements to nodes and links

    def build(self, settings):
        self.nodes, self.links, self.floor = {}, [], {}
        for e in self.tree:
            getattr(self, "add_" + e.tag.replace("-", "_"), lambda *_: None)(e, settings)
        for e in self.tree:
            if e.tag in ("pipe", "drain"):
                self.connect(e, settings)

    def node(self, name, kind="joint", elevation=0.0):
        return self.nodes.setdefault(name, Node(name, kind, elevation))

    def add_vessel(self, e, _):
        floor = number(e.get("floor"))
        node = self.node(e.get("id"), "vessel", floor)
        self.floor[e.get("id")] = floor
        height = number(e.get("rim")) - floor
        if e.find("volume") is not None:
            node.volume = sorted((number(v.get("at")), number(v.get("is"))) for v in e.findall("volume"))
        else:
            d = e.get("diameter")
            plan = math.pi * number(d) ** 2 / 4 if d else number(e.get("length")) * number(e.get("width"))
            pores = number(e.get("void-fraction"), 1.0)
            media = min(number(e.get("media-depth"), height), height) if e.get("void-fraction") else height
            node.volume = [(0.0, 0.0), (media, plan * pores * media)]
            if media < height:
                node.volume.append((height, plan * pores * media + plan * (height - media)))
        node.start = number(e.get("start-depth"), 0.0)

    add_tank = add_sump = add_trough = add_bed = add_tier = add_vessel

    def add_pond(self, e, _):
        self.node(e.get("id"), "fixed").start = number(e.get("level"))
        self.floor[e.get("id")] = number(e.get("level"))

    def add_tee(self, e, _):
        self.node(e.get("id"), "vented" if e.get("vented") == "yes" else "joint", number(e.get("elevation")))

    def add_supply(self, e, _):
        pressure = e.get("pressure")
        head = number(pressure)
        if pressure.split()[-1] in ("bar", "kPa"):
            head /= self.rho * G
        fixed = self.node(e.get("id") + " (mains)", "fixed")
        fixed.start = number(e.get("elevation")) + head
        link = Link(("supplies", e.get("id")), fixed, self.node(e.get("id")), loss=lambda q: 0.0)
        link.backward = False
        self.links.append(link)

    def add_pump(self, e, settings):
        speed, count = settings.get(e.get("id"), 1.0), int(e.get("count", "1"))
        wear = number(e.get("wear"), 0.0)
        inlet = self.node(e.get("in")) if e.get("in") else self.node(e.get("id") + " (inlet)")
        link = Link(("pumps", e.get("id")), inlet, self.node(e.get("id")))
        curve = self.curves[e.get("model")]
        head = laws.Pchip([p[0] for p in curve], [p[1] for p in curve])
        power = laws.Pchip([p[0] for p in curve], [p[2] for p in curve])
        if speed > 0:
            link.loss = lambda q: -(1 - wear) * speed**2 * head(q / count / speed)
            link.extra["power"] = lambda q: count * speed**3 * power(q / count / speed)
            link.backward = False
        else:
            rest = e.find("stopped")
            k = 0.0 if rest is None else number(rest.get("head")) / number(rest.get("flow")) ** 2
            link.loss = lambda q: k * q * abs(q)
            link.backward = rest is not None and e.get("check-valve") != "yes"
            link.forward = rest is not None
        link.extra["running"] = speed > 0
        link.extra["elevation"] = (self.floor[e.get("in")] + number(e.get("intake-height"), 0.0) if e.get("in")
                                   else number(e.get("elevation")))
        if e.get("in"):
            if inlet.kind == "vessel":
                link.intake = self.floor[e.get("in")] + number(e.get("intake-height"), 0.0)
                link.greatest = 1.5 * curve[-1][0] * count * speed
        self.links.append(link)

    def add_filter(self, e, settings):
        share = settings.get(e.get("id"), 0.0)

        def law(state):
            points = [(number(p.get("flow")), number(p.get("head"))) for p in e.findall("loss") if p.get("state") == state]
            if len(points) == 1:
                return lambda q: points[0][1] * (q / points[0][0]) ** 2
            points = [(0.0, 0.0)] + sorted(points)
            return laws.Pchip([p[0] for p in points], [p[1] for p in points])

        clean = law("clean")
        dirty = law("dirty") if any(p.get("state") == "dirty" for p in e.findall("loss")) else clean
        self.links.append(Link(("filters", e.get("id")), self.node(e.get("id") + " (inlet)"), self.node(e.get("id")),
                               loss=lambda q: math.copysign((1 - share) * clean(abs(q)) + share * dirty(abs(q)), q)))

    def add_nozzle(self, e, _):
        if e.get("holes"):
            coefficient = number(e.get("discharge-coefficient"), 0.61)
            area = int(e.get("holes")) * math.pi * number(e.get("hole-diameter")) ** 2 / 4
            k = 1 / (2 * G * (coefficient * area) ** 2)
        else:
            k = number(e.get("at")) / number(e.get("rated")) ** 2
        link = Link(("nozzles", e.get("id")), self.node(e.get("id")), self.node(e.get("into")), loss=lambda q: k * q * abs(q))
        link.square = k
        link.outlet = self.floor[e.get("into")] + number(e.get("height"), 0.0)
        self.links.append(link)

    def add_float_valve(self, e, _):
        into = self.node(e.get("into"))
        shut, full = number(e.get("closes-at")), number(e.get("opens-at"))
        rated = number(e.get("rated")) / math.sqrt(number(e.get("at")))
        vessel = next(v for v in self.tree if v.get("id") == e.get("into"))
        outlet = number(vessel.get("rim"))
        floor = self.floor[e.get("into")]

        def rate(head, level):
            opening = min(1.0, max(0.0, (shut - (level - floor)) / (shut - full)))
            return opening * rated * math.sqrt(max(head - outlet, 0.0))

        self.links.append(Link(("float_valves", e.get("id")), self.node(e.get("id")), into, "rate", rate=rate))

    def add_standpipe(self, e, settings):
        vessel = self.node(e.get("in"))
        floor, bore = self.floor[e.get("in")], number(e.get("bore"))
        foot = self.node(e.get("id"), "vented", floor)
        inserts = e.findall("insert")
        wanted = settings.get(e.get("id"), inserts[0].get("name"))
        lip = floor + number(next(i for i in inserts if i.get("name") == wanted).get("lip"))
        link = Link(("standpipes", e.get("id")), vessel, foot, "rate",
                    rate=lambda level, below: laws.standpipe_flow(bore, level - max(lip, below)))
        link.extra["lip"] = lip
        self.links.append(link)
        for n, hole in enumerate(e.findall("drain-hole")):
            area = int(hole.get("count", "1")) * math.pi * number(hole.get("diameter")) ** 2 / 4
            k = 1 / (2 * G * (number(hole.get("discharge-coefficient"), 0.61) * area) ** 2)
            outflow = Link(("holes", f"{e.get('id')} {n}"), vessel, foot, loss=lambda q, k=k: k * q * abs(q))
            outflow.square = k
            outflow.outlet = floor + number(hole.get("height"), 0.0)
            self.links.append(outflow)

    def add_siphon(self, e, _):
        """Unprimed: a weir of its bore at the crest into a vented foot. Primed: a full pipe from the bed on."""
        vessel, floor, bore = self.node(e.get("in")), self.floor[e.get("in")], number(e.get("bore"))
        primed = e.get("id") in self.primed
        foot = self.node(e.get("id"), "joint" if primed else "vented", floor)
        crest = floor + number(e.get("crest"))
        if primed:
            k = (0.5 + number(e.get("loss"), 2.0)) / (2 * G * (math.pi * bore**2 / 4) ** 2)
            link = Link(("siphons", e.get("id")), vessel, foot, loss=lambda q: k * q * abs(q))
            link.square, link.backward = k, False
        else:
            weir = 2 / 3 * 0.62 * math.sqrt(2 * G) * math.pi * bore
            link = Link(("siphons", e.get("id")), vessel, foot, "rate",
                        rate=lambda level, below: weir * max(level - max(crest, below), 0.0) ** 1.5)
        link.extra.update(starts=number(e.get("starts-with")), breaks=floor + number(e.get("breaks-at")), primed=primed)
        self.links.append(link)

    def connect(self, e, settings):
        bore, length = number(e.get("bore")), number(e.get("length"))
        ends = []
        for side in ("from", "to"):
            name = e.get(side)
            devices = {d.get("id"): d.tag for d in self.tree if d.tag in ("pump", "filter")}
            entering = side == "to" and devices.get(name) in ("pump", "filter")
            node = self.nodes[name + " (inlet)"] if entering else self.nodes[name]
            port = None
            if name in self.floor:
                port = (self.floor[name] + number(e.get(side + "-height"), 0.0), bore)
            ends.append((node, port))
        (a, port_a), (b, port_b) = ends
        k = 0.0
        # entrance and exit change ends with the flow; their sum stays, so one number serves both directions when an end
        # coefficient was not given; a given one is added whichever way the water goes
        said_in, said_out = e.get("entry-loss"), e.get("exit-loss")
        entry_a = number(said_in) if said_in else (0.5 if port_a else 0.0)
        exit_b = number(said_out) if said_out else (1.0 if port_b else 0.0)
        entry_b = 0.5 if port_b else 0.0
        exit_a = 1.0 if port_a else 0.0
        barred = shut = False
        for f in e.findall("fitting"):
            k += number(f.get("loss")) * int(f.get("count", "1"))
        for v in e.findall("valve"):
            opening = settings.get(v.get("id"), 1.0)
            shut |= opening == 0
            barred |= v.get("kind") == "check"
            k += number(v.get("loss")) if opening in (0.0, 1.0) else self.valve_loss(v.get("kind"), opening, number(v.get("loss")))
        friction = (laws.Hazen(length, bore, number(e.get("hazen-williams"), 150.0)) if self.hazen
                    else laws.Darcy(length, bore, number(e.get("roughness"), 0.0015e-3), self.nu))
        velocity_head = 1 / (2 * G * (math.pi * bore**2 / 4) ** 2)
        gravity = e.tag == "drain"
        siphon = any(d.get("id") == e.get("from") for d in self.tree.findall("siphon"))
        vented = (gravity or siphon) and a.kind == "vented"
        link = Link(("drains" if gravity else "pipes", e.get("id")), a, b, "vent" if vented else "loss")
        link.loss = lambda q: friction.loss(q) + (k + (entry_a + exit_b if q >= 0 else entry_b + exit_a)) * velocity_head * q * abs(q)
        link.port_a, link.port_b = port_a, port_b
        link.backward = not barred and not shut
        link.forward = not shut
        link.extra["bore"], link.extra["length"] = bore, length
        link.extra["area"] = math.pi * bore**2 / 4
        link.extra["reynolds"] = bore / link.extra["area"] / self.nu
        link.extra["shut"] = shut
        self.links.append(link)

    # ------------------------------------------------------------------------------------------ equations

    def dead(self):
        """Joints that no open link joins to a fixed head or a vessel: their heads mean nothing and their links carry nothing."""
        alive = {n for n in self.nodes.values() if n.kind in ("fixed", "vessel", "vented")}
        grew = True
        while grew:
            grew = False
            for link in self.links:
                if link.forward or link.backward:
                    if (link.a in alive) != (link.b in alive):
                        alive |= {link.a, link.b}
                        grew = True
        return {n for n in self.nodes.values() if n not in alive}

    def prepare(self):
        self.lost = self.dead()
        self.active = [k for k in self.links if k.a not in self.lost and k.b not in self.lost]
        self.joints = [n for n in self.nodes.values() if n.kind in ("joint", "vented") and n not in self.lost]
        self.vessels = [n for n in self.nodes.values() if n.kind == "vessel"]
        self.row = {n: i for i, n in enumerate(self.joints + self.vessels)}

    def equations(self, x, step, old):
        """Residuals and their dense Jacobian. `step`: seconds; vessels keep their level when it is 0, and joints then hold a
        pseudo store of old['joint area'] (a continuation that is removed before the end)."""
        n, m = len(self.row), len(self.active)
        heads = x[:n]
        r, jac = np.zeros(n + m), np.zeros((n + m, n + m))
        for i, node in enumerate(self.joints):
            store = old["joint rate"]
            r[i] = -store * (heads[i] - old["heads"][i])
            jac[i, i] = -store
        for i, node in enumerate(self.vessels, len(self.joints)):
            if step == 0:
                r[i], jac[i, i] = heads[i] - old["heads"][i], 1.0
            else:
                depth = heads[i] - node.elevation
                r[i] = -(node.volume_at(depth) - node.volume_at(old["heads"][i] - node.elevation)) / step
                jac[i, i] = -(node.volume_at(depth + 1e-7) - node.volume_at(depth - 1e-7)) / 2e-7 / step
        fixed_levels = step == 0
        for j, link in enumerate(self.active, n):
            q = x[j]
            ia, ib = self.row.get(link.a), self.row.get(link.b)
            ha = link.a.start if ia is None else heads[ia]
            hb = link.b.start if ib is None else heads[ib]
            for index, node, sign in ((ia, link.a, -1.0), (ib, link.b, 1.0)):
                if index is not None and not (fixed_levels and node.kind == "vessel"):
                    r[index] += sign * q
                    jac[index, j] = sign
            loss = link.loss(q) if link.loss else None
            r[j] = link.residual(q, ha, hb, loss)
            dq = max(1e-9, 1e-6 * abs(q))
            if link.loss:
                jac[j, j] = (link.residual(q + dq, ha, hb) - link.residual(q - dq, ha, hb)) / (2 * dq)
                if link.square and abs(q) < 1e-3 * math.sqrt(abs(ha - link.head("b", hb)) / link.square):
                    # a square law has no slope at rest: step to its root along the chord instead
                    jac[j, j] = max(jac[j, j], math.sqrt(abs(ha - link.head("b", hb)) * link.square))
            else:
                jac[j, j] = 1e3
            for index, da, db in ((ia, 1e-7, 0.0), (ib, 0.0, 1e-7)):
                if index is not None:
                    jac[j, index] += (link.residual(q, ha + da, hb + db, loss) - link.residual(q, ha - da, hb - db, loss)) / 2e-7
        return r, jac

    def newton(self, x, step, old, steps=60):
        weight = np.concatenate([np.full(len(self.row), 1e3), np.ones(len(self.active))])
        if step == 0:
            weight[len(self.joints):len(self.row)] = 1.0
        for _ in range(steps):
            r, jac = self.equations(x, step, old)
            size = np.abs(weight * r).max()
            if size < 1e-11:
                return x, True
            scaled = jac * weight[:, None]
            try:
                delta = -np.linalg.solve(scaled, weight * r)
            except np.linalg.LinAlgError:
                delta = -np.linalg.lstsq(scaled, weight * r, rcond=1e-14)[0]
            share = 1.0
            best = None
            while share > 1e-3:
                trial = x + share * delta
                trial_size = np.abs(weight * self.equations(trial, step, old)[0]).max()
                if best is None or trial_size < best[0]:
                    best = (trial_size, trial)
                if trial_size < (1 - 0.1 * share) * size:
                    break
                share /= 2
            if size < 1e-9 and best[0] >= size:
                return x, True
            x = best[1]
        return x, size < 1e-9

    def at_levels(self, x, old_levels):
        """Heads and flows with the vessels' levels held."""
        n = len(self.joints)
        heads = np.array(x[:len(self.row)])
        heads[n:] = old_levels
        x = np.concatenate([heads, x[len(self.row):]])
        first, ok = self.newton(x, 0, {"joint rate": 0.0, "heads": heads}, 25)
        if ok:
            return first
        rate, now = 1e-1, x
        while rate > 1e-16:
            trial, ok = self.newton(now, 0, {"joint rate": rate, "heads": np.array(now[:len(self.row)])}, 40)
            if ok:
                now, rate = trial, rate / 10
            else:
                rate *= 3
                if rate > 1e3:
                    raise RuntimeError("the plain equations did not converge at given levels")
        final, ok = self.newton(now, 0, {"joint rate": 0.0, "heads": np.array(now[:len(self.row)])}, 60)
        if not ok:
            raise RuntimeError("the plain equations did not converge at given levels")
        return final

    def polish(self, x, step, old):
        """scipy.optimize.root confirms the root; the better of the two answers is kept."""
        answer = root(lambda y: self.equations(y, step, old), x, jac=True, method="hybr", options={"xtol": 1e-15, "maxfev": 60})
        before = np.abs(self.equations(x, step, old)[0]).max()
        after = np.abs(answer.fun).max()
        moved = np.abs(answer.x - x).max()
        if after < before and moved < 1e-6:
            return answer.x, after
        return x, before

    def solve(self, name):
        """The answer to one arrangement, siphons' memory included; self.state is given-levels, settled or cycles."""
        self.primed, self.state = set(), "given-levels" if self.at_start(name) else "settled"
        answer = self.solve_as_primed(name)
        siphons = [k for k in self.links if k.name[0] == "siphons"]
        starting = {k.name[1] for k in siphons if self.flows[k] >= k.extra["starts"]}
        if starting and self.state == "settled":
            self.primed = starting
            answer = self.solve_as_primed(name)
            if any(k.extra["primed"] and self.heads[k.a] <= k.extra["breaks"] for k in self.links if k.name[0] == "siphons"):
                self.state = "cycles"
        return answer

    def solve_as_primed(self, name):
        settings = self.settings(name)
        self.build(settings)
        self.prepare()
        mean = np.mean([n.start if n.kind == "fixed" else n.elevation + n.start
                        for n in self.nodes.values() if n.kind in ("fixed", "vessel")])
        levels = np.array([n.elevation + n.start for n in self.vessels])
        start = [n.elevation if n.kind == "vented" else mean for n in self.joints] + list(levels)
        x = np.concatenate([start, np.full(len(self.active), 1e-4)])
        x = self.at_levels(x, levels)
        if self.at_start(name):
            x, self.worst = self.polish(x, 0, {"joint rate": 0.0, "heads": np.array(x[:len(self.row)])})
            return self.answer(x)
        n = len(self.joints)
        self.on_the_way = False
        end = self.settle(x, 4.0)
        other = self.settle(x, 12.0)
        # where two walks of different steps end apart, the end depends on the way: then the way is integrated in time
        self.on_the_way = bool(np.abs(end - other)[n:len(self.row)].max(initial=0.0) > 2e-6)
        if self.on_the_way:
            end = self.settle(self.in_time(x), 4.0)
        x, self.worst = self.polish(end, 1e11, {"joint rate": 0.0, "heads": np.array(end[:len(self.row)])})
        return self.answer(x)

    def settle(self, x, growth):
        """Implicit steps in time that grow until nothing moves."""
        step, count = 1.0, 0
        while step < 1e11:
            count += 1
            old = {"joint rate": 0.0, "heads": np.array(x[:len(self.row)])}
            trial, ok = self.newton(x, step, old, 30)
            if ok:
                x, step = trial, step * growth
            else:
                step /= 8
            if count > 400 or step < 1e-6:
                raise RuntimeError("the plain equations did not settle")
        return x

    def rates(self, x):
        """Net flow into each vessel."""
        net = {node: 0.0 for node in self.vessels}
        for i, link in enumerate(self.active):
            q = x[len(self.row) + i]
            if link.a in net:
                net[link.a] -= q
            if link.b in net:
                net[link.b] += q
        return np.array([net[node] for node in self.vessels])

    def in_time(self, x, days=4.0):
        """The levels integrated in time by scipy's LSODA on the volumes, a network solve in every call."""
        n = len(self.joints)
        point = [np.array(x)]

        def level(node, volume):
            depths, volumes = zip(*node.volume)
            if volume > volumes[-1]:
                raise RuntimeError("a level passes its rim")
            return node.elevation + float(np.interp(volume, volumes, depths))

        def slope(_, volumes):
            levels = np.array([level(node, v) for node, v in zip(self.vessels, volumes)])
            point[0] = self.at_levels(point[0], levels)
            return self.rates(point[0])

        start = [node.volume_at(x[n + i] - node.elevation) for i, node in enumerate(self.vessels)]
        answer = solve_ivp(slope, (0.0, days * 86400.0), start, method="LSODA", rtol=1e-7, atol=1e-8, max_step=600.0)
        if not answer.success:
            raise RuntimeError("the integration in time failed: " + answer.message)
        slope(0.0, answer.y[:, -1])
        return point[0]

    def lower_end_is_free(self, link):
        return self.heads[link.b] <= (link.port_b[0] if link.port_b else link.b.elevation)

    def is_closed(self):
        return not any(n.kind == "fixed" for n in self.nodes.values())

    def start_volume(self):
        return sum(n.volume_at(n.start) for n in self.vessels)

    def unpinned(self):
        """Does an opening hold a flow back at a depth of more than its bore? What it then lets in is our choice on either side."""
        for link, q in self.flows.items():
            for port, node, out in ((link.port_a, link.a, q), (link.port_b, link.b, -q)):
                if port and node.kind == "vessel" and out > 0 and link.kind == "loss":
                    depth = self.heads[node] - port[0]
                    if depth > 1.05 * port[1] and out > 0.999 * laws.opening_flow(port[1], depth):
                        return True
        return False

    def free_heads(self, x, without_resting=False):
        """Joints whose head no equation fixes at this answer (water held between a check valve and a free outlet, say). With
        `without_resting`, also those that only a one-way link at rest fixes: their head may be higher, were it trapped."""
        n = len(self.joints)
        old = {"joint rate": 0.0, "heads": np.array(x[:len(self.row)])}
        jac = self.equations(x, 0, old)[1]
        if without_resting:
            for i, link in enumerate(self.active, len(self.row)):
                if not link.backward and link.kind == "loss" and abs(x[i]) < 1e-10:
                    jac[i, :] = 0.0
                    jac[i, i] = 1.0
        scale = np.abs(jac).max(axis=1, keepdims=True)
        _, sizes, rows = np.linalg.svd(jac / np.where(scale > 0, scale, 1.0))
        loose = rows[sizes < 1e-9 * max(sizes[0], 1.0)]
        return {node.name for i, node in enumerate(self.joints[:n]) if np.abs(loose[:, i]).max(initial=0.0) > 1e-6}

    # ------------------------------------------------------------------------------------------ the answer, in the names of the JSON

    def answer(self, x):
        heads = {n: (n.start if n.kind == "fixed" else float(x[self.row[n]]) if n in self.row else None) for n in self.nodes.values()}
        flows = {k: float(x[len(self.row) + i]) for i, k in enumerate(self.active)}
        out = {"vessels": {}, "tees": {}, "pipes": {}, "drains": {}, "pumps": {}, "filters": {}, "nozzles": {}, "standpipes": {},
               "supplies": {}, "float_valves": {}, "siphons": {}}
        for node in self.vessels:
            inflow = outflow = 0.0
            for link, q in flows.items():
                into = q if link.b is node else -q if link.a is node else 0.0
                inflow, outflow = inflow + max(into, 0.0), outflow + max(-into, 0.0)
            depth = heads[node] - node.elevation
            out["vessels"][node.name] = {"depth_m": depth, "level_m": heads[node], "volume_m3": node.volume_at(depth),
                                         "inflow_m3_s": inflow, "outflow_m3_s": outflow}
        for e in self.tree.findall("tee"):
            out["tees"][e.get("id")] = {"head_m": heads[self.nodes[e.get("id")]]}
        self.heads, self.flows = heads, flows
        self.undetermined = self.free_heads(x)
        self.held_back = self.free_heads(x, True) - self.undetermined
        holes = {}
        for link in self.links:
            group, ident = link.name
            q = flows.get(link, 0.0)
            if group == "holes":
                holes[ident.split()[0]] = holes.get(ident.split()[0], 0.0) + q
                continue
            entry = {"flow_m3_s": q}
            if group == "pipes":
                entry["velocity_m_s"] = q / link.extra["area"]
                entry["reynolds"] = abs(q) * link.extra["reynolds"]
            if group == "pipes":
                entry["loss_m"] = None if link.extra["shut"] or link not in flows else link.loss(q)
            if group == "drains" and link.kind == "vent" and heads[link.a] <= link.a.elevation and self.lower_end_is_free(link):
                lower = link.port_b[0] if link.port_b else link.b.elevation
                entry.update(laws.part_full(link.extra["bore"], (link.a.elevation - lower) / link.extra["length"], 0.010, q))
            if group == "siphons":
                entry["primed"] = link.extra["primed"]
            if group == "filters":
                entry["loss_m"] = link.loss(q)
            if group == "pumps":
                if link in flows and link.extra["running"]:
                    entry["head_m"] = -link.loss(q)
                    entry["power_w"] = link.extra["power"](q)
                    entry["efficiency"] = self.rho * G * q * entry["head_m"] / entry["power_w"]
                if link in flows:
                    entry["npsh_available_m"] = self.suction_head + heads[link.a] - link.extra["elevation"]
            out[group][ident] = entry
        for ident, q in holes.items():
            out["standpipes"][ident]["flow_m3_s"] += q
        return out
