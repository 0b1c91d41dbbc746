//! Breakers of the units: by hand, as the site fixes them, and that no smaller one passes.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use design::{Design, design};
use quantity::Quantity;
use support::{Text, World, failing, found, ids};

/// 2 kW on both legs and two units of 5.4 kW.
fn site(more: &str) -> World {
    let mut text = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
        .group("count = 2\ninput_limit = \"20 A\"");
    text.rest = more.to_owned();
    text.world()
}

fn fixed(input: &str, output: &str) -> String {
    let of = |part: &str, rating: &str| format!("[[breaker]]\npart = \"{part}\"\nrating = \"{rating}\"\n");
    format!("{}\n{}", of("unit.input", input), of("unit.output", output))
}

/// Ratings of the breakers ahead and behind, in A.
fn ratings(design: &Design<'_>) -> (f64, f64) {
    let of = |role: &str| {
        let (plant, _) = assess::prove(&design.case, false).unwrap();
        let part = plant.parts.iter().find(|part| part.role() == role);
        part.map_or(0.0, |part| part.rating.as_ref().unwrap().value().si())
    };
    (of("unit.input"), of("unit.output"))
}

/// A bridge of 2.7 kVA at 120 V gives 22.5 A, which count 1.25 (NEC 2023 705.28(A)): 28.1 A, and 20 A of input limit less:
/// 30 A is the next standard rating (240.6(A)). Without the limit the chargers of 2 x 4.2 kW at 240 V take 35 A beside 8.3 A
/// of load, all through one relay: 45 A. The family allows 60 A.
#[test]
fn the_smallest_standard_rating_by_hand() {
    let world = site("");
    let prepared = world.prepared();
    let small = design(&prepared);
    assert_eq!(failing(&small), [""; 0]);
    assert_eq!(ratings(&small), (30.0, 30.0));
    let run = small.assessed.runs.iter().find(|run| run.role == "unit.input.run.conductor").unwrap();
    assert!((run.device.value().si() - 30.0).abs() < 1e-9);
    assert!((run.of_one.as_ref().unwrap().value().si() - 20.0).abs() < 1e-6);
    let mut text = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
        .group("count = 2\ninput_limit = \"50 A\"");
    text.rest = String::new();
    let world = text.world();
    let prepared = world.prepared();
    assert_eq!(ratings(&design(&prepared)), (45.0, 45.0));
}

/// What the site fixes is checked: too small for what runs for hours, too large for the family, or one that does not
/// protect the conductors that the other side feeds through the relay.
#[test]
fn a_fixed_breaker_is_checked() {
    let with = |input: &str, output: &str| {
        let world = site(&fixed(input, output));
        let prepared = world.prepared();
        let design = design(&prepared);
        (ratings(&design), failing(&design))
    };
    assert_eq!(with("40 A", "40 A"), ((40.0, 40.0), Vec::new()));
    assert!(with("25 A", "25 A").1.contains(&"device-under-load"));
    assert!(with("70 A", "70 A").1.contains(&"unit-breaker-over"));
    assert_eq!(with("30 A", "60 A"), ((30.0, 60.0), Vec::new()));
}

/// Through its closed relay a unit's conductors are fed from the side of the larger breaker: a conductor that only the
/// smaller one protects is refused, and none of the two runs is thinner than with the larger breaker on both sides.
#[test]
fn unequal_breakers_ask_for_conductors_of_the_larger() {
    const RUNS: [&str; 2] = ["unit.input.run.conductor", "unit.output.run.conductor"];
    let of = |more: &str| {
        let world = site(more);
        let prepared = world.prepared();
        let design = design(&prepared);
        let wire = |role: &str| {
            let wire = design.wires.iter().find(|w| w.role == role)?;
            Some((wire.size.clone(), wire.ground.clone(), wire.device.value().si()))
        };
        (RUNS.map(wire), failing(&design))
    };
    let (larger, _) = of(&fixed("60 A", "60 A"));
    let (smaller, _) = of(&fixed("30 A", "30 A"));
    assert_ne!(larger, smaller);
    for (input, output) in [("30 A", "60 A"), ("60 A", "30 A")] {
        let (unequal, failing) = of(&fixed(input, output));
        assert!(failing.is_empty(), "{failing:?}");
        for (one, both) in unequal.iter().zip(&larger) {
            let (one, both) = (one.as_ref().unwrap(), both.as_ref().unwrap());
            assert_eq!((&one.0, &one.1), (&both.0, &both.1));
        }
        let thin = if input == "30 A" { RUNS[0] } else { RUNS[1] };
        let size = smaller[0].as_ref().unwrap().0.clone();
        let wire = format!("[[conductor]]\npart = \"{thin}\"\nsize = \"{size}\"\n");
        let (_, failing) = of(&format!("{}\n{wire}", fixed(input, output)));
        assert!(failing.contains(&"conductor-not-covered"), "{failing:?}");
        // the same wire behind breakers that fit it passes
        let (_, failing) = of(&format!("{}\n{wire}", fixed("30 A", "30 A")));
        assert!(failing.is_empty(), "{failing:?}");
    }
}

/// 3 hp with code letter G takes 3 x 6.3 kVA at standstill (Table 430.7(B)) and 2 kW run beside it: on 240 V more than the
/// 60 A that a unit gives, so the largest breaker stays, and a smaller one may open.
#[test]
fn a_breaker_is_taken_to_open_on_a_start_above_its_rating() {
    let with = |more: &str| {
        let pump = "motor = { power = \"3 hp\", code_letter = \"G\", start = \"direct\", run_up = \"0.6 s\" }\npower_factor = 0.8";
        let runs = "runs = \"1 h/day\"\nlasts = \"10 min\"\nrests = \"20 min\"";
        let mut text = Text::split("demo-split-5k4")
            .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
            .load_with("pump", "L1-L2", pump, runs)
            .group("count = 2\ninput_limit = \"20 A\"");
        text.rest = more.to_owned();
        text.world()
    };
    let world = with("");
    let prepared = world.prepared();
    assert_eq!(ratings(&design(&prepared)), (60.0, 60.0));
    let world = with(&fixed("40 A", "40 A"));
    let prepared = world.prepared();
    let smaller = design(&prepared);
    assert!(found(&smaller, "unit-breaker-may-open").message.contains("40"), "{:?}", ids(&smaller));
}

/// Law, on every example: the next smaller standard rating, fixed for both breakers, does not pass.
#[test]
fn no_breaker_of_the_examples_can_be_smaller() {
    for name in ["veterinary-practice", "creamery", "packing-shed", "farmhouse", "field-station"] {
        let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
        let text = std::fs::read_to_string(path).unwrap();
        let world = World::read(&text);
        let prepared = world.prepared();
        let before = design(&prepared);
        let (input, output) = ratings(&before);
        let rating = input.max(output);
        assert!(
            rating <= prepared.unit.input_breaker.si() && (input <= 0.0 || (input - output).abs() < 1e-9),
            "{name}"
        );
        // standard ratings (NEC 2023 240.6(A), IEC 60898-1)
        let us = [15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 45.0, 50.0, 60.0, 70.0];
        let iec = [6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 25.0, 32.0, 40.0, 50.0, 63.0];
        let of_us = text.contains("earthing = \"US\"");
        let all: &[f64] = if of_us { &us } else { &iec };
        let smaller = all.iter().rev().find(|r| **r < rating).unwrap();
        let of = format!("{smaller} A");
        let world = World::read(&format!("{text}\n{}", fixed(&of, &of)));
        let prepared = world.prepared();
        let after = design(&prepared);
        let opens = ids(&after).contains(&"unit-breaker-may-open");
        assert!(opens || failing(&after) != failing(&before), "{name}: {of} passes as well as {rating} A");
    }
}

/// Records chosen for the breakers of a site: (poles, record).
fn records<'d>(design: &'d Design<'_>) -> Vec<(usize, Option<&'d catalog::Breaker>)> {
    design.breakers.iter().filter(|b| !b.there).map(|b| (b.poles, b.record)).collect()
}

fn refusals(design: &Design<'_>) -> Vec<String> {
    let all = design.assessed.ledger.findings.iter();
    all.filter(|f| f.id == "breaker-not-found").map(|f| f.message.to_string()).collect()
}

/// 4 kA of the service, and 60 A of each of two units into a fault on one leg: 10 kA are enough, and the cheapest is taken.
#[test]
fn records_bear_the_voltage_and_break_the_fault() {
    let world = site("");
    let prepared = world.prepared();
    let found = design(&prepared);
    let island = assess::highest_island_fault(&found.case).unwrap().largest.value().si();
    assert!(island > 0.0);
    let chosen = records(&found);
    assert!(chosen.len() >= 5 && refusals(&found).is_empty());
    for (choice, (poles, record)) in found.breakers.iter().filter(|b| !b.there).zip(&chosen) {
        let record = record.unwrap_or_else(|| panic!("{} has none", choice.part));
        assert_eq!((record.poles as usize, record.rating), (*poles, choice.rating.as_ref().unwrap().value()));
        assert!((choice.fault.as_ref().unwrap().value().si() - 4000.0 - island).abs() < 1e-6);
        assert!(record.interrupting >= choice.fault.as_ref().unwrap().value());
    }
    assert!(found.breakers.iter().any(|b| b.there && b.record.is_none() && b.part.starts_with("service")));
}

/// 12 kA are more than the breakers of small rating break: none is taken, and each kind of them is refused once.
#[test]
fn a_breaker_that_the_fault_would_burst_is_refused() {
    let mut text = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
        .group("count = 2\ninput_limit = \"20 A\"");
    text.service = text.service.replace("4 kA", "12 kA");
    let world = text.world();
    let prepared = world.prepared();
    let found = design(&prepared);
    for (_, record) in records(&found) {
        assert!(record.is_none_or(|b| b.interrupting.si() >= 12_000.0));
    }
    let told = refusals(&found);
    assert!(!told.is_empty() && told[0].contains("breaks 10.0 kA"), "{told:?}");
    assert!(failing(&found).contains(&"breaker-not-found"));
    let kinds: std::collections::BTreeSet<&String> = told.iter().collect();
    assert_eq!(kinds.len(), told.len());
    // at 22 kA the larger frames serve
    let mut world = text.world();
    for record in world.catalog.breakers.values_mut() {
        record.interrupting = quantity::Current::of(22_000.0);
    }
    assert!(refusals(&design(&world.prepared())).is_empty());
}

/// 120/240 V serves a split phase, on which no line is more than 120 V from earth, and nothing else.
#[test]
fn a_slash_rating_serves_only_below_both_its_voltages() {
    let slash = |world: &mut World, between: f64, to_earth: f64| {
        for record in world.catalog.breakers.values_mut() {
            record.voltage = Some(quantity::LineVoltage::of(between));
            record.voltage_to_earth = Some(quantity::LineVoltage::of(to_earth));
        }
    };
    let refused = |mut world: World, between: f64, to_earth: f64| {
        slash(&mut world, between, to_earth);
        !refusals(&design(&world.prepared())).is_empty()
    };
    assert!(!refused(site(""), 240.0, 120.0));
    assert!(refused(site(""), 208.0, 120.0));
    assert!(refused(site(""), 240.0, 110.0));
    // a record that states no voltage is no better than one too low
    let mut world = site("");
    world.catalog.breakers.values_mut().for_each(|record| record.voltage = None);
    let told = refusals(&design(&world.prepared()));
    assert!(!told.is_empty() && told[0].contains("states no voltage"), "{told:?}");
}
