//! Measured demand, and CSV files with mistakes.

mod support;

use demand::{Assessment, Lane, assess};
use quantity::{Leg, Quantity};
use support::{Memory, close, load, site};

const SPLIT: &str = "120/240 V split-phase";

fn measured(csv: &str, loads: &str, more: &str) -> Assessment {
    let rest = format!(
        "[demand]\nmethod = \"measured\"\n[measured]\nfile = \"demand.csv\"\npanel = \"main\"\non_site_generation = false\n{more}"
    );
    let files = Memory([("demand.csv".to_owned(), csv.to_owned())].into());
    assess(&site(SPLIT, loads, &rest), &files, None)
}

/// Rows at quarter hours from midnight.
fn rows(header: &str, values: &[&str]) -> String {
    let mut csv = format!("{header}\n");
    for (k, value) in values.iter().enumerate() {
        csv += &format!("2025-01-{:02}T{:02}:{:02},{value}\n", 1 + k / 96, k / 4 % 24, k % 4 * 15);
    }
    csv
}

#[test]
fn means_over_windows_make_the_curve_and_listed_loads_come_on_top() {
    let csv = rows("start,L1_kw,L2_kw", &["2,1", "6,1", "4,1", "1,3", "1,1"]);
    let light = load("light", "legs = \"L1\"\npower = \"1 kW\"\npower_factor = 1\nruns = \"24 h/day\"");
    let found = measured(&csv, &light, "power_factor = 1.0\n");
    let main = &found.panels["main"];
    let l1 = &main.lanes[&Lane::Leg(Leg::L1)];
    close(l1.steady_power.value(), 7000.0);
    // half an hour: (6 + 4) / 2 kW, and the light
    close(l1.curve[3].power.value(), 6000.0);
    close(main.covered_from.as_ref().unwrap().value(), 900.0);
    // the backup panel was not measured: its loads count
    close(found.panels["backup"].lanes[&Lane::Leg(Leg::L1)].steady_power.value(), 1000.0);
    assert!(found.panels["backup"].covered_from.is_none());
    assert!(found.findings.iter().any(|f| f.id == "measured-no-starts"));
    assert!(found.diagnostics.is_empty());
}

#[test]
fn a_peak_factor_covers_the_seconds() {
    // three hours in all: of a shorter recording the missing time would count at its peak
    let csv = rows("start,L1_kw,L2_kw", &[["2,1", "6,1", "4,1", "1,3"], ["1,1"; 4], ["1,1"; 4]].concat());
    let found = measured(&csv, "", "power_factor = 1.0\nshort_peak_factor = 1.5\n");
    let main = &found.panels["main"];
    assert!(main.covered_from.is_none());
    let curve = &main.lanes[&Lane::Leg(Leg::L1)].curve;
    close(curve[0].power.value(), 9000.0);
    // 9 kW for ten minutes is all the energy of the quarter hour
    close(curve[2].power.value(), 9000.0);
    close(curve[3].power.value(), 5000.0);
}

#[test]
fn motors_inside_the_measured_demand_start_on_top_of_it() {
    let csv = rows("start,L1_kw,L2_kw", &["2,1", "6,1", "4,1", "1,3"]);
    let pump = load(
        "pump",
        "legs = \"L1-L2\"\nin_measured = true\nmotor = { power = \"2 hp\", code_letter = \"G\", start = \"direct\" }\nruns = \"2 h/day\"",
    );
    let found = measured(&csv, &pump, "power_factor = 1.0\n");
    let main = &found.panels["main"];
    // not counted twice
    close(main.lanes[&Lane::Leg(Leg::L1)].steady_power.value(), 6000.0);
    let start = &main.starts[0].legs[&Leg::L1];
    close(start.start_known.value(), 6290.0);
    assert!((start.running_va.norm() - 6000.0).abs() < 1.0);
}

#[test]
fn a_total_alone_is_not_covered() {
    let found = measured(&rows("start,total_kw", &["2", "6", "4"]), "", "power_factor = 1.0\n");
    let finding = found.findings.iter().find(|f| f.id == "measured-legs-unknown").unwrap();
    assert!(finding.severity.fails());
    let main = &found.panels["main"];
    // all of it may be on either leg, but only once
    close(main.lanes[&Lane::Leg(Leg::L2)].steady_power.value(), 6000.0);
    close(main.lanes[&Lane::Total].steady_power.value(), 6000.0);
}

#[test]
fn mistakes_are_told_with_their_lines() {
    let cases = [
        ("start,L1_kw\n2025-01-01T00:00,1\n2025-01-01T00:15,1\n", "leg L2 is missing", 1),
        ("time,L1_kw,L2_kw\n", "first column", 1),
        ("start,L1_kw,L2_kw,note\n", "\"note\" is not known", 1),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,1,1\n2025-01-01T00:15,-1,1\n", "L1_kw is -1", 3),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,1,x\n2025-01-01T00:15,1,1\n", "L2_kw is \"x\"", 2),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,1,1\n2025-01-01T00:15,1\n", "L2_kw is \"\"", 3),
        (
            "start,L1_kw,L2_kw\n2025-01-01T00:00,1,1\n2025-01-01T00:15,1,1\n2025-01-01T00:45,1,1\n",
            "missing",
            4,
        ),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,1,1\n2025-01-01T00:15,1,1\n2025-01-01T00:15,1,1\n", "twice", 4),
        (
            "start,L1_kw,L2_kw\n2025-01-01T00:15,1,1\n2025-01-01T00:30,1,1\n2025-01-01T00:00,1,1\n",
            "earlier",
            4,
        ),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,1,1\n2025-01-01T02:00,1,1\n", "120 min", 3),
        ("start,L1_kw,L2_kw\nyesterday,1,1\n2025-01-01T00:00,1,1\n2025-01-01T00:15,1,1\n", "no time", 2),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,NaN,1\n2025-01-01T00:15,1,1\n", "NaN", 2),
        ("start,total_a\n2025-01-01T00:00,1\n2025-01-01T00:15,1\n", "amperes", 1),
        ("start,L1_kw,L2_kw\n2025-01-01T00:00,1,1\n", "fewer than two", 1),
    ];
    for (csv, expected, line) in cases {
        let found = measured(csv, "", "");
        let place = |d: &reading::Diagnostic| d.place.as_ref().map(|p| p.line);
        let hit = found.diagnostics.iter().find(|d| d.message.contains(expected));
        assert_eq!(hit.map(place), Some(Some(line)), "{expected}: {:?}", found.diagnostics);
        assert!(found.service.is_none());
        assert!(found.findings.iter().any(|f| f.id == "measured-unusable" && f.severity.fails()));
    }
    let none = assess(
        &site(
            SPLIT,
            "",
            "[demand]\nmethod = \"measured\"\n[measured]\nfile = \"no.csv\"\npanel = \"main\"\non_site_generation = false\n",
        ),
        &Memory::default(),
        None,
    );
    assert!(none.diagnostics.iter().any(|d| d.message.contains("no.csv") && d.place.is_some()));
}

#[test]
fn a_measured_load_runs_as_its_series_says() {
    let oven = load("oven", "legs = \"L1\"\npower = \"4 kW\"\npower_factor = 1\nseries = \"oven.csv\"");
    let csv = rows("start,L1_kw,L2_kw", &[["0,0", "2,0", "4,0", "0,0"], ["0,0"; 4], ["0,0"; 4]].concat());
    let files = Memory([("oven.csv".to_owned(), csv)].into());
    let found = assess(&site(SPLIT, &oven, ""), &files, None);
    let curve = &found.panels["backup"].lanes[&Lane::Leg(Leg::L1)].curve;
    close(curve[2].power.value(), 4000.0);
    close(curve[3].power.value(), 3000.0);
    let small = load("oven", "legs = \"L1\"\npower = \"3 kW\"\npower_factor = 1\nseries = \"oven.csv\"");
    let found = assess(&site(SPLIT, &small, ""), &files, None);
    assert!(found.findings.iter().any(|f| f.id == "series-above-size" && f.severity.fails()));
}

/// The same demand as a total in CSV and as the feed of a meter comes to the same.
#[test]
fn a_meters_feed_is_assessed_like_the_csv_of_it() {
    let means = [2, 6, 4, 1, 3, 1];
    let rows = rows("start,total_kw", &means.map(|kw| kw.to_string()).each_ref().map(String::as_str));
    // 2025-01-01T00:00 in local standard time, one hour east
    let start = 1_735_686_000;
    let readings: String = (0..)
        .zip(means)
        .map(|(k, kw)| {
            let (from, wh) = (start + 900 * k, 250 * kw);
            format!(
                "<IntervalReading><timePeriod><duration>900</duration><start>{from}</start></timePeriod>\
                 <value>{wh}</value></IntervalReading>"
            )
        })
        .collect();
    let xml = format!(
        "<feed><entry><content><LocalTimeParameters><tzOffset>3600</tzOffset></LocalTimeParameters></content>\
         </entry><entry><content><ReadingType><uom>72</uom></ReadingType></content></entry>\
         <entry><content><IntervalBlock>{readings}</IntervalBlock></content></entry></feed>"
    );
    let with = |name: &str, text: &str| {
        let rest = format!(
            "[demand]\nmethod = \"measured\"\n[measured]\nfile = \"{name}\"\npanel = \"main\"\n\
             on_site_generation = false\npower_factor = 0.9\n"
        );
        let files = Memory([(name.to_owned(), text.to_owned())].into());
        assess(&site(SPLIT, "", &rest), &files, None)
    };
    let (csv, xml) = (with("demand.csv", &rows), with("demand.xml", &xml));
    assert!(csv.diagnostics.is_empty() && xml.diagnostics.is_empty(), "{:?}", xml.diagnostics);
    let curve = |found: &Assessment| -> Vec<(f64, f64)> {
        let lane = &found.panels["main"].lanes[&Lane::Leg(Leg::L1)];
        let point = |p: &demand::DurationDemand| (p.power.value().si(), p.apparent.value().si());
        lane.curve.iter().map(point).collect()
    };
    assert_eq!(curve(&csv), curve(&xml));
    assert!(curve(&csv).iter().any(|(w, _)| *w > 5999.0));
}
