//! Numbers that stand in the clauses, each under a key, with its standard, clause and verification:
//! `data/iec/iec_clause_numbers.csv`.

use derivation::Known;
use quantity::Quantity;

use super::{NUMBERS, of};
use crate::TableError;

/// A number of a clause as a quantity; its unit in the table must be the SI unit of the kind.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn number<Q: Quantity>(symbol: &str, key: &str) -> Result<Known<Q>, TableError> {
    let sheet = of(&NUMBERS)?;
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "key") == key);
    let row = row.ok_or_else(|| sheet.no_row(key, "the keys of its first column"))?;
    if sheet.text(row, "unit") != Q::SI_UNIT {
        return Err(sheet.bad_cell(row, "unit"));
    }
    let value = sheet.number(row, "value")?.ok_or_else(|| sheet.bad_cell(row, "value"))?;
    let source = format!("{} {}", sheet.text(row, "standard"), sheet.text(row, "clause"));
    let confirm = sheet.verification(row)?.confirm();
    Ok(Known::table(symbol, sheet.text(row, "quantity"), Q::from_si(value), "constant", "", &source, confirm))
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::{Current, LinearResistance, PhaseVoltage, Ratio, Resistivity, Section};

    #[test]
    fn every_row_reads_by_its_own_unit_and_no_key_comes_twice() {
        let sheet = of(&NUMBERS).unwrap();
        let mut keys = std::collections::BTreeSet::new();
        for row in 0..sheet.len() {
            let key = sheet.text(row, "key");
            let value = match sheet.text(row, "unit") {
                "1" => number::<Ratio>("x", key).unwrap().value().si(),
                "V" => number::<PhaseVoltage>("x", key).unwrap().value().si(),
                "s" => number::<quantity::Duration>("x", key).unwrap().value().si(),
                "m" => number::<quantity::Length>("x", key).unwrap().value().si(),
                "mm2" => number::<Section>("x", key).unwrap().value().si(),
                "ohm/km" => number::<LinearResistance>("x", key).unwrap().value().si(),
                "ohm.mm2/m" => number::<Resistivity>("x", key).unwrap().value().si(),
                other => panic!("{key}: unit {other}"),
            };
            assert!(value > 0.0, "{key}");
            assert!(keys.insert(key), "{key} twice");
            for column in ["standard", "clause", "quantity"] {
                assert!(!sheet.text(row, column).is_empty(), "{key}: {column}");
            }
        }
    }

    #[test]
    fn a_number_from_memory_says_so_and_a_wrong_unit_is_refused() {
        let touch = number::<PhaseVoltage>("U_L", "touch-ac").unwrap();
        assert!(
            touch.node().source().ends_with("(confirm in the adopted code)"),
            "{}",
            touch.node().source()
        );
        let pe = number::<Section>("S", "pe-equal").unwrap();
        assert_eq!(pe.node().source(), "IEC 60364-5-54:2011 Table 54.2");
        assert!(matches!(number::<Current>("x", "touch-ac"), Err(TableError::Cell { .. })));
        assert!(matches!(number::<Ratio>("x", "no-such-key"), Err(TableError::NoRow { .. })));
    }
}
