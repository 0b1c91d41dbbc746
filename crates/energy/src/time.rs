//! Civil dates, Julian days, seconds since 1970 (no leap seconds), and the difference of terrestrial and
//! universal time. Dates are Gregorian: earlier ones than 1583 are refused.

use crate::EnergyError;

/// Julian day of 1970-01-01T00:00 UTC.
const JD_1970: f64 = 2_440_587.5;

/// Days since 1970-01-01 of a Gregorian date (from memory: the count of days from the first of March of year
/// 0).
fn days_of(year: i64, month: i64, day: i64) -> i64 {
    let (y, m) = if month <= 2 { (year - 1, month + 9) } else { (year, month - 3) };
    let before = 365 * y + y.div_euclid(4) - y.div_euclid(100) + y.div_euclid(400);
    before + (153 * m + 2) / 5 + day - 1 - 719_468
}

/// Whether a year has a 29 February.
pub fn is_leap(year: i64) -> bool {
    (year % 4 == 0 && year % 100 != 0) || year % 400 == 0
}

/// Days of a month.
pub fn month_days(year: i64, month: usize) -> u32 {
    match month {
        2 if is_leap(year) => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// Day of the year, 1 for the first of January; not checked against the length of the month.
pub fn day_of_year(year: i64, month: usize, day: u32) -> u32 {
    (1..month).map(|m| month_days(year, m)).sum::<u32>() + day
}

/// Julian day of a date whose day carries the time as a fraction.
///
/// # Errors
/// A year before 1583 (not Gregorian) or after 6000, no such month or day.
pub fn julian_day(year: i64, month: i64, day: f64) -> Result<f64, EnergyError> {
    let whole = checked(year, month, day)?;
    Ok(whole as f64 + (day - libm::floor(day)) + JD_1970)
}

fn checked(year: i64, month: i64, day: f64) -> Result<i64, EnergyError> {
    if !(1583..=6000).contains(&year) {
        let allowed = "from 1583 to 6000: the algorithm's Gregorian years";
        return Err(EnergyError::OutOfRange { what: "year", value: year as f64, allowed });
    }
    if !(1..=12).contains(&month) {
        return Err(EnergyError::OutOfRange { what: "month", value: month as f64, allowed: "from 1 to 12" });
    }
    let last = f64::from(month_days(year, usize::try_from(month).unwrap_or(1)));
    if !(day >= 1.0 && day < last + 1.0) {
        return Err(EnergyError::OutOfRange { what: "day", value: day, allowed: "a day of the month" });
    }
    Ok(days_of(year, month, libm::floor(day) as i64))
}

/// Seconds since 1970-01-01T00:00 UTC of a date and second of the day, both UTC.
///
/// # Errors
/// As [`julian_day`].
pub fn unix_s(year: i64, month: i64, day: u32, second_of_day: f64) -> Result<f64, EnergyError> {
    Ok(checked(year, month, f64::from(day))? as f64 * 86_400.0 + second_of_day)
}

/// Julian day of seconds since 1970.
pub fn julian_day_of(unix_s: f64) -> f64 {
    unix_s / 86_400.0 + JD_1970
}

/// Seconds since 1970 of `2003-10-17T12:30:30` written in a zone `offset_h` hours east of UTC. Seconds may be
/// left out.
///
/// # Errors
/// A text of another form, or no such date.
pub fn parse_unix_s(text: &str, offset_h: f64) -> Result<f64, EnergyError> {
    let refuse = || EnergyError::Time { text: text.to_owned(), help: "write 2003-10-17T12:30:30" };
    let (date, clock) = text.trim().split_once(['T', ' ']).ok_or_else(refuse)?;
    let number = |part: Option<&str>| part.and_then(|p| p.parse::<u32>().ok()).ok_or_else(refuse);
    let (mut d, mut c) = (date.split('-'), clock.split(':'));
    let (year, month, day) = (number(d.next())?, number(d.next())?, number(d.next())?);
    let (hour, minute) = (number(c.next())?, number(c.next())?);
    let second = c.next().map_or(Ok(0.0), |s| s.parse::<f64>().map_err(|_| refuse()))?;
    let clock_fine = hour < 24 && minute < 60 && (0.0..60.0).contains(&second);
    if d.next().is_some() || c.next().is_some() || !clock_fine {
        return Err(refuse());
    }
    let of_day = f64::from(hour) * 3600.0 + f64::from(minute) * 60.0 + second;
    Ok(unix_s(i64::from(year), i64::from(month), day, of_day)? - offset_h * 3600.0)
}

/// Solar time in hours from standard time: four minutes a degree that the place lies east of the zone's
/// meridian, plus the equation of time (Duffie and Beckman 1.5.2).
pub fn solar_h(standard_h: f64, east_of_meridian_deg: f64, equation_of_time_s: f64) -> f64 {
    standard_h + east_of_meridian_deg / 15.0 + equation_of_time_s / 3600.0
}

/// Terrestrial minus universal time on the first of January, in seconds: observed values (bulletins of the
/// earth rotation service; from memory, rounded to 0.1 s).
const DELTA_T: [(f64, f64); 12] = [
    (1970.0, 40.2),
    (1975.0, 45.5),
    (1980.0, 50.5),
    (1985.0, 54.3),
    (1990.0, 56.9),
    (1995.0, 60.8),
    (2000.0, 63.8),
    (2005.0, 64.7),
    (2010.0, 66.1),
    (2015.0, 67.6),
    (2020.0, 69.4),
    (2025.0, 69.1),
];

/// Terrestrial minus universal time, in seconds, interpolated; the nearest end outside 1970 to 2025. One
/// second moves the sun by 1.2e-5 degrees, so that two minutes either way stay below 0.0015.
pub fn delta_t_s(unix_s: f64) -> f64 {
    let year = 1970.0 + unix_s / (365.2425 * 86_400.0);
    let [first, .., last] = DELTA_T;
    if year <= first.0 {
        return first.1;
    }
    for pair in DELTA_T.windows(2) {
        if let [a, b] = pair
            && year < b.0
        {
            return a.1 + (b.1 - a.1) * (year - a.0) / (b.0 - a.0);
        }
    }
    last.1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_is_a_day_across_leap_years_and_centuries() {
        for year in [1599, 1600, 1899, 1900, 1999, 2000, 2023, 2024, 2100] {
            let mut before = julian_day(year - 1, 12, 31.0).unwrap();
            for month in 1..=12 {
                for day in 1..=month_days(year, month) {
                    let now = julian_day(year, month as i64, f64::from(day)).unwrap();
                    assert!((now - before - 1.0).abs() < 1e-9, "{year}-{month}-{day}");
                    before = now;
                }
            }
        }
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in
            ["2003-02-29T00:00", "2003-10-17", "2003-10-17T24:00", "2003-13-01T00:00", "1500-01-01T00:00"]
        {
            assert!(parse_unix_s(text, 0.0).is_err(), "{text}");
        }
        assert!((parse_unix_s("1970-01-02T01:00", 1.0).unwrap() - 86_400.0).abs() < 1e-9);
    }
}
