"""docs/stories.md: every story's readings are diagnosed, what the page shows is what the program says, and the fault the story is about is in the first
group. stories.py runs a few of them, slow_stories.py all (or the share EBB_SLOW_SHARE).

    slow_stories.py PROGRAM              compares
    slow_stories.py PROGRAM --rewrite    writes what the program says now into the page"""
import json
import os
import re
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
from _program import PROGRAM, Count  # noqa: E402

ROOT = os.environ["EBB_SOURCE_DIR"]
PAGE = os.path.join(ROOT, "docs", "stories.md")
count = Count()
folder = tempfile.TemporaryDirectory()


def said(command, readings):
    """What the command of the page says, run in the project's folder with the readings of the story."""
    with open(os.path.join(folder.name, "story.xml"), "w", encoding="utf-8") as file:
        file.write(readings)
    command = re.sub(r"^ebbwright\b", f'"{os.path.abspath(PROGRAM)}"', command).replace(" story.xml", f" {folder.name}/story.xml")
    return subprocess.run(["bash", "-c", command], cwd=ROOT, env={**os.environ, "LC_ALL": "C.UTF-8"}, capture_output=True, encoding="utf-8", check=False, timeout=120)


def check_page(wanted):
    """Runs the stories of which `wanted(number in the page)` is true."""
    with open(PAGE, encoding="utf-8") as file:
        sections = re.split(r"(?m)^(?=## )", file.read())
    stories = 0
    for index, section in enumerate(sections):
        command = re.search(r"(?m)^    \$ (ebbwright .*)$", section)
        if not command:
            continue
        stories += "<!-- first:" in section
        if not wanted(index):
            continue
        title = section.split("\n", 1)[0]
        xml = re.search(r"```xml\n(.*?)```", section, re.S)
        shown = re.search(r"(?m)^    \$ ebbwright .*\n((?:    .*\n|\n(?=    ))*)", section)
        done = said(command.group(1), xml.group(1) if xml else "")
        now = "".join(("    " + line).rstrip() + "\n" for line in done.stdout.rstrip("\n").split("\n"))
        count.check(shown.group(1) == now, f"{title}: the page shows what the program says", now + done.stderr)
        sections[index] = section[:shown.start(1)] + now + section[shown.end(1):]
        first = re.search(r"<!-- first: (.*?) -->", section)
        if not first:
            continue
        layout = command.group(1).split()[2]
        answer = json.loads(said(f"ebbwright diagnose {layout} story.xml --format json", xml.group(1)).stdout)
        group = [" + ".join(f"{f['kind']} {f['at']}" for f in answer["explanations"][e]["faults"]) for e in answer["ties"][0]["explanations"]]
        count.check(any(kind in group for kind in first.group(1).split(", ")), f"{title}: {first.group(1)} comes first", group)
        count.check(answer["verdict"] == "one-fault", f"{title}: one fault explains it", answer["says"])
    if "--rewrite" in sys.argv:
        with open(PAGE, "w", encoding="utf-8") as file:
            file.write("".join(sections))
        print("the page is rewritten")
        sys.exit(0)
    count.check(stories >= 20, "all the stories are there", stories)
    count.end()
