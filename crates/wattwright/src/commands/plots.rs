//! Energy and carry times for the papers: the year by month, and what an outage is carried for by when it starts.

use annual::{Made, Month, Outages, Year, duration_curve};
use design::Design;
use dossier::{Align, Cell, Column, Picture, Schedule};
use finding::Finding;
use quantity::Quantity;
use saying::{Text, say};

use super::outages::{at_share, hidden};
use super::{outages, year};
use crate::cli::Run;
use crate::files::Loaded;
use crate::stop::Stop;

/// Width of a plot in pixels: its smallest words are 7 points high on a page.
const WIDE: f64 = 860.0;

/// What the papers say of energy and outages.
#[derive(Default)]
pub(super) struct Energy {
    pub plots: Vec<Picture>,
    pub schedules: Vec<Schedule>,
    pub notes: Vec<String>,
}

/// The year and the outages of a design, by the hour, with the site's seed. What the model does not cover is said in a
/// note. None where it was stopped.
pub(super) fn energy(designed: &Design<'_>, loaded: &Loaded, stop: &mut Stop) -> Option<Energy> {
    let run = Run { step: 3600.0, seed: None, csv: None, parquet: None, plot: None };
    let site = &loaded.site.name.value;
    let wish = loaded.site.wish.outage.as_ref().map(|w| w.value.si() / 3600.0);
    let mut all = Energy::default();
    match year::found(designed, loaded, &run) {
        Ok(found) => {
            all.plots.push(plot("year", "Energy of the year", year::drawing(site, &found, WIDE)));
            all.schedules.push(months(&found.year));
            all.rests_on(&found.made);
        }
        Err(refused) => all.refused("The year", &refused),
    }
    match outages::found(designed, loaded, &run, wish, stop) {
        Ok(None) => return None,
        Ok(Some((made, found))) => {
            let svg = outages::drawing(site, &made, &found, wish, WIDE);
            all.plots.push(plot("carry-times", "Carry time of outages by their start", svg));
            all.schedules.push(carried(&found));
            all.rests_on(&made);
        }
        Err(refused) => all.refused("Outages", &refused),
    }
    Some(all)
}

impl Energy {
    fn refused(&mut self, what: &str, why: &[Finding]) {
        self.notes.extend(why.iter().map(|f| format!("{what}: {}.", f.message.trim_end_matches('.'))));
    }

    fn rests_on(&mut self, made: &Made) {
        let seed = format!("weather and runs of loads that are drawn come from seed {}", made.seed);
        for note in made.notes.iter().cloned().chain([hidden(made), seed]) {
            if !self.notes.contains(&note) {
                self.notes.push(note);
            }
        }
    }
}

fn plot(id: &str, title: &str, svg: String) -> Picture {
    Picture { id: id.to_owned(), title: title.to_owned(), svg, dxf: None, sheet_mm: None }
}

fn columns(first: Text, figures: Vec<Text>) -> Vec<Column> {
    let figures = figures.into_iter().map(|heading| Column { heading, align: Align::Right });
    std::iter::once(Column { heading: first, align: Align::Left }).chain(figures).collect()
}

/// Kilowatt-hours, to a tenth.
fn kwh(wh: f64) -> Cell {
    Cell::Number((wh / 100.0).round() / 10.0 + 0.0)
}

fn months(year: &Year) -> Schedule {
    let row = |name: &str, m: &Month| {
        let unused = m.array_wh - m.array_used_wh;
        let all =
            [m.load_wh, m.array_wh, unused, m.bought_wh, m.sold_wh, m.generated_wh, m.lost_wh, m.unserved_wh];
        std::iter::once(Cell::Text(name.to_owned().into())).chain(all.map(kwh)).collect()
    };
    let mut sum = Month::default();
    year.months.iter().for_each(|m| year::add(&mut sum, m));
    let months = year::MONTHS.iter().zip(&year.months).map(|(name, m)| row(name, m));
    Schedule {
        id: "year",
        title: say!("Energy of the year by month, in kWh"),
        columns: columns(
            say!("Month"),
            vec![
                say!("Loads"),
                say!("Array"),
                say!("Unused"),
                say!("Bought"),
                say!("Sold"),
                say!("Generator"),
                say!("Lost"),
                say!("Not served"),
            ],
        ),
        rows: months.chain([row("Year", &sum)]).collect(),
        notes: Vec::new(),
    }
}

/// Hours, to a tenth below.
fn hours(value: f64) -> Cell {
    Cell::Number((value * 10.0 + 1e-9).floor() / 10.0)
}

fn carried(outages: &Outages) -> Schedule {
    let rows = outages.rows.iter().map(|row| {
        let curve = duration_curve(&row.carry);
        let share = row.report.carried.first().map(|(_, share)| share.value().si());
        vec![
            Cell::Text(row.words.clone().into()),
            hours(row.report.worst.value().si() / 3600.0),
            hours(at_share(&curve, 0.95)),
            hours(at_share(&curve, 0.5)),
            share.map_or(Cell::Empty, |s| Cell::Number((s * 1000.0 + 1e-9).floor() / 10.0)),
        ]
    });
    Schedule {
        id: "carry",
        title: say!("How long an outage is carried, in hours"),
        columns: columns(
            say!("With"),
            vec![say!("Worst start"), say!("1 start in 20"), say!("Half of all"), say!("As wished (%)")],
        ),
        rows: rows.collect(),
        notes: vec![say!("An outage begun at each hour of the year; the battery as the year left it.")],
    }
}
