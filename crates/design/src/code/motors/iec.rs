//! By the IEC book: a breaker that the start does not open, a cable that carries the breaker, a relay for the motor.

use assess::Case;
use codebook::NotCovered;
use codebook::iec::cable_ampacity::CableRun;
use codebook::iec::conductor_choice::{Wanted, conductor_choice};
use codebook::iec::motor_breaker::{MotorFacts, motor_breaker};
use codebook::iec::motor_overload::{MotorOverload, motor_overload};
use codebook::iec::protective_conductor::{Place, ProtectiveFacts, protective_conductor};
use derivation::{Known, formula};
use quantity::{Connection, Current, Duration, Ratio};
use saying::say;
use site::{Load, Motor};
use tables::iec::cable::{Cable, Insulation, Loaded23, Metal, Method};
use tables::iec::device::Device;
use tables::iec::heat::Use;

use super::super::{Holding, MotorCircuit, MotorRelay};
use super::{ambient, connection, wires};

const CLAUSE: &str = "IEC 60364-4-43:2008 433.1";

/// What a circuit comes to, and what its standards do not tell of it.
pub(super) struct Found {
    pub circuit: MotorCircuit,
    /// The breaker stays closed through the run-up by its standard.
    pub for_certain: bool,
    /// Why no relay is named.
    pub no_relay: Option<NotCovered>,
}

pub(super) fn circuit(h: &Holding<'_, '_>, load: &Load, motor: &Motor) -> Result<Found, NotCovered> {
    let at = connection(h, load)?;
    let facts = facts(h, load, motor, at)?;
    let breaker = motor_breaker(&facts)?;
    let relay = motor_overload(&facts);
    let three = at == Connection::ThreePhase;
    let loaded = if three { Loaded23::Three } else { Loaded23::Two };
    let none = Known::assumed(
        "n_b",
        "cables beside that of a motor",
        Ratio::of(0.0),
        "in a conduit of its own and apart; else a larger section (IEC 60364-5-52 Table B.52.17)",
    );
    // the breaker's rated current is the design current of the cable: it is protected whatever the relay does
    let found = conductor_choice(&Wanted {
        design: breaker.rated.clone(),
        device: Device::Mcb,
        run: CableRun {
            cable: Cable { metal: Metal::Copper, insulation: Insulation::Pvc, method: Method::B2, loaded },
            ambient: ambient(h),
            soil: None,
            together: None,
            beside: none,
            third_harmonic: None,
        },
        drop: None,
        least: None,
        most_sets: 1,
    })?;
    let ground = protective_conductor(&ProtectiveFacts {
        line: found.section.clone(),
        line_metal: Metal::Copper,
        line_use: Use::LinePvc,
        metal: Metal::Copper,
        usage: Use::InCablePvc,
        place: Place::WithLines,
        leakage: false,
        fault: None,
    })?;
    let (lines, neutral) = wires(at);
    let (relay, no_relay) = match relay {
        Ok(MotorOverload { setting, class, .. }) => (Some(MotorRelay { setting, class }), None),
        Err(refused) => (None, Some(refused)),
    };
    let circuit = MotorCircuit {
        load: load.name.value.clone(),
        panel: load.panel.value.clone(),
        count: load.count,
        lines,
        neutral,
        full_load: facts.running,
        size: found.section.value().to_string(),
        ampacity: found.ampacity.capacity.clone(),
        ground: ground.section.value().to_string(),
        device: breaker.rated,
        curve: Some(breaker.letter),
        relay,
        if_it_cannot_start: None,
        why: found.section.node().clone(),
    };
    Ok(Found { circuit, for_certain: breaker.for_certain, no_relay })
}

/// Running current by the nameplate, else by what was assessed; start as it was assessed.
fn facts(h: &Holding<'_, '_>, load: &Load, motor: &Motor, at: Connection) -> Result<MotorFacts, NotCovered> {
    let running = match &motor.full_load_current {
        Some(stated) => stated.known("I_b", "full-load current of the motor"),
        None => assessed(h.case, load, at)?,
    };
    let (starting, run_up) = start(h.case, load)
        .ok_or_else(|| NotCovered::new(CLAUSE, say!("its start is not among those that were assessed")))?;
    // a limit below the running current is none
    let starting =
        Known::largest("I_st", "starting current", &[starting.clone(), running.clone()]).unwrap_or(starting);
    Ok(MotorFacts { running, starting, run_up })
}

fn assessed(case: &Case<'_>, load: &Load, at: Connection) -> Result<Known<Current>, NotCovered> {
    let item = case.assessment.items.iter().find(|item| item.load == load.name.value);
    let item =
        item.ok_or_else(|| NotCovered::new(CLAUSE, say!("it is not among the loads that were assessed")))?;
    let (S, what) = (&item.apparent, "line current of the running motor");
    let U_0 = case.voltage();
    match at {
        Connection::LineToNeutral(_) => Ok(formula!("I_b", what, [S, U_0] => S / U_0)),
        Connection::ThreePhase => Ok(formula!("I_b", what, [S, U_0] => S / (3.0 * U_0))),
        Connection::LineToLine(..) => {
            let U = case.system().line_voltage();
            let U = U.ok_or_else(|| NotCovered::new(CLAUSE, say!("the system has no two lines")))?;
            let place = &case.site.service.system.place;
            let U = Known::input("U", "nominal voltage between lines", U, place);
            Ok(formula!("I_b", what, [S, U] => S / U))
        }
    }
}

/// The start of one of these motors alone: the highest current of any line, and how long it takes.
fn start(case: &Case<'_>, load: &Load) -> Option<(Known<Current>, Known<Duration>)> {
    let events = case.assessment.panels.values().flat_map(|panel| &panel.starts);
    let mine: Vec<_> = events.filter(|e| e.loads.len() == 1 && e.loads.contains(&load.name.value)).collect();
    let currents: Vec<Known<Current>> =
        mine.iter().flat_map(|e| e.legs.values()).map(|leg| leg.start_current.clone()).collect();
    let times: Vec<Known<Duration>> = mine.iter().map(|e| e.run_up.clone()).collect();
    let starting = Known::largest("I_st", "starting current of the motor", &currents)?;
    Some((starting, Known::largest("t_st", "run-up of the motor", &times)?))
}
