//! Carry times in figures: the worst start, percentiles by season and hour, what ran out.

use std::collections::BTreeMap;

use derivation::Known;
use quantity::{Duration, Ratio};

use super::carry::{Carry, Cause};
use crate::EnergyError;
use crate::time::month_days;

/// Three months.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Season {
    /// December to February.
    DecFeb,
    /// March to May.
    MarMay,
    /// June to August.
    JunAug,
    /// September to November.
    SepNov,
}

/// Outages that start in one season and one hour of the day.
#[derive(Debug, Clone, PartialEq)]
pub struct Band {
    /// The season.
    pub season: Season,
    /// Hour of the day, 0 to 23, local standard time.
    pub hour: usize,
    /// The shortest, in hours.
    pub least_h: f64,
    /// One in twenty is not carried for so long, in hours; rounded to the shorter of two starts.
    pub one_in_twenty_h: f64,
    /// Half are not carried for so long, in hours.
    pub half_h: f64,
}

/// Carry times of a year.
#[derive(Debug, Clone)]
pub struct CarryReport {
    /// The shortest.
    pub worst: Known<Duration>,
    /// The step at which it starts.
    pub worst_start: usize,
    /// What ended it.
    pub worst_ended_by: Cause,
    /// Share of starts carried at least so many hours, for the hours that were asked for.
    pub carried: Vec<(f64, Known<Ratio>)>,
    /// How many starts were ended by what.
    pub causes: BTreeMap<Cause, usize>,
    /// Starts whose end is not known, since the year ended: they count as ended there, which errs short.
    pub censored: usize,
    /// By season and hour.
    pub bands: Vec<Band>,
}

/// Figures of a year of 365 days.
///
/// # Errors
/// No starts, or steps that do not make days.
pub fn report(carry: &Carry, asked_h: &[f64]) -> Result<CarryReport, EnergyError> {
    let count = carry.steps.len();
    let per_hour = 3600.0 / carry.step_s;
    let Some((worst_start, least)) = carry.steps.iter().enumerate().min_by_key(|(k, s)| (**s, *k)) else {
        return Err(EnergyError::NotCovered("no outage was run"));
    };
    let equation =
        format!("shortest of outages starting at each of {count} steps of {} s, whole steps", carry.step_s);
    let worst = Known::solved(
        "t_min",
        "shortest carry time",
        Duration::of(f64::from(*least) * carry.step_s),
        equation,
        0.0,
        Vec::new(),
    );
    let carried = asked_h.iter().map(|hours| {
        let enough = carry.steps.iter().filter(|s| f64::from(**s) >= hours * per_hour).count();
        let equation = format!("starts carried {hours} h or longer, over {count} starts");
        let share = Ratio::of(enough as f64 / count as f64);
        (*hours, Known::solved("q", "share of outages carried", share, equation, 0.0, Vec::new()))
    });
    let mut causes = BTreeMap::new();
    for cause in &carry.ended_by {
        *causes.entry(*cause).or_insert(0) += 1;
    }
    Ok(CarryReport {
        worst,
        worst_start,
        worst_ended_by: carry.ended_by.get(worst_start).copied().unwrap_or(Cause::Energy),
        carried: carried.collect(),
        censored: causes.get(&Cause::YearEnd).copied().unwrap_or(0),
        causes,
        bands: bands(carry, per_hour),
    })
}

/// The worst outages of several years, such as years drawn with several seeds.
#[derive(Debug, Clone, PartialEq)]
pub struct YearsBand {
    /// How many years.
    pub years: usize,
    /// The shortest carry time of the worst year, in hours.
    pub least_h: f64,
    /// That of the middle year, in hours; of two middle ones the shorter.
    pub half_h: f64,
    /// That of the best year, in hours.
    pub most_h: f64,
}

/// How the shortest carry time scatters over years.
///
/// # Errors
/// No year, or one without starts.
pub fn over_years(years: &[Carry]) -> Result<YearsBand, EnergyError> {
    let mut worst_h = Vec::with_capacity(years.len());
    for year in years {
        let least = year.steps.iter().min().ok_or(EnergyError::NotCovered("no outage was run"))?;
        worst_h.push(f64::from(*least) * year.step_s / 3600.0);
    }
    worst_h.sort_by(f64::total_cmp);
    let half_h = worst_h.get(worst_h.len().saturating_sub(1) / 2).copied();
    match (worst_h.first(), half_h, worst_h.last()) {
        (Some(least_h), Some(half_h), Some(most_h)) => {
            Ok(YearsBand { years: years.len(), least_h: *least_h, half_h, most_h: *most_h })
        }
        _ => Err(EnergyError::NotCovered("no year was run")),
    }
}

/// The season of a day, 0 for the first of January.
fn season(day: usize) -> Season {
    let mut rest = day as u32;
    for month in 1..=12 {
        let days = month_days(2023, month);
        if rest < days {
            return match month {
                12 | 1 | 2 => Season::DecFeb,
                3..=5 => Season::MarMay,
                6..=8 => Season::JunAug,
                _ => Season::SepNov,
            };
        }
        rest -= days;
    }
    Season::DecFeb
}

fn bands(carry: &Carry, per_hour: f64) -> Vec<Band> {
    let mut cells: BTreeMap<(Season, usize), Vec<u32>> = BTreeMap::new();
    for (k, steps) in carry.steps.iter().enumerate() {
        let hour = (k as f64 / per_hour) as usize;
        cells.entry((season(hour / 24 % 365), hour % 24)).or_default().push(*steps);
    }
    let band = |((season, hour), mut steps): ((Season, usize), Vec<u32>)| {
        steps.sort_unstable();
        // rank rounded down: the shorter one
        let at = |share: f64| {
            let rank = (share * steps.len() as f64) as usize;
            steps.get(rank.saturating_sub(1)).map_or(0.0, |s| f64::from(*s) / per_hour)
        };
        Band { season, hour, least_h: at(0.0), one_in_twenty_h: at(0.05), half_h: at(0.5) }
    };
    cells.into_iter().map(band).collect()
}
