"""The XSDs in docs/ against the reader: xmllint must accept every good file and example, refuse every file of the corpus whose mistake is
one of structure, word or unit, and accept those whose mistake only a reader can see (labels, heights, contradictions)."""
import pathlib
import shutil
import subprocess
import sys

ROOT = pathlib.Path(__file__).resolve().parents[2]
passed = failed = 0


def judge(wanted, schema):
    """Holds files (path: should it be valid?) to one schema, all in one run of xmllint."""
    global passed, failed
    run = subprocess.run(["xmllint", "--noout", "--nonet", "--huge", "--schema", str(ROOT / "docs" / schema), *map(str, wanted)], capture_output=True)
    lines = run.stderr.decode(errors="replace").splitlines()
    valid = {line.removesuffix(" validates") for line in lines if line.endswith(" validates")}
    for file, should in wanted.items():
        if (str(file) in valid) == should:
            passed += 1
        else:
            failed += 1
            says = "\n".join(line for line in lines if line.startswith(str(file)))
            print(f"FAILED {file.relative_to(ROOT)}: should be {'valid' if should else 'invalid'} by docs/{schema}\n{says[:600]}")


def schema_of(file):
    text = file.read_text(encoding="utf-8")
    return "catalogue.xsd" if "<catalogue" in text else "readings.xsd" if "<readings" in text else "layout.xsd"


if shutil.which("xmllint") is None:
    sys.exit("xmllint is not installed (Debian package libxml2-utils)")

good = list((ROOT / "tests/netfiles/good").rglob("*.xml")) + list((ROOT / "examples").rglob("*.xml")) + list((ROOT / "tests/netfiles/bad/parts").glob("*.xml"))
good += list((ROOT / "tests/reference/layouts").rglob("*.xml"))
good += list((ROOT / "tests").rglob("readings/*.xml"))
for schema in ("layout.xsd", "catalogue.xsd", "readings.xsd"):
    judge({file: True for file in sorted(good) if schema_of(file) == schema}, schema)
bad = {}
for line in (ROOT / "tests/netfiles/bad/expected.tsv").read_text(encoding="utf-8").splitlines():
    if line and not line.startswith("#"):
        name, *_, kind = line.split("\t")
        bad[ROOT / "tests/netfiles/bad" / f"{name}.xml"] = kind == "meaning"
judge(bad, "layout.xsd")
print(f"{passed} passed, {failed} failed")
sys.exit(failed > 0)
