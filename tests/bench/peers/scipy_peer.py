"""SciPy on the plain equations: what most people would script.
    python3 scipy_peer.py NETWORK FOLDER SECONDS
Its best chance: whole-array laws, exact Jacobian, and each way only where it can be waited for.
    root hybr            Powell's hybrid method with the exact (dense) Jacobian: up to 1500 unknowns
    root krylov          Newton-Krylov, preconditioned by the factorised Jacobian of the start: up to 20,000 unknowns
    Newton, splu         full steps, SuperLU of the whole Jacobian by COLAMD's order; minimum degree (MMD) takes minutes beyond 3000 unknowns
    Newton, splu, heads  the flows eliminated by hand, SuperLU of the matrix of the heads alone
"""

import sys
import time

import numpy as np
from scipy import optimize, sparse
from scipy.sparse.linalg import LinearOperator, splu

import plain

TOLERANCE = 1e-9


class Peer:
    def __init__(self, p):
        self.p = p
        # the pattern once: the slopes' places in the arrays of the whole Jacobian
        marked = sparse.bmat([[sparse.diags(np.full(p.links, 7.0)), p.incidence_t], [p.incidence, None]], format="csc")
        self.whole = marked
        self.places = np.flatnonzero(marked.data == 7.0)

    def jacobian(self):
        self.whole.data[self.places] = self.p.slope / plain.LITRES
        return self.whole

    def newton(self, order, heads_only):
        p, x, steps = self.p, self.p.first(), 0
        f = p.residual(x)
        while np.max(np.abs(f)) > TOLERANCE and steps < 100:
            if heads_only:
                inverse = plain.LITRES / p.slope
                energy, mass = f[:p.links], f[p.links:]
                matrix = (p.incidence @ sparse.diags(inverse) @ p.incidence_t).tocsc()
                head = splu(matrix, permc_spec=order, diag_pivot_thresh=0.0, options={"SymmetricMode": True}).solve(mass - p.incidence @ (inverse * energy))
                x = x + np.concatenate([-inverse * (energy + p.incidence_t @ head), head])
            else:
                x = x - splu(self.jacobian(), permc_spec=order).solve(f)
            f = p.residual(x)
            steps += 1
        return x, steps, bool(np.max(np.abs(f)) <= TOLERANCE)

    def hybr(self):
        def slopes(x):
            self.p.residual(x)
            return self.jacobian().toarray()

        got = optimize.root(self.p.residual, self.p.first(), jac=slopes, method="hybr", options={"xtol": 1e-13})
        return got.x, int(got.nfev), bool(np.max(np.abs(got.fun)) <= TOLERANCE)

    def krylov(self):
        p = self.p
        p.residual(p.first())
        lu = splu(self.jacobian())
        size = p.links + p.nodes
        got = optimize.root(p.residual, p.first(), method="krylov", options={
            "fatol": TOLERANCE, "maxiter": 100, "jac_options": {"inner_M": LinearOperator((size, size), lu.solve), "inner_maxiter": 100}})
        return got.x, int(got.nit), bool(np.max(np.abs(p.residual(got.x))) <= TOLERANCE)


def timed(work, budget_s):
    took = []
    while not took or (len(took) < 3 and sum(took) < 10 * budget_s) or (sum(took) < budget_s and len(took) < 2000):
        begin = time.perf_counter()
        got = work()
        took.append(time.perf_counter() - begin)
    return min(took), float(np.median(took)), len(took), got


def main():
    name, folder, budget_s = sys.argv[1], sys.argv[2], float(sys.argv[3])
    network = f"{folder}/{name}.network"
    peer = Peer(plain.Plain(network))
    size = peer.p.links + peer.p.nodes
    ways = [("Newton, splu COLAMD", lambda one: one.newton("COLAMD", False)), ("Newton, splu heads", lambda one: one.newton("MMD_AT_PLUS_A", True))]
    if size <= 3000:
        ways.append(("Newton, splu MMD", lambda one: one.newton("MMD_AT_PLUS_A", False)))
    if size <= 1500:
        ways.append(("root hybr", Peer.hybr))
    if size <= 20000:
        ways.append(("root krylov", Peer.krylov))
    for way, work in ways:
        try:
            with np.errstate(all="ignore"):
                least, middle, runs, (x, steps, fine) = timed(lambda: work(peer), budget_s)
                with_setup = timed(lambda: work(Peer(peer.p)), 0.3 * budget_s)[0]
        except (RuntimeError, ValueError, optimize.NoConvergence):
            print(f"result\tSciPy\t{way}\t0\t0\t0\t0\t0\t0\t-", flush=True)
            continue
        file = f"{folder}/{name}.SciPy-{way.replace(' ', '_')}.solution"
        np.concatenate([x[:peer.p.links] / plain.LITRES, x[peer.p.links:]]).tofile(file)
        print(f"result\tSciPy\t{way}\t{int(fine)}\t{steps}\t{with_setup:.9g}\t{least:.9g}\t{middle:.9g}\t{runs}\t{file}", flush=True)


main()
