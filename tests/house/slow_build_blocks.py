"""The blocks of README.md and DEVELOPERS.md that build the whole project run as they stand in a copy of it with an
empty build folder; and what they say is built is there. Each must still stand in a page. With EBB_SLOW_SHARE below 1 only what does not build.

Run by ctest as: python3 slow_build_blocks.py PROGRAM (the program is not used: the copy makes its own)
"""

import os
import pathlib
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _blocks import ROOT, blocks  # noqa: E402

# a command of a page, and what must be there after it; in this order, so that the second finds what the first has built
BLOCKS = (("cmake -S . -B build -G Ninja && cmake --build build", "build/ebbwright"), ("./examples/demo", "build/farm.html"),
          ("cmake -S .ci --preset sanitize", "build/sanitize/CMakeCache.txt"))


def main():
    in_pages = {command for block in blocks() for command in block.commands()}
    failures = [f"no page says: {command}" for command, _ in BLOCKS if command not in in_pages]
    with tempfile.TemporaryDirectory() as folder:
        copy = pathlib.Path(folder, "project")
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns("build", ".git", "__pycache__"))
        environment = {key: value for key, value in os.environ.items() if key not in ("EBB_SOURCE_DIR", "DESTDIR")}
        whole = float(os.environ.get("EBB_SLOW_SHARE") or "1") >= 1
        wanted = BLOCKS if whole else BLOCKS[2:]
        for command, leaves in wanted:
            done = subprocess.run(["bash", "-c", command], cwd=copy, env={**environment, "LC_ALL": "C.UTF-8"}, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                  stderr=subprocess.STDOUT, encoding="utf-8", check=False, timeout=6000)
            if done.returncode != 0 or not (copy / leaves).exists():
                failures.append(f"'{command}' ends with {done.returncode}:\n{done.stdout[-3000:]}")
    print("\n".join(failures) or f"{len(wanted)} of {len(BLOCKS)} blocks run in a copy of the project")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
