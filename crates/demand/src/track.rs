//! Interval means of one lane, and the highest energy in windows of them.

use crate::duration::Envelope;
use crate::lane::CURVE_S;

const DAY_S: f64 = 86_400.0;

/// Interval means of one lane.
#[derive(Debug, Clone, PartialEq, Default)]
pub(crate) struct Track {
    pub interval_s: f64,
    pub w: Vec<f64>,
    pub va: Vec<f64>,
}

impl Track {
    /// Highest interval mean in W.
    pub fn peak_w(&self) -> f64 {
        self.w.iter().copied().fold(0.0, f64::max)
    }
    /// Highest interval mean in VA.
    pub fn peak_va(&self) -> f64 {
        self.va.iter().copied().fold(0.0, f64::max)
    }
    /// Mean over the recording in W.
    pub fn mean_w(&self) -> f64 {
        self.w.iter().sum::<f64>() / (self.w.len().max(1) as f64)
    }
    /// Highest energy in windows of W, in seconds at the peak.
    pub fn envelope_w(&self) -> Envelope {
        envelope(&self.w, self.interval_s)
    }
    /// Highest mean over windows of a length, in W.
    pub fn highest_mean_w(&self, window_s: f64) -> f64 {
        highest_energy(&prefix(&self.w), &self.w, self.interval_s, window_s) / window_s
    }
}

fn prefix(values: &[f64]) -> Vec<f64> {
    let mut sums = Vec::with_capacity(values.len() + 1);
    let mut sum = 0.0;
    sums.push(sum);
    for v in values {
        sum += v;
        sums.push(sum);
    }
    sums
}

/// Highest energy (value x s) in any window: as many whole intervals as it holds and a part of a neighbour.
fn highest_energy(sums: &[f64], values: &[f64], interval_s: f64, window_s: f64) -> f64 {
    let whole = (window_s / interval_s + 1e-9).floor();
    let n = (whole as usize).min(values.len());
    let part_s = (window_s - whole * interval_s).max(0.0);
    let mut highest = 0.0f64;
    for first in 0..=(values.len() - n) {
        let inside = sums.get(first + n).copied().unwrap_or(0.0) - sums.get(first).copied().unwrap_or(0.0);
        let before = first.checked_sub(1).and_then(|k| values.get(k)).copied().unwrap_or(0.0);
        let after = values.get(first + n).copied().unwrap_or(0.0);
        highest = highest.max(inside * interval_s + before.max(after) * part_s);
    }
    // a recording shorter than the window says nothing of the rest: its peak is taken for it
    let missing_s = window_s - n as f64 * interval_s - part_s;
    highest + missing_s.max(0.0) * values.iter().copied().fold(0.0, f64::max)
}

fn envelope(values: &[f64], interval_s: f64) -> Envelope {
    let peak = values.iter().copied().fold(0.0, f64::max);
    if peak <= 0.0 {
        return Envelope { points: vec![(DAY_S * 366.0, 0.0)] };
    }
    let mut lengths: Vec<f64> = CURVE_S.iter().copied().filter(|d| *d >= interval_s).collect();
    let mut n = 1.0f64;
    while n * interval_s < DAY_S {
        lengths.push(n * interval_s);
        n = (n * 1.25).ceil().max(n + 1.0);
    }
    lengths.push(DAY_S);
    lengths.sort_by(f64::total_cmp);
    lengths.dedup_by(|a, b| (*a - *b).abs() < 1e-6);
    let sums = prefix(values);
    let points =
        lengths.into_iter().map(|d| (d, highest_energy(&sums, values, interval_s, d) / peak)).collect();
    Envelope { points }
}
