//! How long a load can run within a window of time.

use std::sync::Arc;

const DAY_S: f64 = 86_400.0;
/// Of shorter cycles than a 200th of a day only the first ones are windows of their own: later on their time on is as
/// good as a straight line.
const MOST_CYCLES: f64 = 200.0;

/// When a load can run.
///
/// Windows up to a day: no more than the daily running time, taken as one run. A load with longest runs and
/// shortest pauses runs `lasts` out of every `lasts + rests` at most, best case for it at the start of the window.
/// The daily running time is that of any 24 hours, not of a calendar day.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct OnTime {
    /// Running time in any 24 hours.
    pub daily_s: f64,
    /// Longest run and shortest pause.
    pub run: Option<(f64, f64)>,
    /// Measured: see [`Envelope`].
    pub measured: Option<Arc<Envelope>>,
}

/// Highest energy of a measured series in windows of some lengths, as seconds at its peak. Rising with the length.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Envelope {
    /// Window in s and highest energy in it over peak power, in s.
    pub points: Vec<(f64, f64)>,
}

impl Envelope {
    /// Upper bound for any window: energy never falls when the window grows, so the next longer length bounds it.
    fn within(&self, window_s: f64) -> f64 {
        let longer = self.points.iter().find(|(length, _)| *length >= window_s - 1e-9);
        longer.map_or(window_s, |(_, energy)| energy.min(window_s))
    }
}

impl OnTime {
    /// Runs all day.
    #[cfg(test)]
    pub fn always() -> Self {
        Self { daily_s: DAY_S, run: None, measured: None }
    }

    /// Longest time on within any window of `window_s` seconds.
    pub fn within(&self, window_s: f64) -> f64 {
        if let Some(envelope) = &self.measured {
            return envelope.within(window_s).clamp(0.0, window_s);
        }
        let days = (window_s / DAY_S).floor();
        let rest = window_s - days * DAY_S;
        // whole days beyond the first only matter for windows longer than a day
        let by_day = days * self.daily_s + rest.min(self.daily_s);
        let by_run = match self.run {
            Some((lasts, rests)) if lasts > 0.0 && lasts + rests > 0.0 => {
                let cycles = (window_s / (lasts + rests)).floor();
                cycles * lasts + (window_s - cycles * (lasts + rests)).min(lasts)
            }
            _ => window_s,
        };
        by_day.min(by_run).clamp(0.0, window_s)
    }

    /// Longest time within any window of `window_s` seconds in which the load may have any power at all. A measured
    /// series tells energy only: it may be small all the time.
    pub fn any_within(&self, window_s: f64) -> f64 {
        let within = self.within(window_s);
        if self.measured.is_some() && within > 0.0 { window_s } else { within }
    }

    /// Lengths of window at which the time on changes its course, up to a day.
    pub fn breakpoints(&self) -> Vec<f64> {
        let mut points = vec![self.daily_s];
        if let Some((lasts, rests)) = self.run.filter(|(lasts, rests)| *lasts > 0.0 && lasts + rests > 0.0) {
            let period = lasts + rests;
            let cycles = (DAY_S / period).ceil().min(MOST_CYCLES);
            let mut start = 0.0;
            while start < cycles * period {
                points.push(start);
                points.push(start + lasts);
                start += period;
            }
            // where the day's running time is used up
            let whole = (self.daily_s / lasts).ceil() - 1.0;
            points.push(whole * period + (self.daily_s - whole * lasts));
        }
        if let Some(envelope) = &self.measured {
            // the bound jumps behind each of them
            points.extend(envelope.points.iter().flat_map(|(length, _)| [*length, length * (1.0 + 1e-6)]));
        }
        points.retain(|p| *p > 0.0 && *p <= DAY_S);
        points
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn runs_and_pauses_within_a_day() {
        let pump = OnTime { daily_s: 7200.0, run: Some((600.0, 1200.0)), measured: None };
        assert!((pump.within(300.0) - 300.0).abs() < 1e-9);
        assert!((pump.within(1800.0) - 600.0).abs() < 1e-9);
        assert!((pump.within(2000.0) - 800.0).abs() < 1e-9);
        // 12 cycles of 30 min would be reached after 5.5 h + 10 min; the day allows no more
        assert!((pump.within(DAY_S) - 7200.0).abs() < 1e-9);
        assert!((OnTime::always().within(10_800.0) - 10_800.0).abs() < 1e-9);
    }
}
