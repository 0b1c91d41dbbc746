//! Energy storage and labels as single calculations: verdicts that must not come out fine, and doubts that must be said.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, run};

fn pairs(id: &str, pairs: &[&str]) -> Result<Outcome, CalcError> {
    run(id, &Inputs::from_pairs(pairs)?)
}

fn flag(outcome: &Outcome, key: &str) -> bool {
    outcome.get(key).unwrap().json().as_bool().unwrap()
}

#[test]
fn a_place_too_full_or_forbidden_is_said() {
    let base = ["code=IRC 2021", "unit_kwh=15,15,15", "between_ft=3"];
    let at = |place: &str| pairs("storage-places", &[&base[..], &[place]].concat()).unwrap();
    assert!(flag(&at("place=attached-garage"), "holds"));
    let closet = at("place=storage-space");
    assert!(!flag(&closet, "holds") && flag(&closet, "units_hold"));
    assert!(
        closet.text().contains("over its limit") && closet.text().contains("confirm in the adopted code")
    );
    assert!(!flag(&at("place=attached-garage,sleeping-room,basement"), "holds"));
    // 2 ft apart, without and with a listing that allows it
    let near = ["code=NFPA 855 2023", "unit_kwh=15,15", "place=attached-garage", "between_ft=2"];
    assert!(!flag(&pairs("storage-places", &near).unwrap(), "holds"));
    assert!(flag(&pairs("storage-places", &[&near[..], &["listed=12 in"]].concat()).unwrap(), "holds"));
    // what is needed and not given is refused, not taken as fine
    for missing in
        [&["code=NFPA 855 2023", "unit_kwh=15,15", "place=outdoors", "between_ft=4"][..], &near[..3]]
    {
        assert!(matches!(pairs("storage-places", missing), Err(CalcError::NotCovered(_))), "{missing:?}");
    }
    let unnamed = ["code=NFPA 855 2023", "unit_kwh=15", "place=basement"];
    assert!(matches!(pairs("storage-places", &unnamed), Err(CalcError::NotCovered(_))));
}

#[test]
fn every_label_names_its_clause() {
    let facts =
        ["utility=yes", "dwelling=yes", "array=yes", "array_on_building=yes", "storage=yes", "parallel=yes"];
    let outcome = pairs("labels", &facts).unwrap();
    let lines = outcome.get("labels").unwrap().json();
    let lines: Vec<&str> = lines.as_array().unwrap().iter().map(|line| line.as_str().unwrap()).collect();
    assert!(lines.len() >= 9, "{lines:?}");
    assert!(lines.iter().all(|line| line.contains("[NFPA 70 (NEC), 2023, ") && line.ends_with(']')));
    assert!(lines.iter().any(|line| line.contains("690.12(D)(1) (confirm in the adopted code)")));
    assert!(pairs("labels", &["utility=no", "dwelling=yes", "parallel=yes"]).is_err());
}

#[test]
fn a_wrong_sign_or_a_missing_figure_gives_no_voltage() {
    let array = |more: &[&str]| {
        pairs("array-maximum-voltage", &[&["voc_v=44", "lowest_degc=-10", "site=dwelling"], more].concat())
    };
    assert!(array(&["voc_pct_per_degc=0.3"]).is_err());
    assert!(array(&["crystalline=no"]).is_err());
    let by_table = array(&["modules=12"]).unwrap();
    assert!(!flag(&by_table, "holds"), "12 · 44 V · 1.14 = 602 V");
    assert!(flag(&array(&["modules=12", "voc=-0.3 %/degC"]).unwrap(), "holds"));
    let controller = array(&["modules=12", "voc=-0.3 %/degC", "equipment_v=500"]).unwrap();
    assert!(!flag(&controller, "holds"));
    assert_eq!(controller.number("most_modules"), Some(10.0));
}
