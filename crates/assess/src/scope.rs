//! What this version does not look at: named, never called checked.

use finding::{Finding, Severity};

use crate::Ledger;

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
    ("generator", "motor starts and voltage dip on it, its own protection, fuel"),
    ("battery, array and DC bus", "energy for the wished outage, DC currents, charging by the array"),
    ("room and wall", "heat, ventilation, mounting"),
    ("links", "communication and synchronising cables"),
    (
        "connection rules",
        "interface protection and the time until a soft loss of the utility is noticed, arc-fault and surge protection",
    ),
];

/// Names them.
pub(crate) fn name(ledger: &mut Ledger) {
    for (part, what) in ITEMS {
        ledger.find(Finding::new(
            "outside-scope",
            Severity::OutsideScope,
            *part,
            format!("not looked at: {what}"),
        ));
    }
}
