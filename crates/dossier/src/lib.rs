//! Everything found of one site, frozen, and its JSON. Computes nothing: what is shown to people is read from here.
#![allow(non_snake_case, reason = "symbols are written as in the formulas")]

mod checkout;
mod flows;
mod json;
mod json_place;
mod lists;
mod local;
mod package;
mod papers;
mod schedule;
mod setting;
mod units;

pub use checkout::{Act, CheckoutStep, FINAL, Reading};
pub use flows::state_json;
pub use json::{cautions_json, check_json, diagnostics_json, grow_json};
pub use lists::schedules;
pub use package::{Packed, package};
pub use papers::{Papers, Picture, design_json, design_schema};
pub use schedule::{Align, Cell, Column, Schedule};
pub use setting::Setting;
pub use units::{dimension, run, shown, spelled, to_carry, to_order, together, written};

use std::sync::Arc;

use demand::Assessment;
use derivation::{Node, assumptions, to_confirm};
use design::Design;
use finding::{Finding, Severity, kind};
use saying::Text;
use site::Site;

/// What every output carries.
pub const CAUTIONS: &[&str] = &[
    "Results are a design aid. Battery and service equipment can kill and burn.",
    "Work is done de-energised under lockout by qualified, licensed people.",
    "The adopted local code, the utility's rules and the equipment maker's instructions prevail.",
    "A licensed professional checks and signs where the law asks for it.",
];

/// One site, checked.
#[derive(Debug)]
pub struct Dossier<'a> {
    /// The site.
    pub site: &'a Site,
    /// Its loads, assessed.
    pub assessment: &'a Assessment,
    /// The design; none where it was refused.
    pub design: Option<&'a Design<'a>>,
    /// All findings, the worst first.
    pub findings: Vec<Finding>,
    /// Every assumption that a load, a margin or a decision rests on.
    pub assumptions: Vec<Arc<Node>>,
    /// Code figures that rest on one source or on memory: to be confirmed in the adopted code.
    pub to_confirm: Vec<String>,
}

impl<'a> Dossier<'a> {
    /// Puts together what was found.
    pub fn new(
        site: &'a Site,
        assessment: &'a Assessment,
        outcome: Result<&'a Design<'a>, Vec<Finding>>,
    ) -> Self {
        let mut findings: Vec<Finding> = assessment.findings.clone();
        let design = match outcome {
            Ok(design) => {
                findings.extend(design.assessed.ledger.findings.iter().cloned());
                Some(design)
            }
            Err(refused) => {
                findings.extend(refused);
                None
            }
        };
        for finding in findings.iter_mut().filter(|f| f.severity.fails() && f.fixes.is_empty()) {
            // what fails always says what to do: at least what usually mends its kind
            finding.fixes.extend(kind(finding.id).map(|k| Text::plain(k.remedies)));
        }
        findings.sort_by(|a, b| {
            (a.severity, a.id, &a.part, &a.message).cmp(&(b.severity, b.id, &b.part, &b.message))
        });
        findings.dedup_by(|a, b| a.id == b.id && a.part == b.part && a.message == b.message);
        let margins =
            design.iter().flat_map(|d| &d.assessed.ledger.margins).flat_map(|m| [&m.value, &m.limit]);
        let decisions = design.iter().flat_map(|d| &d.decisions).flat_map(|d| &d.from);
        let wires = design.iter().flat_map(|d| &d.wires).flat_map(|w| [&w.why, w.drop.node()]);
        let grounds = design.iter().flat_map(|d| &d.wires).flat_map(|w| &w.from);
        let known = assessment.assumptions.iter().chain(margins).chain(decisions).chain(wires);
        let code = design.iter().flat_map(|d| d.code.nodes());
        let residual: Vec<_> = design.iter().flat_map(|d| design::residual_devices(&d.case)).collect();
        let mut known: Vec<Arc<Node>> = known.chain(grounds).chain(code).cloned().collect();
        known.extend(residual.iter().flat_map(design::ResidualReadings::nodes).cloned());
        let to_confirm = to_confirm(known.iter());
        let assumptions = assumptions(known.iter());
        Self { site, assessment, design, findings, assumptions, to_confirm }
    }

    /// Whether anything makes the check fail. A site without a design is never fine.
    pub fn fails(&self) -> bool {
        self.design.is_none() || self.findings.iter().any(|f| f.severity.fails())
    }

    /// How many findings of a severity.
    pub fn count(&self, severity: Severity) -> usize {
        self.findings.iter().filter(|f| f.severity == severity).count()
    }
}
