//! A motor starting on a source with an output resistance and a current limit.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use derivation::Known;
use network::motor_start::{Held, RunningAs, Start, StartCase, motor_start};
use network::{Impedance, LoadPower};
use num_complex::Complex64;
use proptest::prelude::*;
use quantity::{Apparent, Current, PhaseVoltage, Quantity, Ratio, Resistance};

fn power(va: f64, pf: f64) -> LoadPower {
    LoadPower::lagging(
        Known::assumed("S", "power", Apparent::of(va), "test"),
        Known::assumed("pf", "power factor", Ratio::of(pf), "test"),
    )
}

fn case(limit_a: f64, ohm: f64, start_va: f64, running_va: f64, running_as: RunningAs) -> StartCase {
    StartCase {
        source: Known::assumed("E", "source", PhaseVoltage::of(120.0), "test"),
        impedance: Impedance::resistive(Known::assumed("Z", "output", Resistance::of(ohm), "test")),
        limit: Known::assumed("I_lim", "limit", Current::of(limit_a), "test"),
        start: power(start_va, 0.3),
        running: power(running_va, 0.95),
        running_as,
    }
}

fn voltage(case: &StartCase) -> Option<f64> {
    match motor_start(case).unwrap() {
        Start::Holds(held) => Some(held.voltage.value().si()),
        Start::Collapses(_) => None,
    }
}

fn held(case: &StartCase) -> Held {
    match motor_start(case).unwrap() {
        Start::Holds(held) => held,
        Start::Collapses(_) => panic!("collapsed"),
    }
}

/// 12 kVA locked rotor asks 100 A of a 60 A source: V = I_lim / |Y| = 0.6, torque 0.36, 2.78 times as long.
#[test]
fn a_bare_start_at_the_limit() {
    let held = held(&case(60.0, 0.05, 12_000.0, 0.0, RunningAs::ConstantPower));
    assert!(held.limited);
    assert!((held.voltage.value().si() - 0.6).abs() < 1e-12);
    assert!((held.torque.value().si() - 0.36).abs() < 1e-12);
    assert!((held.stretch.value().si() - 1.0 / 0.36).abs() < 1e-9);
    assert!((held.current.value().si() - 60.0).abs() < 1e-9);
}

/// Below the limit: Y V = 10 A at pf 0.3 through 0.5 ohm. Hand calculation: Z Y = 0.5/12 at -72.54 degrees,
/// |1 + Z Y| = |1.0125 - j0.039747| = 1.013280, V = 0.986894.
#[test]
fn a_small_start_is_a_divider() {
    let held = held(&case(60.0, 0.5, 1_200.0, 0.0, RunningAs::ConstantPower));
    assert!(!held.limited);
    assert!((held.voltage.value().si() - 0.986_894).abs() < 1e-6, "{:?}", held.voltage.value());
}

/// 60 A feed 6 kVA of constant power at 120 V (50 A) with little left: no voltage serves both.
#[test]
fn constant_power_beside_a_large_start_collapses() {
    let start = motor_start(&case(60.0, 0.05, 12_000.0, 6_000.0, RunningAs::ConstantPower)).unwrap();
    let Start::Collapses(collapse) = start else { panic!("no collapse") };
    // I^2 = 2 |Y||S| (1 + cos(angle between)), |Y||S| = (12000/14400) 6000 = 5000 A^2, angles acos 0.3, acos 0.95
    assert!(collapse.least_current.value().si() > 60.0);
    assert!((collapse.at_voltage.value().si() - (0.5_f64).sqrt()).abs() < 1e-12);
    let between = libm::acos(0.3) - libm::acos(0.95);
    let by_hand = (2.0 * 5000.0 * (1.0 + libm::cos(between))).sqrt();
    assert!((collapse.least_current.value().si() - by_hand).abs() < 1e-9);
    // the same load as impedances keeps a voltage
    assert!(voltage(&case(60.0, 0.05, 12_000.0, 6_000.0, RunningAs::ConstantImpedance)).is_some());
}

#[test]
fn numbers_without_sense_are_refused() {
    assert!(motor_start(&case(0.0, 0.05, 12_000.0, 0.0, RunningAs::ConstantPower)).is_err());
    assert!(motor_start(&case(f64::NAN, 0.05, 12_000.0, 0.0, RunningAs::ConstantPower)).is_err());
    assert!(motor_start(&case(60.0, -0.05, 12_000.0, 0.0, RunningAs::ConstantPower)).is_err());
    assert!(motor_start(&case(60.0, 0.05, 0.0, 0.0, RunningAs::ConstantPower)).is_err());
    assert!(motor_start(&case(60.0, 0.05, f64::INFINITY, 0.0, RunningAs::ConstantPower)).is_err());
}

/// The current that the loads draw at a voltage, summed apart from the evaluator.
fn drawn_a(case: &StartCase, v: f64) -> Complex64 {
    let s = |p: &LoadPower| {
        let (va, pf) = (p.apparent.value().si(), p.power_factor.value().si());
        Complex64::new(va * pf, va * (1.0 - pf * pf).sqrt())
    };
    let at_nominal = |p: &LoadPower| (s(p) / 120.0).conj();
    let running = match case.running_as {
        RunningAs::ConstantPower => at_nominal(&case.running) / v,
        RunningAs::ConstantImpedance => at_nominal(&case.running) * v,
    };
    at_nominal(&case.start) * v + running
}

fn any_case() -> impl Strategy<Value = StartCase> {
    (20.0..300.0_f64, 0.0..0.3_f64, 100.0..40_000.0_f64, 0.0..15_000.0_f64, any::<bool>()).prop_map(
        |(limit, ohm, start, running, power)| {
            let running_as = if power { RunningAs::ConstantPower } else { RunningAs::ConstantImpedance };
            case(limit, ohm, start, running, running_as)
        },
    )
}

proptest! {
    /// The current that is stated is the current that the loads draw, the source can give it and holds the
    /// voltage behind its impedance.
    #[test]
    fn kirchhoff_holds(case in any_case()) {
        if let Start::Holds(held) = motor_start(&case).unwrap() {
            let v = held.voltage.value().si();
            let drawn = drawn_a(&case, v);
            let size = libm::hypot(drawn.re, drawn.im);
            prop_assert!((size - held.current.value().si()).abs() < 1e-9 * size);
            let limit = case.limit.value().si();
            prop_assert!(size <= limit * (1.0 + 1e-9));
            let behind = drawn * case.impedance.r.value().si() + 120.0 * v;
            let behind = libm::hypot(behind.re, behind.im);
            if held.limited {
                prop_assert!((size - limit).abs() < 1e-9 * limit && behind <= 120.0 * (1.0 + 1e-9));
            } else {
                prop_assert!((behind - 120.0).abs() < 1e-9 * 120.0);
            }
        }
    }

    /// More to start, or less to give, never leaves more voltage; a collapse counts as none.
    #[test]
    fn voltage_falls_with_the_start_and_with_the_limit(case in any_case(), more in 1.0..3.0_f64) {
        let v = voltage(&case).unwrap_or(0.0);
        let mut heavier = case.clone();
        heavier.start = power(case.start.apparent.value().si() * more, 0.3);
        prop_assert!(voltage(&heavier).unwrap_or(0.0) <= v + 1e-12);
        let mut weaker = case.clone();
        weaker.limit = Known::assumed("I_lim", "limit", case.limit.value() / more, "test");
        prop_assert!(voltage(&weaker).unwrap_or(0.0) <= v + 1e-12);
    }

    /// Constant power is never kinder than constant impedance.
    #[test]
    fn constant_power_is_never_better(case in any_case()) {
        let with = |running_as| voltage(&StartCase { running_as, ..case.clone() }).unwrap_or(0.0);
        prop_assert!(with(RunningAs::ConstantPower) <= with(RunningAs::ConstantImpedance) + 1e-12);
    }

    /// Where it is said to collapse, every voltage up to nominal really asks for more than the source can give.
    #[test]
    fn a_collapse_leaves_no_voltage(case in any_case(), at in 0.001..1.0_f64) {
        if motor_start(&case).unwrap().collapsed() {
            let drawn = drawn_a(&case, at);
            let behind = drawn * case.impedance.r.value().si() + 120.0 * at;
            let limit = case.limit.value().si();
            let over_limit = libm::hypot(drawn.re, drawn.im) > limit * (1.0 - 1e-9);
            let over_source = libm::hypot(behind.re, behind.im) > 120.0 * (1.0 - 1e-9);
            // a voltage that both allow lies below one that both allow and that is stable
            prop_assert!(over_limit || over_source, "{at} would hold");
        }
    }
}
