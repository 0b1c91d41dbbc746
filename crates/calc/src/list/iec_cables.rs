//! Cables by IEC 60364: capacity, overload, drop, and the smallest that passes.

use codebook::iec::cable_ampacity::{CableRun, cable_ampacity};
use codebook::iec::cable_voltage_drop::{Drop, Supply, cable_voltage_drop};
use codebook::iec::conductor_choice::{Wanted, conductor_choice};
use codebook::iec::overload_coordination::overload_coordination;
use codebook::iec::rated_currents::{next_rated, standard_rating};
use derivation::Known;
use quantity::{PhaseVoltage, Quantity, Section};
use tables::iec::cable::{Cable, Insulation, Loaded23, Metal, Method, nominal_sections};
use tables::iec::device::Device;
use tables::iec::grouping::{Clearance, Form, Layout, Together};

use super::{choice, yes};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

const DEVICES: &[&str] = &["mcb", "breaker", "fuse-gg"];
const TOGETHER: &[&str] = &[
    "alone",
    "bunched",
    "layer-on-wall",
    "layer-under-ceiling",
    "layer-on-perforated-tray",
    "layer-on-ladder",
    "buried",
    "ducts-multicore",
    "ducts-single-core",
    "trays",
];

pub(super) fn all() -> Vec<Calculation> {
    vec![rated(), ampacity(), overload(), drop(), choose()]
}

fn device(given: &Given) -> Result<Device, CalcError> {
    choice(given, "device", |word| Device::ALL.into_iter().find(|device| device.word() == word))
}

fn device_input() -> In {
    In::word(
        "device",
        "mcb = IEC 60898-1, breaker = IEC 60947-2 at its full rating, fuse-gg = IEC 60269-1 gG",
        DEVICES,
    )
}

fn rated() -> Calculation {
    Calculation {
        id: "rated-current",
        purpose: "Smallest rated current of an overcurrent device that carries a current (IEC)",
        inputs: vec![device_input(), In::number("design_a", M::AMPERE, "design current")],
        outputs: vec![Out::new("rated_a", M::AMPERE, "rated current of the device")],
        run: |given| {
            let found = next_rated(device(given)?, &given.one("design_a", "I_b")?)?;
            Ok(Results::default().known("rated_a", &found))
        },
    }
}

/// Inputs that say what a cable is and where it lies.
fn run_inputs() -> Vec<In> {
    vec![
        In::word("metal", "metal of the conductors", Metal::WORDS).or("copper"),
        In::word("insulation", "PVC to 70 degC, XLPE (and EPR) to 90 degC", Insulation::WORDS),
        In::word("method", "reference method of installation", Method::WORDS),
        In::word("loaded", "loaded conductors: 2 for single-phase, 3 for three-phase", Loaded23::WORDS),
        In::number("ambient_degc", M::CELSIUS, "temperature of the air, of the ground for D1 and D2")
            .within(-60.0, 200.0),
        In::number("soil_k_m_per_w", M::SOIL, "thermal resistivity of the soil, needed for D1 and D2")
            .if_given(),
        In::word("together", "how it lies with other circuits or its own parallel sets", TOGETHER)
            .or("alone"),
        In::number("beside", M::NUMBER, "other circuits that lie with it, on its own tray for trays")
            .within(0.0, 100.0)
            .or("0"),
        In::word("clearance", "space between circuits or ducts in the ground", Clearance::WORDS)
            .or("touching"),
        In::number("trays", M::NUMBER, "perforated trays one above the other").within(1.0, 100.0).or("1"),
        In::number("third_harmonic_pct", M::PERCENT, "third harmonic in the line current")
            .within(0.0, 1000.0)
            .or("0"),
    ]
}

fn cable_run(given: &Given) -> Result<CableRun, CalcError> {
    let cable = Cable {
        metal: choice(given, "metal", Metal::read)?,
        insulation: choice(given, "insulation", Insulation::read)?,
        method: choice(given, "method", Method::read)?,
        loaded: choice(given, "loaded", Loaded23::read)?,
    };
    let soil = given.one_if("soil_k_m_per_w", "rho_T")?;
    if soil.is_some() && !cable.method.in_ground() {
        let why = "soil_k_m_per_w is for methods D1 and D2; this one lies in no soil: leave it out";
        return Err(CalcError::NotCovered(why.to_owned()));
    }
    Ok(CableRun {
        cable,
        ambient: given.one("ambient_degc", "theta")?,
        soil,
        together: together(given)?,
        beside: given.one("beside", "beside")?,
        third_harmonic: Some(given.one("third_harmonic_pct", "h")?),
    })
}

fn together(given: &Given) -> Result<Option<Together>, CalcError> {
    let clearance = choice(given, "clearance", Clearance::read)?;
    Ok(Some(match given.word("together")? {
        "alone" => return Ok(None),
        "buried" => Together::Buried(clearance),
        "ducts-multicore" => Together::Ducts(Form::Multicore, clearance),
        "ducts-single-core" => Together::Ducts(Form::SingleCore, clearance),
        "trays" => Together::Trays(given.one("trays", "trays")?),
        _ => Together::Air(choice(given, "together", Layout::read)?),
    }))
}

fn sets_input() -> In {
    In::number("sets", M::NUMBER, "conductors in parallel per line").within(1.0, 50.0).or("1")
}

fn ampacity() -> Calculation {
    let mut inputs = run_inputs();
    inputs.extend([In::number("section_mm2", M::SQUARE_MM, "section of each conductor"), sets_input()]);
    Calculation {
        id: "cable-ampacity",
        purpose: "Current that a cable may carry where it lies (IEC 60364-5-52)",
        inputs,
        outputs: vec![
            Out::new("capacity_a", M::AMPERE, "line current that all sets together may carry"),
            Out::new("table_a", M::AMPERE, "one circuit alone at reference conditions"),
            Out::new("factor", M::NUMBER, "all factors together"),
        ],
        run: |given| {
            let section: Known<Section> = given.one("section_mm2", "S")?;
            let found = cable_ampacity(&cable_run(given)?, section.value(), &given.one("sets", "n")?)?;
            Ok(Results::default()
                .known("capacity_a", &found.capacity)
                .known("table_a", &found.table)
                .known("factor", &found.factor))
        },
    }
}

fn overload() -> Calculation {
    Calculation {
        id: "overload-coordination",
        purpose: "Whether a device protects a cable against overload (IEC 60364-4-43)",
        inputs: vec![
            device_input(),
            In::number("design_a", M::AMPERE, "design current"),
            In::number("rated_a", M::AMPERE, "rated current of the device; for a breaker also its setting"),
            In::number("capacity_a", M::AMPERE, "current that the cable may carry where it lies"),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "all three conditions hold"),
            Out::new("carries", M::WORD, "the device carries the design current"),
            Out::new("rated_fits", M::WORD, "the cable carries the rated current"),
            Out::new("operating_fits", M::WORD, "the cable bears the conventional operating current"),
            Out::new("operating_a", M::AMPERE, "conventional operating current of the device"),
            Out::new("operating_most_a", M::AMPERE, "the most that the cable bears of it"),
        ],
        run: |given| {
            let (design, rated) = (given.one("design_a", "I_b")?, given.one("rated_a", "I_n")?);
            standard_rating(device(given)?, &rated)?;
            let found =
                overload_coordination(device(given)?, &design, &rated, &given.one("capacity_a", "I_z")?)?;
            Ok(Results::default()
                .flag("holds", found.holds())
                .flag("carries", found.carries.holds)
                .flag("rated_fits", found.rated.holds)
                .flag("operating_fits", found.operating.holds)
                .known("operating_a", &found.operating.value)
                .known("operating_most_a", &found.operating.limit))
        },
    }
}

/// Inputs of a drop that the choice of a conductor shares.
fn drop_inputs() -> Vec<In> {
    vec![
        In::number(
            "nominal_v",
            M::PHASE_VOLT,
            "nominal voltage from line to neutral; across for single-phase",
        )
        .or("230"),
        In::number("power_factor", M::NUMBER, "power factor of the load, lagging").within(0.0, 1.0).or("1"),
        In::number("reactance_ohm_per_km", M::OHM_PER_KM, "reactance of a conductor; else 0.08 ohm/km")
            .within(0.0, 10.0)
            .if_given(),
        In::yes_no("private", "fed from a source of its own, not from a public low-voltage network").or("no"),
        In::yes_no("lighting", "feeds lighting").or("no"),
        In::number("before_pct", M::PERCENT, "drop that lies before it already").within(0.0, 100.0).or("0"),
    ]
}

fn drop_facts(
    given: &Given,
    metal: Metal,
    loaded: Loaded23,
    current: &'static str,
) -> Result<Drop, CalcError> {
    let reactance =
        given.has("reactance_ohm_per_km").then(|| given.one("reactance_ohm_per_km", "lambda")).transpose()?;
    let nominal: Known<PhaseVoltage> = given.one("nominal_v", "U_0")?;
    Ok(Drop {
        metal,
        loaded,
        length: given.one("length_m", "L")?,
        current: given.one(current, "I_b")?,
        power_factor: given.one("power_factor", "cos_phi")?,
        nominal,
        reactance,
        supply: Supply { private: yes(given, "private")?, lighting: yes(given, "lighting")? },
        before: given.one("before_pct", "before")?,
    })
}

/// Refuses a section that no conductor has: neither one nominal section nor so many of them in parallel.
pub(super) fn nominal(section: &Known<Section>, most_sets: u8) -> Result<(), CalcError> {
    let all = nominal_sections()?;
    let asked = section.value().si();
    let is = |n: u8| all.iter().any(|s| (s.value().si() * f64::from(n) / asked - 1.0).abs() < 1e-9);
    if (1..=most_sets).any(is) {
        return Ok(());
    }
    let names: Vec<String> = all.iter().map(|s| s.value().si().to_string()).collect();
    Err(CalcError::NotCovered(format!(
        "{} is no nominal section; there are {} mm2",
        section.value(),
        names.join(", ")
    )))
}

fn drop() -> Calculation {
    let mut inputs = vec![
        In::word("metal", "metal of the conductors", Metal::WORDS).or("copper"),
        In::word(
            "loaded",
            "loaded conductors: 2 for single-phase, 3 for balanced three-phase",
            Loaded23::WORDS,
        ),
        In::number("section_mm2", M::SQUARE_MM, "section of each conductor"),
        sets_input(),
        In::number("length_m", M::METRE, "length one way"),
        In::number("current_a", M::AMPERE, "current in a line"),
    ];
    inputs.extend(drop_inputs());
    Calculation {
        id: "cable-voltage-drop",
        purpose: "Voltage drop of a cable and its limit (IEC 60364-5-52 Annex G)",
        inputs,
        outputs: vec![
            Out::new("holds", M::WORD, "the drop from the origin keeps its limit"),
            Out::new("drop_v", M::PHASE_VOLT, "voltage drop of the cable"),
            Out::new("total_pct", M::PERCENT, "drop from the origin, of nominal"),
            Out::new("limit_pct", M::PERCENT, "its limit"),
        ],
        run: |given| {
            let (metal, loaded) =
                (choice(given, "metal", Metal::read)?, choice(given, "loaded", Loaded23::read)?);
            let facts = drop_facts(given, metal, loaded, "current_a")?;
            let section = given.one("section_mm2", "S")?;
            nominal(&section, 1)?;
            let found = cable_voltage_drop(&facts, &section, &given.one("sets", "n")?)?;
            Ok(Results::default()
                .flag("holds", found.total.holds)
                .known("drop_v", &found.drop)
                .known("total_pct", &found.total.value)
                .known("limit_pct", &found.total.limit))
        },
    }
}

fn choose() -> Calculation {
    let mut inputs = vec![device_input(), In::number("design_a", M::AMPERE, "design current")];
    inputs.extend(run_inputs());
    inputs.extend([
        In::number("most_sets", M::NUMBER, "most conductors in parallel per line").within(1.0, 50.0).or("1"),
        In::number("least_mm2", M::SQUARE_MM, "least section for another reason").if_given(),
        In::number("length_m", M::METRE, "length one way; without it the drop is not looked at").if_given(),
    ]);
    inputs.extend(drop_inputs());
    Calculation {
        id: "conductor-choice",
        purpose: "Smallest conductor and device for a design current (IEC 60364)",
        inputs,
        outputs: vec![
            Out::new("section_mm2", M::SQUARE_MM, "section of each conductor"),
            Out::new("sets", M::NUMBER, "conductors in parallel per line"),
            Out::new("rated_a", M::AMPERE, "rated current of the device"),
            Out::new("capacity_a", M::AMPERE, "line current that all sets together may carry"),
            Out::new("drop_pct", M::PERCENT, "drop from the origin, of nominal"),
            Out::new(
                "hot_ohm_per_km",
                M::OHM_PER_KM,
                "resistance of one conductor at its highest temperature",
            ),
            Out::new("cold_ohm_per_km", M::OHM_PER_KM, "resistance of one conductor at 20 degC"),
        ],
        run: run_choose,
    }
}

fn run_choose(given: &Given) -> Result<Results, CalcError> {
    let run = cable_run(given)?;
    let most = given.plain("most_sets")?;
    let drop = match given.has("length_m") {
        true => Some(drop_facts(given, run.cable.metal, run.cable.loaded, "design_a")?),
        false => None,
    };
    let wanted = Wanted {
        design: given.one("design_a", "I_b")?,
        device: device(given)?,
        run,
        drop,
        least: given.has("least_mm2").then(|| given.one("least_mm2", "S_least")).transpose()?,
        most_sets: most.floor() as u8,
    };
    let found = conductor_choice(&wanted)?;
    Ok(Results::default()
        .known("section_mm2", &found.section)
        .known("sets", &found.sets)
        .known("rated_a", &found.device)
        .known("capacity_a", &found.ampacity.capacity)
        .known_if("drop_pct", found.drop.as_ref().map(|drop| &drop.total.value))
        .known("hot_ohm_per_km", &found.resistance.hot)
        .known("cold_ohm_per_km", &found.resistance.cold))
}
