//! Rules of the electrical codes: facts in, verdict and derivation out. The codebook knows no plant and no site;
//! whoever calls it brings the facts.
//!
//! One rule a file under `us/`. The head of the file says what the rule is, under fixed headings; [`rules`] reads
//! the same text, so that the explanation shown to people and the documentation are one. Where our reading does
//! not reach, a rule answers [`NotCovered`] and nothing else.

mod capacity;
pub mod fire;
mod not_covered;
mod registry;
mod tiers;
pub mod us;

pub use capacity::Capacity;
pub use not_covered::NotCovered;
pub use registry::{Rule, rule, rules};
