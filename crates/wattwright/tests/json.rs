//! The JSON of `check` and `grow`: numbers are numbers, every value has a derivation that ends where a person can look
//! it up, and the published schema of site files accepts every example.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::collections::BTreeSet;

use serde_json::{Map, Value};
use support::{EXAMPLES, Written, example, run, top};

/// Keys that may be `null`: "there is none".
const MAY_BE_NULL: [&str; 16] = [
    "code_work",
    "if_it_cannot_start",
    "held_by",
    "place",
    "clause",
    "state",
    "value",
    "limit",
    "margin",
    "neutral",
    "service",
    "states_found",
    "ground",
    "raceway",
    // of a motor's circuit: type and relay by IEC alone
    "type",
    "overload_relay",
];

/// Walks every value with the key under which it stands.
fn walk<'a>(key: &'a str, value: &'a Value, see: &mut dyn FnMut(&'a str, &'a Value)) {
    see(key, value);
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| walk(key, value, see)),
        Value::Array(list) => list.iter().for_each(|value| walk(key, value, see)),
        _ => {}
    }
}

fn numbers_are_numbers(name: &str, json: &Value) {
    walk("", json, &mut |key, value| {
        assert!(!value.is_null() || MAY_BE_NULL.contains(&key), "{name}: {key} is null");
        if let Some(map) = value.as_object().filter(|map| map.contains_key("unit")) {
            let number = map.get("value").unwrap_or(&Value::Null);
            assert!(number.is_number(), "{name}: {key} has a unit and no number: {value}");
        }
    });
}

/// Every derivation that is named resolves, has no cycle, and ends in something that a person can look up.
fn derivations_end(name: &str, json: &Value) -> usize {
    let nodes = json["derivations"].as_object().unwrap();
    let mut named: Vec<&str> = Vec::new();
    walk("", json, &mut |key, value| {
        if key == "derivation" {
            named.push(value.as_str().unwrap());
        }
    });
    let mut done = BTreeSet::new();
    for node in &named {
        ends(name, nodes, node, &mut Vec::new(), &mut done);
    }
    assert_eq!(done.len(), nodes.len(), "{name}: derivations that nothing refers to");
    named.len()
}

fn ends<'a>(
    name: &str,
    nodes: &'a Map<String, Value>,
    node: &'a str,
    above: &mut Vec<&'a str>,
    done: &mut BTreeSet<&'a str>,
) {
    assert!(!above.contains(&node), "{name}: {node} rests on itself");
    if done.contains(node) {
        return;
    }
    let body = nodes.get(node).unwrap_or_else(|| panic!("{name}: there is no derivation {node}"));
    for key in ["symbol", "what", "unit", "text"] {
        assert!(body[key].is_string(), "{name}: {key} is missing: {body}");
    }
    let source = body["source"].as_str().unwrap_or("");
    let parents = body["from"].as_array().map_or(&[][..], Vec::as_slice);
    match body["origin"].as_str().unwrap() {
        "input" => assert!(body["place"]["line"].is_u64(), "{name}: no place: {body}"),
        "catalogue" | "table" | "assumption" | "chosen" => {
            assert!(source.len() > 5, "{name}: no source: {body}");
        }
        // a sum over a list that is empty at this site
        "formula" | "solved" if parents.is_empty() && body["value"] == 0 => {}
        "formula" | "worst of" | "solved" => {
            assert!(!parents.is_empty(), "{name}: rests on nothing: {body}");
            assert!(
                body["expression"].as_str().is_some_and(|e| !e.is_empty()),
                "{name}: no expression: {body}"
            );
        }
        other => panic!("{name}: unknown origin {other}"),
    }
    above.push(node);
    for parent in parents {
        ends(name, nodes, parent["node"].as_str().unwrap(), above, done);
    }
    above.pop();
    done.insert(node);
}

#[test]
fn every_value_of_a_check_ends_in_something_to_look_up() {
    for name in EXAMPLES {
        let ran = run(&["check", &format!("examples/{name}"), "--json"]);
        let check = ran.json();
        assert_eq!(check["schema"], "wattwright-check/1");
        assert!(!ran.out.contains("NaN") && !ran.out.contains("inf\""), "{name}");
        numbers_are_numbers(name, &check);
        assert!(derivations_end(name, &check) > 50, "{name}: hardly any value has a derivation");
        for margin in check["margins"].as_array().unwrap() {
            for side in ["value", "limit"] {
                assert!(margin[side]["derivation"].is_string(), "{name}: {margin}");
            }
            assert!(margin["margin"].is_number(), "{name}: {margin}");
            assert!(!margin["state"].as_str().unwrap().is_empty(), "{name}: a margin without a state");
        }
    }
}

#[test]
fn a_check_that_fails_has_numbers_too() {
    // far too few units: every limit of the group is broken
    for units in [1, 2, 4] {
        let text = example("veterinary-practice")
            .replace("count = \"choose\"\nformation", &format!("count = {units}\nformation"));
        let file = Written::new(text);
        let ran = run(&["check", &file.path(), "--json"]);
        assert_eq!(ran.status, 1);
        let check = ran.json();
        let name = format!("{units} units");
        numbers_are_numbers(&name, &check);
        derivations_end(&name, &check);
        for finding in check["findings"].as_array().unwrap() {
            if finding["severity"] == "error" {
                assert!(finding["place"]["line"].is_u64(), "a failing finding without a place: {finding}");
            }
            // a value comes with its limit and its margin, or not at all
            let there = ["value", "limit", "margin"].map(|key| !finding[key].is_null());
            assert!(there == [true; 3] || there == [false; 3], "{finding}");
        }
    }
}

#[test]
fn every_value_of_a_growth_table_ends_in_something_to_look_up() {
    let ran = run(&["grow", "examples/farmhouse", "--json"]);
    assert_eq!(ran.status, 0);
    let grow = ran.json();
    assert_eq!(grow["schema"], "wattwright-grow/1");
    assert_eq!(grow["rows"].as_array().unwrap().len(), 4);
    numbers_are_numbers("farmhouse", &grow);
    derivations_end("farmhouse", &grow);
}

#[test]
fn findings_on_a_site_name_places_in_its_file() {
    for name in EXAMPLES {
        let text = example(name);
        let check = run(&["check", &format!("examples/{name}"), "--json"]).json();
        walk("", &check, &mut |key, value| {
            if key == "place" && value.is_object() && value["file"].as_str().unwrap().ends_with("site.toml") {
                let line = value["line"].as_u64().unwrap() as usize;
                let column = value["column"].as_u64().unwrap() as usize;
                let line = text.lines().nth(line - 1).unwrap_or_else(|| panic!("{name}: no line {value}"));
                assert!(
                    column >= 1 && column <= line.chars().count(),
                    "{name}: {value} is outside \"{line}\""
                );
            }
        });
    }
}

/// The two forms of pattern that the schemas have: a percentage, and a number with one of several units.
fn fits(pattern: &str, text: &str) -> bool {
    if pattern == "^[0-9.]+ ?%$" {
        let number = text.strip_suffix('%').map(|t| t.strip_suffix(' ').unwrap_or(t));
        return number.is_some_and(|n| !n.is_empty() && n.chars().all(|c| c.is_ascii_digit() || c == '.'));
    }
    let units = pattern.strip_prefix("^[-+]?[0-9][-0-9., /eE+]* ?(").and_then(|p| p.strip_suffix(")$"));
    let units = units.unwrap_or_else(|| panic!("the test knows no pattern {pattern}"));
    units.split('|').filter_map(|unit| text.strip_suffix(unit)).any(|number| {
        let number = number.strip_prefix(['-', '+']).unwrap_or(number);
        number.starts_with(|c: char| c.is_ascii_digit())
            && number.chars().all(|c| c.is_ascii_digit() || "-., /eE+".contains(c))
    })
}

/// Just enough of JSON Schema for the schemas that the command prints. A keyword that is not known here fails, so that
/// nothing passes unread.
fn accepts(schema: &Value, value: &Value, at: &str) -> Result<(), String> {
    let no = |why: &str| Err(format!("{at}: {why}: {value}"));
    for (keyword, wants) in schema.as_object().expect("a schema is an object") {
        match keyword.as_str() {
            "$schema" | "$id" | "title" | "description" | "examples" => {}
            "pattern" if !fits(wants.as_str().unwrap(), value.as_str().unwrap_or("")) => {
                return no(&format!("does not fit {wants}"));
            }
            "pattern" => {}
            "type" => {
                let is = match wants.as_str().unwrap() {
                    "object" => value.is_object(),
                    "array" => value.is_array(),
                    "string" => value.is_string(),
                    "integer" => value.is_i64() || value.is_u64(),
                    "number" => value.is_number(),
                    "boolean" => value.is_boolean(),
                    other => panic!("type {other}"),
                };
                if !is {
                    return no(&format!("is no {wants}"));
                }
            }
            "enum" if !wants.as_array().unwrap().contains(value) => {
                return no(&format!("is none of {wants}"));
            }
            "const" if wants != value => return no(&format!("is not {wants}")),
            "minimum" if value.as_f64() < wants.as_f64() => return no("is too small"),
            "maximum" if value.as_f64() > wants.as_f64() => return no("is too large"),
            "enum" | "const" | "minimum" | "maximum" => {}
            "anyOf" => {
                let tried: Vec<_> = wants.as_array().unwrap().iter().map(|s| accepts(s, value, at)).collect();
                if tried.iter().all(Result::is_err) {
                    return no(&format!("fits none of {wants}"));
                }
            }
            "items" => {
                for (k, item) in value.as_array().into_iter().flatten().enumerate() {
                    accepts(wants, item, &format!("{at}[{k}]"))?;
                }
            }
            "required" => {
                for key in wants.as_array().unwrap() {
                    if value.get(key.as_str().unwrap()).is_none() {
                        return no(&format!("lacks {key}"));
                    }
                }
            }
            "properties" => {
                for (key, it) in value.as_object().into_iter().flatten() {
                    match wants.get(key) {
                        Some(schema) => accepts(schema, it, &format!("{at}.{key}"))?,
                        None if schema["additionalProperties"] == false => {
                            return no(&format!("may not have {key}"));
                        }
                        None => {}
                    }
                }
            }
            "additionalProperties" => assert_eq!(wants, false),
            other => panic!("{at}: the test knows no keyword {other}"),
        }
    }
    Ok(())
}

fn toml(text: &str) -> Value {
    serde_json::to_value(text.parse::<toml::Table>().expect("TOML")).expect("JSON")
}

#[test]
fn the_schema_of_site_files_accepts_every_example_and_no_nonsense() {
    let schema = run(&["schema"]).json();
    assert!(schema["$schema"].as_str().unwrap().contains("json-schema.org"));
    for name in EXAMPLES {
        accepts(&schema, &toml(&example(name)), name).unwrap();
    }
    let measured = std::fs::read_to_string(top().join("examples/creamery/site-measured.toml")).unwrap();
    accepts(&schema, &toml(&measured), "measured").unwrap();

    let sound = example("farmhouse");
    for (line, wrong) in [
        ("earthing = \"US\"", "earthing = \"USA\""),
        ("count = 2", "count = -2"),
        ("rating = \"200 A\"", "rating = 200"),
        ("rating = \"200 A\"", "rating = \"200 kW\""),
        ("fed_from = \"main\"", "fed_form = \"main\""),
        ("unit = \"demo-split-5k4\"\n", "\n"),
    ] {
        assert!(sound.contains(line), "the farmhouse has no {line}");
        let text = sound.replacen(line, wrong, 1);
        assert!(accepts(&schema, &toml(&text), "farmhouse").is_err(), "accepted: {wrong}");
    }
}

#[test]
fn the_schema_of_catalogues_accepts_the_demo_catalogue() {
    let schema = run(&["schema", "catalog"]).json();
    for file in ["units", "storage", "transfer", "bypass", "distribution"] {
        let text = std::fs::read_to_string(top().join("catalog").join(file).with_extension("toml")).unwrap();
        accepts(&schema, &toml(&text), file).unwrap();
    }
}

/// A formula is read by people: it holds no type names and no calls of the language.
#[test]
fn formulas_hold_no_code() {
    for name in EXAMPLES {
        let all = run(&["check", &format!("examples/{name}"), "--json"]).json();
        for node in all["derivations"].as_object().unwrap().values() {
            let expression = node["expression"].as_str().unwrap_or("");
            for code in ["::", ".si", ".at(", ".max(", ".min(", "()"] {
                assert!(!expression.contains(code), "{name}: {expression}");
            }
        }
    }
}
