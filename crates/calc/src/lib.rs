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

/// How values are written, line by line: what a list of calculations must say for its inputs to be used.
pub const SYNTAX: &[&str] = &[
    "key=value: a bare number is in the unit that the key ends in (line_v=400, run_ft=60, impedance_pct=2).",
    "With a unit of its own the key may lose its ending, and the unit is converted: line=400 V, run=18 m, load=5.4 kVA, \
     limit=2 %. Without unit and without ending it is refused.",
    "Numbers without unit take fractions (4/3) and percent (75 %). A point parts decimals; in a single value a comma parts \
     thousands (1,200).",
    "Lists: entries apart by semicolons (1200;200), or by commas (60,45), or as a JSON array ([60, 45]). All entries have a \
     unit or none. A comma that could part thousands (1,200) is refused in a list: write 1200, or 1;200, or 1, 200.",
    "One value in a list that stands beside another list serves for each of its entries, where that is meant; else both are \
     equally long.",
    "Words are written as they are listed; yes and no for questions. A single - in place of inputs reads a JSON object with \
     the same keys from standard input.",
];

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
