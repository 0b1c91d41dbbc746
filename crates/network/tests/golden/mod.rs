//! Reads a case of `tests/golden/power_flow.toml` and compares phasors with it.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::path::Path;

use num_complex::Complex64;
use toml::{Table, Value};

/// Recomputed values carry about nine digits.
const RECOMPUTED: f64 = 1e-7;
/// PFL-01 was recomputed with line impedances from Carson's equations; the case gives them rounded to four digits.
const RECOMPUTED_BY_CARSON: f64 = 5e-5;

pub struct Case {
    id: String,
    inputs: Table,
    expected: Table,
    recomputed: Table,
    tolerance: Table,
    compared: RefCell<BTreeSet<String>>,
}

pub fn magnitude(z: Complex64) -> f64 {
    libm::hypot(z.re, z.im)
}

fn number(value: &Value) -> f64 {
    match value {
        Value::Integer(n) => *n as f64,
        Value::Float(x) => *x,
        other => panic!("{other:?} is no number"),
    }
}

fn numbers(value: &Value) -> Vec<f64> {
    match value {
        Value::Array(all) => all.iter().map(number).collect(),
        one => vec![number(one)],
    }
}

impl Case {
    pub fn read(id: &str) -> Self {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/golden/power_flow.toml");
        let root: Table = std::fs::read_to_string(path).unwrap().parse().unwrap();
        let cases = root["case"].as_array().unwrap();
        let case = cases.iter().find(|case| case["id"].as_str() == Some(id)).unwrap();
        let table = |key: &str| case.get(key).and_then(Value::as_table).cloned().unwrap_or_default();
        Self {
            id: id.to_owned(),
            inputs: table("inputs"),
            expected: table("expected"),
            recomputed: table("recomputed"),
            tolerance: table("tolerance"),
            compared: RefCell::default(),
        }
    }

    pub fn number(&self, key: &str) -> f64 {
        number(&self.inputs[key])
    }

    pub fn list(&self, key: &str) -> Vec<f64> {
        numbers(&self.inputs[key])
    }

    pub fn matrix(&self, key: &str) -> Vec<Vec<f64>> {
        self.inputs[key].as_array().unwrap().iter().map(numbers).collect()
    }

    pub fn complex(&self, key: &str) -> Complex64 {
        let parts = self.list(key);
        Complex64::new(parts[0], parts[1])
    }

    pub fn recomputed(&self, key: &str) -> f64 {
        number(&self.recomputed[key])
    }

    pub fn magnitudes(&self, key: &str, found: &[Complex64]) {
        self.compare(key, &found.iter().map(|z| magnitude(*z)).collect::<Vec<_>>());
    }

    pub fn phasor(&self, size: &str, degrees: &str, found: Complex64) {
        self.phasors(size, degrees, &[found]);
    }

    pub fn phasors(&self, size: &str, degrees: &str, found: &[Complex64]) {
        self.magnitudes(size, found);
        let angle = |z: &Complex64| libm::atan2(z.im, z.re).to_degrees();
        self.compare(degrees, &found.iter().map(angle).collect::<Vec<_>>());
    }

    /// Against the published value within its tolerance, and against the recomputed one.
    fn compare(&self, key: &str, found: &[f64]) {
        let expected = numbers(&self.expected[key]);
        assert_eq!(found.len(), expected.len());
        let recomputed = numbers(&self.recomputed[key]);
        let abs = self.tolerance.get("abs").and_then(|abs| abs.get(key)).map(number);
        let rel = self.tolerance.get("rel").map(number);
        let near = if self.id == "PFL-01" { RECOMPUTED_BY_CARSON } else { RECOMPUTED };
        for ((found, expected), recomputed) in found.iter().zip(&expected).zip(&recomputed) {
            let allowed = abs.or_else(|| rel.map(|rel| rel * expected.abs())).unwrap();
            let off = (found - expected).abs();
            assert!(off <= allowed, "{} {key}: {found}, expected {expected}", self.id);
            let off = (found - recomputed).abs();
            // an angle has no size of its own: a radian
            let size = if key.ends_with("_deg") { 57.3 } else { recomputed.abs() };
            assert!(off <= near * size, "{} {key}: {found}, recomputed {recomputed}", self.id);
        }
        self.compared.borrow_mut().insert(key.to_owned());
    }

    pub fn all_compared(&self) {
        for key in self.expected.keys() {
            assert!(self.compared.borrow().contains(key), "{}: nothing compares {key}", self.id);
        }
    }
}
