//! Voltage drop by the US code's tables, by a given impedance, or by K.

use codebook::us::voltage_drop::{
    Circuit, ac_by_resistance_of_kft, by_k_of_kft, dc_drop, dc_of_kft, drop, effective, effective_of_kft,
    leg_drop, longest, run,
};
use derivation::Known;
use quantity::{Ratio, Resistance};
use tables::us::conductors::Conduit;

use super::conductor_inputs as ci;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![voltage_drop()]
}

fn voltage_drop() -> Calculation {
    Calculation {
        id: "voltage-drop",
        purpose: "Voltage drop along a run (give size, size and conduit, per_kft_ohm, or k_ohm with size or area)",
        inputs: vec![
            In::word(
                "circuit",
                "two-wire: line to line or to neutral; split-phase: one leg to neutral beside the other",
                &["two-wire", "split-phase", "three-phase", "dc"],
            ),
            In::number("current_a", M::AMPERE, "current; of the leg in question").within(0.0, 1e6),
            In::number("other_leg_a", M::AMPERE, "split-phase: current of the other leg; else as current_a")
                .within(0.0, 1e6)
                .if_given(),
            In::number("run_ft", M::FOOT, "one-way length"),
            In::number(
                "source_v",
                M::LINE_VOLT,
                "voltage at the start: between lines; split-phase: leg to neutral",
            ),
            In::number("parallel", M::NUMBER, "conductors in parallel").within(1.0, 100.0).or("1"),
            ci::size_input("size").if_given(),
            ci::material_input(),
            In::yes_no(
                "solid",
                "solid conductor, where no conduit is given (alternating current: up to 1 AWG)",
            )
            .or("no"),
            In::number("conductor_degc", M::CELSIUS, "direct current: temperature of the conductor, else 75")
                .within(-40.0, 150.0)
                .if_given(),
            In::word("conduit", "takes the AC impedance of Table 9", &["pvc", "aluminum", "steel"])
                .if_given(),
            In::number("power_factor", M::NUMBER, "lagging; needed with conduit or x_per_kft_ohm")
                .within(0.0, 1.0)
                .if_given(),
            In::number("per_kft_ohm", M::OHM, "impedance or resistance of 1000 ft of one conductor")
                .if_given(),
            In::number("x_per_kft_ohm", M::OHM, "reactance of 1000 ft, per_kft_ohm being the resistance")
                .within(0.0, 1e3)
                .if_given(),
            In::number("k_ohm", M::OHM, "ohm of one circular mil and one foot, as 12.9 for copper")
                .if_given(),
            In::number("area_kcmil", M::KCMIL, "area of the conductor for k_ohm").if_given(),
        ],
        outputs: vec![
            Out::new("per_kft_ohm", M::OHM, "impedance of 1000 ft of one conductor"),
            Out::new("run_ohm", M::OHM, "impedance of the run, one way"),
            Out::new("one_way_v", M::PHASE_VOLT, "drop along one conductor; three-phase: line to neutral"),
            Out::new("drop_v", M::LINE_VOLT, "drop between the lines, or of the leg to neutral"),
            Out::new("drop_pct", M::PERCENT, "of the voltage at the start"),
            Out::new("recommended", M::WORD, "not above the 3 % that the code recommends for one run"),
            Out::new("longest_ft", M::FOOT, "longest run that keeps these 3 %"),
        ],
        run: run_drop,
    }
}

fn run_drop(given: &Given) -> Result<Results, CalcError> {
    let of_kft = of_kft(given)?;
    let length = given.one("run_ft", "L")?;
    let impedance = run(&of_kft, &length, &given.one("parallel", "n")?)?;
    let results = Results::default().known("per_kft_ohm", &of_kft).known("run_ohm", &impedance);
    if given.word("circuit")? == "dc" {
        let lost = dc_drop(&impedance, &given.one("current_a", "I")?, &given.one("source_v", "V")?)?;
        below_source(lost.share.value())?;
        return Ok(results
            .known("drop_v", &lost.drop)
            .known("drop_pct", &lost.share)
            .known_if("longest_ft", longest(&length, &lost.share)?.as_ref())
            .flag("recommended", lost.recommended));
    }
    let current = given.one("current_a", "I")?;
    let lost = match given.word("circuit")? {
        "split-phase" => {
            let other = ci::if_given(given, "other_leg_a", "I_other")?.unwrap_or_else(|| current.clone());
            leg_drop(&impedance, &current, &other, &given.one("source_v", "V")?)?
        }
        "three-phase" => drop(&impedance, &current, &given.one("source_v", "V")?, Circuit::ThreePhase)?,
        _ => drop(&impedance, &current, &given.one("source_v", "V")?, Circuit::TwoWire)?,
    };
    below_source(lost.share.value())?;
    Ok(results
        .known("one_way_v", &lost.one_way)
        .known("drop_v", &lost.drop)
        .known("drop_pct", &lost.share)
        .known_if("longest_ft", longest(&length, &lost.share)?.as_ref())
        .flag("recommended", lost.recommended))
}

/// No current flows through a run that takes all the voltage and more.
fn below_source(share: Ratio) -> Result<(), CalcError> {
    if share < Ratio::of(1.0) {
        return Ok(());
    }
    let why = format!("the drop is {share} of the source's voltage: such a current cannot flow");
    Err(CalcError::NotCovered(why))
}

/// Impedance of 1000 ft by whatever is given of it.
fn of_kft(given: &Given) -> Result<Known<Resistance>, CalcError> {
    let ways = ["size", "per_kft_ohm", "k_ohm"].map(|key| given.has(key));
    let dc = given.word("circuit")? == "dc";
    let reactive = given.has("conduit") || given.has("x_per_kft_ohm");
    if dc && reactive {
        return Err(CalcError::NotCovered(
            "direct current knows no reactance: leave conduit and x_per_kft_ohm out".to_owned(),
        ));
    }
    if reactive && !given.has("power_factor") {
        return Err(CalcError::NotCovered("conduit and x_per_kft_ohm need power_factor".to_owned()));
    }
    match ways {
        [true, false, false] => {
            let (size, material) = (ci::size(given, "size")?, ci::material(given, "material")?);
            if !given.has("conduit") {
                if !dc && !given.has("conductor_degc") {
                    return Ok(ac_by_resistance_of_kft(size, material, ci::yes(given, "solid")?)?);
                }
                if !dc {
                    let why = "conductor_degc is for direct current; Table 9 stands at 75 degC".to_owned();
                    return Err(CalcError::NotCovered(why));
                }
                let degc = ci::if_given(given, "conductor_degc", "T")?;
                return Ok(dc_of_kft(size, material, ci::yes(given, "solid")?, degc.as_ref())?);
            }
            let conduit = match given.word("conduit")? {
                "aluminum" => Conduit::Aluminum,
                "steel" => Conduit::Steel,
                _ => Conduit::Pvc,
            };
            Ok(effective_of_kft(size, material, conduit, &given.one("power_factor", "pf")?)?)
        }
        [false, true, false] if given.has("x_per_kft_ohm") => {
            let (r, x) = (given.one("per_kft_ohm", "r")?, given.one("x_per_kft_ohm", "x")?);
            Ok(effective(&r, &x, &given.one("power_factor", "pf")?)?)
        }
        [false, true, false] => given.one("per_kft_ohm", "z"),
        [sized, false, true] if sized != given.has("area_kcmil") => {
            let area = if sized { ci::size(given, "size")?.area()? } else { given.one("area_kcmil", "A")? };
            Ok(by_k_of_kft(&given.one("k_ohm", "K")?, &area)?)
        }
        _ => Err(CalcError::NotCovered(
            "give size, or per_kft_ohm, or k_ohm with size or area_kcmil, one of them".to_owned(),
        )),
    }
}
