//! Numbers that stand in the clauses on arrays and energy storage, each under a key, with its clause and
//! verification: `data/us/nec_dc_rules.csv`.

use derivation::Known;
use quantity::{DcVoltage, Energy, Length, Power, Quantity, Ratio};

use super::{DC_RULES, of};
use crate::{TableError, keyed};

/// Metres in a foot.
const FOOT_M: f64 = 0.3048;

/// A factor or a share.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn ratio(symbol: &str, key: &str) -> Result<Known<Ratio>, TableError> {
    number(symbol, key, ("1", 1.0))
}

/// A DC voltage in volts.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn voltage(symbol: &str, key: &str) -> Result<Known<DcVoltage>, TableError> {
    number(symbol, key, ("V", 1.0))
}

/// A power in watts.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn power(symbol: &str, key: &str) -> Result<Known<Power>, TableError> {
    number(symbol, key, ("W", 1.0))
}

/// An energy in watt-hours.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn energy(symbol: &str, key: &str) -> Result<Known<Energy>, TableError> {
    number(symbol, key, ("Wh", 1.0))
}

/// A length in metres; the table has feet.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn length(symbol: &str, key: &str) -> Result<Known<Length>, TableError> {
    number(symbol, key, ("ft", FOOT_M))
}

fn number<Q: Quantity>(symbol: &str, key: &str, unit: (&str, f64)) -> Result<Known<Q>, TableError> {
    keyed::number(of(&DC_RULES)?, symbol, key, unit)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_sound_and_says_how_well_it_was_verified() {
        keyed::assert_sound(of(&DC_RULES).unwrap(), &["1", "V", "W", "Wh", "ft"]);
        let dwelling = voltage("V_lim", "array-limit-dwelling").unwrap();
        assert!((dwelling.value().si() - 600.0).abs() < 1e-9);
        assert_eq!(dwelling.node().source(), "NFPA 70 (NEC), 2023, 690.7");
        let guarded = voltage("V_lim", "storage-dwelling-voltage-guarded").unwrap();
        assert!(guarded.node().source().ends_with("(confirm in the adopted code)"));
        assert!((length("L", "storage-run-device").unwrap().value().si() - 1.524).abs() < 1e-12);
        assert!(matches!(ratio("x", "array-limit-dwelling"), Err(TableError::Cell { .. })));
    }
}
