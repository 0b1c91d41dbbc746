//! Labels and signs (NEC 2023), each under a key: `data/us/nec_labels.csv`.

use super::{LABELS, of};
use crate::TableError;
use crate::sign::{self, Sign};

/// The label under a key.
///
/// # Errors
/// No such key, or the table cannot be used.
pub fn label(key: &str) -> Result<Sign, TableError> {
    sign::sign(of(&LABELS)?, key)
}

/// Every key, in the order of the file.
///
/// # Errors
/// The table cannot be used.
pub fn keys() -> Result<Vec<&'static str>, TableError> {
    Ok(sign::keys(of(&LABELS)?))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_whole() {
        sign::assert_sound(of(&LABELS).unwrap(), "NFPA 70 (NEC), 2023, ");
    }
}
