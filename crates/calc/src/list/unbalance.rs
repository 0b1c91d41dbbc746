//! Unbalance: symmetrical components, a lost neutral, a wye with a branch open or shorted.

use network::Impedance;
use network::open_neutral::open_neutral;
use network::sequence::{Phasor, Rotation, components};
use network::wye_load::{Branch, wye_load};
use quantity::Ratio;

use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![sequence(), lost_neutral(), wye()]
}

fn sequence() -> Calculation {
    Calculation {
        id: "sequence-components",
        purpose: "Symmetrical components of three phasors, currents or voltages",
        inputs: vec![
            In::numbers("magnitude", M::NUMBER, "magnitude of phasor A, B, C, in any unit: number")
                .within(0.0, 1e9),
            In::numbers("angle_deg", M::DEGREE, "angle of phasor A, B, C: number").within(-720.0, 720.0),
            In::word("rotation", "abc where B follows A, acb where B leads A", &["abc", "acb"]).or("abc"),
        ],
        outputs: vec![
            Out::new("zero", M::NUMBER, "zero sequence, in the unit of the inputs"),
            Out::new("zero_deg", M::DEGREE, "its angle"),
            Out::new("positive", M::NUMBER, "positive sequence"),
            Out::new("positive_deg", M::DEGREE, "its angle"),
            Out::new("negative", M::NUMBER, "negative sequence"),
            Out::new("negative_deg", M::DEGREE, "its angle"),
            Out::new("sum", M::NUMBER, "sum of the three: of currents, what the neutral carries"),
            Out::new("sum_deg", M::DEGREE, "its angle"),
        ],
        run: run_sequence,
    }
}

fn run_sequence(given: &Given) -> Result<Results, CalcError> {
    let magnitudes = exactly("magnitude", given.list::<Ratio>("magnitude", "X")?, 3)?;
    let angles = exactly("angle_deg", given.numbers("angle_deg")?, 3)?;
    let phasors: Vec<Phasor<Ratio>> = magnitudes
        .into_iter()
        .zip(angles)
        .map(|(magnitude, angle_deg)| Phasor { magnitude, angle_deg })
        .collect();
    let phasors: [Phasor<Ratio>; 3] =
        phasors.try_into().map_err(|_| CalcError::Undeclared { key: "magnitude" })?;
    let rotation = if given.word("rotation")? == "acb" { Rotation::Acb } else { Rotation::Abc };
    let parts = components(&phasors, rotation)?;
    Ok(Results::default()
        .known("zero", &parts.zero.magnitude)
        .plain("zero_deg", parts.zero.angle_deg)
        .known("positive", &parts.positive.magnitude)
        .plain("positive_deg", parts.positive.angle_deg)
        .known("negative", &parts.negative.magnitude)
        .plain("negative_deg", parts.negative.angle_deg)
        .known("sum", &parts.sum.magnitude)
        .plain("sum_deg", parts.sum.angle_deg))
}

fn lost_neutral() -> Calculation {
    Calculation {
        id: "open-neutral",
        purpose: "What resistive loads on the two legs of split-phase get when their neutral opens",
        inputs: vec![
            In::numbers("load_w", M::WATT, "rated power of the loads on leg"),
            In::number("rated_v", M::PHASE_VOLT, "rated voltage of the loads").or("120"),
            In::number("source_v", M::LINE_VOLT, "line-to-line voltage").or("240"),
        ],
        outputs: vec![
            Out::new("load_v", M::PHASE_VOLT, "voltage that each leg's loads get"),
            Out::new("of_rated_pct", M::PERCENT, "that, of rated"),
            Out::new("load_after_w", M::WATT, "power that they take then"),
            Out::new("current_a", M::AMPERE, "current through both"),
            Out::new("load_ohm", M::OHM, "resistance of each leg's loads"),
        ],
        run: run_lost_neutral,
    }
}

fn run_lost_neutral(given: &Given) -> Result<Results, CalcError> {
    let loads = exactly("load_w", given.list("load_w", "P")?, 2)?;
    let [first, second] = loads.as_slice() else {
        return Err(CalcError::Undeclared { key: "load_w" });
    };
    let source = given.one("source_v", "V_s")?;
    let lost = open_neutral(&source, &given.one("rated_v", "V_r")?, &[first.clone(), second.clone()])?;
    let [a, b] = &lost.legs;
    Ok(Results::default()
        .list("load_v", &[a.voltage.clone(), b.voltage.clone()])
        .list("of_rated_pct", &[a.of_rated.clone(), b.of_rated.clone()])
        .list("load_after_w", &[a.power.clone(), b.power.clone()])
        .known("current_a", &lost.current)
        .list("load_ohm", &[a.resistance.clone(), b.resistance.clone()]))
}

const NO_BRANCH_OR_ONE: &[&str] = &["none", "L1", "L2", "L3"];

fn wye() -> Calculation {
    Calculation {
        id: "wye-load",
        purpose: "Currents of a wye load, with or without neutral, with a branch open or shorted",
        inputs: vec![
            In::number("line_v", M::LINE_VOLT, "line-to-line voltage"),
            In::numbers("branch_ohm", M::OHM, "resistance of branch").within(0.0, 1e9),
            In::numbers("branch_x_ohm", M::OHM, "reactance of branch").within(-1e9, 1e9).if_given(),
            In::yes_no("neutral", "whether the star point is tied to the source's neutral"),
            In::word("open", "branch that is open", NO_BRANCH_OR_ONE).or("none"),
            In::word("shorted", "branch that is shorted", NO_BRANCH_OR_ONE).or("none"),
        ],
        outputs: vec![
            Out::new("line_a", M::AMPERE, "current in each line"),
            Out::new("neutral_a", M::AMPERE, "current in the neutral"),
            Out::new("branch_v", M::PHASE_VOLT, "voltage across each branch"),
            Out::new("star_point_v", M::PHASE_VOLT, "voltage of the star point to the source's neutral"),
        ],
        run: run_wye,
    }
}

fn run_wye(given: &Given) -> Result<Results, CalcError> {
    let resistances = given.for_each("branch_ohm", "R", 3)?;
    let reactances: Vec<Option<_>> = if given.has("branch_x_ohm") {
        given.for_each("branch_x_ohm", "X", 3)?.into_iter().map(Some).collect()
    } else {
        vec![None; 3]
    };
    let (open, shorted) = (given.word("open")?, given.word("shorted")?);
    if open != "none" && open == shorted {
        return Err(CalcError::NotCovered(format!("{open} cannot be open and shorted")));
    }
    let branches: Vec<Branch> = ["L1", "L2", "L3"]
        .into_iter()
        .zip(resistances.into_iter().zip(reactances))
        .map(|(name, (r, x))| match name {
            _ if name == open => Branch::Open,
            _ if name == shorted => Branch::Shorted,
            _ => Branch::Through(Impedance { r, x }),
        })
        .collect();
    let branches: [Branch; 3] =
        branches.try_into().map_err(|_| CalcError::Undeclared { key: "branch_ohm" })?;
    let solved = wye_load(&given.one("line_v", "V")?, &branches, given.word("neutral")? == "yes")?;
    Ok(Results::default()
        .list("line_a", &solved.lines)
        .known_if("neutral_a", solved.neutral.as_ref())
        .list("branch_v", &solved.branches)
        .known("star_point_v", &solved.star_point))
}
