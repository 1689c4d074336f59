"""The manual pages and completions the program writes of itself: every option that --help shows is in its page, no page makes groff or mandoc complain,
and the shells offer commands, options, values and the names of a layout. bash is always asked, zsh and fish where they are installed.

Run by ctest as: python3 pages_and_completions.py PROGRAM
"""

import os
import pathlib
import pty
import re
import select
import shutil
import subprocess
import sys
import tempfile
import time

ROOT = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
ENVIRONMENT = {**os.environ, "LC_ALL": "C.UTF-8"}
FAILURES = []


def check(holds, what, shown=""):
    if not holds:
        FAILURES.append(f"{what}\n    {str(shown)[:600]}")


def run(*command, **more):
    return subprocess.run(list(map(str, command)), capture_output=True, text=True, env={**ENVIRONMENT, **more}, timeout=60, check=False)


def plain(page):
    """What a page of roff says, its escapes undone: an independent reading of the few the pages use."""
    text = re.sub(r"\\f[BIR]", "", page).replace("\\&", "")
    for escape, letter in (("\\-", "-"), ("\\(aq", "'"), ("\\(ga", "`"), ("\\(dq", '"'), ("\\(ha", "^"), ("\\(ti", "~"), ("\\e", "\\")):
        text = text.replace(escape, letter)
    return " ".join(text.split())


def pages(program, folder):
    done = run(program, "--write-manual", folder)
    check(done.returncode == 0 and not done.stdout, "the pages are written without a word", done)
    main_help = run(program, "--help").stdout
    commands = re.findall(r"^  ([a-z]+) {2,}", main_help[main_help.index("Subcommands:"):], re.M)
    check(len(commands) >= 10, "the commands are known", commands)
    check({page.name for page in folder.iterdir()} == {"ebbwright.1"} | {f"ebbwright-{c}.1" for c in commands}, "a page of each command, no other")
    for command in [None, *commands]:
        page = folder / (f"ebbwright-{command}.1" if command else "ebbwright.1")
        source = page.read_text(encoding="utf-8")
        says = plain(source)
        text = run(program, *([command] if command else []), "--help").stdout
        described = re.findall(r"^  (-\S+(?: (?:FROM TO|\S+))?)? {2,}(\S.*(?:\n {30}\S.*)*)", text, re.M)
        options = [(names, " ".join(words.split())) for names, words in described if names]
        check(len(options) >= 3, f"{page.name}: --help shows options", text)
        for names, words in options:
            for name in names.split()[0].split(","):
                check(f"{name}" in says, f"{page.name}: {name} is in the page", says)
            check(words in says, f"{page.name}: what {names} does is said in full", words)
        check(not re.search(r"^(?!\.(TH|SH|TP|PP)\b)[.']", source, re.M), f"{page.name}: no line is a request by accident")
        check(not re.search(r"(?<!\\)-", re.sub(r'^\.TH.*', "", source, flags=re.M)), f"{page.name}: every hyphen stays one", source)
    for tool in (["groff", "-man", "-ww", "-Tutf8", "-z"], ["mandoc", "-T", "lint", "-W", "error"]):
        if shutil.which(tool[0]):
            found = run(*tool, *sorted(folder.iterdir()))
            check(not found.stderr and (tool[0] != "mandoc" or not found.stdout), f"{tool[0]} has nothing to say", found.stdout + found.stderr)
    return commands


def in_bash(script, program, words):
    """What bash would offer for the last of the words."""
    line = " ".join("'" + word + "'" for word in [str(program), *words])
    asked = f"source '{script}'; COMP_WORDS=({line}); COMP_CWORD={len(words)}; _ebbwright; printf '%s\\n' \"${{COMPREPLY[@]}}\""
    done = run("bash", "--norc", "-c", asked)
    check(not done.stderr, f"bash does not complain of {words}", done.stderr)
    return done.stdout.split("\n")[:-1]


def completions(program, folder, commands):
    check(run(program, "--write-completions", folder).returncode == 0, "the completions are written")
    farm = ROOT / "examples" / "farm.xml"
    script = folder / "ebbwright.bash"
    check(run("bash", "-n", script).returncode == 0, "bash can read its file")
    check(set(commands) <= set(in_bash(script, program, [""])), "bash: the commands")
    check(in_bash(script, program, ["su"]) == ["survey"], "bash: su is survey")
    check(in_bash(script, program, ["flows", "--format", "j"]) == ["json"], "bash: values of an option", in_bash(script, program, ["flows", "--format", "j"]))
    check("--at-most-off" in in_bash(script, program, ["survey", "--a"]), "bash: options of a command")
    check("--at-most-off" not in in_bash(script, program, ["flows", "--a"]), "bash: and not those of another")
    check(str(farm) in in_bash(script, program, ["flows", str(farm)[:-4]]), "bash: layout files")
    check("coupled" in in_bash(script, program, ["flows", str(farm), "--arrangement", "cou"]), "bash: arrangements of the layout typed")
    check(r"beds\ by\ turns" in in_bash(script, program, ["cycle", str(farm), "--routine", "beds"]), "bash: a name with spaces comes quoted",
          in_bash(script, program, ["cycle", str(farm), "--routine", "beds"]))
    if shutil.which("fish"):
        fish(program, folder, farm)
    if shutil.which("zsh"):
        zsh(program, folder, farm)


def zsh(program, folder, farm):
    """A real zsh at a terminal, since nothing less completes: what stands on its line after the tabulator key."""
    keyboard, screen = pty.openpty()
    with subprocess.Popen(["zsh", "-f", "-i"], stdin=screen, stdout=screen, stderr=screen, start_new_session=True, cwd=farm.parent,
                          env={**ENVIRONMENT, "TERM": "dumb", "HOME": str(folder), "PATH": f"{program.parent}:{os.environ['PATH']}"}) as shell:
        os.close(screen)

        def shown_within(seconds, wanted):
            seen = ""
            end = time.monotonic() + seconds
            while wanted not in seen and time.monotonic() < end:
                if select.select([keyboard], [], [], 0.1)[0]:
                    seen += os.read(keyboard, 65536).decode("utf-8", "replace")
            return seen

        setup = f"PS1='> '; fpath=({folder} $fpath); autoload -Uz compinit; compinit -u -D; unsetopt beep; print rea''dy\r"
        os.write(keyboard, setup.encode())
        check("ready" in shown_within(20, "ready"), "zsh takes its file")
        for typed, wanted in (("ebbwright surv", "ebbwright survey "), ("ebbwright flows --format j", "--format json "),
                              (f"ebbwright flows {farm.name} --arrangement cou", "--arrangement coupled ")):
            os.write(keyboard, f"{typed}\t".encode())
            seen = shown_within(20, wanted)
            check(wanted in seen, f"zsh: {typed}", seen)
            os.write(keyboard, b"\x15")  # the line away
        shell.kill()
    os.close(keyboard)


def fish(program, folder, farm):
    def offers(line):
        done = run("fish", "--no-config", "-c", f"source '{folder}/ebbwright.fish'; complete -C'{line}'", HOME=str(folder),
                   PATH=f"{program.parent}:{os.environ['PATH']}")
        check(not done.stderr, f"fish does not complain of {line}", done.stderr)
        return [answer.split("\t")[0] for answer in done.stdout.splitlines()]

    check(offers("ebbwright su") == ["survey"], "fish: su is survey", offers("ebbwright su"))
    check("json" in offers("ebbwright flows --format j"), "fish: values of an option", offers("ebbwright flows --format j"))
    check("coupled" in offers(f"ebbwright flows {farm} --arrangement cou"), "fish: arrangements", offers(f"ebbwright flows {farm} --arrangement cou"))


def main():
    program = pathlib.Path(sys.argv[1]).resolve()
    with tempfile.TemporaryDirectory() as folder:
        manual, shells = pathlib.Path(folder) / "manual", pathlib.Path(folder) / "shells"
        manual.mkdir()
        shells.mkdir()
        completions(program, shells, pages(program, manual))
    nowhere = run(program, "--write-manual", "/nonexistent/folder")
    check(nowhere.returncode == 2 and nowhere.stderr, "a folder that is not there is told", nowhere)
    check(run(program, "--names", "pumps", "/nonexistent.xml").stdout == "", "no names of a file that is not there")
    about = run(program, "--about").stdout
    check(about.startswith(run(program, "--version").stdout.strip() + "\n") and "compiler: " in about and "sanitizers: " in about, "how it was built", about)
    print("\n".join(FAILURES) or "pages and completions: all well")
    return 1 if FAILURES else 0


if __name__ == "__main__":
    sys.exit(main())
