//! Code tables as data. A table is a CSV file under `data/` whose head names standard, edition, clause and how
//! well the figures were verified; the file is built into the program and read once.
//!
//! A lookup answers with a [`derivation::Known`] that names table, row and source, marked "confirm in the
//! adopted code" unless two sources agree. Where there is no row, no figure, or sources that disagree, it answers
//! with a typed [`TableError`]: nothing is interpolated and nothing is guessed.
//!
//! ```
//! use quantity::{Quantity, ShaftPower};
//! use tables::us::motor::{MotorVoltage, full_load_current_single};
//! let five = ShaftPower::read("5 hp").unwrap();
//! assert_eq!(full_load_current_single(five, MotorVoltage::V230).unwrap().value().si(), 28.0);
//! assert!(full_load_current_single(ShaftPower::read("4 hp").unwrap(), MotorVoltage::V230).is_err());
//! ```

pub mod battery_gas;
mod error;
mod files;
pub mod iec;
mod keyed;
mod sheet;
mod sign;
pub mod us;
mod verification;

pub use error::TableError;
pub use sheet::{Cell, Sheet};
pub use sign::Sign;
pub use verification::Verification;
