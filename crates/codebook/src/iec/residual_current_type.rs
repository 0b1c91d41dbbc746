//! Type of a residual current device on the alternating side of an inverter.
//!
//! ## Clause and edition
//! IEC 60364-7-712:2017; 712.531.
//! ## Applies when
//! A residual current device protects the alternating side of an inverter that solar modules feed.
//! ## Why
//! Smooth direct residual current saturates a device of type AC or A: it stays closed when it should open.
//! ## Formula
//! Type B, unless there is simple separation between the sides or the maker declares that no direct residual current
//! can flow; then type A.
//! ## Example
//! Passing: type B on an inverter without transformer. Failing: type A on the same.
//! ## Limits of our reading
//! Whether a device is needed at all is not read. Type AC is never taken as enough, which is stricter than the clause.
//! ## Source
//! One source; types of IEC 61008-1 and IEC 62423: one source.

/// A type of residual current device, by what it detects; the later detects more.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ResidualType {
    /// Alternating current alone.
    Ac,
    /// Pulsating direct current, too.
    A,
    /// Mixed frequencies, too.
    F,
    /// Smooth direct current, too.
    B,
}

/// Least type of a device, with the reason in words.
pub fn residual_current_type(simple_separation: bool, no_dc_declared: bool) -> (ResidualType, &'static str) {
    match (simple_separation, no_dc_declared) {
        (true, _) => (ResidualType::A, "simple separation keeps direct current off the alternating side"),
        (_, true) => (ResidualType::A, "the maker declares that no direct residual current can flow"),
        _ => (ResidualType::B, "no separation and no declaration: direct residual current can flow"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn type_b_unless_something_is_known() {
        assert_eq!(residual_current_type(false, false).0, ResidualType::B);
        assert_eq!(residual_current_type(true, false).0, ResidualType::A);
        assert_eq!(residual_current_type(false, true).0, ResidualType::A);
        assert!(ResidualType::B > ResidualType::F && ResidualType::F > ResidualType::A);
    }
}
