//! Temperature of cells and what it does to power.

use derivation::{Known, Refused, formula};
use quantity::{Irradiance, Power, Temperature, TemperatureCoefficient, above};

/// Standard test conditions.
const STC: &str = "IEC 60904-3, standard test conditions";

/// Cell temperature at standard test conditions.
#[must_use]
pub fn stc_temperature() -> Known<Temperature> {
    Known::constant("T_stc", "cell temperature of the ratings", Temperature::of(25.0), STC)
}

/// Irradiance at standard test conditions.
#[must_use]
pub fn stc_irradiance() -> Known<Irradiance> {
    Known::constant("G_stc", "irradiance of the ratings", Irradiance::of(1000.0), STC)
}

/// Cell temperature by the nominal operating cell temperature, `T_c = T_a + (NOCT - 20 degC) G / (800 W/m2)`: the
/// definition of NOCT (800 W/m2, 20 degC ambient, 1 m/s of wind, open rack), taken as linear. Modules close to a
/// roof run hotter than this says.
///
/// # Errors
/// A value is outside what modules have, or no number.
pub fn cell_temperature(
    ambient: &Known<Temperature>,
    noct: &Known<Temperature>,
    irradiance: &Known<Irradiance>,
) -> Result<Known<Temperature>, Refused> {
    ambient.within(-90.0, 70.0, "an air temperature from -90 to 70 degC")?;
    noct.within(20.0, 90.0, "from 20 to 90 degC")?;
    irradiance.within(0.0, 2000.0, "from 0 to 2000 W/m2")?;
    let source = "IEC 61215, definition of NOCT";
    let reference = Known::constant("G_n", "irradiance of NOCT", Irradiance::of(800.0), source);
    let air = Known::constant("T_n", "air temperature of NOCT", Temperature::of(20.0), source);
    Ok(formula!("T_c", "cell temperature", [ambient, noct, air, irradiance, reference]
        => ambient + above(noct, air) * (irradiance / reference), source = source))
}

/// DC power at an irradiance and a cell temperature, `P = P_0 G / G_stc (1 + gamma (T_c - T_stc))`: the linear
/// model of NREL/TP-6A20-62641. No inverter, no wiring, no soiling.
///
/// # Errors
/// A value is outside what modules have, or no number; a coefficient above zero (most likely its sign is missing).
pub fn dc_power(
    rated: &Known<Power>,
    irradiance: &Known<Irradiance>,
    cell: &Known<Temperature>,
    gamma: &Known<TemperatureCoefficient>,
) -> Result<Known<Power>, Refused> {
    rated.not_negative()?;
    irradiance.within(0.0, 2000.0, "from 0 to 2000 W/m2")?;
    cell.within(-90.0, 150.0, "from -90 to 150 degC")?;
    falling(gamma)?;
    let (stc, full) = (stc_temperature(), stc_irradiance());
    Ok(formula!("P_dc", "DC power", [rated, irradiance, full, gamma, cell, stc]
        => rated * (irradiance / full) * (1.0 + gamma * above(cell, stc)), source = "NREL/TP-6A20-62641"))
}

/// Refuses a coefficient that is not below zero: voltage and power of silicon cells fall with heat.
///
/// # Errors
/// It is zero or above, steeper than 1 % for each degC, or no number.
pub fn falling(coefficient: &Known<TemperatureCoefficient>) -> Result<(), Refused> {
    coefficient.within(-0.01, -1e-6, "below zero (write the sign) and not steeper than -1 %/degC").map(|_| ())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// SOL-16: 35 + 27 · 1000 / 800 = 68.75 degC. SOL-20: 15000 · 0.9 · (1 - 0.0037 · 30) = 12001.5 W.
    #[test]
    fn by_hand() {
        let t = |x| given(Temperature::of(x));
        let g = |x| given(Irradiance::of(x));
        near(&cell_temperature(&t(35.0), &t(47.0), &g(1000.0)).unwrap(), 68.75);
        near(&cell_temperature(&t(20.0), &t(45.0), &g(800.0)).unwrap(), 45.0);
        let (p, gamma) = (given(Power::of(15_000.0)), given(TemperatureCoefficient::of(-0.0037)));
        near(&dc_power(&p, &g(900.0), &t(55.0), &gamma).unwrap(), 12_001.5);
        near(&dc_power(&p, &g(1000.0), &t(25.0), &gamma).unwrap(), 15_000.0);
        let no_sign = given(TemperatureCoefficient::of(0.0037));
        assert!(dc_power(&p, &g(900.0), &t(55.0), &no_sign).is_err());
        assert!(cell_temperature(&t(f64::NAN), &t(47.0), &g(1000.0)).is_err());
    }
}
