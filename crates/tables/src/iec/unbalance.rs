//! Derating of motors by the unbalance of their voltages (NEMA MG 1, points read from the curve).

use derivation::Known;
use quantity::{Quantity, Ratio};

use super::cable::number;
use super::{UNBALANCE, of};
use crate::TableError;
use crate::sheet::Cell;

/// Factor on the rating of a motor: the row of the next listed unbalance that is not below it.
///
/// # Errors
/// The unbalance is above 5 %, negative, or no number.
pub fn unbalance_factor(unbalance: &Known<Ratio>) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&UNBALANCE)?;
    let pct = unbalance.value().si() * 100.0;
    for row in 0..sheet.len() {
        let listed = number(sheet, row, "unbalance_pct")?;
        if pct >= 0.0 && pct <= listed * (1.0 + 1e-12) {
            let name = format!("{listed} % unbalance");
            let cell = Cell { row, column: "factor", row_name: &name, scale: 1.0 };
            let known: Known<Ratio> = sheet.known("k_u", "derating of the motor", cell)?;
            let from = vec![unbalance.node().clone(), known.node().clone()];
            let why = "row of the next listed unbalance that is not below it";
            return Ok(Known::chosen("k_u", "derating of the motor", known.value(), why, from));
        }
    }
    Err(sheet.no_row(format!("{pct} % unbalance"), "0 to 5 %; above that a motor must not run"))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn derating_falls_with_unbalance_and_ends_at_five_percent() {
        let k = |pct: f64| {
            let u = Known::assumed("u", "unbalance", Ratio::of(pct / 100.0), "test");
            unbalance_factor(&u).ok().map(|k| k.value().si())
        };
        let all: Vec<f64> = (0..=50).map(|tenth| k(f64::from(tenth) / 10.0).unwrap()).collect();
        assert!(all.windows(2).all(|w| w[0] >= w[1]) && all.iter().all(|&f| f <= 1.0 && f > 0.7));
        assert_eq!((k(1.0), k(1.1), k(2.0), k(5.0)), (Some(1.0), Some(0.97), Some(0.95), Some(0.76)));
        assert_eq!((k(5.01), k(-1.0), k(f64::NAN)), (None, None, None));
    }
}
