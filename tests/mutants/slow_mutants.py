#!/usr/bin/python3
"""Deliberate errors in the formulas are caught by the tests: a share of the lists (EBB_SLOW_SHARE), and as many by rule, with a seed."""

import os
import pathlib
import subprocess
import sys

share = float(os.environ.get("EBB_SLOW_SHARE", "1") or "1")
here = pathlib.Path(__file__).resolve().parent
build = pathlib.Path(sys.argv[1]).resolve().parent
sys.exit(subprocess.run([sys.executable, str(here / "run"), "--build", str(build), "--share", str(share), "--sample", "20"]).returncode)
