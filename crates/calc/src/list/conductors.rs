//! Conductors and their protection by the US code: ampacity, size, device, parallel sets.

use codebook::us::conductor_ampacity::{Ampacity, ampacity};
use codebook::us::conductor_size::{ConductorSize, Kind, Load, conductor_size};
use codebook::us::parallel_set::{Strand, parallel_set, total};
use codebook::us::terminal_temperature::terminals;
use codebook::us::{continuous_load, overcurrent_device, small_conductor};
use derivation::Known;
use quantity::Current;
use tables::us::overcurrent::next_standard;

use super::conductor_inputs as ci;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![load(), carried(), size(), device(), parallel()]
}

fn load() -> Calculation {
    Calculation {
        id: "continuous-load",
        purpose: "Current that a circuit's conductor and device must be rated for, continuous loads at 125 %",
        inputs: vec![
            ci::carrier_input(),
            In::number("continuous_a", M::AMPERE, "load that runs for three hours or more").within(0.0, 1e6),
            In::number("other_a", M::AMPERE, "other load").within(0.0, 1e6).or("0"),
            In::yes_no("fully_rated", "listed for continuous use at full rating").or("no"),
        ],
        outputs: vec![
            Out::new("required_a", M::AMPERE, "smallest ampacity before factors, and rating"),
            Out::new("device_a", M::AMPERE, "smallest standard device, where there is one"),
        ],
        run: |given| {
            let required = continuous_load::required(
                ci::carrier(given)?,
                &given.one("continuous_a", "I_c")?,
                &given.one("other_a", "I_o")?,
                ci::yes(given, "fully_rated")?,
            )?;
            let device = next_standard(&required).ok();
            Ok(Results::default().known("required_a", &required).known_if("device_a", device.as_ref()))
        },
    }
}

fn ampacity_outputs() -> Vec<Out> {
    vec![
        Out::new("table_a", M::AMPERE, "ampacity of the table in the insulation's column"),
        Out::new("ambient_factor", M::NUMBER, "factor for the ambient temperature"),
        Out::new("count_factor", M::NUMBER, "factor for the number of conductors"),
        Out::new("corrected_a", M::AMPERE, "ampacity after both factors"),
        Out::new("terminal_a", M::AMPERE, "ampacity in the column of the terminals"),
        Out::new("usable_a", M::AMPERE, "what one conductor may carry, the smaller of both"),
    ]
}

fn ampacity_results(results: Results, found: &Ampacity) -> Results {
    results
        .known("table_a", &found.table)
        .known("ambient_factor", &found.ambient_factor)
        .known("count_factor", &found.count_factor)
        .known("corrected_a", &found.corrected)
        .known("terminal_a", &found.at_terminals)
        .known("usable_a", &found.usable)
}

fn carried() -> Calculation {
    let mut inputs = vec![ci::size_input("size"), ci::material_input()];
    inputs.extend(ci::surroundings_inputs());
    inputs.push(ci::listing_input());
    let what =
        "rating of the circuit's device; without it unknown terminals count as 60 degC, the stricter column";
    inputs.push(In::number("device_a", M::AMPERE, what).if_given());
    let mut outputs = ampacity_outputs();
    outputs.push(Out::new(
        "small_device_a",
        M::AMPERE,
        "largest device of a small conductor, where it is one",
    ));
    outputs.push(Out::new("largest_device_a", M::AMPERE, "largest device that protects the usable ampacity"));
    Calculation {
        id: "conductor-ampacity",
        purpose: "What a conductor carries where it lies, and what its terminals and device allow",
        inputs,
        outputs,
        run: run_ampacity,
    }
}

fn run_ampacity(given: &Given) -> Result<Results, CalcError> {
    let (size, material) = (ci::size(given, "size")?, ci::material(given, "material")?);
    let listing = ci::listing(given)?;
    // without a device the terminals count as those of a small circuit, the stricter column
    let device = ci::if_given(given, "device_a", "I_n")?.unwrap_or_else(|| {
        Known::assumed("I_n", "device", Current::ZERO, "none given: the stricter column of the terminals")
    });
    let column = terminals(&device, listing)?.column;
    let at = ci::surroundings(given)?;
    let found = ampacity(size, material, ci::insulation(given)?, &at, column)?;
    let small = small_conductor::limit(size, material)?;
    let largest = overcurrent_device::largest(&found.usable, false)?;
    let both: Vec<_> = small.iter().cloned().chain([largest]).collect();
    let largest = Known::smallest("I_n", "largest device", &both);
    Ok(ampacity_results(Results::default(), &found)
        .known_if("small_device_a", small.as_ref())
        .known_if("largest_device_a", largest.as_ref()))
}

fn size() -> Calculation {
    let mut inputs = vec![
        ci::carrier_input(),
        In::number("continuous_a", M::AMPERE, "load that runs for three hours or more").within(0.0, 1e6),
        In::number("other_a", M::AMPERE, "other load").within(0.0, 1e6).or("0"),
        In::yes_no("fully_rated", "listed for continuous use at full rating").or("no"),
        In::number("device_a", M::AMPERE, "rating of the device where it is settled").if_given(),
        In::yes_no("several_receptacles", "branch circuit with more than one receptacle for portable loads")
            .or("no"),
        ci::material_input(),
    ];
    inputs.extend(ci::surroundings_inputs());
    inputs.push(ci::listing_input());
    inputs.push(In::text("largest_size", "largest size that is pulled; beyond, sets in parallel").or("600"));
    Calculation {
        id: "conductor-size",
        purpose: "Smallest conductor for a load, in parallel beyond the largest size, and its device",
        inputs,
        outputs: size_outputs(),
        run: run_size,
    }
}

pub(super) fn size_outputs() -> Vec<Out> {
    let mut outputs = vec![
        Out::new("required_a", M::AMPERE, "ampacity asked for before factors"),
        Out::new("carried_a", M::AMPERE, "current to be carried after factors"),
        Out::new("device_a", M::AMPERE, "overcurrent device"),
        Out::new("terminal_degc", M::CELSIUS, "column of the terminals"),
        Out::new("sets", M::NUMBER, "conductors in parallel"),
        Out::new("size", M::WORD, "size of each: AWG up to 4/0, kcmil from 250"),
        Out::new("area_kcmil", M::KCMIL, "area of each"),
        Out::new("total_a", M::AMPERE, "what all carry together"),
        Out::new(
            "ampacity_a",
            M::AMPERE,
            "ampacity in the column of the terminals, all together, before factors",
        ),
        Out::new("passed_over", M::WORD, "why the smaller ones do not do, in the order they were tried"),
    ];
    outputs.extend(ampacity_outputs());
    outputs
}

pub(super) fn size_results(found: &ConductorSize) -> Results {
    let results = Results::default()
        .known("required_a", &found.required)
        .known("carried_a", &found.carried)
        .known_if("device_a", found.device.as_ref())
        .known("terminal_degc", &found.terminals.limit)
        .known("sets", &found.sets)
        .known("total_a", &found.total)
        .known("ampacity_a", &total(&found.ampacity.at_terminals, &found.sets))
        .text("passed_over", found.passed_over.join("; "));
    ampacity_results(ci::sized(results, "size", "area_kcmil", &found.each), &found.ampacity)
}

pub(super) fn kind(given: &Given) -> Result<Kind, CalcError> {
    Ok(Kind {
        material: ci::material(given, "material")?,
        insulation: ci::insulation(given)?,
        listing: ci::listing(given)?,
        at: ci::surroundings(given)?,
        largest: ci::size(given, "largest_size")?,
    })
}

fn run_size(given: &Given) -> Result<Results, CalcError> {
    let load = Load {
        carrier: ci::carrier(given)?,
        continuous: given.one("continuous_a", "I_c")?,
        other: given.one("other_a", "I_o")?,
        fully_rated: ci::yes(given, "fully_rated")?,
        device: ci::if_given(given, "device_a", "I_n")?,
        several_receptacles: ci::yes(given, "several_receptacles")?,
    };
    Ok(size_results(&conductor_size(&kind(given)?, &load)?))
}

fn device() -> Calculation {
    Calculation {
        id: "overcurrent-device",
        purpose: "Largest standard overcurrent device that protects an ampacity",
        inputs: vec![
            In::number("ampacity_a", M::AMPERE, "ampacity of the conductor"),
            In::yes_no(
                "several_receptacles",
                "branch circuit with more than one receptacle for portable loads",
            )
            .or("no"),
            ci::size_input("size").if_given(),
            ci::material_input(),
        ],
        outputs: vec![
            Out::new("device_a", M::AMPERE, "largest standard device"),
            Out::new("small_device_a", M::AMPERE, "limit of a small conductor, where the size is one"),
        ],
        run: |given| {
            let ampacity = given.one("ampacity_a", "I_z")?;
            let device = overcurrent_device::largest(&ampacity, ci::yes(given, "several_receptacles")?)?;
            let small = if given.has("size") {
                small_conductor::limit(ci::size(given, "size")?, ci::material(given, "material")?)?
            } else {
                None
            };
            let both: Vec<_> = small.iter().cloned().chain([device]).collect();
            Ok(Results::default()
                .known_if("device_a", Known::smallest("I_n", "largest device", &both).as_ref())
                .known_if("small_device_a", small.as_ref()))
        },
    }
}

fn parallel() -> Calculation {
    let mut inputs = vec![
        In::text("size", "size of conductor, one for each").each(),
        In::numbers("run_ft", M::FOOT, "length of conductor, one for each or one for all"),
        ci::material_input().each(),
    ];
    inputs.extend(ci::surroundings_inputs());
    inputs.push(In::word("terminal_column", "column of the terminals in degC", &["60", "75"]).or("75"));
    Calculation {
        id: "parallel-set",
        purpose: "Whether conductors may be joined in parallel, and what they carry together",
        inputs,
        outputs: vec![
            Out::new("allowed", M::WORD, "they are large enough to be paralleled"),
            Out::new("conductors", M::NUMBER, "how many"),
            Out::new("area_kcmil", M::KCMIL, "area of all"),
            Out::new("usable_a", M::AMPERE, "what one may carry"),
            Out::new("total_a", M::AMPERE, "what all carry together"),
        ],
        run: run_parallel,
    }
}

fn run_parallel(given: &Given) -> Result<Results, CalcError> {
    let sizes = given.texts("size")?;
    let lengths = given.for_each("run_ft", "L", sizes.len())?;
    let metals = given.words_for_each("material", sizes.len())?;
    let insulation = ci::insulation(given)?;
    let mut strands = Vec::new();
    for ((size, length), metal) in sizes.iter().zip(lengths).zip(&metals) {
        let material = if metal == "aluminum" {
            tables::us::conductors::Material::Aluminum
        } else {
            tables::us::conductors::Material::Copper
        };
        strands.push(Strand { size: ci::read_size(size)?, material, insulation, length });
    }
    let set = parallel_set(&strands)?;
    let Some(first) = strands.first() else { return Err(CalcError::Undeclared { key: "size" }) };
    let column = ci::column(given.word("terminal_column")?);
    let at = ci::surroundings(given)?;
    let one = ampacity(first.size, first.material, insulation, &at, column)?;
    let results = Results::default()
        .flag("allowed", set.allowed)
        .known("conductors", &set.conductors)
        .known("area_kcmil", &set.area)
        .known("usable_a", &one.usable);
    // what may not be joined carries nothing together
    Ok(if set.allowed { results.known("total_a", &total(&one.usable, &set.conductors)) } else { results })
}
