//! The check-out: what is looked at and measured, in the order in which it is safe.

use std::sync::Arc;

use catalog::Catalog;
use derivation::{Known, Node};
use design::Design;
use quantity::{Quantity, Ratio};

use super::{cold, hot};
use crate::{CheckoutStep, Reading};

pub(super) const STOP: &str = "stop, make safe, find the cause before going on";

/// A step without number, caution or readings.
pub(super) fn step(stage: &'static str, action: impl Into<String>) -> CheckoutStep {
    CheckoutStep {
        number: 0,
        stage,
        action: action.into(),
        caution: None,
        readings: Vec::new(),
        otherwise: STOP.to_owned(),
    }
}

impl CheckoutStep {
    pub(super) fn caution(mut self, words: impl Into<String>) -> Self {
        self.caution = Some(words.into());
        self
    }

    /// A reading that is a yes or no, or a word.
    pub(super) fn see(mut self, what: impl Into<String>, expected: impl Into<String>) -> Self {
        self.readings.push(Reading { what: what.into(), expected: expected.into(), from: Vec::new() });
        self
    }

    /// A reading with the figures it rests on.
    pub(super) fn read(
        mut self,
        what: impl Into<String>,
        expected: impl Into<String>,
        from: &[&Arc<Node>],
    ) -> Self {
        let from = from.iter().map(|n| (*n).clone()).collect();
        self.readings.push(Reading { what: what.into(), expected: expected.into(), from });
        self
    }

    pub(super) fn otherwise(mut self, words: impl Into<String>) -> Self {
        self.otherwise = words.into();
        self
    }
}

/// A band round a nominal value: lowest and highest.
pub(super) fn band<Q>(
    symbol: &str,
    what: &str,
    nominal: &Known<Q>,
    share: &Known<Ratio>,
) -> (Known<Q>, Known<Q>)
where
    Q: Quantity + std::ops::Mul<f64, Output = Q>,
{
    let s = share.value().si();
    let of = |factor: f64, word: &str| {
        Known::chosen(
            symbol,
            format!("{word} {what}"),
            nominal.value() * factor,
            "nominal value and tolerance",
            vec![nominal.node().clone(), share.node().clone()],
        )
    };
    (of(1.0 - s, "lowest"), of(1.0 + s, "highest"))
}

pub(super) fn of(design: &Design<'_>, catalog: &Catalog) -> Vec<CheckoutStep> {
    let mut all = cold::before(design);
    all.extend(cold::direct(design, catalog));
    all.extend(hot::energising(design));
    all.extend(hot::moving(design));
    all.extend(hot::loading(design));
    for (number, step) in (1..).zip(&mut all) {
        step.number = number;
    }
    all
}
