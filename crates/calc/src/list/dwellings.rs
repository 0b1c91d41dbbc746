//! Dwelling loads: the two methods for one dwelling, measured demand, and the demand tables by themselves.

use codebook::us::building_lighting;
use codebook::us::general_lighting::{circuit_current, demand as lighting_demand};
use codebook::us::neutral::with_leg_difference;
use codebook::us::whole_amperes::whole_amperes;
use codebook::us::{
    Climate, DwellingFacts, HeatPump, Item, Neutral, SpaceHeat, dryers, dwelling_existing, dwelling_optional,
    dwelling_standard, ranges, service_minimum,
};
use derivation::Known;
use quantity::{Apparent, Current, VoltageSystem};

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![standard(), optional(), existing(), lighting(), table_demand(RANGES), table_demand(DRYERS)]
}

/// The voltage system of a three-wire supply.
pub(super) fn supply_input() -> In {
    In::word("supply", "voltage system of the service", &["120/240 V split-phase", "120/208 V two legs"])
        .or("120/240 V split-phase")
}

/// What both methods take in.
fn inputs() -> Vec<In> {
    let loads = |key, what| In::numbers(key, M::VOLT_AMPERE, what).if_given();
    vec![
        supply_input(),
        In::number("area_ft2", M::SQUARE_FOOT, "floor area by the outside dimensions"),
        In::number("small_appliance_circuits", M::NUMBER, "number of small-appliance circuits")
            .within(2.0, 100.0)
            .or("2"),
        In::number("laundry_circuits", M::NUMBER, "number of laundry circuits").within(0.0, 100.0).or("1"),
        loads("fixed_va", "appliance fastened in place that uses the neutral, nameplate of number"),
        loads("fixed_line_va", "appliance fastened in place without neutral, nameplate of number"),
        loads(
            "fixed_motor_va",
            "appliance fastened in place driven by a motor to neutral, nameplate of number",
        ),
        loads("cooking_va", "cooking appliance over 1.75 kW, nameplate of number"),
        loads("dryer_va", "electric dryer, nameplate of number"),
        loads("motor_va", "other motor to neutral, nameplate of number"),
        loads("motor_line_va", "other motor without neutral, nameplate of number"),
        loads("ev_va", "vehicle supply, nameplate of number"),
        loads("cooling_va", "cooling at line-to-line voltage, heat pumps left out, nameplate of number"),
        loads("cooling_neutral_va", "cooling between one leg and neutral, nameplate of number"),
        In::number("heat_pump_va", M::VOLT_AMPERE, "heat pump's compressor and what runs with it").if_given(),
        In::number("supplementary_va", M::VOLT_AMPERE, "supplementary heat of the heat pump").if_given(),
        In::yes_no("interlocked", "a control keeps the compressor from running with that heat").or("no"),
        In::number("space_heat_va", M::VOLT_AMPERE, "fixed electric space heating").if_given(),
        In::number("space_heat_units", M::NUMBER, "separately controlled units of it")
            .within(1.0, 1e3)
            .or("1"),
        In::yes_no(
            "space_heat_neutral",
            "whether it uses the neutral: heat between the lines does not, and then no is to be given, as in Annex D2(b)",
        )
        .or("yes"),
        In::number("storage_heat_va", M::VOLT_AMPERE, "storage or continuous heat").if_given(),
        In::number(
            "leg_difference_va",
            M::VOLT_AMPERE,
            "by how much the loads to neutral on one leg exceed those on the other, a motor's quarter more included; without it they are taken as spread evenly, which errs low for the worse leg",
        )
        .within(0.0, 1e6)
        .if_given(),
    ]
}

pub(super) fn loads(
    given: &Given,
    key: &'static str,
    symbol: &str,
) -> Result<Vec<Known<Apparent>>, CalcError> {
    if given.has(key) { given.list(key, symbol) } else { Ok(Vec::new()) }
}

pub(super) fn items(
    given: &Given,
    key: &'static str,
    symbol: &str,
    item: fn(Known<Apparent>) -> Item,
) -> Result<Vec<Item>, CalcError> {
    Ok(loads(given, key, symbol)?.into_iter().map(item).collect())
}

fn one_load(given: &Given, key: &'static str, symbol: &str) -> Result<Option<Known<Apparent>>, CalcError> {
    if given.has(key) { given.one(key, symbol).map(Some) } else { Ok(None) }
}

pub(super) fn supply(given: &Given) -> Result<VoltageSystem, CalcError> {
    given.word("supply")?.parse().map_err(|e: quantity::QuantityError| CalcError::NotCovered(e.message))
}

fn facts(given: &Given) -> Result<DwellingFacts, CalcError> {
    let mut fixed = items(given, "fixed_va", "S_f", Item::with_neutral)?;
    fixed.extend(items(given, "fixed_line_va", "S_fl", Item::line_to_line)?);
    fixed.extend(items(given, "fixed_motor_va", "S_fm", |s| Item::with_neutral(s).motor())?);
    let mut motors = items(given, "motor_va", "S_m", |s| Item::with_neutral(s).motor())?;
    motors.extend(items(given, "motor_line_va", "S_ml", |s| Item::line_to_line(s).motor())?);
    Ok(DwellingFacts {
        supply: supply(given)?,
        area: given.one("area_ft2", "A")?,
        small_appliance_circuits: given.one("small_appliance_circuits", "n_sa")?,
        laundry_circuits: given.one("laundry_circuits", "n_l")?,
        fixed_appliances: fixed,
        cooking: items(given, "cooking_va", "S_c", Item::with_neutral)?,
        dryers: items(given, "dryer_va", "S_d", Item::with_neutral)?,
        motors,
        ev_supply: items(given, "ev_va", "S_ev", Item::line_to_line)?,
        climate: climate(given)?,
    })
}

fn climate(given: &Given) -> Result<Climate, CalcError> {
    let supplementary = one_load(given, "supplementary_va", "S_sup")?;
    let heat_pump = match one_load(given, "heat_pump_va", "S_hp")? {
        Some(compressor) => {
            Some(HeatPump { compressor, supplementary, interlocked: given.word("interlocked")? == "yes" })
        }
        None if supplementary.is_some() => {
            let reason = "supplementary heat belongs to a heat pump: give heat_pump_va, or space_heat_va";
            return Err(CalcError::NotCovered(reason.to_owned()));
        }
        None => None,
    };
    let space_heat = match one_load(given, "space_heat_va", "S_sh")? {
        Some(load) => Some(SpaceHeat {
            load,
            separately_controlled_units: given.one("space_heat_units", "n_sh")?,
            neutral: given.word("space_heat_neutral")? == "yes",
        }),
        None => None,
    };
    let mut cooling = items(given, "cooling_va", "S_cool", |s| Item::line_to_line(s).motor())?;
    cooling.extend(items(given, "cooling_neutral_va", "S_cn", |s| Item::with_neutral(s).motor())?);
    Ok(Climate { cooling, heat_pump, space_heat, storage_heat: one_load(given, "storage_heat_va", "S_st")? })
}

/// Outputs that both methods give at their end.
fn common_outputs() -> Vec<Out> {
    vec![
        Out::new("total_va", M::VOLT_AMPERE, "calculated load"),
        Out::new("line_a", M::AMPERE, "line current, the mean of both legs"),
        Out::new("line_whole_a", M::AMPERE, "the same in whole amperes, for showing"),
        Out::new("min_service_a", M::AMPERE, "smallest standard service rating"),
        Out::new("neutral_va", M::VOLT_AMPERE, "load on the neutral"),
        Out::new("neutral_a", M::AMPERE, "neutral current"),
        Out::new("neutral_whole_a", M::AMPERE, "the same in whole amperes, for showing"),
        Out::new("worse_leg_a", M::AMPERE, "current of the more loaded leg, by leg_difference_va"),
        Out::new("worse_leg_service_a", M::AMPERE, "smallest standard service rating for it"),
        Out::new(
            "worse_neutral_a",
            M::AMPERE,
            "neutral current with that difference, not reduced over 200 A",
        ),
        Out::new("note", M::WORD, "what the line current does not tell"),
    ]
}

fn common(
    given: &Given,
    results: Results,
    total: &Known<Apparent>,
    line: &Known<Current>,
    service: &Known<Current>,
    neutral: &Neutral,
) -> Result<Results, CalcError> {
    let results = match given.one_if("leg_difference_va", "dS")? {
        Some(difference) => {
            let supply = supply(given)?;
            let leg = with_leg_difference(supply, line, &difference)?;
            results
                .known("worse_leg_service_a", &service_minimum::rating(&leg)?)
                .known("worse_leg_a", &leg)
                .known("worse_neutral_a", &with_leg_difference(supply, &neutral.unbalanced_a, &difference)?)
        }
        None => results.text(
            "note",
            "loads to neutral are taken as spread evenly over both legs; the worse leg carries more where they are not (leg_difference_va)",
        ),
    };
    Ok(results
        .known("total_va", total)
        .known("line_a", line)
        .known("line_whole_a", &whole_amperes(line)?)
        .known("min_service_a", service)
        .known("neutral_va", &neutral.neutral_va)
        .known("neutral_a", &neutral.neutral_a)
        .known("neutral_whole_a", &whole_amperes(&neutral.neutral_a)?))
}

fn standard() -> Calculation {
    let mut outputs = vec![
        Out::new("lighting_va", M::VOLT_AMPERE, "general lighting and receptacles"),
        Out::new("lighting_circuit_a", M::AMPERE, "current of the lighting circuits in all"),
        Out::new("general_va", M::VOLT_AMPERE, "lighting, small-appliance and laundry circuits"),
        Out::new("general_demand_va", M::VOLT_AMPERE, "what of that counts"),
        Out::new("fixed_demand_va", M::VOLT_AMPERE, "appliances fastened in place"),
        Out::new("range_demand_va", M::VOLT_AMPERE, "cooking"),
        Out::new("dryer_demand_va", M::VOLT_AMPERE, "dryers"),
        Out::new("ev_demand_va", M::VOLT_AMPERE, "vehicle supply"),
        Out::new("motor_demand_va", M::VOLT_AMPERE, "other motors"),
        Out::new("climate_va", M::VOLT_AMPERE, "heating or cooling, whichever counts"),
        Out::new("largest_motor_va", M::VOLT_AMPERE, "addition for the largest motor"),
    ];
    outputs.extend(common_outputs());
    Calculation {
        id: "dwelling-standard",
        purpose: "Service of one dwelling by the US standard method (NEC 2023 article 220 part III)",
        inputs: inputs(),
        outputs,
        run: run_standard,
    }
}

fn run_standard(given: &Given) -> Result<Results, CalcError> {
    let found = dwelling_standard(&facts(given)?)?;
    let to_neutral = Known::assumed(
        "V_n",
        "voltage to neutral",
        supply(given)?.phase_voltage(),
        "nominal voltage of the supply",
    );
    let results = Results::default()
        .known("lighting_va", &found.lighting_va)
        .known("lighting_circuit_a", &circuit_current(&found.lighting_va, &to_neutral)?)
        .known("general_va", &found.general_va)
        .known("general_demand_va", &found.general_demand_va)
        .known("fixed_demand_va", &found.fixed_va)
        .known("range_demand_va", &found.range_va)
        .known("dryer_demand_va", &found.dryer_va)
        .known("ev_demand_va", &found.ev_va)
        .known("motor_demand_va", &found.motor_va)
        .known("climate_va", &found.heat_va)
        .known_if("largest_motor_va", found.largest_motor_va.as_ref());
    common(given, results, &found.total_va, &found.line_a, &found.min_service_a, &found.neutral)
}

fn optional() -> Calculation {
    let mut outputs = vec![
        Out::new("general_va", M::VOLT_AMPERE, "general loads at nameplate"),
        Out::new("general_demand_va", M::VOLT_AMPERE, "what of them counts"),
        Out::new("cooling_full_va", M::VOLT_AMPERE, "cooling in full, a heat pump's compressor included"),
        Out::new("climate_va", M::VOLT_AMPERE, "largest of the heating and cooling selections"),
        Out::new("ev_demand_va", M::VOLT_AMPERE, "vehicle supply"),
    ];
    outputs.extend(common_outputs());
    Calculation {
        id: "dwelling-optional",
        purpose: "Service of one dwelling by the US optional method (NEC 2023 220.82; supply of 100 A or more)",
        inputs: inputs(),
        outputs,
        run: |given| {
            let found = dwelling_optional(&facts(given)?)?;
            let results = Results::default()
                .known("general_va", &found.general_va)
                .known("general_demand_va", &found.general_demand_va)
                .known_if("cooling_full_va", found.cooling_va.as_ref())
                .known("climate_va", &found.heat_va)
                .known("ev_demand_va", &found.ev_va);
            common(given, results, &found.total_va, &found.line_a, &found.min_service_a, &found.neutral)
        },
    }
}

fn existing() -> Calculation {
    let mut outputs = vec![
        Out::new("general_va", M::VOLT_AMPERE, "general loads at nameplate, old and new"),
        Out::new("general_demand_va", M::VOLT_AMPERE, "what of them counts"),
        Out::new(
            "with_climate_va",
            M::VOLT_AMPERE,
            "with heating or cooling, whichever makes more; four and more separately controlled heaters join the general loads",
        ),
        Out::new("ev_demand_va", M::VOLT_AMPERE, "vehicle supply, in full"),
    ];
    outputs.extend(common_outputs());
    Calculation {
        id: "dwelling-existing",
        purpose: "An existing dwelling with what is added, old and new loads together (NEC 2023 220.83: 8 kVA in full, the rest at 40 %)",
        inputs: inputs(),
        outputs,
        run: |given| {
            let found = dwelling_existing(&facts(given)?)?;
            let results = Results::default()
                .known("general_va", &found.general_va)
                .known("general_demand_va", &found.general_demand_va)
                .known("with_climate_va", &found.with_climate_va)
                .known("ev_demand_va", &found.ev_va);
            common(given, results, &found.total_va, &found.line_a, &found.min_service_a, &found.neutral)
        },
    }
}

fn lighting() -> Calculation {
    Calculation {
        id: "lighting-demand",
        purpose: "Demand of lighting, in dwellings with small-appliance and laundry circuits (NEC 2023 Table 220.45)",
        inputs: vec![
            In::number("general_va", M::VOLT_AMPERE, "lighting; of dwellings all three together"),
            In::word(
                "occupancy",
                "other: all occupancies that the table does not name; there, and where lighting is likely to be used all at once, it counts in full",
                &["dwelling", "hotel", "warehouse", "other"],
            )
            .or("dwelling"),
        ],
        outputs: vec![Out::new("demand_va", M::VOLT_AMPERE, "what of it counts")],
        run: |given| {
            let load = given.one("general_va", "S_g")?;
            let demand = match given.word("occupancy")? {
                "dwelling" => lighting_demand(&load)?,
                occupancy => building_lighting::demand(occupancy, &load)?,
            };
            Ok(Results::default().known("demand_va", &demand))
        },
    }
}

/// A demand table entered with nameplates.
struct DemandTable {
    id: &'static str,
    purpose: &'static str,
    /// Inputs beside the nameplates.
    more: fn() -> Vec<In>,
    run: fn(&Given) -> Result<Results, CalcError>,
}

const RANGES: DemandTable = DemandTable {
    id: "range-demand",
    purpose: "Demand of household cooking appliances (NEC 2023 220.55)",
    more: || {
        let what = "phases of the feeder; for single-phase appliances on 3, give those between the two lines that have most of them: twice these enter the table (Annex D5(a))";
        vec![In::word("phases", what, &["1", "3"]).or("1")]
    },
    run: |given| {
        let all = given.list("nameplate_va", "S")?;
        let demand = if given.word("phases")? == "3" {
            ranges::three_phase_demand(&all)?
        } else {
            ranges::demand(&all)?
        };
        Ok(Results::default().known("demand_va", &demand))
    },
};

const DRYERS: DemandTable = DemandTable {
    id: "dryer-demand",
    purpose: "Demand of household electric dryers (NEC 2023 220.54)",
    more: Vec::new,
    run: |given| {
        let demand = dryers::demand(&given.list("nameplate_va", "S")?)?;
        Ok(Results::default().known("demand_va", &demand))
    },
};

fn table_demand(table: DemandTable) -> Calculation {
    let mut inputs = vec![In::numbers("nameplate_va", M::VOLT_AMPERE, "nameplate of appliance")];
    inputs.extend((table.more)());
    Calculation {
        id: table.id,
        purpose: table.purpose,
        inputs,
        outputs: vec![Out::new("demand_va", M::VOLT_AMPERE, "demand")],
        run: table.run,
    }
}
