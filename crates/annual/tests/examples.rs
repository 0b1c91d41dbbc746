//! The year of an example against laws and against plain stepping.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use std::sync::OnceLock;

use annual::{Asked, Made, Shed, findings, make, outages, year};
use energy::year::{Design, Generator, Hour, Series, Shedding, simulate};
use quantity::Quantity;
use support::{Nothing, with};

const VETERINARY: &str = include_str!("../../../examples/veterinary-practice/site.toml");

/// The veterinary practice by the hour, its daily energy as the assessment has it, and the same by the minute.
fn veterinary() -> &'static (Made, f64, Made) {
    static MADE: OnceLock<(Made, f64, Made)> = OnceLock::new();
    MADE.get_or_init(|| {
        with(VETERINARY, |design, catalog| {
            let made = |step_s| make(design, catalog, &Nothing, Asked { step_s, seed: Some(3) }).unwrap();
            (made(3600.0), design.case.demand.daily_energy.value().si(), made(60.0))
        })
    })
}

fn days_wh(made: &Made) -> Vec<f64> {
    let a_day = (86_400.0 / made.step_s) as usize;
    let [a, b, c] = &made.loads.tiers_w;
    let all: Vec<f64> = a.iter().zip(b).zip(c).map(|((a, b), c)| a + b + c).collect();
    all.chunks(a_day).map(|d| d.iter().sum::<f64>() * made.step_s / 3600.0).collect()
}

/// Winter days have the energy of the assessment's worse season to the watt-hour; none has more; summer days have that
/// of theirs.
fn each_day_has_the_energy_of_the_assessment() {
    let (made, worst_wh, by_minute) = veterinary();
    for made in [made, by_minute] {
        let days = days_wh(made);
        assert_eq!(days.len(), 365);
        for (k, day) in days.iter().enumerate() {
            // April to September
            let summer = (90..273).contains(&k);
            if summer {
                assert!(*day < worst_wh - 1000.0, "day {k}: {day}");
                assert!((day - days[150]).abs() < 1e-6, "day {k}: {day} {}", days[150]);
            } else {
                assert!((day - worst_wh).abs() < 1e-6 * worst_wh, "day {k}: {day} {worst_wh}");
            }
        }
    }
}

fn a_shorter_step_shows_the_same_runs() {
    let (made, _, by_minute) = veterinary();
    for (hours, minutes) in made.loads.tiers_w.iter().zip(&by_minute.loads.tiers_w) {
        for (k, (hour, within)) in hours.iter().zip(minutes.chunks(60)).enumerate() {
            let mean = within.iter().sum::<f64>() / 60.0;
            assert!((hour - mean).abs() < 1e-6, "hour {k}: {hour} {mean}");
        }
    }
}

/// Each start by itself: the year's own stepping with the utility away from the start on, until a step in which less
/// is served than asked for.
fn stepped(made: &Made, tiers: usize, start: usize, stored_wh: f64) -> usize {
    let count = made.array_w.len();
    let round = |column: &[f64]| -> Vec<f64> { (0..count).map(|k| column[(start + k) % count]).collect() };
    let none = vec![0.0; count];
    let [a, b, c] = &made.loads.tiers_w;
    let tier = |k: usize, column: &[f64]| if k < tiers { round(column) } else { none.clone() };
    let (a, b, c) = (tier(0, a), tier(1, b), tier(2, c));
    let array_w = round(&made.array_w);
    let hours = vec![Hour { utility: false, spend: false, fill: false }; count];
    let series = Series {
        step_s: made.step_s,
        loads_w: [&a, &b, &c],
        array_w: &array_w,
        panel_array_w: &[],
        hours: &hours,
    };
    let design = Design { generator: Generator::NONE, shedding: Shedding::NEVER, ..made.design };
    let run = simulate(&design, &series, stored_wh).unwrap();
    let asked = |k: usize| a[k] + b[k] + c[k];
    (0..count).find(|k| run.served_w[*k] < asked(*k) * (1.0 - 1e-9)).unwrap_or(count)
}

fn the_table_of_outages_is_what_plain_stepping_gives() {
    let (made, ..) = veterinary();
    let all = outages(made, &[18.0], &mut |_| true).unwrap().unwrap();
    let mut looked_at = 0;
    for row in all.rows.iter().filter(|r| !r.generator) {
        for start in (0..8760).step_by(173) {
            let plain = stepped(made, row.shed.tiers(), start, all.year.stored_wh[start]);
            assert_eq!(row.carry.steps[start] as usize, plain, "{:?} from {start}", row.shed);
            looked_at += 1;
        }
    }
    assert_eq!(looked_at, 3 * 51);
    // fewer loads are never carried shorter
    let of = |shed: Shed| &all.rows.iter().find(|r| r.shed == shed && !r.generator).unwrap().carry.steps;
    for ((all, first), none) in of(Shed::Nothing).iter().zip(of(Shed::First)).zip(of(Shed::All)) {
        assert!(all <= first && first <= none);
    }
}

fn the_balance_closes_in_every_month_and_over_the_year() {
    for made in [&veterinary().0, &veterinary().2] {
        let year = year(made).unwrap();
        let through = year.columns.totals.throughput_wh();
        assert!(year.residual_wh.abs() < 1e-9 * through, "{} of {through}", year.residual_wh);
        let t = &year.columns.totals;
        let lost = t.converter_loss_wh + t.battery_loss_wh + t.self_discharge_wh;
        let months: f64 = year.months.iter().map(|m| m.lost_wh).sum();
        assert!((months - lost).abs() < 1e-6 * through, "{months} {lost}");
        for m in &year.months {
            assert!(m.lost_wh > 0.0 && m.unserved_wh.abs() < 1e-6 && m.array_used_wh <= m.array_wh + 1e-6);
        }
    }
}

/// In one test, since the design behind them is made once.
#[test]
fn the_year_of_the_veterinary_practice_keeps_its_laws() {
    each_day_has_the_energy_of_the_assessment();
    a_shorter_step_shows_the_same_runs();
    the_table_of_outages_is_what_plain_stepping_gives();
    the_balance_closes_in_every_month_and_over_the_year();
}

#[test]
fn a_missed_wish_is_said_with_changes_that_meet_it() {
    let found = |text: &str| with(text, |design, catalog| findings(design, catalog, &Nothing));
    let battery = "[battery]\nmodel = \"demo-lfp-30k\"\ncount = 8\n";
    let fixed = |text: String| {
        assert!(text.contains("[battery]\ncount = \"choose\"\n"), "the example changed");
        text.replace("[battery]\ncount = \"choose\"\n", battery)
    };
    let short = found(&fixed(VETERINARY.to_owned()));
    let missed = short.iter().find(|f| f.id == "outage-wish-missed").expect("it is missed");
    assert!(!missed.severity.fails() && missed.margin().unwrap() < 0.0);
    let strings: u32 = missed
        .fixes
        .iter()
        .find_map(|f| f.split_once(" battery strings instead of 8: this change alone meets")?.0.parse().ok())
        .unwrap_or_else(|| panic!("no strings named: {:?}", missed.fixes));
    // what it names meets the wish, one less does not
    for (count, meets) in [(strings, true), (strings - 1, false)] {
        let text = fixed(VETERINARY.to_owned()).replace("count = 8", &format!("count = {count}"));
        assert_eq!(!found(&text).iter().any(|f| f.id == "outage-wish-missed"), meets, "{count} strings");
    }
}

/// With none of the battery kept for outages none is carried: no warning, and what mends it is named.
#[test]
fn an_outage_that_is_never_carried_is_an_error() {
    let text =
        VETERINARY.replace("outage_reserve = \"100 %\"", "outage_reserve = \"0 %\"\nown_use_first = true");
    let text = text.replace("automatic = true", "automatic = false");
    let found = with(&text, |design, catalog| findings(design, catalog, &Nothing));
    let missed = found.iter().find(|f| f.id == "outage-wish-missed").expect("it is missed");
    assert!(missed.severity.fails(), "{}", missed.message);
    assert!(missed.fixes[0].contains("outage_reserve"), "{:?}", missed.fixes);
}
