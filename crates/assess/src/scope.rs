//! What this version does not look at: named, never called checked.

use finding::{Finding, Severity};
use saying::say;

use crate::{Case, Ledger, feed};

const ITEMS: &[(&str, &str)] = &[
    ("bonding", "the electrodes themselves, supplementary bonding of metal parts"),
    (
        "breakers and fuses",
        "ratings other than those named, trip curves under motor starts, discrimination but where the types of main and branch breaker are stated, short-circuit rating of bypass gear",
    ),
    (
        "single failures",
        "what one welded relay, failed interlock or lost link leads to: see `wattwright prove`",
    ),
    ("generator", "motor starts and voltage dip on it, its own protection, fuel"),
    (
        "room and wall",
        "noise, ingress class, generator, array inverters with the devices of their strings, breakers of the AC side and (unless `battery = true`) the battery with the devices of its strings on the wall, ways of raceways, dedicated equipment space and access to it",
    ),
    ("links", "links to battery, meters and monitoring"),
    (
        "connection rules",
        "interface protection and the time until a soft loss of the utility is noticed, rapid shutdown in detail, arc-fault protection, choice of surge protection",
    ),
];

/// Where the site has a bank.
const DECIDED: &[(&str, &str)] = &[(
    "array and DC side",
    "charging voltage of the controllers of an array and what they feed into a fault, recharging after an outage, self-discharge, short-circuit withstand of DC cables, DC earthing and its faults, clearing times of DC devices",
)];

/// Where it has none.
const OPEN: &[(&str, &str)] =
    &[("battery, array and DC bus", "energy for the wished outage, DC currents, charging by the array")];

/// By US practice alone: the IEC book has a rule for it.
const PEOPLE: (&str, &str) =
    ("people in the island", "touch protection with the group's small fault current, by the adopted code");

/// By the IEC book alone: it leaves them to national annexes and practice, and none is guessed.
const DIVERSITY: (&str, &str) = (
    "demand",
    "diversity factors of a country's practice: none is taken off, loads that may run together count whole",
);

/// Names them.
pub(crate) fn name(case: &Case<'_>, ledger: &mut Ledger) {
    let dc = if case.bank.is_some() { DECIDED } else { OPEN };
    let us = case.site.service.earthing.value == site::Earthing::Us;
    for (part, what) in ITEMS.iter().chain(dc).chain([if us { &PEOPLE } else { &DIVERSITY }]) {
        ledger.find(Finding::new(
            "outside-scope",
            Severity::OutsideScope,
            *part,
            say!("not looked at: {what}", what),
        ));
    }
    runs(case, ledger);
}

/// Runs that the plant does not have: of the site's panels it has that to the backup panel, and the service.
fn runs(case: &Case<'_>, ledger: &mut Ledger) {
    let ahead = feed::ancestors(case);
    let first = ahead.last().map(|p| &p.id.value);
    for panel in &case.site.panels {
        let id = &panel.id.value;
        // behind the service's conductors, or the run to the backup panel
        if *id == case.site.group.panel.value || (panel.fed_from.is_none() && first == Some(id)) {
            continue;
        }
        ledger.find(Finding::new(
            "outside-scope",
            Severity::OutsideScope,
            format!("panel.{id}"),
            say!("not looked at: the run to this panel, with its conductors and their ampacity, device, voltage drop, protective conductor and raceway"),
        ));
    }
}
