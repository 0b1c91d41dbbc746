//! The project as its papers name it, and how they write units and dates.

use std::fmt;
use std::str::FromStr;

use quantity::QuantityError;
use reading::Placed;

/// A day of the civil calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Date {
    /// Year, four digits.
    pub year: u16,
    /// Month from 1.
    pub month: u8,
    /// Day of the month from 1.
    pub day: u8,
}

impl FromStr for Date {
    type Err = QuantityError;

    /// Reads `2026-11-26` (ISO 8601), so that nobody takes the month for the day.
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let refused = || {
            let help = "write year, month and day as in \"2026-11-26\"";
            QuantityError::new(format!("\"{text}\" is no date"), help)
        };
        let digits = |piece: Option<&str>, width: usize| -> Option<u16> {
            piece.filter(|p| p.len() == width && p.bytes().all(|b| b.is_ascii_digit()))?.parse().ok()
        };
        let mut pieces = text.split('-');
        let year = digits(pieces.next(), 4).ok_or_else(refused)?;
        let month = digits(pieces.next(), 2).ok_or_else(refused)?;
        let day = digits(pieces.next(), 2).ok_or_else(refused)?;
        let leap = year.is_multiple_of(4) && (!year.is_multiple_of(100) || year.is_multiple_of(400));
        let longest = match month {
            2 if leap => 29,
            2 => 28,
            4 | 6 | 9 | 11 => 30,
            1..=12 => 31,
            _ => return Err(refused()),
        };
        if pieces.next().is_some() || !(1..=longest).contains(&day) || !(1970..=2200).contains(&year) {
            return Err(refused());
        }
        Ok(Self { year, month: month as u8, day: day as u8 })
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}-{:02}-{:02}", self.year, self.month, self.day)
    }
}

/// Units of lengths, areas, temperatures and masses on paper; electrical units are the same everywhere.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Units {
    /// Feet, inches, pounds, degrees Fahrenheit.
    Us,
    /// Metres, kilograms, degrees Celsius.
    Metric,
}

/// What the papers of a project say of themselves.
#[derive(Debug, Clone, Default)]
pub struct Project {
    /// Number of the project.
    pub number: Option<Placed<String>>,
    /// Revision of the design.
    pub revision: Option<Placed<String>>,
    /// Date of the revision.
    pub date: Option<Placed<Date>>,
    /// Who designed.
    pub designer: Option<Placed<String>>,
    /// Who checked.
    pub checker: Option<Placed<String>>,
    /// For whom.
    pub customer: Option<Placed<String>>,
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dates_are_days_that_there_are() {
        for fine in ["2026-11-26", "2024-02-29", "2000-02-29"] {
            assert_eq!(fine.parse::<Date>().unwrap().to_string(), fine);
        }
        for wrong in [
            "2026-02-29",
            "2100-02-29",
            "2026-13-01",
            "2026-04-31",
            "26-11-2026",
            "2026-1-1",
            "2026-11-26-1",
            "11/26/2026",
            "",
        ] {
            assert!(wrong.parse::<Date>().is_err(), "{wrong}");
        }
    }
}
