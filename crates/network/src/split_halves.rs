//! Unequal legs on a split-phase transformer: each half winding is rated for half the transformer's power, so the
//! larger leg can overload its half while the total looks fine (common practice for a single core with two equal
//! halves).

use derivation::{Known, formula};
use quantity::{Apparent, Current, PhaseVoltage, Ratio};

use crate::NetworkError;
use crate::error::{above_zero, not_negative};

/// Loading of the halves.
#[derive(Debug, Clone)]
pub struct Halves {
    /// Power of each leg.
    pub legs: [Known<Apparent>; 2],
    /// Sum of the legs' powers.
    pub total: Known<Apparent>,
    /// Rating of one half.
    pub half: Known<Apparent>,
    /// Larger leg over the half's rating.
    pub worst: Known<Ratio>,
}

/// Loads the halves of a split-phase transformer or neutral former.
///
/// # Errors
/// A rating or voltage that is not above zero, a negative current.
pub fn split_halves(
    S: &Known<Apparent>,
    V: &Known<PhaseVoltage>,
    currents: &[Known<Current>; 2],
) -> Result<Halves, NetworkError> {
    above_zero(S)?;
    above_zero(V)?;
    let leg = |k: usize, I: &Known<Current>| -> Result<Known<Apparent>, NetworkError> {
        not_negative(I)?;
        Ok(formula!(&format!("S_{k}"), format!("power of leg {k}"), [V, I] => V * I))
    };
    let [first, second] = currents;
    let legs = [leg(1, first)?, leg(2, second)?];
    let total = Known::sum("S_tot", "power of both legs", &legs);
    let half = formula!("S_h", "rating of one half", [S] => S / 2.0);
    let [a, b] = &legs;
    let S_max = formula!("S_max", "power of the larger leg", [a, b] => a.max(b));
    let worst = formula!("p", "larger leg over one half's rating", [S_max, half] => S_max / half);
    Ok(Halves { legs, total, half, worst })
}
