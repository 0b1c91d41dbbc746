//! Voltages at the end of a service whose legs are unequally loaded.

use network::Impedance;
use network::solve::service::{OpenVoltage, Service, service};
use quantity::Quantity;

use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

const SYSTEMS: &[&str] = &[
    "120 V single-phase",
    "230 V single-phase",
    "120/240 V split-phase",
    "120/208 V wye",
    "120/208 V two legs",
    "230/400 V wye",
];

pub(super) fn all() -> Vec<Calculation> {
    vec![voltages()]
}

fn voltages() -> Calculation {
    Calculation {
        id: "service-voltages",
        purpose: "Voltages on the legs of a service with unequal loads, and its neutral's shift (give leg_v or line_v)",
        inputs: vec![
            In::word("system", "voltage system", SYSTEMS),
            In::number("leg_v", M::PHASE_VOLT, "open voltage from leg to neutral").if_given(),
            In::number("line_v", M::LINE_VOLT, "open voltage from leg to leg").if_given(),
            In::number("run_ohm", M::OHM, "resistance of the run on each leg").within(0.0, 1e6),
            In::number("run_x_ohm", M::OHM, "reactance of the run on each leg").within(-1e6, 1e6).or("0"),
            In::number("neutral_ohm", M::OHM, "resistance of the run on the neutral").within(0.0, 1e6),
            In::number("neutral_x_ohm", M::OHM, "reactance of the run on the neutral")
                .within(-1e6, 1e6)
                .or("0"),
            In::numbers("load_ohm", M::OHM, "resistance of the load on leg").within(0.0, 1e9),
            In::numbers("load_x_ohm", M::OHM, "reactance of the load on leg").within(-1e9, 1e9).or("0"),
            In::number("across_ohm", M::OHM, "resistance of a load from L1 to L2")
                .within(0.0, 1e9)
                .if_given(),
            In::number("across_x_ohm", M::OHM, "reactance of a load from L1 to L2").within(-1e9, 1e9).or("0"),
        ],
        outputs: vec![
            Out::new("leg_v", M::PHASE_VOLT, "voltage from each leg to the panel's neutral"),
            Out::new("line_v", M::LINE_VOLT, "voltage from L1 to L2"),
            Out::new("neutral_shift_v", M::PHASE_VOLT, "voltage of the panel's neutral to the source's"),
            Out::new("leg_a", M::AMPERE, "current on each leg"),
            Out::new("neutral_a", M::AMPERE, "current on the neutral"),
        ],
        run: run_voltages,
    }
}

fn run_voltages(given: &Given) -> Result<Results, CalcError> {
    let system = given.system()?;
    let open = match (given.has("leg_v"), given.has("line_v")) {
        (true, false) => OpenVoltage::Leg(given.one("leg_v", "E")?),
        (false, true) => OpenVoltage::Line(given.one("line_v", "E")?),
        _ => return Err(CalcError::NotCovered("give either leg_v or line_v".to_owned())),
    };
    let legs = system.legs().len();
    let resistances = exactly("load_ohm", given.list("load_ohm", "R")?, legs)?;
    let reactances = given.for_each("load_x_ohm", "X", legs)?;
    let loads = resistances.into_iter().zip(reactances).map(|(r, x)| Some(Impedance { r, x: Some(x) }));
    let across = given.has("across_ohm").then(|| impedance(given, "across_ohm", "across_x_ohm", "across"));
    let case = Service {
        system,
        open,
        line: impedance(given, "run_ohm", "run_x_ohm", "run")?,
        neutral: impedance(given, "neutral_ohm", "neutral_x_ohm", "N")?,
        loads: loads.collect(),
        across: across.transpose()?,
    };
    let found = service(&case)?;
    Ok(Results::default()
        .list("leg_v", &found.legs)
        .known_if("line_v", found.across.as_ref())
        .known("neutral_shift_v", &found.shift)
        .list("leg_a", &found.currents)
        .known("neutral_a", &found.neutral))
}

fn impedance(given: &Given, r: &'static str, x: &'static str, of: &str) -> Result<Impedance, CalcError> {
    let x = given.one::<quantity::Resistance>(x, &format!("X_{of}"))?;
    // a reactance of nothing is left out of the derivation
    let x = (x.value().si() != 0.0).then_some(x);
    Ok(Impedance { r: given.one(r, &format!("R_{of}"))?, x })
}
