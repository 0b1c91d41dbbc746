"""Dense nodal analysis with numpy, written apart from the solver it is held against."""

import cmath

import numpy as np


def c(pair):
    return complex(*pair)


class Nodal:
    def __init__(self, net):
        self.net = net
        self.index = {}
        for bus, conductors in enumerate(net["buses"]):
            for conductor in sorted(conductors, key=("L1", "L2", "L3", "N").index):
                self.index[bus, conductor] = len(self.index)
        n = len(self.index)
        self.y = np.zeros((n + 1, n + 1), complex)  # earth is the last row and is dropped
        for each in net["lines"]:
            k = len(each["conductors"])
            y = np.linalg.inv(np.array([c(z) for z in each["z"]]).reshape(k, k))
            a = [self.at(each["from"], x) for x in each["conductors"]]
            b = [self.at(each["to"], x) for x in each["conductors"]]
            self.y[np.ix_(a, a)] += y
            self.y[np.ix_(b, b)] += y
            self.y[np.ix_(a, b)] -= y
            self.y[np.ix_(b, a)] -= y
        self.solid = [self.at(b["bus"], b["conductor"]) for b in net["bonds"] if b["z"] is None]
        for bond in net["bonds"]:
            if bond["z"] is not None:
                self.two(self.y, self.at(bond["bus"], bond["conductor"]), n, 1 / c(bond["z"]))
        for load in net["loads"]:
            if "admittance" in load:
                self.two(self.y, *self.ends(load), c(load["admittance"]))
        self.loops = []
        for source in net["sources"]:
            k = len(source["emfs"])
            for j, emf in enumerate(source["emfs"]):
                z = c(source["z"][j * k + j])  # the generator makes uncoupled loops only
                a, b = self.at(source["bus"], emf["from"]), self.at(source["bus"], emf["to"])
                self.loops.append((a, b, c(emf["emf"]), z, emf.get("limit_a")))

    def at(self, bus, conductor):
        return len(self.index) if conductor == "earth" else self.index[bus, conductor]

    def ends(self, load):
        return self.at(load["bus"], load["from"]), self.at(load["bus"], load["to"])

    @staticmethod
    def two(y, a, b, value):
        y[a, a] += value
        y[b, b] += value
        y[a, b] -= value
        y[b, a] -= value

    def solve(self, growth=None):
        """Voltages, source currents; loop j's impedance multiplied by growth[j]."""
        growth = growth or [1.0] * len(self.loops)
        y, base = self.y.copy(), np.zeros(len(self.index) + 1, complex)
        for (a, b, e, z, _), g in zip(self.loops, growth):
            self.two(y, a, b, 1 / (g * z))
            base[a] += e / (g * z)
            base[b] -= e / (g * z)
        free = [k for k in range(len(self.index)) if k not in self.solid]
        inverse = np.linalg.inv(y[np.ix_(free, free)])
        v = np.zeros(len(self.index) + 1, complex)
        v[free] = inverse @ base[free]
        others = [x for x in self.net["loads"] if "admittance" not in x]
        for _ in range(300 if others else 0):
            i = base.copy()
            for load in others:
                a, b = self.ends(load)
                u = v[a] - v[b]
                drawn = c(load["power"]).conjugate() / u.conjugate() if "power" in load else c(load["current"]) * u / abs(u)
                i[a] -= drawn
                i[b] += drawn
            new = inverse @ i[free]
            change = np.max(np.abs(new - v[free]))
            v[free] = new
            if change < 1e-11:
                break
        j = [(e - v[a] + v[b]) / (g * z) for (a, b, e, z, _), g in zip(self.loops, growth)]
        return v[:-1], j

    def solve_limited(self):
        """Growth of each loop's impedance by bisection, one loop after the other until all rest."""
        growth = [1.0] * len(self.loops)
        for _ in range(200):
            before = list(growth)
            for k, (*_, limit) in enumerate(self.loops):
                if limit is None:
                    continue

                def over(g):
                    return abs(self.solve(growth[:k] + [g] + growth[k + 1 :])[1][k]) > limit

                if not over(1.0):
                    growth[k] = 1.0
                    continue
                low, high = 1.0, 2.0
                while over(high):
                    low, high = high, 2 * high
                while high - low > 1e-14 * high and (low + high) / 2 not in (low, high):
                    middle = (low + high) / 2
                    low, high = (middle, high) if over(middle) else (low, middle)
                growth[k] = (low + high) / 2
            if max(abs(a - b) / b for a, b in zip(growth, before)) < 1e-12:
                break
        v, j = self.solve(growth)
        return v, j, growth


def neutral_shift(v, net):
    """Largest voltage of a neutral."""
    nodal = Nodal(net)
    return max(abs(v[k]) for (bus, conductor), k in nodal.index.items() if conductor == "N")


def angle(z):
    return cmath.phase(z)
