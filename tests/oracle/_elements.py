"""From a layout file to nodes and links: the elements of the layout language written down a second time, for the plain equations of _farm.py.

Nothing here is shared with the program. What the file leaves out takes the defaults that docs/layout-format.md states.
"""
import math
import re
import xml.etree.ElementTree as ElementTree

import _laws as laws
from _laws import G

UNITS = {"m": 1, "mm": 1e-3, "cm": 1e-2, "ft": 0.3048, "in": 0.0254, "m3/h": 1 / 3600, "l/min": 1e-3 / 60, "l/h": 1e-3 / 3600, "l/day": 1e-3 / 86400,
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
        self.rim = math.inf      # vessels: elevation
        self.start = 0.0         # vessels: depth; fixed: head
        self.takes = 0.0         # joints: m3/s that leave the farm there

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
        self.air_hole = None                  # elevation at which backward flow draws air in and ends
        self.outlet = None                    # an elevation the head at b is never below (nozzles, float valves)
        self.forward = self.backward = True   # False: barred
        self.intake = None                    # pumps in a vessel: elevation below which nothing is taken, and
        self.greatest = 0.0                   # the flow it gives against no head
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
        lowest = port[0] if end == "a" or self.air_hole is None else max(port[0], self.air_hole)
        return laws.opening_flow(port[1], value - lowest)

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


class HeaderTee:
    """A tee whose loss depends on how the flow divides: Crane TP-410 chapter 2, in velocity heads of the leg that carries the whole flow."""

    def __init__(self, node, legs, angle):
        self.node, self.legs, self.angle = node, legs, angle
        self.ends_here = [1.0 if k.b is node else -1.0 for k in legs]

    def losses(self, flows):
        """Loss of head added to each leg, in the direction of that leg's pipe, from the three pipes' flows. The whole flow comes in by one leg (dividing) or
        goes out by one (combining); while the third leg carries less than 1/50 of it the two readings change over smoothly."""
        towards = [q * sign for q, sign in zip(flows, self.ends_here)]
        into, out_of = max(range(3), key=lambda i: towards[i]), min(range(3), key=lambda i: towards[i])
        flow = max(towards[into], -towards[out_of])
        if flow < 1e-12:
            return [0.0, 0.0, 0.0]
        t = min(1.0, max(0.0, 0.5 + (-towards[out_of] - towards[into]) / flow / 0.04))
        combining = t * t * (3 - 2 * t)
        divided = self.losses_as(flows, towards, into) if towards[into] > 0.0 else [0.0] * 3
        combined = self.losses_as(flows, towards, out_of) if towards[out_of] < 0.0 else [0.0] * 3
        return [(1 - combining) * d + combining * c for d, c in zip(divided, combined)]

    def losses_as(self, flows, towards, whole):
        """The losses when leg `whole` carries the whole flow."""
        flow, out = abs(towards[whole]), [0.0, 0.0, 0.0]
        bores = [k.extra["bore"] for k in self.legs]
        head = (flow / (math.pi * bores[whole] ** 2 / 4)) ** 2 / (2 * G)
        for i in range(3):
            if i == whole or towards[i] * towards[whole] >= 0.0:
                continue
            share_of_area = min(1.0, (bores[2] / bores[i if whole == 2 else whole]) ** 2)
            share = min(1.0, abs(towards[i]) / flow)
            q = 1.0 if whole == 2 else min(1.0, abs(towards[2]) / flow)         # all of it turns when the branch is the whole
            k = laws.tee(towards[whole] > 0.0, i == 2 or whole == 2, self.angle, share_of_area, q)
            fade = min(1.0, share / 0.02)
            out[i] = k * fade * fade * (3 - 2 * fade) * head * (1.0 if flows[i] >= 0.0 else -1.0)
        return out


class Elements:
    """What is there, and the settings of an arrangement; Farm adds the equations."""

    def __init__(self, source, valve_loss=None):
        """source: file name or XML text. valve_loss(kind, opening, loss fully open) gives the loss of a throttled valve."""
        text = source if source.lstrip().startswith("<") else open(source, encoding="utf-8").read()
        self.undetermined, self.held_back, self.primed = set(), {}, set()
        self.state = "not run"
        self.on_the_way = self.spills = False # the end depended on the way, or a level came to its rim: integrated in time,
        self.way = None                       # and what happened then
        self.tree = ElementTree.fromstring(text)
        self.valve_loss = valve_loss
        site = self.tree.find("site")
        site = {} if site is None else site.attrib
        celsius = number(site.get("water-temperature"), 20.0)
        self.rho = laws.density(celsius)
        self.nu = laws.viscosity(celsius) / self.rho
        self.suction_head = (laws.air_pressure(number(site.get("altitude"), 0.0)) - laws.vapour_pressure(celsius)) / (self.rho * G)
        self.hazen = self.tree.get("friction") == "hazen-williams"
        self.hazen_constants = [float(self.tree.get(f"hazen-{word}", usual)) for word, usual in
                                (("factor", 10.67), ("flow-power", 1.852), ("bore-power", 4.8704))]
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
        self.nodes, self.links, self.floor, self.header_tees = {}, [], {}, []
        for e in self.tree:
            getattr(self, "add_" + e.tag.replace("-", "_"), lambda *_: None)(e, settings)
        for e in self.tree:
            if e.tag in ("pipe", "drain"):
                self.connect(e, settings)
        for e in self.tree.findall("tee"):
            if e.get("loss") == "header":
                node = self.nodes[e.get("id")]
                legs = [k for k in self.links if node in (k.a, k.b)]
                legs.sort(key=lambda k: k.name[1] == e.get("branch"))          # the branch comes last
                self.header_tees.append(HeaderTee(node, legs, number(e.get("branch-angle"), 90.0)))

    def node(self, name, kind="joint", elevation=0.0):
        return self.nodes.setdefault(name, Node(name, kind, elevation))

    def add_vessel(self, e, _):
        floor = number(e.get("floor"))
        node = self.node(e.get("id"), "vessel", floor)
        self.floor[e.get("id")] = floor
        height = number(e.get("rim")) - floor
        node.rim = floor + height
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
        self.node(e.get("id"), "vented" if e.get("vented") == "yes" else "joint", number(e.get("elevation"))).takes = number(e.get("takes"), 0.0)

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
                end, slope = curve[-1][0], -head.s[-1]      # the flow against no head at all, straight beyond the last point
                link.greatest = min(end + head(end) / slope if slope > 0 else math.inf, 2 * end) * count * speed
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
        floor = self.floor[e.get("into")]
        # without a height the valve works against the level of its vessel
        outlet = floor + number(e.get("height")) if e.get("height") else -math.inf

        def rate(head, level):
            opening = min(1.0, max(0.0, (shut - (level - floor)) / (shut - full)))
            return opening * rated * math.sqrt(max(head - max(outlet, level), 0.0))

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
        friction = (laws.Hazen(length, bore, number(e.get("hazen-williams"), 150.0), *self.hazen_constants) if self.hazen
                    else laws.Darcy(length, bore, number(e.get("roughness"), 0.0015e-3), self.nu))
        velocity_head = 1 / (2 * G * (math.pi * bore**2 / 4) ** 2)
        gravity = e.tag == "drain"
        siphon = any(d.get("id") == e.get("from") for d in self.tree.findall("siphon"))
        vented = (gravity or siphon) and a.kind == "vented"
        link = Link(("drains" if gravity else "pipes", e.get("id")), a, b, "vent" if vented else "loss")
        link.loss = lambda q: friction.loss(q) + (k + (entry_a + exit_b if q >= 0 else entry_b + exit_a)) * velocity_head * q * abs(q)
        link.port_a, link.port_b = port_a, port_b
        if e.get("air-hole"):
            link.air_hole = self.floor[e.get("to")] + number(e.get("air-hole"))
        link.backward = not barred and not shut
        link.forward = not shut
        link.extra["bore"], link.extra["length"] = bore, length
        link.extra["area"] = math.pi * bore**2 / 4
        link.extra["reynolds"] = bore / link.extra["area"] / self.nu
        link.extra["shut"] = shut
        self.links.append(link)
