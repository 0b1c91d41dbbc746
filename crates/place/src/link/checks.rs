//! What of the links does not hold.

use std::collections::BTreeMap;

use catalog::{LinkKind, LinkShape};
use derivation::{Known, Place};
use finding::{Finding, Margin, Severity};
use quantity::{Length, Ratio};
use site::LinkWish;

use super::plan::LinkCase;
use super::{Link, LinkPlan};
use crate::Held;

const STATE: &str = "as wired";

pub(super) fn hold(case: &LinkCase<'_>, plan: &mut LinkPlan) {
    let mut held = std::mem::take(&mut plan.held);
    for link in &plan.links {
        limits(case, link, &mut held);
        lost(case, link, &mut held);
    }
    for wish in &case.site.links {
        if !case.unit.links.iter().any(|k| k.kind == wish.kind.value) {
            let known: Vec<&str> = case.unit.links.iter().map(|k| k.kind.as_str()).collect();
            held.findings.push(
                Finding::new(
                    "link-unknown",
                    Severity::Error,
                    wish.kind.value.clone(),
                    format!("{} has no link of kind \"{}\"", case.unit.id, wish.kind.value),
                )
                .at(Some(&wish.kind.place), "not in the record")
                .fix(format!(
                    "known: {}",
                    if known.is_empty() { "none".to_owned() } else { known.join(", ") }
                )),
            );
        }
    }
    for kind in &case.unit.links {
        let wished = case.wished(kind);
        if !wished.is_empty() {
            members(case, kind, &wished, &mut held);
            addresses(kind, &wished, &mut held);
            wished.iter().for_each(|wish| ends(kind, wish, &mut held));
        }
    }
    leads(case, &mut held);
    if case.units > 1 && case.unit.links.is_empty() {
        held.findings.push(
            Finding::new(
                "link-not-covered",
                Severity::NotCovered,
                "links",
                format!("{} states no links, and {} of them are to work as one", case.unit.id, case.units),
            )
            .at(Some(&case.site.group.unit.place), "this family")
            .fix("add the links to its record"),
        );
    }
    plan.held = held;
}

fn place<'s>(case: &'s LinkCase<'_>, link: &Link) -> &'s Place {
    let wish = case.site.links.iter().find(|w| w.kind.value == link.kind);
    wish.map_or(&case.site.group.place, |w| &w.kind.place)
}

/// Devices and cable against what the kind takes.
fn limits(case: &LinkCase<'_>, link: &Link, held: &mut Held) {
    let n = Known::chosen(
        "n",
        format!("devices on {}", link.name),
        Ratio::of(link.devices.len() as f64),
        "units of the group",
        Vec::new(),
    );
    let margin = Margin::below(link.name.clone(), "devices", STATE, &n, &link.most_devices);
    if !margin.holds() {
        let message = format!(
            "{} has {} devices: the kind takes {}",
            link.name,
            link.devices.len(),
            link.most_devices.value()
        );
        held.findings.push(
            Finding::new("link-too-many", Severity::Error, link.name.clone(), message)
                .measured(&margin.value, &margin.limit)
                .at(Some(place(case, link)), "this group")
                .fix(format!("at most {} units on it, or a family whose record lets a further link begin at the lead unit", link.most_devices.value())),
        );
    }
    held.margins.push(margin);
    let Some(longest) = &link.longest else { return };
    let lengths: Vec<(String, &Known<Length>)> = match link.shape {
        // measured in all: no single cable is longer
        LinkShape::Star if link.measured => vec![(link.name.clone(), &link.total)],
        LinkShape::Star => link.cables.iter().map(|c| (c.name.clone(), &c.length)).collect(),
        LinkShape::DaisyChain | LinkShape::Bus => vec![(link.name.clone(), &link.total)],
    };
    for (part, length) in lengths {
        let margin = Margin::below(part.clone(), "cable", STATE, length, longest);
        match margin.share() {
            None => held.findings.push(
                Finding::new(
                    "link-not-covered",
                    Severity::NotCovered,
                    part.clone(),
                    format!("the cable of {part} has no length: a unit has no place on the wall"),
                )
                .at(Some(place(case, link)), "this group")
                .fix("a wall that takes all units, or the measured `cable` of a [[link]]"),
            ),
            Some(_) if margin.holds() => {}
            Some(_) if link.shape == LinkShape::Star && link.measured && link.cables.len() > 1 => {
                held.findings.push(
                    Finding::new(
                        "link-not-covered",
                        Severity::NotCovered,
                        part.clone(),
                        format!(
                            "{part} takes {} of cable in all; how long the longest is, of which the kind takes {}, is not known",
                            length.value(),
                            longest.value()
                        ),
                    )
                    .measured(&margin.value, &margin.limit)
                    .at(Some(place(case, link)), "this link")
                    .fix("leave `cable` out where the places of the units on the wall tell the lengths"),
                );
            }
            Some(_) => held.findings.push(
                Finding::new(
                    "link-too-long",
                    Severity::Error,
                    part.clone(),
                    format!("{part} takes {} of cable: the kind takes {}", length.value(), longest.value()),
                )
                .measured(&margin.value, &margin.limit)
                .at(Some(place(case, link)), "this group")
                .fix("units closer together, or in another order"),
            ),
        }
        held.margins.push(margin);
    }
}

/// Loss of the link as a single failure.
fn lost(case: &LinkCase<'_>, link: &Link, held: &mut Held) {
    let Some(worst) =
        link.cables.iter().max_by_key(|c| (c.cuts_off.len(), std::cmp::Reverse(c.name.clone())))
    else {
        return;
    };
    let cut = worst.cuts_off.join(", ");
    let at = place(case, link);
    held.findings.push(match &link.if_lost {
        Some(words) => Finding::new(
            "link-lost",
            Severity::Note,
            link.name.clone(),
            format!("one broken cable ({}) cuts {cut} off the lead unit; the record says: {words}", worst.name),
        )
        .at(Some(at), "this group"),
        None => Finding::new(
            "link-lost",
            Severity::Warning,
            link.name.clone(),
            format!("one broken cable ({}) cuts {cut} off the lead unit; what the units then do, the record does not say", worst.name),
        )
        .at(Some(at), "this group")
        .fix("ask the maker, and add if_lost to the record"),
    });
}

fn wrong(id: &'static str, wish: &LinkWish, message: String, fix: String) -> Finding {
    Finding::new(id, Severity::Error, wish.kind.value.clone(), message)
        .at(Some(&wish.kind.place), "this link")
        .fix(fix)
}

/// Every unit once on the links of a kind; on further links the lead unit again.
fn members(case: &LinkCase<'_>, kind: &LinkKind, wished: &[&LinkWish], held: &mut Held) {
    let Some(first) = wished.first() else { return };
    let mut seen: BTreeMap<u32, usize> = BTreeMap::new();
    for device in wished.iter().flat_map(|w| &w.devices) {
        *seen.entry(device.unit.value).or_default() += 1;
    }
    if wished.len() > 1 && !kind.several {
        held.findings.push(wrong(
            "link-members",
            first,
            format!(
                "{} links of kind \"{}\": the record lets none begin beside the first",
                wished.len(),
                kind.kind
            ),
            "all units on one link".to_owned(),
        ));
    }
    let lead = wished.iter().flat_map(|w| &w.devices).find(|d| d.lead).map(|d| d.unit.value);
    let missing: Vec<String> =
        (1..=case.units).filter(|u| !seen.contains_key(u)).map(|u| u.to_string()).collect();
    let unknown: Vec<String> = seen.keys().filter(|u| **u > case.units).map(u32::to_string).collect();
    let twice: Vec<String> = seen
        .iter()
        .filter(|(unit, count)| {
            **count > 1 && !(wished.len() > 1 && Some(**unit) == lead && **count <= wished.len())
        })
        .map(|(unit, _)| unit.to_string())
        .collect();
    let mut say = |units: &[String], what: &str, fix: String| {
        if !units.is_empty() {
            let message = format!("unit {} {what}", units.join(", "));
            held.findings.push(wrong("link-members", first, message, fix));
        }
    };
    say(&missing, "is on no link of this kind", "list every unit of the group".to_owned());
    say(&unknown, "is not in the group", format!("the group has {} units", case.units));
    say(&twice, "comes twice", "list every unit once, in the order of the cable".to_owned());
    if wished.len() > 1
        && let Some(lead) = lead
        && wished.iter().any(|w| !w.devices.iter().any(|d| d.unit.value == lead))
    {
        held.findings.push(wrong(
            "link-members",
            first,
            format!("a further link does not begin at the lead unit {lead}"),
            format!("put unit {lead} on every link of this kind"),
        ));
    }
}

fn addresses(kind: &LinkKind, wished: &[&LinkWish], held: &mut Held) {
    let Some(first) = wished.first() else { return };
    if !kind.addressed {
        return;
    }
    let mut by: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
    let mut without = Vec::new();
    for device in wished.iter().flat_map(|w| &w.devices) {
        match &device.address {
            Some(address) => by.entry(address.value).or_default().push(device.unit.value),
            None => without.push(device.unit.value.to_string()),
        }
    }
    for (address, mut units) in by {
        units.sort_unstable();
        units.dedup();
        if units.len() > 1 {
            let units: Vec<String> = units.iter().map(u32::to_string).collect();
            held.findings.push(wrong(
                "link-address",
                first,
                format!("units {} have the same address {address}", units.join(" and ")),
                "an address of its own for each".to_owned(),
            ));
        }
    }
    if !without.is_empty() {
        held.findings.push(wrong(
            "link-address",
            first,
            format!("unit {} has no address", without.join(", ")),
            "an address of its own for each".to_owned(),
        ));
    }
}

fn ends(kind: &LinkKind, wish: &LinkWish, held: &mut Held) {
    let asks = kind.terminated && kind.shape != LinkShape::Star;
    let last = wish.devices.len().saturating_sub(1);
    let mut bare = Vec::new();
    let mut inner = Vec::new();
    for (i, device) in wish.devices.iter().enumerate() {
        let end = i == 0 || i == last;
        if asks && end && !device.terminated {
            bare.push(device.unit.value.to_string());
        }
        if device.terminated && !(asks && end) {
            inner.push(device.unit.value.to_string());
        }
    }
    if !bare.is_empty() {
        let message = format!("the end at unit {} is not terminated", bare.join(" and unit "));
        held.findings.push(wrong("link-ends", wish, message, "a terminator at both ends".to_owned()));
    }
    if !inner.is_empty() {
        let why = if asks { "is no end of the cable" } else { "is on a link that takes no terminators" };
        let message = format!("unit {} is terminated and {why}", inner.join(", "));
        held.findings.push(wrong("link-ends", wish, message, "take the terminator out".to_owned()));
    }
}

/// One unit leads, on every link the same.
fn leads(case: &LinkCase<'_>, held: &mut Held) {
    let Some(first) = case.site.links.first() else { return };
    let mut units: Vec<u32> =
        case.site.links.iter().flat_map(|w| &w.devices).filter(|d| d.lead).map(|d| d.unit.value).collect();
    units.sort_unstable();
    units.dedup();
    match units.as_slice() {
        [_] => {}
        [] => held.findings.push(wrong(
            "link-leads",
            first,
            "no unit is set as the lead unit".to_owned(),
            "lead = true on one unit".to_owned(),
        )),
        many => {
            let names: Vec<String> = many.iter().map(u32::to_string).collect();
            held.findings.push(wrong(
                "link-leads",
                first,
                format!("units {} are all set as the lead unit", names.join(" and ")),
                "lead = true on one unit only".to_owned(),
            ));
        }
    }
}
