//! Ampacity of a conductor where it lies, and what its terminals let it carry.
//!
//! ## Clause and edition
//! NEC 2023; 310.15(B) and (C), Tables 310.16 and 310.17, 110.14(C).
//! ## Applies when
//! Insulated conductors up to 2000 V in raceway, cable or earth, or single in free air.
//! ## Why
//! Heat from the surroundings and from neighbours adds to the conductor's own; the terminals bear less than the
//! insulation.
//! ## Formula
//! `I = min(I_table · F_t · F_n, I_terminals)`: I_table in the column of the insulation, F_t for the ambient, F_n for
//! the number of current-carrying conductors, I_terminals from Table 310.16 in the column of the terminals, without
//! factors.
//! ## Example
//! Passing: 12 AWG copper of 90 degC at 55 degC carries 30 · 0.76 = 22.8 A. Failing: an ambient of 90 degC has no
//! factor.
//! ## Limits of our reading
//! No interpolation and no equation in place of a table. Terminals limit by Table 310.16 in free air too. A raceway
//! up to 24 in takes no adjustment for number. Close above a roof 33 degC are added whatever the height, which is
//! stricter than the clause. Earth, tray and bundles without raceway by number alone.
//! ## Source
//! Tables: two sources agree. The rooftop addition: one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{Current, Ratio, Temperature};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{self, Column, Laying, Material};
use tables::us::size::Size;

use crate::NotCovered;
use crate::not_covered::counted;

const CLAUSE: &str = "NEC 2023 310.15";

/// Where conductors lie and what lies with them.
#[derive(Debug, Clone)]
pub struct Surroundings {
    /// In raceway or free air.
    pub laying: Laying,
    /// Ambient temperature.
    pub ambient: Known<Temperature>,
    /// In a raceway close above a roof in the sun.
    pub on_roof: bool,
    /// Current-carrying conductors in the raceway, cable or bundle.
    pub current_carrying: Known<Ratio>,
    /// The raceway is not longer than 24 in.
    pub short_raceway: bool,
}

/// What a conductor carries.
#[derive(Debug, Clone)]
pub struct Ampacity {
    /// In the column of the insulation, before factors.
    pub table: Known<Current>,
    /// For the ambient.
    pub ambient_factor: Known<Ratio>,
    /// For the number of conductors.
    pub count_factor: Known<Ratio>,
    /// After both.
    pub corrected: Known<Current>,
    /// In the column of the terminals, before factors.
    pub at_terminals: Known<Current>,
    /// The smaller of the last two.
    pub usable: Known<Current>,
}

/// The factors of a place, the same for every size.
#[derive(Debug, Clone)]
pub struct Factors {
    /// For the ambient.
    pub ambient: Known<Ratio>,
    /// For the number of conductors.
    pub count: Known<Ratio>,
}

/// The factors of a place for an insulation.
///
/// # Errors
/// An ambient without factor, or a number of conductors that is no whole number from 1.
pub fn factors(insulation: Column, at: &Surroundings) -> Result<Factors, NotCovered> {
    counted(CLAUSE, &at.current_carrying, &Known::factor("n_min", "at least one", 1.0, CLAUSE))?;
    let ambient = if at.on_roof {
        let (outside, adder) = (&at.ambient, conductor_rule::temperature("adder", "rooftop-adder")?);
        let source = "NEC 2023 310.15(B)(2)";
        formula!("T_roof", "ambient above the roof", [outside, adder] => outside + adder, source = source)
    } else {
        at.ambient.clone()
    };
    let count = if at.short_raceway {
        let longest = conductor_rule::length("L", "short-raceway")?;
        let from = vec![at.current_carrying.node().clone(), longest.node().clone()];
        let why = "a raceway not longer than that takes none (NEC 2023 310.15(C)(1)(b))";
        Known::chosen("F_n", "adjustment for their number", Ratio::of(1.0), why, from)
    } else {
        conductors::count_factor(&at.current_carrying)?
    };
    Ok(Factors { ambient: conductors::ambient_factor(&ambient, insulation)?, count })
}

/// What a conductor carries in a place, between terminals.
///
/// # Errors
/// A size, metal, ambient or number that the tables do not have.
pub fn ampacity(
    size: Size,
    material: Material,
    insulation: Column,
    at: &Surroundings,
    terminals: Column,
) -> Result<Ampacity, NotCovered> {
    with_factors(size, material, insulation, at.laying, &factors(insulation, at)?, terminals)
}

/// The same with factors that are known already.
pub(crate) fn with_factors(
    size: Size,
    material: Material,
    insulation: Column,
    laying: Laying,
    factors: &Factors,
    terminals: Column,
) -> Result<Ampacity, NotCovered> {
    let table = conductors::ampacity(size, material, insulation, laying)?;
    let (f_t, f_n) = (&factors.ambient, &factors.count);
    let what = format!("ampacity of {size} {} where it lies", material.name());
    let corrected = formula!("I_z", what, [table, f_t, f_n] => table * f_t * f_n, source = CLAUSE);
    // insulation of less than the terminals limits by its own column
    let at_terminals = conductors::ampacity(size, material, terminals.min(insulation), Laying::Raceway)?;
    let both = [corrected.clone(), at_terminals.clone()];
    let what = format!("current that {size} {} may carry", material.name());
    let usable = Known::smallest("I_use", what, &both);
    let usable = usable.ok_or_else(|| NotCovered::new(CLAUSE, say!("no ampacity")))?;
    Ok(Ampacity {
        table,
        ambient_factor: factors.ambient.clone(),
        count_factor: factors.count.clone(),
        corrected,
        at_terminals,
        usable,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    pub(super) fn at(ambient: f64, n: f64) -> Surroundings {
        Surroundings {
            laying: Laying::Raceway,
            ambient: given(Temperature::of(ambient)),
            on_roof: false,
            current_carrying: given(Ratio::of(n)),
            short_raceway: false,
        }
    }

    fn of(size: &str, at: &Surroundings) -> Result<Ampacity, NotCovered> {
        ampacity(size.parse().unwrap(), Material::Copper, Column::C90, at, Column::C75)
    }

    /// CON-04: 12 AWG at 55 degC; CON-01: 10 AWG at 120 degF, and with four conductors 26.24 A.
    #[test]
    fn published_corrections() {
        near(&of("12", &at(55.0, 3.0)).unwrap().corrected, 22.8);
        let hot = (120.0 - 32.0) * 5.0 / 9.0;
        near(&of("10", &at(hot, 3.0)).unwrap().corrected, 32.8);
        near(&of("10", &at(hot, 4.0)).unwrap().corrected, 26.24);
    }

    #[test]
    fn terminals_limit_what_the_insulation_could_carry() {
        let found = of("250", &at(30.0, 3.0)).unwrap();
        near(&found.corrected, 290.0);
        near(&found.usable, 255.0);
        let cold =
            ampacity("250".parse().unwrap(), Material::Copper, Column::C60, &at(30.0, 3.0), Column::C75);
        near(&cold.unwrap().usable, 215.0);
    }

    #[test]
    fn a_roof_adds_and_a_short_raceway_takes_nothing_off() {
        let mut place = at(40.0, 9.0);
        place.short_raceway = true;
        near(&of("8", &place).unwrap().corrected, 55.0 * 0.91);
        place.on_roof = true;
        let roof = of("8", &place).unwrap();
        near(&roof.corrected, 55.0 * 0.50);
        assert!(derivation::explain(roof.corrected.node()).contains("confirm in the adopted code"));
    }

    #[test]
    fn what_the_tables_do_not_have_is_refused() {
        for (size, ambient, n) in
            [("16", 30.0, 3.0), ("12", 90.0, 3.0), ("12", f64::NAN, 3.0), ("12", 30.0, 2.5)]
        {
            assert!(of(size, &at(ambient, n)).is_err(), "{size} {ambient} {n}");
        }
        let place = at(30.0, 3.0);
        assert!(of("12", &at(30.0, 0.0)).is_err(), "no conductor");
        let al = ampacity("14".parse().unwrap(), Material::Aluminum, Column::C75, &place, Column::C75);
        assert!(al.is_err());
    }
}
