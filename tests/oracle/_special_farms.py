"""Random farms for one thing each: spills, pumps that spill their sump dry, volume tables, air-holes, tees on headers, chains of vented
tees, loops that share their returns, a float valve that feeds a draw. From a seed, like those of _random_farms.py.
"""
from _random_farms import BORES, Writer


def spills(seed):
    """Water that goes over a rim on the way: a tank that drains into one too small for it, beds that come home to a sump too small for
    them, a tank that a pond overfills for ever."""
    w = Writer(seed)
    w.site()
    case = seed % 3
    if case == 0:
        w.add(f'<tank id="U" floor="1.5 m" rim="2.8 m" diameter="{w.between(1.2, 1.6)} m" start-depth="{w.between(0.8, 1.1)} m"/>')
        w.add(f'<tank id="L" floor="0 m" rim="0.7 m" diameter="{w.between(0.8, 1.1)} m" start-depth="{w.between(0.1, 0.4)} m"/>')
        w.pipe("U", "L", bore=w.rng.choice(BORES[:4]), length=w.between(1, 8), to_height="0.8 m", inside=w.fittings())
        w.arrangement("left alone")
    elif case == 1:
        w.add(f'<sump id="S" floor="-0.8 m" rim="{w.between(-0.38, -0.34)} m" length="1.2 m" width="0.8 m" start-depth="0.36 m"/>')
        for name in "AB"[:w.rng.randint(1, 2)]:
            w.add(f'<tank id="{name}" floor="0.6 m" rim="1.4 m" diameter="{w.between(0.8, 1.2)} m" start-depth="{w.between(0.3, 0.5)} m"/>')
            w.add(f'<standpipe id="O{name}" in="{name}" bore="56.6 mm"><insert name="a" lip="0.6 m"/><drain-hole height="{w.between(0.02, 0.1)} m" '
                  f'diameter="{w.between(6, 14, 1)} mm" count="2"/></standpipe>')
            w.pipe(f"O{name}", "S", tag="drain", bore=84.0, length=w.between(0.5, 3), to_height="1.1 m")
        w.arrangement("left alone")
    else:
        w.add(f'<pond id="UP" level="{w.between(2, 4)} m"/>')
        w.add('<pond id="OUT" level="-1 m"/>')
        w.add(f'<tank id="T" floor="0.5 m" rim="1.3 m" diameter="{w.between(0.8, 1.4)} m" start-depth="0.3 m"/>')
        w.pipe("UP", "T", bore=w.rng.choice(BORES[2:5]), length=w.between(2, 10), to_height="0.9 m")
        w.pipe("T", "OUT", bore=19.0, length=w.between(2, 8), from_height="0.1 m", to_height="0.5 m")
        w.arrangement("left alone")
    return w.xml(f"spills {seed}")


def until_dry(seed):
    """A pump that fills a bed faster than its way out carries: the bed goes over its rim until the intake in the sump is bare."""
    w = Writer(seed)
    w.site()
    w.pump_model("M", w.between(3, 5, 1), w.between(4, 6, 1), 5)
    w.add(f'<sump id="S" floor="-0.6 m" rim="0.3 m" length="{w.between(1, 1.6)} m" width="1 m" start-depth="{w.between(0.5, 0.8)} m"/>')
    w.add('<pump id="P" in="S" intake-height="0.08 m" model="M" check-valve="yes"/>')
    w.add(f'<bed id="B" floor="0.7 m" rim="1 m" length="{w.between(1, 1.6)} m" width="0.8 m" void-fraction="0.42"/>')
    w.pipe("P", "B", bore=w.rng.choice(BORES[1:4]), length=w.between(1, 6), to_height="0.4 m")
    w.add(f'<standpipe id="O" in="B" bore="45.2 mm"><insert name="a" lip="0.28 m"/>'
          f'<drain-hole height="0 m" diameter="{w.between(4, 8, 1)} mm"/></standpipe>')
    where = w.rng.choice(("S", "OUT"))
    if where == "OUT":
        w.add('<tank id="OUT" floor="-0.6 m" rim="0.4 m" diameter="2 m" start-depth="0 m"/>')
    w.pipe("O", where, tag="drain", bore=12.0, length=w.between(3, 6), to_height="0.85 m")
    w.arrangement("running")
    return w.xml(f"until dry {seed}")


def tables(seed):
    """Vessels given by a table of volumes: cones, steps, tanks with a hopper; a closed loop that settles, and idle ones that level out."""
    w = Writer(seed)
    w.site()
    w.pump_model("M", w.between(3, 6, 1), w.between(4, 7, 1))

    def vessel(ident, floor, depths, first, depth):
        rows, volume, before = [], 0.0, 0.0
        for d in depths:
            volume += (d - before) * first * (1 + d * w.between(0.2, 2))
            before = d
            rows.append(f'<volume at="{d} m" is="{volume * 1000:.1f} l"/>')
        w.add(f'<vessel id="{ident}" floor="{floor} m" rim="{floor + depths[-1]:.3f} m" start-depth="{depth} m"><volume at="0 m" is="0 l"/>' + "".join(rows) + "</vessel>")

    vessel("S", -1.0, (0.2, 0.5, 0.9, 1.3), 1.5, w.between(0.7, 0.85))
    vessel("A", 0.4, (0.25, 0.6, 1.0, 1.4), 0.7, w.between(0.5, 0.9))
    vessel("B", 0.3, (0.3, 0.5, 1.2), 0.5, w.between(0.4, 0.6))
    w.add('<pump id="P" in="S" intake-height="0.1 m" model="M" check-valve="yes"/>')
    w.pipe("P", "A", bore=w.rng.choice(BORES[1:4]), to_height="1.3 m", inside=w.fittings())
    w.pipe("A", "B", bore=w.rng.choice((56.6, 71.4)), length=w.between(1, 4), from_height="0.2 m", to_height="0.1 m", inside=w.valve("VL", "gate"))
    w.add(f'<standpipe id="O" in="B" bore="71.4 mm"><insert name="a" lip="{w.between(0.6, 0.8)} m"/></standpipe>')
    w.pipe("O", "S", tag="drain", bore=84.0, length=2.0, to_height="1.2 m")
    w.arrangement("running")
    w.arrangement("slow, throttled", f'<run pump="P" speed="{w.rng.randint(75, 95)} %"/>', f'<throttle valve="VL" to="{w.rng.randint(40, 90)} %"/>')
    w.arrangement("stopped", '<stop pump="P"/>')
    return w.xml(f"tables {seed}")


def air_hole(seed):
    """A drowned inlet with an air-hole, through a pump at rest that lets water back: the tank falls to the hole and no further."""
    w = Writer(seed)
    w.site()
    w.pump_model("M", w.between(3, 6, 1), w.between(4, 7, 1))
    w.add(f'<sump id="S" floor="-1 m" rim="0.4 m" length="2 m" width="1.2 m" start-depth="{w.between(0.5, 0.7)} m"/>')
    stopped = f'<stopped flow="{w.between(1, 4, 1)} m3/h" head="1 m"/>'
    w.lines.append(f'  <pump id="P" in="S" intake-height="0.1 m" model="M" check-valve="no">{stopped}</pump>')
    w.add('<tee id="H" elevation="0.1 m"/>')
    w.pipe("P", "H", bore=w.rng.choice(BORES[2:5]), length=w.between(1, 4))
    for i in range(w.rng.randint(1, 3)):
        w.add(f'<tank id="T{i}" floor="0.2 m" rim="1.3 m" diameter="{w.between(0.9, 1.4)} m" start-depth="{w.between(0.6, 0.9)} m"/>')
        hole = {"air_hole": f"{w.between(0.5, 0.75)} m"} if w.chance(0.7) else {}
        w.pipe("H", f"T{i}", bore=w.rng.choice(BORES[1:4]), length=w.between(1, 6), to_height=f"{w.between(0.05, 0.3)} m", inside=w.valve(f"V{i}"), **hole)
        w.add(f'<standpipe id="O{i}" in="T{i}" bore="71.4 mm"><insert name="a" lip="{w.between(0.7, 0.95)} m"/></standpipe>')
        w.pipe(f"O{i}", "S", tag="drain", bore=84.0, length=2.0, to_height="1.15 m")
    w.arrangement("running")
    w.arrangement("stopped", '<stop pump="P"/>')
    w.arrangement("stopped, at the drawn levels", '<stop pump="P"/>', start=True)
    return w.xml(f"air-hole {seed}")


def header_tees(seed):
    """Tees on a header whose losses follow the division of the flow; dividing and combining, square and slanted; levels given."""
    w = Writer(seed)
    w.site()
    combining = w.chance(0.4)
    w.add(f'<pond id="W" level="{w.between(3, 6) if not combining else 0.0} m"/>')
    branches = w.rng.randint(2, 4)
    run = w.rng.choice(BORES[3:])

    def pipe(a, b, **more):
        return w.pipe(b, a, **more) if combining else w.pipe(a, b, **more)

    pipe("W", "J0", bore=run, length=w.between(1, 6))
    for i in range(branches):
        w.add(f'<tank id="T{i}" floor="0 m" rim="6 m" diameter="1 m" start-depth="{w.between(0.5, 1.5) if not combining else w.between(2, 4)} m"/>')
        bore = w.rng.choice([b for b in BORES if b <= run])
        branch = pipe(f"J{i}", f"T{i}", bore=bore, length=w.between(1, 6), inside=w.fittings() + w.valve(f"V{i}"))
        w.add(f'<tee id="J{i}" elevation="-0.2 m" loss="header" branch="{branch}" branch-angle="{w.rng.choice((30, 45, 45, 60, 90, 90))}"/>')
        if i < branches - 1:
            pipe(f"J{i}", f"J{i + 1}", bore=run, length=w.between(0.5, 3))
    w.add(f'<tank id="E" floor="0 m" rim="6 m" diameter="1 m" start-depth="{w.between(0.5, 1.5) if not combining else w.between(2, 4)} m"/>')
    pipe(f"J{branches - 1}", "E", bore=run, length=w.between(1, 4))
    w.arrangement("all open", start=True)
    w.arrangement("one shut", f'<close valve="V{w.rng.randrange(branches)}"/>', start=True)
    w.arrangement("throttled", *[f'<throttle valve="V{i}" to="{w.rng.randint(15, 90)} %"/>' for i in range(branches)], start=True)
    return w.xml(f"header tees {seed}")


def vented_chain(seed):
    """Three to five vented tees, each draining to the next; tanks join at each; some reaches too small, so that they fill and back up."""
    w = Writer(seed)
    w.site()
    count = w.rng.randint(3, 5)
    w.add(f'<pond id="OUT" level="{w.between(0, 0.2)} m"/>')
    for i in range(count):
        w.add(f'<tee id="D{i}" elevation="{0.9 - 0.15 * i:.2f} m" vented="yes"/>')
        w.pipe(f"D{i}", f"D{i + 1}" if i < count - 1 else "OUT", tag="drain", bore=w.rng.choice((36.2, 45.2, 56.6, 71.4)), length=w.between(1, 6))
        lip = w.between(0.3, 0.5)
        w.add(f'<tank id="T{i}" floor="1 m" rim="2.4 m" diameter="1 m" start-depth="{lip + w.between(0.005, 0.08):.3f} m"/>')
        w.add(f'<standpipe id="O{i}" in="T{i}" bore="{w.rng.choice((45.2, 56.6))} mm"><insert name="a" lip="{lip} m"/></standpipe>')
        w.pipe(f"O{i}", f"D{i}", tag="drain", bore=w.rng.choice((36.2, 45.2, 56.6)), length=w.between(0.5, 3))
    w.arrangement("as found", start=True)
    return w.xml(f"vented chain {seed}")


def two_loops(seed):
    """Two loops with a valve between their sumps and one between their headers; tanks that overflow home or, coupled, to the other sump."""
    w = Writer(seed)
    w.site()
    for i in range(2):
        w.pump_model(f"M{i}", w.between(4, 7, 1), w.between(4, 7, 1))
        w.add(f'<sump id="S{i}" floor="{w.between(-1.1, -0.9)} m" rim="0.4 m" length="{w.between(1.6, 2.4)} m" width="1.4 m" start-depth="{w.between(0.8, 1)} m"/>')
        w.add(f'<pump id="P{i}" in="S{i}" intake-height="0.1 m" model="M{i}" check-valve="yes"/>')
        w.add(f'<tee id="H{i}" elevation="0.2 m"/>')
        w.pipe(f"P{i}", f"H{i}", bore=45.2, inside=w.fittings())
    for i in range(2):
        for t in range(w.rng.randint(1, 2)):
            name = f"T{i}{t}"
            w.add(f'<tank id="{name}" floor="0.5 m" rim="1.7 m" diameter="{w.between(1, 1.5)} m" start-depth="{w.between(0.5, 0.75)} m"/>')
            w.add(f'<standpipe id="O{name}" in="{name}" bore="71.4 mm"><insert name="a" lip="{w.between(0.7, 0.8)} m"/></standpipe>')
            w.pipe(f"H{i}", name, bore=w.rng.choice(BORES[1:4]), to_height="1.1 m", inside=w.valve(f"V{name}"))
            w.pipe(f"O{name}", f"S{i}", tag="drain", bore=84.0, length=w.between(1, 3), to_height="1.35 m")
    w.pipe("S0", "S1", bore=w.rng.choice((56.6, 71.4, 84.0)), length=w.between(1, 5), from_height="0.15 m", to_height="0.15 m", inside=w.valve("VC", "gate"))
    w.pipe("H0", "H1", bore=36.2, length=w.between(1, 4), inside=w.valve("VH"))
    w.arrangement("coupled")
    w.arrangement("coupled below", '<close valve="VH"/>')
    w.arrangement("parted", '<close valve="VC"/>', based_on="coupled below")
    w.arrangement("throttled", f'<throttle valve="VT00" to="{w.rng.randint(25, 70)} %"/>', f'<throttle valve="VC" to="{w.rng.randint(25, 70)} %"/>', based_on="coupled below")
    w.arrangement("one pump for both", '<stop pump="P1"/>', based_on="coupled")
    w.arrangement("parted, one pump", '<stop pump="P1"/>', based_on="parted")
    return w.xml(f"two loops {seed}")


def draw(seed):
    """Mains and a float valve that make up what a sump loses for ever to a pond below: it settles within the valve's band, or is outrun."""
    w = Writer(seed)
    w.site()
    w.add('<pond id="OUT" level="-2 m"/>')
    w.add(f'<sump id="S" floor="-1 m" rim="0.5 m" length="1.5 m" width="1 m" start-depth="{w.between(0.5, 1)} m"/>')
    w.pipe("S", "OUT", bore=w.rng.choice((8.0, 10.0, 12.0, 16.0)), length=w.between(3, 12), from_height=f"{w.between(0.05, 0.3)} m", inside=w.valve("VD"))
    w.add(f'<supply id="MAINS" pressure="{w.between(1, 4, 1)} bar" elevation="{w.between(-1, 1)} m"/>')
    height = f' height="{w.between(0.6, 1.4)} m"' if w.chance(0.5) else ""
    w.add(f'<float-valve id="FV" into="S" opens-at="{w.between(0.5, 0.6)} m" closes-at="{w.between(0.65, 0.8)} m" rated="{w.between(0.5, 2, 2)} m3/h" at="20 m"{height}/>')
    w.pipe("MAINS", "FV", bore=w.rng.choice((12.0, 16.0, 19.0)), length=w.between(2, 20), inside=w.valve("VM"))
    w.arrangement("drawn")
    w.arrangement("throttled", f'<throttle valve="VM" to="{w.rng.randint(20, 80)} %"/>', f'<throttle valve="VD" to="{w.rng.randint(30, 90)} %"/>')
    w.arrangement("mains shut", '<close valve="VM"/>')
    w.arrangement("draw shut", '<close valve="VD"/>')
    return w.xml(f"draw {seed}")


def taking(seed):
    """A looped main between a pond, a tank and perhaps a second pond, with water taken at its tees; by either law of friction, with constants of
    the Hazen-Williams law as the literature has them."""
    w = Writer(seed)
    w.site()
    hazen = w.chance(0.5)
    w.add(f'<pond id="HIGH" level="{w.between(14, 18)} m"/>')
    w.add(f'<tank id="T" floor="{w.between(6, 9)} m" rim="14 m" diameter="2 m" start-depth="{w.between(1, 3)} m"/>')
    tees = w.rng.randint(2, 7)
    for i in range(tees):
        takes = f' takes="{w.between(1, 30, 1)} l/min"' if w.chance(0.6) or i == tees - 1 else ""
        w.add(f'<tee id="J{i}" elevation="{w.between(-1, 2)} m"{takes} least-pressure="2 m"/>')

    def link(a, b, inside=""):
        extra = {"hazen_williams": w.rng.choice((100, 130, 150))} if hazen else {}
        w.pipe(a, b, bore=w.rng.choice(BORES[2:]), inside=inside, **extra)

    link("HIGH", "J0")
    link("T", f"J{tees - 1}", w.valve("VT"))
    for i in range(1, tees):
        link(*w.rng.sample((f"J{w.rng.randrange(i)}", f"J{i}"), 2))
    for _ in range(w.rng.randint(1, 3)):
        a, b = w.rng.sample([f"J{i}" for i in range(tees)], 2)
        link(a, b, w.valve(f"V{w.count}", "gate"))
    w.arrangement("both", start=True)
    w.arrangement("settles")
    w.arrangement("by the pond alone", '<close valve="VT"/>')
    w.arrangement("throttled", f'<throttle valve="VT" to="{w.rng.randint(20, 90)} %"/>', start=True)
    constants = w.rng.choice(((10.67, 1.852, 4.8704), (10.5088, 1.85, 4.87), (10.9031, 1.85185, 4.87037)))
    words = {f"hazen-{word}": value for word, value in zip(("factor", "flow-power", "bore-power"), constants)} if hazen else {}
    return w.xml(f"taking {seed}", **({"friction": "hazen-williams"} if hazen else {}), **words)


SPECIAL = {"spills": spills, "until-dry": until_dry, "tables": tables, "air-hole": air_hole, "header-tees": header_tees, "vented-chain": vented_chain,
           "two-loops": two_loops, "draw": draw, "taking": taking}
