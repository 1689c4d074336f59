"""`pipes` on the command line: what it writes as text, JSON, CSV and a changed layout; exit statuses; targets that cannot be met; Ctrl-C.

The figures of a design are held to `flows` on the layout that `pipes` itself has written; the cost to the lengths and prices of the file; the two-loop
problem to its published optimum (E. Alperovits and U. Shamir 1977; D. A. Savic and G. A. Walters 1997: 419,000)."""
import csv
import functools
import io
import json
import os
import re
import signal
import subprocess
import tempfile
import time
import xml.etree.ElementTree as xml

from _program import HERE, PROGRAM, Count, run, under_way

count = Count()
check = count.check
REFERENCE = os.path.join(HERE, "..", "reference", "layouts")
TWO_LOOPS = os.path.join(REFERENCE, "two-loop.xml")
HANOI = os.path.join(REFERENCE, "hanoi.xml")
EXAMPLE = os.path.join(HERE, "..", "..", "examples", "sizing.xml")


@functools.lru_cache
def answer(*arguments, status=0):
    done = run("pipes", *arguments, "--format", "json")
    check(done.returncode == status, f"pipes {arguments} ends with {status}", (done.returncode, done.stderr))
    return json.loads(done.stdout, parse_constant=lambda word: check(False, f"{word} is no JSON"))


def changed(source, folder, *replacements):
    text = open(source, encoding="utf-8").read()
    for old, new in replacements:
        check(old in text, f"'{old}' is in the file to change")
        text = text.replace(old, new)
    name = os.path.join(folder, "changed.xml")
    open(name, "w", encoding="utf-8").write(text)
    return name


def two_loops():
    said = answer(TWO_LOOPS)
    check(abs(said["chosen"]["pipes_cost"] - 419000) < 1e-6 and said["found"], "the two-loop problem at its published cost", said["chosen"]["pipes_cost"])
    bores = [size["bore_m"] / 0.0254 for size in said["sizes"]]
    check([round(bore, 6) for bore in bores] == [18, 10, 16, 4, 16, 10, 10, 1], "with the published bores", bores)
    check(said["lower_bound"] is None or said["lower_bound"] <= 419000 * (1 + 1e-9), "no bound above the optimum", said["lower_bound"])
    check(abs(said["chosen"]["least_target_margin"] * 30 - 0.4447) < 1e-4, "0.4447 m to spare, as an independent solver has it", said["chosen"]["least_target_margin"])
    check(said["drawn"]["pipes_cost"] == 8 * 1000 * 550, "what is drawn costs lengths times prices")
    once, again = (run("pipes", TWO_LOOPS, "--effort", "low", "--format", "json").stdout for _ in range(2))
    check(once == again and json.loads(once)["found"], "the same question, the same answer")


def example():
    with tempfile.TemporaryDirectory() as folder:
        written = os.path.join(folder, "sized.xml")
        said = answer(EXAMPLE, "--write", written)
        check(said["found"] and said["proven"] and said["all_looked_at"], "the example is solved exactly", said)
        check(said["chosen"]["life_cycle_cost"] < said["drawn"]["life_cycle_cost"], "and is cheaper than drawn")
        tree, before = xml.parse(written), xml.parse(EXAMPLE)
        prices = {(s.get("name"), z.get("name")): float(z.get("price-per-metre")) for s in tree.iter("pipe-series") for z in s.iter("size")}
        pipes = [p for kind in ("pipe", "drain") for p in tree.iter(kind)]
        cost = sum(float(p.get("length").split()[0]) * prices[p.get("series"), p.get("size")] for p in pipes if p.get("choose"))
        check(abs(cost - said["chosen"]["pipes_cost"]) < 1e-9, "lengths times prices of what was written", (cost, said["chosen"]["pipes_cost"]))
        sizes = {p.get("id"): p.get("size") for p in pipes}
        check(sizes["home-T1"] == sizes["home-T2"] and sizes["main-1"] == sizes["main-2"], "a group has one size", sizes)
        old = {p.get("id"): p.get("size") for kind in ("pipe", "drain") for p in before.iter(kind)}
        moved = sum(sizes[name] != old[name] for name in old)
        lines = [(a, b) for a, b in zip(open(written, encoding="utf-8"), open(EXAMPLE, encoding="utf-8")) if a != b]
        check(moved > 0 and len(lines) == moved, "only the changed sizes are changed in the file", lines)

        flows = json.loads(run("flows", written, "--format", "json").stdout)
        power = 0.0
        worth = (1 - 1.03**-10) / 0.03
        for arrangement in flows["arrangements"]:
            hours = {"day": 5110, "night": 3650}[arrangement["name"]]
            power += hours / 1000 * sum(p["power_w"] for p in arrangement["pumps"])
            check(all(t["met"] for t in arrangement["targets"]), "flows finds every target met", arrangement["targets"])
            chosen = {name for size in said["sizes"] for name in size["pipes"]}
            check(all(abs(p["velocity_m_s"]) <= 1.5 for p in arrangement["pipes"] if p["id"] in chosen), "and every velocity within the limit")
            check(all(d["fill_ratio"] <= 0.75 for d in arrangement["drains"] if d["id"] in chosen), "and every drain")
            for judged in said["chosen"]["judgements"]:
                if judged["arrangement"] != arrangement["name"] or judged["kind"] != "target":
                    continue
                key = judged["quantity"]
                got = next(v for v in arrangement["vessels"] if v["id"] == judged["about"])[key]
                check(abs(got / judged["got"] - 1) < 1e-9, f"{judged['about']} as flows has it", (got, judged["got"]))
        check(abs(power / said["chosen"]["energy_kwh_year"] - 1) < 1e-9, "the energy of the year is that of flows", power)
        check(abs(said["chosen"]["pipes_cost"] + power * 0.28 * worth - said["chosen"]["life_cycle_cost"]) < 1e-6, "pipes, and the worth of ten years of it today")

        again = answer(written)
        check(not any(size["changed"] for size in again["sizes"]), "asked again of what was written: nothing to change")
        refused = run("pipes", EXAMPLE, "--write", EXAMPLE)
        check(refused.returncode == 2, "the file that was read is not written over", refused.stderr)


def text():
    done = run("pipes", EXAMPLE, "--arrangement", "day", "--trade-off")
    check(done.returncode == 0 and done.stderr == "", "fine, and nothing on standard error", (done.returncode, done.stderr))
    lines = done.stdout.splitlines()
    check(lines[0] == "Two tanks and a trough to be piped" and "cheapest sizes" in lines[1], "the sentence that matters comes first", lines[:2])
    for words in ("No choice costs less", "Sizes", "What is tightest", "to spare", "Money", "To enlarge next", "What more to spare costs",
                  "EUR", "residual-current", "licensed", "pressure class"):
        check(words in done.stdout, f"the text says '{words}'", done.stdout)
    check(" ft" in run("pipes", EXAMPLE, "--arrangement", "day", "--units", "us").stdout, "US units on request")


def trade_off():
    points = answer(EXAMPLE, "--trade-off")["trade_off"]
    costs = [p["life_cycle_cost"] for p in points if p["found"]]
    check(len(costs) >= 3 and all(a <= b + 1e-9 for a, b in zip(costs, costs[1:])), "more to spare never costs less", costs)
    check(all(p["least_target_margin"] >= p["margin"] - 1e-9 for p in points if p["found"]), "and is there", points)


def table():
    done = run("pipes", EXAMPLE, "--arrangement", "day", "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    said = answer(EXAMPLE, "--arrangement", "day")
    sizes = {row["about"]: row["value"] for row in rows if row["kind"] == "size" and row["quantity"] == "size"}
    check(sizes == {size["choice"]: size["size"] for size in said["sizes"]}, "CSV and JSON agree on the sizes", sizes)
    total = next(float(row["value"]) for row in rows if row["kind"] == "chosen" and row["quantity"] == "life-cycle-cost")
    check(total == said["chosen"]["life_cycle_cost"], "and on the cost", total)


def cannot_be_met():
    with tempfile.TemporaryDirectory() as folder:
        greedy = changed(TWO_LOOPS, folder, ('elevation="165 m" takes="330 m3/h" least-pressure="30 m"', 'elevation="165 m" takes="330 m3/h" least-pressure="60 m"'))
        done = run("pipes", greedy, "--effort", "low")
        check(done.returncode == 4, "no solution", done.returncode)
        found = re.search(r"sizes that come nearest, N6 has a pressure of ([0-9.]+) m, wanted 60.00 m or more; ([0-9.]+) m more head is needed",
                          " ".join(done.stdout.split()))
        check(found is not None and abs(float(found[1]) + float(found[2]) - 60) < 0.11, "which target, and how much is missing", done.stdout)
        lean = changed(EXAMPLE, folder, ('velocity="1.5 m/s"', 'velocity="0.2 m/s"'))
        done = run("pipes", lean, "--arrangement", "day")
        check(done.returncode == 4 and "not within the limits" in done.stdout and re.search(r"the water in main-[12] runs at 1\.\d\d m/s, wanted 0\.20 m/s or less",
                                                                                            " ".join(done.stdout.split())), "which limit stands against the targets", done.stdout)


def nothing_to_choose():
    done = run("pipes", os.path.join(HERE, "..", "..", "examples", "first.xml"))
    check(done.returncode == 3 and 'choose="yes"' in done.stderr and "price-per-metre" in done.stderr, "says what to write", (done.returncode, done.stderr))
    check(run("pipes", EXAMPLE, "--arrangement", "dusk").returncode == 2, "an arrangement that is not there")
    check(run("pipes", EXAMPLE, "--effort", "low", "--seconds", "3").returncode == 2, "an effort or a time, not both")
    for wrong in (("--interest", "-4 %"), ("--interest", "4"), ("--years", "0"), ("--years", "201"), ("--price-per-kwh", "-1")):
        check(run("pipes", EXAMPLE, *wrong).returncode == 2, f"{wrong} is refused")


def unpriced():
    with tempfile.TemporaryDirectory() as folder:
        dear = changed(TWO_LOOPS, folder, ('<size name="18 in" bore="18 in" price-per-metre="130"/>', '<size name="18 in" bore="18 in"/>'))
        said = answer(dear, "--effort", "low")
        check(len(said["notes"]) == 1 and "18 in of mains" in said["notes"][0], "a size without a price is said", said["notes"])
        check(all(size["size"] != "18 in" for size in said["sizes"]) and said["chosen"]["pipes_cost"] > 419000, "and not chosen", said["sizes"])


def one_arrangement():
    day = answer(EXAMPLE, "--arrangement", "day")
    check(day["arrangements"] == ["day"], "only the arrangement named counts", day["arrangements"])
    check(day["chosen"]["pipes_cost"] <= answer(EXAMPLE, "--trade-off")["chosen"]["pipes_cost"] + 1e-9 or day["chosen"]["energy_kwh_year"] > 0, "and asks no more than both")


BED = """<layout name="A bed by the clock">
  <sump id="S" floor="-1.1 m" rim="0.4 m" length="2 m" width="1.2 m" start-depth="0.8 m" least-depth="{least}"/>
  <bed id="B" floor="0.8 m" rim="1.15 m" length="2.4 m" width="1.2 m" media-depth="0.3 m" fills-within="{fills}" drains-within="3 h"/>
  <pump-model name="small"><point flow="0 m3/h" head="4.2 m" power="95 W"/><point flow="5 m3/h" head="3.2 m" power="125 W"/>
    <point flow="10 m3/h" head="0.6 m" power="140 W"/></pump-model>
  <pump id="P" in="S" model="small" check-valve="yes"/>
  <pipe-series name="stock"><size name="20" bore="17 mm" price-per-metre="1"/><size name="25" bore="21 mm" price-per-metre="2"/>
    <size name="32" bore="27 mm" price-per-metre="3"/><size name="40" bore="34 mm" price-per-metre="4"/></pipe-series>
  <pipe id="rise" from="P" to="H" length="8 m" size="40" series="stock" choose="yes"/>
  <tee id="H" elevation="1.2 m"/>
  <pipe id="feed" from="H" to="B" to-height="0.33 m" length="6 m" size="40" series="stock" choose="yes"><valve id="V" kind="ball"/></pipe>
  <pipe id="back" from="H" to="S" to-height="1.2 m" length="4 m" bore="17 mm"/>
  <standpipe id="O" in="B" bore="45 mm"><insert name="tall" lip="0.25 m"/><drain-hole diameter="8 mm" count="2"/></standpipe>
  <drain id="home" from="O" to="S" to-height="1 m" length="5 m" bore="45 mm"/>
  <arrangement name="day"/>
  {routine}
  <economy years="1" price-per-kwh="0"/>
  <limits velocity="3 m/s"/>
</layout>
"""
TIDE = '<routine name="tide" arrangement="day" lasts="30 h"><timer opens="V" every="300 min" for="100 min"/></routine>'


def beds_in_time():
    """Every choice by hand: a layout for each pair of sizes, its time to fill from `cycle`; the cheapest in time is what `pipes` must find."""
    with tempfile.TemporaryDirectory() as folder:
        name = os.path.join(folder, "bed.xml")

        def posed(routine=TIDE, fills="15 min", least="0.1 m"):
            open(name, "w", encoding="utf-8").write(BED.format(routine=routine, fills=fills, least=least))
            return name

        def fill_s(rise, feed):
            text = BED.format(routine=TIDE, fills="15 min", least="0.1 m")
            text = text.replace('length="8 m" size="40"', f'length="8 m" size="{rise}"').replace('length="6 m" size="40"', f'length="6 m" size="{feed}"')
            open(name, "w", encoding="utf-8").write(text)
            cycle = json.loads(run("cycle", name, "--until-repeats", "--format", "json").stdout)
            return cycle["routines"][0]["beds"][0]["fill_s"]

        price = {"20": 1, "25": 2, "32": 3, "40": 4}
        fills = {(rise, feed): fill_s(rise, feed) for rise in price for feed in price}
        in_time = {sizes: 8 * price[sizes[0]] + 6 * price[sizes[1]] for sizes, s in fills.items() if s is not None and s <= 900}
        check(0 < len(in_time) < len(fills), "some choices fill the bed in time, some do not", fills)

        said = json.loads(run("pipes", posed(), "--strict", "--format", "json").stdout)
        chosen = tuple(size["size"] for size in said["sizes"])
        check(chosen in in_time and said["chosen"]["pipes_cost"] == min(in_time.values()), "the cheapest that fills the bed in time", (chosen, in_time))
        check(said["rounds_for_times"] > 0 and all(bed["met"] for bed in said["beds"]), "more water was asked for it", said["beds"])
        check(not said["proven"] and said["lower_bound"] <= min(in_time.values()) + 1e-9, "and nothing is said to be proved of that", said["lower_bound"])
        loose = json.loads(run("pipes", posed(), "--no-routines", "--format", "json").stdout)
        check(loose["chosen"]["pipes_cost"] < said["chosen"]["pipes_cost"] and not loose["routines_followed"], "without it narrower ones would do")
        check(any(one["code"] == "times-not-followed" for one in loose["findings"]), "and that nobody looked is said", loose["findings"])
        hopeless = run("pipes", posed(fills="2 min"), "--strict")
        check(hopeless.returncode == 5 and "! B does not fill in" in hopeless.stdout and "wanted 2 min" in hopeless.stdout, "too late whatever the sizes", hopeless.stdout)
        still = run("pipes", posed(routine="", least="0.8 m"))
        check(still.returncode == 0 and "no routine that waters them" in still.stdout, "no routine to follow", still.stdout)
        check("! S stands" in still.stdout and "below its least depth" in still.stdout, "a sump below its least depth is told", still.stdout)


def interrupted():
    process = subprocess.Popen([PROGRAM, "pipes", HANOI, "--effort", "high", "--format", "json"], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8")
    under_way(process, 0.4)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    check(process.returncode == 130 and "interrupted" in err, "Ctrl-C ends with 130", (process.returncode, err))
    said = json.loads(out)
    check(said["interrupted"] and (said["chosen"]["life_cycle_cost"] > 6.0e6 if said["found"] else True), "with the best so far", said.get("chosen", {}).get("life_cycle_cost"))


for part in (two_loops, example, text, trade_off, table, cannot_be_met, nothing_to_choose, unpriced, one_arrangement, beds_in_time, interrupted):
    part()
count.end()
