//! Why a calculation gives no answer.

use codebook::NotCovered;
use derivation::Refused;
use energy::EnergyError;
use network::NetworkError;
use tables::TableError;

/// Why a calculation gives no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CalcError {
    /// No calculation has this id.
    #[error("there is no calculation \"{id}\"{}", did_you_mean(nearest.as_deref()))]
    NoSuchCalculation {
        /// What was asked for.
        id: String,
        /// The id that looks most like it.
        nearest: Option<String>,
    },
    /// The inputs could not be used; all that is wrong with them.
    #[error("{}", lines(.0))]
    Inputs(Vec<InputError>),
    /// The evaluator does not cover the question.
    #[error("not covered: {0}")]
    NotCovered(String),
    /// A result is no number: the inputs lie outside the range in which the formula holds.
    #[error("not covered: {key} comes out as no number for these inputs")]
    NoNumber {
        /// The output.
        key: &'static str,
    },
    /// The calculation and its declaration disagree: a mistake of the program, not of the user.
    #[error("the calculation gives \"{key}\", which it does not declare")]
    Undeclared {
        /// The output.
        key: &'static str,
    },
}

/// What is wrong with one input.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InputError {
    /// Not of the form `key=value`, or no JSON object.
    #[error("\"{text}\": write key=value, for example relay_a=50")]
    NotAPair {
        /// What was written.
        text: String,
    },
    /// The JSON text cannot be read, or holds values of no use here.
    #[error("the JSON cannot be used: {message}")]
    Json {
        /// What is wrong and where.
        message: String,
    },
    /// The calculation has no such input.
    #[error("there is no input \"{key}\"{}", did_you_mean(nearest.as_deref()))]
    UnknownKey {
        /// What was written.
        key: String,
        /// The key that looks most like it.
        nearest: Option<String>,
    },
    /// A key without its unit suffix whose value has no unit either.
    #[error("\"{written}\" says no unit: write {key}={value}, or {written} with a unit ({example})")]
    NoUnit {
        /// What was written.
        written: String,
        /// The full key.
        key: &'static str,
        /// The value.
        value: String,
        /// An example value.
        example: String,
    },
    /// An input stands there twice.
    #[error("\"{key}\" is given twice")]
    Twice {
        /// The input.
        key: String,
    },
    /// An input is missing.
    #[error("\"{key}\" is missing: {what}{}", in_unit(unit))]
    Missing {
        /// The input.
        key: &'static str,
        /// What it is.
        what: &'static str,
        /// Its unit.
        unit: &'static str,
    },
    /// The value cannot be read.
    #[error("{key}: {message}; {help}")]
    Unreadable {
        /// The input.
        key: &'static str,
        /// What is wrong.
        message: String,
        /// What to write instead.
        help: String,
    },
    /// The value lies outside its range.
    #[error("{key} is {value}, it must be {allowed}")]
    OutOfRange {
        /// The input.
        key: &'static str,
        /// What was written.
        value: String,
        /// The range or the words that are allowed.
        allowed: String,
    },
    /// A list has the wrong number of entries.
    #[error("{key} has {count} values, {needed}")]
    Count {
        /// The input.
        key: &'static str,
        /// How many there are.
        count: usize,
        /// How many are needed.
        needed: String,
    },
}

impl From<InputError> for CalcError {
    fn from(error: InputError) -> Self {
        CalcError::Inputs(vec![error])
    }
}

impl From<NetworkError> for CalcError {
    fn from(error: NetworkError) -> Self {
        CalcError::NotCovered(error.to_string())
    }
}

impl From<EnergyError> for CalcError {
    fn from(error: EnergyError) -> Self {
        CalcError::NotCovered(error.to_string())
    }
}

impl From<TableError> for CalcError {
    fn from(error: TableError) -> Self {
        CalcError::NotCovered(error.to_string())
    }
}

impl From<NotCovered> for CalcError {
    fn from(error: NotCovered) -> Self {
        CalcError::NotCovered(format!("{} ({})", error.reason, error.clause))
    }
}

impl From<Refused> for CalcError {
    fn from(error: Refused) -> Self {
        CalcError::NotCovered(error.to_string())
    }
}

fn did_you_mean(nearest: Option<&str>) -> String {
    nearest.map(|n| format!("; did you mean \"{n}\"?")).unwrap_or_default()
}

fn in_unit(unit: &str) -> String {
    if unit.is_empty() { String::new() } else { format!(", in {unit}") }
}

fn lines(errors: &[InputError]) -> String {
    errors.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n")
}

/// Below this likeness a candidate is no help.
const ALIKE: f64 = 0.8;
/// Words of so many letters and more also find what they are a part of.
const PART: usize = 4;

/// The candidate that looks most like `word`, the first of equals; none where nothing looks like it.
pub(crate) fn nearest<'c>(word: &str, candidates: impl Iterator<Item = &'c str>) -> Option<String> {
    let mut best: Option<(f64, &str)> = None;
    for candidate in candidates {
        let part = word.len() >= PART && candidate.contains(word);
        let alike = strsim::jaro_winkler(word, candidate).max(if part { ALIKE } else { 0.0 });
        if alike >= ALIKE && best.is_none_or(|(most, _)| alike > most) {
            best = Some((alike, candidate));
        }
    }
    best.map(|(_, candidate)| candidate.to_owned())
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn only_what_is_near_is_named() {
        let near = |word| nearest(word, ["raceway-fill", "range-demand", "conductor-ampacity"].into_iter());
        assert_eq!(near("racway-fil").as_deref(), Some("raceway-fill"));
        assert_eq!(near("ampacity").as_deref(), Some("conductor-ampacity"));
        assert_eq!(near("transformer-inrush"), None);
        assert_eq!(near("xyz"), None);
    }
}
