//! The map of a step, and of rows of them.

use crate::year::{Design, Series, draw, heated, inverse, less, more};

/// e -> min(c, a e + g) if e >= n and e <= m, for the charge; b -> min(hc, b + hg) if b >= hn, for the heat
/// budget.
/// One of them a cache line.
#[derive(Debug, Clone, Copy, PartialEq)]
#[repr(align(64))]
pub(super) struct Map {
    pub a: f64,
    pub g: f64,
    pub n: f64,
    /// Charge above which taper bends a step of the row: it must be taken step by step.
    pub m: f64,
    pub c: f64,
    pub hg: f64,
    pub hn: f64,
    pub hc: f64,
}

impl Map {
    /// A row that is never carried.
    pub const NEVER: Self = Self {
        a: 1.0,
        g: 0.0,
        n: f64::INFINITY,
        m: f64::INFINITY,
        c: f64::INFINITY,
        hg: 0.0,
        hn: f64::INFINITY,
        hc: f64::INFINITY,
    };

    /// First this, then the other; `per_a` is 1 over this map's `a`, the same for all rows of a length.
    #[inline(always)]
    pub fn then(&self, next: &Self, per_a: f64) -> Self {
        let never = |c1: f64, n2: f64, need: f64| if c1 < n2 { f64::INFINITY } else { need };
        Self {
            a: self.a * next.a,
            g: next.a * self.g + next.g,
            n: never(self.c, next.n, more(self.n, (next.n - self.g) * per_a)),
            m: if self.c <= next.m { self.m } else { less(self.m, (next.m - self.g) * per_a) },
            c: less(next.c, next.a * self.c + next.g),
            hg: self.hg + next.hg,
            hn: never(self.hc, next.hn, more(self.hn, next.hn - self.hg)),
            hc: less(next.hc, self.hc + next.hg),
        }
    }
}

/// All steps of a year without the utility. What is the same for all steps stands once.
#[derive(Debug, Clone)]
pub(super) struct Steps {
    keep: f64,
    /// 1 over it.
    per_keep: f64,
    capacity: f64,
    budget: f64,
    /// Share of the room that taper lets in, in a step; infinite without taper.
    taper: f64,
    /// Room in which the charge limit falls, over the most gain of a step.
    bend: f64,
    /// Need, gain and gain of the heat budget of each step.
    steps: Vec<[f64; 3]>,
}

impl Steps {
    /// Steps with the first `tiers` tiers on; `panel`: share of a step that arrays on the panel are there, 1 once they
    /// have reconnected.
    pub fn new(design: &Design, series: &Series<'_>, tiers: usize, panel: f64) -> Self {
        let hours = series.hours_per_step();
        let (b, v) = (&design.battery, &design.converter);
        let keep = libm::pow(1.0 - b.self_discharge_per_day, hours / 24.0);
        // a tier that would be shed is not carried
        let shed =
            design.shedding.shed_wh.iter().take(tiers.saturating_sub(1)).fold(0.0_f64, |m, s| m.max(*s));
        // added as the stepped model adds them
        let (one, two) = (if tiers > 1 { 1.0 } else { 0.0 }, if tiers > 2 { 1.0 } else { 0.0 });
        let [kept, shed_last, shed_first] = series.loads_w;
        let loads = kept.iter().zip(shed_last).zip(shed_first);
        // without arrays on the panel none gives anything at any step
        let on_panel = series.panel_array_w.iter().copied().chain(std::iter::repeat(0.0));
        let step = |first: f64, second: f64, third: f64, array: f64, on_panel: f64| {
            let load = first + one * second + two * third;
            let given = on_panel * design.array_scale * panel;
            let power = load - load.min(given);
            let left = given - load.min(given);
            let gets = if left > 0.0 {
                inverse(v.loss_per_w, v.loss_per_w2, left).min(v.charger_limit_w)
            } else {
                0.0
            };
            let drawn = draw(v.loss_per_w, v.loss_per_w2, power) + v.idle_w;
            let sun = array * design.array_scale;
            let spent = drawn - sun - gets;
            let over = heated(power - v.rating_w, v.heat_recovery) * hours;
            if power > v.peak_w || spent > b.discharge_limit_w {
                return [f64::INFINITY, 0.0, -over];
            }
            if spent > 0.0 {
                let taken = spent * hours / b.discharge_efficiency;
                let held = spent / b.holds_w_per_wh;
                return [(b.floor_wh + taken.max(held)).max(shed) / keep, -taken, -over];
            }
            [shed / keep, (-spent).min(b.charge_limit_w) * b.charge_efficiency * hours, -over]
        };
        let steps = loads
            .zip(series.array_w)
            .zip(on_panel)
            .map(|((((first, second), third), array), on_panel)| {
                step(*first, *second, *third, *array, on_panel)
            })
            .collect();
        let room = b.capacity_wh - b.taper_from_wh;
        let most = b.charge_limit_w * b.charge_efficiency * hours;
        let tapers = room > 0.0 && most > 0.0;
        let (taper, bend) = if tapers { (most / room, room / most) } else { (f64::INFINITY, 0.0) };
        Self {
            keep,
            per_keep: 1.0 / keep,
            capacity: b.capacity_wh,
            budget: v.heat_budget_wh,
            taper,
            bend,
            steps,
        }
    }

    pub fn count(&self) -> usize {
        self.steps.len()
    }

    /// 1 over the share of its charge that a battery keeps over a step.
    pub fn per_keep(&self) -> f64 {
        self.per_keep
    }

    /// The map of a step.
    #[inline]
    pub fn map(&self, k: usize) -> Map {
        let [n, g, hg] = self.figures(k);
        // a gain g is not bent while room for it is left: g <= (capacity - keep e) most / room
        let bends = g > 0.0 && self.taper.is_finite();
        let m = if bends { (self.capacity - g * self.bend) * self.per_keep } else { f64::INFINITY };
        Map { a: self.keep, g, n, m, c: self.capacity, hg, hn: more(-hg, 0.0), hc: self.budget }
    }

    /// Need, gain and gain of the heat budget of a step.
    #[inline(always)]
    pub fn figures(&self, k: usize) -> [f64; 3] {
        self.steps.get(k).copied().unwrap_or([f64::INFINITY, 0.0, 0.0])
    }

    /// Charge and budget after a step, taper and all, if it is carried.
    #[inline(always)]
    pub fn after(&self, k: usize, charge: f64, budget: f64) -> Option<(f64, f64)> {
        let [n, g, hg] = self.figures(k);
        (charge >= n && budget >= -hg).then(|| self.carried([n, g, hg], charge, budget))
    }

    /// Charge and budget after a step of such figures that is carried.
    #[inline(always)]
    pub fn carried(&self, [_, g, hg]: [f64; 3], charge: f64, budget: f64) -> (f64, f64) {
        let kept = self.keep * charge;
        // without taper no gain is bent, also where there is no room and so no product
        let gain = less(self.taper * (self.capacity - kept), g);
        (less(self.capacity, kept + gain), less(self.budget, budget + hg))
    }
}
