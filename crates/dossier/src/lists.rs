//! Schedules of what was assessed: loads, demand, margins.

use demand::Lane;
use quantity::Quantity;

use crate::{Align, Cell, Column, Dossier, Schedule};

const LEFT: Align = Align::Left;
const RIGHT: Align = Align::Right;

fn columns(of: &[(&'static str, Align)]) -> Vec<Column> {
    of.iter().map(|&(heading, align)| Column { heading, align }).collect()
}

fn text(text: impl Into<String>) -> Cell {
    Cell::Text(text.into())
}

/// Schedules of loads, demand and margins.
pub fn schedules(dossier: &Dossier<'_>) -> Vec<Schedule> {
    let mut all = vec![loads(dossier), demand(dossier)];
    if dossier.design.is_some() {
        all.push(margins(dossier));
        all.extend(wall(dossier));
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
                text(m.what.as_str()),
                text(&m.state),
                Cell::Number(m.value.amount.si),
                text(if m.floor { "at least" } else { "at most" }),
                Cell::Number(m.limit.amount.si),
                text(m.value.amount.unit),
                m.share().map_or(text("no number"), |share| Cell::Number(100.0 * share)),
                text(verdict(dossier, m)),
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

/// Whether a margin holds, and where it does not, whether it makes the design fail: what its findings say of the part.
/// Without such a finding it does.
fn verdict(dossier: &Dossier<'_>, margin: &finding::Margin) -> &'static str {
    let of = |f: &&finding::Finding| f.part == margin.part;
    let mut found = dossier.findings.iter().filter(of).map(|f| f.severity).peekable();
    let warned = found.peek().is_some() && !found.any(finding::Severity::fails);
    match (margin.holds(), warned) {
        (true, _) => "holds",
        (false, true) => "not held: a finding warns of it",
        (false, false) => "FAILS",
    }
}

/// Where everything hangs, from the lower left corner of the wall on the floor.
fn wall(dossier: &Dossier<'_>) -> Option<Schedule> {
    let placed = dossier.design.and_then(|d| d.placed.as_ref())?;
    let plan = placed.wall.as_ref()?;
    let inches = dossier.site.units() == site::Units::Us;
    let metres = if inches { 0.0254 } else { 0.001 };
    let number = |length: quantity::Length| Cell::Number(length.si() / metres);
    let rows = plan
        .items
        .iter()
        .map(|i| {
            vec![
                text(&i.item.part),
                text(&i.item.name),
                number(i.body.left),
                number(i.body.bottom),
                number(i.body.width),
                number(i.body.height),
                text(if i.on_floor { "stands on the floor" } else { "hangs" }),
            ]
        })
        .collect();
    let heads = if inches {
        ["From the left (in)", "Above the floor (in)", "Width (in)", "Height (in)"]
    } else {
        ["From the left (mm)", "Above the floor (mm)", "Width (mm)", "Height (mm)"]
    };
    let [left, bottom, width, height] = heads;
    let mut notes = vec!["Lower left corner of each housing, from the left end of the wall.".to_owned()];
    if !plan.stated {
        notes.push("The site describes no wall: this is the smallest that was found to do.".to_owned());
    }
    if !plan.left_over.is_empty() {
        let names: Vec<&str> = plan.left_over.iter().map(|i| i.part.as_str()).collect();
        notes.push(format!("Found no place: {}.", names.join(", ")));
    }
    notes.extend(plan.not_placed.iter().map(|(what, why)| format!("Not placed: {what} ({why}).")));
    Some(Schedule {
        id: "wall",
        title: "Places on the wall".to_owned(),
        columns: columns(&[
            ("Part", LEFT),
            ("Item", LEFT),
            (left, RIGHT),
            (bottom, RIGHT),
            (width, RIGHT),
            (height, RIGHT),
            ("How", LEFT),
        ]),
        rows,
        notes,
    })
}
