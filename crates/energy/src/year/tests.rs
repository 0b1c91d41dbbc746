use proptest::prelude::*;

use super::run::one;
use super::step::{draw, inverse};
use super::testing::{Made, design, designs, made};
use super::*;

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Energy is neither made nor lost; charge stays within bounds; nothing flows backwards; loads are served
    /// as a whole or not at all; limits hold.
    #[test]
    fn energy_is_kept(d in designs(), made in made(), full in 0.0..1.0) {
        let series = made.series();
        let first = full * d.battery.capacity_wh;
        let year = simulate(&d, &series, first).unwrap();
        let t = year.totals;
        let last = *year.stored_wh.last().unwrap();
        let off = t.imbalance_wh(first, last).abs();
        prop_assert!(off <= 1e-9 * (t.throughput_wh() + first), "{off} Wh of {}", t.throughput_wh());
        for stored in &year.stored_wh {
            prop_assert!(*stored >= 0.0 && *stored <= d.battery.capacity_wh);
        }
        let keep = libm::pow(1.0 - d.battery.self_discharge_per_day, series.hours_per_step() / 24.0);
        for k in 0..series.steps() {
            let [a, b, c] = [0, 1, 2].map(|tier| made.loads[tier][k]);
            let (served, utility) = (year.served_w[k], made.hours[k].utility);
            let sums = [0.0, a, a + b, a + b + c];
            let whole = sums.iter().any(|sum| (sum - served).abs() < 1e-9 * (1.0 + sum));
            prop_assert!(whole, "{served} of {a} {b} {c}");
            if utility {
                prop_assert!((served - a - b - c).abs() < 1e-9);
            }
            prop_assert!(year.import_w[k] >= 0.0 && year.export_w[k] >= 0.0 && year.generated_w[k] >= -1e-9);
            prop_assert!(year.export_w[k] <= d.utility.export_limit_w + d.panel_array.export_limit_w + 1e-9);
            prop_assert!(year.export_w[k] < 1e-9 || year.import_w[k] < 1e-6, "sold while bought, step {k}");
            prop_assert!(year.generated_w[k] <= d.generator.power_w + 1e-9);
            let on_panel = made.panel.get(k).copied().unwrap_or(0.0);
            prop_assert!(year.array_used_w[k] <= made.array[k] + on_panel + 1e-9);
            prop_assert!(year.array_used_w[k] >= -1e-9);
            // below the reserve nothing is spent while the utility is there
            if utility && year.stored_wh[k] < d.battery.reserve_wh {
                prop_assert!(year.stored_wh[k + 1] >= year.stored_wh[k] * keep * (1.0 - 1e-12));
            }
        }
    }

    /// With arrays on the bus and on the panel every step of every design balances by itself, at the power of the step
    /// and not only in the sum of a year: what comes in is what goes out, what is lost and what is stored. And of both
    /// arrays each watt is used or lost, no more and no less.
    #[test]
    fn every_step_balances_with_arrays_on_both_sides(
        list in prop::collection::vec(designs(), 1..9),
        made in made(),
        scale in 0.0..3.0,
        full in 0.0..1.0,
        on_panel in prop::collection::vec(0.0..9000.0, 200),
    ) {
        let mut made = made;
        made.panel = made.array.iter().zip(&on_panel).map(|(bus, panel)| if *bus > 500.0 { *panel } else { 0.0 }).collect();
        let list: Vec<Design> = list.into_iter().map(|d| Design { array_scale: scale, ..d }).collect();
        let series = made.series();
        let first: Vec<f64> = list.iter().map(|d| full * d.battery.capacity_wh).collect();
        let hours = series.hours_per_step();
        let lanes = Lanes::<8>::new(&list, hours);
        let mut state = State::<8>::new(&list, &first);
        for k in 0..series.steps() {
            let before = state.stored;
            let mut seen = Seen([Flows::default(); 8]);
            one(&series, k, &lanes, &mut state, &mut seen);
            for (l, f) in seen.0.iter().enumerate() {
                let came = f.array_used + f.import + f.generated;
                let served = f.served0 + f.served1 + f.served2;
                let lost = f.converter + f.battery + f.faded;
                let stored = (state.stored[l] - before[l]) / hours;
                let size = came + served + f.export + lost.abs() + stored.abs() + state.stored[l] / hours;
                let off = came - served - f.export - lost - stored;
                prop_assert!(off.abs() <= 1e-9 * size.max(1.0), "step {k}, lane {l}: {off} W of {size} W: {f:?}");
                for one in [f.converter, f.battery, f.faded, f.import, f.export, f.generated, f.panel] {
                    prop_assert!(one >= -1e-9 * size.max(1.0), "step {k}, lane {l}: {f:?}");
                }
                let there = (made.array[k] + made.panel[k]) * scale;
                let split = f.array_used + f.array_lost;
                prop_assert!((split - there).abs() <= 1e-9 * there.max(1.0), "step {k}: {split} of {there}");
                prop_assert!(f.panel <= made.panel[k] * scale * (1.0 + 1e-9) + 1e-9, "step {k}: {f:?}");
                let by_bus = f.array_used - f.panel;
                prop_assert!(by_bus <= made.array[k] * scale + 1e-9 * there.max(1.0) && by_bus >= -1e-9 * there.max(1.0), "step {k}: {f:?}");
            }
        }
    }

    /// Many at once are the same as one by one, to the bit.
    #[test]
    fn lanes_are_the_same_as_one_by_one(list in prop::collection::vec(designs(), 1..40), made in made()) {
        let series = made.series();
        let first: Vec<f64> = list.iter().map(|d| d.battery.capacity_wh * 0.6).collect();
        let many = simulate_many(&list, &series, &first).unwrap();
        prop_assert_eq!(many.len(), list.len());
        for ((d, stored), (totals, last)) in list.iter().zip(&first).zip(&many) {
            let alone = simulate(d, &series, *stored).unwrap();
            prop_assert_eq!(&alone.totals, totals);
            prop_assert_eq!(alone.stored_wh.last().unwrap().to_bits(), last.to_bits());
        }
    }
}

/// The flows of the last step of each lane.
struct Seen([Flows; 8]);

impl flows::Sink for Seen {
    fn take(&mut self, l: usize, f: Flows) {
        self.0[l] = f;
    }
}

/// An hour each by hand: no losses but the linear 2 %, no idle.
#[test]
fn hours_by_hand() {
    let mut d = design();
    d.converter.idle_w = 0.0;
    d.converter.loss_per_w2 = 0.0;
    d.battery.self_discharge_per_day = 0.0;
    d.battery.taper_from_wh = d.battery.capacity_wh;
    let run = |loads: [f64; 3], array: f64, hour: Hour, stored: f64| {
        let [a, b, c] = loads.map(|l| vec![l]);
        let made = Made {
            loads: [a, b, c],
            array: vec![array],
            panel: Vec::new(),
            hours: vec![hour],
            step_s: 3600.0,
        };
        simulate(&d, &made.series(), stored).unwrap()
    };
    let near =
        |found: f64, expected: f64| assert!((found - expected).abs() < 1e-6, "{found}, expected {expected}");
    let (idle_grid, off) = (
        Hour { utility: true, spend: false, fill: false },
        Hour { utility: false, spend: false, fill: false },
    );
    // outage: 2000 W of load draw 2040 W, of which the battery gives 2040/0.96
    near(run([1000.0, 500.0, 500.0], 0.0, off, 15_000.0).stored_wh[1], 15_000.0 - 2040.0 / 0.96);
    // sun above the load charges: (5000 - 2040) 0.97
    near(run([1000.0, 500.0, 500.0], 5000.0, off, 10_000.0).stored_wh[1], 10_000.0 + 2960.0 * 0.97);
    // with the utility: own use 2000, then the battery takes 6000 of the 6960 left, the rest is sold less 2 %
    let y = run([1000.0, 500.0, 500.0], 9000.0, idle_grid, 10_000.0);
    near(y.stored_wh[1], 10_000.0 + 6000.0 * 0.97);
    near(y.export_w[0], 960.0 / 1.02);
    near(y.import_w[0], 0.0);
    // below the reserve the utility fills: 5000 W at most, 5100 W taken, beside the load
    let y = run([1000.0, 0.0, 0.0], 0.0, idle_grid, 2000.0);
    near(y.stored_wh[1], 2000.0 + 5000.0 * 0.97);
    near(y.import_w[0], 6100.0);
    // input 9600 W: of 11000 W of load the battery gives 1400 W, not to be spent though
    let y = run([11_000.0, 0.0, 0.0], 0.0, idle_grid, 15_000.0);
    near(y.import_w[0], 9600.0);
    near(y.stored_wh[1], 15_000.0 - 1400.0 * 1.02 / 0.96);
    // at the reserve it cannot: what is taken is over the limit, and counted
    let y = run([11_000.0, 0.0, 0.0], 0.0, idle_grid, 8000.0);
    near(y.totals.over_limit_steps, 1.0);
    // peak 12 kW but 500 Wh of heat over 8 kW for an hour: tier 2 goes
    let y = run([4000.0, 4000.0, 4000.0], 0.0, off, 15_000.0);
    near(y.served_w[0], 8000.0);
}

#[test]
fn an_efficiency_curve_is_never_bettered() {
    let points = [(500.0, 0.90), (2000.0, 0.95), (4000.0, 0.945), (8000.0, 0.92)];
    let (k1, k2) = Converter::losses_through(30.0, &points).unwrap();
    for (p, efficiency) in points {
        let model = p / (p + 30.0 + k1 * p + k2 * p * p);
        assert!(model <= efficiency + 1e-12, "{p}: {model}");
        assert!(model > efficiency - 0.03, "{p}: {model}");
    }
    assert!(Converter::losses_through(100.0, &points).is_err());
    assert!(Converter::losses_through(30.0, &points[..1]).is_err());
    for (k1, k2) in [(0.02, 3e-6), (0.0, 0.0)] {
        for p in [0.0, 1.0, 5000.0] {
            assert!((inverse(k1, k2, draw(k1, k2, p)) - p).abs() < 1e-9);
        }
    }
}

/// An hour each by hand with arrays on the panel: no losses but the linear 2 %, no idle.
#[test]
fn arrays_on_the_panel_by_hand() {
    let mut d = design();
    (d.converter.idle_w, d.converter.loss_per_w2, d.battery.self_discharge_per_day) = (0.0, 0.0, 0.0);
    d.battery.taper_from_wh = d.battery.capacity_wh;
    d.shedding = Shedding::NEVER;
    (d.generator, d.panel_array.reconnect_s) = (Generator::NONE, 0.0);
    let run = |d: &Design, load: f64, panel: f64, utility: bool, stored: f64| {
        let hours = vec![Hour { utility, spend: false, fill: false }];
        let loads = [vec![load], vec![0.0], vec![0.0]];
        let made = Made { loads, array: vec![0.0], panel: vec![panel], hours, step_s: 3600.0 };
        simulate(d, &made.series(), stored).unwrap()
    };
    let near =
        |found: f64, expected: f64| assert!((found - expected).abs() < 1e-6, "{found}, expected {expected}");
    // with the utility: 3000 W are left of the loads, and charge
    let y = run(&d, 2000.0, 5000.0, true, 10_000.0);
    near(y.stored_wh[1], 10_000.0 + 3000.0 / 1.02 * 0.97);
    near(y.import_w[0] + y.export_w[0], 0.0);
    // a full battery: they are sold, up to the limit of 4000 W
    near(run(&d, 2000.0, 5000.0, true, 20_000.0).export_w[0], 3000.0);
    let y = run(&d, 1000.0, 9000.0, true, 20_000.0);
    near(y.export_w[0], 4000.0);
    near(y.array_used_w[0], 5000.0);
    near(y.totals.array_lost_wh, 4000.0);
    // units that do not see what is left
    let blind = Design { panel_array: PanelArray { charges: false, ..d.panel_array }, ..d };
    near(run(&blind, 2000.0, 5000.0, true, 10_000.0).export_w[0], 3000.0);
    // below the reserve the utility adds to it: 5000 W of charge draw 5100 W, 3000 W of them from the array
    near(run(&d, 2000.0, 5000.0, true, 2000.0).import_w[0], 2100.0);
    // in the island the same charges; a full battery holds the array back to the load
    near(run(&d, 2000.0, 5000.0, false, 10_000.0).stored_wh[1], 10_000.0 + 3000.0 / 1.02 * 0.97);
    let y = run(&d, 2000.0, 5000.0, false, 20_000.0);
    near(y.stored_wh[1], 20_000.0);
    near(y.array_used_w[0], 2000.0);
    // what it does not carry comes from the battery
    near(run(&d, 2000.0, 1500.0, false, 10_000.0).stored_wh[1], 10_000.0 - 500.0 * 1.02 / 0.96);
    // half an hour until it is back: 2500 W on the mean
    let late = Design { panel_array: PanelArray { reconnect_s: 1800.0, ..d.panel_array }, ..d };
    near(run(&late, 2000.0, 5000.0, false, 10_000.0).stored_wh[1], 10_000.0 + 500.0 / 1.02 * 0.97);
    // the generator runs: locked out
    let mut with = d;
    with.generator = design().generator;
    with.generator.warm_up_s = 0.0;
    let y = run(&with, 2000.0, 5000.0, false, 3000.0);
    near(y.array_used_w[0], 0.0);
    near(y.generated_w[0], 6000.0);
}

/// An engine gives power for as long as its fuel lasts: 3000 W take 0.6 + 0.9 l/h, so 0.75 l are half an hour.
#[test]
fn fuel_that_ends_within_a_step_by_hand() {
    let mut d = design();
    (d.converter.idle_w, d.converter.loss_per_w2, d.battery.self_discharge_per_day) = (0.0, 0.0, 0.0);
    d.battery.taper_from_wh = d.battery.capacity_wh;
    d.shedding = Shedding::NEVER;
    (d.generator.warm_up_s, d.generator.tank_l) = (0.0, 0.75);
    let run = |d: &Design, loads: &[f64], stored: f64| {
        let none = vec![0.0; loads.len()];
        let hours = vec![Hour { utility: false, spend: false, fill: false }; loads.len()];
        let made = Made {
            loads: [loads.to_vec(), none.clone(), none.clone()],
            array: none,
            panel: Vec::new(),
            hours,
            step_s: 3600.0,
        };
        simulate(d, &made.series(), stored).unwrap()
    };
    let near =
        |found: f64, expected: f64| assert!((found - expected).abs() < 1e-6, "{found}, expected {expected}");
    // the battery carries the other half hour
    let y = run(&d, &[3000.0, 0.0], 3999.0);
    near(y.served_w[0], 3000.0);
    near(y.generated_w[0], 1500.0);
    near(y.stored_wh[1], 3999.0 - 0.5 * 3060.0 / 0.96);
    near(y.totals.fuel_l, 0.75);
    // it has not enough for that
    near(run(&d, &[3000.0], 3000.0).served_w[0], 0.0);
    // at its floor only a whole step is carried: 3000 W for an hour, not for another half
    let twice = Design { generator: Generator { tank_l: 2.25, ..d.generator }, ..d };
    let y = run(&twice, &[3000.0, 3000.0], 2000.0);
    assert_eq!(y.served_w, [3000.0, 0.0]);
    // both together would give the mean power, but alone the battery does not give 10 kW
    let strong = Converter { rating_w: 12_000.0, ..d.converter };
    let full = Generator { start_wh: 19_999.0, stop_wh: 20_000.0, ..d.generator };
    let d = Design { converter: strong, generator: full, ..d };
    let y = run(&d, &[10_000.0], 19_990.0);
    near(y.served_w[0], 0.0);
}
