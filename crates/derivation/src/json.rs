//! Derivations as JSON: a graph whose nodes are named by their content.

use std::collections::BTreeMap;
use std::sync::Arc;

use serde_json::{Map, Value, json};
use sha2::{Digest, Sha256};

use crate::{Amount, Node, Origin};

/// A number for JSON: nine significant digits; not finite becomes `null`, which readers take as "no number".
pub fn number(value: f64) -> Value {
    if !value.is_finite() {
        return Value::Null;
    }
    let rounded: f64 = format!("{value:.8e}").parse().unwrap_or(value);
    // -0 would be another text for the same number
    let rounded = if rounded == 0.0 { 0.0 } else { rounded };
    if rounded.abs() < 1e15 && rounded.fract() == 0.0 { json!(rounded as i64) } else { json!(rounded) }
}

impl Amount {
    /// `{value, unit}`.
    pub fn json(&self) -> Value {
        json!({ "value": number(self.si), "unit": self.unit })
    }
}

/// Collects the nodes that a document refers to, each once.
#[derive(Debug, Default)]
pub struct Graph {
    nodes: BTreeMap<String, Value>,
    names: BTreeMap<usize, (String, Arc<Node>)>,
    order: Vec<String>,
    written: Option<Written>,
}

/// How a document writes amounts, where that differs from [`Amount::text`].
pub type Written = fn(&Amount) -> String;

impl Graph {
    /// An empty graph.
    pub fn new() -> Self {
        Self::default()
    }

    /// An empty graph of a document that writes amounts its own way. Names stay the same.
    pub fn written(written: Written) -> Self {
        Self { written: Some(written), ..Self::default() }
    }

    /// Names in the order in which they were asked for, each followed by what it rests on.
    pub fn order(&self) -> &[String] {
        &self.order
    }

    /// Takes a node and all that it rests on; returns its name.
    pub fn add(&mut self, node: &Arc<Node>) -> String {
        let address = Arc::as_ptr(node) as usize;
        if let Some((name, _)) = self.names.get(&address) {
            return name.clone();
        }
        let place_in_order = self.order.len();
        let parents: Vec<Value> = node
            .parents()
            .into_iter()
            .map(|(name, parent)| json!({ "name": name, "node": self.add(parent) }))
            .collect();
        let mut body = Map::new();
        body.insert("symbol".into(), json!(node.symbol));
        body.insert("what".into(), json!(node.what));
        body.insert("value".into(), number(node.amount.si));
        body.insert("unit".into(), json!(node.amount.unit));
        body.insert("text".into(), json!(node.amount.text));
        body.insert("origin".into(), json!(origin_word(&node.origin)));
        let expression = node.expression();
        if !expression.is_empty() {
            body.insert("expression".into(), json!(expression));
        }
        let numbers = node.with_numbers();
        if !numbers.is_empty() {
            body.insert("with_numbers".into(), json!(numbers));
        }
        let source = node.source();
        if !source.is_empty() && !matches!(node.origin, Origin::Input(_)) {
            body.insert("source".into(), json!(source));
        }
        if let Origin::Solved { residual, .. } = &node.origin {
            body.insert("residual".into(), number(*residual));
        }
        if !parents.is_empty() {
            body.insert("from".into(), Value::Array(parents));
        }
        let content = Value::Object(body.clone()).to_string();
        if let Origin::Input(place) = &node.origin {
            let place = json!({ "file": place.file.as_ref(), "line": place.line, "column": place.column });
            body.insert("place".into(), place);
        }
        if let Some(written) = self.written {
            body.insert("text".into(), json!(written(&node.amount)));
            if body.contains_key("with_numbers") {
                body.insert("with_numbers".into(), json!(node.with_numbers_as(written)));
            }
        }
        let known = self.nodes.len();
        let name = self.name_of(&content, Value::Object(body));
        if self.nodes.len() > known {
            self.order.insert(place_in_order, name.clone());
        }
        self.names.insert(address, (name.clone(), node.clone()));
        name
    }

    /// A node is named by its content without its place, so that moving a line renames nothing; the same content at
    /// another place gets a number behind its name.
    fn name_of(&mut self, content: &str, body: Value) -> String {
        let hash: String =
            Sha256::digest(content.as_bytes()).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
        let mut name = hash.clone();
        let mut ordinal = 1;
        while self.nodes.get(&name).is_some_and(|known| *known != body) {
            ordinal += 1;
            name = format!("{hash}-{ordinal}");
        }
        self.nodes.insert(name.clone(), body);
        name
    }

    /// All nodes by name, in name order.
    pub fn json(&self) -> Value {
        Value::Object(self.nodes.iter().map(|(name, body)| (name.clone(), body.clone())).collect())
    }
}

fn origin_word(origin: &Origin) -> &'static str {
    match origin {
        Origin::Input(_) => "input",
        Origin::Catalog { .. } => "catalogue",
        Origin::Table { .. } => "table",
        Origin::Assumption { .. } => "assumption",
        Origin::Formula { .. } | Origin::Sum { .. } => "formula",
        Origin::Worst { .. } => "worst of",
        Origin::Chosen { .. } => "chosen",
        Origin::Solved { .. } => "solved",
    }
}
