//! Air with altitude: pressure and density.

use derivation::{Known, Refused, formula};
use quantity::{Density, Length, Pressure, Quantity, Ratio};

/// Constants of the standard atmosphere, ISO 2533, below 11 km.
mod iso {
    pub const SOURCE: &str = "ISO 2533, standard atmosphere";
    pub const PRESSURE_PA: f64 = 101_325.0;
    pub const TEMPERATURE_K: f64 = 288.15;
    pub const LAPSE_K_PER_M: f64 = 0.0065;
    /// g / (R · L).
    pub const EXPONENT: f64 = 9.806_65 / (287.052_87 * LAPSE_K_PER_M);
    pub const GAS_J_PER_KG_K: f64 = 287.052_87;
}

/// Which atmosphere pressure is taken from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Atmosphere {
    /// ISO 2533: 15 degC at sea level.
    Standard,
    /// FAO Irrigation and Drainage Paper 56, equation 7: 20 degC at sea level; a little more pressure above.
    Fao56,
}

fn reach(altitude: &Known<Length>) -> Result<(), Refused> {
    altitude.within(-430.0, 9000.0, "from -430 to 9000 m").map(|_| ())
}

/// Mean pressure at an altitude.
///
/// # Errors
/// The altitude is outside -430 to 9000 m.
pub fn pressure(altitude: &Known<Length>, atmosphere: Atmosphere) -> Result<Known<Pressure>, Refused> {
    reach(altitude)?;
    let h = altitude;
    let what = "mean pressure of the air";
    Ok(match atmosphere {
        Atmosphere::Standard => formula!("p", what, [h] => standard_pressure(h), source = iso::SOURCE),
        Atmosphere::Fao56 => formula!("p", what, [h] => fao_pressure(h), source = "FAO-56, equation 7"),
    })
}

fn standard_temperature_k(altitude: Length) -> f64 {
    iso::TEMPERATURE_K - iso::LAPSE_K_PER_M * altitude.si()
}

/// `p = p_0 (T / T_0)^(g / (R L))`.
fn standard_pressure(altitude: Length) -> Pressure {
    let ratio = standard_temperature_k(altitude) / iso::TEMPERATURE_K;
    Pressure::of(iso::PRESSURE_PA * libm::pow(ratio, iso::EXPONENT))
}

/// `p = 101.3 kPa ((293 - 0.0065 h) / 293)^5.26`.
fn fao_pressure(altitude: Length) -> Pressure {
    Pressure::of(101_300.0 * libm::pow((293.0 - 0.0065 * altitude.si()) / 293.0, 5.26))
}

/// Density of the standard atmosphere at an altitude: `rho = p / (R T)`, `T` falling with altitude too.
///
/// # Errors
/// The altitude is outside -430 to 9000 m.
pub fn density(altitude: &Known<Length>) -> Result<Known<Density>, Refused> {
    reach(altitude)?;
    Ok(formula!("rho", "density of the air", [altitude] => standard_density(altitude), source = iso::SOURCE))
}

/// Density at an altitude over that at sea level, standard atmosphere.
///
/// # Errors
/// The altitude is outside -430 to 9000 m.
pub fn density_ratio(altitude: &Known<Length>) -> Result<Known<Ratio>, Refused> {
    let here = density(altitude)?;
    let sea = Known::constant("rho_0", "density at sea level", standard_density(Length::ZERO), iso::SOURCE);
    Ok(formula!("r", "density over that at sea level", [here, sea] => here / sea))
}

fn standard_density(altitude: Length) -> Density {
    let temperature = standard_temperature_k(altitude);
    Density::of(standard_pressure(altitude).si() / (iso::GAS_J_PER_KG_K * temperature))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::given;

    fn m(altitude: f64) -> Known<Length> {
        given(Length::of(altitude))
    }

    /// VEN-04 and VEN-05: printed values of ISO 2533, and 81.8 kPa of FAO-56.
    #[test]
    fn printed_values() {
        let printed = [(0.0, 1.225), (1000.0, 1.1117), (1500.0, 1.0581), (2000.0, 1.0066), (3000.0, 0.9093)];
        for (altitude, expected) in printed {
            let rho = density(&m(altitude)).unwrap().value().si();
            assert!((rho - expected).abs() < 5e-4 * expected, "{altitude}: {rho}");
        }
        assert!((density_ratio(&m(2000.0)).unwrap().value().si() - 0.8217).abs() < 2e-4);
        let fao = pressure(&m(1800.0), Atmosphere::Fao56).unwrap().value().si();
        assert!((fao - 81_755.8).abs() < 1.0, "{fao}");
        let iso = pressure(&m(1800.0), Atmosphere::Standard).unwrap().value().si();
        assert!((iso - 81_490.0).abs() < 20.0, "{iso}");
        assert!(density(&m(20_000.0)).is_err() && density(&m(f64::NAN)).is_err());
    }
}
