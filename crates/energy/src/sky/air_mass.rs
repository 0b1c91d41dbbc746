//! Relative air mass and the pressure of the standard atmosphere.

use crate::EnergyError;
use crate::error::within;

/// Relative air mass at an apparent zenith angle, after Kasten and Young, Applied Optics 28 (1989) 4735:
/// 1 / (cos z + 0.50572 (96.07995 - z)^-1.6364), z in degrees.
///
/// # Errors
/// A zenith angle outside 0 to 90 degrees: below the horizon there is no air mass.
pub fn air_mass(apparent_zenith_deg: f64) -> Result<f64, EnergyError> {
    let z = within("apparent zenith angle in degrees", apparent_zenith_deg, 0.0, 90.0, "from 0 to 90")?;
    Ok(kasten_young(z, libm::cos(z * crate::sun::RAD)))
}

/// The same with the cosine at hand, unchecked.
#[inline]
pub(crate) fn kasten_young(zenith_deg: f64, cos_zenith: f64) -> f64 {
    1.0 / (cos_zenith + 0.505_72 * libm::exp(-1.6364 * libm::log(96.079_95 - zenith_deg)))
}

/// Pressure in pascals at a height in metres, standard atmosphere: 100 ((44331.514 - h) / 11880.516)^(1 /
/// 0.1902632) (common practice; within 0.3 % of other fits below 3 km).
///
/// # Errors
/// A height outside -500 to 9000 m.
pub fn pressure_at_pa(height_m: f64) -> Result<f64, EnergyError> {
    let h = within("height in m", height_m, -500.0, 9000.0, "from -500 to 9000")?;
    Ok(100.0 * libm::pow((44_331.514 - h) / 11_880.516, 1.0 / 0.190_263_2))
}

/// Air mass at a pressure: the relative one times pressure over that of the sea level.
pub fn absolute_air_mass(relative: f64, pressure_pa: f64) -> f64 {
    relative * pressure_pa / 101_325.0
}
