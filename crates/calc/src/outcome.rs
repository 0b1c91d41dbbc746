//! Results, as text and as JSON.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::Arc;

use derivation::{Graph, Known, Node, number};
use quantity::{Quantity, significant};
use serde_json::{Map, Value, json};

use crate::error::CalcError;
use crate::measure::Measure;
use crate::spec::Calculation;

/// The value of one output.
#[derive(Debug, Clone)]
pub enum OutputValue {
    /// A number in the output's unit, with its derivation where it has one.
    Number(f64, Option<Arc<Node>>),
    /// Several numbers, likewise.
    Numbers(Vec<(f64, Option<Arc<Node>>)>),
    /// Yes or no.
    Flag(bool),
    /// Words.
    Text(String),
    /// Several words or lines.
    Texts(Vec<String>),
}

/// One output.
#[derive(Debug, Clone)]
pub struct Output {
    /// The key, ending in its unit's suffix.
    pub key: &'static str,
    /// Its unit; empty for plain numbers.
    pub unit: &'static str,
    /// What it is.
    pub what: &'static str,
    /// The value.
    pub value: OutputValue,
}

/// The result of one run.
#[derive(Debug, Clone)]
pub struct Outcome {
    /// Which calculation.
    pub id: &'static str,
    /// The inputs as they were taken, defaults included.
    pub inputs: Vec<(&'static str, Vec<String>)>,
    /// The outputs, in the order of the declaration. What does not apply is left out.
    pub outputs: Vec<Output>,
}

/// What an evaluator gives, in SI, before it is held against the declaration.
#[derive(Debug, Default)]
pub(crate) struct Results {
    values: Vec<(&'static str, OutputValue)>,
}

impl Results {
    pub fn known<Q: Quantity>(mut self, key: &'static str, value: &Known<Q>) -> Self {
        let number = OutputValue::Number(value.value().si(), Some(value.node().clone()));
        self.values.push((key, number));
        self
    }

    pub fn known_if<Q: Quantity>(self, key: &'static str, value: Option<&Known<Q>>) -> Self {
        match value {
            Some(value) => self.known(key, value),
            None => self,
        }
    }

    pub fn list<Q: Quantity>(mut self, key: &'static str, values: &[Known<Q>]) -> Self {
        let values = values.iter().map(|v| (v.value().si(), Some(v.node().clone()))).collect();
        self.values.push((key, OutputValue::Numbers(values)));
        self
    }

    /// A number in the output's unit without a derivation of its own: an angle, a position.
    pub fn plain(mut self, key: &'static str, value: f64) -> Self {
        self.values.push((key, OutputValue::Number(value, None)));
        self
    }

    /// A word or a line.
    pub fn text(mut self, key: &'static str, text: impl Into<String>) -> Self {
        self.values.push((key, OutputValue::Text(text.into())));
        self
    }

    /// Several words or lines.
    pub fn texts(mut self, key: &'static str, texts: Vec<String>) -> Self {
        self.values.push((key, OutputValue::Texts(texts)));
        self
    }

    pub fn flag(mut self, key: &'static str, value: bool) -> Self {
        self.values.push((key, OutputValue::Flag(value)));
        self
    }

    /// Pairs the values with the declaration, in its order and units; refuses numbers that are none.
    pub fn declared(
        mut self,
        calculation: &Calculation,
        inputs: Vec<(&'static str, Vec<String>)>,
    ) -> Result<Outcome, CalcError> {
        let mut outputs = Vec::new();
        for spec in &calculation.outputs {
            let Some(at) = self.values.iter().position(|(key, _)| *key == spec.key) else { continue };
            let (key, value) = self.values.remove(at);
            let value = in_unit(key, value, &spec.measure)?;
            outputs.push(Output { key, unit: spec.measure.unit, what: spec.what, value });
        }
        match self.values.first() {
            Some((key, _)) => Err(CalcError::Undeclared { key }),
            None => Ok(Outcome { id: calculation.id, inputs, outputs }),
        }
    }
}

fn in_unit(key: &'static str, value: OutputValue, measure: &Measure) -> Result<OutputValue, CalcError> {
    let convert = |(si, node): (f64, Option<Arc<Node>>)| {
        let value = if node.is_some() { measure.of_si(si) } else { si };
        if value.is_finite() { Ok((value, node)) } else { Err(CalcError::NoNumber { key }) }
    };
    Ok(match value {
        OutputValue::Number(si, node) => {
            let (value, node) = convert((si, node))?;
            OutputValue::Number(value, node)
        }
        OutputValue::Numbers(list) => {
            OutputValue::Numbers(list.into_iter().map(convert).collect::<Result<_, _>>()?)
        }
        other => other,
    })
}

impl OutputValue {
    /// Numbers to nine significant digits.
    pub fn json(&self) -> Value {
        match self {
            OutputValue::Number(value, _) => number(*value),
            OutputValue::Numbers(list) => list.iter().map(|(value, _)| number(*value)).collect(),
            OutputValue::Flag(flag) => json!(flag),
            OutputValue::Text(text) => json!(text),
            OutputValue::Texts(texts) => json!(texts),
        }
    }

    fn nodes(&self) -> Vec<&Arc<Node>> {
        match self {
            OutputValue::Number(_, node) => node.iter().collect(),
            OutputValue::Numbers(list) => list.iter().filter_map(|(_, node)| node.as_ref()).collect(),
            OutputValue::Flag(_) | OutputValue::Text(_) | OutputValue::Texts(_) => Vec::new(),
        }
    }

    fn text(&self, unit: &str) -> String {
        let one = |value: f64| {
            let mut digits = significant(value, 6);
            if digits.contains('.') {
                digits.truncate(digits.trim_end_matches('0').trim_end_matches('.').len());
            }
            digits
        };
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        match self {
            OutputValue::Number(value, _) => format!("{}{unit}", one(*value)),
            OutputValue::Numbers(list) => {
                format!("{}{unit}", list.iter().map(|(v, _)| one(*v)).collect::<Vec<_>>().join(", "))
            }
            OutputValue::Flag(flag) => if *flag { "yes" } else { "no" }.to_owned(),
            OutputValue::Text(text) => text.clone(),
            OutputValue::Texts(texts) => texts.join("; "),
        }
    }
}

impl Outcome {
    /// The value of an output.
    pub fn get(&self, key: &str) -> Option<&OutputValue> {
        self.outputs.iter().find(|o| o.key == key).map(|o| &o.value)
    }

    /// The number of an output, to the nine significant digits that are written.
    pub fn number(&self, key: &str) -> Option<f64> {
        match self.get(key)? {
            OutputValue::Number(value, _) => number(*value).as_f64(),
            _ => None,
        }
    }

    /// `wattwright-calc/1`. Nodes of the derivation have the names that outputs refer to.
    pub fn json(&self) -> Value {
        let mut graph = Graph::new();
        let mut outputs = Map::new();
        for output in &self.outputs {
            let mut body = Map::new();
            body.insert("value".into(), output.value.json());
            body.insert("unit".into(), json!(output.unit));
            let names: Vec<String> = output.value.nodes().into_iter().map(|n| graph.add(n)).collect();
            match (&output.value, names.as_slice()) {
                (_, []) => {}
                (OutputValue::Number(..), [name]) => {
                    body.insert("derivation".into(), json!(name));
                }
                _ => {
                    body.insert("nodes".into(), json!(names));
                }
            }
            outputs.insert(output.key.into(), Value::Object(body));
        }
        let inputs: Map<String, Value> = self
            .inputs
            .iter()
            .map(|(key, texts)| match texts.as_slice() {
                [one] => ((*key).to_owned(), json!(one)),
                many => ((*key).to_owned(), json!(many)),
            })
            .collect();
        json!({
            "schema": "wattwright-calc/1",
            "id": self.id,
            "inputs": inputs,
            "outputs": outputs,
            "derivations": graph.json(),
        })
    }

    /// Result lines, then the hand calculation.
    pub fn text(&self) -> String {
        let mut out = String::new();
        let wide = self.outputs.iter().map(|o| o.key.len()).max().unwrap_or(0);
        for output in &self.outputs {
            let (key, what) = (output.key, output.what);
            if let OutputValue::Texts(lines) = &output.value {
                let _ = writeln!(out, "{key:wide$}  {what}: {}", lines.len());
                lines.iter().for_each(|line| {
                    let _ = writeln!(out, "    {line}");
                });
                continue;
            }
            let _ = writeln!(out, "{key:wide$}  {}   {what}", output.value.text(output.unit));
        }
        let nodes: Vec<&Arc<Node>> = self.outputs.iter().flat_map(|o| o.value.nodes()).collect();
        let mut below = BTreeSet::new();
        for node in &nodes {
            mark_below(node, &mut below);
        }
        // what stands inside another result's derivation, or was told already, is not told again
        let mut told = BTreeSet::new();
        for node in nodes {
            if !below.contains(&address(node)) && !told.contains(&address(node)) {
                out.push('\n');
                tell(node, 0, &mut out, &mut told);
            }
        }
        out
    }
}

/// Addresses only mark what was seen; they reach no output.
fn address(node: &Arc<Node>) -> usize {
    Arc::as_ptr(node) as usize
}

/// As [`derivation::explain`], but over all results of a run together.
fn tell(node: &Arc<Node>, depth: usize, out: &mut String, told: &mut BTreeSet<usize>) {
    if !told.insert(address(node)) {
        return;
    }
    let source = node.source();
    let source = if source.is_empty() { String::new() } else { format!("   [{source}]") };
    let _ = writeln!(out, "{:indent$}{}   {}{source}", "", node.line(), node.what, indent = 2 * depth);
    for (_, parent) in node.parents() {
        tell(parent, depth + 1, out, told);
    }
}

fn mark_below(node: &Arc<Node>, seen: &mut BTreeSet<usize>) {
    for (_, parent) in node.parents() {
        if seen.insert(address(parent)) {
            mark_below(parent, seen);
        }
    }
}
