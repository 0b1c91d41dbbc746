//! What may flow on the neutrals of a state at the most unbalanced loads.
//!
//! The solved corners put every leg at its highest, which is nearly balanced: the neutral of such a corner is small. What
//! a neutral really carries comes from loads on one leg alone and from third harmonics. So the largest neutral current
//! that the demand finds over its permitted subsets is put on one leg after the other, of the backup panel and of what is
//! beside it, and the same plant is solved: the current divides over the closed ways of the neutral as their impedances
//! are. The neutral of the panels depends on the loads alone, and the division on the ways alone, so no permitted subset
//! gives more than the sum of both panels' shares. (Kirchhoff; superposition.)

use network::operating::{Bridge, Legs, Units};
use num_complex::Complex64;
use plant::full::NeutralPath;
use quantity::{Leg, Quantity};
use states::Reached;

use crate::flowing::{Corner, Flowing, Solved, magnitude};

/// Largest neutral currents of a state.
pub(crate) struct NeutralMost {
    /// Of each part of the full plant on each solved leg, as phasors; none where a leg has no answer.
    each: Option<Vec<Vec<Complex64>>>,
    /// The whole neutral current, in amperes: what counts where nothing was solved.
    whole_a: f64,
    /// Whether the corner's own neutral comes on top: the units give or take of their own.
    beside: bool,
    /// Which parts have a neutral.
    has: Vec<bool>,
}

/// Puts the neutral currents of the demand on one leg after the other.
pub(crate) fn of(flowing: &Flowing<'_, '_>, reached: &Reached, solved: &Solved) -> NeutralMost {
    let case = flowing.case;
    if solved.corner == Corner::Exporting {
        // no load: what the units give is all
        return NeutralMost { each: Some(Vec::new()), whole_a: 0.0, beside: true, has: Vec::new() };
    }
    let panel_a = case.demand.neutral.value().si();
    let main_a = case.assessment.beside.as_ref().map_or(0.0, |beside| beside.neutral.value().si());
    let main = flowing.plant.node_ix("main");
    let units = || match solved.corner {
        // each unit as the source that it is in the corner, without a limit: the loads are no more than the demand's
        Corner::Load | Corner::OneOut | Corner::Array if flowing.forms(reached) => {
            let out = (solved.corner == Corner::OneOut).then_some(0);
            let bridges = flowing.bridges(out).into_iter();
            Units::Form(bridges.map(|b| Bridge { limit_a: UNLIMITED_A, ..b }).collect())
        }
        _ => Units::Off,
    };
    let on = |leg: Leg, amperes: f64| {
        let mut legs = Legs::default();
        let (sin, cos) = libm::sincos(case.system().angle_deg(leg).to_radians());
        if let Some(current) = legs.get_mut(leg.index()) {
            *current = Complex64::new(amperes, 0.0) * Complex64::new(cos, sin);
        }
        legs
    };
    let positions = flowing.plant.positions_like(&case.plant, &reached.state.positions);
    let neutrals = |leg: Leg| {
        let beside = main.map(|node| (node, on(leg, main_a)));
        let loads = std::iter::once((flowing.plant.panel, on(leg, panel_a))).chain(beside).collect();
        let flows = flowing.run(reached, positions.as_deref()?, units(), loads).ok()?;
        Some(flows.parts.iter().map(|part| part.get(3).copied().unwrap_or_default()).collect())
    };
    NeutralMost {
        each: case.system().legs().iter().map(|leg| neutrals(*leg)).collect(),
        whole_a: panel_a + main_a,
        beside: !matches!(solved.corner, Corner::Load | Corner::OneOut),
        has: flowing.plant.parts.iter().map(|part| part.neutral != NeutralPath::Absent).collect(),
    }
}

/// No limit: a state whose units cannot give it has no answer in its corner.
const UNLIMITED_A: f64 = 1e9;

impl NeutralMost {
    /// The largest neutral current of parts together, beside what the corner itself gives them, in amperes.
    pub fn of(&self, members: &[usize], corner_a: f64) -> f64 {
        if !members.iter().any(|k| self.has.get(*k) == Some(&true)) {
            return corner_a;
        }
        let most = match &self.each {
            None => self.whole_a,
            Some(legs) => legs
                .iter()
                .map(|parts| magnitude(members.iter().filter_map(|k| parts.get(*k)).sum()))
                .fold(0.0, f64::max),
        };
        if self.beside { most + corner_a } else { most.max(corner_a) }
    }
}
