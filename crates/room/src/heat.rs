//! Heat that units leave in a room and the air that carries it away.

use derivation::{Known, Refused, formula};
use quantity::{AirFlow, Density, Power, Quantity, Ratio, TemperatureSpan};

/// Watts in a Btu an hour.
const BTU_H_W: f64 = 0.293_071_07;
/// Cubic metres a second in a cubic foot a minute.
const CFM_M3_S: f64 = 0.028_316_846_592 / 60.0;
/// Degrees Fahrenheit in a kelvin.
const DEGF_K: f64 = 1.8;
/// Specific heat of air, J/(kg K).
const AIR_J_PER_KG_K: f64 = 1006.0;

/// Heat of units at an output and an efficiency: input less output, `P (1 / eta - 1)` each, which is more than
/// `P (1 - eta)`.
///
/// # Errors
/// An efficiency above one, a negative output, or a number of units that is not whole.
pub fn heat_of_units(
    output: &Known<Power>,
    efficiency: &Known<Ratio>,
    units: &Known<Ratio>,
) -> Result<Known<Power>, Refused> {
    output.not_negative()?;
    efficiency.share()?;
    units.whole()?;
    Ok(formula!("Q", "heat of the units", [units, output, efficiency]
        => units * output * (1.0 / efficiency - 1.0), source = "energy balance"))
}

/// Air that carries heat away at a rise of temperature, `V = Q / (rho c dT)`.
///
/// # Errors
/// A value is negative, or the rise or the density not above zero.
pub fn air_flow(
    heat: &Known<Power>,
    rise: &Known<TemperatureSpan>,
    density: &Known<Density>,
) -> Result<Known<AirFlow>, Refused> {
    heat.not_negative()?;
    rise.above_zero()?;
    density.within(0.3, 2.0, "from 0.3 to 2 kg/m3")?;
    let c = Known::factor("c_p", "specific heat of air, J/(kg K)", AIR_J_PER_KG_K, "physics of air");
    Ok(formula!("V", "air flow", [heat, density, c, rise] => carried(heat, density, c, rise),
        source = "sensible heat, V = Q / (rho c dT)"))
}

fn carried(heat: Power, density: Density, c: Ratio, rise: TemperatureSpan) -> AirFlow {
    AirFlow::of(heat.si() / (density.si() * c.si() * rise.si()))
}

/// The factor of the trade for air near sea level, Btu/h for each cfm and degF: `60 · 0.075 · 0.24`.
#[must_use]
pub fn trade_factor() -> Known<Ratio> {
    let source = "ASHRAE, sensible heat of standard air";
    let minutes = Known::factor("m", "minutes an hour", 60.0, source);
    let density = Known::factor("d", "density of standard air, lb/ft3", 0.075, source);
    let c = Known::factor("c", "specific heat, Btu/(lb degF)", 0.24, source);
    formula!("k", "heat for each cfm and degF, Btu/h", [minutes, density, c] => minutes * density * c)
}

/// The same flow by the factor of the trade, `cfm = Btu/h / (1.08 dT)`; near sea level only.
///
/// # Errors
/// A value is negative, or the rise not above zero.
pub fn air_flow_by_trade_factor(
    heat: &Known<Power>,
    rise: &Known<TemperatureSpan>,
) -> Result<Known<AirFlow>, Refused> {
    heat.not_negative()?;
    rise.above_zero()?;
    let factor = trade_factor();
    Ok(formula!("V", "air flow by the trade's factor", [heat, factor, rise] => cfm(heat, factor, rise),
        source = "ASHRAE, cfm = Btu/h / (1.08 dT in degF)"))
}

fn cfm(heat: Power, factor: Ratio, rise: TemperatureSpan) -> AirFlow {
    AirFlow::of(heat.si() / BTU_H_W / (factor.si() * rise.si() * DEGF_K) * CFM_M3_S)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// VEN-03: three units of 8 kW at 94 %, 18 degF of rise.
    #[test]
    fn heat_and_air() {
        let n = |x| given(Ratio::of(x));
        let heat = heat_of_units(&given(Power::of(8000.0)), &n(0.94), &n(3.0)).unwrap();
        near(&heat, 3.0 * (8000.0 / 0.94 - 8000.0));
        near(&trade_factor(), 1.08);
        let rise = given(TemperatureSpan::of(10.0));
        let si = air_flow(&heat, &rise, &given(Density::of(1.204))).unwrap();
        assert!((si.value().si() * 3600.0 - 455.315_7).abs() < 1e-3);
        let trade = air_flow_by_trade_factor(&heat, &rise).unwrap();
        assert!((trade.value().si() / CFM_M3_S - 268.88).abs() < 0.02);
        assert!(air_flow(&heat, &given(TemperatureSpan::of(0.0)), &given(Density::of(1.2))).is_err());
        assert!(heat_of_units(&given(Power::of(8000.0)), &n(94.0), &n(3.0)).is_err());
    }
}
