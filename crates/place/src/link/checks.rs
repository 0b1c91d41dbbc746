//! What of the links does not hold.

use std::collections::BTreeMap;

use catalog::{LinkKind, LinkShape};
use derivation::{Known, Place};
use finding::{Finding, Margin, Severity};
use quantity::{Length, Ratio};
use saying::{Text, say};
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
                    say!(
                        "{unit} has no link of kind \"{kind}\"",
                        unit = case.unit.id,
                        kind = wish.kind.value
                    ),
                )
                .at(Some(&wish.kind.place), say!("not in the record"))
                .fix(say!(
                    "known: {x}",
                    x = if known.is_empty() { "none".to_owned() } else { known.join(", ") }
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
                say!(
                    "{unit} states no links, and {case_units} of them are to work as one",
                    unit = case.unit.id,
                    case_units = case.units
                ),
            )
            .at(Some(&case.site.group.unit.place), say!("this family"))
            .fix(say!("add the links to its record")),
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
    let margin = Margin::below(link.name.clone(), say!("devices"), STATE, &n, &link.most_devices);
    if !margin.holds() {
        let message = say!(
            "{link} has {devices_len} devices: the kind takes {most_devices}",
            link = link.name,
            devices_len = link.devices.len(),
            most_devices = link.most_devices.value()
        );
        held.findings.push(
            Finding::new("link-too-many", Severity::Error, link.name.clone(), message)
                .measured(&margin.value, &margin.limit)
                .at(Some(place(case, link)), say!("this group"))
                .fix(say!(
                    "at most {most_devices} units on it, or a family whose record lets a further link begin at the lead unit",
                    most_devices = link.most_devices.value()
                )),
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
        let margin = Margin::below(part.clone(), say!("cable"), STATE, length, longest);
        match margin.share() {
            None => held.findings.push(
                Finding::new(
                    "link-not-covered",
                    Severity::NotCovered,
                    part.clone(),
                    say!("the cable of {part} has no length: a unit has no place on the wall", part),
                )
                .at(Some(place(case, link)), say!("this group"))
                .fix(say!("a wall that takes all units, or the measured `cable` of a [[link]]")),
            ),
            Some(_) if margin.holds() => {}
            Some(_) if link.shape == LinkShape::Star && link.measured && link.cables.len() > 1 => {
                held.findings.push(
                    Finding::new(
                        "link-not-covered",
                        Severity::NotCovered,
                        part.clone(),
                        say!(
                            "{part} takes {length} of cable in all; how long the longest is, of which the kind takes {longest}, is not known",
                            part,
                            length = length.value(),
                            longest = longest.value()
                        ),
                    )
                    .measured(&margin.value, &margin.limit)
                    .at(Some(place(case, link)), say!("this link"))
                    .fix(say!(
                        "leave `cable` out where the places of the units on the wall tell the lengths"
                    )),
                );
            }
            Some(_) => held.findings.push(
                Finding::new(
                    "link-too-long",
                    Severity::Error,
                    part.clone(),
                    say!(
                        "{part} takes {length} of cable: the kind takes {longest}",
                        part,
                        length = length.value(),
                        longest = longest.value()
                    ),
                )
                .measured(&margin.value, &margin.limit)
                .at(Some(place(case, link)), say!("this group"))
                .fix(say!("units closer together, or in another order")),
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
            say!(
                "one broken cable ({worst}) cuts {cut} off the lead unit; the record says: {words}",
                worst = worst.name,
                cut,
                words
            ),
        )
        .at(Some(at), say!("this group")),
        None => Finding::new(
            "link-lost",
            Severity::Warning,
            link.name.clone(),
            say!(
                "one broken cable ({worst}) cuts {cut} off the lead unit; what the units then do, the record does not say",
                worst = worst.name,
                cut
            ),
        )
        .at(Some(at), say!("this group"))
        .fix(say!("ask the maker, and add if_lost to the record")),
    });
}

fn wrong(id: &'static str, wish: &LinkWish, message: Text, fix: Text) -> Finding {
    Finding::new(id, Severity::Error, wish.kind.value.clone(), message)
        .at(Some(&wish.kind.place), say!("this link"))
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
            say!(
                "{wished_len} links of kind \"{kind}\": the record lets none begin beside the first",
                wished_len = wished.len(),
                kind = kind.kind
            ),
            say!("all units on one link"),
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
    let mut say = |units: &[String], what: Text, fix: Text| {
        if !units.is_empty() {
            let message = say!("unit {units} {what}", units = units.join(", "), what);
            held.findings.push(wrong("link-members", first, message, fix));
        }
    };
    say(&missing, say!("is on no link of this kind"), say!("list every unit of the group"));
    say(
        &unknown,
        say!("is not in the group"),
        say!("the group has {case_units} units", case_units = case.units),
    );
    say(&twice, say!("comes twice"), say!("list every unit once, in the order of the cable"));
    if wished.len() > 1
        && let Some(lead) = lead
        && wished.iter().any(|w| !w.devices.iter().any(|d| d.unit.value == lead))
    {
        held.findings.push(wrong(
            "link-members",
            first,
            say!("a further link does not begin at the lead unit {lead}", lead),
            say!("put unit {lead} on every link of this kind", lead),
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
                say!("units {units} have the same address {address}", units = units.join(" and "), address),
                say!("an address of its own for each"),
            ));
        }
    }
    if !without.is_empty() {
        held.findings.push(wrong(
            "link-address",
            first,
            say!("unit {without} has no address", without = without.join(", ")),
            say!("an address of its own for each"),
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
        let message = say!("the end at unit {bare} is not terminated", bare = bare.join(" and unit "));
        held.findings.push(wrong("link-ends", wish, message, say!("a terminator at both ends")));
    }
    if !inner.is_empty() {
        let why = if asks {
            say!("is no end of the cable")
        } else {
            say!("is on a link that takes no terminators")
        };
        let message = say!("unit {inner} is terminated and {why}", inner = inner.join(", "), why);
        held.findings.push(wrong("link-ends", wish, message, say!("take the terminator out")));
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
            say!("no unit is set as the lead unit"),
            say!("lead = true on one unit"),
        )),
        many => {
            let names: Vec<String> = many.iter().map(u32::to_string).collect();
            held.findings.push(wrong(
                "link-leads",
                first,
                say!("units {names} are all set as the lead unit", names = names.join(" and ")),
                say!("lead = true on one unit only"),
            ));
        }
    }
}
