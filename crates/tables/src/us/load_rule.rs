//! Numbers that stand in the clauses of load calculation, each under a key, with its clause and verification:
//! `data/us/nec_load_rules.csv`.

use derivation::Known;
use quantity::{Apparent, Current, Quantity, Ratio};

use super::{LOAD_RULES, of};
use crate::{TableError, keyed};

/// A factor, a share or a count.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn ratio(symbol: &str, key: &str) -> Result<Known<Ratio>, TableError> {
    number(symbol, key, "1")
}

/// A load in volt-amperes.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn apparent(symbol: &str, key: &str) -> Result<Known<Apparent>, TableError> {
    number(symbol, key, "VA")
}

/// A current in amperes.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn current(symbol: &str, key: &str) -> Result<Known<Current>, TableError> {
    number(symbol, key, "A")
}

fn number<Q: Quantity>(symbol: &str, key: &str, unit: &str) -> Result<Known<Q>, TableError> {
    keyed::number(of(&LOAD_RULES)?, symbol, key, (unit, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_reads_by_its_own_unit_and_no_key_comes_twice() {
        let sheet = of(&LOAD_RULES).unwrap();
        let mut keys = std::collections::BTreeSet::new();
        for row in 0..sheet.len() {
            let key = sheet.text(row, "key");
            let value = match sheet.text(row, "unit") {
                "1" => ratio("x", key).unwrap().value().si(),
                "VA" => apparent("x", key).unwrap().value().si(),
                "A" => current("x", key).unwrap().value().si(),
                other => panic!("{key}: unit {other}"),
            };
            assert!(value > 0.0, "{key}");
            assert!(keys.insert(key), "{key} twice");
        }
    }

    #[test]
    fn a_one_source_number_says_so_and_a_wrong_unit_is_refused() {
        let ev = apparent("S_min", "ev-floor").unwrap();
        assert_eq!(ev.node().source(), "NFPA 70 (NEC), 2023, 220.57 (confirm in the adopted code)");
        let heat = ratio("f", "space-heat-share").unwrap();
        assert_eq!(heat.node().source(), "NFPA 70 (NEC), 2023, 220.51");
        assert!(matches!(ratio("x", "ev-floor"), Err(TableError::Cell { .. })));
        assert!(matches!(ratio("x", "no-such-key"), Err(TableError::NoRow { .. })));
    }
}
