"""--write: the user's own file with only the chosen things changed, whole or not at all, and never over what was read."""
import os
import re
import shutil
import stat
import tempfile

from _program import HERE, Count, run

count = Count()
SOURCE = os.path.join(HERE, "..", "reference", "layouts", "two-loop.xml")


def read(path):
    with open(path, "rb") as file:
        return file.read()


with tempfile.TemporaryDirectory() as folder:
    def at(name):
        return os.path.join(folder, name)

    # the user's file: line ends of another system, the mark some editors leave, and the series in a file of its own
    text = read(SOURCE).decode()
    series = re.search(r"  <pipe-series.*</pipe-series>\n", text, re.S).group()
    farm = "\ufeff" + text.replace(series, '  <include file="parts/mains.xml"/>\n').replace("\n", "\r\n")
    os.mkdir(at("parts"))
    with open(at("parts/mains.xml"), "w", encoding="utf-8") as file:
        file.write("<catalogue>\n" + series + "</catalogue>\n")
    with open(at("farm.xml"), "wb") as file:
        file.write(farm.encode())
    before = read(at("farm.xml"))

    done = run("pipes", at("farm.xml"), "--write", at("new.xml"))
    count.check(done.returncode == 0, "pipes writes", done.stderr)
    new = read(at("new.xml"))
    sizes = re.findall(rb' size="(\d+) in"', new)
    count.check(len(sizes) == 8, "every pipe got a size", sizes)
    count.check(re.sub(rb' size="\d+ in"', b"", new) == before, "and nothing else changed, byte for byte")
    again = run("flows", at("new.xml"), "--strict")
    count.check(again.returncode == 0, "the written layout meets every target", again.stdout + again.stderr)
    once_more = run("pipes", at("new.xml"), "--write", at("newer.xml"))
    count.check(once_more.returncode == 0 and read(at("newer.xml")) == new, "chosen again it is the same file", once_more.stderr)

    os.mkdir(at("elsewhere"))
    done = run("pipes", at("farm.xml"), "--write", at("elsewhere/alone.xml"))
    count.check(done.returncode == 0 and b"<include" not in read(at("elsewhere/alone.xml")), "in another folder it stands alone", done.stderr)
    shutil.move(at("parts"), at("gone"))
    count.check(run("flows", at("elsewhere/alone.xml"), "--strict").returncode == 0, "and is answered without the parts")
    shutil.move(at("gone"), at("parts"))

    for name in ("farm.xml", "parts/mains.xml"):
        held = read(at(name))
        done = run("pipes", at("farm.xml"), "--write", at(name))
        count.check(done.returncode == 2 and "--write" in done.stderr, f"{name} was read and is not replaced", done.stderr)
        count.check(read(at(name)) == held, f"{name} is as it was")
    done = run("pipes", at("farm.xml"), "--write", at("no-such-folder/new.xml"))
    count.check(done.returncode == 2 and "cannot write" in done.stderr, "a folder that is not there is told before the work", done.stderr)

    for target, exists in (("real.xml", True), ("not-yet.xml", False)):
        if exists:
            with open(at(target), "w", encoding="utf-8") as file:
                file.write("old")
            os.chmod(at(target), 0o640)
        os.symlink(target, at("link-" + target))
        done = run("pipes", at("farm.xml"), "--write", at("link-" + target))
        count.check(done.returncode == 0 and os.path.islink(at("link-" + target)), f"the link to {target} stays a link", done.stderr)
        count.check(read(at(target)) == new, f"{target} is what was written")
        if exists:
            count.check(stat.S_IMODE(os.stat(at(target)).st_mode) == 0o640, "who may read it stays as it was")
    count.check(not [name for name in os.listdir(folder) if ".part-" in name], "nothing temporary is left", os.listdir(folder))

count.end()
