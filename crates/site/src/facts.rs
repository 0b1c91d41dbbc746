//! What the tables say that concerns other tables. Kept apart from the tables themselves, so that a table with
//! one mistake does not make every reference to it a mistake too.

use quantity::VoltageSystem;
use reading::Placed;

use crate::{Arrangement, BypassWish, ExportClass, LegWish};

/// Names that one kind of table defines, and what refers to them.
#[derive(Default)]
pub(crate) struct Names {
    /// Defined names in the order of the file.
    pub defined: Vec<Placed<String>>,
    /// References to them.
    pub references: Vec<Placed<String>>,
    /// Some table of this kind has no readable name: a reference may well mean that one.
    pub incomplete: bool,
}

impl Names {
    /// Takes note of a table and its name, if that could be read.
    pub fn define(&mut self, name: Option<&Placed<String>>) {
        match name {
            Some(name) => self.defined.push(name.clone()),
            None => self.incomplete = true,
        }
    }

    /// Takes note of a reference.
    pub fn refer(&mut self, reference: Option<&Placed<String>>) {
        self.references.extend(reference.cloned());
    }
}

/// A panel and the one that feeds it.
pub(crate) struct Feed {
    pub panel: String,
    pub fed_from: Placed<String>,
}

/// Statements to be checked against each other.
#[derive(Default)]
pub(crate) struct Facts {
    pub panels: Names,
    pub loads: Names,
    pub stages: Names,
    pub arrays: Names,
    /// Whether `[site]` says where it lies, and where that table stands.
    pub position: Option<Placed<bool>>,
    pub feeds: Vec<Feed>,
    pub years: Vec<Placed<u32>>,
    pub connections: Vec<Placed<LegWish>>,
    pub in_measured: Vec<Placed<bool>>,
    pub system: Option<Placed<VoltageSystem>>,
    pub utility: Option<Placed<bool>>,
    pub export: Option<Placed<ExportClass>>,
    pub count: Option<Placed<u32>>,
    pub formation: Option<Placed<String>>,
    pub arrangement: Option<Placed<Arrangement>>,
    pub bypass: Option<Placed<BypassWish>>,
    pub bypass_wished: Option<Placed<bool>>,
}
