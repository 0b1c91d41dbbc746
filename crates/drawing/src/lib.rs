//! Drawings: a plant laid out as a scene of typed items in millimetres, the scene written as SVG or DXF, and an audit
//! that holds the scene against what a drafter must not do. Nothing electrical is computed here.

pub mod audit;
mod dxf;
mod scene;
mod single_line;
mod svg;
mod symbol;

pub use dxf::dxf;
pub use scene::{A3, ANSI_B, Item, Layer, Point, Scene, Sheet, width_mm};
pub use single_line::{Texts, single_line};
pub use svg::svg;
pub use symbol::{Symbol, SymbolKind};
