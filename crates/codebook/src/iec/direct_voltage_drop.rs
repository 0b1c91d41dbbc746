//! Voltage drop of a cable with direct current.
//!
//! ## Clause and edition
//! IEC 60228:2004; Tables 2 and 3, with IEC 60287-1-1 for the hot conductor and IEC 60364-5-52:2009 525.
//! ## Applies when
//! A cable connects a battery, an array or another source of direct current to an inverter.
//! ## Why
//! At the voltage of a battery a few metres of cable take several percent, and the inverter shuts off early.
//! ## Formula
//! `u = 2 · R · L · I / n`, R of one conductor at its highest temperature; `du = u / U`.
//! ## Example
//! Passing: 100 A over 3 m of 70 mm2 flexible copper, XLPE: 0.208 V, 0.4 % of 48 V against 1 %. Failing: 16 mm2 for
//! the same drop 0.93 V, 1.9 %.
//! ## Limits of our reading
//! Terminals, fuses and switches in the run are not in it. IEC 60364 sets no limit between battery and inverter: the
//! caller brings one.
//! ## Source
//! Formula, resistances and coefficients: two sources agree in nearly all rows.

use derivation::{Known, formula};
use quantity::{DcCurrent, DcVoltage, Length, LinearResistance, Ratio};
use saying::say;

use crate::not_covered::{counted, sane};
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-5-52:2009 525";

/// Drop of a run with direct current.
#[derive(Debug, Clone)]
pub struct DirectDrop {
    /// In V.
    pub drop: Known<DcVoltage>,
    /// Of nominal, against the limit.
    pub share: Check<Ratio>,
}

/// Drop of both conductors of a run, each of so many in parallel with a resistance each, in ohm/km.
///
/// # Errors
/// A value is no number or negative, no nominal voltage, a count that is no whole number.
pub fn direct_voltage_drop(
    resistance: &Known<LinearResistance>,
    length: &Known<Length>,
    current: &Known<DcCurrent>,
    sets: &Known<Ratio>,
    nominal: &Known<DcVoltage>,
    limit: &Known<Ratio>,
) -> Result<DirectDrop, NotCovered> {
    sane(CLAUSE, resistance)?;
    sane(CLAUSE, length)?;
    sane(CLAUSE, current)?;
    sane(CLAUSE, limit)?;
    counted(CLAUSE, sets, &Known::factor("1", "one set", 1.0, CLAUSE))?;
    sane(CLAUSE, nominal)?;
    if nominal.value() <= DcVoltage::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("there is no nominal voltage")));
    }
    let both = Known::factor("both", "there and back", 2.0, CLAUSE);
    let drop = formula!(
        "u", "voltage drop of both conductors",
        [both, resistance, length, current, sets] => both * (resistance * length * (current / sets)),
        source = CLAUSE
    );
    let share = formula!("du", "voltage drop, of nominal", [drop, nominal] => drop / nominal);
    Ok(DirectDrop { drop, share: Check::at_most(share, limit.clone()) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::iec::conductor_resistance::conductor_resistance;
    use crate::us::testing::{close, given};
    use quantity::Section;
    use tables::iec::cable::{Build, Insulation, Metal};

    /// By hand: 0.272 ohm/km x 1.2751 x 2 x 3 m x 100 A = 0.2081 V.
    #[test]
    fn by_hand() {
        let of = |mm2, sets, amperes| {
            let r = conductor_resistance(Metal::Copper, Build::Flexible, Insulation::Xlpe, Section::of(mm2));
            let (length, current) = (given(Length::of(3.0)), given(DcCurrent::of(amperes)));
            let (sets, limit) = (given(Ratio::of(sets)), given(Ratio::of(0.01)));
            let nominal = given(DcVoltage::of(48.0));
            direct_voltage_drop(&r.unwrap().hot, &length, &current, &sets, &nominal, &limit)
        };
        let found = |mm2, sets| of(mm2, sets, 100.0);
        let large = found(70.0, 1.0).unwrap();
        close(&large.drop, 0.272e-3 * 1.2751 * 600.0, 1e-9);
        assert!(large.share.holds);
        let small = found(16.0, 1.0).unwrap();
        close(&small.drop, 1.21e-3 * 1.2751 * 600.0, 1e-9);
        assert!(!small.share.holds);
        assert!(found(16.0, 2.0).unwrap().share.holds);
        assert!(found(16.0, 1.5).is_err());
        assert!(of(16.0, 1.0, -100.0).is_err(), "would lie below every limit");
    }
}
