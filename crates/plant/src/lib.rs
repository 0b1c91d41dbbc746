//! The graph of what will be installed, and the only description of it. Nodes are joined by two-ended elements
//! (breakers, switch poles, relays, conductors); devices move elements; automatic devices follow rules that are
//! data, with delays. A plant holds no text for people beyond names, and no computed currents.
//!
//! [`Plant`] is the power path round the inverter group with identical units lumped: sources, transfer and bypass
//! gear, relays, the backup panel. [`full::FullPlant`] has every unit by itself, breakers, conductors, neutral, bonds.

mod build;
pub mod full;
mod graph;
mod rule;

pub use build::{ArraySide, Gear, GeneratorGear, LOCK_OUT_STAYS_OPEN, Layout, build};
pub use graph::{Device, DeviceIx, Element, ElementIx, ElementKind, NodeIx, Plant, Source, SourceKind};
pub use rule::{Condition, Control, Rule};
