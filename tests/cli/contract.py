"""The JSON contract: every thing of the layout is there, in the order of the file, with every key; numbers are numbers, the unknown is null.
CSV says the same figures. The keys are those of docs/commands.md: this script reads them from there, so that page and program agree."""
import csv
import io
import json
import math
import os
import pathlib
import re
import tempfile
import xml.etree.ElementTree as ET

from _program import HERE, Count, layout, run

count = Count()
check = count.check

# element of the layout -> list of the answer, and the keys that scripts may rely on (the contract; it only ever grows)
LISTS = {
    "vessels": (("tank", "sump", "trough", "bed", "tier", "vessel"),
                "id kind depth_m level_m volume_m3 inflow_m3_s outflow_m3_s turnover_s freeboard_m spill_m3_s spilled_m3"),
    "tees": (("tee",), "id head_m pressure_m air"),
    "pipes": (("pipe",), "id flow_m3_s velocity_m_s loss_m reynolds"),
    "drains": (("drain",), "id flow_m3_s velocity_m_s loss_m fill_ratio capacity_used"),
    "pumps": (("pump",), "id running flow_m3_s head_m power_w efficiency npsh_available_m npsh_required_m best_point_ratio"),
    "filters": (("filter",), "id flow_m3_s loss_m"),
    "nozzles": (("nozzle",), "id flow_m3_s head_m"),
    "standpipes": (("standpipe",), "id flow_m3_s depth_over_lip_m regime"),
    "siphons": (("siphon",), "id primed flow_m3_s"),
    "supplies": (("supply",), "id flow_m3_s"),
    "float_valves": (("float-valve",), "id flow_m3_s opening"),
    "ponds": (("pond",), "id flow_m3_s"),
}
ARRANGEMENT = "name state solved newton_steps worst_flow_imbalance_m3_s worst_head_error_m warnings targets sump_ledger"
NO_FLOW = 1e-12  # m3/s, a drop in half a day: at or below it nothing turns over (docs/commands.md)
STATES = {"settled", "given-levels", "cycles", "spills-until-dry", "no-solution"}


def strict_json(text):
    def refuse(word):
        raise ValueError(f"{word} is no JSON")
    return json.loads(text, parse_constant=refuse)


def numbers_in(value):
    if isinstance(value, dict):
        value = list(value.values())
    if isinstance(value, list):
        for item in value:
            yield from numbers_in(item)
    elif isinstance(value, float):
        yield value


def documented_keys():
    """The keys in the tables of docs/commands.md: rows that begin with | `key` |."""
    with open(os.path.join(HERE, "..", "..", "docs", "commands.md"), encoding="utf-8") as page:
        return set(re.findall(r"[`\"]([a-z0-9_]+)[`\"]", page.read()))


def all_keys(value):
    if isinstance(value, dict):
        for key, item in value.items():
            yield key
            yield from all_keys(item)
    elif isinstance(value, list):
        for item in value:
            yield from all_keys(item)


def judge_answer(name, answer, tree):
    where = f"{name}, {answer['name']}"
    for key in ARRANGEMENT.split():
        check(key in answer, f"{where}: has {key}")
    check(answer["state"] in STATES, f"{where}: state is one of the contract", answer["state"])
    check(answer["solved"] is (answer["state"] in ("settled", "given-levels")), f"{where}: solved agrees with the state")
    for group, (tags, keys) in LISTS.items():
        wanted = [e.get("id") for e in tree if e.tag in tags]
        check([e["id"] for e in answer[group]] == wanted, f"{where}: {group} holds every id in the order of the file", [e["id"] for e in answer[group]])
        for element in answer[group]:
            missing = set(keys.split()) - set(element)
            check(not missing, f"{where}: {group} {element['id']} has every key", missing)
    for pipe in answer["pipes"] + answer["drains"]:
        if pipe["shut"]:
            check(pipe["flow_m3_s"] == 0 and pipe["loss_m"] is None, f"{where}: the shut {pipe['id']} has flow 0 and loss null", pipe)
    for vessel in answer["vessels"]:
        if vessel["inflow_m3_s"] > NO_FLOW:
            expected = vessel["volume_m3"] / vessel["inflow_m3_s"]
            check(math.isclose(vessel["turnover_s"], expected, rel_tol=1e-12), f"{where}: turnover of {vessel['id']} is volume over inflow", vessel)
        else:
            check(vessel["turnover_s"] is None, f"{where}: {vessel['id']} without inflow has turnover null", vessel)
    for warning in answer["warnings"]:
        check(set(warning) >= {"code", "about", "says", "place"} and re.fullmatch(r"[a-z]+(-[a-z]+)*", warning["code"]), f"{where}: warnings are whole",
              warning)
    for target in answer["targets"]:
        check(re.fullmatch(r"(turnover_s|inflow_m3_s) (<=|>=) [0-9.e-]+", target["wants"]) and isinstance(target["met"], bool),
              f"{where}: targets are whole", target)


def flows_json(name):
    text = run("flows", layout(name), "--format", "json").stdout
    answer = strict_json(text)
    tree = ET.parse(layout(name)).getroot()
    check(re.fullmatch(r"\d+\.\d+\.\d+", answer["ebbwright"]) and answer["layout"] == tree.get("name"), f"{name}: says version and layout")
    check([a["name"] for a in answer["arrangements"]] == [e.get("name") for e in tree.findall("arrangement")] or not tree.findall("arrangement"),
          f"{name}: every arrangement, in order", [a["name"] for a in answer["arrangements"]])
    check(all(math.isfinite(x) for x in numbers_in(answer)), f"{name}: no number that is none")
    check(not re.search(r"[:,\[]-0(\.0*)?(e[+-]?\d+)?[,}\]]", text), f"{name}: no minus zero")
    for arrangement in answer["arrangements"]:
        judge_answer(name, arrangement, tree)
    for assumption in answer["assumptions"]:
        check(set(assumption) == {"about", "what", "value", "low", "high", "unit", "source", "count"}, f"{name}: assumptions are whole", assumption)
        check(assumption["source"] != "", f"{name}: an assumption names its source", assumption)
        if assumption["low"] is not None:
            check(assumption["low"] <= assumption["value"] <= assumption["high"], f"{name}: an assumption lies in its range", assumption)
    return answer


def what_must_be_so(answer):
    """Physics that needs no second program: what is shut is still, what is stopped takes nothing, a label gives a band."""
    arrangements = {a["name"]: a for a in answer["arrangements"]}
    still = arrangements["everything closed"]
    check(all(p["flow_m3_s"] == 0 for p in still["pipes"] if p["id"] in ("feed-T1", "feed-B1", "feed-N1", "feed-R1", "decant")),
          "behind shut valves the flow is exactly 0", still["pipes"])
    asked = {name: {t["about"]: t["asked"] for t in a["targets"]} for name, a in arrangements.items()}
    check(all(asked["all on"].values()), "with everything open every target is asked", asked["all on"])
    check(not asked["bed shut"]["B1"] and asked["bed shut"]["T1"] and asked["bed shut"]["R1"], "behind a shut valve a target is not asked", asked["bed shut"])
    check(not any(asked["power off"].values()) and not any(asked["everything closed"].values()), "without a pump or a way nothing is asked", asked)
    check(all(t["asked"] for a in answer["arrangements"] for t in a["targets"] if t["met"]), "what is met was asked")
    off = {p["id"]: p for p in arrangements["power off"]["pumps"]}
    check(not off["P1"]["running"] and off["P1"]["flow_m3_s"] == 0, "a stopped pump with a check valve moves nothing", off)
    on = {p["id"]: p for p in arrangements["all on"]["pumps"]}
    check(on["P2"]["from_label"] and on["P2"]["flow_m3_s_low"] <= on["P2"]["flow_m3_s"] <= on["P2"]["flow_m3_s_high"]
          and on["P2"]["flow_m3_s_low"] < on["P2"]["flow_m3_s_high"], "a pump known by its label has a band around its flow", on["P2"])
    check(not on["P1"]["from_label"] and on["P1"]["power_w"] > 0, "a pump with a curve has its power", on["P1"])
    slow = {p["id"]: p for p in arrangements["slow"]["pumps"]}
    check(slow["P1"]["power_w"] < on["P1"]["power_w"], "a slower pump takes less power", slow["P1"])
    dirty, clean = ({f["id"]: f for f in arrangements[n]["filters"]}["F1"] for n in ("dirty filter", "all on"))
    check(dirty["flow_m3_s"] < clean["flow_m3_s"] and dirty["load"] == 0.8, "a dirty filter passes less", (dirty, clean))
    at_once = arrangements["as drawn, at once"]
    check(at_once["state"] == "given-levels" and {v["id"]: v for v in at_once["vessels"]}["T1"]["depth_m"] == 0.9,
          "levels=\"start\" is solved at the start depths", at_once["state"])
    ledger = arrangements["all on"]["sump_ledger"]
    check([entry["id"] for entry in ledger] == ["S1"], "the sump has its ledger", ledger)


def out_of_reach():
    """A tank raised beyond the pump's shut-off head is asked for, missed, and told by how much: all from the layout's own numbers."""
    with open(layout("courtyard"), encoding="utf-8") as file:
        text = file.read().replace('<tank   id="T1" floor="0 m" rim="1.1 m"', '<tank   id="T1" floor="6 m" rim="7.1 m"')
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "high.xml")
        with open(path, "w", encoding="utf-8") as file:
            file.write(text)
        process = run("flows", path, "--arrangement", "all on", "--format", "json")
        strictly = run("flows", path, "--arrangement", "all on", "--strict")
    high = strict_json(process.stdout)["arrangements"][0]
    target = next(t for t in high["targets"] if t["about"] == "T1")
    check(target["asked"] and not target["met"] and strictly.returncode == 5, "a tank out of reach is a target missed", (target, strictly.returncode))
    says = [w["says"] for w in high["warnings"] if w["code"] == "out-of-reach" and w["about"] == "T1"]
    head = next(t for t in high["tees"] if t["id"] == "J1")["head_m"]
    more = 1000 * (6 + 1.05 - head)  # the feed ends 1.05 m above the floor, which now stands at 6 m
    check(len(says) == 1 and "7.050 m" in says[0] and f"{head:.3f} m" in says[0] and f"{more:.0f} mm" in says[0], "it is told by how much", (says, head))


def flows_csv(name, answer):
    rows = list(csv.DictReader(io.StringIO(run("flows", layout(name), "--format", "csv").stdout)))
    check(rows and set(rows[0]) == {"arrangement", "kind", "id", "quantity", "unit", "value"}, f"{name}: CSV has its six columns")
    table = {(r["arrangement"], r["id"], r["quantity"]): r["value"] for r in rows if r["kind"] not in ("warning", "target", "sump-ledger")}
    for arrangement in answer["arrangements"]:
        check(table[(arrangement["name"], "", "state")] == arrangement["state"], f"{name}: CSV says the state")
        for group in ("vessels", "pipes", "drains", "pumps", "nozzles", "filters", "standpipes", "siphons", "float_valves"):
            for element in arrangement[group]:
                for key, quantity in (("flow_m3_s", "flow"), ("depth_m", "depth"), ("turnover_s", "turnover"), ("head_m", "head"), ("loss_m", "loss")):
                    if key in element and (arrangement["name"], element["id"], quantity) in table:
                        text = table[(arrangement["name"], element["id"], quantity)]
                        check((float(text) if text else None) == element[key], f"{name}: CSV and JSON agree on {quantity} of {element['id']}", text)


def check_json(name):
    answer = strict_json(run("check", layout(name), "--format", "json").stdout)
    check(set(answer) == {"ebbwright", "layout", "problems", "fine", "levels"}, f"{name}: check has its keys", set(answer))
    check(all(p["severity"] in ("trouble", "doubt") for p in answer["problems"]), f"{name}: a good file has no errors", answer["problems"])
    heights = [line["elevation_m"] for line in answer["levels"]]
    check(heights == sorted(heights, reverse=True) and len(heights) > 3, f"{name}: levels come from the top down", heights)
    rows = list(csv.DictReader(io.StringIO(run("check", layout(name), "--format", "csv").stdout)))
    check([r["code"] for r in rows] == [p["code"] for p in answer["problems"]], f"{name}: check says the same in CSV", rows)
    return answer


def fine_where_it_is():
    """What runs over is not told to stand well below its rim."""
    with tempfile.TemporaryDirectory() as folder:
        file = pathlib.Path(folder) / "no_way_out.xml"
        sump = '<sump id="S" floor="-0.8 m" rim="0.1 m" length="1.5 m" width="1.2 m" start-depth="0.6 m" least-depth="0.2 m"/>'
        pump = '<pump-model name="p"><point flow="0 m3/h" head="4 m"/><point flow="4 m3/h" head="1 m"/></pump-model><pump id="P" in="S" model="p"/>'
        pipe = '<pipe id="F" from="P" to="T" to-height="0.95 m" length="4 m" size="32 mm" series="pvc-pn16"/>'
        tank = '<tank id="T" floor="0.1 m" rim="1.1 m" diameter="1.5 m" start-depth="0.8 m"/>'
        home = '<standpipe id="O" in="T" bore="68 mm"><insert name="only" lip="0.8 m"/></standpipe>' \
               '<drain id="D" from="O" to="S" to-height="0.85 m" length="2 m" size="75 mm" series="pvc-pn10"/>'
        for way_out, runs_over in ((home, False), ("", True)):
            file.write_text(f"<layout>{sump}{pump}{pipe}{tank}{way_out}</layout>")
            answer = strict_json(run("check", file, "--format", "json").stdout)
            check(("spills-until-dry" in {p["code"] for p in answer["problems"]}) == runs_over, "a tank without a way out runs over", answer["problems"])
            check(any("below its rim" in said for said in answer["fine"]) != runs_over, "only what does not run over stands below its rim", answer["fine"])


def catalogue():
    answer = strict_json(run("catalogue", layout("courtyard"), "--format", "json").stdout)
    for group in ("pipe_series", "fittings", "ports", "valves", "pump_models"):
        check(len(answer[group]) > 0, f"the catalogue lists {group}")
    for series in answer["pipe_series"]:
        for size in series["sizes"]:
            check(math.isclose(size["bore_m"], size["outside_m"] - 2 * size["wall_m"], abs_tol=2e-5), f"{series['name']} {size['name']}: bore = outside - 2 walls",
                  size)
    models = {m["name"]: m for m in answer["pump_models"]}
    check(models["by its label"]["from_label"] and not models["steady"]["from_label"], "pump models of a file are listed", models)
    check(math.isclose(models["steady"]["curve"][0]["head_m"], 5.2), "a pump model begins at its head without flow", models["steady"])
    rows = list(csv.DictReader(io.StringIO(run("catalogue", "--format", "csv").stdout)))
    check({r["kind"] for r in rows} >= {"pipe-series", "pipe-size", "fitting", "port", "valve"}, "the catalogue as CSV", {r["kind"] for r in rows})
    with tempfile.TemporaryDirectory() as folder:
        priced = pathlib.Path(folder) / "priced.xml"
        priced.write_text('<catalogue><prices series="pvc-pn16"><size name="32 mm" price-per-metre="1.75"/></prices></catalogue>')
        of = [s for s in strict_json(run("catalogue", priced, "--format", "json").stdout)["pipe_series"] if s["name"] == "pvc-pn16"]
        check(len(of) == 1 and {s["name"]: s["price_per_metre"] for s in of[0]["sizes"]}["32 mm"] == 1.75, "the catalogue shows a price once", of)
        fast = pathlib.Path(folder) / "fast.xml"  # 1 m of head in 20 m of pipe: near 1.1 m/s
        for limits, said in (('<limits velocity="0.5 m/s"/>', "is the layout's limit"), ("", "")):
            fast.write_text('<layout><pond id="A" level="1 m"/><pond id="B" level="0 m"/>'
                            f'<pipe id="P" from="A" to="B" length="20 m" bore="27.2 mm"/>{limits}</layout>')
            text = run("flows", fast).stdout
            check(("not above 0.50 m/s is the layout's limit" in text) == bool(limits) and "m/s is common practice" not in text,
                  "a velocity is held to the limits of the layout", text)
    text = run("catalogue", layout("courtyard"))
    check(text.returncode == 0 and "steady" in text.stdout, "the catalogue as text names the pumps of the file", text.stderr)


answers = {name: flows_json(name) for name in ("courtyard", "siphon", "missed")}
what_must_be_so(answers["courtyard"])
out_of_reach()
fine_where_it_is()
check(answers["siphon"]["arrangements"][0]["state"] == "cycles", "a bed fed steadily within the siphon's window cycles", answers["siphon"]["arrangements"][0]["state"])
for layout_name, whole in answers.items():
    flows_csv(layout_name, whole)
    check_json(layout_name)
    undocumented = set(all_keys(whole)) - documented_keys()
    check(not undocumented, f"{layout_name}: docs/commands.md names every key", undocumented)
catalogue()
count.end()
