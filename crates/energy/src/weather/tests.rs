mod light;

use std::fmt::Write as _;

use proptest::prelude::*;

use super::*;
use crate::sky::{spencer_declination_deg, spencer_equation_of_time_s};
use crate::time::month_days;

/// An invented year of one even sky, at 40 N on the meridian of its zone.
struct Made {
    head: [String; 8],
    rows: Vec<[String; 35]>,
}

fn made() -> Made {
    let head = [
        "LOCATION,Invented Field,ZZ,ZZZ,made,000000,40.0,-105.0,-7.0,1600.0",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented",
        "COMMENTS 2,invented",
        "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31",
    ]
    .map(str::to_owned);
    let mut rows = Vec::new();
    for month in 1..=12 {
        for day in 1..=month_days(2023, month) {
            for hour in 1..=24u32 {
                rows.push(row(month, day, hour));
            }
        }
    }
    Made { head, rows }
}

fn row(month: usize, day: u32, hour: u32) -> [String; 35] {
    let mut row = [(); 35].map(|()| "0".to_owned());
    // years of months differ, as in a typical year
    row[0] = (1990 + month).to_string();
    row[1] = month.to_string();
    row[2] = day.to_string();
    row[3] = hour.to_string();
    row[4] = "60".to_owned();
    row[6] = format!("{}", 10 + hour % 7);
    let height = height(month, day, hour);
    let ghi = 0.6 * 1361.0 * height;
    let dhi = if height > 0.05 { 0.3 * ghi } else { ghi };
    for (column, light) in [(13, ghi), (14, (ghi - dhi) / height.max(0.05)), (15, dhi)] {
        row[column] = light.round().to_string();
    }
    row[21] = "2.5".to_owned();
    row
}

/// Mean sine of the sun's height over an hour, by textbook formulas (Spencer 1971).
fn height(month: usize, day: u32, hour: u32) -> f64 {
    let before: u32 = (1..month).map(|m| month_days(2023, m)).sum();
    let n = f64::from(before + day);
    let rad = core::f64::consts::PI / 180.0;
    let declination = spencer_declination_deg(n).unwrap() * rad;
    let late_h = spencer_equation_of_time_s(n).unwrap() / 3600.0;
    let parts = (0..12).map(|k| f64::from(hour) - 1.0 + (f64::from(k) + 0.5) / 12.0 + late_h);
    let up = parts.map(|h| {
        let w = (h - 12.0) * 15.0 * rad;
        libm::sin(40.0 * rad) * libm::sin(declination)
            + libm::cos(40.0 * rad) * libm::cos(declination) * libm::cos(w)
    });
    up.map(|up| up.max(0.0)).sum::<f64>() / 12.0
}

impl Made {
    fn epw(&self) -> Result<Weather, WeatherError> {
        let mut text = self.head.join("\r\n") + "\r\n";
        for row in &self.rows {
            let _ = write!(text, "{}\r\n", row.join(","));
        }
        read_epw(text.as_bytes())
    }

    fn tmy3(&self, first: &str, names: &str) -> Result<Weather, WeatherError> {
        let mut text = format!("{first}\n{names}\n");
        for r in &self.rows {
            let missing = |k: usize, code: &str| if r[k] == code { "-9900".to_owned() } else { r[k].clone() };
            let (air, wind) = (missing(6, "99.9"), missing(21, "999"));
            let (g, n, d) = (missing(13, "9999"), missing(14, "9999"), missing(15, "9999"));
            let _ =
                writeln!(text, "{:0>2}/{:0>2}/{},{:0>2}:00,{g},{n},{d},{air},{wind}", r[1], r[2], r[0], r[3]);
        }
        read_tmy3(text.as_bytes())
    }
}

const STATION: &str = "000000,\"Invented Field, north\",ZZ,-7.0,40.0,-105.0,1600";
const NAMES: &str =
    "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),DNI (W/m^2),DHI (W/m^2),Dry-bulb (C),Wspd (m/s)";

#[test]
fn both_formats_read_the_same_year() {
    let year = made();
    let (a, b) = (year.epw().unwrap(), year.tmy3(STATION, NAMES).unwrap());
    assert_eq!(a.ghi_w_m2.len(), YEAR_H);
    assert_eq!(a.ghi_w_m2, b.ghi_w_m2);
    assert_eq!(a.air_degc, b.air_degc);
    assert_eq!((a.station.utc_offset_h, b.station.utc_offset_h), (-7.0, -7.0));
    assert_eq!(b.station.name, "Invented Field, north");
    assert!(a.repairs.is_empty() && b.repairs.is_empty());
    // the light that ends at 13:00 of 1 January is that of hour 13
    let light = (0.6 * 1361.0 * height(1, 1, 13)).round();
    assert!((a.ghi_w_m2[12] - light).abs() < 1e-9 && light > 300.0, "{}", a.ghi_w_m2[12]);
}

#[test]
fn a_short_file_is_refused() {
    let mut year = made();
    year.rows.truncate(8000);
    assert!(matches!(year.epw(), Err(WeatherError::Short { rows: 8000, .. })), "{:?}", year.epw().err());
    assert!(matches!(year.tmy3(STATION, NAMES), Err(WeatherError::Short { .. })));
}

#[test]
fn a_missing_hour_is_named_with_its_line() {
    let mut year = made();
    year.rows.remove(100);
    // eight lines of head, a hundred hours
    assert!(matches!(year.epw(), Err(WeatherError::Gap { line: 109, .. })), "{:?}", year.epw().err());
    assert!(matches!(year.tmy3(STATION, NAMES), Err(WeatherError::Gap { line: 103, .. })));
    year.rows.insert(100, row(1, 5, 4));
    assert!(matches!(year.epw(), Err(WeatherError::Gap { line: 109, .. })));
}

#[test]
fn a_leap_day_is_left_out_and_told() {
    let mut year = made();
    for hour in 1..=24 {
        year.rows.insert(59 * 24 + hour as usize - 1, row(2, 29, hour));
    }
    let read = year.epw().unwrap();
    assert_eq!(read.ghi_w_m2, made().epw().unwrap().ghi_w_m2);
    assert_eq!((read.repairs[0].count, read.repairs[0].line), (24, 8 + 59 * 24 + 1));
    // half a leap day is a mistake
    year.rows.remove(59 * 24);
    assert!(matches!(year.epw(), Err(WeatherError::Gap { .. })));
}

#[test]
fn two_years_glued_together_are_refused() {
    let mut year = made();
    year.rows.extend(made().rows);
    assert!(
        matches!(year.epw(), Err(WeatherError::Glued { rows: 17_520, line: 8769 })),
        "{:?}",
        year.epw().err()
    );
}

#[test]
fn units_of_another_kind_are_refused() {
    let scaled = |column: usize, by: &dyn Fn(f64) -> f64| {
        let mut year = made();
        for row in &mut year.rows {
            row[column] = by(row[column].parse().unwrap()).to_string();
        }
        year.epw()
    };
    // kJ/m2, kW/m2, degF, K, light in J/m2
    for (column, by) in [
        (13, &(|v| v * 3.6) as &dyn Fn(f64) -> f64),
        (13, &|v| v / 1000.0),
        (6, &|v| v * 1.8 + 32.0),
        (6, &|v| v + 273.15),
        (14, &|v| v * 3600.0),
        (13, &|v| v - 1.0),
    ] {
        let read = scaled(column, by);
        assert!(
            matches!(read, Err(WeatherError::Unit { .. })),
            "{column}: {:?}",
            read.map(|w| w.ghi_w_m2[12])
        );
    }
    let names = NAMES.replace("GHI (W/m^2)", "GHI (kJ/m^2)");
    let error = made().tmy3(STATION, &names).unwrap_err();
    assert!(error.to_string().contains("another unit?"), "{error}");
    assert!(made().tmy3(STATION, &NAMES.replace("Wspd (m/s)", "Gust (m/s)")).is_err());
}

#[test]
fn missing_values_are_bridged_or_refused() {
    let mut year = made();
    for k in 200..203 {
        year.rows[k][6] = "99.9".to_owned();
    }
    year.rows[3][13] = "9999".to_owned();
    year.rows[5][21] = "999".to_owned();
    let read = year.epw().unwrap();
    assert_eq!(read.repairs.len(), 3, "{:?}", read.repairs);
    assert!(
        (read.air_degc[200] - (read.air_degc[199] + (read.air_degc[203] - read.air_degc[199]) / 4.0)).abs()
            < 1e-12
    );
    assert_eq!((read.wind_m_s[5], read.ghi_w_m2[3]), (0.0, 0.0));
    assert_eq!(year.tmy3(STATION, NAMES).unwrap().air_degc, read.air_degc);
    // light of the day, or a longer gap
    let mut day = made();
    day.rows[12][14] = "9999".to_owned();
    assert!(
        matches!(day.epw(), Err(WeatherError::Missing { line: 21, count: 1, .. })),
        "{:?}",
        day.epw().err()
    );
    year.rows[203][6] = "99.9".to_owned();
    assert!(matches!(year.epw(), Err(WeatherError::Missing { line: 209, count: 4, .. })));
    // at the end of the year nothing is left to bridge to
    let mut end = made();
    end.rows[8759][6] = "99.9".to_owned();
    assert!(end.epw().is_err());
}

#[test]
fn without_a_time_zone_there_is_no_sun() {
    let mut year = made();
    year.head[0] = "LOCATION,Invented Field,ZZ,ZZZ,made,000000,40.0,-105.0,,1600.0".to_owned();
    let error = year.epw().unwrap_err();
    assert!(error.to_string().contains("time zone"), "{error}");
    assert!(made().tmy3(&STATION.replace("-7.0", ""), NAMES).is_err());
    // a zone that does not fit the light: UTC instead of local time, or the sign of the longitude lost
    for (from, to) in [(",-7.0,", ",0.0,"), ("-105.0", "105.0")] {
        let mut year = made();
        year.head[0] = year.head[0].replace(from, to);
        assert!(matches!(year.epw(), Err(WeatherError::SunDown { .. })), "{to}");
    }
}

/// An hour off: rows that begin where they should end, summer time, a zone too far.
#[test]
fn an_hour_off_is_refused() {
    for zone in [",-6.0,", ",-8.0,"] {
        let mut year = made();
        year.head[0] = year.head[0].replace(",-7.0,", zone);
        let read = year.epw();
        assert!(
            matches!(read, Err(WeatherError::OffNoon { .. } | WeatherError::SunDown { .. })),
            "{zone} {:?}",
            read.err()
        );
    }
}

#[test]
fn what_is_no_weather_file_is_refused() {
    for text in ["", "a,b\n1,2\n", "LOCATION,x\n"] {
        assert!(read_epw(text.as_bytes()).is_err() && read_tmy3(text.as_bytes()).is_err());
    }
    let mut year = made();
    year.head[7] = "DATA PERIODS,1,4,Data,Sunday, 1/ 1,12/31".to_owned();
    assert!(matches!(year.epw(), Err(WeatherError::Head { line: 8, .. })));
    let mut year = made();
    year.rows[10][13] = "n/a".to_owned();
    assert!(matches!(year.epw(), Err(WeatherError::Field { line: 19, .. })));
}

#[test]
fn shorter_steps_keep_the_mean_of_each_hour() {
    let year = made().epw().unwrap();
    for steps in [1, 4, 60] {
        let fine = resample(&year, steps).unwrap();
        for (hours, steps_of) in [
            (&year.ghi_w_m2, &fine.ghi_w_m2),
            (&year.dni_w_m2, &fine.dni_w_m2),
            (&year.dhi_w_m2, &fine.dhi_w_m2),
        ] {
            for (hour, parts) in hours.iter().zip(steps_of.chunks(steps)) {
                let mean = parts.iter().sum::<f64>() / steps as f64;
                assert!((mean - hour).abs() < 1e-9 * hour.max(1.0), "{mean} {hour}");
            }
        }
    }
    assert!(resample(&year, 0).is_err());
}

fn means() -> MonthlyMeans {
    MonthlyMeans {
        daily_wh_m2: [2000., 2900., 4200., 5300., 6100., 6700., 6600., 5900., 4800., 3500., 2200., 1800.],
        air_degc: [1., 3., 7., 12., 17., 21., 24., 23., 19., 13., 7., 2.],
        range_k: [10.0; 12],
        spread_k: [4.0; 12],
        wind_m_s: [3.0; 12],
    }
}

fn station(latitude_deg: f64) -> Station {
    Station {
        name: "invented".to_owned(),
        latitude_deg,
        longitude_deg: 10.0,
        elevation_m: 200.0,
        utc_offset_h: 1.0,
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// Monthly sums are the given ones; the sum of the parts is the whole; the same seed gives the same year.
    #[test]
    fn a_made_year_has_the_means_it_was_made_from(seed in any::<u64>()) {
        let year = year_from_months(station(40.0), &means(), seed).unwrap();
        prop_assert_eq!(year.ghi_w_m2.len(), YEAR_H);
        let mut at = 0;
        for month in 0..12 {
            let hours = 24 * month_days(2023, month + 1) as usize;
            let mean = year.ghi_w_m2[at..at + hours].iter().sum::<f64>() / hours as f64 * 24.0;
            prop_assert!((mean - means().daily_wh_m2[month]).abs() < 1e-6 * mean);
            at += hours;
        }
        for k in 0..YEAR_H {
            prop_assert!(year.dhi_w_m2[k] >= 0.0 && year.dhi_w_m2[k] <= year.ghi_w_m2[k] + 1e-9);
            prop_assert!(year.dni_w_m2[k] >= 0.0 && year.dni_w_m2[k] < 1200.0);
        }
        prop_assert_eq!(&year, &year_from_months(station(40.0), &means(), seed).unwrap());
        prop_assert!(year.ghi_w_m2 != year_from_months(station(40.0), &means(), seed ^ 1).unwrap().ghi_w_m2);
    }
}

#[test]
fn means_that_no_sky_gives_are_refused() {
    let mut wrong = means();
    wrong.daily_wh_m2[5] = 12_500.0;
    assert!(year_from_months(station(40.0), &wrong, 1).is_err());
    // kWh in place of Wh
    wrong.daily_wh_m2 = means().daily_wh_m2.map(|v| v / 1000.0);
    assert!(year_from_months(station(40.0), &wrong, 1).is_err());
    assert!(year_from_months(station(70.0), &means(), 1).is_err());
}
