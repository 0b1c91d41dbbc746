//! Motor starts, by hand.

mod support;

use quantity::{Leg, Quantity};
use support::{assessed, backup, close, leg, load};

const SPLIT: &str = "120/240 V split-phase";

fn pump(more: &str) -> String {
    load(
        "pump",
        &format!(
            "legs = \"L1-L2\"\nmotor = {{ power = \"2 hp\", code_letter = \"G\", start = \"direct\"{more} }}\nruns = \"2 h/day\""
        ),
    )
}

#[test]
fn a_code_letter_gives_the_start_and_the_table_the_running_power() {
    let light = load("light", "legs = \"L1\"\ncurrent = \"10 A\"\nruns = \"24 h/day\"");
    let found = assessed(SPLIT, &(pump("") + &light), "");
    let start = &backup(&found).starts[0];
    assert_eq!(start.name, "pump");
    // letter G: 6.29 kVA/hp x 2 hp, half on each leg
    close(start.legs[&Leg::L1].start_known.value(), 6290.0);
    close(start.legs[&Leg::L2].start_current.value(), 6290.0 / 120.0);
    assert!((start.legs[&Leg::L1].start_va.re - 6290.0 * 0.35).abs() < 1e-6);
    // the light runs on L1 only, and the pump itself does not run while it starts
    let running = start.legs[&Leg::L1].running_va;
    assert!((running.norm() - 1200.0).abs() < 0.5, "{running}");
    assert!(start.legs[&Leg::L2].running_va.norm() < 1e-9);
    // Table 430.248: 12 A at 230 V, taken at 240 V: 2880 VA, half on each leg
    close(leg(&found, Leg::L2).steady_apparent.value(), 1440.0);
    for what in ["standstill", "run-up", "power factor of running motors"] {
        assert!(found.assumptions.iter().any(|a| a.what.contains(what)), "{what} is not listed");
    }
}

#[test]
fn what_excludes_a_motor_does_not_run_as_it_starts() {
    let heater =
        load("heater", "legs = \"L1-L2\"\npower = \"4 kW\"\nruns = \"2 h/day\"\nnever_with = [\"pump\"]");
    let found = assessed(SPLIT, &(pump("") + &heater), "");
    assert!(backup(&found).starts[0].legs[&Leg::L1].running_va.norm() < 1e-9);
}

#[test]
fn motors_start_together_unless_controls_prevent_it() {
    let fan = load(
        "fan",
        "legs = \"L1\"\nmotor = { power = \"1/2 hp\", locked_rotor_current = \"50 A\", start = \"direct\", run_up = \"4 s\" }\nruns = \"6 h/day\"",
    );
    let together = assessed(SPLIT, &(pump("") + &fan), "");
    let starts = &backup(&together).starts;
    let names: Vec<&str> = starts.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["all motors together", "fan", "pump"]);
    // equal angles: 6290 VA + 50 A x 120 V
    close(starts[0].legs[&Leg::L1].start_known.value(), 12_290.0);
    close(starts[0].legs[&Leg::L2].start_known.value(), 6290.0);
    close(starts[0].run_up.value(), 4.0);
    assert!(together.assumptions.iter().any(|a| a.what.contains("same moment")));
    let single = assessed(SPLIT, &(pump("") + &fan), "[wish]\nmotor_starts = \"one at a time\"\n");
    assert_eq!(backup(&single).starts.len(), 2);
    // the fan runs while the pump starts: 9.8 A x 120 V
    close(backup(&single).starts[1].legs[&Leg::L1].running_known.value(), 1176.0);
}

#[test]
fn drives_have_no_start_and_soft_starters_their_limit() {
    let drive = load(
        "drive",
        "legs = \"L1-L2\"\nmotor = { power = \"3 hp\", start = \"drive\" }\nruns = \"6 h/day\"",
    );
    assert!(backup(&assessed(SPLIT, &drive, "")).starts.is_empty());
    let soft = load(
        "soft",
        "legs = \"L1-L2\"\nmotor = { power = \"3 hp\", start = \"soft\", start_current = \"40 A\", locked_rotor_current = \"80 A\", starting_torque = 0.3 }\nruns = \"6 h/day\"",
    );
    let found = assessed(SPLIT, &soft, "");
    let start = &backup(&found).starts[0];
    close(start.legs[&Leg::L1].start_current.value(), 40.0);
    // half the current leaves a quarter of the torque: 0.3 / (1.5 / 4)
    close(start.torque_needed.value(), 0.8);
}

#[test]
fn one_of_several_starts_while_the_others_run() {
    let fans = load(
        "fan",
        "count = 3\nlegs = \"L1\"\nmotor = { power = \"1/2 hp\", locked_rotor_current = \"50 A\", start = \"direct\" }\nruns = \"6 h/day\"",
    );
    let found = assessed(SPLIT, &fans, "[wish]\nmotor_starts = \"one at a time\"\n");
    let start = &backup(&found).starts[0];
    close(start.legs[&Leg::L1].start_known.value(), 6000.0);
    close(start.legs[&Leg::L1].running_known.value(), 2.0 * 1176.0);
}

#[test]
fn outside_the_us_the_locked_rotor_current_is_assumed_with_a_warning() {
    let pump = load(
        "pump",
        "legs = \"L1\"\nmotor = { power = \"1.5 kW\", start = \"direct\", efficiency = 0.8 }\npower_factor = 0.75\nruns = \"2 h/day\"",
    );
    let found = assessed("230 V single-phase", &pump, "");
    // 1.5 kW / 0.8 / 0.75 = 2.5 kVA
    close(leg(&found, Leg::L1).steady_apparent.value(), 2500.0);
    close(backup(&found).starts[0].legs[&Leg::L1].start_known.value(), 20_000.0);
    assert!(found.findings.iter().any(|f| f.id == "locked-rotor-assumed" && f.place.is_some()));
}

#[test]
fn a_cap_on_instances_holds_while_one_starts() {
    let fans = load(
        "fan",
        "count = 3\nat_once = 2\nlegs = \"L1\"\nmotor = { power = \"1/2 hp\", locked_rotor_current = \"50 A\", start = \"direct\" }\nruns = \"6 h/day\"",
    );
    let found = assessed(SPLIT, &fans, "");
    let names: Vec<&str> = backup(&found).starts.iter().map(|s| s.name.as_str()).collect();
    assert_eq!(names, ["all motors together", "fan"]);
    close(backup(&found).starts[0].legs[&Leg::L1].start_known.value(), 12_000.0);
    close(backup(&found).starts[1].legs[&Leg::L1].running_known.value(), 1176.0);
}

#[test]
fn a_soft_starter_stretches_the_run_up_and_divides_the_torque() {
    let motor = |more: &str| {
        load(
            "compressor",
            &format!(
                "legs = \"L1-L2-L3\"\nmotor = {{ power = \"5.5 kW\", full_load_current = \"11 A\", locked_rotor_current = \"80 A\", start = \"soft\", start_current = \"32 A\", run_up = \"4 s\"{more} }}\npower_factor = 0.83\nruns = \"2 h/day\""
            ),
        )
    };
    let found = assessed("230/400 V wye", &motor(", starting_torque = \"15 %\""), "");
    let start = &backup(&found).starts[0];
    // 80 A over 32 A is 2.5: the torque falls to 1/6.25 and 4 s become 25 s; 0.15 / 1.5 · 6.25
    close(start.run_up.value(), 25.0);
    close(start.torque_needed.value(), 0.625);
    // not stated: 0.64 of the torque straight on the line is four times what is left of it
    let found = assessed("230/400 V wye", &motor(""), "");
    close(backup(&found).starts[0].torque_needed.value(), 4.0);
}

#[test]
fn a_soft_starter_beside_a_code_letter_is_held_against_the_letter() {
    let found = assessed(
        SPLIT,
        &load(
            "pump",
            "legs = \"L1-L2\"\nmotor = { power = \"5 hp\", code_letter = \"G\", start = \"soft\", start_current = \"40 A\" }\nruns = \"24 h/day\"",
        ),
        "",
    );
    let start = &backup(&found).starts[0];
    // 5 hp · 6.29 kVA/hp over 40 A · 240 V is 3.276
    let k: f64 = 5.0 * 6290.0 / 9600.0;
    close(start.torque_needed.value(), 0.64 * k * k);
    close(start.run_up.value(), 5.0 * k * k);
}

#[test]
fn motor_data_that_cannot_be_true_are_an_error_at_their_place() {
    let found = |motor: &str, more: &str| {
        let text = format!(
            "legs = \"L1-L2\"\nmotor = {{ power = \"5 hp\", start = \"direct\", {motor} }}\nruns = \"24 h/day\"\n{more}"
        );
        let findings = assessed(SPLIT, &load("pump", &text), "").findings;
        findings.into_iter().filter(|f| f.id == "motor-contradiction").collect::<Vec<_>>()
    };
    // 1 A · 240 V for 3.73 kW at the shaft
    let low = found("full_load_current = \"1 A\", locked_rotor_current = \"2 A\"", "");
    assert_eq!(low.len(), 1);
    assert!(low[0].severity == finding::Severity::Error && low[0].place.is_some());
    assert!(low[0].message.contains("240 VA") && low[0].message.contains("3.73 kVA"), "{}", low[0].message);
    // Table 430.248 gives 28 A
    let locked = found("locked_rotor_current = \"3 A\"", "");
    assert!(locked.len() == 1 && locked[0].message.contains("720 VA"), "{}", locked[0].message);
    // 20 A · 240 V · 0.75 is 3.6 kW into 3.73 kW
    assert_eq!(found("full_load_current = \"20 A\", code_letter = \"G\"", "power_factor = 0.75").len(), 1);
    // 3.73 kW / 0.85 / 0.8 is 5.5 kVA; 28 A makes 6.7, 35 A makes 8.4
    let both = "efficiency = 0.85, code_letter = \"G\", full_load_current";
    assert_eq!(found(&format!("{both} = \"28 A\""), "power_factor = 0.8").len(), 0);
    assert_eq!(found(&format!("{both} = \"35 A\""), "power_factor = 0.8").len(), 1);
    // the figures of the table itself are no contradiction
    assert_eq!(found("code_letter = \"A\"", "").len(), 0);
}

#[test]
fn harmonics_beside_a_start_count_in_what_runs() {
    let lamps =
        load("lamps", "legs = \"L1\"\napparent = \"1.2 kVA\"\nthird_harmonic = 0.75\nruns = \"24 h/day\"");
    for wish in ["", "[wish]\nmotor_starts = \"one at a time\"\n"] {
        let found = assessed(SPLIT, &(pump("") + &lamps), wish);
        let l1 = &backup(&found).starts[0].legs[&Leg::L1];
        // the phasor stays that of the fundamental
        assert!((l1.running_va.norm() - 1200.0).abs() < 0.5);
        assert!((l1.running_known.value().si() - 1500.0).abs() < 0.5);
    }
}
