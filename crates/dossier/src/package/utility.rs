//! The utility: measured at its open disconnect, later joined, taken away and given back.

use quantity::Quantity;
use saying::{Text, say};
use site::Earthing;

use super::checkout::{LIVE, Walk, step, volts};
use crate::CheckoutStep;

const OPEN: &str = "the utility at its open disconnect";
const JOINED: &str = "joining the utility";
const MOVES: &str = "transfer";

pub(super) fn at_disconnect(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    if !walk.utility() {
        return Vec::new();
    }
    let s = step(
        OPEN,
        say!("Measure the utility at the line terminals of the open and locked service disconnect. It stays open."),
    )
    .caution(LIVE)
    .otherwise(say!("call the network operator; close nothing"));
    let s = volts(s, &walk.r.source, say!("at the line terminals of the service disconnect"));
    let s = if walk.rotates() {
        s.see(
            say!("rotation of the phases there"),
            say!("L1 – L2 – L3: written down, everything else is held against it"),
        )
    } else {
        s
    };
    vec![s.see(say!("load terminals"), say!("no voltage")).live("service.run").dead("main")]
}

pub(super) fn joined(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    if !walk.utility() {
        return Vec::new();
    }
    let mut all = vec![service(walk)];
    if walk.has("transfer") {
        all.push(supply(walk));
    }
    all.push(feed(walk));
    all.push(inputs(walk));
    all.push(outage(walk));
    all.push(back(walk));
    if walk.case.settings.inhibit && walk.has("transfer") {
        all.push(held(walk));
    }
    all
}

fn service(walk: &Walk<'_, '_>) -> CheckoutStep {
    let s = step(
        JOINED,
        say!("See that every branch breaker of the main panel to existing circuits is open. Then take the lock off the service disconnect and close it onto the main panel; its breakers to group, transfer and bypass gear and to arrays stay open and locked."),
    )
    .caution(say!(
        "Existing circuits of the main panel stand in no schedule here: each one that is closed becomes live with the panel. Nobody works on them, and they are closed one by one after the readings. Live parts: arc-rated clothing, face shield, one person measures and one watches."
    ));
    let s = volts(s, &walk.r.source, say!("at the main panel"));
    let s = if walk.rotates() {
        s.see(
            say!("rotation of the phases at the main panel"),
            say!("as at the line terminals, and as the island's at the backup panel"),
        )
    } else {
        s
    };
    s.see(
        say!("existing branch breakers of the main panel before it is closed"),
        say!("open, or each known and its circuit looked at"),
    )
    .closes("service")
    .live("main")
}

/// The switch goes back to the utility before any unit is joined to it: nothing passes through relays on the way.
fn supply(walk: &Walk<'_, '_>) -> CheckoutStep {
    let s = step(
        JOINED,
        say!("Take the lock off the transfer switch supply breaker and close it; time until the transfer switch is back on the utility."),
    )
    .caution(say!(
        "The panel changes over with a gap: only the small load is on. Live parts at both sides of the switch."
    ));
    let s = volts(s, &walk.r.source, say!("at the utility side of the transfer switch"));
    let s = switch_back(walk, s);
    let s = if walk.rotates() {
        s.see(say!("rotation of the phases at the backup panel, on the utility"), say!("as on the group"))
    } else {
        s
    };
    s.closes("transfer.supply").live("transfer.supply.run").moves("transfer", "on the utility").live("backup")
}

fn switch_back(walk: &Walk<'_, '_>, s: CheckoutStep) -> CheckoutStep {
    match (&walk.r.switch_back, &walk.case.settings.retransfer) {
        (Some(from), Some(range)) => {
            let to = range.latest.map_or_else(|| say!("no stated latest time"), |l| l.to_string().into());
            s.read(
                say!("transfer switch back on the utility after"),
                say!("{from} to {to}", from = from.value(), to),
                &[from.node()],
            )
        }
        _ => s.see(say!("transfer switch"), say!("back on the utility by itself")),
    }
}

fn feed(walk: &Walk<'_, '_>) -> CheckoutStep {
    let at = say!("ahead of the open input breakers of the units");
    let s = step(
        JOINED,
        say!("Take the lock off the group breaker and close it; the input breakers of the units stay open and locked. Measure at each of them."),
    )
    .caution(LIVE);
    let s = volts(s, &walk.r.source, &at);
    let s = if walk.rotates() {
        s.see(
            say!("rotation of the phases {at}", at),
            say!("as at the line terminals of the service disconnect"),
        )
    } else {
        s
    };
    let selected = if walk.place("source switch") { "source switch" } else { "input" };
    let reference = if walk.has("transfer") {
        say!("at the utility side of the transfer switch")
    } else if walk.plant.units.len() > 1 {
        say!("of the group input bus, by its marks")
    } else {
        say!("at the load side of the group breaker")
    };
    own_legs(walk, s, &say!("input breaker"), &reference)
        .see(say!("load side of each open input breaker"), say!("no voltage"))
        .otherwise(say!("open the group breaker: legs are crossed"))
        .closes("group.breaker")
        .live(selected)
        .each(walk.of_units("input"), |s, id| s.dead(format!("{id}.breaker")))
}

/// A second join of neutral and earth carries a share of the load's current over protective conductors; where there is
/// none, the neutral floats. Not with an insulated supply, whose neutral stands where it likes.
pub(super) fn joins(walk: &Walk<'_, '_>, s: CheckoutStep) -> CheckoutStep {
    if walk.case.site.service.earthing.value == Earthing::It {
        return s;
    }
    s.see(say!("neutral to earth at the backup panel, with the small load on"), say!("a few volts at most: higher, and the join is missing"))
        .see(
            say!("protective conductor of the backup panel's feeder, clamped with the small load switched on and off"),
            say!("none of its current: a share of it is a second join of neutral and earth"),
        )
}

/// The legs of every unit at its open breaker against those of the source: exchanged ones would join legs through relays.
pub(super) fn own_legs(
    walk: &Walk<'_, '_>,
    s: CheckoutStep,
    breaker: &Text,
    reference: &Text,
) -> CheckoutStep {
    let most = &walk.r.in_step;
    s.each(&walk.plant.units, |s, unit| {
        let number = unit.number;
        let same = say!("at most {most}: it is the same leg", most = most.value());
        let ([leg], Some((low, high))) = (unit.legs.as_slice(), &walk.r.source.line) else {
            return s.read(
                say!(
                    "unit {number}, each leg at its open {breaker} to the same leg {reference}",
                    number,
                    breaker,
                    reference
                ),
                same,
                &[most.node()],
            );
        };
        let others: Vec<_> = walk.case.system().legs().iter().filter(|l| *l != leg).copied().collect();
        s.read(
            say!(
                "unit {number}, {leg} at its open {breaker} to {leg} {reference}",
                number,
                leg,
                breaker,
                reference
            ),
            same,
            &[most.node()],
        )
        .read(
            say!(
                "unit {number}, {leg} at its open {breaker} to {others} {reference}",
                number,
                leg,
                breaker,
                others = super::island::words(&others),
                reference
            ),
            say!("{low} to {high} each", low = low.value(), high = high.value()),
            &[low.node(), high.node()],
        )
    })
}

fn units_back(walk: &Walk<'_, '_>, s: CheckoutStep, what: Text) -> CheckoutStep {
    s.read(what, design::returns_by(walk.case), &[walk.r.units_back.node()])
}

fn inputs(walk: &Walk<'_, '_>) -> CheckoutStep {
    let one = walk.plant.units.len() == 1;
    let action = if one {
        say!(
            "Take the lock off the unit's input breaker and close it; time until the unit is on the utility."
        )
    } else {
        say!(
            "Take the lock off the input breaker of one unit after the other and close it; time from the last closing until all units are on the utility."
        )
    };
    let s = step(JOINED, action).caution(say!(
        "Units join the utility by themselves after their delay, and may draw or give current at once."
    ));
    let s = units_back(walk, s, say!("units on the utility after"));
    let s = match &walk.case.settings.input_limit {
        Some(limit) if design::charger_stays_off(walk.case, limit) => s.read(
            say!("charging current from the utility, at the DC cable of each unit"),
            say!("none: the charger is off on the utility"),
            &[limit.node()],
        ),
        Some(limit) => s.read(
            say!("current of the worst leg from the utility, at the group breaker"),
            say!("at most {limit}", limit = limit.value()),
            &[limit.node()],
        ),
        None => s,
    };
    joins(walk, s)
        .see(say!("backup panel"), say!("served without a break while they join"))
        .each(walk.of_units("input"), |s, id| s.closes(id.clone()).live(format!("{id}.run")))
        .each(walk.of_units("relay"), CheckoutStep::closes)
        .live("backup")
}

fn outage(walk: &Walk<'_, '_>) -> CheckoutStep {
    let s = step(MOVES, say!(
        "With the small load on the panel, open the service disconnect and time the gap until the panel is served again, from a record of the panel's voltage: a recorder or an oscilloscope, no watch."
    ))
        .caution(say!(
            "The panel is live again by itself within moments: nobody works on it. The line terminals of the disconnect stay live: they are covered while the load terminals are measured."
        ));
    let s = match &walk.r.gap {
        Some(gap) => {
            s.read(say!("gap at the panel"), say!("at most {gap}", gap = gap.value()), &[gap.node()])
        }
        None => s.see(
            say!("gap at the panel"),
            say!("not stated by the record: write it down and compare with what the loads bear"),
        ),
    };
    walk.leave(
        s.see(say!(
            "load terminals of the open service disconnect, each leg to neutral and between lines"
        ), say!("no voltage: nothing comes back from the group"))
            .otherwise(say!(
                "open the group breaker at once and close nothing: a group that feeds a dead utility kills the line crew"
            )),
    )
    .live("backup")
    .dead("main")
}

fn back(walk: &Walk<'_, '_>) -> CheckoutStep {
    let action = if walk.has("transfer") {
        say!("Close the service disconnect again and time the return of units and transfer switch.")
    } else {
        say!("Close the service disconnect again and time the return of the units.")
    };
    let s = step(MOVES, action)
        .caution(say!("Before closing see that nobody works on the main panel or ahead of it."));
    let s = units_back(walk, s, say!("units back on the utility after"));
    let s = if walk.has("transfer") { switch_back(walk, s) } else { s };
    walk.come_back(s.otherwise(say!(
        "open the service disconnect: a return that is too early closes onto a utility that may go again"
    )))
    .live("backup")
}

/// The transfer switch on the group with the utility good: the units have to stay off their input.
fn held(walk: &Walk<'_, '_>) -> CheckoutStep {
    let s = step(
        MOVES,
        say!("Open the transfer switch supply breaker: the switch goes to the group while the utility stays good at the inputs of the units. Try whether the units stay off their input, for longer than their return takes; then close the breaker again."),
    )
    .caution(say!("The panel changes over twice by itself: nobody works on it."))
    .see(say!("relays of every unit"), say!("open for as long as the switch stands on the group"))
    .otherwise(say!(
        "do not close the service onto this group: the whole panel would pass through its relays"
    ));
    let first = walk.of_units("input").first().map(|id| format!("{id}.run"));
    s.opens("transfer.supply")
        .moves("transfer", "on the group")
        .each(walk.of_units("relay"), CheckoutStep::opens)
        .live("backup")
        .each(first, CheckoutStep::live)
        .closes("transfer.supply")
        .moves("transfer", "on the utility")
        .each(walk.of_units("relay"), CheckoutStep::closes)
        .live("backup")
}

/// What flows to the utility at most.
pub(super) fn export(walk: &Walk<'_, '_>, s: CheckoutStep) -> CheckoutStep {
    let export = &walk.r.given_back;
    let none = export.value().si() <= 0.0;
    s.read(
        say!("power to the utility"),
        if none { say!("none") } else { say!("at most {export}", export = export.value()) },
        &[export.node()],
    )
}
