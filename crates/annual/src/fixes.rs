//! Single changes of a design that meet a wished outage, each tried by running the year and every outage anew.

use energy::outage::{YearEnd, carry_times, stepped_carry_times};
use energy::year::{Battery, Columns, Design, Generator, Hour, Series, Shedding};
use quantity::{Power, Quantity};

use crate::figures::Figures;
use crate::generator::running;
use crate::make::Made;
use crate::outages::{Outages, Shed, bare, before, settled};

/// What each of them does, run through the year with an outage from every hour.
const MEETS: &str = "this change alone meets the wish";
/// Most strings that are tried, as a multiple of those that are there.
const MOST_STRINGS: u32 = 64;
/// Array sizes that are tried, as multiples.
const ARRAYS: [f64; 8] = [1.25, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0, 8.0];
/// Fuel that is tried, as multiples of what is there; what is there only helps where loads are no longer shed.
const TANKS: [f64; 8] = [1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0, 16.0];

/// Single changes that meet the wish, each tried by running the year and every outage anew.
pub(crate) fn fixes(
    design: &design::Design<'_>,
    made: &Made,
    outages: &Outages,
    hours: f64,
    carried: bool,
) -> Vec<String> {
    let mut out = Vec::new();
    let plain = before(made, &made.design);
    let full = Battery { reserve_wh: plain.battery.capacity_wh, ..plain.battery };
    let kept = made.has_utility() && plain.battery.reserve_wh < full.reserve_wh;
    if kept && meets(made, &Design { battery: full, ..plain }, hours) {
        out.push(format!("keep all of the battery for outages (`outage_reserve`): {MEETS}"));
    }
    out.extend(strings(design, made, &plain, hours));
    if made.array_w.iter().chain(&made.panel_array_w).any(|w| *w > 0.0) {
        let met = ARRAYS.iter().find(|scale| meets(made, &Design { array_scale: **scale, ..plain }, hours));
        out.extend(met.map(|scale| {
            format!("build the array {scale} times as large, with as many more controllers or array inverters: {MEETS}")
        }));
    }
    for row in outages.rows.iter().filter(|r| !r.generator && r.shed != Shed::Nothing) {
        if row.report.carried.first().is_some_and(|(_, s)| s.value().si() >= 1.0) {
            out.push(format!("shed loads as soon as an outage begins, running {}: {MEETS}", row.words));
            break;
        }
    }
    if made.has_utility() && !carried {
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
    let beyond = if high > parallel {
        format!(
            "; its maker allows {parallel} in parallel, so larger modules or another battery are needed for it"
        )
    } else {
        String::new()
    };
    Some(format!("{high} battery strings instead of {there}: {MEETS}{beyond}"))
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
    let carried =
        carry_times(&bare(made, design), &made.series(), &year, Shed::Nothing.tiers(), YearEnd::Wraps);
    carried.is_ok_and(|c| c.steps.iter().all(|s| f64::from(*s) * c.step_s >= hours * 3600.0 - 1e-6))
}

/// The generator with all loads on: with more fuel where it is counted, else started by itself and with fuel enough.
fn generator(
    design: &design::Design<'_>,
    made: &Made,
    plain: &Design,
    outages: &Outages,
    hours: f64,
) -> Option<String> {
    let set = design.case.generator?;
    let counted = made.design.generator.power_w > 0.0;
    let tried = if counted {
        made.design.generator
    } else {
        // fuel is not looked at here: what it takes is said
        let runs = running(&design.case, &plain.battery, &mut Figures::default())?;
        Generator { tank_l: 1.0, ..runs }
    };
    let short: Vec<usize> = outages.all_loads().map(|row| {
        let enough = |s: &u32| f64::from(*s) * row.carry.step_s >= hours * 3600.0 - 1e-6;
        row.carry.steps.iter().enumerate().filter(|(_, s)| !enough(s)).map(|(k, _)| k).collect()
    })?;
    let wished = (hours * 3600.0 / made.step_s - 1e-9).ceil().max(1.0) as usize;
    let round = Round::new(made);
    let meets = |generator: Generator| {
        let mut with = Design { generator, ..*plain };
        with.utility.relay_limit_w = with.utility.relay_limit_w.max(generator.power_w);
        short.iter().all(|start| round.lasts(made, &with, &outages.year, *start, wished))
    };
    let (power, percent) = (Power::of(tried.power_w), |wh: f64| 100.0 * wh / plain.battery.capacity_wh);
    let runs = format!(
        "the generator \"{}\" at {power}, started below {:.0} % of the charge and stopped above {:.0} %",
        set.id,
        percent(tried.start_wh),
        percent(tried.stop_wh)
    );
    if !counted {
        let words =
            "with fuel for the whole outage (let it start by itself, and state its fuel under [generator])";
        return meets(tried).then(|| format!("{runs}, {words}: {MEETS}"));
    }
    let scale = TANKS.iter().find(|k| meets(Generator { tank_l: tried.tank_l * **k, ..tried }))?;
    let fuel = if *scale > 1.0 {
        format!(
            "{:.0} l of fuel when an outage begins instead of {:.0} l",
            tried.tank_l * scale,
            tried.tank_l
        )
    } else {
        format!("its {:.0} l of fuel", tried.tank_l)
    };
    let kept = if made.design.shedding == Shedding::NEVER { "" } else { ", and no load shed by charge" };
    Some(format!("{runs}, with {fuel}{kept}: {MEETS}"))
}

/// The year twice, so that an outage over its end has its loads in one piece.
struct Round {
    loads_w: [Vec<f64>; 3],
    array_w: Vec<f64>,
    panel_array_w: Vec<f64>,
    hours: Vec<Hour>,
}

impl Round {
    fn new(made: &Made) -> Self {
        let twice = |column: &[f64]| [column, column].concat();
        let [a, b, c] = &made.loads.tiers_w;
        Self {
            loads_w: [twice(a), twice(b), twice(c)],
            array_w: twice(&made.array_w),
            panel_array_w: twice(&made.panel_array_w),
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
        let panel_array_w = cut(&self.panel_array_w).unwrap_or_default();
        let series = Series {
            step_s: made.step_s,
            loads_w: [&a, &b, &c],
            array_w: &array_w,
            panel_array_w: &panel_array_w,
            hours,
        };
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
