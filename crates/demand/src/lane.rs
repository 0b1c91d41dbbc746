//! Demand of one lane over time: the demand-duration curve and the time above a threshold.
//!
//! **Curve.** No window of length D takes more energy than [`Coincidence::energy_bound`], so no demand above
//! energy / D lasts for D. A demand that lasts for a longer D also lasts for every shorter one, hence the curve is
//! made to fall from short to long.
//!
//! **Time above c.** Order the loads by their longest time on within the window D and take the first k of them as
//! always on; together they never exceed B_k (their heaviest permitted subset). The lane exceeds c only while the
//! others exceed c - B_k. Their energy within D is at most E_k, and a quantity that is never negative exceeds a
//! level a > 0 no longer than its integral over a (Markov's inequality). So for every k with B_k < c the time is at
//! most E_k / (c - B_k), and never more than D. The least over k is returned; it is 0 where c is never exceeded.

use std::sync::Arc;

use derivation::{Known, formula};
use quantity::{Apparent, Duration, Power, Quantity, Ratio};

use crate::coincidence::Coincidence;
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
}

/// One load on one lane. At most `top` runs at once; all its instances together are `all`.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct LaneItem {
    pub top_w: f64,
    pub all_w: f64,
    pub top_va: f64,
    pub all_va: f64,
    pub on: OnTime,
}

impl LaneItems {
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

    /// Upper bound of the time above `threshold_w` within any window.
    pub fn time_above_s(&self, threshold_w: f64, window_s: f64) -> f64 {
        self.time_above_by(threshold_w, window_s, |l| l.top_w, |l| l.all_w)
    }

    /// Upper bound of the time in which the sum of magnitudes is above `threshold_va` within any window.
    pub fn time_above_va_s(&self, threshold_va: f64, window_s: f64) -> f64 {
        self.time_above_by(threshold_va, window_s, |l| l.top_va, |l| l.all_va)
    }

    fn time_above_by(
        &self,
        threshold: f64,
        window_s: f64,
        top: impl Fn(&LaneItem) -> f64,
        all: impl Fn(&LaneItem) -> f64,
    ) -> f64 {
        if !threshold.is_finite() || !window_s.is_finite() || self.scale <= 0.0 {
            return if window_s.is_finite() && threshold.is_nan() { window_s.max(0.0) } else { 0.0 };
        }
        // in the unscaled powers
        let c = threshold / self.scale;
        let tops: Vec<f64> = self.loads.iter().map(&top).collect();
        if self.graph.heaviest(&tops).value <= c || window_s <= 0.0 {
            return 0.0;
        }
        let mut order: Vec<usize> = (0..self.loads.len()).collect();
        let on: Vec<f64> = self.loads.iter().map(|l| l.on.within(window_s)).collect();
        order.sort_by(|a, b| on[*b].total_cmp(&on[*a]).then(a.cmp(b)));
        let mut base = vec![0.0; tops.len()];
        let mut others = tops.clone();
        let mut energy: Vec<f64> =
            self.loads.iter().zip(&on).map(|(l, on_s)| (all(l) * on_s).min(top(l) * window_s)).collect();
        let mut least = window_s;
        for k in 0..=order.len() {
            let always = self.graph.heaviest(&base).value;
            if always >= c {
                break;
            }
            least = least.min(self.graph.energy_bound(&others, &energy, window_s) / (c - always));
            if let Some(&v) = order.get(k) {
                base[v] = tops[v];
                others[v] = 0.0;
                energy[v] = 0.0;
            }
        }
        least
    }

    /// Windows at which the time on of some load changes its course, up to a day.
    pub fn windows_s(&self) -> Vec<f64> {
        let mut all: Vec<f64> = CURVE_S.to_vec();
        all.push(86_400.0);
        for load in self.loads.iter().filter(|l| l.top_w > 0.0) {
            all.extend(load.on.breakpoints());
        }
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
        all
    }
}

impl LaneDemand {
    /// Upper bound of the time within any window of length `window` in which the active power exceeds `threshold`.
    /// See the module's derivation (Markov's inequality on loads grouped by their time on).
    pub fn time_above(&self, threshold: Power, window: Duration) -> Duration {
        Duration::of(self.items.time_above_s(threshold.si(), window.si()))
    }

    /// Upper bound of the time within any window of length `window` in which the apparent power exceeds `threshold`.
    /// Magnitudes are added, which is never less than the phasor sum; where the largest phasor sum stays under the
    /// threshold, the time is zero.
    pub fn time_above_apparent(&self, threshold: Apparent, window: Duration) -> Duration {
        if self.steady_apparent.value() <= threshold {
            return Duration::ZERO;
        }
        Duration::of(self.items.time_above_va_s(threshold.si(), window.si()))
    }

    /// Windows worth testing, up to 24 h, shortest first.
    pub fn windows(&self) -> Vec<Duration> {
        self.items.windows_s().into_iter().map(Duration::of).collect()
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

    const STEP_S: f64 = 60.0;

    /// Power in W, minutes of a run, minutes of pause, runs a day.
    type Load = (u32, usize, usize, usize);

    fn lane(loads: &[Load], edges: &[(usize, usize)]) -> LaneItems {
        let items = loads
            .iter()
            .map(|(watts, run, pause, runs)| {
                let w = f64::from(*watts);
                let (run, pause) = (*run as f64 * STEP_S, *pause as f64 * STEP_S);
                let on = OnTime {
                    daily_s: (run * *runs as f64).min(86_400.0),
                    run: Some((run, pause)),
                    measured: None,
                };
                LaneItem { top_w: w, all_w: w, top_va: w, all_va: w, on }
            })
            .collect();
        let graph = Arc::new(Coincidence::new(vec![None; loads.len()], edges));
        LaneItems { graph, loads: Arc::new(items), scale: 1.0 }
    }

    /// A day in minutes, made greedily from random wishes: a load runs when it is allowed to and wishes to.
    fn schedule(loads: &[Load], graph: &Coincidence, wishes: &[u64]) -> Vec<f64> {
        let mut on = vec![vec![false; 1440]; loads.len()];
        let mut state: Vec<(usize, usize, usize)> = vec![(0, 0, 0); loads.len()];
        let mut power = vec![0.0; 1440];
        for minute in 0..1440 {
            for v in 0..loads.len() {
                let (watts, run, pause, runs) = loads[v];
                let (left, rest, done) = &mut state[v];
                let wish = wishes[(minute / 7 + v * 13) % wishes.len()] >> (v + minute / 50) & 1 == 1;
                let free = (0..loads.len()).all(|u| u == v || !on[u][minute] || graph.compatible(u, v));
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
        proptest::collection::vec((1u32..4000, 1usize..90, 0usize..120, 1usize..9), 1..7)
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
            let window_s = window as f64 * STEP_S;
            let (said_s, mean_w) = (lane.time_above_s(threshold, window_s), lane.mean_w(window_s));
            for start in 0..=(1440 - window) {
                let part = &power[start..start + window];
                let above_s = part.iter().filter(|p| **p > threshold).count() as f64 * STEP_S;
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
            let mut last = f64::INFINITY;
            for threshold in [0.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0, f64::INFINITY] {
                let time_s = lane.time_above_s(threshold, 7200.0);
                prop_assert!((0.0..=7200.0).contains(&time_s) && time_s <= last + 1e-9);
                last = time_s;
            }
            prop_assert!(last <= 0.0);
            prop_assert!(lane.time_above_s(f64::NAN, 7200.0) >= 7200.0);
        }
    }
}
