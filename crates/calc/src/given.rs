//! Inputs read against a calculation's declaration: every value in its unit, in its range, with its origin.

use std::collections::BTreeMap;

use derivation::{Known, Place};
use quantity::{Quantity, VoltageSystem};

use crate::error::{CalcError, InputError};
use crate::inputs::{Inputs, Written};
use crate::measure::is_bare;
use crate::spec::{Allowed, Calculation, InputSpec};

/// The values of one input.
#[derive(Debug, Clone)]
struct Values {
    spec: InputSpec,
    /// SI values; empty for words.
    si: Vec<f64>,
    texts: Vec<String>,
    /// None for a default.
    place: Option<Place>,
}

/// All inputs of one run.
#[derive(Debug, Clone)]
pub(crate) struct Given {
    values: BTreeMap<&'static str, Values>,
}

impl Given {
    /// Reads all inputs; collects everything that is wrong with them.
    pub fn read(calculation: &Calculation, inputs: &Inputs) -> Result<Self, CalcError> {
        let mut errors = Vec::new();
        let mut values = BTreeMap::new();
        for written in &inputs.entries {
            match find(calculation, written).and_then(|spec| read_one(spec, written)) {
                Ok(read) => {
                    let key = read.spec.key;
                    if values.insert(key, read).is_some() {
                        errors.push(InputError::Twice { key: key.to_owned() });
                    }
                }
                Err(error) => errors.push(error),
            }
        }
        for spec in &calculation.inputs {
            let spoilt = inputs.entries.iter().any(|w| w.key == spec.key || w.key == spec.stem());
            if values.contains_key(spec.key) || spoilt {
                continue;
            }
            match spec.default {
                Some(text) => match read_default(spec, text) {
                    Ok(read) => {
                        values.insert(spec.key, read);
                    }
                    Err(error) => errors.push(error),
                },
                None if spec.optional => {}
                None => errors.push(InputError::Missing {
                    key: spec.key,
                    what: spec.what,
                    unit: spec.measure.unit,
                }),
            }
        }
        if errors.is_empty() { Ok(Self { values }) } else { Err(CalcError::Inputs(errors)) }
    }

    /// The inputs as they were taken, defaults included.
    pub fn shown(&self) -> Vec<(&'static str, Vec<String>)> {
        self.values.iter().map(|(key, v)| (*key, v.texts.clone())).collect()
    }

    fn values(&self, key: &'static str) -> Result<&Values, CalcError> {
        self.values.get(key).ok_or(CalcError::Undeclared { key })
    }

    /// Whether an optional input was given.
    pub fn has(&self, key: &'static str) -> bool {
        self.values.contains_key(key)
    }

    /// A number with its derivation.
    pub fn one<Q: Quantity>(&self, key: &'static str, symbol: &str) -> Result<Known<Q>, CalcError> {
        let values = self.values(key)?;
        let si = values.si.first().copied().ok_or(CalcError::Undeclared { key })?;
        Ok(values.known(symbol, values.spec.what.to_owned(), si))
    }

    /// Whether a yes-no input says yes.
    pub fn yes(&self, key: &'static str) -> Result<bool, CalcError> {
        Ok(self.word(key)? == "yes")
    }

    /// A list of numbers with their derivations: `I` gives `I_1`, `I_2`.
    pub fn list<Q: Quantity>(&self, key: &'static str, symbol: &str) -> Result<Vec<Known<Q>>, CalcError> {
        let values = self.values(key)?;
        let known = |(k, si): (usize, &f64)| {
            values.known(&format!("{symbol}_{}", k + 1), format!("{} {}", values.spec.what, k + 1), *si)
        };
        Ok(values.si.iter().enumerate().map(known).collect())
    }

    /// A list of numbers for `count` things: one value stands for all.
    pub fn for_each<Q: Quantity>(
        &self,
        key: &'static str,
        symbol: &str,
        count: usize,
    ) -> Result<Vec<Known<Q>>, CalcError> {
        let list = self.list(key, symbol)?;
        match list.as_slice() {
            [one] => Ok(vec![one.clone(); count]),
            _ => exactly(key, list, count),
        }
    }

    /// An optional number with its derivation.
    pub fn one_if<Q: Quantity>(
        &self,
        key: &'static str,
        symbol: &str,
    ) -> Result<Option<Known<Q>>, CalcError> {
        if self.has(key) { self.one(key, symbol).map(Some) } else { Ok(None) }
    }

    /// A plain number, in the key's unit.
    pub fn plain(&self, key: &'static str) -> Result<f64, CalcError> {
        let values = self.values(key)?;
        let si = values.si.first().copied().ok_or(CalcError::Undeclared { key })?;
        Ok(values.spec.measure.of_si(si))
    }

    /// Plain numbers, in the key's unit.
    pub fn numbers(&self, key: &'static str) -> Result<Vec<f64>, CalcError> {
        let values = self.values(key)?;
        Ok(values.si.iter().map(|si| values.spec.measure.of_si(*si)).collect())
    }

    /// A word.
    pub fn word(&self, key: &'static str) -> Result<&str, CalcError> {
        self.values(key)?.texts.first().map(String::as_str).ok_or(CalcError::Undeclared { key })
    }

    /// Words of a list.
    pub fn texts(&self, key: &'static str) -> Result<Vec<String>, CalcError> {
        Ok(self.values(key)?.texts.clone())
    }

    /// The voltage system under the key `system`.
    pub fn system(&self) -> Result<VoltageSystem, CalcError> {
        self.word("system")?.parse().map_err(|e: quantity::QuantityError| CalcError::NotCovered(e.message))
    }

    /// Words for `count` things: one stands for all.
    pub fn words_for_each(&self, key: &'static str, count: usize) -> Result<Vec<String>, CalcError> {
        let texts = self.values(key)?.texts.clone();
        match texts.as_slice() {
            [one] => Ok(vec![one.clone(); count]),
            _ => exactly(key, texts, count),
        }
    }
}

/// A list of just so many entries.
pub(crate) fn exactly<T>(key: &'static str, list: Vec<T>, count: usize) -> Result<Vec<T>, CalcError> {
    if list.len() == count {
        return Ok(list);
    }
    let needed = format!("{count} are needed");
    Err(InputError::Count { key, count: list.len(), needed }.into())
}

impl Values {
    fn known<Q: Quantity>(&self, symbol: &str, what: String, si: f64) -> Known<Q> {
        match &self.place {
            Some(place) => Known::input(symbol, what, Q::from_si(si), place),
            None => Known::assumed(symbol, what, Q::from_si(si), "the calculation's default"),
        }
    }
}

/// The declared input that a written key means.
fn find<'c>(calculation: &'c Calculation, written: &Written) -> Result<&'c InputSpec, InputError> {
    if let Some(spec) = calculation.inputs.iter().find(|spec| spec.key == written.key) {
        return Ok(spec);
    }
    let alike: Vec<&InputSpec> =
        calculation.inputs.iter().filter(|spec| spec.stem() == written.key).collect();
    let first = alike.first().ok_or_else(|| calculation.unknown(&written.key))?;
    let texts = split_list(first, written);
    if let Some(bare) = texts.iter().find(|text| is_bare(text)) {
        return Err(InputError::NoUnit {
            written: written.key.clone(),
            key: first.key,
            value: bare.clone(),
            example: format!("{}={}", written.key, first.measure.example),
        });
    }
    // "leg=50 A" and "leg=120 V" differ by their unit alone
    let reads =
        |spec: &&&InputSpec| split_list(spec, written).iter().all(|text| spec.measure.read(text).is_ok());
    Ok(alike.iter().find(reads).unwrap_or(first))
}

fn split_list(spec: &InputSpec, written: &Written) -> Vec<String> {
    if written.list || !spec.list {
        return written.texts.iter().map(|t| t.trim().to_owned()).collect();
    }
    let apart = |text: &String| -> Vec<String> {
        // between semicolons a comma may only part thousands
        let mark = if text.contains(';') { ';' } else { ',' };
        text.split(mark).map(|t| t.trim().to_owned()).collect()
    };
    written.texts.iter().flat_map(apart).collect()
}

/// Whether a comma of a list could part thousands: "1,200", which is 1200 elsewhere. With a space after it, or between
/// semicolons, it could not.
fn like_thousands(text: &str) -> bool {
    let digits = |t: &str| !t.is_empty() && t.chars().all(|c| c.is_ascii_digit());
    let head = |t: &str| digits(t) && t.len() <= 3 && !t.starts_with('0');
    let group = |t: &str| {
        let number = t.split(['.', ' ']).next().unwrap_or_default();
        digits(number) && number.len() == 3
    };
    let items: Vec<&str> = text.split(',').collect();
    let starts = |t: &str| head(t.trim().trim_start_matches(['-', '+']));
    !text.contains(';') && items.windows(2).any(|pair| matches!(pair, [a, b] if starts(a) && group(b)))
}

fn read_default(spec: &InputSpec, text: &str) -> Result<Values, InputError> {
    let texts: Vec<String> =
        if spec.list { text.split(',').map(str::to_owned).collect() } else { vec![text.to_owned()] };
    Ok(Values { spec: spec.clone(), si: numbers(spec, &texts)?, texts, place: None })
}

fn read_one(spec: &InputSpec, written: &Written) -> Result<Values, InputError> {
    let texts = split_list(spec, written);
    if !spec.list && (written.list || texts.len() != 1) {
        let needed = "one is needed".to_owned();
        return Err(InputError::Count { key: spec.key, count: texts.len(), needed });
    }
    if texts.is_empty() || texts.iter().any(String::is_empty) {
        let message = "an entry is empty".to_owned();
        return Err(InputError::Unreadable {
            key: spec.key,
            message,
            help: "give a value for each".to_owned(),
        });
    }
    let is_number = matches!(spec.allowed, Allowed::Within(..) | Allowed::Above(_));
    if let Some(text) =
        written.texts.iter().find(|t| is_number && spec.list && !written.list && like_thousands(t))
    {
        return Err(InputError::Unreadable {
            key: spec.key,
            message: format!("in \"{text}\" a comma may part thousands or entries"),
            help: format!(
                "write thousands without comma ({}), and entries apart by a semicolon ({}) or a comma and a space",
                text.replace(',', ""),
                text.replace(',', ";")
            ),
        });
    }
    // "1,200 ft, 300 ft" would fall apart into 1, 200 ft and 300 ft
    let bare = texts.iter().filter(|t| is_bare(t)).count();
    if is_number && bare != 0 && bare != texts.len() {
        return Err(InputError::Unreadable {
            key: spec.key,
            message: "some entries have a unit and some have none".to_owned(),
            help: "give all of them a unit or none; in a list a comma parts entries, not thousands"
                .to_owned(),
        });
    }
    let si = numbers(spec, &texts)?;
    Ok(Values { spec: spec.clone(), si, texts, place: Some(written.place.clone()) })
}

/// SI values of the texts, all in range; empty for words, which are checked.
fn numbers(spec: &InputSpec, texts: &[String]) -> Result<Vec<f64>, InputError> {
    let mut out = Vec::new();
    for text in texts {
        let refused =
            || InputError::OutOfRange { key: spec.key, value: text.clone(), allowed: spec.allowed_text() };
        let (low, high, open) = match spec.allowed {
            Allowed::Words(words) if words.contains(&text.as_str()) => continue,
            Allowed::Words(_) => return Err(refused()),
            Allowed::Text => continue,
            Allowed::Within(low, high) => (low, high, false),
            Allowed::Above(low) => (low, f64::MAX, true),
        };
        let si = spec.measure.read(text).map_err(|e| InputError::Unreadable {
            key: spec.key,
            message: e.message,
            help: e.help,
        })?;
        let value = spec.measure.of_si(si);
        // a bound that is met up to rounding of the unit's factor is met
        let slack = 1e-12 * low.abs().max(1.0);
        if !value.is_finite() || value < low - slack || value > high + slack || (open && value <= low) {
            return Err(refused());
        }
        out.push(si);
    }
    Ok(out)
}
