//! Arrays: temperature of cells, power, size and energy.

use array::cells::{cell_temperature, dc_power};
use array::output::{energy_by_performance_ratio, size_for_energy};

use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![cell(), power(), size(), energy()]
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
