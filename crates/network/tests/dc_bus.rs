//! Strings and converters on a direct-current bus: hand calculations, outside cases, laws over random buses.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic, non_snake_case)]

use derivation::Known;
use network::NetworkError;
use network::dc::bus::{BankString, BusOutcome, BusState, DcBus, DcUnit};
use network::dc::fault::{FaultPlace, all_bank_faults, bank_fault};
use network::dc::landing::{LandingOrder, compare_landings, one_string_off};
use network::dc::mismatch::worst_mismatch;
use proptest::prelude::*;
use quantity::{DcCurrent, DcVoltage, Power, Quantity, Resistance};

fn known<Q: Quantity>(si: f64) -> Known<Q> {
    Known::assumed("x", "stated", Q::from_si(si), "test")
}

fn string(landing: usize, ocv_v: f64, internal_ohm: f64, cable_ohm: f64) -> BankString {
    BankString {
        name: format!("string at {landing}"),
        landing,
        ocv: known::<DcVoltage>(ocv_v),
        internal: known::<Resistance>(internal_ohm),
        management: None,
        cable: known::<Resistance>(cable_ohm),
    }
}

fn unit(landing: usize, power_w: f64, cable_ohm: f64) -> DcUnit {
    DcUnit {
        name: format!("unit at {landing}"),
        landing,
        power: known::<Power>(power_w),
        cable: known::<Resistance>(cable_ohm),
    }
}

fn bus(segments_ohm: &[f64], strings: Vec<BankString>, units: Vec<DcUnit>) -> DcBus {
    DcBus { segments: segments_ohm.iter().map(|r| known::<Resistance>(*r)).collect(), strings, units }
}

fn settled(bus: &DcBus) -> BusState {
    match bus.solve().unwrap() {
        BusOutcome::Settled(state) => *state,
        other => panic!("{other:?}"),
    }
}

fn amperes(known: &Known<DcCurrent>) -> f64 {
    known.value().si()
}

fn near(found: f64, expected: f64, relative: f64) {
    assert!((found - expected).abs() <= relative * expected.abs(), "{found}, expected {expected}");
}

/// Three strings at one point, 52.8 V and 4.8 mohm each, cables of 1.2, 1.6 and 2.6 mohm.
fn unequal_cables(power_w: f64) -> DcBus {
    let strings = [0.0012, 0.0016, 0.0026].map(|cable| string(0, 52.8, 0.0048, cable)).to_vec();
    bus(&[], strings, vec![unit(0, power_w, 0.0)])
}

/// Outside case BAT-07 (computed by Kirchhoff's laws and by a circuit simulator to 1e-6): 300 A from three strings
/// with unequal cables; fault current as open-circuit volts over resistance (IEEE Std 946, IEC 61660-1). The draw is
/// given here as the power that 300 A is at the case's bus voltage.
#[test]
fn unequal_cables_share_as_the_outside_case() {
    let case = unequal_cables(300.0 * 52.145_052_2);
    let state = settled(&case);
    near(state.landings[0].value().si(), 52.145_052_2, 1e-8);
    for (s, expected) in state.strings.iter().zip([109.157_959, 102.335_587, 88.506_453_6]) {
        near(amperes(&s.current), expected, 1e-7);
    }
    assert_eq!(state.worst, 0);
    near(state.worst_over_equal.unwrap().value().si(), 1.091_579_59, 1e-7);
    let fault = bank_fault(&case, FaultPlace::Landing(0)).unwrap();
    near(amperes(&fault.current), 24_185.135_1, 1e-8);
    for (I, expected) in fault.strings.iter().zip([8_800.0, 8_250.0, 7_135.135_14]) {
        near(amperes(I), expected, 1e-8);
    }
}

/// Outside case BAT-08 (computed; Ohm's-law method of IEEE Std 946, 4/0 uncoated copper 0.0608 ohm/kft of NEC Chapter
/// 9 Table 8): 24 cells of 2.06 V and 0.28 mohm with 23 connectors of 0.03 mohm, 30 ft of cable.
#[test]
fn a_station_battery_faults_as_the_outside_case() {
    let cells_ohm = 24.0 * 0.000_28 + 23.0 * 0.000_03;
    let cable_ohm = 2.0 * 30.0 * 0.0608 / 1000.0;
    let case = bus(&[], vec![string(0, 24.0 * 2.06, cells_ohm, 0.0)], vec![unit(0, 0.0, cable_ohm)]);
    let terminals = bank_fault(&case, FaultPlace::Landing(0)).unwrap();
    near(amperes(&terminals.current), 6_672.064_78, 1e-8);
    let end = bank_fault(&case, FaultPlace::Unit(0)).unwrap();
    near(amperes(&end.current), 4_470.971_24, 1e-8);
    near(cells_ohm + cable_ohm, 0.011_058, 1e-12);
}

/// A single string is the quadratic: 51.2 V, 20 mohm, 10,120 W leave 46.882857 V.
#[test]
fn one_string_is_the_sag() {
    let state = settled(&bus(&[], vec![string(0, 51.2, 0.02, 0.0)], vec![unit(0, 10_120.0, 0.0)]));
    near(state.landings[0].value().si(), 46.882_857, 1e-8);
}

/// The largest power is OCV^2 / (4 R) = 32,768 W: just below it there is a state, above it there is none.
#[test]
fn the_edge_of_having_a_solution_is_found() {
    let at =
        |watts: f64| bus(&[], vec![string(0, 51.2, 0.02, 0.0)], vec![unit(0, watts, 0.0)]).solve().unwrap();
    assert!(at(32_767.99).settled().is_some());
    let BusOutcome::NoSolution { largest_share } = at(40_000.0) else { panic!("there is none") };
    near(largest_share.value().si(), 32_768.0 / 40_000.0, 1e-6);
    assert!(matches!(at(32_768.01), BusOutcome::NoSolution { .. }));
}

/// By hand: strings of 50 V and 52 V, 10 mohm each, nothing drawn: 100 A from the one into the other, 51 V between.
#[test]
fn unequal_voltages_circulate_at_no_load() {
    let state =
        settled(&bus(&[0.0], vec![string(0, 50.0, 0.01, 0.0), string(1, 52.0, 0.008, 0.002)], vec![]));
    near(state.landings[1].value().si(), 51.0, 1e-12);
    near(amperes(&state.strings[0].current), -100.0, 1e-9);
    near(amperes(&state.segments[0]), -100.0, 1e-9);
    assert!(state.strings[0].share.is_none() && state.worst_over_equal.is_none());
}

/// A bar fed at one end: the string next to the converters carries more than the far one.
#[test]
fn the_better_landing_is_the_one_in_the_middle() {
    let strings = (0..3).map(|_| string(0, 52.0, 0.005, 0.001)).collect();
    let case = bus(&[0.002; 3], strings, vec![unit(0, 5000.0, 0.0)]);
    let order = |name: &str, strings: [usize; 3], unit: usize| LandingOrder {
        name: name.to_owned(),
        strings: strings.to_vec(),
        units: vec![unit],
    };
    let orders = [order("end", [1, 2, 3], 0), order("between", [0, 2, 3], 1), order("far", [0, 1, 2], 3)];
    let found = compare_landings(&case, &orders).unwrap();
    assert_eq!(found.best, Some(1));
    let worst = |k: usize| amperes(&found.outcomes[k].settled().unwrap().worst_current);
    near(amperes(&found.least_worst.unwrap()), worst(1), 1e-15);
    assert!(worst(1) < worst(0));
    near(worst(0), worst(2), 1e-9); // mirror images
    let short = LandingOrder { name: "short".to_owned(), strings: vec![0], units: vec![0] };
    assert!(matches!(compare_landings(&case, &[short]), Err(NetworkError::Count { .. })));
}

#[test]
fn survivors_take_over_or_collapse() {
    let near_edge = |watts| {
        bus(&[], vec![string(0, 50.0, 0.02, 0.0), string(0, 50.0, 0.02, 0.0)], vec![unit(0, watts, 0.0)])
    };
    let off = one_string_off(&near_edge(20_000.0)).unwrap();
    assert_eq!(off.len(), 2);
    let state = off[0].outcome.settled().unwrap();
    assert_eq!((state.strings.len(), state.strings[0].string, state.worst), (1, 1, 1));
    near(amperes(&state.total) * state.landings[0].value().si(), 20_000.0, 1e-9);
    // 50 V behind 20 mohm gives 31,250 W at most; both together twice as much
    assert!(settled(&near_edge(40_000.0)).landings[0].value().si() > 25.0);
    let off = one_string_off(&near_edge(40_000.0)).unwrap();
    assert!(off.iter().all(|o| matches!(o.outcome, BusOutcome::NoSolution { .. })));
}

#[test]
fn what_has_no_sense_is_refused() {
    let refused = |bus: DcBus| bus.solve().unwrap_err();
    let one = || vec![string(0, 50.0, 0.01, 0.0)];
    assert!(matches!(refused(bus(&[], vec![], vec![])), NetworkError::Count { .. }));
    for case in [
        bus(&[], vec![string(0, 50.0, 0.0, 0.0)], vec![]),
        bus(&[], vec![string(1, 50.0, 0.01, 0.0)], vec![]),
        bus(&[], one(), vec![unit(1, 10.0, 0.0)]),
        bus(&[-0.001], one(), vec![]),
        bus(&[], one(), vec![unit(0, f64::NAN, 0.0)]),
        bus(&[], vec![string(0, -50.0, 0.01, 0.0)], vec![]),
    ] {
        assert!(matches!(refused(case), NetworkError::OutOfRange { .. }));
    }
    let mixed = bus(&[], one(), vec![unit(0, 10.0, 0.0), unit(0, -10.0, 0.0)]);
    assert!(worst_mismatch(&mixed, &known::<DcVoltage>(0.1)).is_err());
    assert!(bank_fault(&mixed, FaultPlace::Unit(2)).is_err());
}

/// A bus of `n` landings with a string and a unit at random places.
fn random_bus() -> impl Strategy<Value = DcBus> {
    (1_usize..5).prop_flat_map(|n| {
        let segment = prop_oneof![3 => 1e-5..3e-3_f64, 1 => Just(0.0)];
        let string_at = (0..n, 49.0..53.0_f64, 0.002..0.03_f64, 0.0..0.004_f64);
        let unit_at = (0..n, 0.0..4000.0_f64, prop_oneof![1e-4..3e-3_f64, Just(0.0)]);
        (
            prop::collection::vec(segment, n - 1),
            prop::collection::vec(string_at, 1..6),
            prop::collection::vec(unit_at, 0..5),
        )
            .prop_map(|(segments, strings, units)| {
                bus(
                    &segments,
                    strings.into_iter().map(|(k, v, r, c)| string(k, v, r, c)).collect(),
                    units.into_iter().map(|(k, w, r)| unit(k, w, r)).collect(),
                )
            })
    })
}

fn scaled(bus: &DcBus, factor: f64) -> DcBus {
    let mut bus = bus.clone();
    for u in &mut bus.units {
        u.power = known::<Power>(u.power.value().si() * factor);
    }
    bus
}

/// Ohm's law on every branch, Kirchhoff's current law at every landing, and the balance of power.
fn laws(bus: &DcBus, state: &BusState) -> Result<(), TestCaseError> {
    let v = |k: usize| state.landings[k].value().si();
    let scale = 1.0 + state.strings.iter().map(|s| amperes(&s.current).abs()).sum::<f64>();
    let mut into = vec![0.0; bus.landings()];
    let (mut given_w, mut lost_w) = (0.0, 0.0);
    for (s, of) in state.strings.iter().zip(&bus.strings) {
        let i = amperes(&s.current);
        let ohm = of.internal.value().si() + of.cable.value().si();
        prop_assert!((of.ocv.value().si() - i * ohm - v(of.landing)).abs() < 1e-9);
        into[of.landing] += i;
        given_w += of.ocv.value().si() * i;
        lost_w += i * i * ohm;
    }
    for (u, of) in state.units.iter().zip(&bus.units) {
        let (i, at) = (amperes(&u.current), u.voltage.value().si());
        prop_assert!((v(of.landing) - i * of.cable.value().si() - at).abs() < 1e-9);
        prop_assert!((i * at - of.power.value().si()).abs() < 1e-6);
        into[of.landing] -= i;
        given_w -= i * at;
        lost_w += i * i * of.cable.value().si();
    }
    for (k, (j, r)) in state.segments.iter().zip(&bus.segments).enumerate() {
        let (j, r) = (amperes(j), r.value().si());
        prop_assert!((v(k) - v(k + 1) - j * r).abs() < 1e-7, "segment {}: {} V", k, v(k) - v(k + 1) - j * r);
        into[k] -= j;
        into[k + 1] += j;
        lost_w += j * j * r;
    }
    for left in into {
        prop_assert!(left.abs() < 1e-7 * scale);
    }
    prop_assert!((given_w - lost_w).abs() < 1e-5 * scale, "{} W in, {} W lost", given_w, lost_w);
    Ok(())
}

proptest! {
    #[test]
    fn currents_keep_the_laws_in_discharge_and_charge(bus in random_bus(), factor in -2.0..2.0_f64) {
        let bus = scaled(&bus, factor);
        match bus.solve().unwrap() {
            BusOutcome::Settled(state) => laws(&bus, &state)?,
            BusOutcome::NoSolution { largest_share } => {
                prop_assert!(factor > 0.0, "charging always has a solution");
                let share = largest_share.value().si();
                prop_assert!(scaled(&bus, share).solve().unwrap().settled().is_some());
                prop_assert!(scaled(&bus, share * 1.0001).solve().unwrap().settled().is_none());
            }
            BusOutcome::NotConverged => prop_assert!(false, "neither found nor refuted"),
        }
    }

    /// Solar charge controllers beside inverters: nothing is promised, but a draw far from the edge settles, and what
    /// settles keeps the laws.
    #[test]
    fn units_that_charge_beside_units_that_draw_keep_the_laws(
        bus in random_bus(), signs in prop::collection::vec(prop_oneof![Just(-1.0), Just(0.4)], 5),
    ) {
        let mut bus = bus;
        for (u, sign) in bus.units.iter_mut().zip(&signs) {
            u.power = known::<Power>(u.power.value().si() * sign);
        }
        let all_draw = bus.units.iter().all(|u| u.power.value().si() >= 0.0);
        match bus.solve().unwrap() {
            BusOutcome::Settled(state) => laws(&bus, &state)?,
            BusOutcome::NoSolution { .. } => prop_assert!(all_draw, "only draws alone can be shown to have none"),
            BusOutcome::NotConverged => {
                let drawn: f64 = bus.units.iter().map(|u| u.power.value().si().max(0.0)).sum();
                prop_assert!(drawn > 2000.0, "{} W are far from any edge", drawn);
            }
        }
    }

    /// Counted from the other end the bus is the same.
    #[test]
    fn a_bus_seen_from_the_other_end_is_the_same(bus in random_bus()) {
        let bus = scaled(&bus, 0.3);
        let mut mirrored = bus.clone();
        let last = bus.landings() - 1;
        mirrored.segments.reverse();
        mirrored.strings.iter_mut().for_each(|s| s.landing = last - s.landing);
        mirrored.units.iter_mut().for_each(|u| u.landing = last - u.landing);
        if let (BusOutcome::Settled(one), BusOutcome::Settled(other)) = (bus.solve().unwrap(), mirrored.solve().unwrap()) {
            for (a, b) in one.strings.iter().zip(&other.strings) {
                prop_assert!((amperes(&a.current) - amperes(&b.current)).abs() < 1e-6);
            }
            for (a, b) in one.segments.iter().zip(other.segments.iter().rev()) {
                prop_assert!((amperes(a) + amperes(b)).abs() < 1e-6);
            }
        }
    }

    /// With every segment and unit cable at zero the bus is one source: the conductance-weighted mean of the
    /// open-circuit voltages behind the parallel resistance, and a quadratic.
    #[test]
    fn a_bus_of_no_resistance_is_the_parallel_formula(bus in random_bus()) {
        let mut bus = bus;
        bus.segments.iter_mut().for_each(|s| *s = known::<Resistance>(0.0));
        bus.units.iter_mut().for_each(|u| u.cable = known::<Resistance>(0.0));
        let siemens = |s: &BankString| 1.0 / (s.internal.value().si() + s.cable.value().si());
        let g: f64 = bus.strings.iter().map(siemens).sum();
        let e = bus.strings.iter().map(|s| siemens(s) * s.ocv.value().si()).sum::<f64>() / g;
        let p: f64 = bus.units.iter().map(|u| u.power.value().si()).sum();
        let root = e * e - 4.0 * p / g;
        match bus.solve().unwrap() {
            BusOutcome::Settled(state) => {
                let v = 0.5 * (e + root.max(0.0).sqrt());
                for landing in &state.landings {
                    prop_assert!((landing.value().si() - v).abs() < 1e-6);
                }
            }
            _ => prop_assert!(root < 1e-3),
        }
        let fault: f64 = bus.strings.iter().map(|s| siemens(s) * s.ocv.value().si()).sum();
        for (_, found) in all_bank_faults(&bus).unwrap() {
            prop_assert!((amperes(&found.current) - fault).abs() < 1e-9 * fault);
        }
    }

    #[test]
    fn like_strings_share_alike(n in 1_usize..6, watts in -20_000.0..20_000.0_f64, ohm in 0.002..0.03_f64) {
        let strings = (0..n).map(|_| string(0, 52.0, ohm, 0.0)).collect();
        if let BusOutcome::Settled(state) = bus(&[], strings, vec![unit(0, watts, 0.0)]).solve().unwrap() {
            for s in &state.strings {
                prop_assert!((amperes(&s.current) * n as f64 - amperes(&state.total)).abs() < 1e-7);
            }
        }
    }

    #[test]
    fn one_of_like_strings_off_never_relieves_the_others(n in 2_usize..7, watts in 0.0..6000.0_f64, ohm in 0.002..0.02_f64) {
        let strings = |n: usize| (0..n).map(|_| string(0, 51.0, ohm, 0.001)).collect::<Vec<_>>();
        let bus = bus(&[], strings(n), vec![unit(0, watts, 0.001)]);
        let all = settled(&bus);
        for one in one_string_off(&bus).unwrap() {
            let Some(rest) = one.outcome.settled() else { continue };
            for survivor in &rest.strings {
                let before = amperes(&all.strings[survivor.string].current);
                prop_assert!(amperes(&survivor.current) >= before - 1e-9, "{} after {before}", amperes(&survivor.current));
            }
        }
    }

    #[test]
    fn more_resistance_in_one_string_lowers_its_share(bus in random_bus(), more in 1e-4..0.02_f64) {
        let mut bus = scaled(&bus, 0.5);
        bus.strings.iter_mut().for_each(|s| s.ocv = known::<DcVoltage>(51.0));
        let before = bus.solve().unwrap();
        bus.strings[0].management = Some(known::<Resistance>(more));
        let after = bus.solve().unwrap();
        if let (Some(before), Some(after), true) = (before.settled(), after.settled(), bus.strings.len() > 1) {
            let share = |state: &BusState| state.strings[0].share.as_ref().map(|s| s.value().si());
            if let (Some(before), Some(after)) = (share(before), share(after)) {
                prop_assert!(after < before + 1e-12, "{} then {}", before, after);
            }
        }
    }

    /// A fault gives less the farther it is, and its current comes from the strings.
    #[test]
    fn faults_come_from_the_strings(bus in random_bus()) {
        let direct: f64 = bus
            .strings
            .iter()
            .map(|s| s.ocv.value().si() / (s.internal.value().si() + s.cable.value().si()))
            .sum();
        for (place, fault) in all_bank_faults(&bus).unwrap() {
            let strings: f64 = fault.strings.iter().map(amperes).sum();
            prop_assert!((amperes(&fault.current) - strings).abs() < 1e-6 * strings);
            prop_assert!(amperes(&fault.current) <= direct * (1.0 + 1e-9));
            if let FaultPlace::Unit(k) = place {
                let landing = bank_fault(&bus, FaultPlace::Landing(bus.units[k].landing)).unwrap();
                prop_assert!(amperes(&fault.current) <= amperes(&landing.current) * (1.0 + 1e-9));
            }
        }
    }

    /// No mix of open-circuit voltages within the spread gives a string more than the worst that is said.
    #[test]
    fn no_mix_of_voltages_is_worse_than_the_worst(
        bus in random_bus(), factor in prop_oneof![-1.0..1.0_f64, Just(0.0)],
        mixes in prop::collection::vec(prop::collection::vec(-1.0..1.0_f64, 6), 12), spread in 0.0..1.5_f64,
    ) {
        let bus = scaled(&bus, factor);
        let Ok(worst) = worst_mismatch(&bus, &known::<DcVoltage>(spread)) else { return Ok(()) };
        for mix in mixes {
            let mut mixed = bus.clone();
            for (s, off) in mixed.strings.iter_mut().zip(&mix) {
                s.ocv = known::<DcVoltage>(s.ocv.value().si() + off * spread);
            }
            let state = settled(&mixed);
            for (s, said) in state.strings.iter().zip(&worst.strings) {
                prop_assert!(amperes(&s.current) <= amperes(&said.discharge) + 1e-6);
                prop_assert!(-amperes(&s.current) <= amperes(&said.charge) + 1e-6);
            }
            prop_assert!(amperes(&state.worst_current) <= amperes(&worst.worst_current) + 1e-6);
        }
    }
}
