//! Energy of an array by peak sun hours and by performance ratio, and the size that a load asks for. Estimates of
//! means: nothing is said of a single day.

use derivation::{Known, Refused, formula};
use quantity::{Duration, Energy, Irradiation, Power, Ratio};

use crate::cells::stc_irradiance;

/// Rated DC power that gives `energy` in so many `days` of `sun` (hours of full irradiance a day),
/// `P = E / (n H eta)`. Common practice.
///
/// # Errors
/// A value is not above zero, an efficiency is above one, or the sun shines more than a day a day.
pub fn size_for_energy(
    energy: &Known<Energy>,
    days: &Known<Ratio>,
    sun: &Known<Duration>,
    efficiency: &Known<Ratio>,
) -> Result<Known<Power>, Refused> {
    energy.not_negative()?;
    days.above_zero()?;
    sun.within(1.0, 86_400.0, "above 0 and at most 24 h")?;
    efficiency.share()?;
    Ok(formula!("P_dc", "rated DC power of the array", [energy, days, sun, efficiency]
        => energy / days / sun / efficiency, source = "common practice"))
}

/// Energy of an array by its performance ratio (IEC 61724-1), `E = P_0 PR H / G_stc`.
///
/// # Errors
/// A value is negative, a performance ratio is above one, or something is no number.
pub fn energy_by_performance_ratio(
    rated: &Known<Power>,
    ratio: &Known<Ratio>,
    irradiation: &Known<Irradiation>,
) -> Result<Known<Energy>, Refused> {
    rated.not_negative()?;
    ratio.share()?;
    irradiation.not_negative()?;
    let full = stc_irradiance();
    Ok(formula!("E", "energy of the array", [rated, ratio, irradiation, full]
        => rated * ratio * (irradiation / full), source = "IEC 61724-1, performance ratio"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// SOL-17: 600 kWh / 30 / 5 h / 0.8 = 5 kW. SOL-20: 15 kW · 0.88 · 1600 h = 21,120 kWh.
    #[test]
    fn by_hand() {
        let (e, n) = (given(Energy::of(600e3)), given(Ratio::of(30.0)));
        let (h, eta) = (given(Duration::of(5.0 * 3600.0)), given(Ratio::of(0.8)));
        near(&size_for_energy(&e, &n, &h, &eta).unwrap(), 5000.0);
        let (p, pr, sun) = (given(Power::of(15e3)), given(Ratio::of(0.88)), given(Irradiation::of(1.6e6)));
        near(&energy_by_performance_ratio(&p, &pr, &sun).unwrap(), 21.12e6);
        assert!(energy_by_performance_ratio(&p, &given(Ratio::of(1.2)), &sun).is_err());
        assert!(size_for_energy(&e, &n, &h, &given(Ratio::of(0.0))).is_err());
    }
}
