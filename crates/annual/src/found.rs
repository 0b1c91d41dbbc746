//! What the year says against the site's wishes and limits.

use catalog::Catalog;
use derivation::Known;
use finding::{Finding, Severity};
use quantity::{Duration, Energy, Power, Quantity};
use reading::Files;
use saying::say;
use site::Site;

use crate::air::beyond;
use crate::calendar::when;
use crate::fixes::fixes;
use crate::make::{Asked, Made, make};
use crate::outages::{Outages, Shed, outages};
use crate::station::far;
use crate::weather::of_file;
use crate::year::{Year, year};

/// Share of the year's energy up to which loads that are not served are a warning; above it is an error.
pub const UNSERVED_SHARE: f64 = 0.001;

/// Share of the outages below which the wish is not met but for a few lucky hours: an error, not a warning.
pub const NEARLY_NONE: f64 = 0.01;

/// Findings of the year: weather that goes beyond what the site states, energy that is not served, the wished outage at every hour, hours above what the utility's
/// side passes. Says nothing where no battery is decided: the check then says so by itself.
pub fn findings(design: &design::Design<'_>, catalog: &Catalog, files: &dyn Files) -> Vec<Finding> {
    let site = design.case.site;
    let mut found = of_weather(site, files);
    let made = match make(design, catalog, files, Asked { step_s: 3600.0, seed: None }) {
        Ok(made) => made,
        Err(refused) => {
            found.extend(refused.into_iter().filter(|f| f.id != "battery-not-decided"));
            return found;
        }
    };
    found.extend(never_starts(design, &made));
    if let Some(wish) = &site.wish.outage {
        let hours = wish.value.si() / 3600.0;
        match outages(&made, &[hours], &mut |_| true) {
            Err(refused) => found.extend(refused),
            Ok(None) => {}
            Ok(Some(outages)) => found.extend(missed(design, &made, &outages, wish)),
        }
    }
    match year(&made) {
        Err(refused) => found.extend(refused),
        Ok(year) => found.extend(of_year(design, &made, &year)),
    }
    found
}

/// What the weather says of the site. A file that cannot be used is told where the year is run.
fn of_weather(site: &Site, files: &dyn Files) -> Vec<Finding> {
    let Some(wish) = &site.weather else { return Vec::new() };
    let read = wish.file.as_ref().map(|file| (file, of_file(&file.value, files)));
    let held = match &read {
        None => None,
        Some((_, Err(_))) => return Vec::new(),
        Some((file, Ok(weather))) => Some((*file, weather)),
    };
    let far = held.and_then(|(file, weather)| far(site, file, weather));
    far.into_iter().chain(beyond(site, wish, held.map(|(_, weather)| weather))).collect()
}

/// A generator whose start level the battery never falls below.
fn never_starts(design: &design::Design<'_>, made: &Made) -> Option<Finding> {
    let (g, b) = (&made.design.generator, &made.design.battery);
    if g.power_w <= 0.0 || g.start_wh > b.floor_wh {
        return None;
    }
    let stated = design.case.site.generator.as_ref()?.run.start_below.as_ref()?;
    let floor = 100.0 * b.floor_wh / b.capacity_wh;
    let message = say!(
        "the generator starts below {share} % of the charge, but the battery is never drawn below {floor} %: it never starts",
        share = format!("{:.0}", 100.0 * stated.value.share().si()),
        floor = format!("{floor:.0}")
    );
    Some(
        Finding::new("generator-never-starts", Severity::Error, "generator", message)
            .in_state("without the utility")
            .at(Some(&stated.place), say!("this level"))
            .fix(say!(
                "a `start_below` above {floor} %: it counts from an empty battery",
                floor = format!("{floor:.0}")
            )),
    )
}

/// What a year that was run says by itself.
pub fn of_year(design: &design::Design<'_>, made: &Made, year: &Year) -> Vec<Finding> {
    let over = (year.over_limit_steps > 0).then(|| over(design, made, year.over_limit_steps));
    over.into_iter().chain(unserved(design, made, year)).collect()
}

fn unserved(design: &design::Design<'_>, made: &Made, year: &Year) -> Option<Finding> {
    let (asked, missing) = (&year.summary.asked, &year.summary.unserved);
    let share = missing.value().si() / asked.value().si().max(1.0);
    // a hair under all is the noise of the sums
    if share < 1e-9 {
        return None;
    }
    let severity = if share > UNSERVED_SHARE { Severity::Error } else { Severity::Warning };
    let percent = if share >= 1.0 - 1e-9 {
        "nothing is served".to_owned()
    } else {
        format!("{} % of it is not served", rounded_up(100.0 * share))
    };
    let message = say!(
        "over the year the loads ask for {asked}; {percent}, in {hours_unserved} h, of which the first is {when}",
        asked = asked.value(),
        percent,
        hours_unserved = format!("{:.0}", year.hours_unserved),
        when = when(year.first_unserved.unwrap_or(0), made.step_s)
    );
    let limit = Known::chosen(
        "E_x",
        "energy that may stay unserved",
        Energy::of(UNSERVED_SHARE * asked.value().si()),
        "a thousandth of what is asked for",
        vec![asked.node().clone()],
    );
    let finding = Finding::new("year-unserved", severity, "battery", message)
        .in_state(if made.has_utility() { "year" } else { "off grid, year" })
        .measured(missing.node(), limit.node())
        .at(Some(&design.case.site.group.place), say!("this group"));
    let array = (0..made.array_w.len()).any(|k| made.arrays_w(k) > 0.0);
    Some(match (array, made.design.generator.power_w > 0.0) {
        (false, false) => finding
            .fix(say!(
                "nothing comes in: an [[array]] with [weather], or a generator that starts by itself with its fuel stated"
            )),
        _ => finding.fix(say!(
            "a larger array or battery, fewer loads, or a generator that starts by itself with more fuel"
        )),
    })
}

/// A percentage that is not nothing never shows as nothing, nor what is not all as all.
fn rounded_up(percent: f64) -> String {
    if percent < 0.1 {
        format!("{:.3}", (percent * 1000.0).ceil() / 1000.0)
    } else {
        format!("{:.1}", ((percent * 10.0).ceil() / 10.0).min(99.9))
    }
}

fn over(design: &design::Design<'_>, made: &Made, steps: usize) -> Finding {
    let limit = Power::of(made.design.utility.input_limit_w);
    let hours = steps as f64 * made.step_s / 3600.0;
    let message = say!(
        "in {hours} hours of the year the loads take more than the {limit} that the {passes} and what stands with them pass",
        hours,
        limit,
        passes = made.passes
    );
    Finding::new("year-over-limit", Severity::Error, "backup panel", message)
        .in_state(format!("utility there, mean of {} min", made.step_s / 60.0))
        .at(Some(design.case.arrangement_place()), say!("decided here"))
        .fix(say!("move loads off the backup panel, or let another arrangement carry it"))
}

fn missed(
    design: &design::Design<'_>,
    made: &Made,
    outages: &Outages,
    wish: &reading::Placed<Duration>,
) -> Option<Finding> {
    let row = outages.all_loads()?;
    let hours = wish.value.si() / 3600.0;
    let (_, share) = row.report.carried.first()?;
    if share.value().si() >= 1.0 {
        return None;
    }
    // what it was solved from: every figure that the model was given
    let worst = Known::solved(
        "t_c",
        "shortest carry time",
        row.report.worst.value(),
        "the shortest of the outages that start at each hour of a year, whole hours, stored energy stepped hour by hour",
        0.0,
        made.figures.clone(),
    );
    let limit = wish.known("t_w", "outage to be carried");
    // an engine may fail to start: what it carries is said, and what stands without it as well
    let engine = outages.rows.iter().find(|r| r.generator && r.shed == Shed::Nothing);
    let carried =
        engine.is_some_and(|r| r.report.carried.first().is_some_and(|(_, s)| s.value().si() >= 1.0));
    let (severity, without) = if carried {
        (Severity::Note, "without the generator, which carries all of them with the fuel stated, ")
    } else if share.value().si() < NEARLY_NONE && made.has_utility() {
        (Severity::Error, "")
    } else {
        (Severity::Warning, "")
    };
    let (of, state) = if made.has_utility() {
        ("outages that start at any hour of the year", "outage, started at any hour")
    } else {
        ("times without any source that begin at any hour of the year", "nothing comes in, from any hour")
    };
    let share = (share.value().si() * 1000.0).floor() / 10.0;
    let message = say!(
        "{without}of {of} {share} % are carried for the {wish} wished, with all loads on; the shortest, from {when}, {worst}",
        without,
        of,
        share = format!("{share:.1}"),
        wish = wish.value,
        when = when(row.report.worst_start, made.step_s),
        worst = worst.value()
    );
    let mut finding = Finding::new("outage-wish-missed", severity, "battery", message)
        .in_state(state)
        .measured(worst.node(), limit.node())
        .at(Some(&wish.place), say!("wished here"));
    finding.floor = true;
    let b = &made.design.battery;
    if severity == Severity::Error && b.reserve_wh < b.capacity_wh {
        finding = finding
            .fix(say!("keep more of the battery for outages: a larger `outage_reserve` under [policy]"));
    }
    let fixes = fixes(design, made, outages, hours, carried);
    if fixes.is_empty() {
        return Some(
            finding.fix(say!(
                "no single change of battery, array, generator or shedding meets the wish: combine several, or wish a shorter outage"
            )),
        );
    }
    Some(fixes.into_iter().fold(finding, Finding::fix))
}
