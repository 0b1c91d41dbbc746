//! Tariffs: flat (one period), time of use, demand.

use derivation::{Known, formula};
use quantity::Ratio;

use crate::EnergyError;
use crate::error::{not_negative, within};
use crate::time::month_days;
use crate::year::{Columns, Hour, Series};

/// When a price holds. The first period of a tariff that fits an hour counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Period {
    /// January first.
    pub months: [bool; 12],
    /// Monday first.
    pub weekdays: [bool; 7],
    /// Hours of the day, 0 being the first after midnight; local standard time (summer time is not looked
    /// at).
    pub hours: [bool; 24],
    /// Price of energy.
    pub per_kwh: f64,
}

impl Period {
    /// At all times.
    pub fn always(per_kwh: f64) -> Self {
        Self { months: [true; 12], weekdays: [true; 7], hours: [true; 24], per_kwh }
    }
}

/// A tariff.
#[derive(Debug, Clone, PartialEq)]
pub struct Tariff {
    /// Prices; every hour of the year must be in one.
    pub periods: Vec<Period>,
    /// Paid for energy fed in.
    pub export_per_kwh: f64,
    /// For each kilowatt of a month's highest mean, every month.
    pub demand_per_kw: f64,
    /// Over which that mean is taken, in seconds; a whole number of steps.
    pub demand_interval_s: f64,
    /// Fixed, a day.
    pub per_day: f64,
    /// Day of the week of the first of January, 0 for Monday.
    pub first_weekday: usize,
}

/// A year's cost.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Bill {
    /// Energy bought.
    pub energy: f64,
    /// Highest demands.
    pub demand: f64,
    /// Fixed.
    pub fixed: f64,
    /// Paid for energy fed in.
    pub export: f64,
    /// Fuel.
    pub fuel: f64,
    /// Energy, demand, fixed and fuel less export.
    pub total: f64,
}

impl Bill {
    /// The total with its parts, in money.
    pub fn known(&self) -> Known<Ratio> {
        let part = |symbol: &str, what: &str, value: f64, equation: &str| {
            Known::solved(symbol, what, Ratio::of(value), equation, 0.0, Vec::new())
        };
        let C_e = part(
            "C_e",
            "energy bought in a year",
            self.energy,
            "sum over all steps of price x energy bought",
        );
        let C_d = part(
            "C_d",
            "highest demands of twelve months",
            self.demand,
            "charge x sum of the months' highest means",
        );
        let C_0 = part("C_0", "fixed fee of a year", self.fixed, "fee a day x 365");
        let C_g = part("C_g", "fuel of a year", self.fuel, "price x litres");
        let C_x = part("C_x", "paid for energy fed in", self.export, "price x energy fed in");
        formula!("C", "cost of a year, in money", [C_e, C_d, C_0, C_g, C_x] => C_e + C_d + C_0 + C_g - C_x)
    }
}

/// Month (0 to 11) and day of the year (from 0) of each step of a year of 365 days.
fn calendar(series: &Series<'_>) -> Result<Vec<(usize, usize, usize)>, EnergyError> {
    let per_hour = 3600.0 / series.step_s;
    if (series.steps() as f64 - 8760.0 * per_hour).abs() > 1e-6 {
        let needed = "a year of 8760 hours is needed".to_owned();
        return Err(EnergyError::Count { what: "steps", count: series.steps(), needed });
    }
    let months: Vec<usize> = (1..=12).flat_map(|m| vec![m - 1; month_days(2023, m) as usize]).collect();
    let of = |k: usize| {
        let hour = (k as f64 / per_hour) as usize;
        (months.get(hour / 24).copied().unwrap_or(11), hour / 24, hour % 24)
    };
    Ok((0..series.steps()).map(of).collect())
}

/// Price of energy at every step.
///
/// # Errors
/// A series that is no year, prices that are no numbers, an hour that no period holds.
pub fn prices_per_kwh(tariff: &Tariff, series: &Series<'_>) -> Result<Vec<f64>, EnergyError> {
    for period in &tariff.periods {
        within("price of a kWh", period.per_kwh, -1e6, 1e6, "a price")?;
    }
    let price = |(month, day, hour): (usize, usize, usize)| {
        let weekday = (day + tariff.first_weekday) % 7;
        let fits = |p: &&Period| p.months[month] && p.weekdays[weekday] && p.hours[hour];
        let found = tariff.periods.iter().find(fits);
        found.map(|p| p.per_kwh).ok_or(EnergyError::NotCovered("the tariff has hours without a price"))
    };
    calendar(series)?.into_iter().map(price).collect()
}

/// Hours for a year's run: the battery is spent at `spend_from` or dearer, and filled from the utility at
/// `fill_to` or cheaper (never if none).
///
/// # Errors
/// Columns of unlike length.
pub fn hours(
    prices_per_kwh: &[f64],
    utility: &[bool],
    spend_from: f64,
    fill_to: Option<f64>,
) -> Result<Vec<Hour>, EnergyError> {
    if prices_per_kwh.len() != utility.len() {
        let needed = format!("{} are needed", prices_per_kwh.len());
        return Err(EnergyError::Count {
            what: "steps with or without utility",
            count: utility.len(),
            needed,
        });
    }
    let hour = |(price, utility): (&f64, &bool)| Hour {
        utility: *utility,
        spend: *price >= spend_from,
        fill: fill_to.is_some_and(|cheap| *price <= cheap),
    };
    Ok(prices_per_kwh.iter().zip(utility).map(hour).collect())
}

/// A year's cost of a run.
///
/// # Errors
/// A series that is no year, an interval of demand that is no whole number of steps within an hour, negative
/// fees.
pub fn bill(
    tariff: &Tariff,
    series: &Series<'_>,
    year: &Columns,
    fuel_per_l: f64,
) -> Result<Bill, EnergyError> {
    not_negative("fixed fee a day", tariff.per_day)?;
    not_negative("demand charge a kW", tariff.demand_per_kw)?;
    not_negative("price of fuel", fuel_per_l)?;
    within("price of energy fed in", tariff.export_per_kwh, -1e6, 1e6, "a price")?;
    let prices = prices_per_kwh(tariff, series)?;
    if year.import_w.len() != prices.len() || year.export_w.len() != prices.len() {
        let needed = format!("{} are needed", prices.len());
        return Err(EnergyError::Count { what: "steps of the year", count: year.import_w.len(), needed });
    }
    let kwh = series.hours_per_step() / 1000.0;
    let energy: f64 = prices.iter().zip(&year.import_w).map(|(p, w)| p * w * kwh).sum();
    let export = year.export_w.iter().sum::<f64>() * kwh * tariff.export_per_kwh;
    let demand = tariff.demand_per_kw * monthly_peaks_kw(tariff, series, &year.import_w)?;
    let (fixed, fuel) = (tariff.per_day * 365.0, year.totals.fuel_l * fuel_per_l);
    Ok(Bill { energy, demand, fixed, export, fuel, total: energy + demand + fixed + fuel - export })
}

/// Sum of the twelve months' highest means.
fn monthly_peaks_kw(tariff: &Tariff, series: &Series<'_>, import_w: &[f64]) -> Result<f64, EnergyError> {
    if tariff.demand_per_kw <= 0.0 {
        return Ok(0.0);
    }
    let steps = tariff.demand_interval_s / series.step_s;
    let hour = 3600.0 / tariff.demand_interval_s;
    if !(steps >= 1.0 && steps.fract() < 1e-9 && hour >= 1.0 && hour.fract() < 1e-9) {
        return Err(EnergyError::NotCovered(
            "the interval of demand must be a whole number of steps that goes into an hour: take shorter steps",
        ));
    }
    let mut peaks = [0.0_f64; 12];
    let (calendar, steps) = (calendar(series)?, steps as usize);
    for (interval, when) in import_w.chunks(steps).zip(calendar.chunks(steps)) {
        let mean = interval.iter().sum::<f64>() / interval.len() as f64;
        if let Some(peak) = when.first().and_then(|(month, ..)| peaks.get_mut(*month)) {
            *peak = peak.max(mean);
        }
    }
    Ok(peaks.iter().sum::<f64>() / 1000.0)
}
