//! The overload budget (an assumption, marked as such): at power p, 1/t of it is spent a second, where t is the time
//! that the catalogue allows at the next *higher* listed power; it recovers only below continuous power, and only as
//! the catalogue states.
//!
//! Let P_0 be the continuous power and P_1 < P_2 < ... the listed overloads with t_1 > t_2 > .... With t(p > P, D) an
//! upper bound of the time within any window D above P, the budget spent within D is at most
//! sum_k t(p > P_k, D) (1/t_(k+1) - 1/t_k), with 1/t_0 = 0; above the last listed power no time is allowed at all.
//! The budget is a bucket that fills and drains, so its level never exceeds the largest difference, over all windows,
//! of what is spent and what recovers in them.

use quantity::{Duration, Quantity};

/// A threshold and how long the power may be between it and the next one.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Step {
    /// Power (or apparent power) of the threshold.
    pub above: f64,
    /// Allowed time between this and the next threshold; none above the last.
    pub lasts: Option<Duration>,
}

/// The largest share of the budget that is ever spent; infinite where power stays above the last threshold.
pub(crate) fn worst(
    steps: &[Step],
    recovery: Option<Duration>,
    windows: &[Duration],
    time_above: impl Fn(f64, Duration) -> Duration,
) -> f64 {
    let mut ordered: Vec<Duration> = windows.to_vec();
    ordered.sort_by(|a, b| a.si().total_cmp(&b.si()));
    let mut worst = 0.0f64;
    let mut shorter = Duration::ZERO;
    for window in ordered {
        let mut spent = 0.0;
        let mut rate_below = 0.0;
        for step in steps {
            let time = time_above(step.above, window).si();
            if time <= 0.0 {
                break;
            }
            match step.lasts {
                Some(lasts) => {
                    let rate = 1.0 / lasts.si();
                    spent += time * (rate - rate_below);
                    rate_below = rate;
                }
                None => return f64::INFINITY,
            }
        }
        // Between two windows the spending of the longer one is held against the recovery of the shorter one.
        let recovered = recovery.map_or(0.0, |recovery| {
            let over = steps.first().map_or(0.0, |s| time_above(s.above, shorter).si());
            (shorter.si() - over).max(0.0) / recovery.si()
        });
        worst = worst.max(spent - recovered);
        shorter = window;
    }
    worst
}

#[cfg(test)]
mod tests {
    use super::*;

    fn steps() -> Vec<Step> {
        vec![
            Step { above: 10.0, lasts: Some(Duration::of(1800.0)) },
            Step { above: 12.5, lasts: Some(Duration::of(60.0)) },
            Step { above: 15.0, lasts: None },
        ]
    }

    /// A load of 11 for 15 minutes spends half of a half-hour budget; of 13 for 30 s spends half of a minute's.
    #[test]
    fn spends_by_the_next_higher_listed_power() {
        let windows = [Duration::of(900.0), Duration::of(86_400.0)];
        let at = |p: f64, lasts: f64| {
            move |above: f64, window: Duration| {
                if p > above { Duration::of(lasts.min(window.si())) } else { Duration::ZERO }
            }
        };
        assert!((worst(&steps(), None, &windows, at(11.0, 900.0)) - 0.5).abs() < 1e-12);
        assert!((worst(&steps(), None, &windows, at(13.0, 30.0)) - 0.5).abs() < 1e-12);
        assert!(worst(&steps(), None, &windows, at(15.1, 0.1)).is_infinite());
        assert!(worst(&steps(), None, &windows, at(10.0, 900.0)).abs() < 1e-12);
    }

    /// 20 minutes of 11 every 2 hours: without recovery the day spends 8 budgets; with an hour of recovery never
    /// more than 2/3, since 100 minutes below continuous give back more than was spent.
    #[test]
    fn recovers_only_as_stated() {
        let windows: Vec<Duration> = (1..=1440).map(|m| Duration::of(f64::from(m) * 60.0)).collect();
        let cycle = |above: f64, window: Duration| {
            if above >= 11.0 {
                return Duration::ZERO;
            }
            let (whole, rest) = (libm::floor(window.si() / 7200.0), window.si() % 7200.0);
            Duration::of(whole * 1200.0 + rest.min(1200.0))
        };
        assert!((worst(&steps(), None, &windows, cycle) - 8.0).abs() < 1e-9);
        let with = worst(&steps(), Some(Duration::of(3600.0)), &windows, cycle);
        assert!((with - 2.0 / 3.0).abs() < 0.02, "{with}");
    }
}
