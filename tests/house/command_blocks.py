"""Every block of code in the pages is known, and tried: run here, or by the test that is named, or (the few of BY_HAND, each with a reason)
looked at in a cheaper way. A block that nothing here knows is a failure: whoever writes one says here how it is tried.

Also here: what stands in the prose as `ebbwright COMMAND --option` are commands and options that the program has.

Run by ctest as: python3 command_blocks.py PROGRAM
"""

import json
import os
import pathlib
import re
import shutil
import subprocess
import sys
import tempfile

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import readme  # noqa: E402
import tutorial  # noqa: E402
from slow_build_blocks import BLOCKS as BUILD_BLOCKS  # noqa: E402
from _blocks import ROOT, Block, blocks, blocks_of, pages  # noqa: E402

FORMULA_PAGES = ("docs/theory.md",)
ENVIRONMENT = {**os.environ, "LC_ALL": "C.UTF-8"}
# Blocks that build or test the whole project: tests/house/slow_build_blocks.py runs them in a copy of the project, but for those with a reason.
BY_HAND = {
    "./tests/run": "what .ci/run runs first of all",
    "./tests/run quick -R physics": "the same with a choice of ctest's",
    "./tests/run slow": "hours; the same script with another label",
    "./tests/run all": "hours; the same script without a label",
    "cmake --build build/sanitize": "half an hour; .ci/run builds the libraries of it, .ci/instruments all of it",
    "ctest --test-dir build/sanitize -L quick --output-on-failure": "needs that build; .ci/instruments runs it",
}
SLOWLY = [command for command, _ in BUILD_BLOCKS]


def run(command, folder, program):
    """A command of a page as a person would type it, `ebbwright` being the program."""
    bin_folder = os.path.join(folder, ".bin")
    if not os.path.isdir(bin_folder):
        os.mkdir(bin_folder)
        os.symlink(os.path.abspath(program), os.path.join(bin_folder, "ebbwright"))
    environment = {**ENVIRONMENT, "PATH": bin_folder + os.pathsep + os.environ["PATH"]}
    return subprocess.run(["bash", "-c", "set -o pipefail; " + command], cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, encoding="utf-8", check=False, timeout=300)


class Tried:
    """Tries blocks; keeps what is wrong, and what was tried how."""

    def __init__(self, program):
        self.program, self.failures, self.ways = program, [], {}
        self.folder = tempfile.mkdtemp()
        shutil.copytree(ROOT / "examples", os.path.join(self.folder, "examples"))
        os.mkdir(os.path.join(self.folder, "build"))
        os.symlink(os.path.abspath(program), os.path.join(self.folder, "build", "ebbwright"))
        for file in (ROOT / "examples").iterdir():  # pages that say `ebbwright flows farm.xml` are read beside the examples
            target = os.path.join(self.folder, file.name)
            if not os.path.exists(target):
                (shutil.copytree if file.is_dir() else shutil.copy)(file, target)

    def close(self):
        shutil.rmtree(self.folder)

    def say(self, block, says):
        self.failures.append(f"{block}\n    {says}")

    def ran(self, block, command):
        done = run(command, self.folder, self.program)
        if done.returncode != 0:
            self.say(block, f"'{command}' ends with {done.returncode}: {done.stdout[-400:]!r}")
        return done.stdout

    # ---- each way says whether it is its block, and tries it ----

    def shown_by_another_test(self, block):
        if not block.text().startswith("$ "):
            return None
        only = all(command.startswith("ebbwright ") for command in block.commands())
        if block.page == "README.md" and block.mark == "" and only:
            return "tests/house/readme.py" if readme.BLOCK.match("```\n" + block.text() + "\n```") else None
        if block.page == "docs/tutorial.md" and block.mark == "":
            return "tests/house/tutorial.py"
        if block.mark == "indented" and only and block.page in ("docs/commands.md", "docs/stories.md"):
            return "tests/cli/page.py" if block.page == "docs/commands.md" else "tests/cli/stories.py"
        if block.mark == "indented" and only and len(block.lines) == len(block.commands()):  # nothing shown: it says nothing
            for command in block.commands():
                if self.ran(block, command):
                    self.say(block, f"'{command}' says something, which the page leaves out")
            return "run here"
        return None

    def ebbwright_lines(self, block):
        commands = block.commands()
        if block.mark != "indented" or not any(re.search(r"\bebbwright (check|flows|survey|cycle|pumps|pipes|balance|diagnose|report|catalogue)\b", c) for c in commands):
            return None
        for command in commands:
            if command not in SLOWLY:
                if command.startswith("seq ") and not shutil.which("parallel"):
                    print(f"left out, as there is no parallel here: {command}")
                    return "left out"
                self.ran(block, command)
        return "run here"

    def whole_builds(self, block):
        if block.mark != "indented" or not all(c in BY_HAND or c in SLOWLY for c in block.commands()):
            return None
        return "tests/house/slow_build_blocks.py"

    def scripts_with_options(self, block):
        """Scripts that take long: each option must be one that the script's help names."""
        if block.mark != "indented" or not all(re.match(r"tests/mutants/run( |$)", c) for c in block.commands()):
            return None
        for command in block.commands():
            words = command.split()
            helped = subprocess.run([str(ROOT / words[0]), "--help"], cwd=ROOT, stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", check=False)
            for option in (word for word in words if word.startswith("--")):
                if option not in helped.stdout:
                    self.say(block, f"{words[0]} --help does not name {option}")
        return "options held against --help"

    def rewriting(self, block):
        """What writes pages anew would change this very folder. Without --rewrite the same scripts are tests."""
        lines = [re.match(r"EBB_SOURCE_DIR=\$PWD python3 (tests/[\w/]+\.py) build/ebbwright --rewrite$", c) for c in block.commands()]
        if block.mark != "indented" or not all(lines):
            return None
        for line in lines:
            script = ROOT / line.group(1)
            parts = [script, *script.parent.glob("_*.py")]
            if not script.is_file() or not any("--rewrite" in part.read_text(encoding="utf-8") for part in parts):
                self.say(block, f"{line.group(1)} does not know --rewrite")
        return "tests that compare what these would write"

    def xml(self, block):
        held = {"docs/layout-format.md": "tests/netfiles/schema_test.cpp", "docs/readings-format.md": "tests/netfiles/schema_test.cpp",
                "docs/stories.md": "tests/cli/stories.py", "docs/tutorial.md": "tests/house/tutorial.py"}
        if block.mark == "xml" and block.page in held:
            return held[block.page]
        if block.page == "docs/one-pipe.md" and block.text().startswith("<pipe "):
            farm = "\n".join(line.rstrip() for line in re.sub(r"<!--.*?-->", "", (ROOT / "examples/first.xml").read_text(encoding="utf-8")).split("\n"))
            if "\n".join("  " + line for line in block.lines) not in farm:
                self.say(block, "is not what stands in examples/first.xml")
            return "held against the file"
        return None

    def one_pipe(self, block):
        return "tests/house/one_pipe_test.cpp" if block.page == "docs/one-pipe.md" and block.mark == "" else None

    def formula(self, block):
        return "a formula" if block.page in FORMULA_PAGES and block.mark == "indented" and re.search(r"[=≥]", block.text()) else None

    def packages(self, block):
        if block.page != "DEVELOPERS.md" or not block.text().startswith("g++ cmake "):
            return None
        named = set(re.sub(r"\s#.*", "", block.text(), flags=re.M).split())
        setup = (ROOT / ".ci/setup").read_text(encoding="utf-8")
        wanted = set(" ".join(re.sub(r"#.*", "", body) for body in re.findall(r"^\w+_packages=\((.*?)\)$", setup, re.S | re.M)).split())
        if wanted != named - {"ccache"}:
            self.say(block, f"not the packages of .ci/setup: {sorted(wanted ^ (named - {'ccache'}))}")
        return "held against .ci/setup"

    def json_shape(self, block):
        match = re.match(r'\{"ebbwright":"[\d.]+", "layout":"...", "(arrangements|routines)"', block.text())
        if block.page != "docs/commands.md" or not match:
            return None
        command = "flows" if match.group(1) == "arrangements" else "cycle"
        answer = json.loads(self.ran(block, f"ebbwright {command} first.xml --format json"))
        if list(answer) != re.findall(r'"(\w+)":', block.text()):
            self.say(block, f"'{command}' writes the keys {list(answer)}")
        return "held against the program"

    def synopsis(self, block):
        if block.text() != "ebbwright COMMAND LAYOUT [options]":
            return None
        if "LAYOUT" not in self.ran(block, "ebbwright flows --help"):
            self.say(block, "no LAYOUT in the help")
        return "held against the help"

    def cmake(self, block):
        """The lines for somebody else's CMakeLists.txt are given to CMake, against what this build installs."""
        if block.page != "README.md" or not block.text().startswith("find_package(Ebbwright"):
            return None
        build = pathlib.Path(self.program).resolve().parent
        cache = (build / "CMakeCache.txt").read_text(encoding="utf-8")
        if re.search(r"^EBBWRIGHT_(SANITIZE:\w+=.+|(COVERAGE|FUZZ):BOOL=ON)$", cache, re.M):
            print("left out, as this build has instruments: the lines for CMake")
            return "left out"
        prefix, project = os.path.join(self.folder, "installed"), pathlib.Path(self.folder, "project")
        project.mkdir()
        shutil.copy(ROOT / "tests/install/outside/main.cpp", project / "main.cpp")
        (project / "CMakeLists.txt").write_text("cmake_minimum_required(VERSION 3.25)\nproject(P LANGUAGES CXX)\nadd_executable(my_program main.cpp)\n"
                                                + "find_package(" + block.text().split("find_package(", 1)[1] + "\n", encoding="utf-8")
        text = (project / "CMakeLists.txt").read_text(encoding="utf-8")
        if block.text() not in text:
            self.say(block, "was not taken as it is")
        self.ran(block, f"cmake --install '{build}' --prefix '{prefix}' --component development")
        self.ran(block, f"cmake -S project -B project/build -G Ninja -DCMAKE_PREFIX_PATH='{prefix}' && cmake --build project/build && project/build/my_program")
        return "built here"

    WAYS = (shown_by_another_test, cmake, json_shape, synopsis, packages, xml, one_pipe, ebbwright_lines, whole_builds, scripts_with_options, rewriting, formula)

    def try_block(self, block):
        for way in self.WAYS:
            how = way(self, block)
            if how:
                self.ways[how] = self.ways.get(how, 0) + 1
                return how
        self.say(block, "nothing tries this block: say in tests/house/command_blocks.py how it is tried")
        return None


def one_a_section(all_blocks):
    """tests/cli/stories.py runs the first command and the first XML of each section."""
    seen = set()
    for block in all_blocks:
        if block.page == "docs/stories.md":
            key = (block.heading, block.mark == "xml")
            if key in seen or len(block.commands()) > 1 and block.mark != "xml":
                yield f"{block}: more than one in its section: tests/cli/stories.py would not see it"
            seen.add(key)


def wrong_words(program, name, text, helps):
    """Commands and options in the prose that the program does not have."""
    def help_of(command):
        if command not in helps:
            done = subprocess.run([program, *([command] if command else []), "--help"], stdin=subprocess.DEVNULL, capture_output=True, encoding="utf-8", check=False)
            helps[command] = done.stdout if f"Usage: ebbwright {command}" in done.stdout else ""
        return helps[command]

    hidden = ("--write-manual", "--write-completions", "--names", "--about")  # of the program, for packagers and shells
    for code in re.findall(r"`ebbwright ([^`\n]+)`", text):
        words = code.split()
        command = "" if words[0].startswith("-") else words[0]
        if re.match(r"[A-Z.]", command):
            continue
        if not help_of(command):
            yield f"{name}: `ebbwright {code}`: no command {command}"
        for option in re.findall(r"(?<!\S)--[a-z-]+", code):
            if option not in help_of(command) and option not in hidden:
                yield f"{name}: `ebbwright {code}`: no option {option}"


def check_the_checks(program):
    tried = Tried(program)
    tried.try_block(Block("docs/commands.md", 1, "indented", ["rm -r farm"], ""))
    tried.try_block(Block("docs/commands.md", 1, "indented", ["ebbwright flows nowhere.xml"], ""))
    tried.try_block(Block("DEVELOPERS.md", 1, "indented", ["g++ cmake cowsay"], ""))
    if len(tried.failures) != 3:
        yield f"of three wrong blocks these are told: {tried.failures}"
    tried.close()
    found = blocks_of("x", "a\n\n    b\n\n    c\n\n```xml\nd\n```\n- e\n  f\n")
    if [(b.mark, b.lines) for b in found] != [("indented", ["b", "", "c"]), ("xml", ["d"])]:
        yield "blocks_of sees the wrong blocks"
    if len(list(wrong_words(program, "x", "`ebbwright flow a.xml` and `ebbwright flows --neat` and `ebbwright flows F --all`", {}))) != 2:
        yield "wrong_words does not see exactly two wrong ones"


def main():
    program = os.path.abspath(sys.argv[1])
    failures = list(check_the_checks(program))
    all_blocks = blocks()
    tried = Tried(program)
    for block in all_blocks:
        tried.try_block(block)
    tried.close()
    failures += tried.failures + list(one_a_section(all_blocks))
    tutorial_blocks = sum(1 for block in all_blocks if block.page == "docs/tutorial.md")
    if tutorial_blocks != len(tutorial.BLOCK.findall(tutorial.PAGE.read_text(encoding="utf-8"))):
        failures.append("tests/house/tutorial.py does not see every block of its page")
    helps = {}
    for page in pages():
        failures += wrong_words(program, page.name, page.read_text(encoding="utf-8"), helps)
    print("\n".join(failures))
    print(f"{len(all_blocks)} blocks: " + "; ".join(f"{count} {way}" for way, count in sorted(tried.ways.items())) + f"; {len(failures)} complaints")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
