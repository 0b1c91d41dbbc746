//! Ranges within which interface protection must be settable (EN 50549-1:2019): `data/iec/en_50549_ranges.csv`. Set
//! points are the network operator's.

use super::{PROTECTION, of};
use crate::TableError;

/// One function of interface protection.
#[derive(Debug, Clone, PartialEq)]
pub struct Function {
    /// Its name in words.
    pub name: &'static str,
    /// Lowest and highest threshold.
    pub threshold: (f64, f64),
    /// Unit of the threshold: "pu" of nominal voltage, or "Hz".
    pub unit: &'static str,
    /// Shortest and longest time in seconds.
    pub time_s: (f64, f64),
    /// Standard, edition and clause; confirm in the adopted standard where it says so.
    pub source: String,
}

/// Every function, in the order of the standard.
///
/// # Errors
/// The table cannot be used.
pub fn functions() -> Result<Vec<Function>, TableError> {
    let sheet = of(&PROTECTION)?;
    (0..sheet.len())
        .map(|row| {
            let number = |column| sheet.number(row, column)?.ok_or_else(|| sheet.bad_cell(row, column));
            Ok(Function {
                name: sheet.text(row, "function"),
                threshold: (number("low")?, number("high")?),
                unit: sheet.text(row, "unit"),
                time_s: (number("time_low_s")?, number("time_high_s")?),
                source: sheet.source(),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ranges_are_ranges() {
        let all = functions().unwrap();
        assert_eq!(all.len(), 8);
        for f in all {
            assert!(f.threshold.0 < f.threshold.1 && f.time_s.0 < f.time_s.1, "{}", f.name);
            assert!(["pu", "Hz"].contains(&f.unit), "{}", f.name);
        }
    }
}
