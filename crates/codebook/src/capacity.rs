//! What a source has against what is asked of it.

use derivation::Known;
use quantity::Apparent;

/// What a source has against what is asked of it.
#[derive(Debug, Clone)]
pub struct Capacity {
    /// What the clause asks for.
    pub required: Known<Apparent>,
    /// What the source has.
    pub available: Known<Apparent>,
    /// Whether it is enough.
    pub enough: bool,
}

impl Capacity {
    /// Holds one against the other; what is no number is not enough.
    pub fn of(required: Known<Apparent>, available: Known<Apparent>) -> Self {
        let enough = available.value() >= required.value();
        Self { required, available, enough }
    }
}
