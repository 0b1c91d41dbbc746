//! Each limit is kept on one side of it and found on the other: the same site just under and just over.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use design::design;
use support::{Text, failing};

const SWITCH: &str = "transfer_switch = \"demo-ats-240-200-switched\"";

/// Finds `id` in the site over the limit, and not in the one under it.
fn between(id: &str, under: &Text, over: &Text) {
    let (low, high) = (under.world(), over.world());
    let low = failing(&design(&low.prepared()));
    assert!(!low.contains(&id), "{id} under the limit: {low:?}");
    let high = failing(&design(&high.prepared()));
    assert!(high.contains(&id), "no {id} over the limit: {high:?}");
}

fn heat(unit: &str, amperes: f64) -> Text {
    Text::split(unit).load("heat", "L1", &format!("current = \"{amperes} A\"\npower_factor = 1"))
}

#[test]
fn the_worst_leg_decides_though_the_whole_unit_could_carry_it() {
    // two units of 22.5 A a leg, counted with a tolerance of 5 %: 42.857 A
    let site = |amperes| heat("demo-split-5k4", amperes).group("count = 2");
    between("group-continuous-over", &site(42.85), &site(42.87));
    // 40 A on one leg are 4.8 kW of 5.4 kW, yet two units
    let world = heat("demo-split-5k4", 40.0).world();
    assert_eq!(design(&world.prepared()).case.formation.units(), 2);
    // a line-to-line bridge with a neutral former lends a leg its whole power
    let site =
        |amperes| heat("demo-line-6k", amperes).group("count = 1\nneutral_former = \"demo-former-60\"");
    between("group-continuous-over", &site(49.9), &site(50.1));
}

#[test]
fn apparent_power_counts_beside_active_power() {
    let site = |watts| {
        let load = format!("power = \"{watts} W\"\npower_factor = 0.5");
        Text::split("demo-split-5k4").load("old lamps", "L1", &load).group("count = 1")
    };
    // 2.7 kVA a leg
    between("group-continuous-over", &site(1349), &site(1351));
}

#[test]
fn no_load_but_a_motor_start_exceeds_the_highest_listed_overload() {
    let site = |amperes| {
        let load = format!("current = \"{amperes} A\"\npower_factor = 1");
        let more = "runs = \"10 s/day\"\nlasts = \"1 s\"\nrests = \"1 h\"";
        Text::split("demo-split-5k4")
            .load_with("welder", "L1", &load, more)
            .group("count = 2\narrangement = \"outboard\"")
    };
    // 9.72 kW for 5 s, half of it a leg, two units / 1.05: 9257 W, 77.14 A
    between("group-overload-over", &site(77.0), &site(77.3));
}

#[test]
fn current_peaks_add_up_to_the_trip() {
    let site = |crest| {
        let load = format!("current = \"40 A\"\npower_factor = 1\ncrest_factor = {crest}");
        Text::split("demo-split-5k4").load("rectifiers", "L1", &load).group("count = 2")
    };
    // 110 A a unit, two units / 1.05: 209.5 A
    between("group-peak-over", &site(5.23), &site(5.25));
}

#[test]
fn one_relay_passes_what_it_is_rated_for() {
    let site = |amperes| heat("demo-split-5k4", amperes).group("count = 3\narrangement = \"inline\"");
    between("pass-through-over-relay", &site(50.0), &site(50.01));
}

#[test]
fn one_relay_breaks_what_all_bridges_feed_into_a_collapsed_utility() {
    // 60 A of each bridge: eight give 480 A, nine 540 A; one relay breaks 500 A
    let site =
        |units| heat("demo-split-5k4", 20.0).group(&format!("count = {units}\narrangement = \"inline\""));
    between("relay-breaking-over", &site(8), &site(9));
}

#[test]
fn relays_withstand_the_fault_current_that_the_catalogue_states() {
    let site = |kiloamperes: &str| {
        let mut text = heat("demo-split-5k4", 10.0);
        text.service = text.service.replace("4 kA", kiloamperes);
        text
    };
    between("fault-over-withstand", &site("10 kA"), &site("10.1 kA"));
}

#[test]
fn the_switch_is_rated_for_the_breaker_of_the_panel() {
    let site = |breaker: &str| {
        let mut text = heat("demo-split-5k4", 10.0).group("arrangement = \"outboard\"\nbypass = \"none\"");
        text = text.group("transfer_switch = \"demo-ats-240-100-solid\"");
        text.panels[1] = text.panels[1].replace("100 A", breaker);
        text
    };
    between("gear-under-panel", &site("100 A"), &site("110 A"));
}

#[test]
fn the_neutral_former_carries_the_neutral_current() {
    let site =
        |amperes| heat("demo-line-6k", amperes).group("count = 2\nneutral_former = \"demo-former-30\"");
    between("neutral-former-over", &site(30.0), &site(30.1));
}

#[test]
fn the_service_carries_all_panels() {
    let site = |amperes| {
        let load = format!("current = \"{amperes} A\"\npower_factor = 1");
        let mut text = heat("demo-split-5k4", 10.0);
        text = text.load_with("range", "L1", &load, "runs = \"1 h/day\"");
        text.loads[1] = text.loads[1].replace("panel = \"backup\"", "panel = \"main\"");
        text.loads[0] = text.loads[0].replace("24 h/day", "1 h/day");
        text.service = text.service.replace("200 A", "60 A");
        text
    };
    between("service-over-rating", &site(49.9), &site(50.1));
}

#[test]
fn phases_differ_by_no_more_than_the_utility_accepts() {
    let site = |amperes| {
        let load = format!("current = \"{amperes} A\"\npower_factor = 1");
        let text = Text::of("230/400 V wye", "demo-230-5k").load("oven", "L1", &load);
        let mut text = text.group("formation = \"2+2+2\"");
        text.rest = "[utility]\nexport = \"none\"\nunbalance_cap = \"4.6 kVA\"".to_owned();
        text
    };
    between("unbalance-over-cap", &site(20.0), &site(20.01));
}

#[test]
fn a_gap_is_tolerated_up_to_what_the_load_states() {
    let site = |gap: &str| {
        let more = format!("runs = \"24 h/day\"\ngap = \"{gap}\"");
        let text = Text::split("demo-split-5k4").load_with("server", "L1", "power = \"300 W\"", &more);
        text.group("count = 2\narrangement = \"outboard\"").group(SWITCH)
    };
    // 20 ms of the units, up to 3 s of delay, 250 ms of travel
    between("gap-not-tolerated", &site("3.27 s"), &site("3.26 s"));
}

#[test]
fn a_motor_start_leaves_the_torque_that_its_machine_asks_for() {
    let site = |torque: u32| {
        let motor = format!(
            "motor = {{ power = \"1.5 hp\", code_letter = \"M\", start = \"direct\", starting_torque = \"{torque} %\" }}"
        );
        Text::split("demo-split-5k4")
            .load("mill", "L1-L2", &format!("{motor}\npower_factor = 0.8"))
            .group("count = 1")
    };
    // 60 A of 69.94 A: 86 % of the voltage, 73.6 % of the torque at standstill, 1.5 times full-load torque
    between("motor-start-voltage", &site(110), &site(111));
}

#[test]
fn a_start_takes_longer_at_the_voltage_that_is_left() {
    let site = |seconds| {
        let motor = format!(
            "motor = {{ power = \"1.5 hp\", code_letter = \"M\", start = \"direct\", run_up = \"{seconds} s\" }}"
        );
        let text =
            Text::split("demo-split-5k4").load("mill", "L1-L2", &format!("{motor}\npower_factor = 0.8"));
        text.group("count = 1")
    };
    // 60 A of 69.94 A leave 73.6 % of the torque; the surge current is held for 5 s: 3.68 s at full voltage
    between("motor-start-too-long", &site(3.67), &site(3.69));
}
