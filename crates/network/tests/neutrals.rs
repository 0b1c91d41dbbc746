//! What the neutral carries.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use derivation::Known;
use network::Sense;
use network::neutral::{LegCurrent, largest_neutral, neutral_current, wye_by_magnitudes};
use proptest::prelude::*;
use quantity::{Current, Leg, Quantity, Ratio, VoltageSystem};

fn leg(leg: Leg, a: f64, third: f64) -> LegCurrent {
    LegCurrent {
        leg,
        current: Known::assumed("I", "leg current", Current::of(a), "test"),
        power_factor: Known::assumed("pf", "power factor", Ratio::of(1.0), "test"),
        sense: Sense::Lagging,
        third: Some(Known::assumed("h", "third harmonic", Ratio::of(third), "test")),
    }
}

fn total(system: VoltageSystem, legs: &[LegCurrent]) -> f64 {
    neutral_current(system, legs).unwrap().total.value().si()
}

/// Split-phase carries the difference; two legs of a wye carry as much as the legs.
#[test]
fn equal_legs_cancel_on_split_phase_only() {
    let legs = [leg(Leg::L1, 60.0, 0.0), leg(Leg::L2, 60.0, 0.0)];
    assert!(total(VoltageSystem::Split120_240, &legs) < 1e-9);
    assert!((total(VoltageSystem::TwoLegs120_208, &legs) - 60.0).abs() < 1e-9);
    let one_off = largest_neutral(VoltageSystem::Split120_240, &legs).unwrap();
    assert!((one_off.value().si() - 60.0).abs() < 1e-9, "one leg may be off");
}

/// A balanced wye with 40 % third harmonic: 3 x 0.4 x 50 A, more than a phase.
#[test]
fn third_harmonics_add_in_a_wye() {
    let legs = Leg::ALL.map(|l| leg(l, 50.0, 0.4));
    assert!((total(VoltageSystem::Wye120_208, &legs) - 60.0).abs() < 1e-9);
}

#[test]
fn legs_that_are_not_there_are_refused() {
    let twice = [leg(Leg::L1, 5.0, 0.0), leg(Leg::L1, 5.0, 0.0)];
    assert!(neutral_current(VoltageSystem::Split120_240, &twice).is_err());
    assert!(neutral_current(VoltageSystem::Split120_240, &[leg(Leg::L3, 5.0, 0.0)]).is_err());
    assert!(neutral_current(VoltageSystem::Split120_240, &[leg(Leg::L1, f64::NAN, 0.0)]).is_err());
    assert!(neutral_current(VoltageSystem::Split120_240, &[leg(Leg::L1, 5.0, 1.2)]).is_err());
}

proptest! {
    /// With unity power factors the phasor sum is the magnitude formula.
    #[test]
    fn the_wye_formula_falls_out(a in 0.0..200.0_f64, b in 0.0..200.0_f64, c in 0.0..200.0_f64) {
        let legs = [leg(Leg::L1, a, 0.0), leg(Leg::L2, b, 0.0), leg(Leg::L3, c, 0.0)];
        let by_formula = wye_by_magnitudes(&legs[0].current, &legs[1].current, &legs[2].current).unwrap();
        prop_assert!((total(VoltageSystem::Wye230_400, &legs) - by_formula.value().si()).abs() < 1e-6);
    }

    /// No currents between nothing and the stated ones give a larger neutral than the corners do.
    #[test]
    fn corners_are_the_worst(
        currents in prop::array::uniform3(0.0..200.0_f64),
        kept in prop::array::uniform3(0.0..=1.0_f64),
        third in 0.0..0.8_f64,
    ) {
        for system in VoltageSystem::ALL {
            let of = |scale: &[f64; 3]| -> Vec<LegCurrent> {
                system.legs().iter().map(|l| leg(*l, currents[l.index()] * scale[l.index()], third)).collect()
            };
            let worst = largest_neutral(system, &of(&[1.0; 3])).unwrap().value().si();
            prop_assert!(total(system, &of(&kept)) <= worst + 1e-9);
        }
    }
}
