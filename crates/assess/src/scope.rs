//! What this version does not look at: named, never called checked.

use finding::{Finding, Severity};

use crate::{Case, Ledger};

const ITEMS: &[(&str, &str)] = &[
    ("bonding", "electrode and bonding conductors, bonding of metal parts"),
    (
        "breakers and fuses",
        "ratings other than those named, trip curves under motor starts, discrimination, short-circuit rating of bypass gear",
    ),
    (
        "single failures",
        "what one welded relay, failed interlock or lost link leads to: see `wattwright prove`",
    ),
    ("people in the island", "touch protection with the group's small fault current, by the adopted code"),
    (
        "generator",
        "motor starts and voltage dip on it, its own protection, fuel, power that flows back into it",
    ),
    ("room and wall", "heat, ventilation, mounting"),
    ("links", "communication and synchronising cables"),
    (
        "connection rules",
        "interface protection and the time until a soft loss of the utility is noticed, arc-fault and surge protection",
    ),
];

/// Where the site has a bank.
const DECIDED: &[(&str, &str)] = &[(
    "array and DC side",
    "charging by the array, recharging after an outage, self-discharge, short-circuit withstand of DC cables, DC earthing and its faults, clearing times of DC devices",
)];

/// Where it has none.
const OPEN: &[(&str, &str)] =
    &[("battery, array and DC bus", "energy for the wished outage, DC currents, charging by the array")];

/// Names them.
pub(crate) fn name(case: &Case<'_>, ledger: &mut Ledger) {
    let dc = if case.bank.is_some() { DECIDED } else { OPEN };
    for (part, what) in ITEMS.iter().chain(dc) {
        ledger.find(Finding::new(
            "outside-scope",
            Severity::OutsideScope,
            *part,
            format!("not looked at: {what}"),
        ));
    }
}
