//! When each load of a panel runs in a day, for what follows it through a year.

use derivation::Known;
use quantity::Power;
use site::Season;

use crate::pieces::Piece;
use crate::series::Series;
use crate::track::Track;

const DAY_S: f64 = 86_400.0;

/// A load of a panel and the day on which it runs as long as it may. Its energy is that of
/// [`crate::PanelDemand::daily_energy`].
#[derive(Debug, Clone)]
pub struct Profile {
    /// Load, or the leg of a measured demand.
    pub load: String,
    /// Active power of one.
    pub power: Known<Power>,
    /// How many.
    pub count: u32,
    /// How many at once, at most.
    pub at_once: u32,
    /// Longest running time of one in a day, in seconds.
    pub day_s: f64,
    /// Share of each hour of the day in which it runs, where that is known.
    pub hourly: Option<[f64; 24]>,
    /// Longest run and shortest pause, in seconds, where stated.
    pub run_s: Option<(f64, f64)>,
    /// The half of the year in which it runs; none all year.
    pub season: Option<Season>,
    /// Shedding priority: 1 is shed first; none is never shed.
    pub shed: Option<u32>,
    /// Loads that never run at the same time.
    pub never_with: Vec<String>,
}

impl Profile {
    /// Energy of a day in watt-hours: every one runs its time, no more at once than may run.
    pub fn day_wh(&self) -> f64 {
        let all_s = (f64::from(self.count) * self.day_s).min(f64::from(self.at_once) * DAY_S);
        quantity::Quantity::si(self.power.value()) * all_s / 3600.0
    }

    pub(crate) fn of(piece: &Piece) -> Self {
        Self {
            load: piece.name.clone(),
            power: piece.power.clone(),
            count: piece.count,
            at_once: piece.at_once,
            day_s: piece.worst_day_s,
            hourly: piece.hourly,
            run_s: piece.on.run,
            season: piece.season,
            shed: piece.shed,
            never_with: piece.never_with.clone(),
        }
    }
}

/// Shares of the hours in which a recorded load runs, so that they make `day_s` in all: as the mean of each hour of
/// the day in the record, and where that would be more than the whole hour, the rest in the other hours.
pub(crate) fn by_record(series: &Series, track: &Track, day_s: f64) -> [f64; 24] {
    let (mut sums, mut counts) = ([0.0_f64; 24], [0.0_f64; 24]);
    let first_s = f64::from(series.start.hour()) * 3600.0 + f64::from(series.start.minute()) * 60.0;
    for (k, power_w) in track.w.iter().enumerate() {
        // an interval counts to the hour in which it begins
        let hour = ((first_s + k as f64 * series.interval_s) / 3600.0) as usize % 24;
        sums[hour] += power_w.max(0.0);
        counts[hour] += 1.0;
    }
    let weights: [f64; 24] = std::array::from_fn(|h| if counts[h] > 0.0 { sums[h] / counts[h] } else { 0.0 });
    spread(weights, day_s / 3600.0)
}

/// Shares of at most 1 that make `hours` in all, as near to the weights as that goes.
pub fn spread(weights: [f64; 24], hours: f64) -> [f64; 24] {
    let hours = hours.clamp(0.0, 24.0);
    let mut shares = [0.0_f64; 24];
    for _ in 0..24 {
        let left = hours - shares.iter().sum::<f64>();
        let open: Vec<usize> = (0..24).filter(|h| shares[*h] < 1.0 - 1e-12).collect();
        if left <= 1e-9 || open.is_empty() {
            break;
        }
        let whole: f64 = open.iter().map(|h| weights[*h]).sum();
        for h in &open {
            // hours that the record shows as empty share what the others cannot hold
            let part = if whole > 0.0 { weights[*h] / whole } else { 1.0 / open.len() as f64 };
            shares[*h] = (shares[*h] + left * part).min(1.0);
        }
    }
    shares
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_make_the_asked_time_and_never_more_than_the_hour() {
        let mut weights = [0.0; 24];
        (weights[8], weights[9], weights[20]) = (6.0, 3.0, 1.0);
        for hours in [0.0, 1.0, 2.5, 3.0, 7.0, 24.0] {
            let shares = spread(weights, hours);
            assert!((shares.iter().sum::<f64>() - hours).abs() < 1e-9, "{hours}: {shares:?}");
            assert!(shares.iter().all(|s| (0.0..=1.0).contains(s)));
        }
        // 6 : 3 : 1 of one hour
        let shares = spread(weights, 1.0);
        assert!((shares[8] - 0.6).abs() < 1e-12 && (shares[20] - 0.1).abs() < 1e-12);
    }
}
