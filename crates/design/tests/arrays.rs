//! Strings of arrays, what a full battery asks of an array on a panel, charging with arrays. All data are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use design::{Design, design};
use quantity::Quantity;
use support::{Text, World};

const POSITION: &str = "latitude = \"40.1 deg\"\nlongitude = \"-83.2 deg\"\nutc_offset = \"-5 h\"";
const BATTERY: &str = "[battery]\ncount = \"choose\"\nlowest = \"10 degC\"\n";

fn array(more: &str) -> String {
    format!(
        "[[array]]\nid = \"roof\"\nmodule = \"demo-module-450\"\ntilt = \"20 deg\"\nazimuth = \"180 deg\"\nmounting = \"roof\"\n{more}\n"
    )
}

fn site(unit: &str, more: &str) -> World {
    let mut text = Text::split(unit).load("heat", "L1-L2", "power = \"4 kW\"\npower_factor = 1");
    text.group = format!("{}\ncount = 2", text.group);
    text.rest = format!("[utility]\nexport = \"full\"\n{BATTERY}\n{}", array(more));
    let place = format!("altitude = \"0 m\"\n{POSITION}");
    World::read(&text.write().replacen("altitude = \"0 m\"", &place, 1))
}

fn failing(design: &Design<'_>) -> Vec<&'static str> {
    design.failing().map(|f| f.id).collect()
}

fn margin(design: &Design<'_>, part: &str, what: &str) -> f64 {
    let all = &design.assessed.ledger.margins;
    let margin = all.iter().find(|m| m.part == part && m.what.starts_with(what));
    margin.unwrap_or_else(|| panic!("no {what} of {part}")).value.amount.si
}

/// 41.0 V with -0.26 %/degC at -10 degC: 44.731 V; 250 V hold five of them (NEC 2023 690.7(A)(1)). 1.25 x 13.9 A are
/// 17.375 A a string (690.8(A)(1)); at 4.5 kW one controller of 100 A at 51.2 V loses nothing, at 10 kW two do.
#[test]
fn strings_by_hand() {
    let world = site(
        "demo-split-5k4",
        "coupling = \"DC\"\nmodules = \"choose\"\npower = \"4.5 kW\"\nstrings = \"choose\"\nper_string = \"choose\"\ncontroller = \"demo-mppt-100\"",
    );
    let prepared = world.prepared();
    let found = design(&prepared);
    let told = found.decisions.iter().find(|d| d.what == "array").unwrap();
    assert_eq!(told.value, "roof: 1 controller, 2 strings of 5");
    assert!(told.dropped[0].reason.contains("268 V"), "{}", told.dropped[0].reason);
    let cold = 41.0 * (1.0 + 0.0026 * (25.0 - world.site.temperature.lowest.value.si()));
    assert!((margin(&found, "array roof.string", "open-circuit") - 5.0 * cold).abs() < 1e-6);
    assert!((margin(&found, "array roof.string", "current into") - 2.0 * 1.25 * 13.9).abs() < 1e-9);
    assert!(found.held.iter().any(|h| h.rule == "string-overcurrent" && h.part == "array roof.string"));
}

/// What the site fixes is held, not mended.
#[test]
fn one_module_more_and_one_string_too_many_are_refused() {
    let fixed = |modules: u32, strings: u32, per: u32| {
        let world = site(
            "demo-split-5k4",
            &format!(
                "coupling = \"DC\"\nmodules = {modules}\nstrings = {strings}\nper_string = {per}\ncontroller = \"demo-mppt-100\""
            ),
        );
        let prepared = world.prepared();
        failing(&design(&prepared))
    };
    assert!(!fixed(10, 2, 5).iter().any(|id| id.starts_with("array")));
    assert!(fixed(6, 1, 6).contains(&"array-over-voltage"));
    assert!(fixed(2, 1, 2).contains(&"array-outside-window"), "two modules fall under 65 V when hot");
    assert!(fixed(20, 4, 5).contains(&"array-over-current"), "4 x 17.4 A into 60 A");
}

/// Controllers charge beside the units: what a string is charged with rises by their part.
#[test]
fn controllers_count_in_charging() {
    let with = site(
        "demo-split-5k4",
        "coupling = \"DC\"\nmodules = 10\nstrings = 2\nper_string = 5\ncontroller = \"demo-mppt-100\"",
    );
    let mut without =
        Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"4 kW\"\npower_factor = 1");
    without.group = format!("{}\ncount = 2", without.group);
    without.rest = BATTERY.to_owned();
    let without = without.world();
    let (a, b) = (with.prepared(), without.prepared());
    let (a, b) = (design(&a), design(&b));
    let sum = |d: &Design<'_>| {
        margin(d, "battery.string", "charging current") * f64::from(d.case.bank.as_ref().unwrap().strings)
    };
    let solar = sum(&a) - 2.0 * a.case.bank.as_ref().unwrap().charge.value().si();
    let none = sum(&b) - 2.0 * b.case.bank.as_ref().unwrap().charge.value().si();
    assert!(solar >= 100.0 && none < 20.0, "{solar} {none}");
}

/// The array inverter is off from 62 Hz. 62.5 Hz reach that, 61 Hz do not, and a family that says nothing is not covered.
#[test]
fn a_full_battery_needs_a_frequency_at_which_the_array_is_off() {
    let of = |unit: &str| {
        let world = site(
            unit,
            "coupling = \"AC\"\nmodules = 10\nstrings = 1\nper_string = 10\ninverter = \"demo-ai-6k-split\"\ninverters = 1\npanel = \"backup\"\nrun = \"20 m\"",
        );
        let prepared = world.prepared();
        let found = design(&prepared);
        let about: Vec<(&'static str, String)> = found
            .failing()
            .filter(|f| f.id.starts_with("array"))
            .map(|f| (f.id, f.message.clone()))
            .collect();
        about
    };
    assert_eq!(of("demo-split-5k4"), []);
    let over = of("demo-split-10k");
    assert!(
        over.iter().all(|(id, message)| *id == "array-over-absorption" && message.contains("61 Hz")),
        "{over:?}"
    );
    assert_eq!(over.len(), 1, "{over:?}");
    let unknown = of("demo-line-6k");
    assert!(unknown.iter().any(|(id, _)| *id == "array-not-covered"), "{unknown:?}");
}
