//! Schedules of what was assessed: loads, demand, margins.

use demand::Lane;
use quantity::Quantity;
use saying::{Text, say};

use crate::{Align, Cell, Column, Dossier, Schedule};

const LEFT: Align = Align::Left;
const RIGHT: Align = Align::Right;

fn columns(of: impl IntoIterator<Item = (Text, Align)>) -> Vec<Column> {
    of.into_iter().map(|(heading, align)| Column { heading, align }).collect()
}

fn text(text: impl Into<Text>) -> Cell {
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
                site::LoadSize::Power(p) => (say!("W"), p.value.si()),
                site::LoadSize::Apparent(s) => (say!("VA"), s.value.si()),
                site::LoadSize::Current(i) => (say!("A"), i.value.si()),
                site::LoadSize::Motor(m) => (say!("W at the shaft"), m.power.value.si()),
            };
            let legs = match l.legs.value {
                site::LegWish::On(connection) => connection.to_string().into(),
                site::LegWish::AnyLeg => say!("any leg"),
                site::LegWish::AnyPair => say!("any two legs"),
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
        title: say!("Loads"),
        columns: columns([
            (say!("Load"), LEFT),
            (say!("Count"), RIGHT),
            (say!("Panel"), LEFT),
            (say!("Legs"), LEFT),
            (say!("Size of one"), RIGHT),
            (say!("Unit"), LEFT),
            (say!("Power factor"), RIGHT),
            (say!("Stage"), LEFT),
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
                Lane::Leg(leg) => Text::from(leg.to_string()),
                Lane::Total => say!("all legs"),
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
        title: say!("Demand by panel and leg"),
        columns: columns([
            (say!("Panel"), LEFT),
            (say!("Leg"), LEFT),
            (say!("Lasts at most (s)"), RIGHT),
            (say!("Power (W)"), RIGHT),
            (say!("Apparent power (VA)"), RIGHT),
        ]),
        rows,
        notes: vec![say!("No demand above a figure lasts as long as the time beside it.")],
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
                text(if m.floor { say!("at least") } else { say!("at most") }),
                Cell::Number(m.limit.amount.si),
                text(m.value.amount.unit),
                m.share().map_or(text(say!("no number")), |share| Cell::Number(100.0 * share)),
                text(verdict(dossier, m)),
                m.held_by.map_or(Cell::Empty, text),
            ]
        })
        .collect();
    Schedule {
        id: "margins",
        title: say!("Margin ledger"),
        columns: columns([
            (say!("Part"), LEFT),
            (say!("What"), LEFT),
            (say!("State"), LEFT),
            (say!("Value"), RIGHT),
            (say!("Limit is"), LEFT),
            (say!("Limit"), RIGHT),
            (say!("Unit"), LEFT),
            (say!("Margin (%)"), RIGHT),
            (say!("Verdict"), LEFT),
            (say!("Held by setting"), LEFT),
        ]),
        rows,
        notes: Vec::new(),
    }
}

/// Whether a margin holds, and where it does not, whether it makes the design fail: what its findings say of the part.
/// Without such a finding it does.
fn verdict(dossier: &Dossier<'_>, margin: &finding::Margin) -> Text {
    let of = |f: &&finding::Finding| f.part == margin.part;
    let mut found = dossier.findings.iter().filter(of).map(|f| f.severity).peekable();
    let warned = found.peek().is_some() && !found.any(finding::Severity::fails);
    match (margin.holds(), warned) {
        (true, _) => say!("holds"),
        (false, true) => say!("not held: a finding warns of it"),
        (false, false) => say!("FAILS"),
    }
}

/// Where everything hangs, from the lower left corner of the wall on the floor.
fn wall(dossier: &Dossier<'_>) -> Option<Schedule> {
    let placed = dossier.design.and_then(|d| d.placed.as_ref())?;
    let plan = placed.wall.as_ref()?;
    let inches = dossier.site.units() == site::Units::Us;
    // as on the elevation: whole millimetres, or tenths of an inch
    let (metres, parts) = if inches { (0.0254, 10.0) } else { (0.001, 1.0) };
    let number = |length: quantity::Length| Cell::Number((length.si() / metres * parts).round() / parts);
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
                text(if i.on_floor { say!("stands on the floor") } else { say!("hangs") }),
            ]
        })
        .collect();
    let heads = if inches {
        [say!("From the left (in)"), say!("Above the floor (in)"), say!("Width (in)"), say!("Height (in)")]
    } else {
        [say!("From the left (mm)"), say!("Above the floor (mm)"), say!("Width (mm)"), say!("Height (mm)")]
    };
    let [left, bottom, width, height] = heads;
    let mut notes = vec![say!("Lower left corner of each housing, from the left end of the wall.")];
    if !plan.stated {
        notes.push(say!("The site describes no wall: this is the smallest that was found to do."));
    }
    if !plan.left_over.is_empty() {
        let names: Vec<&str> = plan.left_over.iter().map(|i| i.part.as_str()).collect();
        notes.push(say!("Found no place: {names}.", names = names.join(", ")));
    }
    notes.extend(plan.not_placed.iter().map(|(what, why)| say!("Not placed: {what} ({why}).", what, why)));
    Some(Schedule {
        id: "wall",
        title: say!("Places on the wall"),
        columns: columns([
            (say!("Part"), LEFT),
            (say!("Item"), LEFT),
            (left, RIGHT),
            (bottom, RIGHT),
            (width, RIGHT),
            (height, RIGHT),
            (say!("How"), LEFT),
        ]),
        rows,
        notes,
    })
}
