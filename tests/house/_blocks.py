"""What the tests of the pages share: the pages, and the blocks of code in them."""

import os
import pathlib
import re

ROOT = pathlib.Path(os.environ.get("EBB_SOURCE_DIR") or pathlib.Path(__file__).resolve().parents[2])
LIST_ITEM = re.compile(r"\s+([-*]|\d+\.) ")


class Block:
    """A block of code of a page: where it begins, what it is marked as ('xml', '' or 'indented'), its lines, the heading above it."""

    def __init__(self, page, line, mark, lines, heading):
        self.page, self.line, self.mark, self.lines, self.heading = page, line, mark, lines, heading

    def __str__(self):
        return f"{self.page}:{self.line}: {self.lines[0][:70] if self.lines else ''}"

    def text(self):
        return "\n".join(self.lines)

    def commands(self):
        """The lines that a person would type: after '$ ' where there is such a line, else all; without comments, continued lines joined."""
        typed = [line[2:] for line in self.lines if line.startswith("$ ")] or self.lines
        joined = "\n".join(typed).replace("\\\n", " ")
        return [re.sub(r"\s{2,}#.*$", "", line).strip() for line in joined.split("\n") if line.strip()]


def pages(root=ROOT):
    return [root / "README.md", root / "DEVELOPERS.md", *sorted((root / "docs").glob("*.md"))]


def blocks_of(page, text):
    """Every fenced block, and every indented one that begins a paragraph (which is where Markdown sees one, outside of lists)."""
    lines, at, after_blank, heading, found = text.split("\n"), 0, True, "", []
    while at < len(lines):
        line = lines[at]
        if line.startswith("```"):
            end = next((i for i in range(at + 1, len(lines)) if lines[i].startswith("```")), len(lines))
            found.append(Block(page, at + 1, line[3:].strip(), lines[at + 1:end], heading))
            at, after_blank = end + 1, False
            continue
        if line.startswith("    ") and after_blank and not LIST_ITEM.match(line):
            end = at
            while end < len(lines) and (lines[end].startswith("    ")
                                        or lines[end] == "" and end + 1 < len(lines) and lines[end + 1].startswith("    ")):
                end += 1
            found.append(Block(page, at + 1, "indented", [text[4:] for text in lines[at:end]], heading))
            at, after_blank = end, False
            continue
        if line.startswith("#"):
            heading = line
        after_blank = line == ""
        at += 1
    return found


def blocks(root=ROOT):
    return [block for page in pages(root) for block in blocks_of(page.relative_to(root).as_posix(), page.read_text(encoding="utf-8"))]
