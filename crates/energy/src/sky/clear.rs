//! Clear skies.

use crate::EnergyError;
use crate::error::within;
use crate::sun::RAD;

/// Global horizontal irradiance under a clear sky after Haurwitz (1945), in the form of SAND2012-2389:
/// 1098 cos z exp(-0.059 / cos z), in W/m2.
///
/// # Errors
/// A zenith angle outside 0 to 180 degrees. At and below the horizon the answer is 0.
pub fn haurwitz_ghi_w_m2(apparent_zenith_deg: f64) -> Result<f64, EnergyError> {
    let z = within("apparent zenith angle in degrees", apparent_zenith_deg, 0.0, 180.0, "from 0 to 180")?;
    let cos = libm::cos(z * RAD);
    Ok(if cos > 1e-9 { 1098.0 * cos * libm::exp(-0.059 / cos) } else { 0.0 })
}

/// Direct radiation of a clear day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ClearDay {
    /// Apparent extraterrestrial flux A, in W/m2.
    pub flux_w_m2: f64,
    /// Optical depth k.
    pub optical_depth: f64,
    /// Air mass 1 / sin(altitude).
    pub air_mass: f64,
    /// Beam on a plane facing the sun, in W/m2.
    pub beam_w_m2: f64,
}

/// A clear day after the ASHRAE model of 1993, with the sine fits of Masters, Renewable and Efficient
/// Electric Power Systems, section 7.8: A = 1160 + 75 sin(360/365 (n - 275)), k = 0.174 + 0.035 sin(360/365
/// (n - 100)), beam = A exp(-k m), m = 1 / sin(altitude).
///
/// # Errors
/// A day outside 1 to 366, a sun at or below the horizon.
pub fn clear_day(day_of_year: f64, altitude_deg: f64) -> Result<ClearDay, EnergyError> {
    let n = within("day of the year", day_of_year, 1.0, 366.0, "from 1 to 366")?;
    let altitude = within("altitude of the sun in degrees", altitude_deg, 1e-6, 90.0, "above 0, at most 90")?;
    let yearly = |from: f64| libm::sin(360.0 / 365.0 * (n - from) * RAD);
    let flux_w_m2 = 1160.0 + 75.0 * yearly(275.0);
    let optical_depth = 0.174 + 0.035 * yearly(100.0);
    let air_mass = 1.0 / libm::sin(altitude * RAD);
    Ok(ClearDay {
        flux_w_m2,
        optical_depth,
        air_mass,
        beam_w_m2: flux_w_m2 * libm::exp(-optical_depth * air_mass),
    })
}

/// Beam, sky and ground on a collector on such a day, in W/m2; diffuse on the horizontal is `sky_factor`
/// times the beam (Masters, section 7.9: even sky).
///
/// # Errors
/// Values out of range.
pub fn collector_on_clear_day(
    day: &ClearDay,
    altitude_deg: f64,
    incidence_deg: f64,
    tilt_deg: f64,
    sky_factor: f64,
    albedo: f64,
) -> Result<[f64; 3], EnergyError> {
    let tilt = within("tilt in degrees", tilt_deg, 0.0, 180.0, "from 0 to 180")?;
    let share = within("sky factor", sky_factor, 0.0, 1.0, "from 0 to 1")?;
    let albedo = within("reflectance of the ground", albedo, 0.0, 1.0, "from 0 to 1")?;
    let cos_b = libm::cos(tilt * RAD);
    let horizontal = day.beam_w_m2 * (libm::sin(altitude_deg * RAD) + share);
    Ok([
        day.beam_w_m2 * libm::cos(incidence_deg * RAD).max(0.0),
        day.beam_w_m2 * share * (1.0 + cos_b) / 2.0,
        horizontal * albedo * (1.0 - cos_b) / 2.0,
    ])
}
