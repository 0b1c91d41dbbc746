//! Sun angles and extraterrestrial radiation by day number: the textbook formulas, for hand checks and for
//! monthly means. Series over a year use `sun`.

use core::f64::consts::PI;

use crate::EnergyError;
use crate::error::within;
use crate::sun::RAD;

fn day(n: f64) -> Result<f64, EnergyError> {
    within("day of the year", n, 1.0, 366.0, "from 1 to 366")
}

/// Declination after Cooper, in degrees: 23.45 sin(360/365 (284 + n)).
///
/// # Errors
/// A day outside 1 to 366.
pub fn cooper_declination_deg(day_of_year: f64) -> Result<f64, EnergyError> {
    Ok(23.45 * libm::sin(360.0 / 365.0 * (284.0 + day(day_of_year)?) * RAD))
}

/// Angle of the day after Spencer, in degrees: 360 (n - 1) / 365.
///
/// # Errors
/// A day outside 1 to 366.
pub fn day_angle_deg(day_of_year: f64) -> Result<f64, EnergyError> {
    Ok((day(day_of_year)? - 1.0) * 360.0 / 365.0)
}

/// Declination after Spencer (1971), as Duffie and Beckman equation 1.6.1b has it, in degrees.
///
/// # Errors
/// A day outside 1 to 366.
pub fn spencer_declination_deg(day_of_year: f64) -> Result<f64, EnergyError> {
    let b = day_angle_deg(day_of_year)? * RAD;
    let (sin, cos) = libm::sincos(b);
    let (sin2, cos2) = libm::sincos(2.0 * b);
    let (sin3, cos3) = libm::sincos(3.0 * b);
    let rad = 0.006_918 - 0.399_912 * cos + 0.070_257 * sin - 0.006_758 * cos2 + 0.000_907 * sin2
        - 0.002_697 * cos3
        + 0.001_48 * sin3;
    Ok(rad / RAD)
}

/// R_b: beam on a plane over beam on the horizontal, cos(incidence) / sin(altitude) (Duffie and Beckman 1.8.1); 0 where
/// the sun is behind the plane.
///
/// # Errors
/// The sun is not above the horizon.
pub fn beam_ratio(incidence_deg: f64, altitude_deg: f64) -> Result<f64, EnergyError> {
    let altitude = within("altitude of the sun in degrees", altitude_deg, 1e-3, 90.0, "above the horizon")?;
    let incidence = within("incidence in degrees", incidence_deg, 0.0, 180.0, "from 0 to 180")?;
    Ok(libm::cos(incidence * RAD).max(0.0) / libm::sin(altitude * RAD))
}

/// Declination after FAO paper 56, equation 24, in degrees.
///
/// # Errors
/// A day outside 1 to 366.
pub fn fao_declination_deg(day_of_year: f64) -> Result<f64, EnergyError> {
    Ok(0.409 * libm::sin(2.0 * PI / 365.0 * day(day_of_year)? - 1.39) / RAD)
}

/// Inverse relative distance of earth and sun after FAO paper 56, equation 23: 1 + 0.033 cos(2 pi n / 365);
/// to be multiplied with the solar constant.
///
/// # Errors
/// A day outside 1 to 366.
pub fn fao_inverse_distance(day_of_year: f64) -> Result<f64, EnergyError> {
    Ok(1.0 + 0.033 * libm::cos(2.0 * PI / 365.0 * day(day_of_year)?))
}

/// Equation of time after Spencer (1971), as Duffie and Beckman equation 1.5.3 has it, in seconds.
///
/// # Errors
/// A day outside 1 to 366.
pub fn spencer_equation_of_time_s(day_of_year: f64) -> Result<f64, EnergyError> {
    let b = (day(day_of_year)? - 1.0) * 360.0 / 365.0 * RAD;
    let (sin, cos) = libm::sincos(b);
    let (sin2, cos2) = libm::sincos(2.0 * b);
    let minutes =
        229.2 * (0.000_075 + 0.001_868 * cos - 0.032_077 * sin - 0.014_615 * cos2 - 0.040_89 * sin2);
    Ok(minutes * 60.0)
}

/// Radiation on a plane facing the sun outside the atmosphere, in W/m2, after Spencer (1971).
///
/// # Errors
/// A day outside 1 to 366, a solar constant outside 1300 to 1400 W/m2.
pub fn extraterrestrial_normal_w_m2(day_of_year: f64, solar_constant_w_m2: f64) -> Result<f64, EnergyError> {
    let g = constant(solar_constant_w_m2)?;
    let b = (day(day_of_year)? - 1.0) * 2.0 * PI / 365.0;
    let (sin, cos) = libm::sincos(b);
    let (sin2, cos2) = libm::sincos(2.0 * b);
    Ok(g * (1.000_11 + 0.034_221 * cos + 0.001_28 * sin + 0.000_719 * cos2 + 0.000_077 * sin2))
}

fn constant(w_m2: f64) -> Result<f64, EnergyError> {
    within("solar constant in W/m2", w_m2, 1300.0, 1400.0, "from 1300 to 1400")
}

/// Angles of the sun at a latitude, a declination and an hour angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DayAngles {
    /// Altitude above the horizon, in degrees.
    pub altitude_deg: f64,
    /// Direction, in degrees from south, west positive.
    pub azimuth_from_south_deg: f64,
    /// Hour angle of the sunset, in degrees; 0 in polar night, 180 on a polar day.
    pub sunset_hour_angle_deg: f64,
    /// Length of the day, in hours, of the sun's centre without refraction.
    pub day_length_h: f64,
}

impl DayAngles {
    /// Sine of the direction.
    pub fn sin_azimuth(&self) -> f64 {
        libm::sin(self.azimuth_from_south_deg * RAD)
    }

    /// Sunset, in hours of solar time.
    pub fn sunset_h(&self) -> f64 {
        12.0 + self.day_length_h / 2.0
    }
}

/// Angle in degrees between the sun's beam and the normal of a plane that faces `from_south_deg` (west
/// positive) (Duffie and Beckman 1.6.3, written with altitude and azimuth).
///
/// # Errors
/// Angles out of range.
pub fn incidence_deg(
    latitude_deg: f64,
    declination_deg: f64,
    hour_angle_deg: f64,
    tilt_deg: f64,
    from_south_deg: f64,
) -> Result<f64, EnergyError> {
    let sun = day_angles(latitude_deg, declination_deg, hour_angle_deg)?;
    let tilt = within("tilt in degrees", tilt_deg, 0.0, 180.0, "from 0 to 180")?;
    let facing = within("direction in degrees", from_south_deg, -180.0, 180.0, "from -180 to 180")?;
    let (sin_h, cos_h) = libm::sincos(sun.altitude_deg * RAD);
    let (sin_b, cos_b) = libm::sincos(tilt * RAD);
    let across = libm::cos((sun.azimuth_from_south_deg - facing) * RAD);
    Ok(libm::acos((sin_h * cos_b + cos_h * sin_b * across).clamp(-1.0, 1.0)) / RAD)
}

/// Angles of the sun (Duffie and Beckman, section 1.6); the hour angle in degrees is 15 times the hours after
/// noon.
///
/// # Errors
/// A latitude beyond 90, a declination beyond 23.5 degrees, an hour angle beyond 180.
pub fn day_angles(
    latitude_deg: f64,
    declination_deg: f64,
    hour_angle_deg: f64,
) -> Result<DayAngles, EnergyError> {
    let latitude = within("latitude in degrees", latitude_deg, -90.0, 90.0, "from -90 to 90")?;
    let declination = within("declination in degrees", declination_deg, -23.5, 23.5, "from -23.5 to 23.5")?;
    let hour = within("hour angle in degrees", hour_angle_deg, -180.0, 180.0, "from -180 to 180")?;
    let (sin_l, cos_l) = libm::sincos(latitude * RAD);
    let (sin_d, cos_d) = libm::sincos(declination * RAD);
    let (sin_h, cos_h) = libm::sincos(hour * RAD);
    let up = sin_l * sin_d + cos_l * cos_d * cos_h;
    let azimuth = libm::atan2(cos_d * sin_h, cos_d * cos_h * sin_l - sin_d * cos_l);
    let sunset = sunset_rad(latitude, declination) / RAD;
    Ok(DayAngles {
        altitude_deg: libm::asin(up.clamp(-1.0, 1.0)) / RAD,
        azimuth_from_south_deg: azimuth / RAD,
        sunset_hour_angle_deg: sunset,
        day_length_h: 2.0 * sunset / 15.0,
    })
}

/// Hour angle of the sunset in radians: acos(-tan latitude tan declination), held at polar day and night.
pub(crate) fn sunset_rad(latitude_deg: f64, declination_deg: f64) -> f64 {
    let cos = -libm::tan(latitude_deg * RAD) * libm::tan(declination_deg * RAD);
    libm::acos(cos.clamp(-1.0, 1.0))
}

/// Extraterrestrial radiation on the horizontal over a day, in Wh/m2:
/// 24/pi G (cos L cos d sin ws + ws sin L sin d) (Duffie and Beckman 1.10.3; FAO 56 equation 21).
///
/// # Errors
/// Values out of range.
pub fn extraterrestrial_daily_wh_m2(
    latitude_deg: f64,
    declination_deg: f64,
    normal_w_m2: f64,
) -> Result<f64, EnergyError> {
    let sunset = sunset_rad(latitude_deg, declination_deg);
    extraterrestrial_span_wh_m2(latitude_deg, declination_deg, normal_w_m2, -sunset / RAD, sunset / RAD)
}

/// Extraterrestrial radiation on the horizontal between two hour angles, in Wh/m2; what lies outside the day
/// counts nothing (Duffie and Beckman 1.10.4).
///
/// # Errors
/// Values out of range.
pub fn extraterrestrial_span_wh_m2(
    latitude_deg: f64,
    declination_deg: f64,
    normal_w_m2: f64,
    from_deg: f64,
    to_deg: f64,
) -> Result<f64, EnergyError> {
    let latitude = within("latitude in degrees", latitude_deg, -90.0, 90.0, "from -90 to 90")?;
    let declination = within("declination in degrees", declination_deg, -23.5, 23.5, "from -23.5 to 23.5")?;
    let g = within("extraterrestrial radiation in W/m2", normal_w_m2, 1200.0, 1500.0, "from 1200 to 1500")?;
    let sunset = sunset_rad(latitude, declination);
    let from = (from_deg * RAD).clamp(-sunset, sunset);
    let to = (to_deg * RAD).clamp(-sunset, sunset);
    let (sin_l, cos_l) = libm::sincos(latitude * RAD);
    let (sin_d, cos_d) = libm::sincos(declination * RAD);
    let swept = cos_l * cos_d * (libm::sin(to) - libm::sin(from)) + (to - from) * sin_l * sin_d;
    Ok(12.0 / PI * g * swept.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sun::geocentric;

    /// Against the sun's position by its orbit, 2001 (JD 2451910.5 is the midnight before its day 1): Cooper is off by
    /// more than a degree in spring.
    #[test]
    fn spencer_follows_the_sun() {
        let mut worst = 0.0_f64;
        for n in 1..=365 {
            let sun = geocentric(2_451_910.0 + f64::from(n), 64.0).declination_deg;
            worst = worst.max((spencer_declination_deg(f64::from(n)).unwrap() - sun).abs());
        }
        assert!(worst < 0.5, "{worst}");
        assert!(spencer_declination_deg(367.0).is_err() && spencer_declination_deg(f64::NAN).is_err());
        assert!((day_angle_deg(366.0).unwrap() - 360.0).abs() < 1e-12);
    }

    /// Duffie and Beckman, Example 1.6.1 (Madison, 13 February, 10:30, tilt 45, 15 west of south): 35 degrees; the sine of the
    /// altitude by hand is 0.4914, so R_b = 0.8192 / 0.4914.
    #[test]
    fn beam_ratio_by_hand() {
        assert!((beam_ratio(35.0, 29.43).unwrap() - 1.667).abs() < 1e-3);
        assert!(beam_ratio(120.0, 20.0).unwrap().abs() < 1e-12, "the sun is behind the plane");
        assert!(beam_ratio(35.0, 0.0).is_err() && beam_ratio(35.0, -5.0).is_err());
    }
}
