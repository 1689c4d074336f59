"""What the tests of faults share: the commands that write, and faults put into chosen system calls of one run.

The promise that is checked: after any fault the file of results holds what it held before or everything that was to be written, never a part."""
import os
import re
import shutil
import subprocess
import tempfile
import time

from _program import HERE, LAYOUTS, PROGRAM

EXAMPLES = os.path.abspath(os.path.join(HERE, "..", "..", "examples"))
FARM = os.path.join(EXAMPLES, "farm.xml")
MANY = "VT1 VT2 VT3 VT4 VB1 VB2 VB3 VB4 VB5 VB6 VR1 VR2 VN1 VN2 VN3"  # 32,768 combinations: 32 blocks
OLD = b"what stood here before\n"
FIRST, SIZING = os.path.join(EXAMPLES, "first.xml"), os.path.join(EXAMPLES, "sizing.xml")
READINGS = os.path.join(EXAMPLES, "first_readings.xml")
LIFT = os.path.join(LAYOUTS, "lift.xml")
COURTYARD = os.path.join(LAYOUTS, "courtyard.xml")

# every command that writes, with the option that names the file: {} is its name
WRITERS = {
    "check": ["check", FIRST, "--output", "{}"],
    "flows": ["flows", COURTYARD, "--output", "{}"],
    "flows json": ["flows", COURTYARD, "--format", "json", "--output", "{}"],
    "flows csv": ["flows", COURTYARD, "--format", "csv", "--output", "{}"],
    "flows uncertain": ["flows", FIRST, "--uncertain", "--samples", "64", "--output", "{}"],
    "cycle": ["cycle", os.path.join(LAYOUTS, "siphon.xml"), "--output", "{}"],
    "cycle series": ["cycle", os.path.join(LAYOUTS, "siphon.xml"), "--series", "{}"],
    "cycle power cut": ["cycle", FIRST, "--power-cut", "--output", "{}"],
    "survey": ["survey", os.path.join(EXAMPLES, "farm.xml"), "--switch", "VB1 VB2", "--output", "{}"],
    "survey each": ["survey", os.path.join(EXAMPLES, "farm.xml"), "--switch", "VB1 VB2", "--each", "{}"],
    "survey part": ["survey", os.path.join(EXAMPLES, "farm.xml"), "--switch", "VB1 VB2", "--part", "1/2", "--output", "{}"],
    "pumps": ["pumps", LIFT, "--output", "{}"],
    "pipes": ["pipes", SIZING, "--output", "{}"],
    "balance": ["balance", FIRST, "--output", "{}"],
    "balance write": ["balance", FIRST, "--write", "{}"],
    "diagnose": ["diagnose", FIRST, READINGS, "--output", "{}"],
    "diagnose blank": ["diagnose", FIRST, "--blank", "{}"],
    "diagnose calibrate": ["diagnose", FIRST, READINGS, "--calibrate", "--write", "{}"],
    "report": ["report", FIRST, "--output", "{}"],
    "catalogue": ["catalogue", "--output", "{}"],
}
NEVER_REPLACES = ("diagnose blank",)  # it may hold readings: it has to be a new file
QUICK = ["check", "flows json", "cycle series", "survey each", "survey part", "balance write", "diagnose blank", "catalogue"]


def command(name, file):
    return [PROGRAM] + [file if word == "{}" else word for word in WRITERS[name]]


def can_trace():
    """Whether system calls can be made to fail here: strace is there, and allowed."""
    if shutil.which("strace") is None:
        return False
    tried = subprocess.run(["strace", "-qq", "-o", os.devnull, "-e", "inject=getppid:error=EIO:when=1", "true"], capture_output=True, check=False)
    return tried.returncode == 0


class Stage:
    """A folder with one file of results in it, written by one command."""

    def __init__(self, name):
        self.name, self.folder = name, tempfile.TemporaryDirectory()
        self.file = os.path.join(self.folder.name, "result.out")
        self.log = os.path.join(self.folder.name, ".log")
        self.run()
        with open(self.file, "rb") as written:
            self.new = written.read()

    def reset(self):
        """As before a run: the old file, and nothing else."""
        for left in os.listdir(self.folder.name):
            os.remove(os.path.join(self.folder.name, left))
        if self.name not in NEVER_REPLACES:
            with open(self.file, "wb") as old:
                old.write(OLD)

    def content(self):
        """What the file of results holds; where there need be none, none is as good as the old one."""
        if self.name in NEVER_REPLACES and not os.path.exists(self.file):
            return OLD
        with open(self.file, "rb") as now:
            return now.read()

    def run(self, *trace, before=None, timeout=120):
        self.reset()
        start = ["strace", "-qq", "-o", self.log, *trace] if trace else []
        return subprocess.run(start + command(self.name, self.file), stdin=subprocess.DEVNULL, capture_output=True, cwd=self.folder.name, check=False,
                              preexec_fn=before, timeout=timeout)

    def calls(self, names):
        """How often each of these system calls is made by the thread that writes."""
        self.run("-e", "trace=" + names)
        with open(self.log, encoding="utf-8", errors="replace") as log:
            made = re.findall(r"^(\w+)\(", log.read(), re.M)
        return {name: made.count(name) for name in names.split(",")}

    def left(self):
        return sorted(f for f in os.listdir(self.folder.name) if f not in ("result.out", ".log"))

    def verdict(self, done, killed=False, may_leave=False):
        """What is wrong after a run with a fault in it; empty: nothing."""
        try:
            content = self.content()
        except OSError as error:
            return f"the file is gone: {error}"
        if content not in (OLD, self.new):
            return f"the file is neither old nor new: {content[:80]!r} ({len(content)} of {len(self.new)} bytes)"
        if done.returncode == 0 and content != self.new:
            return "it ended with 0 and wrote nothing"
        if not killed and done.returncode not in (0, 2, 3, 4, 5, 127):
            return f"it ended with {done.returncode}: {done.stderr[:200]!r}"
        if not killed and done.returncode != 0 and not done.stderr:
            return f"it ended with {done.returncode} without a word"
        if self.left() and not may_leave:
            return f"left behind: {self.left()}"
        if any(not f.startswith(".result.out.part-") for f in self.left()):
            return f"left behind under another name: {self.left()}"
        return ""


def ended_amid_rows(end, leaves):
    """A survey that gets `end` while 64 MiB of its rows stand in a temporary: whether what must hold does, in whose name, and what was seen. `leaves`:
    the temporary may stay."""
    stage = Stage("survey each")
    with subprocess.Popen([PROGRAM, "survey", FARM, "--switch", MANY + " VN4 PP PF", "--each", stage.file], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL) as job:
        limit = time.time() + 300
        while not stage.left() and job.poll() is None and time.time() < limit:
            time.sleep(0.01)
        seen = stage.left()
        job.send_signal(end)
        job.communicate(timeout=60)
    with open(stage.file, "rb") as now:
        holds = job.returncode == -end and seen and now.read() == stage.new and bool(stage.left()) == leaves
    return holds, f"ended by {end.name}", (job.returncode, seen, stage.left())
