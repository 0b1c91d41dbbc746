//! Fault levels of each kind of source, and whether a device clears them.
//!
//! - [`utility`]: a transformer or a stated fault current, through runs of conductors.
//! - [`generator`]: the first current from the subtransient reactance, the sustained one as stated.
//! - [`island`]: inverters, each with a stated current for a stated time: a current, not an impedance.
//! - [`clearing`]: what a breaker's band says of that, and its interrupting rating.
//!
//! Every level has a largest current, which ratings are held against, a least one, which has to clear, and how long
//! it lasts. All faults are bolted: an arc lowers the current by an unknown amount, and that is not covered.

pub mod clearing;
pub mod generator;
pub mod island;
pub mod utility;

use derivation::Known;
use quantity::{Current, Duration, Resistance};

use crate::error::not_negative;
use crate::impedance::magnitude;
use crate::{Impedance, NetworkError};

/// Which conductors touch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FaultKind {
    /// All three phases.
    ThreePhase,
    /// Two lines.
    LineToLine,
    /// A line and the neutral.
    LineToNeutral,
    /// A line and the protective conductor, of a source whose neutral is solidly earthed.
    LineToEarth,
}

/// How long a source keeps up its fault current.
#[derive(Debug, Clone)]
pub enum Lasts {
    /// Until something opens.
    UntilCleared,
    /// No longer than this is promised.
    For(Known<Duration>),
}

/// A fault current, with how long it lasts.
#[derive(Debug, Clone)]
pub struct FaultLevel {
    /// The largest current that may flow, RMS, symmetrical: for interrupting and withstand ratings.
    pub largest: Known<Current>,
    /// The least current of the same fault: for clearing.
    pub least: Known<Current>,
    /// How long it lasts.
    pub lasts: Lasts,
}

/// Magnitude of an impedance, in ohms, with its derivation.
fn size(z: &Impedance, what: &str) -> Result<Known<Resistance>, NetworkError> {
    not_negative(&z.r)?;
    let ohm = Resistance::of(magnitude(z.z_ohm()?));
    let names = ["R", "X"].map(str::to_owned);
    let args = names.into_iter().zip(z.nodes()).collect();
    let expression = if z.x.is_some() { "sqrt(R^2 + X^2)" } else { "R" };
    Ok(Known::formula("Z", what, ohm, expression, args, None))
}
