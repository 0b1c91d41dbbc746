//! Which sources are at their limit: the unlimited solution first, then the loop that is furthest over its limit
//! joins the set and is brought down to it, until none is over and none that is in the set would carry less by
//! itself. (One at a time: what one gives up changes what the others carry. Equal ones together.)
//!
//! Where the set comes back to one that was tried, all sets of the loops met so far are tried from the unlimited
//! solution. The set changes at most as often as the settings say; what then is left is not converged.

use std::collections::BTreeSet;

use num_complex::Complex64;

use super::fixed_point::FixedPoint;
use super::flat::FlatSource;
use super::path::{Along, End};
use super::solver::Solver;
use super::status::{NoSolution, Stopped};
use super::{Event, Go, Status};
use crate::impedance::magnitude;

/// How far over its limit, relatively, a loop may be before it joins the set.
const SPARE: f64 = 1e-9;
/// How far below the unlimited current the first limit is tried.
const TRIAL: f64 = 1e-4;
/// Relative difference within which loops count as equal and move together.
const EQUAL: f64 = 1e-6;

/// Loops that a search over all sets may have: 2^8 sets at most.
const MOST_SEARCHED: usize = 8;

/// What was tried.
#[derive(Debug, Default)]
struct Sets {
    /// Voltages and currents without limits.
    unlimited: (Vec<Complex64>, Vec<Complex64>),
    tried: BTreeSet<Vec<bool>>,
    /// Loops that were over their limit at some time.
    met: BTreeSet<usize>,
}

impl Solver {
    pub(super) fn with_limits(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> Status {
        match self.fixed_point(watch) {
            FixedPoint::Rests => {}
            FixedPoint::Stopped => return self.not_converged(Stopped::Observer),
            FixedPoint::Wanders => match self.loads_from_nothing(watch) {
                End::Arrived => {}
                End::Fold(share) => return Status::NoSolution { reason: NoSolution::LoadFold { share } },
                End::Lost(why) => return self.not_converged(why),
            },
        }
        if !self.over().is_empty()
            && let Err(status) = self.bring_down(watch)
        {
            return status;
        }
        self.finish()
    }

    fn loads_from_nothing(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> End {
        self.v.copy_from_slice(&self.start_v);
        self.unlimited_currents();
        self.follow(&Along::Loads, watch)
    }

    /// Each loop with its limit.
    fn limits(&self) -> Vec<f64> {
        self.flat.sources.iter().flat_map(|s| s.limit_a.iter().copied()).collect()
    }

    /// The loops outside the set that are furthest over their limit, relatively: one, or several that are equal.
    /// Allocates nothing where there is none.
    fn over(&self) -> Vec<usize> {
        let limits = self.flat.sources.iter().flat_map(|s| &s.limit_a);
        let ratio = |(l, limit): (usize, &f64)| {
            if self.at_limit[l] { 0.0 } else { magnitude(self.j[l]) / limit }
        };
        let most = limits.clone().enumerate().map(ratio).fold(0.0, f64::max);
        if most <= 1.0 + SPARE {
            return Vec::new();
        }
        let equal = |(l, limit)| (ratio((l, limit)) >= most * (1.0 - EQUAL)).then_some(l);
        limits.enumerate().filter_map(equal).collect()
    }

    /// How much a loop's impedance has grown: a of `newton.rs`.
    fn growth(&self, source: &FlatSource, k: usize) -> f64 {
        let zj = source.z(k, k) * self.j[source.first + k];
        (source.own_drive(k, &self.v, &self.j) * zj.conj()).re / zj.norm_sqr()
    }

    /// The loops in the set that would by themselves carry furthest less than their limit: one, or several that
    /// are equal.
    fn under(&self) -> Vec<usize> {
        let mut growths = Vec::new();
        for source in &self.flat.sources {
            let loops = (0..source.ends.len()).filter(|k| self.at_limit[source.first + k]);
            // a growth that is not a number counts as far under
            let growth = |k| Some(self.growth(source, k)).filter(|g| g.is_finite()).unwrap_or(-1e9);
            growths.extend(loops.map(|k| (source.first + k, growth(k))));
        }
        let least = growths.iter().map(|(_, g)| *g).fold(1.0, f64::min);
        if least >= 1.0 - SPARE {
            return Vec::new();
        }
        growths.into_iter().filter(|(_, g)| *g <= least + EQUAL * least.abs()).map(|(l, _)| l).collect()
    }

    /// One set after the other; where that comes back to one that was tried, all sets of the loops met so far.
    fn bring_down(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> Result<(), Status> {
        let mut sets = Sets { unlimited: (self.v.clone(), self.j.clone()), ..Sets::default() };
        let mut joining = self.over();
        loop {
            joining.iter().for_each(|l| self.at_limit[*l] = true);
            sets.met.extend(&joining);
            if !sets.tried.insert(self.at_limit.clone()) || !self.at_limit.contains(&true) {
                return self.search(&mut sets, watch);
            }
            self.changed(watch)?;
            if self.at_limit.iter().filter(|at| **at).count() == 1 {
                self.leads_down(&joining, &sets)?;
            }
            match self.follow_limits(&joining, watch) {
                Ok(()) => {}
                Err(Status::NotConverged { why: Stopped::StepSize | Stopped::Limits, .. }) => {
                    return self.search(&mut sets, watch);
                }
                Err(status) => return Err(status),
            }
            let under = self.under();
            if under.is_empty() {
                joining = self.over();
                if joining.is_empty() {
                    return Ok(());
                }
            } else {
                under.iter().for_each(|l| self.at_limit[*l] = false);
                joining = self.back_to_unlimited(&sets);
            }
        }
    }

    /// Counts a change of the set and tells the observer.
    fn changed(&mut self, watch: &mut dyn FnMut(Event) -> Go) -> Result<(), Status> {
        self.work.limit_changes += 1;
        if self.work.limit_changes > self.config.limit_changes {
            return Err(self.not_converged(Stopped::Limits));
        }
        let at_limit = self.at_limit.iter().filter(|at| **at).count();
        if watch(Event::Limits { at_limit }) == Go::Stop {
            return Err(self.not_converged(Stopped::Observer));
        }
        Ok(())
    }

    /// All sets of the loops met so far, smaller ones first, each from the unlimited solution: the first that obeys
    /// every law is the answer.
    fn search(&mut self, sets: &mut Sets, watch: &mut dyn FnMut(Event) -> Go) -> Result<(), Status> {
        let met: Vec<usize> = sets.met.iter().copied().collect();
        if met.len() > MOST_SEARCHED {
            return Err(self.not_converged(Stopped::Limits));
        }
        let mut masks: Vec<u32> = (1..1_u32 << met.len()).collect();
        masks.sort_by_key(|mask| (mask.count_ones(), *mask));
        for mask in masks {
            self.at_limit.fill(false);
            for (k, l) in met.iter().enumerate() {
                self.at_limit[*l] = mask & (1 << k) != 0;
            }
            if sets.tried.insert(self.at_limit.clone()) {
                self.changed(watch)?;
                let joining = self.back_to_unlimited(sets);
                match self.follow_limits(&joining, watch) {
                    Ok(()) if self.under().is_empty() && self.over().is_empty() => return Ok(()),
                    Err(status @ Status::NotConverged { why: Stopped::Observer, .. }) => return Err(status),
                    _ => {}
                }
            }
        }
        Err(self.not_converged(Stopped::Limits))
    }

    /// Whether a limit a little under the unlimited current of the only loop in the set is kept by growing its
    /// impedance. If not, the loads ask for more the lower their voltage from the start, and the branch of
    /// solutions with a grown impedance leads away from every lower limit.
    fn leads_down(&mut self, joining: &[usize], sets: &Sets) -> Result<(), Status> {
        let [only] = *joining else { return Ok(()) };
        let unlimited_a = magnitude(self.j[only]);
        let ones = vec![1.0; self.flat.loops];
        let (mut from_a, mut to_a) = (ones.clone(), ones);
        (from_a[only], to_a[only]) = (unlimited_a, unlimited_a * (1.0 - TRIAL));
        let end = self.follow(&Along::Limits { from_a, to_a }, &mut |_| Go::On);
        let grows = matches!(end, End::Lost(_)) || self.under().is_empty();
        self.back_to_unlimited(sets);
        if grows {
            return Ok(());
        }
        Err(Status::NoSolution { reason: NoSolution::LimitFold { reached: 0.0, least_a: unlimited_a } })
    }

    /// Back to the unlimited solution; the loops in the set.
    fn back_to_unlimited(&mut self, sets: &Sets) -> Vec<usize> {
        self.v.copy_from_slice(&sets.unlimited.0);
        self.j.copy_from_slice(&sets.unlimited.1);
        (0..self.flat.loops).filter(|l| self.at_limit[*l]).collect()
    }

    /// Brings the joining loops from their present currents to their limits.
    fn follow_limits(&mut self, joining: &[usize], watch: &mut dyn FnMut(Event) -> Go) -> Result<(), Status> {
        let to_a = self.limits();
        let mut from_a = to_a.clone();
        for l in joining {
            from_a[*l] = magnitude(self.j[*l]);
        }
        // loops outside the set have no limit to move
        let (from_a, to_a): (Vec<f64>, Vec<f64>) = from_a
            .into_iter()
            .zip(to_a)
            .zip(&self.at_limit)
            .map(|(pair, at)| if *at { pair } else { (1.0, 1.0) })
            .unzip();
        let worst = joining
            .iter()
            .copied()
            .max_by(|a, b| (from_a[*a] / to_a[*a]).total_cmp(&(from_a[*b] / to_a[*b])).then(b.cmp(a)));
        let along = Along::Limits { from_a, to_a };
        match self.follow(&along, watch) {
            End::Arrived => Ok(()),
            End::Lost(why) => Err(self.not_converged(why)),
            End::Fold(reached) => {
                let Along::Limits { from_a, to_a } = &along else {
                    return Err(self.not_converged(Stopped::Limits));
                };
                // a fold speaks only for a set that is the right one where it turns
                if !self.under().is_empty() || !self.over().is_empty() {
                    return Err(self.not_converged(Stopped::Limits));
                }
                let least_a = worst.map_or(0.0, |l| from_a[l] + (to_a[l] - from_a[l]) * reached);
                Err(Status::NoSolution { reason: NoSolution::LimitFold { reached, least_a } })
            }
        }
    }

    pub(super) fn not_converged(&mut self, why: Stopped) -> Status {
        Status::NotConverged { why, residual_a: self.mismatch() }
    }

    /// Recounts the mismatch from the parts; where rounding left more than the tolerance, takes back what is left.
    fn finish(&mut self) -> Status {
        let mut residual_a = self.mismatch();
        for _ in 0..3 {
            if residual_a <= self.config.tolerance_a || self.at_limit.contains(&true) {
                break;
            }
            let kept = (self.v.clone(), self.j.clone());
            self.take_back_mismatch();
            let now = self.mismatch();
            if now >= residual_a {
                (self.v, self.j) = kept;
                break;
            }
            residual_a = now;
        }
        if residual_a <= self.config.tolerance_a {
            let iterations = self.work.fixed_point_steps + self.work.newton_steps;
            Status::Converged { iterations, residual_a }
        } else {
            Status::NotConverged { why: Stopped::Rounding, residual_a }
        }
    }

    /// V -= Y^-1 times what leaves the nodes.
    fn take_back_mismatch(&mut self) {
        let free = self.slots.free;
        let before = self.v.clone();
        let mut out = std::mem::take(&mut self.spare);
        self.flat.leaving(&self.v, &self.j, 1.0, &mut out);
        self.v[..free].copy_from_slice(&out[..free]);
        self.spare = out;
        self.back_solve();
        for (v, old) in self.v.iter_mut().zip(&before).take(free) {
            *v = old - *v;
        }
        self.unlimited_currents();
    }
}
