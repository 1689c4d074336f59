"""What goes wrong in the combinations of `survey`, thing by thing, against the warnings of `flows` for each combination written out: which vessel runs
over, which pump draws air, where water hangs and where a line breaks. The worst come first, and what is put together of parts says the same."""
import csv
import io
import json
import os
import tempfile

from _program import Count, run

count = Count()
check = count.check
folder = tempfile.TemporaryDirectory()

# A pond over a hill of 12 m and one of 2 m to a tank without an outlet but a valve; a pump that empties its own small sump.
FARM = """<layout name="Hills">
  <pond id="UP" level="2 m"/> <pond id="DOWN" level="-2 m"/>
  <tank id="T" floor="0 m" rim="1.2 m" diameter="1 m" start-depth="0.8 m" inflow="90 l/min"/>
  <tank id="C" floor="-1 m" rim="1 m" diameter="0.6 m" start-depth="0.5 m" least-depth="0.3 m"/>
  <tee id="HIGH" elevation="12 m"/> <tee id="LOW" elevation="3 m"/>
  <pipe id="in-1" from="UP" to="HIGH" length="20 m" bore="28 mm"><valve id="VH" kind="ball"/></pipe>
  <pipe id="in-2" from="HIGH" to="T" to-height="0.4 m" length="20 m" bore="28 mm"/>
  <pipe id="in-3" from="UP" to="LOW" length="9 m" bore="28 mm"><valve id="VL" kind="ball"/></pipe>
  <pipe id="in-4" from="LOW" to="T" to-height="0.4 m" length="9 m" bore="28 mm"/>
  <pipe id="out" from="T" from-height="0.2 m" to="DOWN" length="3 m" bore="50 mm"><valve id="VO" kind="ball"/></pipe>
  <pump-model name="m"><point flow="0 l/min" head="5 m"/><point flow="40 l/min" head="4 m"/><point flow="80 l/min" head="1 m"/></pump-model>
  <pump id="P" in="C" intake-height="0.1 m" model="m" check-valve="yes"/>
  <pipe id="up" from="P" to="UP" length="5 m" bore="28 mm"/>
  <pipe id="trickle" from="UP" to="C" to-height="1.5 m" length="5 m" bore="28 mm"><valve id="VC" kind="ball"/></pipe>
  %s
</layout>"""
SWITCHES = ["VH", "VL", "VO", "VC"]
CODES = {"spills": "spills", "spilled-on-the-way": "spills", "intake-bare": "intake-bare", "beyond-curve": "beyond-curve",
         "pump-against-shut": "against-shut", "below-least-depth": "below-least-depth", "below-vapour": "below-vapour", "under-vacuum": "under-vacuum"}


def write(name, text):
    with open(os.path.join(folder.name, name), "w", encoding="utf-8") as file:
        file.write(text)
    return os.path.join(folder.name, name)


def answers():
    lines = ['<arrangement name="all"/>']
    for number in range(2 ** len(SWITCHES)):
        shut = "".join(f'<close valve="{name}"/>' for bit, name in enumerate(SWITCHES) if number >> bit & 1)
        lines.append(f'<arrangement name="c{number}">{shut}</arrangement>')
    done = run("flows", write("written.xml", FARM % "".join(lines)), "--format", "json")
    return json.loads(done.stdout)["arrangements"][1:], done


flows, done = answers()
check(len(flows) == 16, "flows answers for every combination", done.stderr)
wrong = [{(CODES[w["code"]], w["about"]) for w in answer["warnings"] if w["code"] in CODES} for answer in flows]
for code in ("spills", "intake-bare", "below-least-depth", "below-vapour", "under-vacuum"):
    check(0 < sum(any(c == code for c, _ in row) for row in wrong) < 16, f"{code} is in some of the combinations", wrong)

farm = write("farm.xml", FARM % "")
base = ["survey", farm, "--switch", " ".join(SWITCHES)]
whole = run(*base, "--format", "json", "--worst", "16")
survey = json.loads(whole.stdout)["survey"]
for code in set(CODES.values()):
    rows = [i for i, row in enumerate(wrong) if any(c == code for c, _ in row)]
    said = survey["alarms"][code]
    check(said["combinations"] == len(rows) and (said["first"] or {"number": -1})["number"] == (rows[0] if rows else -1), f"alarm {code}", said)
for kind in ("vessels", "pumps", "tees"):
    for thing in survey[kind]:
        for code, said in thing["alarms"].items():
            rows = [i for i, row in enumerate(wrong) if (code, thing["id"]) in row]
            check(said["combinations"] == len(rows), f"{code} of {thing['id']} in {len(rows)} combinations", said)
            check((said["first"] or {"number": -1})["number"] == (rows[0] if rows else -1), f"first {code} of {thing['id']}", said)

table = list(csv.DictReader(io.StringIO(run(*base, "--format", "csv").stdout)))
for number, row in enumerate(table):
    check({tuple(word.split(":")) for word in row["alarms"].split()} == wrong[number], f"row {number} names its alarms", (row["alarms"], wrong[number]))

GRAVE = ("spills", "intake-bare", "below-vapour")
troubles = [len({pair for pair in row if pair[0] in GRAVE}) for row in wrong]
missed = [sum(1 for target in answer["targets"] if target["asked"] and not target["met"]) for answer in flows]
order = [(-one["runs_dry"], -one["troubles"], -one["targets_missed"]) for one in survey["worst"]]
check(order == sorted(order) and order[0][1] < 0, "the worst come first: what is in trouble before what only misses a target", order)
for one in survey["worst"]:
    number = one["combination"]["number"]
    check((one["troubles"], one["targets_missed"]) == (troubles[number], missed[number]), f"troubles and targets of {number}", one)
fine = sum(1 for i in range(16) if not troubles[i] and not missed[i] and flows[i]["state"] == "settled")
check(survey["all_targets_met"] == fine, f"all is well in {fine} combinations", survey["all_targets_met"])
check(len(survey["worst"]) == 16 - fine, "what is not well is among the worst")

parts = [os.path.join(folder.name, f"part{k}.json") for k in (1, 2, 3)]
for k, name in enumerate(parts, 1):
    run(*base, "--worst", "16", "--part", f"{k}/3", "--output", name)
check(run("survey", "--merge", *parts, "--format", "json").stdout == whole.stdout, "parts put together say the same")

text = run(*base).stdout
check(whole.returncode == 0 and "not to be trusted" not in text, "what is solved once more agrees", whole.stderr)
for words in ("T runs over its rim", "P draws air in", "C stands below its least depth", "the water at HIGH would hang lower", "the water at LOW hangs"):
    check(words in " ".join(text.split()), f"the text says: {words}", text)
check(all(len(line) <= 100 for line in text.splitlines()), "no line is wider than 100 columns")
count.end()
