//! Names that are defined once, and references that lead somewhere.

use std::collections::BTreeMap;

use reading::{Diagnostic, Placed};

use crate::facts::Names;

/// References that get a suggestion; looking for the nearest name for thousands would take long and help nobody.
const MOST_SUGGESTIONS: usize = 20;

pub(super) fn check(names: &Names, kind: &str, report: &dyn Fn(Diagnostic)) {
    let mut first: BTreeMap<&str, &Placed<String>> = BTreeMap::new();
    for name in &names.defined {
        if let Some(earlier) = first.get(name.value.as_str()) {
            report(
                Diagnostic::new("duplicate-name", format!("two {kind}s are named \"{}\"", name.value))
                    .at(&name.place, "the second")
                    .also(&earlier.place, "the first")
                    .help("give one of them another name"),
            );
        } else {
            first.insert(&name.value, name);
        }
    }
    if names.incomplete {
        return;
    }
    let dangling = names.references.iter().filter(|reference| !first.contains_key(reference.value.as_str()));
    for (k, reference) in dangling.enumerate() {
        let near = if k < MOST_SUGGESTIONS { nearest(&reference.value, first.keys().copied()) } else { None };
        let help = match near {
            Some(near) => format!("did you mean \"{near}\"?"),
            None => known(kind, &first),
        };
        report(
            Diagnostic::new("unknown-reference", format!("there is no {kind} \"{}\"", reference.value))
                .at(&reference.place, format!("no [[{kind}]] has this name"))
                .help(help),
        );
    }
}

fn known(kind: &str, first: &BTreeMap<&str, &Placed<String>>) -> String {
    let some: Vec<String> = first.keys().take(8).map(|name| format!("\"{name}\"")).collect();
    match some.len() {
        0 => format!("the file defines no {kind}: add a table [[{kind}]]"),
        shown if shown < first.len() => format!("{kind}s are {}, …", some.join(", ")),
        _ => format!("{kind}s are {}", some.join(", ")),
    }
}

/// The nearest name, near enough to be a slip.
fn nearest<'n>(written: &str, names: impl Iterator<Item = &'n str>) -> Option<&'n str> {
    let written = written.to_lowercase();
    let length = written.chars().count();
    names
        .map(|name| (strsim::damerau_levenshtein(&written, &name.to_lowercase()), name))
        .filter(|(distance, name)| *distance * 5 <= 2 * name.chars().count().max(length))
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, name)| name)
}
