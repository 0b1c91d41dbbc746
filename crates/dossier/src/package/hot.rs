//! Steps with voltage: first energising, transfer, load, links, protection.

use assess::Case;
use catalog::BypassKind;
use design::{Design, Readings, SourceReadings};
use plant::{ArraySide, Layout};
use quantity::Quantity;

use super::checkout::step;
use crate::CheckoutStep;
use crate::units::shown;

const FIRST: &str = "first energising";
const MOVES: &str = "transfer and bypass";
const LOAD: &str = "load";
const ARRAYS: &str = "arrays on panels";
const LIVE: &str = "Live parts: arc-rated clothing, face shield, one person measures and one watches. Doors that need not be open are shut.";

/// The voltages of a place, as expected.
fn volts(mut s: CheckoutStep, e: &SourceReadings, at: &str) -> CheckoutStep {
    let (low, high) = &e.phase;
    s = s.read(
        format!("each leg to neutral {at}"),
        format!("{} to {}", low.value(), high.value()),
        &[low.node(), high.node()],
    );
    if let Some((low, high)) = &e.line {
        s = s.read(
            format!("between lines {at}"),
            format!("{} to {}", low.value(), high.value()),
            &[low.node(), high.node()],
        );
    }
    let (low, high) = &e.frequency;
    s.read(
        format!("frequency {at}"),
        format!("{:.1} Hz to {:.1} Hz", low.value().si(), high.value().si()),
        &[low.node(), high.node()],
    )
}

pub(super) fn energising(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let case = &design.case;
    let e = &r.source;
    let lead = design.placed.as_ref().map_or("the first unit", |p| p.links.lead.as_str());
    let several = case.formation.units() > 1;
    let mut all = Vec::new();
    if case.layout != Layout::Islanded {
        let s = step(
            FIRST,
            "Close the service onto the main panel; units' input breakers and the backup panel stay open.",
        )
        .caution(LIVE);
        let mut s = volts(s, e, "ahead of the units' input breakers");
        if case.system().legs().len() > 2 {
            s = s.see("rotation of the phases", "L1 – L2 – L3, the same at every unit's input");
        }
        all.push(s);
    }
    let s = step(
        FIRST,
        format!("Start {lead} alone from the battery, with all output breakers open and no AC source."),
    )
    .caution(LIVE)
    .otherwise("switch it off; wrong voltage or frequency burns what is connected");
    all.push(volts(s, e, &format!("at the output of {lead}")));
    if several {
        all.push(
            step(FIRST, "Start the followers one after the other, output breakers still open; each must find the lead unit.")
                .caution("Outputs that are not in step must never be joined: measure across each open output breaker before it closes.")
                .read(
                    "across each open output breaker, leg by leg",
                    format!("steady, at most {} (common practice)", r.in_step.value()),
                    &[r.in_step.node()],
                )
                .see("role and address shown at each unit", "as in the settings sheet")
                .otherwise("leave the breaker open: legs are crossed, or the unit is not synchronised"),
        );
    }
    all
}

pub(super) fn moving(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let case = &design.case;
    let mut all = Vec::new();
    if case.layout != Layout::Islanded {
        all.push(outage(r));
        all.push(back(case, r));
    }
    if case.settings.inhibit {
        all.push(
            step(MOVES, "With the transfer switch on the group, try whether the units stay off their input while the utility is good.")
                .see("relays of every unit", "open for as long as the switch stands on the group"),
        );
    }
    if let Some(bypass) = case.bypass {
        let how = match bypass.kind {
            BypassKind::InterlockedBreakers => {
                "Try to close the bypass breaker while the units' breaker is closed, and the other way round; then with one half-way."
            }
            BypassKind::ManualSwitch => {
                "Move the bypass switch through all positions with the group off; measure that it breaks before it makes."
            }
        };
        all.push(
            step(MOVES, how)
                .caution("Energising the output of a running group from outside destroys it. The group is off and its output breakers are open for this step. The interlock is tried, never forced.")
                .see("both sides closed at once", "impossible in every attempt")
                .see("panel on bypass, units open on all sides and locked", "panel served; no voltage at the units after the waiting time of their makers")
                .otherwise("do not put the bypass into service"),
        );
    }
    if let Some(generator) = case.generator {
        all.push(set(case, r, &generator.id));
    }
    all
}

fn outage(r: &Readings) -> CheckoutStep {
    let s = step(MOVES, "With a small load on the panel, open the service disconnect and time the gap until the panel is served again.")
        .caution("The panel is live again by itself within moments: nobody works on it.");
    let s = match &r.gap {
        Some(gap) => s.read("gap at the panel", format!("at most {}", gap.value()), &[gap.node()]),
        None => s.see(
            "gap at the panel",
            "not stated by the record: write it down and compare with what the loads bear",
        ),
    };
    s.see("utility side of the open service disconnect's load terminals", "no voltage from the group")
        .otherwise("close nothing: a group that feeds a dead utility kills the line crew")
}

fn back(case: &Case<'_>, r: &Readings) -> CheckoutStep {
    let (action, first) = (
        if r.switch_back.is_some() {
            "Close the service again and time the return of units and transfer switch."
        } else {
            "Close the service again and time the return of the units."
        },
        &r.units_back,
    );
    let unstated = || "no stated latest time".to_owned();
    let latest = case.unit.reconnect_latest.map_or_else(unstated, |l| l.to_string());
    let s = step(MOVES, action).read(
        "units back on the utility after",
        format!("{} to {latest}", first.value()),
        &[first.node()],
    );
    match (&r.switch_back, &case.settings.retransfer) {
        (Some(from), Some(range)) => {
            let to = range.latest.map_or_else(unstated, |l| l.to_string());
            s.read(
                "transfer switch back on the utility after",
                format!("{} to {to}", from.value()),
                &[from.node()],
            )
        }
        _ => s,
    }
}

fn set(case: &Case<'_>, r: &Readings, id: &str) -> CheckoutStep {
    let e = &r.source;
    let s = step(
        MOVES,
        format!("Run {id} with the service open; wait until the units take it, then let them charge."),
    )
    .caution("Exhaust outdoors only. Its neutral is joined to earth as the drawing shows, never twice.");
    let s = volts(s, e, "at the generator's terminals under load");
    match &case.settings.generator_limit {
        Some(limit) => s.read(
            "current of the worst leg from the generator",
            format!("at most {}", limit.value()),
            &[limit.node()],
        ),
        None => s.see("current of the worst leg from the generator", "at most its nameplate"),
    }
}

pub(super) fn loading(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let case = &design.case;
    let mut all = vec![full(design, r)];
    if let Some(placed) = &design.placed {
        for link in placed.links.links.iter().filter(|l| !l.cables.is_empty()) {
            let Some(cable) =
                link.cables.iter().max_by_key(|c| (c.cuts_off.len(), std::cmp::Reverse(c.name.clone())))
            else {
                continue;
            };
            let words = link
                .if_lost
                .clone()
                .unwrap_or("not stated by the record: write down what they do".to_owned());
            all.push(
                step(LOAD, format!("With a small load in the island, pull link cable {} out of {}.", cable.name, cable.to))
                    .caution("Loads may lose power. Units that go on out of step would feed each other: be ready to open their output breakers.")
                    .see(format!("{} without its lead unit", cable.cuts_off.join(", ")), words)
                    .otherwise("open the output breakers of the units that went on by themselves"),
            );
        }
        if let Some(room) = &placed.room {
            all.push(
                step(LOAD, "After two hours at load, read the room temperature at the units' air intake, and outdoors.")
                    .read("room", format!("at most {}", shown(case.site.units(), room.stated.value())), &[room.stated.node()])
                    .otherwise("more air or cooling before the group is handed over"),
            );
        }
    }
    if case.layout != Layout::Islanded {
        let export = &case.settings.export_limit;
        let none = export.value().si() <= 0.0;
        let mut s = step(LOAD, "Read every protection setting back from the units and compare with the settings sheet; then open the service at part load.")
            .see("each setting", "as in the settings sheet, or as the utility asked")
            .read(
                "power to the utility",
                if none { "none".to_owned() } else { format!("at most {}", export.value()) },
                &[export.node()],
            );
        s = match &r.ceases {
            Some(within) => s.read(
                "output towards the opened service ceases within",
                within.value().to_string(),
                &[within.node()],
            ),
            None => s.see(
                "output towards the opened service ceases",
                "within the time that the network operator asks for",
            ),
        };
        all.push(s.otherwise("do not stay connected to the utility"));
    }
    all.push(
        step("handing over", "Fit all labels, close all covers, put drawings and this list at the equipment, and take the locks off.")
            .see("labels", "all of the schedule")
            .see("who operates it", "shown: outage, bypass, shutdown, whom to call")
            .otherwise("do not hand over"),
    );
    all
}

fn full(design: &Design<'_>, r: &Readings) -> CheckoutStep {
    let case = &design.case;
    let mut s = step(LOAD, "Load the group in the island up to the assessed demand and hold it for 30 min; read currents and warm terminals.")
        .caution("Loose terminals burn under load: look with a thermal camera through the doors, not with hands.");
    for leg in &r.legs {
        let (I, leg_name) = (&leg.panel, leg.leg);
        s = s.read(format!("{leg_name} at the backup panel"), format!("up to {}", I.value()), &[I.node()]);
        if let Some(most) = &leg.unit {
            s = s.read(
                format!("{leg_name} of each unit at that load"),
                format!("at most {} (equal part and {})", most.value(), case.unit.sharing_tolerance),
                &[most.node()],
            );
        }
    }
    let N = &case.demand.neutral;
    s.read("neutral at the backup panel", format!("up to {}", N.value()), &[N.node()])
}

/// Arrays on panels: off with their panel, back by themselves, held back by the island's frequency, locked out from a
/// generator.
pub(super) fn arrays(design: &Design<'_>, r: &Readings) -> Vec<CheckoutStep> {
    let utility = design.case.layout != Layout::Islanded;
    let each = r.ac_arrays.iter().map(|a| {
        let behind = a.side == ArraySide::Backup;
        let action = if behind {
            format!("In sun, with {} feeding the panel, let the group form the island: open the service where there is one, then take loads away until the battery is full or its charging is set to nothing.", a.id)
        } else {
            format!("In sun, with {} feeding the main panel, open the service disconnect and measure at the array inverters' terminals before the group has to carry anything.", a.id)
        };
        let mut s = step(ARRAYS, action)
            .caution("Array inverters may come back by themselves at any moment: treat their terminals as live, and open the array's own disconnect before anybody works on them.")
            .read(
                "highest current of each line in full sun",
                format!("at most {}", a.current.value()),
                &[a.current.node()],
            );
        if behind {
            s = match &a.curtailed {
                Some((off, raised)) => s.read(
                    "frequency of the island with a full battery; power of the array",
                    format!("between {:.1} Hz and {:.1} Hz; the array falls to nothing", off.value().si(), raised.value().si()),
                    &[off.node(), raised.node()],
                ),
                None => s.see("power of the array with a full battery", "nothing, before the battery is over its highest voltage"),
            };
            if a.locked_out {
                s = s.see(
                    "voltage at the array inverters' terminals while the generator carries the panel",
                    "none: the lock-out contactor is open before the generator is taken, and cannot be closed by hand",
                );
            }
        } else {
            s = s.see("panel side of the array inverters while the utility is away", "no voltage, for as long as it is away");
        }
        if utility {
            s = match &a.ceases {
                Some(within) => s.read(
                    "after its panel goes dead, output of the array ceases within",
                    within.value().to_string(),
                    &[within.node()],
                ),
                None => s.see(
                    "after its panel goes dead, output of the array ceases",
                    "within the time that the network operator asks for",
                ),
            };
        }
        s.read(
            "first power after a right voltage is back",
            format!("not before {}", a.returns.value()),
            &[a.returns.node()],
        )
        .otherwise("open the array's disconnect and leave it locked: an array that stays on feeds a dead utility, or drives a full battery too high")
    });
    each.collect()
}
