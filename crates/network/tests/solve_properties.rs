//! Laws that every solved network keeps, on random networks.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

mod nets;

use nets::{Net, Recipe, apart, magnitude, random};
use network::solve::Conductor::{L1, L2, N};
use network::solve::{Config, Network, Solver, SourceSpec, Status, Work, Zip};
use num_complex::Complex64;
use proptest::prelude::*;

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn recipe() -> impl Strategy<Value = Recipe> {
    (2..40_usize, 0.0..0.3_f64, any::<bool>(), 50.0..600.0_f64).prop_map(
        |(buses, chords, three_phase, load_va)| Recipe { buses, chords, three_phase, load_va, linear: false },
    )
}

fn solve(net: &Net, config: Config) -> Solver {
    let mut solver = Solver::new(net.network.clone(), config).unwrap();
    let status = solver.solve();
    assert!(status.converged(), "{status:?}");
    solver
}

fn fine() -> Config {
    Config { tolerance_a: 1e-9, ..Config::default() }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// What is said to be converged keeps Kirchhoff's law, counted from the parts' own answers.
    #[test]
    fn kirchhoff_holds(seed: u64, recipe in recipe()) {
        let net = random(seed, &recipe).unwrap();
        let mut solver = Solver::new(net.network.clone(), Config::default()).unwrap();
        match solver.solve() {
            Status::Converged { residual_a, .. } => {
                let counted = net.kirchhoff_a(&solver.solution().unwrap());
                prop_assert!(counted <= 1e-6, "{counted} A left over, {residual_a} A told");
                prop_assert!((counted - residual_a).abs() <= 1e-6);
                prop_assert!(!solver.work().dense);
            }
            Status::NoSolution { .. } => prop_assert!(solver.solution().is_none()),
            other => prop_assert!(false, "{other:?}"),
        }
    }

    /// Block elimination in tree order and dense elimination with row exchange give the same.
    #[test]
    fn blocks_equal_dense(seed: u64, recipe in recipe()) {
        let recipe = Recipe { load_va: 0.5 * recipe.load_va, ..recipe };
        let net = random(seed, &recipe).unwrap();
        let mut blocks = Solver::new(net.network.clone(), fine()).unwrap();
        let mut dense = Solver::new(net.network.clone(), Config { dense: true, ..fine() }).unwrap();
        let (a, b) = (blocks.solve(), dense.solve());
        prop_assert_eq!(a.converged(), b.converged());
        if a.converged() {
            let off = apart(&net.voltages(&blocks.solution().unwrap()), &net.voltages(&dense.solution().unwrap()));
            prop_assert!(off < 1e-8, "{off} V apart");
        }
    }

    /// The fixed point and the continuation from no load come to the same voltages, the upper ones.
    #[test]
    fn both_ways_lead_to_the_same(seed: u64, recipe in recipe()) {
        let net = random(seed, &recipe).unwrap();
        let mut fixed = Solver::new(net.network.clone(), fine()).unwrap();
        let mut followed = Solver::new(net.network.clone(), Config { fixed_point_steps: 1, ..fine() }).unwrap();
        let (a, b) = (fixed.solve(), followed.solve());
        prop_assert_eq!(a.converged(), b.converged(), "{:?} {:?}", a, b);
        if a.converged() {
            let off = apart(&net.voltages(&fixed.solution().unwrap()), &net.voltages(&followed.solution().unwrap()));
            prop_assert!(off < 1e-7, "{off} V apart");
        }
    }

    /// Contacts of micro-ohms beside bonds of ohms: the mismatch stays under the tolerance, shares of paralleled
    /// paths come out to six digits.
    #[test]
    fn contacts_of_microhms(
        contacts in prop::collection::vec(1e-5..1e-3_f64, 2..30),
        paths in prop::collection::vec(1e-4..1e-3_f64, 2..9),
        bond in 0.01..1000.0_f64,
        w in 100.0..9000.0_f64,
    ) {
        let mut net = Network::new();
        let mut here = net.bus("service", &[L1, L2, N]).unwrap();
        net.bond("bond", here, N, Some(c(bond, 0.0))).unwrap();
        net.source(SourceSpec::split_phase(here, 120.0, c(0.004, 0.008))).unwrap();
        let run = |net: &mut Network, from, r: f64| {
            let to = net.bus("next", &[L1, L2, N]).unwrap();
            net.plain_line("contact", from, to, &[(L1, c(r, 0.0)), (L2, c(r, 0.0)), (N, c(r, 0.0))]).unwrap();
            to
        };
        for r in &contacts {
            here = run(&mut net, here, *r);
        }
        let panel = net.bus("panel", &[L1, L2, N]).unwrap();
        let lines: Vec<_> = paths
            .iter()
            .map(|r| {
                let runs = [(L1, c(*r, 0.0)), (L2, c(*r, 0.0)), (N, c(*r, 0.0))];
                net.plain_line("path", here, panel, &runs).unwrap()
            })
            .collect();
        net.load(panel, (L1, N), Zip::power(c(w, 0.2 * w))).unwrap();
        net.load(panel, (L1, L2), Zip::power(c(w, 0.1 * w))).unwrap();
        let mut solver = Solver::new(net, Config::default()).unwrap();
        let status = solver.solve();
        prop_assert!(status.converged(), "{status:?}");
        prop_assert!(!solver.work().dense);
        let s = solver.solution().unwrap();
        let currents: Vec<Complex64> = lines.iter().map(|l| s.line_current(*l, L1).unwrap()).collect();
        let total: Complex64 = currents.iter().sum();
        let all: f64 = paths.iter().map(|r| 1.0 / r).sum();
        for (i, r) in currents.iter().zip(&paths) {
            prop_assert!(magnitude(i - total / (r * all)) < 1e-6 * magnitude(total));
        }
    }

    /// With constant impedances only, twice the voltage gives twice everything, and sources add up.
    #[test]
    fn linear_loads_superpose(seed: u64, recipe in recipe(), share in -0.9..0.9_f64) {
        let recipe = Recipe { linear: true, ..recipe };
        let net = random(seed, &recipe).unwrap();
        let with = |first: Complex64, second: Complex64| {
            let mut net = net.clone();
            for (at, emf) in [(net.buses[0].0, first), (net.buses[recipe.buses / 2].0, second)] {
                let leg = net.buses.iter().find(|b| b.0 == at).unwrap().1[0];
                net.network.source(SourceSpec::single(at, leg, N, emf, c(0.3, 0.1))).unwrap();
            }
            let solver = solve(&net, fine());
            net.voltages(&solver.solution().unwrap())
        };
        let (e1, e2) = (c(100.0, 20.0), c(-30.0, 60.0) * share);
        let zero = with(c(0.0, 0.0), c(0.0, 0.0));
        let (a, b, both) = (with(e1, c(0.0, 0.0)), with(c(0.0, 0.0), e2), with(e1, e2));
        let sum: Vec<Complex64> =
            a.iter().zip(&b).zip(&zero).map(|((a, b), zero)| a + b - zero).collect();
        prop_assert!(apart(&sum, &both) < 1e-8);
    }

    /// In which order lines side by side were added changes nothing, and equal ones share evenly.
    #[test]
    fn parallel_lines_are_exchangeable(r in 0.001..0.1_f64, spread in 1.0..3.0_f64, w in 100.0..3000.0_f64) {
        let build = |order: [usize; 3]| {
            let mut net = Network::new();
            let [a, b] = ["a", "b"].map(|n| net.bus(n, &[L1, L2, N]).unwrap());
            net.bond("bond", a, N, None).unwrap();
            net.source(SourceSpec::split_phase(a, 120.0, c(0.01, 0.01))).unwrap();
            let z = [c(r, 0.0), c(r, 0.0), c(r * spread, 0.0)];
            let mut lines = [None; 3];
            for k in order {
                let runs = [(L1, z[k]), (L2, z[k]), (N, z[k])];
                lines[k] = Some(net.plain_line("path", a, b, &runs).unwrap());
            }
            net.load(b, (L1, N), Zip::power(c(w, 0.2 * w))).unwrap();
            let mut solver = Solver::new(net, fine()).unwrap();
            assert!(solver.solve().converged());
            let s = solver.solution().unwrap();
            lines.map(|line| s.line_current(line.unwrap(), L1).unwrap())
        };
        let (i, other) = (build([0, 1, 2]), build([2, 1, 0]));
        prop_assert!(apart(&i, &other) < 1e-9);
        prop_assert!(magnitude(i[0] - i[1]) < 1e-9);
        prop_assert!(magnitude(i[0] - i[2] * spread) < 1e-9 * magnitude(i[0]).max(1.0));
    }

    /// Neutral shift of a split-phase panel with resistive legs, by Millman's theorem:
    /// V_N = E (y_1 - y_2) / (y_1 + y_2 + y_n), y_k = 1/(z + R_k).
    #[test]
    fn split_phase_neutral_shift(r1 in 1.0..50.0_f64, r2 in 1.0..50.0_f64, z in 0.001..0.2_f64, zn in 0.001..5.0_f64) {
        let mut net = Network::new();
        let [service, panel] = ["service", "panel"].map(|n| net.bus(n, &[L1, L2, N]).unwrap());
        net.bond("bond", service, N, None).unwrap();
        net.source(SourceSpec::split_phase(service, 120.0, c(0.0, 0.0)).ideal()).unwrap();
        net.plain_line("drop", service, panel, &[(L1, c(z, 0.0)), (L2, c(z, 0.0)), (N, c(zn, 0.0))]).unwrap();
        net.load(panel, (L1, N), Zip::impedance(c(r1, 0.0))).unwrap();
        net.load(panel, (L2, N), Zip::impedance(c(r2, 0.0))).unwrap();
        let mut solver = Solver::new(net, fine()).unwrap();
        prop_assert!(solver.solve().converged());
        let (y1, y2) = (1.0 / (z + r1), 1.0 / (z + r2));
        let by_hand = 120.0 * (y1 - y2) / (y1 + y2 + 1.0 / zn);
        let shift = solver.solution().unwrap().neutral_shift(panel).unwrap();
        prop_assert!(magnitude(shift - by_hand) < 1e-9);
    }

    /// Loads changed in a prepared network give what a new one gives, without new factors; and the same to the bit
    /// whatever was solved before.
    #[test]
    fn changed_loads_need_no_new_factors(seed: u64, recipe in recipe(), factor in 0.2..1.5_f64) {
        let recipe = Recipe { load_va: 0.4 * recipe.load_va, ..recipe };
        let net = random(seed, &recipe).unwrap();
        let mut used = Solver::new(net.network.clone(), fine()).unwrap();
        let mut unused = used.clone();
        used.solve();
        for (ix, _, _, zip) in &net.loads {
            let zip = Zip {
                power_va: zip.power_va * factor,
                current_a: zip.current_a * factor,
                admittance_s: zip.admittance_s * factor,
            };
            used.set_load(*ix, zip).unwrap();
            unused.set_load(*ix, zip).unwrap();
        }
        let mut rebuilt = Solver::new(used.network().clone(), fine()).unwrap();
        let status = used.solve();
        prop_assert_eq!(&status, &unused.solve());
        prop_assert_eq!(status.converged(), rebuilt.solve().converged());
        prop_assert_eq!(used.work().factorisations, 1);
        if status.converged() {
            let [a, b, fresh] = [&used, &unused, &rebuilt].map(|s| net.voltages(&s.solution().unwrap()));
            prop_assert!(apart(&a, &fresh) < 1e-7);
            prop_assert_eq!(a, b);
        }
    }
}

/// Work that given networks take. A change here is a change of speed or stability: look before taking it over.
#[test]
fn work_is_what_it_was() {
    let counts: Vec<(usize, Work)> = [20, 60, 150, 300]
        .into_iter()
        .map(|buses| {
            let recipe = Recipe {
                buses,
                chords: 0.1,
                three_phase: true,
                load_va: 3000.0 / buses as f64,
                linear: false,
            };
            let net = random(7, &recipe).unwrap();
            (buses, solve(&net, Config::default()).work())
        })
        .collect();
    let expected = |steps: [usize; 4]| -> Vec<(usize, Work)> {
        let work = |fixed_point_steps| Work { factorisations: 1, fixed_point_steps, ..Work::default() };
        [20, 60, 150, 300].into_iter().zip(steps.map(work)).collect()
    };
    assert_eq!(counts, expected([3, 3, 3, 3]));
}
