//! Factor on the open-circuit voltage of modules by the lowest ambient temperature (IEC 62548).

use derivation::Known;
use quantity::{Quantity, Ratio, Temperature};

use super::cable::number;
use super::{VOC_FACTOR, of};
use crate::TableError;
use crate::sheet::Cell;

/// Factor on the open-circuit voltage of crystalline silicon at the lowest ambient temperature: the row that holds
/// it, or between two rows the colder one.
///
/// # Errors
/// The temperature is colder than the last row, above the first, or no number.
pub fn voc_factor(lowest: &Known<Temperature>) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&VOC_FACTOR)?;
    let t = lowest.value().si();
    let warmest = number(sheet, 0, "from_degc")?;
    // rows get colder: the first whose colder end is not above the temperature
    for row in 0..sheet.len() {
        let to = number(sheet, row, "to_degc")?;
        if t <= warmest && t >= to {
            let name = format!("{} to {to} degC", sheet.text(row, "from_degc"));
            let cell = Cell { row, column: "factor", row_name: &name, scale: 1.0 };
            let known: Known<Ratio> = sheet.known("k_U", "factor on open-circuit voltage", cell)?;
            let from = vec![lowest.node().clone(), known.node().clone()];
            let why = "row of the lowest ambient temperature";
            return Ok(Known::chosen("k_U", "factor on open-circuit voltage", known.value(), why, from));
        }
    }
    Err(sheet.no_row(lowest.value().to_string(), "24 to -40 degC"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colder_is_never_less_and_the_ends_are_refused() {
        let k = |t: f64| {
            let lowest = Known::assumed("t", "lowest", Temperature::of(t), "test");
            voc_factor(&lowest).ok().map(|k| k.value().si())
        };
        let all: Vec<f64> = (-80..=48).rev().map(|half| k(f64::from(half) / 2.0).unwrap()).collect();
        assert!(all.windows(2).all(|w| w[0] <= w[1]) && all.iter().all(|&f| (1.0..1.3).contains(&f)));
        assert_eq!((k(0.0), k(-0.5), k(-1.0), k(-40.0)), (Some(1.10), Some(1.12), Some(1.12), Some(1.25)));
        assert_eq!((k(25.0), k(-40.5), k(f64::NAN)), (None, None, None));
    }
}
