//! Labels and signs (NEC 2023), each under a key: `data/us/nec_labels.csv`.

use super::{LABELS, of};
use crate::{TableError, Verification};

/// One label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
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

/// The label under a key.
///
/// # Errors
/// No such key, or the table cannot be used.
pub fn label(key: &str) -> Result<Label, TableError> {
    let sheet = of(&LABELS)?;
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "key") == key);
    let row = row.ok_or_else(|| sheet.no_row(key, "the keys of its first column"))?;
    Ok(Label {
        key: sheet.text(row, "key"),
        source: sheet.source_of(row),
        place: sheet.text(row, "where"),
        tells: sheet.text(row, "tells"),
        verification: sheet.verification(row)?,
    })
}

/// Every key, in the order of the file.
///
/// # Errors
/// The table cannot be used.
pub fn keys() -> Result<Vec<&'static str>, TableError> {
    let sheet = of(&LABELS)?;
    Ok((0..sheet.len()).map(|row| sheet.text(row, "key")).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_whole_and_no_key_comes_twice() {
        let keys = keys().unwrap();
        let unique: std::collections::BTreeSet<_> = keys.iter().collect();
        assert_eq!(unique.len(), keys.len());
        for key in keys {
            let label = label(key).unwrap();
            assert!(label.place.len() > 5 && label.tells.len() > 10, "{key}");
            assert!(label.source.starts_with("NFPA 70 (NEC), 2023, "), "{key}: {}", label.source);
        }
        assert!(label("no-such-key").is_err());
    }
}
