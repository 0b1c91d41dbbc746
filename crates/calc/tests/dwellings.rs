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
