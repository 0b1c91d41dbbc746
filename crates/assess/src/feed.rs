//! What lies between the utility and the group's input: the service and the panels on the way. Each carries its loads
//! and, on top, what the chargers draw.

use std::collections::BTreeMap;

use catalog::LegControl;
use derivation::{Known, Place, formula};
use finding::{Finding, Margin, Severity};
use plant::Layout;
use quantity::{Current, Leg, Ratio, positive};
use saying::{Text, say};
use site::Earthing;

use crate::{Case, Ledger, positions, unit_flows};

/// The service as a part.
const SERVICE: &str = "service";

/// A rated part on the way.
struct Feed<'a> {
    part: String,
    what: Text,
    rating: Known<Current>,
    place: &'a Place,
    /// Current of every leg without charging, continuous loads counted as the code asks.
    loads: BTreeMap<Leg, Known<Current>>,
}

/// The service, then every panel from the service down to the one that feeds the backup panel.
fn ahead<'a>(case: &Case<'a>) -> Vec<Feed<'a>> {
    let mut feeds = Vec::new();
    let site = case.site;
    if let (Some(rating), Some(demand)) = (&site.service.rating, &case.assessment.service) {
        let of = |leg: Leg| {
            let without = demand.legs.get(&leg).unwrap_or(&demand.current);
            (leg, with_spare(case, leg, without))
        };
        feeds.push(Feed {
            part: SERVICE.to_owned(),
            what: say!("service"),
            rating: rating.known("I_s", "rating of the service"),
            place: &rating.place,
            loads: case.system().legs().iter().map(|&leg| of(leg)).collect(),
        });
    }
    for panel in ancestors(case) {
        let Some(demand) = case.assessment.panels.get(&panel.id.value) else { continue };
        for (rating, what) in [(&panel.main_breaker, say!("main breaker")), (&panel.busbar, say!("busbar"))] {
            let Some(rating) = rating else { continue };
            let what = say!("{what} of panel {panel}", what, panel = panel.id.value);
            feeds.push(Feed {
                part: format!("panel.{}", panel.id.value),
                rating: rating.known("I_n", what.clone()),
                what,
                place: &rating.place,
                loads: demand.sizing.iter().map(|(&leg, I)| (leg, with_spare(case, leg, I))).collect(),
            });
        }
    }
    feeds
}

/// A current ahead of the backup panel with the spare that the site asks for on that panel.
pub(crate) fn with_spare(case: &Case<'_>, leg: Leg, I: &Known<Current>) -> Known<Current> {
    let id = &case.site.group.panel.value;
    let asked = case.assessment.panels.get(id).and_then(|p| p.sizing.get(&leg));
    match (asked, case.demand.sizing.get(&leg)) {
        (Some(I_p), Some(I_s)) if I_s.value() > I_p.value() => {
            let what = format!("{}, with the spare of the backup panel", I.node().what);
            formula!("I_sp", what, [I, I_s, I_p] => I + (I_s - I_p))
        }
        _ => I.clone(),
    }
}

/// The panels that feed the backup panel, the nearest first.
pub(crate) fn ancestors<'a>(case: &Case<'a>) -> Vec<&'a site::Panel> {
    let panels = &case.site.panels;
    let find = |id: &str| panels.iter().find(|p| p.id.value == id);
    let mut found: Vec<&site::Panel> = Vec::new();
    let mut at = find(&case.site.group.panel.value);
    while let Some(up) = at.and_then(|p| p.fed_from.as_ref()).and_then(|up| find(&up.value)) {
        if found.iter().any(|f| f.id.value == up.id.value) {
            break; // a circle, which the reader refuses
        }
        found.push(up);
        at = Some(up);
    }
    found
}

/// How much charging counts: it runs for three hours or more (NEC 2023 230.42(A)(1), 215.3); the IEC books set no such
/// factor.
fn charging_factor(case: &Case<'_>) -> Known<Ratio> {
    if let Some(own) = demand::amended_continuous(case.site) {
        own
    } else if case.site.service.earthing.value == Earthing::Us {
        Known::factor("k", "allowance for a continuous load", 1.25, "NEC 2023 230.42(A)(1), 215.3")
    } else {
        Known::factor("k", "allowance for a continuous load", 1.0, "IEC 60364 sets none")
    }
}

/// What flows beside the group's input on a leg, where the loads are known one by one and the backup panel's load
/// comes through that input (inline).
fn beside(case: &Case<'_>, leg: Leg) -> Option<Known<Current>> {
    let inline = case.layout == Layout::Inline;
    case.assessment.service.as_ref().filter(|_| inline).and_then(|s| s.beside.get(&leg).cloned())
}

/// The largest input limit, per leg, that the service and the panels ahead of the group leave room for.
///
/// Inline the group's input carries load and charging together, up to the limit; beside it flow at most the other
/// loads of the leg: limit <= (I_n - I_b) / k. Otherwise the whole demand may flow while the chargers draw up to the
/// limit: limit <= (I_n - I_d) / k. None without a utility, a rating, or a demand.
pub fn headroom(case: &Case<'_>) -> Option<Known<Current>> {
    if case.layout == Layout::Islanded {
        return None;
    }
    let k = charging_factor(case);
    let mut room: Vec<Known<Current>> = Vec::new();
    for feed in ahead(case) {
        let I_n = &feed.rating;
        for (&leg, I_d) in &feed.loads {
            let what = format!("room of the {} for charging, {leg}", feed.what);
            room.push(match beside(case, leg) {
                Some(I_b) => formula!("I_r", what, [I_n, I_b, k] => positive(I_n - I_b) / k),
                None => formula!("I_r", what, [I_n, I_d, k] => positive(I_n - I_d) / k),
            });
        }
    }
    Known::smallest("I_r", "room for charging ahead of the group", &room)
}

/// The largest current that the service carries on any leg: its demand, also while the group charges. None without a
/// utility, a rating, or a demand.
pub(crate) fn service_current(case: &Case<'_>) -> Option<Known<Current>> {
    if case.layout == Layout::Islanded {
        return None;
    }
    let k = charging_factor(case);
    let mut all: Vec<Known<Current>> = Vec::new();
    for feed in ahead(case).into_iter().filter(|feed| feed.part == SERVICE) {
        for (&leg, I_d) in &feed.loads {
            all.push(I_d.clone());
            all.extend(
                case.settings.input_limit.as_ref().map(|limit| charging_on_top(case, leg, I_d, (limit, &k))),
            );
        }
    }
    Known::largest("I_b", "largest current of the service, also while charging", &all)
}

/// What charging adds to the service's neutral at most: the chargers of one leg while those of the others stand still.
/// None where every unit spans all legs.
pub(crate) fn charging_neutral(case: &Case<'_>) -> Option<Known<Current>> {
    let limit = case.settings.input_limit.as_ref().filter(|_| case.layout != Layout::Islanded)?;
    if case.unit.leg_control != LegControl::OneLeg {
        return None;
    }
    let of = |leg: &Leg| unit_flows::charging_most(case, *leg);
    let legs: Vec<Known<Current>> = case.system().legs().iter().map(of).collect();
    let most = Known::largest("I_ch", "chargers of one leg", &legs)?;
    Known::smallest("I_ch", "charging on one leg alone", &[most, limit.clone()])
}

/// Holds every part on the way while the group charges.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    if case.layout == Layout::Islanded {
        return;
    }
    let Some(limit) = &case.settings.input_limit else { return };
    let k = charging_factor(case);
    for feed in ahead(case) {
        for (&leg, I_d) in feed.loads.iter().filter(|(_, I_d)| I_d.value() <= feed.rating.value()) {
            let with = charging_on_top(case, leg, I_d, (limit, &k));
            let margin = Margin::below(
                feed.part.clone(),
                say!("{what} while charging, {leg}", what = feed.what, leg),
                "utility",
                &with,
                &feed.rating,
            )
            .held_by("input limit");
            ledger.hold(margin, |m| {
                Finding::new(
                    "feed-over-rating-charging",
                    Severity::Error,
                    feed.part.clone(),
                    say!(
                        "while charging the {what} carries {value} on {leg}; it is rated {limit}",
                        what = feed.what,
                        value = m.value.amount.text,
                        leg,
                        limit = m.limit.amount.text
                    ),
                )
                .at(
                    case.site.group.input_limit.fixed().map(|i| &i.place).or(Some(feed.place)),
                    say!("sets the charging"),
                )
                .fix(say!("let the tool choose the input limit (input_limit = \"choose\"), or set it lower"))
            });
        }
    }
}

fn charging_on_top(
    case: &Case<'_>,
    leg: Leg,
    I_d: &Known<Current>,
    (limit, k): (&Known<Current>, &Known<Ratio>),
) -> Known<Current> {
    let most = unit_flows::charging_most(case, leg);
    let what = say!("demand while charging, {leg}", leg);
    match beside(case, leg) {
        Some(I_b) => {
            let load = positions::panel_current(case, leg);
            let all = Known::sum("I_all", "load and all chargers", &[load, most]);
            let I_in = Known::smallest("I_in", "input of the group", &[all, limit.clone()]);
            let I_in = I_in.unwrap_or_else(|| limit.clone());
            let I_sum =
                formula!("I_sum", "other loads and input of the group", [I_b, k, I_in] => I_b + k * I_in);
            Known::largest("I_sch", what, &[I_sum.clone(), I_d.clone()]).unwrap_or(I_sum)
        }
        None => {
            let I_ch = Known::smallest("I_ch", "charging", &[most, limit.clone()]);
            let I_ch = I_ch.unwrap_or_else(|| limit.clone());
            formula!("I_sch", what, [I_d, k, I_ch] => I_d + k * I_ch)
        }
    }
}
