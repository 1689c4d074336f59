#!/usr/bin/python3
"""`balance`, the whole program: what it writes is solved again by `flows`, and held to hand calculation, to the openings a hand had chosen, and to
forty random farms.

Formulas of the hand calculation: Darcy-Weisbach with Colebrook-White (Colebrook, Journal of the Institution of Civil Engineers 11, 1939), local
losses K v2/2g; IAPWS values of water at 20 degC: 998.2 kg/m3 and 1.0016 mPa s (from memory; the layout's own water is within 1e-4 of it).
"""
import json
import math
import os
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _program import PROGRAM, Count, run  # noqa: E402

EXAMPLES = os.path.join(os.environ["EBB_SOURCE_DIR"], "examples")
FARM, FIRST = os.path.join(EXAMPLES, "farm.xml"), os.path.join(EXAMPLES, "first.xml")
G, LITRE_PER_MIN = 9.80665, 1 / 60000
count = Count()
check = count.check
folder = tempfile.TemporaryDirectory()


def path_of(name):
    return os.path.join(folder.name, name)


def write(name, text):
    with open(path_of(name), "w", encoding="utf-8") as file:
        file.write(text)
    return path_of(name)


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


def balance(path, *options):
    done = run("balance", path, "--format", "json", *options)
    check(done.returncode == 0, f"balance {options} ends with 0", (done.returncode, done.stderr))
    return json.loads(done.stdout)["balance"] if done.stdout else None


def flows(path, arrangement):
    done = run("flows", path, "--format", "json", "--arrangement", arrangement)
    check(done.returncode == 0, f"flows reads what balance wrote ({arrangement})", done.stderr)
    return json.loads(done.stdout)["arrangements"][0]


def written_meets(answer, path, arrangement, within=1e-6):
    """The outlets aimed at, solved anew by `flows` from the file written, against what was wanted."""
    solved = {v["id"]: v for v in flows(path, arrangement)["vessels"]}
    worst = 0.0
    for one in answer["arrangements"]:
        for outlet in one["outlets"] if one["name"] == arrangement else []:
            if outlet["aimed_at"]:
                worst = max(worst, abs(solved[outlet["id"]]["inflow_m3_s"] / outlet["wanted_m3_s"] - 1))
    check(worst <= within, f"{os.path.basename(path)}, {arrangement}: flows gives each target within {within}", worst)


# ------------------------------------------------------------------------------------------ the farm of the examples

def farm_is_balanced():
    wrote = path_of("set.xml")
    answer = balance(FARM, "--arrangement", "coupled", "--write", wrote, "--strict")
    check(answer["outcome"] == "balanced" and len(answer["valves"]) == 16, "sixteen valves, all targets met", answer["outcome"])
    written_meets(answer, wrote, "coupled")
    got = flows(wrote, "coupled")
    check(all(t["met"] for t in got["targets"]), "flows itself says every target is met", got["targets"])
    # what the hand had set gave more than was asked; now nothing is above its target, and the pumps move less
    check(all(o["before_m3_s"] > o["got_m3_s"] for o in answer["arrangements"][0]["outlets"]), "the hand had given every outlet more than it wants")
    lines = read(wrote)
    check("<!-- Six media beds, in pairs along the header." in lines, "comments are kept")
    check(len(re.findall(r"<throttle ", lines)) >= 16 and 'name="seedlings only"' in lines, "arrangements are kept")


def hand_setting_comes_back():
    """The flows the hand's openings give, asked for as targets, are given by those openings: with as many valves as outlets there are no others."""
    before = {v["id"]: v["inflow_m3_s"] for v in flows(FARM, "coupled")["vessels"]}
    ids = [f"T{i}" for i in range(1, 5)] + [f"B{i}" for i in range(1, 7)] + ["R1", "R2"] + [f"N{i}" for i in range(1, 5)]
    options = [word for i in ids for word in ("--target", f"{i}={before[i] / LITRE_PER_MIN!r} l/min")]
    answer = balance(FARM, "--arrangement", "coupled", *options)
    check(answer["outcome"] == "balanced", "the hand's flows are found again", answer["outcome"])
    for valve in answer["valves"]:
        was, now = valve["arrangements"][0]["opening_before"], valve["opening"]
        # a valve almost open changes nothing: 1e-6 of its flow is all its last travel does
        check(abs(now - was) < (2e-6 if was < 1 else 2e-2), f"{valve['id']} stands where the hand had set it", (was, now))


def steps_and_buckets():
    answer = balance(FARM, "--arrangement", "coupled", "--bucket", "20 l")
    outlets = {o["id"]: o for o in answer["arrangements"][0]["outlets"]}
    check(all(abs(o["bucket_s"] - 0.020 / o["got_m3_s"]) < 1e-9 * o["bucket_s"] for o in outlets.values()), "a bucket over a flow is its time")
    check(all(abs(o["bucket_least_s"] * 1.1 - o["bucket_s"]) < 1e-9 * o["bucket_s"] for o in outlets.values()), "a tenth more flow passes")
    last = answer["steps"][-1]
    check(abs(last["outlet_flow_m3_s"] / outlets[last["outlet"]]["got_m3_s"] - 1) < 1e-6, "after the last step the outlet gives what is said", last)
    check(len({s["valve"] for s in answer["steps"]}) == len(answer["steps"]) == sum(not v["fully_open"] for v in answer["valves"]),
          "each valve that throttles is set once")
    # the first step by `flows`: every valve but the first one open
    first, setting = answer["steps"][0]["valve"], {v["id"]: v["opening"] for v in answer["valves"]}
    lines = "".join(f'<open valve="{v}"/>' if v != first else f'<throttle valve="{v}" to="{100 * k!r} %"/>' for v, k in setting.items())
    text = read(FARM).replace("</layout>", f'<arrangement name="first step" based-on="coupled">{lines}</arrangement></layout>')
    shutil.copytree(os.path.join(EXAMPLES, "catalogue"), path_of("catalogue"), dirs_exist_ok=True)
    pipe = {v["id"]: v["pipe"] for v in answer["valves"]}[first]
    seen = {p["id"]: p["flow_m3_s"] for p in flows(write("step.xml", text), "first step")["pipes"]}[pipe]
    check(abs(seen / answer["steps"][0]["flow_m3_s"] - 1) < 1e-6, "what is to be seen after the first step is what flows gives", seen)


def pump_slowed():
    wrote = path_of("slow.xml")
    answer = balance(FARM, "--arrangement", "coupled", "--pump-speed", "PP", "--pump-speed", "PF", "--write", wrote)
    check(answer["outcome"] == "balanced", "with both speeds free the targets are met", answer["outcome"])
    written_meets(answer, wrote, "coupled")
    for pump in answer["pumps"]:
        ways = [o["throttled_on_the_way_m"] for o in answer["arrangements"][0]["outlets"] if o["pump"] == pump["id"]]
        check(pump["speed"] < 1 and min(ways) < 1e-6, f"{pump['id']} runs as slowly as one way fully open lets it", (pump["speed"], min(ways)))
    slower = read(wrote).replace(f'<run pump="PP" speed=', '<run pump="PP" speed=')
    speed = float(re.search(r'<run pump="PP" speed="([0-9.]+) %"', slower).group(1))
    path = write("slower.xml", slower.replace(f'<run pump="PP" speed="{speed!r}', f'<run pump="PP" speed="{speed - 0.5!r}', 1))
    if read(path) != slower:
        check(balance(path, "--arrangement", "coupled")["outcome"] == "missed", "half a per cent slower it no longer does")


# ------------------------------------------------------------------------------------------ by hand

def colebrook(reynolds, relative):
    f = 0.02
    for _ in range(100):
        f = (-2 * math.log10(relative / 3.7 + 2.51 / (reynolds * math.sqrt(f)))) ** -2
    return f


def loss(flow, length, bore, local):
    """Head lost in a pipe of PVC, 0.0015 mm rough."""
    velocity = flow / (math.pi * bore**2 / 4)
    friction = colebrook(velocity * bore * 998.2 / 1.0016e-3, 0.0015e-3 / bore) * length / bore
    return (friction + local) * velocity**2 / (2 * G)


def parallel_branches_by_hand():
    """A pond at 4 m feeds two tanks at the levels drawn: every flow is given, so every head is, and what the valves must drop with it."""
    text = """<layout name="by hand"><site water-temperature="20 degC"/><pond id="SPRING" level="4 m"/><tee id="J" elevation="0.5 m"/>
      <tank id="A" floor="0 m" rim="1 m" length="1 m" width="1 m" start-depth="0.2 m" inflow="30 l/min"/>
      <tank id="B" floor="1 m" rim="2 m" length="1 m" width="1 m" start-depth="0.2 m" inflow="24 l/min"/>
      <pipe id="main" from="SPRING" to="J" length="12 m" bore="42.6 mm" roughness="0.0015 mm"><fitting loss="0.9" count="2"/>MAIN</pipe>
      <pipe id="to-A" from="J" to="A" to-height="0.9 m" length="6 m" bore="28.4 mm" roughness="0.0015 mm"><valve id="VA" kind="gate" loss="0.16"/></pipe>
      <pipe id="to-B" from="J" to="B" to-height="0.9 m" length="9 m" bore="28.4 mm" roughness="0.0015 mm"><valve id="VB" kind="globe" loss="6.8"/></pipe>
      <arrangement name="drawn" levels="start"/></layout>"""
    qa, qb = 30 * LITRE_PER_MIN, 24 * LITRE_PER_MIN
    at_tee = 4 - loss(qa + qb, 12, 0.0426, 0.5 + 1.8)
    must_a = at_tee - 0.9 - loss(qa, 6, 0.0284, 0.16 + 1)
    must_b = at_tee - 1.9 - loss(qb, 9, 0.0284, 6.8 + 1)
    answer = balance(write("hand.xml", text.replace("MAIN", "")))
    drop = {v["id"]: v["arrangements"][0]["drop_m"] for v in answer["valves"]}
    check(abs(drop["VA"] - must_a) < 2e-4 and abs(drop["VB"] - must_b) < 2e-4, "each valve drops what the hand finds left over", (drop, must_a, must_b))
    # a valve in the main takes what both have too much; the needier branch is then fully open
    answer = balance(write("hand-main.xml", text.replace("MAIN", '<valve id="VM" kind="ball" loss="0"/>')))
    drop = {v["id"]: v["arrangements"][0]["drop_m"] for v in answer["valves"]}
    least = min(must_a, must_b)
    for valve, wants in (("VM", least), ("VA", must_a - least), ("VB", must_b - least)):
        check(abs(drop[valve] - wants) < 2e-4, f"{valve} takes its part", (drop[valve], wants))
    check(min(drop["VA"], drop["VB"]) == 0, "the branch that needs most is fully open", drop)


# ------------------------------------------------------------------------------------------ random farms

def random_farm(seed):
    """A sump, a pump, a header that forks, beds and tanks on it with a valve each and some shared ones; some ask too much."""
    draw = random.Random(seed)
    head, most = draw.uniform(2.5, 7), draw.uniform(5, 14)
    points = "".join(f'<point flow="{most * x:.4f} m3/h" head="{head * (1 - 0.15 * x - 0.75 * x * x):.4f} m"/>' for x in (0, 0.25, 0.5, 0.75, 1))
    parts = [f'<layout name="random {seed}"><pump-model name="p">{points}</pump-model>',
             '<sump id="S" floor="-1 m" rim="0.2 m" length="3 m" width="2 m" start-depth="1 m"/>',
             '<pump id="P" in="S" intake-height="0.05 m" model="p" check-valve="yes"/>', '<tee id="J0" elevation="0.2 m"/>',
             '<pipe id="rise" from="P" to="J0" length="3 m" size="50 mm" series="pvc-pn10">'
             + ('<valve id="VM" kind="ball"/>' if draw.random() < 0.4 else "") + '</pipe>']
    tees = ["J0"]
    outlets = draw.randint(2, 7)
    for i in range(1, outlets + 1):
        if draw.random() < 0.6:
            tee = f"J{i}"
            valve = f'<valve id="VH{i}" kind="butterfly"/>' if draw.random() < 0.3 else ""
            parts.append(f'<tee id="{tee}" elevation="0.2 m"/><pipe id="h{i}" from="{draw.choice(tees)}" to="{tee}" length="{draw.uniform(1, 5):.2f} m" '
                         f'size="{draw.choice([40, 50])} mm" series="pvc-pn10">{valve}</pipe>')
            tees.append(tee)
        floor, width = draw.uniform(0, 1.4), draw.uniform(0.6, 1.5)
        wants = (f'inflow="{draw.uniform(3, 22):.2f} l/min"' if draw.random() < 0.7 else f'turnover="{draw.uniform(10, 60):.1f} min"'
                 if draw.random() < 0.8 else "")
        parts.append(f'<tank id="T{i}" floor="{floor:.3f} m" rim="{floor + 0.9:.3f} m" length="1 m" width="{width:.2f} m" start-depth="0.4 m" {wants}/>'
                     f'<pipe id="f{i}" from="{draw.choice(tees)}" to="T{i}" to-height="0.6 m" length="{draw.uniform(1, 6):.2f} m" '
                     f'size="{draw.choice([20, 25, 32])} mm" series="pvc-pn16"><fitting kind="elbow-90" count="2"/>'
                     f'<valve id="V{i}" kind="{draw.choice(["ball", "gate", "globe", "diaphragm"])}"/></pipe>'
                     f'<standpipe id="O{i}" in="T{i}" bore="68 mm"><insert name="one" lip="0.4 m"/></standpipe>'
                     f'<drain id="d{i}" from="O{i}" to="S" to-height="1.1 m" length="2 m" size="75 mm" series="pvc-pn10"/>')
    return "".join(parts) + '<arrangement name="all on"/></layout>'


def random_farms():
    outcomes = {}
    for seed in range(40):
        text = random_farm(seed)
        if "inflow=" not in text and "turnover=" not in text:
            continue
        path, wrote = write(f"random-{seed}.xml", text), path_of(f"random-{seed}-set.xml")
        answer = balance(path, "--write", wrote)
        outcomes[answer["outcome"]] = outcomes.get(answer["outcome"], 0) + 1
        check(answer["outcome"] in ("balanced", "missed"), f"farm {seed} is balanced or it is said why", answer)
        if answer["outcome"] == "balanced":
            written_meets(answer, wrote, "all on")
            continue
        lacks = answer["missing"]
        outlets = {o["id"]: o for o in answer["arrangements"][0]["outlets"]}
        if lacks is None:  # then an outlet gets too much: it shares its way with one that has no target of its own to hold it back
            check(answer["worst"]["got_m3_s"] > answer["worst"]["wanted_m3_s"], f"farm {seed}: too much somewhere", answer["worst"])
            continue
        check(lacks["says"] and lacks["about"] in outlets and lacks["arrangement"] == "all on", f"farm {seed}: who lacks what is said", lacks)
        check(outlets[lacks["about"]]["throttled_on_the_way_m"] < 1e-6, f"farm {seed}: nothing is left to open for {lacks['about']}", lacks)
        check(min(o["share"] for o in outlets.values() if o["aimed_at"]) > lacks["greatest_share"] - 1e-5, f"farm {seed}: no outlet has less than that share")
        solved = {v["id"]: v["inflow_m3_s"] for v in flows(wrote, "all on")["vessels"]}
        check(all(abs(solved[i] - o["got_m3_s"]) <= 1e-6 * o["got_m3_s"] for i, o in outlets.items()), f"farm {seed}: flows gives what is said")
    check(outcomes.get("balanced", 0) >= 15 and outcomes.get("missed", 0) >= 3, "both kinds are among them", outcomes)
    print("random farms:", outcomes)


# ------------------------------------------------------------------------------------------ several arrangements, and manners

def one_setting_for_several():
    wrote = path_of("both.xml")
    answer = balance(FARM, "--arrangement", "coupled", "--arrangement", "parted", "--write", wrote)
    check(answer["outcome"] == "missed" and 0 < answer["worst_deviation"] < 0.2, "one setting for both is a compromise", answer["worst_deviation"])
    check(answer["worst"]["arrangement"] in ("coupled", "parted") and answer["worst"]["says"], "the worst is named", answer["worst"])
    alone = [balance(FARM, "--arrangement", name)["outcome"] for name in ("coupled", "parted")]
    check(alone == ["balanced", "balanced"], "each of them alone can be balanced", alone)
    for one in answer["arrangements"]:
        solved = {v["id"]: v["inflow_m3_s"] for v in flows(wrote, one["name"])["vessels"]}
        check(all(abs(solved[o["id"]] / o["got_m3_s"] - 1) < 1e-6 for o in one["outlets"]), f"flows gives what is said of {one['name']}")
    text = read(wrote)
    parted = re.search(r'<arrangement name="parted"[^/]*/>|<arrangement name="parted".*?</arrangement>', text, re.S).group(0)
    check("throttle" not in parted, "what an arrangement inherits is not said again", parted)


def too_much_asked():
    done = run("balance", FARM, "--target", "B6=120 l/min", "--strict")
    check(done.returncode == 5, "--strict ends with 5 when a target is missed", done.returncode)
    words = " ".join(done.stdout.split())
    check("In 'coupled' B6 needs most: it wants 120 l/min" in words, "the outlet, the arrangement and the target are named", words[:900])
    check("its own way is too narrow for what there is to lift" in words and "feed-B6 loses most" in words, "that its own pipe cannot carry it is said", words[:900])
    check(run("balance", FARM, "--target", "B6=120 l/min").returncode == 0, "without --strict it ends with 0")
    done = run("balance", FARM, *[w for i in range(1, 7) for w in ("--target", f"B{i}=20 l/min")])
    words = " ".join(done.stdout.split())
    check(re.search(r"PP would have to give \S+ \S+ at [\d.]+ m, and at that flow it lifts [\d.]+ m: [\d.]+ m are missing", words) is not None,
          "what the pump lacks is said", words[:900])


def manners():
    for options, says in (
            (["--valve", "VB11"], "did you mean 'VB1'"), (["--target", "B11=3 l/min"], "did you mean 'B1'"), (["--target", "B1=3"], "unit"),
            (["--target", "B1"], "B1=12 l/min"), (["--pump-speed", "PX"], "no pump 'PX'"), (["--bucket", "0 l"], "not more than nothing"),
            (["--arrangement", "couple"], "did you mean 'coupled'"), (["--arrangement", "power off"], "no vessel that is fed"),
            (["--valve", "VM"], "nothing to set"), (["--write", FARM], "was read")):
        done = run("balance", FARM, *options)
        check(done.returncode == 2 and says in done.stderr and not done.stdout, f"balance {options} ends with 2 and says what to write", done.stderr)
    done = run("balance", FIRST)
    check(done.returncode == 0 and "1 % of travel" in done.stdout and "never in the suction of a pump" in done.stdout, "text with its cautions", done.stdout)
    check("--pump-speed P1" in done.stdout, "where every valve throttles the slower pump is named", done.stdout)
    done = run("balance", FIRST, "--units", "us")
    check("gpm" in done.stdout and "l/min" not in done.stdout, "US units throughout", done.stdout)
    done = run("balance", FIRST, "--format", "csv")
    rows = done.stdout.splitlines()
    check(rows[0] == "arrangement,kind,id,quantity,unit,value" and all(row.count(",") == 5 for row in rows), "CSV of six columns", rows[:3])
    check("NaN" not in run("balance", FARM, "--format", "json").stdout, "no NaN in JSON")
    named = balance(FARM, "--valves", "VB1 VB2", "--valve", "VB3")
    check([v["id"] for v in named["valves"]] == ["VB1", "VB2", "VB3"] and named["outcome"] == "balanced", "only the valves named are set", named["valves"])
    check(sum(o["aimed_at"] for o in named["arrangements"][0]["outlets"]) == 3, "outlets without a valve named are told, not aimed at")
    same = [run("balance", FARM, "--format", "json").stdout for _ in range(2)]
    check(same[0] == same[1], "the same question, the same answer to the letter")


def interrupted():
    """Ctrl-C: the best so far, said to be that, and 130."""
    everything = [w for name in ("coupled", "parted", "night", "bed 1 off", "bed 2 off", "bed 3 off", "bed 4 off", "short standpipes", "dirty filter")
                  for w in ("--arrangement", name)]
    with subprocess.Popen([PROGRAM, "balance", FARM, *everything], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8") as job:
        try:
            job.wait(0.4)
        except subprocess.TimeoutExpired:
            job.send_signal(signal.SIGINT)
        out, err = job.communicate(timeout=60)
    check(job.returncode in (130, 0), "Ctrl-C ends it with 130 (or it was done)", (job.returncode, err))
    check(job.returncode == 0 or ("interrupted" in err and "Interrupted" in out), "what there is is shown and said to be unfinished", err)


farm_is_balanced()
hand_setting_comes_back()
steps_and_buckets()
pump_slowed()
parallel_branches_by_hand()
random_farms()
one_setting_for_several()
too_much_asked()
manners()
interrupted()
folder.cleanup()
count.end()
