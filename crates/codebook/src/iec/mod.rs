//! Rules of IEC 60364 and of the IEC standards that it works with. One rule a file.

pub mod rated_currents;

pub use rated_currents::next_rated;
