//! Circuits of motors, sources, generators and dwellings by the US code, and their neutrals.

use codebook::us::dwelling_service::{dwelling_service, dwelling_service_by_rating};
use codebook::us::generator_conductor;
use codebook::us::motor_conductor;
use codebook::us::motor_device::{feeder_device, motor_device};
use codebook::us::neutral_conductor::{Least, counts, neutral_conductor};
use codebook::us::service_capacity::{Service, dwelling_service_capacity, service_capacity};
use codebook::us::source_circuit::{largest_current, source_circuit};
use derivation::Known;
use network::voltage_dip::Phases;
use quantity::{Current, ShaftPower};
use tables::us::grounding::MotorDevice;
use tables::us::motor::{full_load_current_single, full_load_current_three_phase};
use tables::us::size::together;

use super::conductor_inputs as ci;
use super::conductors::{kind, size_outputs, size_results};
use super::{motors, phases};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![motor_circuit(), motor_feeder(), source(), generator(), dwelling(), neutral(), service()]
}

/// Metal, place, terminals and the largest size that is pulled.
pub(super) fn kind_inputs() -> Vec<In> {
    let mut inputs = vec![ci::material_input()];
    inputs.extend(ci::surroundings_inputs());
    inputs.push(ci::listing_input());
    inputs.push(In::text("largest_size", "largest size that is pulled; beyond, sets in parallel").or("600"));
    inputs
}

const DEVICES: &[&str] =
    &["nontime-delay-fuse", "dual-element-fuse", "instantaneous-breaker", "inverse-time-breaker"];

fn motor_circuit() -> Calculation {
    let mut inputs = motors::table_inputs();
    inputs.push(
        In::word(
            "motor_kind",
            "kind of motor in the code's table; else by the phases",
            &tables::us::grounding::MOTOR_KINDS,
        )
        .if_given(),
    );
    inputs.push(In::word("device", "kind of short-circuit device", DEVICES).or("inverse-time-breaker"));
    inputs.extend(kind_inputs());
    let mut outputs = vec![
        Out::new("full_load_a", M::AMPERE, "full-load current of the table"),
        Out::new("device_limit_a", M::AMPERE, "largest device before rounding"),
        Out::new(
            "start_device_a",
            M::AMPERE,
            "largest inverse-time breaker where the other cannot start the motor",
        ),
    ];
    outputs.extend(size_outputs());
    Calculation {
        id: "motor-circuit",
        purpose: "Conductor and largest short-circuit device of one motor",
        inputs,
        outputs,
        run: run_motor,
    }
}

fn run_motor(given: &Given) -> Result<Results, CalcError> {
    let rating = given.one::<ShaftPower>("motor_hp", "P")?.value();
    let (current, usual) = match phases(given)? {
        Phases::Single => (full_load_current_single(rating, motors::column(given)?)?, "single-phase"),
        Phases::Three => (
            full_load_current_three_phase(rating, motors::column(given)?)?,
            "polyphase-other-than-wound-rotor",
        ),
    };
    fitting_kind(given)?;
    let motor = if given.has("motor_kind") { given.word("motor_kind")? } else { usual };
    let device = match given.word("device")? {
        "nontime-delay-fuse" => MotorDevice::NontimeDelayFuse,
        "dual-element-fuse" => MotorDevice::DualElementFuse,
        "instantaneous-breaker" => MotorDevice::InstantaneousBreaker,
        _ => MotorDevice::InverseTimeBreaker,
    };
    let protection = motor_device(&current, motor, device)?;
    let conductor = motor_conductor::conductor(&kind(given)?, &motor_conductor::one(&current)?)?;
    Ok(size_results(&conductor)
        .known("full_load_a", &current)
        .known("device_limit_a", &protection.limit)
        .known_if("device_a", protection.rating.as_ref())
        .known_if("start_device_a", protection.if_it_cannot_start.as_ref()))
}

/// A kind of motor that the number of phases does not have is refused, and one whose current stands in other tables.
fn fitting_kind(given: &Given) -> Result<(), CalcError> {
    if !given.has("motor_kind") {
        return Ok(());
    }
    let single = matches!(phases(given)?, Phases::Single);
    match given.word("motor_kind")? {
        "dc-constant-voltage" => {
            let why = "the full-load currents here are those of alternating-current motors; a motor for direct \
                       current has a table of its own";
            Err(CalcError::NotCovered(why.to_owned()))
        }
        kind if (kind == "single-phase") != single => {
            let phases = given.word("phases")?;
            Err(CalcError::NotCovered(format!("a motor of the kind {kind} does not run on phases={phases}")))
        }
        _ => Ok(()),
    }
}

fn motor_feeder() -> Calculation {
    let mut inputs = vec![
        In::numbers("full_load_a", M::AMPERE, "full-load current of motor, from the code's tables"),
        In::number("other_a", M::AMPERE, "other load, its continuous part at 125 %").within(0.0, 1e6).or("0"),
        In::number(
            "largest_device_a",
            M::AMPERE,
            "largest device of a motor's branch circuit, not below the largest motor",
        )
        .if_given(),
    ];
    inputs.extend(kind_inputs());
    Calculation {
        id: "motor-feeder",
        purpose: "Conductor and largest device of a feeder with several motors",
        inputs,
        outputs: size_outputs(),
        run: run_motor_feeder,
    }
}

fn run_motor_feeder(given: &Given) -> Result<Results, CalcError> {
    let all = given.list::<Current>("full_load_a", "FLC")?;
    let other: Known<Current> = given.one("other_a", "I_o")?;
    let required = motor_conductor::several(&all, &other)?;
    let results = size_results(&motor_conductor::conductor(&kind(given)?, &required)?);
    if !given.has("largest_device_a") {
        return Ok(results);
    }
    // the motors beside the one with the largest device: all but the largest
    let mut largest = 0;
    for (k, one) in all.iter().enumerate() {
        if all.get(largest).is_some_and(|best| one.value() > best.value()) {
            largest = k;
        }
    }
    let others: Vec<Known<Current>> =
        all.iter().enumerate().filter(|(k, _)| *k != largest).map(|(_, one)| one.clone()).collect();
    let most = all.get(largest).map(Known::value);
    let given_device: Known<Current> = given.one("largest_device_a", "I_n")?;
    if let Some(most) = most.filter(|most| given_device.value() < *most) {
        return Err(CalcError::NotCovered(format!(
            "a largest device of {} is below the largest motor's {most}: no motor runs behind it",
            given_device.value()
        )));
    }
    let device = feeder_device(&given_device, &others, &other)?;
    Ok(results.known("device_a", &device))
}

fn source() -> Calculation {
    let mut inputs = vec![
        In::numbers("source_a", M::AMPERE, "rated continuous output current of source"),
        In::number("setpoint_a", M::AMPERE, "setpoint of a power control that limits them").if_given(),
        In::yes_no("fully_rated", "listed for continuous use at full rating").or("no"),
    ];
    inputs.extend(kind_inputs());
    Calculation {
        id: "source-circuit",
        purpose: "Conductor and device of the output circuit of interconnected sources",
        inputs,
        outputs: size_outputs(),
        run: |given| {
            let setpoint = ci::if_given(given, "setpoint_a", "I_set")?;
            let largest = largest_current(&given.list("source_a", "I_out")?, setpoint.as_ref())?;
            let found = source_circuit(&kind(given)?, &largest, ci::yes(given, "fully_rated")?)?;
            Ok(size_results(&found))
        },
    }
}

fn generator() -> Calculation {
    let mut inputs = vec![
        In::number("nameplate_a", M::AMPERE, "current on the generator's nameplate"),
        In::yes_no("cannot_overload", "design or controls keep the generator from overload").or("no"),
    ];
    inputs.extend(kind_inputs());
    Calculation {
        id: "generator-conductor",
        purpose: "Conductor from a generator to its first device",
        inputs,
        outputs: size_outputs(),
        run: |given| {
            let nameplate = given.one("nameplate_a", "I_g")?;
            let required = generator_conductor::required(&nameplate, ci::yes(given, "cannot_overload")?)?;
            Ok(size_results(&generator_conductor::conductor(&kind(given)?, &required)?))
        },
    }
}

fn dwelling() -> Calculation {
    let mut inputs = vec![
        In::number("rating_a", M::AMPERE, "rating of the service or main feeder"),
        In::number(
            "load_a",
            M::AMPERE,
            "calculated load of the dwelling, which they must then carry too: stricter than the clause",
        )
        .within(0.0, 1e6)
        .if_given(),
    ];
    inputs.extend(kind_inputs());
    Calculation {
        id: "dwelling-service-conductor",
        purpose: "Conductors of a single-phase service or main feeder that carries the whole load of one dwelling: 83 % of the rating (NEC 2023 310.12)",
        inputs,
        outputs: vec![
            Out::new("required_a", M::AMPERE, "what they must carry"),
            Out::new("size", M::WORD, "size: AWG up to 4/0, kcmil from 250"),
            Out::new("area_kcmil", M::KCMIL, "its area"),
            Out::new("usable_a", M::AMPERE, "what it carries where it lies"),
        ],
        run: |given| {
            let rating = given.one("rating_a", "I_r")?;
            let found = match given.one_if("load_a", "I_load")? {
                Some(load) => dwelling_service(&kind(given)?, &rating, &load)?,
                None => dwelling_service_by_rating(&kind(given)?, &rating)?,
            };
            let results =
                Results::default().known("required_a", &found.required).known("usable_a", &found.usable);
            Ok(ci::sized(results, "size", "area_kcmil", &found.size))
        },
    }
}

fn neutral() -> Calculation {
    Calculation {
        id: "neutral-conductor",
        purpose: "Neutral of a feeder (give device_a) or service (give phase_size), and whether it counts",
        inputs: vec![
            In::word("carrier", "feeder or service", &["feeder", "service"]).or("feeder"),
            In::number("unbalanced_a", M::AMPERE, "largest unbalanced current, harmonics included")
                .within(0.0, 1e6),
            ci::material_input(),
            In::word("terminal_column", "column of the terminals in degC", &["60", "75"]).or("75"),
            In::number("parallel", M::NUMBER, "neutrals in parallel").within(1.0, 100.0).or("1"),
            In::number("device_a", M::AMPERE, "feeder: rating of its device").if_given(),
            ci::size_input("phase_size").if_given(),
            In::number("phase_parallel", M::NUMBER, "service: ungrounded conductors in parallel")
                .within(1.0, 100.0)
                .or("1"),
            ci::phase_material_input(),
            In::text(
                "system",
                "voltage system, for whether the neutral counts, as \"120/240 V split-phase\"",
            )
            .if_given(),
            In::yes_no("mostly_nonlinear", "most of the load is nonlinear").or("no"),
        ],
        outputs: vec![
            Out::new("load_size", M::WORD, "size by the load"),
            Out::new("load_kcmil", M::KCMIL, "its area"),
            Out::new("least_size", M::WORD, "smallest size that the circuit asks for"),
            Out::new("least_kcmil", M::KCMIL, "its area"),
            Out::new("size", M::WORD, "size of each: AWG up to 4/0, kcmil from 250"),
            Out::new("area_kcmil", M::KCMIL, "its area"),
            Out::new("counts", M::WORD, "it counts as current-carrying"),
        ],
        run: run_neutral,
    }
}

fn run_neutral(given: &Given) -> Result<Results, CalcError> {
    let least = if given.word("carrier")? == "service" {
        if !given.has("phase_size") {
            return Err(CalcError::NotCovered("a service needs phase_size".to_owned()));
        }
        let area = ci::size(given, "phase_size")?.area()?;
        Least::Service(
            together(&area, &given.one("phase_parallel", "n")?),
            ci::material(given, "phase_material")?,
        )
    } else {
        if !given.has("device_a") {
            return Err(CalcError::NotCovered("a feeder needs device_a".to_owned()));
        }
        Least::Feeder(given.one("device_a", "I_n")?)
    };
    let found = neutral_conductor(
        &given.one("unbalanced_a", "I_unb")?,
        ci::material(given, "material")?,
        ci::column(given.word("terminal_column")?),
        &given.one("parallel", "n")?,
        &least,
    )?;
    let results = ci::sized(Results::default(), "load_size", "load_kcmil", &found.by_load);
    let results = ci::sized(results, "least_size", "least_kcmil", &found.least);
    let results = ci::sized(results, "size", "area_kcmil", &found.size);
    if !given.has("system") {
        return Ok(results);
    }
    Ok(results.flag("counts", counts(given.system()?, ci::yes(given, "mostly_nonlinear")?)))
}

fn service() -> Calculation {
    Calculation {
        id: "service-capacity",
        purpose: "Whether a service carries its load, and what is left",
        inputs: vec![
            In::number("rating_a", M::AMPERE, "rating of its disconnect and device"),
            In::number("conductor_a", M::AMPERE, "what its conductors may carry"),
            In::number("continuous_a", M::AMPERE, "load that runs for three hours or more").within(0.0, 1e6),
            In::number("other_a", M::AMPERE, "other load, or a calculated load that needs no addition")
                .within(0.0, 1e6)
                .or("0"),
            In::yes_no("one_family", "a one-family dwelling with a three-wire service").or("no"),
            In::yes_no(
                "sized_by_310_12",
                "its conductors are sized by 310.12 (one-family only): protected from 83 % of the rating",
            )
            .or("no"),
        ],
        outputs: vec![
            Out::new("required_a", M::AMPERE, "what rating and conductors must reach"),
            Out::new("left_a", M::AMPERE, "what the smaller of them has beyond that"),
            Out::new("holds", M::WORD, "it carries the load"),
            Out::new("failures", M::WORD, "what is not met"),
        ],
        run: |given| {
            let service = Service {
                rating: given.one("rating_a", "I_r")?,
                conductors: given.one("conductor_a", "I_z")?,
                continuous: given.one("continuous_a", "I_c")?,
                other: given.one("other_a", "I_o")?,
                one_family: ci::yes(given, "one_family")?,
            };
            let by_share = ci::yes(given, "sized_by_310_12")?;
            let found =
                if by_share { dwelling_service_capacity(&service)? } else { service_capacity(&service)? };
            let results =
                Results::default().known("required_a", &found.required).known("left_a", &found.left);
            Ok(ci::failing(results, &found.failures))
        },
    }
}
