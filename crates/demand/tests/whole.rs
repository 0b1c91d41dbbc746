//! All loads of a site, and those beside the group's panel.

mod support;

use demand::{Assessment, Lane, PanelDemand, assess};
use quantity::{Leg, Quantity};
use support::{Memory, assessed, close, load, site};

const SPLIT: &str = "120/240 V split-phase";

fn on_main(name: &str, more: &str) -> String {
    load(name, more).replace("\"backup\"", "\"main\"")
}

#[allow(clippy::unwrap_used, reason = "only tests call it")]
fn amps(panel: Option<&PanelDemand>, leg: Leg) -> f64 {
    panel.unwrap().lanes[&Lane::Leg(leg)].steady_current.value().si()
}

#[test]
fn loads_beside_the_backup_tree_are_told_apart() {
    let sub = "[[panel]]\nid = \"barn\"\nfed_from = \"backup\"\n[[panel]]\nid = \"yard\"\n";
    let barn = load("barn heater", "legs = \"L1\"\ncurrent = \"7 A\"\nruns = \"1 h/day\"")
        .replace("\"backup\"", "\"barn\"");
    let yard = load("yard pump", "legs = \"L1\"\ncurrent = \"3 A\"\nruns = \"1 h/day\"")
        .replace("\"backup\"", "\"yard\"");
    let loads = load("a", "legs = \"L1\"\ncurrent = \"20 A\"\nruns = \"1 h/day\"")
        + &on_main("oven", "legs = \"L1\"\ncurrent = \"40 A\"\nruns = \"24 h/day\"")
        + &barn
        + &yard
        + sub;
    let found = assessed(SPLIT, &loads, "");
    let (whole, beside) = (found.whole.as_ref(), found.beside.as_ref());
    assert_eq!(whole.unwrap().panel, "service");
    assert_eq!(beside.unwrap().panel, "beside the backup panel");
    // main does not feed the yard, so no one panel holds all
    close(whole.unwrap().neutral.value(), 70.0);
    assert!((amps(whole, Leg::L1) - 70.0).abs() < 1e-6 && amps(whole, Leg::L2).abs() < 1e-9);
    assert!((amps(beside, Leg::L1) - 43.0).abs() < 1e-6);
    let service = found.service.unwrap();
    // the oven is continuous: 40 A · 1.25; the heater, the pump and "a" are not
    close(service.legs[&Leg::L1].value(), 80.0);
    close(service.legs[&Leg::L2].value(), 0.0);
    close(service.beside[&Leg::L1].value(), 53.0);
    close(service.current.value(), 80.0);
}

#[test]
fn nothing_beside_the_backup_panel_is_zero_and_not_unknown() {
    let found = assessed(SPLIT, &load("a", "legs = \"L1\"\ncurrent = \"20 A\"\nruns = \"1 h/day\""), "");
    assert!(amps(found.beside.as_ref(), Leg::L1).abs() < 1e-9);
    close(found.beside.as_ref().unwrap().connected.value(), 0.0);
    assert!((amps(found.whole.as_ref(), Leg::L1) - 20.0).abs() < 1e-6);
    close(found.service.unwrap().beside[&Leg::L2].value(), 0.0);
}

fn measured(panel: &str, file: Option<&str>) -> Assessment {
    let rest = format!(
        "[demand]\nmethod = \"measured\"\n[measured]\nfile = \"year.csv\"\npanel = \"{panel}\"\non_site_generation = false\n"
    );
    let loads = on_main("oven", "legs = \"L1\"\ncurrent = \"40 A\"\nruns = \"1 h/day\"");
    let mut files = Memory::default();
    files.0.extend(file.map(|text| ("year.csv".to_owned(), text.to_owned())));
    assess(&site(SPLIT, &loads, &rest), &files, None)
}

#[test]
fn a_record_above_the_group_does_not_tell_what_is_beside_it() {
    let csv = "start,L1_kw,L2_kw\n2025-01-01T00:00,3,2\n2025-01-01T00:15,1,1\n";
    let above = measured("main", Some(csv));
    assert!(above.beside.is_none() && above.whole.is_some());
    let own = measured("backup", Some(csv));
    assert!((amps(own.beside.as_ref(), Leg::L1) - 40.0).abs() < 1e-6);
    let unread = measured("backup", None);
    // what is beside the record is known even when the record is not
    assert!(unread.whole.is_none() && unread.beside.is_some());
}
