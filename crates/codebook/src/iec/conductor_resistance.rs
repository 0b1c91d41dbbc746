//! Resistance of a conductor at its highest temperature.
//!
//! ## Clause and edition
//! IEC 60228:2004; Tables 2 and 3, temperature coefficient of IEC 60287-1-1.
//! ## Applies when
//! Fault loops, losses and drops ask for the resistance of a conductor.
//! ## Why
//! A hot conductor has up to 28 % more resistance than the table says: a fault current is less than it looks cold.
//! ## Formula
//! `R = R_20 · (1 + alpha · (theta - 20))`, theta 70 degC for PVC and 90 degC for XLPE.
//! ## Example
//! Passing: stranded copper of 16 mm2 has 1.15 ohm/km at 20 degC and 1.376 ohm/km at 70 degC. Failing: stranded
//! aluminium below 10 mm2 is no conductor of the standard.
//! ## Limits of our reading
//! Direct-current resistance: skin and proximity effect are left out, which counts above about 185 mm2.
//! ## Source
//! Resistances and coefficients: two sources agree in nearly all rows; six rows of coated conductors one source.

use derivation::{Known, formula};
use quantity::{LinearResistance, Ratio, Section};
use tables::iec::cable::{self, Build, Insulation, Metal};
use tables::iec::clause;

use crate::NotCovered;

const CLAUSE: &str = "IEC 60287-1-1:2006 2.1.1";

/// Resistance of one conductor, cold and hot.
#[derive(Debug, Clone)]
pub struct ConductorResistance {
    /// At 20 degC, in ohm/km.
    pub cold: Known<LinearResistance>,
    /// At the highest temperature of its insulation, in ohm/km.
    pub hot: Known<LinearResistance>,
}

/// Resistance of a conductor, in ohm/km.
///
/// # Errors
/// IEC 60228 has no such conductor.
pub fn conductor_resistance(
    metal: Metal,
    build: Build,
    insulation: Insulation,
    section: Section,
) -> Result<ConductorResistance, NotCovered> {
    let cold = cable::resistance_20(metal, build, section)?;
    let key = match metal {
        Metal::Copper => "alpha-cu",
        Metal::Aluminium => "alpha-al",
    };
    let alpha: Known<Ratio> = clause::number("alpha", key)?;
    let kelvin = match insulation {
        Insulation::Pvc => 50.0,
        Insulation::Xlpe => 70.0,
    };
    let what = "kelvins from 20 degC to the highest temperature of the insulation";
    let rise = Known::factor("rise", what, kelvin, "IEC 60364-5-52:2009 Table 52.1");
    let what = "resistance at the highest temperature";
    let hot = formula!("R", what, [cold, alpha, rise] => cold * (1.0 + alpha * rise), source = CLAUSE);
    Ok(ConductorResistance { cold, hot })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::close;

    /// By hand: 1.15 x (1 + 0.00393 x 50) = 1.37598.
    #[test]
    fn hot_is_more_than_cold() {
        let s = Section::of;
        let r = conductor_resistance(Metal::Copper, Build::Stranded, Insulation::Pvc, s(16.0)).unwrap();
        close(&r.hot, 1.375_975, 1e-6);
        let al = conductor_resistance(Metal::Aluminium, Build::Stranded, Insulation::Xlpe, s(50.0)).unwrap();
        close(&al.hot, 0.641 * (1.0 + 0.004_03 * 70.0), 1e-9);
        assert!(conductor_resistance(Metal::Aluminium, Build::Stranded, Insulation::Pvc, s(6.0)).is_err());
        assert!(conductor_resistance(Metal::Copper, Build::Flexible, Insulation::Pvc, s(17.0)).is_err());
    }
}
