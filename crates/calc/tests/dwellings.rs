//! Dwellings and other buildings by the code's own examples, as somebody types them.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, run};

fn pairs(id: &str, pairs: &[&str]) -> Result<Outcome, CalcError> {
    run(id, &Inputs::from_pairs(pairs)?)
}

/// NEC Annex D, Example D1(b): to D1(a) come a room cooler of 6 A at 240 V, and on line A one of 12 A, on line B a
/// dishwasher of 10 A and a disposer of 8 A; printed 99 A on A, 104 A on B, 84 A on the neutral. Here all are taken at 120
/// and 240 V and the quarter more of the largest motor counts once, on B where it is worst: 18 + 3 - 12 A of difference.
/// The printed example adds a second motor's quarter on the other line and, for the neutral, the cooler of A to loads of
/// B; its own loads on B alone make 61 + 18 + 2 = 81 A.
#[test]
fn example_d1b_has_a_worse_leg() {
    let loads = [
        "area_ft2=1500",
        "cooking_va=12000",
        "dryer_va=5500",
        "fixed_va=1200",
        "fixed_motor_va=960",
        "cooling_va=1440",
        "cooling_neutral_va=1440",
    ];
    let even = pairs("dwelling-standard", &loads).unwrap();
    assert!(even.get("note").is_some() && even.get("worse_leg_a").is_none());
    let uneven = pairs("dwelling-standard", &[&loads[..], &["leg_difference_va=1080"]].concat()).unwrap();
    assert_eq!(uneven.number("line_a"), Some(100.0));
    assert_eq!(uneven.number("worse_leg_a"), Some(104.5));
    assert_eq!(uneven.number("min_service_a"), Some(100.0));
    assert_eq!(uneven.number("worse_leg_service_a"), Some(110.0));
    let neutral = uneven.number("worse_neutral_a").unwrap();
    assert!((81.0..84.0).contains(&neutral), "{neutral}");
    assert!(uneven.get("note").is_none());
}

/// By hand (220.83): 9000 VA of the house and 11,000 VA of appliances: 8000 + 0.4 x 12,000, and 5000 VA of added cooling.
#[test]
fn an_existing_dwelling_with_added_cooling() {
    let loads = ["area_ft2=1500", "fixed_line_va=11000", "cooling_va=5000"];
    let found = pairs("dwelling-existing", &loads).unwrap();
    assert_eq!(found.number("general_demand_va"), Some(12_800.0));
    assert_eq!(found.number("total_va"), Some(17_800.0));
}

fn close(found: &Outcome, key: &str, expected: f64) {
    let is = found.number(key).unwrap_or_else(|| panic!("no {key}"));
    assert!((is - expected).abs() < 0.5, "{key} is {is}, printed {expected}");
}

/// NEC Annex D, Example D4(a): 40 dwellings of 840 ft2, 20 ranges, a laundry for all; and the neutral by itself, 390 A that
/// count 333 A.
#[test]
fn example_d4a_and_its_neutral() {
    let inputs =
        ["dwellings=40", "area_ft2=840", "laundry_circuits=0", "cooking_va=12000", "cooking_count=20"];
    let found = pairs("multifamily-standard", &inputs).unwrap();
    close(&found, "total_va", 104_150.0);
    close(&found, "line_a", 434.0);
    close(&found, "neutral_a", 333.0);
    let neutral = pairs("neutral-load", &["reduced_va=35000", "other_va=69150"]).unwrap();
    close(&neutral, "unbalanced_a", 390.0);
    close(&neutral, "neutral_a", 333.0);
    assert!(pairs("multifamily-standard", &inputs[..4]).is_err(), "how many ranges");
    let halves = [&inputs[..4], &["cooking_count=2.5"]].concat();
    assert!(pairs("multifamily-standard", &halves).is_err());
}

/// NEC Annex D, Example D3 (2014 edition, 9000 VA of lighting), Example D5(a) and Example D8.
#[test]
fn stores_ranges_on_three_phases_and_overload() {
    let store = [
        "occupancy=retail",
        "area_ft2=3000",
        "lighting_va=9000",
        "show_window_ft=30",
        "sign_va=1200",
        "receptacles=80",
        "line_v=240",
        "phases=1",
    ];
    let found = pairs("building-load", &store).unwrap();
    close(&found, "receptacle_demand_va", 12_200.0);
    close(&found, "required_va", 32_450.0);
    close(&found, "line_a", 135.0);
    let ranges = "nameplate_va=".to_owned() + &["12000"; 7].join(",");
    close(&pairs("range-demand", &[&ranges, "phases=3"]).unwrap(), "demand_va", 43_500.0);
    close(
        &pairs("lighting-demand", &["general_va=120000", "occupancy=hotel"]).unwrap(),
        "demand_va",
        59_000.0,
    );
    close(&pairs("lighting-demand", &["general_va=9000"]).unwrap(), "demand_va", 5100.0);
    close(&pairs("motor-overload", &["nameplate_a=32", "service_factor=1.15"]).unwrap(), "overload_a", 40.0);
}
