"""The pages of the project: every relative link leads to a file, and to a heading of it where it names one; every command line a page offers names a script that is there and can
be run, and no text names a folder of somebody's own machine. The checks are first shown text that breaks them.

Run by ctest as: python3 pages.py PROGRAM (the program is not needed)
"""

import os
import pathlib
import re
import sys

LINK = re.compile(r"\[[^\]]*\]\(([^)#\s]*)(?:#([^)\s]*))?\)")
SCRIPT = re.compile(r"(?<![\w/.])(?:\./)?((?:\.ci|tests|examples)/[a-z_]+)(?![\w/.*<-])")
OWN_FOLDER = re.compile(r"(?<![\w.$}/*])/(?:home|root|work|Users)/\w")
TEXTS = {".cpp", ".h", ".md", ".py", ".sh", ".xml", ".xsd", ".cmake", ".txt", ".json", ".csv", ".in", ""}
ROOMS = (".ci", "solver", "netfiles", "cli", "tests", "examples", "docs")


def without_code_blocks(text):
    return re.sub(r"^```.*?^```", "", text, flags=re.S | re.M)


def anchors(text):
    """What the headings of a page are called in links, as the usual viewers of Markdown make it."""
    found = set()
    for heading in re.findall(r"^#+ +(.*?) *#*$", without_code_blocks(text), re.M):
        plain = re.sub(r"\[([^\]]*)\]\([^)]*\)", r"\1", heading)
        slug = re.sub(r"[^\w\- ]", "", plain.lower()).replace(" ", "-")
        while slug in found:
            slug += "-1"
        found.add(slug)
    return found


def broken_links(root, page):
    for target, anchor in LINK.findall(without_code_blocks(page.read_text(encoding="utf-8"))):
        if re.match(r"[a-z]+:", target):
            continue
        there = page.parent / target if target else page
        if not there.exists():
            yield f"{page.relative_to(root)}: link to {target}, which is not there"
        elif anchor and there.suffix == ".md" and anchor not in anchors(there.read_text(encoding="utf-8")):
            yield f"{page.relative_to(root)}: link to {target}#{anchor}, and there is no such heading"


def broken_scripts(root, page):
    for name in sorted(set(SCRIPT.findall(page.read_text(encoding="utf-8")))):
        path = root / name
        if path.is_dir():
            continue
        if not path.is_file():
            yield f"{page.relative_to(root)}: names {name}, which is not there"
        elif not os.access(path, os.X_OK) and path.suffix == "" and path.name != "setup":
            yield f"{page.relative_to(root)}: names {name}, which cannot be run"


def own_folders(name, text):
    for number, line in enumerate(text.splitlines(), 1):
        if OWN_FOLDER.search(line):
            yield f"{name}:{number}: names a folder of one machine"


def pages(root):
    yield root / "README.md"
    yield root / "DEVELOPERS.md"
    yield from sorted((root / "docs").glob("*.md"))


def texts(root):
    for room in ROOMS:
        for path in sorted((root / room).rglob("*")):
            if path.is_file() and path.suffix in TEXTS and "__pycache__" not in path.parts and path.stat().st_size < 2_000_000:
                yield path
    yield from (root / name for name in ("README.md", "DEVELOPERS.md", "CMakeLists.txt"))


def check_the_checks(root):
    import tempfile

    failures = []
    if not list(own_folders("x", "see /ho" + "me/someone/notes")):
        failures.append("own_folders sees nothing")
    if list(own_folders("x", "https://example.org/home/page and ./work/x")):
        failures.append("own_folders refuses what is no folder of a machine")
    with tempfile.TemporaryDirectory() as folder:
        page = pathlib.Path(folder) / "README.md"
        page.write_text("## A `b` -- c\n[a](nowhere.md) and ./tests/nothing and [b](https://example.org), [c](#a-b----c), [d](README.md#nothing)\n", encoding="utf-8")
        if len(list(broken_links(pathlib.Path(folder), page))) != 2:
            failures.append("broken_links does not see exactly the broken ones")
        if len(list(broken_scripts(pathlib.Path(folder), page))) != 1:
            failures.append("broken_scripts does not see exactly the missing one")
    return failures


def main():
    root = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
    complaints = check_the_checks(root)
    count = 0
    for page in pages(root):
        count += 1
        complaints += broken_links(root, page)
        complaints += broken_scripts(root, page)
    for path in texts(root):
        try:
            text = path.read_text(encoding="utf-8")
        except UnicodeDecodeError:
            continue  # deliberately broken input of a test
        complaints += own_folders(path.relative_to(root).as_posix(), text)
    print("\n".join(complaints + [f"{count} pages, {len(complaints)} complaints"]))
    return 1 if complaints else 0


if __name__ == "__main__":
    sys.exit(main())
