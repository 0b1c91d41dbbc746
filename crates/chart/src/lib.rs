//! Charts as SVG: numbers and words in, text out. Nothing electrical is computed here.
//!
//! Colours rise in lightness from few hours to many, so that they stay in order for colour-blind readers and in black
//! and white; every meaning that a colour has also stands in words or as a line.

mod curve;
mod heat;
mod sheet;
mod year;

pub use curve::{Curve, Curves, curves};
pub use heat::{Below, HeatMap, heat_map};
pub use sheet::Sheet;
pub use year::{Band, MonthBars, Part, charge_band, month_bars};
