//! Sources on a feeder: what the conductors beyond must carry.
//!
//! ## Clause and edition
//! NEC 2023; 705.12(A).
//! ## Applies when
//! A source is connected to a feeder elsewhere than at the end away from the primary device.
//! ## Why
//! Beyond the connection the feeder is supplied from two sides, and its device sees one of them only.
//! ## Formula
//! `I_feeder >= I_primary + 1.25 · sum(I_out)` beyond the connection, or a device there with `I_device <= I_feeder`.
//! ## Example
//! Passing: 100 A primary, 24 A source and 130 A of feeder. Failing: the same with 125 A and no device.
//! ## Limits of our reading
//! The stretch between primary device and connection is not judged here. Taps have a rule of their own.
//! ## Source
//! 705.12(A): two sources agree.

use derivation::{Known, formula};
use quantity::Current;
use tables::us::conductor_rule;

use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 705.12(A)";

/// A feeder beyond the connection of sources.
#[derive(Debug, Clone)]
pub struct FeederConnection {
    /// Ampacity that the feeder needs beyond the connection without a device there.
    pub required: Known<Current>,
    /// Whether the ampacity is enough.
    pub by_ampacity: bool,
    /// Whether a device at the connection protects it.
    pub by_device: bool,
}

impl FeederConnection {
    /// Whether one of both holds.
    pub fn holds(&self) -> bool {
        self.by_ampacity || self.by_device
    }
}

/// Whether a feeder is protected beyond the connection of sources.
///
/// # Errors
/// A current that is no number or negative.
pub fn feeder_connection(
    feeder: &Known<Current>,
    primary: &Known<Current>,
    sources: &[Known<Current>],
    device: Option<&Known<Current>>,
) -> Result<FeederConnection, NotCovered> {
    sane(CLAUSE, feeder)?;
    if let Some(device) = device {
        sane(CLAUSE, device)?;
    }
    let required = supply(primary, sources)?;
    Ok(FeederConnection {
        by_ampacity: feeder.value() >= required.value(),
        by_device: device.is_some_and(|device| device.value() <= feeder.value()),
        required,
    })
}

/// What primary device and sources can feed into the feeder together; taps count it as their protection.
///
/// # Errors
/// A current that is no number or negative.
pub fn supply(primary: &Known<Current>, sources: &[Known<Current>]) -> Result<Known<Current>, NotCovered> {
    sane(CLAUSE, primary)?;
    all_sane(CLAUSE, sources)?;
    let f = conductor_rule::ratio("f", "source-feeder")?;
    let out = Known::sum("I_out", "output of the sources", sources);
    let what = "what both sides can feed";
    Ok(formula!("I_both", what, [primary, f, out] => primary + f * out, source = CLAUSE))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given, near};

    #[test]
    fn by_ampacity_or_by_a_device() {
        let a = |a| given(Current::of(a));
        let case = |feeder, device: Option<f64>| {
            feeder_connection(&a(feeder), &a(100.0), &all(&[24.0]), device.map(a).as_ref())
        };
        near(&case(130.0, None).unwrap().required, 130.0);
        assert!(case(130.0, None).unwrap().holds());
        assert!(!case(125.0, None).unwrap().holds());
        assert!(case(125.0, Some(125.0)).unwrap().holds());
        assert!(!case(115.0, Some(125.0)).unwrap().holds());
        assert!(case(f64::NAN, None).is_err());
        assert!(feeder_connection(&a(130.0), &a(-100.0), &all(&[24.0]), None).is_err());
        assert!(feeder_connection(&a(130.0), &a(100.0), &all(&[124.0, -24.0]), None).is_err());
        assert!(case(100.0, Some(-1.0)).is_err());
    }
}
