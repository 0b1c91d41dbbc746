//! A year of hours made from monthly means, for places without a file.
//!
//! 1. Clearness of each month: its mean daily radiation over that outside the atmosphere.
//! 2. Clearness of each day: drawn (`month_draw`).
//! 3. Hours of a day: the day's radiation shared out by Collares-Pereira and Rabl (1979), as Duffie and
//!    Beckman 2.13.2 has it.
//! 4. Diffuse part of each hour: Erbs, Klein and Duffie, Solar Energy 28 (1982) 293.
//! 5. Air: the month's mean, a cosine with its highest at 15:00 of the month's mean daily range, and days
//!    that deviate by the month's spread, the clearer the warmer by half (correlation 0.5: from memory).
//!
//! Limits. Days follow each other as in the mean of many climates, not as at the place; long dull spells,
//! which decide how long a battery must carry, are a matter of luck: run several seeds and take the worst.
//! Within a day the sky is even: no passing clouds. Wind is the month's mean all the time.

use core::f64::consts::PI;

use super::month_draw::{Draw, month};
use super::{Station, Weather, YEAR_H};
use crate::EnergyError;
use crate::error::within;
use crate::sky::{
    cooper_declination_deg, extraterrestrial_daily_wh_m2, extraterrestrial_normal_w_m2, sunset_rad,
};
use crate::sun::{Observer, RAD};
use crate::time::month_days;

/// Monthly means, January first.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MonthlyMeans {
    /// Radiation on the horizontal a day, in Wh/m2.
    pub daily_wh_m2: [f64; 12],
    /// Air temperature, in degrees Celsius.
    pub air_degc: [f64; 12],
    /// Mean difference of the day's highest and lowest temperature, in kelvin.
    pub range_k: [f64; 12],
    /// Spread (standard deviation) of the days' mean temperatures, in kelvin.
    pub spread_k: [f64; 12],
    /// Wind speed, in m/s.
    pub wind_m_s: [f64; 12],
}

/// A year from monthly means; the same seed gives the same year. Monthly sums of global radiation are the
/// given ones.
///
/// # Errors
/// No place, latitudes beyond 66 degrees (a month without sun has no clearness), means that no sky gives
/// (clearness outside 0.08 to 0.8).
pub fn year_from_months(station: Station, means: &MonthlyMeans, seed: u64) -> Result<Weather, EnergyError> {
    Observer::standard(station.latitude_deg, station.longitude_deg, station.elevation_m)?;
    within(
        "latitude in degrees",
        station.latitude_deg,
        -66.0,
        66.0,
        "from -66 to 66: the sun must rise every day",
    )?;
    for k in 0..12 {
        within("mean air temperature in degC", means.air_degc[k], -60.0, 45.0, "from -60 to 45")?;
        within("daily range in K", means.range_k[k], 0.0, 40.0, "from 0 to 40")?;
        within("spread of days in K", means.spread_k[k], 0.0, 20.0, "from 0 to 20")?;
        within("wind speed in m/s", means.wind_m_s[k], 0.0, 30.0, "from 0 to 30")?;
    }
    let mut draw = Draw::new(seed);
    let mut out = Weather {
        station,
        ghi_w_m2: Vec::with_capacity(YEAR_H),
        dni_w_m2: Vec::with_capacity(YEAR_H),
        dhi_w_m2: Vec::with_capacity(YEAR_H),
        air_degc: Vec::with_capacity(YEAR_H),
        wind_m_s: Vec::with_capacity(YEAR_H),
        repairs: Vec::new(),
    };
    let mut day_of_year = 0;
    for m in 0..12 {
        let days = month_days(2023, m + 1) as usize;
        let outside: Vec<Outside> = (1..=days)
            .map(|d| Outside::new(out.station.latitude_deg, (day_of_year + d) as f64))
            .collect::<Result<_, _>>()?;
        let sum: f64 = outside.iter().map(|o| o.daily_wh_m2).sum();
        let clearness = means.daily_wh_m2[m] * days as f64 / sum;
        within(
            "clearness of a month",
            clearness,
            0.08,
            0.8,
            "from 0.08 to 0.8: check unit (Wh/m2 a day) and latitude",
        )?;
        let drawn = month(&mut draw, clearness, days);
        // days of a month differ a little in what stands outside: the month's sum is kept
        let got: f64 = drawn.iter().zip(&outside).map(|(d, o)| d.0 * o.daily_wh_m2).sum();
        let keep = means.daily_wh_m2[m] * days as f64 / got;
        for (drawn, outside) in drawn.iter().zip(&outside) {
            let other = draw.normal();
            let warm = means.spread_k[m] * (0.5 * drawn.1 + (1.0_f64 - 0.25).sqrt() * other);
            one_day(&mut out, means, m, drawn.0 * keep, outside, warm);
        }
        day_of_year += days;
    }
    Ok(out)
}

/// What stands outside the atmosphere on a day.
struct Outside {
    daily_wh_m2: f64,
    normal_w_m2: f64,
    declination_deg: f64,
    sunset_rad: f64,
}

impl Outside {
    fn new(latitude_deg: f64, day: f64) -> Result<Self, EnergyError> {
        let declination_deg = cooper_declination_deg(day)?;
        let normal_w_m2 = extraterrestrial_normal_w_m2(day, crate::plane::SOLAR_CONSTANT_W_M2)?;
        let daily_wh_m2 = extraterrestrial_daily_wh_m2(latitude_deg, declination_deg, normal_w_m2)?;
        Ok(Self {
            daily_wh_m2,
            normal_w_m2,
            declination_deg,
            sunset_rad: sunset_rad(latitude_deg, declination_deg),
        })
    }
}

/// Diffuse share of an hour's radiation by its clearness (Erbs et al. 1982).
fn diffuse_share(k: f64) -> f64 {
    if k <= 0.22 {
        1.0 - 0.09 * k
    } else if k <= 0.8 {
        0.9511 + k * (-0.1604 + k * (4.388 + k * (-16.638 + k * 12.336)))
    } else {
        0.165
    }
}

fn one_day(
    out: &mut Weather,
    means: &MonthlyMeans,
    m: usize,
    clearness: f64,
    outside: &Outside,
    warm_k: f64,
) {
    let s = &out.station;
    // solar noon by the clock; the equation of time is left out (a quarter of an hour at most)
    let noon_h = 12.0 + s.utc_offset_h - s.longitude_deg / 15.0;
    let ws = outside.sunset_rad;
    let bent = libm::sin(ws - 60.0 * RAD);
    let (a, b) = (0.409 + 0.5016 * bent, 0.6609 - 0.4767 * bent);
    let (sin_l, cos_l) = libm::sincos(s.latitude_deg * RAD);
    let (sin_d, cos_d) = libm::sincos(outside.declination_deg * RAD);
    // each hour in twelve parts, since the sun may rise within it
    let mut shape = [0.0; 24];
    let mut height = [0.0; 24];
    let mut lit = [0.0; 24];
    for hour in 0..24 {
        for part in 0..12 {
            let at_h = hour as f64 + (f64::from(part) + 0.5) / 12.0;
            let turns = (at_h - noon_h) / 24.0;
            let w = (turns - libm::round(turns)) * 2.0 * PI;
            if w.abs() < ws {
                shape[hour] += (a + b * libm::cos(w)) * (libm::cos(w) - libm::cos(ws)) / 12.0;
                height[hour] += (sin_l * sin_d + cos_l * cos_d * libm::cos(w)).max(0.0) / 12.0;
                lit[hour] += 1.0 / 12.0;
            }
        }
    }
    let whole: f64 = shape.iter().sum();
    let daily_wh_m2 = clearness * outside.daily_wh_m2;
    for hour in 0..24 {
        let ghi = if whole > 0.0 { daily_wh_m2 * shape[hour] / whole } else { 0.0 };
        let on_top = outside.normal_w_m2 * height[hour];
        let k = if on_top > 0.0 { ghi / on_top } else { 1.0 };
        let mut dhi = ghi * diffuse_share(k);
        // mean height of the sun while it is up; beam of a low sun is held at what stands outside
        let mut dni = if height[hour] > 0.0 { (ghi - dhi) / height[hour] } else { 0.0 };
        if dni > outside.normal_w_m2 * 0.8 || lit[hour] < 0.2 {
            dni = if lit[hour] < 0.2 { 0.0 } else { outside.normal_w_m2 * 0.8 };
            dhi = (ghi - dni * height[hour]).max(0.0);
        }
        out.ghi_w_m2.push(ghi);
        out.dni_w_m2.push(dni);
        out.dhi_w_m2.push(dhi);
        let swing = means.range_k[m] / 2.0 * libm::cos((hour as f64 + 1.0 - 15.0) / 24.0 * 2.0 * PI);
        out.air_degc.push(means.air_degc[m] + warm_k + swing);
        out.wind_m_s.push(means.wind_m_s[m]);
    }
}
