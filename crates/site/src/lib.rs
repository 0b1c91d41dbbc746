//! The project file of one site.

mod model;

pub use model::*;
