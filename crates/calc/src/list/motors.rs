//! Motors: table currents, locked rotor, the start on a source with a current limit.

use codebook::us::locked_rotor::{current_line_to_line, current_three_phase, locked_rotor as by_code_letter};
use codebook::us::motor_overload::motor_overload;
use derivation::Known;
use network::motor_start::{RunningAs, Start, StartCase, motor_start};
use network::voltage_dip::Phases;
use network::{Impedance, LoadPower};
use quantity::{Apparent, Current, ShaftPower};
use tables::us::motor::{
    MotorVoltage, full_load_current_single, full_load_current_three_phase, locked_rotor_current_single,
    locked_rotor_current_three_phase,
};

use super::{phases, phases_input};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![start(), locked_rotor(), full_load(), locked_rotor_table(), overload()]
}

fn start() -> Calculation {
    Calculation {
        id: "motor-start",
        purpose: "Voltage left on one leg while a motor starts on inverters with a current limit",
        inputs: vec![
            In::number(
                "source_v",
                M::PHASE_VOLT,
                "voltage of the source, line to neutral; nominal for the loads",
            ),
            In::number("output_ohm", M::OHM, "output resistance of all units on the leg together")
                .within(0.0, 1e3),
            In::number("output_x_ohm", M::OHM, "output reactance, likewise").within(0.0, 1e3).if_given(),
            In::number("limit_a", M::AMPERE, "current limit of all units on the leg together, RMS"),
            In::number("start_va", M::VOLT_AMPERE, "locked-rotor power on the leg at nominal voltage"),
            In::number("start_pf", M::NUMBER, "power factor of the locked rotor").within(0.0, 1.0),
            In::number("running_va", M::VOLT_AMPERE, "what runs on the leg already").within(0.0, 1e9).or("0"),
            In::number("running_pf", M::NUMBER, "power factor of that").within(0.0, 1.0).or("1"),
            In::word(
                "running_as",
                "how that answers to a lower voltage",
                &["constant-power", "constant-impedance"],
            )
            .or("constant-power"),
        ],
        outputs: vec![
            Out::new("collapses", M::WORD, "no steady voltage is left"),
            Out::new("limited", M::WORD, "the source is at its current limit"),
            Out::new("voltage_pct", M::PERCENT, "voltage during the start, of nominal"),
            Out::new("current_a", M::AMPERE, "current of the source"),
            Out::new("torque_pct", M::PERCENT, "torque left, of nominal"),
            Out::new("run_up_times", M::NUMBER, "run-up takes so many times as long, at least"),
            Out::new("least_current_a", M::AMPERE, "least current that the loads ask for at any voltage"),
            Out::new("least_current_at_pct", M::PERCENT, "voltage at which they ask for it"),
        ],
        run: run_start,
    }
}

fn run_start(given: &Given) -> Result<Results, CalcError> {
    let x = if given.has("output_x_ohm") { Some(given.one("output_x_ohm", "X")?) } else { None };
    let case = StartCase {
        source: given.one("source_v", "E")?,
        impedance: Impedance { r: given.one("output_ohm", "R")?, x },
        limit: given.one("limit_a", "I_lim")?,
        start: LoadPower::lagging(given.one("start_va", "S_lr")?, given.one("start_pf", "pf_lr")?),
        running: LoadPower::lagging(given.one("running_va", "S")?, given.one("running_pf", "pf")?),
        running_as: match given.word("running_as")? {
            "constant-impedance" => RunningAs::ConstantImpedance,
            _ => RunningAs::ConstantPower,
        },
    };
    Ok(match motor_start(&case)? {
        Start::Holds(held) => Results::default()
            .flag("collapses", false)
            .flag("limited", held.limited)
            .known("voltage_pct", &held.voltage)
            .known("current_a", &held.current)
            .known("torque_pct", &held.torque)
            .known("run_up_times", &held.stretch),
        Start::Collapses(collapse) => Results::default()
            .flag("collapses", true)
            .known("least_current_a", &collapse.least_current)
            .known("least_current_at_pct", &collapse.at_voltage),
    })
}

fn locked_rotor() -> Calculation {
    Calculation {
        id: "locked-rotor",
        purpose: "Locked-rotor power and current of a motor from its code letter",
        inputs: vec![
            In::number("motor_hp", M::HORSEPOWER, "rating of the motor"),
            In::text("code_letter", "locked-rotor code letter on the nameplate"),
            In::number("motor_v", M::LINE_VOLT, "rated voltage of the motor"),
            phases_input(),
        ],
        outputs: vec![
            Out::new("locked_rotor_va", M::VOLT_AMPERE, "locked-rotor power, upper end of the letter's band"),
            Out::new("locked_rotor_a", M::AMPERE, "locked-rotor current, upper end"),
            Out::new("least_va", M::VOLT_AMPERE, "locked-rotor power, lower end"),
            Out::new("least_a", M::AMPERE, "locked-rotor current, lower end"),
        ],
        run: run_locked_rotor,
    }
}

fn run_locked_rotor(given: &Given) -> Result<Results, CalcError> {
    let mut letters = given.word("code_letter")?.chars();
    let (Some(letter), None) = (letters.next(), letters.next()) else {
        return Err(CalcError::NotCovered("a code letter is one letter, A to V".to_owned()));
    };
    let rating: Known<ShaftPower> = given.one("motor_hp", "P")?;
    let band = by_code_letter(&rating, letter)?;
    let line = given.one("motor_v", "V")?;
    let current = |locked: &Known<Apparent>| -> Result<Known<Current>, CalcError> {
        Ok(match phases(given)? {
            Phases::Single => current_line_to_line(locked, &line)?,
            Phases::Three => current_three_phase(locked, &line)?,
        })
    };
    Ok(Results::default()
        .known("locked_rotor_va", &band.max_va)
        .known("locked_rotor_a", &current(&band.max_va)?)
        .known("least_va", &band.min_va)
        .known("least_a", &current(&band.min_va)?))
}

/// Inputs of the two table look-ups.
pub(super) fn table_inputs() -> Vec<In> {
    vec![
        In::number("motor_hp", M::HORSEPOWER, "rating of the motor"),
        In::number("motor_v", M::LINE_VOLT, "nominal voltage of the system or rated voltage of the motor"),
        phases_input(),
    ]
}

pub(super) fn column(given: &Given) -> Result<MotorVoltage, CalcError> {
    let volts = given.plain("motor_v")?;
    MotorVoltage::for_system_v(volts)
        .ok_or_else(|| CalcError::NotCovered(format!("the motor tables have no column for {volts} V")))
}

fn full_load() -> Calculation {
    Calculation {
        id: "motor-full-load",
        purpose: "Full-load current of a motor from the code's table",
        inputs: table_inputs(),
        outputs: vec![Out::new("full_load_a", M::AMPERE, "full-load current")],
        run: |given| {
            let rating = given.one::<ShaftPower>("motor_hp", "P")?.value();
            let current = match phases(given)? {
                Phases::Single => full_load_current_single(rating, column(given)?)?,
                Phases::Three => full_load_current_three_phase(rating, column(given)?)?,
            };
            Ok(Results::default().known("full_load_a", &current))
        },
    }
}

fn overload() -> Calculation {
    Calculation {
        id: "motor-overload",
        purpose: "Largest overload device of a motor over 1 hp for continuous duty (NEC 2023 430.32)",
        inputs: vec![
            In::number("nameplate_a", M::AMPERE, "current on the motor's nameplate, not that of the tables"),
            In::number("service_factor", M::NUMBER, "service factor on the nameplate")
                .within(1.0, 2.0)
                .or("1"),
            In::yes_no("rise_to_40_degc", "marked with a temperature rise of 40 degC or less").or("no"),
        ],
        outputs: vec![
            Out::new("overload_a", M::AMPERE, "largest rating or setting: 125 % or 115 %"),
            Out::new(
                "start_overload_a",
                M::AMPERE,
                "the same where that cannot start the motor or carry its load: 140 % or 130 %",
            ),
        ],
        run: |given| {
            let (nameplate, factor) = (given.one("nameplate_a", "I")?, given.one("service_factor", "SF")?);
            let found = motor_overload(&nameplate, &factor, given.yes("rise_to_40_degc")?)?;
            Ok(Results::default()
                .known("overload_a", &found.limit)
                .known("start_overload_a", &found.if_it_cannot_start))
        },
    }
}

fn locked_rotor_table() -> Calculation {
    Calculation {
        id: "motor-locked-rotor-table",
        purpose: "Locked-rotor current of a motor from the code's conversion table",
        inputs: table_inputs(),
        outputs: vec![Out::new("locked_rotor_a", M::AMPERE, "locked-rotor current")],
        run: |given| {
            let rating = given.one::<ShaftPower>("motor_hp", "P")?.value();
            let current = match phases(given)? {
                Phases::Single => locked_rotor_current_single(rating, column(given)?)?,
                Phases::Three => locked_rotor_current_three_phase(rating, column(given)?)?,
            };
            Ok(Results::default().known("locked_rotor_a", &current))
        },
    }
}
