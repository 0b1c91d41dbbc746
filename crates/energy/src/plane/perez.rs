//! The sky of Perez et al. (1990).
//!
//! Coefficients: Perez, Ineichen, Seals, Michalsky and Stewart, Modeling daylight availability and irradiance
//! components from direct and global irradiance, Solar Energy 44 (1990) 271-289, table 6 (all sites
//! together). The bins of clearness are the paper's table 1.

use crate::EnergyError;
use crate::error::within;
use crate::sun::RAD;

/// F1 and F2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PerezFactors {
    /// Share of the sky's light from round the sun, 0 or more.
    pub f1: f64,
    /// What the band over the horizon adds; below zero where it is darker than the sky.
    pub f2: f64,
}

/// Upper ends of the clearness bins; the eighth is open.
const CLEARNESS: [f64; 7] = [1.065, 1.23, 1.5, 1.95, 2.8, 4.5, 6.2];

/// F11, F12, F13, F21, F22, F23 of each bin.
const COEFFICIENTS: [[f64; 6]; 8] = [
    [-0.008, 0.588, -0.062, -0.060, 0.072, -0.022],
    [0.130, 0.683, -0.151, -0.019, 0.066, -0.029],
    [0.330, 0.487, -0.221, 0.055, -0.064, -0.026],
    [0.568, 0.187, -0.295, 0.109, -0.152, -0.014],
    [0.873, -0.392, -0.362, 0.226, -0.462, 0.001],
    [1.132, -1.237, -0.412, 0.288, -0.823, 0.056],
    [1.060, -1.600, -0.359, 0.264, -1.127, 0.131],
    [0.678, -0.327, -0.250, 0.156, -1.377, 0.251],
];

/// F1 and F2 of a sky. Clearness e = ((DHI + DNI)/DHI + 1.041 z^3)/(1 + 1.041 z^3), z in radians; brightness
/// D = DHI m / extraterrestrial. Without diffuse light both are 0.
///
/// # Errors
/// A zenith angle outside 0 to 90 degrees, radiation that is negative, no extraterrestrial radiation.
pub fn perez_factors(
    zenith_deg: f64,
    dni_w_m2: f64,
    dhi_w_m2: f64,
    extra_w_m2: f64,
    air_mass: f64,
) -> Result<PerezFactors, EnergyError> {
    within("zenith angle in degrees", zenith_deg, 0.0, 90.0, "from 0 to 90")?;
    within("direct radiation in W/m2", dni_w_m2, 0.0, 2000.0, "from 0 to 2000")?;
    within("diffuse radiation in W/m2", dhi_w_m2, 0.0, 2000.0, "from 0 to 2000")?;
    within("extraterrestrial radiation in W/m2", extra_w_m2, 1.0, 2000.0, "above 0")?;
    within("air mass", air_mass, 0.0, 100.0, "from 0 to 100")?;
    Ok(factors(zenith_deg * RAD, dni_w_m2, dhi_w_m2, extra_w_m2, air_mass))
}

#[inline]
pub(super) fn factors(z: f64, dni: f64, dhi: f64, extra: f64, m: f64) -> PerezFactors {
    if dhi <= 0.0 {
        return PerezFactors { f1: 0.0, f2: 0.0 };
    }
    let cube = 1.041 * z * z * z;
    let clearness = ((dhi + dni) / dhi + cube) / (1.0 + cube);
    let brightness = dhi * m / extra;
    let bin = CLEARNESS.iter().filter(|end| clearness >= **end).count();
    let [a, b, c, d, e, f] = COEFFICIENTS.get(bin).copied().unwrap_or_default();
    PerezFactors { f1: (a + b * brightness + c * z).max(0.0), f2: d + e * brightness + f * z }
}
