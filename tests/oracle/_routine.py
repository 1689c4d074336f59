"""A routine of a layout, read a second time: what the clock and the level-switches have every valve and pump do at a moment."""
import math

from _elements import number

SAME = 1e-6                   # s: moments closer than this are one


class Routine:
    def __init__(self, tree, name, settings):
        """settings: of the arrangement it starts from (Elements.settings)."""
        self.element = next(r for r in tree.findall("routine") if r.get("name") == name)
        self.name, self.lasts = name, number(self.element.get("lasts"))
        self.arrangement = self.element.get("arrangement")
        self.from_settled = self.element.get("from") == "settled"
        self.base = settings
        self.valves = [v.get("id") for p in tree for v in p.findall("valve")] if tree is not None else []
        self.pumps = [p.get("id") for p in tree.findall("pump")]
        parts = self.element
        self.windows = {}                                    # thing: [(after, every, for)]
        for t in parts.findall("timer"):
            about = t.get("opens") or t.get("runs")
            self.windows.setdefault(about, []).append((number(t.get("after"), 0.0), number(t.get("every")), number(t.get("for"))))
        for r in parts.findall("rotation"):
            valves, each = r.get("opens").split(), number(r.get("each"))
            for i, v in enumerate(valves):
                self.windows.setdefault(v, []).append((i * each, each * len(valves), each))
        self.cuts = [(number(c.get("at")), number(c.get("for"))) for c in parts.findall("power-cut")]
        self.failures = [(f.get("of"), number(f.get("at")), number(f.get("for"), math.inf)) for f in parts.findall("failure")]
        self.changes = sorted(((number(c.get("at")), c) for c in parts.findall("change")), key=lambda c: c[0])
        self.draws = [(d.get("from"), d.get("into"), number(d.get("volume")) / number(d.get("over")), number(d.get("at")),
                       number(d.get("over")), number(d.get("every"), math.inf)) for d in parts.findall("draw")]
        self.uptakes = [(u.get("from"), number(u.get("rate"))) for u in parts.findall("uptake")]
        self.switches = [self.read_switch(s) for s in parts.findall("level-switch")]

    @staticmethod
    def read_switch(s):
        """{about, watches, low, high, off_below}: off below `low` and on above `high`, or the reverse."""
        verb = next(v for v in ("stops", "starts", "closes", "opens") if s.get(v))
        takes_off = verb in ("stops", "closes")
        below = s.get("below") is not None
        first = number(s.get("below") or s.get("above"))
        back = number(next(v for k, v in s.attrib.items() if "-" in k))
        return {"about": s.get(verb), "watches": s.get("watches"), "low": first if below else back, "high": back if below else first,
                "off_below": takes_off == below}

    def edges(self):
        """Every moment of the clock after 0 and before the end."""
        out = set()

        def window(after, every, length):
            at = after
            while at < self.lasts:
                out.update((at, at + length))
                at += every

        for windows in self.windows.values():
            for w in windows:
                window(*w)
        for at, length in self.cuts:
            window(at, math.inf, length)
        for _, at, length in self.failures:
            window(at, math.inf, length)
        for *_, at, over, every in self.draws:
            window(at, every, over)
        out.update(at for at, _ in self.changes)
        return sorted(t for t in out if SAME < t < self.lasts - SAME)

    @staticmethod
    def inside(t, after, every, length):
        if t < after - SAME:
            return False
        into = t - after if every == math.inf else (t + SAME - after) % every - SAME
        return into < length - SAME

    def in_turn(self, about, t):
        """Its windows say on; None: it has none."""
        windows = self.windows.get(about)
        return None if windows is None else any(self.inside(t, *w) for w in windows)

    def powered(self, t):
        return not any(self.inside(t, at, math.inf, length) for at, length in self.cuts)

    def draw_rates(self, t):
        return [(a, b, rate) for a, b, rate, at, over, every in self.draws if self.inside(t, at, every, over)]

    def settings(self, t, off):
        """Settings from t on, were there power. off: for each level-switch, whether it holds its thing off."""
        out, held = dict(self.base), set()
        for at, change in self.changes:
            if at > t + SAME:
                break
            for line in change:
                about = line.get("valve") or line.get("pump") or line.get("standpipe") or line.get("filter")
                held.discard(about)
                if line.tag in ("close", "stop"):
                    held.add(about)
                elif line.tag == "fit":
                    out[about] = line.get("insert")
                else:
                    out[about] = {"open": 1.0, "run": number(line.get("speed"), 1.0), "throttle": number(line.get("to")),
                                  "load": number(line.get("to"))}[line.tag]
        switched = {s["about"] for s in self.switches}
        for about in self.valves + self.pumps:
            turn, base = self.in_turn(about, t), out.get(about, 1.0)
            on = turn if turn is not None else base > 0.0 or about in switched
            on = on and about not in held and not any(s["about"] == about and o for s, o in zip(self.switches, off))
            if about in self.pumps:
                on = on and not any(p == about and self.inside(t, at, math.inf, length) for p, at, length in self.failures)
            out[about] = (base if base > 0.0 else 1.0) if on else 0.0
        return out
