//! The nodes of a derivation.

use std::sync::Arc;

use quantity::Quantity;

use crate::Place;

/// A value of any kind, with its unit, as it is shown and as JSON gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct Amount {
    /// Value in `unit`.
    pub si: f64,
    /// SI unit of the kind.
    pub unit: &'static str,
    /// As people read it: "13.8 kW".
    pub text: String,
}

impl Amount {
    /// Any quantity, without its type.
    pub fn of<Q: Quantity>(value: Q) -> Self {
        Self { si: value.si(), unit: Q::SI_UNIT, text: value.to_string() }
    }
}

/// Where a value comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Origin {
    /// Written by the user.
    Input(Place),
    /// A catalogue record and its field.
    Catalog {
        /// The record's id.
        record: String,
        /// The field in it.
        field: String,
    },
    /// A table or a constant of a clause.
    Table {
        /// The table's name.
        table: String,
        /// Which row.
        row: String,
        /// Standard, clause, edition or publication.
        source: String,
        /// Rests on one source or on memory: confirm in the adopted code.
        confirm: bool,
    },
    /// Assumed.
    Assumption {
        /// The reason.
        why: String,
    },
    /// An expression over named values.
    Formula {
        /// The expression in symbols.
        expression: String,
        /// The values by the names they have in the expression.
        args: Vec<(String, Arc<Node>)>,
        /// Standard, clause, edition or publication.
        source: Option<String>,
    },
    /// A sum of like values.
    Sum {
        /// The values by their symbols.
        args: Vec<(String, Arc<Node>)>,
    },
    /// The worst of several.
    Worst {
        /// Largest (else smallest).
        largest: bool,
        /// Which of them.
        picked: usize,
        /// All of them.
        of: Vec<Arc<Node>>,
    },
    /// Decided by the tool.
    Chosen {
        /// The reason.
        why: String,
        /// What the decision rests on.
        from: Vec<Arc<Node>>,
    },
    /// Solved for.
    Solved {
        /// The governing equation.
        equation: String,
        /// What is left of it at the answer, in its own unit.
        residual: f64,
        /// What enters.
        from: Vec<Arc<Node>>,
    },
}

/// One value in a derivation. Nodes are shared; they form a directed acyclic graph.
#[derive(Debug, Clone, PartialEq)]
pub struct Node {
    /// The symbol: `I_n`.
    pub symbol: String,
    /// What it is: "neutral current".
    pub what: String,
    /// How much.
    pub amount: Amount,
    /// From where.
    pub origin: Origin,
}

impl Node {
    /// The values that it was made from, by name.
    pub fn parents(&self) -> Vec<(&str, &Arc<Node>)> {
        fn by_symbol(nodes: &[Arc<Node>]) -> Vec<(&str, &Arc<Node>)> {
            nodes.iter().map(|n| (n.symbol.as_str(), n)).collect()
        }
        match &self.origin {
            Origin::Formula { args, .. } | Origin::Sum { args } => {
                args.iter().map(|(name, node)| (name.as_str(), node)).collect()
            }
            Origin::Worst { of, .. } => by_symbol(of),
            Origin::Chosen { from, .. } | Origin::Solved { from, .. } => by_symbol(from),
            Origin::Input(_) | Origin::Catalog { .. } | Origin::Table { .. } | Origin::Assumption { .. } => {
                Vec::new()
            }
        }
    }

    /// The nearest place up the derivation that a user wrote.
    pub fn place(&self) -> Option<&Place> {
        if let Origin::Input(place) = &self.origin {
            return Some(place);
        }
        if let Origin::Worst { picked, of, .. } = &self.origin {
            return of.get(*picked).and_then(|n| n.place());
        }
        self.parents().into_iter().find_map(|(_, parent)| parent.place())
    }

    /// The expression with symbols, e.g. `S / V`; empty for a value that has none.
    pub fn expression(&self) -> String {
        match &self.origin {
            Origin::Formula { expression, .. } => expression.clone(),
            Origin::Sum { args } => {
                args.iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(" + ")
            }
            Origin::Worst { largest, of, .. } => {
                let names = of.iter().map(|n| n.symbol.as_str()).collect::<Vec<_>>().join(", ");
                format!("{}({names})", if *largest { "max" } else { "min" })
            }
            Origin::Solved { equation, .. } => equation.clone(),
            _ => String::new(),
        }
    }

    /// The expression with the numbers put in.
    pub fn with_numbers(&self) -> String {
        self.with_numbers_as(|amount| amount.text.clone())
    }

    /// The same with the numbers written another way.
    pub fn with_numbers_as(&self, written: impl Fn(&Amount) -> String) -> String {
        match &self.origin {
            Origin::Formula { expression, args, .. } => put_in(expression, args, written),
            Origin::Sum { args } => {
                args.iter().map(|(_, n)| written(&n.amount)).collect::<Vec<_>>().join(" + ")
            }
            Origin::Worst { largest, of, .. } => {
                let values = of.iter().map(|n| written(&n.amount)).collect::<Vec<_>>().join(", ");
                format!("{}({values})", if *largest { "max" } else { "min" })
            }
            _ => String::new(),
        }
    }

    /// The hand calculation in one line: symbol, expression, numbers, result.
    pub fn line(&self) -> String {
        self.line_as(&self.symbol)
    }

    /// The same under the name that the value has elsewhere.
    pub fn line_as(&self, name: &str) -> String {
        let mut parts = vec![name.to_owned()];
        let expression = self.expression();
        let short = self.parents().len() <= 8;
        if !expression.is_empty() && short {
            parts.push(expression);
        }
        let numbers = self.with_numbers();
        if !numbers.is_empty() && short {
            parts.push(numbers);
        }
        parts.push(self.amount.text.clone());
        parts.join(" = ")
    }

    /// Where the value comes from, in words.
    pub fn source(&self) -> String {
        match &self.origin {
            Origin::Input(place) => place.to_string(),
            Origin::Catalog { record, field } => format!("catalogue {record}, {field}"),
            Origin::Table { table, row, source, confirm } => {
                let mut text =
                    if table == "constant" { source.clone() } else { format!("{source}, {table}") };
                if !row.is_empty() {
                    text.push_str(", ");
                    text.push_str(row);
                }
                if *confirm {
                    text.push_str(" (confirm in the adopted code)");
                }
                text
            }
            Origin::Assumption { why } => format!("assumed: {why}"),
            Origin::Formula { source, .. } => source.clone().unwrap_or_default(),
            Origin::Sum { .. } => String::new(),
            Origin::Worst { picked, of, .. } => {
                of.get(*picked).map(|n| format!("from {}", n.what)).unwrap_or_default()
            }
            Origin::Chosen { why, .. } => format!("chosen: {why}"),
            Origin::Solved { residual, .. } => format!("solved, residual {residual:.1e}"),
        }
    }
}

/// Every assumption that some values rest on, each once, by what it is.
pub fn assumptions<'n>(of: impl Iterator<Item = &'n Arc<Node>>) -> Vec<Arc<Node>> {
    let mut found: std::collections::BTreeMap<(String, String, String), Arc<Node>> = Default::default();
    let mut seen = std::collections::BTreeSet::new();
    let mut open: Vec<Arc<Node>> = of.cloned().collect();
    while let Some(node) = open.pop() {
        // the address only marks what was seen already; it reaches no output
        if !seen.insert(Arc::as_ptr(&node) as usize) {
            continue;
        }
        if let Origin::Assumption { why } = &node.origin {
            let key = (node.what.clone(), why.clone(), node.amount.text.clone());
            found.entry(key).or_insert_with(|| node.clone());
        }
        open.extend(node.parents().into_iter().map(|(_, parent)| parent.clone()));
    }
    found.into_values().collect()
}

/// Every table figure that rests on one source or on memory and that some values rest on, by where it stands, each
/// once.
pub fn to_confirm<'n>(of: impl Iterator<Item = &'n Arc<Node>>) -> Vec<String> {
    let mut found = std::collections::BTreeSet::new();
    let mut seen = std::collections::BTreeSet::new();
    let mut open: Vec<Arc<Node>> = of.cloned().collect();
    while let Some(node) = open.pop() {
        // the address only marks what was seen already; it reaches no output
        if !seen.insert(Arc::as_ptr(&node) as usize) {
            continue;
        }
        if let Origin::Table { table, row, source, confirm: true } = &node.origin {
            let pieces = [source.as_str(), table.as_str(), row.as_str()];
            let pieces = pieces.into_iter().filter(|piece| !piece.is_empty() && *piece != "constant");
            found.insert(pieces.collect::<Vec<_>>().join(", "));
        }
        open.extend(node.parents().into_iter().map(|(_, parent)| parent.clone()));
    }
    found.into_iter().collect()
}

/// Symbols in an expression replaced by their values.
fn put_in(expression: &str, args: &[(String, Arc<Node>)], written: impl Fn(&Amount) -> String) -> String {
    let mut out = String::with_capacity(expression.len() * 2);
    let mut word = String::new();
    let flush = |word: &mut String, out: &mut String| {
        match args.iter().find(|(name, _)| name == word) {
            Some((_, node)) => out.push_str(&written(&node.amount)),
            None => out.push_str(word),
        }
        word.clear();
    };
    for c in expression.chars() {
        if c.is_alphanumeric() || c == '_' {
            word.push(c);
        } else {
            flush(&mut word, &mut out);
            out.push(c);
        }
    }
    flush(&mut word, &mut out);
    out
}

/// The code's expression as a formula: `*` becomes `·`, line breaks, number suffixes and the functions that only change
/// a type go.
pub(crate) fn tidy(expression: &str) -> String {
    let mut text = expression.split_whitespace().collect::<Vec<_>>().join(" ");
    for changes_type in ["as_va(", "as_w(", "electrical(", "va_number("] {
        text = text.replace(changes_type, "(");
    }
    text = text.replace("positive(", "max(0, ").replace("root(", "sqrt(");
    text = text.replace(" * ", " · ").replace(".0 ", " ").replace(".0)", ")");
    outer(&text).to_owned()
}

/// Without parentheses that enclose all of it.
fn outer(text: &str) -> &str {
    let Some(inner) = text.strip_prefix('(').and_then(|t| t.strip_suffix(')')) else { return text };
    let mut depth = 0i32;
    for c in inner.chars() {
        depth += i32::from(c == '(') - i32::from(c == ')');
        if depth < 0 {
            return text;
        }
    }
    outer(inner)
}
