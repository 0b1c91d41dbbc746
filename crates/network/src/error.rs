//! Why an evaluator gives no answer.

use derivation::Known;
use quantity::Quantity;

/// A question that the model cannot answer. Each carries what was asked.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum NetworkError {
    /// A value outside the range in which the formula holds, or no number at all.
    #[error("{what} is {value}, it must be {allowed}")]
    OutOfRange {
        /// Which value.
        what: String,
        /// Its value as people read it.
        value: String,
        /// The range in words.
        allowed: &'static str,
    },
    /// Lists that must go together differ in length, or there are too few entries.
    #[error("{count} {what}, {needed}")]
    Count {
        /// Of what.
        what: &'static str,
        /// How many were given.
        count: usize,
        /// How many are needed, in words.
        needed: &'static str,
    },
    /// A leg that the voltage system lacks, or one given twice.
    #[error("{0}")]
    Leg(String),
    /// A case that the model does not reach, with the reason.
    #[error("{0}")]
    NotCovered(&'static str),
    /// The equations have no finite solution.
    #[error("{0}")]
    NoSolution(&'static str),
}

fn refused<Q: Quantity>(value: &Known<Q>, allowed: &'static str) -> NetworkError {
    let node = value.node();
    NetworkError::OutOfRange { what: node.what.clone(), value: node.amount.text.clone(), allowed }
}

/// Finite and above zero.
pub(crate) fn above_zero<Q: Quantity>(value: &Known<Q>) -> Result<f64, NetworkError> {
    let si = value.value().si();
    if si.is_finite() && si > 0.0 { Ok(si) } else { Err(refused(value, "above zero")) }
}

/// Finite and not below zero.
pub(crate) fn not_negative<Q: Quantity>(value: &Known<Q>) -> Result<f64, NetworkError> {
    let si = value.value().si();
    if si.is_finite() && si >= 0.0 { Ok(si) } else { Err(refused(value, "zero or above")) }
}

/// Finite.
pub(crate) fn finite<Q: Quantity>(value: &Known<Q>) -> Result<f64, NetworkError> {
    let si = value.value().si();
    if si.is_finite() { Ok(si) } else { Err(refused(value, "a finite number")) }
}

/// Finite, at least `low`, at most `high`.
pub(crate) fn within<Q: Quantity>(
    value: &Known<Q>,
    low: f64,
    high: f64,
    allowed: &'static str,
) -> Result<f64, NetworkError> {
    let si = value.value().si();
    if si.is_finite() && si >= low && si <= high { Ok(si) } else { Err(refused(value, allowed)) }
}
