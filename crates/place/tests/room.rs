//! Rooms by hand, and rooms that look fine and are not.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use derivation::Known;
use place::room::{BatteryGas, RoomCase, RoomPlan, StateLoad, plan};
use quantity::{Charge, Power, Quantity, Ratio};
use support::{catalog, failing, ids, site, with};

fn given<Q: Quantity>(value: Q) -> Known<Q> {
    Known::assumed("x", "given", value, "test")
}

/// Two units of 5.4 kW that give 2 kW each.
fn room(rest: &str, gas: Option<BatteryGas>) -> RoomPlan {
    let site = site(rest);
    of(&site, gas)
}

fn of(site: &site::Site, gas: Option<BatteryGas>) -> RoomPlan {
    let catalog = catalog();
    let load =
        StateLoad { state: "outage".to_owned(), each: vec![(given(Power::of(2000.0)), 2)], charging: false };
    plan(&RoomCase { site, unit: &catalog.units["demo-split-5k4"], loads: vec![load], gas }).unwrap()
}

/// 2 kW of 5.4 kW lies between the points at 25 % and 50 %, both 93.5 %: 139 W each. Air of 101 kPa at 40 degC: 1.127 kg/m3.
/// A fan of 200 m3/h at 5 K: 1.127 · 1006 · 0.0556 · 5 = 315 W.
#[test]
fn a_fan_by_hand() {
    let found = room("[room]\nfan = \"200 m3/h\"\nother_heat = \"0 W\"", None);
    let each = 2000.0 * (1.0 / 0.935 - 1.0);
    assert!((found.heat.value().si() - 2.0 * each).abs() < 1e-9);
    let rho = 101_325.0 / (287.05 * 313.15);
    assert!((found.density.value().si() - rho).abs() < 1e-9);
    let carried = rho * 1006.0 * (200.0 / 3600.0) * 5.0;
    assert!((found.carried.as_ref().unwrap().value().si() - carried).abs() < 1e-6);
    let settles = 35.0 + 2.0 * each / (carried / 5.0);
    assert!((found.settled.as_ref().unwrap().value().si() - settles).abs() < 1e-6);
    assert!(ids(&found.held.findings).is_empty(), "{:?}", found.held.findings);
}

/// What looks like ventilation and does not do.
#[test]
fn rooms_that_do_not_do_are_found_with_what_would() {
    let small = room("[room]\nfan = \"150 m3/h\"\nother_heat = \"50 W\"", None);
    assert_eq!(failing(&small.held.findings), ["room-too-warm"]);
    let need = small.needed_flow.as_ref().unwrap().value().si() * 3600.0;
    assert!(
        small.held.findings[0].fixes.iter().any(|f| f.contains("m3/h")),
        "{:?}",
        small.held.findings[0].fixes
    );
    // with that much it holds, with a little less it does not
    let with_fan = |m3_h: f64| {
        failing(&room(&format!("[room]\nfan = \"{m3_h} m3/h\"\nother_heat = \"50 W\""), None).held.findings)
    };
    assert!(with_fan(need * 1.0001).is_empty());
    assert_eq!(with_fan(need * 0.999), ["room-too-warm"]);
    // outside as warm as the room: no air flow helps
    let hot = with(
        "120/240 V split-phase",
        "US",
        "{ lowest = \"-10 degC\", high = \"41 degC\", room = \"40 degC\" }",
        "[room]\nfan = \"9000 m3/h\"\nother_heat = \"0 W\"",
    );
    let hot = of(&hot, None);
    assert_eq!(failing(&hot.held.findings), ["room-too-warm"]);
    assert!(hot.needed_flow.is_none());
    // nothing but a small cooling device, and nothing at all
    assert_eq!(
        failing(&room("[room]\ncooling = \"200 W\"\nother_heat = \"0 W\"", None).held.findings),
        ["room-too-warm"]
    );
    assert_eq!(failing(&room("[room]\nother_heat = \"0 W\"", None).held.findings), ["room-too-warm"]);
    assert_eq!(ids(&room("", None).held.findings), ["room-not-described"]);
    assert_eq!(ids(&room("[room]\nfan = \"500 m3/h\"", None).held.findings), ["room-other-heat"]);
}

/// A cooling device that is large enough holds the stated temperature; it does not freeze the room.
#[test]
fn cooling_rests_where_it_is_cool() {
    let cooled = room("[room]\ncooling = \"3 kW\"\nwalls = \"10 W/K\"\nother_heat = \"0 W\"", None);
    assert!((cooled.settled.as_ref().unwrap().value().si() - 40.0).abs() < 1e-9);
    assert!(failing(&cooled.held.findings).is_empty());
}

/// 24 cells of 1000 Ah at 20 mA/Ah: 0.05 · 24 · 20 = 24 m3/h, 28 · 24 = 672 cm2.
#[test]
fn battery_gas_asks_for_air() {
    let bank = || BatteryGas {
        cell: "vented-lead-acid",
        cells: given(Ratio::of(24.0)),
        strings: given(Ratio::of(1.0)),
        capacity: given(Charge::of(1000.0)),
    };
    let of = |rest: &str| failing(&room(rest, Some(bank())).held.findings);
    assert_eq!(
        of("[room]\ncooling = \"3 kW\"\nwalls = \"10 W/K\"\nother_heat = \"0 W\""),
        ["battery-gas-not-covered"]
    );
    let openings = |cm2: &str| {
        of(&format!(
            "[room]\nopening = \"{cm2} cm2\"\nopening_height = \"2 m\"\ncooling = \"3 kW\"\nother_heat = \"0 W\""
        ))
    };
    assert_eq!(openings("671"), ["battery-gas"]);
    assert!(openings("672").is_empty());
    assert_eq!(of("[room]\nfan = \"23 m3/h\"\ncooling = \"3 kW\"\nother_heat = \"0 W\""), ["battery-gas"]);
    assert_eq!(of(""), ["battery-gas-not-covered"]);
}
