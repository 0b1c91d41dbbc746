//! Branch breakers of the backup panel: whether the island opens the largest of them, and whether the main breaker
//! stays closed meanwhile.

use codebook::NotCovered;
use codebook::iec::automatic_disconnection::breaker_tripping;
use codebook::iec::breaker_discrimination::{Mcb, breaker_discrimination};
use derivation::Known;
use finding::{Finding, Severity};
use network::fault::Lasts;
use quantity::{Current, Duration};
use saying::{Text, say};
use site::{BranchBreaker, Panel};

use super::Holding;
use crate::Held;

const RULE: &str = "breaker-discrimination";
/// Time within which a breaker opens at once (IEC 60898-1 Table 7).
pub(super) const AT_ONCE_S: f64 = 0.1;

/// Type of a branch breaker: as the site states it, or as its record does.
pub(super) fn curve(h: &Holding<'_, '_>, branch: &BranchBreaker) -> Option<char> {
    let record = branch.model.as_ref().and_then(|m| h.prepared.catalog.breakers.get(&m.value));
    branch.curve.as_ref().map(|c| c.value).or(record.and_then(|r| r.curve))
}

/// Holds both.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    let panel = h.case.site.panels.iter().find(|p| p.id.value == h.case.site.group.panel.value);
    let Some((panel, branch)) = panel.and_then(|p| Some((p, p.branch_breaker.as_ref()?))) else { return };
    if !known(h, branch) {
        return;
    }
    match sure(h, branch) {
        Some(Ok(sure)) => clears(h, branch, &sure),
        Some(Err(refused)) => {
            h.not_covered(RULE, "backup.branch", refused.reason, Some(&branch.rating.place))
        }
        None => {
            let what = say!("whether the island opens a branch breaker: its curve is not stated");
            h.found.push(Finding::new(
                "outside-scope",
                Severity::OutsideScope,
                "backup.branch",
                say!("not looked at: {what}", what),
            ));
        }
    }
    if !h.us() {
        discriminates(h, panel, branch);
    }
}

/// The record of the catalogue is there and has the rating that the site states.
fn known(h: &mut Holding<'_, '_>, branch: &BranchBreaker) -> bool {
    let Some(model) = &branch.model else { return true };
    let message = match h.prepared.catalog.breakers.get(&model.value) {
        None => say!("the catalogue has no breaker \"{model}\"", model = model.value),
        Some(record) if record.rating != branch.rating.value => {
            say!(
                "{record} is rated {rating}, not {rating_2}",
                record = record.id,
                rating = record.rating,
                rating_2 = branch.rating.value
            )
        }
        Some(_) => return true,
    };
    let finding = Finding::new("unknown-equipment", Severity::Error, "backup.branch", message);
    h.found.push(finding.at(Some(&model.place), say!("this breaker")));
    false
}

/// Current at which the branch breaker is sure to open at once; none where nobody states it.
fn sure(h: &Holding<'_, '_>, branch: &BranchBreaker) -> Option<Result<Known<Current>, NotCovered>> {
    if let Some(letter) = curve(h, branch) {
        let rated = branch.rating.known("I_n", "largest branch breaker");
        return Some(breaker_tripping(letter, &rated));
    }
    let record = h.prepared.catalog.breakers.get(&branch.model.as_ref()?.value)?;
    let what = say!("current from which on the branch breaker opens at once");
    Some(Ok(Known::catalog("I_a", what, record.at_once?, &record.id, "at_once")))
}

/// Says whether a fault close to the panel opens the branch breaker before the units give up.
fn clears(h: &mut Holding<'_, '_>, branch: &BranchBreaker, sure: &Known<Current>) {
    let Some(level) = assess::island_fault_at_panel(h.case) else { return };
    let Lasts::For(lasts) = &level.lasts else { return };
    let enough = level.least.value() >= sure.value();
    let long = lasts.value() >= Duration::of(AT_ONCE_S);
    let new = |id, severity, message: Text| {
        Finding::new(id, severity, "backup.branch", message)
            .in_state("fault, group carries the panel")
            .measured(level.least.node(), sure.node())
            .at(Some(&branch.rating.place), say!("this breaker"))
    };
    let finding = if enough && long {
        new(
            "island-branch-clears",
            Severity::Note,
            say!(
                "in the island a fault close to the backup panel draws {least} for {lasts}: the largest branch breaker opens at once from {sure} on, before the units give up; at the end of a long circuit less may flow",
                least = level.least.value(),
                lasts = lasts.value(),
                sure = sure.value()
            ),
        )
    } else {
        let why = if enough { "for too short a time" } else { "too little" };
        let fix = say!("smaller branch breakers or ones that open at less, or more units on the leg");
        new(
            "island-branch-not-cleared",
            Severity::Warning,
            say!(
                "in the island a fault in a circuit behind the largest branch breaker draws no more than {least} for {lasts}, {why}: it opens at once from {sure} on, within {_ONCE_S} ms. The units give up first and the whole panel goes dead",
                least = level.least.value(),
                lasts = lasts.value(),
                why,
                sure = sure.value(),
                _ONCE_S = AT_ONCE_S * 1000.0
            ),
        )
        .fix(fix)
    };
    h.found.push(finding);
}

/// Main and branch on the utility's fault current.
fn discriminates(h: &mut Holding<'_, '_>, panel: &Panel, branch: &BranchBreaker) {
    let part = "backup.branch";
    let main = panel.main_breaker.as_ref().zip(panel.main_breaker_curve.as_ref());
    let (Some((main, letter)), Some(of_branch)) = (main, curve(h, branch)) else {
        let what = say!(
            "discrimination of main and branch breaker: both types are needed (`main_breaker_curve`, `branch_breaker`)"
        );
        return h.outside(RULE, part, what);
    };
    let Some(prospective) = assess::fault_current(h.case)
        .or_else(|| assess::island_fault_at_panel(h.case).map(|level| level.largest))
    else {
        return h.outside(
            RULE,
            part,
            say!("discrimination of main and branch breaker: no fault current is known"),
        );
    };
    let mcb = |letter, rated| Mcb { letter, rated };
    let main = mcb(letter.value, main.known("I_main", "main breaker of the panel"));
    let lower = mcb(of_branch, branch.rating.known("I_n", "largest branch breaker"));
    match breaker_discrimination(&main, &lower, &prospective) {
        Ok(found) if found.holds() => h.passes(RULE, part),
        Ok(found) => {
            h.held.push(Held::new(RULE, part, false));
            let check = if found.overload.holds { &found.at_once } else { &found.overload };
            let message =
                say!("a fault in one branch may open the main breaker too and darken the whole panel");
            h.found.push(
                Finding::new("branch-takes-main", Severity::Warning, part, message)
                    .measured(check.value.node(), check.limit.node())
                    .by("IEC 60364-5-53:2019 536")
                    .at(Some(&branch.rating.place), say!("this breaker"))
                    .fix(say!("a smaller branch breaker, or a larger main of a higher type")),
            );
        }
        // above the main's band only makers' tables tell
        Err(refused) => h.outside(RULE, part, say!("discrimination: {reason}", reason = refused.reason)),
    }
}
