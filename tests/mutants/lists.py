#!/usr/bin/python3
"""The lists of deliberate errors fit the sources: every text to be replaced stands where the list says, once, and would change something; no two
errors are one. (Whether a test catches each is asked by slow_mutants.py.)"""

import sys

sys.dont_write_bytecode = True
import _mutants

LEAST = {"physics": 150, "units": 40, "network": 60, "settle": 45, "time": 40, "survey": 15, "choose": 12, "diagnose": 15}


def main():
    wrong = []
    seen = {}
    count = dict.fromkeys(_mutants.ROOMS, 0)
    for mutant in _mutants.by_hand():
        count[mutant.room] += 1
        try:
            text = mutant.wrong_text()
        except _mutants.Stale as stale:
            wrong.append(str(stale))
            continue
        if mutant.right == mutant.wrong:
            wrong.append(f"{mutant.room}.txt: {mutant.name}: right and wrong are the same")
        other = seen.setdefault((mutant.file, text, tuple(mutant.compiles)), mutant.name)
        if other != mutant.name:
            wrong.append(f"{mutant.room}.txt: {mutant.name}: is the same error as {other}")
        for name in mutant.compiles:
            if not (_mutants.ROOT / name).exists():
                wrong.append(f"{mutant.room}.txt: {mutant.name}: there is no {name}")
        for ask in mutant.asks:
            path = _mutants.ROOT / "tests" / (ask if ask.endswith(".py") or "/" not in ask else f"{ask}.cpp")
            if not path.exists():
                wrong.append(f"{mutant.room}.txt: {mutant.name}: there is no test {ask}")
    for room, least in LEAST.items():
        if count[room] < least:
            wrong.append(f"{room}.txt: {count[room]} errors, where there were {least}")
        if not _mutants.by_rule(room, 5, 1):
            wrong.append(f"no rule finds an error to make in {room}")
    names = [mutant.name for mutant in _mutants.by_hand()]
    wrong += [f"two errors are called {name}" for name in sorted(set(names)) if names.count(name) > 1]
    for file, right, _ in _mutants.reasons():
        if right not in [line.strip() for line in (_mutants.ROOT / file).read_text().splitlines()]:
            wrong.append(f"seen_by_none.txt: {file} has no line {right}")
    # the reader of the lists itself: a text that does not stand there is told
    stale = _mutants.Mutant("physics", "none", "solver/physics/water.cpp", "no such text", "", [], [])
    try:
        stale.wrong_text()
        wrong.append("a text that stands nowhere is not told")
    except _mutants.Stale:
        pass
    if wrong:
        sys.stderr.write("\n".join(wrong) + "\n")
        sys.exit(1)
    print(f"{len(names)} deliberate errors in {len(count)} lists, each at its place")


main()
