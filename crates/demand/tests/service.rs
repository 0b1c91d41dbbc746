//! Demand that sizes the service.

mod support;

use demand::assess;
use quantity::Quantity;
use support::{Memory, assessed, close, load, site};

const SPLIT: &str = "120/240 V split-phase";

#[test]
fn itemised_counts_continuous_loads_a_quarter_more_in_the_us_only() {
    let heater = load("heater", "legs = \"L1\"\ncurrent = \"20 A\"\nruns = \"8 h/day\"");
    let kettle = load("kettle", "legs = \"L1\"\ncurrent = \"10 A\"\nruns = \"0.5 h/day\"");
    let us = assessed(SPLIT, &(heater.clone() + &kettle), "");
    close(us.service.as_ref().unwrap().current.value(), 35.0);
    assert!(us.assumptions.iter().any(|a| a.what.contains("counts as continuous")));
    let iec = assessed("230 V single-phase", &(heater + &kettle), "");
    close(iec.service.unwrap().current.value(), 30.0);
}

/// NEC 2023 430.24 with 430.6(A)(1): the largest motor counts 1.25 times, the others and other load once, continuous
/// load that is no motor 1.25 times; motors with the current of the tables.
#[test]
fn itemised_raises_the_largest_motor_by_its_table_current() {
    let motor = |name: &str, legs: &str, motor: &str, runs: &str| {
        let text = format!(
            "legs = \"{legs}\"\nmotor = {{ {motor}, start = \"drive\" }}\npower_factor = 0.8\nruns = \"{runs} h/day\""
        );
        load(name, &text)
    };
    let heater =
        load("heater", "legs = \"L1-L2\"\ncurrent = \"20 A\"\npower_factor = 0.8\nruns = \"8 h/day\"");
    // 230 V column of Table 430.248: 2 hp 12 A, 3 hp 17 A; the nameplates state less, and the 3 hp one runs for hours
    let two = motor("pump", "L1-L2", "power = \"2 hp\", full_load_current = \"9 A\"", "1");
    let three = motor("saw", "L1-L2", "power = \"3 hp\", full_load_current = \"15 A\"", "8");
    let service = |loads: &str| assessed(SPLIT, loads, "").service.unwrap().current.value();
    close(service(&two), 1.25 * 12.0);
    close(service(&(two.clone() + &three + &heater)), 1.25 * 17.0 + 12.0 + 1.25 * 20.0);
    // the largest of two legs' own motors, 16 A on 115 V
    let one = motor("fan", "L1", "power = \"1 hp\"", "1");
    close(service(&(one + &two)), 16.0 * 1.25 + 12.0);
    // of three that may run two at a time, one is the largest
    let three_of = "count = 3\nat_once = 2\nlegs = \"L1-L2\"\nmotor = { power = \"2 hp\", start = \"drive\" }\nruns = \"1 h/day\"";
    close(service(&load("pumps", three_of)), 1.25 * 12.0 + 12.0);
    // interlocked motors: 1.25 x 17 A beside what may run with it
    let not_with = two + "never_with = [\"saw\"]\n";
    close(service(&(not_with + &three + &heater)), 1.25 * 17.0 + 25.0);
    // IEC books ask for no such factor and have no such table
    let iec = assessed(
        "230 V single-phase",
        &load(
            "pump",
            "legs = \"L1\"\nmotor = { power = \"1.5 kW\", full_load_current = \"9 A\", start = \"drive\" }\nruns = \"8 h/day\"",
        ),
        "",
    );
    close(iec.service.unwrap().current.value(), 9.0);
}

#[test]
fn dwelling_methods_size_the_service_only() {
    let light = load("light", "legs = \"L1\"\ncurrent = \"10 A\"\nruns = \"1 h/day\"");
    let dwelling = |method: &str| {
        format!(
            "[demand]\nmethod = \"dwelling {method}\"\n[dwelling]\narea = \"1,500 ft2\"\nsmall_appliance_circuits = 2\n\
             laundry_circuits = 1\nranges = [\"12 kW\"]\ndryers = [\"5.5 kW\"]\n"
        )
    };
    // 1500 ft2, 12 kW range, 5.5 kW dryer: 18,600 VA, 77.5 A (NEC Annex D, example D1(a))
    let standard = assessed(SPLIT, &light, &dwelling("standard"));
    close(standard.service.as_ref().unwrap().current.value(), 77.5);
    close(standard.panels["main"].lanes[&demand::Lane::Total].steady_power.value(), 1200.0);
    // optional: 4500 + 3000 + 1500 + 12,000 + 5500 = 26,500; 10,000 + 0.4 x 16,500 = 16,600 VA; 69.17 A
    let optional = assessed(SPLIT, &light, &dwelling("optional"));
    close(optional.service.unwrap().current.value(), 16_600.0 / 240.0);
}

#[test]
fn measured_demand_needs_its_conditions() {
    let csv = |days: usize| {
        let mut csv = "start,L1_a,L2_a\n".to_owned();
        let start: jiff::civil::DateTime = "2025-01-01T00:00".parse().unwrap();
        for k in 0..days * 96 {
            let at = start + jiff::Span::new().minutes(15 * k as i64);
            csv += &format!("{},{},40\n", at.strftime("%Y-%m-%dT%H:%M"), if k == 50 { 100 } else { 60 });
        }
        csv
    };
    let measured = |days: usize, loads: &str, generation: bool| {
        let rest = format!(
            "[demand]\nmethod = \"measured\"\n[measured]\nfile = \"d.csv\"\npanel = \"main\"\non_site_generation = {generation}\n"
        );
        assess(&site(SPLIT, loads, &rest), &Memory([("d.csv".to_owned(), csv(days))].into()), None)
    };
    let new =
        load("charger", "legs = \"L1-L2\"\ncurrent = \"32 A\"\nruns = \"5 h/day\"\nseason = \"winter\"");
    // 1.25 x 100 A measured, 1.25 x 32 A new
    let found = measured(31, &new, false);
    close(found.service.as_ref().unwrap().current.value(), 165.0);
    let refused = |found: &demand::Assessment| {
        found.service.is_none()
            && found.findings.iter().any(|f| f.id == "service-not-covered" && f.severity.fails())
    };
    assert!(refused(&measured(29, &new, false)), "29 days are too short");
    assert!(refused(&measured(31, &new, true)), "generation hides demand");
    let all_year = load("charger", "legs = \"L1-L2\"\ncurrent = \"32 A\"\nruns = \"5 h/day\"");
    assert!(refused(&measured(31, &all_year, false)), "loads of other seasons are missing");
    assert!(found.panels["main"].neutral.value().si() > 0.0);
}
