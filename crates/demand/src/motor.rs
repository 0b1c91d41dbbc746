//! Motors: running power, power at standstill, run-up and the torque that a start needs.

use derivation::{Known, formula};
use finding::{Finding, Severity};
use num_complex::Complex64;
use quantity::{
    Apparent, Connection, Current, Duration, Power, Quantity, Ratio, ShaftPower, as_va, as_w, electrical,
    va_number,
};
use saying::say;
use site::{Load, Motor, MotorStart};
use tables::TableError;
use tables::us::motor::{
    HORSEPOWER, MotorVoltage, code_letter, full_load_current_single, full_load_current_three_phase,
    locked_rotor_current_single, locked_rotor_current_three_phase,
};

use crate::contradiction;
use crate::phasor::polar;
use crate::pieces::{Context, apparent_of_current};

/// Standard ratings in hp, to find the next higher row of a table.
const RATINGS_HP: [&str; 28] = [
    "1/6", "1/4", "1/3", "1/2", "3/4", "1", "1 1/2", "2", "3", "5", "7 1/2", "10", "15", "20", "25", "30",
    "40", "50", "60", "75", "100", "125", "150", "200", "250", "300", "350", "400",
];

/// A motor of the site.
#[derive(Debug, Clone)]
pub(crate) struct MotorFacts {
    /// The start; none with a drive.
    pub start: Option<Start>,
    /// Apparent power at the full-load current by which conductors are sized.
    pub full_load: Known<Apparent>,
}

/// A start at full voltage.
#[derive(Debug, Clone)]
pub(crate) struct Start {
    /// Apparent power at standstill and nominal voltage.
    pub apparent: Known<Apparent>,
    /// The same as P + jQ in VA.
    pub power_va: Complex64,
    pub run_up: Known<Duration>,
    pub torque_needed: Known<Ratio>,
}

/// Running power, apparent power and start of a motor.
pub(crate) fn facts(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    context: &mut Context<'_>,
) -> (Known<Power>, Known<Apparent>, Option<MotorFacts>) {
    let (power, apparent) = running(load, motor, connection, context);
    contradiction::findings(load, motor, connection, &apparent, context);
    let full_load = sizing(load, motor, connection, &apparent, context);
    let start = match motor.start.value {
        MotorStart::Drive => None,
        MotorStart::Direct | MotorStart::Soft => Some(start(load, motor, connection, &apparent, context)),
    };
    (power, apparent, Some(MotorFacts { start, full_load }))
}

fn running(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    context: &mut Context<'_>,
) -> (Known<Power>, Known<Apparent>) {
    let name = &load.name.value;
    let (p_what, s_what) = (format!("active power of {name}"), format!("apparent power of {name}"));
    let P_shaft = motor.power.known("P_shaft", format!("shaft power of {name}"));
    let pf = match &load.power_factor {
        Some(pf) => pf.known("pf", format!("power factor of {name}")),
        None => context.assumptions.take(
            "pf",
            "power factor of running motors",
            Ratio::of(0.8),
            "common practice where the nameplate is not at hand",
        ),
    };
    let stated = motor.efficiency.as_ref().map(|e| e.known("eta", format!("efficiency of {name}")));
    let full_load = full_load_current(load, motor, connection, context);
    match (full_load, stated) {
        (Some(I), None) => {
            let S = apparent_of_current(&I, connection, context.system, s_what);
            let P = formula!("P", p_what.clone(), [S, pf] => as_w(S * pf));
            // an assumed power factor must not take less than the shaft gives
            let P_min = formula!("P_min", "power at efficiency 1", [P_shaft] => electrical(P_shaft));
            let P = if P.value() < P_min.value() {
                Known::largest("P", p_what, &[P.clone(), P_min]).unwrap_or(P)
            } else {
                P
            };
            (P, S)
        }
        (Some(I), Some(eta)) => {
            let S = apparent_of_current(&I, connection, context.system, s_what.clone());
            let P = formula!("P", p_what, [P_shaft, eta] => electrical(P_shaft) / eta);
            // a current below what the shaft power asks for would hide part of the load
            let S_P = formula!("S_P", "apparent power at unity power factor", [P] => as_va(P));
            let S = Known::largest("S", s_what, &[S.clone(), S_P]).unwrap_or(S);
            (P, S)
        }
        (None, stated) => {
            let eta = stated.unwrap_or_else(|| assumed_efficiency(motor.power.value, context));
            let P = formula!("P", p_what, [P_shaft, eta] => electrical(P_shaft) / eta);
            let S = formula!("S", s_what, [P, pf] => as_va(P / pf));
            (P, S)
        }
    }
}

fn assumed_efficiency(power: ShaftPower, context: &mut Context<'_>) -> Known<Ratio> {
    let (eta, what) = match power.si() {
        p if p < 1_500.0 => (0.72, "efficiency of motors below 1.5 kW"),
        p if p < 7_500.0 => (0.82, "efficiency of motors of 1.5 to 7.5 kW"),
        _ => (0.88, "efficiency of motors from 7.5 kW on"),
    };
    context.assumptions.take(
        "eta",
        what,
        Ratio::of(eta),
        "common practice where the nameplate is not at hand",
    )
}

/// Stated, or from the code table (next higher rating) on US systems unless the nameplate gives efficiency and power
/// factor.
fn full_load_current(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    context: &Context<'_>,
) -> Option<Known<Current>> {
    if let Some(stated) = &motor.full_load_current {
        return Some(stated.known("I", format!("full-load current of {}", load.name.value)));
    }
    if !context.us || (motor.efficiency.is_some() && load.power_factor.is_some()) {
        return None;
    }
    by_table(motor, connection, context)
}

/// Full-load current of the code's tables; none outside US practice and beyond the tables.
fn by_table(motor: &Motor, connection: Connection, context: &Context<'_>) -> Option<Known<Current>> {
    if !context.us {
        return None;
    }
    let three = connection == Connection::ThreePhase;
    let lookup = if three { full_load_current_three_phase } else { full_load_current_single };
    next_listed(motor.power.value, voltage(connection, context)?, lookup)
}

/// Apparent power that counts for conductors: at the table's full-load current, whatever the nameplate says (NEC 2023
/// 430.6(A)(1)), and never less than what the motor takes; beyond the tables what it takes. The input of a drive, which
/// 430.122(D) asks for, the site does not state: the same two stand for it.
fn sizing(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    running: &Known<Apparent>,
    context: &Context<'_>,
) -> Known<Apparent> {
    let Some(I) = by_table(motor, connection, context) else { return running.clone() };
    let what = format!("apparent power of {} for sizing conductors", load.name.value);
    let S_t = apparent_of_current(&I, connection, context.system, what.clone());
    Known::largest("S_fl", what, &[S_t.clone(), running.clone()]).unwrap_or(S_t)
}

/// The row of a table for a rating, or for the next higher one listed.
fn next_listed(
    power: ShaftPower,
    at: MotorVoltage,
    lookup: fn(ShaftPower, MotorVoltage) -> Result<Known<Current>, TableError>,
) -> Option<Known<Current>> {
    if let Ok(found) = lookup(power, at) {
        return Some(found);
    }
    RATINGS_HP
        .iter()
        .filter_map(|hp| ShaftPower::read(&format!("{hp} hp")).ok())
        .filter(|rating| rating.si() > power.si())
        .find_map(|rating| lookup(rating, at).ok())
}

fn voltage(connection: Connection, context: &Context<'_>) -> Option<MotorVoltage> {
    let volts = match connection {
        Connection::LineToNeutral(_) => context.system.phase_voltage().si(),
        Connection::LineToLine(..) | Connection::ThreePhase => context.system.line_voltage()?.si(),
    };
    MotorVoltage::for_system_v(volts)
}

fn start(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    running: &Known<Apparent>,
    context: &mut Context<'_>,
) -> Start {
    let name = &load.name.value;
    let locked = locked_rotor(load, motor, connection, running, context);
    let soft = (motor.start.value == MotorStart::Soft).then_some(motor.start_current.as_ref()).flatten();
    let (apparent, squared) = match soft {
        None => (locked, None),
        Some(limit) => {
            let I = limit.known("I_start", format!("current to which the soft starter of {name} limits"));
            let what = format!("starting power of {name}");
            let limited = apparent_of_current(&I, connection, context.system, what);
            let squared = torque_divisor(&locked, &limited, name);
            (limited, Some(squared))
        }
    };
    let pf = match &motor.locked_rotor_power_factor {
        Some(pf) => pf.known("pf_lr", format!("power factor of {name} at standstill")),
        None => context.assumptions.take(
            "pf_lr",
            "power factor of motors at standstill",
            Ratio::of(0.35),
            "common practice where the site states none",
        ),
    };
    let cos = pf.value().si().clamp(0.0, 1.0);
    let power_va = polar(apparent.value().si(), libm::acos(cos).to_degrees());
    let run_up = run_up(load, motor, squared.as_ref(), context);
    let torque_needed = torque_needed(load, motor, squared.as_ref(), context);
    Start { apparent, power_va, run_up, torque_needed }
}

/// By how much a soft starter divides the torque: it goes with the square of the current, so that a start at I_start
/// instead of I_lr leaves (I_start / I_lr)^2 of it (common practice; the ratio of apparent powers is that of the
/// currents). A limit above the locked-rotor current leaves all of it.
fn torque_divisor(locked: &Known<Apparent>, limited: &Known<Apparent>, name: &str) -> Known<Ratio> {
    let (S_lr, S_start) = (locked, limited);
    let k = formula!("k", "locked-rotor current over the soft starter's limit", [S_lr, S_start] => S_lr / S_start);
    let one =
        Known::factor("k_1", "straight on the line", 1.0, "a limit above the locked-rotor current is none");
    let k = Known::largest("k", "locked-rotor current over starting current", &[k.clone(), one]).unwrap_or(k);
    let source = "common practice: torque goes with the square of the current";
    formula!("q", format!("torque at full voltage over the torque behind the soft starter of {name}"), [k] => k * k, source = source)
}

/// Apparent power at standstill, straight on the line: stated current; code letter (largest kVA per hp of its band
/// times hp, NEC 2023 Table 430.7(B)); Tables 430.251; or eight times the running power.
fn locked_rotor(
    load: &Load,
    motor: &Motor,
    connection: Connection,
    running: &Known<Apparent>,
    context: &mut Context<'_>,
) -> Known<Apparent> {
    let what = format!("locked-rotor power of {}", load.name.value);
    if let Some(current) = &motor.locked_rotor_current {
        let I = current.known("I_lr", format!("locked-rotor current of {}", load.name.value));
        return apparent_of_current(&I, connection, context.system, what);
    }
    if let Some(letter) = &motor.code_letter {
        if let Some(found) = by_code_letter(load, motor, letter.value, &what, context) {
            return found;
        }
    } else if context.us {
        let three = connection == Connection::ThreePhase;
        let lookup = if three { locked_rotor_current_three_phase } else { locked_rotor_current_single };
        let found = voltage(connection, context).and_then(|at| next_listed(motor.power.value, at, lookup));
        if let Some(I) = found {
            return apparent_of_current(&I, connection, context.system, what);
        }
    }
    let k = context.assumptions.take(
        "k_lr",
        "locked-rotor current over full-load current",
        Ratio::of(8.0),
        "common practice: motors straight on the line take six to eight times their full-load current",
    );
    let S_lr = formula!("S_lr", what, [k, running] => running * k);
    context.findings.push(
        Finding::new(
            "locked-rotor-assumed",
            Severity::Warning,
            format!("load.{}", load.name.value),
            say!(
                "{x} of \"{load}\" is reckoned with eight times its running power at standstill, {s_lr}",
                x = if motor.start.value == MotorStart::Soft {
                    "the torque behind the soft starter"
                } else {
                    "the start"
                },
                load = load.name.value,
                s_lr = S_lr.value()
            ),
        )
        .at(Some(&motor.power.place), say!("no locked-rotor current, no usable code letter"))
        .fix(say!("state locked_rotor_current from the nameplate or the maker's sheet")),
    );
    S_lr
}

fn by_code_letter(
    load: &Load,
    motor: &Motor,
    letter: char,
    what: &str,
    context: &mut Context<'_>,
) -> Option<Known<Apparent>> {
    let band = code_letter(letter).ok()?;
    let P_shaft = motor.power.known("P_shaft", format!("shaft power of {}", load.name.value));
    let one_hp = Known::table("one_hp", "one horsepower", HORSEPOWER, "constant", "", "definition", false);
    let hp = formula!("hp", "shaft power in hp", [P_shaft, one_hp] => P_shaft / one_hp);
    let k = match band.max() {
        Ok(k) => k,
        Err(_) => {
            context.findings.push(
                Finding::new(
                    "locked-rotor-open-ended",
                    Severity::NotCovered,
                    format!("load.{}", load.name.value),
                    say!(
                        "code letter {letter} has no upper end: the start may take more than is reckoned with",
                        letter
                    ),
                )
                .by("NEC 2023 Table 430.7(B)")
                .at(Some(&motor.power.place), say!("this motor's code letter is open-ended"))
                .fix(say!("state locked_rotor_current from the nameplate instead of the code letter")),
            );
            band.min
        }
    };
    let source = "NEC 2023 430.7(B)";
    let thousand = Known::factor("kilo", "VA in a kVA", 1000.0, "definition");
    Some(formula!("S_lr", what, [thousand, k, hp] => va_number(thousand * k * hp), source = source))
}

/// Run-up time at nominal voltage. The stated time is that straight on the line; a soft starter divides the torque,
/// and the run-up takes as much longer (common practice; the torque of the driven machine makes it longer still).
fn run_up(
    load: &Load,
    motor: &Motor,
    squared: Option<&Known<Ratio>>,
    context: &mut Context<'_>,
) -> Known<Duration> {
    let name = &load.name.value;
    let direct = match &motor.run_up {
        Some(stated) => stated.known("t_run_up", format!("run-up time of {name} straight on the line")),
        None => assumed_run_up(motor, context),
    };
    let Some(q) = squared else { return direct };
    let t = &direct;
    let source = "common practice: the run-up takes longer as the torque is smaller";
    formula!("t_run_up", format!("run-up time of {name} behind its soft starter"), [t, q] => t * q, source = source)
}

fn assumed_run_up(motor: &Motor, context: &mut Context<'_>) -> Known<Duration> {
    let small = (motor.power.value / HORSEPOWER).si() < 5.0;
    let (seconds, what) = if small {
        (2.0, "run-up time of motors below 5 hp")
    } else {
        (5.0, "run-up time of motors from 5 hp on")
    };
    let why = "common practice where the site states none";
    context.assumptions.take("t_run_up", what, Duration::of(seconds), why)
}

/// Share of the torque at standstill and full voltage, behind the soft starter where there is one, that the start
/// needs. Stated as a share of full-load torque: divided by the locked-rotor torque, taken as 1.5 times full-load
/// torque (common practice). Not stated: 0.64, that is a start straight on the line at 80 % of nominal voltage
/// (common practice). A soft starter divides the torque that is there (see [`torque_divisor`]), so more of it is
/// needed; above 1 the motor does not start.
fn torque_needed(
    load: &Load,
    motor: &Motor,
    squared: Option<&Known<Ratio>>,
    context: &mut Context<'_>,
) -> Known<Ratio> {
    let name = &load.name.value;
    let what = format!("share of the standstill torque that {name} needs");
    let direct = match &motor.starting_torque {
        None => context.assumptions.take(
            "m",
            "share of the standstill torque that motors need to start",
            Ratio::of(0.64),
            "common practice: motors start at 80 % of nominal voltage, torque goes with its square",
        ),
        Some(stated) => {
            let M = stated.known("M", format!("starting torque of {name} over full-load torque"));
            let M_lr = context.assumptions.take(
                "M_lr",
                "locked-rotor torque over full-load torque",
                Ratio::of(1.5),
                "common practice for motors of general purpose",
            );
            formula!("m", what.clone(), [M, M_lr] => M / M_lr)
        }
    };
    let Some(q) = squared else { return direct };
    let m = &direct;
    formula!("m", format!("{what} behind its soft starter"), [m, q] => m * q)
}
