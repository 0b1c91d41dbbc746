//! Why there is no answer.

/// A question that the model does not cover, or facts that cannot be.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EnergyError {
    /// A value outside the range in which the formula holds, or no number at all.
    #[error("{what} is {value}, it must be {allowed}")]
    OutOfRange {
        /// Which value.
        what: &'static str,
        /// Its value, with the unit that `what` names.
        value: f64,
        /// The range in words.
        allowed: &'static str,
    },
    /// Columns that must be equally long are not, or there are too few entries.
    #[error("{count} {what}, {needed}")]
    Count {
        /// Of what.
        what: &'static str,
        /// How many were given.
        count: usize,
        /// How many are needed.
        needed: String,
    },
    /// No such date, or one that cannot be read.
    #[error("\"{text}\" is no time: {help}")]
    Time {
        /// What was written.
        text: String,
        /// What to write instead.
        help: &'static str,
    },
    /// The model does not reach the case.
    #[error("{0}")]
    NotCovered(&'static str),
}

/// Finite, at least `low`, at most `high`.
pub(crate) fn within(
    what: &'static str,
    value: f64,
    low: f64,
    high: f64,
    allowed: &'static str,
) -> Result<f64, EnergyError> {
    if value.is_finite() && value >= low && value <= high {
        Ok(value)
    } else {
        Err(EnergyError::OutOfRange { what, value, allowed })
    }
}

/// Finite and not below zero.
pub(crate) fn not_negative(what: &'static str, value: f64) -> Result<f64, EnergyError> {
    within(what, value, 0.0, f64::MAX, "zero or above")
}

/// Finite and above zero.
pub(crate) fn above_zero(what: &'static str, value: f64) -> Result<f64, EnergyError> {
    within(what, value, f64::MIN_POSITIVE, f64::MAX, "above zero")
}
