//! What a calculation declares: its inputs, its outputs, its evaluator.

use crate::error::{CalcError, InputError};
use crate::given::Given;
use crate::inputs::Inputs;
use crate::measure::Measure;
use crate::outcome::{Outcome, Results};

/// One single calculation.
#[derive(Debug, Clone)]
pub struct Calculation {
    /// Name in words with hyphens.
    pub id: &'static str,
    /// What it is for, in one line.
    pub purpose: &'static str,
    /// Inputs, in the order in which they are listed.
    pub inputs: Vec<InputSpec>,
    /// Outputs, in the order in which they are given.
    pub outputs: Vec<OutputSpec>,
    /// The evaluator.
    pub(crate) run: fn(&Given) -> Result<Results, CalcError>,
}

/// Which values an input takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Allowed {
    /// From one bound to the other, in the key's unit.
    Within(f64, f64),
    /// Above a bound, in the key's unit.
    Above(f64),
    /// One of these words.
    Words(&'static [&'static str]),
    /// Any text that the evaluator knows (an id, a letter); it answers for itself.
    Text,
}

/// One input.
#[derive(Debug, Clone)]
pub struct InputSpec {
    /// The key, ending in its unit's suffix.
    pub key: &'static str,
    /// Its unit.
    pub measure: Measure,
    /// What it is.
    pub what: &'static str,
    /// Taken where it is not given; shown as an assumption in the derivation.
    pub default: Option<&'static str>,
    /// May be left out, without a default: the results that need it are left out too.
    pub optional: bool,
    /// Which values it takes.
    pub allowed: Allowed,
    /// Takes a list.
    pub list: bool,
}

impl InputSpec {
    /// An input that takes a number above zero and must be given.
    pub(crate) fn number(key: &'static str, measure: Measure, what: &'static str) -> Self {
        Self { key, measure, what, default: None, optional: false, allowed: Allowed::Above(0.0), list: false }
    }

    /// A list of numbers above zero that must be given.
    pub(crate) fn numbers(key: &'static str, measure: Measure, what: &'static str) -> Self {
        Self { list: true, ..Self::number(key, measure, what) }
    }

    /// An input that takes one of some words and must be given.
    pub(crate) fn word(key: &'static str, what: &'static str, words: &'static [&'static str]) -> Self {
        Self { allowed: Allowed::Words(words), ..Self::number(key, Measure::WORD, what) }
    }

    /// An input that takes yes or no and must be given.
    pub(crate) fn yes_no(key: &'static str, what: &'static str) -> Self {
        Self::word(key, what, &["yes", "no"])
    }

    /// An input that takes a text and must be given.
    pub(crate) fn text(key: &'static str, what: &'static str) -> Self {
        Self { allowed: Allowed::Text, ..Self::number(key, Measure::WORD, what) }
    }

    /// With a default.
    pub(crate) fn or(self, default: &'static str) -> Self {
        Self { default: Some(default), ..self }
    }

    /// May be left out.
    pub(crate) fn if_given(self) -> Self {
        Self { optional: true, ..self }
    }

    /// From one bound to the other, in the key's unit.
    pub(crate) fn within(self, low: f64, high: f64) -> Self {
        Self { allowed: Allowed::Within(low, high), ..self }
    }

    /// One value for each of several.
    pub(crate) fn each(self) -> Self {
        Self { list: true, ..self }
    }

    /// The key without its unit suffix, which a value with a unit may use.
    pub fn stem(&self) -> &'static str {
        self.key.strip_suffix(self.measure.suffix).unwrap_or(self.key)
    }

    /// Which values it takes, in words.
    pub fn allowed_text(&self) -> String {
        let unit =
            if self.measure.unit.is_empty() { String::new() } else { format!(" {}", self.measure.unit) };
        match self.allowed {
            Allowed::Within(low, high) => format!("from {low} to {high}{unit}"),
            Allowed::Above(low) => format!("above {low}{unit}"),
            Allowed::Words(words) => {
                format!("one of {}", words.iter().map(|w| format!("\"{w}\"")).collect::<Vec<_>>().join(", "))
            }
            Allowed::Text => "a text".to_owned(),
        }
    }
}

/// One output.
#[derive(Debug, Clone, Copy)]
pub struct OutputSpec {
    /// The key, ending in its unit's suffix.
    pub key: &'static str,
    /// Its unit.
    pub measure: Measure,
    /// What it is.
    pub what: &'static str,
}

impl OutputSpec {
    pub(crate) fn new(key: &'static str, measure: Measure, what: &'static str) -> Self {
        Self { key, measure, what }
    }
}

impl Calculation {
    /// Reads the inputs, evaluates, and checks the results against the declaration.
    pub(crate) fn evaluate(&self, inputs: &Inputs) -> Result<Outcome, CalcError> {
        let given = Given::read(self, inputs)?;
        let results = (self.run)(&given)?;
        results.declared(self, given.shown())
    }

    /// The keys, as "what is needed" for messages.
    pub(crate) fn unknown(&self, key: &str) -> InputError {
        let nearest = crate::error::nearest(key, self.inputs.iter().map(|spec| spec.key));
        InputError::UnknownKey { key: key.to_owned(), nearest }
    }
}
