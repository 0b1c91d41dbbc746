//! Why the rules that were not held were not: every rule of the book gets its reason.

use codebook::{Book, rules};
use derivation::Known;
use plant::Layout;
use quantity::{Current, Power, Quantity};
use saying::{Text, say};
use site::{DemandMethod, Load, LoadSize};
use tables::iec::device::{Device, rated_currents};

use super::Holding;
use crate::Held;
use crate::compliance::{Verdict, books};

/// Rules that the dwelling calculation of the standard method is made of.
const STANDARD: &[&str] = &[
    "dwelling-standard",
    "whole-amperes",
    "general-lighting",
    "largest-motor",
    "space-heat",
    "small-appliance",
    "fixed-appliances",
    "dryers",
    "ranges",
    "ev-supply",
    "noncoincident",
    "neutral",
];
/// Rules that the optional method is made of.
const OPTIONAL: &[&str] = &["dwelling-optional", "whole-amperes", "neutral"];

/// Gives each rule that was not held its verdict.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    demand(h);
    bonding(h);
    runs(h);
    let books = books(h.case.site.service.earthing.value);
    for rule in rules().iter().filter(|rule| books.contains(&rule.book)) {
        let all = h.held_before.iter().chain(&h.held);
        if all.into_iter().any(|held| held.rule == rule.id) {
            continue;
        }
        let (verdict, why) = reason(h, rule.book, &rule.id);
        let held = Held { verdict, ..Held::does_not_apply(&rule.id) };
        h.held.push(held.because(why));
    }
}

/// The rules by which the service's demand was found.
fn demand(h: &mut Holding<'_, '_>) {
    if h.case.assessment.service.is_none() {
        return;
    }
    let used: &[&'static str] = match &h.case.site.demand {
        DemandMethod::DwellingStandard(_) => STANDARD,
        DemandMethod::DwellingOptional(_) => OPTIONAL,
        DemandMethod::Measured(_) if h.us() => &["measured-demand"],
        _ => &[],
    };
    for rule in used {
        h.held.push(Held::new(rule, "service", true).because(say!("the demand was found by it")));
    }
    let lettered = |load: &Load| matches!(&load.size, LoadSize::Motor(m) if m.code_letter.is_some());
    if h.us() && h.case.site.loads.iter().any(lettered) {
        h.held.push(Held::new("locked-rotor", "group", true).because(say!("starts were found by it")));
    }
}

/// Neutral and ground joined once, as the proof over all states found.
fn bonding(h: &mut Holding<'_, '_>) {
    if !h.us() {
        return;
    }
    let held = match h.bonded_once {
        Some(holds) => Held::new("system-bond", "plant", holds),
        None => Held::not_covered("system-bond", "plant"),
    };
    h.held.push(held.because(say!("by the proof over all states (P5)")));
}

/// Rules that every run of a kind goes through.
fn runs(h: &mut Holding<'_, '_>) {
    let us = h.us();
    let mut held = Vec::new();
    for wire in h.wires {
        let role = wire.role.as_str();
        if us && wire.neutral.is_some() {
            let why = say!("whether it counts among the current-carrying conductors was decided by it");
            held.push(Held::new("neutral-conductor", role, true).because(why));
        }
        if us && role.starts_with("unit.") && wire.lines > 0 {
            let why = say!("sized by 125 % of the unit's rated output");
            held.push(Held::new("source-circuit", role, true).because(why));
        }
        if !us && wire.neutral.is_some() {
            held.push(Held::new("neutral-section", role, true).because(say!("as large as the lines")));
        }
        // of direct-current devices no standard fixes a series
        if !us && !wire.direct && wire.guarded {
            held.push(rated(role, wire.device.value()));
        }
    }
    h.held.extend(held);
}

/// A device whose rating is none that is preferred may be one that is set, or none at all.
fn rated(role: &str, rating: Current) -> Held {
    let is = |listed: &Known<Current>| (listed.value() - rating).si().abs() < 1e-6;
    let all = Device::ALL.into_iter().filter_map(|device| rated_currents(device).ok()).flatten();
    if all.into_iter().any(|listed| is(&listed)) {
        return Held::new("rated-currents", role, true);
    }
    let why = say!(
        "{rating} is no preferred rated current: whether the device is one that can be set so is not looked at",
        rating
    );
    Held::outside("rated-currents", role).because(why)
}

/// Rules on arrays.
fn of_array(id: &str) -> bool {
    ["array", "string", "solar", "controller"].iter().any(|begins| id.starts_with(begins))
}

/// Rules of a service's demand that only dwellings know.
const DWELLING: &[&str] = &[
    "dwelling-standard",
    "dwelling-optional",
    "dwelling-existing",
    "small-appliance",
    "fixed-appliances",
    "dryers",
    "ranges",
    "multifamily-standard",
];

/// Rules by which a demand could be found, where it was found in another way: what does not count for this kind of site
/// does not apply, all else stays to be shown.
fn of_demand(h: &Holding<'_, '_>, id: &str) -> Option<(Verdict, Text)> {
    use Verdict::{DoesNotApply as Not, OutsideScope as Outside};
    let method = &h.case.site.demand;
    let by_dwelling = matches!(method, DemandMethod::DwellingStandard(_) | DemandMethod::DwellingOptional(_));
    let building = ["building-load", "building-lighting"].contains(&id);
    let found_by = STANDARD.contains(&id) || OPTIONAL.contains(&id) || DWELLING.contains(&id);
    if !(found_by || building || id == "measured-demand") {
        return None;
    }
    Some(match id {
        _ if building && by_dwelling => (Not, say!("the demand is that of a dwelling")),
        "measured-demand" => (Not, say!("the service's demand is not measured")),
        "multifamily-standard" if by_dwelling => (Not, say!("one dwelling is calculated, not several")),
        "dwelling-existing" if by_dwelling => {
            (Not, say!("no addition to an existing dwelling is calculated"))
        }
        _ if by_dwelling => (Not, say!("the demand is found by the other of the two dwelling calculations")),
        // whether the site is a dwelling is not stated where none of its calculations is chosen
        _ if DWELLING.contains(&id) => (
            Outside,
            say!(
                "the demand is not found by a dwelling calculation; whether the site is a dwelling is not stated"
            ),
        ),
        _ => (
            Outside,
            say!("the demand is itemised or measured, not by NEC article 220: to be shown to the authority"),
        ),
    })
}

fn reason(h: &Holding<'_, '_>, book: Book, id: &str) -> (Verdict, Text) {
    use Verdict::{DoesNotApply as Not, OutsideScope as Outside};
    let islanded = h.case.layout == Layout::Islanded;
    let exports = h.case.settings.export_limit.value() > Power::ZERO;
    // what only a setting holds back may flow
    let can_export = !islanded && h.case.unit.export.highest.is_some();
    if let Some(reason) = of_demand(h, id) {
        return reason;
    }
    match id {
        "service-minimum" if islanded => (Not, say!("there is no service")),
        "service-minimum" | "dwelling-service" => (
            Not,
            say!(
                "no single-phase service above 100 A of a dwelling whose demand is found by its calculation"
            ),
        ),
        "locked-rotor" => (Not, say!("no motor states a code letter")),
        "standby-capacity" if islanded => (Not, say!("there is no utility that the group stands by for")),
        "stand-alone" if !islanded => (Not, say!("a utility supplies the site")),
        "service-capacity" if islanded => (Not, say!("there is no service")),
        "service-capacity" => (Outside, say!("the demand of the service or its conductors were not found")),
        "parallel-set" => (Not, say!("no run has conductors in parallel")),
        "busbar-connection" if !(exports || can_export) => (Not, say!("nothing flows back to the utility")),
        "busbar-connection" => (Outside, say!("the busbars between group and service")),
        "feeder-connection" => (Not, say!("no load is tapped from the group's feeder")),
        "power-control" if !(exports || can_export) => (Not, say!("nothing flows back to the utility")),
        "power-control" => {
            (Outside, say!("whether the units are listed for power control: seen in the listing"))
        }
        "supply-side" => (Not, say!("the group is connected behind the service disconnect")),
        "conductor-tap" if h.case.bank.is_some() => (
            Outside,
            say!("runs between the DC busbar and devices that do not stand at it are not sized as taps"),
        ),
        "conductor-tap" => (Not, say!("every conductor has its device at its supply end")),
        "generator-conductor" => (Not, say!("there is no generator")),
        "motor-overload-device" => (
            Outside,
            say!("overload devices of motors: they follow the motor's nameplate, which is not stated"),
        ),
        "motor-conductor" | "motor-device" | "motor-breaker" | "motor-overload" => {
            (Not, say!("no motor is among the loads"))
        }
        "bonding-jumper" | "electrode-conductor" => {
            (Not, say!("no service, and no source with a bond of its own"))
        }
        "working-area" | "gangway" => (Outside, say!("the space before the gear: no wall was planned")),
        "source-circuit" => (Not, say!("no run of a unit was sized")),
        "continuous-load" => (Not, say!("no run carries a continuous load")),
        "residual-current-type" => (
            Outside,
            say!(
                "whether a residual current device bears the direct current that a unit may leak: ask the maker"
            ),
        ),
        "automatic-disconnection" | "disconnection-time" => {
            (Outside, say!("disconnection while the utility feeds: its loop is measured at check-out"))
        }
        "adiabatic-withstand" => (Outside, say!("heat of a fault in conductors: let-through of the devices")),
        "cable-voltage-drop" => {
            (Outside, say!("voltage drop to the last load; that of the runs is shown with them"))
        }
        "unbalance-derating" => (Outside, say!("derating of motors by unbalanced voltage")),
        "breaker-discrimination" => {
            (Outside, say!("discrimination: types of main and branch breaker are not stated"))
        }
        "protective-conductor" | "overload-coordination" => (Not, say!("no such run")),
        "direct-voltage-drop" => (Outside, say!("conductors of the direct-current side")),
        _ if of_array(id) && h.case.site.arrays.is_empty() => (Not, say!("there is no array")),
        _ if of_array(id) => (Outside, say!("of arrays that is not looked at, or was not decided")),
        _ if id.starts_with("storage") && book == Book::Us => {
            (Outside, say!("the battery's circuits on the direct-current side"))
        }
        _ => (Not, say!("nothing of this plant asks for it")),
    }
}
