//! A proof as findings.

use finding::{Finding, Severity};
use saying::say;

use super::{Broken, Outcome, Proof, Property};

/// A finding for every property that is broken or not covered, and for every single failure.
pub fn findings(proof: &Proof) -> Vec<Finding> {
    let mut all = Vec::new();
    for (property, outcome) in &proof.results {
        match outcome {
            Outcome::Holds => {}
            Outcome::Broken(broken) => all.push(error(*property, broken)),
            Outcome::NotCovered(missing) => all.push(not_covered(*property, missing)),
        }
    }
    for note in &proof.notes {
        all.push(Finding::new("neutral-bond-count", Severity::Note, "group", *note));
    }
    for failure in &proof.failures {
        let mut words: Vec<String> =
            failure.leads_to.iter().map(|(p, broken)| format!("{}: {}", p.number(), broken.what)).collect();
        if words.is_empty() {
            words.push("everything that was proven still holds".to_owned());
        }
        let message = say!("{what}: {words}", what = failure.what, words = words.join("; "));
        let mut finding = Finding::new("single-failure", failure.severity, failure.part.clone(), message);
        if let Some((_, broken)) = failure.leads_to.first() {
            finding = finding.in_state(broken.situation.clone());
        }
        all.push(finding);
    }
    all
}

fn error(property: Property, broken: &Broken) -> Finding {
    let moves = broken.told.iter().skip(1).cloned().collect::<Vec<_>>().join("; ");
    let message = if moves.is_empty() {
        say!("{what} ({number})", what = broken.what, number = property.number())
    } else {
        say!("{what} ({number}), after: {moves}", what = broken.what, number = property.number(), moves)
    };
    let mut finding = Finding::new(property.finding(), Severity::Error, broken.part.clone(), message);
    if !broken.situation.is_empty() {
        finding = finding.in_state(broken.situation.clone());
    }
    if let Some(clause) = broken.clause {
        finding = finding.by(clause);
    }
    finding.fix(broken.fix.clone())
}

fn not_covered(property: Property, missing: &[String]) -> Finding {
    let message = say!(
        "{property} ({number}) cannot be shown: the catalogue does not state {missing}",
        property = property.words(),
        number = property.number(),
        missing = missing.join(", ")
    );
    Finding::new(property.finding(), Severity::NotCovered, "group", message)
        .fix(say!("state it in the catalogue record, from the maker's documents"))
}
