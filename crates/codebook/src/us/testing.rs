//! What the tests of rules share.

use derivation::Known;
use quantity::{Area, Quantity, Ratio, VoltageSystem};

/// A value as the caller of a rule would bring it.
pub(crate) fn given<Q: Quantity>(value: Q) -> Known<Q> {
    Known::assumed("x", "given", value, "test")
}

/// Given values, in SI units.
pub(crate) fn all<Q: Quantity>(values: &[f64]) -> Vec<Known<Q>> {
    values.iter().map(|&value| given(Q::from_si(value))).collect()
}

/// Holds a result against a number in SI units, to rounding.
#[track_caller]
pub(crate) fn near<Q: Quantity>(found: &Known<Q>, expected: f64) {
    close(found, expected, 1e-9 * expected.abs().max(1.0));
}

/// Holds a result against a number in SI units, to a tolerance in the same unit.
#[track_caller]
pub(crate) fn close<Q: Quantity>(found: &Known<Q>, expected: f64, tolerance: f64) {
    let si = found.value().si();
    assert!(
        (si - expected).abs() <= tolerance,
        "{si} is not {expected}\n{}",
        derivation::explain(found.node())
    );
}

/// A dwelling with nothing but its area in ft2 and the circuits that it must have, on 120/240 V.
pub(crate) fn dwelling(area_ft2: f64) -> super::DwellingFacts {
    super::DwellingFacts {
        supply: VoltageSystem::Split120_240,
        area: given(Area::of(area_ft2 * 0.092_903_04)),
        small_appliance_circuits: given(Ratio::of(2.0)),
        laundry_circuits: given(Ratio::of(1.0)),
        fixed_appliances: Vec::new(),
        cooking: Vec::new(),
        dryers: Vec::new(),
        motors: Vec::new(),
        ev_supply: Vec::new(),
        climate: super::Climate::default(),
    }
}
