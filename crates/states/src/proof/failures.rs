//! Single failures on top of the proof: one thing is broken from the start, and everything is looked at again. They
//! are reported beside the proof and are no part of its verdict.
//!
//! Units are alike, so unit 1 stands for any one of them; of the others one is in service, and the rest stand off.

use finding::Severity;
use plant::full::{FullPlant, NeutralPath};
use plant::{Condition, Control, DeviceIx, Rule};

use super::explore::{Layers, reachable};
use super::model::Model;
use super::{Broken, Context, Outcome, ProofInput, Property};

/// What one failure leads to.
#[derive(Debug, Clone)]
pub struct SingleFailure {
    /// Role path of what fails.
    pub part: String,
    /// What fails, in words.
    pub what: String,
    /// Warning where it is a danger, note where it only takes the supply away or does nothing.
    pub severity: Severity,
    /// Properties that held and no longer do.
    pub leads_to: Vec<(Property, Broken)>,
}

/// Properties that a failure can break while the parts stay where they are.
const LOOKED_AT: [Property; 5] =
    [Property::SourcesMeet, Property::DeadUtility, Property::Service, Property::Bonding, Property::Neutral];

/// One failure: part, words, broken plant.
struct Failed {
    part: String,
    what: String,
    plant: FullPlant,
}

/// Looks at every single failure that the model knows.
pub(super) fn look(
    plant: &FullPlant,
    input: &ProofInput,
    whole: &[(Property, Outcome)],
) -> Vec<SingleFailure> {
    all(&two_in_service(plant)).into_iter().map(|failed| one(&failed, input, whole)).collect()
}

/// The plant with all devices of the third and further units standing open for good.
fn two_in_service(plant: &FullPlant) -> FullPlant {
    let mut few = plant.clone();
    for (k, gear) in plant.gear.iter().enumerate() {
        if gear.unit.is_some_and(|unit| unit > 2) {
            stuck(&mut few, DeviceIx(k), 0);
        }
    }
    few
}

fn one(failed: &Failed, input: &ProofInput, whole: &[(Property, Outcome)]) -> SingleFailure {
    let model = Model::new(&failed.plant);
    let reachable = reachable(&model);
    let context = Context { model: &model, reachable: &reachable, input };
    let mut layers = Layers::new(&model);
    let mut leads_to = Vec::new();
    for property in LOOKED_AT {
        let held = whole.iter().any(|(p, outcome)| *p == property && *outcome == Outcome::Holds);
        if held && let Outcome::Broken(broken) = super::outcome(&context, &mut layers, property) {
            leads_to.push((property, *broken));
        }
    }
    let danger = leads_to.iter().any(|(p, _)| *p != Property::Service);
    SingleFailure {
        part: failed.part.clone(),
        what: failed.what.clone(),
        severity: if danger { Severity::Warning } else { Severity::Note },
        leads_to,
    }
}

fn all(plant: &FullPlant) -> Vec<Failed> {
    let mut failures = Vec::new();
    for id in ["unit.1.relay", "unit.1.second relay"] {
        if let Some(device) = plant.gear_ix(id) {
            failures.extend(relay(plant, device));
        }
    }
    for (k, lock) in plant.interlocks.iter().enumerate() {
        let mut broken = plant.clone();
        broken.interlocks.remove(k);
        failures.push(Failed {
            part: lock.id.clone(),
            what: format!("the {} has failed", lock.name),
            plant: broken,
        });
    }
    if plant.units.len() > 1 {
        failures.push(Failed {
            part: "unit.1.link".to_owned(),
            what: "one unit has lost its link and does not know of the others".to_owned(),
            plant: without_link(plant, 1),
        });
    }
    if let Some(former) = plant.formers.first() {
        let mut broken = plant.clone();
        broken.formers.clear();
        let shared = former.moved_by.filter(|(device, _)| {
            plant.parts.iter().any(|p| p.lines && p.moved_by.is_some_and(|(d, _)| d == *device))
        });
        if let Some((device, _)) = shared {
            stuck(&mut broken, device, 0);
        }
        let what = "the neutral former is lost".to_owned();
        failures.push(Failed { part: former.id.clone(), what, plant: broken });
    }
    if plant.parts.iter().any(|p| p.id == "service.conductor") {
        let mut broken = plant.clone();
        for part in broken.parts.iter_mut().filter(|p| p.id == "service.conductor") {
            part.neutral = NeutralPath::Absent;
        }
        let what = "the utility's neutral is broken".to_owned();
        failures.push(Failed { part: "service.conductor".to_owned(), what, plant: broken });
    }
    failures
}

/// A relay that stays closed, noticed by its unit or not, and one that stays open.
fn relay(plant: &FullPlant, device: DeviceIx) -> Vec<Failed> {
    let Some(gear) = plant.gear.get(device.0) else { return Vec::new() };
    let name = gear.name.replace("unit 1 ", "");
    let failed = |what: String, plant: FullPlant| Failed { part: gear.id.clone(), what, plant };
    let mut welded = plant.clone();
    stuck(&mut welded, device, 1);
    // a relay welds while it is closed, and then the relays of the other input are open
    for other in plant.units.iter().flat_map(|u| &u.relays) {
        let second = |d: DeviceIx| plant.gear.get(d.0).is_some_and(|g| g.id.ends_with("second relay"));
        if second(*other) != second(device)
            && let Some(gear) = welded.gear.get_mut(other.0)
        {
            gear.normal = 0;
        }
    }
    let mut unnoticed = welded.clone();
    for unit in &mut unnoticed.units {
        unit.relays.retain(|relay| *relay != device);
    }
    for gear in &mut unnoticed.gear {
        forget(&mut gear.control, &|c| matches!(c, Condition::At(d, _) if *d == device));
    }
    let mut open = plant.clone();
    stuck(&mut open, device, 0);
    vec![
        failed(format!("the {name} of one unit is welded, and the units notice it"), welded),
        failed(format!("the {name} of one unit is welded, and nothing notices it"), unnoticed),
        failed(format!("the {name} of one unit does not close: one path is open"), open),
    ]
}

fn stuck(plant: &mut FullPlant, device: DeviceIx, at: u8) {
    if let Some(gear) = plant.gear.get_mut(device.0) {
        gear.normal = at;
        gear.control = Control::Automatic(Vec::new());
    }
}

/// A unit that decides alone: neither it nor the others know of each other's relays and inputs.
fn without_link(plant: &FullPlant, number: u8) -> FullPlant {
    let mut alone = plant.clone();
    for unit in alone.units.iter_mut().filter(|u| u.number == number) {
        unit.linked = false;
    }
    let owner_of_gear: Vec<Option<u8>> = plant.gear.iter().map(|g| g.unit).collect();
    let owner_of_node: Vec<Option<u8>> = plant.nodes.iter().map(|n| n.unit).collect();
    for gear in &mut alone.gear {
        let own = gear.unit;
        let Some(own) = own else { continue };
        let stranger =
            |unit: Option<u8>| unit.is_some_and(|unit| unit != own && (unit == number || own == number));
        forget(&mut gear.control, &|c| match c {
            Condition::At(device, _) => stranger(owner_of_gear.get(device.0).copied().flatten()),
            Condition::LiveFromOutside(node) => stranger(owner_of_node.get(node.0).copied().flatten()),
            _ => false,
        });
    }
    alone
}

/// Drops from every list of conditions those that speak of nothing but what is not known any more.
fn forget(control: &mut Control, unknown: &impl Fn(&Condition) -> bool) {
    if let Control::Automatic(rules) = control {
        for Rule { when, .. } in rules {
            *when = kept(when, unknown).unwrap_or_else(|| Condition::All(Vec::new()));
        }
    }
}

/// What is left of a condition; none if it spoke of the unknown alone.
fn kept(condition: &Condition, unknown: &impl Fn(&Condition) -> bool) -> Option<Condition> {
    let several = |all: &[Condition]| -> Option<Vec<Condition>> {
        let left: Vec<Condition> = all.iter().filter_map(|c| kept(c, unknown)).collect();
        (all.is_empty() || !left.is_empty()).then_some(left)
    };
    match condition {
        Condition::All(all)
            if all.iter().any(unknown) && all.iter().all(|c| unknown(c) || stays(c)) && is_good(all) =>
        {
            None
        }
        Condition::All(all) => several(all).map(Condition::All),
        Condition::Any(any) => several(any).map(Condition::Any),
        Condition::Not(inner) => kept(inner, unknown).map(Condition::negated),
        other => (!unknown(other)).then(|| other.clone()),
    }
}

/// Conditions of another unit's good input: its voltage, and perhaps what holds it.
fn is_good(all: &[Condition]) -> bool {
    matches!(all.first(), Some(Condition::LiveFromOutside(_)))
}

fn stays(condition: &Condition) -> bool {
    matches!(condition, Condition::At(..))
}
