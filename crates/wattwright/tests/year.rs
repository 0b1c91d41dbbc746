//! `outages` and `year` as their users see them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use serde_json::Value;
use support::run;

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

#[test]
fn the_outages_of_the_veterinary_practice_read_as_they_should() {
    let ran = run(&["outages", "examples/veterinary-practice"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("outages-veterinary-practice", ran.out);
}

#[test]
fn the_year_of_the_creamery_reads_as_it_should() {
    let ran = run(&["year", "examples/creamery"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    insta::assert_snapshot!("year-creamery", ran.out);
}

/// What is printed closes by itself: in = served + out + lost + stored, month by month.
#[test]
fn the_balance_that_is_printed_closes() {
    let ran = run(&["year", "examples/creamery", "--step", "15min", "--json"]);
    assert_eq!(ran.status, 0, "{}", ran.err);
    let year = ran.json();
    let mut through = 0.0;
    for m in year["months"].as_array().unwrap() {
        let of = |key: &str| number(&m[key]);
        let came = of("array_used_wh") + of("bought_wh") + of("generated_wh");
        let went = of("load_wh") - of("unserved_wh") + of("sold_wh") + of("lost_wh") + of("stored_more_wh");
        assert!((came - went).abs() < 1e-9 * came, "{}: {came} {went}", m["month"]);
        through += came;
    }
    assert!(number(&year["balance_residual_wh"]).abs() < 1e-9 * through);
    assert!(number(&year["utility"]["peak_w"]) > 1000.0);
}

#[test]
fn files_stand_whole_and_hold_what_is_printed() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    let (csv, svg) = (at("o.csv"), at("o.svg"));
    let ran = run(&["outages", "examples/creamery", "--csv", &csv, "--plot", &svg, "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let outages = ran.json();
    let text = std::fs::read_to_string(&csv).unwrap();
    let mut lines = text.lines();
    assert!(lines.next().unwrap().starts_with("start,stored_wh,all_loads_h,all_loads_ended_by"));
    let hours: Vec<f64> = lines.map(|l| l.split(',').nth(2).unwrap().parse().unwrap()).collect();
    assert_eq!(hours.len(), 8760);
    let worst = hours.iter().copied().fold(f64::INFINITY, f64::min);
    assert!((worst - number(&outages["rows"][0]["worst_h"])).abs() < 1e-3);
    let share = hours.iter().filter(|h| **h >= 6.0).count() as f64 / 8760.0;
    assert!((share - number(&outages["rows"][0]["share_that_meets_the_wish"])).abs() < 1e-9);
    assert!(std::fs::read_to_string(&svg).unwrap().trim_end().ends_with("</svg>"));
    // nothing else is left in the folder, and what cannot be written is said
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    // of several files all are written or none
    let (fresh, nowhere) = (at("fresh.csv"), at("none/o.svg"));
    for plot in [&nowhere, &fresh] {
        let ran = run(&["outages", "examples/creamery", "--csv", &fresh, "--plot", plot]);
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains("cannot be written"), "{}", ran.err);
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 2);
    }
}

/// Without its array nothing comes in at the field station: no command says that it holds.
#[test]
fn a_year_that_fails_fails_in_every_command() {
    let text = include_str!("../../../examples/field-station/site.toml");
    let (before, rest) = text.split_once("[[array]]").unwrap();
    let dark = format!("{before}[wish]{}", rest.split_once("[wish]").unwrap().1)
        + "\n[tariff]\ncurrency = \"EUR\"\nenergy = 0.30\n";
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("site.toml");
    std::fs::write(&site, dark).unwrap();
    let site = site.display().to_string();
    let out = folder.path().join("drawings").display().to_string();
    let all: [&[&str]; 5] = [
        &["check", &site],
        &["states", &site],
        &["prove", &site],
        &["draw", &site, "--out", &out],
        &["year", &site],
    ];
    for args in all {
        let ran = run(args);
        assert_eq!(ran.status, 1, "{args:?}: {}", ran.err);
        assert!(ran.out.contains("does not hold"), "{args:?}: {}", ran.out);
    }
    let year = run(&["year", &site]);
    assert!(
        year.out.contains("nothing is served") && year.out.contains("no bill to compare with"),
        "{}",
        year.out
    );
}

#[test]
fn what_cannot_be_run_is_said() {
    for step in ["7min", "2h", "0min", "1", "1d"] {
        assert_eq!(run(&["year", "examples/creamery", "--step", step]).status, 2, "{step}");
    }
}

/// Off grid an outage is a time in which nothing comes in: how long the battery carries it from any hour on.
#[test]
fn off_grid_the_battery_carries_by_itself() {
    let ran = run(&["outages", "examples/field-station", "--json"]);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""));
    let found = ran.json();
    let worst = number(&found["rows"][0]["worst_h"]);
    let half = number(&found["rows"][0]["half_h"]);
    // 49 kWh from a full battery at 0.3 kW on the mean
    assert!(worst > 12.0 && worst < half && half < 200.0, "{worst} {half}");
    assert!(run(&["outages", "examples/field-station"]).out.contains("with nothing coming in"));
}
