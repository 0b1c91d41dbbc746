"""Holds the network solve against other solvers, sun and year against pvlib and compiled loops. See README.md."""

import argparse
import json
import os
import pathlib
import random
import subprocess
import sys

import networks

TOP = pathlib.Path(__file__).resolve().parent.parent
TIMED_TOLERANCE_A = 1e-6  # leaves errors below the 1e-8 of nominal voltage that power-grid-model is asked for
LIMIT = 1e-6  # largest difference of a voltage, of nominal, on the common subset

try:
    import numpy as np

    import nodal
    import spice
except ImportError:
    np = None
try:
    import grid_model
except ImportError:
    grid_model = None
try:
    import pvlib  # noqa: F401
except ImportError:
    pvlib = None
try:
    import energy
    import measured
except ImportError:
    energy = None


def build(package, example):
    command = ["cargo", "build", "--quiet", "--release", "--package", package, "--example", example]
    subprocess.run(command, cwd=TOP, check=True)
    target = os.environ.get("CARGO_TARGET_DIR", TOP / "target")
    return pathlib.Path(target) / "release" / "examples" / example


def ours(solver, nets):
    """Answers of the solver; all must have converged."""
    keys = ("buses", "lines", "bonds", "shunts", "sources", "loads", "tolerance_a", "scenarios")
    text = json.dumps([{k: net[k] for k in keys if k in net} for net in nets])
    done = subprocess.run([solver], input=text, capture_output=True, text=True, check=True)
    answers = json.loads(done.stdout)
    for net, answer in zip(nets, answers):
        if answer["status"] != "converged":
            sys.exit(f"a network of {len(net['buses'])} buses: {answer['status']}")
    return answers


def flat(answer):
    return np.array([complex(*v) for bus in answer["voltages"] for v in bus])


class Report:
    def __init__(self):
        self.failed = False

    def line(self, what, count, worst, limit=LIMIT):
        word = "" if worst <= limit else f"   OVER {limit:.0e}"
        self.failed |= not worst <= limit
        print(f"{what:62} {count:5}   {worst:9.2e}{word}")


def against_grid_model(report, solver, args):
    nets = [networks.three_phase(args.seed + k, 2 + (7 * k) % 79, 0.2) for k in range(args.count)]
    answers = ours(solver, nets)
    worst = max(
        np.max(np.abs(flat(a).reshape(-1, 3) - grid_model.solve(n))) / n["nominal_v"] for n, a in zip(nets, answers)
    )
    report.line("three phases, ZIP loads: power-grid-model, Newton", args.count, worst)


def against_nodal(report, solver, args):
    for split in (True, False):
        word = "split-phase" if split else "four wires"
        nets = [networks.service(args.seed + k, 2 + (5 * k) % 40, split, False) for k in range(args.count)]
        worst = shift = largest = 0.0
        for net, answer in zip(nets, ours(solver, nets)):
            v, j = nodal.Nodal(net).solve()
            found = flat(answer)
            worst = max(worst, np.max(np.abs(found - v)) / net["nominal_v"])
            shift = max(shift, abs(nodal.neutral_shift(found, net) - nodal.neutral_shift(v, net)))
            largest = max(largest, nodal.neutral_shift(v, net))
        report.line(f"{word}, real neutral, ZIP loads: numpy", args.count, worst)
        report.line(f"{word}, neutral shift (up to {largest:.1f} V): numpy", args.count, shift / 120.0)


def against_limits(report, solver, args):
    for split in (True, False):
        word = "split-phase" if split else "four wires"
        nets = [networks.service(args.seed + k, 2 + k % 6, split, True, limited=True) for k in range(args.count)]
        worst, limited, by_limit = 0.0, 0, 0.0
        for net, answer in zip(nets, ours(solver, nets)):
            v, j, growth = nodal.Nodal(net).solve_limited()
            limited += any(g > 1.0 for g in growth)
            worst = max(worst, np.max(np.abs(flat(answer) - v)) / net["nominal_v"])
            for found, emf in zip(answer["source_currents"][0], net["sources"][0]["emfs"]):
                by_limit = max(by_limit, abs(complex(*found)) / emf["limit_a"] - 1.0)
        report.line(f"{word}, current limits ({limited} reach them): numpy", args.count, worst)
        report.line(f"{word}, largest current over its limit, relative", args.count, by_limit)


def against_spice(report, solver, args):
    nets = [
        networks.service(args.seed + k, 2 + (5 * k) % 25, k % 2 == 0, True, mutual=False)
        for k in range(min(args.count, 40))
    ]
    worst = 0.0
    for net, answer in zip(nets, ours(solver, nets)):
        worst = max(worst, np.max(np.abs(flat(answer) - np.array(spice.solve(net)))) / net["nominal_v"])
    report.line("linear, real neutral: ngspice, AC analysis", len(nets), worst)


def times(report, solver, args):
    """60 buses, three phases, constant power; both on the same loads, one thread, one after the other."""
    print("\n60 buses, three phases, constant power, loads changed 200 times, one thread; microseconds a solve,")
    print("errors of the last one against Newton, of nominal voltage")
    print("chords   iterative current   error      ours   error    share of time   steps   prepare once")
    worst = 0.0
    for chords in (0.0, 0.1, 0.3):
        net = networks.three_phase(args.seed, 60, chords, kinds=("power",), total_va=60e3)
        rng = random.Random(args.seed)
        nominal = [complex(*load["nominal_va"]) for load in net["loads"]]
        scenarios = [[s * rng.uniform(0.3, 1.2) for s in nominal] for _ in range(200)]
        pgm_s, voltages = grid_model.timed(net, scenarios)
        net["tolerance_a"] = TIMED_TOLERANCE_A
        timed = dict(net, scenarios=[[networks.pair(s) for s in row] for row in scenarios])
        found = ours(solver, [timed])[0]["times"]
        for load, s in zip(net["loads"], scenarios[-1]):
            load["power"] = load["nominal_va"] = networks.pair(s)
        exact = grid_model.solve(net)
        error = np.max(np.abs(flat(ours(solver, [net])[0]).reshape(-1, 3) - exact)) / net["nominal_v"]
        pgm_error = np.max(np.abs(voltages[-1] - exact)) / net["nominal_v"]
        worst = max(worst, error)
        us, pgm_us = found["solve_ns"] / 1e3, pgm_s * 1e6
        print(
            f"{chords:6} {pgm_us:19.1f} {pgm_error:9.1e} {us:8.1f} {error:9.1e} {us / pgm_us:14.3f}"
            f" {found['steps']:7.1f} {found['prepare_ns'] / 1e3:14.1f}"
        )
    report.line("the same, last loads: power-grid-model, Newton", 3, worst)


def against_networks(report, args):
    solver = args.solver or build("network", "solve_json")
    print(f"{'against':62} cases   largest difference, of nominal")
    against_nodal(report, solver, args)
    against_limits(report, solver, args)
    if grid_model:
        against_grid_model(report, solver, args)
    else:
        print("power-grid-model is not installed: NOT COMPARED, NOT TIMED")
    if spice.available():
        against_spice(report, solver, args)
    else:
        print("ngspice is not installed: NOT COMPARED")
    if grid_model:
        times(report, solver, args)


def against_years(report, args):
    solver = build("energy", "energy_peer")
    print(f"{'against':62} cases   largest difference")
    if energy is None:
        print("numba is not installed: sun, dispatch and carry times NOT COMPARED, NOT TIMED")
        return
    if pvlib:
        measured.against_readers(report, solver)
        measured.against_real_years(report, solver)
        energy.against_pvlib(report, solver, args.seed)
    else:
        print("pvlib is not installed: NOT COMPARED, NOT TIMED")
    measured.against_measured_load(report, solver)
    energy.against_loops(report, solver, args.seed)


def main():
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=60, help="networks of each kind")
    parser.add_argument("--solver", help="a built example solve_json, in place of building it")
    parser.add_argument("--only", choices=["networks", "years"], help="one of the two parts")
    args = parser.parse_args()
    if np is None:
        sys.exit("numpy is needed: pip install -r peers/requirements.txt")
    report = Report()
    if args.only != "years":
        against_networks(report, args)
    if args.only != "networks":
        against_years(report, args)
    sys.exit(1 if report.failed else 0)


if __name__ == "__main__":
    main()
