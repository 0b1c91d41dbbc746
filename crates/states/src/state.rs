//! What a state is, and what is live in it.

use plant::{Condition, ElementKind, Plant, SourceKind};

/// Which sources are there and where every device stands.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct State {
    /// The utility is there (false without one).
    pub utility: bool,
    /// The generator runs.
    pub generator: bool,
    /// The battery holds and the units are on.
    pub battery: bool,
    /// Position of each device; number of closed members for sets.
    pub positions: Vec<u8>,
}

impl State {
    /// Whether a source is there.
    pub fn present(&self, kind: SourceKind) -> bool {
        match kind {
            SourceKind::Utility => self.utility,
            SourceKind::Generator => self.generator,
            SourceKind::Group => self.battery,
        }
    }

    /// Whether the group forms a voltage of its own: the battery holds and no relay joins it to a live source.
    pub fn group_forms(&self, plant: &Plant) -> bool {
        self.battery && !self.group_follows(plant)
    }

    /// Whether the group is joined to a live source through its relays.
    pub fn group_follows(&self, plant: &Plant) -> bool {
        [SourceKind::Utility, SourceKind::Generator].into_iter().any(|kind| {
            self.present(kind)
                && plant.source(kind).is_some_and(|source| {
                    plant.joined(source.node, &self.positions, &[]).contains(&plant.group_output)
                })
        })
    }

    /// Which source feeds the backup panel, if any: the nearest outside source wins over the group.
    pub fn feeds_panel(&self, plant: &Plant) -> Option<SourceKind> {
        let reaches = |kind: SourceKind| {
            self.present(kind)
                && plant.source(kind).is_some_and(|source| {
                    plant.joined(source.node, &self.positions, &[]).contains(&plant.backup_panel)
                })
        };
        if reaches(SourceKind::Utility) {
            return Some(SourceKind::Utility);
        }
        if reaches(SourceKind::Generator) {
            return Some(SourceKind::Generator);
        }
        (self.group_forms(plant) && reaches(SourceKind::Group)).then_some(SourceKind::Group)
    }
}

/// Whether a condition holds.
pub(crate) fn holds(condition: &Condition, state: &State, plant: &Plant) -> bool {
    match condition {
        Condition::LiveFromOutside(node) => {
            [SourceKind::Utility, SourceKind::Generator].into_iter().any(|kind| {
                state.present(kind)
                    && plant.source(kind).is_some_and(|source| {
                        plant
                            .joined(
                                source.node,
                                &state.positions,
                                &[ElementKind::Relays, ElementKind::GeneratorRelays],
                            )
                            .contains(node)
                    })
            })
        }
        Condition::Live(node) => {
            [SourceKind::Utility, SourceKind::Generator, SourceKind::Group].into_iter().any(|kind| {
                let there =
                    if kind == SourceKind::Group { state.group_forms(plant) } else { state.present(kind) };
                there
                    && plant
                        .source(kind)
                        .is_some_and(|source| plant.joined(source.node, &state.positions, &[]).contains(node))
            })
        }
        Condition::GroupForms => state.group_forms(plant),
        Condition::Present(kind) => state.present(*kind),
        Condition::At(device, position) => state.positions.get(device.0) == Some(position),
        Condition::All(all) => all.iter().all(|c| holds(c, state, plant)),
        Condition::Any(any) => any.iter().any(|c| holds(c, state, plant)),
        Condition::Not(inner) => !holds(inner, state, plant),
    }
}

#[cfg(test)]
#[path = "state_tests.rs"]
mod tests;
