"""Random farms in the layout language, from a seed: always the same farm for the same seed.

Six families; each file holds several arrangements. The sizes are those of real small farms so that every regime appears:
laminar trickles, the transition, rough turbulent mains, free and drowned inlets, weirs, drained and idle beds.
"""
import random

BORES = (19.0, 26.0, 28.4, 36.2, 45.2, 56.6, 71.4)


class Writer:
    def __init__(self, seed):
        self.rng = random.Random(seed)
        self.lines, self.count = [], 0

    def add(self, text):
        self.lines.append("  " + text)

    def between(self, low, high, digits=3):
        return round(self.rng.uniform(low, high), digits)

    def chance(self, share):
        return self.rng.random() < share

    def xml(self, name, **attributes):
        attributes = "".join(f' {k}="{v}"' for k, v in attributes.items())
        return "\n".join([f'<layout name="{name}"{attributes}>'] + self.lines + ["</layout>"]) + "\n"

    def pipe(self, a, b, bore=None, length=None, inside="", tag="pipe", roughness=None, **attributes):
        """One pipe; keyword names use _ for -. Returns its id."""
        self.count += 1
        ident = f"{'p' if tag == 'pipe' else 'd'}{self.count}"
        bore = bore or self.rng.choice(BORES)
        length = length or self.between(0.5, 25)
        roughness = self.rng.choice((0, 0, 0.0015, 0.007, 0.05, 0.26)) if roughness is None else roughness
        extra = "".join(f' {k.replace("_", "-")}="{v}"' for k, v in attributes.items())
        text = f'<{tag} id="{ident}" from="{a}" to="{b}" length="{length} m" bore="{bore} mm" roughness="{roughness} mm"{extra}'
        self.add(text + (f">{inside}</{tag}>" if inside else "/>"))
        return ident

    def fittings(self):
        return "".join(f'<fitting loss="{self.between(0.1, 1.2, 2)}" count="{self.rng.randint(1, 4)}"/>' for _ in range(self.rng.randint(0, 2)))

    def valve(self, ident, kind="ball"):
        return f'<valve id="{ident}" kind="{kind}" loss="{self.between(0.1, 3, 2)}"/>'

    def site(self):
        self.add(f'<site altitude="{self.rng.randint(0, 1500)} m" water-temperature="{self.between(6, 30, 1)} degC"/>')

    def pump_model(self, name, flow, head, points=None):
        """A falling curve through 3 to 8 unevenly spaced points, near H0 (1 - (Q/Qmax)^n)."""
        points = points or self.rng.randint(3, 8)
        exponent = self.between(1.2, 2.6, 2)
        shares = [0.0] + sorted(self.between(0.05, 0.95, 2) for _ in range(points - 2)) + [1.0]
        shares = sorted(set(shares))
        top = self.between(0.75, 0.97, 2)
        self.add(f'<pump-model name="{name}">')
        for share in shares:
            self.add(f'  <point flow="{share * flow:.4f} m3/h" head="{head * (1 - top * share**exponent):.4f} m" '
                     f'power="{20 + 10 * flow * (0.5 + share):.2f} W"/>')
        self.add("</pump-model>")

    def arrangement(self, name, *settings, start=False, based_on=None):
        extra = (f' based-on="{based_on}"' if based_on else "") + (' levels="start"' if start else "")
        self.add(f'<arrangement name="{name}"{extra}>' + "".join(settings) + "</arrangement>")


def mesh(seed):
    """Tees in a random tree with loops between ponds and tanks whose levels are given; valves open, shut, throttled; check valves."""
    w = Writer(seed)
    hazen = w.chance(0.4)
    w.site()
    ends, tees = w.rng.randint(2, 4), w.rng.randint(3, 10)
    names = []
    for i in range(ends):
        if w.chance(0.5):
            w.add(f'<pond id="W{i}" level="{w.between(0, 8)} m"/>')
        else:
            w.add(f'<tank id="W{i}" floor="{w.between(-1, 6)} m" rim="12 m" diameter="{w.between(1, 4)} m" start-depth="{w.between(1, 3)} m"/>')
        names.append(f"W{i}")
    for i in range(tees):
        w.add(f'<tee id="J{i}" elevation="{w.between(-1, 2)} m"/>')
    valves = []

    def link(a, b):
        inside = w.fittings()
        extra = {}
        if w.chance(0.35):
            valves.append(f"V{len(valves)}")
            inside += w.valve(valves[-1], w.rng.choice(("ball", "gate", "butterfly", "globe")))
        if w.chance(0.08):
            inside += w.valve(f"C{w.count}", "check")
        if b.startswith("W") and w.chance(0.3):
            extra["to_height"] = f"{w.between(0, 4)} m" if any(f'tank id="{b}"' in t for t in w.lines) else "0.5 m"
        if hazen:
            extra["hazen_williams"] = w.rng.choice((100, 120, 140, 150))
        w.pipe(a, b, inside=inside, **extra)

    joints = [f"J{i}" for i in range(tees)]
    for i in range(1, tees):
        a, b = f"J{w.rng.randrange(i)}", f"J{i}"
        link(*((a, b) if w.chance(0.5) else (b, a)))
    for _ in range(w.rng.randint(1, max(1, tees // 2))):
        a, b = w.rng.sample(joints, 2)
        link(a, b)
    for i, name in enumerate(names):
        a = w.rng.choice(joints)
        link(*((name, a) if i == 0 or w.chance(0.4) else (a, name)))
    w.arrangement("all open", start=True)
    if valves:
        w.arrangement("some shut", *[f'<close valve="{v}"/>' for v in valves if w.chance(0.5)], start=True)
        w.arrangement("throttled", *[f'<throttle valve="{v}" to="{w.rng.randint(15, 95)} %"/>' for v in valves if w.chance(0.7)], start=True)
    return w.xml(f"mesh {seed}", **({"friction": "hazen-williams"} if hazen else {}))


def manifold(seed):
    """Pumps in parallel on a header, a filter, branches to tanks and nozzles, mains through a float valve; levels given."""
    w = Writer(seed)
    w.site()
    pumps = w.rng.randint(1, 3)
    for i in range(pumps):
        w.pump_model(f"M{i}", w.between(4, 12, 1), w.between(4, 9, 1))
    w.add(f'<sump id="S" floor="-1 m" rim="0.6 m" length="2 m" width="1.5 m" start-depth="{w.between(0.7, 1.3)} m"/>')
    w.add('<tee id="H" elevation="0.2 m"/>')
    for i in range(pumps):
        wear = f' wear="{w.rng.randint(1, 25)} %"' if w.chance(0.3) else ""
        count = f' count="{w.rng.randint(2, 3)}"' if w.chance(0.3) else ""
        if w.chance(0.25):
            w.add(f'<pump id="P{i}" elevation="-0.8 m" model="M{i}" check-valve="yes"{wear}{count}/>')
            w.pipe("S", f"P{i}", bore=71.4, length=w.between(0.5, 3), from_height="0.1 m")
        else:
            w.add(f'<pump id="P{i}" in="S" intake-height="0.1 m" model="M{i}" check-valve="yes"{wear}{count}/>')
        w.pipe(f"P{i}", "H", bore=w.rng.choice(BORES[3:]), inside=w.fittings())
    head = "H"
    has_filter = w.chance(0.6)
    if has_filter:
        clean, dirty = w.between(0.2, 0.8), w.between(1, 3)
        if w.chance(0.5):
            losses = f'<loss state="clean" flow="6 m3/h" head="{clean} m"/><loss state="dirty" flow="6 m3/h" head="{dirty} m"/>'
        else:
            losses = "".join(f'<loss state="{s}" flow="{f} m3/h" head="{h * (0.3 * f / 6 + 0.7 * (f / 6)**2):.4f} m"/>'
                             for s, h in (("clean", clean), ("dirty", dirty)) for f in (2, 4, 6, 9, 15, 40))
        w.add(f'<filter id="F">{losses}</filter>')
        w.pipe("H", "F", bore=71.4)
        w.add('<tee id="H0" elevation="0.3 m"/>')
        w.pipe("F", "H0", bore=56.6)
        head = "H0"
    branches = w.rng.randint(2, 5)
    for i in range(branches):
        w.add(f'<tee id="J{i}" elevation="{w.between(0, 1)} m"/>')
        w.pipe(head, f"J{i}", bore=w.rng.choice(BORES[3:]), length=w.between(1, 6))
        head = f"J{i}"
        inside = w.fittings() + w.valve(f"V{i}")
        if w.chance(0.35):
            w.add(f'<tier id="N{i}" floor="{w.between(1.5, 2.2)} m" rim="2.4 m" length="2 m" width="0.6 m"/>')
            what = (f'holes="{w.rng.randint(6, 20)}" hole-diameter="{w.between(2, 4, 1)} mm"' if w.chance(0.5)
                    else f'rated="{w.between(0.3, 1.5, 2)} m3/h" at="{w.between(2, 6, 1)} m"')
            w.add(f'<nozzle id="Z{i}" into="N{i}" height="{w.between(0.1, 0.4)} m" {what}/>')
            w.pipe(head, f"Z{i}", bore=w.rng.choice(BORES[1:5]), inside=inside)
        else:
            w.add(f'<tank id="T{i}" floor="{w.between(0, 0.6)} m" rim="1.8 m" diameter="{w.between(1, 2.5)} m" start-depth="{w.between(0.6, 1)} m"/>')
            drowned = w.chance(0.4)
            w.pipe(head, f"T{i}", bore=w.rng.choice(BORES[1:6]), inside=inside, to_height=f"{w.between(0.05, 0.3) if drowned else 1.25} m")
    if w.chance(0.6):
        w.add(f'<supply id="MAINS" pressure="{w.between(1, 4, 1)} bar" elevation="{w.between(-1, 1)} m"/>')
        shut = w.between(1.0, 1.4)
        w.add(f'<float-valve id="FV" into="S" opens-at="{shut - 0.3:.3f} m" closes-at="{shut} m" rated="{w.between(0.3, 1, 2)} m3/h" at="20 m"/>')
        w.pipe("MAINS", "FV", bore=19.0)
    w.arrangement("everything", start=True)
    w.arrangement("some shut", *[f'<close valve="V{i}"/>' for i in range(branches) if w.chance(0.4)], start=True)
    slow = [f'<run pump="P{i}" speed="{w.rng.randint(55, 95)} %"/>' for i in range(pumps)]
    if pumps > 1:
        slow[-1] = f'<stop pump="P{pumps - 1}"/>'
    if has_filter:
        slow.append(f'<load filter="F" to="{w.rng.randint(10, 100)} %"/>')
    w.arrangement("slow and loaded", *slow, start=True)
    w.arrangement("nothing runs", *[f'<stop pump="P{i}"/>' for i in range(pumps)], start=True)
    return w.xml(f"manifold {seed}")


def loop(seed):
    """A closed loop that settles: sump, pump, header, tanks and beds that overflow through standpipes and drains back to the sump,
    some by way of a trough or a vented tee; drain-holes; beds shut off in turn."""
    w = Writer(seed)
    w.site()
    w.pump_model("M", w.between(3, 7, 1), w.between(4, 7, 1))
    w.add(f'<sump id="S" floor="-1.2 m" rim="0.1 m" length="4 m" width="3 m" start-depth="{w.between(0.75, 0.9)} m"/>')
    w.add('<pump id="P" in="S" intake-height="0.1 m" model="M" check-valve="yes"/>')
    w.add('<tee id="H" elevation="0.2 m"/>')
    w.pipe("P", "H", bore=56.6, inside=w.fittings())
    head, beds = "H", w.rng.randint(1, 4)
    collector = w.chance(0.6)
    if collector:
        w.add('<tee id="D" elevation="0.35 m" vented="yes"/>')
    trough = w.chance(0.5)
    if trough:
        w.add(f'<trough id="R" floor="0.1 m" rim="0.6 m" length="6 m" width="1 m" start-depth="{w.between(0.1, 0.3)} m"/>')
        w.add('<standpipe id="OR" in="R" bore="84 mm"><insert name="only" lip="0.3 m"/></standpipe>')
        w.pipe("OR", "S", tag="drain", bore=84.0, length=1.5, to_height="1.25 m")
    standpipes = []
    for i in range(beds):
        if i:
            w.add(f'<tee id="J{i}" elevation="0.3 m"/>')
            w.pipe(head, f"J{i}", bore=45.2, length=w.between(0.5, 4))
            head = f"J{i}"
        bed = w.chance(0.6)
        holes = ""
        if bed:
            media = f' media-depth="{w.between(0.2, 0.3)} m"' if w.chance(0.5) else ""
            w.add(f'<bed id="B{i}" floor="0.75 m" rim="1.15 m" length="{w.between(1.5, 3)} m" width="1.1 m" void-fraction="{w.between(0.35, 0.5)}"{media}/>')
            if w.chance(0.7):
                holes = f'<drain-hole height="{w.rng.choice(("0 m", "0 m", "0.02 m"))}" diameter="{w.between(4, 9, 1)} mm" count="{w.rng.randint(1, 3)}"/>'
            tall, short = w.between(0.22, 0.3), w.between(0.1, 0.18)
        else:
            w.add(f'<tank id="B{i}" floor="0.65 m" rim="1.65 m" diameter="{w.between(0.9, 1.6)} m" start-depth="{w.between(0.6, 0.85)} m"/>')
            tall, short = w.between(0.75, 0.9), w.between(0.55, 0.7)
        w.add(f'<standpipe id="O{i}" in="B{i}" bore="{w.rng.choice((56.6, 71.4, 84.0))} mm"><insert name="tall" lip="{tall} m"/>'
              f'<insert name="short" lip="{short} m"/>{holes}</standpipe>')
        standpipes.append(f"O{i}")
        w.pipe(head, f"B{i}", bore=w.rng.choice(BORES[:4]), to_height="1.1 m", inside=w.fittings() + w.valve(f"V{i}"))
        where = w.rng.choice(["S"] + ["D"] * collector + ["R"] * trough)
        height = {"S": {"to_height": "1.25 m"}, "R": {"to_height": "0.45 m"}, "D": {}}[where]
        w.pipe(f"O{i}", where, tag="drain", bore=84.0, length=w.between(0.5, 4), **height)
    if collector:
        w.pipe("D", "S", tag="drain", bore=105.0, length=w.between(1, 4), to_height="1.2 m")
    w.arrangement("coupled")
    for i in range(beds):
        w.arrangement(f"bed {i} off", f'<close valve="V{i}"/>', based_on="coupled")
    w.arrangement("short", *[f'<fit standpipe="{s}" insert="short"/>' for s in standpipes if w.chance(0.7)], f'<run pump="P" speed="{w.rng.randint(80, 105)} %"/>')
    w.arrangement("stopped", '<stop pump="P"/>')
    return w.xml(f"loop {seed}")


def drowned(seed):
    """Closed loops joined by drowned pipes: tanks that return by full pipes, two sumps coupled by a valve, two pumps; settled."""
    w = Writer(seed)
    w.site()
    for i in range(2):
        w.pump_model(f"M{i}", w.between(4, 7, 1), w.between(4, 7, 1))
        w.add(f'<sump id="S{i}" floor="-0.8 m" rim="1.6 m" length="{w.between(1.6, 2.4)} m" width="1.4 m" start-depth="{w.between(1.2, 1.6)} m"/>')
        w.add(f'<pump id="P{i}" in="S{i}" intake-height="0.1 m" model="M{i}" check-valve="yes"/>')
        w.add(f'<tee id="H{i}" elevation="0.2 m"/>')
        w.pipe(f"P{i}", f"H{i}", bore=45.2, inside=w.fittings() + w.valve(f"VP{i}"))
        for t in range(w.rng.randint(1, 2)):
            name = f"T{i}{t}"
            w.add(f'<tank id="{name}" floor="0.1 m" rim="1.9 m" diameter="{w.between(1, 1.8)} m" start-depth="{w.between(0.7, 1)} m"/>')
            w.pipe(f"H{i}", name, bore=w.rng.choice(BORES[1:5]), to_height="1.8 m", inside=w.valve(f"V{name}"))
            w.pipe(name, f"S{i}", bore=w.rng.choice((71.4, 84.0)), length=w.between(2, 8), from_height="0.1 m", to_height="0.1 m",
                   inside=w.fittings() + w.valve(f"R{name}", "gate"))
    w.pipe("S0", "S1", bore=w.rng.choice((56.6, 71.4)), length=w.between(1, 5), from_height="0.15 m", to_height="0.15 m", inside=w.valve("VC", "gate"))
    w.arrangement("coupled")
    w.arrangement("parted", '<close valve="VC"/>')
    w.arrangement("one pump, coupled", '<stop pump="P1"/>')
    w.arrangement("slow, parted", f'<run pump="P0" speed="{w.rng.randint(70, 95)} %"/>', based_on="parted")
    w.arrangement("stopped", '<stop pump="P0"/>', '<stop pump="P1"/>')
    w.arrangement("a tank shut in", '<close valve="VT00"/>', '<close valve="RT00"/>')
    return w.xml(f"drowned {seed}")


def through(seed):
    """Water from a pond through beds, tanks and nozzles to another pond, and a closed loop topped up from the mains by a float valve; settled."""
    w = Writer(seed)
    w.site()
    w.add(f'<pond id="UP" level="{w.between(3, 6)} m"/>')
    w.add('<pond id="OUT" level="-1.5 m"/>')
    w.add('<tee id="A" elevation="0.5 m"/>')
    w.pipe("UP", "A", bore=45.2, length=w.between(5, 30))
    w.add('<tee id="D" elevation="0.2 m" vented="yes"/>')
    units = w.rng.randint(2, 4)
    for i in range(units):
        kind = w.rng.choice(("bed", "tank", "tier"))
        if kind == "bed":
            w.add(f'<bed id="B{i}" floor="0.75 m" rim="1.2 m" length="{w.between(1.5, 3)} m" width="1.1 m" void-fraction="{w.between(0.35, 0.5)}"/>')
            w.add(f'<standpipe id="O{i}" in="B{i}" bore="71.4 mm"><insert name="a" lip="{w.between(0.2, 0.3)} m"/><drain-hole height="0 m" diameter="{w.between(5, 10, 1)} mm"/></standpipe>')
            w.pipe(f"O{i}", "D", tag="drain", bore=84.0, length=w.between(0.5, 3))
            w.pipe("A", f"B{i}", bore=w.rng.choice(BORES[:3]), to_height="0.5 m", inside=w.valve(f"V{i}"))
        elif kind == "tank":
            w.add(f'<tank id="B{i}" floor="0.7 m" rim="1.9 m" diameter="{w.between(0.8, 1.5)} m" start-depth="{w.between(0.4, 0.9)} m"/>')
            w.pipe("A", f"B{i}", bore=w.rng.choice(BORES[:2]), to_height="1.25 m", inside=w.valve(f"V{i}"))
            # a big outlet: the level settles within the last bore above it
            w.pipe(f"B{i}", "OUT", bore=105.0, length=w.between(1, 4), from_height=f"{w.between(0.2, 0.6)} m", to_height="0.5 m", roughness=0)
        else:
            w.add(f'<tier id="B{i}" floor="1.1 m" rim="1.4 m" length="2 m" width="0.6 m"/>')
            w.add(f'<nozzle id="Z{i}" into="B{i}" height="0.35 m" holes="{w.rng.randint(4, 12)}" hole-diameter="3 mm"/>')
            w.pipe("A", f"Z{i}", bore=28.4, inside=w.valve(f"V{i}"))
            w.add(f'<standpipe id="O{i}" in="B{i}" bore="56.6 mm"><insert name="a" lip="{w.between(0.05, 0.1)} m"/></standpipe>')
            w.pipe(f"O{i}", "D", tag="drain", bore=71.4, length=w.between(0.5, 3))
    w.pipe("D", "OUT", tag="drain", bore=125.0, length=3.0, to_height="0.5 m")
    # the closed loop with its top-up
    w.pump_model("M", w.between(3, 6, 1), w.between(4, 6, 1))
    w.add(f'<sump id="S" floor="-1 m" rim="0.3 m" length="2 m" width="1.5 m" start-depth="{w.between(0.5, 1.0)} m"/>')
    w.add(f'<tank id="T" floor="0.3 m" rim="1.3 m" diameter="1.5 m" start-depth="{w.between(0.4, 0.8)} m"/>')
    w.add('<pump id="P" in="S" intake-height="0.1 m" model="M" check-valve="yes"/>')
    w.pipe("P", "T", bore=w.rng.choice(BORES[1:4]), to_height="0.9 m", inside=w.fittings())
    w.add('<standpipe id="OT" in="T" bore="84 mm"><insert name="a" lip="0.75 m"/></standpipe>')
    w.pipe("OT", "S", tag="drain", bore=105.0, length=2.0, to_height="1.1 m")
    w.add(f'<supply id="MAINS" pressure="{w.between(1, 4, 1)} bar" elevation="0 m"/>')
    w.add(f'<float-valve id="FV" into="S" opens-at="0.70 m" closes-at="0.75 m" rated="{w.between(0.3, 1, 2)} m3/h" at="20 m"/>')
    w.pipe("MAINS", "FV", bore=19.0)
    w.arrangement("running")
    w.arrangement("one shut", f'<close valve="V{w.rng.randrange(units)}"/>')
    w.arrangement("stopped", '<stop pump="P"/>')
    return w.xml(f"through {seed}")


def backing_up(seed):
    """Drains that are too small or too flat: the foot of the standpipe, or the vented tee, fills and backs up; levels given."""
    w = Writer(seed)
    w.site()
    w.add(f'<pond id="OUT" level="{w.between(0.2, 0.6)} m"/>')
    w.add('<tee id="D" elevation="0.40 m" vented="yes"/>')
    w.pipe("D", "OUT", tag="drain", bore=w.rng.choice((28.4, 36.2, 45.2)), length=w.between(2, 12))
    for i in range(w.rng.randint(1, 4)):
        lip = w.between(0.3, 0.5)
        w.add(f'<tank id="T{i}" floor="0.45 m" rim="1.6 m" diameter="1.2 m" start-depth="{lip + w.between(0.005, 0.3):.3f} m"/>')
        hole = f'<drain-hole height="0.1 m" diameter="{w.between(4, 12, 1)} mm" count="2"/>' if w.chance(0.5) else ""
        w.add(f'<standpipe id="O{i}" in="T{i}" bore="{w.rng.choice((45.2, 56.6, 71.4))} mm"><insert name="a" lip="{lip} m"/>{hole}</standpipe>')
        w.pipe(f"O{i}", "D", tag="drain", bore=w.rng.choice((36.2, 45.2, 56.6)), length=w.between(0.5, 4))
    w.arrangement("as found", start=True)
    return w.xml(f"backing up {seed}")


def on_the_way(seed):
    """Farms whose end depends on the way there: mains that top up a sump while it is low for a time, a tank that drains into two idle
    ones, a sump that runs dry while it fills beds. The end is found by integration in time."""
    w = Writer(seed)
    w.site()
    case = seed % 3
    if case == 0:
        w.add('<sump id="S" floor="-1 m" rim="1 m" length="2 m" width="1.2 m" start-depth="0.60 m"/>')
        w.add(f'<tank id="T" floor="0.5 m" rim="1.6 m" diameter="1.6 m" start-depth="{w.between(0.9, 1.0)} m"/>')
        w.add('<standpipe id="O" in="T" bore="56.6 mm"><insert name="a" lip="0.95 m"/><drain-hole height="0.5 m" diameter="12 mm"/></standpipe>')
        w.pipe("O", "S", tag="drain", bore=84.0, length=1.0, to_height="1.45 m")
        w.add('<supply id="MAINS" pressure="2 bar" elevation="0 m"/>')
        w.add(f'<float-valve id="FV" into="S" opens-at="0.65 m" closes-at="0.75 m" rated="{w.between(0.4, 1.2)} m3/h" at="20 m"/>')
        w.pipe("MAINS", "FV", bore=19.0)
    elif case == 1:
        w.add(f'<tank id="U" floor="2 m" rim="3.2 m" diameter="1.4 m" start-depth="{w.between(0.6, 1)} m"/>')
        w.add('<tee id="J" elevation="1.8 m"/>')
        w.pipe("U", "J", bore=45.2, length=1.0)
        for name in "AB":
            w.add(f'<tank id="{name}" floor="0 m" rim="1.6 m" diameter="{w.between(1.5, 2)} m" start-depth="0.1 m"/>')
            w.pipe("J", name, bore=w.rng.choice(BORES[:4]), length=w.between(1, 8), to_height="1.65 m", roughness=0)
    else:
        w.pump_model("M", 3.0, 5.0, 6)
        w.add(f'<sump id="S" floor="-0.6 m" rim="0 m" length="1 m" width="0.8 m" start-depth="{w.between(0.4, 0.5)} m"/>')
        w.add('<pump id="P" in="S" intake-height="0.08 m" model="M" check-valve="yes"/>')
        w.add('<tee id="J" elevation="0.3 m"/>')
        w.pipe("P", "J", bore=36.2, length=2.0)
        for name in "AB":
            w.add(f'<bed id="{name}" floor="0.7 m" rim="1.05 m" length="2.4 m" width="1 m" void-fraction="0.42"/>')
            w.pipe("J", name, bore=w.rng.choice(BORES[:4]), length=w.between(1, 8), to_height="0.4 m")
    w.arrangement("left alone")
    return w.xml(f"on the way {seed}")


def siphon(seed):
    """A bed fed from a pond, emptied by a siphon: dribbles, runs for ever, or cycles, as inflow, start and break have it."""
    w = Writer(seed)
    w.site()
    w.add(f'<pond id="UP" level="{w.between(1.6, 3)} m"/>')
    w.add('<pond id="OUT" level="-0.5 m"/>')
    w.add('<bed id="B" floor="0.8 m" rim="1.4 m" length="1.6 m" width="1 m" void-fraction="0.42"/>')
    w.pipe("UP", "B", bore=w.rng.choice((12.0, 16.0, 19.0, 26.0)), length=w.between(5, 40), to_height="0.6 m", roughness=0)
    w.add(f'<siphon id="SI" in="B" bore="{w.rng.choice((20, 26, 32))} mm" crest="0.22 m" breaks-at="{w.between(0.02, 0.06)} m" '
          f'starts-with="{w.between(1, 12, 1)} l/min" loss="{w.between(0.5, 3, 1)}"/>')
    w.pipe("SI", "OUT", bore=w.rng.choice((20.0, 26.0, 32.0)), length=w.between(0.5, 3), to_height="0.2 m", roughness=0)
    w.arrangement("left alone")
    return w.xml(f"siphon {seed}")


FAMILIES = {"mesh": mesh, "manifold": manifold, "loop": loop, "drowned": drowned, "through": through, "backing-up": backing_up, "on-the-way": on_the_way, "siphon": siphon}
