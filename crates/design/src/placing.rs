//! The finished design in its place: the room's heat, the wall, the links between the units. What does not hold there
//! fails the check like everything else; it never changes what was decided.

use assess::{Case, Guard};
use catalog::{Chemistry, DcDevice, Footprint, LegControl};
use codebook::NotCovered;
use demand::{Lane, PanelDemand};
use derivation::{Known, formula};
use finding::{Finding, Severity};
use place::link::{LinkCase, LinkPlan};
use place::room::{BatteryGas, RoomCase, RoomPlan, StateLoad};
use place::wall::{WallCase, WallPlan};
use place::{GearKind, Held, Item};
use quantity::{Duration, Length, Power, Quantity, Ratio};
use saying::say;
use site::Earthing;

use crate::candidate::Design;
use crate::code::{amended_depth, told};
use crate::{Held as Rule, Prepared, distribution, taps, ways};

/// Demand that may last half an hour is taken for the room's worst hour: nothing higher lasts longer.
const HALF_HOUR: Duration = Duration::of(1800.0);

/// Why a bus of the group has no place on the wall.
const MADE_UP: &str = "no record of the catalogue serves: made up by others, its size is not known; keep room on the wall \
                       and working space for it";

/// Room, wall and links of a design.
#[derive(Debug, Clone)]
pub struct Placed {
    /// The room; none where its figures are outside what the formulas reach.
    pub room: Option<RoomPlan>,
    /// The wall; none where the book has no figure for it.
    pub wall: Option<WallPlan>,
    /// The links.
    pub links: LinkPlan,
}

/// Plans them and adds what they hold to the ledger.
pub(crate) fn settle<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) {
    let case = &design.case;
    let gas = gas(case);
    let room = place::room::plan(&RoomCase {
        site: case.site,
        unit: case.unit,
        loads: loads(case, &prepared.demand),
        gas: gas.clone(),
    });
    let wall = wall(prepared, case, gas.as_ref());
    let ports = ports(case, wall.as_ref().ok());
    let links = place::link::plan(&LinkCase {
        site: case.site,
        unit: case.unit,
        units: case.formation.units(),
        ports,
    });
    let mut found: Vec<Finding> = gas.is_some().then(|| unstated(case)).flatten().into_iter().collect();
    if let Err(refused) = &room {
        found.push(Finding::new("room-not-covered", Severity::NotCovered, "room", refused.to_string()).at(
            case.site.room.as_ref().map(|r| &r.place).or(Some(&case.site.temperature.room.place)),
            say!("this room"),
        ));
    }
    if let Err(refused) = &wall {
        found.push(
            Finding::new("wall-not-covered", Severity::NotCovered, "wall", refused.reason.clone())
                .by(refused.clause.clone())
                .at(Some(&case.site.service.system.place), say!("this system")),
        );
    }
    if let Ok(wall) = &wall {
        found.extend(ways::short(case, &design.wires, wall));
        found.extend(taps::taps(case, wall));
    }
    let verdicts = verdicts(case, &wall);
    let placed = Placed { room: room.ok(), wall: wall.ok(), links };
    let ledger = &mut design.assessed.ledger;
    ledger.findings.extend(found);
    let held = [
        placed.room.as_ref().map(|r| &r.held),
        placed.wall.as_ref().map(|w| &w.held),
        Some(&placed.links.held),
    ];
    for Held { margins, findings } in held.into_iter().flatten() {
        ledger.margins.extend(margins.iter().cloned());
        ledger.findings.extend(findings.iter().cloned());
    }
    design.placed = Some(placed);
    // what stood there said that the wall is still to come
    design
        .held
        .retain(|held| held.part != "site" || verdicts.iter().all(|verdict| verdict.rule != held.rule));
    design.held.extend(verdicts);
}

/// The wall with everything that is mounted.
pub(crate) fn on_wall(prepared: &Prepared<'_>, case: &Case<'_>) -> Option<WallPlan> {
    wall(prepared, case, gas(case).as_ref()).ok()
}

fn wall(prepared: &Prepared<'_>, case: &Case<'_>, gas: Option<&BatteryGas>) -> Result<WallPlan, NotCovered> {
    let Gear { items, without_footprint, elsewhere } = gear(prepared, case);
    place::wall::plan(&WallCase {
        site: case.site,
        items,
        without_footprint,
        elsewhere,
        cables: ways::cables(prepared, case),
        to_ground: case.voltage(),
        gas,
        depth: amended_depth(case.site),
    })
}

/// What became of the rules on the space before the gear.
fn verdicts(case: &Case<'_>, wall: &Result<WallPlan, NotCovered>) -> Vec<Rule> {
    const PART: &str = "wall";
    let us = case.site.service.earthing.value == Earthing::Us;
    let all: Vec<Rule> = match wall {
        Ok(plan) => plan
            .verdicts
            .iter()
            .map(|v| {
                let held =
                    v.holds.map_or_else(|| Rule::outside(v.rule, PART), |ok| Rule::new(v.rule, PART, ok));
                held.because(v.why.clone())
            })
            .collect(),
        Err(refused) => {
            let rules: &[&'static str] = if us { &["working-space", "working-area"] } else { &["gangway"] };
            rules.iter().map(|rule| Rule::not_covered(rule, PART).because(refused.reason.clone())).collect()
        }
    };
    all.into_iter().map(|held| told(case.site, held)).collect()
}

/// A bank that gives off gas stands somewhere: where that is not said, or is said to be elsewhere.
fn unstated(case: &Case<'_>) -> Option<Finding> {
    let here = case.site.wall.as_ref().and_then(|w| w.battery.as_ref());
    if here.is_some_and(|here| here.value) {
        return None;
    }
    let message = if here.is_some() {
        say!(
            "the battery gives off hydrogen and stands elsewhere: the air that it needs is reckoned in the units' room; that of its own place is not looked at"
        )
    } else {
        say!(
            "the battery gives off hydrogen, and it is not said where it stands: it is taken to stand in the units' room"
        )
    };
    let place = here.map(|here| &here.place).or(case.site.battery.place.as_ref());
    Some(
        Finding::new("battery-place-unstated", Severity::Warning, "battery", message)
            .at(place, say!("this battery"))
            .fix(say!(
                "battery = true in [wall] where it stands before the units' wall; else vent its own room for the gas that is named"
            )),
    )
}

/// What one unit carries in the outage, and while it charges.
fn loads(case: &Case<'_>, demand: &PanelDemand) -> Vec<StateLoad> {
    let mut all = vec![outage(case, demand, 0)];
    if case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value) && case.formation.fewest() > 1 {
        all.push(outage(case, demand, 1));
    }
    let P_c = Known::catalog(
        "P_c",
        "highest AC power that one unit charges with",
        case.unit.charging.power,
        &case.unit.id,
        "charging power",
    );
    all.push(StateLoad {
        state: "charging at full power".to_owned(),
        each: vec![(P_c, case.formation.units())],
        charging: true,
    });
    all
}

/// The longest-lasting half hour of the outage, on units with so many out on every leg.
fn outage(case: &Case<'_>, demand: &PanelDemand, out: u32) -> StateLoad {
    let half_hour = |lane: Lane| -> Option<Known<Power>> {
        let lane = demand.lanes.get(&lane)?;
        let point = lane.curve.iter().rfind(|p| p.lasts <= HALF_HOUR);
        Some(point.map_or_else(|| lane.steady_power.clone(), |p| p.power.clone()))
    };
    let share = |P: Known<Power>, units: u32| {
        let n =
            Known::chosen("n", "units that share it", Ratio::of(f64::from(units)), "formation", Vec::new());
        formula!("P_1", "power of one unit in the worst half hour", [P, n] => P / n)
    };
    let each = if case.unit.leg_control == LegControl::OneLeg {
        let legs = case.system().legs().iter();
        legs.filter_map(|&leg| {
            let units = case.formation.on(leg).saturating_sub(out);
            (units > 0).then_some(())?;
            Some((share(half_hour(Lane::Leg(leg))?, units), units))
        })
        .collect()
    } else {
        let units = case.formation.units().saturating_sub(out);
        half_hour(Lane::Total).map(|P| (share(P, units), units)).into_iter().collect()
    };
    let state = if out == 0 { "outage, worst half hour" } else { "outage, worst half hour, one unit out" };
    StateLoad { state: state.to_owned(), each, charging: false }
}

/// What hangs on the wall or stands before it, and what does not.
struct Gear {
    items: Vec<Item>,
    /// Gear whose record has no footprint: part and record.
    without_footprint: Vec<(String, String)>,
    /// What is not placed for another reason: what, and why.
    elsewhere: Vec<(String, String)>,
}

/// Everything that is mounted, in its place or named.
fn gear(prepared: &Prepared<'_>, case: &Case<'_>) -> Gear {
    let mut items: Vec<Item> = Vec::new();
    let mut without = Vec::new();
    let mut add = |part: String,
                   kind: GearKind,
                   (record, name): (&str, &str),
                   footprint: Option<&Footprint>| match footprint {
        Some(footprint) => items.push(Item {
            part,
            record: record.to_owned(),
            name: name.to_owned(),
            kind,
            footprint: footprint.clone(),
            place: None,
        }),
        None => without.push((part, record.to_owned())),
    };
    let unit = case.unit;
    for k in 1..=case.formation.units() {
        add(format!("unit {k}"), GearKind::Unit, (&unit.id, &unit.name), Some(&unit.footprint));
    }
    for (part, kind, switch) in [
        ("transfer", GearKind::TransferSwitch, case.transfer),
        ("source switch", GearKind::SourceSwitch, case.source_switch),
    ] {
        if let Some(s) = switch {
            add(part.to_owned(), kind, (&s.id, &s.name), s.footprint.as_ref());
        }
    }
    if let Some(b) = case.bypass {
        add("bypass".to_owned(), GearKind::Bypass, (&b.id, &b.name), b.footprint.as_ref());
    }
    if let Some(f) = case.former {
        add("neutral former".to_owned(), GearKind::NeutralFormer, (&f.id, &f.name), f.footprint.as_ref());
    }
    let mut missing = Vec::new();
    for bus in distribution::of(prepared, case) {
        match bus.record {
            Some(d) => add(bus.part(), GearKind::Distribution, (&d.id, &d.name), d.footprint.as_ref()),
            None => {
                let what = format!("{} with its breakers", bus.part());
                missing.push((what, MADE_UP.to_owned()));
            }
        }
    }
    let here = case.site.wall.as_ref().and_then(|w| w.battery.as_ref()).is_some_and(|b| b.value);
    if let Some(bank) = case.bank.as_ref().filter(|_| here) {
        let model = bank.model;
        for k in 1..=bank.strings * model.series {
            add(
                format!("battery {k}"),
                GearKind::Battery,
                (&model.id, &model.name),
                model.footprint.as_ref(),
            );
        }
    }
    // the devices of the strings stand at the strings
    let strings =
        case.bank.as_ref().and_then(|bank| Some((bank.strings, bank.string_device?))).filter(|_| here);
    let units = case.bank.as_ref().and_then(|bank| Some((case.formation.units(), bank.unit_device?)));
    for (what, devices) in [("string", strings), ("unit", units)] {
        let Some((count, device)) = devices else { continue };
        for k in 1..=count {
            let part = format!("{what} {k} DC device");
            add(part, GearKind::DcGear, (&device.id, &device.name), device.footprint.as_ref());
        }
    }
    if let Some(bar) = case.bank.as_ref().and_then(|bank| bank.busbar) {
        add("DC busbar".to_owned(), GearKind::DcGear, (&bar.id, &bar.name), bar.footprint.as_ref());
    }
    for (array, controller, count) in crate::arrays::controllers(prepared) {
        for k in 1..=count {
            let part = format!("{array} controller {k}");
            add(part, GearKind::DcGear, (&controller.id, &controller.name), controller.footprint.as_ref());
        }
    }
    // combiner, disconnect and output device stand at their controller; those of array inverters at these
    for (part, device) in of_strings(case) {
        match device {
            Some(d) => add(part, GearKind::DcGear, (&d.id, &d.name), d.footprint.as_ref()),
            None => missing.push((part, "no device is found for it".to_owned())),
        }
    }
    items.extend(panel(case));
    missing.extend(elsewhere(case));
    Gear { items, without_footprint: without, elsewhere: missing }
}

/// Devices of the strings of every array that a controller takes, each with its record where one is found.
fn of_strings<'a>(case: &Case<'a>) -> Vec<(String, Option<&'a DcDevice>)> {
    let mut all = Vec::new();
    for s in &case.strings {
        let Some(output) = &s.output else { continue };
        let mut add = |what: &str, count: u32, guard: &Guard<'a>| {
            all.extend((1..=count).map(|k| (format!("{} {what} {k}", s.id), guard.device)));
        };
        if let Some(guard) = &s.guard {
            add("string device", s.all(), guard);
        }
        add("disconnect", s.devices, &s.disconnect);
        add("output device", s.devices, &output.guard);
    }
    all
}

/// What stands elsewhere, or in housings that no record describes. The scope of the check names it too.
fn elsewhere(case: &Case<'_>) -> Vec<(String, String)> {
    let mut all = Vec::new();
    for array in &case.arrays {
        let words = "array inverters stand where their array asks for them".to_owned();
        all.push((format!("{}, inverters with the devices of their strings", array.id), words));
    }
    let here = case.site.wall.as_ref().and_then(|w| w.battery.as_ref()).is_some_and(|b| b.value);
    if case.bank.is_some() && !here {
        let what = "battery with the devices of its strings".to_owned();
        all.push((what, "not said to stand before this wall".to_owned()));
    }
    if case.generator.is_some() {
        all.push(("generator".to_owned(), "stands elsewhere".to_owned()));
    }
    all
}

/// A lead-acid bank gives off hydrogen; it is taken to stand in the units' room, which `unstated` says.
fn gas(case: &Case<'_>) -> Option<BatteryGas> {
    let bank = case.bank.as_ref().filter(|b| b.model.chemistry == Chemistry::FloodedLeadAcid)?;
    let model = bank.model;
    // two volts a cell
    let cells = (model.nominal.si() / 2.0).round().max(1.0) * f64::from(model.series);
    Some(BatteryGas {
        cell: "vented-lead-acid",
        cells: Known::catalog("n", "cells in series", Ratio::of(cells), &model.id, "nominal and series"),
        strings: Known::chosen(
            "n_s",
            "strings in parallel",
            Ratio::of(f64::from(bank.strings)),
            "battery",
            Vec::new(),
        ),
        capacity: Known::catalog("C", "rated charge of one string", model.capacity, &model.id, "capacity"),
    })
}

/// The backup panel, where the site says that it hangs on this wall: doors open before it, so nothing need be free beside.
fn panel(case: &Case<'_>) -> Option<Item> {
    let housing = case.site.wall.as_ref()?.panel.as_ref()?;
    Some(Item {
        part: "backup panel".to_owned(),
        record: String::new(),
        name: format!("panel \"{}\"", case.site.group.panel.value),
        kind: GearKind::Panel,
        footprint: Footprint {
            height: housing.height,
            width: housing.width,
            depth: housing.depth,
            above: Length::ZERO,
            below: Length::ZERO,
            beside: Length::ZERO,
            air_outlet: "none".to_owned(),
            mass: housing.mass,
        },
        place: Some(housing.place.clone()),
    })
}

/// The middle of each unit's lower edge.
fn ports(case: &Case<'_>, wall: Option<&WallPlan>) -> Vec<Option<(Length, Length)>> {
    (1..=case.formation.units())
        .map(|k| {
            let part = format!("unit {k}");
            let item = wall?.items.iter().find(|i| i.item.part == part)?;
            Some((item.body.left + item.body.width * 0.5, item.body.bottom))
        })
        .collect()
}
