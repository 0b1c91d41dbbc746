//! What is entered at units and protection: by hand. All data are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use design::{TripAt, design, entered_limit, grid_entry, grid_trips};
use quantity::{Current, PhaseVoltage, Quantity};
use support::Text;

/// IEEE 1547-2018 Tables 11 to 13 and 4 on 120 V: OV2 at 1.20, OV1 at 1.10; UV2 at 0.45, 0.45 and 0.50, UV1 at 0.70, 0.70
/// and 0.88 by category; service is entered between 0.917 and 1.05.
#[test]
fn grid_protection_in_volts() {
    let world = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
        .group("count = 2")
        .world();
    let prepared = world.prepared();
    let found = design(&prepared);
    let trips = grid_trips(&found.case).unwrap();
    let volts = |name: &str| -> Vec<f64> {
        let of = trips.iter().filter(|t| t.name == name);
        of.filter_map(|t| match &t.at {
            TripAt::Voltage(u, _) => Some((u.value().si() * 10.0).round() / 10.0),
            TripAt::Frequency(_) => None,
        })
        .collect()
    };
    assert_eq!(volts("OV2"), [144.0; 3]);
    assert_eq!(volts("OV1"), [132.0; 3]);
    assert_eq!(volts("UV1"), [84.0, 84.0, 105.6]);
    assert_eq!(volts("UV2"), [54.0, 54.0, 60.0]);
    let frequency: Vec<&str> =
        trips.iter().filter(|t| matches!(t.at, TripAt::Frequency(_))).map(|t| t.name).collect();
    let mut once = frequency.clone();
    once.dedup();
    assert!(frequency.len() == 4 && once == frequency, "{frequency:?}");
    let (low, high) = grid_entry(&found.case).unwrap().voltage;
    assert!((low.value().si() - 110.04).abs() < 1e-6 && high.value() == PhaseVoltage::of(126.0));
}

/// A limit of the group is entered whole where the units take one for all, else each its part of the fullest leg.
#[test]
fn a_limit_is_entered_in_parts() {
    let world = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
        .group("count = 3\ninput_limit = \"50 A\"")
        .world();
    let prepared = world.prepared();
    let found = design(&prepared);
    let limit = found.case.settings.input_limit.clone().unwrap();
    let entered = entered_limit(&found.case, &limit).value();
    let expected = match found.case.unit.input_limit.scope {
        catalog::LimitScope::Group => 50.0,
        catalog::LimitScope::Unit => 50.0 / f64::from(found.case.formation.most()),
    };
    assert!((entered.si() - expected).abs() < 1e-9 && entered <= Current::of(50.0));
}
