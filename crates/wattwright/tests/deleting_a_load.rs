//! Deleting one load changes only what depends on it, places apart. Names of derivations come from their content, so
//! an unchanged value keeps its name though its line moves.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::collections::{BTreeMap, BTreeSet};

use serde_json::Value;
use support::{Written, example, run};

/// The text without one load, and the lines on which it stood (from 1).
fn without(text: &str, load: &str) -> (String, BTreeSet<u64>) {
    let lines: Vec<&str> = text.lines().collect();
    let named = lines.iter().position(|l| *l == format!("name = \"{load}\"")).expect("the load is there");
    let from = (0..named).rev().find(|k| lines[*k] == "[[load]]").expect("a load has a header");
    let to = (named..lines.len()).find(|k| lines[*k].is_empty()).unwrap_or(lines.len());
    let never = format!("never_with = [\"{load}\"]");
    let kept =
        lines.iter().enumerate().filter(|(k, line)| !(from..to).contains(k) && !line.starts_with(&never));
    (kept.map(|(_, line)| *line).collect::<Vec<_>>().join("\n"), (from as u64 + 1..=to as u64).collect())
}

fn without_places(value: &mut Value) {
    match value {
        Value::Object(map) => {
            map.remove("place");
            map.values_mut().for_each(without_places);
        }
        Value::Array(list) => list.iter_mut().for_each(without_places),
        _ => {}
    }
}

struct Pair {
    load: &'static str,
    before: Value,
    after: Value,
    /// Derivations of the first check that end on the lines of the load.
    inputs: BTreeSet<String>,
}

impl Pair {
    fn of(load: &'static str) -> Self {
        // with the number of units fixed: a load less may need a unit less, and then all limits of the group move
        let text =
            example("veterinary-practice").replace("count = \"choose\"\nformation", "count = 6\nformation");
        assert!(text.contains("count = 6"));
        let (less, lines) = without(&text, load);
        let file = Written::new(&text);
        let mut before = run(&["check", &file.path(), "--json"]).json();
        std::fs::write(file.path(), less).unwrap();
        let ran = run(&["check", &file.path(), "--json"]);
        assert_eq!(ran.status, 0, "{}", ran.err);
        let mut after = ran.json();
        let nodes = before["derivations"].as_object().unwrap();
        let inputs = nodes
            .iter()
            .filter(|(_, body)| body["place"]["line"].as_u64().is_some_and(|l| lines.contains(&l)));
        let inputs = inputs.map(|(name, _)| name.clone()).collect();
        without_places(&mut before);
        without_places(&mut after);
        Self { load, before, after, inputs }
    }

    /// Whether a derivation of the first check rests on the load: ends on its lines, or speaks of it.
    fn rests_on_it(&self, node: &str) -> bool {
        let body = &self.before["derivations"][node];
        if body["what"].as_str().unwrap().contains(self.load) {
            return true;
        }
        self.inputs.contains(node)
            || body["from"]
                .as_array()
                .into_iter()
                .flatten()
                .any(|parent| self.rests_on_it(parent["node"].as_str().unwrap()))
    }

    /// Whether anything below a value of the first check rests on the load.
    fn any_rests_on_it(&self, value: &Value) -> bool {
        match value {
            Value::Object(map) => {
                map.get("derivation").and_then(Value::as_str).is_some_and(|node| self.rests_on_it(node))
                    || map.values().any(|v| self.any_rests_on_it(v))
            }
            Value::Array(list) => list.iter().any(|v| self.any_rests_on_it(v)),
            _ => false,
        }
    }

    /// What stands under a key, each entry by the name that `name` gives it.
    fn changed(&self, key: &str, name: &dyn Fn(&Value) -> String) -> Vec<(String, Value)> {
        let of = |check: &Value| -> BTreeMap<String, Value> {
            check[key].as_array().unwrap().iter().map(|v| (name(v), v.clone())).collect()
        };
        let (before, after) = (of(&self.before), of(&self.after));
        let names: BTreeSet<&String> = before.keys().chain(after.keys()).collect();
        let differ = names.into_iter().filter(|n| before.get(*n) != after.get(*n));
        differ.map(|n| (n.clone(), before.get(n).cloned().unwrap_or(Value::Null))).collect()
    }
}

fn margin_name(m: &Value) -> String {
    format!(
        "{} | {} | {}",
        m["part"].as_str().unwrap(),
        m["what"].as_str().unwrap(),
        m["state"].as_str().unwrap()
    )
}

fn decision_name(d: &Value) -> String {
    d["what"].as_str().unwrap().to_owned()
}

/// Every margin that changed rests on the load, by its own derivation.
fn changed_margins_rest_on_it(pair: &Pair) -> Vec<String> {
    let changed = pair.changed("margins", &margin_name);
    for (name, before) in &changed {
        assert!(!before.is_null(), "{name} is new");
        assert!(pair.any_rests_on_it(before), "{name} changed and does not rest on the load");
        // limits are the catalogue's, the site's or the group's
        let after = pair.after["margins"].as_array().unwrap().iter().find(|m| margin_name(m) == *name);
        // starts are held against short-time ratings only while they are above the continuous one
        let Some(after) = after else { continue };
        // how long the group holds a current depends on the current: that is picked from the catalogue's list
        if after["limit"] != before["limit"] && !name.contains("time at starting current") {
            assert!(pair.any_rests_on_it(&before["limit"]), "the limit of {name} changed");
        }
    }
    changed.into_iter().map(|(name, _)| name).collect()
}

#[test]
fn a_load_on_the_backup_panel_leaves_alone_what_does_not_carry_it() {
    let pair = Pair::of("dryer");
    let (before, after) = (&pair.before, &pair.after);
    for key in ["schema", "cautions", "site", "assumptions"] {
        assert_eq!(before[key], after[key], "{key}");
    }
    // it is connected line to line: the neutral and the difference between the legs know nothing of it
    for key in ["neutral", "unbalance", "balance"] {
        assert_eq!(before["panels"]["backup"][key], after["panels"]["backup"][key], "{key}");
    }
    assert_ne!(before["panels"]["backup"]["connected"], after["panels"]["backup"]["connected"]);

    let changed = changed_margins_rest_on_it(&pair);
    for part in ["load.", "unit.relay | fault", "transfer | fault"] {
        assert!(!changed.iter().any(|name| name.starts_with(part)), "{part} changed: {changed:#?}");
    }
    assert!(changed.iter().any(|name| name.starts_with("group | continuous power, L1")), "{changed:#?}");
    assert!(changed.iter().any(|name| name.starts_with("service | ")), "{changed:#?}");

    // gear that was chosen by the panel's own breaker stays
    let value = |check: &Value, what: &str| {
        let all = check["decisions"].as_array().unwrap();
        all.iter().find(|d| d["what"] == what).unwrap_or_else(|| panic!("nothing decided about {what}"))["value"].clone()
    };
    for what in [
        "formation",
        "transfer switch",
        "input inhibit",
        "bypass",
        "generator",
        "generator limit",
        "export limit",
    ] {
        assert_eq!(value(before, what), value(after, what), "{what}");
    }
    for (what, decision) in pair.changed("decisions", &decision_name) {
        // arrangements and formations tell their reasons in words
        let in_words = ["arrangement", "formation"].contains(&what.as_str());
        assert!(in_words || pair.any_rests_on_it(&decision), "{what} changed and does not rest on the load");
    }
}

#[test]
fn a_load_on_the_main_panel_leaves_the_backup_panel_and_the_group_alone() {
    let pair = Pair::of("x-ray");
    let (before, after) = (&pair.before, &pair.after);
    assert_eq!(before["panels"]["backup"], after["panels"]["backup"]);
    assert_ne!(before["panels"]["main"]["connected"], after["panels"]["main"]["connected"]);
    assert_ne!(before["service"]["current"], after["service"]["current"]);
    assert!(pair.any_rests_on_it(&before["service"]["current"]));

    let changed = changed_margins_rest_on_it(&pair);
    for part in ["group | ", "load.", "generator | ", "unit.generator relay | "] {
        assert!(!changed.iter().any(|name| name.starts_with(part)), "{part} changed: {changed:#?}");
    }
    // what the service leaves for charging is all that the group's side sees of it; breakers of the units are chosen for
    // that as well, and keep their rating
    let numbers = |check: &Value, name: &str| -> Vec<Value> {
        let all = check["margins"].as_array().unwrap().iter().filter(|m| margin_name(m) == *name);
        all.flat_map(|m| [m["value"]["value"].clone(), m["limit"]["value"].clone()]).collect()
    };
    for name in changed.iter().filter(|name| numbers(before, name) != numbers(after, name)) {
        assert!(
            ["service | ", "panel.main | ", "transformer | "].iter().any(|part| name.starts_with(part))
                || name.contains("charging"),
            "{name} changed"
        );
    }
    let decided: Vec<(String, Value)> = pair.changed("decisions", &decision_name);
    let value = |check: &Value, name: &str| -> Value {
        let all = check["decisions"].as_array().unwrap();
        all.iter().find(|d| decision_name(d) == *name).map_or(Value::Null, |d| d["value"].clone())
    };
    let other: Vec<_> =
        decided.iter().filter(|(name, _)| value(before, name) != value(after, name)).collect();
    let names: Vec<&str> = other.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names, ["input limit"]);
    assert!(
        pair.any_rests_on_it(&other[0].1["from"]),
        "the input limit does not say that it rests on the load"
    );

    // states and their names are the same, and so is every current in them that is not charging
    let states = |check: &Value| -> Vec<Value> {
        let mut states = check["states"].as_array().unwrap().clone();
        for state in &mut states {
            let kept: Vec<Value> = state["currents"]
                .as_array()
                .unwrap()
                .iter()
                .filter(|c| c["while"] != "charging")
                .cloned()
                .collect();
            state["currents"] = Value::Array(kept);
        }
        states
    };
    assert_eq!(states(before), states(after));
}

#[test]
fn derivations_that_stay_keep_their_names() {
    let pair = Pair::of("x-ray");
    let nodes = |check: &Value| check["derivations"].as_object().unwrap().clone();
    let (before, after) = (nodes(&pair.before), nodes(&pair.after));
    let gone: Vec<&String> = before.keys().filter(|name| !after.contains_key(*name)).collect();
    for name in &gone {
        assert!(pair.rests_on_it(name), "{} is gone and did not rest on the load", before[*name]);
    }
    assert!(!gone.is_empty() && gone.len() * 4 < before.len(), "{} of {} are gone", gone.len(), before.len());
}
