//! Limits of energy storage at one- and two-family dwellings by the fire codes:
//! `data/us/storage_dwelling_limits.csv`. Codes and places go by their keys in the table.

use derivation::Known;
use quantity::{Energy, Length, Quantity};

use super::{STORAGE_PLACES, of};
use crate::sheet::Cell;
use crate::{Sheet, TableError};

/// Watt-hours in a kilowatt-hour.
const KILO: f64 = 1000.0;
/// Metres in a foot.
const FOOT_M: f64 = 0.3048;

/// What a code says of a place.
#[derive(Debug, Clone)]
pub enum PlaceRule {
    /// Allowed up to an energy.
    Limit {
        /// The limit.
        energy: Known<Energy>,
        /// Places of one group share the limit.
        group: &'static str,
        /// Whether every single place of this kind has the limit for itself.
        each: bool,
    },
    /// Not allowed, with the clause.
    Forbidden(String),
}

/// What a code says of a place.
///
/// # Errors
/// The table has no row for it: nothing is known, which is not "allowed".
pub fn place(code: &str, place: &str) -> Result<PlaceRule, TableError> {
    let sheet = of(&STORAGE_PLACES)?;
    let of_code = |row: &usize| sheet.text(*row, "code") == code && sheet.text(*row, "place") == place;
    let row = (0..sheet.len()).find(of_code);
    let row = row.ok_or_else(|| sheet.no_row(format!("{place} in {code}"), "the places of its rows"))?;
    match sheet.text(row, "limit") {
        "forbidden" => Ok(PlaceRule::Forbidden(with_doubt(sheet, row)?)),
        "place" => Ok(PlaceRule::Limit {
            energy: figure(sheet, row, "E_lim", &format!("most energy storage: {place}"), ("kWh", KILO))?,
            group: sheet.text(row, "group"),
            each: sheet.text(row, "each") == "yes",
        }),
        _ => Err(sheet.bad_cell(row, "limit")),
    }
}

/// Largest energy of one unit.
///
/// # Errors
/// The table has no row for the code.
pub fn unit_limit(code: &str) -> Result<Known<Energy>, TableError> {
    single(code, "unit", "E_unit", "most energy of one unit", ("kWh", KILO))
}

/// Least distance between units that no fire test has shown to be safe closer.
///
/// # Errors
/// The table has no row for the code.
pub fn spacing(code: &str) -> Result<Known<Length>, TableError> {
    single(code, "spacing", "d_unit", "least distance between units", ("ft", FOOT_M))
}

/// Least distance from units outside to doors and windows that open into the dwelling.
///
/// # Errors
/// The table has no row for the code.
pub fn opening(code: &str) -> Result<Known<Length>, TableError> {
    single(code, "opening", "d_open", "least distance to doors and windows", ("ft", FOOT_M))
}

fn single<Q: Quantity>(
    code: &str,
    limit: &str,
    symbol: &str,
    what: &str,
    unit: (&str, f64),
) -> Result<Known<Q>, TableError> {
    let sheet = of(&STORAGE_PLACES)?;
    let wanted = |row: &usize| sheet.text(*row, "code") == code && sheet.text(*row, "limit") == limit;
    let row = (0..sheet.len()).find(wanted);
    let row =
        row.ok_or_else(|| sheet.no_row(format!("{limit} in {code}"), "the codes of its first column"))?;
    figure(sheet, row, symbol, what, unit)
}

fn figure<Q: Quantity>(
    sheet: &Sheet,
    row: usize,
    symbol: &str,
    what: &str,
    (unit, scale): (&str, f64),
) -> Result<Known<Q>, TableError> {
    if sheet.text(row, "unit") != unit {
        return Err(sheet.bad_cell(row, "unit"));
    }
    let name = match sheet.text(row, "place") {
        "" => sheet.text(row, "limit"),
        place => place,
    };
    sheet.known(symbol, what, Cell { row, column: "value", row_name: name, scale })
}

fn with_doubt(sheet: &Sheet, row: usize) -> Result<String, TableError> {
    let doubt = if sheet.verification(row)?.confirm() { " (confirm in the adopted code)" } else { "" };
    Ok(format!("{}{doubt}", sheet.source_of(row)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_is_reached_and_reads() {
        let sheet = of(&STORAGE_PLACES).unwrap();
        for row in 0..sheet.len() {
            let code = sheet.text(row, "code");
            match sheet.text(row, "limit") {
                "unit" => assert!((unit_limit(code).unwrap().value().si() - 20_000.0).abs() < 1e-9),
                "spacing" => assert!((spacing(code).unwrap().value().si() - 0.9144).abs() < 1e-9),
                "opening" => assert!((opening(code).unwrap().value().si() - 0.9144).abs() < 1e-9),
                "place" | "forbidden" => assert!(place(code, sheet.text(row, "place")).is_ok()),
                other => panic!("{other}"),
            }
        }
        assert!(place("nfpa-855-2023", "basement").is_err(), "no row is no leave");
        assert!(
            matches!(place("irc-2021", "sleeping-room"), Ok(PlaceRule::Forbidden(why)) if why.contains("confirm"))
        );
        assert!(unit_limit("irc-2024").is_err());
    }
}
