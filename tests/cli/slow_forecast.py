"""Samples that take long: how long is said once, on standard error, and is about what it takes."""
import re
import tempfile
import time

from _program import Count, run

count = Count()
PIPES = 800
SAMPLES = 65536
text = ['<layout name="Many small tanks"><pond id="HIGH" level="3 m"/><pond id="LOW" level="-3 m"/>']
for i in range(PIPES // 2):
    text.append(f'<tank id="T{i}" floor="-1 m" rim="1 m" diameter="1 m" start-depth="0.1 m"/>'
                f'<pipe id="P{i}" from="HIGH" to="T{i}" to-height="0.9 m" length="{20 + i} m" bore="{25 + 0.1 * i:.1f} mm"/>'
                f'<drain id="D{i}" from="T{i}" to="LOW" length="3 m" bore="150 mm"/>')
with tempfile.NamedTemporaryFile("w", suffix=".xml", encoding="utf-8") as file:
    file.write("\n".join(text) + "</layout>")
    file.flush()
    begin = time.monotonic()
    done = run("flows", file.name, "--uncertain", "--samples", str(SAMPLES), "--format", "json", timeout=600)
    took = time.monotonic() - begin
said = re.search(r"65,536 samples will take about (?:(\d+) min)? ?(?:(\d+) s)? more here", done.stderr)
count.check(done.returncode == 0 and (said or took < 30), "how long it will take", (took, done.stderr))
if said:
    seconds = 60 * int(said[1] or 0) + int(said[2] or 0)
    count.check(took / 3 < seconds < 3 * took, "about as long as it takes", (seconds, took))
count.end()
