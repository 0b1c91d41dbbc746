//! One table of a document: getters that read, and describe what they would read.

mod decisions;
mod lists;
mod tables;

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::fmt::Display;
use std::ops::RangeInclusive;
use std::str::FromStr;

use derivation::Place;
use quantity::{Quantity, QuantityError, Ratio};
use serde_json::{Map, Value, json};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::{Diagnostic, Placed, SourceText};

pub(crate) struct Context<'a> {
    pub source: &'a SourceText,
    pub diagnostics: &'a RefCell<Vec<Diagnostic>>,
}

enum Inner<'a> {
    Real { table: &'a DeTable<'a>, place: Place, path: String, context: &'a Context<'a> },
    Describing { properties: RefCell<Map<String, Value>>, required: RefCell<Vec<String>> },
}

/// A table being read (or described).
pub struct Section<'a> {
    inner: Inner<'a>,
    known: RefCell<BTreeSet<String>>,
}

impl<'a> Section<'a> {
    pub(crate) fn real(table: &'a DeTable<'a>, place: Place, path: String, context: &'a Context<'a>) -> Self {
        Self { inner: Inner::Real { table, place, path, context }, known: RefCell::default() }
    }

    pub(crate) fn describing() -> Self {
        let inner = Inner::Describing { properties: RefCell::default(), required: RefCell::default() };
        Self { inner, known: RefCell::default() }
    }

    pub(crate) fn described(self) -> Value {
        let Inner::Describing { properties, required } = self.inner else {
            return Value::Null;
        };
        json!({
            "type": "object",
            "additionalProperties": false,
            "properties": properties.into_inner(),
            "required": required.into_inner(),
        })
    }

    /// Where the table stands.
    pub fn place(&self) -> Option<Place> {
        match &self.inner {
            Inner::Real { place, .. } => Some(place.clone()),
            Inner::Describing { .. } => None,
        }
    }

    /// Whether a key is there.
    pub fn has(&self, key: &str) -> bool {
        match &self.inner {
            Inner::Real { table, .. } => table.contains_key(key),
            Inner::Describing { .. } => false,
        }
    }

    /// The place of a key's value, else of the table.
    pub fn place_of(&self, key: &str) -> Option<Place> {
        match &self.inner {
            Inner::Real { table, place, context, .. } => {
                Some(table.get(key).map_or_else(|| place.clone(), |v| context.source.place(v.span())))
            }
            Inner::Describing { .. } => None,
        }
    }

    /// Adds a mistake found by the caller.
    pub fn mistake(&self, diagnostic: Diagnostic) {
        if let Inner::Real { context, .. } = &self.inner {
            context.diagnostics.borrow_mut().push(diagnostic);
        }
    }

    /// Adds a mistake at a key's value.
    pub fn mistake_at(
        &self,
        key: &str,
        id: &'static str,
        message: impl Into<String>,
        help: impl Into<String>,
    ) {
        if let Some(place) = self.place_of(key) {
            self.mistake(Diagnostic::new(id, message).at(&place, "here").help(help));
        }
    }

    fn note(&self, key: &str, doc: &str, needed: bool, mut schema: Value) {
        self.known.borrow_mut().insert(key.to_owned());
        if let Inner::Describing { properties, required } = &self.inner {
            if let Some(map) = schema.as_object_mut() {
                map.insert("description".into(), json!(doc));
            }
            properties.borrow_mut().insert(key.to_owned(), schema);
            if needed {
                required.borrow_mut().push(key.to_owned());
            }
        }
    }

    fn get(&self, key: &str, doc: &str, needed: bool, schema: Value) -> Option<&'a Spanned<DeValue<'a>>> {
        self.note(key, doc, needed, schema);
        let Inner::Real { table, place, path, .. } = &self.inner else {
            return None;
        };
        let found = table.get(key);
        if found.is_none() && needed {
            let owner = if path.is_empty() { "the file".to_owned() } else { format!("[{path}]") };
            self.mistake(
                Diagnostic::new("missing-key", format!("{owner} has no `{key}`"))
                    .at(place, format!("`{key}` is missing: {doc}")),
            );
        }
        found
    }

    fn placed<T>(&self, value: T, at: &Spanned<DeValue<'a>>) -> Option<Placed<T>> {
        let Inner::Real { context, .. } = &self.inner else {
            return None;
        };
        Some(Placed { value, place: context.source.place(at.span()) })
    }

    fn wrong(&self, key: &str, at: &Spanned<DeValue<'a>>, expected: &str) {
        if let Some(placed) = self.placed((), at) {
            self.mistake(
                Diagnostic::new("wrong-type", format!("`{key}` is {}", article(at.get_ref().type_str())))
                    .at(&placed.place, format!("expected {expected}")),
            );
        }
    }

    fn string(
        &self,
        key: &str,
        doc: &str,
        needed: bool,
        schema: Value,
        expected: &str,
    ) -> Option<Placed<String>> {
        let at = self.get(key, doc, needed, schema)?;
        match at.get_ref() {
            DeValue::String(text) => self.placed(text.to_string(), at),
            _ => {
                self.wrong(key, at, expected);
                None
            }
        }
    }

    fn refuse<T>(&self, placed: &Placed<T>, error: QuantityError) {
        self.mistake(
            Diagnostic::new("wrong-value", error.message)
                .at(&placed.place, "not understood")
                .help(error.help),
        );
    }

    /// A text, if there.
    pub fn text(&self, key: &str, doc: &str) -> Option<Placed<String>> {
        self.text_if(key, doc, false)
    }

    /// A text that must be there.
    pub fn need_text(&self, key: &str, doc: &str) -> Option<Placed<String>> {
        self.text_if(key, doc, true)
    }

    fn text_if(&self, key: &str, doc: &str, needed: bool) -> Option<Placed<String>> {
        let text = self.string(key, doc, needed, json!({ "type": "string" }), "a text in quotes")?;
        if text.value.trim().is_empty() || text.value.chars().count() > 2000 {
            self.mistake(
                Diagnostic::new("wrong-value", format!("`{key}` is empty, or longer than 2000 characters"))
                    .at(&text.place, doc),
            );
            return None;
        }
        Some(text)
    }

    /// A quantity with its unit, if there.
    pub fn quantity<Q: Quantity>(&self, key: &str, doc: &str) -> Option<Placed<Q>> {
        self.quantity_if(key, doc, false, None)
    }

    /// A quantity with its unit that must be there.
    pub fn need_quantity<Q: Quantity>(&self, key: &str, doc: &str) -> Option<Placed<Q>> {
        self.quantity_if(key, doc, true, None)
    }

    /// A quantity within bounds, if there.
    pub fn quantity_in<Q: Quantity>(
        &self,
        key: &str,
        doc: &str,
        range: RangeInclusive<Q>,
    ) -> Option<Placed<Q>> {
        self.quantity_if(key, doc, false, Some(range))
    }

    /// A quantity within bounds that must be there.
    pub fn need_quantity_in<Q: Quantity>(
        &self,
        key: &str,
        doc: &str,
        range: RangeInclusive<Q>,
    ) -> Option<Placed<Q>> {
        self.quantity_if(key, doc, true, Some(range))
    }

    fn quantity_if<Q: Quantity>(
        &self,
        key: &str,
        doc: &str,
        needed: bool,
        range: Option<RangeInclusive<Q>>,
    ) -> Option<Placed<Q>> {
        let at = self.get(key, doc, needed, quantity_schema::<Q>())?;
        let placed = self.read_quantity::<Q>(key, at)?;
        self.within(key, &placed, range.as_ref()).then_some(placed)
    }

    fn read_quantity<Q: Quantity>(&self, key: &str, at: &Spanned<DeValue<'a>>) -> Option<Placed<Q>> {
        let expected = format!("a {} with its unit in quotes, such as \"{}\"", Q::NAME, Q::EXAMPLE);
        match at.get_ref() {
            DeValue::String(text) => {
                let placed = self.placed((), at)?;
                match Q::read(text) {
                    Ok(value) => Some(placed.map(|()| value)),
                    Err(error) => {
                        self.refuse(&placed, error);
                        None
                    }
                }
            }
            DeValue::Integer(_) | DeValue::Float(_) => {
                let placed = self.placed((), at)?;
                let written = self.raw(at);
                let unit = Q::units().first().map_or("", |u| u.symbol);
                self.mistake(
                    Diagnostic::new("wrong-value", format!("{written} has no unit"))
                        .at(&placed.place, expected)
                        .help(format!("write \"{written} {unit}\"")),
                );
                None
            }
            _ => {
                self.wrong(key, at, &expected);
                None
            }
        }
    }

    fn raw(&self, at: &Spanned<DeValue<'a>>) -> String {
        match &self.inner {
            Inner::Real { context, .. } => context.source.text().get(at.span()).unwrap_or("").to_owned(),
            Inner::Describing { .. } => String::new(),
        }
    }

    fn within<T: PartialOrd + Display>(
        &self,
        key: &str,
        placed: &Placed<T>,
        range: Option<&RangeInclusive<T>>,
    ) -> bool {
        let Some(range) = range else { return true };
        if range.contains(&placed.value) {
            return true;
        }
        self.mistake(
            Diagnostic::new("out-of-range", format!("`{key}` is {}", placed.value))
                .at(&placed.place, format!("expected {} to {}", range.start(), range.end())),
        );
        false
    }

    /// A designation (conductor size, voltage system, connection, percentage, ...), if there.
    pub fn designation<T: FromStr<Err = QuantityError>>(
        &self,
        key: &str,
        doc: &str,
        example: &str,
    ) -> Option<Placed<T>> {
        self.designation_if(key, doc, example, false)
    }

    /// A designation that must be there.
    pub fn need_designation<T: FromStr<Err = QuantityError>>(
        &self,
        key: &str,
        doc: &str,
        example: &str,
    ) -> Option<Placed<T>> {
        self.designation_if(key, doc, example, true)
    }

    fn designation_if<T: FromStr<Err = QuantityError>>(
        &self,
        key: &str,
        doc: &str,
        example: &str,
        needed: bool,
    ) -> Option<Placed<T>> {
        let schema = json!({ "type": "string", "examples": [example] });
        let text = self.string(key, doc, needed, schema, &format!("a text such as \"{example}\""))?;
        match text.value.parse::<T>() {
            Ok(value) => Some(text.map(|_| value)),
            Err(error) => {
                self.refuse(&text, error);
                None
            }
        }
    }

    /// One of several words, if there.
    pub fn choice<T: Clone>(&self, key: &str, doc: &str, words: &[(&str, T)]) -> Option<Placed<T>> {
        self.choice_if(key, doc, words, false)
    }

    /// One of several words that must be there.
    pub fn need_choice<T: Clone>(&self, key: &str, doc: &str, words: &[(&str, T)]) -> Option<Placed<T>> {
        self.choice_if(key, doc, words, true)
    }

    fn choice_if<T: Clone>(
        &self,
        key: &str,
        doc: &str,
        words: &[(&str, T)],
        needed: bool,
    ) -> Option<Placed<T>> {
        let all: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let quoted = all.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", ");
        let schema = json!({ "type": "string", "enum": all });
        let text = self.string(key, doc, needed, schema, &format!("one of {quoted}"))?;
        if let Some((_, value)) = words.iter().find(|(word, _)| *word == text.value) {
            let value = value.clone();
            return Some(text.map(|_| value));
        }
        let help = match nearest(&text.value, all.iter().copied()) {
            Some(near) => format!("did you mean \"{near}\"? One of {quoted}"),
            None => format!("one of {quoted}"),
        };
        self.mistake(
            Diagnostic::new("wrong-value", format!("\"{}\" is no {key}", text.value))
                .at(&text.place, "not one of the words for it")
                .help(help),
        );
        None
    }

    /// A whole number within bounds, if there.
    pub fn count(&self, key: &str, doc: &str, range: RangeInclusive<u32>) -> Option<Placed<u32>> {
        self.count_if(key, doc, range, false)
    }

    /// A whole number within bounds that must be there.
    pub fn need_count(&self, key: &str, doc: &str, range: RangeInclusive<u32>) -> Option<Placed<u32>> {
        self.count_if(key, doc, range, true)
    }

    fn count_if(
        &self,
        key: &str,
        doc: &str,
        range: RangeInclusive<u32>,
        needed: bool,
    ) -> Option<Placed<u32>> {
        let schema = json!({ "type": "integer", "minimum": range.start(), "maximum": range.end() });
        let at = self.get(key, doc, needed, schema)?;
        self.read_count(key, at, &range)
    }

    fn read_count(
        &self,
        key: &str,
        at: &Spanned<DeValue<'a>>,
        range: &RangeInclusive<u32>,
    ) -> Option<Placed<u32>> {
        let DeValue::Integer(number) = at.get_ref() else {
            self.wrong(key, at, "a whole number without quotes");
            return None;
        };
        let placed = self.placed((), at)?;
        let value = i64::from_str_radix(number.as_str(), number.radix()).ok();
        match value.and_then(|v| u32::try_from(v).ok()).filter(|v| range.contains(v)) {
            Some(value) => Some(placed.map(|()| value)),
            None => {
                self.mistake(Diagnostic::new("out-of-range", format!("`{key}` is {}", number.as_str())).at(
                    &placed.place,
                    format!("expected a whole number from {} to {}", range.start(), range.end()),
                ));
                None
            }
        }
    }

    /// A plain number within bounds (a power factor, an efficiency), also written as a percentage; if there.
    pub fn fraction(&self, key: &str, doc: &str, range: RangeInclusive<f64>) -> Option<Placed<Ratio>> {
        self.fraction_if(key, doc, range, false)
    }

    /// A plain number within bounds that must be there.
    pub fn need_fraction(&self, key: &str, doc: &str, range: RangeInclusive<f64>) -> Option<Placed<Ratio>> {
        self.fraction_if(key, doc, range, true)
    }

    fn fraction_if(
        &self,
        key: &str,
        doc: &str,
        range: RangeInclusive<f64>,
        needed: bool,
    ) -> Option<Placed<Ratio>> {
        let schema = json!({ "anyOf": [
            { "type": "number", "minimum": range.start(), "maximum": range.end() },
            { "type": "string", "pattern": "^[0-9.]+ ?%$" },
        ]});
        let at = self.get(key, doc, needed, schema)?;
        let placed = self.placed((), at)?;
        let value = match at.get_ref() {
            DeValue::String(text) => match text.parse::<quantity::Percent>() {
                Ok(percent) => Some(percent.share().si()),
                Err(error) => {
                    self.refuse(&placed, error);
                    return None;
                }
            },
            other => number(other),
        };
        let Some(value) = value else {
            self.wrong(key, at, "a number such as 0.95, or \"95 %\"");
            return None;
        };
        let placed = placed.map(|()| Ratio::of(value));
        self.within(key, &placed, Some(&(Ratio::of(*range.start())..=Ratio::of(*range.end()))))
            .then_some(placed)
    }

    /// Yes or no, if there.
    pub fn flag(&self, key: &str, doc: &str) -> Option<Placed<bool>> {
        let at = self.get(key, doc, false, json!({ "type": "boolean" }))?;
        match at.get_ref() {
            DeValue::Boolean(value) => self.placed(*value, at),
            _ => {
                self.wrong(key, at, "true or false without quotes");
                None
            }
        }
    }

    fn path_to(&self, key: &str) -> String {
        match &self.inner {
            Inner::Real { path, .. } if !path.is_empty() => format!("{path}.{key}"),
            _ => key.to_owned(),
        }
    }

    /// Reports keys that no getter asked for.
    pub(crate) fn finish(&self) {
        let Inner::Real { table, path, context, .. } = &self.inner else {
            return;
        };
        let known = self.known.borrow();
        for key in table.keys().filter(|key| !known.contains(key.get_ref().as_ref())) {
            let written = key.get_ref().as_ref();
            let place = context.source.place(key.span());
            let owner = if path.is_empty() { "the file".to_owned() } else { format!("[{path}]") };
            let help = match nearest(written, known.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => {
                    let keys = known.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>().join(", ");
                    format!("{owner} may have {keys}")
                }
            };
            self.mistake(
                Diagnostic::new("unknown-key", format!("{owner} has no key `{written}`"))
                    .at(&place, "unknown key")
                    .help(help),
            );
        }
    }
}

/// The nearest of several words, near enough to be a slip.
fn nearest<'w>(written: &str, words: impl Iterator<Item = &'w str>) -> Option<&'w str> {
    let written = written.to_lowercase();
    words
        .map(|word| (strsim::damerau_levenshtein(&written, &word.to_lowercase()), word))
        .filter(|(distance, word)| *distance * 5 <= 2 * word.chars().count().max(written.chars().count()))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, word)| word)
}

/// A finite number without quotes.
fn number(value: &DeValue<'_>) -> Option<f64> {
    let value = match value {
        DeValue::Integer(n) => i64::from_str_radix(n.as_str(), n.radix()).ok().map(|v| v as f64),
        DeValue::Float(n) => n.as_str().parse::<f64>().ok(),
        _ => None,
    };
    value.filter(|v| v.is_finite())
}

fn article(kind: &str) -> String {
    match kind {
        "integer" | "array" => format!("an {kind}"),
        _ => format!("a {kind}"),
    }
}

fn quantity_schema<Q: Quantity>() -> Value {
    let units: Vec<String> = Q::units().iter().map(|u| u.symbol.to_owned()).collect();
    let pattern = format!("^[-+]?[0-9][-0-9., /eE+]* ?({})$", units.join("|"));
    json!({ "type": "string", "pattern": pattern, "examples": [Q::EXAMPLE] })
}
