//! Sources at their limit, and networks at the end of what can be supplied.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

mod nets;

use derivation::Known;
use nets::{Dice, magnitude};
use network::motor_start::{RunningAs, Start, StartCase, motor_start};
use network::solve::Conductor::{L1, L2, L3, N};
use network::solve::{
    BusIx, Config, Event, Go, Network, NoSolution, Solver, SourceIx, SourceSpec, Status, Stopped, Zip,
};
use network::{Impedance, LoadPower};
use num_complex::Complex64;
use proptest::prelude::*;
use quantity::{Apparent, Current, PhaseVoltage, Quantity, Ratio, Resistance};

fn c(re: f64, im: f64) -> Complex64 {
    Complex64::new(re, im)
}

fn fine() -> Config {
    Config { tolerance_a: 1e-10, ..Config::default() }
}

/// One leg against an earthed neutral.
fn leg(net: &mut Network) -> BusIx {
    let bus = net.bus("leg", &[L1, N]).unwrap();
    net.bond("bond", bus, N, None).unwrap();
    bus
}

fn lagging(va: f64, pf: f64) -> Complex64 {
    c(va * pf, va * (1.0 - pf * pf).sqrt())
}

#[derive(Debug, Clone, Copy)]
struct Leg {
    limit_a: f64,
    r_ohm: f64,
    x_ohm: f64,
    start_va: f64,
    running_va: f64,
    power: bool,
}

impl Leg {
    fn by_hand(&self) -> Start {
        let power = |va: f64, pf: f64| {
            LoadPower::lagging(
                Known::assumed("S", "power", Apparent::of(va), "test"),
                Known::assumed("pf", "power factor", Ratio::of(pf), "test"),
            )
        };
        motor_start(&StartCase {
            source: Known::assumed("E", "source", PhaseVoltage::of(120.0), "test"),
            impedance: Impedance {
                r: Known::assumed("R", "output", Resistance::of(self.r_ohm), "test"),
                x: Some(Known::assumed("X", "output", Resistance::of(self.x_ohm), "test")),
            },
            limit: Known::assumed("I_lim", "limit", Current::of(self.limit_a), "test"),
            start: power(self.start_va, 0.3),
            running: power(self.running_va, 0.95),
            running_as: if self.power { RunningAs::ConstantPower } else { RunningAs::ConstantImpedance },
        })
        .unwrap()
    }

    fn network(&self) -> (Solver, BusIx, SourceIx) {
        let mut net = Network::new();
        let bus = leg(&mut net);
        let z = c(self.r_ohm, self.x_ohm);
        let spec = SourceSpec::single(bus, L1, N, c(120.0, 0.0), z).limited(self.limit_a);
        let source = net.source(spec).unwrap();
        net.load(bus, (L1, N), Zip::impedance_of(lagging(self.start_va, 0.3), 120.0)).unwrap();
        let running = lagging(self.running_va, 0.95);
        let running = if self.power { Zip::power(running) } else { Zip::impedance_of(running, 120.0) };
        net.load(bus, (L1, N), running).unwrap();
        (Solver::new(net, fine()).unwrap(), bus, source)
    }
}

fn any_leg() -> impl Strategy<Value = Leg> {
    let parts = (
        20.0..300.0_f64,
        0.001..0.3_f64,
        0.0..0.2_f64,
        100.0..40_000.0_f64,
        0.0..15_000.0_f64,
        any::<bool>(),
    );
    parts.prop_map(|(limit_a, r_ohm, x_ohm, start_va, running_va, power)| Leg {
        limit_a,
        r_ohm,
        x_ohm,
        start_va,
        running_va,
        power,
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(600))]

    /// The evaluator of one leg solves quadratic equations in closed form: same voltage, same current, same word
    /// on whether the limit is reached; where it says collapse, the network says that there is no solution.
    #[test]
    fn a_motor_start_is_a_network_of_one_bus(case in any_leg()) {
        let (mut solver, bus, source) = case.network();
        let status = solver.solve();
        match case.by_hand() {
            Start::Holds(held) => {
                prop_assert!(status.converged(), "{status:?}");
                let s = solver.solution().unwrap();
                let v = magnitude(s.between(bus, L1, N).unwrap()) / 120.0;
                let i = magnitude(s.source_currents(source).unwrap()[0]);
                prop_assert!((v - held.voltage.value().si()).abs() < 1e-9, "{v} {:?}", held.voltage.value());
                prop_assert!((i - held.current.value().si()).abs() < 1e-9 * i);
                prop_assert_eq!(s.at_limit(source).unwrap()[0], held.limited);
            }
            Start::Collapses(_) => {
                let none = matches!(
                    status,
                    Status::NoSolution { reason: NoSolution::LoadFold { .. } | NoSolution::LimitFold { .. } }
                );
                prop_assert!(none, "{status:?}");
                prop_assert!(solver.solution().is_none());
            }
        }
    }

    /// The most power that passes a resistance is E^2 / 4R. Just below, the upper of the two voltages
    /// (E + sqrt(E^2 - 4 R P)) / 2 is found; just above, the share of the load that has a solution is told.
    #[test]
    fn the_end_of_supply_is_found(r in 0.02..0.5_f64, near in 1e-4..0.2_f64) {
        let most_w = 120.0 * 120.0 / (4.0 * r);
        let solve = |w: f64| {
            let mut net = Network::new();
            let bus = leg(&mut net);
            net.source(SourceSpec::single(bus, L1, N, c(120.0, 0.0), c(r, 0.0))).unwrap();
            net.load(bus, (L1, N), Zip::power(c(w, 0.0))).unwrap();
            let mut solver = Solver::new(net, Config::default()).unwrap();
            let status = solver.solve();
            let v = solver.solution().map(|s| s.between(bus, L1, N).unwrap());
            (status, v)
        };
        let w = most_w * (1.0 - near);
        let (status, v) = solve(w);
        prop_assert!(status.converged(), "{status:?}");
        let by_hand = 0.5 * (120.0 + (120.0_f64 * 120.0 - 4.0 * r * w).sqrt());
        prop_assert!(magnitude(v.unwrap() - by_hand) < 1e-4, "{:?} {by_hand} {status:?}", v);
        let over = 1.0 + near;
        let Status::NoSolution { reason: NoSolution::LoadFold { share } } = solve(most_w * over).0 else {
            return Err(TestCaseError::fail(format!("{:?}", solve(most_w * over).0)));
        };
        prop_assert!((share - 1.0 / over).abs() < 1e-4, "{share}");
    }
}

/// Two limited groups, and now and then a stiff one, in parallel on random loads; their voltages stand up to 20
/// degrees apart, far more than groups that run in parallel.
struct Parallel {
    bus: BusIx,
    specs: [SourceSpec; 2],
    sources: Vec<SourceIx>,
    solver: Solver,
}

impl Parallel {
    fn random(dice: &mut Dice) -> Self {
        let mut net = Network::new();
        let bus = net.bus("panel", &[L1, L2, N]).unwrap();
        net.bond("bond", bus, N, None).unwrap();
        let (sin, cos) = libm::sincos(dice.within(-20.0, 20.0).to_radians());
        let limits = [dice.within(5.0, 80.0), dice.within(5.0, 80.0)];
        let mut turned = SourceSpec::split_phase(bus, 122.0, c(0.02, 0.05)).limited(limits[1]);
        turned.emfs.iter_mut().for_each(|e| e.emf_v *= c(cos, sin));
        let specs = [SourceSpec::split_phase(bus, 120.0, c(0.05, 0.03)).limited(limits[0]), turned];
        let sources = specs.iter().map(|s| net.source(s.clone()).unwrap()).collect();
        if dice.chance(0.5) {
            net.source(SourceSpec::split_phase(bus, 120.0, c(0.2, 0.1))).unwrap();
        }
        let w = dice.within(500.0, 12_000.0);
        net.load(bus, (L1, N), Zip::impedance_of(c(w, 0.3 * w), 120.0)).unwrap();
        net.load(bus, (L1, L2), Zip::impedance_of(c(w, 0.1 * w), 240.0)).unwrap();
        Self { bus, specs, sources, solver: Solver::new(net, fine()).unwrap() }
    }

    /// Nobody is over; below its limit a loop gives (E - u)/z, at its limit that much would be more, and it gives
    /// the limit in the same direction.
    fn obeys_the_law(&self) {
        let s = self.solver.solution().unwrap();
        for (spec, source) in self.specs.iter().zip(&self.sources) {
            let currents = s.source_currents(*source).unwrap();
            for (k, emf) in spec.emfs.iter().enumerate() {
                let limit = emf.limit_a.unwrap();
                let wanted = (emf.emf_v - s.between(self.bus, emf.from, N).unwrap()) / spec.z_ohm[k * 2 + k];
                assert!(magnitude(currents[k]) <= limit * (1.0 + 1e-8));
                if s.at_limit(*source).unwrap()[k] {
                    assert!(magnitude(wanted) >= limit * (1.0 - 1e-8));
                    assert!(magnitude(wanted * (limit / magnitude(wanted)) - currents[k]) < 1e-7);
                } else {
                    assert!(magnitude(wanted - currents[k]) < 1e-7);
                }
            }
        }
    }
}

/// Whatever converges obeys the law of the limit; what does not converge gives no answer. Nearly all do.
#[test]
fn limits_are_kept() {
    let mut dice = Dice(3);
    let mut converged = 0;
    for _ in 0..200 {
        let mut case = Parallel::random(&mut dice);
        match case.solver.solve() {
            Status::Converged { .. } => {
                converged += 1;
                case.obeys_the_law();
            }
            Status::NotConverged { .. } => assert!(case.solver.solution().is_none()),
            other => panic!("{other:?}"),
        }
    }
    assert!(converged >= 196, "{converged} of 200");
}

/// A 240 V load alone, twice what the group gives: one current through both legs, which stay equal though the
/// equations leave open how they divide the voltage. 240 V at 2 x 60 A asked, 60 A given: 60 V on each leg.
#[test]
fn equal_legs_stay_equal_at_the_limit() {
    let mut net = Network::new();
    let bus = net.bus("panel", &[L1, L2, N]).unwrap();
    net.bond("bond", bus, N, None).unwrap();
    let source = net.source(SourceSpec::split_phase(bus, 120.0, c(0.01, 0.0)).limited(60.0)).unwrap();
    net.load(bus, (L1, L2), Zip::impedance(c(2.0, 0.0))).unwrap();
    let mut solver = Solver::new(net, Config::default()).unwrap();
    assert!(solver.solve().converged());
    let s = solver.solution().unwrap();
    assert_eq!(s.at_limit(source).unwrap(), [true, true]);
    for (leg, sign) in [(L1, 1.0), (L2, -1.0)] {
        assert!(magnitude(s.voltage(bus, leg).unwrap() - sign * 60.0) < 1e-6);
    }
}

/// One phase shorted to neutral through 1 mohm on a group of three: that phase gives its limit, the others go on,
/// the neutral carries the limit and shifts.
#[test]
fn one_phase_in_short_circuit() {
    let mut net = Network::new();
    let bus = net.bus("group", &[L1, L2, L3, N]).unwrap();
    let panel = net.bus("panel", &[L1, L2, L3, N]).unwrap();
    net.bond("bond", bus, N, None).unwrap();
    let source = net.source(SourceSpec::wye(bus, 120.0, c(0.02, 0.02)).limited(100.0)).unwrap();
    let z = c(0.01, 0.0);
    let line = net.plain_line("feeder", bus, panel, &[(L1, z), (L2, z), (L3, z), (N, z)]).unwrap();
    net.load(panel, (L1, N), Zip::impedance(c(0.001, 0.0))).unwrap();
    for other in [L2, L3] {
        net.load(panel, (other, N), Zip::power(c(2400.0, 0.0))).unwrap();
    }
    let mut solver = Solver::new(net, Config::default()).unwrap();
    let status = solver.solve();
    assert!(status.converged(), "{status:?}");
    let s = solver.solution().unwrap();
    assert_eq!(s.at_limit(source).unwrap(), [true, false, false]);
    assert!((magnitude(s.line_current(line, L1).unwrap()) - 100.0).abs() < 1e-6);
    // 100 A through R = 0.01 + 0.001 ohm and the neutral, which it shares with 20 A of each other phase
    let shift = magnitude(s.neutral_shift(panel).unwrap());
    let neutral = magnitude(s.line_current(line, N).unwrap());
    assert!((shift - 0.01 * neutral).abs() < 1e-9 && neutral > 80.0);
    assert!(magnitude(s.between(bus, L1, N).unwrap()) < 3.0);
    assert!(magnitude(s.between(panel, L2, N).unwrap()) > 110.0);
}

/// A following unit gives its power, less at its limit.
#[test]
fn following_units_keep_their_limit() {
    let mut net = Network::new();
    let bus = leg(&mut net);
    let source = net.source(SourceSpec::single(bus, L1, N, c(120.0, 0.0), c(0.1, 0.0))).unwrap();
    let unit = net.injection(bus, (L1, N), c(2400.0, 0.0), Some(15.0)).unwrap();
    net.load(bus, (L1, N), Zip::impedance(c(12.0, 0.0))).unwrap();
    let mut solver = Solver::new(net, fine()).unwrap();
    assert!(solver.solve().converged());
    let s = solver.solution().unwrap();
    // V = (120/0.1 + 15) / (1/0.1 + 1/12)
    let by_hand = (1200.0 + 15.0) / (10.0 + 1.0 / 12.0);
    assert!(magnitude(s.between(bus, L1, N).unwrap() - by_hand) < 1e-9);
    assert_eq!(s.injection_at_limit(unit), Some(true));
    assert!(s.source_currents(source).unwrap()[0].re < 0.0);
    solver.set_injection(unit, c(1200.0, 0.0)).unwrap();
    assert!(solver.solve().converged());
    let s = solver.solution().unwrap();
    let given = -s.between(bus, L1, N).unwrap() * s.load_current(unit).unwrap().conj();
    assert!(magnitude(given - 1200.0) < 1e-6);
    assert_eq!(s.injection_at_limit(unit), Some(false));
}

/// A load that grows from nothing to a starting motor, without new factors: the fixed point alone would run away.
#[test]
fn a_motor_starts_on_a_prepared_network() {
    let mut net = Network::new();
    let bus = leg(&mut net);
    net.source(SourceSpec::single(bus, L1, N, c(120.0, 0.0), c(0.5, 0.2))).unwrap();
    let motor = net.load(bus, (L1, N), Zip::impedance_of(lagging(10.0, 0.3), 120.0)).unwrap();
    net.load(bus, (L1, N), Zip::power(c(300.0, 0.0))).unwrap();
    let mut solver = Solver::new(net, fine()).unwrap();
    assert!(solver.solve().converged());
    solver.set_load(motor, Zip::impedance_of(lagging(60_000.0, 0.3), 120.0)).unwrap();
    let mut fresh = Solver::new(solver.network().clone(), fine()).unwrap();
    let (status, expected) = (solver.solve(), fresh.solve());
    assert_eq!(status.converged(), expected.converged(), "{status:?} {expected:?}");
    solver.set_load(motor, Zip::impedance_of(lagging(20_000.0, 0.3), 120.0)).unwrap();
    let mut fresh = Solver::new(solver.network().clone(), fine()).unwrap();
    assert!(solver.solve().converged() && fresh.solve().converged());
    assert!(solver.work().newton_steps > 0 && fresh.work().newton_steps == 0);
    let [a, b] = [&solver, &fresh].map(|s| s.solution().unwrap().between(bus, L1, N).unwrap());
    assert!(magnitude(a - b) < 1e-8);
}

/// Settings that end the search early end it without an answer, never with a wrong one.
#[test]
fn an_ended_search_is_no_answer() {
    let case =
        Leg { limit_a: 60.0, r_ohm: 0.05, x_ohm: 0.0, start_va: 12_000.0, running_va: 500.0, power: true };
    let (mut solver, _, _) = case.network();
    assert!(solver.solve().converged());
    let stop_at = |limits: bool| {
        move |event: Event| match event {
            Event::Limits { .. } if limits => Go::Stop,
            Event::FixedPoint { .. } if !limits => Go::Stop,
            _ => Go::On,
        }
    };
    for limits in [true, false] {
        let status = solver.solve_watched(&mut stop_at(limits));
        let Status::NotConverged { why: Stopped::Observer, residual_a } = status else {
            panic!("{status:?}")
        };
        assert!(residual_a > if limits { 1.0 } else { 1e-3 }, "{residual_a}");
        assert!(solver.solution().is_none() && solver.best_effort().is_some());
    }
    let mut net = Network::new();
    let bus = leg(&mut net);
    net.source(SourceSpec::single(bus, L1, N, c(120.0, 0.0), c(0.5, 0.0))).unwrap();
    net.load(bus, (L1, N), Zip::power(c(7190.0, 0.0))).unwrap();
    let short = Config { continuation_points: 2, ..Config::default() };
    let mut solver = Solver::new(net, short).unwrap();
    assert!(matches!(solver.solve(), Status::NotConverged { why: Stopped::Steps, .. }));
}
