"""The pages that are looked at, each made when it is first asked for, and the frame of a test of them."""
import functools
import os
import shutil
import tempfile
import time

import html5lib

import _hostile
from _browser import Browser
from _program import HERE, Count, run

EXAMPLES = os.path.abspath(os.path.join(HERE, "..", "..", "examples"))
FARM, FIRST = os.path.join(EXAMPLES, "farm.xml"), os.path.join(EXAMPLES, "first.xml")
HOSTILE = {"markup": _hostile.markup, "long_names": _hostile.long_names, "one_vessel": _hostile.one_vessel, "absurd_elevations": _hostile.absurd_elevations,
           "three_hundred": _hostile.three_hundred}
ASKED = {"farm": (FARM,), "beds": (FARM, "--switch", "B1 B2 B3 B4 B5 B6"), "us": (FARM, "--units", "us"), "first": (FIRST,), "inserts": (FIRST, "--switch", "OB VB P1")}
count = Count()
check = count.check


def read(path):
    with open(path, encoding="utf-8") as file:
        return file.read()


class Pages:
    def __init__(self, folder):
        self.folder = folder
        shutil.copytree(os.path.join(EXAMPLES, "catalogue"), os.path.join(folder, "catalogue"))

    def path(self, name):
        return os.path.join(self.folder, name)

    def written(self, name, text):
        with open(self.path(name), "w", encoding="utf-8") as file:
            file.write(text)
        return self.path(name)

    def arguments(self, name):
        """What makes a page, as arguments of the program."""
        layout = ASKED[name] if name in ASKED else (self.written(name + ".xml", HOSTILE[name]()),)
        return ["report", *layout, "--output", self.path(name + ".html")]

    @functools.cache
    def made(self, name):
        done = run(*self.arguments(name))
        check(done.returncode == 0 and not done.stderr, f"report {name} ends with 0 and says nothing", (done.returncode, done.stderr))
        return self.path(name + ".html")


def is_html(pages, name):
    try:
        html5lib.HTMLParser(strict=True).parse(read(pages.made(name)))
        wrong = ""
    except html5lib.html5parser.ParseError as error:
        wrong = str(error)
    check(not wrong, f"{name}: HTML without a mistake", wrong)


def look(steps):
    """Does the steps, a function (browser, pages) each by its name, and ends with the tally."""
    started = last = time.monotonic()
    with tempfile.TemporaryDirectory() as folder:
        pages, browser = Pages(folder), Browser(folder)
        try:
            for name, step in steps.items():
                step(browser, pages)
                print(f"{name}: {time.monotonic() - last:.1f} s")
                last = time.monotonic()
        finally:
            browser.close()
    print(f"altogether {time.monotonic() - started:.0f} s")
    count.end()
