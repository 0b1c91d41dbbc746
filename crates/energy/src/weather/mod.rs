//! Weather of a year: files (EPW, TMY3), or a year made from monthly means; every repair is told.
//!
//! A year here has 365 days of 24 hours, local standard time, from the first of January. The k-th value of
//! radiation is the mean over the k-th hour; temperature and wind are those of its end.

mod assemble;
mod closure;
mod epw;
mod month_draw;
mod monthly;
mod resample;
mod tmy3;

pub use epw::read_epw;
pub use monthly::{MonthlyMeans, year_from_months};
pub use resample::{WeatherColumns, resample};
pub use tmy3::read_tmy3;

/// Hours of a year.
pub const YEAR_H: usize = 8760;

/// Where a weather station stands.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Its name as the file has it.
    pub name: String,
    /// Latitude in degrees, north positive.
    pub latitude_deg: f64,
    /// Longitude in degrees, east positive.
    pub longitude_deg: f64,
    /// Height above sea level, in metres.
    pub elevation_m: f64,
    /// Local standard time, hours east of UTC.
    pub utc_offset_h: f64,
}

/// A year of hours.
#[derive(Debug, Clone, PartialEq)]
pub struct Weather {
    /// The station.
    pub station: Station,
    /// Global on the horizontal, mean of each hour, in W/m2.
    pub ghi_w_m2: Vec<f64>,
    /// Direct, facing the sun.
    pub dni_w_m2: Vec<f64>,
    /// Diffuse on the horizontal.
    pub dhi_w_m2: Vec<f64>,
    /// Air temperature at the end of each hour, in degrees Celsius.
    pub air_degc: Vec<f64>,
    /// Wind speed at the end of each hour, in m/s.
    pub wind_m_s: Vec<f64>,
    /// What was repaired, and how.
    pub repairs: Vec<Repair>,
}

/// A repair of a file, to be told with every result.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repair {
    /// The first line that it concerns; 0 where it concerns none.
    pub line: usize,
    /// How many values.
    pub count: usize,
    /// What was done.
    pub what: &'static str,
}

/// Why a file gives no weather.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum WeatherError {
    /// The head is missing or of another kind.
    #[error("line {line}: {what}")]
    Head {
        /// The line.
        line: usize,
        /// What is wrong, and what should stand there.
        what: String,
    },
    /// A field that cannot be read.
    #[error("line {line}: {what} is \"{found}\", which is no number")]
    Field {
        /// The line.
        line: usize,
        /// Which field.
        what: &'static str,
        /// What stands there.
        found: String,
    },
    /// Fewer rows than a year has hours.
    #[error("the file has {rows} hours, a year has 8760: it is cut off after {last}")]
    Short {
        /// Rows.
        rows: usize,
        /// The last hour that is there.
        last: String,
    },
    /// More rows than a year has hours.
    #[error("the file has {rows} hours, a year has 8760: line {line} begins another year; give one year")]
    Glued {
        /// Rows.
        rows: usize,
        /// The line at which the second year begins.
        line: usize,
    },
    /// An hour is left out, stands twice or out of order.
    #[error(
        "line {line} is {found}, {expected} should stand there: hours are missing, doubled or out of order"
    )]
    Gap {
        /// The line.
        line: usize,
        /// The hour found.
        found: String,
        /// The hour expected.
        expected: String,
    },
    /// A figure that no weather has in the unit of the format.
    #[error("line {line}: {what} is {value}: {help}")]
    Unit {
        /// The line.
        line: usize,
        /// Which field.
        what: &'static str,
        /// The figure.
        value: f64,
        /// What it looks like.
        help: &'static str,
    },
    /// Values are missing and cannot be stood in for.
    #[error("line {line}: {what} is missing for {count} hours: {help}")]
    Missing {
        /// The first line.
        line: usize,
        /// Which field.
        what: &'static str,
        /// How many hours from there.
        count: usize,
        /// Why it is not repaired.
        help: &'static str,
    },
    /// The sun of the place does not fit the light of the file.
    #[error(
        "{share_pct:.1} % of the year's light falls while the sun is down: time zone, longitude or latitude of the head do not fit the rows"
    )]
    SunDown {
        /// Share in percent.
        share_pct: f64,
    },
    /// The light of the year does not stand round the sun's noon.
    #[error(
        "the year's light stands {hours:.2} h off the sun's noon: time zone or longitude of the head, or the hour that a row means, \
         do not fit the rows"
    )]
    OffNoon {
        /// Hours after noon; before it where below 0.
        hours: f64,
    },
    /// The whole is not the sum of its parts.
    #[error(
        "over {when} GHI makes {whole_kwh_m2:.0} kWh/m2, its parts DHI and DNI (by the sun's height) {parts_kwh_m2:.0}: the \
         columns of light do not belong together"
    )]
    Parts {
        /// Which month, or the year.
        when: String,
        /// Sum of GHI.
        whole_kwh_m2: f64,
        /// Sum of DHI and of DNI on the horizontal.
        parts_kwh_m2: f64,
    },
    /// The same, hour by hour.
    #[error(
        "in {share_pct:.0} % of the hours with a high sun GHI is not the sum of DHI and DNI (by the sun's height), to 20 %: \
         the columns of light do not belong together"
    )]
    HoursOpen {
        /// Share in percent.
        share_pct: f64,
    },
    /// Direct or diffuse light is missing.
    #[error(
        "over {when} {share_pct:.1} % of the light is diffuse, as under no sky: DNI or DHI is missing, or not what it says"
    )]
    Diffuse {
        /// Which month, or the year.
        when: String,
        /// Share in percent.
        share_pct: f64,
    },
    /// A month is darker or brighter than any.
    #[error(
        "{when} has {share_pct:.1} % of the light outside the atmosphere, as under no sky (scaled, cut off, or another unit?)"
    )]
    Clearness {
        /// Which month.
        when: String,
        /// Share in percent.
        share_pct: f64,
    },
    /// Days that no sky gives.
    #[error("{count} days, the first is day {first} of the year, {what}")]
    Days {
        /// How many.
        count: usize,
        /// The first, from 1.
        first: usize,
        /// What they are.
        what: &'static str,
    },
    /// The air does not change.
    #[error(
        "the air stays between {least_degc} and {most_degc} degC all year: a value that stands still is not measured"
    )]
    StillAir {
        /// Its lowest.
        least_degc: f64,
        /// Its highest.
        most_degc: f64,
    },
    /// The place is none.
    #[error("the station: {0}")]
    Place(#[from] crate::EnergyError),
}

#[cfg(test)]
mod tests;
