//! Schedules of parts, conductors, breakers, panel, labels, addresses, settings and cables.

use std::collections::BTreeMap;

use catalog::{Breaker, Catalog};
use codebook::us::labels::{LabelFacts, labels};
use design::Design;
use plant::Layout;
use plant::full::{FullPlant, NodeKind, PartKind};
use quantity::{Current, Quantity};
use site::{DemandMethod, Earthing};

use super::lists::{count, figures, maybe, schedule, text, words};
use crate::{Cell, Schedule, Setting};

pub(super) fn of(design: &Design<'_>, catalog: &Catalog, settings: &[Setting]) -> Vec<Schedule> {
    let plant = assess::full_plant(&design.case);
    vec![
        parts(design, &plant, catalog),
        conductors(design),
        breakers(&plant, catalog),
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

/// Breakers of the plant with their poles: lines, and the neutral where it is switched. Devices of the direct-current
/// side are in the list of parts by their records.
fn placed_breakers(plant: &FullPlant) -> Vec<(String, String, Option<Current>, usize)> {
    let direct = |n: plant::NodeIx| plant.nodes.get(n.0).is_some_and(|n| n.kind == NodeKind::Dc);
    let of = plant.parts.iter().filter(|p| p.kind == PartKind::Breaker && p.lines && !direct(p.from));
    of.map(|p| {
        let neutral = usize::from(p.neutral == plant::full::NeutralPath::Switched);
        let rating = p.rating.as_ref().map(derivation::Known::value);
        (p.id.clone(), p.name.clone(), rating, plant.legs_of(p).len() + neutral)
    })
    .collect()
}

fn parts(design: &Design<'_>, plant: &FullPlant, catalog: &Catalog) -> Schedule {
    let case = &design.case;
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
    for (n, id, name, price) in of_arrays(design, catalog) {
        add(n, id, name, Some(u64::from(price)));
    }
    if let Some(g) = case.generator {
        add(1, &g.id, &g.name, Some(u64::from(g.price)));
    }
    let mut kinds: BTreeMap<(String, String), (usize, Option<u64>)> = BTreeMap::new();
    for (id, name, rating, poles) in placed_breakers(plant) {
        // the service and what stands at a generator are there, or come with it
        if id.starts_with("service") || id.starts_with("generator.breaker") {
            continue;
        }
        let found = rating.and_then(|r| breaker(catalog, r, poles));
        let key = match (found, rating) {
            (Some(b), _) => (b.id.clone(), b.name.clone()),
            (None, Some(r)) => (String::new(), format!("breaker {r}, {poles} poles: none in the catalogue")),
            (None, None) => (String::new(), format!("{name}: rating open")),
        };
        let entry = kinds.entry(key).or_insert((0, found.map(|b| u64::from(b.price))));
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
            let metres = (wire.length.value().si() * (each * wire.sets * wire.count) as f64).ceil();
            let stock = catalog.conductors.values().find(|c| c.metal == "Cu" && c.size.to_string() == *size);
            let price = stock.map(|c| u64::from(c.price_per_m_hundredths));
            let name = format!("metre of {what} conductor {size}, {}", wire.name);
            // price of a metre is in hundredths: whole units, rounded up
            let metres = whole(metres);
            let sum = price.map(|p| (p * metres).div_ceil(100));
            total += sum.unwrap_or(0);
            unpriced += usize::from(sum.is_none());
            let cell = |p: Option<u64>| p.map_or(Cell::Empty, Cell::Count);
            rows.push(vec![
                Cell::Count(metres),
                maybe(stock.map(|c| c.id.as_str())),
                text(name),
                price.map_or(Cell::Empty, |p| Cell::Number(p as f64 / 100.0)),
                cell(sum),
            ]);
        }
    }
    if let Some(placed) = &design.placed {
        for cable in placed.links.links.iter().flat_map(|l| &l.cables) {
            let name = format!("link cable {}, {}", cable.name, cable.length.value());
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
        &[open.as_str(), "raceways, fittings, labels and work are not in this list"],
    )
}

/// Modules, devices, controllers and array inverters, with their prices.
fn of_arrays<'a>(design: &'a Design<'_>, catalog: &'a Catalog) -> Vec<(usize, &'a str, &'a str, u32)> {
    let case = &design.case;
    let mut all: Vec<(usize, &str, &str, u32)> = Vec::new();
    for strings in &case.strings {
        let devices = strings.devices as usize;
        let each = devices * strings.strings as usize;
        let of = |a: &&site::Array| a.place == strings.place;
        let module = case.site.arrays.iter().find(of).and_then(|a| catalog.modules.get(&a.module.value));
        if let Some(m) = module {
            all.push((each * strings.per_string as usize, &m.id, &m.name, m.price));
        }
        if let Some(o) = &strings.output {
            all.push((devices, &o.controller.id, &o.controller.name, o.controller.price));
        }
        let guards = [
            (each, strings.guard.as_ref()),
            (devices, Some(&strings.disconnect)),
            (devices, strings.output.as_ref().map(|o| &o.guard)),
        ];
        for (n, guard) in guards {
            if let Some(d) = guard.and_then(|g| g.device) {
                all.push((n, &d.id, &d.name, d.price));
            }
        }
    }
    all.extend(
        case.arrays
            .iter()
            .map(|a| (usize::from(a.inverters), a.model.id.as_str(), a.model.name.as_str(), a.model.price)),
    );
    all
}

/// Metres are finite and small.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(metres: f64) -> u64 {
    metres.clamp(0.0, 1e9) as u64
}

fn conductors(design: &Design<'_>) -> Schedule {
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
            text(w.length.value()),
            if w.guarded { text(w.device.value()) } else { text("none needed") },
            text(w.ampacity.value()),
            text(format!("{:.1} %", 100.0 * w.drop.value().si())),
        ]
    });
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
        &[
            "copper; insulation and method as stated in the report",
            "cables of arrays that need no device carry what their sources give",
        ],
    )
}

fn breakers(plant: &FullPlant, catalog: &Catalog) -> Schedule {
    let rows = placed_breakers(plant).into_iter().map(|(id, name, rating, poles)| {
        let found = rating.and_then(|r| breaker(catalog, r, poles));
        vec![
            text(id),
            text(name),
            maybe(rating),
            count(poles),
            maybe(found.map(|b| b.id.as_str())),
            maybe(found.map(|b| b.interrupting)),
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
    let links = design.placed.iter().flat_map(|p| &p.links.links);
    let rows = links.flat_map(|link| {
        link.cables.iter().map(move |c| {
            vec![
                text(&c.name),
                text(&link.kind),
                text(link.shape.word()),
                text(&c.from),
                text(&c.to),
                text(c.length.value()),
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
