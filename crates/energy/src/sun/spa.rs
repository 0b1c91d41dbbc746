//! What does not depend on the place: the report's steps 3.1 to 3.10, and the equation of time (A.1).

use super::terms::{DISTANCE, LATITUDE, LONGITUDE, NUTATION, Terms};
use super::{RAD, turn};

/// The sun seen from the centre of the earth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Geocentric {
    /// Distance, in astronomical units.
    pub distance_au: f64,
    /// The earth's heliocentric longitude, in degrees.
    pub longitude_deg: f64,
    /// The earth's heliocentric latitude, in degrees.
    pub latitude_deg: f64,
    /// Nutation in longitude, in degrees.
    pub nutation_deg: f64,
    /// True obliquity of the ecliptic, in degrees.
    pub obliquity_deg: f64,
    /// Apparent longitude of the sun, in degrees.
    pub apparent_longitude_deg: f64,
    /// Right ascension, in degrees.
    pub right_ascension_deg: f64,
    /// Declination, in degrees.
    pub declination_deg: f64,
    /// Apparent sidereal time at Greenwich, in degrees.
    pub sidereal_deg: f64,
    /// Mean longitude of the sun, in degrees.
    pub mean_longitude_deg: f64,
}

/// Sum of the series, each times the next power of t.
fn sum(series: &[Terms], t: f64) -> f64 {
    let (mut total, mut power) = (0.0, 1.0);
    for terms in series {
        let part: f64 = terms.iter().map(|[a, b, c]| a * libm::cos(b + c * t)).sum();
        total += part * power;
        power *= t;
    }
    total * 1e-8
}

fn polynomial(coefficients: &[f64], t: f64) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, c| sum * t + c)
}

/// Nutation in longitude and in obliquity, in degrees (3.4).
fn nutation_deg(jce: f64) -> (f64, f64) {
    let arguments = [
        polynomial(&[297.850_36, 445_267.111_48, -0.001_914_2, 1.0 / 189_474.0], jce),
        polynomial(&[357.527_72, 35_999.050_34, -0.000_160_3, -1.0 / 300_000.0], jce),
        polynomial(&[134.962_98, 477_198.867_398, 0.008_697_2, 1.0 / 56_250.0], jce),
        polynomial(&[93.271_91, 483_202.017_538, -0.003_682_5, 1.0 / 327_270.0], jce),
        polynomial(&[125.044_52, -1_934.136_261, 0.002_070_8, 1.0 / 450_000.0], jce),
    ];
    let (mut longitude, mut obliquity) = (0.0, 0.0);
    for (multiples, [a, b, c, d]) in &NUTATION {
        let angle: f64 = multiples.iter().zip(&arguments).map(|(y, x)| y * x).sum();
        let (sin, cos) = libm::sincos(turn(angle) * RAD);
        longitude += (a + b * jce) * sin;
        obliquity += (c + d * jce) * cos;
    }
    (longitude / 36e6, obliquity / 36e6)
}

/// The sun from the centre of the earth on a Julian day (universal time), `delta_t_s` being terrestrial minus
/// universal time. The day is not checked: the series hold for the years -2000 to 6000.
pub fn geocentric(julian_day: f64, delta_t_s: f64) -> Geocentric {
    let jc = (julian_day - 2_451_545.0) / 36_525.0;
    let jce = jc + delta_t_s / 86_400.0 / 36_525.0;
    let jme = jce / 10.0;
    let distance_au = sum(&DISTANCE, jme);
    let longitude_deg = turn(sum(&LONGITUDE, jme) / RAD);
    let latitude_deg = sum(&LATITUDE, jme) / RAD;
    let (nutation_deg, nutation_of_obliquity_deg) = nutation_deg(jce);
    let mean = [84_381.448, -4680.93, -1.55, 1999.25, -51.38, -249.67, -39.05, 7.12, 27.87, 5.79, 2.45];
    let obliquity_deg = polynomial(&mean, jme / 10.0) / 3600.0 + nutation_of_obliquity_deg;
    let aberration_deg = -20.4898 / (3600.0 * distance_au);
    let apparent_longitude_deg = turn(longitude_deg + 180.0 + nutation_deg + aberration_deg);
    // from the ecliptic to the equator, with the geocentric latitude -B
    let (sin_e, cos_e) = libm::sincos(obliquity_deg * RAD);
    let (sin_l, cos_l) = libm::sincos(apparent_longitude_deg * RAD);
    let (sin_b, cos_b) = libm::sincos(-latitude_deg * RAD);
    let across = cos_b * sin_l * cos_e - sin_b * sin_e;
    let north = sin_b * cos_e + cos_b * sin_e * sin_l;
    let along = cos_b * cos_l;
    let mean_sidereal = 280.460_618_37
        + 360.985_647_366_29 * (julian_day - 2_451_545.0)
        + jc * jc * (0.000_387_933 - jc / 38_710_000.0);
    Geocentric {
        distance_au,
        longitude_deg,
        latitude_deg,
        nutation_deg,
        obliquity_deg,
        apparent_longitude_deg,
        right_ascension_deg: turn(libm::atan2(across, along) / RAD),
        declination_deg: libm::asin(north.clamp(-1.0, 1.0)) / RAD,
        sidereal_deg: turn(mean_sidereal) + nutation_deg * cos_e,
        mean_longitude_deg: turn(polynomial(
            &[280.466_456_7, 360_007.698_277_9, 0.030_320_28, 1.0 / 49_931.0, -1.0 / 15_300.0, -1.0 / 2e6],
            jme,
        )),
    }
}

impl Geocentric {
    /// Sine of the sun's equatorial horizontal parallax (3.11.1).
    pub fn parallax_sine(&self) -> f64 {
        libm::sin(8.794 / (3600.0 * self.distance_au) * RAD)
    }

    /// Apparent minus mean solar time, in seconds (A.1).
    pub fn equation_of_time_s(&self) -> f64 {
        let deg = self.mean_longitude_deg - 0.005_718_3 - self.right_ascension_deg
            + self.nutation_deg * libm::cos(self.obliquity_deg * RAD);
        // a quarter of a day either way is the same angle
        let near = deg - 360.0 * libm::round(deg / 360.0);
        near * 240.0
    }
}
