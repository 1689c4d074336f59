"""docs/commands.md shows what the program really says: every block that begins with '    $ ebbwright ...' is run again and compared.

    page.py PROGRAM              compares
    page.py PROGRAM --rewrite    writes what the program says now into the page"""
import os
import re
import subprocess
import sys

from _program import HERE, PROGRAM, Count

ROOT = os.path.abspath(os.path.join(HERE, "..", ".."))
PAGE = os.path.join(ROOT, "docs", "commands.md")
INDENT = "    "
count = Count()


def said(command):
    """What a person sees in a terminal without colour: both streams, in the project's folder."""
    words = re.sub(r"^ebbwright\b", '"$EBBWRIGHT"', command)
    return subprocess.run(["bash", "-c", words], cwd=ROOT, env={**os.environ, "LC_ALL": "C.UTF-8", "EBBWRIGHT": os.path.abspath(PROGRAM)}, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, encoding="utf-8", check=False, timeout=120).stdout.rstrip("\n").split("\n")


with open(PAGE, encoding="utf-8") as file:
    lines = file.read().split("\n")
rewritten = []
at = 0
while at < len(lines):
    rewritten.append(lines[at])
    if not lines[at].startswith(INDENT + "$ ebbwright "):
        at += 1
        continue
    shown = []
    at += 1
    while at < len(lines) and (lines[at].startswith(INDENT) or (lines[at] == "" and at + 1 < len(lines) and lines[at + 1].startswith(INDENT)
                                                                 and not lines[at + 1].startswith(INDENT + "$"))):
        shown.append(lines[at][len(INDENT):])
        at += 1
    command = rewritten[-1][len(INDENT) + 2:]
    now = said(command)
    count.check(shown == now, f"docs/commands.md shows what '{command}' says", "\n".join(now))
    rewritten += [(INDENT + line).rstrip() for line in now]
if "--rewrite" in sys.argv:
    with open(PAGE, "w", encoding="utf-8") as file:
        file.write("\n".join(rewritten))
    print("the page is rewritten")
    sys.exit(0)
count.end()
