//! Rows of any format made into a year, with what is wrong refused or repaired.

use super::closure::Hours;
use super::{Repair, Station, Weather, WeatherError};
use crate::sky::spencer_equation_of_time_s;
use crate::sun::Observer;
use crate::time::{month_days, solar_h};

/// One hour of a file. A value is none where the file has its code for missing.
#[derive(Debug, Clone, Copy)]
pub(super) struct Row {
    pub line: usize,
    pub month: u32,
    pub day: u32,
    /// 1 to 24, the hour's end.
    pub hour: u32,
    /// GHI, DNI, DHI, air temperature, wind speed.
    pub values: [Option<f64>; 5],
}

const NAMES: [&str; 5] = ["GHI", "DNI", "DHI", "air temperature", "wind speed"];

/// A run of missing temperatures up to so many hours is bridged.
const BRIDGED_H: usize = 3;

/// Light while the sun is down, of the year's, that clocks and horizons explain.
const SUN_DOWN_SHARE: f64 = 0.01;

/// Clouds of mornings or afternoons move the middle of the year's light by less than this; an hour's shift
/// does not.
const OFF_NOON_H: f64 = 0.7;

fn stamp(month: u32, day: u32, hour: u32) -> String {
    format!("month {month}, day {day}, hour {hour}")
}

pub(super) fn assemble(station: Station, mut rows: Vec<Row>) -> Result<Weather, WeatherError> {
    let place = Observer::standard(station.latitude_deg, station.longitude_deg, station.elevation_m)?;
    crate::error::within("time zone in hours", station.utc_offset_h, -14.0, 14.0, "from -14 to 14")?;
    let mut repairs = Vec::new();
    leave_out_leap_day(&mut rows, &mut repairs);
    in_order(&rows)?;
    units(&rows)?;
    let sun = Hours::of(&place, station.utc_offset_h)?;
    let [ghi, dni, dhi, air, wind] = [0, 1, 2, 3, 4]
        .map(|k| -> Vec<Option<f64>> { rows.iter().map(|r| r.values.get(k).copied().flatten()).collect() });
    let light = |column: Vec<Option<f64>>, what, repairs: &mut Vec<Repair>| {
        light(&rows, column, &sun.up, what, repairs)
    };
    let weather = Weather {
        ghi_w_m2: light(ghi, NAMES[0], &mut repairs)?,
        dni_w_m2: light(dni, NAMES[1], &mut repairs)?,
        dhi_w_m2: light(dhi, NAMES[2], &mut repairs)?,
        air_degc: bridged(&rows, &air, &mut repairs)?,
        wind_m_s: still(&rows, &wind, &mut repairs),
        station,
        repairs,
    };
    let sum = |of: &dyn Fn(usize) -> bool| -> f64 {
        weather.ghi_w_m2.iter().enumerate().filter(|(k, _)| of(*k)).map(|(_, g)| g).sum()
    };
    let (all, dark) = (sum(&|_| true), sum(&|k| !sun.up.get(k).copied().unwrap_or(false)));
    if dark > SUN_DOWN_SHARE * all {
        return Err(WeatherError::SunDown { share_pct: 100.0 * dark / all });
    }
    let hours = off_noon_h(&weather)?;
    if hours.abs() > OFF_NOON_H {
        return Err(WeatherError::OffNoon { hours });
    }
    super::closure::hold(&weather, &sun)?;
    Ok(weather)
}

/// Hours between the sun's noon and the middle of the year's light.
fn off_noon_h(weather: &Weather) -> Result<f64, WeatherError> {
    let s = &weather.station;
    let east_deg = s.longitude_deg - 15.0 * s.utc_offset_h;
    let (mut moment, mut sum) = (0.0, 0.0);
    for (k, ghi) in weather.ghi_w_m2.iter().enumerate() {
        let equation_s = spencer_equation_of_time_s((k / 24 + 1) as f64)?;
        let after = solar_h((k % 24) as f64 + 0.5, east_deg, equation_s) - 12.0;
        moment += ghi * (after - 24.0 * libm::round(after / 24.0));
        sum += ghi;
    }
    Ok(if sum > 0.0 { moment / sum } else { 0.0 })
}

fn leave_out_leap_day(rows: &mut Vec<Row>, repairs: &mut Vec<Repair>) {
    let leap = |r: &Row| (r.month, r.day) == (2, 29);
    let (line, count) =
        (rows.iter().find(|r| leap(r)).map_or(0, |r| r.line), rows.iter().filter(|r| leap(r)).count());
    if count == 24 {
        rows.retain(|r| !leap(r));
        repairs.push(Repair { line, count, what: "29 February left out: the year has 365 days" });
    }
}

fn in_order(rows: &[Row]) -> Result<(), WeatherError> {
    let mut at = rows.iter();
    for month in 1..=12 {
        for day in 1..=month_days(2023, month as usize) {
            for hour in 1..=24 {
                let Some(row) = at.next() else {
                    let last =
                        rows.last().map_or_else(|| "nothing".to_owned(), |r| stamp(r.month, r.day, r.hour));
                    return Err(WeatherError::Short { rows: rows.len(), last });
                };
                if (row.month, row.day, row.hour) != (month, day, hour) {
                    return Err(WeatherError::Gap {
                        line: row.line,
                        found: stamp(row.month, row.day, row.hour),
                        expected: stamp(month, day, hour),
                    });
                }
            }
        }
    }
    match at.next() {
        Some(row) => Err(WeatherError::Glued { rows: rows.len(), line: row.line }),
        None => Ok(()),
    }
}

fn units(rows: &[Row]) -> Result<(), WeatherError> {
    let check = |k: usize, low: f64, high: f64, help| {
        let bad = rows.iter().find_map(|r| {
            let value = r.values.get(k).copied().flatten()?;
            (!(value >= low && value <= high)).then_some((r.line, value))
        });
        match bad {
            Some((line, value)) => Err(WeatherError::Unit { line, what: NAMES[k], value, help }),
            None => Ok(()),
        }
    };
    for k in 0..3 {
        check(k, 0.0, 1600.0, "light lies between 0 and 1600 W/m2 in the mean of an hour (J/m2 or kJ/m2?)")?;
    }
    check(3, -80.0, 62.0, "air lies between -80 and 62 degC (degF or K?)")?;
    check(4, 0.0, 75.0, "wind lies between 0 and 75 m/s (km/h or miles an hour?)")?;
    // figures that are possible one by one, but not together
    let most = |k: usize| {
        let found = rows.iter().filter_map(|r| Some((r.line, r.values.get(k).copied().flatten()?)));
        found.fold((0, f64::NEG_INFINITY), |best, (line, v)| if v > best.1 { (line, v) } else { best })
    };
    let (line, value) = most(0);
    if value < 50.0 {
        let help = "the brightest hour of the year is darker than an overcast sky (kW/m2 or MJ/m2?)";
        return Err(WeatherError::Unit { line, what: NAMES[0], value, help });
    }
    let air: Vec<f64> = rows.iter().filter_map(|r| r.values[3]).collect();
    let mean = air.iter().sum::<f64>() / air.len().max(1) as f64;
    if mean > 36.0 {
        let help = "the mean of the year is warmer than any place on earth (degF?)";
        return Err(WeatherError::Unit {
            line: rows.first().map_or(0, |r| r.line),
            what: NAMES[3],
            value: mean,
            help,
        });
    }
    Ok(())
}

fn light(
    rows: &[Row],
    column: Vec<Option<f64>>,
    sun_up: &[bool],
    what: &'static str,
    repairs: &mut Vec<Repair>,
) -> Result<Vec<f64>, WeatherError> {
    let mut filled: Option<Repair> = None;
    let mut out = Vec::with_capacity(column.len());
    for ((value, up), row) in column.iter().zip(sun_up).zip(rows) {
        out.push(match value {
            Some(value) => *value,
            None if *up => {
                let run = column.iter().skip(out.len()).take_while(|v| v.is_none()).count();
                let help = "light of the day cannot be guessed; take a whole file";
                return Err(WeatherError::Missing { line: row.line, what, count: run, help });
            }
            None => {
                let repair =
                    Repair { line: row.line, count: 0, what: "light missing while the sun is down set to 0" };
                filled.get_or_insert(repair).count += 1;
                0.0
            }
        });
    }
    repairs.extend(filled);
    Ok(out)
}

fn bridged(
    rows: &[Row],
    column: &[Option<f64>],
    repairs: &mut Vec<Repair>,
) -> Result<Vec<f64>, WeatherError> {
    let mut out: Vec<f64> = Vec::with_capacity(column.len());
    let mut repair: Option<Repair> = None;
    let mut k = 0;
    while let Some(value) = column.get(k) {
        if let Some(value) = value {
            out.push(*value);
            k += 1;
            continue;
        }
        let line = rows.get(k).map_or(0, |r| r.line);
        let run = column.iter().skip(k).take_while(|v| v.is_none()).count();
        let after = column.get(k + run).copied().flatten();
        let (Some(before), Some(after), true) = (out.last().copied(), after, run <= BRIDGED_H) else {
            let help = "at most 3 hours inside the year are bridged by a straight line";
            return Err(WeatherError::Missing { line, what: NAMES[3], count: run, help });
        };
        for step in 1..=run {
            out.push(before + (after - before) * step as f64 / (run + 1) as f64);
        }
        let what = "missing air temperatures bridged by a straight line, at most 3 hours each";
        repair.get_or_insert(Repair { line, count: 0, what }).count += run;
        k += run;
    }
    repairs.extend(repair);
    Ok(out)
}

/// Without wind cells are warmest and give least: that is the safe side.
fn still(rows: &[Row], column: &[Option<f64>], repairs: &mut Vec<Repair>) -> Vec<f64> {
    let missing = column.iter().filter(|v| v.is_none()).count();
    if missing > 0 {
        let line = rows.iter().zip(column).find(|(_, v)| v.is_none()).map_or(0, |(r, _)| r.line);
        repairs.push(Repair {
            line,
            count: missing,
            what: "missing wind speeds set to 0, which gives least power",
        });
    }
    column.iter().map(|v| v.unwrap_or(0.0)).collect()
}
