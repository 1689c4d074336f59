"""How the program behaves on the command line: exit statuses, where text goes, files that appear whole or not at all, closed pipes."""
import json
import os
import pty
import re
import select
import stat
import subprocess
import tempfile

from _program import PROGRAM, Count, layout, run

count = Count()
check = count.check


def help_and_version():
    for arguments, words in ((["--help"], ["check", "flows", "cycle", "catalogue"]), (["cycle", "--help"], ["--routine", "--lasts", "--series", "--events"]), (["flows", "--help"], ["--arrangement", "--units", "--format", "--output", "--strict"]),
                             (["check", "--help"], ["--arrangement"]), (["catalogue", "--help"], ["--format"])):
        r = run(*arguments)
        check(r.returncode == 0 and r.stderr == "", f"{arguments} ends with 0 and says nothing on standard error", (r.returncode, r.stderr))
        for word in words:
            check(word in r.stdout, f"{arguments} speaks of {word}", r.stdout)
        check(max(map(len, r.stdout.splitlines())) <= 120, f"{arguments} fits a terminal of 120 columns", r.stdout)
    r = run("--version")
    check(r.returncode == 0 and re.fullmatch(r"ebbwright \d+\.\d+\.\d+\n", r.stdout), "--version is one line", r.stdout)


def wrong_command_lines():
    farm = layout("courtyard")
    for arguments in ([], ["flow", farm], ["flows"], ["flows", farm, "--format", "xml"], ["flows", farm, "--units", "metric"], ["flows", farm, "--frob"],
                      ["flows", farm, "extra"], ["flows", farm, "--arrangement"], ["check", farm, "--output"]):
        r = run(*arguments)
        check(r.returncode == 2, f"{arguments} ends with 2", r.returncode)
        check(r.stdout == "", f"{arguments} writes no result", r.stdout)
        check(r.stderr.startswith("ebbwright: ") and "--help" in r.stderr, f"{arguments} gets a message that shows the way", r.stderr)
    r = run("chek", farm)
    check("no command 'chek'" in r.stderr and "'check'" in r.stderr, "the nearest command is named", r.stderr)
    r = run("chek", "--help")
    check(r.returncode == 2 and "no command 'chek'" in r.stderr and r.stdout == "", "help of a command that is none", (r.returncode, r.stderr))
    r = run(farm)
    check("no command" in r.stderr and farm in r.stderr and "flows" in r.stderr, "a layout where the command should be: the commands are named", r.stderr)
    r = run()
    check("command is missing" in r.stderr and "flows" in r.stderr, "no command at all: the commands are named", r.stderr)


def unknown_arrangement():
    for command in ("flows", "check"):
        r = run(command, layout("courtyard"), "--arrangement", "al on")
        check(r.returncode == 2 and r.stdout == "", f"{command}: an unknown arrangement ends with 2 and no result", (r.returncode, r.stdout))
        check("'all on'" in r.stderr, f"{command}: the nearest arrangement is named", r.stderr)
    r = run("flows", layout("courtyard"), "--arrangement", "qqqqqqqqqq")
    check(r.returncode == 2 and "all on" in r.stderr, "with none near, those there are are named", r.stderr)


def arrangements():
    r = run("flows", layout("courtyard"), "--format", "json", "--arrangement", "bed shut", "--arrangement", "all on", "--arrangement", "all on")
    names = [a["name"] for a in json.loads(r.stdout)["arrangements"]]
    check(names == ["all on", "bed shut"], "arrangements asked for come once each, in the order of the file", names)


def bad_files():
    with tempfile.TemporaryDirectory() as folder:
        bad = os.path.join(folder, "bad.xml")
        with open(bad, "w", encoding="utf-8") as file:
            file.write('<layout name="x">\n  <tank id="T" floor="0" rim="1 m" diameter="1 m" start-depth="0.5 m"/>\n  <tonk id="U"/>\n</layout>\n')
        for command in ("flows", "check"):
            r = run(command, bad)
            check(r.returncode == 3 and r.stdout == "", f"{command}: a wrong file ends with 3 and no result", (r.returncode, r.stdout))
            check("bad.xml:2:" in r.stderr and "bad.xml:3:" in r.stderr, f"{command}: every mistake has its place", r.stderr)
            check("tank" in r.stderr, f"{command}: the nearest word is named", r.stderr)
        r = run("check", bad, "--format", "json")
        problems = json.loads(r.stdout)["problems"]
        check(r.returncode == 3 and len(problems) >= 2 and all(p["severity"] == "error" and p["place"]["line"] in (2, 3) for p in problems),
              "check --format json lists the mistakes for a program", r.stdout)
        for path in (os.path.join(folder, "none.xml"), folder):
            r = run("flows", path)
            check(r.returncode == 3 and r.stdout == "" and path in r.stderr, f"'{path}' cannot be read: 3 and a message", (r.returncode, r.stderr))


def strict():
    for command in ("flows", "check"):
        relaxed, strictly = run(command, layout("missed")), run(command, layout("missed"), "--strict")
        check(relaxed.returncode == 0, f"{command}: a target missed ends with 0", relaxed.stderr)
        check(strictly.returncode == 5, f"{command} --strict: a target missed ends with 5", strictly.returncode)
        check(strictly.stdout == relaxed.stdout != "", f"{command} --strict says the same", strictly.stdout)
        check("T turns over in" in relaxed.stdout and "wanted" in relaxed.stdout, f"{command}: the target missed is said", relaxed.stdout)
    r = run("flows", layout("first-loop"), "--strict")
    check(r.returncode == 0 and "shut off: B1" in r.stdout, "--strict: what is shut off on purpose is not missed", (r.returncode, r.stdout))
    r = run("flows", layout("courtyard"), "--strict", "--arrangement", "all on", "--format", "json")
    met = all(t["met"] for t in json.loads(r.stdout)["arrangements"][0]["targets"])
    check(r.returncode == (0 if met else 5), "--strict agrees with the targets of the JSON", (r.returncode, met))


def long_and_short():
    """Of several arrangements the page shows the essentials; of one, or with --all, every pipe, drain and tee."""
    pipes = re.compile(r"^[ ?!] pipe +from > to", re.M)
    short, whole = run("flows", layout("courtyard")).stdout, run("flows", layout("courtyard"), "--all").stdout
    one = run("flows", layout("courtyard"), "--arrangement", "all on").stdout
    check(not pipes.search(short) and len(pipes.findall(one)) == 1, "pipes are shown of one arrangement, not of many", short)
    tees = re.compile(r"^[ ?!] tee +pressure there|^[ ?!] tee$|^[ ?!] tee ", re.M)
    check(len(tees.findall(whole)) == 7 and len(pipes.findall(whole)) >= 5 and "assumed, as the layout does not say" in whole, "--all shows them of every arrangement", whole)
    check("--all" in short, "the short page says how to get the whole one", short)
    check(max(map(len, short.splitlines())) <= 100, "the short page fits 100 columns", max(short.splitlines(), key=len))


def output_file():
    with tempfile.TemporaryDirectory() as folder:
        path = os.path.join(folder, "answer.json")
        r = run("flows", layout("missed"), "--format", "json", "--output", path)
        check(r.returncode == 0 and r.stdout == "" and r.stderr == "", "--output is silent", (r.returncode, r.stdout, r.stderr))
        with open(path, encoding="utf-8") as file:
            written = file.read()
        check(written == run("flows", layout("missed"), "--format", "json").stdout, "--output holds what standard output would", written)
        check(os.listdir(folder) == ["answer.json"], "nothing temporary stays", os.listdir(folder))
        check(stat.S_IMODE(os.stat(path).st_mode) & 0o400 != 0, "the file can be read")
        r = run("flows", layout("courtyard"), "--arrangement", "nope", "--output", path)
        with open(path, encoding="utf-8") as file:
            check(file.read() == written and r.returncode == 2, "a failed run leaves the old file as it was")
        for bad in (os.path.join(folder, "no", "where.json"), folder):
            r = run("flows", layout("missed"), "--output", bad)
            check(r.returncode in (2, 3) and r.stdout == "" and bad in r.stderr, f"'{bad}' cannot be written: a message", (r.returncode, r.stderr))
        check(sorted(os.listdir(folder)) == ["answer.json"], "nothing half-written stays", os.listdir(folder))
        copy = os.path.join(folder, "layout.xml")
        with open(layout("missed"), encoding="utf-8") as source, open(copy, "w", encoding="utf-8") as target:
            target.write(source.read())
        for command in ("flows", "check", "catalogue"):
            r = run(command, copy, "--output", copy)
            with open(copy, encoding="utf-8") as file:
                check(file.read().startswith("<!--") and r.returncode == 2 and "layout.xml" in r.stderr,
                      f"{command}: --output never replaces what was read", (r.returncode, r.stderr))
    r = run("flows", layout("missed"), "--output", "/dev/null")
    check(r.returncode == 0 and stat.S_ISCHR(os.stat("/dev/null").st_mode), "a device is written to, not replaced", r.stderr)
    with open("/dev/full", "w", encoding="utf-8") as full:
        r = subprocess.run([PROGRAM, "flows", layout("missed")], stdout=full, stderr=subprocess.PIPE, encoding="utf-8", check=False)
    check(r.returncode in (2, 3) and r.stderr.startswith("ebbwright: cannot write"), "a full disk is said", (r.returncode, r.stderr))


def closed_pipe():
    for arguments in (["flows", layout("courtyard")], ["catalogue"], ["--help"]):
        reader, writer = os.pipe()
        os.close(reader)
        process = subprocess.Popen([PROGRAM, *arguments], stdout=writer, stderr=subprocess.PIPE)
        os.close(writer)
        _, errors = process.communicate(timeout=60)
        check(process.returncode == 0 and errors == b"", f"{arguments[0]}: a closed pipe ends quietly", (process.returncode, errors))


def on_a_terminal(*arguments, environment=None):
    """What the program writes when its standard output is a terminal."""
    master, terminal = pty.openpty()
    env = {k: v for k, v in os.environ.items() if k != "NO_COLOR"}
    env.update({"TERM": "xterm"}, **(environment or {}))
    process = subprocess.Popen([PROGRAM, *arguments], stdout=terminal, stderr=subprocess.DEVNULL, env=env)
    os.close(terminal)
    seen = b""
    while True:
        ready, _, _ = select.select([master], [], [], 60)
        try:
            part = os.read(master, 65536) if ready else b""
        except OSError:  # the terminal has no writer any more
            part = b""
        if not part:
            break
        seen += part
    process.wait(timeout=60)
    os.close(master)
    return seen.decode("utf-8")


def colour():
    check("\x1b[" in on_a_terminal("flows", layout("missed")), "a terminal gets colour")
    check("\x1b" not in on_a_terminal("flows", layout("missed"), environment={"NO_COLOR": "1"}), "NO_COLOR is honoured")
    check("\x1b" not in on_a_terminal("flows", layout("missed"), environment={"TERM": "dumb"}), "a dumb terminal gets no colour")
    check("\x1b" not in on_a_terminal("flows", layout("missed"), "--format", "json"), "JSON is never coloured")
    check("\x1b" not in run("flows", layout("missed")).stdout, "a pipe gets no colour")
    plain = re.sub("\x1b\\[[0-9;]*m", "", on_a_terminal("flows", layout("missed"))).replace("\r\n", "\n")
    check(plain == run("flows", layout("missed")).stdout, "colour changes nothing else", plain)


def units():
    si, us = run("flows", layout("courtyard"), "--units", "si").stdout, run("flows", layout("courtyard"), "--units", "us").stdout
    check("l/min" in si and " mm" in si and "gpm" not in si, "SI text is in litres and millimetres")
    check("gpm" in us and " in" in us and "l/min" not in us and " mm " not in us.split("Take care")[0], "US text is in gallons and inches", us)
    check(run("flows", layout("courtyard")).stdout == si, "without --units the layout decides (si)")
    with tempfile.TemporaryDirectory() as folder:
        american = os.path.join(folder, "us.xml")
        with open(layout("missed"), encoding="utf-8") as source, open(american, "w", encoding="utf-8") as target:
            target.write(source.read().replace("<layout ", '<layout units="us" ', 1))
        check("gpm" in run("flows", american).stdout, "without --units the layout decides (us)")
    for form in ("json", "csv"):
        same = [run("flows", layout("missed"), "--format", form, "--units", u).stdout for u in ("si", "us")]
        numbers = [re.sub(r'"says":"[^"]*"|warning.*', "", text) for text in same]
        check(numbers[0] == numbers[1], f"{form} is SI whatever the units of text")


for test in (help_and_version, wrong_command_lines, unknown_arrangement, arrangements, bad_files, strict, long_and_short, output_file, closed_pipe, colour, units):
    test()
count.end()
