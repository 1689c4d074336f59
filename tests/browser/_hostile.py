"""Layouts nobody would draw: names that want to be markup or script, names without end, one vessel, three hundred of them, elevations beyond sense."""
from xml.sax.saxutils import quoteattr

PWN = "window.pwned=true"
NAMES = {  # what a name of the layout is called; ids hold no spaces
    "layout": f"</title><img src=x onerror={PWN}><script>{PWN}</script> \"q\" & 'a' &amp; \u202eright to left",
    "tank": f"<script>{PWN}</script>", "bed": f"\"onfocus=\"{PWN}\"autofocus\"", "sump": f"</script><script>{PWN}</script>",
    "pump": f"javascript:{PWN}", "tee": "<!--<script>", "rise": f"<svg/onload={PWN}>", "feed": f"'><img/src=x/onerror={PWN}>", "feed2": "\u202eevil\u2069\u200f",
    "valve": "$&$'$`{}{0}", "valve2": "__proto__", "standpipe": "]]>&lt;b&gt;", "standpipe2": "constructor", "home": f"</style><script>{PWN}</script>", "home2": "]]>",
    "insert": "</script>\u2028<!--", "insert2": f"<iframe src=javascript:{PWN}>",
    "first": f"</script><script>{PWN}</script>", "second": "W" * 200, "third": "long and with spaces " * 10 + "{}", "routine": f"<object data=javascript:{PWN}>"}

TEMPLATE = """<layout name={layout} units="si"><include file="catalogue/pumps.xml"/>
<tank id={tank} floor="0.20 m" rim="1.20 m" diameter="1.4 m" start-depth="0.85 m" turnover="60 min"/>
<bed id={bed} floor="0.60 m" rim="0.95 m" length="2.0 m" width="1.0 m" void-fraction="0.42" media-depth="0.30 m" inflow="8 l/min"/>
<sump id={sump} floor="-0.80 m" rim="0.05 m" length="1.2 m" width="1.0 m" start-depth="0.62 m" least-depth="0.20 m"/>
<pump id={pump} in={sump} intake-height="0.06 m" model="small 3" check-valve="yes"/><tee id={tee} elevation="0.30 m"/>
<pipe id={rise} from={pump} to={tee} length="2.2 m" size="40 mm" series="pvc-pn10"/>
<pipe id={feed} from={tee} to={tank} to-height="0.95 m" length="2.5 m" size="32 mm" series="pvc-pn16"><valve id={valve} kind="ball"/></pipe>
<pipe id={feed2} from={tee} to={bed} to-height="0.32 m" length="3 m" size="20 mm" series="pvc-pn16"><valve id={valve2} kind="gate"/></pipe>
<standpipe id={standpipe} in={tank} bore="68 mm"><insert name="only" lip="0.85 m"/></standpipe>
<standpipe id={standpipe2} in={bed} bore="45 mm"><insert name={insert} lip="0.26 m"/><insert name={insert2} lip="0.10 m"/>
<drain-hole height="0 m" diameter="10 mm"/></standpipe>
<drain id={home} from={standpipe} to={sump} to-height="0.80 m" length="2.5 m" size="75 mm" series="pvc-pn10"/>
<drain id={home2} from={standpipe2} to={sump} to-height="0.80 m" length="3 m" size="50 mm" series="pvc-pn10"/>
<arrangement name={first}/><arrangement name={second}><close valve={valve}/></arrangement><arrangement name={third}><stop pump={pump}/></arrangement>
<routine name={routine} arrangement={first} lasts="2 h" from="settled"><timer opens={valve2} every="2 h" for="30 min"/></routine>
</layout>
"""


def one_tank(vessel_id, floor_m=0.0, height_m=1.0):
    return f'<tank id={quoteattr(vessel_id)} floor="{floor_m:f} m" rim="{floor_m + height_m:f} m" diameter="1 m" start-depth="{height_m / 2:f} m"/>'


def markup():
    return TEMPLATE.format(**{key: quoteattr(name) for key, name in NAMES.items()})


def long_names():
    """The same farm with names of two hundred letters, all in one piece."""
    return TEMPLATE.format(**{key: quoteattr((key + "-" + "M" * 200)[:200]) for key in NAMES})


def one_vessel():
    return f'<layout name="alone" units="si">{one_tank("T1")}</layout>'


def absurd_elevations():
    vessels = (("deep", -99000, 1), ("low", -4000, 3), ("A", 0, 1), ("flat", 0, 0.0001), ("tower", -500, 1400), ("B", 0.001, 1), ("high", 8848, 1), ("moon", 98000, 1))
    return '<layout name="absurd" units="si">' + "".join(one_tank(*vessel) for vessel in vessels) + "</layout>"


def three_hundred():
    """A sump and 299 tanks that overflow into it; a third of them are fed by one pump."""
    parts = ['<layout name="three hundred" units="si"><include file="catalogue/pumps.xml"/>',
             '<sump id="S" floor="-1 m" rim="0 m" length="30 m" width="10 m" start-depth="0.8 m"/><tee id="J" elevation="0.3 m"/>',
             '<pump id="P" in="S" intake-height="0.05 m" model="broad 10"/><pipe id="rise" from="P" to="J" length="2 m" bore="57 mm"/>']
    for i in range(299):
        parts.append(one_tank(f"T{i}", 0.2 + 0.01 * (i % 40)) + f'<standpipe id="O{i}" in="T{i}" bore="45 mm"><insert name="only" lip="0.4 m"/></standpipe>'
                     f'<drain id="d{i}" from="O{i}" to="S" to-height="0.9 m" length="3 m" bore="45 mm"/>')
        if i % 3 == 0:
            parts.append(f'<pipe id="f{i}" from="J" to="T{i}" to-height="0.95 m" length="{2 + i * 0.1:.1f} m" bore="17 mm"><valve id="V{i}" kind="gate"/></pipe>')
    return "".join(parts) + '<arrangement name="all"/></layout>'
