//! The interlock proof of the finished design.

use catalog::NeutralPole;
use saying::say;
use states::proof::Proof;

use crate::candidate::{self, Design, Fixed};
use crate::{Prepared, bank, breakers, code, distribution, placing, wiring};

/// Designs and proves. Where the proof fails, gear with the other kind of neutral is tried, since solid and switched
/// neutrals give different answers; it is taken if nothing then fails.
pub(crate) fn proven<'a>(prepared: &'a Prepared<'a>) -> Design<'a> {
    let mut design = best(prepared);
    placing::settle(prepared, &mut design);
    design
}

fn best<'a>(prepared: &'a Prepared<'a>) -> Design<'a> {
    let first = with(prepared, &Fixed::default());
    if first.proof.as_ref().is_none_or(Proof::holds) {
        return first;
    }
    for neutral in [NeutralPole::Switched, NeutralPole::Solid] {
        let other = with(prepared, &Fixed { neutral: Some(neutral), ..Fixed::default() });
        if other.failing().next().is_none() {
            return other;
        }
    }
    first
}

fn with<'a>(prepared: &'a Prepared<'a>, fixed: &Fixed) -> Design<'a> {
    let mut design = candidate::design(prepared, fixed);
    let without = bank::choose(prepared, &mut design);
    wiring::settle(prepared, &mut design);
    // the ledger is made anew where conductors are chosen: what was found without a bank comes after
    design.assessed.ledger.findings.extend(without);
    let place = &prepared.site.group.place;
    let proof = assess::prove(&design.case, false).map(|(_, proof)| proof);
    let found = proof.iter().flat_map(states::proof::findings).map(|f| f.at(Some(place), say!("this group")));
    let found: Vec<_> = found.collect();
    design.assessed.ledger.findings.extend(found);
    design.proof = proof;
    crate::arrays::settle(prepared, &mut design);
    code::add(prepared, &mut design);
    breakers::choose(prepared, &mut design);
    design.distribution = distribution::of(prepared, &design.case);
    design
}
