//! Residual current devices: their lines in the list of breakers, and the measurements without which protection of
//! people in the island is not shown.

use std::sync::Arc;

use derivation::{Known, Node};
use design::{Design, OpensIn, Readings, ResidualReadings};
use plant::full::residual_designation;
use quantity::{Current, Duration, Quantity};

use super::checkout::{Walk, step};
use super::lists::text;
use crate::{Cell, CheckoutStep, FINAL};

const STAGE: &str = "protection of people";
const LIVE: &str = "A fault is made on purpose: the panel goes dark, and where a protective conductor is broken touchable \
    metal becomes live for a moment. All loads are off, nobody touches metal parts.";

/// Lines in the list of breakers: the site states them, so they are there already or bought by others.
pub(super) fn rows(design: &Design<'_>) -> Vec<Vec<Cell>> {
    let row = |(k, d): (usize, ResidualReadings)| {
        let what = format!("{} {}", d.words(), d.place);
        let (empty, others) = (|| Cell::Empty, "by others, as the site states");
        vec![
            text(residual_designation(k)),
            text(what),
            empty(),
            empty(),
            empty(),
            text(others),
            empty(),
            empty(),
            text(d.role),
        ]
    };
    (1..).zip(design::residual_devices(&design.case)).map(row).collect()
}

/// What is dead while the device is open, as a place of the check-out.
fn behind(d: &ResidualReadings) -> &'static str {
    if d.at == "backup" { FINAL } else { "backup" }
}

/// The electrode, before any source.
pub(super) fn electrode(r: &Readings) -> Option<CheckoutStep> {
    // with each device the electrode may be as high as its own limit: the lowest counts
    let electrodes = r.residual.iter().filter_map(|d| d.electrode.as_ref());
    let (stated, most) = electrodes.min_by(|a, b| a.1.value().si().total_cmp(&b.1.value().si()))?;
    Some(
            step(STAGE, "Electrode resistance: measure the earth electrode with every source off and locked, its conductor taken off the main earthing terminal, with auxiliary electrodes; put the conductor back.")
                .caution("Without its electrode the installation has no earth: nothing is energised until the conductor is back and tightened.")
                .read("electrode resistance", format!("at most {}, by which protection was found", stated.value()), &[stated.node()])
                .read("limit of the residual current device", most.value().to_string(), &[most.node()])
                .otherwise("more or longer electrodes; write the measured figure into the site file and check again")
                .opens("electrode")
                .dead("output")
                .dead("backup")
                .closes("electrode"),
        )
}

/// Loops and trip times: before any load but a small one is put on.
pub(super) fn steps(walk: &Walk<'_, '_>) -> Vec<CheckoutStep> {
    let mut all: Vec<CheckoutStep> = Vec::new();
    for device in &walk.r.residual {
        all.push(loops(device));
        all.push(trips(walk, device));
    }
    all
}

/// The highest loop that is measured.
fn loops(d: &ResidualReadings) -> CheckoutStep {
    let words = d.words();
    let s = step(STAGE, format!("Fault-loop impedance behind the {words} {}: measure line to protective conductor at the far end of every circuit, with a method that does not trip the device; where there is a utility on it, and with the group alone by the sum of the loop's parts.", d.place))
        .caution(format!("Measured live. {LIVE}"))
        .read("each fault loop", format!("at most {}", d.loop_most.value()), &[d.loop_most.node()]);
    let s = match &d.stated {
        Some(stated) => s.read(
            "highest loop of the final circuits on the utility",
            format!("at most {}, as the site states", stated.value()),
            &[stated.node()],
        ),
        None => s,
    };
    s.otherwise("leave the circuit open: its protective conductor is broken, or its loop too long")
        .live(behind(d))
}

/// Made to open under voltage, and closed again.
fn tripped(s: CheckoutStep, d: &ResidualReadings) -> CheckoutStep {
    s.live(behind(d)).opens(d.role).dead(behind(d)).closes(d.role).live(behind(d))
}

fn trips(walk: &Walk<'_, '_>, d: &ResidualReadings) -> CheckoutStep {
    let words = d.words();
    let again = "close the device again after every trip";
    let how = if walk.utility() {
        format!(
            "on the utility, then on the group alone with the service disconnect open, each time in both half waves; then its test button; {again}, and the service disconnect at the end"
        )
    } else {
        format!("on the group, in both half waves; then its test button; {again}")
    };
    let s = step(STAGE, format!("RCD trip test of each {words} {}, {how}.", d.place))
        .caution(LIVE)
        .read(format!("at {}", d.stays.value()), "stays closed", &[d.stays.node()])
        .each([&d.rated, &d.five].into_iter().zip(&d.opens), |s, (current, opens)| {
            at(s, current, opens.as_ref())
        })
        .see("poles", "neutral and every line open together")
        .otherwise(
            "replace the device, or find the leakage or the second join of neutral and earth behind it",
        );
    if !walk.utility() {
        return tripped(s, d);
    }
    let s = walk.leave(tripped(s, d));
    walk.come_back(tripped(s, d)).live("backup")
}

/// When it has to open at a residual current.
fn at(s: CheckoutStep, current: &Known<Current>, opens: Option<&OpensIn>) -> CheckoutStep {
    let what = format!("at {}", current.value());
    let Some(OpensIn { least, most }) = opens else {
        return s.read(what, "opens, in the time that its maker states", &[current.node()]);
    };
    let ms = |t: &Known<Duration>| format!("{:.0} ms", 1000.0 * t.value().si());
    let times = match least {
        Some(least) => {
            format!("{} to {} (IEC 61008-1 Table 1, shortest from memory, confirm)", ms(least), ms(most))
        }
        None => format!("at most {} (IEC 61008-1 Table 1, confirm)", ms(most)),
    };
    let from: Vec<&Arc<Node>> =
        [current.node()].into_iter().chain(least.as_ref().map(Known::node)).chain([most.node()]).collect();
    s.read(what, format!("opens, {times}"), &from)
}
