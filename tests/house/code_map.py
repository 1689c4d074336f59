"""docs/code-map.md and the tables of DEVELOPERS.md: every file and folder named is there, every folder of the rooms and every folder of tests is named in one of
them. The check is first shown a page that names what is not there.

Run by ctest as: python3 code_map.py PROGRAM (the program is not needed)
"""

import os
import pathlib
import re
import sys

ROOT = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
PATH = re.compile(r"^(?:\.ci|solver|netfiles|cli|tests|examples|docs)(?:/[\w.-]+)*$")
FILE = re.compile(r"^[\w-]+\.(?:h|cpp|py|js|xml|md|txt)$")


def named(text):
    """Paths in backticks; a bare file name belongs to the folder named before it in the same row of a table."""
    for line in re.sub(r"^```.*?^```", "", text, flags=re.S | re.M).split("\n"):
        folder = None
        for word in re.findall(r"`([^`\s]+)`", line):
            if PATH.match(word):
                yield word
                folder = word if "." not in word.rsplit("/", 1)[-1] else None
            elif folder and FILE.match(word):
                yield f"{folder}/{word}"


def missing(text, root):
    return [path for path in named(text) if not (root / path).exists()]


def folders(root):
    for room in ("solver", "cli", "netfiles"):
        for path in [root / room, *sorted((root / room).rglob("*"))]:
            if path.is_dir() and any(path.glob("*.h")):
                yield path.relative_to(root).as_posix()


def main():
    failures = []
    if missing("`solver/physics`: `friction.h`, `nothing.h`; `solver/nowhere` and `--option`", ROOT) != ["solver/physics/nothing.h", "solver/nowhere"]:
        failures.append("missing() does not see what is missing")
    chart, developers = ((ROOT / name).read_text(encoding="utf-8") for name in ("docs/code-map.md", "DEVELOPERS.md"))
    for name, text in (("docs/code-map.md", chart), ("DEVELOPERS.md", developers)):
        failures += [f"{name}: names {path}, which is not there" for path in missing(text, ROOT)]
    on_the_map = list(named(chart))
    for folder in folders(ROOT):
        if not any(path == folder or path.startswith(folder + "/") for path in on_the_map):
            failures.append(f"docs/code-map.md: nothing of {folder}")
    for folder in sorted(path for path in (ROOT / "tests").iterdir() if path.is_dir() and path.name != "__pycache__"):
        if not re.search(rf"\b{folder.name}\b", developers) and not (ROOT / "solver" / folder.name).is_dir() and not (ROOT / folder.name).is_dir():
            failures.append(f"DEVELOPERS.md: nothing of tests/{folder.name}")
    print("\n".join(failures) or f"{len(on_the_map)} files and folders on the map, all there")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
