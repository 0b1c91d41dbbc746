//! Drawings: a plant laid out as a scene of typed items in millimetres, the scene written as SVG or DXF, and an audit
//! that holds the scene against what a drafter must not do and against the plant. Nothing electrical is computed here:
//! plant, conductors and states are handed in.

mod audit;
mod centre;
mod dc_side;
mod dxf;
mod expected;
mod facts;
mod grounding;
mod labels;
mod links;
mod nets;
mod pen;
mod scene;
mod set;
mod single_line;
mod svg;
mod symbol;
mod three_line;
mod wall;

pub use audit::audit;
pub use dxf::dxf;
pub use expected::{Expected, Outline};
pub use facts::{Facts, State, Texts};
pub use scene::{A3, ANSI_B, Item, Layer, Live, Point, Scene, Sheet, Stroke, width_mm};
pub use set::{Drawing, drawings};
pub use svg::svg;
pub use symbol::{Symbol, SymbolKind};
