//! Walks from steps that follow each other, side by side: each by itself to the end of their block, then all at once by
//! whole rows of the tree that every one of them is carried through, and where one is not, or taper bends a step, by
//! single steps. A walk that has ended follows one that goes on, so that it never holds the others up.

// lanes are walked by index over several arrays at once
#![allow(clippy::needless_range_loop)]

use super::maps::{Map, Steps};
use super::tree::{BLOCK, Tree};
use crate::year::less;

/// Walks side by side: those that start in one block.
pub(super) const LANES: usize = BLOCK;

/// How far a walk came.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Walk {
    pub steps: usize,
    pub charge: f64,
    pub budget: f64,
    /// Place of the next step.
    pub at: usize,
}

/// Charges and heat budgets of the walks, and which still go on.
struct Group {
    charge: [f64; LANES],
    budget: [f64; LANES],
    /// Steps after which a walk is over, counted from the first walk's start; none once it has ended.
    limit: [Option<usize>; LANES],
    /// The least of them; none once all have ended.
    least: Option<usize>,
    /// Steps since the first walk's start.
    done: usize,
    /// Place of the next step.
    at: usize,
    out: [Walk; LANES],
}

impl Group {
    /// Notes what holds for the walks that go on, and lets the others follow one of them.
    #[inline(always)]
    fn follow(&mut self) {
        self.least = self.limit.iter().flatten().copied().min();
        if let Some(live) = self.limit.iter().position(Option::is_some) {
            for l in 0..LANES {
                if self.limit[l].is_none() {
                    (self.charge[l], self.budget[l]) = (self.charge[live], self.budget[live]);
                }
            }
        }
    }

    /// Takes a row if it carries every walk and taper bends none of its steps.
    #[inline(always)]
    fn take(&mut self, row: &Map) -> bool {
        let mut carried = true;
        for l in 0..LANES {
            let (e, b) = (self.charge[l], self.budget[l]);
            carried &= (e >= row.n) & (e <= row.m) & (b >= row.hn);
        }
        if carried {
            for l in 0..LANES {
                self.charge[l] = less(row.c, row.a * self.charge[l] + row.g);
                self.budget[l] = less(row.hc, self.budget[l] + row.hg);
            }
        }
        carried
    }

    /// Goes on by single steps to the next block or the least limit; each walk ends before the step that does not
    /// carry it, or at its limit.
    #[inline(always)]
    fn steps(&mut self, steps: &Steps, least: usize) {
        let to_block = (BLOCK - self.at % BLOCK).min(steps.count() - self.at);
        let many = to_block.min(least - self.done);
        let mut came = [0.0; LANES];
        for k in 0..many {
            let figures = steps.figures(self.at + k);
            let [n, _, hg] = figures;
            let so_far = k as f64;
            for l in 0..LANES {
                let (e, b) = (self.charge[l], self.budget[l]);
                let (e_next, b_next) = steps.carried(figures, e, b);
                let carried = (e >= n) & (b >= -hg) & (came[l] >= so_far);
                self.charge[l] = if carried { e_next } else { e };
                self.budget[l] = if carried { b_next } else { b };
                came[l] = if carried { so_far + 1.0 } else { came[l] };
            }
        }
        let mut ended = false;
        for l in 0..LANES {
            let Some(limit) = self.limit[l] else { continue };
            let came = came[l] as usize;
            if came < many || self.done + many == limit {
                let at = (self.at + came) % steps.count();
                let (charge, budget) = (self.charge[l], self.budget[l]);
                self.out[l] = Walk { steps: self.done + came - l, charge, budget, at };
                self.limit[l] = None;
                ended = true;
            }
        }
        self.done += many;
        self.at = (self.at + many) % steps.count();
        if ended {
            self.follow();
        }
    }
}

impl Tree {
    /// Walks from steps `base`, `base + 1` and so on, one for each charge and budget and at most [`LANES`], until a step is not
    /// carried, or for `most` steps, round the end of the year where they go beyond. The k-th step of a walk is one of
    /// `first[k]` while there is one.
    #[inline(always)]
    pub fn walk(
        &self,
        first: &[Steps],
        base: usize,
        charge: &[f64],
        budget: &[f64],
        most: &[usize; LANES],
    ) -> [Walk; LANES] {
        let count = self.steps().count();
        let join = (LANES - 1 + first.len()).next_multiple_of(BLOCK);
        let mut group = Group {
            charge: [0.0; LANES],
            budget: [0.0; LANES],
            limit: [None; LANES],
            least: None,
            done: join,
            at: (base + join) % count,
            out: [Walk::default(); LANES],
        };
        for (l, (charge, budget)) in charge.iter().zip(budget).take(LANES).enumerate() {
            let mut w = Walk { steps: 0, charge: *charge, budget: *budget, at: base + l };
            let together = join - l;
            while w.steps < together.min(most[l]) {
                let steps = first.get(w.steps).unwrap_or(self.steps());
                let Some((charge, budget)) = steps.after(w.at, w.charge, w.budget) else { break };
                let at = if w.at + 1 == count { 0 } else { w.at + 1 };
                w = Walk { steps: w.steps + 1, charge, budget, at };
            }
            if w.steps == together {
                (group.charge[l], group.budget[l]) = (w.charge, w.budget);
                group.limit[l] = Some(most[l] + l);
            }
            group.out[l] = w;
        }
        group.follow();
        while let Some(least) = group.least {
            if self.starts_row(group.at) && group.done + BLOCK <= least {
                self.climb(&mut group, least);
            }
            // what is next is bent, not carried by all, or beyond what one of them may go
            group.steps(self.steps(), least);
        }
        group.out
    }

    /// Takes whole rows as long as they are carried and within the least limit.
    #[inline(always)]
    fn climb(&self, group: &mut Group, least: usize) {
        let (mut node, mut width, mut up) = (self.leaf(group.at), BLOCK, true);
        loop {
            while up && node.is_multiple_of(2) && node > 1 {
                node /= 2;
                width *= 2;
            }
            let taken = group.done + width <= least && self.row(node).is_some_and(|row| group.take(row));
            if taken {
                group.done += width;
                group.at += width;
                if group.at == self.steps().count() {
                    group.at = 0;
                }
                node += 1;
                // past the last leaf, or in the half that the row above did not carry
                if up && node.is_power_of_two() || !up && width == BLOCK {
                    return;
                }
            } else if width == BLOCK {
                return;
            } else {
                up = false;
            }
            if !up {
                node *= 2;
                width /= 2;
            }
        }
    }
}
