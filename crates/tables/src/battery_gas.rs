//! Ventilation of battery rooms: gas-producing currents and constants of IEC 62485-2, `data/iec/battery_gas`.

use std::sync::LazyLock;

use derivation::Known;
use quantity::{ChargeRate, GasYield, Ratio};

use crate::sheet::Cell;
use crate::{Sheet, TableError, keyed};

/// Amperes in a milliampere.
const MILLI: f64 = 1e-3;

macro_rules! loaded {
    ($name:ident, $file:literal) => {
        static $name: LazyLock<Result<Sheet, TableError>> = LazyLock::new(|| {
            Sheet::parse($file, include_str!(concat!("../../../data/iec/battery_gas/", $file)))
        });
    };
}

loaded!(CURRENTS, "gassing_currents.csv");
loaded!(CONSTANTS, "constants.csv");

fn of(sheet: &'static LazyLock<Result<Sheet, TableError>>) -> Result<&'static Sheet, TableError> {
    sheet.as_ref().map_err(Clone::clone)
}

/// Gas-producing currents of a kind of cell.
#[derive(Debug, Clone)]
pub struct GassingCurrents {
    /// At float voltage.
    pub float: Known<ChargeRate>,
    /// At boost voltage.
    pub boost: Known<ChargeRate>,
}

/// Gas-producing currents of a kind of cell, by its key in the table.
///
/// # Errors
/// No such kind.
pub fn gassing_currents(cell: &str) -> Result<GassingCurrents, TableError> {
    let sheet = of(&CURRENTS)?;
    let row = (0..sheet.len()).find(|&row| sheet.text(row, "cell") == cell);
    let row =
        row.ok_or_else(|| sheet.no_row(cell, "vented and valve-regulated lead-acid, vented nickel-cadmium"))?;
    let read = |symbol: &str, what: &str, column| {
        sheet.known(symbol, what, Cell { row, column, row_name: cell, scale: MILLI })
    };
    Ok(GassingCurrents {
        float: read("I_gas", "gas-producing current at float voltage", "float_ma_per_ah")?,
        boost: read("I_gas", "gas-producing current at boost voltage", "boost_ma_per_ah")?,
    })
}

/// Air for each ampere-hour of gas-producing current.
///
/// # Errors
/// The table cannot be used.
pub fn air_yield() -> Result<Known<GasYield>, TableError> {
    keyed::number(of(&CONSTANTS)?, "k", "flow", ("m3/Ah", 1.0))
}

/// Free opening in cm2 for each m3/h.
///
/// # Errors
/// The table cannot be used.
pub fn opening_factor() -> Result<Known<Ratio>, TableError> {
    keyed::number(of(&CONSTANTS)?, "c", "opening", ("1", 1.0))
}

/// Safety distance in mm, before the cube roots of mA/Ah and Ah.
///
/// # Errors
/// The table cannot be used.
pub fn distance_factor() -> Result<Known<Ratio>, TableError> {
    keyed::number(of(&CONSTANTS)?, "c", "distance", ("1", 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Quantity;

    #[test]
    fn both_tables_read_and_boost_gasses_more() {
        keyed::assert_sound(of(&CONSTANTS).unwrap(), &["1", "m3/Ah"]);
        let sheet = of(&CURRENTS).unwrap();
        for row in 0..sheet.len() {
            let found = gassing_currents(sheet.text(row, "cell")).unwrap();
            assert!(found.boost.value().si() > found.float.value().si());
        }
        assert!(gassing_currents("lithium").is_err());
        // 24 for dilution below 4 %, 0.42e-3 m3 of hydrogen for each Ah, five times for safety: printed as 0.05
        let printed = air_yield().unwrap().value().si();
        assert!((24.0 * 0.42e-3 * 5.0 - printed).abs() < 0.01 * printed);
        assert!(air_yield().unwrap().node().source().contains("confirm in the adopted code"));
        assert!(opening_factor().is_ok() && distance_factor().is_ok());
    }
}
