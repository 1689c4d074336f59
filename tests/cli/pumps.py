"""`pumps` on the command line: what it writes as text, JSON, CSV, curves and a changed layout; exit statuses; names that are unknown; Ctrl-C.

Figures that `flows` gives too are held to `flows`, on the layout that `pumps` itself has written."""
import csv
import io
import json
import math
import os
import re
import signal
import subprocess
import tempfile

from _program import HERE, PROGRAM, Count, layout, run, under_way

count = Count()
check = count.check
LIFT = layout("lift")
EXAMPLES = os.path.join(HERE, "..", "..", "examples")


def answer(*arguments, status=0):
    done = run("pumps", *arguments, "--format", "json")
    check(done.returncode == status, f"pumps {arguments} ends with {status}", (done.returncode, done.stderr))
    return json.loads(done.stdout, parse_constant=lambda word: check(False, f"{word} is no JSON"))


def text():
    done = run("pumps", LIFT)
    check(done.returncode == 0 and done.stderr == "", "fine, and nothing on standard error", (done.returncode, done.stderr))
    lines = done.stdout.splitlines()
    check(lines[0] == "One lift" and lines[1].lstrip().startswith("P: "), "the sentence that matters comes first", lines[:2])
    for words in ("what it must do", "what would do it", "Rejected:", "weak: against no flow at all it lifts 1.90 m", "10 % of flow", "nothing is added here",
                  "0.31 EUR per kWh", "residual-current", "Suction", "licensed"):
        check(words in done.stdout, f"the text says '{words}'", done.stdout)
    check(max(map(len, lines)) <= 100, "the page fits 100 columns", max(lines, key=len))
    check(" ft" in run("pumps", LIFT, "--units", "us").stdout, "US units on request")


def ranking():
    pump = answer(LIFT)["pumps"][0]
    good = [c for c in pump["candidates"] if c["standing"] == "meets" and c["life_cycle_cost"] is not None]
    costs = [c["life_cycle_cost"] for c in good]
    check(len(good) >= 3 and costs == sorted(costs), "the cheapest over the years first", costs)
    standings = [c["standing"] for c in pump["candidates"]]
    check(standings == sorted(standings, key=["meets", "perhaps", "rejected"].index), "what meets, what perhaps does, what does not", standings)
    check([c["rank"] for c in pump["candidates"]] == list(range(1, len(standings) + 1)), "ranks count up")
    boxed = next(c for c in pump["candidates"] if c["model"] == "boxed")
    check(boxed["life_cycle_cost"] is None and boxed["energy_kwh_year"] is None, "what has no power has no cost", boxed["life_cycle_cost"])
    check(all("says" in c["reason"] and c["reason"]["says"] for c in pump["candidates"] if c["standing"] == "rejected"), "every rejection has its sentence")
    check(pump["as_it_is"]["model"] == "middling", "what stands there now is told too")
    weak = next(c for c in pump["candidates"] if c["model"] == "weak")
    check(weak["reason"]["code"] == "shut-off-too-low" and weak["reason"]["needed_head_m"] > 1.9, "how much head is short", weak["reason"])


def costs_add_up():
    """Recomputed from points, hours and price."""
    said = answer(LIFT, "--price-per-kwh", "0.5", "--years", "3", "--interest", "10 %")
    worth = (1 - 1.1**-3) / 0.1
    check(abs(said["costing"]["worth_of_a_year"] - worth) < 1e-12, "what a year is worth", said["costing"])
    hours = dict(zip(said["arrangements"], said["costing"]["hours_a_year"]))
    check(hours == {"day": 5200, "night": 3400}, "the hours of the layout, and only arrangements that have some", hours)
    prices = {"strong": 420, "middling": 260, "weak": 60}
    for c in said["pumps"][0]["candidates"]:
        if c["model"] not in prices:
            continue
        energy = sum(hours[p["arrangement"]] * p["power_w"] / 1000 for p in c["points"])
        total = prices[c["model"]] * c["count"] + worth * 0.5 * energy
        check(math.isclose(c["energy_kwh_year"], energy, rel_tol=1e-12) and math.isclose(c["life_cycle_cost"], total, rel_tol=1e-12),
              f"cost of {c['count']} x {c['model']}", (c["life_cycle_cost"], total))
        for p in c["points"]:                              # efficiency = rho g Q H / P, the density at 22 degC by IAPWS SR6-08
            water_power = 997.77 * 9.80665 * p["flow_m3_s"] * p["head_m"]
            check(math.isclose(p["efficiency"], water_power / p["power_w"], rel_tol=1e-5), "efficiency", p)


def beds_in_time():
    pump = answer(LIFT)["pumps"][0]
    winner = pump["candidates"][0]
    check(winner["routines_followed"] and winner["beds"] and all(b["met"] for b in winner["beds"]), "the winner keeps the times of the routine", winner["beds"])
    fill = next(b for b in winner["beds"] if b["quantity"] == "fill_s")
    check(fill["id"] == "B" and fill["wanted"] == 1200 and fill["routine"] == "tides", "the bed and its time", fill)
    check(not answer(LIFT, "--no-routines")["pumps"][0]["candidates"][0]["routines_followed"], "--no-routines leaves them")
    strong = next(c for c in pump["candidates"] if c["model"] == "strong" and c["count"] == 1 and c["speed_mode"] == "one-speed")
    check(strong["beds"][0]["got"] <= 1200 and strong["least_margin"] > 0.05, "the routine, not the targets at rest, sets its speed", strong["beds"])
    slower = [p["speed"] - 0.001 for p in strong["points"]][0]
    with tempfile.TemporaryDirectory() as folder:
        def changed(name, *changes):
            path = os.path.join(folder, name)
            with open(LIFT, encoding="utf-8") as source, open(path, "w", encoding="utf-8") as target:
                whole = source.read()
                for old, new in changes:
                    assert old in whole
                    whole = whole.replace(old, new)
                target.write(whole)
            return path

        # `cycle` on the farm with that pump, at its speed and a thousandth below: the first fills in time, the second does not
        for speed, in_time in ((strong["speed"], True), (slower, False)):
            path = changed("one.xml", ('model="middling" wear="5 %"', 'model="strong"'), ('<arrangement name="day"/>', f'<arrangement name="day"><run pump="P" speed="{100 * speed:.9g} %"/></arrangement>'))
            bed = json.loads(run("cycle", path, "--format", "json").stdout)["routines"][0]["beds"][0]
            check((bed["fill_s"] <= 1200) == in_time, f"at {speed} the bed fills in {bed['fill_s']} s", bed)
        fixed = next(c for c in pump["candidates"] if c["model"] == "middling")
        limit = fixed["beds"][0]["got"] * 0.99 if fixed["beds"] else None
        if limit is None:                                  # it was not among the leading ones: ask for it alone
            limit = answer(LIFT, "--candidate", "middling")["pumps"][0]["candidates"][0]["beds"][0]["got"] * 0.99
        other = answer(changed("hasty.xml", ('fills-within="20 min"', f'fills-within="{limit / 60:.9g} min"')), "--candidate", "middling")["pumps"][0]
        reason = other["candidates"][0]["reason"]
        check(reason["code"] == "fills-late" and reason["routine"] == "tides" and reason["target"]["about"] == "B",
              "a bed that fills a hundredth too late rejects a pump of one speed", reason)


def written():
    """The layout with the winner in: `flows` gives the points that `pumps` promised, and every comment is still there."""
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "chosen.xml")
        said = answer(LIFT, "--write", path)["pumps"][0]["candidates"][0]
        with open(path, encoding="utf-8") as file:
            new = file.read()
        with open(LIFT, encoding="utf-8") as file:
            old = file.read()
        check(re.findall("<!--.*?-->", new, re.S) == re.findall("<!--.*?-->", old, re.S), "comments are kept")
        check(f'model="{said["model"]}"' in new and "wear=" not in new, "the model is in, and a new pump is not worn", new)
        flows = {a["name"]: a for a in json.loads(run("flows", path, "--format", "json", "--strict").stdout)["arrangements"]}
        for point in said["points"]:
            pump = flows[point["arrangement"]]["pumps"][0]
            for key in ("flow_m3_s", "head_m", "power_w"):
                check(math.isclose(pump[key], point[key], rel_tol=1e-9), f"{point['arrangement']} {key}", (pump[key], point[key]))
        check(all(t["met"] for name in ("day", "night") for t in flows[name]["targets"] if t["asked"]), "every target is met in it")
        check(not flows["off"]["pumps"][0]["running"], "what rested rests")
        again = run("pumps", path, "--write", path)
        check(again.returncode == 2 and "--write" in again.stderr, "what was read is not replaced", again.stderr)
        none = os.path.join(folder, "none.xml")
        done = run("pumps", LIFT, "--candidate", "weak", "--write", none)
        check(not os.path.exists(none) and "no pump was chosen" in done.stderr, "without a winner nothing is written", done.stderr)


def curves():
    with tempfile.TemporaryDirectory() as folder:
        as_csv, as_json = os.path.join(folder, "c.csv"), os.path.join(folder, "c.json")
        pump = answer(LIFT, "--curves", as_csv)["pumps"][0]
        answer(LIFT, "--curves", as_json)
        with open(as_csv, encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        with open(as_json, encoding="utf-8") as file:
            drawn = json.load(file)["pumps"][0]
    system = {c["arrangement"]: c for c in drawn["system"]}
    check(set(system) == {"day", "night"}, "a system curve for each arrangement", list(system))
    for name, curve in system.items():
        told = [(float(r["flow_m3_s"]), float(r["head_m"])) for r in rows if r["curve"] == "system" and r["arrangement"] == name]
        check(told == list(zip(curve["flow_m3_s"], curve["head_m"])) and len(told) > 20, "CSV and JSON draw the same")
        check(all(a < b for a, b in zip(curve["head_m"], curve["head_m"][1:])), "by rising head")
        duty = next(d for d in pump["duties"] if d["arrangement"] == name)
        met = [m >= 0 for m in curve["margin"]]
        heads = [h for h, m in zip(curve["head_m"], met) if not m], [h for h, m in zip(curve["head_m"], met) if m]
        check(max(heads[0]) < duty["head_m"] <= min(heads[1]), "the margin changes sign at the duty", (duty, heads))

    def interpolate(curve, key, at, of):
        for a, b, x, y in zip(curve[key], curve[key][1:], curve[of], curve[of][1:]):
            if a <= at <= b:
                return x + (y - x) * (at - a) / (b - a)
        return None

    crossings = 0
    for c in pump["candidates"]:
        for p in c["points"]:
            on_system = interpolate(system[p["arrangement"]], "flow_m3_s", p["flow_m3_s"], "head_m")
            own = next(k for k in drawn["candidates"] if k["arrangement"] == p["arrangement"] and k["model"] == c["model"] and k["count"] == c["count"]
                       and k["speed_mode"] == c["speed_mode"])
            on_own = interpolate(own, "flow_m3_s", p["flow_m3_s"], "head_m")
            if on_system is None or on_own is None:
                continue
            crossings += 1
            check(abs(on_system - p["head_m"]) < 0.02 and abs(on_own - p["head_m"]) < 0.02, "they cross where the pump runs", (on_system, on_own, p["head_m"]))
    check(crossings >= 8, "enough of them cross in the drawing", crossings)


def names_and_numbers():
    for arguments, words in ((["--pump", "Q"], "pump 'Q'"), (["--candidate", "stron"], "'strong'"), (["--arrangement", "dya"], "'day'"),
                             (["--interest", "4"], "--interest"), (["--most", "0"], "--most"), (["--years", "-1"], "--years"),
                             (["--curves", "x.csv", "--output", "x.csv"], "same file")):
        done = run("pumps", LIFT, *arguments)
        check(done.returncode == 2 and done.stdout == "" and words in done.stderr, f"{arguments} ends with 2 and says {words}", (done.returncode, done.stderr))
    only = answer(LIFT, "--candidate", "middling", "--candidate", "strong", "--most", "1", "--arrangement", "night")
    check({c["model"] for c in only["pumps"][0]["candidates"]} == {"middling", "strong"} and only["arrangements"] == ["night"], "only what was asked for")
    check(max(c["count"] for c in only["pumps"][0]["candidates"]) == 1, "--most")


def strict_and_hopeless():
    check(run("pumps", LIFT, "--strict").returncode == 0, "--strict: a pump that does is fine")
    done = run("pumps", LIFT, "--candidate", "weak", "--strict")
    check(done.returncode == 5 and "none of 1 candidate will do" in done.stdout and "What is needed: " in done.stdout, "--strict: none does", done.stdout)
    check(run("pumps", LIFT, "--candidate", "weak").returncode == 0, "without --strict it is only said")
    with tempfile.TemporaryDirectory() as folder:
        narrow = os.path.join(folder, "narrow.xml")
        with open(LIFT, encoding="utf-8") as source, open(narrow, "w", encoding="utf-8") as target:
            target.write(source.read().replace('length="2.5 m" bore="70 mm"', 'length="2.5 m" bore="18 mm"').replace('turnover="45 min"', 'turnover="10 min"'))
        done = run("pumps", narrow, "--strict")
        check(done.returncode == 5 and "no pump will do" in done.stdout and "T runs over" in done.stdout and "the limit, not the pump" in done.stdout,
              "what no pump can do, and what is in the way", done.stdout)
        pump = answer(narrow)["pumps"][0]
        check(pump["duties"][0]["outcome"] == "unreachable" and pump["duties"][0]["obstacle"] == "spills" and pump["duties"][0]["obstacle_at"] == "T",
              "the same for a program", pump["duties"][0])


def standby():
    done = run("pumps", LIFT, "--standby")
    check("When one pump stops" in done.stdout and "no water for B and T" in done.stdout.replace("T and B", "B and T"), "who gets nothing is said", done.stdout)
    cases = answer(LIFT, "--standby")["standby"]
    check([c["with"] for c in cases] == ["as-it-is", "winners"], "as it is, and with the winner", [c["with"] for c in cases])
    day = cases[0]["failures"][0]
    check(day["still_run"] == 0 and set(day["without_water"]) == {"T", "B"} and {u["about"] for u in day["unmet"]} == {"T", "B"}, "of one pump nothing is left", day)


def table():
    rows = list(csv.DictReader(io.StringIO(run("pumps", LIFT, "--format", "csv").stdout)))
    said = answer(LIFT)["pumps"][0]
    check(set(rows[0]) == {"pump", "kind", "rank", "model", "count", "speed-mode", "arrangement", "quantity", "unit", "value"}, "the columns", rows[0])
    for c in said["candidates"]:
        mine = [r for r in rows if r["kind"] == "candidate" and r["rank"] == str(c["rank"])]
        cost = next(r["value"] for r in mine if r["quantity"] == "life-cycle-cost")
        check((cost == "" and c["life_cycle_cost"] is None) or float(cost) == c["life_cycle_cost"], "CSV says what the JSON says", (cost, c["life_cycle_cost"]))
    check(run("pumps", LIFT, "--format", "json").stdout == run("pumps", LIFT, "--format", "json").stdout, "the same every time")


def together():
    said = answer(os.path.join(EXAMPLES, "farm.xml"), "--no-routines", "--arrangement", "coupled", "--arrangement", "parted")
    check([p["id"] for p in said["pumps"]] == ["PF", "PP"], "both pumps of the farm, in turn")
    check(said["together"]["all_met"] and len(said["together"]["arrangements"]) == 2, "the winners hold together", said["together"])
    winners = [p["candidates"][0] for p in said["pumps"]]
    check(all(w["standing"] == "meets" for w in winners), "each has a winner")


def beside():
    """What the winners spoil in arrangements that do not count is what `flows` then says of the written file."""
    with tempfile.TemporaryDirectory() as folder:
        changed = os.path.join(folder, "farm.xml")
        said = answer(os.path.join(EXAMPLES, "farm.xml"), "--no-routines", "--arrangement", "coupled", "--write", changed)
        parted = [one for one in said["beside"] if one["arrangement"] == "parted"][0]
        flows = json.loads(subprocess.run([PROGRAM, "flows", changed, "--arrangement", "parted", "--format", "json"], stdout=subprocess.PIPE,
                                          encoding="utf-8").stdout)
    missed = {t["about"]: t["got"] for t in flows["arrangements"][0]["targets"] if not t["met"] and t.get("asked", True)}
    check(parted["missed"] and all(t["about"] in missed and abs(t["got"] - missed[t["about"]]) < 1e-9 for t in parted["missed"]),
          "newly missed as flows has it", (parted["missed"], missed))


def interrupted():
    process = subprocess.Popen([PROGRAM, "pumps", os.path.join(EXAMPLES, "farm.xml"), "--most", "6", "--standby"], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                               encoding="utf-8")
    under_way(process, 0.5)
    process.send_signal(signal.SIGINT)
    out, err = process.communicate(timeout=60)
    if process.returncode == 0:
        return                                             # it was quicker than the hand
    check(process.returncode in (130, -signal.SIGINT), "Ctrl-C ends with 130", (process.returncode, err))
    if process.returncode == 130:
        check("interrupted" in err and "Wrenfold" in out, "what was done is shown", (out[:200], err))
        check(out.splitlines()[1].startswith("! Stopped ") and "there is no candidate" not in out, "that it was stopped is said first", out[:200])


for test in (text, ranking, costs_add_up, beds_in_time, written, curves, names_and_numbers, strict_and_hopeless, standby, table, together, beside, interrupted):
    test()
count.end()
