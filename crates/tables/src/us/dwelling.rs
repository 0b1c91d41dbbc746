//! Demand tables of dwellings: lighting (NEC 2023 Table 220.45), dryers (Table 220.54) and household cooking
//! appliances (Table 220.55).

use derivation::{Known, formula};
use quantity::{Apparent, Quantity, Ratio};

use super::{DRYERS, LIGHTING, RANGES, of};
use crate::sheet::Cell;
use crate::{Sheet, TableError};

const PERCENT: f64 = 0.01;
const KILO: f64 = 1000.0;

/// A slice of a load and the share of it that counts.
#[derive(Debug, Clone)]
pub struct Tier {
    /// Where the slice begins.
    pub over: Known<Apparent>,
    /// Where it ends; the last has no end.
    pub up_to: Option<Known<Apparent>>,
    /// The share that counts.
    pub share: Known<Ratio>,
}

/// Lighting demand of dwellings, from the first volt-ampere up (NEC 2023 Table 220.45).
///
/// # Errors
/// The table cannot be used.
pub fn lighting_demand_tiers() -> Result<Vec<Tier>, TableError> {
    let sheet = of(&LIGHTING)?;
    (0..sheet.len()).map(|row| lighting_tier(sheet, row)).collect()
}

pub(super) fn lighting_tier(sheet: &Sheet, row: usize) -> Result<Tier, TableError> {
    let name = format!("over {} VA", sheet.text(row, "over_va"));
    let cell = |column, scale| Cell { row, column, row_name: &name, scale };
    let up_to = match sheet.number(row, "up_to_va")? {
        Some(_) => Some(sheet.known("up_to", "end of the tier", cell("up_to_va", 1.0))?),
        None => None,
    };
    Ok(Tier {
        over: sheet.known("over", "begin of the tier", cell("over_va", 1.0))?,
        up_to,
        share: sheet.known("share", "demand share", cell("demand_pct", PERCENT))?,
    })
}

/// Demand share of `n` household clothes dryers (NEC 2023 Table 220.54).
///
/// # Errors
/// `n` is not a whole number from 1.
pub fn dryer_demand(n: &Known<Ratio>) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&DRYERS)?;
    let (row, name) = counted_row(sheet, n, "dryers_min", "dryers_max", "dryers")?;
    let cell = |column, scale| Cell { row, column, row_name: &name, scale };
    let share = sheet.known("share", "dryer demand share", cell("demand_pct", PERCENT))?;
    if sheet.number(row, "less_pct_each")?.is_none() {
        return Ok(share);
    }
    let less: Known<Ratio> = sheet.known("less", "less for each more", cell("less_pct_each", PERCENT))?;
    let over: Known<Ratio> = sheet.known("over", "dryers before it", cell("over", 1.0))?;
    let source = "NEC 2023 Table 220.54";
    Ok(
        formula!("f", "dryer demand share", [share, less, n, over] => share - less * (n - over), source = source),
    )
}

/// A column of Table 220.55 that gives a share of the nameplate sum.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RangeShare {
    /// Column A: rated under 3.5 kW.
    A,
    /// Column B: rated 3.5 to 8.75 kW.
    B,
}

/// Demand share of `n` cooking appliances (NEC 2023 Table 220.55 columns A and B).
///
/// # Errors
/// `n` is not a whole number from 1.
pub fn range_share(n: &Known<Ratio>, column: RangeShare) -> Result<Known<Ratio>, TableError> {
    let sheet = of(&RANGES)?;
    let (row, name) = counted_row(sheet, n, "appliances_min", "appliances_max", "appliances")?;
    let column = match column {
        RangeShare::A => "col_a_pct",
        RangeShare::B => "col_b_pct",
    };
    sheet.known("f", "cooking demand share", Cell { row, column, row_name: &name, scale: PERCENT })
}

/// Demand of `n` ranges rated not over 12 kW each (NEC 2023 Table 220.55 column C; kW taken as kVA).
///
/// # Errors
/// `n` is not a whole number from 1.
pub fn range_demand(n: &Known<Ratio>) -> Result<Known<Apparent>, TableError> {
    let sheet = of(&RANGES)?;
    let (row, name) = counted_row(sheet, n, "appliances_min", "appliances_max", "appliances")?;
    let cell = |column| Cell { row, column, row_name: &name, scale: KILO };
    let base: Known<Apparent> = sheet.known("base", "range demand, column C", cell("col_c_kw"))?;
    if sheet.number(row, "col_c_kw_each")?.is_none() {
        return Ok(base);
    }
    let each: Known<Apparent> = sheet.known("each", "more for each range", cell("col_c_kw_each"))?;
    let source = "NEC 2023 Table 220.55";
    Ok(formula!("S_C", "range demand, column C", [base, each, n] => base + each * n, source = source))
}

fn counted_row(
    sheet: &Sheet,
    n: &Known<Ratio>,
    min: &str,
    max: &str,
    what: &str,
) -> Result<(usize, String), TableError> {
    let count = n.value().si();
    // also catches what is no number
    if !(count >= 1.0 && count.fract() == 0.0) {
        return Err(sheet.no_row(format!("{count} {what}"), "whole numbers from 1"));
    }
    let row = sheet.row_in_range(count, min, max, what)?;
    let (low, high) = (sheet.text(row, min), sheet.text(row, max));
    let name = match high {
        "" => format!("{low} {what} or more"),
        high if high == low => format!("{low} {what}"),
        high => format!("{low} to {high} {what}"),
    };
    Ok((row, name))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn count(n: f64) -> Known<Ratio> {
        Known::assumed("n", "number", Ratio::of(n), "test")
    }

    #[test]
    fn lighting_tiers_follow_each_other_and_shares_fall() {
        let tiers = lighting_demand_tiers().unwrap();
        assert_eq!(tiers[0].over.value(), Apparent::ZERO);
        for pair in tiers.windows(2) {
            assert_eq!(pair[0].up_to.as_ref().unwrap().value(), pair[1].over.value());
            assert!(pair[0].share.value().si() > pair[1].share.value().si());
        }
        assert!(tiers.last().unwrap().up_to.is_none());
    }

    #[test]
    fn dryer_rows_have_no_gap_and_shares_never_rise() {
        let share = |n: u32| dryer_demand(&count(f64::from(n))).unwrap().value().si();
        for n in 1..60 {
            assert!(share(n + 1) <= share(n) + 1e-12, "{n}");
            assert!((0.25..=1.0).contains(&share(n)), "{n}");
        }
        // by the printed formulas: 47 - (12 - 11) and 35 - 0.5 (42 - 23)
        assert!((share(12) - 0.46).abs() < 1e-12 && (share(42) - 0.255).abs() < 1e-12);
    }

    #[test]
    fn range_column_c_never_falls_and_shares_never_rise() {
        let c = |n: u32| range_demand(&count(f64::from(n))).unwrap().value().si();
        let share = |n: u32, column| range_share(&count(f64::from(n)), column).unwrap().value().si();
        for n in 1..80 {
            assert!(c(n + 1) >= c(n), "{n}");
            for column in [RangeShare::A, RangeShare::B] {
                assert!(share(n + 1, column) <= share(n, column), "{n}");
            }
            assert!(share(n, RangeShare::B) <= share(n, RangeShare::A), "{n}");
        }
        assert_eq!((c(1), c(25), c(30), c(45)), (8000.0, 40_000.0, 45_000.0, 58_750.0));
    }

    #[test]
    fn counts_that_no_row_holds_are_refused() {
        for n in [0.0, -1.0, 1.5, f64::NAN, f64::INFINITY] {
            assert!(matches!(dryer_demand(&count(n)), Err(TableError::NoRow { .. })), "{n}");
            assert!(matches!(range_demand(&count(n)), Err(TableError::NoRow { .. })), "{n}");
        }
    }
}
