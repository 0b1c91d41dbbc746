//! Residual current devices: their lines in the list of breakers, and the measurements without which protection of
//! people in the island is not shown.

use std::sync::Arc;

use derivation::{Known, Node};
use design::{Design, OpensIn, Readings, ResidualReadings};
use plant::full::residual_designation;
use quantity::{Current, Duration, Quantity};
use saying::{Text, say};

use super::checkout::{Walk, step};
use super::lists::text;
use crate::{Cell, CheckoutStep, FINAL};

const STAGE: &str = "protection of people";
const LIVE: Text = Text::plain(
    "A fault is made on purpose: the panel goes dark, and where a protective conductor is broken touchable \
    metal becomes live for a moment. All loads are off, nobody touches metal parts.",
);

/// Lines in the list of breakers: the site states them, so they are there already or bought by others.
pub(super) fn rows(design: &Design<'_>) -> Vec<Vec<Cell>> {
    let row = |(k, d): (usize, ResidualReadings)| {
        let what = format!("{} {}", d.words(), d.place);
        let (empty, others) = (|| Cell::Empty, say!("by others, as the site states"));
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
            step(STAGE, say!(
                "Electrode resistance: measure the earth electrode with every source off and locked, its conductor taken off the main earthing terminal, with auxiliary electrodes; put the conductor back."
            ))
                .caution(say!(
                    "Without its electrode the installation has no earth: nothing is energised until the conductor is back and tightened."
                ))
                .read(say!(
                    "electrode resistance"
                ), say!(
                    "at most {stated}, by which protection was found",
                    stated = stated.value()
                ), &[stated.node()])
                .read(say!("limit of the residual current device"), most.value().to_string(), &[most.node()])
                .otherwise(say!(
                    "more or longer electrodes; write the measured figure into the site file and check again"
                ))
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
    let s = step(STAGE, say!(
        "Fault-loop impedance behind the {words} {place}: measure line to protective conductor at the far end of every circuit, with a method that does not trip the device; where there is a utility on it, and with the group alone by the sum of the loop's parts.",
        words,
        place = d.place
    ))
        .caution(say!("Measured live. {live}", live = LIVE))
        .read(say!(
            "each fault loop"
        ), say!("at most {loop_most}", loop_most = d.loop_most.value()), &[d.loop_most.node()]);
    let s = match &d.stated {
        Some(stated) => s.read(
            say!("highest loop of the final circuits on the utility"),
            say!("at most {stated}, as the site states", stated = stated.value()),
            &[stated.node()],
        ),
        None => s,
    };
    s.otherwise(say!("leave the circuit open: its protective conductor is broken, or its loop too long"))
        .live(behind(d))
}

/// Made to open under voltage, and closed again.
fn tripped(s: CheckoutStep, d: &ResidualReadings) -> CheckoutStep {
    s.live(behind(d)).opens(d.role).dead(behind(d)).closes(d.role).live(behind(d))
}

fn trips(walk: &Walk<'_, '_>, d: &ResidualReadings) -> CheckoutStep {
    let words = d.words();
    let again = say!("close the device again after every trip");
    let how = if walk.utility() {
        say!(
            "on the utility, then on the group alone with the service disconnect open, each time in both half waves; then its test button; {again}, and the service disconnect at the end",
            again
        )
    } else {
        say!("on the group, in both half waves; then its test button; {again}", again)
    };
    let s = step(STAGE, say!("RCD trip test of each {words} {place}, {how}.", words, place = d.place, how))
        .caution(LIVE)
        .read(say!("at {stays}", stays = d.stays.value()), say!("stays closed"), &[d.stays.node()])
        .each([&d.rated, &d.five].into_iter().zip(&d.opens), |s, (current, opens)| {
            at(s, current, opens.as_ref())
        })
        .see(say!("poles"), say!("neutral and every line open together"))
        .otherwise(say!(
            "replace the device, or find the leakage or the second join of neutral and earth behind it"
        ));
    if !walk.utility() {
        return tripped(s, d);
    }
    let s = walk.leave(tripped(s, d));
    walk.come_back(tripped(s, d)).live("backup")
}

/// When it has to open at a residual current.
fn at(s: CheckoutStep, current: &Known<Current>, opens: Option<&OpensIn>) -> CheckoutStep {
    let what = say!("at {current}", current = current.value());
    let Some(OpensIn { least, most }) = opens else {
        return s.read(what, say!("opens, in the time that its maker states"), &[current.node()]);
    };
    let ms = |t: &Known<Duration>| format!("{:.0} ms", 1000.0 * t.value().si());
    let times = match least {
        Some(least) => {
            say!(
                "{ms} to {ms_2} (IEC 61008-1 Table 1, shortest from memory, confirm)",
                ms = ms(least),
                ms_2 = ms(most)
            )
        }
        None => say!("at most {ms} (IEC 61008-1 Table 1, confirm)", ms = ms(most)),
    };
    let from: Vec<&Arc<Node>> =
        [current.node()].into_iter().chain(least.as_ref().map(Known::node)).chain([most.node()]).collect();
    s.read(what, say!("opens, {times}", times), &from)
}
