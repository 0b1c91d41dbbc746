//! Rules of the fire codes that stand beside the electrical codes.

pub mod storage_places;
