//! The bypass: tried with both sides dead, then used with the group locked out, then the group comes back.

use catalog::BypassKind;
use saying::{Text, say};

use super::checkout::{Walk, step, volts};
use crate::CheckoutStep;

const BYPASS: &str = "bypass";

pub(super) fn steps(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let Some(bypass) = walk.case.bypass.filter(|_| walk.has("bypass.supply")) else { return Vec::new() };
    vec![interlock(walk, bypass.kind), around(walk), group_back(walk)]
}

/// What parts the group from everything.
fn parted(walk: &Walk<'_, '_>) -> Text {
    if walk.has("transfer") {
        say!("group breaker, transfer switch supply breaker and group output breaker")
    } else {
        say!("group breaker and group output breaker")
    }
}

fn interlock(walk: &Walk<'_, '_>, kind: BypassKind) -> CheckoutStep {
    let how = match kind {
        BypassKind::InterlockedBreakers => {
            say!(
                "take the lock off the bypass breaker, bypass side, for the trial; try to close it while the units side is closed, and the other way round; then with one half-way. Leave both open, and lock the bypass side again"
            )
        }
        BypassKind::ManualSwitch => {
            say!(
                "move the bypass switch through all positions; measure with a continuity tester that it breaks before it makes. Leave it off"
            )
        }
    };
    let (on, off) = (walk.has("bypass"), walk.has("bypass.units"));
    let unit_sides = walk.plant.units.iter().map(|u| format!("unit.{}.ac", u.number));
    step(
        BYPASS,
        say!(
            "Open the backup feeder breaker; open and lock {parted}; switch all units off. Test that both sides of the bypass gear are dead: its supply breaker was never closed. Then {how}.",
            parted = parted(walk),
            how
        ),
    )
    .caution(say!(
        "Energising the output of a running group from outside destroys it: the group is off and parted for this step. The interlock is tried, never forced."
    ))
    .see(say!(
        "both sides of the bypass gear, and the units' terminals after the waiting time of their makers"
    ), say!("no voltage"))
    .see(say!("both sides closed at once"), say!("impossible in every attempt"))
    .otherwise(say!("do not put the bypass into service; leave its supply breaker open and locked"))
    .opens("backup.feeder")
    .given(walk.has("transfer"), |s| s.opens("transfer.supply").moves("transfer", "on the group"))
    .each(walk.of_units("relay"), CheckoutStep::opens)
    .opens("group.breaker")
    .opens("group.output")
    .each(&walk.plant.units, |s, u| s.moves(format!("unit.{}", u.number), "off"))
    .each(["output", "group.output.run", "bypass", "bypass.supply.run", "backup"], CheckoutStep::dead)
    .each(unit_sides, CheckoutStep::dead)
    .given(on, |s| s.moves("bypass", "on bypass").moves("bypass", "off"))
    .given(off, |s| s.opens("bypass.units"))
}

fn around(walk: &Walk<'_, '_>) -> CheckoutStep {
    let to = if walk.has("bypass") {
        say!("put the bypass switch on bypass")
    } else {
        say!("take the lock off the bypass breaker, bypass side, and close it")
    };
    let s = step(
        BYPASS,
        say!(
            "With {parted} still locked open, take the lock off the bypass supply breaker and close it, {to}, and close the backup feeder breaker with the small load on.",
            parted = parted(walk),
            to
        ),
    )
    .caution(say!(
        "A neutral that is not switched goes on carrying current inside gear that is locked out, and lifts when it is opened: no neutral of the group is touched or parted while the panel is served. Live parts: arc-rated clothing, face shield."
    ));
    let s = volts(s, &walk.r.source, say!("at the backup panel, on bypass"));
    let s = if walk.rotates() {
        s.see(say!("rotation of the phases at the backup panel, on bypass"), say!("as on the group"))
    } else {
        s
    };
    s.see(say!("terminals of the units and output bus, lines"), say!("no voltage"))
        .otherwise(say!("open the backup feeder breaker; leave the bypass supply breaker open and locked"))
        .closes("bypass.supply")
        .given(walk.has("bypass"), |s| s.moves("bypass", "on bypass"))
        .given(walk.has("bypass.bypass"), |s| s.closes("bypass.bypass"))
        .closes("backup.feeder")
        .live("backup")
        .dead("output")
        .dead("group.output.run")
}

fn group_back(walk: &Walk<'_, '_>) -> CheckoutStep {
    let to = if walk.has("bypass") {
        say!("put the bypass switch on the units")
    } else {
        say!("open the bypass breaker, bypass side, and close the bypass breaker, units side")
    };
    let rest = if walk.has("transfer") {
        say!("the transfer switch supply breaker, and last the group breaker")
    } else {
        say!("and last the group breaker")
    };
    let s = step(
        BYPASS,
        say!(
            "Bring the group back: open the backup feeder breaker, {to}; start all units; take the locks off and close the group output breaker, then the backup feeder breaker, {rest}.",
            to,
            rest
        ),
    )
    .caution(say!("The panel is off until the feeder is closed, and live by itself from then on."));
    let s = volts(s, &walk.r.source, say!("at the backup panel, on the group"));
    let s = s.see(
        say!("bypass supply breaker, from here on"),
        say!("closed: the bypass side of the gear stays live, the gear alone parts it from the panel"),
    );
    s.read(
        say!("units back on the utility after"),
        design::returns_by(walk.case),
        &[walk.r.units_back.node()],
    )
    .opens("backup.feeder")
    .given(walk.has("bypass"), |s| s.moves("bypass", "on the units"))
    .given(walk.has("bypass.bypass"), |s| s.opens("bypass.bypass").closes("bypass.units"))
    .each(&walk.plant.units, |s, u| s.moves(format!("unit.{}", u.number), "forming"))
    .live("output")
    .closes("group.output")
    .closes("backup.feeder")
    .live("backup")
    .given(walk.has("transfer"), |s| s.closes("transfer.supply").moves("transfer", "on the utility"))
    .closes("group.breaker")
    .each(walk.of_units("relay"), CheckoutStep::closes)
    .live("backup")
}
