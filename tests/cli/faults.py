"""Faults from outside, on every command that writes: a full disk, system calls that fail, ends by signals, closed descriptors, little memory, no threads,
odd files. Nothing is ever lost: the file of results is what it was or what it was to be. (slow_faults.py does the whole sweep.)"""
import json
import os
import resource
import signal
import stat
import subprocess
import tempfile
import time

from _faults import EXAMPLES, FARM, FIRST, MANY, OLD, QUICK, WRITERS, Stage, can_trace, command, ended_amid_rows
from _program import PROGRAM, Count, layout, run

count = Count()
check = count.check
injected = 0


def small_disk():
    """A file may not grow beyond 16 bytes: RLIMIT_FSIZE answers as a full disk does."""
    global injected
    for name in QUICK:
        stage = Stage(name)
        done = stage.run(before=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (16, 16)))
        injected += 1
        check(not stage.verdict(done) and done.returncode in (2, 3) and b"cannot write to" in done.stderr, f"{name}: no room", (stage.verdict(done), done.stderr))


def failing_calls():
    """Each call that writes fails once, and the program is killed at it once."""
    global injected
    if not can_trace():
        print("system calls are not made to fail: strace is not there, or not allowed")
        return
    for name in ("check", "survey each", "balance write"):
        stage = Stage(name)
        for call, times in stage.calls("write,fsync,fchmod,rename").items():
            for k in range(1, times + 1):
                for fault, killed in (("error=ENOSPC", False), ("signal=SIGKILL", True), ("signal=SIGTERM", True)):
                    done = stage.run("-e", f"inject={call}:{fault}:when={k}")
                    injected += 1
                    wrong = stage.verdict(done, killed, may_leave=fault == "signal=SIGKILL")
                    check(not wrong, f"{name}: {call} {k} of {times}, {fault}", wrong)


def standard_output():
    """A full device, a reader that is gone, and no standard output at all."""
    global injected
    for name in QUICK:
        words = command(name, os.devnull)
        if "--output" in words:
            words = words[:-2]
        with open("/dev/full", "wb") as full:
            done = subprocess.run(words, stdout=full, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, check=False)
        if "--output" in WRITERS[name]:
            check(done.returncode == 2 and done.stderr.startswith(b"ebbwright: cannot write"), f"{name} > /dev/full", (done.returncode, done.stderr))
        reader, writer = os.pipe()
        os.close(reader)
        done = subprocess.run(words, stdout=writer, stderr=subprocess.PIPE, stdin=subprocess.DEVNULL, check=False)
        os.close(writer)
        check(done.returncode == 0 and b"cannot" not in done.stderr, f"{name} into a closed pipe", (done.returncode, done.stderr))
        injected += 2
    for closing, expected in ((">&-", 2), ("<&-", 0), ("2>&-", 0), ("<&- >&- 2>&-", 2)):
        done = subprocess.run(["sh", "-c", f'"$0" flows "$1" {closing}', PROGRAM, FIRST], capture_output=True, check=False)
        check(done.returncode == expected, f"flows {closing}", (done.returncode, done.stderr))
        injected += 1


def closed_descriptors_and_files():
    """With standard error closed no message finds its way into the file that took its number."""
    with tempfile.TemporaryDirectory() as folder:
        file = os.path.join(folder, "out.json")
        words = 'exec "$0" survey "$1" --switch VB1 --each "$2.csv" --output "$2" '
        for closing in ("", "2>&-", ">&-", "<&- >&- 2>&-"):
            subprocess.run(["sh", "-c", words + closing, PROGRAM, FARM, file], check=False, capture_output=True)
            with open(file, encoding="utf-8") as written, open(file + ".csv", encoding="utf-8") as rows:
                text = written.read(), rows.read()
            if closing == "":
                whole = text
            check(text == whole, f"files written {closing}", text[0][:200])
            os.remove(file)
            os.remove(file + ".csv")


def kinds_of_outputs():
    """Links, pipes, devices, standard output by name, modes; a temporary that a killed run left."""
    with tempfile.TemporaryDirectory() as folder:
        pipe, file = os.path.join(folder, "pipe"), os.path.join(folder, "file")
        os.mkfifo(pipe)
        reading = subprocess.Popen(["cat", pipe], stdout=subprocess.PIPE)
        done = run("catalogue", "--output", pipe)
        text, _ = reading.communicate(timeout=60)
        check(done.returncode == 0 and stat.S_ISFIFO(os.stat(pipe).st_mode) and text.decode() == run("catalogue").stdout, "a named pipe is written to")
        with open(file, "wb") as before:
            before.write(OLD)
        with open(file, "ab") as appended:
            done = subprocess.run([PROGRAM, "catalogue", "--output", "/dev/stdout"], stdout=appended, stderr=subprocess.PIPE, check=False)
        with open(file, "rb") as now:
            check(now.read() == OLD + text and done.returncode == 0, "--output /dev/stdout >> FILE adds to it", done.stderr)
        os.chmod(file, 0o640)
        run("catalogue", "--output", file)
        check(stat.S_IMODE(os.stat(file).st_mode) == 0o640, "the mode stays")
        left, young, other = (os.path.join(folder, f".{name}.part-0123456789abcde{k}") for name, k in (("file", 1), ("file", 2), ("fil", 3)))
        for name in (left, young, other):
            with open(name, "w", encoding="utf-8") as stray:
                stray.write("half")
            os.utime(name, (time.time() - 3600,) * 2 if name != young else None)
        run("catalogue", "--output", file)
        check(not os.path.exists(left) and os.path.exists(young) and os.path.exists(other), "what a killed run left is taken away, what may be in use is not",
              os.listdir(folder))
        long = os.path.join(folder, "n" * 250)
        check(run("catalogue", "--output", long).returncode == 0 and os.path.exists(long), "a name as long as one may be")


def ended_by_signals():
    """While 64 MiB of rows stand in a temporary, an end from outside takes it away (slow_faults.py: the other ends)."""
    check(*ended_amid_rows(signal.SIGTERM, False))


def little_memory():
    """Whatever the memory, an answer or a sentence; the same without threads."""
    global injected
    whole = run("survey", FARM, "--switch", "VB1 VB2 VB3").stdout
    for mib in (24, 48, 96, 256):
        for words in (["flows", FARM], ["survey", FARM, "--switch", "VB1 VB2 VB3"], ["diagnose", FIRST, os.path.join(EXAMPLES, "first_readings.xml")]):
            bytes_ = mib << 20
            done = subprocess.run([PROGRAM, *words], capture_output=True, stdin=subprocess.DEVNULL, check=False,
                                  preexec_fn=lambda most=bytes_: resource.setrlimit(resource.RLIMIT_AS, (most, most)))
            injected += 1
            check(done.returncode in (0, 4, 127) and (done.returncode == 0 or (done.stderr and b"terminate" not in done.stderr)),
                  f"{words[0]} with {mib} MiB", (done.returncode, done.stderr[:300]))
            if done.returncode == 0 and words[0] == "survey":
                check(done.stdout.decode() == whole, "and with less memory the same answer")


def no_threads():
    """A user who may start no further process gets the same answers from one thread."""
    if os.geteuid() != 0:
        return
    nobody = 65534

    def alone():
        os.setgid(nobody)
        os.setuid(nobody)
        resource.setrlimit(resource.RLIMIT_NPROC, (0, 0))

    try:
        readable = subprocess.run(["cat", FARM, PROGRAM], preexec_fn=lambda: os.setuid(nobody), capture_output=True, check=False).returncode == 0
    except subprocess.SubprocessError:
        readable = False
    if not readable:
        return
    for words in (["flows", FARM], ["survey", FARM, "--switch", MANY[:23], "--format", "json"], ["flows", FIRST, "--uncertain", "--samples", "64"],
                  ["diagnose", FIRST, os.path.join(EXAMPLES, "first_readings.xml")]):
        done = subprocess.run([PROGRAM, *words], preexec_fn=alone, capture_output=True, stdin=subprocess.DEVNULL, check=False, timeout=120)
        check(done.returncode == 0 and done.stdout.decode() == run(*words).stdout, f"{words[0]} without threads", (done.returncode, done.stderr[:300]))


def rows_that_cannot_go_out():
    """The one who takes rows fails in the middle: the threads that solve are not left waiting."""
    done = run("survey", FARM, "--switch", MANY, "--each", "/dev/full", timeout=60)
    check(done.returncode == 2 and "No space left" in done.stderr, "rows to a full device", done.stderr)
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run([PROGRAM, "survey", FARM, "--switch", MANY, "--format", "csv"], stdout=writer, stderr=subprocess.PIPE, check=False, timeout=60)
    os.close(writer)
    check(done.returncode == 0 and not done.stderr, "rows to a reader that went away", (done.returncode, done.stderr))


def odd_layouts():
    """What is no layout is said to be none, soon."""
    with tempfile.TemporaryDirectory() as folder:
        def file(name, text):
            with open(os.path.join(folder, name), "w", encoding="utf-8") as out:
                out.write(text)
            return os.path.join(folder, name)

        pipe, sparse = os.path.join(folder, "pipe"), os.path.join(folder, "sparse.xml")
        os.mkfifo(pipe)
        with open(sparse, "wb") as big:
            big.truncate((1 << 30) + 1)
        bomb = '<!DOCTYPE l [<!ENTITY a "x"><!ENTITY b "&a;&a;">]><layout name="&b;"/>'
        chain = "".join(f'<arrangement name="a{i}" based-on="a{i - 1}"/>' if i else '<arrangement name="a0"/>' for i in range(4000))
        for name in (pipe, sparse, "/dev/zero", folder, file("bomb.xml", bomb), file("self.xml", '<layout name="x"><include file="self.xml"/></layout>'),
                     file("deep.xml", "<layout>" * 100000), file("chain.xml", f'<layout name="x">{chain}</layout>'),
                     file("name.xml", f'<layout name="x"><tank id="{"n" * 1000000}"/></layout>')):
            start = time.time()
            done = run("check", name, timeout=60)
            check(done.returncode == 3 and (done.stdout + done.stderr) and len(done.stderr) < 200000, f"check {os.path.basename(name)}", (done.returncode, done.stderr[:300]))
            check(time.time() - start < 20, f"soon: {os.path.basename(name)}", time.time() - start)


def kept_surveys():
    """Interrupted and gone on with, a survey says to the byte what it would have said; what does not belong is refused."""
    with tempfile.TemporaryDirectory() as folder:
        keep, rows, out = (os.path.join(folder, name) for name in ("keep.json", "rows.csv", "out.json"))
        asked = ["survey", FARM, "--switch", MANY, "--threads", "1", "--format", "json", "--output", out, "--each", rows]
        check(run(*asked).returncode == 0, "the whole survey")
        whole = [open(name, "rb").read() for name in (out, rows)]
        os.remove(out), os.remove(rows)
        kept = asked + ["--keep", keep, "--keep-every", "0"]
        ends = []
        for end, wait in ((signal.SIGTERM, 0.1), (signal.SIGKILL, 0.2), (signal.SIGINT, 0.2)):
            with subprocess.Popen([PROGRAM, *kept], stderr=subprocess.PIPE, stdout=subprocess.DEVNULL) as job:
                limit = time.time() + 30
                before = os.stat(keep).st_mtime_ns if os.path.exists(keep) else 0
                while job.poll() is None and time.time() < limit and (not os.path.exists(keep) or os.stat(keep).st_mtime_ns == before):
                    time.sleep(0.005)
                time.sleep(wait / 10)
                job.send_signal(end)
                _, said = job.communicate(timeout=60)
            ends.append((job.returncode, json.load(open(keep, encoding="utf-8"))["survey_part"]["end"]))
            check(not os.path.exists(rows) or open(rows, "rb").read() == whole[1], f"after {end.name} no rows that are not whole")
        check(all(end in (130, 0, -signal.SIGKILL) for end, _ in ends) and ends[0][1] <= ends[1][1] <= ends[2][1], "each goes on from the last", ends)
        check(ends[0][1] < 32768, "it was interrupted", ends)
        for text in ("changed question", "another arrangement"):
            other = kept[:3] + [MANY + (" VN4" if text == "changed question" else "")] + kept[4:] + (["--arrangement", "night"] if "arr" in text else [])
            done = run(*other)
            check(done.returncode == 3 and "holds another survey" in done.stderr, f"{text} is refused", done.stderr)
        done = run(*kept)
        check(done.returncode == 0 and [open(name, "rb").read() for name in (out, rows)] == whole, "to the byte what one run says", done.stderr)
        check(run(*kept).returncode == 0 and open(out, "rb").read() == whole[0], "kept to its end, it answers again")
        with open(keep + ".rows", "r+b") as changed:
            changed.seek(1000)
            changed.write(b"#")
        check("not as they were written" in run(*kept).stderr, "rows that were changed are refused")
        with open(keep, "w", encoding="utf-8") as cut:
            cut.write("{")
        check(run(*kept).returncode == 3, "half a kept file is refused")
        check("where results go" in run(*asked, "--keep", out).stderr, "results are not written over what is kept")


for test in (small_disk, failing_calls, standard_output, closed_descriptors_and_files, kinds_of_outputs, ended_by_signals, little_memory, no_threads,
             rows_that_cannot_go_out, odd_layouts, kept_surveys):
    begin = time.time()
    test()
    print(f"{test.__name__}: {time.time() - begin:.1f} s")
print(f"{injected} faults")
count.end()
