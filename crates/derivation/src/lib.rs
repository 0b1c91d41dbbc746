//! A value that knows how it came about. [`Known`] carries a quantity and the node that tells its story: read
//! from the site file, taken from the catalogue or a table, assumed, computed by a formula, the worst of several,
//! chosen, or solved. One expression yields both the number and its formula ([`formula!`]), so they cannot
//! disagree.
//!
//! ```
//! use derivation::{Known, formula};
//! use quantity::{Apparent, Current, PhaseVoltage};
//! let S = Known::assumed("S", "load", Apparent::of(6000.0), "for the example");
//! let V = Known::assumed("V", "voltage", PhaseVoltage::of(120.0), "nominal");
//! let I: Known<Current> = formula!("I", "leg current", [S, V] => S / V);
//! assert_eq!(I.node().line(), "I = S / V = 6.00 kVA / 120 V = 50.0 A");
//! ```

mod explain;
mod json;
mod node;
mod place;
mod refused;

pub use explain::explain;
pub use json::{Graph, Written, number};
pub use node::{Amount, Node, Origin, assumptions, to_confirm};
pub use place::Place;
pub use refused::{Refused, same_length};

use std::sync::Arc;

use quantity::{Quantity, Ratio};

/// A quantity with its derivation.
#[derive(Debug, Clone)]
pub struct Known<Q> {
    value: Q,
    node: Arc<Node>,
}

impl<Q: Quantity> Known<Q> {
    fn new(symbol: &str, what: impl Into<String>, value: Q, origin: Origin) -> Self {
        let node = Node { symbol: symbol.to_owned(), what: what.into(), amount: Amount::of(value), origin };
        Self { value, node: Arc::new(node) }
    }

    /// Written by the user in a site file or a catalogue of their own, at a place.
    pub fn input(symbol: &str, what: impl Into<String>, value: Q, place: &Place) -> Self {
        Self::new(symbol, what, value, Origin::Input(place.clone()))
    }

    /// From a catalogue record.
    pub fn catalog(symbol: &str, what: impl Into<String>, value: Q, record: &str, field: &str) -> Self {
        Self::new(symbol, what, value, Origin::Catalog { record: record.to_owned(), field: field.to_owned() })
    }

    /// From a code or physics table. `confirm` says that the row rests on one source or on memory and must be
    /// confirmed in the adopted code.
    pub fn table(
        symbol: &str,
        what: impl Into<String>,
        value: Q,
        table: &str,
        row: impl Into<String>,
        source: &str,
        confirm: bool,
    ) -> Self {
        let origin =
            Origin::Table { table: table.to_owned(), row: row.into(), source: source.to_owned(), confirm };
        Self::new(symbol, what, value, origin)
    }

    /// Assumed, with the reason. Reports list every one.
    pub fn assumed(symbol: &str, what: impl Into<String>, value: Q, why: impl Into<String>) -> Self {
        Self::new(symbol, what, value, Origin::Assumption { why: why.into() })
    }

    /// Decided by the tool, with the reason and what it was decided from.
    pub fn chosen(
        symbol: &str,
        what: impl Into<String>,
        value: Q,
        why: impl Into<String>,
        from: Vec<Arc<Node>>,
    ) -> Self {
        Self::new(symbol, what, value, Origin::Chosen { why: why.into(), from })
    }

    /// Solved for: the governing equation, evaluated at the answer, leaves `residual`.
    pub fn solved(
        symbol: &str,
        what: impl Into<String>,
        value: Q,
        equation: impl Into<String>,
        residual: f64,
        from: Vec<Arc<Node>>,
    ) -> Self {
        Self::new(symbol, what, value, Origin::Solved { equation: equation.into(), residual, from })
    }

    /// Computed by an expression over named values. Called by [`formula!`].
    pub fn formula(
        symbol: &str,
        what: impl Into<String>,
        value: Q,
        expression: &str,
        args: Vec<(String, Arc<Node>)>,
        source: Option<&str>,
    ) -> Self {
        let origin =
            Origin::Formula { expression: node::tidy(expression), args, source: source.map(str::to_owned) };
        Self::new(symbol, what, value, origin)
    }

    /// The sum of like values; zero without any.
    pub fn sum(symbol: &str, what: impl Into<String>, parts: &[Known<Q>]) -> Self {
        let total = parts.iter().fold(0.0, |total, part| total + part.value.si());
        let args = parts.iter().map(|p| (p.node.symbol.clone(), p.node.clone())).collect();
        Self::new(symbol, what, Q::from_si(total), Origin::Sum { args })
    }

    /// The largest of several, with all of them kept. `None` of none. Ties go to the first.
    pub fn largest(symbol: &str, what: impl Into<String>, of: &[Known<Q>]) -> Option<Self> {
        Self::extreme(symbol, what, of, true)
    }

    /// The smallest of several, with all of them kept. `None` of none. Ties go to the first.
    pub fn smallest(symbol: &str, what: impl Into<String>, of: &[Known<Q>]) -> Option<Self> {
        Self::extreme(symbol, what, of, false)
    }

    fn extreme(symbol: &str, what: impl Into<String>, of: &[Known<Q>], largest: bool) -> Option<Self> {
        let mut picked = 0;
        for (k, candidate) in of.iter().enumerate().skip(1) {
            let best = of.get(picked)?.value.si();
            let it = candidate.value.si();
            if it.is_nan() || (largest && it > best) || (!largest && it < best) {
                picked = k;
            }
        }
        let value = of.get(picked)?.value;
        let of = of.iter().map(|k| k.node.clone()).collect();
        Some(Self::new(symbol, what, value, Origin::Worst { largest, picked, of }))
    }

    /// The quantity itself.
    pub fn value(&self) -> Q {
        self.value
    }

    /// The node that tells how it came about.
    pub fn node(&self) -> &Arc<Node> {
        &self.node
    }

    /// The place in a file a user can change, nearest up the derivation.
    pub fn place(&self) -> Option<&Place> {
        self.node.place()
    }
}

impl<Q: Quantity> Known<Q> {
    /// A figure that stands in a standard or in physics itself, such as the 25 degC of standard test conditions.
    pub fn constant(symbol: &str, what: impl Into<String>, value: Q, source: &str) -> Self {
        Self::table(symbol, what, value, "constant", "", source, false)
    }
}

impl Known<Ratio> {
    /// A plain number that stands in the code itself, such as the 1.25 of a clause.
    pub fn factor(symbol: &str, what: impl Into<String>, value: f64, source: &str) -> Self {
        let origin = Origin::Table {
            table: "constant".to_owned(),
            row: String::new(),
            source: source.to_owned(),
            confirm: false,
        };
        Self::new(symbol, what, Ratio::of(value), origin)
    }
}

/// Makes a [`Known`] from one expression over named [`Known`] values: the expression is evaluated on their
/// quantities and kept as the formula.
///
/// `formula!("I", "leg current", [S, V] => S / V)`, optionally `, source = "NEC 2023 220.61"`.
#[macro_export]
macro_rules! formula {
    ($symbol:expr, $what:expr, [$($v:ident),+ $(,)?] => $e:expr) => {
        $crate::formula!(@ $symbol, $what, [$($v),+] => $e, None)
    };
    ($symbol:expr, $what:expr, [$($v:ident),+ $(,)?] => $e:expr, source = $source:expr) => {
        $crate::formula!(@ $symbol, $what, [$($v),+] => $e, Some($source))
    };
    (@ $symbol:expr, $what:expr, [$($v:ident),+] => $e:expr, $source:expr) => {{
        let args = vec![$((stringify!($v).to_owned(), $v.node().clone())),+];
        #[allow(non_snake_case)]
        let value = { $(let $v = $v.value();)+ $e };
        $crate::Known::formula($symbol, $what, value, stringify!($e), args, $source)
    }};
}
