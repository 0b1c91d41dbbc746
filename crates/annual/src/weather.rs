//! Weather of the site, read or drawn.

use assess::Case;
use energy::weather::{
    MonthlyMeans, Station, Weather, WeatherColumns, read_epw, read_tmy3, resample, year_from_months,
};
use finding::Finding;
use quantity::Quantity;
use reading::{Files, Placed};
use site::{Site, WeatherWish};

use crate::air::DAILY_RANGE;
use crate::array::Around;
use crate::make::{refuse, refused};
use crate::station::brought_here;

/// The weather that the site names, in steps.
///
/// # Errors
/// A file that cannot be read, no position, means of which no year can be drawn.
pub(crate) fn weather(
    case: &Case<'_>,
    wish: &WeatherWish,
    around: &Around<'_>,
    notes: &mut Vec<String>,
) -> Result<WeatherColumns, Vec<Finding>> {
    let hours = match &wish.file {
        Some(file) => from_file(case.site, file, around.files, notes)?,
        None => from_months(case, wish, around.seed, notes)?,
    };
    resample(&hours, (3600.0 / around.step_s) as usize).map_err(refuse)
}

fn from_file(
    site: &Site,
    file: &Placed<String>,
    files: &dyn Files,
    notes: &mut Vec<String>,
) -> Result<Weather, Vec<Finding>> {
    let name = &file.value;
    let mut weather = of_file(name, files)?;
    brought_here(site, file, &mut weather, notes)?;
    for repair in &weather.repairs {
        let from = if repair.line > 0 { format!(", from line {}", repair.line) } else { String::new() };
        notes.push(format!("{name}: {} values, {}{from}", repair.count, repair.what));
    }
    Ok(weather)
}

/// What a file holds, wherever its station stands.
///
/// # Errors
/// A file that cannot be read.
pub(crate) fn of_file(name: &str, files: &dyn Files) -> Result<Weather, Vec<Finding>> {
    let bytes = files.read(name).map_err(|why| refused(format!("{name} cannot be read: {why}")))?;
    let epw = name.to_ascii_lowercase().ends_with(".epw");
    let read = if epw { read_epw(&bytes) } else { read_tmy3(&bytes) };
    read.map_err(|why| refused(format!("{name}: {why}")))
}

fn from_months(
    case: &Case<'_>,
    wish: &WeatherWish,
    seed: u64,
    notes: &mut Vec<String>,
) -> Result<Weather, Vec<Finding>> {
    let site = case.site;
    let Some(position) = &site.position else {
        return Err(refused("[site] does not say where it lies"));
    };
    let station = Station {
        name: site.name.value.clone(),
        latitude_deg: position.latitude.value.si(),
        longitude_deg: position.longitude.value.si(),
        elevation_m: site.altitude.value.si(),
        utc_offset_h: position.utc_offset.value.si() / 3600.0,
    };
    let month = |of: &dyn Fn(usize) -> Option<f64>| -> [f64; 12] {
        std::array::from_fn(|k| of(k).unwrap_or(f64::NAN))
    };
    let range = wish.daily_range.as_ref().map_or(DAILY_RANGE, |r| r.value);
    let means = MonthlyMeans {
        daily_wh_m2: month(&|k| wish.radiation.get(k).map(|r| r.value.si())),
        air_degc: month(&|k| wish.temperature.get(k).map(|t| t.value.si())),
        range_k: [range.si(); 12],
        spread_k: [4.0; 12],
        wind_m_s: [0.0; 12],
    };
    notes.push(format!(
        "weather: one year of many that fit the monthly means (seed {seed}); days follow each other by chance, a day's \
         highest lies {range} over its lowest, days spread by 4 K, no wind is counted; long dull spells are a matter of \
         luck: try several seeds"
    ));
    year_from_months(station, &means, seed).map_err(refuse)
}
