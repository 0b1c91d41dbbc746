//! Outside cases on whole networks: `tests/golden/power_flow.toml`.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

mod golden;

use golden::{Case, magnitude};
use network::solve::Conductor::{Earth, L1, L2, L3, N};
use network::solve::{CentreTapped, Config, Network, Solver, SourceSpec, Zip};
use num_complex::Complex64;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn solved(network: Network) -> Solver {
    let mut solver = Solver::new(network, Config { tolerance_a: 1e-8, ..Config::default() }).unwrap();
    let status = solver.solve();
    assert!(status.converged(), "{status:?}");
    solver
}

#[test]
fn four_node_feeder() {
    let case = Case::read("PFL-01");
    let (r, x) = (case.matrix("line_r_ohm_per_mile"), case.matrix("line_x_ohm_per_mile"));
    let line = |ft: f64| -> Vec<Complex64> {
        let all = r.iter().flatten().zip(x.iter().flatten());
        all.map(|(r, x)| c(*r, *x) * (ft / 5280.0)).collect()
    };
    let (first_v, second_v) = (case.number("transformer_first_v"), case.number("transformer_second_v"));
    let base_ohm = second_v * second_v / (case.number("transformer_kva") * 1e3);
    let leakage = c(case.number("transformer_r_pct"), case.number("transformer_x_pct")) * (base_ohm / 100.0);
    let mut net = Network::new();
    let buses: Vec<_> = (1..=4).map(|k| net.bus(&k.to_string(), &[L1, L2, L3]).unwrap()).collect();
    let e_v = case.number("line_v_source") / 3.0_f64.sqrt();
    net.source(SourceSpec::wye(buses[0], e_v, c(0.0, 0.0)).to_earth().ideal()).unwrap();
    let line12 = net.line("1-2", buses[0], buses[1], &[L1, L2, L3], &line(case.number("line1_ft"))).unwrap();
    net.wye_wye("transformer", buses[1], buses[2], first_v / second_v, leakage).unwrap();
    let line34 = net.line("3-4", buses[2], buses[3], &[L1, L2, L3], &line(case.number("line2_ft"))).unwrap();
    for ((leg, kw), pf) in
        [L1, L2, L3].into_iter().zip(case.list("load_kw_per_phase")).zip(case.list("load_pf_lag"))
    {
        let s = kw * 1e3 / pf;
        net.load(buses[3], (leg, Earth), Zip::power(c(kw * 1e3, s * (1.0 - pf * pf).sqrt()))).unwrap();
    }
    let solver = solved(net);
    let solution = solver.solution().unwrap();
    let legs = [L1, L2, L3];
    for (k, bus) in buses.iter().enumerate().skip(1) {
        let v = legs.map(|leg| solution.voltage(*bus, leg).unwrap());
        case.phasors(&format!("v{}_v", k + 1), &format!("v{}_deg", k + 1), &v);
    }
    case.magnitudes("i12_a", &legs.map(|leg| solution.line_current(line12, leg).unwrap()));
    case.magnitudes("i34_a", &legs.map(|leg| solution.line_current(line34, leg).unwrap()));
    case.all_compared();
}

#[test]
fn centre_tapped_transformer() {
    let case = Case::read("PFL-02");
    let mut net = Network::new();
    let primary = net.bus("primary", &[L1]).unwrap();
    let panel = net.bus("panel", &[L1, L2, N]).unwrap();
    let e = c(case.number("primary_v"), 0.0);
    let mut source = SourceSpec::single(primary, L1, Earth, e, c(0.0, 0.0));
    source.z_ohm.clear();
    net.source(source).unwrap();
    let t = CentreTapped::interlaced(
        (L1, Earth),
        case.number("transformer_kva") * 1e3,
        case.number("primary_v"),
        120.0,
        c(case.number("r_pu"), case.number("x_pu")),
    );
    let transformer = net.centre_tapped("transformer", primary, panel, &t).unwrap();
    let bond = net.bond("bond", panel, N, None).unwrap();
    for (ends, key) in [((L1, N), "load_1_ohm"), ((N, L2), "load_2_ohm"), ((L1, L2), "load_12_ohm")] {
        net.load(panel, ends, Zip::impedance(case.complex(key))).unwrap();
    }
    let solver = solved(net);
    let s = solver.solution().unwrap();
    // the source counts the second half from the tap to L2
    case.phasor("v1_v", "v1_deg", s.between(panel, L1, N).unwrap());
    case.phasor("v2_v", "v2_deg", s.between(panel, N, L2).unwrap());
    case.magnitudes("v12_v", &[s.between(panel, L1, L2).unwrap()]);
    let out = |conductor| -s.into_element(transformer, panel, conductor).unwrap();
    case.phasor("i1_a", "i1_deg", out(L1));
    case.phasor("i2_a", "i2_deg", out(L2));
    case.magnitudes("in_a", &[out(N)]);
    let primary_a = magnitude(s.into_element(transformer, primary, L1).unwrap());
    assert!((primary_a - case.recomputed("primary_a")).abs() < 1e-6);
    // all of the neutral's current stays among the windings and loads
    assert!(magnitude(s.into_element(bond, panel, N).unwrap()) < 1e-8);
    case.all_compared();
}

#[test]
fn split_phase_services() {
    for id in ["PFL-03", "PFL-04"] {
        let case = Case::read(id);
        let mut net = Network::new();
        let service = net.bus("service", &[L1, L2, N]).unwrap();
        let panel = net.bus("panel", &[L1, L2, N]).unwrap();
        net.bond("tap", service, N, None).unwrap();
        let leg_v = case.number("leg_v");
        net.source(SourceSpec::split_phase(service, leg_v, c(0.0, 0.0)).ideal()).unwrap();
        let (z, z_n) = (case.complex("line_ohm"), case.complex("neutral_ohm"));
        let line = net.plain_line("drop", service, panel, &[(L1, z), (L2, z), (N, z_n)]).unwrap();
        for (ends, key) in [((L1, N), "load_l1n_ohm"), ((L2, N), "load_l2n_ohm"), ((L1, L2), "load_l1l2_ohm")]
        {
            net.load(panel, ends, Zip::impedance(case.complex(key))).unwrap();
        }
        let solver = solved(net);
        let s = solver.solution().unwrap();
        case.magnitudes("v_l1n_v", &[s.between(panel, L1, N).unwrap()]);
        case.magnitudes("v_l2n_v", &[s.between(panel, L2, N).unwrap()]);
        case.magnitudes("v_l1l2_v", &[s.between(panel, L1, L2).unwrap()]);
        case.magnitudes("neutral_shift_v", &[s.neutral_shift(panel).unwrap()]);
        for (key, conductor) in [("i_l1_a", L1), ("i_l2_a", L2), ("i_n_a", N)] {
            case.magnitudes(key, &[s.line_current(line, conductor).unwrap()]);
        }
        case.all_compared();
    }
}

#[test]
fn four_wire_service() {
    let case = Case::read("PFL-05");
    let mut net = Network::new();
    let service = net.bus("service", &[L1, L2, L3, N]).unwrap();
    let panel = net.bus("panel", &[L1, L2, L3, N]).unwrap();
    net.bond("star point", service, N, None).unwrap();
    let e_v = case.number("line_v") / 3.0_f64.sqrt();
    net.source(SourceSpec::wye(service, e_v, c(0.0, 0.0)).ideal()).unwrap();
    let (z, z_n) = (case.complex("line_ohm"), case.complex("neutral_ohm"));
    let runs = [(L1, z), (L2, z), (L3, z), (N, z_n)];
    let line = net.plain_line("drop", service, panel, &runs).unwrap();
    for (leg, z) in [L1, L2, L3].into_iter().zip(case.matrix("load_ohm")) {
        net.load(panel, (leg, N), Zip::impedance(c(z[0], z[1]))).unwrap();
    }
    let solver = solved(net);
    let s = solver.solution().unwrap();
    let legs = [L1, L2, L3];
    case.magnitudes("v_phase_v", &legs.map(|leg| s.between(panel, leg, N).unwrap()));
    case.magnitudes("neutral_shift_v", &[s.neutral_shift(panel).unwrap()]);
    case.magnitudes("i_phase_a", &legs.map(|leg| s.line_current(line, leg).unwrap()));
    case.magnitudes("i_n_a", &[s.line_current(line, N).unwrap()]);
    case.all_compared();
}

#[test]
fn constant_power_on_phases() {
    let case = Case::read("PFL-06");
    let z1 = c(case.number("line_r1_ohm"), case.number("line_x1_ohm"));
    let z0 = c(case.number("line_r0_ohm"), case.number("line_x0_ohm"));
    let (own, mutual) = ((z0 + z1 * 2.0) / 3.0, (z0 - z1) / 3.0);
    let z: Vec<Complex64> = (0..9).map(|k| if k / 3 == k % 3 { own } else { mutual }).collect();
    let mut net = Network::new();
    let [first, second] = ["first", "second"].map(|name| net.bus(name, &[L1, L2, L3]).unwrap());
    let e_v = case.number("line_v") / 3.0_f64.sqrt();
    let source = net.source(SourceSpec::wye(first, e_v, c(0.0, 0.0)).to_earth().ideal()).unwrap();
    let line = net.line("line", first, second, &[L1, L2, L3], &z).unwrap();
    for ((leg, w), var) in [L1, L2, L3].into_iter().zip(case.list("load_w")).zip(case.list("load_var")) {
        net.load(second, (leg, Earth), Zip::power(c(w, var))).unwrap();
    }
    let solver = solved(net);
    let s = solver.solution().unwrap();
    let legs = [L1, L2, L3];
    case.phasors("v_phase_v", "v_phase_deg", &legs.map(|leg| s.voltage(second, leg).unwrap()));
    let i = legs.map(|leg| s.line_current(line, leg).unwrap());
    case.magnitudes("i_phase_a", &i);
    case.magnitudes("i_n_a", &[i.iter().sum()]);
    // a source without impedance gives what the line takes
    for (given, taken) in s.source_currents(source).unwrap().iter().zip(i) {
        assert!(magnitude(given + taken) < 1e-9 || magnitude(given - taken) < 1e-9);
        assert!(magnitude(given - taken) < 1e-9, "the source's current counts out of it");
    }
    case.all_compared();
}
