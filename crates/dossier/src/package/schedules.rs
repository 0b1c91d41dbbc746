//! Schedules of parts, conductors, breakers, panel, labels, addresses, settings and cables.

use std::collections::BTreeMap;

use catalog::{Breaker, Catalog};
use codebook::us::labels::{LabelFacts, labels};
use design::Design;
use plant::Layout;
use plant::full::{FullPlant, NodeKind, PartKind};
use quantity::{Current, Quantity};
use site::{DemandMethod, Earthing, Units};

use super::lists::{count, figures, maybe, schedule, text, words};
use crate::units::{shown, to_order};
use crate::{Cell, Schedule, Setting};

pub(super) fn of(design: &Design<'_>, catalog: &Catalog, settings: &[Setting]) -> Vec<Schedule> {
    let plant = assess::full_plant(&design.case);
    vec![
        parts(design, &plant, catalog),
        conductors(design),
        breakers(design, &plant, catalog),
        panel(design),
        label_list(design),
        addresses(design),
        setting_list(settings),
        cables(design),
    ]
}

/// The cheapest breaker that is rated for a place; ties by id.
fn breaker(catalog: &Catalog, rating: Current, poles: usize) -> Option<&Breaker> {
    let fits = |b: &&Breaker| b.poles as usize == poles && (b.rating.si() - rating.si()).abs() < 1e-9;
    catalog.breakers.values().filter(fits).min_by(|a, b| (a.price, &a.id).cmp(&(b.price, &b.id)))
}

/// A protective device where it stands in the plant.
struct Placed {
    /// Role path.
    id: String,
    name: String,
    /// Rated current as it is written.
    rating: Option<String>,
    poles: usize,
    record: Option<String>,
    record_name: Option<String>,
    /// As it is written, of its record.
    interrupting: Option<String>,
    /// Of one; none where the catalogue has none.
    price: Option<u64>,
    direct: bool,
}

/// Overcurrent devices of the plant with their poles (lines, and the neutral where it is switched) and their records: on
/// the direct-current side the chosen ones, else the cheapest of the rating.
fn placed_devices(design: &Design<'_>, plant: &FullPlant, catalog: &Catalog) -> Vec<Placed> {
    let bank = design.case.bank.as_ref();
    let of = plant.parts.iter().filter(|p| p.kind == PartKind::Breaker && p.lines);
    of.map(|p| {
        let ends = [p.from, p.to];
        let direct = ends.iter().all(|n| plant.nodes.get(n.0).is_some_and(|n| n.kind == NodeKind::Dc));
        let neutral = usize::from(p.neutral == plant::full::NeutralPath::Switched);
        let poles = if direct { 1 } else { plant.legs_of(p).len() + neutral };
        let (id, name) = (p.id.clone(), p.name.clone());
        if direct {
            let device = bank.and_then(|b| match id.split('.').next() {
                Some("battery") => b.string_device,
                Some("unit") => b.unit_device,
                _ => None,
            });
            return Placed {
                id,
                name,
                rating: p
                    .direct
                    .as_ref()
                    .map(|r| r.value().to_string())
                    .or(device.map(|d| d.rating.to_string())),
                poles,
                record: device.map(|d| d.id.clone()),
                record_name: device.map(|d| d.name.clone()),
                interrupting: device.map(|d| d.interrupting.to_string()),
                price: device.map(|d| u64::from(d.price)),
                direct,
            };
        }
        let rating = p.rating.as_ref().map(derivation::Known::value);
        let found = rating.and_then(|r| breaker(catalog, r, poles));
        Placed {
            id,
            name,
            rating: rating.map(|r| r.to_string()),
            poles,
            record: found.map(|b| b.id.clone()),
            record_name: found.map(|b| b.name.clone()),
            interrupting: found.map(|b| b.interrupting.to_string()),
            price: found.map(|b| u64::from(b.price)),
            direct,
        }
    })
    .collect()
}

fn parts(design: &Design<'_>, plant: &FullPlant, catalog: &Catalog) -> Schedule {
    let case = &design.case;
    let units = case.site.units();
    let (unit_m, unit) = match units {
        Units::Us => (0.3048, "foot"),
        Units::Metric => (1.0, "metre"),
    };
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    let mut total = 0_u64;
    let mut unpriced = 0;
    let mut add = |n: usize, id: &str, name: &str, price: Option<u64>| {
        let sum = price.map(|p| p * n as u64);
        total += sum.unwrap_or(0);
        unpriced += usize::from(price.is_none());
        let cell = |p: Option<u64>| p.map_or(Cell::Empty, Cell::Count);
        rows.push(vec![count(n), text(id), text(name), cell(price), cell(sum)]);
    };
    let u = case.unit;
    add(case.formation.units() as usize, &u.id, &u.name, Some(u64::from(u.price)));
    for t in [case.transfer, case.source_switch].into_iter().flatten() {
        add(1, &t.id, &t.name, Some(u64::from(t.price)));
    }
    if let Some(b) = case.bypass {
        add(1, &b.id, &b.name, Some(u64::from(b.price)));
    }
    if let Some(f) = case.former {
        add(1, &f.id, &f.name, Some(u64::from(f.price)));
    }
    if let Some(bank) = &case.bank {
        let m = bank.model;
        add((bank.strings * m.series) as usize, &m.id, &m.name, Some(u64::from(m.price)));
        for (n, device) in [(bank.strings, bank.string_device), (case.formation.units(), bank.unit_device)] {
            if let Some(d) = device {
                add(n as usize, &d.id, &d.name, Some(u64::from(d.price)));
            }
        }
        if let Some(b) = bank.busbar {
            add(1, &b.id, &b.name, Some(u64::from(b.price)));
        }
    }
    if let Some(g) = case.generator {
        add(1, &g.id, &g.name, Some(u64::from(g.price)));
    }
    let mut kinds: BTreeMap<(String, String), (usize, Option<u64>)> = BTreeMap::new();
    for device in placed_devices(design, plant, catalog) {
        // the service and what stands at a generator are there, or come with it; devices of the bank are listed with it
        if device.id.starts_with("service") || device.id.starts_with("generator.breaker") || device.direct {
            continue;
        }
        let key = match (device.record, device.record_name, device.rating) {
            (Some(id), Some(name), _) => (id, name),
            (_, _, Some(rating)) => {
                (String::new(), format!("breaker {rating}, {} poles: none in the catalogue", device.poles))
            }
            _ => (String::new(), format!("{}: rating open", device.name)),
        };
        let entry = kinds.entry(key).or_insert((0, device.price));
        entry.0 += 1;
    }
    for ((id, name), (n, price)) in &kinds {
        add(*n, id, name, *price);
    }
    for wire in &design.wires {
        for (what, size, each) in [
            ("line", Some(&wire.size), wire.lines),
            ("neutral", wire.neutral.as_ref(), 1),
            ("ground", wire.ground.as_ref(), 1),
        ] {
            let Some(size) = size.filter(|_| each > 0) else { continue };
            let metres = wire.length.value().si() * (each * wire.sets * wire.count) as f64;
            let stock = catalog.conductors.values().find(|c| c.metal == "Cu" && c.size.to_string() == *size);
            let name = format!("{unit} of {what} conductor {size}, {}", wire.name);
            // whole metres or feet, and whole units of money, both up
            let count = whole((metres / unit_m - 1e-9).ceil());
            let price = stock.map(|c| f64::from(c.price_per_m_hundredths) / 100.0 * unit_m);
            let sum = price.map(|p| whole((p * count as f64 - 1e-9).ceil()));
            total += sum.unwrap_or(0);
            unpriced += usize::from(sum.is_none());
            rows.push(vec![
                Cell::Count(count),
                maybe(stock.map(|c| c.id.as_str())),
                text(name),
                price.map_or(Cell::Empty, |p| Cell::Number((p * 100.0).ceil() / 100.0)),
                sum.map_or(Cell::Empty, Cell::Count),
            ]);
        }
    }
    if let Some(placed) = &design.placed {
        for cable in placed.links.links.iter().flat_map(|l| &l.cables) {
            let name = format!("link cable {}, {}", cable.name, to_order(units, cable.length.value()));
            unpriced += 1;
            rows.push(vec![count(1), Cell::Empty, text(name), Cell::Empty, Cell::Empty]);
        }
    }
    rows.push(vec![
        Cell::Empty,
        Cell::Empty,
        text("sum of what has a price"),
        Cell::Empty,
        Cell::Count(total),
    ]);
    let open = format!("{unpriced} lines have no price in the catalogue");
    schedule(
        "parts",
        &format!(
            "Parts, prices in {}",
            if catalog.currency.is_empty() { "the catalogue's currency" } else { &catalog.currency }
        ),
        vec![figures("quantity"), words("record"), words("what"), figures("each"), figures("sum")],
        rows,
        &[
            open.as_str(),
            "array, raceways, fittings, labels and work are not in this list; breakers are found by rating and poles alone",
        ],
    )
}

/// Lengths and sums are finite and small.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(amount: f64) -> u64 {
    amount.clamp(0.0, 1e9) as u64
}

fn conductors(design: &Design<'_>) -> Schedule {
    let units = design.case.site.units();
    let rows = design.wires.iter().map(|w| {
        let lines = if w.lines > 0 { format!("{} x {}", w.lines, w.size) } else { String::new() };
        vec![
            text(&w.role),
            text(&w.name),
            count(w.count),
            count(w.sets),
            text(lines),
            maybe(w.neutral.as_ref()),
            maybe(w.ground.as_ref()),
            maybe(w.raceway.as_ref()),
            text(shown(units, w.length.value())),
            text(w.device.value()),
            text(w.ampacity.value()),
            text(format!("{:.1} %", 100.0 * w.drop.value().si())),
        ]
    });
    let open = if design.wires.iter().any(|w| w.role.starts_with("battery")) {
        "of the direct-current side: battery strings and units; the conductors of arrays on it are not in this list"
    } else {
        "the direct-current side is not in this list"
    };
    schedule(
        "conductors",
        "Conductors",
        vec![
            words("run"),
            words("what"),
            figures("runs"),
            figures("sets"),
            words("lines"),
            words("neutral"),
            words("ground"),
            words("raceway"),
            figures("length"),
            figures("device ahead"),
            figures("carries"),
            figures("drop"),
        ],
        rows.collect(),
        &["copper; insulation and method as stated in the report", open],
    )
}

fn breakers(design: &Design<'_>, plant: &FullPlant, catalog: &Catalog) -> Schedule {
    let rows = placed_devices(design, plant, catalog).into_iter().map(|d| {
        vec![
            text(d.id),
            text(d.name),
            maybe(d.rating),
            if d.direct { Cell::Empty } else { count(d.poles) },
            maybe(d.record),
            maybe(d.interrupting),
        ]
    });
    schedule(
        "breakers",
        "Breakers",
        vec![
            words("place"),
            words("what"),
            figures("rating"),
            figures("poles"),
            words("record"),
            figures("interrupting"),
        ],
        rows.collect(),
        &[
            "a line without a record has no breaker of this rating in the catalogue",
            "alternating-current records are found by rating and poles alone: before ordering, hold their interrupting rating against the fault current at the place",
            "branch breakers of the backup panel are in its own schedule",
        ],
    )
}

fn panel(design: &Design<'_>) -> Schedule {
    let site = design.case.site;
    let id = &site.group.panel.value;
    let placed = &design.case.demand.balance.placements;
    let mut rows = Vec::new();
    for load in site.loads.iter().filter(|l| &l.panel.value == id) {
        let of: Vec<_> = placed.iter().filter(|p| p.load == load.name.value).collect();
        let shed = load.shed.as_ref().map(|s| s.value);
        let row = |n: usize, on: String| vec![text(&load.name.value), count(n), text(on), maybe(shed)];
        if of.is_empty() {
            let on = match load.legs.value {
                site::LegWish::On(connection) => connection.to_string(),
                site::LegWish::AnyLeg | site::LegWish::AnyPair => "not placed".to_owned(),
            };
            rows.push(row(load.count as usize, on));
        } else {
            rows.extend(of.iter().map(|p| row(p.count as usize, p.connection.to_string())));
        }
    }
    schedule(
        "panel",
        &format!("Backup panel \"{id}\""),
        vec![words("load"), figures("count"), words("connection"), figures("shed order")],
        rows,
        &["branch breakers and circuits are the panel's own; the tool places loads on legs only"],
    )
}

fn label_list(design: &Design<'_>) -> Schedule {
    let case = &design.case;
    let site = case.site;
    let us = site.service.earthing.value == Earthing::Us;
    let utility = case.layout != Layout::Islanded;
    let facts = LabelFacts {
        storage: true,
        dwelling: matches!(
            site.demand,
            DemandMethod::DwellingStandard(_) | DemandMethod::DwellingOptional(_)
        ),
        utility,
        parallel: utility,
        source_breaker_at_end: utility,
        standby: utility,
        ..LabelFacts::default()
    };
    let columns = vec![words("label"), words("where"), words("tells"), words("clause")];
    let title = "Labels";
    if !us {
        let note = "labels are listed for the US book only: ask for those of the country and of the utility";
        return schedule("labels", title, columns, Vec::new(), &[note]);
    }
    match labels(&facts) {
        Ok(found) => {
            let rows = found
                .into_iter()
                .map(|l| {
                    let source = if l.verification.confirm() {
                        format!("{} (confirm)", l.source)
                    } else {
                        l.source.clone()
                    };
                    vec![text(l.key), text(l.place), text(l.tells), text(source)]
                })
                .collect();
            let array = "an array and its labels are not in this list";
            schedule(
                "labels",
                title,
                columns,
                rows,
                &["content in our words: prescribed wording stands in the code", array],
            )
        }
        Err(refused) => schedule("labels", title, columns, Vec::new(), &[refused.to_string().as_str()]),
    }
}

fn addresses(design: &Design<'_>) -> Schedule {
    let links = design.placed.iter().flat_map(|p| &p.links.links);
    let rows = links.flat_map(|link| {
        link.devices.iter().enumerate().map(move |(k, d)| {
            vec![
                text(&link.name),
                count(k + 1),
                text(&d.part),
                text(if d.lead { "lead unit" } else { "follower" }),
                maybe(d.address),
                text(if d.terminated { "in" } else { "" }),
            ]
        })
    });
    schedule(
        "addresses",
        "Links: order, roles, addresses, terminators",
        vec![
            words("link"),
            figures("position"),
            words("unit"),
            words("role"),
            figures("address"),
            words("terminator"),
        ],
        rows.collect(),
        &["position along the cable; of a star the middle first"],
    )
}

fn setting_list(settings: &[Setting]) -> Schedule {
    let rows = settings.iter().map(|s| {
        vec![
            text(s.group),
            text(&s.device),
            text(&s.name),
            text(&s.value),
            text(&s.why),
            maybe(s.from.as_ref().map(|n| n.line())),
            maybe(s.confirm.as_ref()),
            Cell::Empty,
        ]
    });
    schedule(
        "settings",
        "Settings",
        vec![
            words("group"),
            words("device"),
            words("setting"),
            words("value"),
            words("why"),
            words("derivation"),
            words("confirm"),
            words("entered"),
        ],
        rows.collect(),
        &[],
    )
}

fn cables(design: &Design<'_>) -> Schedule {
    let units = design.case.site.units();
    let links = design.placed.iter().flat_map(|p| &p.links.links);
    let rows = links.flat_map(|link| {
        link.cables.iter().map(move |c| {
            vec![
                text(&c.name),
                text(&link.kind),
                text(link.shape.word()),
                text(&c.from),
                text(&c.to),
                text(to_order(units, c.length.value())),
                text(c.cuts_off.join(", ")),
            ]
        })
    });
    schedule(
        "cables",
        "Link cables",
        vec![
            words("cable"),
            words("kind"),
            words("shape"),
            words("from"),
            words("to"),
            figures("length"),
            words("its loss cuts off"),
        ],
        rows.collect(),
        &["lengths along the wall with loops at both ends; measure before ordering"],
    )
}
