//! The interlock proof: what must hold in every state that the gear of a full plant can reach, whatever the delays
//! and in whatever order things move, and what single failures on top of that lead to.
//!
//! Sets of states are decision diagrams (`space`, `model`); the set of all reachable states is found exactly, for all
//! units of the plant, and counted. A property that is broken comes with the shortest sequence of moves into a state
//! that breaks it. `docs/interlock-proof.md` says what the model holds and what it leaves out.

mod bonding;
mod dead_utility;
mod explore;
mod failures;
mod findings;
mod isolation;
mod model;
mod neutral;
mod protection;
mod service;
mod sources_meet;
mod space;
mod words;

use biodivine_lib_bdd::Bdd;
use plant::full::{BondPlace, Concern, FullPlant};

pub use bonding::{ROWS, Row};
pub use explore::Step;
pub use failures::SingleFailure;
pub use findings::findings;

use explore::{Layers, reachable};
use model::Model;

/// What is proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Property {
    /// P1: two sources that are not synchronised never meet.
    SourcesMeet,
    /// P2: a dead utility is never energised.
    DeadUtility,
    /// P3: the panel is served by itself.
    Service,
    /// P4: every unit can be isolated.
    Isolation,
    /// P5: neutral and earth are joined as the earthing system asks.
    Bonding,
    /// P6: every conductor is protected from each source.
    Protection,
    /// P7: the neutral is never lost while lines are live.
    Neutral,
}

impl Property {
    /// All, in order.
    pub const ALL: [Property; 7] = [
        Property::SourcesMeet,
        Property::DeadUtility,
        Property::Service,
        Property::Isolation,
        Property::Bonding,
        Property::Protection,
        Property::Neutral,
    ];

    /// `P1` to `P7`.
    pub fn number(self) -> &'static str {
        match self {
            Property::SourcesMeet => "P1",
            Property::DeadUtility => "P2",
            Property::Service => "P3",
            Property::Isolation => "P4",
            Property::Bonding => "P5",
            Property::Protection => "P6",
            Property::Neutral => "P7",
        }
    }

    /// In words.
    pub fn words(self) -> &'static str {
        match self {
            Property::SourcesMeet => "no two sources meet unsynchronised",
            Property::DeadUtility => "a dead utility is never energised",
            Property::Service => "the panel is served by itself",
            Property::Isolation => "every unit can be locked off",
            Property::Bonding => "neutral bonded as the earthing asks",
            Property::Protection => "every conductor is protected",
            Property::Neutral => "no live lines without their neutral",
        }
    }

    /// Id of its finding.
    pub fn finding(self) -> &'static str {
        match self {
            Property::SourcesMeet => "sources-meet",
            Property::DeadUtility => "dead-utility-energised",
            Property::Service => "service-not-automatic",
            Property::Isolation => "unit-not-isolable",
            Property::Bonding => "neutral-bond-count",
            Property::Protection => "conductor-unprotected",
            Property::Neutral => "neutral-lost",
        }
    }
}

/// What the site asks for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ProofInput {
    /// The generator starts by itself, so that an empty battery must not leave the panel dead.
    pub generator_automatic: bool,
    /// The panel must be served while units are serviced.
    pub bypass_asked: bool,
    /// Look at single failures too.
    pub single_failures: bool,
}

/// A broken property.
#[derive(Debug, Clone, PartialEq)]
pub struct Broken {
    /// What is wrong.
    pub what: String,
    /// Role path of the part.
    pub part: String,
    /// What mends it.
    pub fix: String,
    /// The clause that it rests on.
    pub clause: Option<&'static str>,
    /// The shortest way there from normal operation, which is its first step. Empty where no state has what must be
    /// possible.
    pub way: Vec<Step>,
    /// The way in words.
    pub told: Vec<String>,
    /// The state at its end, in words.
    pub situation: String,
}

/// What was found of a property.
#[derive(Debug, Clone, PartialEq)]
pub enum Outcome {
    /// It holds in every state that can be reached.
    Holds,
    /// It does not.
    Broken(Box<Broken>),
    /// Facts are missing.
    NotCovered(Vec<String>),
}

impl Outcome {
    /// Something that must be possible is not.
    pub(self) fn impossible(part: impl Into<String>, what: impl Into<String>, fix: &str) -> Self {
        Outcome::Broken(Box::new(Broken {
            what: what.into(),
            part: part.into(),
            fix: fix.to_owned(),
            clause: None,
            way: Vec::new(),
            told: Vec::new(),
            situation: String::new(),
        }))
    }

    /// Number of moves of the shortest way.
    pub fn moves(&self) -> Option<usize> {
        match self {
            Outcome::Broken(broken) => broken.way.len().checked_sub(1),
            _ => None,
        }
    }
}

/// What was proven of a plant.
#[derive(Debug, Clone)]
pub struct Proof {
    /// Number of states that can be reached, in decimal digits: sources, and the position of every device of every
    /// unit.
    pub states: String,
    /// Each property with what was found.
    pub results: Vec<(Property, Outcome)>,
    /// What single failures lead to.
    pub failures: Vec<SingleFailure>,
    /// What holds only under a condition that the graph does not show.
    pub notes: Vec<&'static str>,
}

impl Proof {
    /// What was found of a property.
    pub fn outcome(&self, property: Property) -> Option<&Outcome> {
        self.results.iter().find(|(p, _)| *p == property).map(|(_, outcome)| outcome)
    }

    /// Whether every property holds.
    pub fn holds(&self) -> bool {
        self.results.iter().all(|(_, outcome)| *outcome == Outcome::Holds)
    }
}

/// A plant with all that can be reached in it.
struct Context<'m, 'p> {
    model: &'m Model<'p>,
    reachable: &'m Bdd,
    input: &'m ProofInput,
}

/// States that break a property in one way.
struct Flaw {
    states: Bdd,
    part: String,
    what: String,
    fix: String,
    clause: Option<&'static str>,
}

impl Flaw {
    fn new(states: Bdd, part: impl Into<String>, what: impl Into<String>, fix: &str) -> Self {
        Self { states, part: part.into(), what: what.into(), fix: fix.to_owned(), clause: None }
    }
}

/// Proves a plant, or says how each property is broken.
pub fn prove(plant: &FullPlant, input: &ProofInput) -> Proof {
    let model = Model::new(plant);
    let reachable = reachable(&model);
    let context = Context { model: &model, reachable: &reachable, input };
    let mut layers = Layers::new(&model);
    let results: Vec<(Property, Outcome)> =
        Property::ALL.into_iter().map(|p| (p, outcome(&context, &mut layers, p))).collect();
    let failures = if input.single_failures { failures::look(plant, input, &results) } else { Vec::new() };
    Proof { states: model.space.count(&reachable), results, failures, notes: notes(plant) }
}

/// In a TN-S island without a bond of its own, the earth of the supplier is the only one.
fn notes(plant: &FullPlant) -> Vec<&'static str> {
    let utility = plant.supply(plant::SourceKind::Utility).is_some();
    let own = plant.bonds.iter().any(|b| b.place == BondPlace::Group);
    let relies = utility && !own && plant.earthing == site::Earthing::TnS;
    let mut notes: Vec<&'static str> = relies.then_some(bonding::SUPPLIERS_EARTH).into_iter().collect();
    if !plant.followers.is_empty() {
        notes.push(CERTIFIED);
    }
    notes
}

/// What the graph cannot show of an array inverter.
const CERTIFIED: &str = "array inverters stop by themselves, within the time of the standard that they are certified to, when no other source holds the voltage that they follow";

fn outcome(context: &Context<'_, '_>, layers: &mut Layers<'_, '_>, property: Property) -> Outcome {
    let plant = context.model.plant;
    let found = match property {
        Property::SourcesMeet => sources_meet::flaws(context),
        Property::DeadUtility => dead_utility::flaws(context),
        Property::Service => service::flaws(context),
        Property::Isolation => return isolation::outcome(context),
        Property::Bonding => bonding::flaws(context),
        Property::Protection => protection::flaws(context),
        Property::Neutral => neutral::flaws(context),
    };
    let missing = |neutral: bool| -> Vec<String> {
        let of = plant.unstated.iter().filter(|u| (u.concern == Concern::Neutral) == neutral);
        of.filter(|u| concerns(property, u.concern)).map(|u| u.what.clone()).collect()
    };
    // what the neutral does where nothing is stated is a guess, so a break of it would be one too
    let guessed = missing(true);
    if !guessed.is_empty() {
        return Outcome::NotCovered(guessed);
    }
    if let Some(broken) = worst(context, layers, &found) {
        return broken;
    }
    let missing = missing(false);
    if missing.is_empty() { Outcome::Holds } else { Outcome::NotCovered(missing) }
}

/// Which properties rest on a fact.
fn concerns(property: Property, concern: Concern) -> bool {
    match concern {
        Concern::Neutral => matches!(property, Property::Bonding | Property::Neutral),
        Concern::Together => {
            matches!(property, Property::SourcesMeet | Property::DeadUtility | Property::Service)
        }
    }
}

/// The flaw that takes the fewest moves.
fn worst(context: &Context<'_, '_>, layers: &mut Layers<'_, '_>, flaws: &[Flaw]) -> Option<Outcome> {
    let (space, plant) = (&context.model.space, context.model.plant);
    let all = flaws.iter().fold(space.no(), |any, f| any.or(&f.states)).and(context.reachable);
    if all.is_false() {
        return None;
    }
    let way = layers.way(&all)?;
    let end = way.last()?;
    let flaw = flaws.iter().find(|f| space.holds(&f.states, &end.state))?;
    Some(Outcome::Broken(Box::new(Broken {
        what: flaw.what.clone(),
        part: flaw.part.clone(),
        fix: flaw.fix.clone(),
        clause: flaw.clause,
        told: words::tell(&way, plant),
        situation: words::situation(&end.state, plant),
        way,
    })))
}
