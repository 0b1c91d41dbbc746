//! Batteries: discharge, size of a bank, autonomy.

use derivation::Known;
use quantity::{Charge, DcCurrent, Duration};
use storage::autonomy::autonomy;
use storage::energy::{DailyUse, StationFactors, bank, station_capacity};
use storage::peukert::{Rating, charge_given, exponent, time_by_one_ampere, time_by_rating, time_from};
use storage::sections::{CapacityRating, Factors, Period, sections};

use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![
        peukert_rated(),
        peukert_one_ampere(),
        peukert_exponent(),
        bank_size(),
        station(),
        section_method(),
        time(),
    ]
}

fn peukert_rated() -> Calculation {
    Calculation {
        id: "battery-peukert",
        purpose: "Time of discharge of a lead-acid battery whose capacity is rated at a time (Peukert's law)",
        inputs: vec![
            In::number("capacity_ah", M::AMPERE_HOUR, "capacity at the rated time"),
            In::number("rated_h", M::HOUR_SPAN, "rated time of discharge").or("20"),
            In::number("exponent", M::NUMBER, "Peukert's exponent").within(1.0, 2.0),
            In::numbers("current_a", M::DC_AMPERE, "current"),
        ],
        outputs: peukert_outputs(),
        run: |given| {
            let capacity = given.one("capacity_ah", "C")?;
            let (rated, k) = (given.one("rated_h", "H")?, given.one("exponent", "k")?);
            times(given, |current| Ok(time_by_rating(&capacity, &rated, &k, current)?))
        },
    }
}

fn peukert_outputs() -> Vec<Out> {
    vec![
        Out::new("time_h", M::HOUR_SPAN, "time of discharge at each current"),
        Out::new("effective_ah", M::AMPERE_HOUR, "charge that it gives at each current"),
    ]
}

fn times(
    given: &Given,
    time: impl Fn(&Known<DcCurrent>) -> Result<Known<Duration>, CalcError>,
) -> Result<Results, CalcError> {
    let currents: Vec<Known<DcCurrent>> = given.list("current_a", "I")?;
    let times: Vec<Known<Duration>> = currents.iter().map(time).collect::<Result<_, _>>()?;
    let charges: Vec<_> = currents.iter().zip(&times).map(|(i, t)| charge_given(i, t)).collect();
    Ok(Results::default().list("time_h", &times).list("effective_ah", &charges))
}

fn peukert_one_ampere() -> Calculation {
    Calculation {
        id: "battery-peukert-one-ampere",
        purpose: "The same for a Peukert capacity, which is that at one ampere: another time for the same numbers",
        inputs: vec![
            In::number("peukert_capacity_ah", M::AMPERE_HOUR, "Peukert capacity, at one ampere"),
            In::number("exponent", M::NUMBER, "Peukert's exponent").within(1.0, 2.0),
            In::numbers("current_a", M::DC_AMPERE, "current"),
        ],
        outputs: peukert_outputs(),
        run: |given| {
            let (capacity, k) = (given.one("peukert_capacity_ah", "C_P")?, given.one("exponent", "k")?);
            times(given, |current| Ok(time_by_one_ampere(&capacity, &k, current)?))
        },
    }
}

fn peukert_exponent() -> Calculation {
    Calculation {
        id: "battery-peukert-exponent",
        purpose: "Peukert's exponent from two ratings of one battery, and the time at other currents",
        inputs: vec![
            In::numbers("rating_ah", M::AMPERE_HOUR, "charge of rating"),
            In::numbers("rating_a", M::DC_AMPERE, "current of rating"),
            In::numbers("current_a", M::DC_AMPERE, "current asked for").if_given(),
        ],
        outputs: vec![
            Out::new("exponent", M::NUMBER, "Peukert's exponent"),
            Out::new("time_h", M::HOUR_SPAN, "time of discharge at each current"),
        ],
        run: |given| {
            let charges: Vec<Known<Charge>> = exactly("rating_ah", given.list("rating_ah", "C")?, 2)?;
            let currents = exactly("rating_a", given.list("rating_a", "I")?, 2)?;
            let mut ratings =
                charges.into_iter().zip(currents).map(|(charge, current)| Rating { charge, current });
            let (Some(first), Some(second)) = (ratings.next(), ratings.next()) else {
                return Err(CalcError::Undeclared { key: "rating_a" });
            };
            let k = exponent(&first, &second)?;
            let results = Results::default().known("exponent", &k);
            if !given.has("current_a") {
                return Ok(results);
            }
            let asked: Vec<Known<DcCurrent>> = given.list("current_a", "I")?;
            let times =
                asked.iter().map(|current| time_from(&first, &k, current)).collect::<Result<Vec<_>, _>>()?;
            Ok(results.list("time_h", &times))
        },
    }
}

fn bank_size() -> Calculation {
    Calculation {
        id: "battery-bank-size",
        purpose: "Size of a bank from daily energy, days of autonomy, usable share, cold, ageing and losses",
        inputs: vec![
            In::number("daily_wh", M::WATT_HOUR, "energy of a day").within(0.0, 1e9),
            In::number("days", M::NUMBER, "days of autonomy").or("1"),
            In::number("bank_v", M::DC_VOLT, "nominal voltage of the bank"),
            In::number("depth_of_discharge", M::NUMBER, "share of the capacity that may be used")
                .within(0.01, 1.0)
                .or("1"),
            In::number("losses", M::NUMBER, "losses on top of the load, as a share of it")
                .within(0.0, 10.0)
                .or("0"),
            In::number("efficiency", M::NUMBER, "efficiency from bank to load, where losses are given so")
                .within(0.01, 1.0)
                .or("1"),
            In::number("temperature_factor", M::NUMBER, "factor for cold, 1 and above")
                .within(1.0, 10.0)
                .or("1"),
            In::number("ageing_factor", M::NUMBER, "factor for ageing, 1 and above")
                .within(1.0, 10.0)
                .or("1"),
        ],
        outputs: vec![
            Out::new("daily_ah", M::AMPERE_HOUR, "charge of a day"),
            Out::new("loaded_daily_ah", M::AMPERE_HOUR, "the same with losses"),
            Out::new("reserve_ah", M::AMPERE_HOUR, "charge of all days with losses"),
            Out::new("reserve_wh", M::WATT_HOUR, "energy of all days with losses"),
            Out::new("at_depth_wh", M::WATT_HOUR, "divided by the usable share"),
            Out::new("at_temperature_wh", M::WATT_HOUR, "with the factor for cold"),
            Out::new("bank_wh", M::WATT_HOUR, "energy to install"),
            Out::new("bank_ah", M::AMPERE_HOUR, "charge to install"),
        ],
        run: |given| {
            let found = bank(&DailyUse {
                daily: given.one("daily_wh", "E_d")?,
                days: given.one("days", "n")?,
                losses: given.one("losses", "l")?,
                efficiency: given.one("efficiency", "eta")?,
                depth: given.one("depth_of_discharge", "d")?,
                temperature: given.one("temperature_factor", "k_T")?,
                ageing: given.one("ageing_factor", "k_a")?,
                voltage: given.one("bank_v", "V")?,
            })?;
            Ok(Results::default()
                .known("daily_ah", &found.daily_charge)
                .known("loaded_daily_ah", &found.loaded_charge)
                .known("reserve_ah", &found.reserve_charge)
                .known("reserve_wh", &found.reserve)
                .known("at_depth_wh", &found.at_depth)
                .known("at_temperature_wh", &found.at_temperature)
                .known("bank_wh", &found.energy)
                .known("bank_ah", &found.charge))
        },
    }
}

fn station() -> Calculation {
    Calculation {
        id: "battery-station-size",
        purpose: "Least capacity of a station battery from the energy of its duty",
        inputs: vec![
            In::number(
                "design_energy_wh",
                M::WATT_HOUR,
                "design energy of the duty (VAh of AC loads taken as Wh)",
            ),
            In::number("nominal_v", M::DC_VOLT, "nominal voltage"),
            In::number("depth_of_discharge", M::NUMBER, "share of the capacity that may be used")
                .within(0.01, 1.0),
            In::number("ageing_factor", M::NUMBER, "factor for ageing").within(1.0, 10.0),
            In::number("temperature_factor", M::NUMBER, "factor for temperature").within(0.5, 10.0),
            In::number("capacity_rating_factor", M::NUMBER, "factor for the length of the duty")
                .within(1.0, 10.0),
        ],
        outputs: vec![Out::new("capacity_ah", M::AMPERE_HOUR, "least capacity")],
        run: |given| {
            let factors = StationFactors {
                ageing: given.one("ageing_factor", "k_a")?,
                temperature: given.one("temperature_factor", "k_T")?,
                rating: given.one("capacity_rating_factor", "k_c")?,
                depth: given.one("depth_of_discharge", "d")?,
            };
            let (energy, volts) = (given.one("design_energy_wh", "E")?, given.one("nominal_v", "V")?);
            Ok(Results::default().known("capacity_ah", &station_capacity(&energy, &volts, &factors)?))
        },
    }
}

fn section_method() -> Calculation {
    Calculation {
        id: "battery-sections",
        purpose: "Size of a battery for a duty of several periods, section method of IEEE 485",
        inputs: vec![
            In::numbers("period_a", M::DC_AMPERE, "current of period").within(0.0, 1e5),
            In::numbers("period_min", M::MINUTE, "length of period"),
            In::numbers(
                "k_h",
                M::HOUR_SPAN,
                "capacity-rating factor in Ah for each A, section by section, each from its first period",
            )
            .if_given(),
            In::numbers("k_table_min", M::MINUTE, "time in a table of capacity-rating factors; it must hold the length of every section exactly, from the start of each of its periods to its end, for nothing is interpolated").if_given(),
            In::numbers("k_table_h", M::HOUR_SPAN, "factor in Ah for each A at that time").if_given(),
            In::number("k_constant", M::NUMBER, "a in K = a + b t^c, t in minutes")
                .within(0.0, 100.0)
                .if_given(),
            In::number("k_scale", M::NUMBER, "b in K = a + b t^c").within(0.0, 100.0).if_given(),
            In::number("k_power", M::NUMBER, "c in K = a + b t^c").within(0.0, 3.0).if_given(),
            In::number("temperature_factor", M::NUMBER, "factor for temperature").within(0.5, 10.0),
            In::number("margin", M::NUMBER, "design margin, 1 and above").within(1.0, 10.0),
            In::number("ageing", M::NUMBER, "factor for ageing, 1 and above").within(1.0, 10.0),
        ],
        outputs: vec![
            Out::new("section_ah", M::AMPERE_HOUR, "size that each section asks for"),
            Out::new("governing", M::NUMBER, "number of the largest section"),
            Out::new("required_ah", M::AMPERE_HOUR, "rated capacity with all factors"),
        ],
        run: run_sections,
    }
}

fn run_sections(given: &Given) -> Result<Results, CalcError> {
    let currents: Vec<Known<DcCurrent>> = given.list("period_a", "A")?;
    let lengths = exactly("period_min", given.list("period_min", "t")?, currents.len())?;
    let periods: Vec<Period> =
        currents.into_iter().zip(lengths).map(|(current, lasts)| Period { current, lasts }).collect();
    let factors = Factors {
        temperature: given.one("temperature_factor", "k_T")?,
        margin: given.one("margin", "m")?,
        ageing: given.one("ageing", "k_a")?,
    };
    let found = sections(&periods, &capacity_rating(given)?, &factors)?;
    Ok(Results::default()
        .list("section_ah", &found.sizes)
        .plain("governing", found.governing as f64)
        .known("required_ah", &found.required))
}

/// Just one way of the three.
fn capacity_rating(given: &Given) -> Result<CapacityRating, CalcError> {
    let listed = given.has("k_h");
    let table = given.has("k_table_min") || given.has("k_table_h");
    let function = given.has("k_constant") || given.has("k_scale") || given.has("k_power");
    match (listed, table, function) {
        (true, false, false) => Ok(CapacityRating::Listed(given.list("k_h", "K")?)),
        (false, true, false) => {
            let times: Vec<Known<Duration>> = given.list("k_table_min", "t")?;
            let factors = exactly("k_table_h", given.list("k_table_h", "K")?, times.len())?;
            Ok(CapacityRating::Table(times.into_iter().zip(factors).collect()))
        }
        (false, false, true) => Ok(CapacityRating::Function {
            a: given.one("k_constant", "a")?,
            b: given.one("k_scale", "b")?,
            c: given.one("k_power", "c")?,
        }),
        _ => Err(CalcError::NotCovered(
            "give the capacity-rating factors one way: k_h, or k_table_min with k_table_h, or k_constant, k_scale \
             and k_power"
                .to_owned(),
        )),
    }
}

fn time() -> Calculation {
    Calculation {
        id: "battery-autonomy",
        purpose: "How long a bank carries a constant load",
        inputs: vec![
            In::number("bank_kwh", M::KILOWATT_HOUR, "energy of the bank"),
            In::number("usable", M::NUMBER, "share of it that may be used").within(0.01, 1.0),
            In::number("efficiency", M::NUMBER, "from bank to load").within(0.01, 1.0),
            In::number("load_kw", M::KILOWATT, "constant load, what the units use themselves included"),
        ],
        outputs: vec![Out::new("time_h", M::HOUR_SPAN, "time")],
        run: |given| {
            let (bank, usable) = (given.one("bank_kwh", "E")?, given.one("usable", "d")?);
            let time =
                autonomy(&bank, &usable, &given.one("efficiency", "eta")?, &given.one("load_kw", "P")?)?;
            Ok(Results::default().known("time_h", &time))
        },
    }
}
