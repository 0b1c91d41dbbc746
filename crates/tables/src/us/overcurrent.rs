//! Standard ampere ratings of overcurrent devices (NEC 2023 240.6(A)).

use derivation::Known;
use quantity::{Current, DcCurrent, Quantity};

use super::{RATINGS, of};
use crate::TableError;
use crate::sheet::Cell;

/// Rounding of a computed current that must not push it to the next rating.
const ROUNDING: f64 = 1e-9;

/// Standard ratings of circuit breakers in amperes, rising (the fuse-only ratings 1, 3, 6 and 601 A left out).
///
/// # Errors
/// The table cannot be used.
pub fn standard_ocpd() -> Result<Vec<Known<Current>>, TableError> {
    let sheet = of(&RATINGS)?;
    (0..sheet.len())
        .filter(|&row| sheet.text(row, "device") != "fuse_only")
        .map(|row| {
            let name = format!("{} A", sheet.text(row, "rating_a"));
            let cell = Cell { row, column: "rating_a", row_name: &name, scale: 1.0 };
            sheet.known("I_std", "standard rating", cell)
        })
        .collect()
}

/// The smallest standard rating that is not below a current.
///
/// # Errors
/// The current is above the largest rating, negative, or no number.
pub fn next_standard(current: &Known<Current>) -> Result<Known<Current>, TableError> {
    let needed = current.value().si();
    let ratings = standard_ocpd()?;
    let found = ratings.iter().find(|r| needed >= 0.0 && r.value().si() * (1.0 + ROUNDING) >= needed);
    let rating = found.ok_or_else(|| TableError::NoRow {
        table: of(&RATINGS).map_or_else(|e| e.to_string(), |sheet| sheet.source()),
        asked: format!("{}", current.value()),
        has: "ratings up to 6000 A".to_owned(),
    })?;
    let why = "next standard rating that is not below it";
    let from = vec![current.node().clone(), rating.node().clone()];
    Ok(Known::chosen("I_n", "standard overcurrent device", rating.value(), why, from))
}

/// The same for a direct current. The device must besides be listed for DC at its voltage.
///
/// # Errors
/// The current is above the largest rating, negative, or no number.
pub fn next_standard_dc(current: &Known<DcCurrent>) -> Result<Known<DcCurrent>, TableError> {
    let number = Current::of(current.value().si());
    let from = vec![current.node().clone()];
    let same = Known::chosen("I", current.node().what.clone(), number, "the same number of amperes", from);
    let rating = next_standard(&same)?;
    let why = "next standard rating that is not below it (NEC 2023 240.6(A))";
    let from = vec![current.node().clone()];
    let value = DcCurrent::of(rating.value().si());
    Ok(Known::chosen("I_n", "standard overcurrent device", value, why, from))
}

/// The largest standard rating that is not above a current.
///
/// # Errors
/// The current is below the smallest rating, or no number.
pub fn standard_not_above(current: &Known<Current>) -> Result<Known<Current>, TableError> {
    let available = current.value().si();
    let ratings = standard_ocpd()?;
    let found = ratings.iter().rev().find(|r| r.value().si() <= available * (1.0 + ROUNDING));
    let rating = found.ok_or_else(|| TableError::NoRow {
        table: of(&RATINGS).map_or_else(|e| e.to_string(), |sheet| sheet.source()),
        asked: format!("{}", current.value()),
        has: "ratings from 10 A".to_owned(),
    })?;
    let why = "largest standard rating that is not above it";
    let from = vec![current.node().clone(), rating.node().clone()];
    Ok(Known::chosen("I_n", "standard overcurrent device", rating.value(), why, from))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn next(a: f64) -> Option<f64> {
        let current = Known::assumed("I", "current", Current::of(a), "test");
        next_standard(&current).ok().map(|k| k.value().si())
    }

    #[test]
    fn ratings_rise_and_the_next_one_is_never_below() {
        let all: Vec<f64> = standard_ocpd().unwrap().iter().map(|k| k.value().si()).collect();
        assert!(all.windows(2).all(|w| w[0] < w[1]));
        assert_eq!((all.first(), all.last()), (Some(&10.0), Some(&6000.0)));
        assert!(!all.contains(&601.0));
        assert_eq!(next(144.96), Some(150.0));
        assert_eq!(next(60.0), Some(60.0));
        assert_eq!(next(60.000_000_000_001), Some(60.0));
        assert_eq!(next(60.01), Some(70.0));
        assert_eq!(next(6001.0), None);
        assert_eq!(next(f64::NAN), None);
        assert_eq!(next(-1.0), None);
        let below = |a: f64| {
            let current = Known::assumed("I", "current", Current::of(a), "test");
            standard_not_above(&current).ok().map(|k| k.value().si())
        };
        assert_eq!((below(805.0), below(60.0), below(59.9)), (Some(800.0), Some(60.0), Some(50.0)));
        assert_eq!((below(9.9), below(f64::NAN)), (None, None));
    }
}
