//! The check-out can be carried out as printed: played on the examples and on many plants.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

use std::collections::{BTreeMap, BTreeSet};

mod play;
#[path = "../../design/tests/support/mod.rs"]
mod support;

use assess::full_plant;
use catalog::LegControl;
use design::{Design, design};
use dossier::{Act, CheckoutStep, Packed, package};
use plant::Layout;
use plant::full::FullPlant;
use proptest::prelude::*;
use support::{Text, World};

fn packed(world: &World, look: impl FnOnce(&Design<'_>, &Packed)) {
    let prepared = world.prepared();
    let design = design(&prepared);
    let packed = package(&design, &world.catalog);
    let plant = full_plant(&design.case);
    let residual = design::residual_devices(&design.case);
    let stood = play::play(&plant, play::Beside::of(&design.case, &residual), &packed);
    neutrals(&plant, &packed, &stood);
    said(&design, &packed);
    look(&design, &packed);
}

fn example(name: &str, look: impl FnOnce(&Design<'_>, &Packed)) {
    let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
    packed(&World::read(&std::fs::read_to_string(path).unwrap()), look);
}

fn steps<'p>(packed: &'p Packed, words: &str) -> Vec<&'p CheckoutStep> {
    packed.checkout.iter().filter(|s| s.action.contains(words)).collect()
}

/// Where neutrals lie in parallel they are measured in every position in which the gear serves the panel.
fn neutrals(plant: &FullPlant, packed: &Packed, stood: &[BTreeMap<String, BTreeSet<String>>]) {
    let ways = design::neutral_ways(plant);
    let step = packed.checkout.iter().position(|s| s.action.contains("clamp the neutral of each"));
    assert_eq!(step.is_some(), !ways.runs.is_empty());
    let Some(here) = step.and_then(|k| stood.get(k)) else { return };
    for gear in plant.gear.iter().filter(|g| ways.gear.contains(&g.name)) {
        for position in gear.positions.iter().filter(|p| **p != "off") {
            let anywhere = stood.iter().any(|step| step[&gear.id].contains(*position));
            assert!(
                here[&gear.id].contains(*position) || !anywhere,
                "{} is not measured {position}",
                gear.name
            );
        }
    }
}

/// What is said fits what is there.
fn said(design: &Design<'_>, packed: &Packed) {
    let case = &design.case;
    let all: Vec<_> = packed.checkout.iter().flat_map(|s| &s.readings).collect();
    if case.layout == Layout::Islanded {
        assert!(packed.checkout.iter().all(|s| !s.action.contains("service disconnect")));
    }
    let three = case.system().legs().len() > 2;
    let turning =
        |at: &str| all.iter().any(|r| r.what.starts_with("rotation of the phases") && r.what.contains(at));
    assert_eq!(turning("output bus"), three, "rotation of the island is measured where there is one");
    assert_eq!(turning("generator breaker"), three && case.generator.is_some());
    for r in &all {
        // a unit on one leg has no voltage between lines
        let own = r.what.contains("unit side") && r.what.starts_with("between lines");
        let one = case.unit.leg_control == LegControl::OneLeg || case.system().legs().len() == 1;
        assert!(!(own && one), "{}", r.what);
        // a unit without a neutral none to it
        let neutral = r.what.contains("unit side") && r.what.contains("to neutral");
        assert!(!(neutral && case.unit.leg_control == LegControl::LineToLine), "{}", r.what);
    }
    // every charging limit of the sheet is read back by itself
    for setting in packed.settings.iter().filter(|s| s.group == "battery") {
        assert!(all.iter().any(|r| r.what.starts_with(setting.name.as_str()) && r.expected == setting.value));
    }
}

#[test]
fn the_examples_can_be_carried_out() {
    for name in ["creamery", "farmhouse", "field-station", "packing-shed", "veterinary-practice"] {
        example(name, |_, _| {});
    }
}

/// The units' capacitors are charged through the resistor, one unit after the other, and no switch is left closed.
#[test]
fn an_external_pre_charge_is_carried_out_unit_by_unit() {
    let path = format!("{}/../../examples/farmhouse/site.toml", env!("CARGO_MANIFEST_DIR"));
    let gear = "[battery]\nprecharge = { resistor = \"25 ohm\", tolerance = \"5 %\", pulse = \"60 J\", current = \"3 A\" }";
    let mut world = World::read(&std::fs::read_to_string(path).unwrap().replace("[battery]", gear));
    let dc = &mut world.catalog.units.get_mut("demo-split-5k4").unwrap().dc;
    dc.precharge = Some(catalog::Precharge::External);
    dc.capacitance = Some(quantity::Capacitance::of(0.03));
    packed(&world, |design, packed| {
        let step = steps(packed, "pre-charge switch and close it")[0];
        let moves: Vec<&str> = step
            .acts
            .iter()
            .filter_map(|act| match act {
                Act::Moves { device, .. } => Some(device.as_str()),
                _ => None,
            })
            .collect();
        assert_eq!(moves.len(), 3 * design.case.formation.units() as usize);
        assert_eq!(moves[..3], ["unit.1.precharge", "unit.1.dc", "unit.1.precharge"]);
    });
}

/// 44.0 V empty, 54.4 V full at rest; the units stop below 44 V; IEEE 1547-2018 wants five minutes.
#[test]
fn limits_are_those_of_battery_and_rule_not_of_the_units_window() {
    example("veterinary-practice", |design, packed| {
        assert_eq!(design.case.bank.as_ref().unwrap().model.id, "demo-lfp-30k");
        let string = steps(packed, "polarity and voltage of each battery string")[0];
        assert_eq!(string.readings[0].expected, "positive, 44.0 V to 54.4 V");
        let cutoff = packed.settings.iter().find(|s| s.name == "low-battery cut-off").unwrap();
        assert_eq!(cutoff.value, "not below 44.0 V");
        let delay =
            packed.settings.iter().find(|s| s.name.starts_with("delay before the units return")).unwrap();
        let back = steps(packed, "time the return of");
        assert_eq!(back[0].readings[0].expected, delay.value);
        assert!(
            delay.value.starts_with("5 min") || delay.value.starts_with("not before 5 min"),
            "{}",
            delay.value
        );
    });
}

/// A wye of one-leg units: unit 1 at its leg, the first unit of each other leg against the legs that are up.
#[test]
fn a_wye_of_one_leg_units_is_read_leg_by_leg() {
    example("creamery", |design, packed| {
        let alone = steps(packed, "alone from the battery")[0];
        assert_eq!(alone.readings[0].what, "L1 to neutral at unit 1 output breaker, unit side");
        let followers = steps(packed, "it must find the lead unit");
        assert_eq!(followers.len() as u32 + 1, design.case.formation.units());
        let against = |leg: &str| -> Vec<String> {
            let of = followers
                .iter()
                .flat_map(|s| &s.readings)
                .filter(|r| r.what.starts_with(&format!("{leg} of unit")));
            of.map(|r| r.what.split(" to ").nth(1).unwrap().to_owned()).collect()
        };
        assert_eq!(against("L2"), ["L1 of the output bus"]);
        assert_eq!(against("L3"), ["L1 of the output bus", "L2 of the output bus"]);
    });
}

/// The law sees a device that is left open, one that is tried on one source alone, and an electrode that stays off.
#[test]
fn a_trip_test_that_leaves_something_out_is_found() {
    example("creamery", |design, packed| {
        let plant = full_plant(&design.case);
        let residual = design::residual_devices(&design.case);
        assert!(!residual.is_empty());
        let without = |left_out: &dyn Fn(usize, &Act) -> bool| {
            let mut packed = packed.clone();
            for step in &mut packed.checkout {
                let acts = std::mem::take(&mut step.acts).into_iter().enumerate();
                step.acts = acts.filter(|(k, act)| !left_out(*k, act)).map(|(_, act)| act).collect();
            }
            let play = || play::play(&plant, play::Beside::of(&design.case, &residual), &packed);
            std::panic::catch_unwind(std::panic::AssertUnwindSafe(play)).is_ok()
        };
        let of = |act: &Act, to: &str| matches!(act, Act::Moves { device, to: t } if device.ends_with(".rcd") && *t == to);
        let at = |act: &Act, device: &str, to: &str| matches!(act, Act::Moves { device: d, to: t } if d == device && *t == to);
        assert!(without(&|_, _| false));
        assert!(!without(&|_, act| of(act, "closed")));
        assert!(!without(&|_, act| of(act, "open")));
        // the first trip alone, on the utility
        assert!(!without(&|k, act| k > 4 && (of(act, "open") || of(act, "closed"))));
        assert!(!without(&|_, act| matches!(act, Act::Dead(place) if place == dossier::FINAL)));
        let stated = packed.checkout.iter().any(|s| s.acts.iter().any(|a| at(a, "electrode", "open")));
        assert!(!stated || !without(&|_, act| at(act, "electrode", "closed")));
    });
}

/// The law sees a generator that may start by itself, an array that charges while the battery's current is read, and a
/// unit whose leg nobody has read.
#[test]
fn an_order_that_hides_a_fault_is_found() {
    example("veterinary-practice", |design, packed| {
        let plant = full_plant(&design.case);
        let residual = design::residual_devices(&design.case);
        let holds = |packed: &Packed| {
            let beside = play::Beside::of(&design.case, &residual);
            let play = || play::play(&plant, beside, packed);
            std::panic::catch_unwind(std::panic::AssertUnwindSafe(play)).is_ok()
        };
        assert!(holds(packed));
        let mut free = packed.clone();
        for step in &mut free.checkout {
            step.acts.retain(|act| !matches!(act, Act::Moves { to: "blocked", .. }));
        }
        assert!(!holds(&free));
        let mut charging = packed.clone();
        let from = charging.checkout.iter().position(|s| s.stage == "arrays on the battery").unwrap();
        let step = charging.checkout.remove(from);
        let to = charging.checkout.iter().position(|s| s.stage == "the island").unwrap();
        charging.checkout.insert(to, step);
        assert!(!holds(&charging));
        for breaker in ["open input breaker", "open second-input breaker"] {
            let mut unread = packed.clone();
            for step in &mut unread.checkout {
                step.readings.retain(|r| !(r.what.starts_with("unit 1, ") && r.what.contains(breaker)));
            }
            assert!(!holds(&unread), "{breaker}");
        }
    });
}

const FAMILIES: &[(&str, &str)] = &[
    ("120/240 V split-phase", "demo-split-5k4"),
    ("120/240 V split-phase", "demo-split-10k"),
    ("120/240 V split-phase", "demo-line-6k"),
    ("120/240 V split-phase", "demo-leg-3k6"),
    ("120/208 V wye", "demo-leg-3k6"),
    ("120/208 V two legs", "demo-leg-3k6"),
    ("120 V single-phase", "demo-leg-3k6"),
    ("230/400 V wye", "demo-230-5k"),
    ("230/400 V wye", "demo-230-3k"),
    ("230 V single-phase", "demo-230-5k"),
];

fn array(coupling: &str, id: &str, system: &str) -> Option<String> {
    let head = format!(
        "\n\n[[array]]\nid = \"{id}\"\nmodule = \"demo-module-450\"\ntilt = \"20 deg\"\nazimuth = \"180 deg\"\nmounting = \"roof\"\nmodules = 10\n"
    );
    let inverter = match system {
        "120/240 V split-phase" => "demo-ai-6k-split",
        "230/400 V wye" => "demo-ai-6k-400",
        _ if coupling != "DC" => return None,
        _ => "",
    };
    Some(if coupling == "DC" {
        format!("{head}coupling = \"DC\"\nstrings = 2\nper_string = 5\ncontroller = \"demo-mppt-100\"")
    } else {
        format!(
            "{head}coupling = \"AC\"\nstrings = 1\nper_string = 10\ninverter = \"{inverter}\"\ninverters = 1\npanel = \"{coupling}\"\nrun = \"20 m\""
        )
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// On every plant: each device is closed by a step before one rests on it, places read dead are dead and live ones
    /// live, sources never meet but through relays, automatic devices stand where their rules put them, every lock
    /// comes off where its device is closed, all ends in normal operation.
    #[test]
    fn every_check_out_can_be_carried_out(
        (system, unit) in prop::sample::select(FAMILIES.to_vec()),
        arrangement in prop::sample::select(vec!["inline", "outboard", "islanded"]),
        bypass in prop::sample::select(vec!["none", "manual switch", "interlocked breakers"]),
        units in 1_u32..5,
        generator in prop::sample::select(vec!["", "second input", "choose"]),
        automatic in any::<bool>(),
        battery in prop::sample::select(vec!["", "demo-lfp-30k", "demo-lfp-5k", "demo-fla-2v-1000"]),
        coupling in prop::sample::select(vec!["", "DC", "backup", "main", "DC and backup"]),
        inhibit in any::<bool>(),
        rcd in prop::sample::select(vec!["", "rcd = \"30 mA\"", "feeder_rcd = \"300 mA\"\nfeeder_rcd_delayed = true", "rcd = \"30 mA\"\nfeeder_rcd = \"300 mA\""]),
    ) {
        let islanded = arrangement == "islanded";
        let mut text = Text::of(system, unit)
            .load("lights", "L1", "power = \"300 W\"\npower_factor = 0.9")
            .group(&format!("count = \"choose\"\narrangement = \"{arrangement}\""));
        let per = if system.ends_with("wye") { 3 } else { 1 };
        text.group = text.group.replace("count = \"choose\"", &format!("count = {}", units * per));
        if islanded {
            let earthing = if system.starts_with("230") { "TN-S" } else { "US" };
            text.service = format!("[service]\nkind = \"{system}\"\nutility = \"none\"\nearthing = \"{earthing}\"");
            text.panels = vec!["[[panel]]\nid = \"backup\"\nmain_breaker = \"100 A\"".to_owned()];
        } else {
            text = text.group(&format!("bypass = \"{bypass}\""));
        }
        if system.starts_with("230") && !rcd.is_empty() {
            let last = text.panels.pop().unwrap();
            text.panels.push(format!("{last}\n{rcd}"));
        }
        if arrangement == "outboard" {
            text = text.group(if inhibit { "input_inhibit = \"yes\"" } else { "input_inhibit = \"no\"" });
        }
        if !battery.is_empty() || coupling.starts_with("DC") {
            let model = if battery.is_empty() { "demo-lfp-30k" } else { battery };
            text.rest.push_str(&format!("\n\n[battery]\nmodel = \"{model}\"\ncount = \"choose\"\nlowest = \"10 degC\""));
        }
        let own = match system {
            "120/240 V split-phase" => "demo-gen-12k",
            "230/400 V wye" => "demo-gen-20k-400",
            "120/208 V wye" => "demo-gen-25k-208",
            "230 V single-phase" => "demo-gen-6k-230",
            _ => "",
        };
        if !generator.is_empty() && !own.is_empty() {
            text.rest.push_str(&format!("\n\n[generator]\nmodel = \"{own}\"\ninlet = \"{generator}\"\nautomatic = {automatic}"));
        }
        for (k, coupling) in coupling.split(" and ").filter(|c| !c.is_empty()).enumerate() {
            if !(islanded && coupling == "main") {
                text.rest.push_str(&array(coupling, &format!("roof {k}"), system).unwrap_or_default());
            }
        }
        let there = "[site]\nlatitude = \"40.1 deg\"\nlongitude = \"-83.2 deg\"\nutc_offset = \"-5 h\"";
        let world = World::read(&text.write().replace("[site]", there));
        // what is refused has no papers
        if design::prepare(&world.site, &world.catalog, &world.assessment).is_ok() {
            packed(&world, |_, _| {});
        }
    }
}
