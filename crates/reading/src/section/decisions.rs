//! Getters of what a document may leave to the tool (`"choose"`).

use std::ops::RangeInclusive;

use quantity::Quantity;
use serde_json::json;
use toml::de::DeValue;

use super::{Section, quantity_schema};
use crate::{Decision, Placed};

impl Section<'_> {
    /// `"choose"`, or one of several words. Absent means choose.
    pub fn decide<T: Clone>(&self, key: &str, doc: &str, words: &[(&str, T)]) -> Option<Decision<T>> {
        let mut all: Vec<(&str, Option<T>)> = vec![("choose", None)];
        all.extend(words.iter().map(|(word, value)| (*word, Some(value.clone()))));
        let there = self.has(key);
        match self.choice_if(key, doc, &all, false) {
            Some(Placed { value: Some(value), place }) => Some(Decision::Fixed(Placed { value, place })),
            Some(Placed { value: None, .. }) => Some(Decision::Choose),
            None if there => None,
            None => Some(Decision::Choose),
        }
    }

    /// `"choose"`, or a whole number within bounds. Absent means choose.
    pub fn decide_count(&self, key: &str, doc: &str, range: RangeInclusive<u32>) -> Option<Decision<u32>> {
        let schema = json!({ "anyOf": [
            { "const": "choose" },
            { "type": "integer", "minimum": range.start(), "maximum": range.end() },
        ]});
        let Some(at) = self.get(key, doc, false, schema) else {
            return Some(Decision::Choose);
        };
        if matches!(at.get_ref(), DeValue::String(text) if text.as_ref() == "choose") {
            return Some(Decision::Choose);
        }
        if matches!(at.get_ref(), DeValue::Integer(_)) {
            return self.read_count(key, at, &range).map(Decision::Fixed);
        }
        self.wrong(key, at, "a whole number without quotes, or \"choose\"");
        None
    }

    /// `"choose"`, or a text. Absent means choose.
    pub fn decide_text(&self, key: &str, doc: &str) -> Option<Decision<String>> {
        let there = self.has(key);
        match self.text_if(key, doc, false) {
            Some(text) if text.value == "choose" => Some(Decision::Choose),
            Some(text) => Some(Decision::Fixed(text)),
            None if there => None,
            None => Some(Decision::Choose),
        }
    }

    /// `"choose"`, or a quantity. Absent means choose.
    pub fn decide_quantity<Q: Quantity>(&self, key: &str, doc: &str) -> Option<Decision<Q>> {
        let schema = json!({ "anyOf": [{ "const": "choose" }, quantity_schema::<Q>()] });
        let Some(at) = self.get(key, doc, false, schema) else {
            return Some(Decision::Choose);
        };
        if matches!(at.get_ref(), DeValue::String(text) if text.as_ref() == "choose") {
            return Some(Decision::Choose);
        }
        self.read_quantity::<Q>(key, at).map(Decision::Fixed)
    }
}
