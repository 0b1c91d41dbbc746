//! What the order of moves can do: sources that meet, dead sources that are energised, a panel that stays dead, orders
//! that rest on delays alone.

use finding::{Finding, Severity};
use plant::{Layout, SourceKind};
use saying::say;
use states::Search;

use crate::positions::{LIVE, collapsing};
use crate::state_name::{SWITCH_LATE, name};
use crate::{Case, Ledger, passing};

/// Holds what concerns the whole search; each state by itself is held by [`sources_apart`].
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    stranded(case, search, ledger);
    order_by_delays(case, search, ledger);
    source_switch_travel(case, ledger);
}

/// Outside sources must not meet, and a dead one must not stay joined to a group that lives.
pub(crate) fn sources_apart(case: &Case<'_>, search: &Search, k: usize, ledger: &mut Ledger) {
    let Some(reached) = search.states.get(k) else { return };
    let (plant, state) = (&case.plant, &reached.state);
    let node = |kind| plant.source(kind).map(|s| s.node);
    let steps = || states::tell(&search.path(k), plant).join("; ");
    if let (Some(utility), Some(generator)) = (node(SourceKind::Utility), node(SourceKind::Generator))
        && state.utility
        && state.generator
        && plant.joined(utility, &state.positions, &[]).contains(&generator)
    {
        ledger.find(
            Finding::new(
                "sources-meet",
                Severity::Error,
                "generator",
                say!("utility and generator meet: {steps}", steps = steps()),
            )
            .in_state(name(case, reached))
            .at(case.site.generator.as_ref().map(|g| &g.place), say!("this generator")),
        );
    }
    for kind in LIVE {
        let dead = node(kind).filter(|_| !state.present(kind));
        let joined =
            dead.is_some_and(|node| plant.joined(node, &state.positions, &[]).contains(&plant.group_output));
        if joined && state.battery && !collapsing(case, reached) {
            ledger.find(
                Finding::new(
                    "dead-source-energised",
                    Severity::Error,
                    "unit.relay",
                    say!("the group stays joined to a source that is gone: {steps}", steps = steps()),
                )
                .in_state(name(case, reached))
                .at(Some(&case.site.group.place), say!("this group")),
            );
        }
    }
}

/// States in which a source is there and the panel is dead for good.
fn stranded(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    let Some(&first) = search.stranded(&case.plant).first() else { return };
    ledger.find(
        Finding::new(
            "panel-stranded",
            Severity::Warning,
            "backup panel",
            say!(
                "a source is there and the backup panel stays dead until somebody switches: {tell}",
                tell = states::tell(&search.path(first), &case.plant).join("; ")
            ),
        )
        .in_state(search.states.get(first).map(|s| name(case, s)).unwrap_or_default())
        .at(Some(case.arrangement_place()), say!("this arrangement"))
        .fix(say!(
            "bring the generator in where the panel can reach it with an empty battery, or tell the owner which switch to throw"
        )),
    );
}

/// Outboard without a contact that holds the units off, the delays alone keep the panel off their relays: said, since
/// somebody has to set and try them.
fn order_by_delays(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    let (Layout::Outboard, Some(back), false) =
        (case.layout, &case.settings.retransfer, case.settings.inhibit)
    else {
        return;
    };
    let over = case
        .demand
        .worst_leg()
        .is_some_and(|(_, lane)| lane.steady_current.value() > passing::limit(case).value());
    let meets = search.states.iter().any(|s| name(case, s).starts_with(SWITCH_LATE));
    let Some(latest) = back.latest.filter(|_| over && !meets) else { return };
    ledger.find(
        Finding::new(
            "order-rests-on-delays",
            Severity::Note,
            "transfer",
            say!(
                "the panel stays off the units' relays only because the switch returns within {latest} and the units reconnect no sooner than {reconnect_earliest}, in every condition, also with an empty battery: set both and try them at check-out",
                latest,
                reconnect_earliest = case.unit.reconnect_earliest
            ),
        )
        .at(Some(case.arrangement_place()), say!("this arrangement"))
        .fix(say!("let an auxiliary contact hold the units off as well (input_inhibit = \"yes\")")),
    );
}

/// A source switch that changes over faster than the units let go joins them to the other source out of phase.
fn source_switch_travel(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(switch) = case.source_switch else { return };
    if switch.travel <= case.unit.transfer_gap {
        ledger.find(
            Finding::new(
                "source-switch-too-fast",
                Severity::Error,
                "source switch",
                say!(
                    "{switch} changes over in {travel}; the units let go of a lost source within {transfer_gap}: they may meet the other source out of phase",
                    switch = switch.id,
                    travel = switch.travel,
                    transfer_gap = case.unit.transfer_gap
                ),
            )
            .at(case.site.generator.as_ref().map(|g| &g.place), say!("this generator"))
            .fix(say!("choose a switch with a longer travel, or one that waits in the middle")),
        );
    }
}
