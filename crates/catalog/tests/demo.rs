//! The demo catalogue reads without a mistake, and the schema knows all that it uses.

use std::collections::BTreeSet;

use catalog::{demo, demo_sources, schema};
use serde_json::Value;

#[test]
fn the_demo_catalogue_reads_without_a_mistake() {
    let (catalog, mistakes) = demo();
    let sources = demo_sources();
    let shown: Vec<String> = mistakes.iter().map(|m| reading::render(m, &sources, false)).collect();
    assert!(shown.is_empty(), "{}", shown.join("\n\n"));
    let catalog = catalog.unwrap();
    assert_eq!(catalog.currency, "USD");
    let units: Vec<&str> = catalog.units.keys().map(String::as_str).collect();
    let expected =
        ["demo-230-3k", "demo-230-5k", "demo-leg-3k6", "demo-line-6k", "demo-split-10k", "demo-split-5k4"];
    assert_eq!(units, expected);
}

/// Records that demo sites and other tests rely on by what they say, or on purpose do not say.
#[test]
fn what_the_demo_catalogue_leaves_open_stays_open() {
    let catalog = demo().0.unwrap();
    assert_eq!(catalog.units["demo-line-6k"].relay.breaking, None);
    assert_eq!(catalog.units["demo-line-6k"].reconnect_latest, None);
    assert_eq!(catalog.units["demo-230-3k"].export.highest, None);
    assert!(catalog.units["demo-230-3k"].second_input.is_none());
    let switches = &catalog.transfer_switches;
    assert_eq!(switches["demo-ats-240-200-solid"].to_first.latest, None);
    assert_eq!(switches["demo-ats-240-200-solid"].auxiliary_contacts, 0);
    assert!(switches["demo-ats-240-125-solid"].to_first.latest.is_some());
}

/// Every pole count and rating that a transfer switch has is there for bypass gear of both kinds too.
#[test]
fn every_transfer_switch_has_a_bypass_of_each_kind_beside_it() {
    let catalog = demo().0.unwrap();
    assert!(catalog.transfer_switches.len() >= 22);
    for switch in catalog.transfer_switches.values() {
        for kind in [catalog::BypassKind::InterlockedBreakers, catalog::BypassKind::ManualSwitch] {
            let fits = catalog
                .bypasses
                .values()
                .any(|b| b.kind == kind && b.rating == switch.rating && b.systems == switch.systems);
            assert!(fits, "{kind:?} beside {}", switch.id);
        }
    }
}

#[test]
fn the_schema_lists_every_key_of_the_demo_catalogue() {
    let schema = schema();
    let mut checked = BTreeSet::new();
    for source in demo_sources() {
        let table: toml::Table = source.text().parse().unwrap();
        keys_in_schema(&toml::Value::Table(table), &schema, "", &mut checked);
    }
    // a walk that saw nothing would prove nothing
    for path in [".unit.relay.fault.behind_breaker", ".unit.pass_through.new.lowest", ".generator.full_to"] {
        assert!(checked.contains(path), "{path} was not walked over: {checked:?}");
    }
}

fn keys_in_schema(value: &toml::Value, schema: &Value, path: &str, checked: &mut BTreeSet<String>) {
    match value {
        toml::Value::Table(table) => {
            assert_eq!(schema["additionalProperties"], false, "{path} is open to any key");
            for (key, inner) in table {
                let path = format!("{path}.{key}");
                let known = &schema["properties"][key.as_str()];
                assert!(known["description"].is_string(), "the schema does not describe {path}");
                keys_in_schema(inner, known, &path, checked);
                checked.insert(path);
            }
        }
        toml::Value::Array(items) => {
            assert_eq!(schema["type"], "array", "{path}");
            items.iter().for_each(|item| keys_in_schema(item, &schema["items"], path, checked));
        }
        _ => {}
    }
}

/// The record that the README shows to people reads as it stands.
#[test]
fn the_example_of_the_readme_reads() {
    let readme = include_str!("../../../catalog/README.md");
    let example = readme.split("```toml\n").nth(1).and_then(|rest| rest.split("```").next()).unwrap();
    let (catalog, mistakes) = catalog::read(&[reading::SourceText::new("README.md", example)]);
    assert_eq!(mistakes, []);
    assert!(catalog.unwrap().breakers.contains_key("ours-40-2p"));
}
