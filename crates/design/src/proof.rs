//! The interlock proof of the finished design.

use crate::Prepared;
use crate::candidate::Design;

/// Proves the design and adds what does not hold to its findings.
pub(crate) fn add(prepared: &Prepared<'_>, design: &mut Design<'_>) {
    let (_, proof) = assess::prove(&design.case, false);
    let place = &prepared.site.group.place;
    let found = states::proof::findings(&proof).into_iter().map(|f| f.at(Some(place), "this group"));
    design.assessed.ledger.findings.extend(found);
    design.proof = Some(proof);
}
