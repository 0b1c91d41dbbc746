//! How long a bank carries a constant load.

use derivation::{Known, Refused, formula};
use quantity::{Duration, Energy, Power, Ratio};

/// `t = E · d · eta / P`. A mean over the whole time; peaks, idle consumption and ageing must be in the load and in
/// the usable share. By hand, common practice.
///
/// # Errors
/// A value is not above zero, or a share is above one.
pub fn autonomy(
    bank: &Known<Energy>,
    usable: &Known<Ratio>,
    efficiency: &Known<Ratio>,
    load: &Known<Power>,
) -> Result<Known<Duration>, Refused> {
    bank.not_negative()?;
    usable.share()?;
    efficiency.share()?;
    load.above_zero()?;
    Ok(formula!("t", "time that the bank carries the load", [bank, usable, efficiency, load]
        => bank * usable * efficiency / load, source = "common practice"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// REL-03: 40 kWh · 0.8 · 0.92 / 1.6 kW = 18.4 h.
    #[test]
    fn by_hand() {
        let (bank, load) = (given(Energy::of(40e3)), given(Power::of(1600.0)));
        let share = |x| given(Ratio::of(x));
        near(&autonomy(&bank, &share(0.8), &share(0.92), &load).unwrap(), 18.4 * 3600.0);
        assert!(autonomy(&bank, &share(80.0), &share(0.92), &load).is_err());
        assert!(autonomy(&bank, &share(0.8), &share(0.92), &given(Power::of(0.0))).is_err());
    }
}
