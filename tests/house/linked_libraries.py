"""What the built program really links, read from the program itself: the BSD part of SuiteSparse that it uses is welcome, its
GPL parts and anything unknown to docs/licences.md are not (why: that page).

Run by ctest as: python3 linked_libraries.py PROGRAM
"""

import os
import pathlib
import re
import subprocess
import sys

ALLOWED = re.compile(
    r"^(libamd|libsuitesparseconfig|libsundials_cvode|libClp|libCoinUtils|libpugixml|libfmt|libduktape|libstdc\+\+|libgcc_s|libm|libc|libpthread|libasan|"
    r"libubsan|libtsan|libgcov|ld-linux[-a-z0-9_]*)\.so(\.[0-9.]*)?$")
REFUSED_EXAMPLES = ["libcholmod.so.3", "libumfpack.so.5", "libspqr.so.2", "libmetis.so.5"]


def needed(program):
    output = subprocess.run(["readelf", "-d", program], check=True, capture_output=True, text=True, env={**os.environ, "LC_ALL": "C"}).stdout
    return re.findall(r"\(NEEDED\)\s+Shared library: \[([^\]]+)\]", output)


def main():
    program = pathlib.Path(sys.argv[1])
    failures = [f"{name} would be let through" for name in REFUSED_EXAMPLES if ALLOWED.match(name)]
    libraries = needed(program)
    if not any(name.startswith("libc.so") for name in libraries):
        failures.append(f"cannot be right: {program} needs {libraries}")
    failures += [f"{program.name} links {name}, which docs/licences.md does not know" for name in libraries if not ALLOWED.match(name)]
    print("\n".join(failures) or f"{program.name} links: {' '.join(libraries)}")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
