"""The reference of the library is written by Doxygen from the headers without a warning. Of the headers that the program, the examples or another
room include (those one meets from outside) every type and every function must be documented. What need not be: data members and constants, whose name
says what they are and in which unit; copying, moving, destroying and comparing. In the other headers only what Doxygen cannot read is wrong.
The check is first shown warnings of each kind.

Run by ctest as: python3 reference.py PROGRAM [FOLDER FOR THE PAGES]. Says that it is left out where there is no doxygen.
"""

import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
INCLUDE = re.compile(r'#include "((?:solver|netfiles)/[\w/]+\.h)"')
NEED_NOT = re.compile(r"Member (?:(\w+)\(\1 &&\) noexcept|(\w+)\(const \2 &\)|~\w+\(.*|operator(?:=|==|<)\(.*) \((?:function|friend)\)")


def room_of(path):
    return "/".join(path.split("/")[:2]) if path.startswith("solver/") else path.split("/")[0]


def met_from_outside(root):
    """Headers of solver and netfiles that another room includes; of the physics all formulas (eight_*.h are its arithmetic for vectors)."""
    met = {path.relative_to(root).as_posix() for path in (root / "solver" / "physics").glob("*.h") if not path.name.startswith("eight")}
    for room in ("cli", "examples", "netfiles", "solver"):
        for path in sorted((root / room).rglob("*")):
            if path.suffix in (".h", ".cpp"):
                name = path.relative_to(root).as_posix()
                for header in INCLUDE.findall(path.read_text(encoding="utf-8")):
                    within_solver = name.startswith("solver/") and header.startswith("solver/")
                    if room_of(name) != room_of(header) and not within_solver:
                        met.add(header)
    return met


def complaints(warnings, root, met):
    for line in warnings:
        match = re.match(r"(.*?):(\d+): warning: (.*)", line)
        if not match:
            if line.strip():
                yield line
            continue
        file = os.path.relpath(match.group(1), root)
        says = match.group(3)
        if says.endswith("is not documented."):
            if file not in met or "(variable)" in says or "(enumvalue)" in says or NEED_NOT.match(says):
                continue
        yield f"{file}:{match.group(2)}: {says}"


def check_the_checks():
    lines = ["/r/solver/a/b.h:1: warning: Member there() const (function) of struct X is not documented.",
             "/r/solver/a/b.h:1: warning: Member flow_m3_s (variable) of struct X is not documented.",
             "/r/solver/a/b.h:1: warning: Member Farm(Farm &&) noexcept (function) of class Farm is not documented.",
             "/r/solver/a/b.h:1: warning: Compound ebb::X is not documented.",
             "/r/solver/a/c.h:1: warning: Compound ebb::Y is not documented.", "/r/solver/a/c.h:1: warning: Unknown tag 'a'"]
    told = list(complaints(lines, "/r", {"solver/a/b.h"}))
    if [line.split(": ", 1)[0] for line in told] != ["solver/a/b.h:1", "solver/a/b.h:1", "solver/a/c.h:1"] or "there" not in told[0]:
        yield f"of six warnings these are told: {told}"


def main():
    if not shutil.which("doxygen"):
        print("left out: there is no doxygen here")
        return 77  # ctest counts it as skipped
    failures = list(check_the_checks())
    version = re.search(r"project\(Ebbwright VERSION ([\d.]+)", (ROOT / "CMakeLists.txt").read_text(encoding="utf-8")).group(1)
    met = met_from_outside(ROOT)
    with tempfile.TemporaryDirectory() as folder:
        pages = os.path.abspath(sys.argv[2]) if len(sys.argv) > 2 else folder
        os.makedirs(pages, exist_ok=True)
        done = subprocess.run(["doxygen", ".ci/Doxyfile"], cwd=ROOT, env={**os.environ, "EBBWRIGHT_VERSION": version, "EBBWRIGHT_REFERENCE": pages},
                              stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", check=False, timeout=600)
        if done.returncode != 0:
            failures.append(f"doxygen ends with {done.returncode}: {done.stdout}{done.stderr}")
        failures += complaints(pathlib.Path(pages, "warnings.txt").read_text(encoding="utf-8").split("\n"), ROOT, met)
        count = len(list(pathlib.Path(pages).glob("*_8h.html")))
        if count < 100:
            failures.append(f"only {count} headers have a page")
    print("\n".join(failures) or f"{count} headers, {len(met)} of them met from outside and documented whole")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
