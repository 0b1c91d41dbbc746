//! Demand of one panel: every figure the largest over the permitted subsets of its loads.

use std::collections::BTreeMap;
use std::sync::Arc;

use derivation::{Known, Node, formula};
use finding::{Finding, Severity};
use num_complex::Complex64;
use quantity::{
    Apparent, Connection, Current, Duration, Leg, PeakCurrent, PhaseVoltage, Power, Quantity, Ratio,
    VoltageSystem,
};
use saying::say;

use crate::apparent::{part_apparent, root_sum_square};
use crate::coincidence::{Coincidence, Heaviest};
use crate::lane::{CURVE_S, LaneItem, LaneItems};
use crate::model::{DurationDemand, Lane, LaneDemand};
use crate::phasor::{NOTHING, magnitude, neutral_current_a, neutral_third_a};
use crate::pieces::{Piece, coincidence};
use crate::sweep::{Copies, Farthest, farthest};

/// The loads that count on one panel.
pub(crate) struct Members<'a> {
    pub system: VoltageSystem,
    pub pieces: Vec<&'a Piece>,
    pub graph: Arc<Coincidence>,
    /// Some subset was only bounded.
    pub bounded: bool,
}

impl<'a> Members<'a> {
    /// Loads in order of name.
    pub fn new(system: VoltageSystem, pieces: Vec<&'a Piece>) -> Self {
        let graph = Arc::new(coincidence(&pieces));
        Self { system, pieces, graph, bounded: false }
    }

    pub(crate) fn heaviest(&mut self, weights: &[f64]) -> Heaviest {
        let found = self.graph.heaviest(weights);
        self.bounded |= !found.exact;
        found
    }

    pub(crate) fn farthest(&mut self, copies: &[Copies], fixed: Complex64) -> Farthest {
        let found = farthest(&self.graph, copies, fixed);
        self.bounded |= !found.exact;
        found
    }

    /// The power of each load's instances on a lane, in VA.
    fn copies(&self, lane: Lane) -> Vec<Copies> {
        let system = self.system;
        self.pieces
            .iter()
            .map(|p| match lane {
                Lane::Leg(leg) => p.copies(|c| p.legs_va(system, c)[leg.index()]),
                Lane::Total => p.copies(|_| p.power_va),
            })
            .collect()
    }

    /// All lanes of the system, legs first.
    pub fn lanes(&mut self) -> BTreeMap<Lane, LaneDemand> {
        let mut lanes: BTreeMap<Lane, LaneDemand> = BTreeMap::new();
        for leg in self.system.legs() {
            let lane = self.lane(Lane::Leg(*leg), &[], None);
            lanes.insert(Lane::Leg(*leg), lane);
        }
        let currents: Vec<Known<Current>> = lanes.values().map(|l| l.steady_current.clone()).collect();
        let peaks: Vec<Known<PeakCurrent>> = lanes.values().map(|l| l.peak_current.clone()).collect();
        let largest = Known::largest("I", "current of the largest leg", &currents).zip(Known::largest(
            "I_peak",
            "peak current of the largest leg",
            &peaks,
        ));
        let apparents: Vec<Known<Apparent>> = lanes.values().map(|l| l.steady_apparent.clone()).collect();
        let total = self.lane(Lane::Total, &apparents, largest);
        lanes.insert(Lane::Total, total);
        lanes
    }

    /// `legs` are the apparent powers of the legs, for the total.
    fn lane(
        &mut self,
        lane: Lane,
        legs: &[Known<Apparent>],
        currents: Option<(Known<Current>, Known<PeakCurrent>)>,
    ) -> LaneDemand {
        let copies = self.copies(lane);
        let rms = self.rms_copies(lane, &copies);
        let steady_power = self.steady_power(lane, &copies);
        let steady_apparent = self.steady_apparent(lane, &copies, &rms, legs);
        let (steady_current, peak_current) = match currents {
            Some(currents) => currents,
            None => (self.current(lane, &steady_apparent), self.peak(lane, &copies)),
        };
        let loads = self
            .pieces
            .iter()
            .zip(copies.iter().zip(&rms))
            .map(|(p, (c, rms))| LaneItem {
                top_w: c.top(|z| z.re),
                all_w: c.all(|z| z.re),
                top_va: rms.top(|z| z.re),
                all_va: rms.all(|z| z.re),
                instances: rms.alike.iter().filter(|(z, _)| z.re > 0.0).map(|(_, n)| f64::from(*n)).sum(),
                on: p.on.clone(),
            })
            .collect();
        let items = LaneItems::new(self.graph.clone(), loads);
        let powers = self.power_parts(lane, &copies);
        let parts = self.apparent_parts(lane, &rms);
        let curve = curve(lane, &items, &steady_power, &steady_apparent, &powers, &parts);
        LaneDemand { steady_power, steady_apparent, steady_current, peak_current, curve, items }
    }

    fn steady_power(&mut self, lane: Lane, copies: &[Copies]) -> Known<Power> {
        let weights: Vec<f64> = copies.iter().map(|c| c.top(|z| z.re)).collect();
        let found = self.heaviest(&weights);
        let what = format!("highest W of loads that may run at once, {lane}");
        let chosen: Vec<Known<Power>> = found
            .chosen
            .iter()
            .filter_map(|v| Some((self.pieces.get(*v)?, *weights.get(*v)?)))
            .map(|(p, w)| part_power(p, lane, w))
            .collect();
        if found.exact {
            Known::sum("P_max", what, &chosen)
        } else {
            let from = chosen.iter().map(|k| k.node().clone()).collect();
            Known::chosen("P_max", what, Power::of(found.value), BOUND, from)
        }
    }

    fn power_parts(&self, lane: Lane, copies: &[Copies]) -> Vec<Arc<Node>> {
        let weights = copies.iter().map(|c| c.top(|z| z.re));
        let with = self.pieces.iter().zip(weights).filter(|(_, w)| *w > 0.0);
        with.map(|(p, w)| part_power(p, lane, w).node().clone()).collect()
    }

    pub(crate) fn parts(&self, lane: Lane, found: &Farthest, copies: &[Copies]) -> Vec<Arc<Node>> {
        found
            .chosen
            .iter()
            .filter_map(|v| Some((self.pieces.get(*v)?, copies.get(*v)?.top(magnitude))))
            .map(|(p, s)| part_apparent(p, lane, s).node().clone())
            .collect()
    }

    fn peak(&mut self, lane: Lane, copies: &[Copies]) -> Known<PeakCurrent> {
        let volts = self.system.phase_voltage().si();
        let weights: Vec<f64> = self
            .pieces
            .iter()
            .zip(copies)
            .map(|(p, c)| c.top(magnitude) / volts * p.peak_over_fundamental)
            .collect();
        let found = self.heaviest(&weights);
        let parts: Vec<Known<PeakCurrent>> = found
            .chosen
            .iter()
            .filter_map(|v| Some((self.pieces.get(*v)?, *weights.get(*v)?)))
            .map(|(p, peak)| {
                let amps = peak / p.peak_over_fundamental.max(f64::MIN_POSITIVE);
                let from = vec![p.apparent.node().clone()];
                let I = Known::chosen("I", format!("current of {}, {lane}", p.name), Current::of(amps), "as it is connected", from);
                let k = &p.crest;
                if p.third <= 0.0 {
                    return formula!("I_peak", format!("peak current of {}, {lane}", p.name), [I, k] => I.peak(k));
                }
                let k_1 = Known::chosen(
                    "k_1",
                    "peak over fundamental RMS, third harmonic included",
                    Ratio::of(p.peak_over_fundamental),
                    "crest factor and third harmonic of the load",
                    vec![k.node().clone()],
                );
                formula!("I_peak", format!("peak current of {}, {lane}", p.name), [I, k_1] => I.peak(k_1))
            })
            .collect();
        let what = format!("highest instantaneous current, {lane}");
        if found.exact {
            return Known::sum("I_peak", what, &parts);
        }
        let from = parts.iter().map(|k| k.node().clone()).collect();
        Known::chosen("I_peak", what, PeakCurrent::of(found.value), BOUND, from)
    }

    pub(crate) fn nominal(&self) -> Known<PhaseVoltage> {
        let volts = self.system.phase_voltage();
        Known::chosen("V", "nominal line-to-neutral voltage", volts, self.system.name(), Vec::new())
    }

    /// Largest neutral current: fundamental and third harmonic apart, root of the sum of their squares.
    pub fn neutral(&mut self) -> Known<Current> {
        let system = self.system;
        let first: Vec<Copies> =
            self.pieces.iter().map(|p| p.copies(|c| neutral_current_a(system, c, p.power_va))).collect();
        let found = self.farthest(&first, NOTHING);
        let parts = self.neutral_parts(&found, &first);
        let what = "largest neutral current over the permitted subsets of loads";
        let equation = "max over permitted subsets |sum of line-to-neutral currents|";
        let residual = found.bound - magnitude(found.sum);
        let any_third = self.distorted();
        let symbol = if any_third { "I_1" } else { "I_N" };
        let I_1 = Known::solved(symbol, what, Current::of(found.bound), equation, residual, parts);
        if !any_third {
            return I_1;
        }
        let third: Vec<Copies> = self
            .pieces
            .iter()
            .map(|p| p.copies(|c| neutral_third_a(system, c, p.power_va, p.third)))
            .collect();
        let found = self.farthest(&third, NOTHING);
        let I_3 =
            self.third_known("largest third-harmonic neutral current".to_owned(), found.bound, &found.chosen);
        formula!("I_N", what, [I_1, I_3] => root_sum_square(I_1, I_3))
    }

    fn neutral_parts(&self, found: &Farthest, copies: &[Copies]) -> Vec<Arc<Node>> {
        found
            .chosen
            .iter()
            .filter_map(|v| Some((self.pieces.get(*v)?, copies.get(*v)?)))
            .map(|(p, c)| {
                let amps = c.picked(|z| z.re * found.direction.re + z.im * found.direction.im).1;
                let what = format!("neutral current of {}", p.name);
                let from = vec![p.apparent.node().clone()];
                let why = "line to neutral, at its leg's angle";
                Known::chosen("I", what, Current::of(magnitude(amps)), why, from).node().clone()
            })
            .collect()
    }

    /// Largest difference of the power on two legs, as phasors against each leg's own voltage.
    pub fn unbalance(&mut self) -> Known<Apparent> {
        let system = self.system;
        let mut pairs = Vec::new();
        for a in system.legs() {
            for b in system.legs().iter().filter(|b| *b > a) {
                pairs.push(self.difference(*a, *b));
            }
        }
        let what = "largest difference between two legs over the permitted subsets of loads";
        Known::largest("dS", what, &pairs).unwrap_or_else(|| Known::sum("dS", what, &[]))
    }

    fn difference(&mut self, a: Leg, b: Leg) -> Known<Apparent> {
        let system = self.system;
        let copies: Vec<Copies> = self
            .pieces
            .iter()
            .map(|p| {
                p.copies(|c| {
                    let legs = p.legs_va(system, c);
                    let d = legs[a.index()] - legs[b.index()];
                    // a rounding remainder of equal halves is no difference
                    if magnitude(d) < 1e-9 * magnitude(p.power_va) { NOTHING } else { d }
                })
            })
            .collect();
        let found = self.farthest(&copies, NOTHING);
        let parts = self.parts(Lane::Total, &found, &copies);
        solved_sum(
            "dS",
            format!("largest difference between {a} and {b}"),
            &format!("(S_{a} - S_{b})"),
            &found,
            parts,
        )
    }

    /// Said once for a panel whose subsets were only bounded.
    pub fn bounded_finding(&self, panel: &str) -> Option<Finding> {
        self.bounded.then(|| {
            Finding::new(
                "coincidence-bounded",
                Severity::Note,
                panel,
                say!("the loads of \"{panel}\" exclude one another in too many ways to look at all of them: its \
                     figures are upper bounds", panel),
            )
            .fix(say!("state never_with only where it matters"))
        })
    }
}

const BOUND: &str = "upper bound: of each group of loads that exclude each other, the largest";

/// A load's part of a lane in W.
fn part_power(piece: &Piece, lane: Lane, watts: f64) -> Known<Power> {
    let P = &piece.power;
    let share = if P.value().si() > 0.0 { watts / P.value().si() } else { 0.0 };
    let n = connected_share(piece, lane, share);
    formula!("P", format!("W of {}, {lane}", piece.name), [P, n] => P * n)
}

pub(crate) fn connected_share(piece: &Piece, lane: Lane, share: f64) -> Known<Ratio> {
    let how: Vec<String> =
        piece.placed.iter().map(|(c, n): &(Connection, u32)| format!("{n} on {c}")).collect();
    let third = if piece.third > 0.0 { ", third harmonic included in VA" } else { "" };
    let why = format!("{}, {} at once{third}", how.join(", "), piece.at_once);
    Known::chosen(
        "n",
        format!("instances at once and their share, {lane}"),
        Ratio::of(share),
        why,
        Vec::new(),
    )
}

/// The magnitude of a phasor sum with what bounds it.
pub(crate) fn solved_sum(
    symbol: &str,
    what: String,
    term: &str,
    found: &Farthest,
    from: Vec<Arc<Node>>,
) -> Known<Apparent> {
    let equation = format!("max over permitted subsets |sum of {term}|");
    let residual = found.bound - magnitude(found.sum);
    Known::solved(symbol, what, Apparent::of(found.bound), equation, residual, from)
}

fn curve(
    lane: Lane,
    items: &LaneItems,
    steady_power: &Known<Power>,
    steady_apparent: &Known<Apparent>,
    powers: &[Arc<Node>],
    apparents: &[Arc<Node>],
) -> Vec<DurationDemand> {
    let equation = "max over schedules of sum of energy in the window / D, steady value at most";
    let mut curve: Vec<DurationDemand> = Vec::new();
    let (mut least_w, mut least_va) = (0.0f64, 0.0f64);
    for seconds in CURVE_S.iter().rev() {
        let lasts = Duration::of(*seconds);
        // what lasts longer also lasts as long as this
        least_w = least_w.max(items.mean_w(*seconds).min(steady_power.value().si()));
        least_va = least_va.max(items.mean_va(*seconds).min(steady_apparent.value().si()));
        // what lasts so long is no more than its mean over the time that it lasts
        let what = |unit: &str| {
            format!("upper bound of the {unit} that can last {lasts}: highest mean over {lasts}, {lane}")
        };
        let power = Known::solved("P_D", what("W"), Power::of(least_w), equation, 0.0, powers.to_vec());
        let apparent =
            Known::solved("S_D", what("VA"), Apparent::of(least_va), equation, 0.0, apparents.to_vec());
        curve.push(DurationDemand { lasts, power, apparent });
    }
    curve.reverse();
    curve
}
