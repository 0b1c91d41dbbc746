//! Loads of the backup panel by step of a year.

use std::collections::{BTreeMap, BTreeSet};

use demand::Profile;
use energy::time::month_days;
use quantity::{Angle, Quantity};
use site::Season;

use crate::place::{Draw, Span, day};

/// Days of the year that is run.
pub const DAYS: usize = 365;

/// Loads by tier: 0 is never shed, 2 is shed first.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Loads {
    /// Mean power of each step, in watts.
    pub tiers_w: [Vec<f64>; 3],
    /// The loads of each tier, by name.
    pub names: [Vec<String>; 3],
    /// Shedding priorities of tiers 1 and 2.
    pub priorities: [Vec<u32>; 3],
    /// Days on which loads meet that must not meet, since their times leave no room.
    pub met_days: usize,
}

/// Month of each day of the year, 0 for January.
pub(crate) fn month_of_day() -> Vec<usize> {
    (1..=12).flat_map(|m| vec![m - 1; month_days(2023, m) as usize]).collect()
}

/// Tier of a load by its priority: the first priority of the site that is shed is tier 2, all later ones are tier 1.
fn tier(shed: Option<u32>, first: Option<u32>) -> usize {
    match shed {
        None => 0,
        Some(_) if shed == first => 2,
        Some(_) => 1,
    }
}

/// Loads of a year in steps of `step_s`, which goes into an hour.
///
/// Each day is that of the assessment: every load runs as long as it may, in its season at the site's latitude. Hours that the site states are kept; within them, and for loads of which only
/// the time a day is known, the runs are drawn anew each day. The same seed gives the same runs whatever the step.
pub fn loads(profiles: &[Profile], latitude: Option<Angle>, step_s: f64, seed: u64) -> Loads {
    let steps_a_day = (86_400.0 / step_s) as usize;
    let first = profiles.iter().filter_map(|p| p.shed).min();
    let tiers_w = std::array::from_fn(|_| vec![0.0; DAYS * steps_a_day]);
    let mut out = Loads { tiers_w, ..Loads::default() };
    // what stands fixed by the hour is placed before what has room to give way
    let mut order: Vec<&Profile> = profiles.iter().collect();
    order.sort_by_key(|p| (p.hourly.is_none(), -(p.day_s as i64)));
    for profile in profiles {
        let tier = tier(profile.shed, first);
        out.names[tier].push(profile.load.clone());
        out.priorities[tier].extend(profile.shed);
    }
    for priorities in &mut out.priorities {
        priorities.sort_unstable();
        priorities.dedup();
    }
    let apart = apart(profiles);
    for (number, month) in month_of_day().into_iter().enumerate() {
        let season = Season::of_month(month, latitude);
        let mut placed: BTreeMap<&str, Vec<Span>> = BTreeMap::new();
        let mut met_today = false;
        for profile in order.iter().filter(|p| p.season.is_none_or(|its| its == season)) {
            let never = apart.get(profile.load.as_str());
            let taken: Vec<&[Span]> = never
                .into_iter()
                .flatten()
                .filter_map(|other| placed.get(other))
                .map(Vec::as_slice)
                .collect();
            let mut draw = Draw::new(seed, &profile.load, number as u64);
            let (spans, met) = day(profile, &mut draw, &taken);
            met_today |= met;
            let column = &mut out.tiers_w[tier(profile.shed, first)];
            add(column, number * steps_a_day, step_s, profile.power.value().si(), &spans);
            if never.is_some() {
                placed.insert(&profile.load, spans);
            }
        }
        out.met_days += usize::from(met_today);
    }
    out
}

/// Loads that must not meet, both ways.
fn apart(profiles: &[Profile]) -> BTreeMap<&str, BTreeSet<&str>> {
    let mut all: BTreeMap<&str, BTreeSet<&str>> = BTreeMap::new();
    let known: BTreeSet<&str> = profiles.iter().map(|p| p.load.as_str()).collect();
    for profile in profiles {
        for other in profile.never_with.iter().filter(|o| known.contains(o.as_str())) {
            all.entry(&profile.load).or_default().insert(other);
            all.entry(other).or_default().insert(&profile.load);
        }
    }
    all
}

/// Adds the mean power of each step that runs touch.
fn add(column: &mut [f64], first: usize, step_s: f64, power_w: f64, spans: &[Span]) {
    for (from, to) in spans {
        let mut at = *from;
        while at < *to - 1e-9 {
            let step = libm::floor(at / step_s + 1e-9);
            let end = to.min((step + 1.0) * step_s);
            if let Some(mean) = column.get_mut(first + step as usize) {
                *mean += power_w * (end - at).max(0.0) / step_s;
            }
            at = end;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::place::tests::profile;

    /// A kilowatt for a whole day, in summer: July in the north, January in the south.
    #[test]
    fn seasons_are_those_of_the_latitude() {
        let pump = Profile { season: Some(Season::Summer), ..profile(1, 1, 86_400.0, None) };
        for (latitude, january, july) in
            [(Some(40.0), 0.0, 1000.0), (Some(-40.0), 1000.0, 0.0), (None, 0.0, 1000.0)]
        {
            let found = loads(std::slice::from_ref(&pump), latitude.map(Angle::of), 3600.0, 1);
            let at = |day: usize| found.tiers_w[0][day * 24 + 12];
            assert!((at(10) - january).abs() < 1e-9 && (at(190) - july).abs() < 1e-9, "{latitude:?}");
        }
    }
}
