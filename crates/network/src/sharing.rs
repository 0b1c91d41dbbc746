//! How paralleled paths (transfer relays with their wiring, unlike transformers) share a through-current.
//!
//! For paths between the same two nodes the current divides as the admittances: I_k = I Y_k / (Y_1 + ... + Y_n)
//! (current divider, from memory). A solved share may only tighten a verdict: without the catalogue's word on
//! additive pass-through the *total* is held against one relay.
//!
//! When only the spread of the path resistances is known, r = R_max / R_min, the worst case is one path at R_min
//! beside n - 1 at R_max: its share is 1 / (1 + (n - 1)/r), hence total <= I_r (1 + (n - 1)/r).
//!
//! Published upratings for the poles of one contactor in parallel agree with that algebra: 1.6, 2.2, 2.8 for 2, 3
//! and 4 poles is r = 5/3; 1.8 and 2.5 for 2 and 3 poles in another manual is never exceeded by r = 4/3. They
//! check the algebra only: poles on one coil move together and are made as one piece; separate units are not
//! thereby allowed to be counted so.

use std::sync::Arc;

use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Apparent, Current, PhaseVoltage, Quantity, Ratio, Resistance};

use crate::error::{above_zero, finite, not_negative, within};
use crate::impedance::{magnitude, solved};
use crate::{Impedance, NetworkError};

/// One of several paralleled paths.
#[derive(Debug, Clone)]
pub struct Path {
    admittance: Complex64,
    /// The resistance, for a path that has nothing else: its share can be written out.
    resistance: Option<Known<Resistance>>,
    from: Vec<Arc<Node>>,
}

impl Path {
    /// A path of pure resistance.
    ///
    /// # Errors
    /// A resistance that is not above zero: how ideal paths share cannot be said.
    pub fn resistive(r: &Known<Resistance>) -> Result<Self, NetworkError> {
        let ohm = above_zero(r)?;
        Ok(Self {
            admittance: Complex64::new(1.0 / ohm, 0.0),
            resistance: Some(r.clone()),
            from: vec![r.node().clone()],
        })
    }

    /// A path of an impedance.
    ///
    /// # Errors
    /// A resistance that is not above zero.
    pub fn of(impedance: &Impedance) -> Result<Self, NetworkError> {
        above_zero(&impedance.r)?;
        let resistance = if impedance.x.is_none() { Some(impedance.r.clone()) } else { None };
        Ok(Self { admittance: impedance.z_ohm()?.inv(), resistance, from: impedance.nodes() })
    }

    /// A transformer whose impedance is stated per unit of its own rating: Y = S / z.
    ///
    /// # Errors
    /// A rating or resistance that is not above zero.
    pub fn per_unit(
        rating: &Known<Apparent>,
        r: &Known<Ratio>,
        x: &Known<Ratio>,
    ) -> Result<Self, NetworkError> {
        let s = above_zero(rating)?;
        let z = Complex64::new(above_zero(r)?, finite(x)?);
        let from = vec![rating.node().clone(), r.node().clone(), x.node().clone()];
        Ok(Self { admittance: s / z, resistance: None, from })
    }
}

/// Paths of pure resistance.
///
/// # Errors
/// No paths, or a resistance that is not above zero.
pub fn resistive_paths(ohms: &[Known<Resistance>]) -> Result<Vec<Path>, NetworkError> {
    ohms.iter().map(Path::resistive).collect()
}

/// Sum of admittances; none of them, or a sum that vanishes (resonance), has no division.
fn total_admittance(paths: &[Path]) -> Result<Complex64, NetworkError> {
    if paths.is_empty() {
        return Err(NetworkError::Count { what: "paths", count: 0, needed: "at least one is needed" });
    }
    let sum: Complex64 = paths.iter().map(|p| p.admittance).sum();
    let largest = paths.iter().map(|p| magnitude(p.admittance)).fold(0.0, f64::max);
    if magnitude(sum) > 1e-9 * largest && sum.is_finite() {
        Ok(sum)
    } else {
        Err(NetworkError::NoSolution("the paths' admittances cancel: how they share cannot be said"))
    }
}

/// Each path's share of the total current, |Y_k| / |Y_1 + ... + Y_n|. With reactances the shares sum to more
/// than 1, since the currents are out of phase.
///
/// # Errors
/// No paths, or admittances that cancel.
pub fn shares(paths: &[Path]) -> Result<Vec<Known<Ratio>>, NetworkError> {
    let sum = total_admittance(paths)?;
    let resistances: Option<Vec<&Known<Resistance>>> = paths.iter().map(|p| p.resistance.as_ref()).collect();
    let residual = magnitude(paths.iter().map(|p| p.admittance / sum).sum::<Complex64>() - 1.0);
    let terms = |of: &dyn Fn(usize) -> String| (1..=paths.len()).map(of).collect::<Vec<_>>().join(" + ");
    let share = |(k, path): (usize, &Path)| {
        let (symbol, what) = (format!("s_{}", k + 1), format!("share of path {}", k + 1));
        let value = magnitude(path.admittance) / magnitude(sum);
        match &resistances {
            Some(ohms) => {
                let args = ohms
                    .iter()
                    .enumerate()
                    .map(|(j, r)| (format!("R_{}", j + 1), r.node().clone()))
                    .collect::<Vec<_>>();
                let expression = format!("(1/R_{}) / ({})", k + 1, terms(&|j| format!("1/R_{j}")));
                Known::formula(&symbol, what, Ratio::of(value), &expression, args, Some("current divider"))
            }
            None => {
                let equation = format!("|Y_{}| / |{}|", k + 1, terms(&|j| format!("Y_{j}")));
                let from = paths.iter().flat_map(|p| p.from.clone()).collect();
                solved(&symbol, what, value, &equation, residual, from)
            }
        }
    };
    Ok(paths.iter().enumerate().map(share).collect())
}

/// The share of the path that carries most.
///
/// # Errors
/// No paths, or admittances that cancel.
pub fn hottest_share(paths: &[Path]) -> Result<Known<Ratio>, NetworkError> {
    let shares = shares(paths)?;
    Known::largest("s_hot", "share of the hottest path", &shares).ok_or(NetworkError::Count {
        what: "paths",
        count: 0,
        needed: "at least one is needed",
    })
}

/// How a total divides.
#[derive(Debug, Clone)]
pub struct PathCurrents {
    /// Current in each path, magnitude, in path order.
    pub currents: Vec<Known<Current>>,
    /// Voltage across the paths.
    pub drop: Known<PhaseVoltage>,
}

/// The current in each path. Paths in per unit have no drop in volts: use [`shares`] for them.
///
/// # Errors
/// No paths, admittances that cancel, or a negative total.
pub fn path_currents(paths: &[Path], total: &Known<Current>) -> Result<PathCurrents, NetworkError> {
    let total_a = not_negative(total)?;
    let sum = total_admittance(paths)?;
    let currents = shares(paths)?
        .iter()
        .enumerate()
        .map(|(k, s)| {
            let (s, I) = (s, total);
            formula!(&format!("I_{}", k + 1), format!("current in path {}", k + 1), [s, I] => s * I)
        })
        .collect();
    let mut from: Vec<Arc<Node>> = paths.iter().flat_map(|p| p.from.clone()).collect();
    from.push(total.node().clone());
    let drop_v = total_a / magnitude(sum);
    let residual = drop_v * magnitude(sum) - total_a;
    let drop = solved("U", "voltage across the paths", drop_v, "I / |Y_1 + ... + Y_n|", residual, from);
    Ok(PathCurrents { currents, drop })
}

/// The paths that remain when one is open.
#[derive(Debug, Clone)]
pub struct OneOpen {
    /// Which path is open, from 0.
    pub open: usize,
    /// Current in each path, in path order; none in the open one.
    pub currents: Vec<Option<Known<Current>>>,
}

/// Every case of one path open (an input breaker off, a relay stuck) with the total unchanged.
///
/// # Errors
/// Fewer than two paths: nothing would remain; otherwise as [`path_currents`].
pub fn one_path_open(paths: &[Path], total: &Known<Current>) -> Result<Vec<OneOpen>, NetworkError> {
    if paths.len() < 2 {
        let needed = "with one open nothing remains: at least two are needed";
        return Err(NetworkError::Count { what: "paths", count: paths.len(), needed });
    }
    (0..paths.len())
        .map(|open| {
            let rest: Vec<Path> =
                paths.iter().enumerate().filter(|(k, _)| *k != open).map(|(_, p)| p.clone()).collect();
            let mut solved = path_currents(&rest, total)?.currents.into_iter();
            let currents = (0..paths.len()).map(|k| if k == open { None } else { solved.next() }).collect();
            Ok(OneOpen { open, currents })
        })
        .collect()
}

/// The largest total that overloads no path.
#[derive(Debug, Clone)]
pub struct LargestTotal<Q> {
    /// The total, in the kind of the ratings.
    pub total: Known<Q>,
    /// The path that is at its rating then, from 0.
    pub first: usize,
    /// The total at which each path reaches its rating.
    pub limits: Vec<Known<Q>>,
}

/// The largest total such that no path exceeds its rating: the smallest of rating / share.
///
/// # Errors
/// Ratings and paths that differ in number, a rating that is not above zero, or as [`shares`].
pub fn largest_total<Q: Quantity>(
    ratings: &[Known<Q>],
    paths: &[Path],
) -> Result<LargestTotal<Q>, NetworkError> {
    if ratings.len() != paths.len() {
        let needed = "one is needed for each path";
        return Err(NetworkError::Count { what: "ratings", count: ratings.len(), needed });
    }
    let mut limits = Vec::new();
    for (k, (rating, share)) in ratings.iter().zip(shares(paths)?).enumerate() {
        let value = Q::from_si(above_zero(rating)? / above_zero(&share)?);
        let args = vec![("rating".to_owned(), rating.node().clone()), ("s".to_owned(), share.node().clone())];
        let what = format!("total at which path {} reaches its rating", k + 1);
        limits.push(Known::formula(&format!("lim_{}", k + 1), what, value, "rating / s", args, None));
    }
    let none = NetworkError::Count { what: "paths", count: 0, needed: "at least one is needed" };
    let total = Known::smallest("lim", "largest total that overloads no path", &limits).ok_or(none)?;
    let least = total.value().si();
    let first = limits.iter().position(|l| l.value().si() <= least).unwrap_or(0);
    Ok(LargestTotal { total, first, limits })
}

/// How much of its rating a path carries.
///
/// # Errors
/// A negative current, a rating that is not above zero.
pub fn loading(I_k: &Known<Current>, I_r: &Known<Current>) -> Result<Known<Ratio>, NetworkError> {
    not_negative(I_k)?;
    above_zero(I_r)?;
    Ok(formula!("p", "current over rating", [I_k, I_r] => I_k / I_r))
}

/// The largest total through `n` paths rated `I_r` each whose resistances differ by at most
/// r = R_max / R_min: I_r (1 + (n - 1)/r). One path gives I_r.
///
/// # Errors
/// No path, a rating not above zero, or r below 1 (a spread below 1 would raise the limit above n I_r).
pub fn matched_paths_limit(
    I_r: &Known<Current>,
    n: usize,
    r: &Known<Ratio>,
) -> Result<Known<Current>, NetworkError> {
    if n == 0 {
        return Err(NetworkError::Count { what: "paths", count: 0, needed: "at least one is needed" });
    }
    above_zero(I_r)?;
    within(r, 1.0, f64::MAX, "1 or more (largest over smallest resistance)")?;
    let n = Known::factor("n", "number of paralleled paths", n as f64, "count");
    let source = "worst case of a current divider: one path at R_min beside n - 1 at R_max";
    Ok(
        formula!("I_max", "largest total through matched paths", [I_r, n, r] => I_r * (1.0 + (n - 1.0) / r), source = source),
    )
}
