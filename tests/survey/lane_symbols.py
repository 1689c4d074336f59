"""The kernels of the lanes are compiled for one processor each. What such a source defines for others to link with must be its one door and
nothing else: an inline function that another source has too would be kept once for both, with instructions that not every processor has.

Run by ctest as: python3 lane_symbols.py PROGRAM; the library of the solver lies beside the program, or in project/ there where the project is built as a part of another.
"""

import pathlib
import re
import subprocess
import sys

OF_TOOLS = re.compile(r"^(__(odr_)?(asan|ubsan|tsan|gcov|llvm)|_*gcov|DW\.ref|_ZT[IS]F)")  # what instrumented builds add, the same in every source; no instructions


def doors(library):
    """Symbols that each kernel's object defines for others: {object: [names]}."""
    listing = subprocess.run(["nm", "--defined-only", "--extern-only", library], capture_output=True, text=True, check=True).stdout
    found, member = {}, None
    for line in listing.splitlines():
        if line.endswith(":"):
            member = line[:-1] if line.startswith("lane_kernel_") else None
            if member:
                found[member] = []
        elif member and line.strip():
            name = line.split()[-1]
            if not OF_TOOLS.match(name):
                found[member].append(name)
    return found


def main():
    build = pathlib.Path(sys.argv[1]).parent
    name = "libebbwright_solver.a"
    library = build / name if (build / name).exists() else build / "project" / name
    found = doors(library)
    wrong = 0
    if len(found) != 3:
        print(f"three kernels were expected in {library}, found: {', '.join(found) or 'none'}")
        wrong = 1
    for member, names in found.items():
        kind = re.match(r"lane_kernel_(\w+)\.", member).group(1)
        if len(names) != 1 or f"lane_kernels_{kind}" not in names[0]:
            print(f"{member} should define lane_kernels_{kind} alone, and defines: {', '.join(names)}")
            wrong = 1
    print(f"{len(found)} kernels, {sum(map(len, found.values()))} doors")
    sys.exit(wrong)


main()
