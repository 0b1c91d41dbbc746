//! Demand of one lane over time: the demand-duration curve and the time above a threshold.
//!
//! **Curve.** No window of length D takes more energy than [`Coincidence::energy_bound`], so no demand above
//! energy / D lasts for D. A demand that lasts for a longer D also lasts for every shorter one, hence the curve is
//! made to fall from short to long.
//!
//! **Time above c.** See `course`.

use std::sync::{Arc, OnceLock};

use derivation::{Known, formula};
use quantity::{Apparent, Duration, Power, Quantity, Ratio};

use crate::coincidence::Coincidence;
use crate::course::{Bounds, Course, Measure};
use crate::duration::OnTime;
use crate::model::{DurationDemand, LaneDemand};

/// Durations of the curve in s: 5 s, 60 s, 5 min, 30 min, 3 h.
pub(crate) const CURVE_S: [f64; 5] = [5.0, 60.0, 300.0, 1800.0, 10_800.0];

/// What a lane remembers of its loads.
#[derive(Debug, Clone)]
pub(crate) struct LaneItems {
    pub graph: Arc<Coincidence>,
    pub loads: Arc<Vec<LaneItem>>,
    /// All powers are multiplied by it.
    pub scale: f64,
    /// Worked out when they are first asked for, whatever the scale.
    known: Arc<Worked>,
}

/// Windows worth testing, and the bounds of each of them.
#[derive(Debug, Default)]
struct Worked {
    windows_s: OnceLock<Vec<f64>>,
    watts: OnceLock<Vec<Bounds>>,
    volt_amperes: OnceLock<Vec<Bounds>>,
}

const DAY_S: f64 = 86_400.0;
/// Neighbouring windows differ by no more than 30 s or 3 %, whichever is more; a little less, since some fall out as alike.
const STEP_S: f64 = 28.0;
const STEP_SHARE: f64 = 0.028;
/// Windows closer than this add nothing.
const ALIKE_S: f64 = 1.0;
const ALIKE_SHARE: f64 = 0.001;

/// One load on one lane. At most `top` runs at once; all its instances together are `all`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LaneItem {
    pub top_w: f64,
    pub all_w: f64,
    pub top_va: f64,
    pub all_va: f64,
    /// Number of instances that have any power here.
    pub instances: f64,
    pub on: OnTime,
}

impl LaneItems {
    pub fn new(graph: Arc<Coincidence>, loads: Vec<LaneItem>) -> Self {
        Self { graph, loads: Arc::new(loads), scale: 1.0, known: Arc::default() }
    }

    fn energy(&self, window_s: f64, top: impl Fn(&LaneItem) -> f64, all: impl Fn(&LaneItem) -> f64) -> f64 {
        let tops: Vec<f64> = self.loads.iter().map(&top).collect();
        let energy: Vec<f64> =
            self.loads.iter().map(|l| (all(l) * l.on.within(window_s)).min(top(l) * window_s)).collect();
        self.graph.energy_bound(&tops, &energy, window_s) * self.scale
    }

    /// Highest mean W over a window.
    pub fn mean_w(&self, window_s: f64) -> f64 {
        self.energy(window_s, |l| l.top_w, |l| l.all_w) / window_s
    }

    /// Highest mean VA over a window, by the sum of magnitudes.
    pub fn mean_va(&self, window_s: f64) -> f64 {
        self.energy(window_s, |l| l.top_va, |l| l.all_va) / window_s
    }

    /// Upper bound of the time above a threshold in W or VA within any window; VA by the sum of magnitudes.
    pub fn time_above_s(&self, measure: Measure, threshold: f64, window_s: f64) -> f64 {
        if threshold.is_nan() || !window_s.is_finite() || window_s <= 0.0 {
            return window_s.max(0.0);
        }
        if self.scale <= 0.0 {
            return 0.0;
        }
        // in the unscaled powers
        let c = threshold / self.scale;
        let windows = self.windows_s();
        if let Ok(k) = windows.binary_search_by(|w| w.total_cmp(&window_s))
            && let Some(bounds) = self.bounds(measure).get(k)
        {
            return bounds.time_above_s(c);
        }
        Course::new(&self.graph, &self.loads, measure).bounds(window_s).time_above_s(c)
    }

    /// The bounds of each window worth testing.
    fn bounds(&self, measure: Measure) -> &[Bounds] {
        let known = match measure {
            Measure::Watts => &self.known.watts,
            Measure::VoltAmperes => &self.known.volt_amperes,
        };
        known.get_or_init(|| {
            let mut course = Course::new(&self.graph, &self.loads, measure);
            self.windows_s().iter().map(|w| course.bounds(*w)).collect()
        })
    }

    /// Windows at which the time on of some load changes its course, and so many between them that none is far from
    /// the next, up to a day.
    pub fn windows_s(&self) -> &[f64] {
        self.known.windows_s.get_or_init(|| {
            let mut all: Vec<f64> = CURVE_S.to_vec();
            let mut window_s = STEP_S;
            while window_s < DAY_S {
                all.push(window_s);
                window_s += STEP_S.max(STEP_SHARE * window_s);
            }
            for load in self.loads.iter().filter(|l| l.top_va > 0.0) {
                all.extend(load.on.breakpoints());
            }
            all.sort_by(f64::total_cmp);
            all.dedup_by(|next, kept| *next - *kept < ALIKE_S.max(ALIKE_SHARE * *kept));
            all.push(DAY_S);
            all.dedup_by(|next, kept| *next <= *kept);
            all
        })
    }
}

impl LaneDemand {
    /// Upper bound of the time within any window of length `window` in which the active power exceeds `threshold`.
    /// Zero where the highest power stays under the threshold; otherwise by Markov's inequality and the union bound, on
    /// the loads split in several ways into some that are taken as always on and the others.
    pub fn time_above(&self, threshold: Power, window: Duration) -> Duration {
        if self.steady_power.value() <= threshold {
            return Duration::ZERO;
        }
        Duration::of(self.items.time_above_s(Measure::Watts, threshold.si(), window.si()))
    }

    /// Upper bound of the time within any window of length `window` in which the apparent power exceeds `threshold`.
    /// Magnitudes are added, which is never less than the phasor sum; where the largest phasor sum stays under the
    /// threshold, the time is zero.
    pub fn time_above_apparent(&self, threshold: Apparent, window: Duration) -> Duration {
        if self.steady_apparent.value() <= threshold {
            return Duration::ZERO;
        }
        Duration::of(self.items.time_above_s(Measure::VoltAmperes, threshold.si(), window.si()))
    }

    /// Windows worth testing, up to 24 h, shortest first: no two neighbours are more than 30 s or 3 % apart, and the
    /// lengths at which the time on of a cycling load changes its course are among them.
    pub fn windows(&self) -> Vec<Duration> {
        self.items.windows_s().iter().copied().map(Duration::of).collect()
    }

    /// The same lane with every load larger or smaller by a factor.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> LaneDemand {
        let f = Known::chosen("f", "scale", Ratio::of(factor), "asked for", Vec::new());
        let items = LaneItems { scale: self.items.scale * factor, ..self.items.clone() };
        LaneDemand {
            steady_power: times(&self.steady_power, &f),
            steady_apparent: times(&self.steady_apparent, &f),
            steady_current: times(&self.steady_current, &f),
            peak_current: times(&self.peak_current, &f),
            curve: self
                .curve
                .iter()
                .map(|d| DurationDemand {
                    lasts: d.lasts,
                    power: times(&d.power, &f),
                    apparent: times(&d.apparent, &f),
                })
                .collect(),
            items,
        }
    }
}

pub(crate) fn times<Q: Quantity + std::ops::Mul<Ratio, Output = Q>>(
    x: &Known<Q>,
    f: &Known<Ratio>,
) -> Known<Q> {
    let symbol = x.node().symbol.clone();
    let what = format!("{}, scaled", x.node().what);
    formula!(&symbol, what, [x, f] => x * f)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const MINUTE_S: f64 = 60.0;

    /// Power in W, minutes of a run, minutes of pause, runs a day, how many alike.
    type Load = (u32, usize, usize, usize, usize);

    fn item(load: &Load) -> LaneItem {
        let (watts, run, pause, runs, count) = *load;
        let (w, n) = (f64::from(watts), count as f64);
        let (run, pause) = (run as f64 * MINUTE_S, pause as f64 * MINUTE_S);
        let daily_s = (run * runs as f64).min(86_400.0);
        let on = OnTime { daily_s, run: Some((run, pause)), measured: None };
        LaneItem { top_w: w * n, all_w: w * n, top_va: w * n, all_va: w * n, instances: n, on }
    }

    fn lane(loads: &[Load], edges: &[(usize, usize)]) -> LaneItems {
        let graph = Arc::new(Coincidence::new(vec![None; loads.len()], edges));
        LaneItems::new(graph, loads.iter().map(item).collect())
    }

    /// A day in minutes, made greedily from random wishes: a load runs when it is allowed to and wishes to.
    fn schedule(loads: &[Load], graph: &Coincidence, wishes: &[u64]) -> Vec<f64> {
        let units: Vec<usize> = (0..loads.len()).flat_map(|k| vec![k; loads[k].4]).collect();
        let mut on = vec![vec![false; 1440]; units.len()];
        let mut state: Vec<(usize, usize, usize)> = vec![(0, 0, 0); units.len()];
        let mut power = vec![0.0; 1440];
        for minute in 0..1440 {
            for v in 0..units.len() {
                let (watts, run, pause, runs, _) = loads[units[v]];
                let (left, rest, done) = &mut state[v];
                let wish = wishes[(minute / 7 + v * 13) % wishes.len()] >> ((v + minute / 50) % 64) & 1 == 1;
                let free = (0..units.len())
                    .all(|u| units[u] == units[v] || !on[u][minute] || graph.compatible(units[u], units[v]));
                if *left == 0 && *rest == 0 && *done < runs && wish {
                    (*left, *done) = (run, *done + 1);
                }
                if *left > 0 && free {
                    on[v][minute] = true;
                    power[minute] += f64::from(watts);
                    *left -= 1;
                    if *left == 0 {
                        *rest = pause;
                    }
                } else if *left > 0 {
                    // pushed out: the run ends
                    (*left, *rest) = (0, pause);
                } else {
                    *rest = rest.saturating_sub(1);
                }
            }
        }
        power
    }

    fn any_loads() -> impl Strategy<Value = Vec<Load>> {
        proptest::collection::vec((1u32..4000, 1usize..90, 0usize..120, 1usize..9, 1usize..4), 1..7)
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(150))]
        #[test]
        fn no_permitted_schedule_is_longer_above_or_higher_than_said(
            loads in any_loads(),
            edges in proptest::collection::vec((0usize..7, 0usize..7), 0..6),
            wishes in proptest::collection::vec(any::<u64>(), 8..40),
            share in 0.05f64..1.0,
            window in 1usize..1440,
        ) {
            let lane = lane(&loads, &edges);
            let power = schedule(&loads, &lane.graph, &wishes);
            let steady = lane.graph.heaviest(&lane.loads.iter().map(|l| l.top_w).collect::<Vec<_>>()).value;
            prop_assert!(power.iter().all(|p| *p <= steady + 1e-9));
            let threshold = steady * share;
            let window_s = window as f64 * MINUTE_S;
            let said_s = lane.time_above_s(Measure::Watts, threshold, window_s);
            let mean_w = lane.mean_w(window_s);
            for start in 0..=(1440 - window) {
                let part = &power[start..start + window];
                let above_s = part.iter().filter(|p| **p > threshold).count() as f64 * MINUTE_S;
                prop_assert!(above_s <= said_s + 1e-6, "{above_s} s above, {said_s} s said");
                let mean = part.iter().sum::<f64>() / window as f64;
                prop_assert!(mean <= mean_w + 1e-6, "mean {mean}, {mean_w} said");
            }
        }

        #[test]
        fn time_above_falls_with_the_threshold_and_never_exceeds_the_window(
            loads in any_loads(), edges in proptest::collection::vec((0usize..7, 0usize..7), 0..6),
        ) {
            let lane = lane(&loads, &edges);
            let time_s = |threshold: f64| lane.time_above_s(Measure::VoltAmperes, threshold, 7200.0);
            let mut last = f64::INFINITY;
            for threshold in [0.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, f64::INFINITY] {
                prop_assert!((0.0..=7200.0).contains(&time_s(threshold)) && time_s(threshold) <= last + 1e-9);
                last = time_s(threshold);
            }
            prop_assert!(last <= 0.0);
            prop_assert!(time_s(f64::NAN) >= 7200.0);
        }

        #[test]
        fn windows_lie_close_and_their_kept_bounds_are_those_worked_out_anew(loads in any_loads()) {
            let lane = lane(&loads, &[(0, 1)]);
            let windows = lane.windows_s();
            prop_assert!(windows.last().is_some_and(|last| (*last - 86_400.0).abs() < 1e-9));
            for pair in windows.windows(2) {
                prop_assert!(pair[1] > pair[0] && pair[1] - pair[0] <= (0.03 * pair[0]).max(30.0));
            }
            let steady = lane.graph.heaviest(&lane.loads.iter().map(|l| l.top_w).collect::<Vec<_>>()).value;
            let window_s = windows[windows.len() / 2];
            let kept = lane.time_above_s(Measure::Watts, 0.6 * steady, window_s);
            let near = lane.time_above_s(Measure::Watts, 0.6 * steady, window_s * (1.0 + 1e-12));
            prop_assert!((kept - near).abs() < 1e-6);
        }
    }

    #[test]
    fn a_lane_is_above_only_while_a_load_outside_the_base_is_on() {
        let day = |watts: u32, minutes: usize, count: usize| (watts, minutes, 0, 1, count);
        let above_min =
            |loads: &[Load], c: f64| lane(loads, &[]).time_above_s(Measure::Watts, c, 7200.0) / 60.0;
        // one load of 6 kW for 27 min is above 5.5 kW no longer than it runs, nor with a small one beside it
        assert!((above_min(&[day(6000, 27, 1)], 5500.0) - 27.0).abs() < 1e-9);
        assert!((above_min(&[day(6000, 27, 1), day(200, 1440, 1)], 5500.0) - 27.0).abs() < 1e-9);
        // the long one that comes first by time does not hide the short ones: 2 + 3 kW stay under 5.5 kW
        assert!(
            (above_min(&[day(3000, 100, 1), day(2000, 60, 1), day(5000, 10, 1)], 5500.0) - 10.0).abs() < 1e-9
        );
        // two alike may run one after the other
        assert!((above_min(&[day(6000, 27, 2)], 5500.0) - 54.0).abs() < 1e-9);
    }
}
