//! Cold-voltage factors of crystalline silicon modules (NEC 2023 Table 690.7(A)).

use derivation::Known;
use quantity::{Quantity, Ratio, Temperature};

use super::{COLD_FACTORS, of};
use crate::TableError;
use crate::sheet::Cell;

/// Rounding of a temperature that was read in degF and must not fall into the next colder band.
const ROUNDING: f64 = 1e-9;

/// The factor on the open-circuit voltage at the lowest expected ambient temperature. Bands are of whole degrees;
/// between two of them the colder one holds.
///
/// # Errors
/// Warmer than 24 degC, colder than -40 degC, or no number.
pub fn cold_voltage_factor(lowest: &Known<Temperature>) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&COLD_FACTORS)?;
    let whole = (lowest.value().si() + ROUNDING).floor();
    for row in 0..sheet.len() {
        let bound = |column| sheet.number(row, column)?.ok_or_else(|| sheet.bad_cell(row, column));
        let (low, high) = (bound("ambient_min_c")?, bound("ambient_max_c")?);
        if (low..=high).contains(&whole) {
            let name = format!("{low} to {high} degC");
            let cell = Cell { row, column: "factor", row_name: &name, scale: 1.0 };
            return sheet.known("K", "cold-voltage factor", cell);
        }
    }
    Err(sheet.no_row(format!("{}", lowest.value()), "-40 degC to 24 degC"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn factor(text: &str) -> Option<f64> {
        let lowest = Known::assumed("T", "lowest", Temperature::read(text).unwrap(), "test");
        cold_voltage_factor(&lowest).ok().map(|k| k.value().si())
    }

    #[test]
    fn bands_have_no_gap_and_never_fall_towards_the_cold() {
        let mut last = 0.0;
        for tenth in (-400..=249).rev() {
            let found = factor(&format!("{} degC", f64::from(tenth) / 10.0)).unwrap();
            assert!(found >= last, "{tenth}");
            last = found;
        }
        assert!((last - 1.25).abs() < 1e-12);
    }

    #[test]
    fn between_two_bands_the_colder_one_holds() {
        assert_eq!(
            (factor("-7 degC"), factor("-5.5 degC"), factor("-5 degC")),
            (Some(1.14), Some(1.14), Some(1.12))
        );
        assert_eq!((factor("25 degC"), factor("-40.1 degC")), (None, None));
        let nan = Known::assumed("T", "lowest", Temperature::of(f64::NAN), "test");
        assert!(cold_voltage_factor(&nan).is_err());
    }

    /// The Fahrenheit columns of the printed table, both ends of each band.
    #[test]
    fn fahrenheit_falls_into_the_same_bands() {
        let bands = [
            (68, 76, 1.02),
            (59, 67, 1.04),
            (50, 58, 1.06),
            (41, 49, 1.08),
            (32, 40, 1.10),
            (23, 31, 1.12),
            (14, 22, 1.14),
            (5, 13, 1.16),
            (-4, 4, 1.18),
            (-13, -5, 1.20),
            (-22, -14, 1.21),
            (-31, -23, 1.23),
            (-40, -32, 1.25),
        ];
        for (low, high, expected) in bands {
            for end in [low, high] {
                assert_eq!(factor(&format!("{end} degF")), Some(expected), "{end} degF");
            }
        }
    }
}
