//! `outages`: how long an outage is carried that starts at any hour of the year.

use std::fmt::Write as _;

use annual::{Asked, Made, Outages, Row, cause_words, duration_curve, make, outages, when};
use chart::{Below, Curve, Curves, HeatMap, Sheet, curves, heat_map};
use design::{Design, prepare};
use dossier::{CAUTIONS, Dossier};
use energy::outage::{Band, Season};
use finding::Finding;
use quantity::Quantity;
use serde_json::{Value, json};

use crate::Status;
use crate::cli::{self, Run};
use crate::files::Loaded;
use crate::output;
use crate::series::{self, Column, Columns};
use crate::stop::Stop;

/// Name of the JSON.
const SCHEMA: &str = "wattwright-outages/1";

pub(crate) fn run(args: &cli::Outages, json: bool) -> Status {
    let mut stop = Stop::listen();
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = match prepare(&loaded.site, &loaded.catalog, &assessment) {
        Ok(prepared) => prepared,
        Err(refused) => return super::prove::no_design(SCHEMA, &refused, &loaded.sources, json),
    };
    let designed = super::designed(&prepared, &loaded);
    let wish = loaded.site.wish.outage.as_ref().map(|w| w.value.si() / 3600.0);
    let found = found(&designed, &loaded, &args.run, wish, &mut stop);
    stop.finish();
    let (made, outages) = match found {
        Err(refused) => return super::prove::no_design(SCHEMA, &refused, &loaded.sources, json),
        Ok(None) => {
            output::complain("stopped: nothing was written");
            return Status::Stopped;
        }
        Ok(Some(both)) => both,
    };
    let name = &loaded.site.name.value;
    let files =
        match series::write(&args.run, &columns(&made, &outages), || drawing(name, &made, &outages, wish)) {
            Ok(files) => files,
            Err(error) => {
                output::complain(&format!("error: {error}"));
                return Status::BadInput;
            }
        };
    let dossier = Dossier::new(&loaded.site, &assessment, Ok(&designed));
    if json {
        output::say_json(&to_json(&dossier, &made, &outages, wish));
    } else {
        output::say(&text(name, &made, &outages, wish));
        for file in files {
            output::say(&format!("written: {file}"));
        }
        if dossier.fails() {
            output::say("the design does not hold: see `wattwright check`");
        }
        output::say(&CAUTIONS.join("\n"));
    }
    if dossier.fails() { Status::Findings } else { Status::Fine }
}

fn found(
    designed: &Design<'_>,
    loaded: &Loaded,
    run: &Run,
    wish: Option<f64>,
    stop: &mut Stop,
) -> Result<Option<(Made, Outages)>, Vec<Finding>> {
    let asked = Asked { step_s: run.step, seed: run.seed };
    let made = make(designed, &loaded.catalog, &loaded.files, asked)?;
    let hours: Vec<f64> = wish.into_iter().collect();
    let outages = outages(&made, &hours, &mut |done| stop.go_on(done))?;
    Ok(outages.map(|outages| (made, outages)))
}

/// Hours with one decimal, rounded down: never longer than it was.
pub(crate) fn hours(value: f64) -> String {
    format!("{:.1} h", (value * 10.0 + 1e-9).floor() / 10.0)
}

fn at_share(curve: &[(f64, f64)], share: f64) -> f64 {
    // the longest time that at least so many starts are carried for
    curve.iter().find(|(_, carried)| *carried >= share - 1e-12).map_or(0.0, |(h, _)| *h)
}

/// How many of all, never rounded up to all.
pub(crate) fn part(share: f64) -> String {
    if share >= 1.0 { "all".to_owned() } else { format!("{:.1} %", (share * 1000.0).floor() / 10.0) }
}

/// How many are carried shorter, of the share that is carried: never rounded to none or to all, which have no number.
fn part_short(carried: f64) -> Option<String> {
    let percent = 100.0 * (1.0 - carried);
    match percent {
        p if p <= 0.0 || p >= 100.0 => None,
        p if p < 1.0 => Some(format!("{:.2} %", (p * 100.0 - 1e-9).ceil() / 100.0)),
        p => Some(format!("{:.1} %", ((p * 10.0 - 1e-9).ceil() / 10.0).min(99.9))),
    }
}

fn text(site: &str, made: &Made, outages: &Outages, wish: Option<f64>) -> String {
    let (title, what) = if made.has_utility() {
        ("how long an outage is carried", "an outage")
    } else {
        ("how long the battery carries with nothing coming in", "a time without sun and generator")
    };
    let mut out = format!("{site}: {title}\n");
    let starts = made.array_w.len();
    let _ = writeln!(
        out,
        "{what} started at each of the {} steps of a year ({} min each, seed {}); the battery as the year left it",
        output::grouped(&starts.to_string()),
        made.step_s / 60.0,
        made.seed
    );
    battery_line(&mut out, made);
    let wished = wish.map_or(String::new(), |w| format!("{:>16}", format!("carried {w} h")));
    let _ = writeln!(out, "\n{:>10}{:>10}{:>10}{wished}", "worst", "1 in 20", "half");
    for row in &outages.rows {
        let curve = duration_curve(&row.carry);
        let worst = row.report.worst.value().si() / 3600.0;
        let share = row.report.carried.first().map(|(_, share)| part(share.value().si()));
        let share = share.map_or(String::new(), |s| format!("{s:>16}"));
        let head = format!(
            "{:>10}{:>10}{:>10}{share}   ",
            hours(worst),
            hours(at_share(&curve, 0.95)),
            hours(at_share(&curve, 0.5))
        );
        lines(&mut out, &head, &row.words);
    }
    out.push_str("\nworst starts\n");
    for row in &outages.rows {
        let start = when(row.report.worst_start, made.step_s);
        let lasts = hours(row.report.worst.value().si() / 3600.0);
        let cause = cause_words(row.report.worst_ended_by);
        lines(&mut out, &format!("  {start:<20}{lasts:>8}   "), &format!("{}: then {cause}", row.words));
    }
    if let Some(row) = outages.all_loads() {
        seasons(&mut out, row);
    }
    out.push_str("\nwhat this rests on\n");
    for note in made.notes.iter().cloned().chain([hidden(made)]) {
        lines(&mut out, "  ", &note);
    }
    assumed(&mut out, made);
    out
}

/// The figures that are assumed, one a line.
pub(crate) fn assumed(out: &mut String, made: &Made) {
    for node in derivation::assumptions(made.figures.iter()) {
        let why = node.source();
        let why = why.strip_prefix("assumed: ").unwrap_or(&why);
        lines(out, "  ", &format!("{} {}: {why}", node.what, node.amount.text));
    }
}

/// What the step does not show.
pub(crate) fn hidden(made: &Made) -> String {
    format!(
        "steps of {} min hide motor starts, peaks and trips shorter than that, reactive power and the legs by themselves: `check` looks at those",
        made.step_s / 60.0
    )
}

pub(crate) fn battery_line(out: &mut String, made: &Made) {
    let b = &made.design.battery;
    let array: f64 = (0..made.array_w.len()).map(|k| made.arrays_w(k)).sum::<f64>() * made.step_s / 3600.0;
    let array =
        if array > 0.0 { format!("array {:.0} kWh a year", array / 1000.0) } else { "no array".to_owned() };
    let load: f64 = made.loads.tiers_w.iter().flatten().sum::<f64>() * made.step_s / 3600.0 / 365.0;
    let _ = writeln!(
        out,
        "battery {:.1} kWh, {:.1} kWh of it usable, {:.1} kWh kept for outages; loads {:.1} kWh a day on average; {array}",
        b.capacity_wh / 1000.0,
        (b.capacity_wh - b.floor_wh) / 1000.0,
        (b.reserve_wh - b.floor_wh) / 1000.0,
        load / 1000.0
    );
}

/// Words in lines that fit a terminal, the first behind a head.
pub(crate) fn lines(out: &mut String, head: &str, text: &str) {
    let indent = head.chars().count();
    for (k, line) in output::wrapped(text, 110_usize.saturating_sub(indent + 2)).iter().enumerate() {
        let _ = if k == 0 { writeln!(out, "{head}{line}") } else { writeln!(out, "{:indent$}  {line}", "") };
    }
}

fn season_word(season: Season) -> &'static str {
    match season {
        Season::DecFeb => "Dec to Feb",
        Season::MarMay => "Mar to May",
        Season::JunAug => "Jun to Aug",
        Season::SepNov => "Sep to Nov",
    }
}

/// A figure of a band, with its name.
type Figure = (&'static str, fn(&Band) -> f64);

fn seasons(out: &mut String, row: &Row) {
    const BLOCK: usize = 3;
    let head: String =
        (0..24).step_by(BLOCK).map(|h| format!("{:>8}", format!("{h}-{} h", h + BLOCK))).collect();
    let _ = writeln!(out, "\nhours carried by season and hour of the start, {}\n{:<22}{head}", row.words, "");
    for season in [Season::DecFeb, Season::MarMay, Season::JunAug, Season::SepNov] {
        let figures: [Figure; 3] =
            [("worst", |b| b.least_h), ("1 in 20", |b| b.one_in_twenty_h), ("half", |b| b.half_h)];
        for (word, of) in figures {
            let blocks: String = (0..24)
                .step_by(BLOCK)
                .map(|from| {
                    let within = |b: &&Band| b.season == season && (from..from + BLOCK).contains(&b.hour);
                    let least = row.report.bands.iter().filter(within).map(of).fold(f64::INFINITY, f64::min);
                    format!("{:>8}", format!("{:.1}", (least * 10.0 + 1e-9).floor() / 10.0))
                })
                .collect();
            let name = if word == "worst" { season_word(season) } else { "" };
            let _ = writeln!(out, "  {name:<11}{word:<9}{blocks}");
        }
    }
    out.push_str("  (of the hours of a block the shortest)\n");
}

fn columns(made: &Made, outages: &Outages) -> Columns {
    let count = made.array_w.len();
    let mut out: Columns = vec![(
        "start".to_owned(),
        Column::Words((0..count).map(|k| annual::stamp(k, made.step_s)).collect()),
    )];
    let stored = outages.year.stored_wh.iter().take(count).copied().collect();
    out.push(("stored_wh".to_owned(), Column::Number(stored, 1)));
    for (k, row) in outages.rows.iter().enumerate() {
        let hours = row.carry.steps.iter().map(|s| f64::from(*s) * made.step_s / 3600.0).collect();
        let name = key(row, k);
        out.push((format!("{name}_h"), Column::Number(hours, 4)));
        let ended = row.carry.ended_by.iter().map(|c| format!("{c:?}").to_lowercase()).collect();
        out.push((format!("{name}_ended_by"), Column::Words(ended)));
    }
    out
}

fn key(row: &Row, number: usize) -> String {
    match (row.generator, number) {
        (true, _) => "with_generator".to_owned(),
        (_, 0) => "all_loads".to_owned(),
        _ => format!("shed_{number}"),
    }
}

fn drawing(site: &str, made: &Made, outages: &Outages, wish: Option<f64>) -> String {
    let Some(row) = outages.all_loads() else { return String::new() };
    let mut sheet = Sheet::new(1000.0, 880.0, &format!("{site}: carry time of outages"));
    let per_hour = (3600.0 / made.step_s) as usize;
    // of the steps of an hour the shortest
    let by_hour: Vec<f64> = row
        .carry
        .steps
        .chunks(per_hour.max(1))
        .map(|c| f64::from(c.iter().copied().min().unwrap_or(0)) * made.step_s / 3600.0)
        .collect();
    let title = format!("{site}: how long an outage is carried, by when it starts");
    let subtitle = format!("{}; across: day of the year, down: hour of the day (standard time)", row.words);
    let carried = row.report.carried.first().map(|(_, share)| share.value().si());
    let short = carried.and_then(part_short);
    let below = match (&short, carried) {
        (Some(words), _) => Below::Some(words),
        (None, Some(share)) if share <= 0.0 => Below::All,
        _ => Below::None,
    };
    let map = HeatMap { title: &title, subtitle: &subtitle, hours: &by_hour, wish_h: wish, below };
    let took = heat_map(&mut sheet, 12.0, &map);
    let lines: Vec<Curve> = outages
        .rows
        .iter()
        .map(|row| Curve {
            name: row.words.clone(),
            points: duration_curve(&row.carry).into_iter().map(|(h, s)| (100.0 * s, h)).collect(),
        })
        .collect();
    let most = lines.iter().flat_map(|l| l.points.iter().map(|p| p.1)).fold(0.0, f64::max);
    let most = wish.map_or(most, |w| most.min(6.0 * w)).max(1.0);
    let chart = Curves {
        title: "How many outages are carried how long",
        x: "share of all starts that are carried at least so long, in percent",
        most_x: 100.0,
        y: "hours",
        most_y: most,
        curves: &lines,
        mark: wish.map(|w| (w, format!("wish: {w} h"))),
    };
    let took = took + curves(&mut sheet, 24.0 + took, 220.0, &chart);
    sheet.footer(
        24.0 + took + 16.0,
        &format!("Seed {}; {}. {}", made.seed, hidden(made), CAUTIONS.first().unwrap_or(&"")),
    );
    sheet.finish()
}

fn to_json(dossier: &Dossier<'_>, made: &Made, outages: &Outages, wish: Option<f64>) -> Value {
    let rows: Vec<Value> = outages
        .rows
        .iter()
        .enumerate()
        .map(|(k, row)| {
            let curve = duration_curve(&row.carry);
            let bands: Vec<Value> = row
                .report
                .bands
                .iter()
                .map(|b| {
                    json!({ "season": season_word(b.season), "hour": b.hour, "worst_h": b.least_h,
                        "one_in_twenty_h": b.one_in_twenty_h, "half_h": b.half_h })
                })
                .collect();
            let causes: serde_json::Map<String, Value> =
                row.report.causes.iter().map(|(c, n)| (cause_words(*c).to_owned(), json!(n))).collect();
            json!({
                "key": key(row, k),
                "with": row.words,
                "generator": row.generator,
                "worst_h": row.report.worst.value().si() / 3600.0,
                "worst_start": annual::stamp(row.report.worst_start, made.step_s),
                "worst_ended_by": cause_words(row.report.worst_ended_by),
                "one_in_twenty_h": at_share(&curve, 0.95),
                "half_h": at_share(&curve, 0.5),
                "share_that_meets_the_wish": row.report.carried.first().map(|(_, s)| s.value().si()),
                "ended_by": causes,
                "bands": bands,
            })
        })
        .collect();
    json!({
        "schema": SCHEMA,
        "site": dossier.site.name.value,
        "step_s": made.step_s,
        "seed": made.seed,
        "wish_h": wish,
        "rows": rows,
        "notes": made.notes,
        "hidden": hidden(made),
        "figures": figures_json(made),
        "design_holds": !dossier.fails(),
        "cautions": dossier::cautions_json(),
    })
}

/// The figures that the model was given, each with the line of its derivation.
pub(crate) fn figures_json(made: &Made) -> Vec<Value> {
    made.figures
        .iter()
        .map(|n| json!({ "what": n.what, "value": n.amount.text, "derivation": n.line(), "source": n.source() }))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::part_short;

    #[test]
    fn a_share_that_is_short_is_never_rounded_to_none_or_all() {
        let words = |carried: f64| part_short(carried).unwrap_or_default();
        assert_eq!([words(1.0), words(0.0)], ["", ""]);
        assert_eq!(words(0.004), "99.6 %");
        assert_eq!(words(0.000_01), "99.9 %");
        assert_eq!(words(0.999_999), "0.01 %");
        assert_eq!(words(0.945), "5.5 %");
    }
}
