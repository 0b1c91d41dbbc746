//! What the year says against the site's wishes and limits, hour by hour.

use catalog::Catalog;
use derivation::Known;
use energy::outage::{YearEnd, carry_times, stepped_carry_times};
use energy::year::{Battery, Columns, Design, Generator, Hour, Series, Shedding};
use finding::{Finding, Severity};
use quantity::{Duration, Power, Quantity};
use reading::Files;

use crate::calendar::when;
use crate::make::{Asked, Made, make};
use crate::outages::{Outages, Shed, outages, settled};
use crate::year::year;

/// Most strings that are tried, as a multiple of those that are there.
const MOST_STRINGS: u32 = 64;
/// Array sizes that are tried, as multiples.
const ARRAYS: [f64; 8] = [1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 8.0];

/// Findings of the year: the wished outage at every hour, and hours above what the utility's side passes.
///
/// Says nothing where there is no utility, and where no battery is decided (the check then says so by itself).
pub fn findings(design: &design::Design<'_>, catalog: &Catalog, files: &dyn Files) -> Vec<Finding> {
    let site = design.case.site;
    if !site.service.utility.value {
        return Vec::new();
    }
    let made = match make(design, catalog, files, Asked { step_s: 3600.0, seed: None }) {
        Ok(made) => made,
        Err(refused) => {
            // without a wish nobody asked for the year; without a battery the check says so by itself
            let known = |f: &Finding| f.id == "battery-not-decided" || site.wish.outage.is_none();
            return refused.into_iter().filter(|f| !known(f)).collect();
        }
    };
    let mut found = Vec::new();
    if let Some(wish) = &site.wish.outage {
        let hours = wish.value.si() / 3600.0;
        match outages(&made, &[hours], &mut |_| true) {
            Err(refused) => found.extend(refused),
            Ok(None) => {}
            Ok(Some(outages)) => found.extend(missed(design, &made, &outages, wish)),
        }
    }
    match year(&made) {
        Err(refused) if site.wish.outage.is_some() => found.extend(refused),
        Err(_) => {}
        Ok(year) if year.over_limit_steps > 0 => found.push(over(design, &made, year.over_limit_steps)),
        Ok(_) => {}
    }
    found
}

fn over(design: &design::Design<'_>, made: &Made, steps: usize) -> Finding {
    let limit = Power::of(made.design.utility.input_limit_w);
    let message = format!(
        "in {steps} hours of the year the loads take more than the {limit} that the {} and what stands with them pass",
        made.passes
    );
    Finding::new("year-over-limit", Severity::Error, "backup panel", message)
        .in_state("utility there, mean of an hour")
        .at(Some(design.case.arrangement_place()), "decided here")
        .fix("move loads off the backup panel, or let another arrangement carry it")
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
    let share = (share.value().si() * 1000.0).floor() / 10.0;
    // an engine may fail to start: what it carries is said, and what stands without it as well
    let engine = outages.rows.iter().find(|r| r.generator && r.shed == Shed::Nothing);
    let carried =
        engine.is_some_and(|r| r.report.carried.first().is_some_and(|(_, s)| s.value().si() >= 1.0));
    let (severity, without) = if carried {
        (Severity::Note, "without the generator, which carries all of them with the fuel stated, ")
    } else {
        (Severity::Warning, "")
    };
    let message = format!(
        "{without}of outages that start at any hour of the year {share:.1} % are carried for the {} wished, with all loads on; the shortest, from {}, {}",
        wish.value,
        when(row.report.worst_start, made.step_s),
        worst.value(),
    );
    let mut finding = Finding::new("outage-wish-missed", severity, "battery", message)
        .in_state("outage, started at any hour")
        .measured(worst.node(), limit.node())
        .at(Some(&wish.place), "wished here");
    finding.floor = true;
    let fixes = fixes(design, made, outages, hours, carried);
    if fixes.is_empty() {
        return Some(
            finding.fix("no single change that was tried meets it: combine them, or wish a shorter outage"),
        );
    }
    Some(fixes.into_iter().fold(finding, Finding::fix))
}

/// Single changes that meet the wish, each tried by running the year and every outage anew.
fn fixes(
    design: &design::Design<'_>,
    made: &Made,
    outages: &Outages,
    hours: f64,
    carried: bool,
) -> Vec<String> {
    let mut out = Vec::new();
    let plain = Design { generator: Generator::NONE, shedding: Shedding::NEVER, ..made.design };
    let full = Battery { reserve_wh: plain.battery.capacity_wh, ..plain.battery };
    if plain.battery.reserve_wh < full.reserve_wh && meets(made, &Design { battery: full, ..plain }, hours) {
        out.push("tried: keep all of the battery for outages (`outage_reserve`)".to_owned());
    }
    out.extend(strings(design, made, &plain, hours));
    if made.array_w.iter().any(|w| *w > 0.0) {
        let met = ARRAYS.iter().find(|scale| meets(made, &Design { array_scale: **scale, ..plain }, hours));
        out.extend(met.map(|scale| format!("tried: {scale} times the array, and as many controllers")));
    }
    for row in outages.rows.iter().filter(|r| !r.generator && r.shed != Shed::Nothing) {
        if row.report.carried.first().is_some_and(|(_, s)| s.value().si() >= 1.0) {
            out.push(format!("tried: shed at once in an outage: run {}", row.words));
            break;
        }
    }
    if !carried {
        out.extend(generator(design, made, &plain, outages, hours));
    }
    out
}

/// The fewest strings more.
fn strings(design: &design::Design<'_>, made: &Made, plain: &Design, hours: f64) -> Option<String> {
    let there = design.case.bank.as_ref().map(|b| b.strings)?;
    let of = |n: u32| {
        let k = f64::from(n) / f64::from(there);
        Design { battery: scaled(plain.battery, k), ..*plain }
    };
    let most = there.saturating_mul(MOST_STRINGS);
    let mut high = there.checked_mul(2)?;
    while !meets(made, &of(high), hours) {
        high = high.checked_mul(2).filter(|h| *h <= most)?;
    }
    let mut low = (high / 2).max(there);
    while low + 1 < high {
        let middle = low + (high - low) / 2;
        if meets(made, &of(middle), hours) { high = middle } else { low = middle }
    }
    let parallel = design.case.bank.as_ref().map_or(0, |b| b.model.parallel);
    let beyond =
        if high > parallel { format!(" (its maker allows {parallel} in parallel)") } else { String::new() };
    Some(format!("tried: {high} strings of the battery instead of {there}{beyond}"))
}

fn scaled(b: Battery, k: f64) -> Battery {
    Battery {
        capacity_wh: b.capacity_wh * k,
        floor_wh: b.floor_wh * k,
        reserve_wh: b.reserve_wh * k,
        taper_from_wh: b.taper_from_wh * k,
        charge_limit_w: b.charge_limit_w * k,
        discharge_limit_w: b.discharge_limit_w * k,
        ..b
    }
}

fn meets(made: &Made, design: &Design, hours: f64) -> bool {
    let Ok(year) = settled(design, made) else { return false };
    let carried = carry_times(design, &made.series(), &year, Shed::Nothing.tiers(), YearEnd::Wraps);
    carried.is_ok_and(|c| c.steps.iter().all(|s| f64::from(*s) * c.step_s >= hours * 3600.0 - 1e-6))
}

/// A generator that starts by itself and has its fuel, with all loads on.
fn generator(
    design: &design::Design<'_>,
    made: &Made,
    plain: &Design,
    outages: &Outages,
    hours: f64,
) -> Option<String> {
    let counted = outages.rows.iter().find(|r| r.generator);
    let set = design.case.generator?;
    let power_w = if made.design.generator.power_w > 0.0 {
        made.design.generator.power_w
    } else {
        crate::make::generator_power(&design.case)?.value().si()
    };
    let capacity = plain.battery.capacity_wh;
    // fuel is not looked at here: what it takes is said
    let tried = Generator {
        power_w,
        start_wh: 0.4 * capacity,
        stop_wh: 0.8 * capacity,
        warm_up_s: 60.0,
        minimum_run_s: 1800.0,
        idle_l_per_h: 0.0,
        l_per_kwh: 0.0,
        tank_l: 1.0,
    };
    let mut with = Design { generator: tried, ..*plain };
    with.utility.relay_limit_w = with.utility.relay_limit_w.max(power_w);
    let short: Vec<usize> = outages.all_loads().map(|row| {
        let enough = |s: &u32| f64::from(*s) * row.carry.step_s >= hours * 3600.0 - 1e-6;
        row.carry.steps.iter().enumerate().filter(|(_, s)| !enough(s)).map(|(k, _)| k).collect()
    })?;
    let wished = (hours * 3600.0 / made.step_s - 1e-9).ceil().max(1.0) as usize;
    let round = Round::new(made);
    let met = short.iter().all(|start| round.lasts(made, &with, &outages.year, *start, wished));
    if !met {
        return None;
    }
    let missing = if counted.is_some() {
        "with more fuel"
    } else {
        "let it start by itself and state its fuel under [generator]"
    };
    Some(format!(
        "tried: the generator \"{}\" at {} with fuel for the whole outage: {missing}",
        set.id,
        Power::of(power_w)
    ))
}

/// The year twice, so that an outage over its end has its loads in one piece.
struct Round {
    loads_w: [Vec<f64>; 3],
    array_w: Vec<f64>,
    hours: Vec<Hour>,
}

impl Round {
    fn new(made: &Made) -> Self {
        let twice = |column: &[f64]| [column, column].concat();
        let [a, b, c] = &made.loads.tiers_w;
        Self {
            loads_w: [twice(a), twice(b), twice(c)],
            array_w: twice(&made.array_w),
            hours: [made.hours.clone(), made.hours.clone()].concat(),
        }
    }

    /// Whether all loads are served for so many steps from a start.
    fn lasts(&self, made: &Made, design: &Design, year: &Columns, start: usize, steps: usize) -> bool {
        let (end, count) = (start + steps, made.array_w.len());
        let cut = |column: &'_ Vec<f64>| column.get(start..end).map(<[f64]>::to_vec);
        let [a, b, c] = &self.loads_w;
        let (Some(a), Some(b), Some(c), Some(array_w)) = (cut(a), cut(b), cut(c), cut(&self.array_w)) else {
            return false;
        };
        let (Some(hours), true) = (self.hours.get(start..end), start < count) else { return false };
        let series = Series { step_s: made.step_s, loads_w: [&a, &b, &c], array_w: &array_w, hours };
        let at = |column: &[f64]| column.get(start).copied().unwrap_or(0.0);
        let columns = Columns {
            stored_wh: vec![at(&year.stored_wh); steps + 1],
            heat_left_wh: vec![at(&year.heat_left_wh); steps],
            ..Columns::default()
        };
        stepped_carry_times(design, &series, &columns, YearEnd::Censors, Some(&[0]))
            .is_ok_and(|c| c.steps.iter().flatten().all(|s| *s as usize >= steps))
    }
}
