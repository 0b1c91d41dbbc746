//! Warning notices and labels, each under a key: `data/iec/iec_notices.csv`.

use super::{NOTICES, of};
use crate::TableError;
use crate::sign::{self, Sign};

/// The notice under a key.
///
/// # Errors
/// No such key, or the table cannot be used.
pub fn notice(key: &str) -> Result<Sign, TableError> {
    sign::sign(of(&NOTICES)?, key)
}

/// Every key, in the order of the file.
///
/// # Errors
/// The table cannot be used.
pub fn keys() -> Result<Vec<&'static str>, TableError> {
    Ok(sign::keys(of(&NOTICES)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_whole_and_to_be_confirmed() {
        sign::assert_sound(of(&NOTICES).unwrap(), "IEC ");
        assert!(keys().unwrap().iter().all(|key| notice(key).unwrap().verification.confirm()));
    }
}
