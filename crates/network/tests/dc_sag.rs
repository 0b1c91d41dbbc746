//! The voltage of a bank under a constant-power draw, and the ripple of its current.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use derivation::Known;
use network::dc::ripple::{Ripple, RippleCase, largest_ripple, ripple};
use network::dc::sag::{Sag, SagCase, SagEnd, Settled, sag};
use network::{LoadPower, NetworkError, Sense};
use proptest::prelude::*;
use quantity::{Apparent, DcVoltage, Power, Quantity, Ratio, Resistance, VoltageSystem};

fn known<Q: Quantity>(si: f64) -> Known<Q> {
    Known::assumed("x", "stated", Q::from_si(si), "test")
}

fn case(ocv_v: f64, ohm: f64, output_w: f64, cutoff_v: f64) -> SagCase {
    SagCase {
        ocv: known::<DcVoltage>(ocv_v),
        resistance: known::<Resistance>(ohm),
        output: known::<Power>(output_w),
        efficiency: known::<Ratio>(0.92),
        idle: known::<Power>(40.0),
        awake: known::<Ratio>(3.0),
        cutoff: known::<DcVoltage>(cutoff_v),
    }
}

fn settled(sag: &Sag) -> &Settled {
    match &sag.end {
        SagEnd::Holds(settled) | SagEnd::BelowCutoff(settled) => settled,
        SagEnd::NoSolution => panic!("no solution"),
    }
}

/// By hand: P = 9200 / 0.92 + 3 · 40 = 10,120 W; V^2 - 51.2 V + 0.02 · 10,120 = 0; V = 25.6 + sqrt(655.36 - 202.4)
/// = 46.8829 V; I = 215.857 A.
#[test]
fn a_draw_by_hand() {
    let found = sag(&case(51.2, 0.02, 9200.0, 44.0)).unwrap();
    assert!(found.end.holds());
    let state = settled(&found);
    assert!((found.draw.value().si() - 10_120.0).abs() < 1e-9);
    assert!((state.voltage.value().si() - 46.882_857).abs() < 1e-6);
    assert!((state.current.value().si() - 215.857_1).abs() < 1e-3);
    assert!((state.margin.value().si() - 2.882_857).abs() < 1e-6);
    // 44 · (51.2 - 44) / 0.02 = 15,840 W at the bank, 0.92 · (15,840 - 120) = 14,462.4 W at the outputs
    assert!((found.largest_output.value().si() - 14_462.4).abs() < 1e-6);
    assert!((found.largest_draw.value().si() - 32_768.0).abs() < 1e-6);
}

#[test]
fn below_the_cutoff_and_without_solution_are_told_apart() {
    assert!(matches!(sag(&case(51.2, 0.02, 15_000.0, 44.0)).unwrap().end, SagEnd::BelowCutoff(_)));
    let none = sag(&case(51.2, 0.02, 30_100.0, 44.0)).unwrap();
    assert!(matches!(none.end, SagEnd::NoSolution));
    // an empty bank gives nothing, and a cut-off under half of the open-circuit voltage gains nothing
    assert!(sag(&case(43.0, 0.02, 100.0, 44.0)).unwrap().largest_output.value().si() <= 0.0);
    let low = sag(&case(51.2, 0.02, 100.0, 10.0)).unwrap();
    assert!((low.largest_output.value().si() - 0.92 * (32_768.0 - 120.0)).abs() < 1e-6);
}

#[test]
fn a_bank_without_resistance_is_refused() {
    assert!(matches!(sag(&case(51.2, 0.0, 100.0, 44.0)), Err(NetworkError::OutOfRange { .. })));
}

proptest! {
    #[test]
    fn the_voltage_satisfies_its_equation_on_the_high_branch(
        ocv in 20.0..800.0_f64, ohm in 1e-4..0.5_f64, output in 0.0..60_000.0_f64, part in 0.3..1.0_f64,
    ) {
        let case = case(ocv, ohm, output, part * ocv);
        let found = sag(&case).unwrap();
        let p = found.draw.value().si();
        match &found.end {
            SagEnd::NoSolution => prop_assert!(p > ocv * ocv / (4.0 * ohm) * (1.0 - 1e-12)),
            SagEnd::Holds(state) | SagEnd::BelowCutoff(state) => {
                let v = state.voltage.value().si();
                prop_assert!(v >= 0.5 * ocv);
                prop_assert!((ocv - ohm * p / v - v).abs() < 1e-9 * ocv);
                prop_assert_eq!(found.end.holds(), v >= part * ocv);
            }
        }
        // what is said to be the largest output holds, and a little more does not
        let most = found.largest_output.value().si();
        if most > 1.0 {
            let at = |watts: f64| sag(&SagCase { output: known::<Power>(watts), ..case.clone() }).unwrap();
            prop_assert!(at(most * (1.0 - 1e-9)).end.holds());
            prop_assert!(!at(most * (1.0 + 1e-6)).end.holds());
        }
    }
}

fn ripple_case(system: VoltageSystem, loads: &[(&str, f64, f64, Sense)], efficiency: f64) -> RippleCase {
    let load = |(connection, va, pf, sense): &(&str, f64, f64, Sense)| {
        let power =
            LoadPower { apparent: known::<Apparent>(*va), power_factor: known::<Ratio>(*pf), sense: *sense };
        (connection.parse().unwrap(), power)
    };
    RippleCase {
        system,
        loads: loads.iter().map(load).collect(),
        efficiency: known::<Ratio>(efficiency),
        bus: known::<DcVoltage>(48.0),
    }
}

fn ripple_a(found: &Ripple) -> f64 {
    found.ripple.value().si()
}

const LAG: Sense = Sense::Lagging;

#[test]
fn one_phase_at_unity_gives_the_direct_current_over_root_two() {
    let found = ripple(&ripple_case(VoltageSystem::Single230, &[("L1", 4800.0, 1.0, LAG)], 0.8)).unwrap();
    assert!((found.mean.value().si() - 125.0).abs() < 1e-9);
    assert!((ripple_a(&found) - 125.0 / 2.0_f64.sqrt()).abs() < 1e-9);
    assert!((found.total.value().si() - 125.0 * 1.5_f64.sqrt()).abs() < 1e-9);
}

#[test]
fn legs_of_split_phase_add_and_balanced_phases_cancel() {
    let split = |loads| ripple_a(&ripple(&ripple_case(VoltageSystem::Split120_240, loads, 1.0)).unwrap());
    let both = split(&[("L1", 3000.0, 0.8, LAG), ("L2", 3000.0, 0.8, LAG)]);
    assert!((both - split(&[("L1-L2", 6000.0, 0.8, LAG)])).abs() < 1e-9);
    // reactive power pulsates as well: the apparent power counts, not the active one
    assert!((both - 6000.0 / 48.0 / 2.0_f64.sqrt()).abs() < 1e-9);
    let wye = |loads| ripple_case(VoltageSystem::Wye120_208, loads, 1.0);
    let three = [("L1", 2000.0, 0.9, LAG), ("L2", 2000.0, 0.9, LAG), ("L3", 2000.0, 0.9, LAG)];
    assert!(ripple_a(&ripple(&wye(&three)).unwrap()) < 1e-9);
    assert!(ripple_a(&ripple(&wye(&[("L1-L2-L3", 6000.0, 0.9, LAG)])).unwrap()) < 1e-12);
    let one = 2000.0 / 48.0 / 2.0_f64.sqrt();
    assert!((ripple_a(&ripple(&wye(&three[..2])).unwrap()) - one).abs() < 1e-9);
    // any of them may be off
    assert!((ripple_a(&largest_ripple(&wye(&three)).unwrap()) - one).abs() < 1e-9);
    // a load between two lines of a wye is one load, not two halves
    assert!((ripple_a(&ripple(&wye(&[("L1-L2", 2000.0, 1.0, LAG)])).unwrap()) - one).abs() < 1e-9);
    assert!(ripple(&ripple_case(VoltageSystem::TwoLegs120_208, &[("L3", 1.0, 1.0, LAG)], 1.0)).is_err());
}

proptest! {
    /// Against the spectrum of the instantaneous power of sine waves, sampled over one turn.
    #[test]
    fn the_ripple_is_that_of_sampled_sine_waves(
        va in prop::array::uniform3(0.0..5000.0_f64), pf in prop::array::uniform3(0.0..1.0_f64), lead in any::<[bool; 3]>(),
    ) {
        let system = VoltageSystem::Wye230_400;
        let legs = ["L1", "L2", "L3"];
        let sense = |k: usize| if lead[k] { Sense::Leading } else { LAG };
        let loads: Vec<_> = (0..3).map(|k| (legs[k], va[k], pf[k], sense(k))).collect();
        let found = ripple(&ripple_case(system, &loads, 1.0)).unwrap();
        let n = 64;
        let power = |i: usize| -> f64 {
            let turn = std::f64::consts::TAU * i as f64 / n as f64;
            (0..3).map(|k| {
                let angle = turn - k as f64 * std::f64::consts::TAU / 3.0;
                let behind = libm::acos(pf[k]) * if lead[k] { -1.0 } else { 1.0 };
                2.0 * va[k] * libm::cos(angle) * libm::cos(angle - behind)
            }).sum()
        };
        let samples: Vec<f64> = (0..n).map(power).collect();
        let mean = samples.iter().sum::<f64>() / n as f64;
        let square = samples.iter().map(|p| (p - mean) * (p - mean)).sum::<f64>() / n as f64;
        prop_assert!((ripple_a(&found) - square.sqrt() / 48.0).abs() < 1e-6);
        prop_assert!((found.power.value().si() - mean).abs() < 1e-6);
    }
}
