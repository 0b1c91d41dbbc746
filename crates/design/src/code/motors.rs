//! Branch circuits of the motors: conductor, ground and short-circuit device of each.

mod iec;

use codebook::NotCovered;
use codebook::us::conductor_ampacity::Surroundings;
use codebook::us::conductor_size::Kind;
use codebook::us::equipment_ground::equipment_ground;
use codebook::us::motor_conductor;
use codebook::us::motor_device::motor_device;
use codebook::us::terminal_temperature::Listing;
use derivation::Known;
use quantity::{Connection, Current, Quantity, Ratio, Temperature};
use saying::say;
use site::{Load, LoadSize, Motor, MotorStart};
use tables::us::conductors::{Column, Laying, Material};
use tables::us::grounding::MotorDevice;
use tables::us::motor::{MotorVoltage, full_load_current_single, full_load_current_three_phase};
use tables::us::size::Size;

use super::{Holding, MotorCircuit};

const CONDUCTOR: &str = "motor-conductor";
const DEVICE: &str = "motor-device";
const BREAKER: &str = "motor-breaker";
const RELAY: &str = "motor-overload";
const CLAUSE: &str = "NEC 2023 430.6(A)(1)";

/// Sizes the branch circuit of every motor.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    let us = h.us();
    // by name: the order of the file says nothing
    let mut loads: Vec<&Load> = h.case.site.loads.iter().collect();
    loads.sort_by(|a, b| a.name.value.cmp(&b.name.value));
    for load in loads {
        let LoadSize::Motor(motor) = &load.size else { continue };
        let part = format!("load.{}", load.name.value);
        if !us {
            by_iec(h, load, motor, &part);
            continue;
        }
        if motor.start.value == MotorStart::Drive {
            let what =
                say!("the branch circuit of this drive: its rated input current is not described (430.122)");
            h.outside(CONDUCTOR, &part, what);
            continue;
        }
        match circuit(h, load, motor) {
            Ok(circuit) => {
                for rule in [CONDUCTOR, DEVICE, "equipment-ground"] {
                    h.passes(rule, &part);
                }
                h.work.circuits.push(circuit);
            }
            // the circuit of a load is no part of the plant: named, not called checked
            Err(refused) => {
                h.outside(CONDUCTOR, &part, say!("its branch circuit: {reason}", reason = refused.reason))
            }
        }
    }
}

fn by_iec(h: &mut Holding<'_, '_>, load: &Load, motor: &Motor, part: &str) {
    if motor.start.value == MotorStart::Drive {
        let what = say!("the branch circuit of this drive: its rated input current is not described");
        return h.outside(BREAKER, part, what);
    }
    match iec::circuit(h, load, motor) {
        Ok(iec::Found { circuit, for_certain, no_relay }) => {
            for rule in
                ["conductor-choice", "cable-ampacity", "protective-conductor", "overload-coordination"]
            {
                h.passes(rule, part);
            }
            let why = say!("the start does not open it at once");
            h.held.push(crate::Held::new(BREAKER, part, true).because(why));
            if !for_certain {
                let what =
                    say!("whether the breaker stays closed through the run-up: its maker's curve tells");
                h.named(part, what);
            }
            match no_relay {
                None => h.passes(RELAY, part),
                Some(refused) => {
                    h.outside(RELAY, part, say!("its overload relay: {reason}", reason = refused.reason))
                }
            }
            h.work.circuits.push(circuit);
        }
        Err(refused) => {
            h.outside(BREAKER, part, say!("its branch circuit: {reason}", reason = refused.reason))
        }
    }
}

/// Line conductors, and whether there is a neutral.
fn wires(at: Connection) -> (usize, bool) {
    match at {
        Connection::LineToNeutral(_) => (1, true),
        Connection::LineToLine(..) => (2, false),
        Connection::ThreePhase => (3, false),
    }
}

/// Temperature round the circuit: the room's or that outdoors, the higher.
fn ambient(h: &Holding<'_, '_>) -> Known<Temperature> {
    let room = h.case.site.temperature.room.known("T_room", "highest room temperature");
    let high = h.case.site.temperature.high.known("T_high", "high temperature outdoors");
    Known::largest("T_a", "temperature round the circuit", &[room.clone(), high]).unwrap_or(room)
}

/// Where the load is connected; one of like places where the tool balances.
fn connection(h: &Holding<'_, '_>, load: &Load) -> Result<Connection, NotCovered> {
    let item = h.case.assessment.items.iter().find(|item| item.load == load.name.value);
    item.map(|item| item.connection)
        .ok_or_else(|| NotCovered::new(CLAUSE, say!("it is not among the loads that were assessed")))
}

/// Full-load current by the tables, not by the nameplate (430.6(A)(1)).
fn full_load(h: &Holding<'_, '_>, motor: &Motor, at: Connection) -> Result<Known<Current>, NotCovered> {
    let system = h.case.system();
    let volts = match at {
        Connection::LineToNeutral(_) => Some(system.phase_voltage().si()),
        Connection::LineToLine(..) | Connection::ThreePhase => system.line_voltage().map(Quantity::si),
    };
    let at_volts = volts.and_then(MotorVoltage::for_system_v);
    let at_volts =
        at_volts.ok_or_else(|| NotCovered::new(CLAUSE, say!("the tables have no column for its voltage")))?;
    let lookup =
        if at == Connection::ThreePhase { full_load_current_three_phase } else { full_load_current_single };
    lookup(motor.power.value, at_volts).map_err(|_| {
        let (power, volts) = (motor.power.value, at_volts.rated_v());
        NotCovered::new(CLAUSE, say!("the tables have no motor of {power} at {volts} V", power, volts))
    })
}

fn circuit(h: &Holding<'_, '_>, load: &Load, motor: &Motor) -> Result<MotorCircuit, NotCovered> {
    let at = connection(h, load)?;
    let full_load = full_load(h, motor, at)?;
    let (lines, neutral) = wires(at);
    let carrying = lines + usize::from(neutral);
    let n = Known::chosen(
        "n",
        "current-carrying conductors",
        Ratio::of(carrying as f64),
        "in a raceway of its own",
        Vec::new(),
    );
    let kind = Kind {
        material: Material::Copper,
        insulation: Column::C90,
        listing: Listing::Unknown,
        at: Surroundings {
            laying: Laying::Raceway,
            ambient: ambient(h),
            on_roof: false,
            current_carrying: n,
            short_raceway: false,
        },
        largest: Size::LARGEST,
    };
    let required = motor_conductor::one(&full_load)?;
    let found = motor_conductor::conductor(&kind, &required)?;
    if found.sets.value().si() > 1.0 {
        return Err(NotCovered::new("NEC 2023 430.22", say!("one conductor a phase does not carry it")));
    }
    let name = if lines == 3 { "polyphase-other-than-wound-rotor" } else { "single-phase" };
    let device = motor_device(&full_load, name, MotorDevice::InverseTimeBreaker)?;
    let rating =
        device.rating.ok_or_else(|| NotCovered::new("NEC 2023 430.52(C)(1)", say!("no standard rating")))?;
    // by the larger of the two, whichever is built (250.122(D)(1))
    let larger = device.if_it_cannot_start.clone().filter(|larger| larger.value() > rating.value());
    let ground = equipment_ground(larger.as_ref().unwrap_or(&rating), Material::Copper, None)?;
    let own = found.each.area.value();
    // the ground never needs to be larger than the circuit's conductors (250.122(A))
    let ground = if ground.size.area.value() > own { found.each.size } else { ground.size.size };
    Ok(MotorCircuit {
        load: load.name.value.clone(),
        panel: load.panel.value.clone(),
        count: load.count,
        lines,
        neutral,
        full_load,
        size: found.each.size.to_string(),
        ampacity: found.total.clone(),
        ground: ground.to_string(),
        device: rating,
        curve: None,
        relay: None,
        if_it_cannot_start: larger,
        why: found.each.area.node().clone(),
    })
}
