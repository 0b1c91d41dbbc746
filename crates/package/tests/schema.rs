//! `design.json` is as its published schema says, and the schema says something.

#![allow(clippy::unwrap_used, clippy::panic)] // functions that tests call, too

mod support;

use serde_json::{Value, json};
use support::made;

/// The part of JSON Schema that the published one uses.
fn check(schema: &Value, value: &Value, root: &Value, at: &str, wrong: &mut Vec<String>) {
    if let Some(name) = schema["$ref"].as_str() {
        let name = name.strip_prefix("#/$defs/").unwrap();
        let def = &root["$defs"][name];
        assert!(!def.is_null(), "no definition {name}");
        return check(def, value, root, at, wrong);
    }
    if let Some(several) = schema["anyOf"].as_array() {
        let mut best: Option<Vec<String>> = None;
        for one in several {
            let mut found = Vec::new();
            check(one, value, root, at, &mut found);
            if best.as_ref().is_none_or(|b| found.len() < b.len()) {
                best = Some(found);
            }
        }
        wrong.extend(best.unwrap_or_default());
        return;
    }
    if let Some(only) = schema.get("const")
        && only != value
    {
        wrong.push(format!("{at}: {value} is not {only}"));
    }
    if let Some(allowed) = schema["enum"].as_array()
        && !allowed.contains(value)
    {
        wrong.push(format!("{at}: {value} is none of {allowed:?}"));
    }
    let types: Vec<&str> = match &schema["type"] {
        Value::String(one) => vec![one.as_str()],
        Value::Array(several) => several.iter().filter_map(Value::as_str).collect(),
        _ => Vec::new(),
    };
    let is = |kind: &str| match kind {
        "object" => value.is_object(),
        "array" => value.is_array(),
        "string" => value.is_string(),
        "boolean" => value.is_boolean(),
        "null" => value.is_null(),
        "integer" => value.is_i64() || value.is_u64(),
        "number" => value.is_number(),
        other => panic!("type {other}"),
    };
    if !types.is_empty() && !types.iter().any(|kind| is(kind)) {
        wrong.push(format!("{at}: {value} is no {types:?}"));
        return;
    }
    if let Some(map) = value.as_object() {
        for key in schema["required"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            if !map.contains_key(key) {
                wrong.push(format!("{at}: {key} is missing"));
            }
        }
        for (key, inner) in map {
            let at = format!("{at}.{key}");
            match schema["properties"].get(key) {
                Some(property) => check(property, inner, root, &at, wrong),
                None if schema["additionalProperties"].is_object() => {
                    check(&schema["additionalProperties"], inner, root, &at, wrong);
                }
                // an object that is only described
                None if schema["properties"].is_null() => {}
                // what is written is published, too
                None => wrong.push(format!("{at} is not in the schema")),
            }
        }
    }
    if let (Some(all), Some(items)) = (value.as_array(), schema.get("items")) {
        for (k, inner) in all.iter().enumerate() {
            check(items, inner, root, &format!("{at}[{k}]"), wrong);
        }
    }
}

fn mistakes(design: &Value) -> Vec<String> {
    let schema = dossier::design_schema();
    let mut wrong = Vec::new();
    check(&schema, design, &schema, "", &mut wrong);
    wrong
}

#[test]
fn designs_of_all_kinds_are_as_the_schema_says() {
    assert_eq!(dossier::design_schema()["properties"]["schema"]["const"], "wattwright-design/1");
    for example in ["veterinary-practice", "field-station"] {
        let wrong = mistakes(&made(example).design);
        assert!(wrong.is_empty(), "{example}: {:#?}", &wrong[..wrong.len().min(12)]);
    }
}

#[test]
fn what_is_not_as_the_schema_says_is_found() {
    let fine = made("field-station").design;
    let spoilt = |with: &dyn Fn(&mut Value)| {
        let mut design = fine.clone();
        with(&mut design);
        mistakes(&design).len()
    };
    assert_eq!(spoilt(&|d| d["margins"][0]["value"]["unit"] = json!(3)), 1);
    assert_eq!(spoilt(&|d| d["margins"][0]["limit_is"] = json!("wall")), 1);
    assert_eq!(spoilt(&|d| drop(d.as_object_mut().unwrap().remove("cautions"))), 1);
    assert_eq!(spoilt(&|d| d["verdict"]["fails"] = Value::Null), 1);
}
