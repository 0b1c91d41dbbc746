//! Schedules of parts, conductors, breakers, panel, labels, addresses, settings and cables.

use std::collections::BTreeMap;
use std::sync::Arc;

use catalog::{Breaker, Catalog, DistributionBoard};
use derivation::{Known, Node, Origin};
use design::{Design, Label};
use plant::full::{FullPlant, designation_of, designations, gathered};
use quantity::{Current, Quantity};
use saying::say;
use site::Units;

use super::lists::{count, figures, maybe, schedule, text, told, words};
use super::{residual, soft_start};
use crate::units::{run_number, spelled, to_order, written};
use crate::{Cell, Schedule, Setting};

pub(super) fn of(design: &Design<'_>, catalog: &Catalog, settings: &[Setting]) -> Vec<Schedule> {
    let plant = assess::full_plant(&design.case);
    let names = designations(&plant);
    vec![
        parts(design, catalog),
        conductors(design, &names),
        breakers(design, &plant, &names),
        panel(design),
        label_list(design),
        addresses(design),
        setting_list(settings),
        cables(design),
    ]
}

fn parts(design: &Design<'_>, catalog: &Catalog) -> Schedule {
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
    let mut arrays: Vec<(usize, &str, &str, u32)> = Vec::new();
    for part in of_arrays(design) {
        match arrays.iter_mut().find(|there| there.1 == part.1) {
            Some(there) => there.0 += part.0,
            None => arrays.push(part),
        }
    }
    for (n, id, name, price) in arrays {
        add(n, id, name, Some(u64::from(price)));
    }
    if let Some(g) = case.generator {
        add(1, &g.id, &g.name, Some(u64::from(g.price)));
    }
    let mut boards: Vec<(&DistributionBoard, Vec<String>)> = Vec::new();
    for (board, bus) in design.distribution.iter().filter_map(|bus| Some((bus.record?, bus.part()))) {
        match boards.iter_mut().find(|(there, _)| there.id == board.id) {
            Some((_, all)) => all.push(bus),
            None => boards.push((board, vec![bus])),
        }
    }
    for (board, of) in &boards {
        let name = format!("{}, as {}", board.name, of.join(" and "));
        add(of.len(), &board.id, &name, Some(u64::from(board.price)));
    }
    let mut kinds: BTreeMap<(String, String), (usize, Option<u64>)> = BTreeMap::new();
    // the service and what stands at a generator are there, or come with it
    for choice in design.breakers.iter().filter(|b| !b.there) {
        let (poles, rating) = (choice.poles, choice.rating.as_ref().map(Known::value));
        let key = match (choice.record, rating) {
            (Some(b), _) => (b.id.clone(), b.name.clone()),
            (None, Some(r)) => {
                (String::new(), format!("breaker {r}, {poles} poles: none in the catalogue serves"))
            }
            (None, None) => (String::new(), format!("{}: rating open", choice.name)),
        };
        let entry = kinds.entry(key).or_insert((0, choice.record.map(|b| u64::from(b.price))));
        entry.0 += 1;
    }
    for ((id, name), (n, price)) in &kinds {
        add(*n, id, name, *price);
    }
    for ((what, size), (metres, runs)) in lengths(design) {
        let stock = catalog.conductors.values().find(|c| c.metal == "Cu" && c.size.to_string() == size);
        let name = format!("{unit} of {what} conductor {}, for {}", spelled(&size), kinds_of_runs(runs));
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
    for (n, what) in soft_start::parts(design) {
        unpriced += 1;
        let name = format!("{what}; made up by others: no record is one");
        rows.push(vec![count(n), Cell::Empty, text(name), Cell::Empty, Cell::Empty]);
    }
    for bus in design.distribution.iter().filter(|bus| bus.record.is_none()) {
        unpriced += 1;
        let name = format!("{}; made up by others: no record serves", bus.words());
        rows.push(vec![count(1), Cell::Empty, text(name), Cell::Empty, Cell::Empty]);
    }
    if let Some(placed) = &design.placed {
        let mut cables: BTreeMap<String, usize> = BTreeMap::new();
        for link in &placed.links.links {
            for cable in &link.cables {
                let name = format!("link cable for {}, {}", link.kind, to_order(units, cable.length.value()));
                *cables.entry(name).or_default() += 1;
            }
        }
        for (name, n) in cables {
            unpriced += 1;
            rows.push(vec![count(n), Cell::Empty, text(name), Cell::Empty, Cell::Empty]);
        }
    }
    rows.push(vec![
        Cell::Empty,
        Cell::Empty,
        text("sum of what has a price"),
        Cell::Empty,
        Cell::Count(total),
    ]);
    let open = match unpriced {
        0 => say!("every line has a price in the catalogue"),
        1 => say!("1 line has no price in the catalogue"),
        n => say!("{n} lines have no price in the catalogue", n),
    };
    schedule(
        "parts",
        say!(
            "Parts, prices in {x}",
            x = if catalog.currency.is_empty() { "the catalogue's currency" } else { &catalog.currency }
        ),
        vec![
            figures(say!("quantity")),
            words(say!("record")),
            words(say!("what")),
            figures(say!("each")),
            figures(say!("sum")),
        ],
        rows,
        vec![open, say!("raceways, fittings, labels and work are not in this list")],
    )
}

/// Metres of each kind and size of conductor over all runs, and how many kinds of run they are for.
fn lengths(design: &Design<'_>) -> BTreeMap<(&'static str, String), (f64, usize)> {
    let mut all: BTreeMap<(&'static str, String), (f64, usize)> = BTreeMap::new();
    let us = design.case.site.service.earthing.value == site::Earthing::Us;
    let protective = if us { "ground" } else { "protective" };
    for wire in &design.wires {
        for (what, size, each) in [
            ("line", Some(&wire.size), wire.lines),
            ("neutral", wire.neutral.as_ref(), 1),
            (protective, wire.ground.as_ref(), 1),
        ] {
            let Some(size) = size.filter(|_| each > 0) else { continue };
            let what = if wire.direct && what == "line" { "direct-current" } else { what };
            let metres = wire.length.value().si() * (each * wire.sets * wire.count) as f64;
            let entry = all.entry((what, size.clone())).or_default();
            entry.0 += metres;
            entry.1 += 1;
        }
    }
    all
}

fn kinds_of_runs(n: usize) -> String {
    if n == 1 { "1 kind of run".to_owned() } else { format!("{n} kinds of run") }
}

/// Modules, devices, controllers and array inverters, with their prices.
fn of_arrays<'a>(design: &'a Design<'_>) -> Vec<(usize, &'a str, &'a str, u32)> {
    let case = &design.case;
    let mut all: Vec<(usize, &str, &str, u32)> = Vec::new();
    for strings in &case.strings {
        let devices = strings.devices as usize;
        let each = strings.all() as usize;
        let m = strings.module;
        all.push((each * strings.per_string as usize, &m.id, &m.name, m.price));
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

/// Lengths and sums are finite and small.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn whole(amount: f64) -> u64 {
    amount.clamp(0.0, 1e9) as u64
}

/// Reference designation of each role, as on the drawings.
type Names = BTreeMap<String, String>;

fn conductors(design: &Design<'_>, names: &Names) -> Schedule {
    let units = design.case.site.units();
    let length = match units {
        Units::Us => say!("length (ft)"),
        Units::Metric => say!("length (m)"),
    };
    let rows = design.wires.iter().map(|w| {
        let lines = if w.lines > 0 { format!("{} x {}", w.lines, spelled(&w.size)) } else { String::new() };
        vec![
            maybe(names.get(&gathered(&w.role))),
            text(&w.name),
            count(w.count),
            count(w.sets),
            text(lines),
            maybe(w.neutral.as_ref().map(|size| spelled(size))),
            maybe(w.ground.as_ref().map(|size| spelled(size))),
            maybe(w.raceway.as_ref()),
            number(run_number(units, w.length.value())),
            if w.guarded { number(w.device.value().si()) } else { text("none needed") },
            number(w.ampacity.value().si()),
            number(100.0 * w.drop.value().si()),
            text(&w.role),
        ]
    });
    let mut notes = vec![
        say!("copper; insulation and method as stated in the report"),
        say!("cables of arrays that need no device carry what their sources give"),
    ];
    let assumed: Vec<String> = design
        .wires
        .iter()
        .filter(|w| matches!(w.length.node().origin, Origin::Assumption { .. }))
        .map(|w| names.get(&gathered(&w.role)).unwrap_or(&w.name).clone())
        .collect();
    if !assumed.is_empty() {
        notes.push(say!(
            "the lengths of {runs} are assumed, within the equipment room: measure them; a longer run may need a larger \
             conductor",
            runs = assumed.join(", ")
        ));
    }
    let us = design.case.site.service.earthing.value == site::Earthing::Us;
    if !us {
        notes.push(match design.case.site.group.cables_together.as_ref().map(|n| n.value) {
            Some(1) => {
                say!("sized for cables of units and battery that lie apart, more than two diameters from each other, and every \
                 other alone in its conduit")
            }
            Some(_) => {
                say!("cables of units and of the battery are sized for as many side by side as the site states, every other \
                 alone in its conduit")
            }
            None => {
                say!("sized for all cables of the units side by side, and all of the battery; every other alone in its conduit")
            }
        });
    }
    let order = super::direct::order(&design.case)
        .map(|order| say!("cables land along the DC busbar in this order, from one end: {order}", order));
    notes.extend(order);
    schedule(
        "conductors",
        say!("Conductors"),
        vec![
            words(say!("designation")),
            words(say!("what")),
            figures(say!("runs")),
            figures(say!("sets")),
            words(say!("lines")),
            words(say!("neutral")),
            words(if us { say!("ground") } else { say!("PE") }),
            words(say!("raceway")),
            figures(length),
            figures(say!("device ahead (A)")),
            figures(say!("carries (A)")),
            figures(say!("drop (%)")),
            words(say!("role path")),
        ],
        rows.collect(),
        notes,
    )
}

fn breakers(design: &Design<'_>, plant: &FullPlant, names: &Names) -> Schedule {
    let mut rows: Vec<Vec<Cell>> = Vec::new();
    rows.extend(design.breakers.iter().map(|choice| {
        let record = match choice.record {
            Some(b) => text(&b.id),
            None if choice.there => text("there already"),
            None => text("none serves"),
        };
        vec![
            maybe(designation_of(plant, names, &choice.part)),
            text(&choice.name),
            amperes(choice.rating.as_ref().map(Known::value)),
            count(choice.poles),
            amperes(choice.fault.as_ref().map(Known::value)),
            record,
            amperes(choice.record.map(|b| b.interrupting)),
            maybe(choice.record.and_then(voltage)),
            text(&choice.part),
        ]
    }));
    let residual = residual::rows(design);
    let mut notes = vec![
        say!("fault current: the most that all sources give together, without the impedance of any cable"),
        say!("hold what is there already against that current, too"),
        say!("branch breakers of the backup panel are in its own schedule"),
    ];
    if !residual.is_empty() {
        notes.push(say!(
            "residual current devices (RCDs) stand here by their rated residual current; their rated current, poles and type are those of whoever fits them"
        ));
    }
    rows.extend(residual);
    schedule(
        "breakers",
        say!("Breakers"),
        vec![
            words(say!("designation")),
            words(say!("what")),
            figures(say!("rating (A)")),
            figures(say!("poles")),
            figures(say!("fault current (A)")),
            words(say!("record")),
            figures(say!("breaks (A)")),
            words(say!("voltage")),
            words(say!("role path")),
        ],
        rows,
        notes,
    )
}

/// A current in the unit of its heading, or nothing.
fn amperes(current: Option<Current>) -> Cell {
    current.map_or(Cell::Empty, |I| number(I.si()))
}

/// A number to a hundredth: what a spreadsheet is to add up.
fn number(value: f64) -> Cell {
    Cell::Number((value * 100.0).round() / 100.0)
}

/// Between poles, and to earth where that is lower, as a slash rating is written.
fn voltage(b: &Breaker) -> Option<String> {
    let between = b.voltage?;
    Some(match b.voltage_to_earth {
        Some(to_earth) => format!("{:.0}/{between}", to_earth.si()),
        None => between.to_string(),
    })
}

fn panel(design: &Design<'_>) -> Schedule {
    let site = design.case.site;
    let id = &site.group.panel.value;
    let placed = &design.case.demand.balance.placements;
    let mut rows = Vec::new();
    for load in site.loads.iter().filter(|l| &l.panel.value == id) {
        let of: Vec<_> = placed.iter().filter(|p| p.load == load.name.value).collect();
        let shed = load.shed.as_ref().map(|s| s.value);
        let from = load.stage.as_ref().map_or("today", |s| s.value.as_str());
        let row =
            |n: usize, on: String| vec![text(&load.name.value), count(n), text(on), maybe(shed), text(from)];
        if of.is_empty() {
            let on = match load.legs.value {
                site::LegWish::On(connection) => connection.to_string(),
                site::LegWish::AnyLeg | site::LegWish::AnyPair => "not placed yet".to_owned(),
            };
            rows.push(row(load.count as usize, on));
        } else {
            rows.extend(of.iter().map(|p| row(p.count as usize, p.connection.to_string())));
        }
    }
    schedule(
        "panel",
        say!("Backup panel \"{id}\"", id),
        vec![
            words(say!("load")),
            figures(say!("count")),
            words(say!("connection")),
            figures(say!("shed order")),
            words(say!("from")),
        ],
        rows,
        vec![say!("branch breakers and circuits are the panel's own; the tool places loads on legs only")],
    )
}

/// The list of the code work: one decision on what is asked for.
fn label_list(design: &Design<'_>) -> Schedule {
    let columns = vec![
        words(say!("label")),
        words(say!("where")),
        words(say!("tells")),
        words(say!("shows")),
        words(say!("clause")),
    ];
    let units = design.case.site.units();
    let figure = |n: &Arc<Node>| format!("{}: {}", n.what, written(units)(&n.amount));
    let row = |l: &Label| {
        let shows: Vec<String> = l.shows.iter().map(figure).collect();
        let shows = if shows.is_empty() { Cell::Empty } else { text(shows.join("; ")) };
        vec![text(&l.key), text(&l.place), text(&l.tells), shows, text(&l.clause)]
    };
    let rows: Vec<Vec<Cell>> = design.code.labels.iter().map(row).collect();
    let note = if rows.is_empty() {
        say!("no labels could be listed: the findings say why")
    } else {
        say!("content in our words: prescribed wording stands in the code")
    };
    schedule("labels", say!("Labels"), columns, rows, vec![note])
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
                d.address.map_or(Cell::Empty, |a| Cell::Count(u64::from(a))),
                text(if d.terminated { "in" } else { "" }),
            ]
        })
    });
    schedule(
        "addresses",
        say!("Links: order, roles, addresses, terminators"),
        vec![
            words(say!("link")),
            figures(say!("position")),
            words(say!("unit")),
            words(say!("role")),
            figures(say!("address")),
            words(say!("terminator")),
        ],
        rows.collect(),
        vec![say!("position along the cable; of a star the middle first")],
    )
}

fn setting_list(settings: &[Setting]) -> Schedule {
    let rows = settings.iter().map(|s| {
        vec![
            text(s.group),
            told(&s.device),
            told(&s.name),
            told(&s.value),
            told(&s.why),
            maybe(s.from.as_ref().map(|n| n.line())),
            s.confirm.as_ref().map_or(Cell::Empty, told),
            Cell::Empty,
        ]
    });
    schedule(
        "settings",
        say!("Settings"),
        vec![
            words(say!("group")),
            words(say!("device")),
            words(say!("setting")),
            words(say!("value")),
            words(say!("why")),
            words(say!("derivation")),
            words(say!("confirm")),
            words(say!("entered")),
        ],
        rows.collect(),
        Vec::new(),
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
        say!("Link cables"),
        vec![
            words(say!("cable")),
            words(say!("kind")),
            words(say!("shape")),
            words(say!("from")),
            words(say!("to")),
            figures(say!("length")),
            words(say!("its loss cuts off")),
        ],
        rows.collect(),
        vec![say!("lengths along the wall with loops at both ends; measure before ordering")],
    )
}
