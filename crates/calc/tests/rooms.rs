//! Rooms and the space before gear, by hand, as an outsider would call them.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, run};

fn pairs(id: &str, pairs: &[&str]) -> Result<Outcome, CalcError> {
    run(id, &Inputs::from_pairs(pairs)?)
}

fn number(outcome: &Outcome, key: &str) -> f64 {
    outcome.get(key).unwrap_or_else(|| panic!("no {key}")).json().as_f64().unwrap()
}

fn holds(outcome: &Outcome, key: &str) -> bool {
    outcome.get(key).unwrap_or_else(|| panic!("no {key}")).json().as_bool().unwrap()
}

/// 900 W, 240 m3/h of 1.15 kg/m3: 1.15 · 1006 · 0.0667 = 77.1 W/K, with walls of 12.9 W/K 90.0 W/K: 10 K.
#[test]
fn a_room_settles_as_a_hand_calculation_says() {
    let k = 1.15 * 1006.0 / 15.0;
    let inputs = ["heat_w=900", "outside_degc=30", "fan_m3_h=240", "walls_w_per_k=12.9", "room_degc=41"];
    let found = pairs("room-settles", &inputs).unwrap();
    assert!((number(&found, "rise_k") - 900.0 / (k + 12.9)).abs() < 1e-3);
    assert!((number(&found, "settles_degc") - 30.0 - 900.0 / (k + 12.9)).abs() < 1e-3);
    assert!((number(&found, "carried_w") - 11.0 * (k + 12.9)).abs() < 1e-3);
    assert!(holds(&found, "holds"));
    let cooler = ["heat_w=900", "outside_degc=30", "fan_m3_h=240", "walls_w_per_k=12.9", "room_degc=39.9"];
    assert!(!holds(&pairs("room-settles", &cooler).unwrap(), "holds"));
    for refused in [
        &["heat_w=900", "outside_degc=30"][..],
        &["heat_w=900", "outside_degc=30", "opening_cm2=300"],
        &["heat_w=900", "outside_degc=30", "fan_m3_h=90", "opening_cm2=300", "opening_height_m=2"],
    ] {
        assert!(pairs("room-settles", refused).is_err(), "{refused:?}");
    }
}

/// 3 kW of 5 kW lies between 50 % (94 %) and 100 % (91 %): the lower counts.
#[test]
fn heat_of_a_unit_takes_the_lower_efficiency() {
    let inputs =
        ["output_w=3000", "rated_w=5000", "share=0.1,0.5,1", "efficiency=0.9,0.94,0.91", "idle_w=40"];
    let found = pairs("unit-heat", &inputs).unwrap();
    assert!((number(&found, "heat_w") - 3000.0 * (1.0 / 0.91 - 1.0)).abs() < 1e-3);
    let falling = ["output_w=3000", "rated_w=5000", "share=0.5,0.1", "efficiency=0.9,0.94", "idle_w=40"];
    assert!(pairs("unit-heat", &falling).is_err());
}

#[test]
fn working_area_in_inches() {
    let of = |handle: &str| pairs("working-area", &["width_in=20", "top_in=70", handle]).unwrap();
    let found = of("handle_in=79");
    assert!((number(&found, "space_width_in") - 30.0).abs() < 1e-3);
    assert!((number(&found, "space_height_in") - 78.0).abs() < 1e-3);
    assert!(holds(&found, "handle_holds"));
    assert!(!holds(&of("handle_in=79.1"), "handle_holds"));
}
