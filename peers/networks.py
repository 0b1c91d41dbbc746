"""Random networks from a seed, in the form that the example `solve_json` reads."""

import cmath
import math
import random


def pair(z):
    return [z.real, z.imag]


def line(a, b, conductors, own, mutual):
    """own: impedance of each conductor; mutual: the same between any two."""
    n = len(conductors)
    z = [own[i] if i == j else mutual for i in range(n) for j in range(n)]
    return {"from": a, "to": b, "conductors": conductors, "z": [pair(v) for v in z]}


def tree(rng, buses, chords):
    """Pairs of a random tree with extra chords."""
    pairs = [(k - 1 if rng.random() < 0.6 else rng.randrange(k), k) for k in range(1, buses)]
    for k in range(3, buses):
        if rng.random() < chords:
            pairs.append((rng.randrange(k - 1), k))
    return pairs


def three_phase(seed, buses, chords=0.1, kinds=("power", "current", "admittance"), total_va=30e3):
    """Three phases against earth: the subset that power-grid-model knows. Keeps the sequence impedances."""
    rng = random.Random(seed)
    phases = ["L1", "L2", "L3"]
    u_v = 400.0
    e_v = u_v / math.sqrt(3)
    source = {"sk_va": 3e6, "rx": 0.4}
    size = u_v**2 / source["sk_va"]
    x = size / math.hypot(1.0, source["rx"])
    z_source = complex(source["rx"] * x, x)
    net = {"buses": [phases] * buses, "lines": [], "loads": [], "sources": [], "shunts": [], "bonds": []}
    net["u_v"], net["nominal_v"], net["source"] = u_v, e_v, source
    emfs = [
        {"from": p, "to": "earth", "emf": pair(cmath.rect(e_v, math.radians(d)))}
        for p, d in zip(phases, (0, -120, 120))
    ]
    z = [pair(z_source if i == j else 0j) for i in range(3) for j in range(3)]
    net["sources"].append({"bus": 0, "emfs": emfs, "z": z})
    net["sequences"] = []
    for a, b in tree(rng, buses, chords):
        z1 = complex(rng.uniform(0.005, 0.03), rng.uniform(0.002, 0.02))
        z0 = z1 * rng.uniform(1.5, 4.0)
        net["sequences"].append((z1, z0))
        net["lines"].append(line(a, b, phases, [(z0 + 2 * z1) / 3] * 3, (z0 - z1) / 3))
    for b in range(1, buses):
        kind = rng.choice(kinds)
        for phase in phases:
            va = rng.uniform(0.2, 1.8) * total_va / (3 * buses)
            pf = rng.uniform(0.7, 1.0)
            s = complex(va * pf, va * math.sqrt(1 - pf * pf) * rng.choice((1, 1, -1)))
            load = {"bus": b, "from": phase, "to": "earth", "kind": kind, "nominal_va": pair(s)}
            if kind == "power":
                load["power"] = pair(s)
            elif kind == "current":
                load["current"] = pair(s.conjugate() / e_v)
            else:
                load["admittance"] = pair(s.conjugate() / e_v**2)
            net["loads"].append(load)
    return net


def service(seed, buses, split, linear, mutual=True, limited=False):
    """Split-phase or four-wire networks with a real neutral."""
    rng = random.Random(seed)
    legs = ["L1", "L2"] if split else ["L1", "L2", "L3"]
    angles = (0, 180) if split else (0, -120, 120)
    conductors = legs + ["N"]
    n = len(legs)
    net = {"buses": [conductors] * buses, "lines": [], "loads": [], "bonds": [], "nominal_v": 120.0}
    bond = None if rng.random() < 0.5 else pair(complex(rng.uniform(0.1, 25), 0))
    net["bonds"].append({"bus": 0, "conductor": "N", "z": bond})
    z = complex(rng.uniform(0.01, 0.05), rng.uniform(0.0, 0.05))
    emfs = [
        {"from": p, "to": "N", "emf": pair(cmath.rect(120.0, math.radians(d)))} for p, d in zip(legs, angles)
    ]
    if limited:
        for emf in emfs:
            emf["limit_a"] = rng.uniform(5, 50)
    net["sources"] = [{"bus": 0, "emfs": emfs, "z": [pair(z if i == j else 0j) for i in range(n) for j in range(n)]}]
    for a, b in tree(rng, buses, 0.15):
        r, x = rng.uniform(0.005, 0.08), rng.uniform(0.002, 0.04)
        neutral = complex(r, x) * rng.choice((1, 1, 1, 5))
        shared = complex(0, 0.4 * x) if mutual else 0j
        net["lines"].append(line(a, b, conductors, [complex(r, x)] * n + [neutral], shared))
    for b in range(1, buses):
        ends = [(leg, "N", 120.0) for leg in legs] + [(legs[0], legs[1], 240.0 if split else 208.0)]
        for a, back, v in ends:
            if rng.random() < 0.7:
                va = rng.uniform(0.1, 1.0) * 6000 / buses
                pf = rng.uniform(0.75, 0.99)
                s = complex(va * pf, va * math.sqrt(1 - pf * pf))
                load = {"bus": b, "from": a, "to": back}
                if linear or rng.random() < 0.34:
                    load["admittance"] = pair(s.conjugate() / v**2)
                elif rng.random() < 0.5:
                    load["power"] = pair(s)
                else:
                    load["current"] = pair(s.conjugate() / v)
                net["loads"].append(load)
    return net
