//! A finished design through a year: its loads by step, its figures as the model of `energy` reads them, the carry
//! time of an outage that starts at any step, and the year in months.
//!
//! Nothing is decided here and nothing is known that is not in the design, the demand, the site or the catalogue;
//! what the records do not hold is an assumption with its reason (`figures`). Days are those of the assessment:
//! never less energy than it has (`loads`).

#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

mod air;
mod array;
mod bank;
mod calendar;
mod figures;
mod fixes;
mod found;
mod generator;
mod loads;
mod make;
mod outages;
mod place;
mod station;
mod weather;
mod year;

pub use array::Counted;
pub use calendar::{stamp, when};
pub use found::{UNSERVED_SHARE, findings, of_year};
pub use loads::{DAYS, Loads, loads};
pub use make::{Asked, Made, make};
pub use outages::{Outages, Row, Shed, cause_words, duration_curve, outages, settled};
pub use year::{Costs, Month, Year, costs, year};
