//! Voltage limit of energy storage at dwellings.
//!
//! ## Clause and edition
//! NEC 2023; 706.20(B).
//! ## Applies when
//! Energy storage serves a one- or two-family dwelling.
//! ## Why
//! People without training live beside it.
//! ## Formula
//! `V_dc <= 100 V` between conductors and to ground; 600 V where no live part can be reached in routine maintenance.
//! ## Example
//! Passing: 58 V, or 450 V with all live parts out of reach. Failing: 120 V with open terminals.
//! ## Limits of our reading
//! The highest voltage counts, at the end of charging, not the nominal one. Other buildings have no such limit here.
//! ## Source
//! The 100 V: two sources agree; the 600 V: one source; confirm in the adopted code.

use derivation::Known;
use quantity::DcVoltage;
use tables::us::dc_rule;

use crate::NotCovered;
use crate::not_covered::under;

const CLAUSE: &str = "NEC 2023 706.20(B)";

/// A voltage and its limit.
#[derive(Debug, Clone)]
pub struct StorageVoltage {
    /// The limit.
    pub limit: Known<DcVoltage>,
    /// Whether it is kept.
    pub holds: bool,
}

/// The limit at a dwelling. `live_parts_out_of_reach`: none can be reached in routine maintenance.
///
/// # Errors
/// The voltage is not above zero.
pub fn storage_voltage(
    highest: &Known<DcVoltage>,
    live_parts_out_of_reach: bool,
) -> Result<StorageVoltage, NotCovered> {
    highest.above_zero().map_err(under(CLAUSE))?;
    let key =
        if live_parts_out_of_reach { "storage-dwelling-voltage-guarded" } else { "storage-dwelling-voltage" };
    let limit = dc_rule::voltage("V_lim", key)?;
    let holds = highest.value() <= limit.value();
    Ok(StorageVoltage { limit, holds })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    #[test]
    fn a_hundred_volts_unless_nothing_can_be_touched() {
        let v = |x| given(DcVoltage::of(x));
        assert!(storage_voltage(&v(58.0), false).unwrap().holds);
        assert!(storage_voltage(&v(100.0), false).unwrap().holds);
        assert!(!storage_voltage(&v(100.1), false).unwrap().holds);
        let guarded = storage_voltage(&v(450.0), true).unwrap();
        assert!(guarded.holds);
        near(&guarded.limit, 600.0);
        assert!(!storage_voltage(&v(601.0), true).unwrap().holds);
        assert!(storage_voltage(&v(f64::NAN), true).is_err());
    }
}
