"""Small farms with a routine each, from a seed: what fills and drains by the clock, by a siphon, by a float; what a power cut does.

Every number is invented. One routine called "run" in every file, followed from the start depths unless it says otherwise.
"""
from _random_farms import BORES, Writer


def routine(w, lasts, *lines, settled=False):
    w.arrangement("usual")
    w.add(f'<routine name="run" arrangement="usual" lasts="{lasts}"{" from=" + chr(34) + "settled" + chr(34) if settled else ""}>' + "".join(lines) + "</routine>")


def sump(w, depth=None, plan=None, rim=0.6):
    plan = plan or (w.between(0.9, 1.8), w.between(0.8, 1.3))
    w.add(f'<sump id="S" floor="-0.8 m" rim="{rim} m" length="{plan[0]} m" width="{plan[1]} m" start-depth="{depth or w.between(0.6, 0.9)} m"/>')


def pump(w, stopped=None, check="yes", head=None):
    w.pump_model("M", w.between(2.5, 5, 1), head or w.between(3, 5.5, 1))
    rest = f'<stopped flow="{stopped} m3/h" head="1 m"/>' if stopped else ""
    w.add(f'<pump id="P" in="S" intake-height="{w.between(0.05, 0.12)} m" model="M" check-valve="{check}">{rest}</pump>')


def bed(w, name, floor=0.7, media=True, depth=None):
    extra = f' media-depth="{w.between(0.15, 0.25)} m"' if media and w.chance(0.3) else ""
    start = f' start-depth="{depth} m"' if depth is not None else ""
    w.add(f'<bed id="{name}" floor="{floor} m" rim="{floor + 0.36:.2f} m" length="{w.between(1, 2.4)} m" width="{w.between(0.7, 1.2)} m" '
          f'void-fraction="{w.between(0.3, 0.5, 2)}"{extra}{start}/>')


def standpipe(w, name, vessel, lip, hole=True, bore=None):
    holes = ""
    if hole:
        holes = (f'<drain-hole height="{w.rng.choice((0, 0, w.between(0.004, 0.03)))} m" diameter="{w.between(6, 12, 1)} mm" count="{w.rng.randint(1, 3)}" '
                 f'discharge-coefficient="{w.between(0.58, 0.65, 2)}"/>')
    w.add(f'<standpipe id="{name}" in="{vessel}" bore="{bore or w.rng.choice((45.2, 56.6, 71.4))} mm"><insert name="a" lip="{lip} m"/>{holes}</standpipe>')


def timed_bed(seed):
    """A bed that the clock fills, from a pond or by a pump out of the sump it drains to."""
    w = Writer(seed)
    w.site()
    sump(w)
    bed(w, "B")
    standpipe(w, "O", "B", w.between(0.18, 0.26))
    w.pipe("O", "S", tag="drain", bore=84.0, length=w.between(0.5, 2), to_height="1.3 m")
    if w.chance(0.5):
        w.add(f'<pond id="UP" level="{w.between(2.2, 4)} m"/>')
        w.pipe("UP", "B", bore=w.rng.choice(BORES[:3]), length=w.between(10, 30), to_height="0.33 m", inside=w.valve("V"))
    else:
        pump(w)
        w.pipe("P", "B", bore=w.rng.choice(BORES[:2]), length=w.between(3, 12), to_height="0.33 m", inside=w.valve("V"))
    by_pump = any('<pump id="P"' in line for line in w.lines) and w.chance(0.4)
    every, length = w.rng.choice(((60, 15), (60, 10), (45, 12), (90, 30))), w.rng.choice((0, 0, 3))
    routine(w, f"{3 * every[0] + w.rng.choice((0, 17))} min",
            f'<timer {"runs=" + chr(34) + "P" if by_pump else "opens=" + chr(34) + "V"}" every="{every[0]} min" for="{every[1]} min" after="{length} min"/>')
    return w.xml(f"timed bed {seed}")


def rotation(seed):
    """Two or three beds in turn from one pump; each drains home through its holes."""
    w = Writer(seed)
    w.site()
    sump(w, 1.1, (1.8, 1.3))
    pump(w)
    w.add('<tee id="H" elevation="0.2 m"/>')
    w.pipe("P", "H", bore=w.rng.choice(BORES[2:5]), length=w.between(1, 4), inside=w.fittings())
    names = "AB" if w.chance(0.7) else "ABC"
    for name in names:
        bed(w, name, floor=w.between(0.6, 0.8, 2))
        standpipe(w, f"O{name}", name, w.between(0.16, 0.24))
        w.pipe(f"O{name}", "S", tag="drain", bore=84.0, length=w.between(0.5, 2), to_height="1.3 m")
        w.pipe("H", name, bore=w.rng.choice(BORES[:2]), length=w.between(2, 9), to_height="0.32 m", inside=w.valve(f"V{name}"))
    each = w.between(8, 22, 1)
    routine(w, f"{each * len(names) * 2.7:.2f} min", f'<rotation opens="{" ".join("V" + n for n in names)}" each="{each} min"/>')
    return w.xml(f"rotation {seed}")


def siphon(seed):
    """A bell siphon under a steady inflow: it dribbles, it cycles, or it never breaks."""
    w = Writer(seed)
    w.site()
    kind = seed % 4
    level = w.between(2.2, 3.2)
    bore, length = {0: (19.0, w.between(25, 45)), 1: (19.0, w.between(12, 30)), 2: (19.0, w.between(500, 900)), 3: (36.2, w.between(2, 5))}[kind]
    w.add(f'<pond id="UP" level="{level} m"/>')
    bed(w, "B", depth=w.rng.choice((None, w.between(0.02, 0.12))))
    w.add(f'<sump id="S" floor="-0.6 m" rim="0.6 m" length="4 m" width="{w.between(2, 3)} m" start-depth="0.2 m"/>')
    w.pipe("UP", "B", bore=bore, length=length, to_height="0.33 m", inside=w.valve("V"))
    w.add(f'<siphon id="SI" in="B" bore="26 mm" crest="{w.between(0.18, 0.24)} m" breaks-at="{w.between(0.03, 0.06)} m" '
          f'starts-with="{w.between(1.5, 3.5, 2)} l/min" loss="{w.between(1.5, 3, 1)}"/>')
    w.pipe("SI", "S", tag=w.rng.choice(("pipe", "drain")), bore=w.rng.choice((26.0, 28.4)), length=w.between(0.6, 1.5), to_height="1.05 m")
    lines = ()
    if kind == 1 and w.chance(0.5):
        lines = (f'<timer opens="V" every="50 min" for="{w.rng.randint(15, 35)} min"/>',)
    routine(w, f"{w.rng.choice((90, 120, 150))} min", *lines)
    return w.xml(f"siphon {seed}")


def power_cut(seed):
    """A tank that overflows home; the power fails and returns; the inlet drowned or free, with check valve and without, with an air-hole or not."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.55, 0.8))
    kind = seed % 4
    stopped = w.between(1, 4, 1) if kind else None
    pump(w, stopped, "yes" if kind == 3 else "no")
    w.add(f'<tank id="T" floor="0.3 m" rim="1.5 m" diameter="{w.between(0.7, 1.1)} m" start-depth="{w.between(0.7, 0.95)} m"/>')
    standpipe(w, "O", "T", w.between(0.8, 0.95), hole=False)
    w.pipe("O", "S", tag="drain", bore=84.0, length=w.between(0.5, 2), to_height="1.25 m")
    hole = {"air_hole": f"{w.between(0.6, 0.75)} m"} if kind == 2 else {}
    port = w.between(0.2, 0.55) if kind else 1.1
    w.pipe("P", "T", bore=w.rng.choice(BORES[1:4]), length=w.between(3, 9), to_height=f"{port} m", inside=w.fittings(), **hole)
    routine(w, "3 h", f'<power-cut at="{w.between(20, 60, 1)} min" for="{w.between(20, 60, 1)} min"/>')
    return w.xml(f"power cut {seed}")


def level_switch(seed):
    """A pump that outruns the water coming home is stopped by a switch in its sump, and comes back; or one that guards the tank it fills."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.45, 0.6))
    pump(w)
    w.add(f'<tank id="T" floor="0.5 m" rim="2.4 m" diameter="{w.between(0.8, 1.1)} m" start-depth="{w.between(0.1, 0.4)} m"/>')
    w.pipe("P", "T", bore=w.rng.choice(BORES[1:4]), length=w.between(2, 8), to_height="2 m", inside=w.fittings())
    w.pipe("T", "S", bore=19.0, length=w.between(5, 30), to_height="1.3 m", inside=w.valve("V"))
    low = w.between(0.22, 0.3)
    if w.chance(0.6):
        line = f'<level-switch watches="S" stops="P" below="{low} m" restarts-above="{low + w.between(0.04, 0.12):.3f} m"/>'
    else:
        high = w.between(0.6, 0.8)
        line = f'<level-switch watches="T" stops="P" above="{high} m" restarts-below="{high - w.between(0.1, 0.3):.3f} m"/>'
    extra = f'<power-cut at="{w.between(30, 50, 1)} min" for="{w.between(5, 25, 1)} min"/>' if w.chance(0.3) else ""
    if w.chance(0.3):
        extra += f'<failure of="P" at="{w.between(60, 75, 1)} min" for="{w.between(3, 25, 1)} min"/>'
    routine(w, "2 h", line, extra)
    return w.xml(f"level switch {seed}")


def top_up(seed):
    """A float valve on the mains that makes up what the plants take, with a draw now and then."""
    w = Writer(seed)
    w.site()
    w.add(f'<sump id="S" floor="-0.5 m" rim="0.7 m" length="{w.between(0.8, 1.5)} m" width="0.9 m" start-depth="{w.between(0.45, 0.75)} m"/>')
    w.add(f'<supply id="MAINS" pressure="{w.between(1, 3, 1)} bar" elevation="0 m"/>')
    shut = w.between(0.6, 0.7)
    height = f' height="{w.between(0.8, 1)} m"' if w.chance(0.5) else ""
    w.add(f'<float-valve id="FV" into="S" opens-at="{shut - w.between(0.05, 0.15):.3f} m" closes-at="{shut} m" rated="{w.between(0.3, 0.9, 2)} m3/h" at="20 m"{height}/>')
    w.pipe("MAINS", "FV", bore=w.rng.choice((12.0, 16.0)), length=w.between(4, 20), inside=w.valve("VM"))
    routine(w, "4 h", f'<uptake from="S" rate="{w.rng.randint(40, 900)} l/day"/>',
            f'<draw from="S" volume="{w.rng.randint(40, 200)} l" at="{w.rng.randint(60, 120)} min" over="{w.rng.randint(3, 12)} min"/>')
    return w.xml(f"top-up {seed}")


def draws(seed):
    """Water taken over minutes from one tank into another or away, more than there is in some; a pipe runs meanwhile."""
    w = Writer(seed)
    w.site()
    w.add(f'<tank id="A" floor="0.4 m" rim="1.4 m" diameter="{w.between(0.6, 1)} m" start-depth="{w.between(0.2, 0.6)} m"/>')
    w.add(f'<tank id="B" floor="0 m" rim="1.5 m" diameter="{w.between(0.8, 1.1)} m" start-depth="{w.between(0.1, 0.4)} m"/>')
    w.pipe("A", "B", bore=w.rng.choice((12.0, 16.0, 19.0)), length=w.between(4, 15), from_height=f"{w.rng.choice((0, w.between(0.02, 0.1)))} m", to_height=f"{w.between(0, 0.6)} m")
    source, into = w.rng.choice((("A", ' into="B"'), ("B", ' into="A"'), ("A", ""), ("B", "")))
    routine(w, "2 h", f'<draw from="{source}"{into} volume="{w.rng.randint(30, 220)} l" at="{w.rng.randint(2, 30)} min" over="{w.between(2, 20, 1)} min"/>',
            f'<uptake from="B" rate="{w.rng.randint(20, 60)} l/day"/>')
    return w.xml(f"draws {seed}")


def levelling(seed):
    """Two vessels level out through a pipe: a long thin one (laminar) or a short wide one (turbulent); ports at the floor or drowned."""
    w = Writer(seed)
    w.site()
    thin = seed % 2 == 0
    for name, low, high in (("A", 0.7, 1.1), ("B", 0.2, 0.5)):
        w.add(f'<tank id="{name}" floor="0 m" rim="1.3 m" diameter="{w.between(0.3, 0.6) if thin else w.between(0.8, 1.3)} m" start-depth="{w.between(low, high)} m"/>')
    valve = w.valve("V")
    if thin:
        w.pipe("A", "B", bore=w.rng.choice((6.0, 8.0)), length=w.between(20, 60), from_height="0.05 m", to_height="0.05 m", inside=valve)
    else:
        w.pipe("A", "B", bore=w.rng.choice(BORES[:3]), length=w.between(2, 10), from_height=f"{w.between(0, 0.2)} m", to_height=f"{w.between(0, 0.3)} m", inside=valve)
    routine(w, "5 h" if thin else "40 min", f'<change at="{w.rng.randint(2, 6)} min"><close valve="V"/></change><change at="{w.rng.randint(9, 12)} min"><open valve="V"/></change>')
    return w.xml(f"levelling {seed}")


def spill(seed):
    """A tank that is overfilled by the clock and spills, then drains by its port."""
    w = Writer(seed)
    w.site()
    w.add(f'<pond id="UP" level="{w.between(2.5, 4)} m"/>')
    w.add('<pond id="OUT" level="-1 m"/>')
    w.add(f'<tank id="T" floor="0.5 m" rim="1.2 m" diameter="{w.between(0.6, 0.9)} m" start-depth="{w.between(0.2, 0.5)} m"/>')
    w.pipe("UP", "T", bore=w.rng.choice(BORES[1:4]), length=w.between(2, 10), to_height="0.9 m", inside=w.valve("V"))
    w.pipe("T", "OUT", bore=19.0, length=w.between(2, 8), from_height="0.1 m", to_height="0.5 m")
    every = w.rng.randint(25, 45)
    routine(w, f"{2 * every + 20} min", f'<timer opens="V" every="{every} min" for="{w.rng.randint(6, 15)} min"/>')
    return w.xml(f"spill {seed}")


def until_bare(seed):
    """A pump that runs its sump bare, starves on what comes home, and is cut off and given back by changes and a failure."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.3, 0.45))
    pump(w)
    w.add(f'<tank id="T" floor="0.5 m" rim="2.4 m" diameter="{w.between(1, 1.3)} m" start-depth="{w.between(0.1, 0.3)} m"/>')
    w.pipe("P", "T", bore=w.rng.choice(BORES[1:4]), length=w.between(2, 8), to_height="2 m", inside=w.valve("VP"))
    w.pipe("T", "S", bore=w.rng.choice((12.0, 16.0, 19.0)), length=w.between(5, 20), to_height="1.3 m", inside=w.valve("V", "gate"))
    lines = [f'<change at="{w.rng.randint(40, 55)} min"><close valve="V"/></change><change at="{w.rng.randint(60, 75)} min"><open valve="V"/></change>']
    if w.chance(0.6):
        lines.append(f'<failure of="P" at="{w.rng.randint(80, 95)} min"{" for=" + chr(34) + "9 min" + chr(34) if w.chance(0.7) else ""}/>')
    if w.chance(0.5):
        lines.append(f'<change at="{w.rng.randint(12, 25)} min"><throttle valve="V" to="{w.rng.randint(40, 80)} %"/><run pump="P" speed="{w.rng.randint(75, 95)} %"/></change>')
    routine(w, "2 h", *lines)
    return w.xml(f"until bare {seed}")


def siphon_loop(seed):
    """A siphon bed fed by a pump out of the sump it empties into, so that its inflow swings with the sump."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.5, 0.7), (w.between(0.6, 1), 0.7))
    pump(w, head=w.between(2.2, 3, 1))
    bed(w, "B", floor=0.6)
    w.pipe("P", "B", bore=w.rng.choice((12.0, 16.0)), length=w.between(4, 14), to_height="0.33 m", inside=w.valve("V"))
    w.add(f'<siphon id="SI" in="B" bore="28.4 mm" crest="{w.between(0.18, 0.22)} m" breaks-at="{w.between(0.03, 0.05)} m" loss="{w.between(1.5, 2.5, 1)}" '
          f'starts-with="{w.between(1, 2, 2)} l/min"/>')
    w.pipe("SI", "S", tag="pipe", bore=28.4, length=w.between(0.6, 1.2), to_height="1.2 m")
    extra = f'<failure of="P" at="{w.rng.randint(20, 40)} min" for="{w.rng.randint(3, 20)} min"/>' if w.chance(0.3) else ""
    routine(w, "2 h", extra)
    return w.xml(f"siphon loop {seed}")


def settled(seed):
    """Two tanks on one header, followed from where they settle: a change of inserts, a valve shut, a power cut that lets water back."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.8, 1), (1.6, 1.3))
    pump(w, w.between(1, 4, 1), "no")
    w.add('<tee id="H" elevation="0.2 m"/>')
    w.pipe("P", "H", bore=w.rng.choice(BORES[2:5]), length=w.between(1, 4))
    for name in "AB":
        w.add(f'<tank id="{name}" floor="0.3 m" rim="1.4 m" diameter="{w.between(0.7, 1)} m" start-depth="{w.between(0.5, 0.7)} m"/>')
        w.add(f'<standpipe id="O{name}" in="{name}" bore="56.6 mm"><insert name="a" lip="{w.between(0.7, 0.9)} m"/><insert name="b" lip="{w.between(0.5, 0.65)} m"/></standpipe>')
        w.pipe(f"O{name}", "S", tag="drain", bore=84.0, length=w.between(0.5, 2), to_height="1.25 m")
        w.pipe("H", name, bore=w.rng.choice(BORES[1:4]), length=w.between(2, 8), to_height=f"{w.between(0.2, 0.45)} m", inside=w.valve(f"V{name}"))
    lines = (f'<change at="{w.rng.randint(5, 10)} min"><fit standpipe="OA" insert="b"/></change>', f'<change at="{w.rng.randint(25, 30)} min"><close valve="VB"/></change>',
             f'<power-cut at="{w.rng.randint(45, 50)} min" for="{w.rng.randint(2, 8)} min"/>')
    routine(w, "70 min", *lines, settled=w.chance(0.7))
    return w.xml(f"settled {seed}")


def tables(seed):
    """A hopper given by a table, filled by a timed pump, emptied by its port and by a draw."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.7, 0.9), (1.4, 1))
    pump(w)
    first, second = w.between(0.2, 0.4), w.between(0.5, 0.8)
    v = (w.between(15, 40, 1), w.between(60, 150, 1), w.between(200, 400, 1))
    w.add(f'<vessel id="C" floor="0.4 m" rim="1.5 m" start-depth="{w.between(0.1, 0.9)} m"><volume at="0 m" is="0 l"/><volume at="{first} m" is="{v[0]} l"/>'
          f'<volume at="{second} m" is="{v[1]} l"/><volume at="1.1 m" is="{v[2]} l"/></vessel>')
    w.pipe("P", "C", bore=w.rng.choice(BORES[:3]), length=w.between(3, 9), to_height="1 m")
    w.pipe("C", "S", bore=w.rng.choice((12.0, 16.0, 19.0)), length=w.between(2, 9), from_height=f"{w.rng.choice((0, w.between(0.02, 0.1)))} m", to_height="1.2 m")
    routine(w, "2 h", f'<timer runs="P" every="{w.rng.randint(20, 35)} min" for="{w.rng.randint(3, 9)} min" after="{w.rng.randint(0, 5)} min"/>',
            f'<draw from="C" into="S" volume="{w.rng.randint(20, 80)} l" at="{w.rng.randint(30, 60)} min" over="{w.rng.randint(2, 6)} min"/>')
    return w.xml(f"tables {seed}")


def nozzles(seed):
    """A pump through a filter that is loaded meanwhile, to spray nozzles over tiers that drain home; by the clock, one zone throttled later."""
    w = Writer(seed)
    w.site()
    sump(w, w.between(0.6, 0.8), (1.2, 0.9))
    pump(w, head=w.between(7, 11, 1))
    w.add(f'<filter id="F"><loss state="clean" flow="2 m3/h" head="{w.between(0.2, 0.8, 2)} m"/><loss state="dirty" flow="2 m3/h" head="{w.between(2, 4, 1)} m"/></filter>')
    w.add('<tee id="H" elevation="0.5 m"/>')
    w.pipe("P", "F", bore=w.rng.choice(BORES[2:4]), length=w.between(0.5, 2))
    w.pipe("F", "H", bore=w.rng.choice(BORES[2:4]), length=w.between(1, 4), inside=w.fittings())
    for name in "AB":
        w.add(f'<tier id="{name}" floor="1.2 m" rim="1.35 m" length="{w.between(1.5, 3)} m" width="0.6 m"/>')
        w.add(f'<nozzle id="Z{name}" into="{name}" height="0.2 m" holes="{w.rng.randint(6, 16)}" hole-diameter="{w.between(2, 3.5, 1)} mm"/>')
        w.pipe("H", f"Z{name}", bore=w.rng.choice(BORES[:2]), length=w.between(2, 6), inside=w.valve(f"V{name}"))
        standpipe(w, f"O{name}", name, w.between(0.05, 0.09), bore=45.2)
        w.pipe(f"O{name}", "S", tag="drain", bore=84.0, length=w.between(0.5, 2), to_height="1.35 m")
    routine(w, "80 min", f'<timer opens="VA" every="{w.rng.randint(20, 30)} min" for="{w.rng.randint(4, 12)} min"/>',
            f'<change at="{w.rng.randint(15, 30)} min"><load filter="F" to="{w.rng.randint(30, 100)} %"/></change>',
            f'<change at="{w.rng.randint(40, 60)} min"><throttle valve="VB" to="{w.rng.randint(30, 80)} %"/></change>',
            f'<power-cut at="{w.between(62, 68, 1)} min" for="{w.between(1, 6, 1)} min"/>' if w.chance(0.5) else "")
    return w.xml(f"nozzles {seed}")


FAMILIES = {"timed-bed": timed_bed, "rotation": rotation, "siphon": siphon, "power-cut": power_cut, "level-switch": level_switch, "top-up": top_up,
            "draws": draws, "levelling": levelling, "spill": spill, "until-bare": until_bare, "siphon-loop": siphon_loop, "settled": settled, "tables": tables, "nozzles": nozzles}
