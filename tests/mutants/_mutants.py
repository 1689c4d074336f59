"""The errors: those in the lists, and those made by rule. Part of `run` and of the test that keeps the lists true."""

import dataclasses
import pathlib
import random
import re
import zlib

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parent.parent

# Which tests are asked, in this order; {stem} is the file's name. A room's own come first: they are the quickest.
ROOMS = {
    "physics": ["physics/{stem}_test", "physics", "property/slopes_test", "settle", "network"],
    "units": ["netfiles/units_test", "netfiles/display_test", "netfiles/everyday_test", "netfiles"],
    "network": ["settle", "network", "property/derivatives_test", "property/slopes_test", "property/promises_test", "time", "property/uniqueness_test",
                "oracle/random_networks.py", "property/edges_test"],
    "settle": ["settle", "property/promises_test", "property/certainty_test", "time", "oracle/worked_examples.py", "cli/answers.py",
               "cli/contract.py", "oracle/random_networks.py", "survey", "property/lanes_test", "property/edges_test", "cli/stories.py"],
    "time": ["time", "property/siphon_window_test", "property/in_time_test", "cli/events", "cli/cycle.py", "oracle/cycles.py", "cli/stories.py"],
    "survey": ["survey", "property/lanes_test", "property/survey_test", "property/uncertain_test", "cli/survey.py", "cli/uncertain.py"],
    "choose": ["choose/{stem}_test", "choose/pump_choice_test", "choose/sizing_evaluator_test", "choose/pump_examples_test",
               "choose/sizing_exact_test", "choose", "property/bound_test", "cli/pumps.py", "cli/pipes.py", "cli/balance.py"],
    "diagnose": ["diagnose/fault_test", "diagnose/scales_test", "diagnose/calibrate_test", "diagnose", "cli/diagnose.py", "cli/calibrate.py"],
}
# Where a room's formulas stand, for the errors made by rule.
FILES = {
    "physics": ["solver/physics/*.cpp"],
    "units": ["netfiles/units.cpp", "netfiles/scale.cpp"],
    "network": ["solver/network/laws.cpp", "solver/network/newton.cpp", "solver/network/level_system.cpp", "solver/network/header_tees.cpp",
                "solver/network/kinks.cpp"],
    "settle": ["solver/settle/heads.cpp", "solver/settle/ledger.cpp", "solver/settle/taking.cpp", "solver/settle/march.cpp",
               "solver/settle/certainty.cpp", "solver/settle/fill_answer.cpp", "solver/settle/verify.cpp", "solver/settle/judge.cpp",
               "solver/settle/levels.cpp"],
    "time": ["solver/time/*.cpp"],
    "survey": ["solver/survey/*.cpp"],
    "choose": ["solver/choose/*.cpp"],
    "diagnose": ["solver/diagnose/*.cpp"],
}
# A header's errors are compiled into this one of the sources that include it: the tests compare all sets of instructions with one another.
HEADER_COMPILES = "solver/survey/lane_kernel_baseline.cpp"


class Stale(Exception):
    """A list no longer fits the sources."""


@dataclasses.dataclass
class Mutant:
    room: str
    name: str
    file: str
    right: str
    wrong: str
    asks: list
    compiles: list
    equivalent: str = ""  # why no test can see it
    made_by_rule: bool = False
    place: int = -1  # where in the file, for those made by rule

    def wrong_text(self):
        text = (ROOT / self.file).read_text()
        if self.place >= 0:
            return text[: self.place] + self.wrong + text[self.place + len(self.right):]
        times = text.count(self.right)
        if times != 1:
            raise Stale(f"{self.room}.txt: {self.name}: its text stands {times} times in {self.file}, not once")
        return text.replace(self.right, self.wrong)


def asks_of(room, file, first):
    asks = list(first)
    for ask in ROOMS[room]:
        ask = ask.replace("{stem}", pathlib.Path(file).stem)
        if ask not in asks and (ask.endswith(".py") or "/" not in ask or (ROOT / "tests" / f"{ask}.cpp").exists()):
            asks.append(ask)
    return asks


def by_hand():
    """Every error of the lists. A block of a list:

        = what is wrong, in words
        in solver/physics/friction.cpp
        ask physics/friction_test        (a test to ask first; may be left out)
        seen-by-none why                 (only where no test can see it)
        - the right text                 (once in the file; more lines are joined)
        + the wrong one
    """
    mutants = []
    for room in ROOMS:
        path = HERE / f"{room}.txt"
        if not path.exists():
            continue
        for block in ("\n" + path.read_text()).split("\n= ")[1:]:
            lines = block.split("\n")
            part = {"in": [], "ask": [], "seen-by-none": [], "compile": [], "-": [], "+": []}
            for line in lines[1:]:
                word, _, rest = line.partition(" ")
                if not line or word == "#":
                    continue
                if word not in part:
                    raise Stale(f"{room}.txt: {lines[0]}: {line!r} is not understood")
                part[word].append(rest)
            if len(part["in"]) != 1 or not part["-"]:
                raise Stale(f"{room}.txt: {lines[0]}: needs one `in` and the right text")
            file = part["in"][0]
            compiles = part["compile"] or ([HEADER_COMPILES] if file.endswith(".h") else [file])
            mutants.append(Mutant(room, lines[0], file, "\n".join(part["-"]), "\n".join(part["+"]), asks_of(room, file, part["ask"]), compiles,
                                  " ".join(part["seen-by-none"])))
    return mutants


SWAPS = [(" + ", " - "), (" - ", " + "), (" * ", " / "), (" / ", " * "), (" < ", " <= "), (" <= ", " < "), (" > ", " < "), (" >= ", " > "),
         (" < ", " > "), (" && ", " || "), (" || ", " && "), (" += ", " -= "), (" -= ", " += "), ("std::max(", "std::min("), ("std::min(", "std::max(")]
NOT_FORMULAS = re.compile(r"^\s*(//|#|assert|static_assert|template|using|throw|warn\()|std::string|\"|reserve\(")
LITERAL = re.compile(r"(?<![\w.])\d+\.\d+(e-?\d+)?(?![\w.])")
STATEMENT = re.compile(r"^\s+[a-z_][\w.\[\]()>-]* (?:[-+*/]?=) .*;$")


def possible(file):
    """Every error that a rule makes in this file: place, right, wrong."""
    text = (ROOT / file).read_text()
    place = 0
    for number, line in enumerate(text.splitlines(keepends=True), 1):
        code = line.split("//")[0].rstrip("\n")
        if not NOT_FORMULAS.search(line):
            for right, wrong in SWAPS:
                at = code.find(right)
                while at >= 0:
                    if not (right in (" < ", " > ") and "template" in code):
                        yield number, place + at, right, wrong
                    at = code.find(right, at + 1)
            for match in LITERAL.finditer(code):
                value = float(match.group(0))
                yield number, place + match.start(), match.group(0), repr(1.01 * value) if value else "0.01"
            if STATEMENT.match(code) and not re.match(r"^\s+(const|double|auto|std::)", code):
                yield number, place + len(code) - len(code.lstrip()), code.strip(), ";"
        place += len(line)


def reasons():
    """What no test can see of the errors made by rule: file, right line, wrong line -> why. Kept in seen_by_none.txt."""
    path = HERE / "seen_by_none.txt"
    known = {}
    if path.exists():
        for block in path.read_text().split("\n\n"):
            lines = [line for line in block.split("\n") if line and not line.startswith("#")]
            if not lines:
                continue
            if len(lines) != 4 or not lines[1].startswith("- ") or not lines[2].startswith("+ "):
                raise Stale(f"seen_by_none.txt: {lines[0]}: a block is a file, `- right line`, `+ wrong line`, a reason")
            known[lines[0], lines[1][2:].strip(), lines[2][2:].strip()] = lines[3]
    return known


def by_rule(room, how_many, seed):
    known = reasons()
    files = sorted(str(path.relative_to(ROOT)) for pattern in FILES[room] for path in ROOT.glob(pattern))
    every = [(file, *each) for file in files for each in possible(file)]
    draw = random.Random(zlib.crc32(f"{room} {seed}".encode()))
    mutants = []
    for file, number, place, right, wrong in draw.sample(every, min(how_many, len(every))):
        text = (ROOT / file).read_text()
        start, end = text.rfind("\n", 0, place) + 1, text.find("\n", place)
        was = text[start:end].strip()
        now = (text[start:place] + wrong + text[place + len(right): end]).strip()
        mutants.append(Mutant(room, f"{file}: {was}  ->  {now}", file, right, wrong, asks_of(room, file, []), [file],
                              known.get((file, was, now), ""), True, place))
    return mutants
