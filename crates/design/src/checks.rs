//! Findings about decisions themselves: what the site fixed against the family's limits, what was left out.

use catalog::{BypassKind, LegControl, TransferSwitch};
use derivation::{Place, formula};
use finding::{Finding, Severity};
use plant::Layout;
use quantity::{Duration, Quantity};
use saying::say;
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
                say!(
                    "{formation} is more than the family allows: {per_leg} a leg, {total} in all",
                    formation,
                    per_leg = limits.per_leg,
                    total = limits.total
                ),
            )
            .at(Some(place), say!("this number")),
        );
    }
    if limits.equal_legs && !formation.is_even() {
        found.push(
            Finding::new(
                "formation-uneven",
                Severity::Error,
                "group",
                say!("{formation}: the family asks for as many units on every leg", formation),
            )
            .at(Some(place), say!("this number")),
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
                say!(
                    "\"{text}\" is no formation of {unit} on {system}",
                    text = text.value,
                    unit = prepared.unit.id,
                    system = design.case.system()
                ),
            )
            .at(
                Some(&text.place),
                if prepared.unit.leg_control == LegControl::OneLeg {
                    say!("one number a leg, such as \"2+2+2\"")
                } else {
                    say!("one number, such as \"4\"")
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
                say!(
                    "the catalogue has no transfer switch for {system} that is rated for the panel",
                    system = case.system()
                ),
            )
            .at(Some(&group.place), say!("this group"))
            .fix(say!("add one to a catalogue of your own")),
        );
    }
    for (part, switch) in [("transfer", case.transfer), ("source switch", case.source_switch)] {
        found.extend(switch.map(|switch| fits(prepared, design, part, switch)).unwrap_or_default());
    }
    if let Some(switch) = case.transfer {
        if case.settings.inhibit && (switch.auxiliary_contacts == 0 || !prepared.unit.input_inhibit) {
            let can = if prepared.unit.input_inhibit { "can be" } else { "cannot be" };
            let message = say!(
                "{switch} has {auxiliary_contacts} auxiliary contacts; {unit} {can} held off its input",
                switch = switch.id,
                auxiliary_contacts = switch.auxiliary_contacts,
                unit = prepared.unit.id,
                can
            );
            found.push(
                Finding::new("inhibit-impossible", Severity::Error, "transfer", message)
                    .at(group.input_inhibit.fixed().map(|i| &i.place), say!("asks for it")),
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
                say!("the panel cannot be served while the units are serviced: there is no bypass"),
            )
            .at(
                wish.map(|w| &w.place).or(group.bypass.fixed().map(|b| &b.place)).or(Some(&group.place)),
                say!("no bypass"),
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
                say!(
                    "interlocked breakers bypass up to {bypass_breakers_up_to} units of this family; there are {formation_units}",
                    bypass_breakers_up_to = prepared.unit.bypass_breakers_up_to,
                    formation_units = case.formation.units()
                ),
            )
            .at(group.bypass.fixed().map(|b| &b.place), say!("this bypass"))
            .fix(say!("choose a manual switch")),
        );
    }
    if prepared.unit.leg_control == LegControl::LineToLine && case.former.is_none() {
        found.push(
            Finding::new(
                "neutral-former-missing",
                Severity::Error,
                "neutral former",
                say!(
                    "{unit} works line to line and forms no neutral; the catalogue has no neutral former for it",
                    unit = prepared.unit.id
                ),
            )
            .at(Some(&group.unit.place), say!("this family")),
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
        let message =
            say!("{switch} is not made for {system}", switch = switch.id, system = design.case.system());
        found.push(
            Finding::new("gear-wrong-system", Severity::Error, part, message).at(place, say!("this switch")),
        );
    }
    let need = crate::gear::panel_rating(prepared);
    if switch.rating < need.value() {
        let message = say!(
            "{switch} is rated {rating}; the panel asks for {need}",
            switch = switch.id,
            rating = switch.rating,
            need = need.value()
        );
        found.push(
            Finding::new("gear-under-panel", Severity::Error, part, message).at(place, say!("this switch")),
        );
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
                say!(
                    "{switch} can be set to return after {earliest} to {most}",
                    switch = switch.id,
                    earliest = range.earliest,
                    most
                ),
            )
            .at(Some(&earliest.place), say!("this delay"))
            .fix(say!("stay within the range of the switch, or choose another one")),
        );
    }
    if latest.is_none() {
        found.push(
            Finding::new(
                "retransfer-open",
                Severity::Warning,
                "transfer",
                say!("a return delay without a latest time excludes no order of moves"),
            )
            .at(Some(&earliest.place), say!("this delay")),
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
                say!("{what} is fixed by the site, but the arrangement that is chosen does not use it", what),
            )
            .at(place, say!("not used"))
            .fix(say!("take it out, or fix the arrangement that needs it"))
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
            say!(
                "inline, the group inverts {inverting} per leg but passes only {passing}: a load that grows with the group will not go back to the utility",
                inverting = inverting.value(),
                passing = passing.value()
            ),
        )
        .measured(inverting.node(), passing.node())
        .at(Some(case.arrangement_place()), say!("this arrangement"))
        .fix(say!("choose the outboard arrangement, or keep the panel under the pass-through"))
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
                say!("{unit} has no second input", unit = prepared.unit.id),
            )
            .at(wish.inlet.fixed().map(|i| &i.place), say!("asks for it"))
            .fix(say!("let the generator come in by a transfer switch")),
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
                say!("the catalogue has no source transfer switch for {system}", system = case.system()),
            )
            .at(Some(&wish.place), say!("this generator")),
        );
    }
    found
}
