//! A derivation as a hand calculation.

use std::collections::BTreeSet;
use std::fmt::Write as _;
use std::sync::Arc;

use crate::Node;

/// Writes a value and everything it rests on, one line a value, each once, indented by depth.
pub fn explain(node: &Arc<Node>) -> String {
    let mut out = String::new();
    let mut seen = BTreeSet::new();
    write_node(&node.symbol, node, 0, &mut out, &mut seen);
    out
}

/// `name` is what the value is called in the expression above it.
fn write_node(name: &str, node: &Arc<Node>, depth: usize, out: &mut String, seen: &mut BTreeSet<usize>) {
    let indent = "  ".repeat(depth);
    // the address only marks what was written already; it reaches no output
    if !seen.insert(Arc::as_ptr(node) as usize) {
        return;
    }
    let source = node.source();
    let source = if source.is_empty() { String::new() } else { format!("   [{source}]") };
    let _ = writeln!(out, "{indent}{}   {}{source}", node.line_as(name), node.what);
    for (name, parent) in node.parents() {
        write_node(name, parent, depth + 1, out, seen);
    }
}
