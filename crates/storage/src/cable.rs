//! A DC cable of two conductors: its resistance, drop and loss. Resistance of each length is an input, at the
//! temperature that the conductor has.

use derivation::{Known, Refused, formula};
use quantity::{DcCurrent, DcVoltage, Length, LinearResistance, Power, Ratio, Resistance};

/// Resistance of both conductors, `R = 2 L r / n`.
///
/// # Errors
/// A value is negative, or the number of parallel sets is no whole number.
pub fn loop_resistance(
    one_way: &Known<Length>,
    each: &Known<LinearResistance>,
    sets: &Known<Ratio>,
) -> Result<Known<Resistance>, Refused> {
    one_way.not_negative()?;
    each.above_zero()?;
    sets.whole()?;
    let both = Known::factor("both", "conductors, there and back", 2.0, "geometry");
    Ok(
        formula!("R", "resistance there and back", [both, each, one_way, sets] => both * (each * one_way) / sets),
    )
}

/// What a current does in a cable.
#[derive(Debug, Clone)]
pub struct CableDrop {
    /// Voltage drop.
    pub drop: Known<DcVoltage>,
    /// The same over a nominal voltage.
    pub share: Known<Ratio>,
    /// Power lost.
    pub loss: Known<Power>,
}

/// Drop and loss of a current.
///
/// # Errors
/// A value is negative or the nominal voltage not above zero.
pub fn drop(
    resistance: &Known<Resistance>,
    current: &Known<DcCurrent>,
    nominal: &Known<DcVoltage>,
) -> Result<CableDrop, Refused> {
    resistance.not_negative()?;
    current.not_negative()?;
    nominal.above_zero()?;
    let drop = formula!("dV", "voltage drop", [resistance, current] => resistance * current);
    let share = formula!("dv", "drop over nominal voltage", [drop, nominal] => drop / nominal);
    let loss = formula!("P_loss", "loss in the cable", [drop, current] => drop * current);
    Ok(CableDrop { drop, share, loss })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// BAT-11: 14 ft one way of 0.0766 ohm/kft, two sets, 240 A on 51.2 V.
    #[test]
    fn there_and_back() {
        let each = given(LinearResistance::of(0.0766 / 0.3048));
        let r = loop_resistance(&given(Length::of(14.0 * 0.3048)), &each, &given(Ratio::of(2.0))).unwrap();
        let found = drop(&r, &given(DcCurrent::of(240.0)), &given(DcVoltage::of(51.2))).unwrap();
        near(&found.drop, 0.257_376);
        near(&found.share, 0.257_376 / 51.2);
        near(&found.loss, 61.770_24);
    }
}
