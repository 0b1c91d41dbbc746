//! Cables between housings on the wall: the layout keeps them short.

/// At both ends of a cable together, to the terminals within the housings, in metres (common practice, no source).
pub const CABLE_ENDS_M: f64 = 0.6;

/// A cable from one housing to another, named by their parts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cable {
    /// Where it begins: at the nearest of them.
    pub from: Vec<String>,
    /// The device on its way.
    pub by: Option<String>,
    /// Where it ends.
    pub to: String,
    /// It carries the direct current of battery and units: its length costs more than any other.
    pub direct: bool,
    /// Where it begins is placed first, and what is along it follows.
    pub leads: bool,
}
