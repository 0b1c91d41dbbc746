//! Default trip settings and criteria for entering service (IEEE 1547-2018): `data/us/ieee_1547_trips.csv` and
//! `ieee_1547_enter_service.csv`.

use derivation::Known;
use quantity::{Duration, Frequency, Quantity, Ratio};

use super::{ENTER_SERVICE, TRIPS, of};
use crate::sheet::Cell;
use crate::{TableError, keyed};

/// Threshold of a trip.
#[derive(Debug, Clone)]
pub enum Threshold {
    /// Voltage over nominal.
    Voltage(Known<Ratio>),
    /// Frequency.
    Frequency(Known<Frequency>),
}

/// One trip.
#[derive(Debug, Clone)]
pub struct Trip {
    /// Its name in the standard: "OV2".
    pub name: &'static str,
    /// It trips above (else below) its threshold.
    pub over: bool,
    /// Where it trips.
    pub threshold: Threshold,
    /// Within this time.
    pub clearing: Known<Duration>,
}

/// Trips of an abnormal operating category, "I", "II" or "III": voltage first, then frequency.
///
/// # Errors
/// No such category, or the table cannot be used.
pub fn trips(category: &str) -> Result<Vec<Trip>, TableError> {
    let sheet = of(&TRIPS)?;
    let mut all = Vec::new();
    for row in 0..sheet.len() {
        let of_row = sheet.text(row, "category");
        if of_row != category && of_row != "all" {
            continue;
        }
        let name = sheet.text(row, "trip");
        let row_name = format!("{} {name}, category {of_row}", sheet.text(row, "clause"));
        let cell = |column| Cell { row, column, row_name: &row_name, scale: 1.0 };
        let threshold = match sheet.text(row, "unit") {
            "pu" => Threshold::Voltage(sheet.known(
                "u",
                format!("{name}, voltage over nominal"),
                cell("threshold"),
            )?),
            "Hz" => {
                Threshold::Frequency(sheet.known("f", format!("{name}, frequency"), cell("threshold"))?)
            }
            _ => return Err(sheet.bad_cell(row, "unit")),
        };
        let clearing = sheet.known("t", format!("{name}, clearing time"), cell("clearing_s"))?;
        all.push(Trip { name, over: name.starts_with('O'), threshold, clearing });
    }
    if all.iter().any(|trip| matches!(trip.threshold, Threshold::Voltage(_))) {
        return Ok(all);
    }
    Err(sheet.no_row(category, "categories I, II and III"))
}

/// A criterion for entering service: `voltage-low`, `voltage-high`.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn enter_voltage(key: &str) -> Result<Known<Ratio>, TableError> {
    keyed::number(of(&ENTER_SERVICE)?, "u", key, ("1", 1.0))
}

/// A criterion for entering service: `frequency-low`, `frequency-high`.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn enter_frequency(key: &str) -> Result<Known<Frequency>, TableError> {
    keyed::number(of(&ENTER_SERVICE)?, "f", key, ("Hz", 1.0))
}

/// A time of entering service: `delay`, `ramp`.
///
/// # Errors
/// No such key, or its number is of another unit.
pub fn enter_time(key: &str) -> Result<Known<Duration>, TableError> {
    keyed::number(of(&ENTER_SERVICE)?, "t", key, ("s", 1.0))
}

/// The number of a threshold in its own unit.
pub fn threshold_si(threshold: &Threshold) -> f64 {
    match threshold {
        Threshold::Voltage(u) => u.value().si(),
        Threshold::Frequency(f) => f.value().si(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_category_has_eight_trips_and_the_farther_one_is_the_faster() {
        for category in ["I", "II", "III"] {
            let all = trips(category).unwrap();
            assert_eq!(all.len(), 8, "{category}");
            for kind in ["OV", "UV", "OF", "UF"] {
                let of = |n: &str| all.iter().find(|t| t.name == format!("{kind}{n}")).unwrap();
                let (near, far) = (of("1"), of("2"));
                assert!(far.clearing.value() < near.clearing.value(), "{category} {kind}");
                let farther = threshold_si(&far.threshold) > threshold_si(&near.threshold);
                assert_eq!(farther, near.over, "{category} {kind}");
            }
        }
        assert!(trips("IV").is_err() && trips("all").is_err());
        keyed::assert_sound(of(&ENTER_SERVICE).unwrap(), &["1", "Hz", "s"]);
        assert!(
            enter_voltage("voltage-low").unwrap().value() < enter_voltage("voltage-high").unwrap().value()
        );
    }
}
