//! What the tests share.

use derivation::Known;
use quantity::Quantity;

pub(crate) fn given<Q: Quantity>(value: Q) -> Known<Q> {
    Known::assumed("x", "given", value, "test")
}

#[track_caller]
pub(crate) fn near<Q: Quantity>(found: &Known<Q>, expected: f64) {
    let si = found.value().si();
    assert!((si - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{si} is not {expected}");
}
