"""The plain network of plain_network.h for Python: its equations and Jacobian in whole arrays (the peer's side), and the judge, which recomputes
every solver's errors by another way: Colebrook-White solved in closed form by Lambert's W, pump curves by SciPy's Hermite cubic."""

import numpy as np
from scipy import sparse
from scipy.interpolate import CubicHermiteSpline
from scipy.special import lambertw

GRAVITY, LITRES, LOG = 9.80665, 1000.0, 2.0 / np.log(10.0)


def slopes_of_curve(x, y):
    """Fritsch and Butland 1984; the chord at either end."""
    d, h = np.diff(y) / np.diff(x), np.diff(x)
    s = np.empty_like(x)
    s[0], s[-1] = d[0], d[-1]
    for i in range(1, len(x) - 1):
        s[i] = 3 * (h[i - 1] + h[i]) / ((2 * h[i] + h[i - 1]) / d[i - 1] + (h[i] + 2 * h[i - 1]) / d[i]) if d[i - 1] * d[i] > 0 else 0.0
    return s


class Plain:
    def __init__(self, path):
        with open(path) as file:
            nodes, links, fixed, viscosity = file.readline().split()
            self.nodes, self.links = int(nodes), int(links)
            self.fixed = np.array(file.readline().split(), float)
            self.taken = np.array(file.readline().split(), float)
            rows = [line.split() for line in file]
        self.start = np.array([float(row[3]) for row in rows])
        self.kind = np.array([row[0] for row in rows])
        ends = np.array([[int(row[1]), int(row[2])] for row in rows])
        # drive = incidence^T head + fixed part; balance = incidence flow - taken
        columns = np.arange(self.links)
        parts = [(ends[:, 0], -1.0), (ends[:, 1], 1.0)]
        known = np.zeros(self.links)
        entries = []
        for end, sign in parts:
            free = end < self.nodes
            entries.append((np.full(free.sum(), sign), (end[free], columns[free])))
            known[~free] += sign * self.fixed[end[~free] - self.nodes]
        self.incidence = sum(sparse.csr_matrix(entry, shape=(self.nodes, self.links)) for entry in entries)
        self.incidence_t = self.incidence.T.tocsr()
        self.known = known
        self.pipe = np.flatnonzero(self.kind == "pipe")
        length, bore, rough, self.kf, self.kr = np.array([[float(v) for v in rows[i][4:9]] for i in self.pipe]).reshape(-1, 5).T
        area = np.pi / 4 * bore**2
        self.reynolds_per_flow = bore / (area * float(viscosity))
        self.scale = length / bore / (2 * GRAVITY * area**2) / self.reynolds_per_flow**2  # h = scale * f Re^2
        self.rough = rough / bore / 3.7
        self.square = np.flatnonzero(self.kind == "square")
        self.coefficient = np.array([float(rows[i][4]) for i in self.square])
        self.pumps = []
        for i in np.flatnonzero(self.kind == "pump"):
            count = int(rows[i][4])
            x, y = np.array(rows[i][5:5 + count], float), np.array(rows[i][5 + count:5 + 2 * count], float)
            self.pumps.append((i, x, y, slopes_of_curve(x, y)))

    # ---------------------------------------------------------------- the peer's laws
    def turbulent(self, rough, reynolds):
        smooth = 2.51 / reynolds
        x = -0.9 * LOG * np.log(rough**1.11 + 6.9 / reynolds)
        for _ in range(3):
            inner = rough + smooth * x
            x = x - (x + LOG * np.log(inner)) / (1 + LOG * smooth / inner)
        f = 1 / x**2
        return f * reynolds**2, 2 * f * reynolds / (1 + LOG * smooth / (rough + smooth * x))

    def between(self):
        if not hasattr(self, "cubic"):
            high, high_slope = self.turbulent(self.rough, np.full(len(self.pipe), 4000.0))
            low, low_slope, high_slope = 128000.0, 128000.0, 2000.0 * high_slope
            self.cubic = (low, low_slope, 3 * (high - low) - 2 * low_slope - high_slope, 2 * (low - high) + low_slope + high_slope)
        return self.cubic

    def laws(self, flow):
        """Loss and slope of every element, SI."""
        loss, slope = np.empty(self.links), np.empty(self.links)
        q = flow[self.pipe]
        size = np.abs(q)
        reynolds = self.reynolds_per_flow * size
        c0, c1, c2, c3 = self.between()
        t = (reynolds - 2000) / 2000
        shape, shape_slope = c0 + t * (c1 + t * (c2 + t * c3)), (c1 + t * (2 * c2 + 3 * c3 * t)) / 2000
        slow, fast = reynolds <= 2000, reynolds >= 4000
        shape[slow], shape_slope[slow] = 64 * reynolds[slow], 64
        shape[fast], shape_slope[fast] = self.turbulent(self.rough[fast], reynolds[fast])
        k = np.where(q >= 0, self.kf, self.kr)
        loss[self.pipe] = np.copysign(self.scale * shape, q) + k * q * size
        slope[self.pipe] = self.scale * shape_slope * self.reynolds_per_flow + 2 * k * size
        q = flow[self.square]
        root = np.sqrt(q * q + 1e-8 / self.coefficient)
        loss[self.square], slope[self.square] = self.coefficient * q * root, self.coefficient * (root + q * q / root)
        for i, x, y, s in self.pumps:
            loss[i], slope[i] = self.pump_loss(flow[i], x, y, s)
        return loss, slope

    @staticmethod
    def pump_loss(q, x, y, s):
        if q <= x[0] or q >= x[-1]:
            end = 0 if q <= x[0] else -1
            return -(y[end] + s[end] * (q - x[end])), -s[end]
        i = np.searchsorted(x, q, side="right") - 1
        h = x[i + 1] - x[i]
        t, chord = (q - x[i]) / h, (y[i + 1] - y[i]) / h
        c2, c3 = 3 * chord - 2 * s[i] - s[i + 1], s[i] + s[i + 1] - 2 * chord
        return -(y[i] + h * t * (s[i] + t * (c2 + t * c3))), -(s[i] + t * (2 * c2 + 3 * t * c3))

    def first(self):
        return np.concatenate([LITRES * self.start, np.full(self.nodes, self.fixed.mean())])

    def residual(self, x):
        """x: flows in litres a second, then heads in m."""
        flow, head = x[:self.links], x[self.links:]
        loss, self.slope = self.laws(flow / LITRES)
        return np.concatenate([loss + self.known + self.incidence_t @ head, self.incidence @ flow - LITRES * self.taken])

    # ---------------------------------------------------------------- the judge
    def judged(self, flow, head):
        """Largest error of a law, in m, and largest imbalance of a node as a share of the largest flow."""
        q = flow[self.pipe]
        reynolds = self.reynolds_per_flow * np.abs(q)
        shape = np.where(reynolds <= 2000, 64 * reynolds, 0.0)

        # X = 1/sqrt(f) = LOG W(z) - a with a = rough Re/2.51, z = Re/(2.51 LOG) exp(a/LOG); W' = W/(z (1 + W)) gives the slope
        def turbulent(rough, re):
            a = rough * re / 2.51
            w = lambertw(re / (2.51 * LOG) * np.exp(a / LOG)).real
            x = LOG * w - a
            return re**2 / x**2, 2 * re / x**2 - 2 * re**2 / x**3 * (LOG * w / (1 + w) * (1 / re + a / (LOG * re)) - a / re)

        fast = reynolds >= 4000
        shape[fast] = turbulent(self.rough[fast], reynolds[fast])[0]
        between = np.flatnonzero((reynolds > 2000) & (reynolds < 4000))
        high, slope = turbulent(self.rough[between], np.full(len(between), 4000.0))
        for i, value, rise in zip(between, high, slope):
            shape[i] = CubicHermiteSpline([2000.0, 4000.0], [128000.0, value], [64.0, rise])(reynolds[i])
        loss = np.empty(self.links)
        loss[self.pipe] = np.sign(q) * self.scale * shape + np.where(q >= 0, self.kf, self.kr) * q * np.abs(q)
        q = flow[self.square]
        loss[self.square] = self.coefficient * q * np.sqrt(q * q + 1e-8 / self.coefficient)
        for i, x, y, s in self.pumps:
            inside = CubicHermiteSpline(x, y, s, extrapolate=False)(flow[i])
            loss[i] = -inside if np.isfinite(inside) else self.pump_loss(flow[i], x, y, s)[0]
        error = np.max(np.abs(loss + self.known + self.incidence_t @ head))
        return error, np.max(np.abs(self.incidence @ flow - self.taken)) / np.max(np.abs(flow))


def judge(network, solution):
    """Of a file of raw doubles: flows in m3/s, then heads in m."""
    plain = Plain(network)
    x = np.fromfile(solution)
    if len(x) != plain.links + plain.nodes or not np.all(np.isfinite(x)):
        return float("inf"), float("inf")
    return plain.judged(x[:plain.links], x[plain.links:])
