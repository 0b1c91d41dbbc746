//! Highest voltage of a string of modules.
//!
//! ## Clause and edition
//! IEC 62548:2016; 7.2 and the table of voltage correction factors; IEC 60364-7-712:2017 712.414.
//! ## Applies when
//! Modules stand in series.
//! ## Why
//! Cold modules have more voltage than their label says; what is above the inverter's limit destroys it.
//! ## Formula
//! `U_max = n · U_oc · (1 + beta · (T_min - 25))` with the module's coefficient; `U_max = n · U_oc · k_U` by the table
//! for crystalline silicon; `U_max = 1.2 · n · U_oc` where nothing is known.
//! ## Example
//! Passing: 10 modules of 40 V, -0.3 %/K at -10 degC: 442 V on an input for 450 V. Failing: by the table 456 V on the
//! same.
//! ## Limits of our reading
//! The table is for crystalline silicon, down to -40 degC. Cells warmer than the air are not counted, which is
//! stricter.
//! ## Source
//! Coefficient: one source; table and 1.2: from memory.

use derivation::{Known, formula};
use quantity::{DcVoltage, Quantity, Ratio, Temperature};
use saying::say;
use tables::iec::{clause, solar};

use crate::NotCovered;
use crate::not_covered::{counted, sane};

const CLAUSE: &str = "IEC 62548:2016 7.2";
/// Temperature of standard test conditions, in degC.
const STANDARD_DEGC: f64 = 25.0;

/// How the voltage in the cold is known.
#[derive(Debug, Clone)]
pub enum Cold {
    /// By the module's coefficient, a share per kelvin (negative), and the lowest temperature.
    Coefficient(Known<Ratio>, Known<Temperature>),
    /// By the table for crystalline silicon.
    CrystallineTable(Known<Temperature>),
    /// Nothing is known.
    Unknown,
}

/// Highest voltage of a string, in V.
///
/// # Errors
/// A count that is no whole number, a coefficient that is not negative, a temperature that the table does not have.
pub fn array_voltage(
    modules: &Known<Ratio>,
    open_circuit: &Known<DcVoltage>,
    cold: &Cold,
) -> Result<Known<DcVoltage>, NotCovered> {
    counted(CLAUSE, modules, &Known::factor("1", "one module", 1.0, CLAUSE))?;
    sane(CLAUSE, open_circuit)?;
    let factor = match cold {
        Cold::Unknown => clause::number("k_U", "voltage-without-coefficient")?,
        Cold::CrystallineTable(lowest) => solar::voc_factor(lowest)?,
        Cold::Coefficient(beta, lowest) => by_coefficient(beta, lowest)?,
    };
    let what = "highest voltage of the string";
    Ok(
        formula!("U_max", what, [modules, open_circuit, factor] => modules * open_circuit * factor, source = CLAUSE),
    )
}

fn by_coefficient(beta: &Known<Ratio>, lowest: &Known<Temperature>) -> Result<Known<Ratio>, NotCovered> {
    let (share, t) = (beta.value().si(), lowest.value().si());
    if !(share > -0.01 && share < 0.0) {
        let reason = say!("the coefficient is a share per kelvin between -1 % and 0, such as -0.3 %");
        return Err(NotCovered::new(CLAUSE, reason));
    }
    if !(-90.0..=STANDARD_DEGC).contains(&t) {
        let reason = say!("{lowest} is no lowest temperature below 25 degC", lowest = lowest.value());
        return Err(NotCovered::new(CLAUSE, reason));
    }
    let from = vec![lowest.node().clone()];
    let why = "lowest temperature less 25 degC";
    let below =
        Known::chosen("dT", "kelvins to standard conditions", Ratio::of(t - STANDARD_DEGC), why, from);
    let what = "factor on open-circuit voltage";
    Ok(formula!("k_U", what, [beta, below] => 1.0 + beta * below, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given};

    fn v(cold: &Cold) -> Option<f64> {
        let found = array_voltage(&given(Ratio::of(10.0)), &given(DcVoltage::of(40.0)), cold);
        found.ok().map(|u| u.value().si())
    }

    #[test]
    fn three_ways_by_hand() {
        let degc = |t| given(Temperature::of(t));
        let by = |beta, t| Cold::Coefficient(given(Ratio::of(beta)), degc(t));
        let found = array_voltage(&given(Ratio::of(10.0)), &given(DcVoltage::of(40.0)), &by(-0.003, -10.0));
        close(&found.unwrap(), 442.0, 1e-9);
        assert_eq!(v(&Cold::CrystallineTable(degc(-10.0))).map(f64::round), Some(456.0));
        assert_eq!(v(&Cold::Unknown), Some(480.0));
        for refused in [
            by(0.003, -10.0),
            by(0.0, -10.0),
            by(-0.3, -10.0),
            by(-0.003, 30.0),
            by(f64::NAN, 0.0),
            Cold::CrystallineTable(degc(-41.0)),
        ] {
            assert_eq!(v(&refused), None, "{refused:?}");
        }
        let half = given(Ratio::of(2.5));
        assert!(array_voltage(&half, &given(DcVoltage::of(40.0)), &Cold::Unknown).is_err());
    }
}
