"""The three-phase subset by power-grid-model."""

import time

import numpy as np
from power_grid_model import (
    CalculationMethod,
    ComponentType,
    DatasetType,
    LoadGenType,
    PowerGridModel,
    initialize_array,
)

KINDS = {
    "power": LoadGenType.const_power,
    "current": LoadGenType.const_current,
    "admittance": LoadGenType.const_impedance,
}


def by_bus(net):
    """Loads of a bus stand side by side, one for each phase."""
    return [net["loads"][k : k + 3] for k in range(0, len(net["loads"]), 3)]


def model(net):
    buses = len(net["buses"])
    node = initialize_array(DatasetType.input, ComponentType.node, buses)
    node["id"] = np.arange(buses)
    node["u_rated"] = net["u_v"]
    line = initialize_array(DatasetType.input, ComponentType.line, len(net["lines"]))
    line["id"] = 10_000 + np.arange(len(line))
    line["from_node"] = [each["from"] for each in net["lines"]]
    line["to_node"] = [each["to"] for each in net["lines"]]
    line["from_status"] = line["to_status"] = 1
    for key in ("c1", "tan1", "c0", "tan0"):
        line[key] = 0.0
    line["r1"] = [z1.real for z1, _ in net["sequences"]]
    line["x1"] = [z1.imag for z1, _ in net["sequences"]]
    line["r0"] = [z0.real for _, z0 in net["sequences"]]
    line["x0"] = [z0.imag for _, z0 in net["sequences"]]
    source = initialize_array(DatasetType.input, ComponentType.source, 1)
    source["id"], source["node"], source["status"], source["u_ref"] = 20_000, 0, 1, 1.0
    source["sk"], source["rx_ratio"], source["z01_ratio"] = net["source"]["sk_va"], net["source"]["rx"], 1.0
    groups = by_bus(net)
    load = initialize_array(DatasetType.input, ComponentType.asym_load, len(groups))
    load["id"] = 30_000 + np.arange(len(groups))
    load["node"] = [group[0]["bus"] for group in groups]
    load["status"] = 1
    load["type"] = [KINDS[group[0]["kind"]] for group in groups]
    load["p_specified"] = [[one["nominal_va"][0] for one in group] for group in groups]
    load["q_specified"] = [[one["nominal_va"][1] for one in group] for group in groups]
    parts = {"node": node, "line": line, "source": source, "asym_load": load}
    return PowerGridModel(parts, system_frequency=60.0)


def solve(net, method=CalculationMethod.newton_raphson, tolerance=1e-12):
    out = model(net).calculate_power_flow(
        symmetric=False, calculation_method=method, error_tolerance=tolerance, max_iterations=100
    )
    node = out["node"]
    return node["u"] * np.exp(1j * node["u_angle"])


def timed(net, scenarios, tolerance=1e-8, rounds=7):
    """Seconds per scenario of the iterative-current method, one thread, median of rounds; and the voltages."""
    grid = model(net)
    powers = np.asarray(scenarios)
    groups = powers.shape[1] // 3
    update = initialize_array(DatasetType.update, ComponentType.asym_load, (len(scenarios), groups))
    update["id"] = 30_000 + np.arange(groups)
    update["p_specified"] = powers.real.reshape(len(scenarios), groups, 3)
    update["q_specified"] = powers.imag.reshape(len(scenarios), groups, 3)
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        out = grid.calculate_power_flow(
            symmetric=False,
            calculation_method=CalculationMethod.iterative_current,
            error_tolerance=tolerance,
            max_iterations=100,
            update_data={"asym_load": update},
            threading=-1,
            output_component_types={"node"},
        )
        times.append((time.perf_counter() - start) / len(scenarios))
    node = out["node"]
    return float(np.median(times)), node["u"] * np.exp(1j * node["u_angle"])
