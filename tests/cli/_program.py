"""What the scripts of this folder share: running the program, and counting what passes."""
import os
import signal
import subprocess
import sys
import time

HERE = os.path.dirname(os.path.abspath(__file__))
LAYOUTS = os.path.join(HERE, "layouts")
PROGRAM = sys.argv[1]


def layout(name):
    return os.path.join(LAYOUTS, name + ".xml")


def run(*arguments, environment=None, cwd=None, timeout=120):
    """The finished process: returncode, stdout and stderr as text. With EBB_UNTIMED in the environment (instrumented builds) it may take ten times as long."""
    timeout *= 10 if os.environ.get("EBB_UNTIMED") else 1
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "TERM")}
    env.update(environment or {})
    return subprocess.run([PROGRAM, *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env,
                          cwd=cwd, timeout=timeout, encoding="utf-8", check=False)


def under_way(process, seconds):
    """Waits until the process listens to Ctrl-C, as /proc tells, and then for so many seconds: on a busy machine starting alone may take longer."""
    limit = time.monotonic() + 60
    while process.poll() is None and time.monotonic() < limit:
        with open(f"/proc/{process.pid}/status", encoding="utf-8") as status:
            caught = next((int(line.split()[1], 16) for line in status if line.startswith("SigCgt")), 0)
        if caught >> (signal.SIGINT - 1) & 1:
            break
        time.sleep(0.01)
    time.sleep(seconds)


class Count:
    """Says what fails, with what was seen, and ends with the tally."""

    def __init__(self):
        self.passed = self.failed = 0

    def check(self, right, what, seen=""):
        if right:
            self.passed += 1
        else:
            self.failed += 1
            print(f"FAILED: {what}" + (f"\n    seen: {str(seen)[:1500]!r}" if seen != "" else ""))
        return right

    def end(self):
        print(f"{self.passed} passed, {self.failed} failed")
        sys.exit(1 if self.failed or not self.passed else 0)
