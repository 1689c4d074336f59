"""The farms of examples/ must be good farms: what a designer would look at, asserted from the JSON answers.

The limits are common practice (docs/commands.md, "Limits of common practice"): supply pipes 0.6 to 1.5 m/s, suction below 1.2 m/s, pumps at 70 to
120 % of their best flow, part-full drains with fall, not above 75 % full and quick enough to clean themselves (0.6 m/s), suction head 1.1 times
what is required, 50 mm below every rim. They are asserted in the arrangement in which the farm is meant to run; the others must show what they
are there to show. What is checked by sums (water that neither comes nor goes, turnover, what a tank's overflow takes) is
worked out here, from the layout as written and the answer."""
import json
import math
import os
import re
import xml.etree.ElementTree as ElementTree

from _program import HERE, Count, run

count = Count()
EXAMPLES = os.path.join(HERE, "..", "..", "examples")
LITRES_PER_MINUTE = 60000.0
UNITS = {"m": 1.0, "mm": 0.001, "ft": 0.3048, "in": 0.0254}


def metres(text):
    """'2 ft 6 in' and '0.96 m' in metres: the lengths that the examples use."""
    return sum(float(number) * UNITS[unit] for number, unit in re.findall(r"(-?[\d.]+) ?(mm|m|ft|in)\b", text))


class Example:
    """One layout file: its elements, and its answers by name."""

    def __init__(self, file):
        self.file = file
        path = os.path.join(EXAMPLES, file)
        self.root = ElementTree.parse(path).getroot()
        self.elements = {element.get("id"): element for element in self.root.iter() if element.get("id")}
        process = run("flows", path, "--format", "json")
        count.check(process.returncode == 0 and process.stderr == "", f"{file}: solved without a message", process.stderr)
        self.answers = {answer["name"]: answer for answer in json.loads(process.stdout)["arrangements"]}
        count.check(list(self.answers) == [a.get("name") for a in self.root.iter("arrangement")], f"{file}: every arrangement is answered")

    def check(self, right, what, seen=""):
        return count.check(right, f"{self.file}: {what}", seen)

    def of(self, arrangement, group, ident):
        return next(item for item in self.answers[arrangement][group] if item["id"] == ident)

    def inflow(self, arrangement, vessel):
        return self.of(arrangement, "vessels", vessel)["inflow_m3_s"]

    def missed(self, arrangement):
        return {target["about"] for target in self.answers[arrangement]["targets"] if not target["met"]}


def start_volume_m3(example):
    """All the water at the start, from the layout as written."""
    total = 0.0
    for element in example.root:
        depth = metres(element.get("start-depth", "0 m"))
        if element.find("volume") is not None:
            points = [(metres(p.get("at")), float(p.get("is").split()[0]) / 1000) for p in element.iter("volume")]
            for (low, held), (high, more) in zip(points, points[1:]):
                if low <= depth <= high:
                    total += held + (more - held) * (depth - low) / (high - low)
                    break
        elif element.get("diameter"):
            total += math.pi / 4 * metres(element.get("diameter")) ** 2 * depth
        elif element.get("width"):
            total += metres(element.get("length")) * metres(element.get("width")) * depth * (1 if depth == 0 or element.tag != "bed" else math.nan)
    return total


def all_arrangements(example, cycling=()):
    """What must hold however the valves stand. `cycling`: arrangements in which siphons fill and empty their beds for ever."""
    water = start_volume_m3(example)
    for name, answer in example.answers.items():
        if name in cycling:
            example.check(answer["state"] == "cycles", f"{name}: has no settled state", answer["state"])
            continue
        example.check(answer["solved"], f"{name}: solved", answer["state"])
        spills = [v["id"] for v in answer["vessels"] if v["spill_m3_s"] or v["spilled_m3"]]
        example.check(not spills, f"{name}: nothing spills", spills)
        held = sum(v["volume_m3"] for v in answer["vessels"])
        example.check(abs(held / water - 1) < 1e-9, f"{name}: the water is all there, {water:.4f} m3", held)
        for ledger in answer["sump_ledger"]:
            about = f"{name}: {ledger['id']}"
            if not example.check(None not in ledger.values(), f"{about}: the ledger is complete", ledger):
                continue
            example.check(ledger["stopped_spill_m3"] == 0 and ledger["freeboard_stopped_m"] > 0.05, f"{about} holds what comes home", ledger)
            example.check(ledger["margin_m"] > 0.05 and ledger["margin_m3"] > 0 and ledger["days_to_least"] > 2, f"{about} lasts a day and more", ledger)
            example.check(ledger["returned_m3"] >= -1e-6, f"{about}: water comes home, it does not leave", ledger)
        for valve in answer["valves"]:
            if valve["opening"] == 0:
                pipe = next(p for p in example.root.iter("pipe") if any(v.get("id") == valve["id"] for v in p.iter("valve")))
                shut = example.of(name, "pipes", pipe.get("id"))
                example.check(shut["flow_m3_s"] == 0 and shut["loss_m"] is None, f"{name}: {valve['id']} is shut: exactly no flow", shut)


def good_farm(example, name, slow=(), idle=()):
    """What a designer wants of the arrangement in which the farm runs. `slow`: pipes meant to be slow; `idle`: drains meant to be dry."""
    answer = example.answers[name]
    example.check(answer["targets"] and not example.missed(name), f"{name}: every target met", example.missed(name))
    example.check(not answer["warnings"], f"{name}: nothing to be warned of", answer["warnings"])
    for vessel in answer["vessels"]:
        example.check(vessel["freeboard_m"] >= 0.05, f"{name}: {vessel['id']} stays 50 mm below its rim", vessel["freeboard_m"])
    for pipe in answer["pipes"]:
        speed = abs(pipe["velocity_m_s"])
        if pipe["shut"] or abs(pipe["flow_m3_s"]) < 1e-12 or pipe["id"] in slow:
            continue
        to_pump = example.elements[pipe["id"]].get("to") in {p["id"] for p in answer["pumps"]}
        low, high = (0.5, 1.2) if to_pump else (0.6, 1.5)
        example.check(low <= speed <= high, f"{name}: {pipe['id']} runs at {low} to {high} m/s", speed)
    for pump in answer["pumps"]:
        example.check(pump["running"] and not pump["beyond_curve"] and not pump["intake_bare"], f"{name}: {pump['id']} runs within its curve", pump)
        if pump["from_label"]:
            continue
        example.check(0.7 <= pump["best_point_ratio"] <= 1.2, f"{name}: {pump['id']} near its best flow", pump["best_point_ratio"])
        example.check(pump["npsh_available_m"] >= 1.1 * pump["npsh_required_m"] + 1.5, f"{name}: {pump['id']} has suction head", pump)
        example.check(0.25 < pump["efficiency"] < 0.7, f"{name}: {pump['id']}: an efficiency of small pumps", pump["efficiency"])
    for drain in answer["drains"]:
        about = f"{name}: {drain['id']}"
        if drain["id"] in idle:
            example.check(drain["flow_m3_s"] == 0, f"{about} is dry", drain)
            continue
        example.check(0 < drain["fill_ratio"] <= 0.75 and not drain["drowned"], f"{about} part full", drain)
        example.check(drain["velocity_m_s"] >= 0.6, f"{about} cleans itself", drain["velocity_m_s"])
        start, end, length = (height_of(example, drain["id"], "from"), height_of(example, drain["id"], "to"),
                              metres(example.elements[drain["id"]].get("length")))
        example.check((start - end) / length >= 0.01, f"{about} falls by 1 in 100 or more", (start, end, length))
        example.check(start - end <= length, f"{about} is long enough for its fall", (start, end, length))


def height_of(example, drain, which):
    """Elevation at which a drain begins or ends, from the layout as written."""
    element = example.elements[drain]
    end = example.elements[element.get(which)]
    if end.tag in ("standpipe", "siphon"):
        return metres(example.elements[end.get("in")].get("floor"))
    if end.tag == "tee":
        return metres(end.get("elevation"))
    return metres(end.get("floor")) + metres(element.get(which + "-height", "0 m"))


def shutting_gives_to_the_others(example, usual, off, vessel, others):
    """A bed turned off gets nothing; its neighbours get more, the pump moves less, and the sump stands higher."""
    example.check(example.inflow(off, vessel) == 0, f"{off}: {vessel} gets nothing", example.inflow(off, vessel))
    example.check(example.missed(off) == {vessel}, f"{off}: only {vessel} misses its target", example.missed(off))
    example.check(all(example.inflow(off, o) > example.inflow(usual, o) for o in others), f"{off}: the others get more")


def overflow_films(example, name):
    """A weir law apart from the program: the film over a tank's lip by Q = 2/3 0.62 sqrt(2g) pi D h^1.5 (docs/theory.md) from the inflow."""
    for pipe in example.answers[name]["standpipes"]:
        element = example.elements[pipe["id"]]
        if element.find("drain-hole") is not None:
            continue
        width = math.pi * metres(element.get("bore"))
        film = (pipe["flow_m3_s"] / (2 / 3 * 0.62 * math.sqrt(2 * 9.80665) * width)) ** (2 / 3)
        vessel = example.of(name, "vessels", element.get("in"))
        lip = metres(element.find("insert").get("lip"))
        example.check(abs(vessel["depth_m"] - lip - film) < 2e-5, f"{name}: {pipe['id']}: film over the lip {film:.5f} m", vessel["depth_m"] - lip)


def first():
    example = Example("first.xml")
    all_arrangements(example)
    good_farm(example, "both")
    overflow_films(example, "both")
    shutting_gives_to_the_others(example, "both", "bed off", "B1", ["T1"])
    short, tall = example.of("short standpipe", "vessels", "B1"), example.of("both", "vessels", "B1")
    example.check(short["depth_m"] < tall["depth_m"] - 0.1, "the short standpipe lowers the bed", short)
    sump = [example.of(a, "vessels", "S1")["level_m"] for a in ("both", "short standpipe", "bed off", "pump stopped")]
    example.check(sump == sorted(sump), "the less water stands in the bed, the more stands in the sump", sump)


def farm():
    example = Example("farm.xml")
    tanks, beds, tiers, rafts = ["T1", "T2", "T3", "T4"], [f"B{i}" for i in range(1, 7)], ["N1", "N2", "N3", "N4"], ["R1", "R2"]
    all_arrangements(example, cycling=("siphon beds",))
    good_farm(example, "coupled", slow=("home",), idle=("drain-B7", "drain-B8"))  # between two sumps that should stand nearly level
    overflow_films(example, "coupled")
    flow = lambda name, pipe: example.of(name, "pipes", pipe)["flow_m3_s"]
    level = lambda name, vessel: example.of(name, "vessels", vessel)["level_m"]

    # Like outlets get like shares: within 10 % of their mean (common practice).
    for group in (tanks, beds, tiers, rafts):
        shares = [example.inflow("coupled", v) for v in group]
        mean = sum(shares) / len(shares)
        example.check(all(abs(s / mean - 1) < 0.10 for s in shares), f"coupled: {group} share alike", shares)

    # Coupled, as much runs home as is sent over, and the sumps differ by what that pipe loses. Parted, each keeps its own water.
    example.check(abs(flow("coupled", "over") - flow("coupled", "home")) < 1e-9 and flow("coupled", "over") * LITRES_PER_MINUTE > 30, "coupled: over and home are equal")
    difference = level("coupled", "PS") - level("coupled", "FS")
    example.check(0.005 < difference < 0.05 and abs(difference - example.of("coupled", "pipes", "home")["loss_m"]) < 1e-6, "coupled: the sumps stand nearly level", difference)
    example.check(flow("parted", "over") == 0 and flow("parted", "home") == 0 and not example.missed("parted"), "parted: nothing crosses, all targets met")
    for side, members in (("fish", tanks + ["FS"]), ("plants", beds + rafts + tiers + ["PS"])):
        held = sum(example.of("parted", "vessels", v)["volume_m3"] for v in members)
        stopped = sum(example.of("everything closed", "vessels", v)["volume_m3"] for v in members)
        example.check(abs(held / stopped - 1) < 1e-9, f"parted: the {side} keep their own water", (held, stopped))

    for i in range(1, 7):
        shutting_gives_to_the_others(example, "coupled", f"bed {i} off", f"B{i}", [b for b in beds if b != f"B{i}"] + rafts + tiers)

    example.check(example.missed("seedlings only") == set(beds + rafts), "seedlings only: tanks and tiers have what they want", example.missed("seedlings only"))
    example.check(any(w["code"] == "off-best-point" and w["about"] == "PP" for w in example.answers["seedlings only"]["warnings"]), "seedlings only: the plant pump is too large")
    example.check(example.missed("night") == set(beds + tiers), "night: fish and rafts have what they want", example.missed("night"))
    example.check(example.of("night", "pumps", "PP")["power_w"] < 0.5 * example.of("coupled", "pumps", "PP")["power_w"], "night: half the power or less")
    example.check(example.missed("dirty filter") == set(tanks), "dirty filter: the tanks miss their turnover, the plants do not", example.missed("dirty filter"))
    example.check(all(example.inflow("dirty filter", t) < 0.85 * example.inflow("coupled", t) for t in tanks), "dirty filter: 15 % less, or worse")
    example.check(example.of("dirty filter", "filters", "F1")["loss_m"] > 2 * example.of("coupled", "filters", "F1")["loss_m"], "dirty filter: it loses more than twice as much")
    example.check(example.missed("fish pump failed") == set(tanks), "fish pump failed: the plants go on", example.missed("fish pump failed"))
    example.check(example.missed("plant pump failed") == set(beds + rafts + tiers), "plant pump failed: the fish go on", example.missed("plant pump failed"))
    for name in ("power off", "everything closed"):
        example.check(all(not p["running"] and p["flow_m3_s"] == 0 for p in example.answers[name]["pumps"]), f"{name}: the pumps stand")
        example.check(max(abs(p["flow_m3_s"]) for p in example.answers[name]["pipes"]) < 1e-9, f"{name}: all is still")
        example.check(all(abs(example.of(name, "vessels", v)["depth_m"] - 0.96) < 1e-4 for v in tanks), f"{name}: the tanks keep their water")
    # With VX-home open the two sumps end at one level. The ledger foretells it from the running farm, where each tier has filled to its lip
    # and keeps that water; "power off" settles from the start, where the tiers are empty. So they differ by what the tiers keep.
    example.check(abs(level("power off", "FS") - level("power off", "PS")) < 1e-4, "power off: the sumps level out")
    kept = 4 * 2.0 * 0.6 * 0.03 / (1.6 * 1.2 + 2.8 * 1.8)
    for ledger in example.answers["coupled"]["sump_ledger"]:
        stopped, foretold = example.of("power off", "vessels", ledger["id"])["depth_m"], ledger["stopped_depth_m"]
        example.check(foretold is not None and abs(stopped - kept - foretold) < 1e-4, f"the ledger of {ledger['id']} foretells where it stands", (stopped, kept, ledger))
    against = example.answers["pumps against shut valves"]
    example.check(all(p["running"] and p["against_shut"] and abs(p["flow_m3_s"]) < 1e-12 for p in against["pumps"]), "pumps against shut valves: nothing flows")
    example.check(sum(w["code"] == "pump-against-shut" for w in against["warnings"]) == 2, "pumps against shut valves: both are told")
    # At no flow a pump lifts by the head of the first point of its curve: that is what a gauge on the header would show.
    for pump, sump, header, head in (("PF", "FS", "JF0", 5.0), ("PP", "PS", "JP4", 4.2)):
        gauge = example.of("pumps against shut valves", "tees", header)["head_m"]
        example.check(gauge is not None and abs(gauge - level("pumps against shut valves", sump) - head) < 1e-6, f"{pump} lifts by its shut-off head", gauge)

    example.check(not example.missed("short standpipes"), "short standpipes: every target met")
    saved = sum(example.of("coupled", "vessels", b)["volume_m3"] - example.of("short standpipes", "vessels", b)["volume_m3"] for b in beds)
    gained = sum(example.of("short standpipes", "vessels", s)["volume_m3"] - example.of("coupled", "vessels", s)["volume_m3"] for s in ("FS", "PS"))
    example.check(saved > 0.7 and abs(gained / saved - 1) < 0.02, "short standpipes: what the beds give up stands in the sumps", (saved, gained))
    example.check(abs(example.of("decanting", "vessels", "M1")["depth_m"] - 0.50) < 1e-3, "decanting: M1 falls to its port", example.of("decanting", "vessels", "M1"))
    example.check(example.answers["as drawn, at once"]["state"] == "given-levels", "as drawn: at the start levels")
    example.check(all(abs(v["depth_m"] - metres(example.elements[v["id"]].get("start-depth", "0 m"))) < 1e-12 for v in example.answers["as drawn, at once"]["vessels"]), "as drawn: every vessel at its start depth")


def farm_in_time():
    """The routines of the farm: what a grower wants of a day, whatever happens in it."""
    process = run("cycle", os.path.join(EXAMPLES, "farm.xml"), "--format", "json")
    routines = {r["name"]: r for r in json.loads(process.stdout)["routines"]}
    count.check(len(routines) == 6, "farm in time: six routines", list(routines))
    for name, routine in routines.items():
        spilled = [v["id"] for v in routine["vessels"] if v["spilled_m3"] > 0]
        count.check(not spilled, f"{name}: nothing spills", spilled)
        count.check(all(p["dry_s"] == 0 for p in routine["pumps"]), f"{name}: no pump runs dry", routine["pumps"])
    bed = lambda name, about: next(b for b in routines[name]["beds"] if b["id"] == about)
    turns, rotation = "beds by turns", "beds in rotation"
    for about in [f"B{i}" for i in range(1, 7)]:
        for name, period, wet in ((turns, 5400, 1800), (rotation, 7200, 1200)):
            one = bed(name, about)
            count.check(abs(one["period_s"] - period) < 1e-3 and abs(one["fill_s"] + one["hold_s"] - wet) < 1e-3, f"{name}: {about} keeps the clock's time", one)
            count.check(one["drain_s"] < period - wet, f"{name}: {about} is drained before its next water", one)
    count.check(routines[rotation]["repeats_every_s"] == 7200, "rotation: repeats with the clock", routines[rotation]["repeats_every_s"])
    count.check(routines[turns]["repeats_every_s"] is None, "turns: what plants drink is not brought back, so it does not repeat within a day")
    for about in ("B7", "B8"):
        one = bed("siphons", about)
        count.check(one["breaks"] > 30 and 600 < one["period_s"] < 1500 and one["drain_s"] < one["fill_s"], f"siphons: {about} fills and empties", one)
        count.check(abs(one["fill_s"] + one["drain_s"] - one["period_s"]) < 1e-6, f"siphons: {about} is either filling or draining", one)
    codes = [e["code"] for e in routines["two hours without power"]["events"]]
    count.check(codes.count("power-fails") == codes.count("power-returns") == 1, "power: fails and returns once")
    count.check([e["code"] for e in routines["fish pump fails"]["events"] if e["about"] == "PF"] == ["pump-stops", "pump-restarts"], "pump: stops and comes back")


def farm_us():
    example = Example("farm_us.xml")
    all_arrangements(example)
    good_farm(example, "usual")
    overflow_films(example, "usual")
    shutting_gives_to_the_others(example, "usual", "bed 1 off", "B1", ["T1", "T2", "B2", "R1", "N1"])
    shutting_gives_to_the_others(example, "usual", "bed 2 off", "B2", ["T1", "T2", "B1", "R1", "N1"])
    example.check(example.missed("dirty filter") >= {"T1", "T2"}, "dirty filter: the tanks miss their turnover")
    example.check(example.missed("fish only") == {"B1", "B2", "R1", "N1"}, "fish only: the tanks have what they want", example.missed("fish only"))
    # Flooded suction: in every arrangement the pump stands lower than the water.
    for name, answer in example.answers.items():
        sump = example.of(name, "vessels", "S1")["level_m"]
        example.check(sump > metres("-1 ft") - metres("9 in"), f"{name}: the pump stands below the water", sump)
    # The text speaks US units and only those.
    text = run("flows", os.path.join(EXAMPLES, "farm_us.xml"), "--arrangement", "usual").stdout
    example.check(all(unit in text for unit in (" gpm", " gal", " ft", " in")) and not re.search(r"\d (l/min|m/s|mm|m3|l)\b", text.split("assumed, as")[0]), "text in US units")


def label_pump():
    example = Example("label_pump.xml")
    all_arrangements(example)
    both = example.answers["both"]
    example.check(both["rests_on_label"] and not example.missed("both"), "both: rests on a label, targets met by the middle of the band")
    pump = example.of("both", "pumps", "P1")
    example.check(pump["flow_m3_s_low"] < pump["flow_m3_s"] < pump["flow_m3_s_high"], "the pump's flow is a band", pump)
    example.check(1.2 < pump["flow_m3_s_high"] / pump["flow_m3_s_low"] < 2.0, "a band worth showing", pump)
    tank = next(t for t in both["targets"] if t["about"] == "T1")
    example.check(tank["met"] and not tank["band_meets"], "the tank's turnover is met by only a part of the band", tank)
    # The label rule, H = H0 (1 - (Q/Qmax)^2), worked out here for the middle of the band.
    head = 3.5 * (1 - (pump["flow_m3_s"] * 3600 / 3.6) ** 2)
    example.check(abs(head - pump["head_m"]) < 1e-6, "the middle of the band lies on the label's curve", (head, pump["head_m"]))
    for exponent, end in ((1, "low"), (3, "high")):
        head = 3.5 * (1 - (pump["flow_m3_s_" + end] * 3600 / 3.6) ** exponent)
        example.check(abs(head - pump["head_m_" + end]) < 1e-3, f"the {end} end of the band lies on its curve", (head, pump))
    text = run("flows", os.path.join(EXAMPLES, "label_pump.xml"), "--arrangement", "both").stdout
    example.check(re.search(r"P1 +by its label +[\d.]+-[\d.]+ l/min", text) is not None, "the band is shown in text", text)
    example.check(example.answers["pump stopped"]["rests_on_label"] is False, "pump stopped: nothing rests on the label")


def sizing():
    """Drawn with a generous hand: the wide pipe to T1 robs T2 at night. (What `pipes` makes of it is held to `flows` in pipes.py.)"""
    example = Example("sizing.xml")
    example.check(not example.missed("day"), "day: every target met as drawn", example.missed("day"))
    night = {target["about"] for target in example.answers["night"]["targets"] if not target["met"]}
    example.check(night == {"T2"}, "night: T2 alone misses its turnover as drawn", night)
    example.check(example.inflow("night", "T1") > 1.2 * example.inflow("night", "T2"), "night: T1 takes what T2 lacks")


def reading():
    """Every layout of the folder is one of the above, and `check` finds each fit to be solved."""
    layouts = sorted(f for f in os.listdir(EXAMPLES) if f.endswith(".xml") and not f.endswith("_readings.xml"))
    count.check(layouts == ["farm.xml", "farm_us.xml", "first.xml", "label_pump.xml", "sizing.xml"], "every layout of examples/ is checked here", layouts)
    for file in layouts:
        process = run("check", os.path.join(EXAMPLES, file), "--format", "json")
        problems = json.loads(process.stdout)["problems"]
        count.check(process.returncode == 0 and not [p for p in problems if p["severity"] == "error"], f"{file}: can be solved", process.stderr)
        # The layout itself is without a doubt: what is said, is said of arrangements that are there to show it.
        doubtful = [p for p in problems if not p["arrangements"] and p["code"] != "pump-against-shut"]
        count.check(not doubtful, f"{file}: nothing is doubtful whatever the arrangement", doubtful)


first()
farm()
farm_in_time()
farm_us()
label_pump()
sizing()
reading()
count.end()
