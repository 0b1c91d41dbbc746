//! Overcurrent devices: rated currents and bands of instantaneous tripping; break times of residual current devices.

use derivation::Known;
use quantity::{Current, Duration, Quantity, Ratio};

use super::{BANDS, BREAK_TIMES, RATED, of};
use crate::TableError;
use crate::sheet::Cell;

/// Rounding of a computed current that must not push it to the next rating.
const ROUNDING: f64 = 1e-9;

/// A kind of overcurrent device.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Device {
    /// Miniature circuit breaker (IEC 60898-1, with residual current unit IEC 61009-1).
    Mcb,
    /// Circuit breaker of IEC 60947-2, taken at its full rating.
    Breaker,
    /// Fuse of class gG (IEC 60269-1).
    FuseGg,
}

impl Device {
    /// All.
    pub const ALL: [Self; 3] = [Self::Mcb, Self::Breaker, Self::FuseGg];

    /// As the table names it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Mcb => "mcb",
            Self::Breaker => "breaker",
            Self::FuseGg => "fuse-gg",
        }
    }
}

/// Rated currents of a kind of device in amperes, rising.
///
/// # Errors
/// The table cannot be used.
pub fn rated_currents(device: Device) -> Result<Vec<Known<Current>>, TableError> {
    let sheet = of(&RATED)?;
    let rows = (0..sheet.len()).filter(|&row| sheet.text(row, "device") == device.word());
    rows.map(|row| {
        let name = format!("{} {} A", device.word(), sheet.text(row, "rating_a"));
        sheet.known("I_n", "rated current", Cell { row, column: "rating_a", row_name: &name, scale: 1.0 })
    })
    .collect()
}

/// The smallest rated current of a kind of device that is not below a current.
///
/// # Errors
/// The current is above the largest rating, negative, or no number.
pub fn next_rated(device: Device, current: &Known<Current>) -> Result<Known<Current>, TableError> {
    let needed = current.value().si();
    let ratings = rated_currents(device)?;
    let found = ratings.iter().find(|r| needed >= 0.0 && r.value().si() * (1.0 + ROUNDING) >= needed);
    let rating = found.ok_or_else(|| {
        let most = ratings.last().map_or_else(String::new, |last| format!("up to {}", last.value()));
        TableError::NoRow {
            table: of(&RATED).map_or_else(|e| e.to_string(), |sheet| sheet.source()),
            asked: format!("{} of {}", current.value(), device.word()),
            has: format!("ratings {most}"),
        }
    })?;
    let why = "next rated current that is not below it";
    let from = vec![current.node().clone(), rating.node().clone()];
    Ok(Known::chosen("I_n", "rated current of the device", rating.value(), why, from))
}

/// Where a miniature circuit breaker trips at once, in rated currents.
#[derive(Debug, Clone)]
pub struct Band {
    /// Up to here it does not.
    pub low: Known<Ratio>,
    /// From here on it does, in less than 0.1 s.
    pub high: Known<Ratio>,
}

/// The band of a type B, C or D with alternating current (IEC 60898-1 Table 7) or B or C with direct current
/// (IEC 60898-2).
///
/// # Errors
/// No such type for the current.
pub fn band(letter: char, direct: bool) -> Result<Band, TableError> {
    let sheet = of(&BANDS)?;
    let kind = if direct { "dc" } else { "ac" };
    let wanted = letter.to_ascii_uppercase().to_string();
    let row =
        (0..sheet.len()).find(|&row| sheet.text(row, "type") == wanted && sheet.text(row, "kind") == kind);
    let row =
        row.ok_or_else(|| sheet.no_row(format!("type {wanted} with {kind}"), "B, C and D ac, B and C dc"))?;
    let name = format!("type {wanted} {kind}");
    let end = |symbol, what: &str, column| {
        let what = format!("{what} of type {wanted}");
        sheet.known(symbol, what, Cell { row, column, row_name: &name, scale: 1.0 })
    };
    Ok(Band { low: end("m_low", "lower end", "low")?, high: end("m_high", "upper end", "high")? })
}

/// Longest break time of a residual current device at a multiple of its rated residual current: the row of the
/// highest listed multiple that is not above it.
///
/// # Errors
/// The multiple is below one or no number.
pub fn break_time(delayed: bool, multiple: &Known<Ratio>) -> Result<Known<Duration>, TableError> {
    let sheet = of(&BREAK_TIMES)?;
    let kind = if delayed { "S" } else { "general" };
    let mut found: Option<(usize, f64)> = None;
    for row in (0..sheet.len()).filter(|&row| sheet.text(row, "type") == kind) {
        let listed = sheet.number(row, "multiple")?.ok_or_else(|| sheet.bad_cell(row, "multiple"))?;
        let above = found.is_none_or(|(_, best)| listed > best);
        if above && multiple.value().si() * (1.0 + ROUNDING) >= listed {
            found = Some((row, listed));
        }
    }
    let (row, listed) = found.ok_or_else(|| {
        sheet.no_row(format!("{} times the rated residual current", multiple.value()), "1, 2 and 5 times")
    })?;
    let name = format!("{kind}, {listed} times");
    let what = format!("longest break time at {listed} times the rated residual current or more");
    let time: Known<Duration> =
        sheet.known("t", what, Cell { row, column: "break_s", row_name: &name, scale: 1.0 })?;
    let from = vec![multiple.node().clone(), time.node().clone()];
    Ok(Known::chosen(
        "t",
        "longest break time of the device",
        time.value(),
        "highest listed multiple reached",
        from,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ampere(a: f64) -> Known<Current> {
        Known::assumed("I", "current", Current::of(a), "test")
    }

    #[test]
    fn ratings_rise_and_the_next_one_is_never_below() {
        for device in Device::ALL {
            let all: Vec<f64> = rated_currents(device).unwrap().iter().map(|k| k.value().si()).collect();
            assert!(all.windows(2).all(|w| w[0] < w[1]), "{all:?}");
            for a in [0.0, 3.0, 6.0, 6.01, 15.9, 17.0, 63.0, 99.0, 124.9] {
                let next = next_rated(device, &ampere(a)).unwrap().value().si();
                assert!(next >= a && !all.iter().any(|&r| r >= a && r < next), "{a} A: {next}");
            }
            assert!(
                next_rated(device, &ampere(f64::NAN)).is_err() && next_rated(device, &ampere(-1.0)).is_err()
            );
        }
        let next = |d, a| next_rated(d, &ampere(a)).ok().map(|k| k.value().si());
        assert_eq!(next(Device::Mcb, 125.0), Some(125.0));
        assert!(next_rated(Device::Mcb, &ampere(125.1)).is_err());
        assert_eq!(next(Device::FuseGg, 33.0), Some(40.0));
        let memory = next_rated(Device::Mcb, &ampere(7.0)).unwrap();
        assert!(derivation::explain(memory.node()).contains("confirm in the adopted code"));
    }

    #[test]
    fn bands_follow_each_other_without_a_gap() {
        let ac = |c| band(c, false).unwrap();
        for (a, b) in [('B', 'C'), ('C', 'D')] {
            assert_eq!(ac(a).high.value(), ac(b).low.value());
            assert!(ac(a).low.value() < ac(a).high.value());
        }
        assert!(band('D', true).is_err() && band('K', false).is_err());
        assert!(band('B', true).unwrap().low.value().si() > ac('B').low.value().si());
    }

    #[test]
    fn more_residual_current_never_takes_longer_and_less_than_rated_has_no_time() {
        let at = |delayed, m| break_time(delayed, &Known::assumed("m", "multiple", Ratio::of(m), "test"));
        let seconds = |delayed, m| at(delayed, m).unwrap().value().si();
        assert_eq!(
            [1.0, 1.9, 2.0, 4.9, 5.0, 500.0].map(|m| Some(seconds(false, m))),
            [0.3, 0.3, 0.15, 0.15, 0.04, 0.04].map(Some)
        );
        assert_eq!([1.0, 2.0, 5.0].map(|m| Some(seconds(true, m))), [0.5, 0.2, 0.15].map(Some));
        assert!(at(false, 0.99).is_err() && at(false, f64::NAN).is_err());
    }
}
