//! Whether the weather of a station is that of the site: how far off it stands, how much higher, by which clock.

use energy::weather::{Station, Weather};
use finding::{Finding, Severity};
use quantity::Quantity;
use reading::Placed;
use saying::say;
use site::Site;

use crate::make::refused;

/// Mean radius of the earth.
const EARTH_KM: f64 = 6371.0;
/// Stations of typical years are often so far off; beyond it a warning (our own limits, as those below).
const NEAR_KM: f64 = 100.0;
/// Beyond it the weather is that of another place.
const FAR_KM: f64 = 200.0;
/// 300 m are 2 K in the mean, and often another side of the fog; beyond it a warning.
const LEVEL_M: f64 = 300.0;
/// Beyond it the weather is that of another height.
const HIGH_M: f64 = 600.0;
/// Of an hour: clocks of station and site differ by whole hours to this.
const WHOLE_H: f64 = 0.01;

/// From the site to the station.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    /// Over the ground, in kilometres.
    km: f64,
    /// Upwards, in metres.
    up_m: f64,
    /// By how many hours the clock of the site is ahead.
    ahead_h: f64,
}

impl Way {
    /// None where the site does not say where it lies.
    pub fn to(site: &Site, station: &Station) -> Option<Self> {
        let position = site.position.as_ref()?;
        let (from, to) = (
            (position.latitude.value.si(), position.longitude.value.si()),
            (station.latitude_deg, station.longitude_deg),
        );
        Some(Self {
            km: apart_km(from, to),
            up_m: station.elevation_m - site.altitude.value.si(),
            ahead_h: position.utc_offset.value.si() / 3600.0 - station.utc_offset_h,
        })
    }

    fn words(&self) -> String {
        let side = if self.up_m < 0.0 { "below" } else { "above" };
        format!("{:.0} km from the site, {:.0} m {side} it", self.km, self.up_m.abs())
    }
}

/// Great circle between two places in degrees, by the haversine of the angle (spherical trigonometry).
fn apart_km(from: (f64, f64), to: (f64, f64)) -> f64 {
    let half = |a: f64, b: f64| libm::sin((b - a).to_radians() / 2.0);
    let (north, east) = (half(from.0, to.0), half(from.1, to.1));
    let both = libm::cos(from.0.to_radians()) * libm::cos(to.0.to_radians());
    2.0 * EARTH_KM * libm::asin((north * north + both * east * east).clamp(0.0, 1.0).sqrt())
}

/// The weather by the clock of the site, and where it is from.
///
/// # Errors
/// A station of another place, a clock that is not off by whole hours.
pub(crate) fn brought_here(
    site: &Site,
    file: &Placed<String>,
    weather: &mut Weather,
    notes: &mut Vec<String>,
) -> Result<(), Vec<Finding>> {
    let name = &file.value;
    let way = Way::to(site, &weather.station).ok_or_else(|| refused("[site] does not say where it lies"))?;
    let from = format!("weather of {name}: station {}, {}", weather.station.name, way.words());
    if way.km > FAR_KM || way.up_m.abs() > HIGH_M {
        let message = say!(
            "the year was not run: {from}; beyond {far_km} km or {high_m} m it is the weather of another place",
            from,
            far_km = FAR_KM,
            high_m = HIGH_M
        );
        let finding = Finding::new("year-not-covered", Severity::NotCovered, "year", message)
            .at(Some(&file.place), say!("this file"))
            .fix(say!(
                "the file of a station within {near_km} km and {level_m} m of height",
                near_km = NEAR_KM,
                level_m = LEVEL_M
            ))
            .fix(say!("latitude, longitude and altitude in [site], if they are wrong"))
            .fix(say!("`radiation` and `temperature` of twelve months in place of `file`"));
        return Err(vec![finding]);
    }
    notes.push(from);
    let hours = libm::round(way.ahead_h);
    if (way.ahead_h - hours).abs() > WHOLE_H {
        return Err(refused(format!(
            "{name} goes by UTC {:+} h, the site by a clock {} h off that: hours are moved whole only",
            weather.station.utc_offset_h, way.ahead_h
        )));
    }
    if hours.abs() >= 1.0 {
        moved(weather, hours);
        notes.push(format!(
            "{name} goes by a clock {} h {} that of the site: its hours were moved",
            hours.abs(),
            if hours > 0.0 { "behind" } else { "ahead of" }
        ));
    }
    Ok(())
}

/// The same weather by a clock that is so many whole hours ahead; what falls over the end of the year stands at its
/// beginning.
fn moved(weather: &mut Weather, hours: f64) {
    for column in [
        &mut weather.ghi_w_m2,
        &mut weather.dni_w_m2,
        &mut weather.dhi_w_m2,
        &mut weather.air_degc,
        &mut weather.wind_m_s,
    ] {
        let by = (hours.abs() as usize).min(column.len());
        if hours > 0.0 { column.rotate_right(by) } else { column.rotate_left(by) }
    }
    weather.station.utc_offset_h += hours;
}

/// A station that may stand for the site, and that is not near it.
pub(crate) fn far(site: &Site, file: &Placed<String>, weather: &Weather) -> Option<Finding> {
    let way = Way::to(site, &weather.station)?;
    let near = way.km <= NEAR_KM && way.up_m.abs() <= LEVEL_M;
    let refused = way.km > FAR_KM || way.up_m.abs() > HIGH_M;
    (!near && !refused).then(|| {
        let message = say!(
            "the weather of {file} is that of {station}, {way}: light and cold may differ from those of the site",
            file = file.value,
            station = weather.station.name,
            way = way.words()
        );
        Finding::new("weather-station-far", Severity::Warning, "year", message)
            .in_state("year")
            .at(Some(&file.place), say!("this file"))
            .fix(say!(
                "the file of a station within {near_km} km and {level_m} m of height, if there is one",
                near_km = NEAR_KM,
                level_m = LEVEL_M
            ))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: a degree of a meridian is 111.195 km on this sphere, a degree along 60 N half of it, nearly; over the
    /// date line and to the other side of the earth as well.
    #[test]
    fn distances_by_hand() {
        let degree = core::f64::consts::PI * EARTH_KM / 180.0;
        for (from, to, km) in [
            ((40.0, -105.0), (41.0, -105.0), degree),
            ((60.0, 10.0), (60.0, 11.0), 55.597),
            ((0.0, 179.5), (0.0, -179.5), degree),
            ((40.0, -105.0), (-40.0, 75.0), 180.0 * degree),
            ((40.0, -105.0), (40.0, -105.0), 0.0),
        ] {
            let found = apart_km(from, to);
            assert!((found - km).abs() < 2e-3, "{from:?} {to:?}: {found}, by hand {km}");
        }
    }
}
