//! Ways of the direct-current cables between the housings on the wall. They decide sizes, drop and how much cable is
//! bought; what stands elsewhere, or on no wall, keeps the length that the site states or that is assumed.

use assess::Case;
use derivation::{Known, formula};
use finding::{Finding, Severity};
use place::link::in_steps;
use place::wall::{CABLE_ENDS_M, Cable, PlacedItem, WallPlan};
use quantity::{Length, Quantity};
use saying::say;

use crate::candidate::Design;
use crate::{Prepared, Wire, distribution, placing};

/// Puts the ways into the design: for cables of one kind the longest of them.
pub(crate) fn measure<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) {
    if design.case.bank.is_none() {
        return;
    }
    let Some(wall) = placing::on_wall(prepared, &design.case) else { return };
    let (unit_way, string_way) = (of_units(&design.case, &wall), of_strings(&design.case, &wall));
    for strings in &mut design.case.strings {
        let (id, devices) = (strings.id.clone(), strings.devices);
        let Some(output) = &mut strings.output else { continue };
        let found = longest((1..=devices).map(|k| {
            let device = output.guard.device.map(|_| format!("{id} output device {k}"));
            way(&wall, "a charge controller", &[format!("{id} controller {k}")], device)
        }));
        output.cable.length = found.unwrap_or_else(|| output.cable.length.clone());
    }
    if let Some(bank) = &mut design.case.bank {
        (bank.unit_way, bank.string_way) = (unit_way, string_way);
    }
}

/// The cables between the housings, for the layout to keep them short: all of the direct-current bus, those of the units to
/// the buses of the group, and the cables of array strings.
pub(crate) fn cables(prepared: &Prepared<'_>, case: &Case<'_>) -> Vec<Cable> {
    let units = case.formation.units();
    let mut all = Vec::new();
    let mut add = |from: Vec<String>, by: Option<String>, to: &str, (direct, leads): (bool, bool)| {
        all.push(Cable { from, by, to: to.to_owned(), direct, leads });
    };
    if let Some(bank) = &case.bank {
        for k in 1..=units {
            let device = bank.unit_device.map(|_| unit_device(k));
            add(vec![unit(k)], device, BAR, (true, true));
        }
        for k in 1..=bank.strings {
            let device = bank.string_device.map(|_| string_device(k));
            add(modules(k, bank.model.series), device, BAR, (true, true));
        }
    }
    for strings in &case.strings {
        let Some(output) = &strings.output else { continue };
        for k in 1..=strings.devices {
            let controller = format!("{} controller {k}", strings.id);
            add(vec![format!("{} disconnect {k}", strings.id)], None, &controller, (false, false));
            let device = output.guard.device.map(|_| format!("{} output device {k}", strings.id));
            add(vec![controller], device, BAR, (true, false));
        }
    }
    for bus in distribution::of(prepared, case) {
        let part = bus.part();
        for k in 1..=units {
            add(vec![unit(k)], None, &part, (false, true));
        }
    }
    all
}

/// What the busbar of the bank is called among the gear.
pub(crate) const BAR: &str = "DC busbar";

fn unit(k: u32) -> String {
    format!("unit {k}")
}

fn unit_device(k: u32) -> String {
    format!("unit {k} DC device")
}

fn string_device(k: u32) -> String {
    format!("string {k} DC device")
}

/// The modules of a string.
fn modules(k: u32, series: u32) -> Vec<String> {
    (1..=series).map(|m| format!("battery {}", (k - 1) * series + m)).collect()
}

fn of_units(case: &Case<'_>, wall: &WallPlan) -> Option<Known<Length>> {
    let bank = case.bank.as_ref()?;
    longest((1..=case.formation.units()).map(|k| {
        let device = bank.unit_device.map(|_| unit_device(k));
        way(wall, "a unit", &[unit(k)], device)
    }))
}

fn of_strings(case: &Case<'_>, wall: &WallPlan) -> Option<Known<Length>> {
    let bank = case.bank.as_ref()?;
    let series = bank.model.series;
    longest((1..=bank.strings).map(|k| {
        let device = bank.string_device.map(|_| string_device(k));
        way(wall, "a string", &modules(k, series), device)
    }))
}

/// Cables that are counted shorter than their way on the wall as it came out: the site states them so, or the wall
/// changed since they were counted.
pub(crate) fn short(case: &Case<'_>, wires: &[Wire], wall: &WallPlan) -> Vec<Finding> {
    let ways =
        [("unit.dc.conductor", of_units(case, wall)), ("battery.string.conductor", of_strings(case, wall))];
    let mut all = Vec::new();
    for (role, way) in ways {
        let (Some(way), Some(wire)) = (way, wires.iter().find(|w| w.role == role)) else { continue };
        if wire.length.value() >= way.value() {
            continue;
        }
        let message = say!(
            "{role} is counted with {length}; on the wall the longest of its cables takes {way}",
            role,
            length = wire.length.value(),
            way = way.value()
        );
        let stated = case.site.conductors.iter().find(|c| c.part.value == role && c.length.is_some());
        let found = Finding::new("run-shorter-than-wall", Severity::Warning, role, message);
        all.push(
            found
                .at(stated.map(|c| &c.part.place), say!("this run"))
                .measured(wire.length.node(), way.node())
                .fix(say!("length = \"{way}\" for it, or leave the length out", way = way.value())),
        );
    }
    all
}

/// The longest, if each of them is known.
fn longest(ways: impl Iterator<Item = Option<Known<Length>>>) -> Option<Known<Length>> {
    let all: Vec<Known<Length>> = ways.collect::<Option<_>>()?;
    Known::largest("l", "longest way of such a cable on the wall", &all)
}

/// From one of some housings by way of a device to the busbar: across and up between their middles. The first housing
/// is the nearest of them.
fn way(wall: &WallPlan, what: &str, from: &[String], device: Option<String>) -> Option<Known<Length>> {
    let middle = |part: &str| {
        let item: &PlacedItem = wall.items.iter().find(|i| i.item.part == part)?;
        let body = &item.body;
        Some((body.left.si() + body.width.si() / 2.0, body.bottom.si() + body.height.si() / 2.0))
    };
    let bus = middle(BAR)?;
    let by = match device {
        Some(device) => middle(&device)?,
        None => bus,
    };
    let apart = |a: (f64, f64), b: (f64, f64)| ((a.0 - b.0).abs(), (a.1 - b.1).abs());
    let ways = from.iter().map(|part| middle(part).map(|at| apart(at, by)));
    let first =
        ways.collect::<Option<Vec<_>>>()?.into_iter().min_by(|a, b| (a.0 + a.1).total_cmp(&(b.0 + b.1)))?;
    let second = apart(by, bus);
    let side = |symbol: &str, words: &str, m: f64| {
        let words = format!("way {words} of the cable of {what}");
        Known::chosen(
            symbol,
            words,
            Length::from_si(m),
            "places on the wall, by way of its device",
            Vec::new(),
        )
    };
    let (dx, dy) = (side("dx", "across", first.0 + second.0), side("dy", "up and down", first.1 + second.1));
    let e = Known::assumed(
        "e",
        "both ends of a cable within the housings",
        Length::from_si(CABLE_ENDS_M),
        "0.3 m at each end",
    );
    let words = format!("cable of {what} on the wall");
    Some(formula!("l", words, [dx, dy, e] => in_steps(dx + dy + e), source = "up to the next half metre"))
}
