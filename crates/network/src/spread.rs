//! How far the currents of paralleled pass-through paths spread when only ranges of their resistances are known:
//! the exact worst corner, and seeded draws for the distribution.
//!
//! A path is relay, contacts and wiring of one unit, R_k, between the utility's busbar and the panel's. The unit's
//! bridge sits somewhere on it: the part a_k R_k is ahead of the bridge (input wiring and relay), the rest behind it
//! (output wiring). The bridge takes J_k off the path: above zero when it charges, below when it contributes. With
//! G_k = 1/R_k and the total I that the panel takes, Kirchhoff's laws give the voltage across the paths and the
//! current in each relay
//!
//! ```text
//! U   = (I + sum a_j J_j) / sum G_j
//! I_k = G_k U + (1 - a_k) J_k
//! ```
//!
//! **The corner bound.** |I_k| is largest where every range is at one of its ends: moved alone, J_j and a_j enter
//! I_k linearly and each G_j as a quotient of linear functions whose denominator keeps its sign, so I_k moves one way
//! only. The other paths enter through sum a_j J_j, which only raises I_k, and through sum G_j, which lowers it while
//! the numerator A = I + sum a_j J_j is above zero. So for a corner of path k: the others' a_j J_j at their largest,
//! and their G_j at the smallest where A >= 0, else at the largest. Eight corners of the path itself and two
//! directions remain: the bound is exact, met at a corner that is inside the ranges.
//!
//! Without own-bridge currents and with like ranges that is I / (1 + (N - 1) R_min/R_max), as
//! [`crate::sharing::matched_paths_limit`] has it. With them it is never above s (I + sum of the largest |J_j|) plus
//! the largest |J_k|, s being that worst share. It may be above s I plus that current: charging currents of the other
//! units pass the hottest relay too, unless all resistance lies behind the bridges (a = 0).
//!
//! **What it holds for.** Currents in phase, paths without reactance. Own currents of any angle are bounded by a range
//! from -m to +m of their largest magnitude m, since all weights are real and not below zero. Bridges at their current
//! limit hold J_k, whatever the resistances, within its range; how much that is, is not decided here.
//!
//! Source: Kirchhoff's laws; the algebra is written out above.

mod draws;

use std::sync::Arc;

use derivation::{Known, Node};
use quantity::{Current, Quantity, Ratio, Resistance};

pub use draws::{Distribution, Draws};

use crate::NetworkError;
use crate::error::{finite, not_negative, within};
use crate::impedance::solved;

/// From the lowest to the highest value.
type Range = (f64, f64);

/// What is known of one path.
#[derive(Debug, Clone)]
pub struct PathRange {
    /// Conductance, in siemens; both zero for a path that is open.
    siemens: Range,
    /// Resistance, in ohm.
    ohm: Range,
    /// The part of the resistance that is ahead of the bridge.
    ahead: Range,
    /// What the bridge takes off the path, in A.
    own_a: Range,
    from: Vec<Arc<Node>>,
}

/// One possible state of a path.
#[derive(Debug, Clone, Copy)]
struct Point {
    siemens: f64,
    ahead: f64,
    own_a: f64,
}

impl PathRange {
    /// A path whose whole resistance lies between two values. Where its bridge sits is not known: every place is
    /// reckoned with. No own-bridge current.
    ///
    /// # Errors
    /// Values that are not finite or not above zero, or a lowest above the highest.
    pub fn between(lowest: &Known<Resistance>, highest: &Known<Resistance>) -> Result<Self, NetworkError> {
        let ohm = ordered(lowest, highest, not_negative)?;
        Self::new(ohm, (0.0, 1.0), vec![lowest.node().clone(), highest.node().clone()])
    }

    /// A path of two components, each lowest and highest: `ahead` of the bridge (input wiring, relay, contacts; new
    /// or at the end of life) and `behind` it. The resistances add, and the bridge's place follows from them: with
    /// own-bridge currents the two are taken as if they varied apart, which bounds what they can do together.
    ///
    /// # Errors
    /// Values that are not finite or below zero, a lowest above the highest, or a whole path without resistance.
    pub fn of_components(
        ahead: (&Known<Resistance>, &Known<Resistance>),
        behind: (&Known<Resistance>, &Known<Resistance>),
    ) -> Result<Self, NetworkError> {
        let a = ordered(ahead.0, ahead.1, not_negative)?;
        let b = ordered(behind.0, behind.1, not_negative)?;
        let part = |a: f64, b: f64, otherwise: f64| if a + b > 0.0 { a / (a + b) } else { otherwise };
        let place = (part(a.0, b.1, 0.0), part(a.1, b.0, 1.0));
        let from = [ahead.0, ahead.1, behind.0, behind.1].map(|r| r.node().clone()).to_vec();
        Self::new((a.0 + b.0, a.1 + b.1), place, from)
    }

    fn new(ohm: Range, ahead: Range, from: Vec<Arc<Node>>) -> Result<Self, NetworkError> {
        let siemens = (1.0 / ohm.1, 1.0 / ohm.0);
        if siemens.0 > 0.0 && siemens.1.is_finite() && ohm.1.is_finite() {
            Ok(Self { siemens, ohm, ahead, own_a: (0.0, 0.0), from })
        } else {
            Err(NetworkError::OutOfRange {
                what: "a path's resistance".to_owned(),
                value: format!("{} to {} ohm", ohm.0, ohm.1),
                allowed: "above zero and finite",
            })
        }
    }

    /// With a bridge that takes a current between two values off the path: above zero for charging, below for
    /// contribution.
    ///
    /// # Errors
    /// Values that are not finite, or a lowest above the highest.
    pub fn own(self, lowest: &Known<Current>, highest: &Known<Current>) -> Result<Self, NetworkError> {
        let own_a = ordered(lowest, highest, finite)?;
        Ok(Self { own_a, from: more(self.from, lowest.node(), highest.node()), ..self })
    }

    /// With the part of the path's resistance that is ahead of the bridge: 0 where the bridge sits at the utility's
    /// busbar, 1 at the panel's.
    ///
    /// # Errors
    /// Values outside 0 to 1, or a lowest above the highest.
    pub fn bridge_at(self, lowest: &Known<Ratio>, highest: &Known<Ratio>) -> Result<Self, NetworkError> {
        let ahead = ordered(lowest, highest, |part| within(part, 0.0, 1.0, "from 0 to 1"))?;
        Ok(Self { ahead, from: more(self.from, lowest.node(), highest.node()), ..self })
    }

    /// The path open at its relay: it carries nothing, and a bridge that goes on takes its current from the panel's
    /// busbar, through the other paths.
    fn opened(self) -> Self {
        Self { siemens: (0.0, 0.0), ahead: (1.0, 1.0), ..self }
    }

    fn is_open(&self) -> bool {
        self.siemens.1 <= 0.0
    }

    fn places(&self) -> impl Iterator<Item = (f64, f64)> {
        let ends = |range: Range| [range.0, range.1];
        let own = ends(self.own_a);
        ends(self.ahead).into_iter().flat_map(move |ahead| own.map(|own_a| (ahead, own_a)))
    }

    fn corners(&self) -> impl Iterator<Item = Point> {
        let siemens = self.siemens;
        self.places().flat_map(move |(ahead, own_a)| {
            [siemens.0, siemens.1].map(|siemens| Point { siemens, ahead, own_a })
        })
    }

    /// Where a J is largest in a direction, and its value in that direction.
    fn most(&self, sign: f64) -> (f64, f64, f64) {
        let mut best = (f64::NEG_INFINITY, 0.0, 0.0);
        for (ahead, own_a) in self.places() {
            let value = sign * ahead * own_a;
            if value > best.0 {
                best = (value, ahead, own_a);
            }
        }
        best
    }
}

fn ordered<Q: Quantity>(
    lowest: &Known<Q>,
    highest: &Known<Q>,
    read: impl Fn(&Known<Q>) -> Result<f64, NetworkError>,
) -> Result<Range, NetworkError> {
    let range = (read(lowest)?, read(highest)?);
    if range.0 <= range.1 {
        return Ok(range);
    }
    let node = lowest.node();
    Err(NetworkError::OutOfRange {
        what: node.what.clone(),
        value: node.amount.text.clone(),
        allowed: "not above the highest of its range",
    })
}

fn more(mut from: Vec<Arc<Node>>, lowest: &Arc<Node>, highest: &Arc<Node>) -> Vec<Arc<Node>> {
    from.extend([lowest.clone(), highest.clone()]);
    from
}

/// Paralleled paths and what the panel takes through them; checked once, when it is made.
#[derive(Debug, Clone)]
pub struct Spread {
    paths: Vec<PathRange>,
    total: Known<Current>,
    total_a: f64,
}

/// The largest current that any path can carry within its ranges.
#[derive(Debug, Clone)]
pub struct Corner {
    /// Its magnitude.
    pub current: Known<Current>,
    /// The path, from 0; the first of equals.
    pub path: usize,
}

/// A corner that is being compared: the magnitude reached, whose it is and at which ends.
struct Reached {
    value_a: f64,
    path: usize,
    sign: f64,
    own: Point,
    others_low: bool,
}

impl Spread {
    /// Paths and the `total` that the panel takes through all of them; the bridges' own currents are not part of it.
    ///
    /// # Errors
    /// No path, or a total that is not finite or below zero.
    pub fn new(paths: Vec<PathRange>, total: &Known<Current>) -> Result<Self, NetworkError> {
        if paths.is_empty() {
            return Err(NetworkError::Count { what: "paths", count: 0, needed: "at least one is needed" });
        }
        Ok(Self { paths, total: total.clone(), total_a: not_negative(total)? })
    }

    /// The same with one path open (an input breaker off, a relay stuck), from 0. Its bridge's range stays: a bridge
    /// that goes on draws through the other paths. Give it no own current where it stops.
    ///
    /// # Errors
    /// No such path, or none that remains closed.
    pub fn with_open(&self, path: usize) -> Result<Self, NetworkError> {
        let mut paths = self.paths.clone();
        let count = paths.len();
        match paths.get_mut(path) {
            Some(one) => *one = one.clone().opened(),
            None => {
                return Err(NetworkError::Count {
                    what: "paths",
                    count,
                    needed: "the open one is not among them",
                });
            }
        }
        if paths.iter().all(PathRange::is_open) {
            let needed = "with one more open nothing remains";
            return Err(NetworkError::Count { what: "paths", count, needed });
        }
        Ok(Self { paths, ..self.clone() })
    }

    /// The exact worst corner: no state within the ranges gives any path more, and one gives just that.
    ///
    /// # Errors
    /// Values so far apart that the result is no finite number.
    pub fn corner(&self) -> Result<Corner, NetworkError> {
        let mut worst: Option<Reached> = None;
        for path in 0..self.paths.len() {
            for sign in [1.0, -1.0] {
                self.reach(path, sign, &mut worst)?;
            }
        }
        let none = NetworkError::NoSolution("no path is closed");
        let worst = worst.ok_or(none)?;
        // the same state solved for all paths at once must give the same current
        let points = self.points(&worst);
        let residual = worst.value_a - hottest(&points, self.total_a);
        let equation = "largest |I_k| over the corners of all ranges, \
                        I_k = G_k (I + sum a_j J_j) / (sum G_j) + (1 - a_k) J_k";
        let what = "largest current that one path can carry";
        let current = solved("I_corner", what, worst.value_a, equation, residual, self.nodes());
        Ok(Corner { current, path: worst.path })
    }

    /// Corners of one path in one direction, against the worst so far.
    fn reach(&self, path: usize, sign: f64, worst: &mut Option<Reached>) -> Result<(), NetworkError> {
        let (mut low, mut high, mut others_a) = (0.0, 0.0, 0.0);
        for (j, other) in self.paths.iter().enumerate() {
            if j != path {
                low += other.siemens.0;
                high += other.siemens.1;
                others_a += other.most(sign).0;
            }
        }
        let Some(range) = self.paths.get(path).filter(|p| !p.is_open()) else { return Ok(()) };
        for own in range.corners() {
            let driving = sign * (self.total_a + own.ahead * own.own_a) + others_a;
            let others_low = driving >= 0.0;
            let siemens = own.siemens + if others_low { low } else { high };
            let value_a = own.siemens / siemens * driving + sign * (1.0 - own.ahead) * own.own_a;
            if !value_a.is_finite() {
                return Err(NetworkError::NoSolution(
                    "the paths' ranges are too far apart for a finite current",
                ));
            }
            if worst.as_ref().is_none_or(|w| value_a > w.value_a) {
                *worst = Some(Reached { value_a, path, sign, own, others_low });
            }
        }
        Ok(())
    }

    /// The state of all paths at a corner.
    fn points(&self, at: &Reached) -> Vec<Point> {
        let other = |range: &PathRange| {
            let (_, ahead, own_a) = range.most(at.sign);
            Point { siemens: if at.others_low { range.siemens.0 } else { range.siemens.1 }, ahead, own_a }
        };
        let point = |(k, range)| if k == at.path { at.own } else { other(range) };
        self.paths.iter().enumerate().map(point).collect()
    }

    /// What the results rest on, each once.
    fn nodes(&self) -> Vec<Arc<Node>> {
        let mut nodes = vec![self.total.node().clone()];
        for node in self.paths.iter().flat_map(|p| &p.from) {
            if !nodes.iter().any(|known| Arc::ptr_eq(known, node)) {
                nodes.push(node.clone());
            }
        }
        nodes
    }
}

/// The largest current among the paths, magnitude, in A.
fn hottest(points: &[Point], total_a: f64) -> f64 {
    let (mut driving, mut siemens) = (total_a, 0.0);
    for p in points {
        driving += p.ahead * p.own_a;
        siemens += p.siemens;
    }
    let volts = driving / siemens;
    points.iter().fold(0.0, |most, p| f64::max(most, (p.siemens * volts + (1.0 - p.ahead) * p.own_a).abs()))
}
