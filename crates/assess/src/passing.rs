//! What the group's transfer relays may pass together.

use catalog::PassThrough;
use derivation::{Known, formula};
use finding::{Finding, Severity};
use network::sharing::matched_paths_limit;
use quantity::Current;
use saying::say;

use crate::{Case, Ledger};

/// The largest current per leg that may flow through all transfer relays of the group together.
///
/// Without the catalogue's word on additive pass-through, or without the site's word that its wiring conditions are
/// met, that is one relay (common practice, no source). With both, the hottest path must stay within its relay when
/// one path is open (and one unit out, where the site asks for that): I_r (1 + (n - 2)/r), where r sets the highest resistance at the end of life against the lowest
/// new one, since a replaced unit sits beside old ones.
pub(crate) fn limit(case: &Case<'_>) -> Known<Current> {
    let unit = case.unit;
    let I_r = Known::catalog(
        "I_r",
        "rating of one transfer relay",
        unit.relay.continuous,
        &unit.id,
        "relay continuous",
    );
    let out = u32::from(case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value));
    let paths = case.formation.fewest().saturating_sub(out);
    let wired = case.site.group.matched_wiring.as_ref().is_some_and(|w| w.value);
    let PassThrough::Matched { new, end_of_life, .. } = &unit.pass_through else {
        return one_relay(I_r, "the catalogue does not say that pass-through adds up");
    };
    if !wired {
        return one_relay(I_r, "the site does not say that the catalogue's wiring conditions are met");
    }
    if paths < 3 {
        return one_relay(I_r, "with one path open a single relay carries all");
    }
    let R_max = Known::catalog(
        "R_max",
        "highest path resistance at the end of life",
        end_of_life.highest,
        &unit.id,
        "pass_through end_of_life",
    );
    let R_min =
        Known::catalog("R_min", "lowest path resistance new", new.lowest, &unit.id, "pass_through new");
    let r = formula!("r", "spread of path resistance", [R_max, R_min] => R_max / R_min);
    let remaining = usize::try_from(paths - 1).unwrap_or(1);
    matched_paths_limit(&I_r, remaining, &r)
        .unwrap_or_else(|_| one_relay(I_r, "the spread of path resistance gives no limit"))
}

fn one_relay(I_r: Known<Current>, why: &str) -> Known<Current> {
    Known::chosen(
        "I_pass",
        "pass-through of the group",
        I_r.value(),
        format!("one relay (common practice): {why}"),
        vec![I_r.node().clone()],
    )
}

/// Says what the site forgoes or what it took upon itself.
pub(crate) fn notes(case: &Case<'_>, ledger: &mut Ledger) {
    let PassThrough::Matched { wiring, .. } = &case.unit.pass_through else {
        if let Some(wired) = case.site.group.matched_wiring.as_ref().filter(|w| w.value) {
            ledger.find(
                Finding::new(
                    "matched-wiring-without-word",
                    Severity::Warning,
                    "unit.relay",
                    say!("matched wiring counts for nothing: the catalogue does not state that pass-through adds up"),
                )
                .at(Some(&wired.place), say!("has no effect with this family")),
            );
        }
        return;
    };
    if case.site.group.matched_wiring.as_ref().is_some_and(|w| w.value) {
        ledger.find(Finding::new(
            "additive-pass-through",
            Severity::Note,
            "unit.relay",
            say!("pass-through is counted for several relays; the wiring must be: {wiring}", wiring),
        ));
    }
}
