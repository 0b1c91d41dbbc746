//! Fault levels of utilities, generators and islands, and whether a breaker clears them.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use derivation::Known;
use network::fault::clearing::{Clearing, Curve, Device, clearing, interrupting};
use network::fault::generator::{GeneratorSource, SustainedFault, generator_fault};
use network::fault::island::{LoopVoltage, UnitFault, island_fault};
use network::fault::utility::{FaultRun, Strength, UtilitySource, Winding, centre_tap_factor, utility_fault};
use network::fault::{FaultKind, FaultLevel, Lasts};
use network::voltage_dip::{Phases, Run, fault_at_end, full_load_current, infinite_bus_fault};
use network::{Impedance, NetworkError};
use proptest::prelude::*;
use quantity::{Apparent, Current, Duration, Length, LineVoltage, PhaseVoltage, Quantity, Ratio, Resistance};

fn known<Q: Quantity>(si: f64) -> Known<Q> {
    Known::assumed("x", "stated", Q::from_si(si), "test")
}

fn ohms(r: f64, x: f64) -> Impedance {
    Impedance { r: known::<Resistance>(r), x: Some(known::<Resistance>(x)) }
}

fn near(found: &Known<Current>, expected: f64, relative: f64) {
    let found = found.value().si();
    assert!((found - expected).abs() <= relative * expected, "{found} A, expected {expected} A");
}

fn centre_tapped(va: f64, z: f64, x_over_r: Option<f64>) -> UtilitySource {
    UtilitySource {
        line: known::<LineVoltage>(240.0),
        winding: Winding::CentreTapped { factor: centre_tap_factor() },
        strength: Strength::Transformer { rating: known::<Apparent>(va), z: known::<Ratio>(z) },
        x_over_r: x_over_r.map(known::<Ratio>),
    }
}

fn wye(va: f64, line_v: f64, z: f64, x_over_r: Option<f64>) -> UtilitySource {
    UtilitySource {
        line: known::<LineVoltage>(line_v),
        winding: Winding::ThreePhase,
        ..centre_tapped(va, z, x_over_r)
    }
}

/// Outside case FLT-03 (computed, point-to-point constants): 50 kVA, 240 V, 2 %: 10,416.7 A, and 7,154.74 A after 60 ft
/// of C = 11,424, whose resistance is 60/11,424 ohm a conductor. The point-to-point method adds magnitudes.
#[test]
fn a_split_phase_service_agrees_with_point_to_point() {
    let source = centre_tapped(50_000.0, 0.02, None);
    near(&utility_fault(&source, &[], FaultKind::LineToLine).unwrap().largest, 10_416.666_7, 1e-8);
    let run =
        FaultRun { line: ohms(60.0 / 11_424.0, 0.0), neutral: Some(ohms(60.0 / 11_424.0, 0.0)), earth: None };
    let end = utility_fault(&source, std::slice::from_ref(&run), FaultKind::LineToLine).unwrap();
    near(&end.least, 7_154.738_76, 1e-8);
    // a source that is all reactance stands at right angles to the run: sqrt(0.02304^2 + 0.010504^2) ohm
    near(&end.largest, 240.0 / libm::hypot(0.02304, 120.0 / 11_424.0), 1e-9);
    // at the terminals half as much again to neutral, and less than line to line at the end of a run
    let neutral = |runs: &[FaultRun]| utility_fault(&source, runs, FaultKind::LineToNeutral).unwrap();
    near(&neutral(&[]).largest, 1.5 * 10_416.666_7, 1e-8);
    near(&neutral(std::slice::from_ref(&run)).least, 120.0 / (0.02304 / 3.0 + 120.0 / 11_424.0), 1e-9);
    assert!(matches!(
        utility_fault(&source, &[run], FaultKind::LineToEarth),
        Err(NetworkError::NotCovered(_))
    ));
    assert!(utility_fault(&source, &[], FaultKind::ThreePhase).is_err());
}

/// By hand: 400 kVA, 400 V, 4 %: 0.016 ohm and 14,434 A; X/R = 3 gives 5.060 + j15.179 mohm. A run of 10 + j4 mohm a
/// conductor: three-phase 230.94 / |15.060 + j19.179| mohm = 9,470 A; two lines 400 over twice that, 8,202 A; to neutral
/// 230.94 / |25.060 + j23.179| mohm = 6,765 A.
#[test]
fn a_wye_by_hand() {
    let source = wye(400_000.0, 400.0, 0.04, Some(3.0));
    let run = || FaultRun {
        line: ohms(0.01, 0.004),
        neutral: Some(ohms(0.01, 0.004)),
        earth: Some(ohms(0.02, 0.0)),
    };
    let at = |kind| utility_fault(&source, &[run()], kind).unwrap();
    near(&utility_fault(&source, &[], FaultKind::ThreePhase).unwrap().largest, 14_433.757, 1e-6);
    near(&at(FaultKind::ThreePhase).largest, 9_470.0, 5e-4);
    near(&at(FaultKind::LineToLine).largest, 9_470.0 * 0.75_f64.sqrt(), 5e-4);
    near(&at(FaultKind::LineToNeutral).largest, 6_765.0, 5e-4);
    let level = at(FaultKind::LineToEarth);
    near(&level.largest, level.least.value().si(), 1e-12);
    assert!(matches!(level.lasts, Lasts::UntilCleared));
    // a stated current is the same source
    let stated = UtilitySource { strength: Strength::Stated(known::<Current>(14_433.757)), ..source };
    near(&utility_fault(&stated, &[run()], FaultKind::ThreePhase).unwrap().largest, 9_470.0, 5e-4);
}

/// 100 kVA, 400 V: rated 144.34 A; x'' = 12 % gives 1,202.8 A at the terminals; three times rated current for 10 s.
#[test]
fn a_generator_gives_what_is_stated() {
    let source = |subtransient: Option<f64>, sustained: bool| GeneratorSource {
        rating: known::<Apparent>(100_000.0),
        line: known::<LineVoltage>(400.0),
        phases: Phases::Three,
        subtransient: subtransient.map(known::<Ratio>),
        sustained: sustained.then(|| SustainedFault {
            kind: FaultKind::ThreePhase,
            ratio: known::<Ratio>(3.0),
            time: known::<Duration>(10.0),
        }),
    };
    let none = ohms(0.0, 0.0);
    let found = generator_fault(&source(Some(0.12), true), &none, FaultKind::ThreePhase).unwrap();
    near(&found.first.unwrap(), 1_202.813, 1e-6);
    let sustained = found.sustained.unwrap();
    near(&sustained.least, 433.013, 1e-5);
    assert!(matches!(sustained.lasts, Lasts::For(t) if (t.value().si() - 10.0).abs() < 1e-12));
    let found =
        generator_fault(&source(Some(0.12), false), &ohms(0.144, 0.0), FaultKind::ThreePhase).unwrap();
    near(&found.first.unwrap(), 400.0 / 3.0_f64.sqrt() / 0.24, 1e-9); // 0.144 and j0.192 ohm make 0.24
    assert!(found.sustained.is_none());
    for kind in [FaultKind::LineToNeutral, FaultKind::LineToLine] {
        let refused = generator_fault(&source(Some(0.12), true), &none, kind);
        assert!(matches!(refused, Err(NetworkError::NotCovered(_))));
    }
    assert!(generator_fault(&source(None, false), &none, FaultKind::ThreePhase).is_err());
}

fn island(units: &[(f64, f64)], run: Impedance) -> FaultLevel {
    let unit = |(amperes, seconds): &(f64, f64)| UnitFault {
        current: known::<Current>(*amperes),
        time: known::<Duration>(*seconds),
    };
    let units: Vec<UnitFault> = units.iter().map(unit).collect();
    island_fault(&units, &LoopVoltage::Phase(known::<PhaseVoltage>(120.0)), &run).unwrap()
}

#[test]
fn an_island_is_a_current_until_the_run_limits_it() {
    let close = island(&[(90.0, 0.2), (90.0, 0.2), (60.0, 0.1)], ohms(0.1, 0.0));
    near(&close.largest, 240.0, 1e-12);
    assert!(matches!(&close.lasts, Lasts::For(t) if (t.value().si() - 0.1).abs() < 1e-12));
    near(&island(&[(90.0, 0.2); 3], ohms(0.6, 0.8)).largest, 120.0, 1e-12);
    assert!(island_fault(&[], &LoopVoltage::Line(known::<LineVoltage>(240.0)), &ohms(0.1, 0.0)).is_err());
}

fn level(amperes: f64, seconds: Option<f64>) -> FaultLevel {
    FaultLevel {
        largest: known::<Current>(amperes),
        least: known::<Current>(amperes),
        lasts: seconds.map_or(Lasts::UntilCleared, |s| Lasts::For(known::<Duration>(s))),
    }
}

/// A 16 A breaker of curve C opens at once from 160 A, within 60 s from 40.8 A, within the hour from 23.2 A.
#[test]
fn a_band_is_read_stepwise() {
    let device = Device::iec60898(&known::<Current>(16.0), Curve::C).unwrap();
    let at = |amperes, seconds| clearing(&device, &level(amperes, seconds)).unwrap();
    assert!(matches!(at(160.0, Some(0.1)), Clearing::Instantaneous { within: Some(_), .. }));
    // in the band it may open at once, and may not
    let needs = |found: Clearing, seconds: f64| match found {
        Clearing::NotWithinSourceTime { needed, .. } => (needed.value().si() - seconds).abs() < 1e-9,
        _ => false,
    };
    assert!(needs(at(159.0, Some(5.0)), 60.0));
    assert!(needs(at(160.0, Some(0.09)), 0.1));
    assert!(needs(at(30.0, Some(100.0)), 3600.0));
    assert!(
        matches!(at(159.0, None), Clearing::ThermalWithin { within } if (within.value().si() - 60.0).abs() < 1e-9)
    );
    assert!(matches!(at(23.0, None), Clearing::NotPromised { .. }));
    assert!(matches!(at(17.0, Some(5.0)), Clearing::NotPromised { .. }));
    // above 32 A the delayed release has twice the time
    let large = Device::iec60898(&known::<Current>(40.0), Curve::D).unwrap();
    assert!(needs(clearing(&large, &level(799.0, Some(100.0))).unwrap(), 120.0));
    assert!(Device::iec60898(&known::<Current>(160.0), Curve::B).is_err());
}

#[test]
fn an_inverse_time_breaker_is_what_its_catalogue_states() {
    let at = |device: &Device, amperes, seconds| clearing(device, &level(amperes, seconds)).unwrap();
    let nothing = Device::stated(None, &[]);
    assert!(matches!(at(&nothing, 10_000.0, None), Clearing::NotCovered(_)));
    let untimed = Device::stated(Some((known::<Current>(600.0), None)), &[]);
    assert!(matches!(at(&untimed, 700.0, None), Clearing::Instantaneous { within: None, .. }));
    assert!(matches!(at(&untimed, 700.0, Some(1.0)), Clearing::NotCovered(_)));
    assert!(matches!(at(&untimed, 500.0, None), Clearing::NotCovered(_)));
    let points = [(known::<Current>(300.0), known::<Duration>(20.0))];
    let timed = Device::stated(Some((known::<Current>(600.0), Some(known::<Duration>(0.05)))), &points);
    assert!(matches!(at(&timed, 700.0, Some(0.1)), Clearing::Instantaneous { within: Some(_), .. }));
    assert!(matches!(at(&timed, 400.0, Some(30.0)), Clearing::ThermalWithin { .. }));
    assert!(matches!(at(&timed, 400.0, Some(3.0)), Clearing::NotWithinSourceTime { .. }));
}

#[test]
fn an_interrupting_rating_holds_up_to_itself() {
    let rating = known::<Current>(10_000.0);
    assert!(interrupting(&level(10_000.0, None), &rating).unwrap().holds);
    assert!(!interrupting(&level(10_001.0, None), &rating).unwrap().holds);
}

proptest! {
    /// Without runs both methods give the same; with them the least is that of the point-to-point method.
    #[test]
    fn utility_agrees_with_point_to_point(
        kva in 10.0..2000.0_f64, z in 0.01..0.08_f64, feet in 5.0..300.0_f64, c in 500.0..25_000.0_f64, three in any::<bool>(),
    ) {
        let (source, phases, kind) = if three {
            (wye(kva * 1e3, 208.0, z, None), Phases::Three, FaultKind::ThreePhase)
        } else {
            (centre_tapped(kva * 1e3, z, None), Phases::Single, FaultKind::LineToLine)
        };
        let full = full_load_current(&known::<Apparent>(kva * 1e3), &source.line, phases).unwrap();
        let start = infinite_bus_fault(&full, &known::<Ratio>(z)).unwrap();
        let found = utility_fault(&source, &[], kind).unwrap();
        prop_assert!((found.largest.value().si() / start.value().si() - 1.0).abs() < 1e-12);
        let run = Run { length: known::<Length>(feet * 0.3048), c: known::<Ratio>(c), parallel: known::<Ratio>(1.0) };
        let end = fault_at_end(&start, &source.line, &run, phases).unwrap();
        let run = FaultRun { line: ohms(feet / c, 0.0), neutral: None, earth: None };
        let found = utility_fault(&source, &[run], kind).unwrap();
        prop_assert!((found.least.value().si() / end.current.value().si() - 1.0).abs() < 1e-9);
    }

    /// Whatever angle the source turns out to have, its current lies between the least and the largest.
    #[test]
    fn an_unknown_angle_lies_between_least_and_largest(
        z in 0.01..0.08_f64, r in 0.0..0.1_f64, x in 0.0..0.1_f64, ratio in 0.0..50.0_f64,
    ) {
        let run = || FaultRun { line: ohms(r, x), neutral: Some(ohms(r, x)), earth: Some(ohms(2.0 * r, x)) };
        for kind in [FaultKind::ThreePhase, FaultKind::LineToLine, FaultKind::LineToNeutral, FaultKind::LineToEarth] {
            let unknown = utility_fault(&wye(1e5, 400.0, z, None), &[run()], kind).unwrap();
            let sure = utility_fault(&wye(1e5, 400.0, z, Some(ratio)), &[run()], kind).unwrap().least.value().si();
            prop_assert!(unknown.least.value().si() <= sure * (1.0 + 1e-9));
            prop_assert!(unknown.largest.value().si() >= sure * (1.0 - 1e-9));
        }
    }

    /// More current is never cleared later, and a source that lasts longer never turns a clearing into none.
    #[test]
    fn more_current_or_more_time_never_clears_less(
        rated in 1.0..125.0_f64, amperes in 1.0..3000.0_f64, more in 1.0..5.0_f64, lasts in 0.01..1e4_f64, longer in 1.0..100.0_f64,
    ) {
        let clears = |curve, a, s| {
            let device = Device::iec60898(&known::<Current>(rated), curve).unwrap();
            matches!(
                clearing(&device, &level(a, Some(s))).unwrap(),
                Clearing::Instantaneous { .. } | Clearing::ThermalWithin { .. }
            )
        };
        for curve in [Curve::B, Curve::C, Curve::D] {
            if clears(curve, amperes, lasts) {
                prop_assert!(clears(curve, amperes * more, lasts) && clears(curve, amperes, lasts * longer));
            }
        }
    }
}
