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
use quantity::{Duration, Power, Quantity, Ratio};

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
    fn top(&self) -> Vec<f64> {
        self.loads.iter().map(|l| l.top_w).collect()
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

    /// Upper bound of the time above `threshold_w` within any window.
    pub fn time_above_s(&self, threshold_w: f64, window_s: f64) -> f64 {
        if threshold_w.is_nan() || self.scale <= 0.0 {
            return if threshold_w < 0.0 || threshold_w.is_nan() { window_s } else { 0.0 };
        }
        // in the unscaled powers
        let c = threshold_w / self.scale;
        let tops = self.top();
        if self.graph.heaviest(&tops).value <= c || window_s <= 0.0 {
            return 0.0;
        }
        let mut order: Vec<usize> = (0..self.loads.len()).collect();
        let on: Vec<f64> = self.loads.iter().map(|l| l.on.within(window_s)).collect();
        order.sort_by(|a, b| on[*b].total_cmp(&on[*a]).then(a.cmp(b)));
        let mut base = vec![0.0; tops.len()];
        let mut others = tops.clone();
        let mut energy: Vec<f64> =
            self.loads.iter().zip(&on).map(|(l, on_s)| (l.all_w * on_s).min(l.top_w * window_s)).collect();
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

fn times<Q: Quantity + std::ops::Mul<Ratio, Output = Q>>(x: &Known<Q>, f: &Known<Ratio>) -> Known<Q> {
    let symbol = x.node().symbol.clone();
    let what = format!("{}, scaled", x.node().what);
    formula!(&symbol, what, [x, f] => x * f)
}
