"""`flows --uncertain`: percentiles against SciPy's own points and an independent solve, the contract, the words, and what is refused."""
import json
import os
import re
import signal
import subprocess
import tempfile
import time

import numpy
from scipy.stats import norm, qmc

from _program import PROGRAM, Count, layout, run, under_way

count = Count()
DIAMETER, LENGTH, ROUGHNESS, LOCAL, FALL = 0.0272, 40.0, 5e-5, 1.5 + 3.0, 3.1
FARM = """<layout name="a fall into a tank">
  <site water-temperature="20 degC"/>
  <pond id="HIGH" level="3 m"/><pond id="LOW" level="-3 m"/>
  <tank id="T" floor="-1 m" rim="1 m" diameter="1 m" start-depth="0.1 m" inflow="40 l/min"/>
  <pipe id="P" from="HIGH" to="T" to-height="0.9 m" length="40 m" bore="27.2 mm" roughness="0.05 mm"><fitting loss="3"/></pipe>
  <drain id="OUT" from="T" to="LOW" length="3 m" bore="150 mm"/>
  %s
</layout>"""


def written(text):
    file = tempfile.NamedTemporaryFile("w", suffix=".xml", delete=False, encoding="utf-8")
    with file:
        file.write(text)
    return file.name


def flows(extra, *arguments, **more):
    path = written(FARM % extra)
    try:
        return run("flows", path, *arguments, **more)
    finally:
        os.unlink(path)


def by_hand(rough_factor, bore_factor, loss_factor):
    """Flow by Colebrook and White, all samples at once; kinematic viscosity of water at 20 degC 1.0034e-6 m2/s (IAPWS tables)."""
    bore, rough = DIAMETER * bore_factor, ROUGHNESS * rough_factor
    inverse_root = numpy.full_like(bore, 6.0)
    for _ in range(60):
        velocity = numpy.sqrt(2 * 9.80665 * FALL / (LENGTH / bore / inverse_root**2 + LOCAL * loss_factor))
        reynolds = velocity * bore / 1.0034e-6
        inverse_root = -2 * numpy.log10(rough / bore / 3.7 + 2.51 * inverse_root / reynolds)
    return velocity * numpy.pi / 4 * bore**2


# ---- against SciPy

said = flows('<plus-minus roughness="80 %" bore="3 %" losses="40 %" start-depth="0 mm"/><plus-minus of="OUT" roughness="0 %" bore="0 %" losses="0 %"/>',
             "--uncertain", "--samples", "4096", "--format", "json")
answer = json.loads(said.stdout)["arrangements"][0]
unsure = answer["uncertain"]
z = norm.ppf(qmc.Sobol(3, seed=7).random(4096))
expected = by_hand(1.8 ** (z[:, 0] / 2), 1.03 ** (z[:, 1] / 2), 1.4 ** (z[:, 2] / 2))
tank = unsure["vessels"][0]
for share, key in ((5, "p5"), (50, "p50"), (95, "p95")):
    want = numpy.percentile(expected, share)
    count.check(abs(tank[f"inflow_m3_s_{key}"] / want - 1) < 1e-3, f"the {share} % point of the inflow", (tank[f"inflow_m3_s_{key}"], want))
met = unsure["targets"][0]["met"] / unsure["targets"][0]["asked"]
count.check(abs(met - numpy.mean(expected >= 40 / 60000)) < 0.005 and 0.05 < met < 0.95, "in how many samples the target is met", met)
squares = {name: numpy.corrcoef(z[:, i], expected)[0, 1] ** 2 for i, name in enumerate(("roughness", "bore", "losses"))}
for cause in tank["inflow_m3_s_moved_by"]:
    name = unsure["unknowns"][cause["unknown"]]["what"]
    count.check(abs(cause["share"] - squares[name]) < 0.01 and cause["rises"] == (name == "bore"), f"the share of {name}", (cause, squares))
count.check(len(tank["inflow_m3_s_moved_by"]) == 3, "all three are named", tank)
count.check((unsure["samples"], unsure["solved"], unsure["solved_singly"]) == (4096, 4096, 0), "all samples are solved together", unsure["samples"])

# ---- the contract

said = run("flows", layout("first-loop"), "--uncertain", "--samples", "64", "--format", "json")
for each in json.loads(said.stdout)["arrangements"]:
    one = each["uncertain"]
    if not each["solved"]:
        count.check(one is None, "no figures, no percentiles", one)
        continue
    count.check(set(one) == {"samples", "solved", "solved_singly", "spilling", "intake_bare", "below_least_depth", "below_vapour", "under_vacuum", "unknowns",
                             "vessels", "pumps", "tees", "pipes", "targets", "measure"}, "the keys of uncertain", sorted(one))
    count.check([v["id"] for v in one["vessels"]] == [v["id"] for v in each["vessels"]], "vessels in the order of the layout")
    count.check(len(one["pipes"]) == len(each["pipes"]) + len(each["drains"]), "all pipes and drains")
    count.check(all(v["depth_m_p5"] <= v["depth_m_p50"] <= v["depth_m_p95"] for v in one["vessels"]), "percentiles in order")
    count.check([t["wants"] for t in one["targets"]] == [t["wants"] for t in each["targets"]], "the same targets", one["targets"])
    count.check(all(u["assumed"] for u in one["unknowns"]), "nothing is said in this layout")
plain = json.loads(run("flows", layout("first-loop"), "--format", "json").stdout)
count.check(all("uncertain" not in each for each in plain["arrangements"]), "not asked, not there")

again = run("flows", layout("first-loop"), "--uncertain", "--samples", "64", "--format", "json", environment={"LC_ALL": "de_DE.UTF-8"})
count.check(again.stdout == said.stdout, "the same digits a second time, and under a decimal comma")

table = flows("", "--uncertain", "--samples", "64", "--format", "csv").stdout
count.check(re.search(r"^as drawn,tank,T,inflow-p95,m3/s,0\.000\d+$", table, re.M), "CSV: percentiles", table)
count.check(re.search(r"^as drawn,target,T,inflow-met-share,1,[01](\.\d+)?$", table, re.M), "CSV: targets", table)

# ---- for people

text = flows('<plus-minus roughness="80 %"/>', "--uncertain", "--samples", "64", "--units", "us").stdout
text = " ".join(text.split())
for words in ("How sure", "Solved 64 times", "T inflow", "gpm", "What to measure to know better", "+/- 80 %", "the layout", "Assumed: common practice. Write", "+/- 0.4 in"):
    count.check(words in text, f"text has: {words}", text)
count.check("How sure" not in run("flows", layout("first-loop")).stdout, "only when asked")
pumped = " ".join(run("flows", layout("first-loop"), "--uncertain", "--samples", "16").stdout.split())
count.check("acceptance grade 2B of ISO 9906:2012 (from memory)" in pumped and "head of P1" in pumped, "where the head of a pump is assumed", pumped)

siphon = run("flows", layout("siphon"), "--uncertain", "--samples", "16")
count.check("cycles" not in siphon.stdout or "Not asked: there is no settled state" in siphon.stdout, "a state that cycles has no percentiles", siphon.stdout)

# ---- water that hangs: a pond over a hill to a lower one, the level of the upper one unsure. Of equal pipes above and below the hill the water at its
# top stands half way between the ponds' levels (less the heads of entrance and exit); HANGS is what 20 degC water at sea level can hang below the
# air: standard atmosphere, vapour pressure and density of IAPWS tables

HANGS = (101325 - 2339) / (998.2 * 9.80665)

HILL = """<layout name="over a hill"><pond id="UP" level="3 m"/><pond id="DOWN" level="0 m"/><tee id="TOP" elevation="%s m"/>
  <pipe id="up" from="UP" to="TOP" length="200 m" bore="28 mm"/><pipe id="down" from="TOP" to="DOWN" length="200 m" bore="28 mm"/>
  <plus-minus level="0.5 m" of="UP"/><plus-minus roughness="0 %%" bore="0 %%" losses="0 %%"/></layout>"""
for elevation, level in ((11.6, 3.0), (11.4, 3.0), (1.6, 3.0)):
    path = written(HILL % elevation)
    said = run("flows", path, "--uncertain", "--samples", "512", "--format", "json")
    text = " ".join(run("flows", path, "--uncertain", "--samples", "512").stdout.split())
    os.unlink(path)
    one = json.loads(said.stdout)["arrangements"][0]["uncertain"]
    # the level is normal about 3 m with a standard deviation of 0.25 m; the top hangs elevation - level / 2
    breaks, hangs = (norm.cdf((2 * (elevation - most) - level) / 0.25) for most in (HANGS, 0.3))
    got = one["below_vapour"] / 512
    count.check(abs(got - breaks) < 0.03 and abs(one["under_vacuum"] / 512 - (hangs - breaks)) < 0.03, f"the hill of {elevation} m", (got, breaks, hangs, one["under_vacuum"]))
    count.check(one["tees"] == [{"id": "TOP", "below_vapour": one["below_vapour"], "under_vacuum": one["under_vacuum"]}], "at the tee", one["tees"])
    count.check(("the water at TOP would hang lower than any can" in text) == (one["below_vapour"] > 0), "the break is told", text[:1500])
    count.check(("the water at TOP hangs below" in text) == (one["under_vacuum"] > 0), "the vacuum is told", text[:1500])

# ---- Ctrl-C

with subprocess.Popen([PROGRAM, "flows", layout("first-loop"), "--uncertain", "--samples", "65536"], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                      encoding="utf-8") as job:
    under_way(job, 0.3)
    for _ in range(2):  # as a launcher and the terminal both send it
        job.send_signal(signal.SIGINT)
        time.sleep(0.02)
    _, err = job.communicate(timeout=60)
count.check(job.returncode == 130 and "interrupted:" in err, "Ctrl-C between samples", (job.returncode, err))

# ---- what is refused

for arguments, words in ((("--samples", "64"), "--uncertain"), (("--uncertain", "--samples", "8"), "from 16 to 65536"),
                         (("--uncertain", "--samples", "1e3"), "whole number"), (("--uncertain", "--samples", "-64"), "whole number")):
    refused = flows("", *arguments)
    count.check(refused.returncode == 2 and words in refused.stderr and not refused.stdout, f"refused: {arguments}", refused.stderr)
for extra, words in (('<plus-minus losses="-5 %"/>', "losses"), ('<plus-minus bore="120 %"/>', "0.1"), ('<plus-minus pump-head="5 %" of="T"/>', "pump"),
                     ('<plus-minus of="Q" bore="1 %"/>', '"Q"'), ('<plus-minus start-depth="5 %"/>', "start-depth")):
    refused = flows(extra, "--uncertain")
    count.check(refused.returncode == 3 and words in refused.stderr, f"refused: {extra}", refused.stderr)

count.end()
