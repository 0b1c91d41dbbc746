//! Conductors in parallel: all alike, and none small.
//!
//! ## Clause and edition
//! NEC 2023; 310.10(G).
//! ## Applies when
//! A phase, neutral or grounded conductor is made of several conductors joined at both ends.
//! ## Why
//! Current divides by impedance; only conductors that are alike share it evenly.
//! ## Formula
//! `I = n · I_one`, `A = n · A_one`; each 1/0 AWG or larger, of the same length, metal, size, insulation and
//! termination.
//! ## Example
//! Passing: two of 3/0 AWG copper carry 400 A at 75 degC. Failing: two of 1 AWG.
//! ## Limits of our reading
//! Unlike conductors are not covered, whatever they share in truth. The exceptions for smaller conductors are not
//! read. That raceways are alike too is taken, not checked.
//! ## Source
//! 310.10(G): two sources agree.

use derivation::{Known, formula};
use quantity::{Current, Length, Ratio, WireArea};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{Column, Material};
use tables::us::size::{Size, together};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 310.10(G)";

/// One of the conductors.
#[derive(Debug, Clone)]
pub struct Strand {
    /// Its size.
    pub size: Size,
    /// Its metal.
    pub material: Material,
    /// Temperature rating of its insulation.
    pub insulation: Column,
    /// Its length.
    pub length: Known<Length>,
}

/// A set that may be made.
#[derive(Debug, Clone)]
pub struct ParallelSet {
    /// How many.
    pub conductors: Known<Ratio>,
    /// Area of all.
    pub area: Known<WireArea>,
    /// Whether each is large enough to be paralleled, or there is only one.
    pub allowed: bool,
}

/// A set of conductors in parallel.
///
/// # Errors
/// No conductor, or conductors that are not alike.
pub fn parallel_set(strands: &[Strand]) -> Result<ParallelSet, NotCovered> {
    let Some((first, rest)) = strands.split_first() else {
        return Err(NotCovered::new(CLAUSE, say!("no conductor")));
    };
    for strand in strands {
        sane(CLAUSE, &strand.length)?;
    }
    for (k, other) in rest.iter().enumerate() {
        let what = [
            (other.size != first.size, "size"),
            (other.material != first.material, "metal"),
            (other.insulation != first.insulation, "insulation"),
            (other.length.value() != first.length.value(), "length"),
        ];
        if let Some((_, what)) = what.into_iter().find(|(differs, _)| *differs) {
            let reason = say!(
                "conductor {x} differs from the first in {what}: they do not share evenly",
                x = k + 2,
                what
            );
            return Err(NotCovered::new(CLAUSE, reason));
        }
    }
    let conductors =
        Known::chosen("n", "conductors in parallel", Ratio::of(strands.len() as f64), "counted", vec![]);
    let least = conductor_rule::size("A_min", "parallel-least")?;
    let allowed = rest.is_empty() || first.size >= least.size;
    Ok(ParallelSet { area: together(&first.size.area()?, &conductors), conductors, allowed })
}

/// Current that a set carries, from what one of them carries.
pub fn total(one: &Known<Current>, conductors: &Known<Ratio>) -> Known<Current> {
    formula!("I_set", "current that the set may carry", [conductors, one] => conductors * one, source = CLAUSE)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn strand(size: &str, m: f64) -> Strand {
        Strand {
            size: size.parse().unwrap(),
            material: Material::Copper,
            insulation: Column::C75,
            length: given(Length::of(m)),
        }
    }

    #[test]
    fn alike_and_large_enough() {
        let set = parallel_set(&[strand("3/0", 20.0), strand("3/0", 20.0)]).unwrap();
        assert!(set.allowed);
        near(&set.area, 335.6);
        near(&total(&given(Current::of(200.0)), &set.conductors), 400.0);
        assert!(!parallel_set(&[strand("1", 20.0), strand("1", 20.0)]).unwrap().allowed);
        assert!(parallel_set(&[strand("1/0", 20.0), strand("1/0", 20.0)]).unwrap().allowed);
        assert!(parallel_set(&[strand("1", 20.0)]).unwrap().allowed);
    }

    #[test]
    fn unlike_conductors_are_not_covered() {
        let unlike = parallel_set(&[strand("3/0", 20.0), strand("4/0", 21.0)]).unwrap_err();
        assert!(unlike.reason.contains("conductor 2 differs from the first in size"), "{unlike:?}");
        assert!(parallel_set(&[strand("2000", 20.0), strand("1750", 20.0)]).is_err());
        assert!(parallel_set(&[strand("3/0", 20.0), strand("3/0", 21.0)]).is_err());
        assert!(parallel_set(&[strand("3/0", f64::NAN)]).is_err());
        assert!(parallel_set(&[]).is_err());
    }
}
