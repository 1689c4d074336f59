"""What the scripts of this folder share: running the program, and counting what passes."""
import os
import subprocess
import sys

HERE = os.path.dirname(os.path.abspath(__file__))
LAYOUTS = os.path.join(HERE, "layouts")
PROGRAM = sys.argv[1]


def layout(name):
    return os.path.join(LAYOUTS, name + ".xml")


def run(*arguments, environment=None, cwd=None, timeout=120):
    """The finished process: returncode, stdout and stderr as text."""
    env = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "TERM")}
    env.update(environment or {})
    return subprocess.run([PROGRAM, *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=env,
                          cwd=cwd, timeout=timeout, encoding="utf-8", check=False)


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
