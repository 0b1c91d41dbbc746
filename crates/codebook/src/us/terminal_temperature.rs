//! Temperature of terminals: which column limits the ampacity.
//!
//! ## Clause and edition
//! NEC 2023; 110.14(C)(1).
//! ## Applies when
//! A conductor ends on equipment, whatever its insulation allows.
//! ## Why
//! Terminals and the device behind them are tested with conductors of a certain temperature; a hotter one overheats
//! them.
//! ## Formula
//! `column = 60 degC up to 100 A, 75 degC above`; 75 degC also up to 100 A where all terminals are listed for it.
//! ## Example
//! Passing: a 70 A circuit with terminals listed for 75 degC uses the 75 degC column. Failing: the same without a
//! word on the terminals falls back to 60 degC.
//! ## Limits of our reading
//! Terminals listed for 90 degC are not read; the weaker end of the conductor counts. Terminals that are said to be
//! of 60 degC stay so above 100 A too, which is stricter than the clause.
//! ## Source
//! 110.14(C)(1): two sources agree.

use derivation::Known;
use quantity::{Current, Temperature};
use tables::us::conductor_rule;
use tables::us::conductors::Column;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 110.14(C)(1)";

/// What is known of the terminals at both ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Listing {
    /// Nothing: the clause decides by the current.
    Unknown,
    /// 60 degC at one end at least.
    C60,
    /// 75 degC at both ends.
    C75,
}

/// The column that terminals allow.
#[derive(Debug, Clone)]
pub struct Terminals {
    /// The column.
    pub column: Column,
    /// The same in degC, with the reason.
    pub limit: Known<Temperature>,
}

/// The column that the terminals of a circuit allow, by the rating of its device.
///
/// # Errors
/// The rating is no number or negative.
pub fn terminals(device: &Known<Current>, listing: Listing) -> Result<Terminals, NotCovered> {
    sane(CLAUSE, device)?;
    let change = conductor_rule::current("I_change", "terminal-current")?;
    let (column, why) = match listing {
        Listing::C60 => (Column::C60, "terminals of 60 degC"),
        Listing::C75 => (Column::C75, "terminals listed for 75 degC"),
        Listing::Unknown if device.value() <= change.value() => {
            (Column::C60, "not above the current up to which terminals count as 60 degC")
        }
        Listing::Unknown => (Column::C75, "above the current up to which terminals count as 60 degC"),
    };
    let from = vec![device.node().clone(), change.node().clone()];
    let degc = Temperature::of(f64::from(column.degc()));
    let why = format!("{why} ({CLAUSE})");
    Ok(Terminals { column, limit: Known::chosen("T_t", "temperature of the terminals", degc, why, from) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    #[test]
    fn the_column_follows_the_listing_then_the_current() {
        let column = |a, listing| terminals(&given(Current::of(a)), listing).map(|t| t.column);
        assert_eq!(column(100.0, Listing::Unknown), Ok(Column::C60));
        assert_eq!(column(110.0, Listing::Unknown), Ok(Column::C75));
        assert_eq!(column(20.0, Listing::C75), Ok(Column::C75));
        assert_eq!(column(400.0, Listing::C60), Ok(Column::C60));
        assert_eq!(column(100.1, Listing::Unknown), Ok(Column::C75));
        assert!(column(f64::NAN, Listing::Unknown).is_err());
        // other clauses have a bound of 100 A too
        let limit = terminals(&given(Current::of(90.0)), Listing::Unknown).unwrap().limit;
        let story = derivation::explain(limit.node());
        assert!(story.contains("largest circuit whose terminals count as 60 degC"), "{story}");
    }
}
