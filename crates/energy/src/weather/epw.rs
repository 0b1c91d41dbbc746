//! EPW: eight lines of head, then 35 fields an hour. Hour 1 ends at 01:00 local standard time; radiation is
//! the sum over the hour before, in Wh/m2. Fields and codes for missing values: EnergyPlus auxiliary
//! programs, data dictionary of the weather file.

use super::assemble::{Row, assemble};
use super::{Station, Weather, WeatherError};

/// Column and code for "missing if at least" of GHI, DNI, DHI, air temperature, wind speed.
const COLUMNS: [(usize, f64, &str); 5] = [
    (13, 9999.0, "global horizontal radiation"),
    (14, 9999.0, "direct normal radiation"),
    (15, 9999.0, "diffuse horizontal radiation"),
    (6, 99.9, "dry bulb temperature"),
    (21, 999.0, "wind speed"),
];

/// Reads an EPW file.
///
/// # Errors
/// See [`WeatherError`]; the first mistake is named with its line.
pub fn read_epw(bytes: &[u8]) -> Result<Weather, WeatherError> {
    let text = String::from_utf8_lossy(bytes);
    let text = text.trim_start_matches('\u{feff}');
    let mut lines = text.lines().enumerate().map(|(k, l)| (k + 1, l));
    let mut head = Vec::new();
    for keyword in [
        "LOCATION",
        "DESIGN CONDITIONS",
        "TYPICAL/EXTREME PERIODS",
        "GROUND TEMPERATURES",
        "HOLIDAYS/DAYLIGHT SAVINGS",
        "COMMENTS 1",
        "COMMENTS 2",
        "DATA PERIODS",
    ] {
        let line = lines.next().filter(|(_, l)| l.to_uppercase().starts_with(keyword));
        let Some((_, found)) = line else {
            let what = format!("no EPW file: a line that begins with {keyword} is missing");
            return Err(WeatherError::Head { line: head.len() + 1, what });
        };
        head.push(super::tmy3::fields(found));
    }
    let station = station(head.first().map_or(&[], Vec::as_slice))?;
    let periods = head.last().map_or(&[][..], Vec::as_slice);
    if periods.get(1).map(String::as_str) != Some("1") || periods.get(2).map(String::as_str) != Some("1") {
        let what = "one data period with 1 record an hour is read, no other".to_owned();
        return Err(WeatherError::Head { line: 8, what });
    }
    let rows =
        lines.filter(|(_, l)| !l.trim().is_empty()).map(|(line, text)| row(line, &super::tmy3::fields(text)));
    assemble(station, rows.collect::<Result<_, _>>()?)
}

fn station(fields: &[String]) -> Result<Station, WeatherError> {
    let number = |k: usize, what: &'static str| -> Result<f64, WeatherError> {
        let found = fields.get(k).map_or("", |f| f.trim());
        if found.is_empty() {
            let what = format!("LOCATION has no {what}; without it the sun cannot be placed");
            return Err(WeatherError::Head { line: 1, what });
        }
        super::tmy3::number(1, what, found)
    };
    Ok(Station {
        name: fields.get(1).cloned().unwrap_or_default(),
        latitude_deg: number(6, "latitude")?,
        longitude_deg: number(7, "longitude")?,
        utc_offset_h: number(8, "time zone")?,
        elevation_m: number(9, "elevation")?,
    })
}

fn row(line: usize, fields: &[String]) -> Result<Row, WeatherError> {
    if fields.len() < 22 {
        return Err(WeatherError::Head { line, what: format!("{} fields, an EPW row has 35", fields.len()) });
    }
    let whole = |k: usize, what| super::tmy3::whole(line, what, fields.get(k).map_or("", String::as_str));
    let mut values = [None; 5];
    for (value, (column, missing, what)) in values.iter_mut().zip(COLUMNS) {
        let found = super::tmy3::number(line, what, fields.get(column).map_or("", String::as_str))?;
        // a figure of joules or kelvin may reach the code for missing: only the exact codes count
        *value = if found >= missing && is_code(found, missing) { None } else { Some(found) };
    }
    Ok(Row { line, month: whole(1, "month")?, day: whole(2, "day")?, hour: whole(3, "hour")?, values })
}

/// Codes are written as nines: 99.9, 999, 9999, with more digits in some files.
fn is_code(found: f64, missing: f64) -> bool {
    let digits: String = found.to_string().chars().filter(char::is_ascii_digit).collect();
    found >= missing && digits.trim_end_matches('0').chars().all(|c| c == '9')
}
