//! The starter and every example read without a mistake, and together they show every key that there is.

#![allow(clippy::expect_used)] // functions that tests call, too

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use reading::{SourceText, render};
use serde_json::Value;
use site::{STARTER, Site};

fn examples() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples");
    let mut found = Vec::new();
    for folder in fs::read_dir(&root).expect("the examples are there") {
        for file in fs::read_dir(folder.expect("a folder").path()).expect("a readable folder") {
            let path = file.expect("a file").path();
            if path.extension().is_some_and(|ext| ext == "toml") {
                found.push(path);
            }
        }
    }
    found.sort();
    found
}

fn read_clean(name: &str, text: &str) -> Site {
    let source = SourceText::new(name, text);
    let (site, mistakes) = site::read(&source);
    let shown: Vec<String> =
        mistakes.iter().map(|m| render(m, std::slice::from_ref(&source), false)).collect();
    assert!(mistakes.is_empty(), "{}", shown.join("\n\n"));
    site.expect("no mistake, so a site")
}

#[test]
fn every_example_and_the_starter_read_without_mistakes() {
    read_clean("starter", STARTER);
    let all = examples();
    assert_eq!(all.len(), 6, "five examples, one of them with a second site file: {all:?}");
    for path in all {
        let text = fs::read_to_string(&path).expect("readable");
        let site = read_clean(&path.display().to_string(), &text);
        assert!(!site.loads.is_empty());
        let folder = path.parent().expect("a folder");
        let story = fs::read_to_string(folder.join("README.md")).expect("each example has a README.md");
        assert!(story.contains("invented"), "{} does not say that it is invented", folder.display());
    }
}

/// A line of the starter that is only there as a suggestion, `# key = …`, with its mark taken away.
#[test]
fn each_suggested_table_of_the_starter_reads_without_mistakes_when_its_mark_is_taken_away() {
    let uncommented = |heading: &str| {
        let mut inside = false;
        let lines = STARTER.lines().map(|line| {
            inside =
                if line.starts_with("# [") { line.contains(heading) } else { inside && !line.is_empty() };
            if inside { line.trim_start_matches("# ") } else { line }
        });
        lines.collect::<Vec<_>>().join("\n")
    };
    let with_method = |text: String, method: &str| text.replace("method = \"itemised\"", method);
    for heading in ["[project]", "[room]", "[wall]", "[[link]]", "[[stage]]", "[generator]", "[[amendment]]"]
    {
        let text = uncommented(heading);
        assert!(text.contains(&format!("\n{heading}")), "{heading} is in the starter");
        read_clean(heading, &text);
    }
    let dwelling =
        read_clean("dwelling", &with_method(uncommented("[dwelling]"), "method = \"dwelling standard\""));
    assert!(matches!(dwelling.demand, site::DemandMethod::DwellingStandard(d) if d.ranges.len() == 1));
    let measured = read_clean("measured", &with_method(uncommented("[measured]"), "method = \"measured\""));
    assert!(matches!(measured.demand, site::DemandMethod::Measured(m) if m.panel.value == "main"));
}

/// Exceptions are suggestions that ask for a change elsewhere; they say so in the starter.
#[test]
fn each_suggested_key_of_the_starter_reads_without_mistakes_when_its_mark_is_taken_away() {
    let lines: Vec<&str> = STARTER.lines().collect();
    let mut tried = 0;
    let mut in_suggested_table = false;
    for (k, line) in lines.iter().enumerate() {
        in_suggested_table = line.starts_with("# [") || (in_suggested_table && line.starts_with('#'));
        let key = line.strip_prefix("# ").and_then(|rest| rest.split_once(" = ")).map(|(key, _)| key);
        let Some(key) = key.filter(|key| !key.contains(' ') && !in_suggested_table) else { continue };
        if ["export_limit", "stage"].contains(&key) {
            continue;
        }
        let mut changed = lines.clone();
        changed[k] = &line[2..];
        read_clean(key, &changed.join("\n"));
        tried += 1;
    }
    assert!(tried > 12, "only {tried} suggestions found");
}

fn keys(schema: &Value, into: &mut BTreeSet<String>) {
    if let Some(properties) = schema.get("properties").and_then(Value::as_object) {
        for (key, inner) in properties {
            into.insert(key.clone());
            keys(inner, into);
            keys(&inner["items"], into);
        }
    }
}

/// Keys written in a site file, also inside braces, without those in texts and comments.
fn written_keys(text: &str) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    for line in text.lines().map(|line| line.split('#').next().unwrap_or("")) {
        let outside: String = line.split('"').step_by(2).collect::<Vec<_>>().join("\"");
        if outside.starts_with('[') {
            found.insert(outside.trim().trim_matches(['[', ']']).to_owned());
        }
        for part in outside.split(['{', ',']) {
            if let Some((key, _)) = part.split_once('=') {
                found.insert(key.trim().to_owned());
            }
        }
    }
    found
}

#[test]
fn the_schema_has_every_key_of_the_examples_and_the_starter_shows_every_key_of_the_schema() {
    let schema = site::schema();
    assert_eq!(schema["additionalProperties"], Value::Bool(false));
    let mut known = BTreeSet::new();
    keys(&schema, &mut known);
    for path in examples() {
        let written = written_keys(&fs::read_to_string(&path).expect("readable"));
        assert!(written.len() > 40, "{} uses few keys: {written:?}", path.display());
        let unknown: Vec<_> = written.difference(&known).collect();
        assert!(unknown.is_empty(), "{}: not in the schema: {unknown:?}", path.display());
    }
    let explained = |key: &String| {
        STARTER.lines().any(|line| line.contains(&format!("{key} = ")) || line.contains(&format!("[{key}]")))
    };
    let silent: Vec<_> = known.iter().filter(|key| !explained(key)).collect();
    assert!(silent.is_empty(), "the starter does not show {silent:?}");
}

#[test]
fn every_key_of_the_schema_is_described() {
    fn check(path: &str, schema: &Value) {
        for (key, inner) in schema["properties"].as_object().into_iter().flatten() {
            let described = inner["description"].as_str().is_some_and(|text| text.len() > 5);
            assert!(described, "{path}.{key} has no description");
            check(&format!("{path}.{key}"), inner);
            check(&format!("{path}.{key}"), &inner["items"]);
        }
    }
    let schema = site::schema();
    check("", &schema);
    assert_eq!(schema["required"], serde_json::json!(["format", "site", "service", "group"]));
}

/// The interval file of the creamery keeps the rule that its README states.
#[test]
fn the_creamery_recording_is_35_days_of_quarter_hours_without_a_gap() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/creamery/demand.csv");
    let text = fs::read_to_string(path).expect("readable");
    let mut lines = text.lines();
    assert_eq!(lines.next(), Some("start,L1_kw,L2_kw,L3_kw"));
    let mut rows = 0;
    for (k, line) in lines.enumerate() {
        let fields: Vec<&str> = line.split(',').collect();
        assert_eq!(fields.len(), 4, "line {}", k + 2);
        let minute = k % 96 * 15;
        let clock = format!("T{:02}:{:02}", minute / 60, minute % 60);
        assert!(fields[0].ends_with(&clock), "line {}: {} instead of {clock}", k + 2, fields[0]);
        for kw in &fields[1..] {
            let kw: f64 = kw.parse().expect("a number");
            assert!((0.1..14.5).contains(&kw), "line {}: {kw} kW on a 63 A phase", k + 2);
        }
        rows += 1;
    }
    assert_eq!(rows, 35 * 96);
}
