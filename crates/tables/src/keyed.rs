//! Tables of single numbers: each row has a key, its own clause and its own verification word.

use derivation::Known;
use quantity::Quantity;

use crate::{Sheet, TableError};

/// The number under a key in the unit that is asked for, of `scale` SI units each.
pub(crate) fn number<Q: Quantity>(
    sheet: &Sheet,
    symbol: &str,
    key: &str,
    (unit, scale): (&str, f64),
) -> Result<Known<Q>, TableError> {
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "key") == key);
    let row = row.ok_or_else(|| sheet.no_row(key, "the keys of its first column"))?;
    if sheet.text(row, "unit") != unit {
        return Err(sheet.bad_cell(row, "unit"));
    }
    let value = sheet.number(row, "value")?.ok_or_else(|| sheet.bad_cell(row, "value"))?;
    let source = sheet.source_of(row);
    let confirm = sheet.verification(row)?.confirm();
    let what = sheet.text(row, "quantity");
    Ok(Known::table(symbol, what, Q::from_si(value * scale), "constant", "", &source, confirm))
}

/// Every key once and every value a finite number; what a test of a keyed table holds.
#[cfg(test)]
pub(crate) fn assert_sound(sheet: &Sheet, units: &[&str]) {
    let mut keys = std::collections::BTreeSet::new();
    for row in 0..sheet.len() {
        let key = sheet.text(row, "key");
        assert!(keys.insert(key), "{key} twice");
        assert!(sheet.number(row, "value").unwrap().unwrap() > 0.0, "{key}");
        assert!(units.contains(&sheet.text(row, "unit")), "{key}: unit {}", sheet.text(row, "unit"));
        assert!(!sheet.text(row, "clause").is_empty() && !sheet.text(row, "quantity").is_empty(), "{key}");
    }
}
