"""README.md shows what the program really says: of every block that shows `$ ebbwright ...`, the lines shown must be lines of the real
output, in that order (the page says that it shortens). The check is first shown a block with a line too many.

Run by ctest as: python3 readme.py PROGRAM
"""

import os
import pathlib
import re
import subprocess
import sys

ROOT = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
BLOCK = re.compile(r"^```\n\$ ebbwright ([^\n]+)\n(.*?)^```", re.S | re.M)


def first_missing(shown, said):
    """The first shown line that does not follow in what was said; None when all do."""
    rest = iter(said)
    return next((line for line in shown if line and line not in rest), None)


def said_by(program, arguments):
    done = subprocess.run([os.path.abspath(program), *arguments.split()], cwd=ROOT / "examples", stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          encoding="utf-8", check=False, timeout=120, env={**os.environ, "LC_ALL": "C.UTF-8"})
    return [line.rstrip() for line in done.stdout.splitlines()]


def main():
    failures = []
    if first_missing(["a", "c"], ["a", "b"]) != "c" or first_missing(["b", "a"], ["a", "b"]) != "a" or first_missing(["a", "c"], ["a", "b", "c"]):
        failures.append("first_missing does not see what is missing")
    blocks = BLOCK.findall((ROOT / "README.md").read_text(encoding="utf-8"))
    if len(blocks) < 2:
        failures.append("README.md shows fewer than two commands")
    for arguments, shown in blocks:
        line = first_missing([line.rstrip() for line in shown.splitlines()], said_by(sys.argv[1], arguments))
        if line is not None:
            failures.append(f"'ebbwright {arguments}' does not say, where README.md shows it: {line!r}")
    print("\n".join(failures) or f"{len(blocks)} blocks are what the program says")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
