//! What grid protection is set to where the standard has defaults: its thresholds in volts and hertz of this service.

use assess::Case;
use derivation::{Known, formula};
use quantity::{Duration, Frequency, PhaseVoltage, Ratio};
use tables::TableError;
use tables::us::grid::{Threshold, enter_frequency, enter_time, enter_voltage, trips};

/// Categories of abnormal operation (IEEE 1547-2018).
const CATEGORIES: [&str; 3] = ["I", "II", "III"];

/// Where a trip is set.
#[derive(Debug, Clone)]
pub enum TripAt {
    /// Voltage to neutral, by category.
    Voltage(Known<PhaseVoltage>, &'static str),
    /// Frequency, the same in every category.
    Frequency(Known<Frequency>),
}

/// One trip.
#[derive(Debug, Clone)]
pub struct GridTrip {
    /// Its name in the standard: "OV2".
    pub name: &'static str,
    /// It trips above (else below) its threshold.
    pub over: bool,
    /// Where.
    pub at: TripAt,
    /// Within this time.
    pub clearing: Known<Duration>,
}

/// What must hold before the units join the utility, and how they then take up output.
#[derive(Debug, Clone)]
pub struct GridEntry {
    /// Lowest and highest voltage to neutral.
    pub voltage: (Known<PhaseVoltage>, Known<PhaseVoltage>),
    /// Lowest and highest frequency.
    pub frequency: (Known<Frequency>, Known<Frequency>),
    /// For at least this long.
    pub delay: Known<Duration>,
    /// Output rises over this time.
    pub ramp: Known<Duration>,
}

/// The standard's defaults for every category.
///
/// # Errors
/// The tables cannot be used.
pub fn grid_trips(case: &Case<'_>) -> Result<Vec<GridTrip>, TableError> {
    let mut all = Vec::new();
    let U = case.voltage();
    for category in CATEGORIES {
        for trip in trips(category)? {
            let at = match &trip.threshold {
                Threshold::Voltage(u) => {
                    let what = format!("{} to neutral", trip.name);
                    TripAt::Voltage(
                        formula!("U_trip", what, [u, U] => U * u, source = "IEEE 1547-2018"),
                        category,
                    )
                }
                // frequency is the same in all categories
                Threshold::Frequency(f) if category == "III" => TripAt::Frequency(f.clone()),
                Threshold::Frequency(_) => continue,
            };
            all.push(GridTrip { name: trip.name, over: trip.over, at, clearing: trip.clearing });
        }
    }
    Ok(all)
}

/// The standard's defaults for entering service.
///
/// # Errors
/// The tables cannot be used.
pub fn grid_entry(case: &Case<'_>) -> Result<GridEntry, TableError> {
    let U = case.voltage();
    let volts = |u: &Known<Ratio>| -> Known<PhaseVoltage> {
        formula!("U", "bound for entering service, to neutral", [u, U] => U * u, source = "IEEE 1547-2018 4.10")
    };
    Ok(GridEntry {
        voltage: (volts(&enter_voltage("voltage-low")?), volts(&enter_voltage("voltage-high")?)),
        frequency: (enter_frequency("frequency-low")?, enter_frequency("frequency-high")?),
        delay: enter_time("delay")?,
        ramp: enter_time("ramp")?,
    })
}
