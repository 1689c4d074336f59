#!/usr/bin/python3
"""`balance`, the whole program: what it writes is solved again by `flows`, and held to the openings a hand had chosen; its manners."""
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _program import PROGRAM, Count, run, under_way  # noqa: E402

EXAMPLES = os.path.join(os.environ["EBB_SOURCE_DIR"], "examples")
FARM, FIRST = os.path.join(EXAMPLES, "farm.xml"), os.path.join(EXAMPLES, "first.xml")
LITRE_PER_MIN = 1 / 60000
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
    return json.loads(done.stdout) if done.stdout else None


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


# ------------------------------------------------------------------------------------------ several arrangements, and manners

def one_setting_for_several():
    wrote = path_of("both.xml")
    answer = balance(FARM, "--arrangement", "coupled", "--arrangement", "parted", "--write", wrote)
    check(answer["outcome"] == "met" and answer["worst_deviation"] > 0.01, "one setting for both gives some outlets too much", answer["worst_deviation"])
    check("too much" in answer["worst"]["says"] and answer["worst"]["arrangement"] == "parted", "the worst is named", answer["worst"])
    done = run("flows", wrote, "--strict", "--arrangement", "coupled", "--arrangement", "parted")
    check(done.returncode == 0, "nothing lacks water in either, as flows sees it", done.stdout[:900])
    done = run("balance", FARM, "--arrangement", "coupled", "--arrangement", "parted", "--pump-speed", "PP")
    check(done.returncode == 2 and "--pump-speed is for one arrangement" in done.stderr, "a free speed for several arrangements is refused", done.stderr)
    check(balance(FARM, "--arrangement", "parted")["outcome"] == "balanced", "each of them alone can be balanced")
    for one in answer["arrangements"]:
        solved = {v["id"]: v["inflow_m3_s"] for v in flows(wrote, one["name"])["vessels"]}
        check(all(abs(solved[o["id"]] / o["got_m3_s"] - 1) < 1e-6 for o in one["outlets"]), f"flows gives what is said of {one['name']}")
    text = read(wrote)
    parted = re.search(r'<arrangement name="parted"[^/]*/>|<arrangement name="parted".*?</arrangement>', text, re.S).group(0)
    check("throttle" not in parted, "what an arrangement inherits is not said again", parted)


def too_much_asked():
    done = run("balance", FARM, "--target", "B6=60 l/min", "--strict")
    check(done.returncode == 5, "--strict ends with 5 when a target is missed", done.returncode)
    words = " ".join(done.stdout.split())
    check("In 'coupled' B6 needs most: it wants 60.0 l/min" in words, "the outlet, the arrangement and the target are named", words[:900])
    check("its own way is too narrow for what there is to lift" in words and "feed-B6 loses most" in words, "that its own pipe cannot carry it is said", words[:900])
    done = run("balance", FARM, *[w for i in range(1, 7) for w in ("--target", f"B{i}=20 l/min")])
    words = " ".join(done.stdout.split())
    check(re.search(r"PP would have to give \S+ \S+ at [\d.]+ m, and at that flow it lifts [\d.]+ m: [\d.]+ m are missing", words) is not None,
          "what the pump lacks is said", words[:900])
    check(done.returncode == 0, "without --strict it ends with 0", done.returncode)


def spare_and_hands():
    wrote = path_of("spare.xml")
    spare = balance(FIRST, "--spare", "5 %", "--write", wrote)
    name = spare["arrangements"][0]["name"]

    def shares(path):
        """Of the targets the file itself gives: 8 l/min, and all the water in an hour."""
        vessels = {v["id"]: v for v in flows(path, name)["vessels"]}
        return {"B1": vessels["B1"]["inflow_m3_s"] / (8 * LITRE_PER_MIN), "T1": vessels["T1"]["inflow_m3_s"] / (vessels["T1"]["volume_m3"] / 3600)}

    check(all(abs(share - 1.05) < 2e-6 for share in shares(wrote).values()), "each outlet gets 5 % more than its target", shares(wrote))
    text = re.sub(r'to="([0-9.]+) %"', lambda m: f'to="{round(float(m[1]))} %"', read(wrote))  # set to whole per cents, and asked of `flows`
    shutil.copytree(os.path.join(EXAMPLES, "catalogue"), path_of("catalogue"), dirs_exist_ok=True)
    hair = write("hair.xml", read(wrote).replace('inflow="8 l/min"', 'inflow="8.4036 l/min"'))
    done = run("flows", hair, "--arrangement", name)
    check("B1 gets 8.40 l/min, wanted 8.40 l/min or more: 0.043 % short" in " ".join(done.stdout.split()), "what reads alike is told apart", done.stdout[:400])
    share, worst = min((share, i) for i, share in shares(write("hand.xml", text)).items())
    hand = spare["by_hand"]
    check(hand["about"] == worst and abs(hand["share"] - share) < 1e-6, "what whole per cents cost is what flows gives for them", (hand, share, worst))


def what_is_beside():
    """Targets nothing here is on the way to, sumps below their mark, and arrangements that are left as they were."""
    done = run("balance", FARM, "--valve", "VB1", "--target", "B2=20 l/min")
    words = " ".join(done.stdout.split())
    check(re.search(r"! B2 gets [\d.]+ l/min, wanted 20.0 l/min: [\d.]+ % too little", words) is not None, "a missed target that is not aimed at comes first", words[:900])
    check(run("balance", FARM, "--valve", "VB1", "--target", "B2=20 l/min", "--strict").returncode == 5, "and counts with --strict")
    low = write("low.xml", read(FIRST).replace('least-depth="0.20 m"', 'least-depth="0.61 m"'))
    done = run("balance", low)
    check(re.search(r"[!?] S1 stands \d+ mm deep, below its least depth of 610 mm", " ".join(done.stdout.split())) is not None, "a sump below its mark is told",
          done.stdout[:600])
    label = ('<pump-model name="of a label" greatest-flow="3 m3/h" greatest-head="3 m"/><pump id="P1" in="S1" intake-height="0.06 m" '
             'model="of a label" check-valve="yes"/>')
    path = write("label.xml", re.sub(r'<pump id="P1".*?/>', label, read(FIRST), count=1))
    done = run("balance", path, "--strict")
    words = " ".join(done.stdout.split())
    check("met exactly, as far as the label of P1 tells" in words, "what rests on a label is said at once", words[:600])
    check(done.returncode == 5, "with the weaker of the pumps a label fits the targets are not met: --strict says so", done.returncode)
    more = write("more.xml", re.sub(r"<arrangement ", '<arrangement name="nothing asked"><stop pump="P1"/></arrangement><arrangement ', read(FIRST), count=1))
    done = run("balance", more, "--arrangement", "both", "--write", path_of("left.xml"))
    check("'nothing asked'" in done.stdout and "eft as" in done.stdout, "which arrangements are left as they were is said", done.stdout)


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
    check("NaN" not in run("balance", FIRST, "--target", "B1=90 l/min", "--format", "json").stdout, "no NaN in JSON")
    named = balance(FARM, "--valves", "VB1 VB2", "--valve", "VB3")
    check([v["id"] for v in named["valves"]] == ["VB1", "VB2", "VB3"] and named["outcome"] == "balanced", "only the valves named are set", named["valves"])
    check(sum(o["aimed_at"] for o in named["arrangements"][0]["outlets"]) == 3, "outlets without a valve named are told, not aimed at")
    same = [run("balance", FIRST, "--format", "json").stdout for _ in range(2)]
    check(same[0] == same[1], "the same question, the same answer to the letter")


def interrupted():
    """Ctrl-C: the best so far, said to be that, and 130."""
    everything = [w for name in ("coupled", "parted", "night", "bed 1 off", "bed 2 off")
                  for w in ("--arrangement", name)]
    with subprocess.Popen([PROGRAM, "balance", FARM, *everything], stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8") as job:
        under_way(job, 0.2)
        job.send_signal(signal.SIGINT)
        out, err = job.communicate(timeout=60)
    check(job.returncode in (130, 0), "Ctrl-C ends it with 130 (or it was done)", (job.returncode, err))
    check(job.returncode == 0 or ("interrupted" in err and "Interrupted" in out), "what there is is shown and said to be unfinished", err)


farm_is_balanced()
hand_setting_comes_back()
steps_and_buckets()
pump_slowed()
one_setting_for_several()
too_much_asked()
spare_and_hands()
what_is_beside()
manners()
interrupted()
folder.cleanup()
count.end()
