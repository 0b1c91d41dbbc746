//! The project file of one site: what people know of it and what they wish, with places kept.
//!
//! [`read`] turns the text of a site file into a [`Site`], or into every mistake in it at once. Reading knows no
//! catalogue and opens no other file: whether a unit exists and what a measured series holds is checked by those
//! who use them.
//!
//! Besides the ids of the `reading` crate (`missing-key`, `unknown-key`, `wrong-type`, `wrong-value`,
//! `out-of-range`, `syntax`), diagnostics of this crate are:
//!
//! | id | said of |
//! |---|---|
//! | `duplicate-name` | two panels, loads, stages, arrays, conductor runs or amendments with one name |
//! | `unknown-reference` | a panel, load or stage that no table defines |
//! | `fed-in-a-circle` | panels that feed one another |
//! | `no-such-connection` | legs that the service does not have |
//! | `contradiction` | two statements that cannot both be true |
//! | `missing-partner` | a key that says nothing without another one |
//! | `earthing-mismatch` | an earthing practice that does not go with the voltage system |
//! | `wrong-order` | temperatures, years or delays that should rise and do not |
//! | `wrong-count` | an hourly profile that does not have 24 entries, a horizon of fewer than 4 |
//! | `wrong-formation` | a formation that cannot be read or does not fit the service or the count |
//! | `never-runs` | a load whose schedule is zero |
//! | `too-many-loads` | more loads than the model is made for |
//! | `unknown-rule` | an amendment of a rule that no book has |
//! | `not-amendable` | an amendment of a figure that this reading cannot change |
//!
//! ```
//! let source = reading::SourceText::new("site.toml", site::STARTER);
//! let (site, mistakes) = site::read(&source);
//! assert!(mistakes.is_empty());
//! assert_eq!(site.unwrap().name.value, "Name of the site");
//! ```

mod check;
mod facts;
mod model;
mod project;
mod read;
mod year;

pub use model::*;
pub use project::{Date, Project, Units};
pub use read::{MOST_LOADS, read, schema};
pub use year::*;

/// A commented site file to start from: every key is explained in it, and it reads without mistakes.
pub const STARTER: &str = include_str!("starter.toml");

/// The commented site file to start from.
pub fn starter() -> &'static str {
    STARTER
}
