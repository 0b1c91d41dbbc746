//! Getters of lists of values.

use std::ops::RangeInclusive;

use quantity::{Quantity, Ratio};
use serde_json::{Value, json};
use toml::Spanned;
use toml::de::DeValue;

use super::{Section, number, quantity_schema};
use crate::Placed;

impl<'a> Section<'a> {
    /// A list of texts; empty if not there.
    pub fn texts(&self, key: &str, doc: &str) -> Vec<Placed<String>> {
        self.each(key, doc, json!({ "type": "string" }), |at| match at.get_ref() {
            DeValue::String(text) => self.placed(text.to_string(), at),
            _ => {
                self.wrong(key, at, "a text in quotes");
                None
            }
        })
    }

    /// A list of quantities; empty if not there.
    pub fn quantities<Q: Quantity>(&self, key: &str, doc: &str) -> Vec<Placed<Q>> {
        self.each(key, doc, quantity_schema::<Q>(), |at| self.read_quantity::<Q>(key, at))
    }

    /// A list of plain numbers within bounds; empty if not there.
    pub fn fractions(&self, key: &str, doc: &str, range: RangeInclusive<f64>) -> Vec<Placed<Ratio>> {
        let schema = json!({ "type": "number", "minimum": range.start(), "maximum": range.end() });
        let range = Ratio::of(*range.start())..=Ratio::of(*range.end());
        self.each(key, doc, schema, |at| {
            let Some(value) = number(at.get_ref()) else {
                self.wrong(key, at, "a number");
                return None;
            };
            let placed = self.placed(Ratio::of(value), at)?;
            self.within(key, &placed, Some(&range)).then_some(placed)
        })
    }

    fn each<T>(
        &self,
        key: &str,
        doc: &str,
        item: Value,
        mut read: impl FnMut(&Spanned<DeValue<'a>>) -> Option<T>,
    ) -> Vec<T> {
        let schema = json!({ "type": "array", "items": item });
        let Some(at) = self.get(key, doc, false, schema) else {
            return Vec::new();
        };
        match at.get_ref() {
            DeValue::Array(items) => items.iter().filter_map(&mut read).collect(),
            _ => {
                self.wrong(key, at, "a list in square brackets");
                Vec::new()
            }
        }
    }
}
