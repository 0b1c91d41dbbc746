//! Bonding jumpers and the grounded conductor of a service.
//!
//! ## Clause and edition
//! NEC 2023; 250.102(C)(1), 250.24(D), 250.28(D).
//! ## Applies when
//! A main, system or supply-side bonding jumper, or the grounded conductor that comes to a service, is sized.
//! ## Why
//! A fault ahead of the first device is limited by nothing but this conductor and the utility's.
//! ## Formula
//! Table 250.102(C)(1) by the area of the largest ungrounded conductors of a phase; above its last row `A >= 0.125 ·
//! A_phase`; never more than the ungrounded conductors.
//! ## Example
//! Passing: 3/0 AWG copper take a copper jumper of 4 AWG; 1500 kcmil take 187.5 kcmil, 4/0 AWG. Failing: above the
//! last row with aluminum phases and a copper jumper is not covered.
//! ## Limits of our reading
//! Conductors in parallel in one raceway count together; each raceway of several is asked by itself. Above the table
//! only like metals.
//! ## Source
//! 250.102(C)(1): two sources agree.

use derivation::{Known, formula};
use quantity::WireArea;
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::Material;
use tables::us::grounding;
use tables::us::size::{KnownSize, smallest_of};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 250.102(C)(1)";

/// Bonding jumper, or grounded conductor of a service, by the area of the largest ungrounded conductors of a phase.
///
/// # Errors
/// An area that is no number or not above zero, or unlike metals above the table.
pub fn bonding_jumper(
    phase: &Known<WireArea>,
    metal: Material,
    material: Material,
) -> Result<KnownSize, NotCovered> {
    sane(CLAUSE, phase)?;
    let found = match grounding::bonding(phase, metal, material)? {
        Some(found) => found,
        None if metal == material => {
            let share = conductor_rule::ratio("share", "bonding-share")?;
            let what = "area of the bonding jumper";
            let needed = formula!("A_bj", what, [share, phase] => share * phase, source = CLAUSE);
            smallest_of(&needed, &format!("{} bonding jumper", material.name()))?
        }
        None => return Err(NotCovered::new(CLAUSE, say!("unlike metals above the last row of the table"))),
    };
    // never more than the ungrounded conductors, where these are of the same metal and small
    if metal == material && found.area.value() > phase.value() {
        return Ok(smallest_of(phase, "bonding jumper, not larger than the ungrounded conductors")?);
    }
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    #[test]
    fn by_table_then_by_an_eighth() {
        let jumper = |kcmil, phase, own| {
            bonding_jumper(&given(WireArea::of(kcmil)), phase, own).map(|found| found.size.figure())
        };
        let (cu, al) = (Material::Copper, Material::Aluminum);
        assert_eq!(jumper(167.8, cu, cu), Ok("4"));
        assert_eq!(jumper(1500.0, cu, cu), Ok("4/0"));
        assert_eq!(jumper(1800.0, al, al), Ok("250"));
        assert_eq!(jumper(6.53, cu, cu), Ok("12"), "not larger than the phase");
        assert!(jumper(1800.0, al, cu).is_err());
        assert!(jumper(f64::NAN, cu, cu).is_err());
        assert!(jumper(0.0, cu, cu).is_err());
    }
}
