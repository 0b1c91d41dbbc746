//! Inputs as they are written: `key=value` words or a JSON object. Nothing is interpreted here but the form.

use std::fmt;
use std::sync::Arc;

use derivation::Place;
use serde::Deserializer as _;
use serde::de::{MapAccess, Visitor};
use serde_json::Value;

use crate::error::{CalcError, InputError};

/// One value as written, with its place.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Written {
    pub key: String,
    pub texts: Vec<String>,
    /// Written as a list, so that its commas are already taken apart.
    pub list: bool,
    pub place: Place,
}

/// Inputs as they are written.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Inputs {
    pub(crate) entries: Vec<Written>,
}

impl Inputs {
    /// From words `key=value`. The value is a number in the key's unit (`line_v=400`), a quantity with its unit
    /// (`line=400 V`), a list (`leg_a=60,45` or a JSON array), or a word.
    ///
    /// # Errors
    /// A word that is no pair, a key given twice, an array that is no JSON.
    pub fn from_pairs<S: AsRef<str>>(pairs: &[S]) -> Result<Self, CalcError> {
        let mut inputs = Self::default();
        let mut errors = Vec::new();
        for (k, pair) in pairs.iter().enumerate() {
            let text = pair.as_ref();
            match text.split_once('=') {
                Some((key, value)) if !key.trim().is_empty() && !value.trim().is_empty() => {
                    let start = text.len() - value.len();
                    let place = place("arguments", k as u32 + 1, start as u32 + 1, start, text.len());
                    match values_of_pair(value.trim()) {
                        Ok((texts, list)) => {
                            inputs
                                .add(Written { key: key.trim().to_owned(), texts, list, place }, &mut errors);
                        }
                        Err(error) => errors.push(error),
                    }
                }
                _ => errors.push(InputError::NotAPair { text: text.to_owned() }),
            }
        }
        if errors.is_empty() { Ok(inputs) } else { Err(CalcError::Inputs(errors)) }
    }

    /// From a JSON object: numbers, words, true and false, and arrays of numbers or words.
    ///
    /// # Errors
    /// No JSON object, a key given twice, a value that is null, an object, or an array of arrays.
    pub fn from_json(text: &str) -> Result<Self, CalcError> {
        let json = |message: String| CalcError::from(InputError::Json { message });
        let mut reader = serde_json::Deserializer::from_str(text);
        let pairs = reader.deserialize_map(Pairs).map_err(|e| json(e.to_string()))?;
        reader.end().map_err(|e| json(e.to_string()))?;
        let mut inputs = Self::default();
        let mut errors = Vec::new();
        for (key, value) in pairs {
            match values_of_json(&value) {
                Some((texts, list)) => {
                    let place = place_of_key(text, &key);
                    inputs.add(Written { key, texts, list, place }, &mut errors);
                }
                None => errors.push(InputError::Json {
                    message: format!("\"{key}\" must be a number, a word, or an array of them"),
                }),
            }
        }
        if errors.is_empty() { Ok(inputs) } else { Err(CalcError::Inputs(errors)) }
    }

    fn add(&mut self, written: Written, errors: &mut Vec<InputError>) {
        if self.entries.iter().any(|e| e.key == written.key) {
            errors.push(InputError::Twice { key: written.key });
        } else {
            self.entries.push(written);
        }
    }
}

fn place(file: &str, line: u32, column: u32, start: usize, end: usize) -> Place {
    Place { file: Arc::from(file), line, column, start, end }
}

/// Where a key stands in a JSON text: its first mention in quotes.
fn place_of_key(text: &str, key: &str) -> Place {
    let quoted = format!("\"{key}\"");
    let start = text.find(&quoted).unwrap_or(0);
    let before = text.get(..start).unwrap_or_default();
    let line = before.matches('\n').count() as u32 + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() as u32 + 1;
    place("json", line, column, start, start + quoted.len())
}

fn values_of_pair(value: &str) -> Result<(Vec<String>, bool), InputError> {
    if !value.starts_with('[') {
        return Ok((vec![value.to_owned()], false));
    }
    let json: Value = serde_json::from_str(value).map_err(|e| InputError::Json { message: e.to_string() })?;
    values_of_json(&json)
        .ok_or_else(|| InputError::Json { message: format!("{value} is no array of numbers or words") })
}

fn values_of_json(value: &Value) -> Option<(Vec<String>, bool)> {
    let one = |value: &Value| match value {
        Value::Number(n) => Some(n.to_string()),
        Value::String(s) => Some(s.clone()),
        Value::Bool(b) => Some(if *b { "yes" } else { "no" }.to_owned()),
        Value::Null | Value::Array(_) | Value::Object(_) => None,
    };
    match value {
        Value::Array(items) => Some((items.iter().map(one).collect::<Option<_>>()?, true)),
        other => Some((vec![one(other)?], false)),
    }
}

/// Reads an object as pairs in order, so that a key given twice is seen.
struct Pairs;

impl<'de> Visitor<'de> for Pairs {
    type Value = Vec<(String, Value)>;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON object such as {\"relay_a\": 50}")
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
        let mut pairs = Vec::new();
        while let Some(pair) = map.next_entry::<String, Value>()? {
            pairs.push(pair);
        }
        Ok(pairs)
    }
}
