//! What the site's book asks of the finished plant beside its conductor runs: bonding and electrode conductors, motor
//! circuits, capacities, space before panels, labels, protection in the island. Each rule ends in a verdict with a
//! reason; what fails or is not covered is a finding.

mod amend;
mod breakers;
mod capacity;
mod earthing;
mod motors;
mod neutrals;
mod scope;
mod shock;
mod signs;
mod spaces;
mod storage;

use std::sync::Arc;

use assess::Case;
use codebook::rule;
use derivation::{Known, Node, Place};
use finding::{Finding, Severity};
use quantity::{Current, Length};
use saying::{Text, say};
use site::Earthing;

use crate::candidate::Design;
use crate::{Held, Prepared, Wire};

pub(crate) use amend::{depth as amended_depth, share as amended_share, told};
pub use neutrals::{NeutralWays, neutral_ways};
pub(crate) use shock::highest_loop;

/// What the book asks for beside the runs.
#[derive(Debug, Clone, Default)]
pub struct CodeWork {
    /// Bonding and electrode conductors.
    pub conductors: Vec<EarthConductor>,
    /// Branch circuits of motors.
    pub circuits: Vec<MotorCircuit>,
    /// Space before panels.
    pub spaces: Vec<WorkingSpace>,
    /// Labels and signs.
    pub labels: Vec<Label>,
}

/// A conductor that bonds or earths.
#[derive(Debug, Clone)]
pub struct EarthConductor {
    /// Role path: `service.electrode.conductor`.
    pub role: String,
    /// Name for people.
    pub name: String,
    /// Rule that sizes it.
    pub rule: &'static str,
    /// Its size, as the trade writes it; of copper.
    pub size: String,
    /// Why that size.
    pub why: Arc<Node>,
}

/// The branch circuit of a motor.
#[derive(Debug, Clone)]
pub struct MotorCircuit {
    /// The load.
    pub load: String,
    /// Its panel.
    pub panel: String,
    /// How many like it there are.
    pub count: u32,
    /// Line conductors of one.
    pub lines: usize,
    /// It has a neutral.
    pub neutral: bool,
    /// Current by which it is sized.
    pub full_load: Known<Current>,
    /// Size of each conductor, of copper.
    pub size: String,
    /// What it may carry.
    pub ampacity: Known<Current>,
    /// Equipment grounding conductor.
    pub ground: String,
    /// US: largest inverse-time breaker against short circuit and ground fault; overload is the starter's. IEC: the
    /// breaker.
    pub device: Known<Current>,
    /// IEC: type of that breaker.
    pub curve: Option<char>,
    /// IEC: the starter's overload relay, where a class fits.
    pub relay: Option<MotorRelay>,
    /// Larger one that is allowed where the motor does not start on that one.
    pub if_it_cannot_start: Option<Known<Current>>,
    /// Why that conductor.
    pub why: Arc<Node>,
}

/// The overload relay of a motor's starter.
#[derive(Debug, Clone)]
pub struct MotorRelay {
    /// Current that it is set to.
    pub setting: Known<Current>,
    /// Trip class.
    pub class: &'static str,
}

/// Free space before live parts.
#[derive(Debug, Clone)]
pub struct WorkingSpace {
    /// The panel.
    pub panel: String,
    /// Depth from the live parts.
    pub depth: Known<Length>,
    /// Width, and no less than the equipment.
    pub width: Known<Length>,
    /// Height, and no less than the equipment.
    pub height: Known<Length>,
}

/// A label with its place.
#[derive(Debug, Clone)]
pub struct Label {
    /// Its key.
    pub key: String,
    /// Clause that asks for it.
    pub clause: String,
    /// Where it goes.
    pub place: String,
    /// What it tells, in our words.
    pub tells: String,
    /// The figures of this plant that it shows.
    pub shows: Vec<Arc<Node>>,
}

impl CodeWork {
    /// Every value that it rests on.
    pub fn nodes(&self) -> Vec<&Arc<Node>> {
        let conductors = self.conductors.iter().map(|c| &c.why);
        let circuits = self.circuits.iter().flat_map(|c| [&c.why, c.device.node(), c.full_load.node()]);
        let spaces = self.spaces.iter().flat_map(|s| [s.depth.node(), s.width.node(), s.height.node()]);
        conductors.chain(circuits).chain(spaces).chain(self.labels.iter().flat_map(|l| &l.shows)).collect()
    }
}

/// What is gathered while the rules are held.
struct Holding<'h, 'a> {
    prepared: &'a Prepared<'a>,
    case: &'h Case<'a>,
    wires: &'h [Wire],
    bonded_once: Option<bool>,
    /// A busbar rests on the breakers of its sources at its far end.
    at_far_end: bool,
    held_before: &'h [Held],
    work: CodeWork,
    held: Vec<Held>,
    found: Vec<Finding>,
    /// Rules whose figure an amendment changed, and whether the change loosens.
    changed: Vec<(&'static str, bool)>,
}

impl Holding<'_, '_> {
    fn us(&self) -> bool {
        self.case.site.service.earthing.value == Earthing::Us
    }

    fn dwelling(&self) -> bool {
        crate::wiring::dwelling(self.case)
    }

    fn wire(&self, role: &str) -> Option<&Wire> {
        self.wires.iter().find(|wire| wire.role == role)
    }

    fn passes(&mut self, rule: &'static str, part: &str) {
        self.held.push(Held::new(rule, part, true));
    }

    /// A rule that does not hold.
    fn fails(&mut self, rule: &'static str, part: &str, message: Text, place: Option<&Place>) {
        let severity = if self.waived(rule) { Severity::Warning } else { Severity::Error };
        self.held.push(Held::new(rule, part, false));
        let finding = Finding::new("code-rule-failed", severity, part, message).by(clause(rule));
        self.found.push(finding.at(place, say!("set here")));
    }

    /// A rule that does not reach the case.
    fn not_covered(&mut self, rule: &'static str, part: &str, reason: Text, place: Option<&Place>) {
        self.held.push(Held::not_covered(rule, part).because(reason.clone()));
        let title = codebook::within_sentence(codebook::rule(rule).map_or(rule, |r| r.title.as_str()));
        let message = say!("{title}: {reason}", title, reason);
        let finding = Finding::new("code-rule-not-covered", Severity::NotCovered, part, message);
        self.found.push(finding.by(clause(rule)).at(place, say!("set here")));
    }

    /// Something of a part that is not looked at.
    fn named(&mut self, part: &str, what: Text) {
        let message = say!("not looked at: {what}", what);
        self.found.push(Finding::new("outside-scope", Severity::OutsideScope, part, message));
    }

    /// A part to which a rule belongs, and which is not looked at.
    fn outside(&mut self, rule: &'static str, part: &str, what: Text) {
        self.held.push(Held::outside(rule, part).because(what.clone()));
        self.named(part, what);
    }
}

fn clause(id: &str) -> String {
    rule(id).map_or_else(|| id.to_owned(), |rule| format!("{} {}", rule.edition, rule.clause))
}

/// Holds the book against the design.
pub(crate) fn add<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) {
    let bonding = design.proof.as_ref().and_then(|p| p.outcome(states::proof::Property::Bonding));
    let bonded_once = match bonding {
        Some(states::proof::Outcome::Holds) => Some(true),
        Some(states::proof::Outcome::Broken(_)) => Some(false),
        _ => None,
    };
    let mut holding = Holding {
        prepared,
        case: &design.case,
        wires: &design.wires,
        bonded_once,
        at_far_end: design.source_at_far_end,
        held_before: &design.held,
        work: CodeWork::default(),
        held: Vec::new(),
        found: Vec::new(),
        changed: Vec::new(),
    };
    earthing::hold(&mut holding);
    motors::hold(&mut holding);
    capacity::hold(&mut holding);
    spaces::hold(&mut holding);
    storage::hold(&mut holding);
    signs::hold(&mut holding);
    shock::hold(&mut holding);
    breakers::hold(&mut holding);
    neutrals::hold(&mut holding);
    scope::hold(&mut holding);
    amend::tell(&mut holding);
    unknown_conductors(&mut holding, &design.assessed.runs);
    let Holding { work, held, found, .. } = holding;
    design.code = work;
    design.held.extend(held);
    design.assessed.ledger.findings.extend(found);
}

/// Rules that size bonding and electrode conductors.
fn sizes(rule: &str) -> bool {
    matches!(rule, "bonding-jumper" | "electrode-conductor" | "bonding-section")
}

/// Conductors that the site fixes and the plant does not have.
fn unknown_conductors(h: &mut Holding<'_, '_>, runs: &[assess::Run]) {
    let known: Vec<&str> = runs
        .iter()
        .map(|run| run.role.as_str())
        .chain(h.held.iter().filter(|held| sizes(held.rule)).map(|held| held.part.as_str()))
        .collect();
    for wish in &h.case.site.conductors {
        if !known.contains(&wish.part.value.as_str()) {
            h.found.push(
                Finding::new(
                    "conductor-unknown",
                    Severity::Error,
                    "conductors",
                    say!("the plant has no conductor run \"{part}\"", part = wish.part.value),
                )
                .at(Some(&wish.part.place), say!("no such run"))
                .fix(say!("known: {known}", known = known.join(", "))),
            );
        }
    }
}
