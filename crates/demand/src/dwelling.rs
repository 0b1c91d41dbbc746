//! Facts of a dwelling for the code's load calculation. They size the service only: group, relays and battery go by
//! the loads.

use std::collections::BTreeMap;

use codebook::NotCovered;
use codebook::us::dwelling_optional::check_supply;
use codebook::us::{Climate, DwellingFacts, HeatPump, Item, SpaceHeat, dwelling_optional, dwelling_standard};
use derivation::{Known, formula};
use quantity::{Apparent, Current, Power, Ratio, VoltageSystem, as_va};
use reading::Placed;
use site::Dwelling;

use crate::assumptions::Assumptions;
use crate::model::ServiceDemand;

/// NEC 220 part III.
///
/// # Errors
/// A part that the code book does not reach.
pub(crate) fn standard(
    dwelling: &Dwelling,
    supply: VoltageSystem,
    assumptions: &mut Assumptions,
) -> Result<ServiceDemand, NotCovered> {
    let found = dwelling_standard(&facts(dwelling, supply, assumptions))?;
    Ok(ServiceDemand {
        method: "dwelling, standard method (NEC 2023 220 part III)",
        current: found.line_a,
        neutral: Some(found.neutral.neutral_a),
        legs: BTreeMap::new(),
        beside: BTreeMap::new(),
    })
}

/// NEC 220.82, for supplies of 100 A or more.
///
/// # Errors
/// A smaller supply, or a part that the code book does not reach.
pub(crate) fn optional(
    dwelling: &Dwelling,
    supply: VoltageSystem,
    rating: Option<&Known<Current>>,
    assumptions: &mut Assumptions,
) -> Result<ServiceDemand, NotCovered> {
    if let Some(rating) = rating {
        check_supply(rating)?;
    }
    let found = dwelling_optional(&facts(dwelling, supply, assumptions))?;
    Ok(ServiceDemand {
        method: "dwelling, optional method (NEC 2023 220.82)",
        current: found.line_a,
        neutral: Some(found.neutral.neutral_a),
        legs: BTreeMap::new(),
        beside: BTreeMap::new(),
    })
}

fn count(n: &Placed<u32>, what: &str) -> Known<Ratio> {
    Known::input("n", what, Ratio::of(f64::from(n.value)), &n.place)
}

fn volt_amperes(kw: &Placed<Power>, what: &str) -> Known<Apparent> {
    let P = kw.known("P", what);
    formula!("S", format!("{what}, kW taken as kVA"), [P] => as_va(P))
}

fn facts(d: &Dwelling, supply: VoltageSystem, assumptions: &mut Assumptions) -> DwellingFacts {
    let on_neutral = |list: &[Placed<Power>], what: &str| -> Vec<Item> {
        list.iter().map(|p| Item::with_neutral(volt_amperes(p, what))).collect()
    };
    let appliances = |list: &[Placed<Apparent>], what: &str| -> Vec<Item> {
        list.iter().map(|s| Item::with_neutral(s.known("S", what))).collect()
    };
    let largest_motor = d.largest_motor.iter();
    if !(d.appliances.is_empty() && d.vehicle_supply.is_empty()) {
        assumptions.take(
            "n_N",
            "share of a dwelling's fixed appliances and vehicle supply that use the neutral",
            Ratio::of(1.0),
            "the site does not tell; never too little for the neutral",
        );
    }
    DwellingFacts {
        supply,
        area: d.area.known("A", "floor area by outside dimensions"),
        small_appliance_circuits: count(&d.small_appliance_circuits, "small-appliance branch circuits"),
        laundry_circuits: count(&d.laundry_circuits, "laundry branch circuits"),
        fixed_appliances: appliances(&d.appliances, "fixed appliance"),
        cooking: on_neutral(&d.ranges, "cooking appliance"),
        dryers: on_neutral(&d.dryers, "clothes dryer"),
        motors: largest_motor
            .map(|s| Item::with_neutral(s.known("S", "largest other motor")).motor())
            .collect(),
        ev_supply: appliances(&d.vehicle_supply, "electric-vehicle supply"),
        climate: climate(d, assumptions),
    }
}

/// With a heat pump the electric heating is its supplementary heat; without one it is space heating.
fn climate(d: &Dwelling, assumptions: &mut Assumptions) -> Climate {
    let heating = d.heating.as_ref().map(|p| volt_amperes(p, "electric heating"));
    let cooling =
        d.cooling.iter().map(|s| Item::line_to_line(s.known("S", "air conditioning")).motor()).collect();
    let Some(compressor) = &d.heat_pump else {
        let space_heat = heating.map(|load| {
            let units = match &d.heating_units {
                Some(units) => count(units, "separately controlled space heaters"),
                None => assumptions.take(
                    "n",
                    "separately controlled space heaters",
                    Ratio::of(1.0),
                    "the site does not tell; fewer count for more",
                ),
            };
            SpaceHeat { load, separately_controlled_units: units, neutral: false }
        });
        return Climate { cooling, space_heat, ..Climate::default() };
    };
    if heating.is_some() && d.supplementary_with_compressor.is_none() {
        assumptions.take(
            "n",
            "supplementary heaters that run with the heat pump's compressor",
            Ratio::of(1.0),
            "the site does not say that a control prevents it",
        );
    }
    let interlocked = d.supplementary_with_compressor.as_ref().is_some_and(|with| !with.value);
    let compressor = compressor.known("S", "heat-pump compressor");
    Climate {
        cooling,
        heat_pump: Some(HeatPump { compressor, supplementary: heating, interlocked }),
        ..Climate::default()
    }
}
