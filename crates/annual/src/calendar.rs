//! Steps of a year of 365 days as dates.

use energy::time::month_days;

/// "14 January 17:00" of a step of a year of 365 days.
pub fn when(step: usize, step_s: f64) -> String {
    const NAMES: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let minutes = (step as f64 * step_s / 60.0) as usize;
    let (month, day) = date(minutes / 1440);
    let name = NAMES.get(month).copied().unwrap_or_default();
    format!("{} {name} {}:{:02}", day + 1, minutes / 60 % 24, minutes % 60)
}

/// "01-14T17:00" of a step: no year, since none is meant.
pub fn stamp(step: usize, step_s: f64) -> String {
    let minutes = (step as f64 * step_s / 60.0) as usize;
    let (month, day) = date(minutes / 1440);
    format!("{:02}-{:02}T{:02}:{:02}", month + 1, day + 1, minutes / 60 % 24, minutes % 60)
}

/// Month and day of it, from 0, of a day of the year.
fn date(day: usize) -> (usize, usize) {
    let mut rest = day % 365;
    for month in 0..12 {
        let days = month_days(2023, month + 1) as usize;
        if rest < days {
            return (month, rest);
        }
        rest -= days;
    }
    (11, 30)
}
