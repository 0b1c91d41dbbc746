//! `[group]`.

use quantity::{Current, Duration};
use reading::{Decision, Diagnostic, Placed, Section};

use super::label::{decide_name, need_name};
use crate::facts::Facts;
use crate::{Arrangement, BypassWish, Group};

const ARRANGEMENTS: [(&str, Arrangement); 3] = [
    ("inline", Arrangement::Inline),
    ("outboard", Arrangement::Outboard),
    ("islanded", Arrangement::Islanded),
];
const BYPASSES: [(&str, BypassWish); 3] = [
    ("none", BypassWish::None),
    ("interlocked breakers", BypassWish::InterlockedBreakers),
    ("manual switch", BypassWish::ManualSwitch),
];

pub(super) fn group(s: &Section<'_>, facts: &mut Facts) -> Option<Group> {
    let unit = need_name(s, "unit", "catalogue id of the units");
    let panel = need_name(s, "panel", "id of the panel that the group carries");
    let count = s.decide_count("count", "number of units, or \"choose\"", 1..=99);
    let formation = decide_name(
        s,
        "formation",
        "units on each leg, such as \"2+2+2\" (one number for units that span all legs), or \"choose\"",
    );
    let arrangement = s.decide(
        "arrangement",
        "transfer arrangement: inline (service, units, backup panel in a row), outboard (a separate transfer \
         switch takes the panel), islanded (no utility), or \"choose\"",
        &ARRANGEMENTS,
    );
    let bypass = s.decide("bypass", "maintenance bypass, or \"choose\"", &BYPASSES);
    let transfer_switch =
        decide_name(s, "transfer_switch", "catalogue id of the transfer switch, or \"choose\"");
    let retransfer = s.section("retransfer", "retransfer delay set at the transfer switch", retransfer);
    let input_inhibit = s.decide(
        "input_inhibit",
        "an auxiliary contact of the transfer switch holds the units off their input while it is on the group",
        &[("yes", true), ("no", false)],
    );
    let input_limit = s.decide_quantity::<Current>(
        "input_limit",
        "input current limit per leg for the group, or \"choose\"",
    );
    let neutral_former = decide_name(
        s,
        "neutral_former",
        "catalogue id of the neutral former, where the units need one, or \"choose\"",
    );
    let matched_wiring = s.flag(
        "matched_wiring",
        "the wiring conditions that the catalogue sets for additive pass-through are met",
    );
    let cables_together = s.count(
        "cables_together",
        "most cables of the units, or of the battery, that lie side by side (IEC 60364-5-52 Table B.52.17); 1: each \
         lies more than two of its diameters from the next, so that none warms another; left out, all of them",
        1..=999,
    );
    limit_in_range(s, input_limit.as_ref());
    facts.panels.refer(panel.as_ref());
    facts.count = fixed(count.as_ref());
    facts.formation = fixed(formation.as_ref());
    facts.arrangement = fixed(arrangement.as_ref());
    facts.bypass = fixed(bypass.as_ref());
    Some(Group {
        unit: unit?,
        panel: panel?,
        count: count?,
        formation: formation?,
        arrangement: arrangement?,
        bypass: bypass?,
        transfer_switch: transfer_switch?,
        retransfer,
        input_inhibit: input_inhibit?,
        input_limit: input_limit?,
        neutral_former: neutral_former?,
        matched_wiring,
        cables_together,
        place: s.place()?,
    })
}

fn fixed<T: Clone>(decision: Option<&Decision<T>>) -> Option<Placed<T>> {
    decision.and_then(Decision::fixed).cloned()
}

fn limit_in_range(s: &Section<'_>, limit: Option<&Decision<Current>>) {
    let range = Current::of(1.0)..=Current::of(6000.0);
    if let Some(Decision::Fixed(limit)) = limit
        && !range.contains(&limit.value)
    {
        s.mistake(
            Diagnostic::new("out-of-range", format!("`input_limit` is {}", limit.value))
                .at(&limit.place, format!("expected {} to {}", range.start(), range.end())),
        );
    }
}

fn retransfer(s: &Section<'_>) -> Option<(Placed<Duration>, Option<Placed<Duration>>)> {
    let range = || Duration::ZERO..=Duration::of(7200.0);
    let earliest = s.need_quantity_in("earliest", "shortest delay, with the switch's tolerance", range());
    let latest = s.quantity_in("latest", "longest delay; left out, unknown", range());
    let earliest = earliest?;
    if let Some(latest) = latest.as_ref().filter(|latest| latest.value < earliest.value) {
        s.mistake(
            Diagnostic::new("wrong-order", "the latest retransfer comes before the earliest")
                .at(&latest.place, "latest")
                .also(&earliest.place, "earliest")
                .help("exchange them"),
        );
    }
    Some((earliest, latest))
}
