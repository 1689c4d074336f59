"""`report` as a command: what stands in its page is what the other commands say, and what the layout says counted by other code; a page that cannot
be made leaves the old one. tests/browser opens the pages."""
import base64
import csv
import hashlib
import html
import json
import os
import re
import signal
import subprocess
import tempfile
import xml.etree.ElementTree as tree

from _program import HERE, LAYOUTS, PROGRAM, Count, run, under_way

ROOT = os.path.abspath(os.path.join(HERE, "..", ".."))
EXAMPLES = os.path.join(ROOT, "examples")
FARM = os.path.join(EXAMPLES, "farm.xml")
count = Count()
folder = tempfile.mkdtemp(prefix="ebbwright-report-")


def page_of(layout, *arguments):
    """The page of a layout; what went wrong is counted."""
    file = os.path.join(folder, "page.html")
    ended = run("report", layout, "-o", file, *arguments)
    count.check(ended.returncode == 0, f"report {os.path.basename(layout)} {' '.join(arguments)} ends well", ended.stderr)
    with open(file, encoding="utf-8") as stream:
        return stream.read()


def data_of(page):
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', page, re.S).group(1))


def rows_of(page, caption):
    """The cells of the first table with this caption."""
    for table in re.findall(r"<table.*?</table>", page, re.S):
        if html.unescape(re.search(r"<caption[^>]*>(.*?)</caption>", table, re.S).group(1)) == caption:
            return [[html.unescape(re.sub(r"<[^>]+>", "", cell)).strip() for cell in re.findall(r"<t[hd][^>]*>(.*?)</t[hd]>", row, re.S)]
                    for row in re.findall(r"<tr.*?</tr>", table.split("<tbody>")[1], re.S)]
    count.check(False, f"there is a table '{caption}'")
    return []


def near(one, other, share=1e-6, little=1e-12):
    return (one is None) == (other is None) and (one is None or abs(one - other) <= max(little, share * max(abs(one), abs(other))))


# ---- the farm: as the other commands say it
farm = page_of(FARM)
count.check(farm == page_of(FARM), "the same layout gives the same page, byte for byte")
policy = re.search(r'Content-Security-Policy" content="([^"]+)"', farm).group(1)
for kind, pattern in (("style", r"<style>(.*?)</style>"), ("script", r"<script>(.*?)</script>")):
    for text in re.findall(pattern, farm, re.S):
        sum_ = base64.b64encode(hashlib.sha256(text.encode()).digest()).decode()
        count.check(f"'sha256-{sum_}'" in policy.split(f"{kind}-src")[1].split(";")[0], f"the policy names the sum of each {kind}", policy)
count.check("unsafe" not in policy and "default-src 'none'" in policy, "the policy lets nothing else in", policy)
count.check(not re.search(r"\son\w+=|\sstyle=|javascript:|https?://(?!www\.w3\.org/2000/svg)", farm.split("</head>")[1].split('id="data"')[0]), "no handler, style, or address stands in the page")
count.check(len(farm.encode()) < 1.5e6, "the farm's page is below 1.5 MB", len(farm.encode()))

data = data_of(farm)
layout = tree.parse(FARM).getroot()
pipes = [one.get("id") for one in layout.iter() if one.tag in ("pipe", "drain")]  # in the order of the file, as everywhere
flows = json.loads(run("flows", FARM, "--format", "json").stdout)
for shown, solved in zip(data["arrangements"], flows["arrangements"]):
    state = shown["state"]
    right = shown["name"] == solved["name"]
    if solved["state"] != "no-solution":
        for key, things, name in (("depth", "vessels", "depth_m"), ("inflow", "vessels", "inflow_m3_s"), ("turnover", "vessels", "turnover_s"), ("tee", "tees", "head_m")):
            right = right and all(near(one, other[name]) for one, other in zip(state[key], solved[things]))
        by_id = {one["id"]: one["flow_m3_s"] for one in solved["pipes"] + solved["drains"]}
        right = right and all(near(one, by_id[name]) for one, name in zip(state["flow"], pipes))
        right = right and all(near(one, other["flow_m3_s"] if other["running"] else None) for one, other in zip(state["pumpFlow"], solved["pumps"]))
    count.check(right, f"the figures of '{solved['name']}' in the page are those of flows")
count.check(len(data["arrangements"]) == len(flows["arrangements"]), "every arrangement is in the page")

# the combinations of the six beds, against the survey, which solves them eight at a time by other code
beds = page_of(FARM, "--switch", "VB1 VB2 VB3 VB4 VB5 VB6")
data = data_of(beds)
count.check(len(data["held"]) == 64, "all 64 combinations of six beds are held", len(data["held"]))
count.check(len(beds.encode()) < 1.5e6, "the page with them is below 1.5 MB", len(beds.encode()))
each = os.path.join(folder, "each.csv")
run("survey", FARM, "--switch", "VB1 VB2 VB3 VB4 VB5 VB6", "--each", each)
with open(each, encoding="utf-8") as stream:
    survey = {tuple(s for s in range(6) if f"VB{s + 1}" in row["off"].split()): row for row in csv.DictReader(stream)}
vessels = [one["id"] for one in data["things"]["vessels"]]
worst = 0.0
for held in data["held"]:
    row = survey[tuple(held["off"])]
    for v, name in enumerate(vessels):
        worst = max(worst, abs(held["state"]["inflow"][v] - float(row[name + "_inflow_m3_s"])))
count.check(len(survey) == 64 and 0.0 < worst < 1e-8, "the inflows of all combinations are those of survey --each, to 0.6 ml/min", worst)

# ---- counted from the layout by other code
lengths = {}
for pipe in layout.iter():
    if pipe.tag in ("pipe", "drain") and pipe.get("size"):
        key = f"{pipe.get('size')} {pipe.get('series')}"
        lengths[key] = lengths.get(key, 0.0) + float(pipe.get("length").split()[0])
bill = {row[0]: row for row in rows_of(farm, "Pipe")}
count.check(set(bill) == set(lengths), "the bill has every size of pipe", sorted(bill))
for key, length in lengths.items():
    count.check(near(float(bill[key][2].split()[0]), length, 0.006), f"the bill has the length of {key}", (bill[key], length))
fittings = sum(int(one.get("count", "1")) for one in layout.iter("fitting"))
count.check(sum(int(row[2]) for row in rows_of(farm, "Fittings")) == fittings, "the bill has every fitting", fittings)
count.check(sum(int(row[2]) for row in rows_of(farm, "Valves")) == sum(1 for _ in layout.iter("valve")), "the bill has every valve")
falls = {row[0]: row for row in rows_of(farm, "Falls of the drains")}
# home-fish-1: 110 mm, 3 m from DT1 at 0.13 m to 0.95 m above the floor of FS at -0.90 m: 80 mm in 3 m
count.check(falls["home-fish-1"][5] == "80 mm" and falls["home-fish-1"][6] == "27", "the fall of a drain", falls["home-fish-1"])
for row in rows_of(farm, "A bucket at each outlet"):
    flow, bucket, seconds = float(row[1].split()[0]), float(row[2].split()[0]), float(row[3])
    count.check(abs(bucket / flow * 60.0 - seconds) < 0.51 + 0.01 * seconds and seconds >= 10.0, f"the seconds of {row[0]} are volume over flow", row)
# a raft of 0.40 m of water weighs 400 kg/m2; clay pebble 720 and gravel 1760 kg/m3 dry in 0.31 m, 0.42 of it water, 0.04 m of water above
loads = {row[0]: row for row in rows_of(farm, "What flooded vessels weigh on what they stand on")}
count.check(loads["R1"][2] == "400 kg/m2", "what a raft weighs", loads["R1"])
light, heavy = (1000 * (0.42 * 0.31 + 0.04) + dry * 0.31 for dry in (720, 1760))
count.check(loads["B1"][2] == f"{light:.0f} kg/m2 to {heavy:.0f} kg/m2", "what a bed weighs", loads["B1"])
count.check("FV ends 50 mm above the rim of PS; wanted at least 26 mm" in farm, "the air gap of the float valve, and what two bores of 13 mm ask")

# ---- what is asked besides
count.check('id="diagnosis"' not in farm, "without readings there is no diagnosis")
diagnosed = page_of(FARM, "--arrangement", "coupled", "--readings", os.path.join(EXAMPLES, "farm_readings.xml"))
first = json.loads(run("diagnose", FARM, os.path.join(EXAMPLES, "farm_readings.xml"), "--format", "json").stdout)
count.check('id="diagnosis"' in diagnosed, "with readings there is one")
count.check(f'{100 * first["explanations"][0]["probability"]:.0f} %' in diagnosed.split('id="diagnosis"')[1].split("</section>")[0], "and it says how likely the first explanation is")
sizing = page_of(os.path.join(EXAMPLES, "sizing.xml"), "--whole")
count.check("Cost over the years against what the worst target has to spare" in sizing, "with --whole there is the trade-off of sizes")
count.check("marked to be chosen" in page_of(os.path.join(EXAMPLES, "sizing.xml")), "without it the page says how to get it")
us = page_of(os.path.join(EXAMPLES, "farm_us.xml"))
count.check("gpm" in us and "l/min" not in us.split('id="data"')[0].split("<main")[1], "US units everywhere where they are asked for")

# ---- every layout there is gives a page
for where in (LAYOUTS, os.path.join(ROOT, "tests", "reference", "layouts"), os.path.join(ROOT, "tests", "reference", "worked"), os.path.join(ROOT, "tests", "netfiles", "good")):
    for name in sorted(name for name in os.listdir(where) if name.endswith(".xml")):
        file = os.path.join(folder, "one.html")
        ended = run("report", os.path.join(where, name), "-o", file)
        if ended.returncode == 3:  # wrong on purpose, or a catalogue
            continue
        count.check(ended.returncode in (0, 4), f"report {name} ends well", ended.stderr)
        with open(file, encoding="utf-8") as stream:
            page = stream.read()
        os.remove(file)
        body = re.sub(r"<script.*?</script>|<style.*?</style>", "", page, flags=re.S)
        count.check(page.endswith("</html>\n") and not re.search(r"\bnan\b|\binf\b|NaN|undefined", body), f"the page of {name} is whole and has no figure that is none",
                    re.findall(r".{30}(?:\bnan\b|\binf\b|NaN|undefined).{30}", body)[:3])

# ---- what cannot be
old = os.path.join(folder, "old.html")


def refused(status, says, *arguments):
    with open(old, "w", encoding="utf-8") as stream:
        stream.write("as it was")
    ended = run("report", *arguments, "-o", old)
    with open(old, encoding="utf-8") as stream:
        kept = stream.read() == "as it was"
    count.check(ended.returncode == status and re.search(says, ended.stderr) and kept, f"report {' '.join(arguments[1:])}: refused with {status}, the old file kept", ended.stderr)


refused(2, "a page to look at", FARM, "--format", "json")
refused(2, "VB1", FARM, "--switch", "VBI")
refused(2, "coupled", FARM, "--arrangement", "cupled")
refused(3, "wrong.xml", os.path.join(LAYOUTS, "wrong.xml"))
refused(3, "nowhere", FARM, "--readings", "nowhere.xml")
ended = run("report", FARM, "-o", FARM)
count.check(ended.returncode == 2 and "replace" in ended.stderr, "a layout is never replaced by its page", ended.stderr)
with open(old, "w", encoding="utf-8") as stream:
    stream.write("as it was")
slow = subprocess.Popen([PROGRAM, "report", FARM, "--readings", os.path.join(EXAMPLES, "farm_readings.xml"), "-o", old], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, encoding="utf-8")
under_way(slow, 0.5)
slow.send_signal(signal.SIGINT)
said = slow.communicate(timeout=60)[1]
with open(old, encoding="utf-8") as stream:
    count.check(slow.returncode == 130 and stream.read() == "as it was" and len(os.listdir(folder)) == 3, "Ctrl-C leaves the old page, and nothing beside it", (slow.returncode, said, os.listdir(folder)))
count.end()
