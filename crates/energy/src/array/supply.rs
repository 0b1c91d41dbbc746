//! From weather to the array's column of a year.

use super::Array;
use crate::EnergyError;
use crate::plane::{Horizon, Plane, Radiation, SkyModel, plane_w_m2, sky};
use crate::weather::WeatherColumns;

/// Power behind the controllers at every step, in watts: several planes, each with its array and its
/// controller, under one horizon.
///
/// # Errors
/// Figures that cannot be, columns of unlike length.
pub fn supply_w(
    weather: &WeatherColumns,
    model: SkyModel,
    arrays: &[(Plane, Array)],
    horizon: Option<&Horizon>,
) -> Result<Vec<f64>, EnergyError> {
    let light =
        Radiation { ghi_w_m2: &weather.ghi_w_m2, dni_w_m2: &weather.dni_w_m2, dhi_w_m2: &weather.dhi_w_m2 };
    let sky = sky(model, &weather.sun, &light)?;
    let mut out = vec![0.0; weather.sun.up.len()];
    for (plane, array) in arrays {
        let on_plane = plane_w_m2(plane, &weather.sun, &light, &sky, horizon)?;
        let power = array.column_w(&weather.air_degc, &on_plane, &weather.wind_m_s)?;
        for (sum, power) in out.iter_mut().zip(power) {
            *sum += power;
        }
    }
    Ok(out)
}
