"""The levels of a farm integrated in time by SciPy, spills over the rims included: the definition of the settled state, followed literally.

The states are the volumes. A vessel that stands at its rim keeps its volume and loses what it gains, until it gains no more; both moments
are events of scipy.integrate.solve_ivp, and between them the right-hand side is smooth enough for it. A network solve in every call.
"""
import math

import numpy as np
from scipy.integrate import solve_ivp

DAYS = 4.0
BARE = 0.020                  # a pump starves while the water stands less than this over its intake
LOST = 1e-7                   # m3: less is no spill
STILL = 1e-9                  # m/s: a tenth of a millimetre a day


class Way:
    """What happened on the way: the point at the end, litres over each rim, when that began, and when an intake fell bare after a spill."""

    def __init__(self, farm, x):
        self.farm, self.point, self.cold = farm, np.array(x), np.array(x)
        count = len(farm.vessels)
        self.spilled, self.first = np.zeros(count), [None] * count
        self.dry_after = None
        self.tables = [tuple(zip(*node.volume)) for node in farm.vessels]

    def levels(self, volumes):
        return np.array([node.elevation + float(np.interp(v, table[1], table[0])) for node, table, v in zip(self.farm.vessels, self.tables, volumes)])

    def net(self, volumes):
        try:
            self.point = self.farm.at_levels(self.point, self.levels(volumes), 1e-8)
        except RuntimeError:
            self.point = self.farm.at_levels(self.cold, self.levels(volumes), 1e-8)
        return self.farm.rates(self.point)

    def bare(self, volumes):
        """Height of the water over the starving band of the first intake to fall bare; infinite without a running submersible."""
        over, levels = math.inf, dict(zip(self.farm.vessels, self.levels(volumes)))
        for link in self.farm.links:
            if link.intake is not None and link.extra.get("running"):
                over = min(over, levels[link.a] - link.intake - BARE)
        return over

    def speed(self, volumes, held):
        net = self.net(volumes)
        depths = self.levels(volumes) - [node.elevation for node in self.farm.vessels]
        areas = [(node.volume_at(d + 1e-6) - node.volume_at(d - 1e-6)) / 2e-6 for node, d in zip(self.farm.vessels, depths)]
        return max((abs(q) / a for q, a, at_rim in zip(net, areas, held) if not (at_rim and q >= 0.0)), default=0.0)

    def follow(self):
        farm, count = self.farm, len(self.farm.vessels)
        full = np.array([table[1][-1] for table in self.tables])
        volumes = np.array([node.volume_at(node.start) for node in farm.vessels])
        now, brim, chunk = 0.0, volumes >= full, 300.0
        while now < DAYS * 86400.0:
            held = brim.copy()

            def slope(_, state, held=held):
                net = self.net(state[:count])
                return np.concatenate([np.where(held, 0.0, net), np.where(held, net, 0.0)])

            def event(function, direction):
                function.terminal, function.direction = True, direction
                return function

            events = []
            for i in range(count):
                if held[i]:
                    events.append(event(lambda _, s, i=i: self.net(s[:count])[i], -1))      # gains no more
                else:
                    events.append(event(lambda _, s, i=i: s[i] - full[i], 1))               # reaches its rim
            if self.dry_after is None:
                events.append(event(lambda _, s: min(1.0, self.bare(s[:count])), -1))
            try:
                answer = solve_ivp(slope, (now, min(now + chunk, DAYS * 86400.0)), np.concatenate([volumes, self.spilled]), method="LSODA",
                                   rtol=1e-7, atol=1e-9, max_step=1800.0, events=events)
            except ValueError:
                # an event within the noise of the network solves at the end of a step: other steps miss it
                chunk *= 0.37
                if chunk < 1e-3:
                    raise
                continue
            if not answer.success:
                raise RuntimeError("the integration in time failed: " + answer.message)
            now, volumes, self.spilled = answer.t[-1], answer.y[:count, -1].copy(), answer.y[count:, -1].copy()
            for i, times in enumerate(answer.t_events):
                if len(times) == 0:
                    continue
                if i == count:
                    self.dry_after = now if self.spilled.max() > LOST else None
                elif held[i]:
                    brim[i] = False
                    volumes[i] = full[i] - 1e-12
                else:
                    brim[i], volumes[i] = True, full[i]
                    self.first[i] = now if self.first[i] is None else self.first[i]
            chunk *= 2.0
            if self.speed(volumes, brim) < STILL or (self.dry_after is not None and not brim.any()):
                break
        self.net(volumes)
        self.end_bare = self.bare(volumes) < 0.0
        return self
