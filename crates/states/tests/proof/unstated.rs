//! What the catalogue does not state is not covered, and what single failures lead to.

use finding::Severity;
use plant::Layout;
use plant::full::{Concern, Unstated};
use states::proof::{Outcome, ProofInput, Property, findings, prove};

use crate::plants::{ASKED, Inlet, Shape, build, shape};

#[test]
fn unstated_facts_are_not_covered() {
    for (concern, properties) in [
        (Concern::Neutral, &[Property::Bonding, Property::Neutral][..]),
        (Concern::Together, &[Property::SourcesMeet, Property::DeadUtility, Property::Service][..]),
    ] {
        let mut plant = build(&shape(Layout::Inline, 2));
        assert!(plant.unstated.is_empty());
        plant.unstated.push(Unstated { concern, what: "`fact` of unit \"u\"".to_owned() });
        let proof = prove(&plant, &ASKED);
        assert!(!proof.holds());
        for (property, outcome) in &proof.results {
            let missing = properties.contains(property);
            assert_eq!(matches!(outcome, Outcome::NotCovered(_)), missing, "{property:?}");
        }
        let all = findings(&proof);
        assert_eq!(all.len(), properties.len());
        assert!(all.iter().all(|f| f.severity == Severity::NotCovered && f.message.contains("`fact`")));
    }
}

#[test]
fn single_failures_lead_where_they_must() {
    let plant = build(&Shape { inlet: Inlet::Second, ..shape(Layout::Outboard, 2) });
    let proof = prove(&plant, &ProofInput { single_failures: true, ..ASKED });
    assert!(proof.holds());
    let leads = |part: &str, words: &str| -> Vec<Property> {
        let one = proof.failures.iter().find(|f| f.part == part && f.what.contains(words));
        let one = one.unwrap_or_else(|| panic!("no failure {part} {words}"));
        one.leads_to.iter().map(|(p, _)| *p).collect()
    };
    assert!(leads("unit.1.relay", "nothing notices").contains(&Property::DeadUtility));
    assert_eq!(leads("unit.1.relay", "one path is open"), []);
    assert!(leads("unit.1.second relay", "nothing notices").contains(&Property::SourcesMeet));
    assert!(leads("unit.1.link", "lost its link").contains(&Property::DeadUtility));
    assert!(leads("service.conductor", "neutral is broken").contains(&Property::Neutral));
    // a relay that the units know to be welded keeps them from forming: the panel is dead, nothing is fed back
    assert_eq!(leads("unit.1.relay", "units notice"), [Property::Service]);
    let all = findings(&proof);
    assert_eq!(all.len(), proof.failures.len());
    assert!(all.iter().all(|f| f.id == "single-failure" && !f.severity.fails()));
}

#[test]
fn a_failed_interlock_is_a_warning() {
    let bypass = Some(catalog::BypassKind::InterlockedBreakers);
    let plant = build(&Shape { bypass, ..shape(Layout::Inline, 2) });
    let proof = prove(&plant, &ProofInput { single_failures: true, ..ASKED });
    let lock = proof.failures.iter().find(|f| f.part == "bypass.interlock").expect("looked at");
    assert_eq!(lock.severity, Severity::Warning);
    assert!(lock.leads_to.iter().any(|(p, _)| *p == Property::SourcesMeet));
}
