"""`survey` against `flows`: every combination of a few switches written out as an arrangement of its own and solved, least, greatest and middle
found here; then rows, parts put together, parts that are missing, words that cannot be switched, and manners."""
import csv
import io
import itertools
import json
import os
import re
import shutil
import signal
import statistics
import subprocess
import tempfile
import time

from _program import HERE, PROGRAM, Count, run, under_way

EXAMPLES = os.path.abspath(os.path.join(HERE, "..", "..", "examples"))
FARM = os.path.join(EXAMPLES, "farm.xml")
count = Count()
check = count.check
folder = tempfile.TemporaryDirectory()
NOTHING = 1e-9


def path_of(name):
    return os.path.join(folder.name, name)


def read(name):
    with open(name, encoding="utf-8") as file:
        return file.read()


def write(name, text):
    with open(path_of(name), "w", encoding="utf-8") as file:
        file.write(text)
    return path_of(name)


def survey(*options, **more):
    done = run("survey", *options, "--format", "json", **more)
    check(done.returncode == 0, f"survey {options} ends with 0", done.stderr)
    return json.loads(done.stdout)["survey"]


def near(a, b, share=1e-6):
    return a == b or (a is not None and b is not None and abs(a - b) <= share * max(abs(a), abs(b)) + 1e-12)


# ------------------------------------------------------------------------------------------ against flows

SWITCHES = ["VB1", "VB4", "OB4", "PP", "VX-over"]
OFF = {"VB1": '<close valve="VB1"/>', "VB4": '<close valve="VB4"/>', "OB4": '<fit standpipe="OB4" insert="short"/>', "PP": '<stop pump="PP"/>',
       "VX-over": '<close valve="VX-over"/>'}


def wanting_farm():
    """The example farm with more asked of two of its outlets than they get while everything is on."""
    text = read(FARM)
    text = re.sub(r'(<bed id="B1"[^>]*?)inflow="12 l/min"', r'\1inflow="13.5 l/min"', text)
    text = re.sub(r'(<tank id="T2"[^>]*?)turnover="60 min"', r'\1turnover="50 min"', text)
    shutil.copytree(os.path.join(EXAMPLES, "catalogue"), path_of("catalogue"), dirs_exist_ok=True)
    return text


def written_out(text, switches=tuple(SWITCHES)):
    """Answers of flows by the set of what is off."""
    lines, sets = "", []
    for number in range(2 ** len(switches)):
        off = [name for bit, name in enumerate(switches) if number >> bit & 1]
        sets.append(off)
        lines += f'<arrangement name="c{number}" based-on="coupled">{"".join(OFF[name] for name in off)}</arrangement>'
    done = run("flows", write("written.xml", text.replace("<!-- ================================================================ what things cost",
                                                           lines + "<!-- ", 1)),
               "--format", "json", *itertools.chain(*(("--arrangement", f"c{i}") for i in range(len(sets)))))
    check(done.returncode == 0, "flows solves the combinations written out", done.stderr)
    return sets, json.loads(done.stdout)["arrangements"]


def has_water(vessel, off):
    """Said by hand: what shuts which vessel's own water off."""
    own = {"B1": {"VB1", "PP"}, "B4": {"VB4", "PP"}}
    others = {"PP"} if vessel[0] in "BRN" else set()
    return not set(off) & (own.get(vessel) or others)


def against_flows():
    text = wanting_farm()
    farm = write("farm.xml", text)
    sets, answers = written_out(text)
    said = survey(farm, "--switch", " ".join(SWITCHES), "--worst", "5")
    check(said["combinations"] == said["done"] == 32 and said["arrangement"] == "coupled", "32 combinations of five switches", said["combinations"])
    check([s["id"] for s in said["switches"]] == SWITCHES and said["switches"][2]["off"] == "short", "the switches in their order", said["switches"])
    for i, vessel in enumerate(said["vessels"]):
        rows = [(n, answers[n]["vessels"][i]) for n in range(32)]
        check(rows[0][1]["id"] == vessel["id"], "vessels in the order of the layout")
        depths = [row["depth_m"] for _, row in rows]
        check(near(vessel["least_depth_m"], min(depths)) and near(vessel["greatest_depth_m"], max(depths)), f"depths of {vessel['id']}", vessel)
        if vessel["id"] not in ("T1", "T2", "B1", "B4", "B6", "R1", "N4"):
            continue
        fed = [(n, row["inflow_m3_s"]) for n, row in rows if has_water(vessel["id"], sets[n])]
        flows = [flow for _, flow in fed]
        check(vessel["fed"] == len(fed), f"{vessel['id']} is fed in {len(fed)} combinations", vessel["fed"])
        check(near(vessel["least_inflow_m3_s"], min(flows)), f"least of {vessel['id']}", (vessel["least_inflow_m3_s"], min(flows)))
        check(near(vessel["greatest_inflow_m3_s"], max(flows)), f"greatest of {vessel['id']}", (vessel["greatest_inflow_m3_s"], max(flows)))
        check(near(vessel["typical_inflow_m3_s"], statistics.median_low(flows), 0.004), f"typical of {vessel['id']}", vessel["typical_inflow_m3_s"])
        for which in ("least", "greatest"):
            named = vessel[f"{which}_inflow_with"]
            check(named["off"] == sets[named["number"]], "what is off in the combination named", named)
            check(near(rows[named["number"]][1]["inflow_m3_s"], vessel[f"{which}_inflow_m3_s"]), f"{which} of {vessel['id']} is had there", named)
            plainly = vessel[f"{which}_inflow_plainly_with"]
            check(near(rows[plainly["number"]][1]["inflow_m3_s"], vessel[f"{which}_inflow_m3_s"], 0.004), "the plain one is as good", plainly)
        slowest = max(row["turnover_s"] or 0 for n, row in rows if has_water(vessel["id"], sets[n]))
        check(near(vessel["greatest_turnover_s"], slowest), f"slowest turnover of {vessel['id']}", vessel["greatest_turnover_s"])
        for by in vessel["by_switch"]:
            alone = [flow for n, flow in fed if sets[n] == [by["id"]]]
            check(near(by["inflow_alone_off_m3_s"], alone[0]) if alone else by["inflow_alone_off_m3_s"] is None, "what it gets with one off", by)
            on = [flow for n, flow in fed if by["id"] not in sets[n]]
            off = [flow for n, flow in fed if by["id"] in sets[n]]
            check(near(by["least_inflow_on_m3_s"], min(on, default=None)) and near(by["least_inflow_off_m3_s"], min(off, default=None)),
                  f"least of {vessel['id']} with {by['id']} on and off", by)
    pumps = {p["id"]: p for p in said["pumps"]}
    for i, name in enumerate(p["id"] for p in answers[0]["pumps"]):
        running = [a["pumps"][i] for a in answers if a["pumps"][i]["running"]]
        pump = pumps[name]
        check(pump["runs"] == len(running), f"{name} runs in {len(running)} combinations", pump["runs"])
        check(near(pump["least_flow_m3_s"], min(p["flow_m3_s"] for p in running)), f"least flow of {name}", pump)
        check(near(pump["greatest_head_m"], max(p["head_m"] for p in running)), f"greatest head of {name}", pump)
        check(pump["below_best"] == sum(p["best_point_ratio"] < 0.7 for p in running), f"{name} below 70 % of its best flow", pump)
    targets_as_flows_has_them(said, sets, answers)
    rows_as_flows_has_them(farm, sets, answers)


def targets_as_flows_has_them(said, sets, answers):
    missed_in = {n: [t["about"] for t in a["targets"] if t["asked"] and not t["met"]] for n, a in enumerate(answers)}
    for target in said["targets"]:
        every = [next(t for t in a["targets"] if (t["about"], t["wants"]) == (target["about"], target["wants"])) for a in answers]
        missed = [n for n, t in enumerate(every) if t["asked"] and not t["met"]]
        check(target["missed"] == len(missed) and target["not_asked"] == sum(not t["asked"] for t in every), f"target of {target['about']}", target)
        check(target["first_missed"] == missed[:8], "the first combinations that miss it", target["first_missed"])
        if missed:
            worst = every[target["worst_with"]["number"]]
            check(near(worst["got"], target["worst_got"]), "the worst figure is had where it is said to be", target)
            check(target["worst_got"] <= 1.004 * min(every[n]["got"] for n in missed) or target["wants"].startswith("turnover"), "and there is no worse")
    bad = sorted((n for n in missed_in if missed_in[n]), key=lambda n: -len(missed_in[n]))
    check(bad and said["all_targets_met"] == 32 - len(bad), "how many combinations meet every target", (said["all_targets_met"], len(bad)))
    check(len(said["worst"]) == min(5, len(bad)), "as many of the worst as asked for")
    check(said["worst"][0]["targets_missed"] == len(missed_in[bad[0]]), "the worst misses most", said["worst"][0])
    check(all(len(missed_in[w["combination"]["number"]]) == w["targets_missed"] for w in said["worst"]), "what the worst miss is what flows says")
    check(said["solved_again"]["worst_difference"] < 1e-6 and said["solved_again"]["figures"] > 50, "the named ones agree with single solves",
          said["solved_again"])


def rows_as_flows_has_them(farm, sets, answers):
    done = run("survey", farm, "--switch", " ".join(SWITCHES), "--format", "csv")
    rows = list(csv.DictReader(io.StringIO(done.stdout)))
    check(done.returncode == 0 and len(rows) == 32, "a row for every combination", len(rows))
    for n, (row, answer) in enumerate(zip(rows, answers)):
        check(row["combination"] == str(n) and row["off"].split() == sets[n] and row["state"] == answer["state"], "number, what is off, state", row)
        missed = [t["about"] for t in answer["targets"] if t["asked"] and not t["met"]]
        check(row["targets_missed"] == str(len(missed)) and row["missed"].split() == sorted(set(missed), key=missed.index), "targets missed", row["missed"])
        same = all(near(float(row[f"{v['id']}_inflow_m3_s"]), v["inflow_m3_s"]) and near(float(row[f"{v['id']}_depth_m"]), v["depth_m"])
                   and near(float(row[f"{v['id']}_spill_m3_s"]), v["spill_m3_s"]) for v in answer["vessels"])
        check(same, f"row {n} holds what flows says of the vessels")
        for pump in answer["pumps"]:
            check(near(float(row[f"{pump['id']}_flow_m3_s"]), pump["flow_m3_s"]), "and of the pumps", row)
            check(pump["running"] == (row[f"{pump['id']}_head_m"] != ""), "a pump at rest has no head", row)
    few = run("survey", farm, "--switch", ",".join(SWITCHES), "--at-most-off", "2", "--format", "csv").stdout
    limited = list(csv.DictReader(io.StringIO(few)))
    check([row["off"].split() for row in limited[:8]] == [[]] + [[s] for s in SWITCHES] + [SWITCHES[:2], [SWITCHES[0], SWITCHES[2]]],
          "at most two off: all on, each alone, then pairs", [row["off"] for row in limited])
    check(len(limited) == 16, "1 + 5 + 10 of them", len(limited))
    by_off = {row["off"]: row for row in rows}
    check(all(row["B6_inflow_m3_s"] and near(float(row["B6_inflow_m3_s"]), float(by_off[row["off"]]["B6_inflow_m3_s"])) for row in limited),
          "each with the figures it has among all")


# ------------------------------------------------------------------------------------------ parts

ASKED = ("--switch", "VB1 VB2 VB3 B4 B5 B6")


def whole_run():
    """The bytes of one run: JSON, text and rows."""
    said = {form: run("survey", FARM, *ASKED, "--format", form).stdout for form in ("json", "text", "csv")}
    check(all(said.values()), "one run says something in every form")
    return said


def parts_make_the_whole(said):
    for threads in ("1", "2"):
        check(run("survey", FARM, *ASKED, "--format", "json", "--threads", threads).stdout == said["json"], f"the same on {threads} threads")
    env = {"LC_ALL": "de_DE.UTF-8"}
    check(run("survey", FARM, *ASKED, "--format", "csv", environment=env).stdout == said["csv"], "a decimal comma outside changes nothing")
    parallel = shutil.which("parallel")
    one = f"'{PROGRAM}' survey '{FARM}' --switch '{ASKED[1]}' --part {{}}/5 --each part-{{}}.csv --output part-{{}}.json"
    if parallel:  # one part kills itself before it has begun
        done = subprocess.run([parallel, "--will-cite", "-j", "2", "if [ {} = 4 ]; then kill -9 $$; fi; " + one, ":::", "1", "2", "3", "4", "5"],
                              cwd=folder.name, stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", check=False, timeout=60)
        check(done.returncode == 1, "parallel counts one part that failed", (done.returncode, done.stderr))
    else:
        for k in "1235":
            subprocess.run(["sh", "-c", one.replace("{}", k)], cwd=folder.name, check=True, timeout=60)
    files = [f"part-{k}.json" for k in (5, 1, 3, 2)]
    done = run("survey", "--merge", *files, cwd=folder.name)
    check(done.returncode == 3 and "part 4 of 5 is missing" in done.stderr and not done.stdout, "the missing part is named", done.stderr)
    job = {**os.environ, "SLURM_ARRAY_TASK_ID": "4", "SLURM_ARRAY_TASK_COUNT": "5", "SLURM_CPUS_PER_TASK": "2", "EBBWRIGHT": os.path.abspath(PROGRAM)}
    subprocess.run([os.path.join(EXAMPLES, "survey_parts.sbatch"), FARM, ASKED[1]], cwd=folder.name, env=job, check=True, timeout=60)  # as the cluster starts it
    files.append("part-4.json")
    check(run("survey", "--merge", *files, "--format", "csv", cwd=folder.name).stdout == said["csv"], "the rows of the parts are those of the single run")
    for form in ("json", "text"):
        done = run("survey", "--merge", *files, "--format", form, "--each", "rows.csv", cwd=folder.name)
        check(done.returncode == 0 and done.stdout == said[form], f"parts put together are the single run, {form}", done.stderr)
    check(read(path_of("rows.csv")) == said["csv"], "and so are their rows")
    wrong_parts(files, one)


def wrong_parts(files, one):
    def merged(*names, options=()):
        return run("survey", "--merge", *names, *options, cwd=folder.name)

    done = merged(*files, "part-2.json")
    check(done.returncode == 3 and "part 2 of 5 is there twice" in done.stderr, "a part given twice is named", done.stderr)
    rows = read(path_of("part-3.csv"))
    write("part-3.csv", rows[:len(rows) // 2])
    done = merged(*files, options=("--each", "again.csv"))
    check(done.returncode == 3 and "the rows of part 3 of 5" in done.stderr and not os.path.exists(path_of("again.csv")), "rows cut short are named", done.stderr)
    os.remove(path_of("part-3.csv"))
    done = merged(*files, options=("--each", "again.csv"))
    check(done.returncode == 3 and "the rows of part 3 of 5 are missing" in done.stderr, "rows that are not there are named", done.stderr)
    write("part-3.csv", rows)
    done = merged(*files, options=("--each", "part-3.csv"))
    check(done.returncode == 2 and "would replace" in done.stderr and read(path_of("part-3.csv")) == rows, "what is merged is not written over", done.stderr)
    write("cut.json", read(path_of("part-1.json"))[:2000])
    done = merged("cut.json", *files)
    check(done.returncode == 3 and "'cut.json'" in done.stderr and "cut short" in done.stderr, "a part cut short is named", done.stderr)
    subprocess.run(["sh", "-c", one.replace("VB3", "VB7").replace("part-{}", "other").replace("{}", "2")], cwd=folder.name, check=True, timeout=60)
    done = merged(*[f if f != "part-2.json" else "other.json" for f in files])
    check(done.returncode == 3 and "different surveys" in done.stderr and "other.json" in done.stderr, "a part of another survey is named", done.stderr)
    done = run("survey", write("changed.xml", read(FARM).replace("12 l/min", "13 l/min")), "--merge", *files, cwd=folder.name)
    check(done.returncode == 3 and "is not what the parts were made of" in done.stderr, "a layout changed since is refused", done.stderr)
    changed_parts(files, merged)


def changed_parts(files, merged):
    """A part in which something was changed by hand is refused; one that is only laid out anew is not."""
    whole = json.loads(read(path_of("part-1.json")))

    def with_part_1(change):
        text = json.loads(json.dumps(whole))
        change(text["survey_part"])
        write("edited.json", json.dumps(text, indent=1))
        return merged(*[f if f != "part-1.json" else "edited.json" for f in files], options=("--format", "json"))

    check(with_part_1(lambda part: None).returncode == 0, "laid out anew it is the same part")
    for what, change in (("a vessel", lambda part: part["statistics"]["vessels"].pop()), ("a count", lambda part: part["statistics"]["states"][1].update(times=3)),
                         ("a figure", lambda part: part["statistics"]["vessels"][5]["inflow_m3_s"]["least"].update(value=1e-9)),
                         ("a number below nothing", lambda part: part["statistics"].update(rows=-1)), ("a word", lambda part: part.update(part="one")),
                         ("the checksum", lambda part: part.pop("checksum")), ("the question", lambda part: part["question"].update(parts=10**15))):
        done = with_part_1(change)
        check(done.returncode == 3 and "'edited.json' is not as it was written" in done.stderr and "again" in done.stderr and not done.stdout,
              f"{what} was changed by hand", done.stderr)
    rows = read(path_of("part-2.csv"))
    write("part-2.csv", rows.replace("settled", "cycling", 1))
    done = merged(*files, options=("--format", "csv", "--output", "all.csv"))
    check(done.returncode == 3 and "rows of part 2 of 5" in done.stderr and "was changed" in done.stderr and not os.path.exists(path_of("all.csv")),
          "rows changed by hand are named", done.stderr)
    write("part-2.csv", rows)
    os.rename(path_of("part-2.csv"), path_of("kept.csv"))
    os.mkdir(path_of("part-2.csv"))
    done = merged(*files, options=("--each", "again.csv"))
    check(done.returncode == 3 and "a folder" in done.stderr, "rows that are a folder", done.stderr)
    os.rmdir(path_of("part-2.csv"))
    os.rename(path_of("kept.csv"), path_of("part-2.csv"))
    for wrong, says in ((".", "is a folder"), ("/dev/zero", "is a device"), ("nowhere.json", "cannot read 'nowhere.json'"), ("part-1.csv", "does not read as JSON")):
        done = merged(wrong)
        check(done.returncode == 3 and says in done.stderr, f"--merge {wrong}", (done.returncode, done.stderr))
    os.makedirs(path_of("elsewhere"), exist_ok=True)
    other = write("elsewhere/farm.xml", read(FARM).replace("12 l/min", "13 l/min"))
    shutil.copytree(os.path.join(EXAMPLES, "catalogue"), path_of("elsewhere/catalogue"), dirs_exist_ok=True)
    run("survey", other, *ASKED, "--part", "2/5", "--output", path_of("foreign.json"))
    done = merged("part-1.json", "foreign.json")
    check(done.returncode == 3 and f"one of '{FARM}', the other of '{other}'" in done.stderr, "parts of two layouts", done.stderr)
    for switches in ("OB1=short 'VB1'", "VB1,OB1"):
        run("survey", "farm.xml", "--switch", switches, "--part", "1/1", "--output", "one.json", cwd=path_of("elsewhere"))
        done = merged("elsewhere/one.json", options=("--format", "text"))
        os.rename(path_of("farm.xml"), path_of("hidden.xml"))
        away = merged("elsewhere/one.json")
        os.rename(path_of("hidden.xml"), path_of("farm.xml"))
        check(done.returncode == 3 and "is not what the parts were made of" in done.stderr, "the layout of this name here is another", done.stderr)
        check(away.returncode == 3 and "ebbwright survey LAYOUT --merge" in away.stderr, "a layout that is called something else from here", away.stderr)
        done = run("survey", other, "--merge", path_of("elsewhere/one.json"))
        check(done.returncode == 0 and "all 4 combinations" in done.stdout, "named, it is found", done.stderr)


# ------------------------------------------------------------------------------------------ manners

def manners():
    for words, says in ((["VB11"], "did you mean 'VB1'"), (["F1"], "only valves, pumps and standpipes"), (["feed-B1"], "but its valve can: VB1"),
                        (["VB1 B1"], "one valve twice, as 'VB1' and as 'B1'"), (["VB1", "--switch", "VB1"], "names 'VB1' twice"),
                        (["OT1"], "one insert only"), (["OB1=tall"], "is fitted in 'OB1' anyway"), (["OB1=low"], "has no insert 'low'"),
                        (["FS"], "name the valve, pump or standpipe"), (["VB1=short"], "only a standpipe has inserts"),
                        (["VB1", "--part", "3/2"], "no part 3/2"), (["VB1", "--part", "0/2"], "no part 0/2"), (["VB1", "--part", "x"], "third of eight"),
                        (["VB1", "--at-most-off", "-1"], "whole number"), (["VB1", "--arrangement", "couple"], "did you mean 'coupled'"),
                        (["VB1", "--arrangement", "coupled", "--arrangement", "night"], "one arrangement"),
                        (["VB1", "--each", FARM], "would replace"), (["VB1", "--merge", "x.json"], "from the parts")):
        done = run("survey", FARM, "--switch", *words)
        check(done.returncode in (2, 3) and says in done.stderr and not done.stdout, f"survey --switch {words} says what is wrong", done.stderr)
    done = run("survey", FARM)
    check(done.returncode == 2 and "--switch \"VB1 VB2\"" in done.stderr and "VB1 to VB8" in done.stderr, "what can be switched is named", done.stderr)
    many = "".join(f'<valve id="W{i}" kind="ball"/>' for i in range(50))
    shutil.copytree(os.path.join(EXAMPLES, "catalogue"), path_of("catalogue"), dirs_exist_ok=True)
    crowd = write("crowd.xml", read(FARM).replace('<valve id="VX-over" kind="ball"/>', '<valve id="VX-over" kind="ball"/>' + many))
    done = run("survey", crowd, "--switch", " ".join(f"W{i}" for i in range(50)))
    check(done.returncode == 2 and "1,125,899,906,842,624" in done.stderr and "--at-most-off" in done.stderr, "too many, and how many", done.stderr)
    done = run("survey", write("wanting.xml", wanting_farm()), "--switch", "VB1 VB2", "--strict", "--units", "us")
    check(done.returncode == 5 and "gpm" in done.stdout and "l/min" not in done.stdout, "--strict ends with 5; US units throughout", done.stdout[:600])
    words = " ".join(done.stdout.split())
    check("! T2 and B1 miss a target somewhere" in words and "no combination spills" in words.lower(), "what is wrong comes first", words[:600])
    check("2 targets T2 turns over" in words or "2 targets B1 gets" in words, "the worst combinations say what lacks most", words[-2500:])
    check("NaN" not in run("survey", FARM, "--switch", "PP PF", "--format", "json").stdout, "no NaN in JSON")


def names_with_spaces():
    """An insert may be called anything; then it stands in quotes of its own."""
    text = read(FARM).replace('<insert name="short" lip="0.10 m"/>', '<insert name="cut, short" lip="0.10 m"/><insert name="O\'B" lip="0.12 m"/>')
    farm = write("quotes.xml", text.replace('insert="short"', 'insert="cut, short"'))
    off = survey(farm, "--switch", "VB1 OB1='cut, short',OB2=O'B OB3=\"O'B\" OB4='O''B'")["switches"]
    check([(s["id"], s.get("off")) for s in off[1:]] == [("OB1", "cut, short"), ("OB2", "O'B"), ("OB3", "O'B"), ("OB4", "O'B")], "names in quotes", off)
    for words, says in (("OB1", "OB1='cut, short'"), ("OB1=cut", "OB1='cut, short'"), ("OB1='cut, short", "never closed"), ("OB1=''", "does not read"),
                        ("'VB1'x", "does not read"), ("OB1=tall OB1=O'B", "names 'OB1' twice"), ("'V\x1b[31m'", "'V?[31m'")):
        done = run("survey", farm, "--switch", words)
        check(done.returncode == 2 and says in done.stderr and "\x1b" not in done.stderr, f"survey --switch {words}", done.stderr)
    check(len(run("survey", farm, "--switch", "V" * 100000).stderr) < 2000, "a name without end is not repeated whole")
    part = path_of("quotes.json")
    run("survey", farm, "--switch", "OB1='cut, short'", "--part", "1/1", "--output", part)
    check(run("survey", "--merge", part).stdout == run("survey", farm, "--switch", "OB1='cut, short'").stdout, "and merged")
    check("spaces or commas" in run("survey", "--help").stdout, "--help says what stands between them")


def files_apart():
    """Rows and results in one file would lose one of them."""
    os.symlink("linked.csv", path_of("link.csv"))
    for name in ("hard.csv", "twice.csv"):
        write("hard.csv", "") if name == "hard.csv" else os.link(path_of("hard.csv"), path_of(name))
    here = os.path.basename(folder.name)
    for each, output in (("x.csv", "./x.csv"), ("x.csv", f"../{here}/x.csv"), ("link.csv", "linked.csv"), ("hard.csv", "twice.csv"), ("/dev/stdout", None)):
        done = run("survey", FARM, "--switch", "VB1", "--each", each, *(["--output", output] if output else []), cwd=folder.name)
        check(done.returncode == 2 and f"'{each}'" in done.stderr and not done.stdout and not os.path.exists(path_of("x.csv")), f"--each {each} --output {output}",
              (done.returncode, done.stderr))
    done = run("survey", FARM, "--switch", "VB1", "--each", "/dev/null", "--output", "/dev/null")
    check(done.returncode == 0, "nothing is lost in /dev/null", done.stderr)
    done = run("survey", FARM, "--switch", "VB1", "--each", folder.name)
    check(done.returncode == 2 and "is a folder" in done.stderr, "--each FOLDER", done.stderr)


def without_vessels():
    """A target of a pressure that is missed where there is no vessel at all: solved once more, it is the same."""
    hose = write("hose.xml", """<layout name="a hose"><pond id="HIGH" level="1 m"/><pond id="LOW" level="0 m"/>
      <tee id="N" elevation="0.3 m" least-pressure="0.9 m"/>
      <pipe id="P" from="HIGH" to="N" length="20 m" bore="20 mm"><valve id="V1" kind="ball"/></pipe>
      <pipe id="Q" from="N" to="LOW" length="20 m" bore="20 mm"><valve id="V2" kind="ball"/></pipe></layout>""")
    done = run("survey", hose, "--switch", "V1 V2")
    check(done.returncode == 0 and "fault" not in done.stderr and "agree within a millionth" in " ".join(done.stdout.split()), "no vessels, no fault", done.stderr)
    said = survey(hose, "--switch", "V1 V2")
    check(said["targets"][0]["missed"] > 0 and said["solved_again"]["worst_difference"] < 1e-6, "a target missed agrees", said["solved_again"])


def too_many():
    rack = "".join(f'<valve id="W{i}" kind="ball"/>' for i in range(70))
    shutil.copytree(os.path.join(EXAMPLES, "catalogue"), path_of("catalogue"), dirs_exist_ok=True)
    crowd = write("rack.xml", read(FARM).replace('<valve id="VX-over" kind="ball"/>', '<valve id="VX-over" kind="ball"/>' + rack))
    for many, says in ((63, "63 things are to be switched, and 62 is the most: name fewer"), (62, "62 switches have more combinations than can be numbered")):
        done = run("survey", crowd, "--switch", " ".join(f"W{i}" for i in range(many)))
        check(done.returncode == 2 and says in done.stderr and ("--at-most-off" in done.stderr) == (many == 62), f"{many} switches", done.stderr)


def as_a_job_array():
    """What the script for the cluster says when it is not started as it should be."""
    script, clean = os.path.join(EXAMPLES, "survey_parts.sbatch"), {k: v for k, v in os.environ.items() if not k.startswith("SLURM")}
    for arguments, array, says in (([], {}, "sbatch --array=1-64"), (["a"], {"ID": "1"}, "sbatch --array=1-64"),
                                   (["a", "b"], {"ID": "2", "MIN": "0", "MAX": "3", "COUNT": "4"}, "write --array=1-4 instead of --array=0-3"),
                                   (["a", "b"], {"ID": "17", "MIN": "17", "MAX": "17", "COUNT": "1"}, "SURVEY_PARTS=64")):
        done = subprocess.run([script, *arguments], env={**clean, "EBBWRIGHT": "false", **{f"SLURM_ARRAY_TASK_{k}": v for k, v in array.items()}},
                              stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", check=False)
        check(done.returncode == 2 and says in done.stderr, f"the script with {arguments} and {array}", (done.returncode, done.stderr))


def interrupted():
    """Ctrl-C: what is done is shown and said to be that; a part is written as unfinished, and merging says so."""
    # reasons to wait: sixteen switches, one thread
    wide = ["survey", FARM, "--switch", "VT1 VT2 VT3 VT4 VB1 VB2 VB3 VB4 VB5 VB6 VR1 VR2 VN1 VN2 VN3 VN4 VX-over VX-home PP PF", "--threads", "1"]
    part = path_of("stopped.json")
    with subprocess.Popen([PROGRAM, *wide, "--part", "1/2", "--output", part], stderr=subprocess.PIPE, encoding="utf-8") as job:
        under_way(job, 0.3)
        for _ in range(2):  # as a launcher and the terminal both send it
            job.send_signal(signal.SIGINT)
            time.sleep(0.05)
        _, err = job.communicate(timeout=60)
    check(job.returncode == 130 and "interrupted" in err, "Ctrl-C ends it with 130, also when it comes twice at once", (job.returncode, err))
    done = run("survey", "--merge", part)
    check(done.returncode == 3 and "part 1 of 2" in done.stderr and "broken off after" in done.stderr, "the part that was broken off is named", done.stderr)


against_flows()
parts_make_the_whole(whole_run())
manners()
names_with_spaces()
files_apart()
without_vessels()
too_many()
as_a_job_array()
interrupted()
folder.cleanup()
count.end()
