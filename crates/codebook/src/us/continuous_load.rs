//! Continuous loads at 125 percent.
//!
//! ## Clause and edition
//! NEC 2023; 210.19(A), 210.20(A), 215.2(A)(1), 215.3, 230.42(A).
//! ## Applies when
//! A branch circuit, feeder or service carries loads that run for three hours or more.
//! ## Why
//! Terminals and breakers in an enclosure are tested for their rating, not for carrying it for hours.
//! ## Formula
//! `I = 1.25 · I_continuous + I_other`; with equipment listed for continuous use at full rating, the plain sum.
//! ## Example
//! Passing: 40 A continuous and 20 A other ask for 70 A. Failing: a negative current is refused.
//! ## Limits of our reading
//! Before adjustment and correction factors; those are applied to the plain sum by another rule.
//! ## Source
//! 210.19(A), 215.2(A): two sources agree; 230.42(A): from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::Current;
use tables::us::{conductor_rule, load_rule};

use crate::NotCovered;
use crate::not_covered::sane;

/// What carries the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// A branch circuit.
    Branch,
    /// A feeder.
    Feeder,
    /// Service conductors.
    Service,
}

/// Smallest ampacity and rating for continuous and other load, in A. `fully_rated`: the assembly is listed for
/// continuous use at 100 % of its rating.
///
/// # Errors
/// A current is no number or negative.
pub fn required(
    carrier: Carrier,
    continuous: &Known<Current>,
    other: &Known<Current>,
    fully_rated: bool,
) -> Result<Known<Current>, NotCovered> {
    let (clause, key) = match carrier {
        Carrier::Branch => ("NEC 2023 210.19(A)", "continuous-branch"),
        Carrier::Feeder => ("NEC 2023 215.2(A)(1)", "continuous-feeder"),
        Carrier::Service => ("NEC 2023 230.42(A)", "continuous-service"),
    };
    sane(clause, continuous)?;
    sane(clause, other)?;
    let what = "current to be carried";
    if fully_rated {
        return Ok(formula!("I_req", what, [continuous, other] => continuous + other, source = clause));
    }
    let factor = match carrier {
        Carrier::Branch => conductor_rule::ratio("factor", key)?,
        Carrier::Feeder | Carrier::Service => load_rule::ratio("factor", key)?,
    };
    Ok(formula!("I_req", what, [factor, continuous, other] => factor * continuous + other, source = clause))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn only_the_continuous_part_is_raised() {
        let (forty, twenty) = (given(Current::of(40.0)), given(Current::of(20.0)));
        near(&required(Carrier::Feeder, &forty, &twenty, false).unwrap(), 70.0);
        near(&required(Carrier::Feeder, &forty, &twenty, true).unwrap(), 60.0);
        near(&required(Carrier::Branch, &forty, &twenty, false).unwrap(), 70.0);
        let service = required(Carrier::Service, &forty, &twenty, false).unwrap();
        near(&service, 70.0);
        assert!(derivation::explain(service.node()).contains("confirm in the adopted code"));
        assert!(required(Carrier::Feeder, &given(Current::of(-1.0)), &twenty, false).is_err());
        assert!(required(Carrier::Feeder, &forty, &given(Current::of(-1.0)), false).is_err());
    }
}
