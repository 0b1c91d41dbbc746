//! TMY3: a line of the station, a line of column names, 8760 rows. Times are the hours' ends, local standard;
//! months come from different years, so years are not looked at. Radiation is the sum over the hour before,
//! in Wh/m2 (NREL/TP-581-43156, May 2008).

use super::assemble::{Row, assemble};
use super::{Station, Weather, WeatherError};

/// Names of GHI, DNI, DHI, air temperature, wind speed.
const COLUMNS: [&str; 5] = ["GHI (W/m^2)", "DNI (W/m^2)", "DHI (W/m^2)", "Dry-bulb (C)", "Wspd (m/s)"];

/// The code for a missing value; some files have -9999.
const MISSING: f64 = -9900.0;

/// Reads a TMY3 file.
///
/// # Errors
/// See [`WeatherError`]; the first mistake is named with its line.
pub fn read_tmy3(bytes: &[u8]) -> Result<Weather, WeatherError> {
    let text = String::from_utf8_lossy(bytes);
    let mut lines = text.trim_start_matches('\u{feff}').lines().enumerate().map(|(k, l)| (k + 1, l));
    let first = lines.next().map(|(_, l)| fields(l)).unwrap_or_default();
    let station = station(&first)?;
    let names = lines.next().map(|(_, l)| fields(l)).unwrap_or_default();
    let column = |name: &str| -> Result<usize, WeatherError> {
        let at = names.iter().position(|n| n.trim() == name);
        at.ok_or_else(|| {
            let stem = name.split(" (").next().unwrap_or(name);
            let other = names.iter().find(|n| n.trim().starts_with(stem) && n.contains('('));
            let what = match other {
                Some(other) => {
                    format!("the column is called \"{other}\", expected \"{name}\": another unit?")
                }
                None => format!("there is no column \"{name}\""),
            };
            WeatherError::Head { line: 2, what }
        })
    };
    let (date, time) = (column("Date (MM/DD/YYYY)")?, column("Time (HH:MM)")?);
    let mut places = [0; 5];
    for (place, name) in places.iter_mut().zip(COLUMNS) {
        *place = column(name)?;
    }
    let mut rows = Vec::new();
    for (line, text) in lines.filter(|(_, l)| !l.trim().is_empty()) {
        let fields = fields(text);
        let at = |k: usize| fields.get(k).map_or("", String::as_str);
        let mut values = [None; 5];
        for ((value, place), name) in values.iter_mut().zip(places).zip(COLUMNS) {
            let found = number(line, name, at(place))?;
            *value = if found <= MISSING { None } else { Some(found) };
        }
        let mut day = at(date).split('/');
        let month = whole(line, "month", day.next().unwrap_or_default())?;
        let day = whole(line, "day", day.next().unwrap_or_default())?;
        let (hour, minute) = at(time).split_once(':').unwrap_or((at(time), ""));
        if minute.trim() != "00" {
            let what = format!("the time is {}, whole hours as 01:00 are read", at(time));
            return Err(WeatherError::Head { line, what });
        }
        rows.push(Row { line, month, day, hour: whole(line, "hour", hour)?, values });
    }
    assemble(station, rows)
}

fn station(fields: &[String]) -> Result<Station, WeatherError> {
    if fields.len() < 7 {
        let what = "no TMY3 file: station, name, state, time zone, latitude, longitude, elevation expected"
            .to_owned();
        return Err(WeatherError::Head { line: 1, what });
    }
    let number = |k: usize, what: &'static str| -> Result<f64, WeatherError> {
        let found = fields.get(k).map_or("", |f| f.trim());
        if found.is_empty() {
            let what = format!("there is no {what}; without it the sun cannot be placed");
            return Err(WeatherError::Head { line: 1, what });
        }
        number(1, what, found)
    };
    Ok(Station {
        name: fields.get(1).cloned().unwrap_or_default(),
        utc_offset_h: number(3, "time zone")?,
        latitude_deg: number(4, "latitude")?,
        longitude_deg: number(5, "longitude")?,
        elevation_m: number(6, "elevation")?,
    })
}

/// Fields between commas; a comma between quotation marks belongs to its field.
pub(super) fn fields(line: &str) -> Vec<String> {
    let (mut out, mut field, mut quoted) = (Vec::new(), String::new(), false);
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => out.push(std::mem::take(&mut field)),
            _ => field.push(c),
        }
    }
    out.push(field);
    out
}

pub(super) fn number(line: usize, what: &'static str, found: &str) -> Result<f64, WeatherError> {
    let read = found.trim().parse::<f64>().ok().filter(|n| n.is_finite());
    read.ok_or_else(|| WeatherError::Field { line, what, found: found.to_owned() })
}

pub(super) fn whole(line: usize, what: &'static str, found: &str) -> Result<u32, WeatherError> {
    found.trim().parse().map_err(|_| WeatherError::Field { line, what, found: found.to_owned() })
}
