//! Warning notices and labels, each under a key: `data/iec/iec_notices.csv`.

use super::{NOTICES, of};
use crate::{TableError, Verification};

/// One notice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Notice {
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

/// The notice under a key.
///
/// # Errors
/// No such key, or the table cannot be used.
pub fn notice(key: &str) -> Result<Notice, TableError> {
    let sheet = of(&NOTICES)?;
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "key") == key);
    let row = row.ok_or_else(|| sheet.no_row(key, "the keys of its first column"))?;
    Ok(Notice {
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
    let sheet = of(&NOTICES)?;
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
            let notice = notice(key).unwrap();
            assert!(notice.place.len() > 5 && notice.tells.len() > 10, "{key}");
            assert!(notice.source.starts_with("IEC ") && notice.verification.confirm(), "{key}");
        }
        assert!(notice("no-such-key").is_err());
    }
}
