//! Sources on the supply side of the service disconnect.
//!
//! ## Clause and edition
//! NEC 2023; 705.11.
//! ## Applies when
//! A source is connected between the utility and the service disconnect.
//! ## Why
//! There only the utility's own protection stands ahead; the service conductors must bear what the sources deliver.
//! ## Formula
//! `sum(I_out) <= I_service`; the source's conductors carry `sum(I_out)` by 705.28 and are 6 AWG copper or 4 AWG
//! aluminum at least.
//! ## Example
//! Passing: 120 A of output on service conductors of 200 A. Failing: 250 A on the same.
//! ## Limits of our reading
//! Sources under a power control system may be brought with their setpoint. The length of the conductors and their
//! fault rating are not judged. The utility has a word of its own.
//! ## Source
//! Least size: two sources agree; the sum: one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::Current;
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::Material;
use tables::us::size::{KnownSize, Size};

use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 705.11";

/// Sources ahead of the service disconnect.
#[derive(Debug, Clone)]
pub struct SupplySide {
    /// Output of all.
    pub sum: Known<Current>,
    /// What it may reach.
    pub limit: Known<Current>,
    /// Whether it does not exceed it.
    pub sum_holds: bool,
    /// Smallest conductor.
    pub least: KnownSize,
    /// Whether the conductor is as large.
    pub size_holds: bool,
}

/// Whether sources may stand on the supply side of a service.
///
/// # Errors
/// No source, or a current that is no number or negative.
pub fn supply_side(
    service: &Known<Current>,
    outputs: &[Known<Current>],
    size: Size,
    material: Material,
) -> Result<SupplySide, NotCovered> {
    sane(CLAUSE, service)?;
    all_sane(CLAUSE, outputs)?;
    if outputs.is_empty() {
        return Err(NotCovered::new(CLAUSE, say!("no source")));
    }
    let share = conductor_rule::ratio("k", "service-sum")?;
    let sum = Known::sum("I_out", "output of the sources", outputs);
    let what = "what the sources may reach";
    let limit = formula!("I_lim", what, [share, service] => share * service, source = CLAUSE);
    let least = match material {
        Material::Copper => conductor_rule::size("A_min", "service-least-cu")?,
        Material::Aluminum => conductor_rule::size("A_min", "service-least-al")?,
    };
    Ok(SupplySide {
        sum_holds: sum.value() <= limit.value(),
        size_holds: size >= least.size,
        sum,
        limit,
        least,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given};

    #[test]
    fn sum_and_least_size() {
        let case = |outputs: &[f64], size: &str, material| {
            supply_side(&given(Current::of(200.0)), &all(outputs), size.parse().unwrap(), material)
                .map(|found| (found.sum_holds, found.size_holds))
        };
        assert_eq!(case(&[60.0, 60.0], "6", Material::Copper), Ok((true, true)));
        assert_eq!(case(&[100.0, 100.0], "6", Material::Copper), Ok((true, true)));
        assert_eq!(case(&[150.0, 100.0], "8", Material::Copper), Ok((false, false)));
        assert_eq!(case(&[10.0], "6", Material::Aluminum), Ok((true, false)));
        assert!(case(&[], "6", Material::Copper).is_err());
        assert!(case(&[f64::NAN], "6", Material::Copper).is_err());
    }
}
