//! The check-out: what is looked at and measured, in the order in which it is safe.

use std::sync::Arc;

use derivation::Node;
use design::Design;

use super::{arrays, cold, hot, neutrals, residual};
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

pub(super) fn of(design: &Design<'_>) -> Vec<CheckoutStep> {
    let r = design::readings(design);
    let mut all = cold::before(design);
    all.extend(arrays::strings(design, &r));
    all.extend(cold::direct(design, &r));
    all.extend(hot::energising(design, &r));
    all.extend(residual::steps(design, &r));
    all.extend(hot::moving(design, &r));
    all.extend(neutrals::steps(design));
    all.extend(hot::arrays(design, &r));
    all.extend(hot::loading(design, &r));
    for (number, step) in (1..).zip(&mut all) {
        step.number = number;
    }
    all
}
