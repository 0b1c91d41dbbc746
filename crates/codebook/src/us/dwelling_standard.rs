//! Standard method for one dwelling, all parts together.
//!
//! ## Clause and edition
//! NEC 2023; 220.40 with 220.41 to 220.61.
//! ## Applies when
//! The service or feeder of one dwelling is sized by the standard method.
//! ## Why
//! Each kind of load has its own demand; what they come to together sizes lines and neutral.
//! ## Formula
//! `S = S_general demand + S_fixed + S_cooking + S_dryers + S_EV + S_motors + S_heat or cooling + S_largest motor`,
//! `I = S / V`, neutral by 220.61, service by 230.79(C).
//! ## Example
//! Passing: 1500 ft2, a 12 kW range and a 5.5 kW dryer make 18,600 VA, 77.5 A, a 100 A service. Failing: a three-phase
//! service is refused.
//! ## Limits of our reading
//! Single-phase three-wire supplies only. On two legs of a wye the whole load is divided by the voltage between the
//! legs, which is never too little. Continuous load is not raised here. Heat and cooling are taken not to run together;
//! a compressor counts with the heat unless interlocked.
//! ## Source
//! The parts: two sources agree, except where their own rules say otherwise; their order in the code's Annex D: two
//! sources agree.

use derivation::{Known, formula};
use quantity::{Apparent, Current};

use super::facts::{self, Climate, DwellingFacts, line_voltage, nameplates};
use super::noncoincident::{Alternative, Noncoincident, largest};
use super::{
    Neutral, dryers, ev_supply, fixed_appliances, general_lighting, largest_motor, neutral, ranges,
    service_minimum, space_heat,
};
use crate::NotCovered;

const CLAUSE: &str = "NEC 2023 220.40";

/// A dwelling by the standard method.
#[derive(Debug, Clone)]
pub struct DwellingStandard {
    /// General lighting and receptacles, in VA.
    pub lighting_va: Known<Apparent>,
    /// Lighting, small-appliance and laundry circuits, in VA.
    pub general_va: Known<Apparent>,
    /// What of that counts, in VA.
    pub general_demand_va: Known<Apparent>,
    /// Appliances fastened in place, in VA.
    pub fixed_va: Known<Apparent>,
    /// Cooking appliances, in VA.
    pub range_va: Known<Apparent>,
    /// Clothes dryers, in VA.
    pub dryer_va: Known<Apparent>,
    /// Electric-vehicle supply, in VA.
    pub ev_va: Known<Apparent>,
    /// Other motors, in VA.
    pub motor_va: Known<Apparent>,
    /// Heating or cooling, whichever counts, in VA.
    pub heat_va: Known<Apparent>,
    /// Addition for the largest motor, in VA; none without motors.
    pub largest_motor_va: Option<Known<Apparent>>,
    /// All together, in VA.
    pub total_va: Known<Apparent>,
    /// Line current, in A.
    pub line_a: Known<Current>,
    /// Smallest standard service rating, in A.
    pub min_service_a: Known<Current>,
    /// The neutral.
    pub neutral: Neutral,
}

/// The standard method for one dwelling.
///
/// # Errors
/// Any part that its rule does not reach.
pub fn dwelling_standard(facts: &DwellingFacts) -> Result<DwellingStandard, NotCovered> {
    facts.check(CLAUSE)?;
    let facts::General { lighting_va, general_va } = facts::general(facts)?;
    let general_demand_va = general_lighting::demand(&general_va)?;
    let fixed = nameplates(&facts.fixed_appliances);
    let fixed_va = fixed_appliances::demand(&fixed, fixed_appliances::share(&fixed)?.as_ref())?;
    let range_va = ranges::demand(&nameplates(&facts.cooking))?;
    let dryer_va = dryers::demand(&nameplates(&facts.dryers))?;
    let ev_va = ev_supply::load(&nameplates(&facts.ev_supply))?;
    let motor_va = Known::sum("motor_va", "other motors", &nameplates(&facts.motors));
    let climate = climate(&facts.climate)?;
    let heat_va = climate.load.clone();
    let largest_motor_va = largest_motor::addition(&motors(facts, &climate))?;
    let parts = [&general_demand_va, &fixed_va, &range_va, &dryer_va, &ev_va, &motor_va, &heat_va];
    let parts: Vec<_> = parts.into_iter().chain(&largest_motor_va).cloned().collect();
    let total_va = Known::sum("total_va", "calculated load", &parts);
    let voltage = line_voltage(CLAUSE, facts.supply)?;
    let line_a = formula!("line_a", "line current", [total_va, voltage] => total_va / voltage);
    let min_service_a = service_minimum::rating(&line_a)?;
    let neutral = neutral::dwelling(facts)?;
    Ok(DwellingStandard {
        lighting_va,
        general_va,
        general_demand_va,
        fixed_va,
        range_va,
        dryer_va,
        ev_va,
        motor_va,
        heat_va,
        largest_motor_va,
        total_va,
        line_a,
        min_service_a,
        neutral,
    })
}

const HEAT: usize = 0;

/// Heat in full against cooling, the compressor of a heat pump on both sides.
fn climate(climate: &Climate) -> Result<Noncoincident, NotCovered> {
    let (mut heat, mut cooling) = (Vec::new(), nameplates(&climate.cooling));
    heat.extend(climate.space_heat.iter().map(|heat| heat.load.clone()));
    heat.extend(climate.storage_heat.clone());
    if let Some(pump) = &climate.heat_pump {
        heat.extend(pump.supplementary.clone());
        if compressor_heats(climate) {
            heat.push(pump.compressor.clone());
        }
        cooling.push(pump.compressor.clone());
    }
    let heat = Alternative { load: space_heat::load(&heat)?, motor: false };
    let cooling = Alternative { load: Known::sum("S_cool", "cooling", &cooling), motor: true };
    largest(&[heat, cooling])
}

fn compressor_heats(climate: &Climate) -> bool {
    climate.heat_pump.as_ref().is_some_and(|pump| !(pump.interlocked && pump.supplementary.is_some()))
}

/// Motors that may run in the case that counts, unless the quarter more is in the climate load already.
fn motors(facts: &DwellingFacts, picked: &Noncoincident) -> Vec<Known<Apparent>> {
    let driven = facts.fixed_appliances.iter().filter(|item| item.motor).chain(&facts.motors);
    let mut all: Vec<_> = driven.map(|item| item.nameplate.clone()).collect();
    let pump = facts.climate.heat_pump.iter().map(|pump| pump.compressor.clone());
    if picked.from == HEAT {
        all.extend(pump.filter(|_| compressor_heats(&facts.climate)));
    } else if !picked.increased {
        all.extend(pump.chain(nameplates(&facts.climate.cooling)));
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, dwelling, given, near};
    use crate::us::{HeatPump, Item, SpaceHeat};
    use quantity::{Ratio, VoltageSystem};

    fn va(x: f64) -> Known<Apparent> {
        given(Apparent::of(x))
    }

    /// NEC Annex D, Example D1(a) (2005 edition), LOD-01: 1500 ft2, 12 kW range, 5.5 kW dryer.
    #[test]
    fn example_d1a() {
        let mut facts = dwelling(1500.0);
        facts.cooking = vec![Item::with_neutral(va(12_000.0))];
        facts.dryers = vec![Item::with_neutral(va(5500.0))];
        let found = dwelling_standard(&facts).unwrap();
        near(&found.general_va, 9000.0);
        near(&found.general_demand_va, 5100.0);
        near(&found.range_va, 8000.0);
        near(&found.dryer_va, 5500.0);
        near(&found.total_va, 18_600.0);
        near(&found.line_a, 77.5);
        near(&found.min_service_a, 100.0);
        near(&found.neutral.neutral_va, 14_550.0);
        close(&found.neutral.neutral_a, 61.0, 0.5);
        assert!(found.largest_motor_va.is_none());
    }

    /// The derivation of the line current ends at what the caller brought and shows every table value.
    #[test]
    fn the_derivation_ends_at_the_inputs() {
        let mut facts = dwelling(1500.0);
        let place = derivation::Place { file: "site.toml".into(), line: 7, column: 3, start: 0, end: 1 };
        facts.dryers = vec![Item::with_neutral(Known::input("S", "dryer", Apparent::of(5500.0), &place))];
        facts.ev_supply = vec![Item::line_to_line(va(3800.0))];
        let found = dwelling_standard(&facts).unwrap();
        assert_eq!(found.dryer_va.place(), Some(&place));
        let story = derivation::explain(found.line_a.node());
        assert!(story.contains("site.toml:7:3"), "{story}");
        assert!(story.contains("Table 220.45") && story.contains("Table 220.54"), "{story}");
        assert!(story.contains("220.57 (confirm in the adopted code)"), "{story}");
    }

    /// By hand: heat 9000 against cooling 1380 + 25 %; four appliances at 75 %; a disposer of 600 VA is the largest
    /// motor that runs with the heat: 150 VA.
    #[test]
    fn heat_fixed_appliances_and_the_largest_motor() {
        let mut facts = dwelling(1500.0);
        let fixed = [4500.0, 1200.0, 900.0].map(|x| Item::with_neutral(va(x)));
        facts.fixed_appliances = fixed.into_iter().chain([Item::with_neutral(va(600.0)).motor()]).collect();
        facts.climate.cooling = vec![Item::line_to_line(va(1380.0)).motor()];
        let units = given(Ratio::of(5.0));
        facts.climate.space_heat =
            Some(SpaceHeat { load: va(9000.0), separately_controlled_units: units, neutral: false });
        let found = dwelling_standard(&facts).unwrap();
        near(&found.fixed_va, 5400.0);
        near(&found.heat_va, 9000.0);
        near(found.largest_motor_va.as_ref().unwrap(), 150.0);
        near(&found.total_va, 5100.0 + 5400.0 + 9000.0 + 150.0);
        // all four use the neutral: 5100 + 5400 + 150
        near(&found.neutral.neutral_va, 10_650.0);
    }

    /// By hand: cooling of 8000 counts 1.25 x 8000 = 10,000 against 9000 of heat, whose elements are no motor.
    #[test]
    fn the_quarter_more_is_the_motors_alone() {
        let mut facts = dwelling(1500.0);
        facts.climate.cooling = vec![Item::line_to_line(va(8000.0)).motor()];
        let units = given(Ratio::of(5.0));
        facts.climate.space_heat =
            Some(SpaceHeat { load: va(9000.0), separately_controlled_units: units, neutral: false });
        near(&dwelling_standard(&facts).unwrap().total_va, 5100.0 + 10_000.0);
    }

    /// By hand: 9000 of heat beside 3000 of cooling, both with a neutral: 5100 + 9000, and a quarter of the
    /// compressor, which stays the largest motor there, on the safe side.
    #[test]
    fn the_larger_of_heat_and_cooling_is_on_the_neutral() {
        let mut facts = dwelling(1500.0);
        facts.climate.cooling = vec![Item::with_neutral(va(3000.0))];
        let units = given(Ratio::of(5.0));
        facts.climate.space_heat =
            Some(SpaceHeat { load: va(9000.0), separately_controlled_units: units, neutral: true });
        near(&dwelling_standard(&facts).unwrap().neutral.neutral_va, 14_850.0);
    }

    /// By hand: compressor 5760 and supplementary 15,000 run together and make 20,760; the compressor is the largest
    /// motor. Interlocked, 15,000 stand against 1.25 x 5760.
    #[test]
    fn heat_pump_with_and_without_interlock() {
        let mut facts = dwelling(2000.0);
        let pump = HeatPump { compressor: va(5760.0), supplementary: Some(va(15_000.0)), interlocked: false };
        facts.climate.heat_pump = Some(pump.clone());
        let together = dwelling_standard(&facts).unwrap();
        near(&together.heat_va, 20_760.0);
        near(together.largest_motor_va.as_ref().unwrap(), 1440.0);
        facts.climate.heat_pump = Some(HeatPump { interlocked: true, ..pump });
        let apart = dwelling_standard(&facts).unwrap();
        near(&apart.heat_va, 15_000.0);
        assert!(apart.largest_motor_va.is_none());
    }

    #[test]
    fn what_the_method_does_not_reach_is_refused() {
        let mut facts = dwelling(1500.0);
        facts.supply = VoltageSystem::Wye120_208;
        assert!(dwelling_standard(&facts).is_err());
        let mut facts = dwelling(1500.0);
        facts.cooking = vec![Item::with_neutral(va(30_000.0))];
        assert_eq!(dwelling_standard(&facts).unwrap_err().clause, "NEC 2023 220.55");
        facts = dwelling(f64::NAN);
        assert!(dwelling_standard(&facts).is_err());
    }
}
