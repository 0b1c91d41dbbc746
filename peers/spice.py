"""Linear networks without coupled lines as an AC analysis of ngspice."""

import cmath
import math
import pathlib
import shutil
import subprocess
import tempfile

from nodal import Nodal, c

HERTZ = 60.0


def available():
    return shutil.which("ngspice") is not None


def solve(net):
    nodal = Nodal(net)
    earth = len(nodal.index)
    lines, count = ["network"], 0

    def name(node):
        return "0" if node == earth or node in nodal.solid else f"n{node}"

    def series(a, b, z):
        nonlocal count
        count += 1
        if z.imag == 0:
            lines.append(f"R{count} {name(a)} {name(b)} {z.real!r}")
        else:
            lines.append(f"R{count} {name(a)} m{count} {z.real!r}")
            lines.append(f"L{count} m{count} {name(b)} {z.imag / (2 * math.pi * HERTZ)!r}")

    for each in net["lines"]:
        k = len(each["conductors"])
        for j, conductor in enumerate(each["conductors"]):
            series(nodal.at(each["from"], conductor), nodal.at(each["to"], conductor), c(each["z"][j * k + j]))
    for bond in net["bonds"]:
        if bond["z"] is not None:
            series(nodal.at(bond["bus"], bond["conductor"]), earth, c(bond["z"]))
    for load in net["loads"]:
        a, b = nodal.ends(load)
        series(a, b, 1 / c(load["admittance"]))
    for k, (a, b, e, z, _) in enumerate(nodal.loops):
        lines.append(f"V{k} e{k} {name(b)} DC 0 AC {abs(e)!r} {math.degrees(cmath.phase(e))!r}")
        lines.append(f"Rs{k} e{k} f{k} {z.real!r}")
        lines.append(f"Ls{k} f{k} {name(a)} {z.imag / (2 * math.pi * HERTZ)!r}")
    with tempfile.TemporaryDirectory() as folder:
        out = pathlib.Path(folder) / "v.txt"
        nodes = [k for k in range(earth) if k not in nodal.solid]
        probes = " ".join(f"v(n{k})" for k in nodes)
        lines += [".control", "set numdgt=15", "set wr_singlescale", f"ac lin 1 {HERTZ} {HERTZ}"]
        lines += [f"wrdata {out} {probes}", "quit", ".endc", ".end"]
        deck = pathlib.Path(folder) / "deck.cir"
        deck.write_text("\n".join(lines) + "\n")
        subprocess.run(["ngspice", "-b", str(deck)], check=True, capture_output=True, timeout=60)
        numbers = [float(x) for x in out.read_text().split()]
    v = [0j] * earth
    for k, node in enumerate(nodes):
        v[node] = complex(numbers[1 + 2 * k], numbers[2 + 2 * k])
    return v
