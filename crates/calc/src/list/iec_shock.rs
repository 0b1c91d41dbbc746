//! Protection against shock by IEC 60364-4-41, and discrimination of breakers.

use codebook::iec::automatic_disconnection::{
    SecondFault, TtFacts, breaker_tripping, it_first, it_second, tn, tt,
};
use codebook::iec::breaker_discrimination::{Mcb, breaker_discrimination};
use codebook::iec::disconnection_time::disconnection_time;
use codebook::iec::island_shock_protection::{IslandFacts, Opening, Residual, island_shock_protection};
use codebook::iec::rated_currents::standard_rating;
use derivation::Known;
use quantity::{Current, Duration};
use tables::iec::device::Device;
use tables::iec::shock::{Circuit, Earthing, Kind};

use super::{choice, yes};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

const TYPES: &[&str] = &["B", "C", "D"];

pub(super) fn all() -> Vec<Calculation> {
    vec![time(), in_tn(), in_tt(), first_fault(), second_fault(), island(), discrimination()]
}

fn circuit_input() -> In {
    let what = "final: socket-outlets up to 63 A or fixed equipment up to 32 A; distribution: all others";
    In::word("circuit", what, Circuit::WORDS).or("final")
}

fn to_earth_input() -> In {
    In::number("to_earth_v", M::PHASE_VOLT, "nominal voltage from line to earth").or("230")
}

fn time() -> Calculation {
    Calculation {
        id: "disconnection-time",
        purpose: "Longest time within which a fault must be cut off (IEC 60364-4-41)",
        inputs: vec![
            In::word("earthing", "system earthing", Earthing::WORDS),
            In::word("kind", "alternating or direct current", Kind::WORDS).or("ac"),
            circuit_input(),
            In::number("to_earth_v", M::PHASE_VOLT, "nominal voltage from line to earth"),
        ],
        outputs: vec![
            Out::new("required", M::WORD, "a time is required against shock"),
            Out::new("longest_s", M::SECOND, "longest disconnection time"),
        ],
        run: |given| {
            let (earthing, kind) =
                (choice(given, "earthing", Earthing::read)?, choice(given, "kind", Kind::read)?);
            let circuit = choice(given, "circuit", Circuit::read)?;
            let found = disconnection_time(earthing, kind, circuit, &given.one("to_earth_v", "U_0")?)?;
            Ok(Results::default().flag("required", found.is_some()).known_if("longest_s", found.as_ref()))
        },
    }
}

/// The current that opens a device: given, or that of a miniature circuit breaker.
fn opening(given: &Given) -> Result<Option<Known<Current>>, CalcError> {
    match (given.has("disconnecting_a"), given.has("mcb_type"), given.has("rated_a")) {
        (false, false, false) => Ok(None),
        (true, false, false) => Ok(Some(given.one("disconnecting_a", "I_a")?)),
        (false, true, true) => {
            let letter = given.word("mcb_type")?.chars().next().unwrap_or('?');
            standard_rating(Device::Mcb, &given.one("rated_a", "I_n")?)?;
            Ok(Some(breaker_tripping(letter, &given.one("rated_a", "I_n")?)?))
        }
        _ => Err(CalcError::NotCovered("give disconnecting_a alone, or mcb_type and rated_a".to_owned())),
    }
}

fn opening_needed(given: &Given) -> Result<Known<Current>, CalcError> {
    let needed = || CalcError::NotCovered("give disconnecting_a, or mcb_type and rated_a".to_owned());
    opening(given)?.ok_or_else(needed)
}

fn opening_inputs() -> [In; 3] {
    [
        In::number("disconnecting_a", M::AMPERE, "current that opens the device in the time required")
            .if_given(),
        In::word("mcb_type", "or the type of a miniature circuit breaker", TYPES).if_given(),
        In::number("rated_a", M::AMPERE, "and its rated current").if_given(),
    ]
}

fn in_tn() -> Calculation {
    let mut inputs = vec![
        In::number("loop_ohm", M::OHM, "impedance of the fault loop, hot"),
        to_earth_input(),
        In::number("factor", M::NUMBER, "factor on the voltage for the least fault current, such as 0.95")
            .within(0.01, 1.0)
            .or("1"),
    ];
    inputs.extend(opening_inputs());
    Calculation {
        id: "tn-disconnection",
        purpose: "Whether a fault in a TN system is cut off (IEC 60364-4-41 411.4.4)",
        inputs,
        outputs: vec![
            Out::new("holds", M::WORD, "the fault current opens the device"),
            Out::new("needed_v", M::PHASE_VOLT, "voltage that the disconnecting current needs in the loop"),
            Out::new("there_v", M::PHASE_VOLT, "voltage that is there"),
            Out::new("disconnecting_a", M::AMPERE, "current that opens the device"),
        ],
        run: |given| {
            let opens = opening_needed(given)?;
            let (loop_ohm, u0) = (given.one("loop_ohm", "Z_s")?, given.one("to_earth_v", "U_0")?);
            let found = tn(&loop_ohm, &opens, &u0, &given.one("factor", "c")?)?;
            Ok(Results::default()
                .flag("holds", found.holds)
                .known("needed_v", &found.value)
                .known("there_v", &found.limit)
                .known("disconnecting_a", &opens))
        },
    }
}

fn in_tt() -> Calculation {
    Calculation {
        id: "tt-disconnection",
        purpose: "Whether a residual current device protects in a TT system (IEC 60364-4-41 411.5.3)",
        inputs: vec![
            In::number("electrode_ohm", M::OHM, "electrode and protective conductor of the exposed parts"),
            In::number("source_ohm", M::OHM, "earth electrode of the source").within(0.0, 1e6),
            In::number("residual_a", M::AMPERE, "rated residual current, 30 mA = 0.03"),
            In::yes_no("delayed", "time-delayed, type S").or("no"),
            to_earth_input(),
            circuit_input(),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "touch voltage and time both hold"),
            Out::new("touch_v", M::PHASE_VOLT, "touch voltage at the rated residual current, 50 V at most"),
            Out::new("fault_a", M::AMPERE, "current of a dead fault"),
            Out::new("break_s", M::SECOND, "break time of the device at it"),
            Out::new("longest_s", M::SECOND, "longest disconnection time"),
        ],
        run: |given| {
            let facts = TtFacts {
                electrode: given.one("electrode_ohm", "R_A")?,
                source: given.one("source_ohm", "R_B")?,
                residual: given.one("residual_a", "I_dn")?,
                delayed: yes(given, "delayed")?,
                to_earth: given.one("to_earth_v", "U_0")?,
                circuit: choice(given, "circuit", Circuit::read)?,
            };
            let found = tt(&facts)?;
            Ok(Results::default()
                .flag("holds", found.touch.holds && found.time.holds)
                .known("touch_v", &found.touch.value)
                .known("fault_a", &found.fault)
                .known("break_s", &found.time.value)
                .known("longest_s", &found.time.limit))
        },
    }
}

fn first_fault() -> Calculation {
    Calculation {
        id: "it-first-fault",
        purpose: "Touch voltage at the first fault of an IT system (IEC 60364-4-41 411.6.2)",
        inputs: vec![
            In::number("electrode_ohm", M::OHM, "electrode and protective conductor of the exposed parts")
                .within(0.0, 1e6),
            In::number("first_fault_a", M::AMPERE, "current of a first fault").within(0.0, 1e6),
            In::word("kind", "alternating or direct current", Kind::WORDS).or("ac"),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "nothing needs to open at the first fault"),
            Out::new("touch_v", M::PHASE_VOLT, "voltage of exposed parts"),
            Out::new("limit_v", M::PHASE_VOLT, "its limit"),
        ],
        run: |given| {
            let direct = choice(given, "kind", Kind::read)? == Kind::Dc;
            let found =
                it_first(&given.one("electrode_ohm", "R_A")?, &given.one("first_fault_a", "I_d")?, direct)?;
            Ok(Results::default()
                .flag("holds", found.holds)
                .known("touch_v", &found.value)
                .known("limit_v", &found.limit))
        },
    }
}

fn second_fault() -> Calculation {
    let mut inputs = vec![
        In::number("loop_ohm", M::OHM, "impedance of the loop of one faulted circuit, hot"),
        In::number("line_v", M::LINE_VOLT, "voltage between lines, where no neutral is distributed")
            .if_given(),
        In::number("neutral_v", M::PHASE_VOLT, "voltage to neutral, where it is distributed").if_given(),
    ];
    inputs.extend(opening_inputs());
    Calculation {
        id: "it-second-fault",
        purpose: "Whether a second fault in an IT system is cut off (IEC 60364-4-41 411.6.4)",
        inputs,
        outputs: vec![
            Out::new("holds", M::WORD, "the current of the second fault opens the device"),
            Out::new("needed_v", M::PHASE_VOLT, "voltage that the disconnecting current needs in both loops"),
            Out::new("there_v", M::PHASE_VOLT, "voltage that is there"),
        ],
        run: |given| {
            let voltage = match (given.has("line_v"), given.has("neutral_v")) {
                (true, false) => SecondFault::WithoutNeutral(given.one("line_v", "U")?),
                (false, true) => SecondFault::WithNeutral(given.one("neutral_v", "U_0")?),
                _ => return Err(CalcError::NotCovered("give either line_v or neutral_v".to_owned())),
            };
            let found = it_second(&given.one("loop_ohm", "Z_s")?, &opening_needed(given)?, &voltage)?;
            Ok(Results::default()
                .flag("holds", found.holds)
                .known("needed_v", &found.value)
                .known("there_v", &found.limit))
        },
    }
}

fn island() -> Calculation {
    let mut inputs = vec![
        In::yes_no(
            "bonded",
            "neutral and protective conductor are bonded at the island's source; TT: its neutral is earthed",
        ),
        In::word("earthing", "system earthing", Earthing::WORDS).or("TN"),
        circuit_input(),
        to_earth_input(),
        In::number("loop_ohm", M::OHM, "impedance of the fault loop, hot"),
        In::number(
            "protective_ohm",
            M::OHM,
            "protective conductor from the fault to the main terminal; TT: and the electrode",
        )
        .within(0.0, 1e6),
        In::number("least_a", M::AMPERE, "least current that the source gives into a fault").within(0.0, 1e6),
        In::number("most_a", M::AMPERE, "most current that it gives").within(0.0, 1e6),
        In::number("lasts_s", M::SECOND, "time for which it gives it").within(0.0, 1e5),
        In::number("collapses_s", M::SECOND, "time until its voltage is 50 V or less")
            .within(0.0, 1e5)
            .if_given(),
        In::number(
            "opens_s",
            M::SECOND,
            "time in which the device opens at disconnecting_a; 0.1 s with mcb_type",
        )
        .if_given(),
        In::number("residual_a", M::AMPERE, "rated residual current, where there is a device after the bond")
            .if_given(),
        In::yes_no("delayed", "that device is time-delayed, type S").or("no"),
    ];
    inputs.extend(opening_inputs());
    Calculation {
        id: "island-shock-protection",
        purpose: "What protects against shock where inverters are the only source (IEC 60364-4-41)",
        inputs,
        outputs: vec![
            Out::new("protected", M::WORD, "something protects"),
            Out::new("by", M::WORD, "what does"),
            Out::new("fault_a", M::AMPERE, "least fault current"),
            Out::new("longest_s", M::SECOND, "longest disconnection time"),
            Out::new("residual_s", M::SECOND, "break time of the residual current device"),
            Out::new("touch_v", M::PHASE_VOLT, "touch voltage while the fault lasts"),
        ],
        run: run_island,
    }
}

/// A miniature circuit breaker opens within 0.1 s at the upper end of its band; of any other device it must be said.
fn opening_time(given: &Given) -> Result<Known<Duration>, CalcError> {
    match (given.has("opens_s"), given.has("mcb_type")) {
        (true, false) => given.one("opens_s", "t_a"),
        (false, true) => {
            let why = "IEC 60898-1 Table 7: less than 0.1 s at the upper end of the band";
            Ok(Known::assumed("t_a", "time in which the breaker opens", Duration::of(0.1), why))
        }
        _ => {
            Err(CalcError::NotCovered("give opens_s with disconnecting_a, and not with mcb_type".to_owned()))
        }
    }
}

fn run_island(given: &Given) -> Result<Results, CalcError> {
    let breaker = match opening(given)? {
        Some(current) => Some(Opening { current, time: opening_time(given)? }),
        None => None,
    };
    let residual = match given.has("residual_a") {
        true => Some(Residual { rated: given.one("residual_a", "I_dn")?, delayed: yes(given, "delayed")? }),
        false => None,
    };
    let facts = IslandFacts {
        bonded: yes(given, "bonded")?,
        earthing: choice(given, "earthing", Earthing::read)?,
        circuit: choice(given, "circuit", Circuit::read)?,
        to_earth: given.one("to_earth_v", "U_0")?,
        loop_ohm: given.one("loop_ohm", "Z_s")?,
        protective_ohm: given.one("protective_ohm", "R_PE")?,
        least: given.one("least_a", "I_least")?,
        most: given.one("most_a", "I_most")?,
        lasts: given.one("lasts_s", "t_source")?,
        collapses: given.has("collapses_s").then(|| given.one("collapses_s", "t_c")).transpose()?,
        breaker,
        residual,
        longest: None,
    };
    let found = island_shock_protection(&facts)?;
    let by = found.protected_by();
    let by = if by.is_empty() { "nothing".to_owned() } else { by.join(", ") };
    Ok(Results::default()
        .flag("protected", found.protected())
        .text("by", by)
        .known("fault_a", &found.fault)
        .known("longest_s", &found.longest)
        .known_if("residual_s", found.residual_time.as_ref().map(|check| &check.value))
        .known("touch_v", &found.touch.value))
}

fn discrimination() -> Calculation {
    Calculation {
        id: "breaker-discrimination",
        purpose: "Whether a branch breaker opens without its main, both miniature circuit breakers (IEC 60898-1)",
        inputs: vec![
            In::word("main_type", "type of the main", TYPES),
            In::number("main_a", M::AMPERE, "rated current of the main"),
            In::word("branch_type", "type of the branch", TYPES),
            In::number("branch_a", M::AMPERE, "rated current of the branch"),
            In::number("prospective_a", M::AMPERE, "largest fault current in the branch"),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "the branch alone opens at every current up to that"),
            Out::new("overload_holds", M::WORD, "at overload"),
            Out::new("limit_a", M::AMPERE, "current from which on the main may trip at once"),
        ],
        run: |given| {
            let mcb = |letter, rated, symbol| -> Result<Mcb, CalcError> {
                let letter = given.word(letter)?.chars().next().unwrap_or('?');
                let rated = given.one(rated, symbol)?;
                standard_rating(Device::Mcb, &rated)?;
                Ok(Mcb { letter, rated })
            };
            let main = mcb("main_type", "main_a", "I_main")?;
            let branch = mcb("branch_type", "branch_a", "I_branch")?;
            let found = breaker_discrimination(&main, &branch, &given.one("prospective_a", "I_k")?)?;
            Ok(Results::default()
                .flag("holds", found.holds())
                .flag("overload_holds", found.overload.holds)
                .known("limit_a", &found.limit))
        },
    }
}
