//! Numbers that stand in the clauses on working space and handles (NEC 2023): `data/us/nec_place_rules.csv`.

use derivation::Known;
use quantity::Length;

use super::{PLACE_RULES, of};
use crate::{TableError, keyed};

/// Metres in an inch.
const INCH_M: f64 = 0.0254;

/// A length in metres; the table has inches.
///
/// # Errors
/// No such key.
pub fn length(symbol: &str, key: &str) -> Result<Known<Length>, TableError> {
    keyed::number(of(&PLACE_RULES)?, symbol, key, ("in", INCH_M))
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Quantity;

    #[test]
    fn every_row_is_sound_and_in_inches() {
        keyed::assert_sound(of(&PLACE_RULES).unwrap(), &["in"]);
        let width = length("w", "working-width").unwrap();
        assert!((width.value().si() - 0.762).abs() < 1e-12);
        assert!(width.node().source().ends_with("(confirm in the adopted code)"));
        assert!(length("w", "no-such-key").is_err());
    }
}
