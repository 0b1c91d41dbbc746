//! When a load counts as continuous.

mod support;

use quantity::Quantity;
use support::{assessed, backup, load};

/// Continuous W of one load of 1 kW, and whether its statement was contradicted.
fn found(more: &str) -> (f64, bool) {
    let text = format!("legs = \"L1-L2\"\npower = \"1 kW\"\npower_factor = 1\n{more}");
    let found = assessed("120/240 V split-phase", &load("servers", &text), "");
    let said = found.findings.iter().any(|f| f.id == "continuous-contradicted" && f.place.is_some());
    (backup(&found).continuous.value().si(), said)
}

#[test]
fn times_count_more_than_a_stated_no() {
    let all = (1000.0, true);
    assert_eq!(found("continuous = false\nruns = \"24 h/day\""), all);
    assert_eq!(found("continuous = false\nruns = \"3 h/day\""), all);
    assert_eq!(found("continuous = false\nruns = \"20 h/day\"\nlasts = \"4 h\"\nrests = \"1 h\""), all);
    assert_eq!(found("continuous = false\nruns = \"2.9 h/day\""), (0.0, false));
    assert_eq!(
        found("continuous = false\nruns = \"20 h/day\"\nlasts = \"2 h\"\nrests = \"10 min\""),
        (0.0, false)
    );
    assert_eq!(found("continuous = true\nruns = \"1 h/day\""), (1000.0, false));
}

#[test]
fn an_hourly_profile_is_looked_at_over_midnight() {
    let profile = |full: &[usize]| {
        let hours: Vec<&str> = (0..24).map(|h| if full.contains(&h) { "1" } else { "0.3" }).collect();
        found(&format!("continuous = false\nhourly = [{}]", hours.join(", ")))
    };
    assert_eq!(profile(&[23, 0, 1]), (1000.0, true));
    assert_eq!(profile(&[3, 4, 6, 7]), (0.0, false));
}
