"""docs/tutorial.md is walked from its first line to its last, as a newcomer would: every block of XML goes into the file it is meant for, every
command is run, and the page must show what the program says.

In the page, comments that no reader sees say what a block is:
    <!-- into: FILE -->         the XML that follows is that file, when it is a whole document; else its elements are put before the end of
                                the file, and take the place of those of the same label
    <!-- shown: A; B; C -->     of what follows only the paragraphs that begin so are shown; '...' stands for the others

    tutorial.py PROGRAM              compares
    tutorial.py PROGRAM --rewrite    writes what the program says now into the page
"""

import os
import pathlib
import re
import subprocess
import sys
import tempfile
import xml.parsers.expat

ROOT = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
PAGE = ROOT / "docs" / "tutorial.md"
BLOCK = re.compile(r"(?:^<!-- (into|shown): ([^\n]*) -->\n)?^```(xml)?\n(.*?)^```$", re.S | re.M)


def children(text):
    """Of each child of the root: what it is known by, and where it begins and ends; and where the root's end tag begins."""
    found, depth, data = [], 0, text.encode()
    parser = xml.parsers.expat.ParserCreate("utf-8")
    end_of_root = None

    def begins(name, attributes):
        nonlocal depth
        depth += 1
        if depth == 2:
            key = attributes.get("id") or (name, attributes.get("name") or attributes.get("series"))
            found.append([key, parser.CurrentByteIndex, None])

    def ends(_):
        nonlocal depth, end_of_root
        if depth == 2:
            at = parser.CurrentByteIndex
            found[-1][2] = (data.index(b">", at) + 1) if data[at:at + 1] == b"<" else at
        if depth == 1:
            end_of_root = parser.CurrentByteIndex
        depth -= 1

    parser.StartElementHandler, parser.EndElementHandler = begins, ends
    parser.Parse(data, True)
    return found, end_of_root


def put_into(text, block):
    """The file with the elements of the block in it."""
    wrapped = ("<x>\n" + block + "</x>").encode()
    for key, begin, end in children(wrapped.decode())[0]:
        element = wrapped[begin:end]
        old, end_of_root = children(text)
        data = text.encode()
        for old_key, old_begin, old_end in old:
            if old_key == key:
                text = (data[:old_begin] + element + data[old_end:]).decode()
                break
        else:
            text = (data[:end_of_root] + b"  " + element + b"\n" + data[end_of_root:]).decode()
    return text


def only(lines, beginnings):
    """The paragraphs that begin as one of these; three points stand for those left out."""
    kept, left_out = [], False
    for paragraph in re.split(r"\n\n", "\n".join(lines)):
        if any(paragraph.startswith(beginning) for beginning in beginnings):
            kept.append(paragraph)
            left_out = False
        elif not left_out:
            kept.append("...")
            left_out = True
    return "\n\n".join(kept).split("\n")


def run(command, folder, program):
    path = os.path.join(folder, ".bin")
    if not os.path.isdir(path):
        os.mkdir(path)
        os.symlink(os.path.abspath(program), os.path.join(path, "ebbwright"))
    environment = {**os.environ, "LC_ALL": "C.UTF-8", "PATH": path + os.pathsep + os.environ["PATH"]}
    done = subprocess.run(["bash", "-c", command], cwd=folder, env=environment, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, encoding="utf-8", check=False, timeout=120)
    return [line.rstrip() for line in done.stdout.splitlines()], done.returncode


def walk(page, folder, program):
    """The page as it should be, how many commands it gives, and what is wrong with it besides."""
    commands, failures = 0, []

    def block(match):
        nonlocal commands
        directive, words, is_xml, body = match.groups()
        if is_xml:
            if directive != "into":
                failures.append(f"no '<!-- into: FILE -->' before: {body[:60]!r}")
                return match.group(0)
            path = pathlib.Path(folder, words.strip())
            whole = re.match(r"<(layout|readings)\b", body)
            path.write_text(body if whole else put_into(path.read_text(encoding="utf-8"), body), encoding="utf-8")
            return match.group(0)
        shown = []
        for command in (line[2:] for line in body.splitlines() if line.startswith("$ ")):
            commands += 1
            said, status = run(command, folder, program)
            if status != (3 if commands == 2 else 0):  # the second is asked about an empty file
                failures.append(f"'{command}' ends with {status}")
            shown += ["$ " + command] + (only(said, words.split("; ")) if directive == "shown" and said else said)
        if not shown:
            failures.append(f"a block without a command: {body[:60]!r}")
        opening = match.group(0).split("```")[0]
        return opening + "```\n" + "\n".join(shown) + "\n```"

    return BLOCK.sub(block, page), commands, failures


# What the sentences of the page say beside the blocks: what must stand in the page, the command, what it must say.
PROSE = (('write `width="0.6 m"` for the sump', """sed 's/width="1.2 m"/width="0.6 m"/' lean-to.xml > half.xml; ebbwright check half.xml""", "SUMP stands 106 mm deep", "106 mm"),
         ("the tank turns over in 63 minutes", 'ebbwright flows as-built.xml --arrangement "all on"', "TANK turns over in 1 h 03 min", "63 minutes"))


def wrong_prose(page, folder, program):
    for sentence, command, said, figure in PROSE:
        if sentence not in page or figure not in page:
            yield f"the page does not say any more: {sentence} ... {figure}"
        output = "\n".join(run(command, folder, program)[0])
        if said not in output:
            yield f"'{command}' does not say '{said}': {output[:600]}"


def check_the_checks():
    text = '<l>\n  <a id="A" x="1"/>\n  <b name="A"><c/></b>\n</l>\n'
    new = put_into(text, '  <a id="A" x="2"></a>\n  <b name="B"/>\n')
    if new != '<l>\n  <a id="A" x="2"></a>\n  <b name="A"><c/></b>\n  <b name="B"/>\n</l>\n':
        yield f"put_into makes {new!r}"
    if only("a\n\nb\nb\n\nc\n\nd".split("\n"), ["b", "d"]) != ["...", "", "b", "b", "", "...", "", "d"]:
        yield "only keeps what it should not"


def main():
    failures = list(check_the_checks())
    page = PAGE.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        now, commands, wrong = walk(page, folder, sys.argv[1])
        failures += wrong + list(wrong_prose(page, folder, sys.argv[1]))
    if "--rewrite" in sys.argv:
        PAGE.write_text(now, encoding="utf-8")
        print("\n".join(failures) or "the page is rewritten")
        return 1 if failures else 0
    if now != page:
        import difflib
        failures += ["docs/tutorial.md does not show what the program says (--rewrite writes it):"]
        failures += list(difflib.unified_diff(page.splitlines(), now.splitlines(), "the page", "the program", lineterm="", n=1))[:60]
    if commands < 12:
        failures.append(f"only {commands} commands")
    print("\n".join(failures) or f"{commands} commands walked; the page shows what the program says")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
