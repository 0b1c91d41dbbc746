//! Rooms: hydrogen of batteries, heat of units, air with altitude.

use derivation::Known;
use quantity::{ChargeRate, Density, Length, Power, TemperatureSpan};
use room::air::{Atmosphere, density, density_ratio, pressure};
use room::heat::{air_flow, air_flow_by_trade_factor, heat_of_units, trade_factor};
use room::hydrogen::{BatteryRoom, GassingBank, HydrogenError, exhaust, ventilation};
use tables::battery_gas::gassing_currents;

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![hydrogen(), battery_room(), heat(), flow(), air()]
}

impl From<HydrogenError> for CalcError {
    fn from(error: HydrogenError) -> Self {
        CalcError::NotCovered(error.to_string())
    }
}

fn hydrogen() -> Calculation {
    Calculation {
        id: "battery-ventilation",
        purpose: "Air flow, openings and safety distance for hydrogen of a battery (IEC 62485-2)",
        inputs: vec![
            In::number("cells", M::NUMBER, "cells in series").within(1.0, 1e4),
            In::number("strings", M::NUMBER, "strings in parallel").within(1.0, 1e3).or("1"),
            In::number(
                "capacity_ah",
                M::AMPERE_HOUR,
                "rated capacity of a string, 10 h for lead-acid, 5 h for nickel-cadmium",
            ),
            In::word(
                "cell",
                "kind of cells, where the maker gives no gas-producing currents",
                &["vented-lead-acid", "valve-regulated-lead-acid", "vented-nickel-cadmium"],
            )
            .if_given(),
            In::number("float_ma_per_ah", M::MILLIAMPERE_PER_AH, "gas-producing current at float voltage")
                .if_given(),
            In::number("boost_ma_per_ah", M::MILLIAMPERE_PER_AH, "gas-producing current at boost voltage")
                .if_given(),
        ],
        outputs: vec![
            Out::new("float_m3_h", M::CUBIC_METRE_PER_HOUR, "air flow at float voltage"),
            Out::new("boost_m3_h", M::CUBIC_METRE_PER_HOUR, "air flow at boost voltage"),
            Out::new(
                "float_opening_cm2",
                M::SQUARE_CENTIMETRE,
                "opening of inlet and outlet each, at float voltage",
            ),
            Out::new("boost_opening_cm2", M::SQUARE_CENTIMETRE, "the same at boost voltage"),
            Out::new("float_distance_mm", M::MILLIMETRE, "safety distance at float voltage"),
            Out::new("boost_distance_mm", M::MILLIMETRE, "safety distance at boost voltage"),
        ],
        run: run_hydrogen,
    }
}

fn run_hydrogen(given: &Given) -> Result<Results, CalcError> {
    let bank = GassingBank {
        cells: given.one("cells", "n")?,
        strings: given.one("strings", "n_s")?,
        capacity: given.one("capacity_ah", "C_rt")?,
    };
    let table = if given.has("cell") { Some(gassing_currents(given.word("cell")?)?) } else { None };
    let current =
        |key, of_table: Option<Known<ChargeRate>>| -> Result<Option<Known<ChargeRate>>, CalcError> {
            Ok(given.one_if(key, "I_gas")?.or(of_table))
        };
    let float = current("float_ma_per_ah", table.as_ref().map(|t| t.float.clone()))?;
    let boost = current("boost_ma_per_ah", table.as_ref().map(|t| t.boost.clone()))?;
    if float.is_none() && boost.is_none() {
        return Err(CalcError::NotCovered(
            "give the kind of cells, or their gas-producing currents".to_owned(),
        ));
    }
    let mut results = Results::default();
    for (gassing, flow, opening, distance) in [
        (float, "float_m3_h", "float_opening_cm2", "float_distance_mm"),
        (boost, "boost_m3_h", "boost_opening_cm2", "boost_distance_mm"),
    ] {
        let Some(gassing) = gassing else { continue };
        let found = ventilation(&bank, &gassing)?;
        results =
            results.known(flow, &found.flow).known(opening, &found.opening).known(distance, &found.distance);
    }
    Ok(results)
}

fn battery_room() -> Calculation {
    Calculation {
        id: "battery-room-exhaust",
        purpose: "Exhaust of a battery room by volume of hydrogen",
        inputs: vec![
            In::number("cells", M::NUMBER, "cells of a bank").within(1.0, 1e5),
            In::number("capacity_ah", M::AMPERE_HOUR, "capacity of a cell"),
            In::number(
                "charging_a_per_100ah",
                M::AMPERE_PER_100AH,
                "current at the end of charging for each 100 Ah, at the hottest electrolyte",
            ),
            In::number("hydrogen_ft3_per_ah", M::CUBIC_FOOT_PER_AH, "hydrogen of a cell from each Ah")
                .or("0.016"),
            In::number("limit", M::NUMBER, "largest share of hydrogen in the air")
                .within(1e-4, 0.02)
                .or("0.01"),
            In::number("banks", M::NUMBER, "banks in the room").within(1.0, 1e3).or("1"),
            In::number("mixing", M::NUMBER, "factor for air that does not mix well")
                .within(1.0, 100.0)
                .or("1"),
            In::number("room_ft3", M::CUBIC_FOOT, "volume of the room"),
        ],
        outputs: vec![
            Out::new("hydrogen_ft3_h", M::CUBIC_FOOT_PER_HOUR, "hydrogen of a bank"),
            Out::new("per_bank_cfm", M::CUBIC_FOOT_PER_MINUTE, "air for a bank"),
            Out::new(
                "total_cfm",
                M::CUBIC_FOOT_PER_MINUTE,
                "air for the room, each bank up to a whole cfm first",
            ),
            Out::new("changes_per_hour", M::NUMBER, "air changes an hour"),
        ],
        run: |given| {
            let found = exhaust(&BatteryRoom {
                cells: given.one("cells", "n")?,
                capacity: given.one("capacity_ah", "C")?,
                charging: given.one("charging_a_per_100ah", "FC")?,
                hydrogen_yield: given.one("hydrogen_ft3_per_ah", "K")?,
                limit: given.one("limit", "x")?,
                banks: given.one("banks", "b")?,
                mixing: given.one("mixing", "m")?,
                room: given.one("room_ft3", "V_room")?,
            })?;
            Ok(Results::default()
                .known("hydrogen_ft3_h", &found.hydrogen)
                .known("per_bank_cfm", &found.per_bank)
                .known("total_cfm", &found.total)
                .known("changes_per_hour", &found.changes_per_h))
        },
    }
}

fn heat() -> Calculation {
    let mut outputs =
        vec![Out::new("heat_w", M::WATT, "heat"), Out::new("heat_btu_h", M::BTU_PER_HOUR, "the same")];
    outputs.extend(flow_outputs());
    Calculation {
        id: "room-heat",
        purpose: "Heat that units leave in a room and the air flow that carries it away",
        inputs: vec![
            In::number("output_w", M::WATT, "output of a unit").within(0.0, 1e9),
            In::number("efficiency", M::NUMBER, "efficiency at that output").within(0.01, 1.0),
            In::number("units", M::NUMBER, "units").within(1.0, 1e3).or("1"),
            rise_input().if_given(),
            density_input(),
        ],
        outputs,
        run: |given| {
            let (output, efficiency) = (given.one("output_w", "P")?, given.one("efficiency", "eta")?);
            let heat: Known<Power> = heat_of_units(&output, &efficiency, &given.one("units", "n")?)?;
            let results = Results::default().known("heat_w", &heat).known("heat_btu_h", &heat);
            if given.has("rise_k") { flow_results(results, &heat, given) } else { Ok(results) }
        },
    }
}

fn flow() -> Calculation {
    Calculation {
        id: "room-air-flow",
        purpose: "Air flow that carries heat away",
        inputs: vec![
            In::number("heat_w", M::WATT, "heat to be carried away").within(0.0, 1e9),
            rise_input(),
            density_input(),
        ],
        outputs: flow_outputs(),
        run: |given| flow_results(Results::default(), &given.one("heat_w", "Q")?, given),
    }
}

fn rise_input() -> In {
    In::number("rise_k", M::KELVIN, "how much warmer than outside the room may get")
}

fn density_input() -> In {
    In::number("density_kg_m3", M::DENSITY, "density of the air; see air-at-altitude")
        .within(0.3, 2.0)
        .or("1.204")
}

fn flow_outputs() -> Vec<Out> {
    vec![
        Out::new("flow_m3_h", M::CUBIC_METRE_PER_HOUR, "air flow at the density"),
        Out::new("trade_factor", M::NUMBER, "heat for each cfm and degF near sea level, Btu/h"),
        Out::new("trade_flow_cfm", M::CUBIC_FOOT_PER_MINUTE, "air flow by that factor, near sea level only"),
    ]
}

fn flow_results(results: Results, heat: &Known<Power>, given: &Given) -> Result<Results, CalcError> {
    let rise: Known<TemperatureSpan> = given.one("rise_k", "dT")?;
    let density: Known<Density> = given.one("density_kg_m3", "rho")?;
    Ok(results
        .known("flow_m3_h", &air_flow(heat, &rise, &density)?)
        .known("trade_factor", &trade_factor())
        .known("trade_flow_cfm", &air_flow_by_trade_factor(heat, &rise)?))
}

fn air() -> Calculation {
    Calculation {
        id: "air-at-altitude",
        purpose: "Mean pressure and density of the air at an altitude",
        inputs: vec![
            In::numbers("altitude_m", M::METRE, "altitude").within(-430.0, 9000.0),
            In::word(
                "atmosphere",
                "of the pressure: ISO 2533 with 15 degC at sea level, or FAO-56 with 20 degC",
                &["ISO 2533", "FAO-56"],
            )
            .or("ISO 2533"),
        ],
        outputs: vec![
            Out::new("pressure_kpa", M::KILOPASCAL, "mean pressure at each altitude"),
            Out::new("density_kg_m3", M::DENSITY, "density at each altitude, ISO 2533"),
            Out::new("density_ratio", M::NUMBER, "density over that at sea level"),
        ],
        run: |given| {
            let altitudes: Vec<Known<Length>> = given.list("altitude_m", "h")?;
            let atmosphere =
                if given.word("atmosphere")? == "FAO-56" { Atmosphere::Fao56 } else { Atmosphere::Standard };
            let pressures =
                altitudes.iter().map(|h| pressure(h, atmosphere)).collect::<Result<Vec<_>, _>>()?;
            let results = Results::default().list("pressure_kpa", &pressures);
            if atmosphere == Atmosphere::Fao56 {
                return Ok(results);
            }
            let densities = altitudes.iter().map(density).collect::<Result<Vec<_>, _>>()?;
            let ratios = altitudes.iter().map(density_ratio).collect::<Result<Vec<_>, _>>()?;
            Ok(results.list("density_kg_m3", &densities).list("density_ratio", &ratios))
        },
    }
}
