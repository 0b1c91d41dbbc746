//! Spreads loads without a stated leg so that the worst leg carries as few W as can be.
//!
//! First each instance, the largest first, goes where it hurts least; then single moves and swaps; then branch and
//! bound from that answer on, which either proves that no placement is better or stops at a limit of effort (a count
//! of steps) and reports the gap to the lower bound: the heaviest permitted subset shared evenly by the legs, or what
//! the stated loads put on their worst leg.

use quantity::{Connection, Leg, VoltageSystem};
use site::LegWish;

use crate::coincidence::Coincidence;
use crate::phasor::{by_leg, magnitude};
use crate::pieces::{Piece, coincidence};

/// Loads looked at before the search stops: placements evaluated times loads.
const EFFORT: usize = 2_000_000;
/// No more placements than that are evaluated, no fewer than the smaller number.
const PLACEMENTS: (usize, usize) = (200, 20_000);
/// Relative difference that counts as better.
const BETTER: f64 = 1e-9;

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Outcome {
    pub gap_share: f64,
    pub proven: bool,
}

/// Worst leg in W, worst leg in VA, sum of squares of all that is connected to each leg in W. The last prefers the even
/// spread where the worst leg does not tell: with a limit of how many run at once, all of them on one leg may make it
/// no worse.
type Score = (f64, f64, f64);

fn better(a: Score, b: Score) -> bool {
    let less = |x: f64, y: f64| x < y - BETTER * y.abs().max(1.0);
    let same = |x: f64, y: f64| !less(x, y) && !less(y, x);
    less(a.0, b.0) || (same(a.0, b.0) && (less(a.1, b.1) || (same(a.1, b.1) && less(a.2, b.2))))
}

/// Connections that a wish leaves open.
fn options(system: VoltageSystem, wish: LegWish) -> Vec<Connection> {
    let legs = system.legs();
    match wish {
        LegWish::On(connection) => vec![connection],
        LegWish::AnyLeg => legs.iter().map(|l| Connection::LineToNeutral(*l)).collect(),
        LegWish::AnyPair => {
            let above = |a: &Leg| legs.iter().filter(|b| *b > a).copied().collect::<Vec<_>>();
            legs.iter().flat_map(|a| above(a).into_iter().map(|b| Connection::LineToLine(*a, b))).collect()
        }
    }
}

/// One load in the search: its options and what an instance puts on each leg, W and VA, by option.
struct Load {
    options: Vec<Connection>,
    on_leg: Vec<[(f64, f64); 3]>,
    at_once: u32,
    /// Instances by option.
    placed: Vec<u32>,
    movable: bool,
    watts: f64,
}

struct Search<'a> {
    loads: Vec<Load>,
    graph: Coincidence,
    legs: &'a [Leg],
    effort: usize,
    left: usize,
}

/// Places the instances of all `pieces` that have no connection yet. Pieces are in order of name.
pub(crate) fn place(pieces: &mut [&mut Piece], system: VoltageSystem) -> Outcome {
    let graph = coincidence(&pieces.iter().map(|p| &**p).collect::<Vec<_>>());
    let loads: Vec<Load> = pieces.iter().map(|p| load(p, system)).collect();
    let effort = (EFFORT / loads.len().max(1)).clamp(PLACEMENTS.0, PLACEMENTS.1);
    let mut search = Search { loads, graph, legs: system.legs(), effort, left: effort };
    let units = search.units(pieces);
    let outcome = search.solve(&units);
    for (piece, load) in pieces.iter_mut().zip(&search.loads) {
        if load.movable {
            piece.placed = load
                .options
                .iter()
                .zip(&load.placed)
                .filter(|(_, n)| **n > 0)
                .map(|(c, n)| (*c, *n))
                .collect();
        }
    }
    outcome
}

fn load(piece: &Piece, system: VoltageSystem) -> Load {
    let movable = piece.placed.is_empty();
    let options: Vec<Connection> =
        if movable { options(system, piece.wish) } else { piece.placed.iter().map(|(c, _)| *c).collect() };
    let on_leg = options
        .iter()
        .map(|c| {
            let legs = by_leg(system, *c, piece.power_va).unwrap_or_default();
            legs.map(|z| (z.re, magnitude(z)))
        })
        .collect();
    let placed =
        if movable { vec![0; options.len()] } else { piece.placed.iter().map(|(_, n)| *n).collect() };
    Load { options, on_leg, at_once: piece.at_once, placed, movable, watts: piece.power_va.re }
}

impl Search<'_> {
    /// Instances to be placed, the largest first; ties by name, since loads are in order of name.
    fn units(&self, pieces: &[&mut Piece]) -> Vec<usize> {
        let mut units: Vec<usize> = Vec::new();
        for (k, piece) in pieces.iter().enumerate() {
            if self.loads.get(k).is_some_and(|l| l.movable && !l.options.is_empty()) {
                units.extend((0..piece.count).map(|_| k));
            }
        }
        units.sort_by(|a, b| self.loads[*b].watts.total_cmp(&self.loads[*a].watts).then(a.cmp(b)));
        units
    }

    fn leg_sum(&self, leg: Leg, measure: impl Fn((f64, f64)) -> f64) -> f64 {
        let weights: Vec<f64> = self
            .loads
            .iter()
            .map(|load| {
                let mut parts: Vec<(f64, u32)> = load
                    .on_leg
                    .iter()
                    .zip(&load.placed)
                    .map(|(legs, n)| (measure(legs[leg.index()]), *n))
                    .filter(|(w, n)| *w > 0.0 && *n > 0)
                    .collect();
                parts.sort_by(|a, b| b.0.total_cmp(&a.0));
                let mut left = load.at_once;
                let mut sum = 0.0;
                for (w, n) in parts {
                    let taken = n.min(left);
                    left -= taken;
                    sum += w * f64::from(taken);
                }
                sum
            })
            .collect();
        self.graph.heaviest(&weights).value
    }

    fn worst_w(&self) -> f64 {
        self.legs.iter().map(|leg| self.leg_sum(*leg, |(w, _)| w)).fold(0.0, f64::max)
    }

    fn score(&self) -> Score {
        let w: Vec<f64> = self.legs.iter().map(|leg| self.leg_sum(*leg, |(w, _)| w)).collect();
        let va = self.legs.iter().map(|leg| self.leg_sum(*leg, |(_, va)| va)).fold(0.0, f64::max);
        let connected = self.legs.iter().map(|leg| self.connected_w(*leg));
        (w.iter().copied().fold(0.0, f64::max), va, connected.map(|x| x * x).sum())
    }

    fn connected_w(&self, leg: Leg) -> f64 {
        let on = |load: &Load| -> f64 {
            let parts = load.on_leg.iter().zip(&load.placed);
            parts.map(|(legs, n)| legs[leg.index()].0.max(0.0) * f64::from(*n)).sum()
        };
        self.loads.iter().map(on).sum()
    }

    fn lower_bound(&self) -> f64 {
        let all: Vec<f64> = self.loads.iter().map(|l| l.watts * f64::from(l.at_once)).collect();
        (self.graph.heaviest(&all).value / self.legs.len().max(1) as f64).max(self.worst_w())
    }

    fn solve(&mut self, units: &[usize]) -> Outcome {
        let bound = self.lower_bound();
        let mut at = self.greedy(units);
        self.improve(units, &mut at);
        let mut best_w = self.worst_w();
        if best_w <= bound * (1.0 + BETTER) + BETTER {
            return Outcome { gap_share: 0.0, proven: true };
        }
        let placed: Vec<Vec<u32>> = self.loads.iter().map(|l| l.placed.clone()).collect();
        for unit in units {
            self.loads[*unit].placed.iter_mut().for_each(|n| *n = 0);
        }
        let mut best = placed;
        self.left = self.effort;
        let complete = self.branch(units, 0, 0, &mut best_w, &mut best, bound);
        for (load, placed) in self.loads.iter_mut().zip(&best) {
            load.placed.clone_from(placed);
        }
        self.left = self.effort;
        let mut at = self.options_of(units);
        self.improve(units, &mut at);
        let proven = complete || best_w <= bound * (1.0 + BETTER);
        let gap_share = if proven || bound <= 0.0 { 0.0 } else { best_w / bound - 1.0 };
        Outcome { gap_share, proven }
    }

    /// Each instance, the largest first, where the score stays lowest. Returns the option of each.
    fn greedy(&mut self, units: &[usize]) -> Vec<usize> {
        let mut at = Vec::with_capacity(units.len());
        for &unit in units {
            let mut best: Option<(Score, usize)> = None;
            for option in 0..self.loads[unit].options.len() {
                self.loads[unit].placed[option] += 1;
                let score = self.score();
                self.loads[unit].placed[option] -= 1;
                if best.is_none_or(|(b, _)| better(score, b)) {
                    best = Some((score, option));
                }
            }
            let option = best.map_or(0, |(_, option)| option);
            self.loads[unit].placed[option] += 1;
            at.push(option);
        }
        at
    }

    /// The option of each instance as they are placed.
    fn options_of(&self, units: &[usize]) -> Vec<usize> {
        let mut left: Vec<Vec<u32>> = self.loads.iter().map(|l| l.placed.clone()).collect();
        let mut take = |unit: usize| {
            let option = left[unit].iter().position(|n| *n > 0).unwrap_or(0);
            if let Some(n) = left[unit].get_mut(option) {
                *n = n.saturating_sub(1);
            }
            option
        };
        units.iter().map(|unit| take(*unit)).collect()
    }

    fn put(&mut self, unit: usize, from: usize, to: usize) {
        self.loads[unit].placed[from] -= 1;
        self.loads[unit].placed[to] += 1;
    }

    /// Single moves and swaps while they help.
    fn improve(&mut self, units: &[usize], at: &mut [usize]) {
        let mut score = self.score();
        let mut again = true;
        while again && self.left > 0 {
            again = false;
            for k in 0..units.len() {
                for option in 0..self.loads[units[k]].options.len() {
                    again |= self.try_change(units, at, &mut score, &[(k, option)]);
                }
                for j in 0..k {
                    let same = self.loads[units[k]].options == self.loads[units[j]].options;
                    if units[j] != units[k] && same && at[j] != at[k] {
                        again |= self.try_change(units, at, &mut score, &[(k, at[j]), (j, at[k])]);
                    }
                }
            }
        }
    }

    fn try_change(
        &mut self,
        units: &[usize],
        at: &mut [usize],
        score: &mut Score,
        moves: &[(usize, usize)],
    ) -> bool {
        if self.left == 0 || moves.iter().all(|(k, to)| at[*k] == *to) {
            return false;
        }
        self.left -= 1;
        for (k, to) in moves {
            self.put(units[*k], at[*k], *to);
        }
        let new = self.score();
        if better(new, *score) {
            for (k, to) in moves {
                at[*k] = *to;
            }
            *score = new;
            return true;
        }
        for (k, to) in moves {
            self.put(units[*k], *to, at[*k]);
        }
        false
    }

    /// Tries all placements of `units[k..]`; of alike instances only rising options. False when out of effort.
    fn branch(
        &mut self,
        units: &[usize],
        k: usize,
        first_option: usize,
        best_w: &mut f64,
        best: &mut Vec<Vec<u32>>,
        bound: f64,
    ) -> bool {
        if *best_w <= bound * (1.0 + BETTER) {
            return true;
        }
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        let worst = self.worst_w();
        if worst >= *best_w * (1.0 - BETTER) {
            return true;
        }
        let Some(&unit) = units.get(k) else {
            *best_w = worst;
            *best = self.loads.iter().map(|l| l.placed.clone()).collect();
            return true;
        };
        for option in first_option..self.loads[unit].options.len() {
            self.loads[unit].placed[option] += 1;
            let next = if units.get(k + 1) == Some(&unit) { option } else { 0 };
            let complete = self.branch(units, k + 1, next, best_w, best, bound);
            self.loads[unit].placed[option] -= 1;
            if !complete {
                return false;
            }
        }
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    type One = (u32, u32, u32, bool);

    /// A search over loads of W, count, at once, movable; what is not movable sits on L1.
    fn search(
        loads: &[One],
        edges: &[(usize, usize)],
        legs: &'static [Leg],
    ) -> (Search<'static>, Vec<usize>) {
        let loads: Vec<(Load, u32)> = loads
            .iter()
            .map(|(watts, count, at_once, movable)| {
                let watts = f64::from(*watts);
                let options: Vec<Connection> = legs.iter().map(|l| Connection::LineToNeutral(*l)).collect();
                let on_leg = legs
                    .iter()
                    .map(|leg| {
                        let mut on = [(0.0, 0.0); 3];
                        on[leg.index()] = (watts, watts);
                        on
                    })
                    .collect();
                let mut placed = vec![0; options.len()];
                if !movable {
                    placed[0] = *count;
                }
                let at_once = (*at_once).min(*count);
                (Load { options, on_leg, at_once, placed, movable: *movable, watts }, *count)
            })
            .collect();
        let mut units: Vec<usize> = Vec::new();
        for (k, (load, count)) in loads.iter().enumerate() {
            if load.movable {
                units.extend((0..*count).map(|_| k));
            }
        }
        let graph = Coincidence::new(vec![None; loads.len()], edges);
        let loads: Vec<Load> = loads.into_iter().map(|(l, _)| l).collect();
        units.sort_by(|a, b| loads[*b].watts.total_cmp(&loads[*a].watts).then(a.cmp(b)));
        (Search { loads, graph, legs, effort: 20_000, left: 20_000 }, units)
    }

    fn brute_force(search: &mut Search<'_>, units: &[usize], k: usize) -> f64 {
        let Some(&unit) = units.get(k) else { return search.worst_w() };
        let mut best = f64::INFINITY;
        for option in 0..search.loads[unit].options.len() {
            search.loads[unit].placed[option] += 1;
            best = best.min(brute_force(search, units, k + 1));
            search.loads[unit].placed[option] -= 1;
        }
        best
    }

    fn any_case() -> impl Strategy<Value = (Vec<One>, Vec<(usize, usize)>, &'static [Leg])> {
        (
            proptest::collection::vec((1u32..4000, 1u32..3, 1u32..3, any::<bool>()), 1..5),
            proptest::collection::vec((0usize..5, 0usize..5), 0..3),
            prop_oneof![Just(&Leg::ALL[..2]), Just(&Leg::ALL[..3])],
        )
    }

    proptest! {
        #[test]
        fn best_placement_is_that_of_brute_force((loads, edges, legs) in any_case()) {
            let (mut all, units) = search(&loads, &edges, legs);
            let truth = brute_force(&mut all, &units, 0);
            let (mut tried, _) = search(&loads, &edges, legs);
            let outcome = tried.solve(&units);
            prop_assert!(outcome.proven);
            prop_assert!((tried.worst_w() - truth).abs() <= 1e-6 * truth, "{} is not {truth}", tried.worst_w());
            let placed: u32 = tried.loads.iter().flat_map(|l| &l.placed).sum();
            prop_assert_eq!(placed, loads.iter().map(|l| l.1).sum::<u32>());
        }

        #[test]
        fn out_of_effort_is_never_worse_than_greedy_and_says_its_gap(
            loads in proptest::collection::vec((1u32..4000, 1u32..4, 1u32..4, Just(true)), 8..14),
        ) {
            let (mut greedy, units) = search(&loads, &[], &Leg::ALL);
            greedy.greedy(&units);
            let (mut tried, _) = search(&loads, &[], &Leg::ALL);
            (tried.effort, tried.left) = (50, 50);
            let outcome = tried.solve(&units);
            prop_assert!(tried.worst_w() <= greedy.worst_w() + 1e-9);
            prop_assert!(outcome.proven || outcome.gap_share >= 0.0);
        }
    }
}
