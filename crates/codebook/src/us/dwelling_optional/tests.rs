use super::*;
use crate::us::Item;
use crate::us::testing::{close, dwelling, given, near};
use quantity::{Ratio, VoltageSystem};

fn va(x: f64) -> Known<Apparent> {
    given(Apparent::of(x))
}

fn heat(load: f64, units: f64) -> Option<SpaceHeat> {
    Some(SpaceHeat { load: va(load), separately_controlled_units: given(Ratio::of(units)), neutral: false })
}

/// NEC Annex D, Example D2(a) (2005 edition), LOD-02. The neutral is 5100 VA of general demand, 70 % of 8000 VA for the
/// range and of 5000 VA for the dryer, and the dishwasher: 15,400 VA. The water heater, the heaters and the cooling are
/// at 240 V without neutral.
#[test]
fn example_d2a() {
    let mut facts = dwelling(1500.0);
    facts.cooking = vec![Item::with_neutral(va(12_000.0))];
    facts.fixed_appliances = vec![Item::line_to_line(va(2500.0)), Item::with_neutral(va(1200.0))];
    facts.dryers = vec![Item::with_neutral(va(5000.0))];
    facts.climate.space_heat = heat(9000.0, 5.0);
    facts.climate.cooling = vec![Item::line_to_line(va(6.0 * 230.0)).motor()];
    let found = dwelling_optional(&facts).unwrap();
    near(found.cooling_va.as_ref().unwrap(), 1380.0);
    near(&found.general_va, 29_700.0);
    near(&found.general_demand_va, 17_880.0);
    near(&found.heat_va, 3600.0);
    near(&found.total_va, 21_480.0);
    near(&found.line_a, 89.5);
    near(&found.min_service_a, 100.0);
    near(&found.neutral.neutral_va, 15_400.0);
    close(&found.neutral.neutral_a, 64.17, 0.01);
}

/// NEC Annex D, Example D2(c) (2005 edition), LOD-03: heat pump 24 A at 240 V, 15 kW supplementary heat.
#[test]
fn example_d2c() {
    let mut facts = dwelling(2000.0);
    facts.cooking = vec![Item::with_neutral(va(12_000.0))];
    facts.fixed_appliances = vec![Item::line_to_line(va(4500.0)), Item::with_neutral(va(1200.0))];
    facts.dryers = vec![Item::with_neutral(va(5000.0))];
    let supplementary = Some(va(15_000.0));
    facts.climate.heat_pump =
        Some(HeatPump { compressor: va(24.0 * 240.0), supplementary, interlocked: false });
    let found = dwelling_optional(&facts).unwrap();
    near(&found.general_va, 33_200.0);
    near(&found.general_demand_va, 19_280.0);
    near(found.cooling_va.as_ref().unwrap(), 5760.0);
    near(&found.heat_va, 15_510.0);
    near(&found.total_va, 34_790.0);
    close(&found.line_a, 144.96, 0.01);
    near(&found.min_service_a, 150.0);
}

/// A public code-forum thread after Annex D2(a), printed 28,576 VA and 119 A, LOD-04.
#[test]
fn all_electric_house_with_four_or_more_heaters() {
    let mut facts = dwelling(2680.0);
    facts.cooking = vec![Item::with_neutral(va(9600.0))];
    facts.dryers = vec![Item::with_neutral(va(5000.0))];
    facts.fixed_appliances = vec![
        Item::line_to_line(va(2500.0)),
        Item::with_neutral(va(1200.0)),
        Item::with_neutral(va(600.0)).motor(),
    ];
    facts.climate.space_heat = heat(25_000.0, 4.0);
    let found = dwelling_optional(&facts).unwrap();
    near(&found.general_va, 31_440.0);
    near(&found.general_demand_va, 18_576.0);
    near(&found.total_va, 28_576.0);
    close(&found.line_a, 119.0, 0.5);
}

/// The six selections by hand.
#[test]
fn each_heating_and_cooling_selection() {
    let with = |climate| {
        let mut facts = dwelling(1500.0);
        facts.climate = climate;
        dwelling_optional(&facts).unwrap()
    };
    let pump = |supplementary, interlocked| Climate {
        heat_pump: Some(HeatPump { compressor: va(6000.0), supplementary, interlocked }),
        ..Climate::default()
    };
    let cooling = vec![Item::line_to_line(va(4000.0)).motor()];
    near(&with(Climate { cooling, ..Climate::default() }).heat_va, 4000.0);
    near(&with(pump(None, false)).heat_va, 6000.0);
    near(&with(pump(Some(va(10_000.0)), false)).heat_va, 12_500.0);
    near(&with(pump(Some(va(10_000.0)), true)).heat_va, 6500.0);
    // the compressor still cools, and is the larger here
    near(&with(pump(Some(va(8000.0)), true)).heat_va, 6000.0);
    near(&with(Climate { space_heat: heat(10_000.0, 3.0), ..Climate::default() }).heat_va, 6500.0);
    near(&with(Climate { space_heat: heat(10_000.0, 1.0), ..Climate::default() }).heat_va, 6500.0);
    near(&with(Climate { space_heat: heat(10_000.0, 4.0), ..Climate::default() }).heat_va, 4000.0);
    near(&with(Climate { storage_heat: Some(va(10_000.0)), ..Climate::default() }).heat_va, 10_000.0);
    near(&with(Climate::default()).heat_va, 0.0);
}

/// Below 10 kVA everything counts; vehicle supply stands beside the tiers at 7200 VA at least.
#[test]
fn small_house_with_vehicle_supply() {
    let mut facts = dwelling(1000.0);
    facts.ev_supply = vec![Item::line_to_line(va(3800.0))];
    let found = dwelling_optional(&facts).unwrap();
    near(&found.general_demand_va, 7500.0);
    near(&found.total_va, 14_700.0);
}

#[test]
fn what_the_method_does_not_reach_is_refused() {
    let mut facts = dwelling(1500.0);
    facts.climate.space_heat = heat(9000.0, 5.0);
    facts.climate.storage_heat = Some(va(5000.0));
    assert!(dwelling_optional(&facts).is_err());
    facts = dwelling(1500.0);
    facts.climate.space_heat = heat(9000.0, 0.0);
    assert!(dwelling_optional(&facts).is_err());
    facts = dwelling(1500.0);
    facts.supply = VoltageSystem::Single120;
    assert!(dwelling_optional(&facts).is_err());
    assert!(check_supply(&given(Current::of(99.0))).is_err());
    assert!(check_supply(&given(Current::of(100.0))).is_ok());
}
