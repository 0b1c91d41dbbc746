use proptest::prelude::*;

use super::carry::composes;
use super::maps::Steps;
use super::tree::Tree;
use super::walk::LANES;
use super::*;
use crate::year::testing::{Made, design, designs, made};
use crate::year::{Columns, Design, Generator, Hour, simulate};

fn composed(d: Design) -> Design {
    let mut d = d;
    d.generator = Generator::NONE;
    d
}

/// One step after the other.
fn brute(steps: &Steps, start: usize, charge: f64, budget: f64, most: usize) -> (usize, f64, f64) {
    let (mut e, mut b) = (charge, budget);
    for k in 0..most {
        match steps.after((start + k) % steps.count(), e, b) {
            Some(next) => (e, b) = next,
            None => return (k, e, b),
        }
    }
    (most, e, b)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(10_000))]

    /// Composed rows say what stepping says, for all walks of a block: the same number of steps, charge and budget to
    /// 1e-9.
    #[test]
    fn composed_is_as_stepped(
        d in designs(), made in made(), quiet in 0.0..1.0_f64, start in any::<prop::sample::Index>(),
        full in prop::array::uniform8(0.0..1.0), wraps in any::<bool>(), tiers in 1usize..4,
    ) {
        let d = composed(d);
        let mut made = made;
        for column in &mut made.loads {
            for load in column.iter_mut() {
                *load *= quiet * quiet;
            }
        }
        let series = made.series();
        let steps = Steps::new(&d, &series, tiers, 1.0);
        let count = steps.count();
        let base = start.index(count) / LANES * LANES;
        let most = std::array::from_fn(|l| if wraps { count } else { count.saturating_sub(base + l) });
        let part = |most: f64| full.iter().take(count - base).map(|f| f * most).collect::<Vec<f64>>();
        let (charges, budgets) = (part(d.battery.capacity_wh), part(d.converter.heat_budget_wh));
        let walks = Tree::new(steps.clone()).walk(&[], base, &charges, &budgets, &most);
        for (l, (walk, (charge, budget))) in walks.iter().zip(charges.iter().zip(&budgets)).enumerate() {
            let (steps, e, b) = brute(&steps, base + l, *charge, *budget, most[l]);
            prop_assert_eq!(walk.steps, steps, "walk {}", l);
            prop_assert_eq!(walk.at, (base + l + steps) % count);
            prop_assert!((walk.charge - e).abs() <= 1e-9 * d.battery.capacity_wh, "{} {}", walk.charge, e);
            prop_assert!((walk.budget - b).abs() <= 1e-9 * d.converter.heat_budget_wh.max(1.0));
        }
    }
}

fn year_of(d: &Design, made: &Made, full: f64) -> Columns {
    simulate(d, &made.series(), full * d.battery.capacity_wh).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    /// The maps and the steps of the year are the same model: with all tiers, a composed outage ends where
    /// the stepped one first fails to serve a tier.
    #[test]
    fn maps_are_the_steps_of_the_year(d in designs(), made in made(), quiet in 0.1..1.0_f64, full in 0.1..1.0) {
        let d = composed(d);
        let mut made = made;
        for column in &mut made.loads {
            for load in column.iter_mut() {
                // a tier without load would count as served though shed
                *load = (*load * quiet).max(1.0);
            }
        }
        let year = year_of(&d, &made, full);
        for end in [YearEnd::Wraps, YearEnd::Censors] {
            let composed = carry_times(&d, &made.series(), &year, 3, end).unwrap();
            let stepped = stepped_carry_times(&d, &made.series(), &year, end, None).unwrap();
            for k in 0..composed.steps.len() {
                let first = stepped.steps.iter().map(|s| s[k]).min().unwrap();
                prop_assert_eq!(composed.steps[k], first, "start {}", k);
            }
        }
    }

    /// From equal charge, a larger battery never carries for a shorter time; nor does a smaller load, more
    /// sun, or fewer tiers.
    #[test]
    fn more_is_never_shorter(
        d in designs(), made in made(), more in 1.0..3.0, less in 0.0..1.0, full in 0.1..1.0,
    ) {
        let d = composed(d);
        let year = year_of(&d, &made, full);
        let base = carry_times(&d, &made.series(), &year, 3, YearEnd::Wraps).unwrap().steps;
        let longer = |other: &Design, made: &Made, tiers| {
            let found = carry_times(other, &made.series(), &year, tiers, YearEnd::Wraps).unwrap().steps;
            found.iter().zip(&base).all(|(a, b)| a >= b)
        };
        let mut large = d;
        large.battery.capacity_wh *= more;
        large.battery.taper_from_wh *= more;
        prop_assert!(longer(&large, &made, 3));
        let mut sunny = d;
        sunny.array_scale *= more;
        prop_assert!(longer(&sunny, &made, 3));
        prop_assert!(longer(&d, &made, 2) && longer(&d, &made, 1));
        let mut quiet = made.clone();
        for column in &mut quiet.loads {
            column.iter_mut().for_each(|l| *l *= less);
        }
        prop_assert!(longer(&d, &quiet, 3));
    }
}

fn flat(load: f64, steps: usize, step_s: f64) -> Made {
    let hours = vec![Hour { utility: true, spend: false, fill: false }; steps];
    Made {
        loads: [vec![load; steps], vec![0.0; steps], vec![0.0; steps]],
        array: vec![0.0; steps],
        panel: Vec::new(),
        hours,
        step_s,
    }
}

/// 20 kWh to a floor of 2 kWh, 1 kW of load: by hand 18000 x 0.96 / (1000 x 1.02 + 1000^2 x 3e-6 + 60) =
/// 15.95 h.
#[test]
fn a_carry_time_by_hand() {
    let mut d = composed(design());
    d.shedding = crate::year::Shedding::NEVER;
    d.battery.self_discharge_per_day = 0.0;
    let made = flat(1000.0, 24 * 60, 60.0);
    let year = year_of(&d, &made, 1.0);
    let carry = carry_times(&d, &made.series(), &year, 3, YearEnd::Wraps).unwrap();
    // charged to full all day: the utility holds the reserve only, so the first start has most
    let hours = 18_000.0 * 0.96 / (1000.0 * 1.02 + 3.0 + 60.0);
    assert_eq!(carry.steps[0], (hours * 60.0) as u32);
    assert_eq!(carry.ended_by[0], Cause::Energy);
    let told = report(&carry, &[8.0, 200.0]).unwrap();
    assert!((told.carried[0].1.value().to_string().parse::<f64>().unwrap() - 1.0).abs() < 1e-9);
    assert_eq!(told.worst_ended_by, Cause::Energy);
    // 13 kW is beyond the peak; 9.9 kW spends 500 Wh above 8 kW in 15.8 minutes, but the battery gives
    // 9 kW
    let hot = |load: f64, limit: f64| {
        let made = flat(load, 600, 60.0);
        let mut d = d;
        d.battery.discharge_limit_w = limit;
        let carry = carry_times(&d, &made.series(), &year_of(&d, &made, 1.0), 3, YearEnd::Wraps).unwrap();
        (carry.steps[0], carry.ended_by[0])
    };
    assert_eq!(hot(13_000.0, 50_000.0), (0, Cause::Power));
    assert_eq!(hot(9900.0, 9000.0), (0, Cause::Power));
    assert_eq!(hot(9900.0, 50_000.0), (15, Cause::Heat));
}

#[test]
fn the_end_of_the_year_is_visible() {
    let d = composed(design());
    let made = flat(100.0, 48, 3600.0);
    let year = year_of(&d, &made, 1.0);
    let censored = carry_times(&d, &made.series(), &year, 1, YearEnd::Censors).unwrap();
    assert_eq!((censored.steps[40], censored.ended_by[40]), (8, Cause::YearEnd));
    let wrapped = carry_times(&d, &made.series(), &year, 1, YearEnd::Wraps).unwrap();
    assert_eq!((wrapped.steps[40], wrapped.ended_by[40]), (48, Cause::WholeYear));
    assert_eq!(report(&censored, &[]).unwrap().censored, 48);
}

/// A generator carries until its tank is empty, then the battery; tiers go one after the other.
#[test]
fn generator_and_shedding_are_stepped() {
    let mut d = design();
    assert!(!composes(&d) && composes(&composed(d)));
    let mut made = flat(2000.0, 240, 900.0);
    made.loads[1] = vec![500.0; 240];
    made.loads[2] = vec![500.0; 240];
    let year = year_of(&d, &made, 0.9);
    assert!(carry_times(&d, &made.series(), &year, 3, YearEnd::Wraps).is_err());
    let long = stepped_carry_times(&d, &made.series(), &year, YearEnd::Wraps, Some(&[0])).unwrap();
    assert_eq!(long.ended_by[0][0], Cause::Fuel);
    assert!(long.steps[2][0] < long.steps[1][0] || long.steps[1][0] < long.steps[0][0], "{:?}", long.steps);
    d.generator = Generator::NONE;
    let short = stepped_carry_times(&d, &made.series(), &year, YearEnd::Wraps, Some(&[0])).unwrap();
    assert_eq!(short.ended_by[0][0], Cause::Energy);
    assert!(short.steps[0][0] < long.steps[0][0]);
    assert!(
        short.steps[2][0] < short.steps[1][0] && short.steps[1][0] < short.steps[0][0],
        "{:?}",
        short.steps
    );
}

/// A heater beyond the peak drops out at once for want of power; what is never shed goes on until the charge is gone.
#[test]
fn each_tier_has_the_cause_of_its_own_end() {
    let mut d = composed(design());
    d.shedding = crate::year::Shedding::NEVER;
    let mut made = flat(1000.0, 240, 900.0);
    made.loads[2] = vec![20_000.0; 240];
    let year = year_of(&d, &made, 1.0);
    let found = stepped_carry_times(&d, &made.series(), &year, YearEnd::Wraps, Some(&[0])).unwrap();
    assert_eq!((found.steps[2][0], found.ended_by[2][0]), (0, Cause::Power));
    assert!(found.steps[0][0] > 40);
    assert_eq!(found.ended_by[0][0], Cause::Energy);
}
