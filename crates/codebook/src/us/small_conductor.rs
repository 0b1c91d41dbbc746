//! Small conductors: the device may not exceed a fixed rating.
//!
//! ## Clause and edition
//! NEC 2023; 240.4(D).
//! ## Applies when
//! Copper of 14 to 10 AWG or aluminum of 12 and 10 AWG carries a load that no other clause exempts.
//! ## Why
//! Small conductors heat fastest in a fault; their ampacity alone would let too large a device stand.
//! ## Formula
//! `I_device <= 15, 20, 30 A` for copper of 14, 12, 10 AWG; 15 and 25 A for aluminum of 12 and 10 AWG.
//! ## Example
//! Passing: 12 AWG copper behind 20 A. Failing: 12 AWG copper behind 25 A.
//! ## Limits of our reading
//! 18 and 16 AWG and 14 AWG copper-clad aluminum need a device listed for them and are refused. Motor circuits and
//! the other cases of 240.4(E) and (G) follow their own clauses.
//! ## Source
//! 240.4(D): two sources agree.

use derivation::Known;
use quantity::Current;
use tables::us::conductors::{self, Material};
use tables::us::size::Size;

use crate::NotCovered;

/// Largest device of a small conductor, in A; `None` where the clause names no limit.
///
/// # Errors
/// A size that needs a device listed for it.
pub fn limit(size: Size, material: Material) -> Result<Option<Known<Current>>, NotCovered> {
    Ok(conductors::small_conductor(size, material)?)
}

/// Whether a device may protect a conductor of this size, its ampacity left aside.
///
/// # Errors
/// A size that needs a device listed for it.
pub fn allows(size: Size, material: Material, device: &Known<Current>) -> Result<bool, NotCovered> {
    Ok(limit(size, material)?.is_none_or(|limit| device.value() <= limit.value()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    #[test]
    fn a_device_above_the_limit_is_not_allowed() {
        let size = |text: &str| text.parse::<Size>().unwrap();
        let allowed = |text, a| allows(size(text), Material::Copper, &given(Current::of(a)));
        assert_eq!(allowed("12", 20.0), Ok(true));
        assert_eq!(allowed("12", 25.0), Ok(false));
        assert_eq!(allowed("8", 400.0), Ok(true));
        assert_eq!(allowed("10", f64::NAN), Ok(false));
        assert!(allowed("16", 10.0).is_err());
    }
}
