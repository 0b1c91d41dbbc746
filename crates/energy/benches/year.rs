//! A year of minutes: sun, plane and array; 64 designs side by side; carry times of every start, of one year and of up
//! to ten: `cargo bench -p energy --bench year`. Prints what it finds and compares nothing. Figures of one machine on
//! one day stand in `benches/README.md`; ratios to outside programs in `peers/`.

// a bench prints
#![allow(clippy::print_stdout, clippy::unwrap_used)]

use std::f64::consts::PI;
use std::hint::black_box;
use std::time::Instant;

use energy::array::{Array, CellModel};
use energy::outage::{YearEnd, carry_times};
use energy::plane::{Incidence, Plane, Radiation, SkyModel, plane_w_m2, sky};
use energy::sun::{Frames, Observer, columns};
use energy::year::{
    Battery, Converter, Design, Generator, Hour, PanelArray, Series, Shedding, Utility, simulate,
    simulate_many,
};

const MINUTES: usize = 525_600;

/// Least time of some calls, in seconds.
fn least_s(calls: usize, mut call: impl FnMut()) -> f64 {
    (0..calls)
        .map(|_| {
            let start = Instant::now();
            call();
            start.elapsed().as_secs_f64()
        })
        .fold(f64::INFINITY, f64::min)
}

/// Even numbers from 0 to 1 from a seed, each by its place.
fn even(seed: u64, k: usize) -> f64 {
    let mut z = seed.wrapping_add((k as u64 + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

/// Invented loads and sun, minute by minute.
struct Minutes {
    loads: [Vec<f64>; 3],
    array: Vec<f64>,
    hours: Vec<Hour>,
}

impl Minutes {
    fn new(years: usize) -> Self {
        let column = |f: &dyn Fn(usize, f64) -> f64| -> Vec<f64> {
            (0..years * MINUTES).map(|k| f(k, (k % 1440) as f64 / 60.0)).collect()
        };
        Self {
            loads: [
                column(&|k, _| 400.0 + 300.0 * even(1, k / 20)),
                column(&|k, h| {
                    600.0 * (1.0 + libm::sin((h - 13.0) / 12.0 * PI)) * (0.3 + 0.7 * even(2, k / 30))
                }),
                column(&|k, _| if even(3, k / 15) < 0.12 { 3500.0 * even(4, k / 15) } else { 0.0 }),
            ],
            array: column(&|k, h| {
                let day = k / 1440;
                let season = 1.0 - 0.35 * libm::cos((day % 365 + 10) as f64 / 365.0 * 2.0 * PI);
                let clear = even(5, day).sqrt() * (0.7 + 0.3 * even(6, k / 10));
                4000.0 * season * clear * libm::sin((h - 6.5) / 11.0 * PI).max(0.0)
            }),
            hours: (0..years * MINUTES)
                .map(|k| Hour { utility: true, spend: (1020..1320).contains(&(k % 1440)), fill: false })
                .collect(),
        }
    }

    fn series(&self) -> Series<'_> {
        let [a, b, c] = &self.loads;
        Series {
            step_s: 60.0,
            loads_w: [a, b, c],
            array_w: &self.array,
            panel_array_w: &[],
            hours: &self.hours,
        }
    }
}

fn design(capacity_wh: f64, taper: f64) -> Design {
    Design {
        battery: Battery {
            capacity_wh,
            floor_wh: 0.1 * capacity_wh,
            reserve_wh: 0.5 * capacity_wh,
            charge_limit_w: 0.4 * capacity_wh,
            discharge_limit_w: 0.6 * capacity_wh,
            charge_efficiency: 0.97,
            discharge_efficiency: 0.96,
            taper_from_wh: taper * capacity_wh,
            self_discharge_per_day: 0.001,
            holds_w_per_wh: Battery::ANY_CHARGE_W_PER_WH,
        },
        converter: Converter {
            rating_w: 10_000.0,
            peak_w: 20_000.0,
            heat_budget_wh: 600.0,
            heat_recovery: 0.4,
            idle_w: 60.0,
            loss_per_w: 0.02,
            loss_per_w2: 3e-6,
            charger_limit_w: 4000.0,
        },
        array_scale: 1.0,
        panel_array: PanelArray { export_limit_w: 0.0, charges: true, reconnect_s: 300.0 },
        utility: Utility { input_limit_w: 9600.0, relay_limit_w: 12_000.0, export_limit_w: 3000.0 },
        generator: Generator::NONE,
        shedding: Shedding::NEVER,
    }
}

/// Sun, Perez sky, plane and array from made-up columns of light, air and wind.
fn sun_and_array_s() -> f64 {
    let place = Observer {
        latitude_deg: 40.0,
        longitude_deg: -105.0,
        elevation_m: 1800.0,
        pressure_pa: 81_500.0,
        temperature_degc: 12.0,
    };
    let plane = Plane { tilt_deg: 35.0, azimuth_deg: 180.0, albedo: 0.2, incidence: Incidence::Ignored };
    let array = Array {
        peak_w: 10_000.0,
        gamma_per_k: -0.004,
        losses: 0.0,
        controller_limit_w: 9000.0,
        controller_efficiency: 1.0,
        cells: CellModel::Faiman { u0_w_m2_k: 25.0, u1_ws_m3_k: 6.84 },
    };
    let column = |f: &dyn Fn(usize) -> f64| -> Vec<f64> { (0..MINUTES).map(f).collect() };
    let dni = column(&|k| 900.0 * even(7, k / 10));
    let dhi = column(&|k| 50.0 + 150.0 * even(8, k / 10));
    let ghi = column(&|k| 450.0 * even(7, k / 10) + 50.0 + 150.0 * even(8, k / 10));
    let (air, wind) = (column(&|k| 30.0 * even(9, k / 60)), column(&|k| 6.0 * even(10, k / 60)));
    let light = Radiation { ghi_w_m2: &ghi, dni_w_m2: &dni, dhi_w_m2: &dhi };
    let (start, step) = (1_735_689_600.0, 60.0);
    least_s(5, || {
        let frames = Frames::new(start, step * MINUTES as f64).unwrap();
        let sun = columns(&frames, &place, start, step, MINUTES).unwrap();
        let sky = sky(SkyModel::Perez, &sun, &light).unwrap();
        let poa = plane_w_m2(&plane, &sun, &light, &sky, None).unwrap();
        black_box(array.column_w(&air, &poa, &wind).unwrap());
    })
}

fn main() {
    println!("sun, Perez, plane and array: {:.3} s a year", sun_and_array_s());
    let year = Minutes::new(1);
    let designs: Vec<Design> = (0..64).map(|k| design(8e3 + 800.0 * f64::from(k), 0.9)).collect();
    let full: Vec<f64> = designs.iter().map(|d| d.battery.capacity_wh / 2.0).collect();
    let s = least_s(3, || {
        black_box(simulate_many(&designs, &year.series(), &full).unwrap());
    });
    println!("64 designs side by side: {:.2} ns a step and design", s * 1e9 / (64 * MINUTES) as f64);
    println!("carry times of every start\nyears     kWh  taper from   mean h        s   ns a start");
    for years in [1, 2, 5, 10] {
        let minutes = Minutes::new(years);
        let series = minutes.series();
        for (kwh, taper) in [(15.0, 1.0), (60.0, 1.0), (60.0, 0.8)] {
            let d = design(kwh * 1e3, taper);
            let columns = simulate(&d, &series, kwh * 500.0).unwrap();
            let mut mean = 0.0;
            let s = least_s(5, || {
                let carry = black_box(carry_times(&d, &series, &columns, 3, YearEnd::Wraps).unwrap());
                mean = carry.steps.iter().map(|k| f64::from(*k)).sum::<f64>() / series.steps() as f64;
            });
            println!(
                "{years:>5}  {kwh:>6}  {taper:>10}  {:>7.1}  {s:>7.3}  {:>11.1}",
                mean / 60.0,
                s * 1e9 / series.steps() as f64
            );
        }
    }
}
