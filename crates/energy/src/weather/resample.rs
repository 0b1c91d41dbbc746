//! Hours made into shorter steps.

use super::{Weather, YEAR_H};
use crate::EnergyError;
use crate::plane::SOLAR_CONSTANT_W_M2;
use crate::sun::{Frames, Observer, SunColumns, columns};
use crate::time::unix_s;

/// Sun and weather at the middle of every step of the year 2023, local standard time.
#[derive(Debug, Clone, PartialEq)]
pub struct WeatherColumns {
    /// Length of a step, in seconds.
    pub step_s: f64,
    /// The sun at the middle of each step.
    pub sun: SunColumns,
    /// Global on the horizontal, in W/m2.
    pub ghi_w_m2: Vec<f64>,
    /// Direct, facing the sun.
    pub dni_w_m2: Vec<f64>,
    /// Diffuse on the horizontal.
    pub dhi_w_m2: Vec<f64>,
    /// Air temperature, in degrees Celsius.
    pub air_degc: Vec<f64>,
    /// Wind speed, in m/s.
    pub wind_m_s: Vec<f64>,
}

/// A year in steps of `steps_per_hour`. Within an hour, light on the horizontal follows the height of the sun
/// and direct light is even while the sun is up; the mean of each hour stays what it was. Air and wind go
/// straight from hour to hour. Where the sun is up for a few steps of an hour alone, and the hour's light in them would
/// be more than stands outside the atmosphere, the rest is cut off: the hour then has less. So steps show the sun's course, not the clouds of minutes, which stay hidden
/// in the hours.
///
/// # Errors
/// Steps that are not 1 to 60 an hour, columns that are no year.
pub fn resample(weather: &Weather, steps_per_hour: usize) -> Result<WeatherColumns, EnergyError> {
    if !(1..=60).contains(&steps_per_hour) {
        let value = steps_per_hour as f64;
        return Err(EnergyError::OutOfRange { what: "steps an hour", value, allowed: "from 1 to 60" });
    }
    for column in
        [&weather.ghi_w_m2, &weather.dni_w_m2, &weather.dhi_w_m2, &weather.air_degc, &weather.wind_m_s]
    {
        if column.len() != YEAR_H {
            let needed = "8760 are needed".to_owned();
            return Err(EnergyError::Count { what: "hours of weather", count: column.len(), needed });
        }
    }
    let s = &weather.station;
    let place = Observer::standard(s.latitude_deg, s.longitude_deg, s.elevation_m)?;
    let step_s = 3600.0 / steps_per_hour as f64;
    let start = unix_s(2023, 1, 1, 0.0)? - s.utc_offset_h * 3600.0 + step_s / 2.0;
    let count = YEAR_H * steps_per_hour;
    let sun = columns(&Frames::new(start, 366.0 * 86_400.0)?, &place, start, step_s, count)?;
    let up_hours = sun.up.chunks(steps_per_hour);
    let spread = |hours: &[f64], follows_height: bool| -> Vec<f64> {
        let mut out = Vec::with_capacity(count);
        for (mean, up) in hours.iter().zip(up_hours.clone()) {
            let weight = |u: &f64| if follows_height { u.max(0.0) } else { f64::from(u8::from(*u > 0.0)) };
            let sum: f64 = up.iter().map(weight).sum();
            // an hour whose sun is down at the middle of every step keeps its mean
            let within = |u: &f64| if sum > 0.0 { mean * weight(u) / sum * up.len() as f64 } else { *mean };
            out.extend(up.iter().map(|u| within(u).min(SOLAR_CONSTANT_W_M2)));
        }
        out
    };
    let straight = |hours: &[f64]| -> Vec<f64> {
        let mut before = hours.last().copied().unwrap_or(0.0);
        let mut out = Vec::with_capacity(count);
        for value in hours {
            for k in 0..steps_per_hour {
                let part = (k as f64 + 0.5) / steps_per_hour as f64;
                out.push(before + (value - before) * part);
            }
            before = *value;
        }
        out
    };
    Ok(WeatherColumns {
        step_s,
        ghi_w_m2: spread(&weather.ghi_w_m2, true),
        dni_w_m2: spread(&weather.dni_w_m2, false),
        dhi_w_m2: spread(&weather.dhi_w_m2, true),
        air_degc: straight(&weather.air_degc),
        wind_m_s: straight(&weather.wind_m_s),
        sun,
    })
}
