//! The wall: where everything hangs, what it leaves free, what it weighs.

mod board;
mod cable;
mod checks;
mod layout;
mod opposite;
mod plan;

pub use cable::{CABLE_ENDS_M, Cable};
pub use opposite::{hangs_on_wall, opposite_panel, opposite_wall};
pub use plan::{Depth, WallCase, plan};

use derivation::{Known, Place};
use quantity::{Length, Mass};
use saying::Text;

use crate::{Held, Item, Rect};

/// What is on the wall already.
#[derive(Debug, Clone, PartialEq)]
pub struct Obstacle {
    /// What it is, in the site's words: "window", "door", "water pipe".
    pub name: String,
    /// Where it is.
    pub body: Rect,
    /// How far it stands out from the wall.
    pub depth: Length,
    /// It opens to other rooms or outdoors: batteries keep away from it.
    pub opening: bool,
    /// Where the site file says so.
    pub place: Option<Place>,
}

/// One piece of gear where it hangs.
#[derive(Debug, Clone)]
pub struct PlacedItem {
    /// What.
    pub item: Item,
    /// Its housing.
    pub body: Rect,
    /// The housing with the space that its record asks to be kept free; what lies beyond the wall's ends counts as solid.
    pub keep_clear: Rect,
    /// Working space before it, as it is seen on the elevation; none where it has no live parts that are worked on.
    pub working: Option<Rect>,
    /// Studs behind its housing, as distances from the left end of the wall; empty where none are known.
    pub studs: Vec<Length>,
    /// How many studs are behind it at least: where only their spacing is known, so many lie behind any housing as wide.
    pub studs_at_least: u32,
    /// Mass on each stud; all of it where the wall has no studs, none is sure to lie behind it, or it stands on the floor.
    pub mass_per_fixing: Known<Mass>,
    /// It stands on the floor.
    pub on_floor: bool,
}

/// The elevation of the wall: everything that a drawing needs.
#[derive(Debug, Clone)]
pub struct WallPlan {
    /// Width of the wall.
    pub width: Known<Length>,
    /// Height of the wall.
    pub height: Known<Length>,
    /// The site describes the wall; else it is the smallest found that would do, at an assumed height.
    pub stated: bool,
    /// Studs, as distances from the left end; empty where none are stated.
    pub studs: Vec<Length>,
    /// What is on it already.
    pub obstacles: Vec<Obstacle>,
    /// Gear that has its place, from left to right and from the floor up.
    pub items: Vec<PlacedItem>,
    /// Gear that was given none: what, and why.
    pub not_placed: Vec<(String, String)>,
    /// Gear that found none.
    pub left_over: Vec<Item>,
    /// Least width that was found to do, where the stated wall does not.
    pub needed_width: Option<Known<Length>>,
    /// Depth of the working space before the gear, from its front.
    pub working_depth: Option<Known<Length>>,
    /// Highest position of a handle.
    pub reach: Known<Length>,
    /// All gear together.
    pub mass: Known<Mass>,
    /// What became of the rules on the space before the gear.
    pub verdicts: Vec<Verdict>,
    /// Margins and findings.
    pub held: Held,
}

/// What became of a rule on the wall.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Verdict {
    /// Id of the rule in the code book.
    pub rule: &'static str,
    /// Whether it holds; none where the site does not say enough to look.
    pub holds: Option<bool>,
    /// Why.
    pub why: Text,
}
