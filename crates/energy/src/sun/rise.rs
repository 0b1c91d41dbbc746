//! Rise, transit and set (report A.2).

use super::{Observer, RAD, geocentric, turn};
use crate::EnergyError;
use crate::time::julian_day_of;

/// What the sun does on a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rise {
    /// It rises and sets.
    RisesAndSets(RiseSet),
    /// It stays above the horizon.
    AlwaysUp,
    /// It stays below.
    AlwaysDown,
}

/// Times in hours from the beginning of the UTC day that was asked for; they lie in 0 to 24, so a set that
/// belongs to the evening of a place in the west may come out before its rise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RiseSet {
    /// The upper limb rises, at the report's refraction.
    pub rise_utc_h: f64,
    /// The sun crosses the meridian.
    pub transit_utc_h: f64,
    /// The upper limb sets.
    pub set_utc_h: f64,
}

/// Rise, transit and set on the UTC day that begins at `midnight_unix_s`.
///
/// # Errors
/// A place that is none.
pub fn rise_set(observer: &Observer, midnight_unix_s: f64, delta_t_s: f64) -> Result<Rise, EnergyError> {
    let ground = observer.checked()?.ground();
    let jd = julian_day_of(midnight_unix_s);
    let nu = geocentric(jd, delta_t_s).sidereal_deg;
    // the days before and after in terrestrial time
    let [a, b, c] = [-1.0, 0.0, 1.0].map(|d| geocentric(jd + d, 0.0));
    let horizon = -0.8333;
    let (sin_d, cos_d) = libm::sincos(b.declination_deg * RAD);
    let cos_h = (libm::sin(horizon * RAD) - ground.sin_lat * sin_d) / (ground.cos_lat * cos_d);
    if cos_h.is_nan() || cos_h > 1.0 {
        let always_up = cos_h.is_nan() && ground.sin_lat * sin_d > 0.0;
        return Ok(if always_up { Rise::AlwaysUp } else { Rise::AlwaysDown });
    }
    if cos_h < -1.0 {
        return Ok(Rise::AlwaysUp);
    }
    let h0 = libm::acos(cos_h) / RAD;
    let day = |m: f64| m - libm::floor(m);
    let m0 = day((b.right_ascension_deg - ground.longitude_deg - nu) / 360.0);
    // right ascension turns over once a year
    let near = |deg: f64| deg - 360.0 * libm::round(deg / 360.0);
    let between = |first: f64, second: f64, n: f64| n * (first + second + (second - first) * n) / 2.0;
    let at = |m: f64| {
        let n = m + delta_t_s / 86_400.0;
        let alpha = b.right_ascension_deg
            + between(
                near(b.right_ascension_deg - a.right_ascension_deg),
                near(c.right_ascension_deg - b.right_ascension_deg),
                n,
            );
        let delta = b.declination_deg
            + between(b.declination_deg - a.declination_deg, c.declination_deg - b.declination_deg, n);
        let hour = near(nu + 360.985_647 * m + ground.longitude_deg - alpha);
        (hour, delta)
    };
    let crossing = |m: f64| {
        let (hour, delta) = at(m);
        let (sin_h, cos_h) = libm::sincos(hour * RAD);
        let (sin_d, cos_d) = libm::sincos(delta * RAD);
        let height = libm::asin(ground.sin_lat * sin_d + ground.cos_lat * cos_d * cos_h) / RAD;
        m + (height - horizon) / (360.0 * cos_d * ground.cos_lat * sin_h)
    };
    let rise = crossing(day(m0 - h0 / 360.0));
    let set = crossing(day(m0 + h0 / 360.0));
    let transit = m0 - at(m0).0 / 360.0;
    Ok(Rise::RisesAndSets(RiseSet {
        rise_utc_h: day(rise) * 24.0,
        transit_utc_h: day(transit) * 24.0,
        set_utc_h: day(set) * 24.0,
    }))
}

/// Hours of a UTC day brought into a day `offset_h` hours east of UTC.
pub(crate) fn local_h(utc_h: f64, offset_h: f64) -> f64 {
    turn((utc_h + offset_h) * 15.0) / 15.0
}

impl RiseSet {
    /// The same in a zone `offset_h` hours east of UTC, each brought into 0 to 24.
    #[must_use]
    pub fn local(&self, offset_h: f64) -> Self {
        Self {
            rise_utc_h: local_h(self.rise_utc_h, offset_h),
            transit_utc_h: local_h(self.transit_utc_h, offset_h),
            set_utc_h: local_h(self.set_utc_h, offset_h),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sun::position;
    use crate::time::unix_s;

    /// At the times found, the sun's centre stands at the report's horizon, or on the meridian.
    #[test]
    fn the_sun_is_where_it_should_be_at_its_rise_and_set() {
        for (latitude, longitude) in [(51.0, 0.0), (-33.9, 151.2), (0.0, -78.0), (64.0, 25.0), (-54.8, -68.3)]
        {
            let place = Observer::standard(latitude, longitude, 0.0).unwrap();
            for (month, day) in [(1, 15), (3, 20), (6, 20), (9, 23), (12, 31)] {
                let midnight = unix_s(2026, month, day, 0.0).unwrap();
                let Rise::RisesAndSets(found) = rise_set(&place, midnight, 69.0).unwrap() else {
                    panic!("{latitude} {month}");
                };
                for at in [found.rise_utc_h, found.set_utc_h] {
                    let p = position(&place, midnight + at * 3600.0, Some(69.0)).unwrap();
                    assert!((p.geometric_elevation_deg + 0.8333).abs() < 0.01, "{latitude} {month} {p:?}");
                }
                let p = position(&place, midnight + found.transit_utc_h * 3600.0, Some(69.0)).unwrap();
                assert!(libm::sin(p.azimuth_deg * RAD).abs() < 5e-3, "{latitude} {month} {p:?}");
            }
        }
    }

    #[test]
    fn polar_day_and_night() {
        let place = Observer::standard(78.2, 15.6, 0.0).unwrap();
        let on = |month| rise_set(&place, unix_s(2026, month, 21, 0.0).unwrap(), 69.0).unwrap();
        assert_eq!(on(6), Rise::AlwaysUp);
        assert_eq!(on(12), Rise::AlwaysDown);
    }
}
