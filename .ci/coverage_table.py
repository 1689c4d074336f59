"""coverage_table.py BUILD            lines and branches reached, per folder and in all
coverage_table.py BUILD FOLDER     the lines of FOLDER that no test reached

BUILD is a folder with the counts of programs that were built with `--coverage` and run; they are read with gcov. Branches to the handlers of
exceptions, which nearly every call has, are left out. A line of a template is reached where one of its instances is."""
import collections
import concurrent.futures
import json
import os
import pathlib
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parent.parent
ROOMS = ("solver", "netfiles", "cli")


def counted(counts):
    """What gcov tells of one file of counts: {source: {line: (count, [branch counts])}}, of the project's own sources only."""
    told = subprocess.run(["gcov", "--json-format", "--stdout", "--branch-probabilities", counts], stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, check=False).stdout
    found = {}
    for text in told.splitlines():
        unit = json.loads(text)
        for file in unit["files"]:
            source = os.path.relpath(os.path.join(unit["current_working_directory"], file["file"]), ROOT)
            if source.split("/")[0] not in ROOMS:
                continue
            lines = found.setdefault(source, {})
            for line in file["lines"]:
                branches = [branch["count"] for branch in line["branches"] if not branch["throw"]]
                count, known = lines.get(line["line_number"], (0, []))
                lines[line["line_number"]] = (count + line["count"], together(known, branches))
    return found


def together(one, other):
    """Branch counts of a line that is in two places (a template, an inline function): added where they are the same branches."""
    if len(one) == len(other):
        return [a + b for a, b in zip(one, other)]
    return max(one, other, key=len)


def ranges(numbers):
    """1 2 3 7 -> "1-3 7"."""
    found = []
    for number in sorted(numbers):
        if found and number == found[-1][1] + 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return " ".join(str(a) if a == b else f"{a}-{b}" for a, b in found)


def percent(hit, of):
    return f"{100.0 * hit / of:6.1f} %" if of else "     -  "


def main():
    counts = sorted(str(path) for path in pathlib.Path(sys.argv[1]).rglob("*.gcda"))
    if not counts:
        raise SystemExit(f"{sys.argv[1]}: no counts; build it with the preset \"coverage\" and run its tests")
    files = {}
    with concurrent.futures.ThreadPoolExecutor(os.cpu_count()) as pool:
        for found in pool.map(counted, counts):
            for source, lines in found.items():
                known = files.setdefault(source, {})
                for number, (count, branches) in lines.items():
                    before, branches_before = known.get(number, (0, []))
                    known[number] = (before + count, together(branches_before, branches))
    if len(sys.argv) > 2:
        wanted = sys.argv[2].rstrip("/") + "/"
        for source in sorted(files):
            missed = [number for number, (count, _) in files[source].items() if not count]
            if source.startswith(wanted) and missed:
                print(f"{source}: {ranges(missed)}")
        return
    sums = collections.defaultdict(lambda: [0, 0, 0, 0])
    for source, lines in files.items():
        folder = os.path.dirname(source)
        for key in (folder, folder.split("/")[0] + " in all"):
            total = sums[key]
            for count, branches in lines.values():
                total[0] += count > 0
                total[1] += 1
                total[2] += sum(branch > 0 for branch in branches)
                total[3] += len(branches)
    print(f"{'folder':24} {'lines':>7}  {'reached':>8}  {'branches':>8}  {'reached':>8}")
    for key in sorted(sums):
        lines_hit, lines, branches_hit, branches = sums[key]
        print(f"{key:24} {lines:7}  {percent(lines_hit, lines)}  {branches:8}  {percent(branches_hit, branches)}")


main()
