//! Steps with voltage: first energising, transfer, load, links, protection.

use assess::Case;
use catalog::BypassKind;
use derivation::{Known, formula};
use design::Design;
use plant::Layout;
use quantity::{Current, Duration, Frequency, LineVoltage, PhaseVoltage, Quantity};
use site::Earthing;

use super::checkout::{band, step};
use super::settings::{counted, earliest_return};
use crate::CheckoutStep;
use crate::units::shown;

const FIRST: &str = "first energising";
const MOVES: &str = "transfer and bypass";
const LOAD: &str = "load";
const LIVE: &str = "Live parts: arc-rated clothing, face shield, one person measures and one watches. Doors that need not be open are shut.";

struct Expected {
    phase: (Known<PhaseVoltage>, Known<PhaseVoltage>),
    line: Option<(Known<LineVoltage>, Known<LineVoltage>)>,
    frequency: (Known<Frequency>, Known<Frequency>),
}

fn expected(case: &Case<'_>) -> Expected {
    let us = case.site.service.earthing.value == Earthing::Us;
    let tolerance = if us {
        Known::factor(
            "t",
            "tolerance of the service voltage",
            0.05,
            "ANSI C84.1, range A (from memory, confirm)",
        )
    } else {
        Known::factor("t", "tolerance of the supply voltage", 0.10, "IEC 60038 (from memory, confirm)")
    };
    let place = &case.site.service.system.place;
    let U = case.voltage();
    let line =
        case.system().line_voltage().map(|v| Known::input("U_LL", "nominal voltage between lines", v, place));
    let f = match &case.site.service.frequency {
        Some(f) => f.known("f", "frequency of the site"),
        None => Known::assumed(
            "f",
            "frequency of the site",
            case.system().usual_frequency(),
            "the usual one of this system",
        ),
    };
    let t_f =
        Known::factor("t_f", "tolerance of frequency", 0.01, "common practice, confirm with the utility");
    Expected {
        phase: band("U", "voltage to neutral", &U, &tolerance),
        line: line.map(|line| band("U_LL", "voltage between lines", &line, &tolerance)),
        frequency: band("f", "frequency", &f, &t_f),
    }
}

/// The voltages of a place, as expected.
fn volts(mut s: CheckoutStep, e: &Expected, at: &str) -> CheckoutStep {
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

pub(super) fn energising(design: &Design<'_>) -> Vec<CheckoutStep> {
    let case = &design.case;
    let e = expected(case);
    let lead = design.placed.as_ref().map_or("the first unit", |p| p.links.lead.as_str());
    let several = case.formation.units() > 1;
    let mut all = Vec::new();
    if case.layout != Layout::Islanded {
        let s = step(
            FIRST,
            "Close the service onto the main panel; units' input breakers and the backup panel stay open.",
        )
        .caution(LIVE);
        let mut s = volts(s, &e, "ahead of the units' input breakers");
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
    all.push(volts(s, &e, &format!("at the output of {lead}")));
    if several {
        all.push(
            step(FIRST, "Start the followers one after the other, output breakers still open; each must find the lead unit.")
                .caution("Outputs that are not in step must never be joined: measure across each open output breaker before it closes.")
                .read(
                    "across each open output breaker, leg by leg",
                    "near 0 V, steady: no more than 2 % of the voltage to neutral (common practice)",
                    &[case.voltage().node()],
                )
                .see("role and address shown at each unit", "as in the settings sheet")
                .otherwise("leave the breaker open: legs are crossed, or the unit is not synchronised"),
        );
    }
    all
}

pub(super) fn moving(design: &Design<'_>) -> Vec<CheckoutStep> {
    let case = &design.case;
    let mut all = Vec::new();
    if case.layout != Layout::Islanded {
        all.push(outage(case));
        all.push(back(case));
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
        all.push(set(case, &generator.id));
    }
    all
}

fn outage(case: &Case<'_>) -> CheckoutStep {
    let unit = case.unit;
    let s = step(MOVES, "With a small load on the panel, open the service disconnect and time the gap until the panel is served again.")
        .caution("The panel is live again by itself within moments: nobody works on it.");
    let s = match (case.layout, case.transfer) {
        (Layout::Outboard, Some(t)) => {
            let most = t.to_second.latest.map(|l| {
                let l = Known::catalog("t_2", "latest move to the group", l, &t.id, "to_second latest");
                let v = Known::catalog("t_v", "travel of the switch", t.travel, &t.id, "travel");
                let gap: Known<Duration> = formula!("t", "longest gap", [l, v] => l + v);
                gap
            });
            match most {
                Some(gap) => s.read("gap at the panel", format!("at most {}", gap.value()), &[gap.node()]),
                None => s.see(
                    "gap at the panel",
                    "not stated by the record: write it down and compare with what the loads bear",
                ),
            }
        }
        _ => {
            let gap = Known::catalog("t", "longest transfer", unit.transfer_gap, &unit.id, "transfer_gap");
            s.read("gap at the panel", format!("at most {}", gap.value()), &[gap.node()])
        }
    };
    s.see("utility side of the open service disconnect's load terminals", "no voltage from the group")
        .otherwise("close nothing: a group that feeds a dead utility kills the line crew")
}

fn back(case: &Case<'_>) -> CheckoutStep {
    let unit = case.unit;
    let first = earliest_return(unit);
    let latest = unit.reconnect_latest.map_or("no stated latest time".to_owned(), |l| l.to_string());
    let s = step(MOVES, "Close the service again and time the return of units and transfer switch.").read(
        "units back on the utility after",
        format!("{} to {latest}", first.value()),
        &[first.node()],
    );
    match &case.settings.retransfer {
        Some(range) => {
            let from =
                Known::chosen("t", "earliest return of the switch", range.earliest, "as set", Vec::new());
            let to = range.latest.map_or("no stated latest time".to_owned(), |l| l.to_string());
            s.read(
                "transfer switch back on the utility after",
                format!("{} to {to}", from.value()),
                &[from.node()],
            )
        }
        None => s,
    }
}

fn set(case: &Case<'_>, id: &str) -> CheckoutStep {
    let e = expected(case);
    let s = step(
        MOVES,
        format!("Run {id} with the service open; wait until the units take it, then let them charge."),
    )
    .caution("Exhaust outdoors only. Its neutral is joined to earth as the drawing shows, never twice.");
    let s = volts(s, &e, "at the generator's terminals under load");
    match &case.settings.generator_limit {
        Some(limit) => s.read(
            "current of the worst leg from the generator",
            format!("at most {}", limit.value()),
            &[limit.node()],
        ),
        None => s.see("current of the worst leg from the generator", "at most its nameplate"),
    }
}

pub(super) fn loading(design: &Design<'_>) -> Vec<CheckoutStep> {
    let case = &design.case;
    let mut all = vec![full(design)];
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
        let two = Known::constant(
            "t_i",
            "time within which output ceases",
            Duration::of(2.0),
            "IEEE 1547-2018 8.1 (from memory, confirm)",
        );
        let mut s = step(LOAD, "Read every protection setting back from the units and compare with the settings sheet; then open the service at part load.")
            .see("each setting", "as in the settings sheet, or as the utility asked")
            .read(
                "power to the utility",
                if none { "none".to_owned() } else { format!("at most {}", export.value()) },
                &[export.node()],
            );
        if case.site.service.earthing.value == Earthing::Us {
            s = s.read(
                "output towards the opened service ceases within",
                two.value().to_string(),
                &[two.node()],
            );
        } else {
            s = s.see(
                "output towards the opened service ceases",
                "within the time that the network operator asks for",
            );
        }
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

fn full(design: &Design<'_>) -> CheckoutStep {
    let case = &design.case;
    let unit = case.unit;
    let mut s = step(LOAD, "Load the group in the island up to the assessed demand and hold it for 30 min; read currents and warm terminals.")
        .caution("Loose terminals burn under load: look with a thermal camera through the doors, not with hands.");
    let t = Known::catalog(
        "t",
        "sharing tolerance",
        unit.sharing_tolerance.share(),
        &unit.id,
        "sharing_tolerance",
    );
    for (lane, demand) in &case.demand.lanes {
        let demand::Lane::Leg(leg) = lane else { continue };
        let I = &demand.steady_current;
        s = s.read(format!("{leg} at the backup panel"), format!("up to {}", I.value()), &[I.node()]);
        let units = case.formation.on(*leg);
        if units > 1 && case.unit.leg_control != catalog::LegControl::LineToLine {
            let n = counted("units on the leg", units);
            let most: Known<Current> = formula!("I_1", "most of one unit", [I, n, t] => I / n * (1.0 + t));
            s = s.read(
                format!("{leg} of each unit at that load"),
                format!("at most {} (equal part and {})", most.value(), unit.sharing_tolerance),
                &[most.node()],
            );
        }
    }
    let N = &case.demand.neutral;
    s.read("neutral at the backup panel", format!("up to {}", N.value()), &[N.node()])
}
