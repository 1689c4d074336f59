"""Heads and flows at given levels for farms that fall apart into simple branches, fast enough to stand inside an integration in time.

Vessels and ponds cut a farm into components. Most are a row of pipes and devices between two of them (one unknown flow), or the vented
foot of a standpipe or siphon with what runs into it and its drain (one unknown head). Both are one equation in one monotone
function, solved to rounding by secant steps and scipy.optimize.brentq; so is a tee where several rows meet. What is none of these goes to the plain equations of _farm.py. The laws are the links of _elements.py.
"""
import math

from scipy.optimize import brentq


class Row:
    """Pipes and devices in a row between two boundaries: their losses add up, and the flow is one."""

    def __init__(self, links):
        """links: [(link, sense)], sense +1 where the row runs through it from a to b."""
        self.links = links
        (first, s), (last, t) = links[0], links[-1]
        self.first, self.first_end = first, "a" if s > 0 else "b"
        self.last, self.last_end = last, "b" if t > 0 else "a"
        self.start = first.a if s > 0 else first.b
        self.end = last.b if t > 0 else last.a
        self.rate = last.rate if last.kind == "rate" else None          # a float valve at the end
        self.parts = [(k.loss, d) for k, d in links if k.loss is not None]
        self.forward = all((k.forward if d > 0 else k.backward) and not (d < 0 and k.outlet is not None) for k, d in links)
        self.backward = self.rate is None and all((k.backward and k.outlet is None) if d > 0 else k.forward for k, d in links)
        self.known, self.answer, self.slope = None, 0.0, None
        self.end_joint = False

    def loss(self, flow):
        return sum(d * loss(d * flow) for loss, d in self.parts)

    def flow(self, head_start, head_end):
        known = (head_start, head_end)
        if known != self.known:
            self.known, self.answer = known, self.solve(head_start, head_end)
        return self.answer

    def solve(self, head_start, head_end):
        ahead = self.first.head(self.first_end, head_start)
        behind = self.last.head(self.last_end, head_end)
        if self.rate is not None:
            return self.through_float_valve(ahead, behind)
        drop = ahead - behind
        rest = drop - self.loss(0.0)
        if rest == 0.0 or not (self.forward if rest > 0 else self.backward):
            return 0.0
        limit = self.first.limit(self.first_end, head_start) if rest > 0 else self.last.limit(self.last_end, head_end)
        if limit <= 0.0:
            return 0.0
        sign = 1.0 if rest > 0 else -1.0
        if limit < math.inf and sign * (self.loss(sign * limit) - drop) <= 0.0:
            return sign * limit
        return self.root(drop, sign)

    def root(self, drop, sign):
        """loss(Q) = drop, Q of the given sign: secant steps from the last answer, else a bracket."""
        q, slope = self.answer, self.slope
        if slope and q * sign > 0.0:
            miss = self.loss(q) - drop
            for _ in range(8):
                step = -miss / slope
                if q * sign + step * sign <= 0.0:
                    break
                if abs(step) <= 1e-15 * abs(q):
                    self.slope = slope
                    return q + step
                again = self.loss(q + step) - drop
                if abs(again) > 0.5 * abs(miss):
                    break
                if again != miss:
                    slope = (again - miss) / step
                q, miss = q + step, again
                if miss == 0.0:
                    return q
        high = max(abs(self.answer), 1e-6)
        while sign * (self.loss(sign * high) - drop) < 0.0:
            high *= 2.0
        q = brentq(lambda q: self.loss(q) - drop, 0.0, sign * high, xtol=1e-19, rtol=1e-14)
        dq = max(1e-6 * abs(q), 1e-14)
        self.slope = (self.loss(q + dq) - self.loss(q - dq)) / (2 * dq)
        return q

    def through_float_valve(self, ahead, level):
        most = self.rate(ahead - self.loss(0.0), level)
        if most <= 0.0 or not self.forward:
            return 0.0
        return brentq(lambda q: q - self.rate(ahead - self.loss(q), level), 0.0, most, xtol=1e-19, rtol=1e-14)


class Foot:
    """A vented foot: what runs into it, and the drain (or pipe) that leads on."""

    def __init__(self, node, inlets, drain):
        self.node, self.inlets, self.drain = node, inlets, drain

    def arriving(self, head, levels):
        return [self.arrival(k, levels[k.a], head) for k in self.inlets]

    @staticmethod
    def arrival(link, level, head):
        if link.kind == "rate":
            return link.rate(level, head)
        over = level - link.head("b", head)                 # a hole: a square law, nothing back
        return math.sqrt(over / link.square) if over > 0.0 else 0.0

    def flows(self, levels, below):
        bottom = self.drain.head("b", below)
        elevation = self.node.elevation

        def room(head):
            return head - bottom - self.drain.loss(sum(self.arriving(head, levels)))

        head = elevation
        if room(elevation) < 0.0:
            top = max([elevation, bottom] + [levels[k.a] for k in self.inlets])
            head = top if room(top) <= 0.0 else brentq(room, elevation, top, xtol=1e-15, rtol=1e-14)
        arriving = self.arriving(head, levels)
        return dict(zip(self.inlets, arriving)), sum(arriving), head


class Hub:
    """A tee where three or more rows meet: its head is where as much arrives as leaves."""

    def __init__(self, node):
        self.node, self.rows, self.head = node, [], None      # rows: [(row, +1 where it ends here, -1 where it begins here)]

    def arriving(self, head, levels):
        total = 0.0
        for row, sign in self.rows:
            total += sign * (row.flow(levels[row.start], head) if sign > 0 else row.flow(head, levels[row.end]))
        return total

    def solve(self, levels):
        """Arrivals less departures fall as the head rises."""
        if self.head is None:
            self.head = sum(levels.values()) / len(levels)
        reach, low, high = 1e-3, self.head, self.head
        while self.arriving(low, levels) < 0.0:
            low, reach = low - reach, 4.0 * reach
        reach = 1e-3
        while self.arriving(high, levels) > 0.0:
            high, reach = high + reach, 4.0 * reach
        if low != high and self.arriving(low, levels) * self.arriving(high, levels) < 0.0:
            self.head = brentq(self.arriving, low, high, args=(levels,), xtol=1e-15, rtol=1e-14)
        else:                                               # at the answer already, to rounding
            self.head = min(low, high, key=lambda head: abs(self.arriving(head, levels)))
        return self.head


class Branches:
    """A farm as built for one setting, cut into rows and feet."""

    def __init__(self, farm):
        self.farm = farm
        self.rows, self.feet, self.idle = [], [], set()
        self.others, self.hubs = bool(farm.header_tees), {}
        open_links = [k for k in farm.links if k.forward or k.backward]
        self.idle = set(farm.links) - set(open_links)
        inner = {n: [] for n in farm.nodes.values() if n.kind in ("joint", "vented")}
        for k in open_links:
            for n in (k.a, k.b):
                if n in inner:
                    inner[n].append(k)
        grew = True
        while grew:                                         # dead ends carry nothing
            grew = False
            for n, links in inner.items():
                if len(links) == 1:
                    link = links[0]
                    for m in (link.a, link.b):
                        if m in inner:
                            inner[m].remove(link)
                    self.idle.add(link)
                    grew = True
        taken = set(self.idle)
        for n, links in inner.items():
            if n.kind == "vented" and links:
                self.add_foot(n, links, taken)
        for k in open_links:
            if k not in taken and not self.others:
                self.add_row(k, inner, taken)
        for row in self.rows:
            for node, sign in ((row.start, -1), (row.end, 1)):
                if node in inner:
                    self.hubs.setdefault(node, Hub(node)).rows.append((row, sign))
            self.others |= row.start in inner and row.end in inner

    def add_foot(self, node, links, taken):
        drains = [k for k in links if k.a is node and k.kind == "vent"]
        inlets = [k for k in links if k not in drains]
        simple = (len(drains) == 1 and drains[0].b.kind in ("vessel", "fixed") and drains[0].forward
                  and all(k.b is node and (k.kind == "rate" or k.square) and k.a.kind in ("vessel", "fixed") for k in inlets))
        if not simple:
            self.others = True
            return
        self.feet.append(Foot(node, inlets, drains[0]))
        taken.update(links)

    def add_row(self, link, inner, taken):
        """Follows a link both ways to the boundaries."""
        row = [(link, 1)]
        for at_end in (True, False):
            while True:
                k, sense = row[-1] if at_end else row[0]
                node = (k.b if sense > 0 else k.a) if at_end else (k.a if sense > 0 else k.b)
                if node not in inner:
                    break
                onward = [m for m in inner[node] if m is not k]
                if node.kind != "joint":
                    self.others = True
                    return
                if len(onward) != 1:
                    break                                   # a tee where rows meet
                m = onward[0]
                if at_end:
                    row.append((m, 1 if m.a is node else -1))
                else:
                    row.insert(0, (m, 1 if m.b is node else -1))
        if row[0][0].kind == "rate":
            row = [(k, -d) for k, d in reversed(row)]
        self.rows.append(Row(row))
        taken.update(k for k, _ in row)

    def flows(self, levels):
        """levels: {vessel or pond: level} -> ({link: flow}, {vented foot: head})."""
        out = dict.fromkeys(self.idle, 0.0)
        heads = {hub.node: hub.solve(levels) for hub in self.hubs.values()}
        if heads:
            levels = {**levels, **heads}
        for row in self.rows:
            q = row.flow(levels[row.start], levels[row.end])
            for k, sense in row.links:
                out[k] = sense * q
        for foot in self.feet:
            arriving, total, heads[foot.node] = foot.flows(levels, levels[foot.drain.b])
            out.update(arriving)
            out[foot.drain] = total
        return out, heads


class Whole:
    """The same by the plain equations, for farms that are neither rows nor feet."""

    def __init__(self, farm):
        self.farm = farm
        farm.prepare()
        self.point = None

    def flows(self, levels):
        import numpy as np
        farm = self.farm
        own = np.array([levels[n] for n in farm.vessels])
        start = self.point
        if start is None:
            mean = float(np.mean(list(levels.values())))
            start = np.concatenate([[n.elevation if n.kind == "vented" else mean for n in farm.joints], own, np.full(len(farm.active), 1e-4)])
        self.point = farm.at_levels(start, own, 1e-8)
        count = len(farm.row)
        out = dict.fromkeys(farm.links, 0.0)
        out.update({k: float(self.point[count + i]) for i, k in enumerate(farm.active)})
        return out, {n: float(self.point[farm.row[n]]) for n in farm.joints}
