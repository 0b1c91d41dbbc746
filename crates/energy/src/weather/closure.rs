//! Whether the light of a file can be that of one sky: the parts make the whole, no day is brighter than the clearest
//! sky nor without light, both parts are there.
//!
//! GHI = DHI + DNI x sine of the sun's height, at each instant: that is how the three are defined. Files hold means of
//! hours, many of them modelled, some with the sun of the hour's end: so sums of months and of the year are held, and the
//! share of hours that do not close, never a single hour. How far is our own choice, well beyond two typical years of the
//! TMY3 set, of which months close to 1 % and all hours to 5 %.

use super::{Weather, WeatherError, YEAR_H};
use crate::plane::SOLAR_CONSTANT_W_M2;
use crate::sun::{Frames, Observer, columns};
use crate::time::{month_days, unix_s};

/// Parts of a day for which the sun is placed, an hour.
const PARTS: usize = 6;
/// Sums of the year close to this share of the larger.
const YEAR_OFF: f64 = 0.08;
/// Sums of a month.
const MONTH_OFF: f64 = 0.15;
/// An hour that is off by more than this share of the larger does not close.
const HOUR_OFF: f64 = 0.20;
/// Share of the hours that need not close.
const HOURS_OFF: f64 = 0.20;
/// Sine of the sun's height (15 degrees) and light in W/m2 from which an hour is looked at.
const LOOKED_AT: (f64, f64) = (0.26, 50.0);
/// Light outside the atmosphere a day, in Wh/m2, from which a day or a month is looked at.
const DAYLIGHT_WH_M2: f64 = 1000.0;
/// Of a day's light outside the atmosphere the clearest sky lets through less than this; drawn years reach 0.85
/// (our own limit, as those below).
const CLEAREST: f64 = 0.88;
/// The darkest day lets through more than this.
const DARKEST: f64 = 0.01;
/// So many days of each may be gaps or faults of a record.
const ODD_DAYS: usize = 3;
/// Clearness of a month, the same as a year drawn from means must have.
const MONTH_CLEARNESS: (f64, f64) = (0.08, 0.8);
/// Diffuse share of a year's light: high deserts to the cloudiest coasts, with room.
const DIFFUSE_YEAR: (f64, f64) = (0.04, 0.92);
/// Diffuse share of a month's light.
const DIFFUSE_MONTH: (f64, f64) = (0.02, 0.995);
/// Over a year air changes by more kelvins than this anywhere.
const STILL_AIR_K: f64 = 4.0;

/// The sun over each hour. That of the year 2023 stands for all.
pub(super) struct Hours {
    /// Whether it is up at any of seven instants.
    pub up: Vec<bool>,
    /// Mean sine of its height while it is up, over the whole hour.
    height: Vec<f64>,
    /// Light outside the atmosphere on the horizontal, in W/m2.
    outside_w_m2: Vec<f64>,
}

impl Hours {
    pub fn of(place: &Observer, utc_offset_h: f64) -> Result<Self, WeatherError> {
        let start = unix_s(2023, 1, 1, 0.0)? - utc_offset_h * 3600.0;
        let frames = Frames::new(start, 366.0 * 86_400.0)?;
        let sun = columns(&frames, place, start, 3600.0 / PARTS as f64, PARTS * YEAR_H + 1)?;
        let mut out = Self {
            up: Vec::with_capacity(YEAR_H),
            height: Vec::with_capacity(YEAR_H),
            outside_w_m2: Vec::with_capacity(YEAR_H),
        };
        for (ups, far) in sun.up.windows(PARTS + 1).zip(&sun.distance_au).step_by(PARTS) {
            out.up.push(ups.iter().any(|up| *up > -0.015));
            let ends =
                ups.first().zip(ups.last()).map_or(0.0, |(a, b)| f64::midpoint(a.max(0.0), b.max(0.0)));
            let inside: f64 = ups.iter().skip(1).take(PARTS - 1).map(|up| up.max(0.0)).sum();
            let height = (ends + inside) / PARTS as f64;
            out.height.push(height);
            out.outside_w_m2.push(height * SOLAR_CONSTANT_W_M2 / (far * far));
        }
        Ok(out)
    }
}

/// Sums over some hours, in Wh/m2.
#[derive(Debug, Clone, Copy, Default)]
struct Sums {
    whole: f64,
    diffuse: f64,
    direct: f64,
    outside: f64,
}

impl Sums {
    fn of(weather: &Weather, sun: &Hours, from: usize, hours: usize) -> Self {
        let light = weather.ghi_w_m2.iter().zip(&weather.dhi_w_m2).zip(&weather.dni_w_m2);
        let all = light.zip(&sun.height).zip(&sun.outside_w_m2).skip(from).take(hours);
        all.fold(Self::default(), |sum, ((((ghi, dhi), dni), height), outside)| Self {
            whole: sum.whole + ghi,
            diffuse: sum.diffuse + dhi,
            direct: sum.direct + dni * height,
            outside: sum.outside + outside,
        })
    }

    fn parts(&self) -> f64 {
        self.diffuse + self.direct
    }

    fn off(&self) -> f64 {
        (self.whole - self.parts()).abs() / self.whole.max(self.parts()).max(1.0)
    }
}

/// Whether this is the light and the air of a year.
///
/// # Errors
/// What no sky gives.
pub(super) fn hold(weather: &Weather, sun: &Hours) -> Result<(), WeatherError> {
    let year = Sums::of(weather, sun, 0, YEAR_H);
    sums("the year", &year, YEAR_OFF, DIFFUSE_YEAR)?;
    let mut from = 0;
    for month in 1..=12 {
        let hours = 24 * month_days(2023, month) as usize;
        let of = Sums::of(weather, sun, from, hours);
        from += hours;
        if of.outside < DAYLIGHT_WH_M2 * hours as f64 / 24.0 {
            continue;
        }
        let when = format!("month {month}");
        let clearness = of.whole / of.outside;
        if !(MONTH_CLEARNESS.0..=MONTH_CLEARNESS.1).contains(&clearness) {
            return Err(WeatherError::Clearness { when, share_pct: 100.0 * clearness });
        }
        sums(&when, &of, MONTH_OFF, DIFFUSE_MONTH)?;
    }
    hours(weather, sun)?;
    days(weather, sun)?;
    let most = weather.air_degc.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = weather.air_degc.iter().copied().fold(f64::INFINITY, f64::min);
    if most - least < STILL_AIR_K {
        return Err(WeatherError::StillAir { least_degc: least, most_degc: most });
    }
    Ok(())
}

fn sums(when: &str, of: &Sums, most_off: f64, diffuse: (f64, f64)) -> Result<(), WeatherError> {
    let when = when.to_owned();
    if of.off() > most_off {
        let (whole, parts) = (of.whole / 1000.0, of.parts() / 1000.0);
        return Err(WeatherError::Parts { when, whole_kwh_m2: whole, parts_kwh_m2: parts });
    }
    let share = of.diffuse / of.whole.max(1.0);
    if !(diffuse.0..=diffuse.1).contains(&share) {
        return Err(WeatherError::Diffuse { when, share_pct: 100.0 * share });
    }
    Ok(())
}

fn hours(weather: &Weather, sun: &Hours) -> Result<(), WeatherError> {
    let (mut seen, mut open) = (0.0, 0.0);
    for k in 0..YEAR_H {
        let of = Sums::of(weather, sun, k, 1);
        let high = sun.height.get(k).is_some_and(|h| *h > LOOKED_AT.0);
        if high && of.whole.max(of.parts()) > LOOKED_AT.1 {
            seen += 1.0;
            open += if of.off() > HOUR_OFF { 1.0 } else { 0.0 };
        }
    }
    if open > HOURS_OFF * seen {
        return Err(WeatherError::HoursOpen { share_pct: 100.0 * open / seen });
    }
    Ok(())
}

fn days(weather: &Weather, sun: &Hours) -> Result<(), WeatherError> {
    let (mut bright, mut dark) = (Vec::new(), Vec::new());
    for day in 0..YEAR_H / 24 {
        let of = Sums::of(weather, sun, 24 * day, 24);
        if of.outside < DAYLIGHT_WH_M2 {
            continue;
        }
        let clearness = of.whole / of.outside;
        if clearness > CLEAREST {
            bright.push(day + 1);
        } else if clearness < DARKEST {
            dark.push(day + 1);
        }
    }
    for (found, what) in [
        (bright, "are brighter than the clearest sky (scaled, or in another unit?)"),
        (dark, "have no light though the sun is up (missing values written as 0?)"),
    ] {
        if let Some(first) = found.first()
            && found.len() > ODD_DAYS
        {
            return Err(WeatherError::Days { count: found.len(), first: *first, what });
        }
    }
    Ok(())
}
