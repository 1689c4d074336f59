"""The whole sweep: every command that writes, every system call of the thread that writes, each failing or killed at once; ends at random moments."""
import os
import random
import resource
import signal
import subprocess
import time

from _faults import OLD, WRITERS, Stage, can_trace, command, ended_amid_rows
from _program import Count

count = Count()
share = float(os.environ.get("EBB_SLOW_SHARE", "1"))
chance = random.Random(11)
CALLS = {"write": "ENOSPC", "openat": "ENOSPC", "fsync": "EIO", "fchmod": "EIO", "rename": "EIO", "close": "EIO", "unlink": "EIO", "flock": "EIO", "read": "EIO",
         "pread64": "EIO", "fdatasync": "EIO", "ftruncate": "EIO"}
injected = killed_at_random = 0


def failing_calls(stage):
    global injected
    for call, times in stage.calls(",".join(CALLS)).items():
        for k in range(1, times + 1):
            for fault in (f"error={CALLS[call]}", "signal=SIGKILL", "signal=SIGTERM", "signal=SIGHUP", "signal=SIGINT"):
                if chance.random() > share:
                    continue
                done = stage.run("-e", f"inject={call}:{fault}:when={k}")
                injected += 1
                wrong = stage.verdict(done, "signal" in fault, may_leave="KILL" in fault or call == "unlink")
                count.check(not wrong, f"{stage.name}: {call} {k} of {times}, {fault}", wrong)


def random_ends(stage):
    global killed_at_random
    start = time.time()
    stage.run()
    took = time.time() - start
    for _ in range(max(1, round(40 * share))):
        stage.reset()
        end = chance.choice((signal.SIGKILL, signal.SIGTERM, signal.SIGINT, signal.SIGHUP))
        with subprocess.Popen(command(stage.name, stage.file), stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as job:
            time.sleep(chance.random() * took)
            job.send_signal(end)
            job.communicate(timeout=120)
        killed_at_random += 1
        same = stage.content() in (OLD, stage.new)
        # an interrupted answer that says it is one may have come; it ends with 130
        count.check(same or (job.returncode == 130 and end == signal.SIGINT), f"{stage.name}: {end.name} at some moment", job.returncode)
        count.check(not stage.left() or end == signal.SIGKILL, f"{stage.name}: nothing left after {end.name}", stage.left())


def little_memory(stage):
    """From what loading it takes to enough, in steps of 4 MiB."""
    global injected
    for mib in range(24, 28 + round(240 * share), 4):
        done = stage.run(before=lambda most=mib << 20: resource.setrlimit(resource.RLIMIT_AS, (most, most)))
        injected += 1
        wrong = stage.verdict(done) or ("a fault of the program" if b"terminate called" in done.stderr else "")
        count.check(not wrong, f"{stage.name} with {mib} MiB", wrong)


for name in WRITERS:
    writer = Stage(name)
    if can_trace():
        failing_calls(writer)
    random_ends(writer)
    little_memory(writer)
for last, stays in ((signal.SIGHUP, False), (signal.SIGKILL, True)):
    if chance.random() <= max(share, 0.1):
        count.check(*ended_amid_rows(last, stays))
print(f"{injected} system calls failed, killed or without memory, {killed_at_random} ends at random moments")
count.end()
