//! Loads of buildings other than one dwelling: several dwellings, stores and the like, and the neutral by itself.

use codebook::us::Item;
use codebook::us::building_load::{BuildingFacts, building_load};
use codebook::us::multifamily_standard::{MultifamilyFacts, multifamily_standard};
use codebook::us::neutral::feeder;
use codebook::us::whole_amperes::whole_amperes;
use derivation::Known;
use quantity::{Apparent, Length, Ratio};
use tables::us::building::OCCUPANCIES;

use super::dwellings::{items, loads, supply, supply_input};
use super::{phases, phases_input};
use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

/// More appliances than a building has; keeps sums short.
const MOST: f64 = 2000.0;

pub(super) fn all() -> Vec<Calculation> {
    vec![multifamily(), building(), neutral()]
}

fn multifamily() -> Calculation {
    let each = |key, what| In::numbers(key, M::VOLT_AMPERE, what).if_given();
    let zero = |key, what| In::number(key, M::VOLT_AMPERE, what).within(0.0, 1e9).or("0");
    let count = |key, what| In::numbers(key, M::NUMBER, what).within(1.0, MOST).if_given();
    Calculation {
        id: "multifamily-standard",
        purpose: "Feeder or service of several dwellings alike by the US standard method (NEC 2023 article 220 part III, as Annex D4(a))",
        inputs: vec![
            supply_input(),
            In::number("dwellings", M::NUMBER, "how many").within(2.0, MOST),
            In::number("area_ft2", M::SQUARE_FOOT, "floor area of each by the outside dimensions"),
            In::number("small_appliance_circuits", M::NUMBER, "small-appliance circuits of each")
                .within(2.0, 100.0)
                .or("2"),
            In::number(
                "laundry_circuits",
                M::NUMBER,
                "laundry circuits of each; 0 where there is a laundry for all",
            )
            .within(0.0, 100.0)
            .or("1"),
            each(
                "fixed_va",
                "appliance fastened in place of each dwelling that uses the neutral, nameplate of number",
            ),
            each("fixed_line_va", "the same without neutral, nameplate of number"),
            each("fixed_motor_va", "the same driven by a motor to neutral, nameplate of number"),
            each("cooking_va", "kind of cooking appliance over 1.75 kW, nameplate of kind"),
            count("cooking_count", "how many there are of that kind in the whole building"),
            each("dryer_va", "kind of electric dryer, nameplate of kind"),
            count("dryer_count", "how many there are of that kind in the whole building"),
            zero("heat_va", "space heating of the whole building, between the lines"),
            zero("cooling_va", "cooling of the whole building, between the lines"),
            each("house_va", "load of the house in full that uses the neutral, of number"),
            each("house_line_va", "load of the house in full without neutral, of number"),
        ],
        outputs: vec![
            Out::new("general_va", M::VOLT_AMPERE, "lighting, small-appliance and laundry circuits of all"),
            Out::new("general_demand_va", M::VOLT_AMPERE, "what of that counts"),
            Out::new("fixed_demand_va", M::VOLT_AMPERE, "appliances fastened in place"),
            Out::new("range_demand_va", M::VOLT_AMPERE, "cooking"),
            Out::new("dryer_demand_va", M::VOLT_AMPERE, "dryers"),
            Out::new("climate_va", M::VOLT_AMPERE, "heating or cooling, whichever counts"),
            Out::new("total_va", M::VOLT_AMPERE, "calculated load"),
            Out::new("line_a", M::AMPERE, "line current, loads spread evenly over both legs"),
            Out::new("line_whole_a", M::AMPERE, "the same in whole amperes, for showing"),
            Out::new("device_a", M::AMPERE, "next standard rating"),
            Out::new("neutral_va", M::VOLT_AMPERE, "load on the neutral"),
            Out::new("unbalanced_a", M::AMPERE, "neutral current before the reduction over 200 A"),
            Out::new("neutral_a", M::AMPERE, "neutral current"),
            Out::new("neutral_whole_a", M::AMPERE, "the same in whole amperes, for showing"),
        ],
        run: run_multifamily,
    }
}

/// So many of each kind, one by one.
fn kinds(
    given: &Given,
    key: &'static str,
    count: &'static str,
    symbol: &str,
) -> Result<Vec<Item>, CalcError> {
    if !given.has(key) && !given.has(count) {
        return Ok(Vec::new());
    }
    if !(given.has(key) && given.has(count)) {
        return Err(CalcError::NotCovered(format!("{key} and {count} are given together")));
    }
    let nameplates: Vec<Known<Apparent>> = given.list(key, symbol)?;
    let counts = exactly(count, given.numbers(count)?, nameplates.len())?;
    let mut all = Vec::new();
    for (nameplate, n) in nameplates.into_iter().zip(counts) {
        all.extend(repeated(&Item::with_neutral(nameplate), n, count)?);
    }
    Ok(all)
}

/// An item so many times.
fn repeated(item: &Item, n: f64, key: &str) -> Result<Vec<Item>, CalcError> {
    if n.fract() == 0.0 && (0.0..=MOST).contains(&n) {
        return Ok(vec![item.clone(); n as usize]);
    }
    Err(CalcError::NotCovered(format!("{key} is {n}; a whole number is asked for")))
}

fn run_multifamily(given: &Given) -> Result<Results, CalcError> {
    let mut each = items(given, "fixed_va", "S_f", Item::with_neutral)?;
    each.extend(items(given, "fixed_line_va", "S_fl", Item::line_to_line)?);
    each.extend(items(given, "fixed_motor_va", "S_fm", |s| Item::with_neutral(s).motor())?);
    let mut fixed = Vec::new();
    for item in &each {
        fixed.extend(repeated(item, given.plain("dwellings")?, "dwellings")?);
    }
    let mut house = items(given, "house_va", "S_h", Item::with_neutral)?;
    house.extend(items(given, "house_line_va", "S_hl", Item::line_to_line)?);
    let found = multifamily_standard(&MultifamilyFacts {
        supply: supply(given)?,
        dwellings: given.one("dwellings", "n")?,
        area: given.one("area_ft2", "A")?,
        small_appliance_circuits: given.one("small_appliance_circuits", "n_sa")?,
        laundry_circuits: given.one("laundry_circuits", "n_l")?,
        fixed_appliances: fixed,
        cooking: kinds(given, "cooking_va", "cooking_count", "S_c")?,
        dryers: kinds(given, "dryer_va", "dryer_count", "S_d")?,
        heat: given.one("heat_va", "S_heat")?,
        cooling: given.one("cooling_va", "S_cool")?,
        house,
    })?;
    Ok(Results::default()
        .known("general_va", &found.general_va)
        .known("general_demand_va", &found.general_demand_va)
        .known("fixed_demand_va", &found.fixed_va)
        .known("range_demand_va", &found.range_va)
        .known("dryer_demand_va", &found.dryer_va)
        .known("climate_va", &found.climate_va)
        .known("total_va", &found.total_va)
        .known("line_a", &found.line_a)
        .known("line_whole_a", &whole_amperes(&found.line_a)?)
        .known("device_a", &found.device_a)
        .known("neutral_va", &found.neutral.neutral_va)
        .known("unbalanced_a", &found.neutral.unbalanced_a)
        .known("neutral_a", &found.neutral.neutral_a)
        .known("neutral_whole_a", &whole_amperes(&found.neutral.neutral_a)?))
}

fn building() -> Calculation {
    let load = |key, what| In::number(key, M::VOLT_AMPERE, what).within(0.0, 1e9).or("0");
    Calculation {
        id: "building-load",
        purpose: "Feeder or service of a store, office, hotel, warehouse or the like (NEC 2023 article 220 part III, as Annex D3)",
        inputs: vec![
            In::word("occupancy", "occupancy of Table 220.42(A)", &OCCUPANCIES),
            In::number("area_ft2", M::SQUARE_FOOT, "floor area by the outside dimensions"),
            In::number(
                "lighting_va",
                M::VOLT_AMPERE,
                "lighting that is connected, or by an older edition's unit loads: raised to 125 %, it counts where it is more than the table's, which holds that",
            )
            .within(0.0, 1e9)
            .if_given(),
            In::number("show_window_ft", M::FOOT, "length of show windows").within(0.0, 1e5).or("0"),
            In::numbers("sign_va", M::VOLT_AMPERE, "sign, at least 1200 VA, of number").if_given(),
            In::number("receptacles", M::NUMBER, "yokes of receptacles, 180 VA each")
                .within(0.0, 1e6)
                .or("0"),
            load("continuous_va", "other load that runs for three hours or more"),
            load("other_va", "other load, motors and kitchens by their own rules"),
            In::number("line_v", M::LINE_VOLT, "voltage between the lines"),
            phases_input(),
        ],
        outputs: vec![
            Out::new("lighting_demand_va", M::VOLT_AMPERE, "lighting after demand (Table 220.45)"),
            Out::new("show_window_va", M::VOLT_AMPERE, "show windows"),
            Out::new("signs_va", M::VOLT_AMPERE, "signs"),
            Out::new("receptacle_demand_va", M::VOLT_AMPERE, "receptacles: 10 kVA in full, the rest at 50 %"),
            Out::new("total_va", M::VOLT_AMPERE, "calculated load"),
            Out::new("required_va", M::VOLT_AMPERE, "the same with continuous load at 125 %; lighting by the table holds it already"),
            Out::new("line_a", M::AMPERE, "current of that"),
            Out::new("device_a", M::AMPERE, "next standard rating"),
        ],
        run: run_building,
    }
}

fn run_building(given: &Given) -> Result<Results, CalcError> {
    let found = building_load(&BuildingFacts {
        occupancy: given.word("occupancy")?.to_owned(),
        area: given.one("area_ft2", "A")?,
        connected_lighting: given.one_if("lighting_va", "S_conn")?,
        show_window: given.one::<Length>("show_window_ft", "L")?,
        signs: loads(given, "sign_va", "S_s")?,
        receptacles: given.one::<Ratio>("receptacles", "n")?,
        continuous: given.one("continuous_va", "S_c")?,
        other: given.one("other_va", "S_o")?,
        line: given.one("line_v", "V")?,
        three_phase: matches!(phases(given)?, network::voltage_dip::Phases::Three),
    })?;
    Ok(Results::default()
        .known("lighting_demand_va", &found.lighting_va)
        .known("show_window_va", &found.show_window_va)
        .known("signs_va", &found.signs_va)
        .known("receptacle_demand_va", &found.receptacles_va)
        .known("total_va", &found.total_va)
        .known("required_va", &found.required_va)
        .known("line_a", &found.line_a)
        .known("device_a", &found.device_a))
}

fn neutral() -> Calculation {
    let demands = |key, what| In::numbers(key, M::VOLT_AMPERE, what).within(0.0, 1e9);
    Calculation {
        id: "neutral-load",
        purpose: "Load and current of the neutral of a three-wire feeder or service from its loads (NEC 2023 220.61)",
        inputs: vec![
            supply_input(),
            demands(
                "reduced_va",
                "demand of ranges, ovens and dryers that use the neutral: 70 % count, of number",
            )
            .if_given(),
            demands("other_va", "demand of other load that uses the neutral, of number"),
        ],
        outputs: vec![
            Out::new("neutral_va", M::VOLT_AMPERE, "load on the neutral"),
            Out::new("unbalanced_a", M::AMPERE, "its current before the reduction over 200 A"),
            Out::new("neutral_a", M::AMPERE, "its current; of what exceeds 200 A 70 % count on 120/240 V"),
        ],
        run: |given| {
            let found = feeder(
                supply(given)?,
                &loads(given, "reduced_va", "S_r")?,
                &loads(given, "other_va", "S_o")?,
            )?;
            Ok(Results::default()
                .known("neutral_va", &found.neutral_va)
                .known("unbalanced_a", &found.unbalanced_a)
                .known("neutral_a", &found.neutral_a))
        },
    }
}
