//! Single calculations, as a pocket calculator: named inputs with units in, results and their hand calculation
//! out. The evaluators hold every formula; this crate names them, reads their inputs and writes their answers.
//!
//! ```
//! use calc::Inputs;
//! let inputs = Inputs::from_pairs(&["system=120/240 V split-phase", "leg_a=60,45"]).unwrap();
//! let outcome = calc::run("neutral-current", &inputs).unwrap();
//! assert_eq!(outcome.number("neutral_a"), Some(15.0));
//! // a value may carry its unit, and the key then needs none
//! let inputs = Inputs::from_pairs(&["relay=50 A", "paths=3", "spread=4/3"]).unwrap();
//! assert_eq!(calc::run("relay-matched-limit", &inputs).unwrap().number("limit_a"), Some(125.0));
//! ```

mod error;
mod given;
mod inputs;
mod list;
mod measure;
mod outcome;
mod spec;

pub use error::{CalcError, InputError};
pub use inputs::Inputs;
pub use list::calculations;
pub use measure::Measure;
pub use outcome::{Outcome, Output, OutputValue};
pub use spec::{Allowed, Calculation, InputSpec, OutputSpec};

/// Runs one calculation.
///
/// # Errors
/// No such calculation, inputs that are missing, unknown or out of range (all of them are named), or a question
/// that the evaluator does not cover.
pub fn run(id: &str, inputs: &Inputs) -> Result<Outcome, CalcError> {
    let all = calculations();
    let calculation = all.iter().find(|c| c.id == id).ok_or_else(|| CalcError::NoSuchCalculation {
        id: id.to_owned(),
        nearest: error::nearest(id, all.iter().map(|c| c.id)),
    })?;
    calculation.evaluate(inputs)
}
