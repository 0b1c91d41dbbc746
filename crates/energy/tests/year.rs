//! From monthly means to the bill and the worst outage, as a command would go.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used)]

use energy::array::{Array, CellModel, supply_w};
use energy::cost::{Period, Tariff, bill, hours, prices_per_kwh};
use energy::outage::{Cause, YearEnd, carry_times, over_years, report, stepped_carry_times};
use energy::plane::{Horizon, Incidence, Plane, SkyModel};
use energy::weather::{MonthlyMeans, Station, resample, year_from_months};
use energy::year::{
    Battery, Columns, Converter, Design, Generator, Hour, PanelArray, Series, Shedding, Utility, simulate,
    summary,
};
use quantity::Quantity;

const STEPS_PER_HOUR: usize = 4;

fn array_w(seed: u64, peak_w: f64) -> Vec<f64> {
    let station = Station {
        name: "invented".to_owned(),
        latitude_deg: 45.0,
        longitude_deg: 8.0,
        elevation_m: 300.0,
        utc_offset_h: 1.0,
    };
    let means = MonthlyMeans {
        daily_wh_m2: [1400., 2300., 3700., 4700., 5700., 6300., 6500., 5500., 4100., 2600., 1500., 1200.],
        air_degc: [2., 4., 9., 13., 17., 21., 24., 23., 19., 13., 7., 3.],
        range_k: [8.0; 12],
        spread_k: [3.0; 12],
        wind_m_s: [2.0; 12],
    };
    let weather = resample(&year_from_months(station, &means, seed).unwrap(), STEPS_PER_HOUR).unwrap();
    let plane = |azimuth_deg| Plane {
        tilt_deg: 30.0,
        azimuth_deg,
        albedo: 0.2,
        incidence: Incidence::Ashrae { b0: 0.05 },
    };
    let array = Array {
        peak_w,
        gamma_per_k: -0.0035,
        losses: 0.05,
        controller_limit_w: 0.9 * peak_w,
        controller_efficiency: 0.98,
        cells: CellModel::Faiman { u0_w_m2_k: 25.0, u1_ws_m3_k: 6.84 },
    };
    let hills = Horizon::new(&[(60.0, 2.0), (110.0, 12.0), (150.0, 2.0)]).unwrap();
    let both = [(plane(90.0), array), (plane(180.0), array)];
    supply_w(&weather, SkyModel::Perez, &both, Some(&hills)).unwrap()
}

fn design() -> Design {
    Design {
        battery: Battery {
            capacity_wh: 30_000.0,
            floor_wh: 3000.0,
            reserve_wh: 15_000.0,
            charge_limit_w: 10_000.0,
            discharge_limit_w: 15_000.0,
            charge_efficiency: 0.97,
            discharge_efficiency: 0.97,
            taper_from_wh: 30_000.0,
            self_discharge_per_day: 0.001,
            holds_w_per_wh: Battery::ANY_CHARGE_W_PER_WH,
        },
        converter: Converter {
            rating_w: 10_000.0,
            peak_w: 15_000.0,
            heat_budget_wh: 400.0,
            heat_recovery: 0.5,
            idle_w: 70.0,
            loss_per_w: 0.02,
            loss_per_w2: 3e-6,
            charger_limit_w: 6000.0,
        },
        array_scale: 1.0,
        panel_array: PanelArray::NONE,
        utility: Utility { input_limit_w: 12_000.0, relay_limit_w: 12_000.0, export_limit_w: 5000.0 },
        generator: Generator::NONE,
        shedding: Shedding::NEVER,
    }
}

/// Loads by tier that repeat every day.
fn loads() -> [Vec<f64>; 3] {
    let day = |f: &dyn Fn(f64) -> f64| -> Vec<f64> {
        (0..8760 * STEPS_PER_HOUR)
            .map(|k| f((k % (24 * STEPS_PER_HOUR)) as f64 / STEPS_PER_HOUR as f64))
            .collect()
    };
    [
        day(&|_| 350.0),
        day(&|h| if (7.0..22.0).contains(&h) { 600.0 } else { 150.0 }),
        day(&|h| if (18.0..20.0).contains(&h) { 4000.0 } else { 0.0 }),
    ]
}

fn tariff() -> Tariff {
    let mut dear = Period::always(0.35);
    dear.hours = std::array::from_fn(|h| (16..22).contains(&h));
    Tariff {
        periods: vec![dear, Period::always(0.15)],
        export_per_kwh: 0.06,
        demand_per_kw: 3.0,
        demand_interval_s: 1800.0,
        per_day: 0.3,
        first_weekday: 6,
    }
}

fn run(design: &Design, array_w: &[f64], loads: &[Vec<f64>; 3], hours: &[Hour]) -> (f64, Columns) {
    let [a, b, c] = loads;
    let series = Series { step_s: 900.0, loads_w: [a, b, c], array_w, panel_array_w: &[], hours };
    let year = simulate(design, &series, 15_000.0).unwrap();
    let cost = bill(&tariff(), &series, &year, 0.0).unwrap().total;
    (cost, year)
}

#[test]
fn a_year_from_weather_to_bill_and_outages() {
    let (design, loads) = (design(), loads());
    let (sun, dark) = (array_w(3, 3000.0), vec![0.0; 8760 * STEPS_PER_HOUR]);
    let all = vec![true; sun.len()];
    let steady: Vec<Hour> = all.iter().map(|_| Hour { utility: true, spend: false, fill: false }).collect();
    let [a, b, c] = &loads;
    let of =
        |array_w, hours| Series { step_s: 900.0, loads_w: [a, b, c], array_w, panel_array_w: &[], hours };
    let prices = prices_per_kwh(&tariff(), &of(&dark, &steady)).unwrap();
    let by_price = hours(&prices, &all, 0.3, None).unwrap();

    // the array saves, and so does spending the battery in dear hours
    let (cost_dark, _) = run(&design, &dark, &loads, &steady);
    let (cost_sun, _) = run(&design, &sun, &loads, &steady);
    let (cost_shifted, year) = run(&design, &sun, &loads, &by_price);
    assert!(cost_shifted < cost_sun && cost_sun < cost_dark, "{cost_shifted} {cost_sun} {cost_dark}");

    // figures end in words and numbers that can be looked up
    let series = of(&sun, &by_price);
    let told = summary(&series, &year).unwrap();
    assert!(told.unserved.value().si().abs() < 1e-6 * told.served.value().si());
    let used = told.array_used.value().si() + told.array_lost.value().si();
    assert!((used - sun.iter().sum::<f64>() / STEPS_PER_HOUR as f64).abs() < 1e-6 * used);
    assert!(told.hidden.contains("900 s") && told.over_limit_steps == 0);

    // at least the reserve is there for every outage: 12 kWh usable, of which the heaviest evening takes most
    let carry = carry_times(&design, &series, &year, 3, YearEnd::Wraps).unwrap();
    let figures = report(&carry, &[1.0, 4.0, 24.0]).unwrap();
    assert_eq!(figures.bands.len(), 4 * 24);
    let least = figures.bands.iter().map(|b| b.least_h).fold(f64::INFINITY, f64::min);
    assert!((least * 3600.0 - figures.worst.value().si()).abs() < 1e-6);
    assert!(least > 1.0 && least < 12.0, "{least}");
    assert_eq!(figures.worst_ended_by, Cause::Energy);
    let shares: Vec<f64> = figures.carried.iter().map(|(_, share)| share.value().si()).collect();
    assert!((shares[0] - 1.0).abs() < 1e-12 && shares[1] >= shares[2], "{shares:?}");

    // fewer tiers last longer, and the stepped way says the same of the worst start
    let kept = report(&carry_times(&design, &series, &year, 1, YearEnd::Wraps).unwrap(), &[]).unwrap();
    assert!(kept.worst.value().si() > figures.worst.value().si());
    let start = figures.worst_start;
    let stepped = stepped_carry_times(&design, &series, &year, YearEnd::Wraps, Some(&[start])).unwrap();
    assert_eq!(stepped.steps.iter().map(|s| s[0]).min(), Some(carry.steps[start]));
}

/// Several drawn years scatter; the band holds each of them.
#[test]
fn years_of_several_seeds_make_a_band() {
    let (design, loads) = (design(), loads());
    let steady = vec![Hour { utility: true, spend: false, fill: false }; 8760 * STEPS_PER_HOUR];
    let [a, b, c] = &loads;
    let years: Vec<_> = (1..=5)
        .map(|seed| {
            let sun = array_w(seed, 3000.0);
            let series = Series {
                step_s: 900.0,
                loads_w: [a, b, c],
                array_w: &sun,
                panel_array_w: &[],
                hours: &steady,
            };
            let (_, year) = run(&design, &sun, &loads, &steady);
            carry_times(&design, &series, &year, 2, YearEnd::Wraps).unwrap()
        })
        .collect();
    let band = over_years(&years).unwrap();
    assert!(
        band.least_h <= band.half_h && band.half_h <= band.most_h && band.least_h < band.most_h,
        "{band:?}"
    );
    let worst = report(&years[0], &[]).unwrap().worst.value().si() / 3600.0;
    assert!(worst >= band.least_h - 1e-9 && worst <= band.most_h + 1e-9);
    assert!(over_years(&[]).is_err());
}
