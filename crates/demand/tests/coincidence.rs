//! What may run together, for how long, and in which season, by hand.

mod support;

use demand::assess;
use quantity::{Angle, Duration, Leg, Power, Quantity};
use reading::Placed;
use support::{Memory, assessed, backup, close, leg, load, site, total};

const SPLIT: &str = "120/240 V split-phase";

#[test]
fn loads_that_exclude_each_other_never_add_up_but_may_take_turns() {
    let loads =
        load("pump", "legs = \"L1\"\npower = \"2 kW\"\nruns = \"1 h/day\"\nnever_with = [\"heater\"]")
            + &load("heater", "legs = \"L1\"\npower = \"3 kW\"\nruns = \"1 h/day\"")
            + &load("light", "legs = \"L1\"\npower = \"1 kW\"\nruns = \"24 h/day\"");
    let found = assessed(SPLIT, &loads, "");
    close(leg(&found, Leg::L1).steady_power.value(), 4000.0);
    close(backup(&found).connected.value(), 6000.0);
    let curve = &leg(&found, Leg::L1).curve;
    close(curve[3].power.value(), 4000.0);
    // in three hours the heater runs one, the pump another: (3 + 2) / 3 + 1
    close(curve[4].power.value(), 1000.0 + 5000.0 / 3.0);
}

#[test]
fn no_more_instances_run_than_may_at_once() {
    let loads =
        load("charger", "count = 4\nat_once = 2\nlegs = \"any\"\npower = \"3 kW\"\nruns = \"2 h/day\"");
    let found = assessed(SPLIT, &loads, "");
    close(total(&found).steady_power.value(), 6000.0);
    // two on each leg, and both that run may be on one leg
    close(leg(&found, Leg::L1).steady_power.value(), 6000.0);
    // four chargers of two hours each, two at once: four hours of 6 kW
    close(total(&found).curve[4].power.value(), 6000.0);
    close(backup(&found).daily_energy.value(), 24_000.0);
}

#[test]
fn summer_and_winter_loads_never_share_a_window() {
    let loads =
        load("cooling", "legs = \"L1-L2\"\npower = \"4 kW\"\nruns = \"10 h/day\"\nseason = \"summer\"")
            + &load("heating", "legs = \"L1-L2\"\npower = \"6 kW\"\nruns = \"5 h/day\"\nseason = \"winter\"")
            + &load("light", "legs = \"L1\"\npower = \"1 kW\"\nruns = \"3 h/day\"");
    let found = assessed(SPLIT, &loads, "");
    close(total(&found).steady_power.value(), 7000.0);
    close(total(&found).curve[4].power.value(), 7000.0);
    close(backup(&found).daily_energy.value(), 43_000.0);
    // January: (30 + 3) kWh x 31; July: (40 + 3) kWh x 31
    close(backup(&found).monthly[0].value(), 33_000.0 * 31.0);
    close(backup(&found).monthly[6].value(), 43_000.0 * 31.0);
    assert!(found.assumptions.iter().any(|a| a.what.contains("summer")));
}

/// South of the equator January is summer: cooling then, heating in July.
#[test]
fn seasons_turn_round_south_of_the_equator() {
    let loads =
        load("cooling", "legs = \"L1-L2\"\npower = \"4 kW\"\nruns = \"10 h/day\"\nseason = \"summer\"")
            + &load("heating", "legs = \"L1-L2\"\npower = \"6 kW\"\nruns = \"5 h/day\"\nseason = \"winter\"");
    let mut site = site(SPLIT, &loads, "");
    let place = site.altitude.place.clone();
    let at = |latitude: f64| site::Position {
        latitude: Placed { value: Angle::of(latitude), place: place.clone() },
        longitude: Placed { value: Angle::of(20.0), place: place.clone() },
        utc_offset: Placed { value: Duration::of(3600.0), place: place.clone() },
    };
    for (latitude, january, july) in [(33.0, 30_000.0, 40_000.0), (-33.0, 40_000.0, 30_000.0)] {
        site.position = Some(at(latitude));
        let found = assess(&site, &Memory::default(), None);
        close(backup(&found).monthly[0].value(), january * 31.0);
        close(backup(&found).monthly[6].value(), july * 31.0);
        let said = if latitude < 0.0 { "October to March" } else { "April to September" };
        assert!(found.assumptions.iter().any(|a| a.what.contains(said)));
    }
}

#[test]
fn runs_and_pauses_thin_out_the_longer_durations() {
    let loads = load(
        "compressor",
        "legs = \"L1\"\npower = \"1.2 kW\"\nruns = \"8 h/day\"\nlasts = \"10 min\"\nrests = \"20 min\"",
    );
    let curve = leg(&assessed(SPLIT, &loads, ""), Leg::L1).curve.clone();
    close(curve[2].power.value(), 1200.0);
    close(curve[3].power.value(), 400.0);
    close(curve[4].power.value(), 400.0);
}

#[test]
fn time_above_a_threshold_by_hand() {
    let loads = load("light", "legs = \"L1\"\npower = \"1 kW\"\nruns = \"24 h/day\"")
        + &load("kettle", "legs = \"L1\"\npower = \"2 kW\"\nruns = \"0.5 h/day\"");
    let found = assessed(SPLIT, &loads, "");
    let lane = leg(&found, Leg::L1);
    let day = Duration::of(86_400.0);
    close(lane.time_above(Power::of(3000.0), day), 0.0);
    // above 2.9 kW: the light taken as always on, so only while the kettle is
    close(lane.time_above(Power::of(2900.0), day), 1800.0);
    close(lane.time_above(Power::of(900.0), day), 86_400.0);
    // twice the load, twice the threshold: the same time
    close(lane.scaled(2.0).time_above(Power::of(5800.0), day), 1800.0);
    close(lane.scaled(2.0).steady_power.value(), 6000.0);
    assert!(lane.windows().iter().any(|w| (w.si() - 1800.0).abs() < 1e-6));
}

#[test]
fn the_order_of_the_file_changes_nothing() {
    let parts = [
        load(
            "pump",
            "legs = \"any pair\"\nmotor = { power = \"1 hp\", code_letter = \"J\", start = \"direct\" }\nruns = \"2 h/day\"\nnever_with = [\"heater\"]",
        ),
        load("heater", "legs = \"any pair\"\npower = \"3.3 kW\"\nruns = \"3 h/day\"\nseason = \"winter\""),
        load(
            "lights",
            "count = 7\nlegs = \"any\"\npower = \"310 W\"\npower_factor = 0.93\nthird_harmonic = 0.3\nruns = \"6 h/day\"",
        ),
        load("fan", "legs = \"any\"\nmotor = { power = \"1/3 hp\", start = \"direct\" }\nruns = \"6 h/day\""),
        load("sockets", "count = 3\nat_once = 2\nlegs = \"any\"\ncurrent = \"7 A\"\nruns = \"4 h/day\""),
    ];
    let in_order: String = parts.concat();
    let reversed: String = parts.iter().rev().cloned().collect();
    for kind in [SPLIT, "120/208 V wye"] {
        let (a, b) = (assessed(kind, &in_order, ""), assessed(kind, &reversed, ""));
        assert_eq!(figures(&a), figures(&b));
    }
}

/// Every figure with all its digits.
fn figures(assessment: &demand::Assessment) -> String {
    use std::fmt::Write as _;
    let mut out = String::new();
    for panel in assessment.panels.values() {
        let _ = write!(out, "{} {:?} {:?}", panel.panel, panel.neutral.value(), panel.unbalance.value());
        let _ = write!(out, "{:?} {:?}", panel.daily_energy.value(), panel.balance);
        for (lane, d) in &panel.lanes {
            let _ = write!(out, "{lane} {:?} {:?}", d.steady_power.value(), d.steady_apparent.value());
            let _ = write!(out, "{:?} {:?}", d.steady_current.value(), d.peak_current.value());
            for point in &d.curve {
                let _ = write!(out, "{:?} {:?}", point.power.value(), point.apparent.value());
            }
            let _ = write!(out, "{:?}", d.time_above(Power::of(700.0), Duration::of(7000.0)));
        }
        for start in &panel.starts {
            let _ = write!(out, "{} {:?}", start.name, start.loads);
            for leg in start.legs.values() {
                let _ = write!(out, "{} {}", leg.start_va, leg.running_va);
            }
        }
    }
    for finding in &assessment.findings {
        let _ = write!(out, "{} {}", finding.id, finding.message);
    }
    for assumption in &assessment.assumptions {
        let _ = write!(out, "{}", assumption.line());
    }
    out
}

#[test]
fn stages_add_their_loads_when_they_are_reached() {
    let loads = load("light", "legs = \"L1\"\npower = \"1 kW\"\nruns = \"24 h/day\"")
        + &load("car", "legs = \"L1\"\npower = \"2 kW\"\nruns = \"4 h/day\"\nstage = \"car\"")
        + &load("spa", "legs = \"L1\"\npower = \"4 kW\"\nruns = \"4 h/day\"\nstage = \"spa\"");
    let rest = "[[stage]]\nid = \"car\"\nafter_years = 2\n[[stage]]\nid = \"spa\"\nafter_years = 5\n";
    let site = site(SPLIT, &loads, rest);
    let at = |stage| total(&assess(&site, &Memory::default(), stage)).steady_power.value();
    close(at(None), 1000.0);
    close(at(Some("car")), 3000.0);
    close(at(Some("spa")), 7000.0);
    let unknown = assess(&site, &Memory::default(), Some("pool"));
    assert!(unknown.findings.iter().any(|f| f.id == "stage-unknown" && f.severity.fails()));
    close(total(&unknown).steady_power.value(), 7000.0);
}

#[test]
fn lifeline_loads_are_refused_on_any_panel() {
    let loads = "[[load]]\nname = \"exit signs\"\npanel = \"main\"\nlegs = \"L1\"\npower = \"50 W\"\n\
                 runs = \"24 h/day\"\nclass = \"emergency\"\n";
    let found = assessed(SPLIT, loads, "");
    let finding = found.findings.iter().find(|f| f.id == "lifeline-load").unwrap();
    assert!(finding.severity.fails());
    let (place, _) = finding.place.as_ref().unwrap();
    assert!(place.line > 1);
    assert!(finding.clause.as_ref().unwrap().contains("700"));
}

/// 10 min on, 10 min off, allowed for 30 min and whole again after 20 min: the most that is ever spent is one run, a
/// third. Spending within a window is held against what recovers within the window before it.
#[test]
fn windows_are_dense_enough_for_what_recovers_between_runs() {
    let text = "legs = \"L1\"\npower = \"6.4 kW\"\npower_factor = 1\nruns = \"4 h/day\"\nlasts = \"10 min\"\nrests = \"10 min\"";
    let found = assessed(SPLIT, &load("a", text), "");
    let lane = leg(&found, Leg::L1);
    let above_s = |window: Duration| lane.time_above(Power::of(5000.0), window).si();
    let mut worst = 0.0f64;
    for pair in lane.windows().windows(2) {
        let recovered = (pair[0].si() - above_s(pair[0])) / 1200.0;
        worst = worst.max(above_s(pair[1]) / 1800.0 - recovered);
    }
    assert!((0.333..0.36).contains(&worst), "{worst}");
}
