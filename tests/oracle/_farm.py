"""A farm solved as plain equations: a second, independent way from a layout file to its flows, heads and levels.

Unknowns are the heads of the joints, the levels of the vessels and the flow of every link; the equations are the laws of the
links, the balance of the joints and, for a settled farm, the balance of the vessels over one implicit step in time that grows
until nothing moves (so every water inventory is kept by construction). Solved by Newton steps on a dense matrix and then
confirmed and polished by scipy.optimize.root. Made for small farms and clear reading; speed is no aim.
"""
import math

import numpy as np
from scipy.optimize import root

import _laws as laws
from _elements import Elements
from _in_time import LOST, Way
from _laws import G

RIM_RATE = 1e-3               # m2/s: gives the room under a rim the size of a flow, to compare the two


class Farm(Elements):
    # ------------------------------------------------------------------------------------------ equations

    def dead(self):
        """Joints that no open link joins to a fixed head or a vessel: their heads mean nothing and their links carry nothing."""
        alive = {n for n in self.nodes.values() if n.kind in ("fixed", "vessel", "vented")}
        grew = True
        while grew:
            grew = False
            for link in self.links:
                if link.forward or link.backward:
                    if (link.a in alive) != (link.b in alive):
                        alive |= {link.a, link.b}
                        grew = True
        return {n for n in self.nodes.values() if n not in alive}

    def prepare(self):
        self.lost = self.dead()
        self.active = [k for k in self.links if k.a not in self.lost and k.b not in self.lost]
        self.joints = [n for n in self.nodes.values() if n.kind in ("joint", "vented") and n not in self.lost]
        self.vessels = [n for n in self.nodes.values() if n.kind == "vessel"]
        self.row = {n: i for i, n in enumerate(self.joints + self.vessels)}

    def equations(self, x, step, old):
        """Residuals and their dense Jacobian. `step`: seconds; vessels keep their level when it is 0, and joints then hold a
        pseudo store of old['joint area'] (a continuation that is removed before the end)."""
        n, m = len(self.row), len(self.active)
        heads = x[:n]
        r, jac = np.zeros(n + m), np.zeros((n + m, n + m))
        for i, node in enumerate(self.joints):
            store = old["joint rate"]
            r[i] = -store * (heads[i] - old["heads"][i]) - node.takes
            jac[i, i] = -store
        for i, node in enumerate(self.vessels, len(self.joints)):
            if step == 0:
                r[i], jac[i, i] = heads[i] - old["heads"][i], 1.0
            else:
                depth = heads[i] - node.elevation
                r[i] = -(node.volume_at(depth) - node.volume_at(old["heads"][i] - node.elevation)) / step
                jac[i, i] = -(node.volume_at(depth + 1e-7) - node.volume_at(depth - 1e-7)) / 2e-7 / step
        fixed_levels = step == 0
        tees, tee_slopes = self.tee_losses(x)
        for j, link in enumerate(self.active, n):
            q = x[j]
            ia, ib = self.row.get(link.a), self.row.get(link.b)
            ha = link.a.start if ia is None else heads[ia]
            hb = link.b.start if ib is None else heads[ib]
            for index, node, sign in ((ia, link.a, -1.0), (ib, link.b, 1.0)):
                if index is not None and not (fixed_levels and node.kind == "vessel"):
                    r[index] += sign * q
                    jac[index, j] = sign
            loss = link.loss(q) + tees.get(link, 0.0) if link.loss else None
            r[j] = link.residual(q, ha, hb, loss)
            dq = max(1e-9, 1e-6 * abs(q))
            if link.loss:
                jac[j, j] = (link.residual(q + dq, ha, hb, link.loss(q + dq) + tees.get(link, 0.0))
                             - link.residual(q - dq, ha, hb, link.loss(q - dq) + tees.get(link, 0.0))) / (2 * dq)
                share = (link.residual(q, ha, hb, loss + 1e-7) - link.residual(q, ha, hb, loss - 1e-7)) / 2e-7
                for other, slope in tee_slopes.get(link, ()):
                    jac[j, n + other] += share * slope
                if link.square and abs(q) < 1e-3 * math.sqrt(abs(ha - link.head("b", hb)) / link.square):
                    # a square law has no slope at rest: step to its root along the chord instead
                    jac[j, j] = max(jac[j, j], math.sqrt(abs(ha - link.head("b", hb)) * link.square))
            else:
                jac[j, j] = 1e3
            for index, da, db in ((ia, 1e-7, 0.0), (ib, 0.0, 1e-7)):
                if index is not None:
                    jac[j, index] += (link.residual(q, ha + da, hb + db, loss) - link.residual(q, ha - da, hb - db, loss)) / 2e-7
        if not fixed_levels:
            for i, node in enumerate(self.vessels, len(self.joints)):
                room = RIM_RATE * (node.rim - heads[i])
                if room < r[i]:             # it stands at its rim, and what it gains goes over
                    r[i], jac[i, :] = room, 0.0
                    jac[i, i] = -RIM_RATE
        return r, jac

    def tee_losses(self, x):
        """What header tees add to their legs at these flows, and the slopes of that: link -> [(number of the link whose flow changes, slope)]."""
        losses, slopes = {}, {}
        if not self.header_tees:
            return losses, slopes
        place = {link: i for i, link in enumerate(self.active)}
        for tee in self.header_tees:
            if any(k not in place for k in tee.legs):
                continue
            flows = [x[len(self.row) + place[k]] for k in tee.legs]
            for k, loss in zip(tee.legs, tee.losses(flows)):
                losses[k] = losses.get(k, 0.0) + loss
            for i, other in enumerate(tee.legs):
                dq = max(1e-9, 1e-6 * abs(flows[i]))
                up, down = list(flows), list(flows)
                up[i], down[i] = flows[i] + dq, flows[i] - dq
                for k, a, b in zip(tee.legs, tee.losses(up), tee.losses(down)):
                    slopes.setdefault(k, []).append((place[other], (a - b) / (2 * dq)))
        return losses, slopes

    def newton(self, x, step, old, steps=60, enough=1e-9):
        weight = np.concatenate([np.full(len(self.row), 1e3), np.ones(len(self.active))])
        if step == 0:
            weight[len(self.joints):len(self.row)] = 1.0
        for _ in range(steps):
            r, jac = self.equations(x, step, old)
            size = np.abs(weight * r).max()
            if size < 1e-11:
                return x, True
            scaled = jac * weight[:, None]
            try:
                delta = -np.linalg.solve(scaled, weight * r)
            except np.linalg.LinAlgError:
                delta = -np.linalg.lstsq(scaled, weight * r, rcond=1e-14)[0]
            share = 1.0
            best = None
            while share > 1e-3:
                trial = x + share * delta
                trial_size = np.abs(weight * self.equations(trial, step, old)[0]).max()
                if best is None or trial_size < best[0]:
                    best = (trial_size, trial)
                if trial_size < (1 - 0.1 * share) * size:
                    break
                share /= 2
            if size < enough and best[0] >= size:
                return x, True
            x = best[1]
        return x, size < enough

    def at_levels(self, x, old_levels, enough=1e-9):
        """Heads and flows with the vessels' levels held; `enough`: an error of the laws in metres that will do."""
        n = len(self.joints)
        heads = np.array(x[:len(self.row)])
        heads[n:] = old_levels
        x = np.concatenate([heads, x[len(self.row):]])
        first, ok = self.newton(x, 0, {"joint rate": 0.0, "heads": heads}, 25, enough)
        if ok:
            return first
        rate, now = 1e-1, x
        while rate > 1e-16:
            trial, ok = self.newton(now, 0, {"joint rate": rate, "heads": np.array(now[:len(self.row)])}, 40)
            if ok:
                now, rate = trial, rate / 10
            else:
                rate *= 3
                if rate > 1e3:
                    raise RuntimeError("the plain equations did not converge at given levels")
        final, ok = self.newton(now, 0, {"joint rate": 0.0, "heads": np.array(now[:len(self.row)])}, 60, enough)
        if not ok:
            raise RuntimeError("the plain equations did not converge at given levels")
        return final

    def polish(self, x, step, old):
        """scipy.optimize.root confirms the root; the better of the two answers is kept."""
        answer = root(lambda y: self.equations(y, step, old), x, jac=True, method="hybr", options={"xtol": 1e-15, "maxfev": 60})
        before = np.abs(self.equations(x, step, old)[0]).max()
        after = np.abs(answer.fun).max()
        moved = np.abs(answer.x - x).max()
        if after < before and moved < 1e-6:
            return answer.x, after
        return x, before

    def solve(self, name):
        """The answer to one arrangement, siphons' memory included; self.state is given-levels, settled or cycles."""
        self.primed, self.state = set(), "given-levels" if self.at_start(name) else "settled"
        answer = self.solve_as_primed(name)
        siphons = [k for k in self.links if k.name[0] == "siphons"]
        starting = {k.name[1] for k in siphons if self.flows[k] >= k.extra["starts"]}
        if starting and self.state == "settled":
            self.primed = starting
            answer = self.solve_as_primed(name)
            if any(k.extra["primed"] and self.heads[k.a] <= k.extra["breaks"] for k in self.links if k.name[0] == "siphons"):
                self.state = "cycles"
        return answer

    def solve_as_primed(self, name, near=None):
        """`near`: flows by link name to start from."""
        settings = self.settings(name)
        self.build(settings)
        self.prepare()
        mean = np.mean([n.start if n.kind == "fixed" else n.elevation + n.start
                        for n in self.nodes.values() if n.kind in ("fixed", "vessel")])
        levels = np.array([n.elevation + n.start for n in self.vessels])
        start = [n.elevation if n.kind == "vented" else mean for n in self.joints] + list(levels)
        x = np.concatenate([start, np.full(len(self.active), 1e-4)])
        if near:
            x[len(self.row):] = [near.get(link.name, 1e-4) for link in self.active]
        x = self.at_levels(x, levels)
        if self.at_start(name):
            x, self.worst = self.polish(x, 0, {"joint rate": 0.0, "heads": np.array(x[:len(self.row)])})
            return self.answer(x)
        n = len(self.joints)
        self.on_the_way, self.spills, self.way = False, False, None
        end = self.settle(x, 4.0)
        other = self.settle(x, 12.0)
        # where two walks of different steps end apart, the end depends on the way: then the way is integrated in time
        self.on_the_way = self.spills or bool(np.abs(end - other)[n:len(self.row)].max(initial=0.0) > 2e-6)
        if self.on_the_way:
            self.way = Way(self, x).follow()
            if self.way.dry_after is not None and self.way.end_bare and self.is_closed():
                self.state = "spills-until-dry"
            end = self.settle(self.way.point, 4.0)
        x, self.worst = self.polish(end, 1e11, {"joint rate": 0.0, "heads": np.array(end[:len(self.row)])})
        return self.answer(x)

    def settle(self, x, growth):
        """Implicit steps in time that grow until nothing moves."""
        step, count = 1.0, 0
        while step < 1e11:
            count += 1
            old = {"joint rate": 0.0, "heads": np.array(x[:len(self.row)])}
            trial, ok = self.newton(x, step, old, 30)
            if ok:
                x, step = trial, step * growth
                levels = x[len(self.joints):len(self.row)]
                self.spills |= any(level > node.rim - 1e-9 for node, level in zip(self.vessels, levels))
            else:
                step /= 8
            if count > 400 or step < 1e-6:
                raise RuntimeError("the plain equations did not settle")
        return x

    def rates(self, x):
        """Net flow into each vessel."""
        net = {node: 0.0 for node in self.vessels}
        for i, link in enumerate(self.active):
            q = x[len(self.row) + i]
            if link.a in net:
                net[link.a] -= q
            if link.b in net:
                net[link.b] += q
        return np.array([net[node] for node in self.vessels])

    def add_spilled(self, node, entry):
        i = self.vessels.index(node)
        entry["spilled_m3"] = float(self.way.spilled[i]) if self.way.spilled[i] > LOST else 0.0
        entry["first_spill_s"] = self.way.first[i] if self.way.spilled[i] > LOST else None

    def lower_end_is_free(self, link):
        return self.heads[link.b] <= (link.port_b[0] if link.port_b else link.b.elevation)

    def is_closed(self):
        return not any(n.kind == "fixed" for n in self.nodes.values())

    def start_volume(self):
        return sum(n.volume_at(n.start) for n in self.vessels)

    def unpinned(self):
        """Does an opening hold a flow back at a depth of more than its bore? What it then lets in is our choice on either side."""
        for link, q in self.flows.items():
            for port, node, out in ((link.port_a, link.a, q), (link.port_b, link.b, -q)):
                if port and node.kind == "vessel" and out > 0 and link.kind == "loss":
                    lowest = port[0] if link.air_hole is None or port is link.port_a else max(port[0], link.air_hole)
                    depth = self.heads[node] - lowest
                    if depth > 1.05 * port[1] and out > 0.999 * laws.opening_flow(port[1], depth):
                        return True
        return False

    def free_heads(self, x, without_resting=False):
        """Joints whose head no equation fixes at this answer (water held between a check valve and a free outlet, say). With
        `without_resting`, also those that only a one-way link at rest fixes: their head may be higher, were it trapped."""
        n = len(self.joints)
        old = {"joint rate": 0.0, "heads": np.array(x[:len(self.row)])}
        jac = self.equations(x, 0, old)[1]
        if without_resting:
            for i, link in enumerate(self.active, len(self.row)):
                if link.kind == "loss" and abs(x[i]) < 1e-10 and self.is_bounded(link):
                    jac[i, :] = 0.0
                    jac[i, i] = 1.0
        scale = np.abs(jac).max(axis=1, keepdims=True)
        _, sizes, rows = np.linalg.svd(jac / np.where(scale > 0, scale, 1.0))
        loose = rows[sizes < 1e-9 * max(sizes[0], 1.0)]
        return {node.name for i, node in enumerate(self.joints[:n]) if np.abs(loose[:, i]).max(initial=0.0) > 1e-6}

    def is_bounded(self, link):
        """Could this link at rest be held there by a bound, whatever the head behind it?"""
        return 0.0 in (link.limit("a", self.heads[link.a]), link.limit("b", self.heads[link.b]))

    def least_heads(self, loose):
        """Tees whose head nothing fixes (names) but behind something that lets water only in: the least head that holds it back, and so for
        all tees joined to them by water at rest. name -> head, None where nothing presses."""
        known = {n: h for n, h in self.heads.items() if h is not None and n.name not in loose}
        parts = {n: {n} for n in self.joints if n.name in loose}
        for link in self.active:
            if link.kind == "loss" and link.a in parts and link.b in parts and not self.is_bounded(link) and parts[link.a] is not parts[link.b]:
                joined = parts[link.a] | parts[link.b]
                parts.update({n: joined for n in joined})
        grew = True
        while grew:
            pressing = {}
            for link in self.active:
                if link.kind == "loss" and link.forward and link.a in known and link.b in parts and link.b not in known and self.is_bounded(link):
                    if link.port_a and self.heads[link.a] <= link.port_a[0] or link.intake is not None and self.heads[link.a] <= link.intake:
                        continue                  # no water stands before it
                    head = link.head("a", known[link.a]) - link.loss(0.0)
                    for n in parts[link.b]:
                        pressing[n] = max(head, pressing.get(n, -math.inf))
            known.update(pressing)
            grew = bool(pressing)
        return {n.name: known.get(n) for n in parts if n in known}

    # ------------------------------------------------------------------------------------------ the answer, in the names of the JSON

    def answer(self, x):
        heads = {n: (n.start if n.kind == "fixed" else float(x[self.row[n]]) if n in self.row else None) for n in self.nodes.values()}
        flows = {k: float(x[len(self.row) + i]) for i, k in enumerate(self.active)}
        tees = self.tee_losses(x)[0]
        out = {"vessels": {}, "tees": {}, "pipes": {}, "drains": {}, "pumps": {}, "filters": {}, "nozzles": {}, "standpipes": {},
               "supplies": {}, "float_valves": {}, "siphons": {}}
        for node in self.vessels:
            inflow = outflow = 0.0
            for link, q in flows.items():
                into = q if link.b is node else -q if link.a is node else 0.0
                inflow, outflow = inflow + max(into, 0.0), outflow + max(-into, 0.0)
            depth = heads[node] - node.elevation
            out["vessels"][node.name] = {"depth_m": depth, "level_m": heads[node], "volume_m3": node.volume_at(depth),
                                         "inflow_m3_s": inflow, "outflow_m3_s": outflow}
            if self.state == "settled":
                over = max(0.0, inflow - outflow) if heads[node] > node.rim - 1e-9 else 0.0
                out["vessels"][node.name]["spill_m3_s"] = over
                if self.on_the_way and over < 1e-9:
                    self.add_spilled(node, out["vessels"][node.name])
        for e in self.tree.findall("tee"):
            out["tees"][e.get("id")] = {"head_m": heads[self.nodes[e.get("id")]]}
        self.heads, self.flows = heads, flows
        loose = self.free_heads(x) | self.free_heads(x, True)
        self.held_back = self.least_heads(loose)
        self.undetermined = loose - set(self.held_back)
        holes = {}
        for link in self.links:
            group, ident = link.name
            q = flows.get(link, 0.0)
            if group == "holes":
                holes[ident.split()[0]] = holes.get(ident.split()[0], 0.0) + q
                continue
            entry = {"flow_m3_s": q}
            if group == "pipes":
                entry["velocity_m_s"] = q / link.extra["area"]
                entry["reynolds"] = abs(q) * link.extra["reynolds"]
            if group == "pipes":
                entry["loss_m"] = None if link.extra["shut"] or link not in flows else link.loss(q) + tees.get(link, 0.0)
                if self.header_tees and link in flows:
                    entry["tee_loss_m"] = tees.get(link, 0.0)
            if group == "drains" and link.kind == "vent" and heads[link.a] <= link.a.elevation and self.lower_end_is_free(link):
                lower = link.port_b[0] if link.port_b else link.b.elevation
                entry.update(laws.part_full(link.extra["bore"], (link.a.elevation - lower) / link.extra["length"], 0.010, q))
            if group == "siphons":
                entry["primed"] = link.extra["primed"]
            if group == "filters":
                entry["loss_m"] = link.loss(q)
            if group == "pumps":
                if link in flows and link.extra["running"]:
                    entry["head_m"] = -link.loss(q)
                    entry["power_w"] = link.extra["power"](q)
                    entry["efficiency"] = self.rho * G * q * entry["head_m"] / entry["power_w"]
                if link in flows:
                    entry["npsh_available_m"] = self.suction_head + heads[link.a] - link.extra["elevation"]
            out[group][ident] = entry
        for ident, q in holes.items():
            out["standpipes"][ident]["flow_m3_s"] += q
        return out
