"""The laws of the elements, written down a second time in plain Python for the recomputation of whole networks.

Nothing here is shared with the program: formulas, constants and units are typed from their sources.
SI throughout: m, m3/s, Pa, s. A loss is a head in metres of water, positive in the direction of positive flow.
"""
import math

G = 9.80665  # standard gravity, CGPM 1901
CROSSING = 1.086845609875  # bores over the invert where the critical section and the orifice let the same in (brentq on the two laws)


# ---------------------------------------------------------------------------------------------- water and air

def density(celsius):
    """Liquid water at 0.1 MPa, IAPWS SR6-08(2011) equation 1 (coefficients from memory; checked against tabulated IAPWS-95 below)."""
    kelvin = celsius + 273.15
    alpha, beta = 10.0 / (593.0 - kelvin), 10.0 / (kelvin - 232.0)
    a = ((4, 6.74458446e3), (5, -2.22521604e5), (7, 1.00231247e8), (8, -1.63552118e9), (9, 8.32299658e9))
    b = (5.78545292e-3, -1.53195665e-2, 3.11337859e-2, -4.23546241e-2, 3.38713507e-2, -1.19946761e-2)
    series = 1.93763157e-2 + sum(c * alpha**n for n, c in a) + sum(c * beta**m for m, c in enumerate(b, 1))
    return 1.0e5 / (461.51805 * 10.0 * series)


def viscosity(celsius):
    """Dynamic viscosity of liquid water at 0.1 MPa, Pa s; IAPWS SR6-08(2011) equation 7."""
    reduced = (celsius + 273.15) / 300.0
    return 1e-6 * (280.68 * reduced**-1.9 + 511.45 * reduced**-7.7 + 61.131 * reduced**-19.6 + 0.45903 * reduced**-40.0)


def vapour_pressure(celsius):
    """Saturation pressure of water, Pa; IAPWS SR1-86 (Wagner and Pruss) equation 1."""
    kelvin = celsius + 273.15
    tau = 1.0 - kelvin / 647.096
    powers = ((1.0, -7.85951783), (1.5, 1.84408259), (3.0, -11.7866497), (3.5, 22.6807411), (4.0, -15.9618719), (7.5, 1.80122502))
    return 22.064e6 * math.exp(647.096 / kelvin * sum(c * tau**p for p, c in powers))


def air_pressure(altitude):
    """ISO 2533 standard atmosphere, troposphere, Pa (geometric height taken as geopotential)."""
    return 101325.0 * (1.0 - 0.0065 * altitude / 288.15) ** (G * 0.0289644 / (8.31432 * 0.0065))


# ---------------------------------------------------------------------------------------------- pipes

def colebrook(reynolds, relative):
    """Darcy friction factor of Colebrook (1939), iterated to rest."""
    x = -2.0 * math.log10(relative / 3.7 + 5.74 / reynolds**0.9)
    for _ in range(50):
        argument = relative / 3.7 + 2.51 * x / reynolds
        residual = x + 2.0 * math.log10(argument)
        step = residual / (1.0 + 2.0 / math.log(10.0) * 2.51 / reynolds / argument)
        x -= step
        if abs(step) < 1e-15 * x:
            break
    return 1.0 / (x * x)


def colebrook_square(reynolds, relative):
    """f Re^2 and its derivative in Re on the Colebrook branch (implicit differentiation)."""
    f = colebrook(reynolds, relative)
    x = 1.0 / math.sqrt(f)
    argument = relative / 3.7 + 2.51 * x / reynolds
    c = 2.0 / math.log(10.0) / argument * 2.51
    slope_x = c * x / reynolds**2 / (1.0 + c / reynolds)
    return f * reynolds**2, -2.0 / x**3 * slope_x * reynolds**2 + 2.0 * f * reynolds


class Darcy:
    """h = f L/D v^2/2g: 64/Re to 2000, Colebrook from 4000, between a cubic Hermite of f Re^2 in Re."""

    def __init__(self, length, bore, roughness, nu):
        self.area = math.pi * bore**2 / 4
        self.re_per_flow = bore / self.area / nu
        self.factor = length / bore / (2 * G) * (nu / bore) ** 2  # h = factor * f Re^2
        self.relative = roughness / bore
        self.joint = colebrook_square(4000.0, self.relative)

    def loss(self, flow):
        re = abs(flow) * self.re_per_flow
        if re <= 2000.0:
            value = 64.0 * re
        elif re >= 4000.0:
            value = colebrook(re, self.relative) * re * re
        else:
            t, width = (re - 2000.0) / 2000.0, 2000.0
            h00, h10 = (1 + 2 * t) * (1 - t) ** 2, t * (1 - t) ** 2
            h01, h11 = t * t * (3 - 2 * t), t * t * (t - 1)
            value = h00 * 128000.0 + h10 * width * 64.0 + h01 * self.joint[0] + h11 * width * self.joint[1]
        return math.copysign(self.factor * value, flow)


class Hazen:
    """h = w L Q^n / (C^n D^m); below 1 mm/s Q (a + b|Q|) joined in value and slope."""

    def __init__(self, length, bore, c, w=10.67, n=1.852, m=4.8704):
        self.k, self.n = w * length / (c**n * bore**m), n
        self.join = 1e-3 * math.pi * bore**2 / 4
        q = self.join
        self.b = (n - 1) * self.k * q ** (n - 2)           # slope - value/q = b q
        self.a = self.k * q ** (n - 1) - self.b * q

    def loss(self, flow):
        q = abs(flow)
        value = self.k * q**self.n if q >= self.join else q * (self.a + self.b * q)
        return math.copysign(value, flow)


# ---------------------------------------------------------------------------------------------- curves

class Pchip:
    """Piecewise cubic Hermite with harmonic-mean slopes (Fritsch and Butland 1984), secant slopes at the ends, straight beyond.
    The end rule is the one Boost.Math documents for its pchip."""

    def __init__(self, x, y):
        self.x, self.y = list(x), list(y)
        n = len(x)
        secant = [(y[k + 1] - y[k]) / (x[k + 1] - x[k]) for k in range(n - 1)]
        self.s = [secant[0]] + [0.0] * (n - 2) + [secant[-1]]
        for k in range(1, n - 1):
            before, after = x[k] - x[k - 1], x[k + 1] - x[k]
            if secant[k - 1] * secant[k] > 0:
                w1, w2 = 2 * after + before, after + 2 * before
                self.s[k] = (w1 + w2) / (w1 / secant[k - 1] + w2 / secant[k])

    def __call__(self, at):
        x, y, s = self.x, self.y, self.s
        if at <= x[0]:
            return y[0] + s[0] * (at - x[0])
        if at >= x[-1]:
            return y[-1] + s[-1] * (at - x[-1])
        k = max(i for i in range(len(x) - 1) if x[i] <= at)
        width = x[k + 1] - x[k]
        t = (at - x[k]) / width
        return ((1 + 2 * t) * (1 - t) ** 2 * y[k] + t * (1 - t) ** 2 * width * s[k]
                + t * t * (3 - 2 * t) * y[k + 1] + t * t * (t - 1) * width * s[k + 1])


# ---------------------------------------------------------------------------------------------- free surfaces

def standpipe_flow(bore, over):
    """The least of weir 2/3 0.62 sqrt(2g) pi D h^1.5 and orifice 0.62 A sqrt(2 g h)."""
    if over <= 0:
        return 0.0
    return min(2 / 3 * 0.62 * math.sqrt(2 * G) * math.pi * bore * over**1.5,
               0.62 * math.pi * bore**2 / 4 * math.sqrt(2 * G * over))


def tee(dividing, branch, angle, b, q):
    """Loss coefficient of the branch (or the run) of a header tee, in velocity heads of the combined leg. q = branch flow / combined flow,
    b = branch area / run area. Crane TP-410 (2009) chapter 2; its steps in C and G as ramps 0.05 wide (docs/theory.md)."""
    def ramp(before, at_step, after, step):
        return before if q <= step else after if q >= step + 0.05 else at_step + (after - at_step) * (q - step) / 0.05

    table = ((30.0, 1.74), (45.0, 1.41), (60.0, 1.0), (90.0, 0.0))
    f = next(f0 + (f1 - f0) * max(0.0, (angle - a0) / (a1 - a0)) for (a0, f0), (a1, f1) in zip(table, table[1:]) if angle <= a1)
    if not dividing:
        if not branch:
            return 1.55 * q - q * q if angle >= 90.0 else 1 - (1 - q) ** 2 - f * q * q / b
        c = 1.0 if b <= 0.35 else ramp(0.9 * (1 - q), 0.54, 0.55, 0.4)
        return c * (1 + (q / b) ** 2 - 2 * (1 - q) ** 2 - f * q * q / b)
    if not branch:
        return 0.4 * q * q if b <= 0.4 else (2.0 if q <= 0.5 else 0.3) * (2 * q - 1) * q * q
    slanted = angle < 75.0
    if slanted:
        g = ramp(1.1 - 0.7 * q, 0.82, 0.85, 0.4) if b <= 0.35 else ramp(1 - 0.6 * q, 0.64, 0.6, 0.6)
    else:
        g = 1.0 if math.sqrt(b) <= 2 / 3 else 1 + 0.3 * q * q
    if slanted or math.sqrt(b) <= 2 / 3:
        return g * (1 + (q / b) ** 2 - 2 * q / b * math.cos(math.radians(angle)))
    return g * (1 + 0.3 * (q / b) ** 2)


def circle(share):
    """Area and surface width, in bores, of a circle filled to `share` of its bore."""
    theta = 2 * math.acos(max(-1.0, min(1.0, 1 - 2 * share)))
    return (theta - math.sin(theta)) / 8, math.sin(theta / 2)


def opening_flow(bore, depth):
    """What a round opening lets in at `depth` above its invert: flow through critical depth whose specific energy is that depth,
    up to where the orifice law 0.61 A sqrt(2g (depth - D/2)) gives less (1.0868 D); from there to 2 D that law is raised to ten times
    itself (docs/theory.md), for a drowned mouth does not cap a pipe that sucks."""
    if depth <= 0:
        return 0.0
    e = depth / bore
    raised = min(1.0, max(0.0, (e - CROSSING) / (2.0 - CROSSING)))
    orifice = (1.0 + 9.0 * raised * raised * (3.0 - 2.0 * raised)) * 0.61 * math.pi / 4 * math.sqrt(2 * max(e - 0.5, 0.0))
    if e > CROSSING:
        critical = math.inf
    else:
        low, high = 0.0, 1.0 - 1e-13
        for _ in range(80):
            mid = (low + high) / 2
            area, width = circle(mid)
            if mid + area / (2 * width) < e if width > 0 else False:
                low = mid
            else:
                high = mid
        area, width = circle((low + high) / 2)
        critical = math.sqrt(area**3 / width) if width > 0 else 0.0
    share = critical if e <= CROSSING else orifice
    return share * math.sqrt(G) * bore**2.5


def part_full(bore, slope, manning, flow):
    """Fill ratio (the lower one) and share of the full bore's capacity by Manning's law; nothing is said of pipes without fall."""
    if slope <= 0:
        return {}
    full = math.pi * bore**2 / 4 * (bore / 4) ** (2 / 3) * math.sqrt(slope) / manning
    share = flow / full
    if share >= 1.0757:
        return {"fill_ratio": 1.0, "capacity_used": share}
    low, high = 0.0, 2 * math.acos(1 - 2 * 0.9381813)          # the angle of greatest flow
    for _ in range(200):
        theta = (low + high) / 2
        ratio = (theta - math.sin(theta)) ** (5 / 3) / (2 * math.pi * theta ** (2 / 3)) if theta > 0 else 0.0
        low, high = (theta, high) if ratio < share else (low, theta)
    return {"fill_ratio": (1 - math.cos(low / 2)) / 2 if flow > 0 else 0.0, "capacity_used": share}


def self_check(csv_path):
    """Largest relative differences of density and viscosity from the tabulated IAPWS-95 / R12-08 values."""
    worst = [0.0, 0.0]
    with open(csv_path, encoding="utf-8") as lines:
        for line in lines:
            if line[0] in "#T":
                continue
            t, rho, mu = [float(v) for v in line.split(",")[:3]]
            worst = [max(worst[0], abs(density(t) / rho - 1)), max(worst[1], abs(viscosity(t) / mu - 1))]
    return worst
