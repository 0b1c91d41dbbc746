//! Labels, signs and notices: each row has a key, its own clause and verification word, a place and what it tells.

use crate::{Sheet, TableError, Verification};

/// One label, sign or notice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sign {
    /// Its key.
    pub key: &'static str,
    /// Standard, edition and clause.
    pub source: String,
    /// Where it goes.
    pub place: &'static str,
    /// What it tells.
    pub tells: &'static str,
    /// How well the row was verified.
    pub verification: Verification,
}

/// The sign under a key.
pub(crate) fn sign(sheet: &'static Sheet, key: &str) -> Result<Sign, TableError> {
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "key") == key);
    let row = row.ok_or_else(|| sheet.no_row(key, "the keys of its first column"))?;
    Ok(Sign {
        key: sheet.text(row, "key"),
        source: sheet.source_of(row),
        place: sheet.text(row, "where"),
        tells: sheet.text(row, "tells"),
        verification: sheet.verification(row)?,
    })
}

/// Every key, in the order of the file.
pub(crate) fn keys(sheet: &'static Sheet) -> Vec<&'static str> {
    (0..sheet.len()).map(|row| sheet.text(row, "key")).collect()
}

/// Every row whole, no key twice, every source of the standards that the table is of; what a test of such a table holds.
#[cfg(test)]
pub(crate) fn assert_sound(sheet: &'static Sheet, standard: &str) {
    let all = keys(sheet);
    assert_eq!(all.iter().collect::<std::collections::BTreeSet<_>>().len(), all.len());
    for key in all {
        let one = sign(sheet, key).unwrap();
        assert!(one.place.len() > 5 && one.tells.len() > 10, "{key}");
        assert!(one.source.starts_with(standard), "{key}: {}", one.source);
    }
    assert!(sign(sheet, "no-such-key").is_err());
}
