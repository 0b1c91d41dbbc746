//! One value held against one limit.

use derivation::Known;
use quantity::Quantity;

/// Rounding of a computed value that must not make it miss a limit that it meets.
const ROUNDING: f64 = 1e-9;

/// One value held against one limit.
#[derive(Debug, Clone)]
pub struct Check<Q> {
    /// The value.
    pub value: Known<Q>,
    /// Its limit.
    pub limit: Known<Q>,
    /// Whether it is kept; what is no number never is.
    pub holds: bool,
}

impl<Q: Quantity> Check<Q> {
    /// The value may be no more than the limit.
    pub fn at_most(value: Known<Q>, limit: Known<Q>) -> Self {
        let (v, l) = (value.value().si(), limit.value().si());
        let holds = v.is_finite() && l.is_finite() && v <= l + ROUNDING * l.abs();
        Self { value, limit, holds }
    }

    /// The value may be no less than the limit.
    pub fn at_least(value: Known<Q>, limit: Known<Q>) -> Self {
        let (v, l) = (value.value().si(), limit.value().si());
        let holds = v.is_finite() && l.is_finite() && v >= l - ROUNDING * l.abs();
        Self { value, limit, holds }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use quantity::Current;

    #[test]
    fn what_is_no_number_never_holds() {
        let a = |x| Known::assumed("I", "current", Current::of(x), "test");
        assert!(Check::at_most(a(5.0), a(5.0)).holds && Check::at_least(a(5.0), a(5.0)).holds);
        assert!(!Check::at_most(a(5.001), a(5.0)).holds && !Check::at_least(a(4.999), a(5.0)).holds);
        // what rounding leaves is a share of the limit, large or small
        assert!(Check::at_most(a(1_000.000_000_1), a(1000.0)).holds);
        assert!(Check::at_least(a(999.999_999_9), a(1000.0)).holds);
        assert!(!Check::at_most(a(2e-6), a(1e-6)).holds && !Check::at_least(a(0.0), a(1e-6)).holds);
        for bad in [f64::NAN, f64::INFINITY] {
            assert!(!Check::at_most(a(bad), a(5.0)).holds && !Check::at_least(a(5.0), a(bad)).holds);
            assert!(!Check::at_most(a(5.0), a(bad)).holds && !Check::at_least(a(bad), a(5.0)).holds);
        }
    }
}
