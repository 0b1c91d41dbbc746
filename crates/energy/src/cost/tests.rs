use derivation::Known;
use quantity::{Quantity, Ratio};

use super::*;
use crate::year::{Columns, Hour, Series};

fn tariff() -> Tariff {
    let mut dear = Period::always(0.40);
    dear.hours = std::array::from_fn(|h| (17..21).contains(&h));
    dear.weekdays = [true, true, true, true, true, false, false];
    Tariff {
        periods: vec![dear, Period::always(0.10)],
        export_per_kwh: 0.05,
        demand_per_kw: 10.0,
        demand_interval_s: 1800.0,
        per_day: 0.5,
        first_weekday: 6,
    }
}

/// 1 kW all year: 261 working days... of 2023 (260), 4 dear hours each; a peak of 9 kW for a quarter of an
/// hour in March makes half an hour's mean of 5 kW.
#[test]
fn a_bill_by_hand() {
    let steps = 8760 * 4;
    let zero = vec![0.0; steps];
    let utility = vec![Hour { utility: true, spend: false, fill: false }; steps];
    let series = Series {
        step_s: 900.0,
        loads_w: [&zero, &zero, &zero],
        array_w: &zero,
        panel_array_w: &[],
        hours: &utility,
    };
    let mut year =
        Columns { import_w: vec![1000.0; steps], export_w: vec![200.0; steps], ..Columns::default() };
    year.import_w[(31 + 28 + 3) * 96] = 9000.0;
    year.totals.fuel_l = 10.0;
    let found = bill(&tariff(), &series, &year, 2.0).unwrap();
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-6, "{a} {b}");
    // 2023 begins on a Sunday: 53 Sundays, 52 of the other days
    near(found.energy, 260.0 * 4.0 * 0.40 + (8760.0 - 1040.0) * 0.10 + 2.0 * 0.10);
    near(found.demand, 10.0 * (11.0 + 5.0));
    near(found.export, 0.2 * 8760.0 * 0.05);
    near(found.fixed + found.fuel, 182.5 + 20.0);
    near(found.total, found.energy + found.demand + 202.5 - found.export);
    near(found.known().value().si(), found.total);
    let prices = prices_per_kwh(&tariff(), &series).unwrap();
    let hours = hours(&prices, &vec![true; steps], 0.3, Some(0.1)).unwrap();
    assert_eq!(hours.iter().filter(|h| h.spend).count(), 260 * 16);
    assert!(hours.iter().all(|h| h.spend != h.fill));
    let mut holes = tariff();
    holes.periods.pop();
    assert!(prices_per_kwh(&holes, &series).is_err());
    let long = Tariff { demand_interval_s: 1000.0, ..tariff() };
    assert!(bill(&long, &series, &year, 2.0).is_err());
}

fn money(value: f64) -> Known<Ratio> {
    Known::assumed("m", "money", Ratio::of(value), "for the test")
}

/// 10,000 for 1500 a year: simple 6.67 years; at 5 % the annuity pays 10,000 in ln(1/(1 - 1/3))/ln 1.05 =
/// 8.31 years.
#[test]
fn paybacks_by_hand() {
    let facts = PaybackFacts {
        investment: money(10_000.0),
        saving: money(1500.0),
        discount: 0.05,
        price_rise: 0.0,
        fading: 0.0,
        years: 20,
        renewals: Vec::new(),
    };
    let found = payback(&facts).unwrap();
    assert!((found.simple_years.value().si() - 6.6667).abs() < 1e-3);
    assert_eq!(found.discounted_years, Some(9));
    let annuity = (1.0 - libm::pow(1.05, -20.0)) / 0.05;
    assert!((found.present_value.value().si() - (1500.0 * annuity - 10_000.0)).abs() < 1e-6);
    // a battery bought again in year 10 takes it back below nothing for a while
    let again = payback(&PaybackFacts { renewals: vec![(10, 5000.0)], ..facts.clone() }).unwrap();
    assert!(again.discounted_years > Some(10), "{:?}", again.discounted_years);
    assert_eq!(payback(&PaybackFacts { years: 8, ..facts.clone() }).unwrap().discounted_years, None);
    assert!(payback(&PaybackFacts { saving: money(0.0), ..facts }).is_err());
}
