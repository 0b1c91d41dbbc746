//! Short names of states.

use plant::{ElementKind, Layout, SourceKind};
use states::Reached;

use crate::Case;

/// Start of the name of the state in which the utility is back before the transfer switch has returned.
pub(crate) const SWITCH_LATE: &str = "utility back, units reconnected, transfer switch still on the group";

/// A state's short name.
pub(crate) fn name(case: &Case<'_>, reached: &Reached) -> String {
    let (plant, state) = (&case.plant, &reached.state);
    let closed = |kind: ElementKind| {
        plant.elements.iter().any(|e| e.kind == kind && plant.closed_paths(e, &state.positions) > 0)
    };
    let at = |id: &str| plant.element(id).is_some_and(|(_, e)| plant.closed_paths(e, &state.positions) > 0);
    let through_units = closed(ElementKind::Relays) || closed(ElementKind::GeneratorRelays);
    let mut name = match state.feeds_panel(plant) {
        Some(SourceKind::Group) if crate::positions::collapsing(case, reached) => {
            "source lost, relays still closed".to_owned()
        }
        Some(SourceKind::Utility) if at("bypass.bypass") => "bypassed".to_owned(),
        Some(SourceKind::Utility) if at("transfer.group") => SWITCH_LATE.to_owned(),
        Some(SourceKind::Utility) if case.layout == Layout::Inline => "utility through the units".to_owned(),
        Some(SourceKind::Utility) if through_units => "utility, group beside it".to_owned(),
        Some(SourceKind::Utility) => "utility, group off it".to_owned(),
        Some(SourceKind::Generator) => "generator through the units".to_owned(),
        Some(SourceKind::Group) if state.utility => "utility there, group still carries the panel".to_owned(),
        Some(SourceKind::Group) => "outage, group carries the panel".to_owned(),
        None => "panel dead".to_owned(),
    };
    if plant
        .devices
        .iter()
        .enumerate()
        .any(|(k, d)| d.members > 1 && state.positions.get(k).is_some_and(|&at| at > 0 && at < d.members))
    {
        name.push_str(", relays moving one after the other");
    }
    name
}
