//! Apparent power and current with the third harmonic: U times RMS current is what conductors and bridges carry.
//!
//! Fundamentals are added as phasors. Third harmonics are added by magnitude, as if they were all in step. Currents of
//! different frequency add up by their squares (definition of RMS).

use std::sync::Arc;

use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Apparent, Current, Quantity};

use crate::model::Lane;
use crate::panel::{Members, connected_share, solved_sum};
use crate::phasor::{NOTHING, magnitude};
use crate::pieces::Piece;
use crate::sweep::Copies;

impl Members<'_> {
    pub(crate) fn distorted(&self) -> bool {
        self.pieces.iter().any(|p| p.third > 0.0)
    }

    /// U times the RMS current of each instance, third harmonic included, as real numbers in VA. In total it is the sum
    /// over the legs where any load has a harmonic, and the load's own VA where none has.
    pub(crate) fn rms_copies(&self, lane: Lane, copies: &[Copies]) -> Vec<Copies> {
        let (system, distorted) = (self.system, self.distorted());
        let of = |p: &Piece, c: &Copies| {
            let rms = (1.0 + p.third * p.third).sqrt();
            match lane {
                Lane::Total if distorted => p.copies(|connection| {
                    let legs = p.legs_va(system, connection);
                    Complex64::new(legs.iter().map(|z| magnitude(*z)).sum::<f64>() * rms, 0.0)
                }),
                Lane::Leg(_) | Lane::Total => c.map(|z| Complex64::new(magnitude(z) * rms, 0.0)),
            }
        };
        self.pieces.iter().zip(copies).map(|(p, c)| of(p, c)).collect()
    }

    /// On a leg: voltage times RMS current; fundamental (phasor sum) and third harmonic are of different frequency, so
    /// their squares add up. In total: the largest phasor sum; with harmonics, the legs together or the sum of each
    /// load's own VA, whichever is less (both are upper bounds).
    pub(crate) fn steady_apparent(
        &mut self,
        lane: Lane,
        copies: &[Copies],
        rms: &[Copies],
        legs: &[Known<Apparent>],
    ) -> Known<Apparent> {
        let what = format!("highest VA of loads that may run at once, {lane}");
        let distorted = self.distorted();
        if lane == Lane::Total && distorted {
            let by_leg = Known::sum("S_max", what.clone(), legs);
            let weights: Vec<f64> = rms.iter().map(|c| c.top(|z| z.re)).collect();
            let found = self.heaviest(&weights);
            let from = self.chosen_parts(lane, &found.chosen, rms);
            let equation = "max over permitted subsets sum of S, third harmonic included";
            let of_loads =
                Known::solved("S_max", what.clone(), Apparent::of(found.value), equation, 0.0, from);
            return Known::smallest("S_max", what, &[by_leg.clone(), of_loads]).unwrap_or(by_leg);
        }
        let found = self.farthest(copies, NOTHING);
        let symbol = if distorted { "S_1" } else { "S_max" };
        let S_1 = solved_sum(symbol, what.clone(), "S", &found, self.parts(lane, &found, copies));
        let thirds: Vec<f64> =
            self.pieces.iter().zip(copies).map(|(p, c)| c.top(magnitude) * p.third).collect();
        if thirds.iter().all(|t| *t <= 0.0) {
            return S_1;
        }
        let third = self.heaviest(&thirds);
        let equation = "max over permitted subsets, U · sum of third-harmonic currents";
        let from = self.third_nodes(&third.chosen);
        let S_3 = Known::solved(
            "S_3",
            format!("voltage times highest third-harmonic current, {lane}"),
            Apparent::of(third.value),
            equation,
            0.0,
            from,
        );
        formula!("S_max", what, [S_1, S_3] => root_sum_square(S_1, S_3))
    }

    pub(crate) fn apparent_parts(&self, lane: Lane, rms: &[Copies]) -> Vec<Arc<Node>> {
        let tops = rms.iter().map(|c| c.top(|z| z.re));
        let with = self.pieces.iter().zip(tops).filter(|(_, s)| *s > 0.0);
        with.map(|(p, s)| part_apparent(p, lane, s).node().clone()).collect()
    }

    fn chosen_parts(&self, lane: Lane, chosen: &[usize], rms: &[Copies]) -> Vec<Arc<Node>> {
        let with = chosen.iter().filter_map(|v| Some((self.pieces.get(*v)?, rms.get(*v)?.top(|z| z.re))));
        with.map(|(p, s)| part_apparent(p, lane, s).node().clone()).collect()
    }

    fn third_nodes(&self, chosen: &[usize]) -> Vec<Arc<Node>> {
        let with = chosen.iter().filter_map(|v| self.pieces.get(*v)).filter(|p| p.third > 0.0);
        with.map(|p| p.apparent.node().clone()).collect()
    }

    pub(crate) fn current(&self, lane: Lane, apparent: &Known<Apparent>) -> Known<Current> {
        let V = self.nominal();
        formula!("I", format!("highest RMS current, {lane}"), [apparent, V] => apparent / V)
    }

    pub(crate) fn third_known(&self, what: String, value_a: f64, chosen: &[usize]) -> Known<Current> {
        let from = self.third_nodes(chosen);
        let equation = "max over permitted subsets |sum of third-harmonic currents|";
        Known::solved("I_3", what, Current::of(value_a), equation, 0.0, from)
    }
}

/// Two currents of different frequency (RMS of their sum), or what they make at one voltage.
pub(crate) fn root_sum_square<Q: Quantity>(a: Q, b: Q) -> Q {
    Q::from_si(libm::hypot(a.si(), b.si()))
}

/// A load's part of a lane in VA.
pub(crate) fn part_apparent(piece: &Piece, lane: Lane, va: f64) -> Known<Apparent> {
    let S = &piece.apparent;
    let share = if S.value().si() > 0.0 { va / S.value().si() } else { 0.0 };
    let n = connected_share(piece, lane, share);
    formula!("S", format!("VA of {}, {lane}", piece.name), [S, n] => S * n)
}
