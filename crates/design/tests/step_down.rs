//! Law of the step down, on every example: no part that the tool sizes could be one standard step smaller and still pass.
//! What a site can fix is fixed one step down and checked; the rest is held against the tables by hand. Each exception
//! stands with its reason.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use std::collections::BTreeSet;

use assess::{InArray, Run};
use catalog::{DcDevice, DcDeviceKind};
use design::{Design, Wire, design};
use quantity::{Quantity, Ratio};
use support::World;
use tables::us::conductors::{
    Column, Laying, Material, ambient_factor, ampacity, count_factor, small_conductor,
};
use tables::us::overcurrent::next_standard;
use tables::us::raceway::{fill_share, insulated_area, raceways};
use tables::us::size::Size;

const EXAMPLES: [&str; 5] = ["veterinary-practice", "creamery", "packing-shed", "farmhouse", "field-station"];

fn text(name: &str) -> String {
    let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(path).unwrap()
}

fn of_us(text: &str) -> bool {
    text.contains("earthing = \"US\"")
}

/// Every failing finding, as id and part.
fn failing(design: &Design<'_>) -> BTreeSet<(String, String)> {
    design.failing().map(|f| (f.id.to_owned(), f.part.clone())).collect()
}

/// What fails more in a site with lines added.
fn more_fails(text: &str, added: &str, before: &BTreeSet<(String, String)>) -> Vec<(String, String)> {
    let world = World::read(&format!("{text}\n{added}"));
    let prepared = world.prepared();
    let after = design(&prepared);
    failing(&after).difference(before).cloned().collect()
}

/// Conductor sizes of the trade, rising.
fn smaller(size: &str) -> Option<String> {
    let awg: Vec<String> = Size::all().map(|size| size.to_string()).collect();
    let mm2 = [
        1.5, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0, 35.0, 50.0, 70.0, 95.0, 120.0, 150.0, 185.0, 240.0, 300.0,
        400.0,
    ];
    let mm2: Vec<String> = mm2.iter().map(|s| format!("{s} mm2")).collect();
    let all = if size.ends_with("mm2") { mm2 } else { awg };
    let at = all.iter().position(|s| s == size).unwrap_or_else(|| panic!("no size {size}"));
    at.checked_sub(1).map(|k| all[k].clone())
}

fn run_of<'d>(design: &'d Design<'_>, wire: &Wire) -> &'d Run {
    design.assessed.runs.iter().find(|run| run.role == wire.role).unwrap()
}

fn in_array(run: &Run) -> Option<&InArray> {
    run.direct.as_ref().and_then(|direct| direct.array.as_ref())
}

/// A site line that fixes a run.
fn fix(role: &str, size: &str, sets: usize) -> String {
    format!("[[conductor]]\npart = \"{role}\"\nsize = \"{size}\"\nsets = {sets}\n")
}

/// Every line conductor and every conductor to an electrode, one size down through the site: an error or "not covered" on
/// that part. The neutral is of the lines' size, so it goes down with them. In the small examples each goes down alone; in
/// the large ones, whose designs take seconds, all together, and each must be found by itself.
#[test]
fn no_conductor_of_the_examples_can_be_smaller() {
    let mut tried = 0;
    for name in EXAMPLES {
        let text = text(name);
        let world = World::read(&text);
        let prepared = world.prepared();
        let design = design(&prepared);
        let before = failing(&design);
        let runs = design.wires.iter().map(|w| (w.role.clone(), w.size.clone(), w.sets));
        let earth = design.code.conductors.iter().map(|c| (c.role.clone(), c.size.clone(), 1));
        // 1.5 mm2 is the smallest section of fixed wiring (IEC 60364-5-52 Table 52.2)
        let step = |(role, size, sets): (String, String, usize)| {
            Some((role.clone(), fix(&role, &smaller(&size)?, sets)))
        };
        let runs: Vec<(String, String)> = runs.filter_map(step).collect();
        // those to electrodes follow from the lines that are chosen
        let earth: Vec<(String, String)> = earth.filter_map(step).collect();
        let alone = matches!(name, "farmhouse" | "field-station");
        let together = |all: &[(String, String)]| if alone { 1 } else { all.len().max(1) };
        for some in runs.chunks(together(&runs)).chain(earth.chunks(together(&earth))) {
            let lines: String = some.iter().map(|(_, line)| line.as_str()).collect();
            let found = more_fails(&text, &lines, &before);
            for (role, line) in some {
                assert!(found.iter().any(|(_, part)| part == role), "{name}: passes with {line}: {found:?}");
                tried += 1;
            }
        }
    }
    assert!(tried > 60, "only {tried}");
}

/// By the US tables by hand: why the next smaller size of a run does not do.
fn us_reason(run: &Run, wire: &Wire, size: Size) -> Option<&'static str> {
    let sets = wire.sets as f64;
    // terminals of which nothing is known: 60 degC up to 100 A, 75 degC above (110.14(C)(1))
    let ends = if run.device.value().si() <= 100.0 { Column::C60 } else { Column::C75 };
    let of =
        |column| ampacity(size, Material::Copper, column, Laying::Raceway).map(|i| i.value().si() * sets);
    let (at_ends, insulated) = (of(ends).ok()?, of(Column::C90).ok()?);
    let mut ambient = run.ambient.clone();
    if in_array(run).is_some_and(|a| a.at_modules && a.on_roof) {
        // the module's shade and 7/8 in. of height spare the 33 degC (310.15(B)(2)) no conductor is known to have
        ambient = derivation::Known::assumed(
            "T",
            "on a roof",
            quantity::Temperature::of(ambient.value().si() + 33.0),
            "310.15(B)(2)",
        );
    }
    let counted = if run.lines { run.legs.len() + usize::from(run.neutral && run.legs.len() > 2) } else { 1 };
    let n = derivation::Known::assumed("n", "conductors", Ratio::of(counted as f64), "counted");
    let factor =
        ambient_factor(&ambient, Column::C90).ok()?.value().si() * count_factor(&n).ok()?.value().si();
    let usable = at_ends.min(insulated * factor);
    let neutral = run.neutral_current.as_ref().map_or(0.0, |i| i.value().si());
    let tight = |a: f64, b: f64| a < b * (1.0 - 1e-9);
    if wire.role == "service.conductor" && wire.why.source().contains("310.12") {
        let load = wire.required.value().si().max(run.carried.value().si());
        return (tight(at_ends.min(usable), load) || tight(at_ends, 0.83 * run.device.value().si()))
            .then_some("the share of the rating, or the load");
    }
    if tight(at_ends, wire.required.value().si().max(neutral)) {
        return Some("terminals");
    }
    if tight(usable, run.carried.value().si().max(neutral)) {
        return Some("where it lies");
    }
    if !wire.guarded {
        return None;
    }
    let device = run.device.value().si();
    let small = small_conductor(size, Material::Copper).ok()?.is_some_and(|most| most.value().si() < device);
    let up =
        next_standard(&derivation::Known::assumed("I", "usable", quantity::Current::of(usable), "tables"));
    let least = up.map_or(f64::INFINITY, |up| up.value().si());
    (small || (device > least && usable < device)).then_some("its device")
}

/// Least equipment grounding conductor by hand (Table 250.122, copper).
fn ground_by_hand(device: f64) -> &'static str {
    let rows = [
        (15.0, "14 AWG"),
        (20.0, "12 AWG"),
        (60.0, "10 AWG"),
        (100.0, "8 AWG"),
        (200.0, "6 AWG"),
        (300.0, "4 AWG"),
        (400.0, "3 AWG"),
        (500.0, "2 AWG"),
        (600.0, "1 AWG"),
    ];
    rows.iter().find(|(most, _)| device <= *most).unwrap().1
}

/// Grounds, raceways and the reason of every line by the US tables, read by hand.
#[test]
fn the_tables_ask_for_every_size_of_the_us_examples() {
    for name in EXAMPLES.into_iter().filter(|name| of_us(&text(name))) {
        let text = text(name);
        let world = World::read(&text);
        let prepared = world.prepared();
        let design = design(&prepared);
        for wire in &design.wires {
            let (run, role) = (run_of(&design, wire), &wire.role);
            let less: Size = smaller(&wire.size).unwrap().parse().unwrap();
            assert!(us_reason(run, wire, less).is_some(), "{name}: {role}: {less} would do");
            let size: Size = wire.size.parse().unwrap();
            assert_eq!(us_reason(run, wire, size), None, "{name}: {role}: {size} does not do");
            assert!(wire.neutral.as_ref().is_none_or(|neutral| *neutral == wire.size));
            if let Some(ground) = &wire.ground {
                // no larger than the lines (250.122(A))
                let by_hand: Size = ground_by_hand(run.device.value().si()).parse().unwrap();
                assert_eq!(ground, &by_hand.min(size).to_string(), "{name}: {role}");
            }
            raceway(name, run, wire);
        }
    }
}

/// The raceway of a run is the smallest trade size in which its conductors take no more than their share.
fn raceway(name: &str, run: &Run, wire: &Wire) {
    let area = |size: &str| insulated_area("THHN", size.parse().unwrap()).unwrap().value().si();
    let lines = if run.lines { run.legs.len() } else { 0 } + usize::from(run.neutral);
    let ground = wire.ground.as_ref();
    let filled = lines as f64 * area(&wire.size) + ground.map_or(0.0, |ground| area(ground));
    let n = (lines + usize::from(ground.is_some())) as f64;
    let share = fill_share(&derivation::Known::assumed("n", "conductors", Ratio::of(n), "counted"), false);
    let share = share.unwrap().value().si();
    let fitting = raceways("EMT").unwrap();
    let first = fitting.iter().find(|r| r.area.value().si() * share >= filled * (1.0 - 1e-9)).unwrap();
    assert_eq!(wire.raceway.as_deref(), Some(&*format!("EMT {}", first.trade_size)), "{name}: {}", wire.role);
}

/// Protective conductors by IEC 60364-5-54 Table 54.2 by hand: as the line up to 16 mm2, 16 mm2 up to 35 mm2, half above. The
/// adiabatic equation may ask for less: it needs the fault current and the device's time, which the table does without.
#[test]
fn protective_conductors_of_the_iec_examples_are_those_of_the_table() {
    for name in EXAMPLES.into_iter().filter(|name| !of_us(&text(name))) {
        let text = text(name);
        let world = World::read(&text);
        let prepared = world.prepared();
        let design = design(&prepared);
        let mm2 = |size: &str| size.trim_end_matches(" mm2").parse::<f64>().unwrap();
        for wire in &design.wires {
            assert!(wire.neutral.as_ref().is_none_or(|neutral| *neutral == wire.size));
            let Some(ground) = &wire.ground else { continue };
            let line = mm2(&wire.size);
            let least = if line <= 16.0 {
                line
            } else if line <= 35.0 {
                16.0
            } else {
                line / 2.0
            };
            let pe = mm2(ground);
            let below = smaller(ground).map_or(0.0, |size| mm2(&size));
            assert!(pe >= least && below < least, "{name}: {}: {pe} for {least}", wire.role);
        }
    }
}

/// Devices of a kind with another rating, the next below.
fn next_below<'a>(world: &'a World, device: &DcDevice, lockable: bool) -> Option<&'a DcDevice> {
    let all = world.catalog.dc_devices.values();
    let fits = |d: &&DcDevice| {
        d.rating < device.rating
            && d.kind != DcDeviceKind::Fuse
            && d.voltage >= device.voltage
            && d.interrupting >= device.interrupting
            && (d.lockable || !lockable)
    };
    all.filter(fits).max_by(|a, b| a.rating.si().total_cmp(&b.rating.si()))
}

/// Devices of the direct-current side, strings of the bank and transfer switch, one step down through the site. Not stepped
/// down: the breaker of the group's feed and its conductor's device, which pass what all units' breakers pass, at most the
/// service: only settings keep the current lower, and whether they are listed for that (NEC 2023 705.13) is not looked at.
/// Nor what the site fixes: service, panels and what is rated as the panel's main breaker.
#[test]
fn no_device_of_the_examples_can_be_smaller() {
    let mut tried = 0;
    for name in EXAMPLES {
        let text = text(name);
        let world = World::read(&text);
        let prepared = world.prepared();
        let design = design(&prepared);
        let before = failing(&design);
        let bank = design.case.bank.as_ref().unwrap();
        let devices = [
            ("string_device", bank.string_device.unwrap(), false),
            ("unit_device", bank.unit_device.unwrap(), true),
        ];
        for (key, device, lockable) in devices {
            let Some(less) = next_below(&world, device, lockable) else { continue };
            let fixed = text.replacen("[battery]\n", &format!("[battery]\n{key} = \"{}\"\n", less.id), 1);
            let found = more_fails(&fixed, "", &before);
            assert!(!found.is_empty(), "{name}: {key} {} passes as {} does", less.id, device.id);
            tried += 1;
        }
        if bank.strings > 1 {
            let battery = text.find("[battery]").unwrap();
            let (head, tail) = text.split_at(battery);
            let model = if tail.contains("\nmodel = \"demo-fla") {
                String::new()
            } else {
                format!("model = \"{}\"\n", bank.model.id)
            };
            let fewer = format!("{model}count = {}", bank.strings - 1);
            let fixed = tail.replacen("count = \"choose\"", &fewer, 1);
            assert_ne!(fixed, tail, "{name}: the count of strings is fixed");
            let found = more_fails(&format!("{head}{fixed}"), "", &before);
            assert!(!found.is_empty(), "{name}: {} strings pass as well", bank.strings - 1);
            tried += 1;
        }
        tried += gear(name, &text, &world, &design, &before);
        busbar_and_arrays(name, &world, &design);
    }
    assert!(tried >= 16, "only {tried}");
}

/// The transfer switch.
fn gear(
    name: &str,
    text: &str,
    world: &World,
    design: &Design<'_>,
    before: &BTreeSet<(String, String)>,
) -> usize {
    let Some(switch) = design.case.transfer else { return 0 };
    let less = world.catalog.transfer_switches.values().filter(|s| {
        s.rating < switch.rating && s.systems.contains(&design.case.system()) && s.neutral == switch.neutral
    });
    let Some(less) = less.max_by(|a, b| a.rating.si().total_cmp(&b.rating.si())) else { return 0 };
    let line = format!("transfer_switch = \"{}\"", less.id);
    let fixed = text.replacen("transfer_switch = \"choose\"", &line, 1);
    assert_ne!(fixed, text, "{name}: the switch is fixed");
    let found = more_fails(&fixed, "", before);
    assert!(!found.is_empty(), "{name}: {} passes as {} does", less.id, switch.id);
    1
}

/// Busbar of the bank and devices of arrays, which a site cannot fix: against what they have to be.
fn busbar_and_arrays(name: &str, world: &World, design: &Design<'_>) {
    let bank = design.case.bank.as_ref().unwrap();
    let needs = assess::breaking(&design.case, bank).unwrap();
    let bar = bank.busbar.unwrap();
    let landings = bank.strings + design.case.formation.units() + bank.controllers;
    for less in world.catalog.dc_busbars.values().filter(|b| b.rating < bar.rating) {
        let does = less.rating >= needs.bus_current.value()
            && less.withstand >= needs.bus.value()
            && less.landings >= landings;
        assert!(!does, "{name}: {} would do", less.id);
    }
    for strings in &design.case.strings {
        let output = strings.output.as_ref().map(|output| &output.guard);
        let guards = strings.guard.iter().map(|g| (g, false));
        for (guard, lockable) in guards.chain([(&strings.disconnect, true)]).chain(output.map(|g| (g, true)))
        {
            let device = guard.device.unwrap();
            let does = |d: &DcDevice| {
                d.rating >= guard.least.value()
                    && d.voltage >= guard.voltage.as_ref().unwrap().value()
                    && d.interrupting >= guard.fault.as_ref().unwrap().value()
                    && (!lockable || d.lockable)
            };
            assert!(does(device), "{name}: {}", device.id);
            let smaller = world.catalog.dc_devices.values().filter(|d| d.rating < device.rating);
            for less in smaller {
                assert!(!does(less), "{name}: {} would do for {}", less.id, device.id);
            }
        }
    }
}
