//! One candidate after another, until one holds.

use std::collections::BTreeMap;

use assess::{Assessed, Case, Formation};
use catalog::NeutralPole;
use finding::Finding;
use plant::Layout;
use states::proof::Proof;

use crate::{CodeWork, Decision, Held, Placed, Prepared, Wire, arrangement, checks, formation};

/// A finished design.
#[derive(Debug, Clone)]
pub struct Design<'a> {
    /// The plant and what it was built from.
    pub case: Case<'a>,
    /// What was found of it.
    pub assessed: Assessed,
    /// What was decided, in the order of deciding.
    pub decisions: Vec<Decision>,
    /// Its breakers on the alternating-current side; empty where they were not asked for.
    pub breakers: Vec<crate::BreakerChoice<'a>>,
    /// The buses on which the breakers of its units sit; empty where they were not asked for.
    pub distribution: Vec<crate::DistributionBus<'a>>,
    /// Its conductors; empty where they were not asked for.
    pub wires: Vec<Wire>,
    /// Rules that were held on its parts.
    pub held: Vec<Held>,
    /// A busbar holds only with the breakers of its sources at its end away from the main.
    pub(crate) source_at_far_end: bool,
    /// What the book asks for beside the runs.
    pub code: CodeWork,
    /// The interlock proof, where it was asked for.
    pub proof: Option<Proof>,
    /// Layout of each array whose strings stand, by its id, where they were asked for.
    pub arrays: BTreeMap<String, crate::ArrayLayout>,
    /// Room, wall and links, where they were asked for.
    pub placed: Option<Placed>,
}

impl Design<'_> {
    /// Findings that make the check fail.
    pub fn failing(&self) -> impl Iterator<Item = &Finding> {
        self.assessed.ledger.findings.iter().filter(|f| f.severity.fails())
    }
}

/// Decisions fixed from outside the site file.
#[derive(Debug, Clone, Default)]
pub struct Fixed {
    /// Units on every leg (two-leg units: in all).
    pub per_leg: Option<u32>,
    /// Arrangement.
    pub layout: Option<Layout>,
    /// Neutral of transfer and bypass gear.
    pub neutral: Option<NeutralPole>,
}

pub(crate) fn design<'a>(prepared: &'a Prepared<'a>, fixed: &Fixed) -> Design<'a> {
    let (formation, mut decisions) = formation::choose(prepared, fixed);
    let mut design = arrangement::choose(prepared, &formation, fixed);
    decisions.append(&mut design.decisions);
    design.decisions = decisions;
    checks::add(prepared, &mut design);
    design
}

/// A case that serves to look at the group alone.
pub(crate) fn bare<'a>(prepared: &'a Prepared<'a>, formation: &Formation) -> Case<'a> {
    arrangement::bare(prepared, formation)
}
