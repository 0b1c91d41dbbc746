//! Where the sun stands, after the SPA report: Reda and Andreas, Solar Position Algorithm for Solar Radiation
//! Applications, NREL/TP-560-34302, revised January 2008. Its stated uncertainty is 0.0003 degrees, years
//! -2000 to
//! 6000; here dates are Gregorian, from 1583.
//!
//! What depends on the place is written as vectors: the sun's direction minus the observer's offset from the
//! centre of the earth, in units of the distance of the sun. That is the report's steps 3.11 to 3.14 without
//! angles.

mod rise;
mod series;
mod spa;
mod terms;

pub use rise::{Rise, RiseSet, rise_set};
pub use series::{Frames, SunColumns, columns};
pub use spa::{Geocentric, geocentric};

use crate::EnergyError;
use crate::error::within;
use crate::time::{delta_t_s, julian_day_of};

/// Degrees in radians.
pub(crate) const RAD: f64 = core::f64::consts::PI / 180.0;

/// A place on the earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observer {
    /// Latitude in degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude in degrees, east positive.
    pub longitude_deg: f64,
    /// Height above sea level, in metres.
    pub elevation_m: f64,
    /// Yearly mean of the air pressure, in pascals; for refraction only.
    pub pressure_pa: f64,
    /// Yearly mean of the air temperature, in degrees Celsius; for refraction only.
    pub temperature_degc: f64,
}

/// The observer with what its latitude gives once and for all.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Ground {
    pub sin_lat: f64,
    pub cos_lat: f64,
    pub longitude_deg: f64,
    /// Distance from the earth's axis and from the equator's plane, in earth radii (report 3.11.3, 3.11.4).
    pub x: f64,
    pub y: f64,
    /// Pressure and temperature factor of refraction (3.14.2), in degrees.
    pub refraction_deg: f64,
}

impl Observer {
    /// A place at the standard atmosphere of its height and 12 degC.
    ///
    /// # Errors
    /// As [`Observer::checked`].
    pub fn standard(latitude_deg: f64, longitude_deg: f64, elevation_m: f64) -> Result<Self, EnergyError> {
        let pressure_pa = crate::sky::pressure_at_pa(elevation_m)?;
        Self { latitude_deg, longitude_deg, elevation_m, pressure_pa, temperature_degc: 12.0 }.checked()
    }

    /// The same, if it is a place.
    ///
    /// # Errors
    /// A latitude beyond 90, a longitude beyond 180 degrees, a height outside -500 to 9000 m, no air
    /// pressure.
    pub fn checked(self) -> Result<Self, EnergyError> {
        within("latitude in degrees", self.latitude_deg, -90.0, 90.0, "from -90 to 90")?;
        within("longitude in degrees", self.longitude_deg, -180.0, 180.0, "from -180 to 180, east positive")?;
        within("elevation in m", self.elevation_m, -500.0, 9000.0, "from -500 to 9000")?;
        within("pressure in Pa", self.pressure_pa, 20_000.0, 120_000.0, "from 20,000 to 120,000")?;
        within("temperature in degC", self.temperature_degc, -90.0, 60.0, "from -90 to 60")?;
        Ok(self)
    }

    pub(crate) fn ground(&self) -> Ground {
        let (sin_lat, cos_lat) = libm::sincos(self.latitude_deg * RAD);
        // flattening and radius of the earth as the report has them
        let u = libm::atan2(0.996_647_19 * sin_lat, cos_lat);
        let (sin_u, cos_u) = libm::sincos(u);
        let height = self.elevation_m / 6_378_140.0;
        let density = self.pressure_pa / 100.0 / 1010.0 * 283.0 / (273.0 + self.temperature_degc);
        Ground {
            sin_lat,
            cos_lat,
            longitude_deg: self.longitude_deg,
            x: cos_u + height * cos_lat,
            y: 0.996_647_19 * sin_u + height * sin_lat,
            refraction_deg: density * 1.02 / 60.0,
        }
    }
}

impl Ground {
    /// Refraction in degrees at a geometric elevation (report 3.14.2); none while the whole disc is below the
    /// horizon by more than the report's refraction there.
    pub fn refraction_deg(&self, elevation_deg: f64) -> f64 {
        if elevation_deg < -(0.26667 + 0.5667) {
            return 0.0;
        }
        self.refraction_deg / libm::tan((elevation_deg + 10.3 / (elevation_deg + 5.11)) * RAD)
    }

    /// The unit vector to the sun in the plane of the horizon: up, south, west. `hour` is sine and cosine of
    /// the geocentric hour angle, `dec` of the declination, `parallax` the sine of the horizontal parallax.
    pub fn horizon(&self, hour: (f64, f64), dec: (f64, f64), parallax: f64) -> [f64; 3] {
        let v = [dec.1 * hour.1 - self.x * parallax, dec.1 * hour.0, dec.0 - self.y * parallax];
        let inverse = 1.0 / (v[0] * v[0] + v[1] * v[1] + v[2] * v[2]).sqrt();
        let up = self.sin_lat * v[2] + self.cos_lat * v[0];
        let south = self.sin_lat * v[0] - self.cos_lat * v[2];
        [up * inverse, south * inverse, v[1] * inverse]
    }
}

/// Where the sun stands for an observer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// Julian day (universal time).
    pub julian_day: f64,
    /// Elevation above the horizon without refraction, in degrees.
    pub geometric_elevation_deg: f64,
    /// Angle from the zenith with refraction, in degrees.
    pub apparent_zenith_deg: f64,
    /// Direction, in degrees from north over east.
    pub azimuth_deg: f64,
    /// Topocentric right ascension, in degrees.
    pub right_ascension_deg: f64,
    /// Topocentric declination, in degrees.
    pub declination_deg: f64,
    /// Distance of sun and earth, in astronomical units.
    pub distance_au: f64,
    /// Apparent minus mean solar time, in seconds.
    pub equation_of_time_s: f64,
}

/// Position of the sun at a time in seconds since 1970 (UTC). `delta_t`: terrestrial minus universal time in
/// seconds, from the table of [`delta_t_s`] where it is not stated.
///
/// # Errors
/// A place that is none, a time outside 1583 to 6000.
pub fn position(observer: &Observer, unix_s: f64, delta_t: Option<f64>) -> Result<Position, EnergyError> {
    let ground = observer.checked()?.ground();
    let julian_day = julian_day_of(unix_s);
    within("time as a Julian day", julian_day, 2_299_239.5, 3_912_880.5, "in the years 1583 to 6000")?;
    let sun = geocentric(julian_day, delta_t.unwrap_or_else(|| delta_t_s(unix_s)));
    let hour_deg = sun.sidereal_deg + ground.longitude_deg - sun.right_ascension_deg;
    let hour = libm::sincos(hour_deg * RAD);
    let dec = libm::sincos(sun.declination_deg * RAD);
    let parallax = sun.parallax_sine();
    let [up, south, west] = ground.horizon(hour, dec, parallax);
    let elevation = libm::asin(up.clamp(-1.0, 1.0)) / RAD;
    // shift of right ascension and the topocentric declination (3.12.2, 3.12.4)
    let shift = libm::atan2(-ground.x * parallax * hour.0, dec.1 - ground.x * parallax * hour.1);
    let declination =
        libm::atan2((dec.0 - ground.y * parallax) * libm::cos(shift), dec.1 - ground.x * parallax * hour.1);
    Ok(Position {
        julian_day,
        geometric_elevation_deg: elevation,
        apparent_zenith_deg: 90.0 - elevation - ground.refraction_deg(elevation),
        azimuth_deg: turn(libm::atan2(west, south) / RAD + 180.0),
        right_ascension_deg: turn(sun.right_ascension_deg + shift / RAD),
        declination_deg: declination / RAD,
        distance_au: sun.distance_au,
        equation_of_time_s: sun.equation_of_time_s(),
    })
}

/// An angle brought into 0 to 360 degrees.
pub(crate) fn turn(deg: f64) -> f64 {
    let rest = deg - 360.0 * libm::floor(deg / 360.0);
    if rest >= 360.0 { 0.0 } else { rest }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::time::parse_unix_s;

    fn report() -> (Observer, f64) {
        let place = Observer {
            latitude_deg: 39.742_476,
            longitude_deg: -105.178_6,
            elevation_m: 1830.14,
            pressure_pa: 82_000.0,
            temperature_degc: 11.0,
        };
        (place, parse_unix_s("2003-10-17T12:30:30", -7.0).unwrap())
    }

    /// Table A5.1 of the report, to the digits printed there.
    #[test]
    fn the_worked_example_of_the_report() {
        let (place, at) = report();
        let sun = geocentric(julian_day_of(at), 67.0);
        let printed = |found: f64, printed: f64, digit: f64, what: &str| {
            assert!((found - printed).abs() < 0.51 * digit, "{what}: {found}, printed {printed}");
        };
        printed(sun.distance_au, 0.996_542_297_4, 1e-10, "R");
        printed(sun.longitude_deg, 24.018_261_691_7, 1e-10, "L");
        printed(sun.latitude_deg, -0.000_101_121_9, 1e-10, "B");
        printed(sun.nutation_deg, -0.003_998_40, 1e-8, "nutation in longitude");
        printed(sun.obliquity_deg, 23.440_465, 1e-6, "obliquity");
        printed(sun.apparent_longitude_deg, 204.008_551_9, 1e-7, "apparent longitude");
        let found = position(&place, at, Some(67.0)).unwrap();
        printed(found.julian_day, 2_452_930.312_847, 1e-6, "Julian day");
        printed(found.right_ascension_deg, 202.227_04, 1e-4, "right ascension");
        printed(found.declination_deg, -9.316_179, 1e-6, "declination");
        printed(found.apparent_zenith_deg, 50.111_62, 1e-5, "zenith");
        printed(found.azimuth_deg, 194.340_24, 1e-5, "azimuth");
    }

    /// On the equator at an equinox the sun is overhead at noon; over a pole it circles at its declination.
    #[test]
    fn ends_of_the_earth() {
        let pole = Observer::standard(90.0, 0.0, 0.0).unwrap();
        let at = parse_unix_s("2024-06-21T03:00", 0.0).unwrap();
        let p = position(&pole, at, None).unwrap();
        assert!((p.geometric_elevation_deg - p.declination_deg).abs() < 1e-9, "{p:?}");
        assert!((p.geometric_elevation_deg - 23.4356).abs() < 1e-3, "{p:?}");
        assert!(Observer::standard(90.1, 0.0, 0.0).is_err());
        assert!(Observer::standard(0.0, f64::NAN, 0.0).is_err());
    }
}
