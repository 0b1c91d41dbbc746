//! Neutral, protective and bonding conductors by IEC 60364; heat of a short circuit; resistance.

use codebook::iec::adiabatic_withstand::{Fault, adiabatic_withstand, least_section};
use codebook::iec::bonding_section::{Bond, bonding_section};
use codebook::iec::conductor_resistance::{ConductorResistance, conductor_resistance};
use codebook::iec::direct_voltage_drop::direct_voltage_drop;
use codebook::iec::neutral_section::{NeutralFacts, neutral_section};
use codebook::iec::protective_conductor::{Place, ProtectiveFacts, protective_conductor};
use derivation::Known;
use quantity::Section;
use tables::iec::cable::{Build, Insulation, Loaded23, Metal};
use tables::iec::heat::{FaultMetal, Use};

use super::iec_cables::nominal;
use super::{choice, yes};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

const PROTECTIVE: &[&str] =
    &["pe-in-cable-PVC", "pe-in-cable-XLPE", "pe-apart-PVC", "pe-apart-XLPE", "pe-bare"];

/// Lines may be so many parallel sets whose sections are given together.
const MOST_SETS: u8 = 10;

pub(super) fn all() -> Vec<Calculation> {
    vec![neutral(), protective(), bonding(), heat(), resistance(), direct_drop()]
}

fn metal(given: &Given) -> Result<Metal, CalcError> {
    choice(given, "metal", Metal::read)
}

fn metal_input() -> In {
    In::word("metal", "metal of the conductor", Metal::WORDS).or("copper")
}

fn neutral() -> Calculation {
    Calculation {
        id: "neutral-section",
        purpose: "Least section of a neutral and the current that it must carry (IEC 60364-5-52)",
        inputs: vec![
            metal_input(),
            In::word("loaded", "2 for single-phase, 3 for three-phase", Loaded23::WORDS),
            In::number("line_mm2", M::SQUARE_MM, "section of a line"),
            In::number("current_a", M::AMPERE, "current in a line"),
            In::number("third_harmonic_pct", M::PERCENT, "third harmonic in it").within(0.0, 1000.0),
            In::number("largest_a", M::AMPERE, "largest current in the neutral; without it no reduction")
                .within(0.0, 1e6)
                .if_given(),
        ],
        outputs: vec![
            Out::new("least_mm2", M::SQUARE_MM, "least section"),
            Out::new("neutral_a", M::AMPERE, "current that it must carry"),
        ],
        run: |given| {
            let facts = NeutralFacts {
                metal: metal(given)?,
                loaded: choice(given, "loaded", Loaded23::read)?,
                line: given.one("line_mm2", "S_line")?,
                current: given.one("current_a", "I_b")?,
                third_harmonic: given.one("third_harmonic_pct", "h")?,
                largest: given.has("largest_a").then(|| given.one("largest_a", "I_N")).transpose()?,
            };
            let found = neutral_section(&facts)?;
            Ok(Results::default().known("least_mm2", &found.least).known("neutral_a", &found.current))
        },
    }
}

fn fault_inputs() -> [In; 3] {
    [
        In::number("fault_a", M::AMPERE, "fault current, RMS; with fault_s").if_given(),
        In::number("fault_s", M::SECOND, "time for which it flows, 0.1 s to 5 s").if_given(),
        In::number("let_through_a2s", M::AMPERE2_SECOND, "let-through of the device in place of both")
            .if_given(),
    ]
}

fn fault(given: &Given) -> Result<Option<Fault>, CalcError> {
    match (given.has("fault_a"), given.has("fault_s"), given.has("let_through_a2s")) {
        (false, false, false) => Ok(None),
        (true, true, false) => {
            Ok(Some(Fault::Lasting(given.one("fault_a", "I")?, given.one("fault_s", "t")?)))
        }
        (false, false, true) => Ok(Some(Fault::LetThrough(given.one("let_through_a2s", "I2t")?))),
        _ => Err(CalcError::NotCovered("give fault_a and fault_s, or let_through_a2s alone".to_owned())),
    }
}

fn protective() -> Calculation {
    let mut inputs = vec![
        In::number("line_mm2", M::SQUARE_MM, "section of the lines, parallel sets together"),
        In::word("line_metal", "metal of the lines", Metal::WORDS).or("copper"),
        In::word("line_insulation", "insulation of the lines", Insulation::WORDS),
        metal_input(),
        In::word("use", "place and insulation of the protective conductor, for heat", PROTECTIVE),
        In::yes_no("protected", "protected from damage, where it lies apart from the lines").or("no"),
        In::yes_no("leakage", "more than 10 mA flow in it in service").or("no"),
    ];
    inputs.extend(fault_inputs());
    Calculation {
        id: "protective-conductor",
        purpose: "Section of a protective conductor (IEC 60364-5-54)",
        inputs,
        outputs: vec![
            Out::new("section_mm2", M::SQUARE_MM, "next nominal section that satisfies all"),
            Out::new("by_table_mm2", M::SQUARE_MM, "by the table"),
            Out::new("by_heat_mm2", M::SQUARE_MM, "by the heat of the fault"),
        ],
        run: run_protective,
    }
}

fn run_protective(given: &Given) -> Result<Results, CalcError> {
    let usage = choice(given, "use", Use::read)?;
    let apart = matches!(usage, Use::ApartPvc | Use::ApartXlpe | Use::Bare);
    let place = match (apart, yes(given, "protected")?) {
        (false, _) => Place::WithLines,
        (true, true) => Place::ApartProtected,
        (true, false) => Place::ApartOpen,
    };
    let facts = ProtectiveFacts {
        line: given.one("line_mm2", "S")?,
        line_metal: choice(given, "line_metal", Metal::read)?,
        line_use: match choice(given, "line_insulation", Insulation::read)? {
            Insulation::Pvc => Use::LinePvc,
            Insulation::Xlpe => Use::LineXlpe,
        },
        metal: metal(given)?,
        usage,
        place,
        leakage: yes(given, "leakage")?,
        fault: fault(given)?,
    };
    nominal(&facts.line, MOST_SETS)?;
    let found = protective_conductor(&facts)?;
    Ok(Results::default()
        .known("section_mm2", &found.section)
        .known("by_table_mm2", &found.by_table)
        .known_if("by_heat_mm2", found.by_heat.as_ref()))
}

fn bonding() -> Calculation {
    Calculation {
        id: "bonding-section",
        purpose: "Section of main bonding, earthing and combined conductors (IEC 60364-5-54)",
        inputs: vec![
            In::word(
                "bond",
                "main bonding, earthing conductor not in the ground, or combined protective and neutral",
                &["main", "earthing", "combined"],
            ),
            metal_input(),
            In::number("protective_mm2", M::SQUARE_MM, "largest protective conductor of the installation"),
        ],
        outputs: vec![Out::new("section_mm2", M::SQUARE_MM, "least nominal section")],
        run: |given| {
            let bond = match given.word("bond")? {
                "main" => Bond::Main,
                "earthing" => Bond::Earthing,
                _ => Bond::Combined,
            };
            let found = bonding_section(bond, metal(given)?, &given.one("protective_mm2", "S_PE")?)?;
            Ok(Results::default().known("section_mm2", &found))
        },
    }
}

fn heat() -> Calculation {
    let mut inputs = vec![
        In::word("metal", "metal of the conductor", FaultMetal::WORDS).or("copper"),
        In::word("use", "place and insulation of the conductor", Use::WORDS),
        In::number("section_mm2", M::SQUARE_MM, "section of the conductor"),
    ];
    inputs.extend(fault_inputs());
    Calculation {
        id: "adiabatic-withstand",
        purpose: "Whether a conductor bears the heat of a short circuit (IEC 60364-4-43, 5-54)",
        inputs,
        outputs: vec![
            Out::new("holds", M::WORD, "the conductor bears it"),
            Out::new("fault_a2s", M::AMPERE2_SECOND, "Joule integral of the fault"),
            Out::new("bears_a2s", M::AMPERE2_SECOND, "Joule integral that the conductor bears"),
            Out::new("least_mm2", M::SQUARE_MM, "least section for the fault"),
        ],
        run: |given| {
            let needed = || CalcError::NotCovered("give fault_a and fault_s, or let_through_a2s".to_owned());
            let fault = fault(given)?.ok_or_else(needed)?;
            let (metal, usage) =
                (choice(given, "metal", FaultMetal::read)?, choice(given, "use", Use::read)?);
            let section: Known<Section> = given.one("section_mm2", "S")?;
            let found = adiabatic_withstand(metal, usage, &section, &fault)?;
            // a fault too large for any section still has a verdict
            let least = least_section(metal, usage, &fault).ok();
            Ok(Results::default()
                .flag("holds", found.holds)
                .known("fault_a2s", &found.value)
                .known("bears_a2s", &found.limit)
                .known_if("least_mm2", least.as_ref()))
        },
    }
}

fn resistance() -> Calculation {
    Calculation {
        id: "conductor-resistance",
        purpose: "Resistance of a conductor, cold and at its highest temperature (IEC 60228)",
        inputs: vec![
            metal_input(),
            In::word(
                "build",
                "class 2 (stranded) or class 5 (flexible), plain or metal-coated",
                Build::WORDS,
            )
            .or("stranded"),
            In::word("insulation", "PVC to 70 degC, XLPE (and EPR) to 90 degC", Insulation::WORDS),
            In::number("section_mm2", M::SQUARE_MM, "nominal section"),
        ],
        outputs: vec![
            Out::new("hot_ohm_per_km", M::OHM_PER_KM, "at the highest temperature of the insulation"),
            Out::new("cold_ohm_per_km", M::OHM_PER_KM, "at 20 degC"),
        ],
        run: |given| {
            let found = one_conductor(given)?;
            Ok(Results::default().known("hot_ohm_per_km", &found.hot).known("cold_ohm_per_km", &found.cold))
        },
    }
}

fn conductor_inputs() -> Vec<In> {
    vec![
        metal_input(),
        In::word("build", "class 2 (stranded) or class 5 (flexible), plain or metal-coated", Build::WORDS)
            .or("stranded"),
        In::word("insulation", "PVC to 70 degC, XLPE (and EPR) to 90 degC", Insulation::WORDS),
        In::number("section_mm2", M::SQUARE_MM, "nominal section"),
    ]
}

fn one_conductor(given: &Given) -> Result<ConductorResistance, CalcError> {
    let section: Known<Section> = given.one("section_mm2", "S")?;
    let insulation = choice(given, "insulation", Insulation::read)?;
    let build = choice(given, "build", Build::read)?;
    Ok(conductor_resistance(metal(given)?, build, insulation, section.value())?)
}

fn direct_drop() -> Calculation {
    let mut inputs = conductor_inputs();
    inputs.extend([
        In::number("sets", M::NUMBER, "conductors in parallel each way").within(1.0, 50.0).or("1"),
        In::number("length_m", M::METRE, "length one way"),
        In::number("current_a", M::DC_AMPERE, "direct current"),
        In::number("nominal_v", M::DC_VOLT, "nominal voltage"),
        In::number("limit_pct", M::PERCENT, "drop that is allowed, of nominal").within(0.0, 100.0),
    ]);
    Calculation {
        id: "direct-voltage-drop",
        purpose: "Voltage drop of a cable with direct current, hot conductors (IEC 60228)",
        inputs,
        outputs: vec![
            Out::new("holds", M::WORD, "the drop keeps its limit"),
            Out::new("drop_v", M::DC_VOLT, "voltage drop of both conductors"),
            Out::new("drop_pct", M::PERCENT, "voltage drop, of nominal"),
        ],
        run: |given| {
            let found = direct_voltage_drop(
                &one_conductor(given)?.hot,
                &given.one("length_m", "L")?,
                &given.one("current_a", "I")?,
                &given.one("sets", "n")?,
                &given.one("nominal_v", "U")?,
                &given.one("limit_pct", "du_max")?,
            )?;
            Ok(Results::default()
                .flag("holds", found.share.holds)
                .known("drop_v", &found.drop)
                .known("drop_pct", &found.share.value))
        },
    }
}
