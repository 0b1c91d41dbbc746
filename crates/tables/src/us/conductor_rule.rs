//! Numbers that stand in the clauses on conductors, their protection and their connection, each under a key, with
//! its clause and verification: `data/us/nec_conductor_rules.csv` and `nec_connection_rules.csv`.

use derivation::Known;
use quantity::{Current, Length, Quantity, Ratio, Temperature};

use super::size::Size;
use super::{CONDUCTOR_RULES, CONNECTION_RULES, of};
use crate::{Sheet, TableError};

/// A factor or a share.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn ratio(symbol: &str, key: &str) -> Result<Known<Ratio>, TableError> {
    number(symbol, key, "1", 1.0)
}

/// A current in amperes.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn current(symbol: &str, key: &str) -> Result<Known<Current>, TableError> {
    number(symbol, key, "A", 1.0)
}

/// A temperature or a difference of temperatures in degC.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn temperature(symbol: &str, key: &str) -> Result<Known<Temperature>, TableError> {
    number(symbol, key, "degC", 1.0)
}

/// A length; the clauses have feet and inches.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn length(symbol: &str, key: &str) -> Result<Known<Length>, TableError> {
    number(symbol, key, "ft", 0.3048).or_else(|_| number(symbol, key, "in", 0.0254))
}

/// A conductor size, with where it stands.
///
/// # Errors
/// No such key, or it holds no size.
pub fn size(symbol: &str, key: &str) -> Result<super::size::KnownSize, TableError> {
    let (sheet, row) = find(key)?;
    let text = format!("{} {}", sheet.text(row, "value"), sheet.text(row, "unit"));
    let size: Size = text.parse().map_err(|_| sheet.bad_cell(row, "value"))?;
    let area = size.area()?;
    let what = format!("{}: {size}", sheet.text(row, "quantity"));
    let confirm = sheet.verification(row)?.confirm();
    let area = Known::table(symbol, what, area.value(), "constant", "", &source(sheet, row), confirm);
    Ok(super::size::KnownSize { size, area })
}

fn number<Q: Quantity>(symbol: &str, key: &str, unit: &str, scale: f64) -> Result<Known<Q>, TableError> {
    let (sheet, row) = find(key)?;
    if sheet.text(row, "unit") != unit {
        return Err(sheet.bad_cell(row, "unit"));
    }
    let value = sheet.number(row, "value")?.ok_or_else(|| sheet.bad_cell(row, "value"))?;
    let confirm = sheet.verification(row)?.confirm();
    let (what, source) = (sheet.text(row, "quantity"), source(sheet, row));
    Ok(Known::table(symbol, what, Q::from_si(value * scale), "constant", "", &source, confirm))
}

fn source(sheet: &Sheet, row: usize) -> String {
    format!("NFPA 70 (NEC), 2023, {}", sheet.text(row, "clause"))
}

fn find(key: &str) -> Result<(&'static Sheet, usize), TableError> {
    let sheets = [of(&CONDUCTOR_RULES)?, of(&CONNECTION_RULES)?];
    let rows = sheets.into_iter().flat_map(|sheet| (0..sheet.len()).map(move |row| (sheet, row)));
    let mut found = rows.filter(|(sheet, row)| sheet.text(*row, "key") == key);
    found.next().ok_or_else(|| sheets[0].no_row(key, "the keys of its first column"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn every_row_reads_by_its_own_unit_and_no_key_comes_twice() {
        let mut keys = BTreeSet::new();
        for sheet in [of(&CONDUCTOR_RULES).unwrap(), of(&CONNECTION_RULES).unwrap()] {
            for row in 0..sheet.len() {
                let key = sheet.text(row, "key");
                let value = match sheet.text(row, "unit") {
                    "1" => ratio("x", key).unwrap().value().si(),
                    "A" => current("x", key).unwrap().value().si(),
                    "degC" => temperature("x", key).unwrap().value().si(),
                    "ft" | "in" => length("x", key).unwrap().value().si(),
                    "AWG" => size("x", key).unwrap().area.value().si(),
                    other => panic!("{key}: unit {other}"),
                };
                assert!(value > 0.0, "{key}");
                assert!(keys.insert(key), "{key} twice");
            }
        }
    }

    #[test]
    fn one_source_says_so_and_a_wrong_unit_is_refused() {
        let alpha = ratio("alpha", "alpha-cu").unwrap();
        assert!(alpha.node().source().ends_with("(confirm in the adopted code)"));
        assert!(!size("A", "parallel-least").unwrap().area.node().source().contains("confirm"));
        assert!(matches!(ratio("x", "terminal-current"), Err(TableError::Cell { .. })));
        assert!(matches!(size("x", "terminal-current"), Err(TableError::Cell { .. })));
        assert!(matches!(ratio("x", "no-such-key"), Err(TableError::NoRow { .. })));
    }
}
