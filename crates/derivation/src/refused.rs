//! Why an evaluator gives no answer.

use quantity::Quantity;

use crate::Known;

/// Why an evaluator gives no answer. Each carries what was asked; none is a reason to guess.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refused {
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
        needed: String,
    },
    /// A case that the formula does not reach.
    #[error("{0}")]
    NotReached(String),
}

/// Checks that evaluators make of what they are given. Each gives the SI value back.
impl<Q: Quantity> Known<Q> {
    /// The error for a value outside what is allowed.
    pub fn refused(&self, allowed: &'static str) -> Refused {
        let node = self.node();
        Refused::OutOfRange { what: node.what.clone(), value: node.amount.text.clone(), allowed }
    }

    /// Finite and above zero.
    ///
    /// # Errors
    /// It is not.
    pub fn above_zero(&self) -> Result<f64, Refused> {
        self.within(f64::MIN_POSITIVE, f64::MAX, "above zero")
    }

    /// Finite and not below zero.
    ///
    /// # Errors
    /// It is.
    pub fn not_negative(&self) -> Result<f64, Refused> {
        self.within(0.0, f64::MAX, "zero or above")
    }

    /// Above zero and at most one.
    ///
    /// # Errors
    /// It is not.
    pub fn share(&self) -> Result<f64, Refused> {
        self.within(f64::MIN_POSITIVE, 1.0, "above 0 and at most 1")
    }

    /// A whole number from one.
    ///
    /// # Errors
    /// It is not.
    pub fn whole(&self) -> Result<f64, Refused> {
        let si = self.within(1.0, 1e6, "a whole number from 1")?;
        if si.fract() == 0.0 { Ok(si) } else { Err(self.refused("a whole number from 1")) }
    }

    /// From one SI value to another, both included.
    ///
    /// # Errors
    /// It is outside, or no number.
    pub fn within(&self, low: f64, high: f64, allowed: &'static str) -> Result<f64, Refused> {
        let si = self.value().si();
        if (low..=high).contains(&si) { Ok(si) } else { Err(self.refused(allowed)) }
    }
}

/// Lists of one length.
///
/// # Errors
/// They differ.
pub fn same_length(what: &'static str, count: usize, needed: usize) -> Result<(), Refused> {
    if count == needed {
        return Ok(());
    }
    Err(Refused::Count { what, count, needed: format!("{needed} are needed") })
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Ratio;

    #[test]
    fn no_check_lets_through_what_is_no_number() {
        let of = |x: f64| Known::assumed("x", "thing", Ratio::of(x), "test");
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, -1.0] {
            let x = of(bad);
            let checks =
                [x.above_zero(), x.not_negative(), x.share(), x.whole(), x.within(0.0, 2.0, "small")];
            assert!(checks.iter().all(Result::is_err), "{bad}: {checks:?}");
        }
        assert!(of(0.0).above_zero().is_err() && of(0.0).not_negative().is_ok());
        assert!(of(1.5).whole().is_err() && of(3.0).whole().is_ok() && of(1.0).share().is_ok());
        assert_eq!(of(2.0).share().unwrap_err().to_string(), "thing is 2, it must be above 0 and at most 1");
    }
}
