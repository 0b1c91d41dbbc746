//! Findings about decisions themselves: what the site fixed against the family's limits, what was left out.

use catalog::{BypassKind, LegControl, TransferSwitch};
use derivation::{Place, formula};
use finding::{Finding, Severity};
use plant::Layout;
use quantity::{Duration, Quantity};
use site::GeneratorInlet;

use crate::candidate::Design;
use crate::{Prepared, connection};

/// Adds them.
pub(crate) fn add(prepared: &Prepared<'_>, design: &mut Design<'_>) {
    let mut found = formation(prepared, design);
    found.extend(gear(prepared, design));
    found.extend(inverts_more(design));
    found.extend(generator(prepared, design));
    found.extend(crate::arrays::not_covered(prepared, design.case.layout));
    design.assessed.ledger.findings.extend(found);
    connection::add(design);
}

fn formation(prepared: &Prepared<'_>, design: &Design<'_>) -> Vec<Finding> {
    let limits = &prepared.unit.formation;
    let formation = &design.case.formation;
    let place = design.case.count_place();
    let mut found = Vec::new();
    let legs = design.case.system().legs();
    let most = legs.iter().map(|&leg| formation.on(leg)).max().unwrap_or(0);
    if formation.units() > limits.total || most > limits.per_leg {
        found.push(
            Finding::new(
                "formation-over-limits",
                Severity::Error,
                "group",
                format!(
                    "{formation} is more than the family allows: {} a leg, {} in all",
                    limits.per_leg, limits.total
                ),
            )
            .at(Some(place), "this number"),
        );
    }
    if limits.equal_legs && !formation.is_even() {
        found.push(
            Finding::new(
                "formation-uneven",
                Severity::Error,
                "group",
                format!("{formation}: the family asks for as many units on every leg"),
            )
            .at(Some(place), "this number"),
        );
    }
    let fixed = &prepared.site.group.formation;
    if let Some(text) = fixed.fixed()
        && text.value.replace(' ', "") != formation.to_string()
    {
        found.push(
            Finding::new(
                "formation-not-understood",
                Severity::Error,
                "group",
                format!(
                    "\"{}\" is no formation of {} on {}",
                    text.value,
                    prepared.unit.id,
                    design.case.system()
                ),
            )
            .at(
                Some(&text.place),
                if prepared.unit.leg_control == LegControl::OneLeg {
                    "one number a leg, such as \"2+2+2\""
                } else {
                    "one number, such as \"4\""
                },
            ),
        );
    }
    found
}

fn gear(prepared: &Prepared<'_>, design: &Design<'_>) -> Vec<Finding> {
    let case = &design.case;
    let group = &prepared.site.group;
    let mut found = Vec::new();
    if case.layout == Layout::Outboard && case.transfer.is_none() {
        found.push(
            Finding::new(
                "no-transfer-switch",
                Severity::NotCovered,
                "transfer",
                format!(
                    "the catalogue has no transfer switch for {} that is rated for the panel",
                    case.system()
                ),
            )
            .at(Some(&group.place), "this group")
            .fix("add one to a catalogue of your own"),
        );
    }
    for (part, switch) in [("transfer", case.transfer), ("source switch", case.source_switch)] {
        found.extend(switch.map(|switch| fits(prepared, design, part, switch)).unwrap_or_default());
    }
    if let Some(switch) = case.transfer {
        if case.settings.inhibit && (switch.auxiliary_contacts == 0 || !prepared.unit.input_inhibit) {
            let can = if prepared.unit.input_inhibit { "can be" } else { "cannot be" };
            let message = format!(
                "{} has {} auxiliary contacts; {} {can} held off its input",
                switch.id, switch.auxiliary_contacts, prepared.unit.id
            );
            found.push(
                Finding::new("inhibit-impossible", Severity::Error, "transfer", message)
                    .at(group.input_inhibit.fixed().map(|i| &i.place), "asks for it"),
            );
        }
        found.extend(retransfer(prepared, switch));
    }
    found.extend(unused(prepared, design));
    let outside = case.layout != Layout::Islanded || case.generator.is_some();
    if case.bypass.is_none() && outside {
        let wish = prepared.site.wish.bypass.as_ref().filter(|w| w.value);
        let severity = if wish.is_some() { Severity::Error } else { Severity::Warning };
        found.push(
            Finding::new(
                "no-bypass",
                severity,
                "bypass",
                "the panel cannot be served while the units are serviced: there is no bypass",
            )
            .at(
                wish.map(|w| &w.place).or(group.bypass.fixed().map(|b| &b.place)).or(Some(&group.place)),
                "no bypass",
            ),
        );
    }
    if let Some(bypass) = case.bypass
        && bypass.kind == BypassKind::InterlockedBreakers
        && case.formation.units() > prepared.unit.bypass_breakers_up_to
    {
        found.push(
            Finding::new(
                "bypass-too-many-units",
                Severity::Error,
                "bypass",
                format!(
                    "interlocked breakers bypass up to {} units of this family; there are {}",
                    prepared.unit.bypass_breakers_up_to,
                    case.formation.units()
                ),
            )
            .at(group.bypass.fixed().map(|b| &b.place), "this bypass")
            .fix("choose a manual switch"),
        );
    }
    if prepared.unit.leg_control == LegControl::LineToLine && case.former.is_none() {
        found.push(
            Finding::new(
                "neutral-former-missing",
                Severity::Error,
                "neutral former",
                format!(
                    "{} works line to line and forms no neutral; the catalogue has no neutral former for it",
                    prepared.unit.id
                ),
            )
            .at(Some(&group.unit.place), "this family"),
        );
    }
    found
}

/// A transfer switch against the system and the panel.
fn fits(prepared: &Prepared<'_>, design: &Design<'_>, part: &str, switch: &TransferSwitch) -> Vec<Finding> {
    let place = prepared.site.group.transfer_switch.fixed().map(|t| &t.place);
    let place = place.or(Some(&prepared.site.group.place));
    let mut found = Vec::new();
    if !switch.systems.contains(&design.case.system()) {
        let message = format!("{} is not made for {}", switch.id, design.case.system());
        found
            .push(Finding::new("gear-wrong-system", Severity::Error, part, message).at(place, "this switch"));
    }
    let need = crate::gear::panel_rating(prepared);
    if switch.rating < need.value() {
        let message =
            format!("{} is rated {}; the panel asks for {}", switch.id, switch.rating, need.value());
        found.push(Finding::new("gear-under-panel", Severity::Error, part, message).at(place, "this switch"));
    }
    found
}

/// The return delay that the site fixes, against the range that the switch can be set to.
fn retransfer(prepared: &Prepared<'_>, switch: &TransferSwitch) -> Vec<Finding> {
    let Some((earliest, latest)) = &prepared.site.group.retransfer else { return Vec::new() };
    let mut found = Vec::new();
    let range = &switch.to_first;
    let too_late = |t: Duration| range.latest.is_some_and(|most| t > most);
    let wrong = earliest.value < range.earliest
        || too_late(earliest.value)
        || latest.as_ref().is_some_and(|l| too_late(l.value) || l.value < range.earliest);
    if wrong {
        let most = range.latest.map_or("no stated limit".to_owned(), |l| l.to_string());
        found.push(
            Finding::new(
                "retransfer-not-settable",
                Severity::Error,
                "transfer",
                format!("{} can be set to return after {} to {most}", switch.id, range.earliest),
            )
            .at(Some(&earliest.place), "this delay")
            .fix("stay within the range of the switch, or choose another one"),
        );
    }
    if latest.is_none() {
        found.push(
            Finding::new(
                "retransfer-open",
                Severity::Warning,
                "transfer",
                "a return delay without a latest time excludes no order of moves",
            )
            .at(Some(&earliest.place), "this delay"),
        );
    }
    found
}

/// What the site fixes and the chosen arrangement does not use.
fn unused(prepared: &Prepared<'_>, design: &Design<'_>) -> Vec<Finding> {
    let group = &prepared.site.group;
    let outboard = design.case.layout == Layout::Outboard;
    let source_switch = design.case.source_switch.is_some();
    let items: [(&str, Option<&Place>, bool); 4] = [
        ("the transfer switch", group.transfer_switch.fixed().map(|t| &t.place), outboard || source_switch),
        ("the return delay", group.retransfer.as_ref().map(|(from, _)| &from.place), outboard),
        ("the input inhibit", group.input_inhibit.fixed().filter(|i| i.value).map(|i| &i.place), outboard),
        ("the neutral former", group.neutral_former.fixed().map(|f| &f.place), design.case.former.is_some()),
    ];
    items
        .into_iter()
        .filter(|(_, place, used)| place.is_some() && !used)
        .map(|(what, place, _)| {
            Finding::new(
                "fixed-but-unused",
                Severity::Warning,
                "group",
                format!("{what} is fixed by the site, but the arrangement that is chosen does not use it"),
            )
            .at(place, "not used")
            .fix("take it out, or fix the arrangement that needs it")
        })
        .collect()
}

/// Inline, more inverting than passing is bad practice: what runs on the battery may not run through the relays.
fn inverts_more(design: &Design<'_>) -> Option<Finding> {
    let case = &design.case;
    if case.layout != Layout::Inline {
        return None;
    }
    let n_c = assess::counted(case.unit, case.formation.fewest());
    let S_1 = &case.rating.leg_apparent;
    let U = case.voltage();
    let inverting = if case.unit.leg_control == LegControl::LineToLine {
        let two = case.legs();
        formula!("I_inv", "current that the group inverts per leg", [S_1, n_c, U, two] => S_1 * n_c / U / two)
    } else {
        formula!("I_inv", "current that the group inverts per leg", [S_1, n_c, U] => S_1 * n_c / U)
    };
    let passing = assess::pass_through(case);
    (inverting.value().si() > passing.value().si()).then(|| {
        Finding::new(
            "inverts-more-than-passes",
            Severity::Warning,
            "group",
            format!("inline, the group inverts {} per leg but passes only {}: a load that grows with the group will not go back to the utility", inverting.value(), passing.value()),
        )
        .measured(inverting.node(), passing.node())
        .at(Some(case.arrangement_place()), "this arrangement")
        .fix("choose the outboard arrangement, or keep the panel under the pass-through")
        .by("common practice")
    })
}

fn generator(prepared: &Prepared<'_>, design: &Design<'_>) -> Vec<Finding> {
    let (case, Some(wish)) = (&design.case, &prepared.site.generator) else { return Vec::new() };
    let mut found = Vec::new();
    if wish.inlet.fixed().is_some_and(|i| i.value == GeneratorInlet::SecondInput)
        && prepared.unit.second_input.is_none()
    {
        found.push(
            Finding::new(
                "no-second-input",
                Severity::Error,
                "generator",
                format!("{} has no second input", prepared.unit.id),
            )
            .at(wish.inlet.fixed().map(|i| &i.place), "asks for it")
            .fix("let the generator come in by a transfer switch"),
        );
    }
    let switch_missing = case.layout != Layout::Islanded
        && case.inlet == Some(GeneratorInlet::TransferSwitch)
        && case.source_switch.is_none();
    if switch_missing {
        found.push(
            Finding::new(
                "no-transfer-switch",
                Severity::NotCovered,
                "generator",
                format!("the catalogue has no source transfer switch for {}", case.system()),
            )
            .at(Some(&wish.place), "this generator"),
        );
    }
    found
}
