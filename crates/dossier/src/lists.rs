//! Schedules of what the design has: bill of materials, conductors, loads, demand, margins.

use catalog::Catalog;
use demand::Lane;
use quantity::Quantity;

use crate::units::{length_unit, spelled};
use crate::{Align, Cell, Column, Dossier, Schedule};

const LEFT: Align = Align::Left;
const RIGHT: Align = Align::Right;

fn columns(of: &[(&'static str, Align)]) -> Vec<Column> {
    of.iter().map(|&(heading, align)| Column { heading, align }).collect()
}

fn text(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

fn maybe(value: Option<&String>) -> Cell {
    value.map_or(Cell::Empty, |v| text(spelled(v)))
}

fn count(n: usize) -> Cell {
    Cell::Count(n as u64)
}

/// All schedules that a design alone gives.
pub fn schedules(dossier: &Dossier<'_>, catalog: &Catalog) -> Vec<Schedule> {
    let mut all = vec![loads(dossier), demand(dossier)];
    if dossier.design.is_some() {
        all.extend([bill(dossier, catalog), conductors(dossier), margins(dossier)]);
    }
    all
}

/// The loads as the site lists them.
fn loads(dossier: &Dossier<'_>) -> Schedule {
    let site = dossier.site;
    let rows = site
        .loads
        .iter()
        .map(|l| {
            let (unit, size) = match &l.size {
                site::LoadSize::Power(p) => ("W", p.value.si()),
                site::LoadSize::Apparent(s) => ("VA", s.value.si()),
                site::LoadSize::Current(i) => ("A", i.value.si()),
                site::LoadSize::Motor(m) => ("W at the shaft", m.power.value.si()),
            };
            let legs = match l.legs.value {
                site::LegWish::On(connection) => connection.to_string(),
                site::LegWish::AnyLeg => "any leg".to_owned(),
                site::LegWish::AnyPair => "any two legs".to_owned(),
            };
            let stage = l.stage.as_ref().map_or("today".to_owned(), |s| s.value.clone());
            vec![
                text(&l.name.value),
                Cell::Count(u64::from(l.count)),
                text(&l.panel.value),
                text(legs),
                Cell::Number(size),
                text(unit),
                l.power_factor.as_ref().map_or(Cell::Empty, |p| Cell::Number(p.value.si())),
                text(stage),
            ]
        })
        .collect();
    Schedule {
        id: "loads",
        title: "Loads".to_owned(),
        columns: columns(&[
            ("Load", LEFT),
            ("Count", RIGHT),
            ("Panel", LEFT),
            ("Legs", LEFT),
            ("Size of one", RIGHT),
            ("Unit", LEFT),
            ("Power factor", RIGHT),
            ("Stage", LEFT),
        ]),
        rows,
        notes: Vec::new(),
    }
}

/// What each leg of each panel carries at most, by how long.
fn demand(dossier: &Dossier<'_>) -> Schedule {
    let mut rows = Vec::new();
    for (id, panel) in &dossier.assessment.panels {
        for (lane, found) in &panel.lanes {
            let lane = match lane {
                Lane::Leg(leg) => leg.to_string(),
                Lane::Total => "all legs".to_owned(),
            };
            for point in &found.curve {
                rows.push(vec![
                    text(id),
                    text(&lane),
                    Cell::Number(point.lasts.si()),
                    Cell::Number(point.power.value().si()),
                    Cell::Number(point.apparent.value().si()),
                ]);
            }
        }
    }
    Schedule {
        id: "demand",
        title: "Demand by panel and leg".to_owned(),
        columns: columns(&[
            ("Panel", LEFT),
            ("Leg", LEFT),
            ("Lasts at most (s)", RIGHT),
            ("Power (W)", RIGHT),
            ("Apparent power (VA)", RIGHT),
        ]),
        rows,
        notes: vec!["No demand above a figure lasts as long as the time beside it.".to_owned()],
    }
}

/// Every line of the ledger, the tightest first.
fn margins(dossier: &Dossier<'_>) -> Schedule {
    let ledger = dossier.design.map(|d| d.assessed.ledger.tightest()).unwrap_or_default();
    let rows = ledger
        .into_iter()
        .map(|m| {
            vec![
                text(&m.part),
                text(&m.what),
                text(&m.state),
                Cell::Number(m.value.amount.si),
                text(if m.floor { "at least" } else { "at most" }),
                Cell::Number(m.limit.amount.si),
                text(m.value.amount.unit),
                m.share().map_or(text("no number"), |share| Cell::Number(100.0 * share)),
                text(if m.holds() { "holds" } else { "FAILS" }),
                m.held_by.map_or(Cell::Empty, text),
            ]
        })
        .collect();
    Schedule {
        id: "margins",
        title: "Margin ledger".to_owned(),
        columns: columns(&[
            ("Part", LEFT),
            ("What", LEFT),
            ("State", LEFT),
            ("Value", RIGHT),
            ("Limit is", LEFT),
            ("Limit", RIGHT),
            ("Unit", LEFT),
            ("Margin (%)", RIGHT),
            ("Verdict", LEFT),
            ("Held by setting", LEFT),
        ]),
        rows,
        notes: Vec::new(),
    }
}

/// The conductor schedule, a run or kind of run a line.
fn conductors(dossier: &Dossier<'_>) -> Schedule {
    let (unit, metres) = length_unit(dossier.site.units());
    let length = if unit == "ft" { "Length, one way (ft)" } else { "Length, one way (m)" };
    let wires = dossier.design.iter().flat_map(|d| &d.wires);
    let rows = wires
        .map(|w| {
            vec![
                text(&w.name),
                count(w.count),
                count(w.sets),
                if w.lines > 0 { count(w.lines) } else { Cell::Empty },
                if w.lines > 0 { text(spelled(&w.size)) } else { Cell::Empty },
                maybe(w.neutral.as_ref()),
                maybe(w.ground.as_ref()),
                maybe(w.raceway.as_ref()),
                Cell::Number(w.length.value().si() / metres),
                Cell::Number(w.device.value().si()),
                Cell::Number(w.required.value().si()),
                Cell::Number(w.ampacity.value().si()),
                Cell::Number(100.0 * w.drop.value().si()),
            ]
        })
        .collect();
    Schedule {
        id: "conductors",
        title: "Conductors".to_owned(),
        columns: columns(&[
            ("Run", LEFT),
            ("Runs", RIGHT),
            ("Sets", RIGHT),
            ("Lines", RIGHT),
            ("Line size", LEFT),
            ("Neutral", LEFT),
            ("Protective conductor", LEFT),
            ("Raceway", LEFT),
            (length, RIGHT),
            ("Device ahead (A)", RIGHT),
            ("Must carry (A)", RIGHT),
            ("May carry (A)", RIGHT),
            ("Drop (%)", RIGHT),
        ]),
        rows,
        notes: vec![if dossier.site.service.earthing.value == site::Earthing::Us {
            "Copper, 90 °C insulation, in EMT; NEC 2023. Lengths are one way and without slack.".to_owned()
        } else {
            "Copper, multicore PVC cable in conduit on a wall; IEC 60364. Lengths are one way and without slack."
                .to_owned()
        }],
    }
}

/// One kind of conductor to be bought.
struct Bought {
    size: String,
    metres: f64,
}

/// Devices and conductors with the catalogue's prices.
fn bill(dossier: &Dossier<'_>, catalog: &Catalog) -> Schedule {
    let mut rows = Vec::new();
    let mut total = 0.0;
    let mut unpriced = Vec::new();
    let mut line = |part: &str, id: &str, name: &str, number: f64, unit: &str, price: Option<f64>| {
        if let Some(price) = price {
            total += number * price;
        } else {
            unpriced.push(name.to_owned());
        }
        rows.push(vec![
            text(part),
            text(id),
            text(name),
            Cell::Number(number),
            text(unit),
            price.map_or(Cell::Empty, Cell::Number),
            price.map_or(Cell::Empty, |p| Cell::Number(cents(number * p))),
        ]);
    };
    if let Some(design) = dossier.design {
        let case = &design.case;
        let each = |price: u32| Some(f64::from(price));
        let n = f64::from(case.formation.units());
        line("units", &case.unit.id, &case.unit.name, n, "pcs", each(case.unit.price));
        for (part, switch) in [("transfer", case.transfer), ("source switch", case.source_switch)] {
            if let Some(s) = switch {
                line(part, &s.id, &s.name, 1.0, "pcs", each(s.price));
            }
        }
        if let Some(b) = case.bypass {
            line("bypass", &b.id, &b.name, 1.0, "pcs", each(b.price));
        }
        if let Some(f) = case.former {
            line("neutral former", &f.id, &f.name, 1.0, "pcs", each(f.price));
        }
        if let Some(g) = case.generator {
            line("generator", &g.id, &g.name, 1.0, "pcs", each(g.price));
        }
        let (unit, metres) = length_unit(dossier.site.units());
        for bought in conductors_bought(dossier) {
            let stock =
                catalog.conductors.values().find(|c| c.size.to_string() == bought.size && c.metal == "Cu");
            let price = stock.map(|c| f64::from(c.price_per_m_hundredths) / 100.0 * metres);
            let name = format!("copper conductor {}", spelled(&bought.size));
            let id = stock.map_or("", |c| c.id.as_str());
            // whole feet or metres, upwards
            let number = libm::ceil(bought.metres / metres - 1e-9);
            line("conductors", id, &name, number, unit, price);
        }
    }
    rows.push(vec![
        text("total of the lines with a price"),
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        Cell::Empty,
        Cell::Number(cents(total)),
    ]);
    let currency = if catalog.currency.is_empty() { "no currency stated" } else { &catalog.currency };
    let mut notes = vec![
        format!(
            "Prices in {currency}, from the catalogue; without tax, freight, labour, raceways, lugs and labels."
        ),
        "Conductors: line, neutral and protective conductors of the schedule, without slack or waste."
            .to_owned(),
    ];
    if !unpriced.is_empty() {
        notes
            .push(format!("Without a price in the catalogue, so not in the total: {}.", unpriced.join(", ")));
    }
    Schedule {
        id: "bill",
        title: "Bill of materials".to_owned(),
        columns: columns(&[
            ("For", LEFT),
            ("Catalogue id", LEFT),
            ("Item", LEFT),
            ("Number", RIGHT),
            ("Unit", LEFT),
            ("Price of one", RIGHT),
            ("Price", RIGHT),
        ]),
        rows,
        notes,
    }
}

fn cents(amount: f64) -> f64 {
    libm::round(amount * 100.0) / 100.0
}

/// Conductor lengths by size, all runs together. Multicore sizes stand as they are.
fn conductors_bought(dossier: &Dossier<'_>) -> Vec<Bought> {
    let mut all: Vec<Bought> = Vec::new();
    let mut add = |size: &str, metres: f64| {
        if metres <= 0.0 {
            return;
        }
        match all.iter_mut().find(|b| b.size == size) {
            Some(b) => b.metres += metres,
            None => all.push(Bought { size: size.to_owned(), metres }),
        }
    };
    for w in dossier.design.iter().flat_map(|d| &d.wires) {
        let each = (w.count * w.sets) as f64 * w.length.value().si();
        add(&w.size, each * w.lines as f64);
        for single in [&w.neutral, &w.ground].into_iter().flatten() {
            add(single, each);
        }
    }
    all
}
