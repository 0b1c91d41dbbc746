//! Bounds of the time above a level, worked out once for each window and asked for any level.
//!
//! **Base and others.** Take some of the loads as always on, the base; together they never exceed B (their heaviest
//! permitted subset). The lane exceeds c >= B only while the others exceed c - B.
//! - Their energy within the window is at most E, and a quantity that is never negative exceeds a level a > 0 no longer
//!   than its integral over a (Markov's inequality): the time is at most E / (c - B).
//! - At least one of them is on all that time: it is at most the sum U of the times in which each may be on (union
//!   bound). Several instances of a load may run one after the other, so each counts.
//!
//! Any base gives a bound; two rows of them are tried: loads by falling time on, and loads by rising power. The least
//! bound counts, never more than the window. Seasons are looked at one by one, since no window holds both.

use std::collections::BTreeMap;

use crate::coincidence::Coincidence;
use crate::lane::LaneItem;

/// One base with what it leaves to the others.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Bound {
    /// The most that the base reaches.
    base: f64,
    /// Energy of the others in the window.
    energy: f64,
    /// Sum of the times in which each of the others may be on, in s.
    union_s: f64,
}

/// The bounds of one window, by season.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Bounds {
    window_s: f64,
    seasons: Vec<Vec<Bound>>,
}

impl Bounds {
    /// Upper bound of the time above level `c` within the window.
    pub fn time_above_s(&self, c: f64) -> f64 {
        let of_season = |bounds: &Vec<Bound>| {
            bounds.iter().filter(|b| b.base <= c).fold(self.window_s, |least, b| {
                let least = least.min(b.union_s);
                // equal to the level leaves nothing to divide by
                if b.base < c { least.min(b.energy / (c - b.base)) } else { least }
            })
        };
        self.seasons.iter().map(of_season).fold(0.0, f64::max)
    }
}

/// What of a load is looked at.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Measure {
    Watts,
    VoltAmperes,
}

/// Works out the bounds of one window after another.
pub(crate) struct Course<'a> {
    graph: &'a Coincidence,
    loads: &'a [LaneItem],
    top: Vec<f64>,
    all: Vec<f64>,
    by_power: Vec<usize>,
    /// Heaviest subset of some loads of one component in one season: the same sets come again with every window.
    heaviest: BTreeMap<(usize, usize, Vec<usize>), f64>,
}

/// Loads of one window.
struct Window {
    length_s: f64,
    energy: Vec<f64>,
    union_s: Vec<f64>,
}

impl<'a> Course<'a> {
    pub fn new(graph: &'a Coincidence, loads: &'a [LaneItem], measure: Measure) -> Self {
        let of = |l: &LaneItem| match measure {
            Measure::Watts => (l.top_w, l.all_w),
            Measure::VoltAmperes => (l.top_va, l.all_va),
        };
        let (top, all): (Vec<f64>, Vec<f64>) = loads.iter().map(of).unzip();
        let mut by_power: Vec<usize> = (0..loads.len()).filter(|v| top[*v] > 0.0).collect();
        by_power.sort_by(|a, b| top[*a].total_cmp(&top[*b]).then(a.cmp(b)));
        Self { graph, loads, top, all, by_power, heaviest: BTreeMap::new() }
    }

    /// The bounds of a window.
    pub fn bounds(&mut self, window_s: f64) -> Bounds {
        let on: Vec<f64> = self.loads.iter().map(|l| l.on.within(window_s)).collect();
        let energy = (0..on.len()).map(|v| (self.all[v] * on[v]).min(self.top[v] * window_s)).collect();
        let union_s =
            self.loads.iter().map(|l| (l.instances * l.on.any_within(window_s)).min(window_s)).collect();
        let window = Window { length_s: window_s, energy, union_s };
        let mut by_time = self.by_power.clone();
        by_time.sort_by(|a, b| on[*b].total_cmp(&on[*a]).then(a.cmp(b)));
        let by_power = self.by_power.clone();
        let seasons = (0..self.graph.seasons())
            .map(|season| {
                let mut bounds = self.row(&by_time, season, &window);
                bounds.extend(self.row(&by_power, season, &window));
                bounds
            })
            .collect();
        Bounds { window_s, seasons }
    }

    /// The bounds as one load after another joins the base.
    fn row(&mut self, order: &[usize], season: usize, window: &Window) -> Vec<Bound> {
        let order: Vec<usize> =
            order.iter().copied().filter(|v| self.graph.runs_in_season(*v, season)).collect();
        let alone = |v: usize| self.graph.part_of(v).is_none();
        // from the end, so that sums are made of what is left and not of differences
        let mut rest = vec![(0.0, 0.0); order.len() + 1];
        for (k, v) in order.iter().enumerate().rev() {
            let energy = if alone(*v) { window.energy[*v] } else { 0.0 };
            rest[k] = (rest[k + 1].0 + energy, rest[k + 1].1 + window.union_s[*v]);
        }
        // components of several loads: what the base reaches in them, and the energy of the others
        let mut parts: BTreeMap<usize, (f64, f64)> = BTreeMap::new();
        for part in order.iter().filter_map(|v| self.graph.part_of(*v)) {
            parts.entry(part).or_insert_with(|| self.part(part, season, &order, 0, window));
        }
        let mut base_alone = 0.0;
        let mut row = Vec::with_capacity(order.len() + 1);
        for (k, (energy, union_s)) in rest.into_iter().enumerate() {
            let base = base_alone + parts.values().map(|p| p.0).sum::<f64>();
            let energy = energy + parts.values().map(|p| p.1).sum::<f64>();
            row.push(Bound { base, energy, union_s });
            let Some(v) = order.get(k).copied() else { continue };
            match self.graph.part_of(v) {
                None => base_alone += self.top[v],
                Some(part) => {
                    let value = self.part(part, season, &order, k + 1, window);
                    parts.insert(part, value);
                }
            }
        }
        row
    }

    /// Of one component: the heaviest subset of its loads among the first `k` of the order, and the energy of the rest.
    fn part(&mut self, part: usize, season: usize, order: &[usize], k: usize, window: &Window) -> (f64, f64) {
        let (base, others) = order.split_at(k);
        let within = |loads: &[usize], graph: &Coincidence| -> Vec<usize> {
            let mut found: Vec<usize> =
                loads.iter().copied().filter(|v| graph.part_of(*v) == Some(part)).collect();
            found.sort_unstable();
            found
        };
        let (base, others) = (within(base, self.graph), within(others, self.graph));
        let always = self.heaviest(part, season, &others) * window.length_s;
        let turns = self.graph.turns(part, &self.only(&others), &window.energy, window.length_s, season);
        (self.heaviest(part, season, &base), always.min(turns))
    }

    /// Powers of some loads, nothing for the others.
    fn only(&self, loads: &[usize]) -> Vec<f64> {
        let mut weights = vec![0.0; self.top.len()];
        for v in loads {
            weights[*v] = self.top[*v];
        }
        weights
    }

    fn heaviest(&mut self, part: usize, season: usize, loads: &[usize]) -> f64 {
        let key = (part, season, loads.to_vec());
        if let Some(known) = self.heaviest.get(&key) {
            return *known;
        }
        let value = self.graph.heaviest_in_part(part, &self.only(loads), season);
        self.heaviest.insert(key, value);
        value
    }
}
