//! Arrays: temperature of cells, power, size and energy.

use array::cells::{cell_temperature, dc_power};
use array::output::{energy_by_performance_ratio, size_for_energy};
use energy::array::CellModel;

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![cell(), cell_in_wind(), cell_by_exponent(), power(), size(), energy()]
}

fn cell() -> Calculation {
    Calculation {
        id: "cell-temperature",
        purpose: "Temperature of cells from their nominal operating cell temperature (NOCT)",
        inputs: vec![
            In::number("noct_degc", M::CELSIUS, "nominal operating cell temperature").within(20.0, 90.0),
            In::number("irradiance_w_m2", M::IRRADIANCE, "irradiance on the module").within(0.0, 2000.0),
            In::number("ambient_degc", M::CELSIUS, "air temperature").within(-90.0, 70.0),
        ],
        outputs: vec![Out::new("cell_degc", M::CELSIUS, "cell temperature, module in the open")],
        run: |given| {
            let (noct, light) = (given.one("noct_degc", "NOCT")?, given.one("irradiance_w_m2", "G")?);
            let cell = cell_temperature(&given.one("ambient_degc", "T_a")?, &noct, &light)?;
            Ok(Results::default().known("cell_degc", &cell))
        },
    }
}

/// Air, light and wind of the models that know wind.
fn weather_inputs() -> Vec<In> {
    vec![
        In::number("irradiance_w_m2", M::IRRADIANCE, "irradiance on the module").within(0.0, 2000.0),
        In::number("ambient_degc", M::CELSIUS, "air temperature").within(-90.0, 70.0),
        In::number("wind_m_s", M::NUMBER, "speed of the wind in m/s").within(0.0, 60.0),
    ]
}

fn in_weather(given: &Given, model: CellModel) -> Result<Results, CalcError> {
    let (air, light) = (given.plain("ambient_degc")?, given.plain("irradiance_w_m2")?);
    let cell = model.checked()?.cell_degc(air, light, given.plain("wind_m_s")?);
    Ok(Results::default().plain("cell_degc", cell))
}

fn cell_in_wind() -> Calculation {
    let mut inputs = weather_inputs();
    inputs.push(
        In::number("u0", M::NUMBER, "heat given off without wind, in W/(m2 K); 25.0 free-standing")
            .within(1.0, 200.0),
    );
    inputs.push(
        In::number("u1", M::NUMBER, "rise with the wind, in W s/(m3 K); 6.84 free-standing")
            .within(0.0, 100.0),
    );
    Calculation {
        id: "cell-temperature-in-wind",
        purpose: "Temperature of cells by Faiman's heat balance: T_air + G / (u0 + u1 v)",
        inputs,
        outputs: vec![Out::new("cell_degc", M::CELSIUS, "cell temperature")],
        run: |given| {
            in_weather(
                given,
                CellModel::Faiman { u0_w_m2_k: given.plain("u0")?, u1_ws_m3_k: given.plain("u1")? },
            )
        },
    }
}

fn cell_by_exponent() -> Calculation {
    let mut inputs = weather_inputs();
    inputs.extend([
        In::number(
            "a",
            M::NUMBER,
            "exponent without wind, of module and mounting: -3.47 for glass and glass on an open rack",
        )
        .within(-5.0, -1.0),
        In::number("b", M::NUMBER, "its change with the wind, in s/m: -0.0594 there").within(-0.5, 0.0),
        In::number("rise_k", M::KELVIN, "cells over the module's back at 1000 W/m2: 3 K there")
            .within(0.0, 20.0),
    ]);
    Calculation {
        id: "cell-temperature-by-exponent",
        purpose: "Temperature of cells by King (2004): T_air + G exp(a + b v) + rise G / 1000 W/m2",
        inputs,
        outputs: vec![Out::new("cell_degc", M::CELSIUS, "cell temperature")],
        run: |given| {
            let (a, b_s_m) = (given.plain("a")?, given.plain("b")?);
            in_weather(given, CellModel::King { a, b_s_m, rise_k: given.plain("rise_k")? })
        },
    }
}

fn power() -> Calculation {
    Calculation {
        id: "array-dc-power",
        purpose: "DC power of an array at an irradiance and a cell temperature, linear model",
        inputs: vec![
            In::number("rated_w", M::WATT, "rated DC power"),
            In::number("irradiance_w_m2", M::IRRADIANCE, "irradiance on the array").within(0.0, 2000.0),
            In::number("cell_degc", M::CELSIUS, "cell temperature").within(-90.0, 150.0),
            In::number("power_pct_per_degc", M::PERCENT_PER_DEGREE, "coefficient of power, below zero")
                .within(-1.0, 0.0),
        ],
        outputs: vec![Out::new("dc_w", M::WATT, "DC power")],
        run: |given| {
            let (rated, light) = (given.one("rated_w", "P_0")?, given.one("irradiance_w_m2", "G")?);
            let gamma = given.one("power_pct_per_degc", "gamma")?;
            let power = dc_power(&rated, &light, &given.one("cell_degc", "T_c")?, &gamma)?;
            Ok(Results::default().known("dc_w", &power))
        },
    }
}

fn size() -> Calculation {
    Calculation {
        id: "array-size",
        purpose: "Rated DC power of an array that gives an energy, by peak sun hours",
        inputs: vec![
            In::number("energy_kwh", M::KILOWATT_HOUR, "energy to be given").within(0.0, 1e9),
            In::number("days", M::NUMBER, "in so many days").or("1"),
            In::number("sun_h", M::HOUR_SPAN, "peak sun hours of a day").within(0.01, 24.0),
            In::number("efficiency", M::NUMBER, "from rated DC power to the load, all losses")
                .within(0.01, 1.0),
        ],
        outputs: vec![Out::new("array_kw", M::KILOWATT, "rated DC power")],
        run: |given| {
            let (energy, days) = (given.one("energy_kwh", "E")?, given.one("days", "n")?);
            let size =
                size_for_energy(&energy, &days, &given.one("sun_h", "H")?, &given.one("efficiency", "eta")?)?;
            Ok(Results::default().known("array_kw", &size))
        },
    }
}

fn energy() -> Calculation {
    Calculation {
        id: "array-energy",
        purpose: "Energy of an array by its performance ratio",
        inputs: vec![
            In::number("array_kw", M::KILOWATT, "rated DC power"),
            In::number("performance_ratio", M::NUMBER, "performance ratio").within(0.01, 1.0),
            In::number("irradiation_kwh_m2", M::IRRADIATION_KWH, "irradiation on the array in the time")
                .within(0.0, 1e5),
        ],
        outputs: vec![Out::new("energy_kwh", M::KILOWATT_HOUR, "energy in the time")],
        run: |given| {
            let (rated, ratio) = (given.one("array_kw", "P_0")?, given.one("performance_ratio", "PR")?);
            let energy = energy_by_performance_ratio(&rated, &ratio, &given.one("irradiation_kwh_m2", "H")?)?;
            Ok(Results::default().known("energy_kwh", &energy))
        },
    }
}
