//! Years by hand.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use annual::{Asked, DAYS, Loads, Made, costs, findings, make, year};
use derivation::Known;
use energy::year::{Battery, Converter, Design, Generator, Hour, PanelArray, Shedding, Utility};
use finding::Severity;
use quantity::{Quantity, Ratio};
use support::{Nothing, replaced, site, with};

const FIELD_STATION: &str = include_str!("../../../examples/field-station/site.toml");
const VETERINARY: &str = include_str!("../../../examples/veterinary-practice/site.toml");
const STEPS: usize = DAYS * 24;

#[track_caller]
fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-9 * expected.abs().max(1.0), "{found}, expected {expected}");
}

/// A kilowatt at every hour; 3 kW behind the controllers from 9 to 15 h; 2 % lost in the converter, nothing else; all of
/// the battery kept for outages.
fn even() -> Made {
    let design = Design {
        battery: Battery {
            capacity_wh: 10_000.0,
            floor_wh: 1000.0,
            reserve_wh: 10_000.0,
            charge_limit_w: 5000.0,
            discharge_limit_w: 5000.0,
            charge_efficiency: 0.95,
            discharge_efficiency: 0.95,
            taper_from_wh: 10_000.0,
            holds_w_per_wh: Battery::ANY_CHARGE_W_PER_WH,
            self_discharge_per_day: 0.0,
        },
        converter: Converter {
            rating_w: 6000.0,
            peak_w: 6000.0,
            heat_budget_wh: 0.0,
            heat_recovery: 0.0,
            idle_w: 0.0,
            loss_per_w: 0.02,
            loss_per_w2: 0.0,
            charger_limit_w: 3000.0,
        },
        array_scale: 1.0,
        panel_array: PanelArray::NONE,
        utility: Utility { input_limit_w: 9000.0, relay_limit_w: 9000.0, export_limit_w: 5000.0 },
        generator: Generator::NONE,
        shedding: Shedding::NEVER,
    };
    let sun = (0..STEPS).map(|k| if (9..15).contains(&(k % 24)) { 3000.0 } else { 0.0 });
    Made {
        design,
        step_s: 3600.0,
        seed: 1,
        loads: Loads {
            tiers_w: [vec![1000.0; STEPS], vec![0.0; STEPS], vec![0.0; STEPS]],
            ..Loads::default()
        },
        array_w: sun.collect(),
        panel_array_w: Vec::new(),
        main_array_w: Vec::new(),
        arrays: Vec::new(),
        arrays_left_out: Vec::new(),
        bank: (String::new(), 1),
        hours: vec![Hour { utility: true, spend: false, fill: false }; STEPS],
        figures: Vec::new(),
        notes: Vec::new(),
        passes: "transfer relays",
        leg_a_per_w: 0.0,
        helps: true,
        loads_over_limit: 0,
    }
}

/// The example's site with a flat price of 0.30 and 0.10 for what is sold.
fn priced() -> site::Site {
    let tariff = "[tariff]\ncurrency = \"USD\"\nenergy = 0.30\nexport = 0.10\n";
    site(&format!("{FIELD_STATION}\n{tariff}"))
}

fn money(value: f64) -> Known<Ratio> {
    Known::assumed("I", "parts", Ratio::of(value), "for the test")
}

/// In the sun 3000 W make 3000/1.02 = 2941.18 W, of which 1941.18 W are sold, 6 h of each day; the other 18 h are
/// bought. A year costs 6570 x 0.30 - 4251.18 x 0.10 = 1545.88 instead of 2628: 5000 of parts are back in 4.62 years.
#[test]
fn a_year_and_its_payback_by_hand() {
    let made = even();
    let found = year(&made).unwrap();
    let (bought, sold) = (18.0 * 365.0 * 1000.0, (3000.0 / 1.02 - 1000.0) * 6.0 * 365.0);
    let of = |f: &dyn Fn(&annual::Month) -> f64| found.months.iter().map(f).sum::<f64>();
    near(of(&|m| m.load_wh), 8_760_000.0);
    near(of(&|m| m.bought_wh), bought);
    near(of(&|m| m.sold_wh), sold);
    near(of(&|m| m.lost_wh), (3000.0 - 3000.0 / 1.02) * 6.0 * 365.0);
    near(found.months[1].bought_wh, 18.0 * 28.0 * 1000.0);
    near(found.discharged_wh + found.hours_empty + found.hours_unserved, 0.0);
    let with = bought / 1000.0 * 0.30 - sold / 1000.0 * 0.10;
    assert!((with - 1545.88).abs() < 0.01);
    let costed = costs(&priced(), &made, &found, Some((money(5000.0), "USD"))).unwrap().unwrap();
    near(costed.with.total, with);
    near(costed.without.unwrap().total, 2628.0);
    let payback = costed.payback.unwrap();
    near(payback.simple_years.value().si(), 5000.0 / (2628.0 - with));
    assert!((payback.simple_years.value().si() - 4.62).abs() < 0.01);
    // 1082.12 less 0.5 % each year at 4 %: after five years 4770, after six 5588
    assert_eq!(payback.discounted_years, Some(6));
    // in another currency nothing is compared
    let other = costs(&priced(), &made, &found, Some((money(5000.0), "EUR"))).unwrap().unwrap();
    assert!(other.payback.is_none() && other.parts.is_none());
}

/// 12 kW for an hour a day through 9 kW, with all of the battery kept: 365 hours over.
#[test]
fn hours_over_the_limit_are_counted() {
    let mut made = even();
    for k in (12..STEPS).step_by(24) {
        made.loads.tiers_w[0][k] = 12_000.0;
        made.array_w[k] = 0.0;
    }
    assert_eq!(year(&made).unwrap().over_limit_steps, 365);
    // half of the battery may help: 3 kW, nothing is over
    made.design.battery.reserve_wh = 2000.0;
    assert_eq!(year(&made).unwrap().over_limit_steps, 0);
    // units that cannot help one leg leave it to the utility
    (made.helps, made.loads_over_limit) = (false, 365);
    assert_eq!(year(&made).unwrap().over_limit_steps, 365);
}

/// Off grid without sun: 5 kWh for a kilowatt last 5 h at most, and the year finds all of the rest missing. A tariff is
/// no reason to refuse it.
#[test]
fn off_grid_nothing_that_is_missing_counts_as_fine() {
    let mut made = even();
    made.hours.fill(Hour { utility: false, spend: false, fill: false });
    let found = year(&made).unwrap();
    // 3 kW from 9 to 15 h: 1020 W go to the load, 1980 W into the battery, so 9 kWh of 18 h are served
    let missing = found.summary.unserved.value().si();
    let night = (9000.0 * 0.95 / 1020.0_f64).floor();
    near(missing, (18.0 - night) * 365.0 * 1000.0);
    near(found.hours_unserved, (18.0 - night) * 365.0);
    assert_eq!(found.first_unserved, Some(0));
    // from 15 h on the battery is full: 8 h with nothing coming in; from 23 h on it carries nothing
    let carried = annual::outages(&made, &[8.0], &mut |_| true).unwrap().unwrap();
    let steps = &carried.rows[0].carry.steps;
    assert_eq!((steps[15], steps[19], steps[23], steps[9]), (8, 4, 0, 0));
    let costed = costs(&priced(), &made, &found, Some((money(5000.0), "USD"))).unwrap().unwrap();
    assert!(costed.without.is_none() && costed.payback.is_none());
    near(costed.with.total, 0.0);
}

#[test]
fn the_field_station_holds_by_its_array_alone() {
    let unserved = |text: &str| {
        with(text, |design, catalog| {
            findings(design, catalog, &Nothing)
                .into_iter()
                .find(|f| f.id == "year-unserved")
                .map(|f| f.severity)
        })
    };
    assert_eq!(unserved(FIELD_STATION), None);
    let (before, rest) = FIELD_STATION.split_once("[[array]]").unwrap();
    let dark = format!("{before}[wish]{}", rest.split_once("[wish]").unwrap().1);
    assert_eq!(unserved(&dark), Some(Severity::Error));
}

/// No outage is wished, and a figure of the battery is missing: that the year was not run is said.
#[test]
fn what_keeps_the_year_from_running_is_said_without_a_wish() {
    let text = replaced(FIELD_STATION, "outage = \"36 h\"\n", "");
    let text = replaced(&text, "lowest = \"10 degC\"\n", "");
    let found = with(&text, |design, catalog| findings(design, catalog, &Nothing));
    assert!(found.iter().any(|f| f.id == "year-not-covered" && f.severity.fails()), "{found:?}");
}

/// The year has the modules and controllers of the design, and of a power wished for as many as the strings hold.
#[test]
fn arrays_are_those_of_the_design() {
    let text = replaced(FIELD_STATION, "modules = 12\n", "modules = \"choose\"\npower = \"5.2 kW\"\n");
    with(&text, |design, catalog| {
        let made = make(design, catalog, &Nothing, Asked { step_s: 3600.0, seed: None }).unwrap();
        let layout = design.arrays["terrace"];
        let counted = &made.arrays[0];
        assert_eq!((counted.modules, counted.devices), (layout.modules(), layout.devices));
        // 11 modules would be 4.95 kW
        assert!(counted.modules >= 12, "{counted:?}");
    });
}

/// The same sun on the main panel: it stands for the kilowatt of the backup panel from 9 to 15 h, and the rest is sold.
#[test]
fn an_array_on_the_main_panel_by_hand() {
    let mut made = even();
    made.main_array_w = std::mem::replace(&mut made.array_w, vec![0.0; STEPS]);
    let found = year(&made).unwrap();
    let of = |f: &dyn Fn(&annual::Month) -> f64| found.months.iter().map(f).sum::<f64>();
    near(of(&|m| m.bought_wh), 18.0 * 365.0 * 1000.0);
    near(of(&|m| m.sold_wh), 2000.0 * 6.0 * 365.0);
    near(of(&|m| m.array_wh), 3000.0 * 6.0 * 365.0);
    near(of(&|m| m.lost_wh), 0.0);
    assert!(found.residual_wh.abs() < 1e-3);
    // in an outage it gives nothing: 9 kWh last 8 h at any hour
    let carried = annual::outages(&made, &[], &mut |_| true).unwrap().unwrap();
    assert!(carried.rows[0].carry.steps.iter().all(|s| *s == 8));
}

/// On another fuel it gives 80 % of its rating, wherever that counts.
#[test]
fn a_generator_gives_less_on_another_fuel() {
    let power = |text: &str| {
        with(text, |design, catalog| {
            let made = make(design, catalog, &Nothing, Asked { step_s: 3600.0, seed: None }).unwrap();
            (
                made.design.generator.power_w,
                design.case.settings.generator_limit.as_ref().map(|l| l.value().si()),
            )
        })
    };
    let other = replaced(VETERINARY, "[generator]\n", "[generator]\nfuel_rating = \"80 %\"\n");
    let (all, less) = (power(VETERINARY), power(&other));
    near(less.0, 0.8 * all.0);
    assert!(less.1 < all.1, "{all:?} {less:?}");
}

/// Lead-acid is not drawn below half: a start level of 40 % is never reached, and the one that is assumed lies higher.
#[test]
fn a_generator_starts_above_the_charge_that_is_never_drawn() {
    let lead = |generator: &str| {
        let base = replaced(
            VETERINARY,
            "[battery]\ncount = \"choose\"\n",
            "[battery]\nmodel = \"LEAD\"\ncount = 3\n",
        );
        replaced(&base, "[generator]\n", &format!("[generator]\n{generator}"))
    };
    let id = with(VETERINARY, |_, catalog| {
        catalog.batteries.values().find(|b| (b.usable.si() - 0.5).abs() < 1e-9).map(|b| b.id.clone()).unwrap()
    });
    let look = |generator: &str| {
        with(&lead(generator).replace("LEAD", &id), |design, catalog| {
            let made = make(design, catalog, &Nothing, Asked { step_s: 3600.0, seed: None }).unwrap();
            let found = findings(design, catalog, &Nothing);
            let d = &made.design;
            let never =
                found.iter().any(|f| f.id == "generator-never-starts" && f.severity == Severity::Error);
            (d.generator.start_wh > d.battery.floor_wh, never)
        })
    };
    assert_eq!(look(""), (true, false));
    assert_eq!(look("start_below = \"40 %\"\n"), (false, true));
}
