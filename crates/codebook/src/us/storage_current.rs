//! Circuit current of energy storage: what its conductors carry.
//!
//! ## Clause and edition
//! NEC 2023; 706.30(A), 706.30(B).
//! ## Applies when
//! Units draw from or charge a battery on its DC side.
//! ## Why
//! A converter holds its power: the emptier the battery, the more amperes it draws.
//! ## Formula
//! `I = P_rated / (V_lowest · eta)` for each unit (A)(3), or the nameplate current (A)(1) where that is larger; conductors
//! carry `1.25 · I` as a continuous current (215.2(A)(1)), and no less than the storage's own overcurrent device (B).
//! ## Example
//! Passing: 10 kW at 44 V and 93 % draw 244 A and ask for 305 A. Failing: conductors for 200 A.
//! ## Limits of our reading
//! The formula of (A)(3) is an engineering reading of "at rated power and lowest input voltage". Ripple at twice the
//! frequency of the mains adds to it and is not in it. Efficiency must be that at rated power and lowest voltage, which
//! is below the largest one in data sheets.
//! ## Source
//! 706.30(A)(1), 706.30(B) and 215.2(A)(1): two sources agree; 706.30(A)(3): one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{DcCurrent, DcVoltage, Power, Ratio};
use tables::us::dc_rule;

use crate::NotCovered;
use crate::not_covered::{largest_of, under};

const CURRENT: &str = "NEC 2023 706.30(A)(3) (confirm in the adopted code)";
const NAMEPLATE: &str = "NEC 2023 706.30(A)(1)";
const CONDUCTOR: &str = "NEC 2023 706.30(B), 215.2(A)(1)";

/// A unit on the battery.
#[derive(Debug, Clone)]
pub struct BatteryUnit {
    /// Rated power on its AC side.
    pub rated: Known<Power>,
    /// Lowest battery voltage at which it still gives that.
    pub lowest: Known<DcVoltage>,
    /// Efficiency at that point.
    pub efficiency: Known<Ratio>,
    /// Largest continuous DC current on its nameplate, charging or drawing, where it is known.
    pub nameplate: Option<Known<DcCurrent>>,
}

/// Currents of units on one bus.
#[derive(Debug, Clone)]
pub struct StorageCurrent {
    /// Of one unit.
    pub unit: Known<DcCurrent>,
    /// Ampacity that conductors of one unit need.
    pub conductor: Known<DcCurrent>,
    /// All units together.
    pub bus: Known<DcCurrent>,
    /// Ampacity that conductors of all together need.
    pub bus_conductor: Known<DcCurrent>,
}

/// Currents of `units` equal units on one battery. `own_device`: rating of the overcurrent device that the energy
/// storage brings along, for the conductors of all units together.
///
/// # Errors
/// A value is outside what units have, or the efficiency is above one.
pub fn storage_current(
    unit: &BatteryUnit,
    units: &Known<Ratio>,
    own_device: Option<&Known<DcCurrent>>,
) -> Result<StorageCurrent, NotCovered> {
    let BatteryUnit { rated, lowest, efficiency, nameplate } = unit;
    rated.not_negative().map_err(under(CURRENT))?;
    lowest.above_zero().map_err(under(CURRENT))?;
    efficiency.share().map_err(under(CURRENT))?;
    units.whole().map_err(under(CURRENT))?;
    let what = "DC current of a unit at rated power and lowest voltage";
    let drawn = formula!("I_dc", what, [rated, lowest, efficiency] => rated / (lowest * efficiency), source = CURRENT);
    let mut ways = vec![drawn];
    if let Some(plate) = nameplate {
        plate.above_zero().map_err(under(NAMEPLATE))?;
        ways.push(plate.clone());
    }
    let one = largest_of(CURRENT, ("I_dc", "DC current of a unit"), &ways)?;
    let bus = formula!("I_bus", "DC current of all units", [units, one] => units * one);
    let factor = dc_rule::ratio("factor", "storage-continuous-conductor")?;
    let what = "ampacity for one unit";
    let conductor = formula!("I_z", what, [factor, one] => factor * one, source = CONDUCTOR);
    let what = "ampacity for all units";
    let mut least = vec![formula!("I_z", what, [factor, bus] => factor * bus, source = CONDUCTOR)];
    if let Some(device) = own_device {
        device.above_zero().map_err(under(CONDUCTOR))?;
        least.push(device.clone());
    }
    let bus_conductor = largest_of(CONDUCTOR, ("I_z", "ampacity for all units"), &least)?;
    Ok(StorageCurrent { unit: one, conductor, bus, bus_conductor })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn unit(nameplate: Option<f64>) -> BatteryUnit {
        BatteryUnit {
            rated: given(Power::of(10_000.0)),
            lowest: given(DcVoltage::of(44.0)),
            efficiency: given(Ratio::of(0.93)),
            nameplate: nameplate.map(|a| given(DcCurrent::of(a))),
        }
    }

    /// BAT-09, and a nameplate that is larger than the formula.
    #[test]
    fn the_emptier_the_battery_the_more_it_draws() {
        let three = given(Ratio::of(3.0));
        let found = storage_current(&unit(None), &three, None).unwrap();
        near(&found.unit, 10_000.0 / (44.0 * 0.93));
        near(&found.conductor, 12_500.0 / (44.0 * 0.93));
        near(&found.bus, 30_000.0 / (44.0 * 0.93));
        near(&storage_current(&unit(Some(250.0)), &three, None).unwrap().bus, 750.0);
        let device = given(DcCurrent::of(1000.0));
        near(&storage_current(&unit(None), &three, Some(&device)).unwrap().bus_conductor, 1000.0);
        assert!(derivation::explain(found.unit.node()).contains("confirm in the adopted code"));
        let wrong = BatteryUnit { efficiency: given(Ratio::of(93.0)), ..unit(None) };
        assert!(storage_current(&wrong, &three, None).is_err());
        assert!(storage_current(&unit(Some(0.0)), &three, None).is_err());
        assert!(storage_current(&unit(None), &given(Ratio::of(1.5)), None).is_err());
    }
}
