//! What of the room does not hold.

use finding::{Finding, Margin, Severity};
use quantity::{Quantity, Temperature};
use saying::{Text, say};

use super::{Moving, RoomCase, RoomPlan};

const PART: &str = "room";

pub(super) fn hold(case: &RoomCase<'_>, plan: &mut RoomPlan) {
    match (&case.site.room, &plan.carried) {
        (Some(_), Some(_)) => described(case, plan),
        _ => not_described(case, plan),
    }
    gas(case, plan);
}

fn worst_state(plan: &RoomPlan) -> String {
    plan.states.first().map(|s| s.state.clone()).unwrap_or_default()
}

/// What would hold the stated temperature, with figures.
fn remedy(plan: &RoomPlan) -> Text {
    let cooling = say!("cooling of {needed_cooling}", needed_cooling = plan.needed_cooling.value());
    match &plan.needed_flow {
        Some(flow) => say!(
            "{flow} of air from outside at {outside}, or {cooling}, holds {stated}",
            flow = flow.value(),
            outside = plan.outside.value(),
            cooling,
            stated = plan.stated.value()
        ),
        None => say!(
            "{cooling} holds {stated}: outside is {outside}, so no air flow can",
            cooling,
            stated = plan.stated.value(),
            outside = plan.outside.value()
        ),
    }
}

fn described(case: &RoomCase<'_>, plan: &mut RoomPlan) {
    let (Some(room), Some(carried)) = (&case.site.room, &plan.carried) else { return };
    let margin = Margin::below(PART, say!("heat in the room"), worst_state(plan), &plan.heat, carried);
    let mut held = std::mem::take(&mut plan.held);
    if !margin.holds() {
        let settles = match (&plan.settled, &plan.factor) {
            (Some(t), Some(k)) => say!(
                "it settles at {t} and leaves {floor_percent} % of the units' rating, not at the stated {stated}",
                t = shown(t.value()),
                floor_percent = format!("{:.0}", floor_percent(k.value().si())),
                stated = plan.stated.value()
            ),
            (Some(t), None) => say!(
                "it settles at {t}, where the units have no rating, not at the stated {stated}",
                t = shown(t.value()),
                stated = plan.stated.value()
            ),
            (None, _) => {
                say!(
                    "nothing described carries the heat away at the stated {stated}",
                    stated = plan.stated.value()
                )
            }
        };
        let message = say!("the room does not stay as cool as the design counts on: {settles}", settles);
        held.findings.push(
            Finding::new("room-too-warm", Severity::Error, PART, message)
                .in_state(worst_state(plan))
                .measured(plan.heat.node(), carried.node())
                .at(Some(&room.place), say!("this room"))
                .fix(remedy(plan))
                .fix(say!(
                    "or state the temperature at which it settles as `room`, and let the design be made for that"
                )),
        );
    }
    if room.other_heat.is_none() {
        held.findings.push(
            Finding::new(
                "room-other-heat",
                Severity::Warning,
                PART,
                say!("only the heat of the units is counted: breakers, conductors, chargers and other things add to it"),
            )
            .at(Some(&room.place), say!("no other_heat"))
            .fix(say!("state other_heat")),
        );
    }
    held.margins.push(margin);
    plan.held = held;
}

/// Up to the next tenth of a degree.
fn shown(t: Temperature) -> Temperature {
    Temperature::of((t.si() * 10.0 - 1e-9).ceil() / 10.0)
}

/// Down to a whole percent.
fn floor_percent(share: f64) -> f64 {
    (share * 100.0 + 1e-9).floor()
}

fn not_described(case: &RoomCase<'_>, plan: &mut RoomPlan) {
    let message = say!(
        "the design counts on {stated} in the room; how {heat} of heat leave it is not described",
        stated = plan.stated.value(),
        heat = plan.heat.value()
    );
    plan.held.findings.push(
        Finding::new("room-not-described", Severity::Warning, PART, message)
            .in_state(worst_state(plan))
            .at(Some(&case.site.temperature.room.place), say!("taken as it stands"))
            .fix(remedy(plan))
            .fix(say!("describe the room: [room] with fan, opening, walls or cooling")),
    );
}

fn gas(case: &RoomCase<'_>, plan: &mut RoomPlan) {
    let Some(gas) = &plan.gas else { return };
    let place = case.site.room.as_ref().map_or(&case.site.temperature.room.place, |r| &r.place);
    let room = case.site.room.as_ref();
    let state = "charging at boost voltage";
    let clause = "IEC 62485-2, 7";
    let ways = (room.and_then(|r| r.fan.as_ref()), room.and_then(|r| r.opening.as_ref()));
    let held = &mut plan.held;
    let margin = match ways {
        (Some(fan), _) => Some(Margin::above(
            PART,
            say!("air for battery gas"),
            state,
            &fan.known("V", "air flow of the fan"),
            &gas.flow,
        )),
        (None, Some(area)) => Some(Margin::above(
            PART,
            say!("openings for battery gas"),
            state,
            &area.known("A", "free area of each opening"),
            &gas.opening,
        )),
        (None, None) => None,
    };
    let need = say!(
        "{flow} of air, or openings of {opening} each",
        flow = gas.flow.value(),
        opening = gas.opening.value()
    );
    match margin {
        None => held.findings.push(
            Finding::new(
                "battery-gas-not-covered",
                Severity::NotCovered,
                PART,
                say!("the battery gives off hydrogen, and neither a fan nor openings are described"),
            )
            .by(clause)
            .at(Some(place), say!("no fan and no opening"))
            .fix(need),
        ),
        Some(margin) => {
            if !margin.holds() {
                let mut finding = Finding::new(
                    "battery-gas",
                    Severity::Error,
                    PART,
                    say!("the air of the room does not keep the battery's hydrogen thin enough"),
                )
                .in_state(state)
                .by(clause)
                .measured(&margin.value, &margin.limit)
                .at(Some(place), say!("this room"))
                .fix(need);
                finding.floor = true;
                held.findings.push(finding);
            }
            held.margins.push(margin);
        }
    }
    debug_assert!(plan.moving != Moving::NotDescribed || room.is_none());
}
