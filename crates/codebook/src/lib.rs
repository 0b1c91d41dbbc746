//! Rules of the electrical codes: facts in, verdict and derivation out. The codebook knows no plant and no site;
//! whoever calls it brings the facts.
//!
//! Three books: `us/` (NEC), `iec/` (IEC 60364 and what stands beside it) and `fire/` (fire codes beside the NEC). One rule a file. The head of the file
//! says what the rule is, under fixed headings; [`rules`] reads the same text, so that the explanation shown to
//! people and the documentation are one. Where our reading does not reach, a rule answers [`NotCovered`] and
//! nothing else.

mod amend;
mod capacity;
mod check;
pub mod fire;
pub mod iec;
mod not_covered;
mod registry;
mod tiers;
pub mod us;

pub use amend::{Figure, Measure, amendable, amendable_rules, figure, may_fall};
pub use capacity::Capacity;
pub use check::Check;
pub use not_covered::NotCovered;
pub use registry::{Book, Rule, rule, rules, within_sentence};
