//! The year in months, and what it costs.

use derivation::Known;
use energy::cost::{Bill, Payback, PaybackFacts, Period, Tariff, bill, payback};
use energy::year::{Columns, Design, Summary, simulate, summary};
use finding::Finding;
use quantity::Ratio;
use site::{Days, Site};

use crate::loads::month_of_day;
use crate::make::{Made, refuse};
use crate::outages::settled;

/// Energy of a month, in watt-hours.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Month {
    /// Loads asked for.
    pub load_wh: f64,
    /// The array behind its controllers.
    pub array_wh: f64,
    /// Of it used.
    pub array_used_wh: f64,
    /// From the utility.
    pub bought_wh: f64,
    /// To the utility.
    pub sold_wh: f64,
    /// From the generator.
    pub generated_wh: f64,
    /// Lost in units and battery.
    pub lost_wh: f64,
    /// Loads not served.
    pub unserved_wh: f64,
    /// What the battery holds more at the end than at the beginning.
    pub stored_wh: f64,
}

/// A year of a design.
#[derive(Debug, Clone)]
pub struct Year {
    /// Step by step.
    pub columns: Columns,
    /// Sums with derivations.
    pub summary: Summary,
    /// January first.
    pub months: Vec<Month>,
    /// Energy taken out of the battery, in watt-hours.
    pub discharged_wh: f64,
    /// The same over its usable energy: full cycles.
    pub cycles: f64,
    /// Hours at what the utility's side passes (99.9 % and more).
    pub hours_at_input: f64,
    /// Hours in which the units give more than their rating.
    pub hours_over_rating: f64,
    /// Hours in which some load is not served.
    pub hours_unserved: f64,
    /// The first step in which some load is not served.
    pub first_unserved: Option<usize>,
    /// Hours with the battery at its floor.
    pub hours_empty: f64,
    /// Least of the heat budget that was left, in watt-hours.
    pub heat_left_wh: f64,
    /// Steps in which more is taken than the utility's side passes.
    pub over_limit_steps: usize,
    /// In less what went out, was lost and stored, in watt-hours.
    pub residual_wh: f64,
}

/// Runs a year.
///
/// # Errors
/// Findings of severity "not covered".
pub fn year(made: &Made) -> Result<Year, Vec<Finding>> {
    let columns = settled(&made.design, made)?;
    let series = made.series();
    let hours = made.step_s / 3600.0;
    let b = &made.design.battery;
    let (mut first, mut last) = (b.capacity_wh, b.capacity_wh);
    if let (Some(f), Some(l)) = (columns.stored_wh.first(), columns.stored_wh.last()) {
        (first, last) = (*f, *l);
    }
    let keep = libm::pow(1.0 - b.self_discharge_per_day, hours / 24.0);
    let drawn = |pair: &[f64]| match pair {
        [before, after] => (before * keep - after).max(0.0),
        _ => 0.0,
    };
    let discharged_wh: f64 = columns.stored_wh.windows(2).map(drawn).sum();
    let usable_wh = b.capacity_wh - b.floor_wh;
    let limit_w = made.design.utility.input_limit_w.min(made.design.utility.relay_limit_w);
    let count = |of: &dyn Fn(usize) -> bool| (0..series.steps()).filter(|k| of(*k)).count() as f64 * hours;
    let at = |column: &[f64], k: usize| column.get(k).copied().unwrap_or(0.0);
    let load = |k: usize| made.loads.tiers_w.iter().map(|c| at(c, k)).sum::<f64>();
    let missing = |k: usize| at(&columns.served_w, k) < load(k) * (1.0 - 1e-9);
    let by_units = |k: usize| {
        at(&columns.served_w, k) - at(&columns.import_w, k).max(0.0) + at(&columns.export_w, k)
            - at(&columns.generated_w, k)
            - at(&columns.panel_used_w, k)
    };
    let over = columns.totals.over_limit_steps as usize;
    let mut found = Year {
        months: Vec::new(),
        discharged_wh,
        cycles: if usable_wh > 0.0 { discharged_wh / usable_wh } else { 0.0 },
        hours_at_input: count(&|k| made.has_utility() && at(&columns.import_w, k) >= 0.999 * limit_w),
        hours_over_rating: count(&|k| by_units(k) > made.design.converter.rating_w * (1.0 + 1e-9)),
        hours_unserved: count(&missing),
        first_unserved: (0..series.steps()).find(|k| missing(*k)),
        hours_empty: count(&|k| at(&columns.stored_wh, k + 1) <= b.floor_wh * (1.0 + 1e-9) && load(k) > 0.0),
        heat_left_wh: columns
            .heat_left_wh
            .iter()
            .copied()
            .fold(made.design.converter.heat_budget_wh, f64::min),
        // units that cannot help leave all of the load to the utility
        over_limit_steps: if made.helps { over } else { over.max(made.loads_over_limit) },
        residual_wh: 0.0,
        summary: summary(&series, &columns).map_err(refuse)?,
        columns: Columns::default(),
    };
    found.columns = columns;
    before_the_group(made, &mut found.columns);
    found.summary = summary(&series, &found.columns).map_err(refuse)?;
    found.residual_wh = found.columns.totals.imbalance_wh(first, last);
    found.months = months(made, &found.columns);
    Ok(found)
}

/// Arrays on the main panel: with the utility they stand for what the backup panel buys, and the rest is sold. Nothing
/// holds them back there; the check holds them against what the utility takes.
fn before_the_group(made: &Made, columns: &mut Columns) {
    let hours = made.step_s / 3600.0;
    let all = columns.import_w.iter_mut().zip(&mut columns.export_w).zip(&mut columns.array_used_w);
    for (((import, export), used), (given, hour)) in all.zip(made.main_array_w.iter().zip(&made.hours)) {
        if !hour.utility {
            continue;
        }
        let kept = given.min(import.max(0.0));
        *import -= kept;
        *export += given - kept;
        *used += given;
        columns.totals.import_wh -= kept * hours;
        columns.totals.export_wh += (given - kept) * hours;
        columns.totals.array_used_wh += given * hours;
    }
}

fn months(made: &Made, columns: &Columns) -> Vec<Month> {
    let hours = made.step_s / 3600.0;
    let a_day = (86_400.0 / made.step_s) as usize;
    let month = month_of_day();
    let mut all = vec![Month::default(); 12];
    let at = |column: &[f64], k: usize| column.get(k).copied().unwrap_or(0.0);
    for k in 0..made.array_w.len() {
        let Some(m) = month.get(k / a_day).and_then(|m| all.get_mut(*m)) else { continue };
        let load = made.loads.tiers_w.iter().map(|c| at(c, k)).sum::<f64>();
        let stored = at(&columns.stored_wh, k + 1) - at(&columns.stored_wh, k);
        let (served, used) = (at(&columns.served_w, k), at(&columns.array_used_w, k));
        let (bought, sold) = (at(&columns.import_w, k), at(&columns.export_w, k));
        let generated = at(&columns.generated_w, k);
        m.load_wh += load * hours;
        m.array_wh += made.arrays_w(k) * hours;
        m.array_used_wh += used * hours;
        m.bought_wh += bought * hours;
        m.sold_wh += sold * hours;
        m.generated_wh += generated * hours;
        m.unserved_wh += (load - served) * hours;
        m.stored_wh += stored;
        m.lost_wh += (used + bought + generated - served - sold) * hours - stored;
    }
    all
}

/// What a year costs with the design and without it.
#[derive(Debug, Clone)]
pub struct Costs {
    /// Currency of all amounts.
    pub currency: String,
    /// With array and battery.
    pub with: Bill,
    /// The same loads from the utility alone; none off grid.
    pub without: Option<Bill>,
    /// Parts: units, modules, batteries, controllers of the catalogue; none where a currency differs.
    pub parts: Option<Known<Ratio>>,
    /// When the parts are paid back; none where nothing is saved or no parts are known.
    pub payback: Option<Payback>,
    /// What the figures rest on.
    pub assumptions: Vec<String>,
}

/// The site's tariff as the model reads it.
fn tariff(site: &Site) -> Option<Tariff> {
    let wish = site.tariff.as_ref()?;
    let si = |p: &Option<reading::Placed<Ratio>>| p.as_ref().map_or(0.0, |p| quantity::Quantity::si(p.value));
    let mut periods: Vec<Period> = wish
        .periods
        .iter()
        .map(|p| {
            let mut out = Period::always(quantity::Quantity::si(p.price.value));
            if let Some(hours) = &p.hours {
                out.hours = std::array::from_fn(|h| hours.value.holds(h));
            }
            if !p.months.is_empty() {
                let named = |m: usize| {
                    p.months.iter().any(|n| (quantity::Quantity::si(n.value) - (m + 1) as f64).abs() < 0.5)
                };
                out.months = std::array::from_fn(named);
            }
            out.weekdays = match p.days.as_ref().map(|d| d.value) {
                None | Some(Days::All) => [true; 7],
                Some(Days::Weekdays) => std::array::from_fn(|d| d < 5),
                Some(Days::Weekends) => std::array::from_fn(|d| d >= 5),
            };
            out
        })
        .collect();
    periods.push(Period::always(quantity::Quantity::si(wish.energy.value)));
    let interval = wish.demand_interval.as_ref().map_or(900.0, |i| quantity::Quantity::si(i.value));
    Some(Tariff {
        periods,
        export_per_kwh: si(&wish.export),
        demand_per_kw: si(&wish.demand),
        demand_interval_s: interval,
        per_day: si(&wish.per_day),
        // the year 2023, whose sun the model takes, began on a Sunday
        first_weekday: 6,
    })
}

/// Costs of a year; none where the site states no tariff. `parts`: price of the parts in the catalogue's currency.
///
/// # Errors
/// Findings of severity "not covered".
pub fn costs(
    site: &Site,
    made: &Made,
    year: &Year,
    parts: Option<(Known<Ratio>, &str)>,
) -> Result<Option<Costs>, Vec<Finding>> {
    let (Some(mut tariff), Some(wish)) = (tariff(site), site.tariff.as_ref()) else { return Ok(None) };
    let series = made.series();
    let mut assumptions = vec![
        "prices of today, taxes in all of them or in none; hours in local standard time, the year begins on a Sunday"
            .to_owned(),
    ];
    if tariff.demand_per_kw > 0.0 && tariff.demand_interval_s < made.step_s {
        assumptions.push(format!(
            "the demand charge is reckoned from means of {} min, since the step is that long: it is larger in truth; take --step {}min",
            made.step_s / 60.0,
            tariff.demand_interval_s / 60.0
        ));
        tariff.demand_interval_s = made.step_s;
    }
    let fuel = site.generator.as_ref().and_then(|g| g.run.fuel_price.as_ref());
    let fuel = fuel.map_or(0.0, |f| quantity::Quantity::si(f.value));
    let with = bill(&tariff, &series, &year.columns, fuel).map_err(refuse)?;
    let without = match made.has_utility() {
        true => Some(bill(&tariff, &series, &alone(made)?, fuel).map_err(refuse)?),
        false => None,
    };
    let parts = parts.filter(|(_, currency)| *currency == wish.currency.value).map(|(p, _)| p);
    let paid = match (&parts, &without) {
        (Some(parts), Some(without)) if without.total > with.total => {
            let saving = Known::solved(
                "s",
                "saving of the first year",
                Ratio::of(without.total - with.total),
                "cost without the design less cost with it",
                0.0,
                vec![without.known().node().clone(), with.known().node().clone()],
            );
            assumptions.push(
                "payback: parts of the catalogue alone, no work, no renewal; 4 % discount, prices do not rise, 0.5 % less saved each year, 25 years looked at"
                    .to_owned(),
            );
            let facts = PaybackFacts {
                investment: parts.clone(),
                saving,
                discount: 0.04,
                price_rise: 0.0,
                fading: 0.005,
                years: 25,
                renewals: Vec::new(),
            };
            Some(payback(&facts).map_err(refuse)?)
        }
        (_, None) => {
            assumptions.push("no payback: off grid there is no bill to compare with".to_owned());
            None
        }
        (Some(_), _) => {
            assumptions.push("nothing is saved in a year: the parts are not paid back by energy".to_owned());
            None
        }
        (None, _) => {
            assumptions
                .push("no payback: prices of the parts are in another currency or not known".to_owned());
            None
        }
    };
    Ok(Some(Costs {
        currency: wish.currency.value.clone(),
        with,
        without,
        parts,
        payback: paid,
        assumptions,
    }))
}

/// The loads from the utility alone: no battery that may be spent, no array, no loss.
fn alone(made: &Made) -> Result<Columns, Vec<Finding>> {
    let mut design: Design = made.design;
    design.array_scale = 0.0;
    design.converter.idle_w = 0.0;
    design.battery.self_discharge_per_day = 0.0;
    design.battery.reserve_wh = design.battery.capacity_wh;
    design.utility.input_limit_w = 1e9;
    design.utility.relay_limit_w = 1e9;
    let hours: Vec<_> =
        made.hours.iter().map(|h| energy::year::Hour { spend: false, fill: false, ..*h }).collect();
    let mut series = made.series();
    series.hours = &hours;
    simulate(&design, &series, design.battery.capacity_wh).map_err(refuse)
}
