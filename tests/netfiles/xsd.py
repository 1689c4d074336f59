"""The XSDs in docs/ against the reader: xmllint must accept every good file and example, refuse every file of the corpus whose mistake is
one of structure, word or unit, and accept those whose mistake only a reader can see (labels, heights, contradictions)."""
import pathlib
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
passed = failed = 0


def valid(file, schema):
    run = subprocess.run(["xmllint", "--noout", "--nonet", "--huge", "--schema", str(ROOT / "docs" / schema), str(file)], capture_output=True)
    return run.returncode == 0, run.stderr.decode(errors="replace")


def expect(file, wanted, schema):
    global passed, failed
    got, says = valid(file, schema)
    if got == wanted:
        passed += 1
    else:
        failed += 1
        print(f"FAILED {file.relative_to(ROOT)}: should be {'valid' if wanted else 'invalid'} by docs/{schema}\n{says[:600]}")


def schema_of(file):
    return "catalogue.xsd" if "<catalogue" in file.read_text(encoding="utf-8") else "layout.xsd"


if shutil.which("xmllint") is None:
    sys.exit("xmllint is not installed (Debian package libxml2-utils)")

good = list((ROOT / "tests/netfiles/good").rglob("*.xml")) + list((ROOT / "examples").rglob("*.xml")) + list((ROOT / "tests/netfiles/bad/parts").glob("*.xml"))
good += list((ROOT / "tests/reference/layouts").rglob("*.xml"))
for file in sorted(good):
    expect(file, True, schema_of(file))
for line in (ROOT / "tests/netfiles/bad/expected.tsv").read_text(encoding="utf-8").splitlines():
    if line and not line.startswith("#"):
        name, *_, kind = line.split("\t")
        expect(ROOT / "tests/netfiles/bad" / f"{name}.xml", kind == "meaning", "layout.xsd")
print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0)
