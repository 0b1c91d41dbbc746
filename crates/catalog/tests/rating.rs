//! Ratings in a room: one by hand, and what must hold for all.
#![allow(clippy::unwrap_used)] // helpers of tests are tests too

use catalog::{RatingRefusal, UnitModel, UnitRating, demo};
use derivation::{Known, explain};
use proptest::prelude::*;
use quantity::{Length, Quantity, Temperature};

fn unit(id: &str) -> UnitModel {
    demo().0.unwrap().units.remove(id).unwrap()
}

fn rate(unit: &UnitModel, room_c: f64, altitude_m: f64) -> Result<UnitRating, RatingRefusal> {
    let room = Known::assumed("T", "room temperature", Temperature::of(room_c), "test");
    let altitude = Known::assumed("h", "altitude", Length::of(altitude_m), "test");
    unit.rating(&room, &altitude)
}

fn near(value: f64, expected: f64) {
    assert!((value - expected).abs() < 1e-9 * expected.abs().max(1.0), "{value}, expected {expected}");
}

/// By hand, demo-split-5k4 at 45 degC and 2500 m:
/// k_T halfway between 0.93 (40 degC) and 0.75 (50 degC) = 0.84; k_h = 1 - 1 % x 500 m / 100 m = 0.95; k = 0.798.
/// P = 5400 W x 0.798 = 4309.2 W; a leg half of it. 30 min: 6750 x 0.798 = 5386.5 W, a leg 2693.25 W, and as many
/// VA. Surge 60 A x 0.798 = 47.88 A. The peak trip stays 110 A.
#[test]
fn a_rating_by_hand() {
    let r = rate(&unit("demo-split-5k4"), 45.0, 2500.0).unwrap();
    near(r.factor.value().si(), 0.798);
    near(r.power.value().si(), 4309.2);
    near(r.apparent.value().si(), 4309.2);
    near(r.leg_power.value().si(), 2154.6);
    near(r.overload[0].total_power.value().si(), 5386.5);
    near(r.overload[0].leg_power.value().si(), 2693.25);
    near(r.overload[0].leg_apparent.value().si(), 2693.25);
    near(r.overload[0].lasts.value().si(), 1800.0);
    near(r.surge.value().si(), 47.88);
    near(r.peak.value().si(), 110.0);
    let told = explain(r.power.node());
    assert!(told.contains("k_T = k_1 - (k_1 - k_2) · ratio(T - T_1, T_2 - T_1)"), "{told}");
    assert!(told.contains("catalogue demo-split-5k4, rating.power"), "{told}");
    assert!(told.contains("0.798"), "{told}");
}

/// W and VA are limits apart. demo-230-5k at 25 degC and sea level: 4.5 kW and 5 kVA; its 5.6 kW for 30 min count
/// as 5.6 kVA. An overload of fewer W than the continuous VA leaves the continuous VA.
#[test]
fn watts_and_va_stay_apart() {
    let mut unit = unit("demo-230-5k");
    unit.overload[0].power = quantity::Power::of(4800.0);
    let r = rate(&unit, 25.0, 0.0).unwrap();
    near(r.power.value().si(), 4500.0);
    near(r.apparent.value().si(), 5000.0);
    near(r.overload[0].leg_power.value().si(), 4800.0);
    near(r.overload[0].leg_apparent.value().si(), 5000.0);
    near(r.overload[1].leg_apparent.value().si(), 6750.0);
}

/// Both legs have one bridge between them: the bridge carries the whole overload.
#[test]
fn a_line_to_line_bridge_carries_the_whole_overload() {
    let r = rate(&unit("demo-line-6k"), 20.0, 0.0).unwrap();
    near(r.overload[0].leg_power.value().si(), 7500.0);
}

#[test]
fn below_the_first_point_its_factor_holds() {
    let mut unit = unit("demo-split-5k4");
    unit.temperature_curve[0].1 = quantity::Ratio::of(0.98);
    near(rate(&unit, -30.0, -50.0).unwrap().factor.value().si(), 0.98);
    near(rate(&unit, 25.0, 2000.0).unwrap().factor.value().si(), 0.98);
}

#[test]
fn beyond_the_stated_ranges_there_is_no_rating() {
    let unit = unit("demo-split-5k4");
    assert!(rate(&unit, 60.0, 4000.0).is_ok());
    assert_eq!(
        rate(&unit, 60.1, 0.0).unwrap_err(),
        RatingRefusal::TooHot {
            unit: unit.id.clone(),
            room: Temperature::of(60.1),
            highest: Temperature::of(60.0)
        }
    );
    assert_eq!(
        rate(&unit, 20.0, 4000.5).unwrap_err(),
        RatingRefusal::TooHigh {
            unit: unit.id.clone(),
            altitude: Length::of(4000.5),
            highest: Length::of(4000.0)
        }
    );
    for (room, altitude) in [(f64::NAN, 0.0), (20.0, f64::NAN), (f64::NEG_INFINITY, 0.0)] {
        assert!(matches!(rate(&unit, room, altitude), Err(RatingRefusal::NoFactor { .. })));
    }
}

/// Records built in code pass no reader; a curve that is none must not rate.
#[test]
fn a_curve_that_is_none_gives_no_rating() {
    let mut unit = unit("demo-split-5k4");
    unit.temperature_curve.swap(0, 2);
    assert!(matches!(rate(&unit, 20.0, 0.0), Err(RatingRefusal::NoCurve { .. })));
    unit.temperature_curve.truncate(1);
    assert!(matches!(rate(&unit, 20.0, 0.0), Err(RatingRefusal::NoCurve { .. })));
}

proptest! {
    #[test]
    fn hotter_or_higher_never_gives_more(
        room in -40.0..70.0f64, hotter in 0.0..30.0f64, altitude in -100.0..4500.0f64, higher in 0.0..2000.0f64,
    ) {
        for unit in demo().0.unwrap().units.values() {
            let harder = rate(unit, room + hotter, altitude + higher);
            match (rate(unit, room, altitude), harder) {
                (Ok(a), Ok(b)) => {
                    let most = 1.0 + 1e-12;
                    prop_assert!(b.factor.value().si() <= a.factor.value().si() * most);
                    prop_assert!(b.power.value().si() <= a.power.value().si() * most);
                    prop_assert!(b.surge.value().si() <= a.surge.value().si() * most);
                    for (a, b) in a.overload.iter().zip(&b.overload) {
                        prop_assert!(b.leg_power.value().si() <= a.leg_power.value().si() * most);
                        prop_assert!(b.leg_apparent.value().si() <= a.leg_apparent.value().si() * most);
                    }
                }
                // once refused, refused for anything harder
                (Err(_), harder) => prop_assert!(harder.is_err()),
                (Ok(_), Err(_)) => {}
            }
        }
    }
}
