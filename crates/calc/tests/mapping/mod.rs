//! Reads cases and `mapping.toml`, builds the inputs of a run, compares its results.

use std::collections::{BTreeMap, BTreeSet};

use calc::{Inputs, Outcome};
use serde_json::{Map, Value as Json, json};
use toml::{Table, Value};

/// One case of the folder.
pub struct Case {
    pub id: String,
    inputs: Table,
    pub expected: Table,
    rel: Option<f64>,
    abs: Table,
}

/// How one calculation serves a case.
pub struct Run {
    pub case: String,
    pub calculation: String,
    /// Keys whose lists are run element by element, inputs and expected values alike.
    each: Vec<String>,
    /// Inputs taken from the case.
    inputs: Table,
    /// Inputs that the case says in words or leaves to the reader.
    constants: Table,
    /// Expected key to output.
    outputs: Table,
    /// Expected keys that are not compared, with the reason.
    skip: Table,
}

/// A case that no calculation serves.
pub struct Unmapped {
    pub reason: String,
    pub test: String,
}

/// The whole of `mapping.toml`.
pub struct Mapping {
    pub runs: Vec<Run>,
    pub unmapped: BTreeMap<String, Unmapped>,
}

/// What came of one run.
pub struct Report {
    pub compared: usize,
    /// Largest relative deviation of a number (absolute where 0 is expected).
    pub worst: f64,
    pub failures: Vec<String>,
}

fn table(of: &Value, key: &str) -> Table {
    of.get(key).and_then(Value::as_table).cloned().unwrap_or_default()
}

fn text(of: &Value, key: &str) -> String {
    of.get(key).and_then(Value::as_str).unwrap_or_else(|| panic!("{key} is missing in {of:?}")).to_owned()
}

impl Case {
    pub fn read(case: &Value) -> Self {
        for key in ["topic", "title", "source", "verification"] {
            assert!(!text(case, key).is_empty());
        }
        let expected = table(case, "expected");
        assert!(!expected.is_empty(), "{} expects nothing", text(case, "id"));
        let tolerance = table(case, "tolerance");
        Self {
            id: text(case, "id"),
            inputs: table(case, "inputs"),
            expected,
            rel: tolerance.get("rel").map(number),
            abs: tolerance.get("abs").and_then(Value::as_table).cloned().unwrap_or_default(),
        }
    }

    /// Whether a value is near enough: an absolute tolerance of the key replaces the relative one.
    fn near(&self, key: &str, item: usize, found: f64, expected: f64) -> bool {
        let off = (found - expected).abs();
        match self.abs.get(key) {
            Some(Value::Array(each)) => off <= number(&each[item]),
            Some(abs) => off <= number(abs),
            None => {
                let rel = self.rel.unwrap_or_else(|| panic!("{} has no tolerance for {key}", self.id));
                off <= rel * expected.abs()
            }
        }
    }
}

fn number(value: &Value) -> f64 {
    match value {
        Value::Integer(n) => *n as f64,
        Value::Float(x) => *x,
        other => panic!("{other:?} is no number"),
    }
}

impl Mapping {
    pub fn read(root: &Table) -> Self {
        let runs = root["run"].as_array().unwrap();
        let left = root.get("unmapped").and_then(Value::as_table).cloned().unwrap_or_default();
        Self {
            runs: runs.iter().map(Run::read).collect(),
            unmapped: left
                .into_iter()
                .map(|(id, why)| (id, Unmapped { reason: text(&why, "reason"), test: text(&why, "test") }))
                .collect(),
        }
    }
}

impl Run {
    fn read(run: &Value) -> Self {
        let each = run.get("each").and_then(Value::as_array).cloned().unwrap_or_default();
        Self {
            case: text(run, "case"),
            calculation: text(run, "calculation"),
            each: each.iter().map(|k| k.as_str().unwrap().to_owned()).collect(),
            inputs: table(run, "inputs"),
            constants: table(run, "constants"),
            outputs: table(run, "outputs"),
            skip: table(run, "skip"),
        }
    }

    /// Runs the calculation, once or once for each element, and compares what it claims to give.
    pub fn compare(&self, case: &Case, covered: &mut BTreeSet<String>) -> Report {
        covered.extend(self.outputs.keys().cloned());
        for (key, reason) in &self.skip {
            assert!(
                reason.as_str().is_some_and(|r| !r.is_empty()),
                "{}: {key} is skipped without reason",
                case.id
            );
            covered.insert(key.clone());
        }
        let rounds = match self.each.first() {
            Some(key) => case.inputs[key].as_array().unwrap().len(),
            None => 1,
        };
        let mut report = Report { compared: 0, worst: 0.0, failures: Vec::new() };
        for round in 0..rounds {
            let inputs = self.inputs_of(case, round);
            let outcome = Inputs::from_json(&inputs.to_string())
                .and_then(|inputs| calc::run(&self.calculation, &inputs));
            match outcome {
                Ok(outcome) => self.compare_outcome(case, round, &outcome, &mut report),
                Err(error) => report.failures.push(format!("{}: {inputs}: {error}", case.id)),
            }
        }
        report
    }

    fn compare_outcome(&self, case: &Case, round: usize, outcome: &Outcome, report: &mut Report) {
        for (key, to) in &self.outputs {
            let whole = &case.expected[key];
            let expected = if self.each.contains(key) { &whole[round] } else { whole };
            let found = found(outcome, to);
            check(case, key, expected, &found, report);
        }
    }

    fn inputs_of(&self, case: &Case, round: usize) -> Json {
        let mut out = Map::new();
        for (key, value) in &self.constants {
            out.insert(key.clone(), json(value));
        }
        for (key, from) in &self.inputs {
            out.insert(key.clone(), self.input(case, from, round));
        }
        Json::Object(out)
    }

    /// A key of the case, or a table: `key` or `keys` (gathered into a list), `item` (one element), `pluck` (that
    /// element of each element), `unit` (the unit of the case's numbers); or `product` of several keys.
    fn input(&self, case: &Case, from: &Value, round: usize) -> Json {
        let take = |key: &str| {
            let value = case.inputs.get(key).unwrap_or_else(|| panic!("{} has no input {key}", case.id));
            json(if self.each.iter().any(|e| e == key) { &value[round] } else { value })
        };
        if let Some(key) = from.as_str() {
            return take(key);
        }
        if let Some(factors) = from.get("product").and_then(Value::as_array) {
            let value = |k: &Value| take(k.as_str().unwrap()).as_f64().unwrap();
            return derivation_number(factors.iter().map(value).product());
        }
        let mut value = match from.get("keys").and_then(Value::as_array) {
            Some(keys) => keys.iter().map(|k| take(k.as_str().unwrap())).collect(),
            None => take(&text(from, "key")),
        };
        if let Some(item) = from.get("item") {
            value = value[number(item) as usize].clone();
        }
        if let Some(pluck) = from.get("pluck") {
            let items = value.as_array().unwrap();
            value = items.iter().map(|v| v[number(pluck) as usize].clone()).collect();
        }
        match from.get("unit").and_then(Value::as_str) {
            Some(unit) => with_unit(&value, unit),
            None => value,
        }
    }
}

fn with_unit(value: &Json, unit: &str) -> Json {
    match value {
        Json::Array(items) => items.iter().map(|v| with_unit(v, unit)).collect(),
        other => json!(format!("{other} {unit}")),
    }
}

fn json(value: &Value) -> Json {
    serde_json::to_value(value).unwrap()
}

/// An output key, or a table: `key`, `item` (one element), `scale` (from the output's unit to the case's), or
/// `absent` (the output must not be there: the case's 0 stands for "there is none").
fn found(outcome: &Outcome, to: &Value) -> Json {
    if let Some(key) = to.as_str() {
        return outcome.get(key).map_or(Json::Null, |v| v.json());
    }
    if let Some(absent) = to.get("absent") {
        let there = outcome.get(absent.as_str().unwrap());
        return there.map_or(json!(0.0), |v| v.json());
    }
    let mut value = outcome.get(&text(to, "key")).map_or(Json::Null, |v| v.json());
    if let Some(item) = to.get("item") {
        value = value[number(item) as usize].clone();
    }
    match to.get("scale") {
        Some(scale) => scaled(&value, number(scale)),
        None => value,
    }
}

fn scaled(value: &Json, scale: f64) -> Json {
    match value {
        Json::Array(items) => items.iter().map(|v| scaled(v, scale)).collect(),
        other => other.as_f64().map_or(Json::Null, |x| derivation_number(x * scale)),
    }
}

/// Nine significant digits again, after scaling.
fn derivation_number(value: f64) -> Json {
    json!(format!("{value:.8e}").parse::<f64>().unwrap())
}

fn check(case: &Case, key: &str, expected: &Value, found: &Json, report: &mut Report) {
    let wrong = || format!("{}: {key} is {found}, expected {expected:?}", case.id);
    let pairs: Vec<(&Value, &Json)> = match (expected, found) {
        (Value::Array(e), Json::Array(f)) if e.len() == f.len() => e.iter().zip(f).collect(),
        (Value::Array(_), _) => return report.failures.push(wrong()),
        single => vec![single],
    };
    for (item, (expected, found)) in pairs.into_iter().enumerate() {
        report.compared += 1;
        let fine = match expected {
            Value::String(text) => found.as_str() == Some(text),
            Value::Boolean(flag) => found.as_bool() == Some(*flag),
            _ => found.as_f64().is_some_and(|x| {
                let expected = number(expected);
                let off = (x - expected).abs();
                report.worst = report.worst.max(if expected == 0.0 { off } else { off / expected.abs() });
                case.near(key, item, x, expected)
            }),
        };
        if !fine {
            report.failures.push(wrong());
        }
    }
}
