"""coverage_table.py COVERAGE.json            lines and branches reached, per folder and in all
coverage_table.py COVERAGE.json FOLDER     the lines of FOLDER that no test reached

The file is what `gcovr --json` writes."""
import collections
import json
import os
import sys


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
    with open(sys.argv[1], encoding="utf-8") as stream:
        files = json.load(stream)["files"]
    if len(sys.argv) > 2:
        wanted = sys.argv[2].rstrip("/") + "/"
        for file in files:
            missed = [line["line_number"] for line in file["lines"] if not line["count"] and not line.get("gcovr/noncode")]
            if file["file"].startswith(wanted) and missed:
                print(f"{file['file']}: {ranges(missed)}")
        return
    sums = collections.defaultdict(lambda: [0, 0, 0, 0])
    for file in files:
        folder = os.path.dirname(file["file"])
        for key in (folder, folder.split("/")[0] + " in all"):
            total = sums[key]
            for line in file["lines"]:
                if line.get("gcovr/noncode"):
                    continue
                total[0] += line["count"] > 0
                total[1] += 1
                total[2] += sum(branch["count"] > 0 for branch in line["branches"])
                total[3] += len(line["branches"])
    print(f"{'folder':24} {'lines':>7}  {'reached':>8}  {'branches':>8}  {'reached':>8}")
    for key in sorted(sums):
        lines_hit, lines, branches_hit, branches = sums[key]
        print(f"{key:24} {lines:7}  {percent(lines_hit, lines)}  {branches:8}  {percent(branches_hit, branches)}")


main()
