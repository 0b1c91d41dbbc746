//! The full plant: every unit by itself, with its breakers, the conductors between them, the neutral, and where
//! neutral and earth are joined. The interlock proof reads it.
//!
//! [`crate::Plant`] is the same power path with identical units lumped into sets, for what needs only counts and
//! delays. Both are built from the same gear.
//!
//! Lines are one bundle: a device moves all lines of its part together, and sources that sit on different legs of
//! one bus count as having met there. The neutral has a layer of its own.

mod arrangement;
pub(crate) mod arrays;
mod battery;
mod bonds;
mod build;
mod designation;
mod generator;
mod positions;
mod resistance;
mod strings;
mod units;

use catalog::NeutralPole;
use derivation::Known;
use quantity::{Current, DcCurrent, Leg, Length, Resistance, VoltageSystem};
use site::Earthing;

use crate::{Condition, Control, DeviceIx, NodeIx, SourceKind};

pub use arrays::ArrayIn;
pub use battery::{DcGear, assumed_length};
pub use build::{FullGear, GeneratorIn, UnitBreakers, build_full, next_device};
pub use designation::{
    Bus, all_together, array_of, buses, designation_of, designations, gathered, residual_designation,
    role_of, together,
};
pub use strings::{Behind, StringsIn};

/// What a node is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NodeKind {
    /// Own terminals of a source: nothing of the installation is live while only these are.
    Terminal,
    /// A busbar, or the end of a conductor.
    Bus,
    /// A panel with loads.
    Panel,
    /// On the DC side.
    Dc,
}

/// A node.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Node {
    /// Role path: `main`, `unit.2.output`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// What it is.
    pub kind: NodeKind,
    /// It has a neutral conductor.
    pub neutral: bool,
    /// Something on it needs the neutral while its lines are live.
    pub needs_neutral: bool,
    /// The unit that it belongs to, from 1.
    pub unit: Option<u8>,
}

/// What a part does with the neutral.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NeutralPath {
    /// Passes it on in every position.
    Solid,
    /// Joins it together with the lines.
    Switched,
    /// Has none.
    Absent,
}

impl From<NeutralPole> for NeutralPath {
    fn from(pole: NeutralPole) -> Self {
        match pole {
            NeutralPole::Solid => NeutralPath::Solid,
            NeutralPole::Switched => NeutralPath::Switched,
        }
    }
}

/// What a part is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PartKind {
    /// A conductor run.
    Conductor,
    /// A breaker: switches and protects.
    Breaker,
    /// A pole of a switch: switches only.
    Switch,
    /// A relay inside a unit.
    Relay,
    /// A converter between two direct voltages: a charge controller.
    Converter,
}

/// Why a conductor needs no overcurrent device towards a source.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Exemption {
    /// The source.
    pub from: SourceKind,
    /// The clause, with its edition or "from memory".
    pub clause: &'static str,
}

/// A two-ended part.
#[derive(Debug, Clone)]
pub struct Part {
    /// Role path: `unit.2.input`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Letter of its class by IEC 81346-2: W conductor, Q switch, breaker or relay, T converter.
    pub class: char,
    /// What it is.
    pub kind: PartKind,
    /// One end.
    pub from: NodeIx,
    /// The other end.
    pub to: NodeIx,
    /// It joins the lines (a neutral link does not).
    pub lines: bool,
    /// What it does with the neutral.
    pub neutral: NeutralPath,
    /// The device that moves it and the position in which it is closed; none = always closed.
    pub moved_by: Option<(DeviceIx, u8)>,
    /// Rated current, per line. Of a conductor, what it carries for any time; of a breaker, its rating.
    pub rating: Option<Known<Current>>,
    /// Of a conductor that breakers feed from both sides: the rating of the one ahead of it, where the other is larger.
    /// It is made for the larger one, which is its rating.
    pub ahead: Option<Known<Current>>,
    /// Rated direct current, on the DC side.
    pub direct: Option<Known<DcCurrent>>,
    /// Length of a conductor run.
    pub length: Option<Known<Length>>,
    /// Resistance of each of its conductors; none where it is not solved for (the DC side).
    pub resistance: Option<Known<Resistance>>,
    /// Sources from which a conductor needs no overcurrent device.
    pub exempt: Vec<Exemption>,
}

impl Part {
    /// Its role path without the number of its unit: `unit.3.input` is `unit.input`.
    pub fn role(&self) -> String {
        let number = |piece: &&str| !piece.is_empty() && piece.chars().all(|c| c.is_ascii_digit());
        self.id.split('.').filter(|piece| !number(piece)).collect::<Vec<_>>().join(".")
    }

    /// Its name without the number of its unit.
    pub fn kind_name(&self) -> String {
        let number = |word: &&str| !word.chars().all(|c| c.is_ascii_digit());
        self.name.split(' ').filter(number).collect::<Vec<_>>().join(" ")
    }
}

/// A switching device.
#[derive(Debug, Clone)]
pub struct Gear {
    /// Role path.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Letter of its class by IEC 81346-2.
    pub class: char,
    /// Names of its positions.
    pub positions: Vec<&'static str>,
    /// Position in normal operation.
    pub normal: u8,
    /// How it moves.
    pub control: Control,
    /// It can be locked open.
    pub lockable: bool,
    /// The unit that it belongs to, from 1.
    pub unit: Option<u8>,
}

/// Positions that a mechanical or electrical interlock does not allow together.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Interlock {
    /// Role path.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Never all of these at once.
    pub forbids: Vec<(DeviceIx, u8)>,
}

/// Where neutral and earth are joined.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BondPlace {
    /// At the supplier's transformer.
    Supplier,
    /// At the service equipment.
    Service,
    /// At the group's distribution.
    Group,
    /// At the generator.
    Generator,
    /// Anywhere else.
    Elsewhere,
}

/// A join of neutral and earth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bond {
    /// Role path.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Where in the graph.
    pub node: NodeIx,
    /// Where in the table of the earthing system.
    pub place: BondPlace,
    /// While this holds; all of nothing = always.
    pub while_: Condition,
}

/// A unit in the graph.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unit {
    /// Number, from 1.
    pub number: u8,
    /// The legs that it sits on.
    pub legs: Vec<Leg>,
    /// Its own AC node, behind the relays.
    pub ac: NodeIx,
    /// Devices of its relays, all of which must be open before it forms a voltage.
    pub relays: Vec<DeviceIx>,
    /// Its terminal on the DC side.
    pub dc: NodeIx,
    /// Its bridge forms a neutral.
    pub neutral: bool,
    /// It decides together with the others; without its link it knows only its own relays.
    pub linked: bool,
}

/// A neutral former on the island side.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Former {
    /// Role path.
    pub id: String,
    /// The node whose lines it forms a neutral for.
    pub node: NodeIx,
    /// The device that connects it, with the position.
    pub moved_by: Option<(DeviceIx, u8)>,
}

/// An array inverter: it gives current where it finds the voltage of a live source, and never forms one.
#[derive(Debug, Clone)]
pub struct Follower {
    /// Role path.
    pub id: String,
    /// Its terminals.
    pub node: NodeIx,
    /// Its highest continuous current, per line.
    pub current: Known<Current>,
    /// The contactor that parts it while the generator runs.
    pub lockout: Option<DeviceIx>,
}

/// What a fact that nobody states concerns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Concern {
    /// The neutral and its bonds.
    Neutral,
    /// How units decide together.
    Together,
}

/// A fact that the catalogue does not state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unstated {
    /// What it concerns.
    pub concern: Concern,
    /// What is missing, as it would be written.
    pub what: String,
}

/// Source of a kind at a node.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supply {
    /// Utility or generator.
    pub kind: SourceKind,
    /// Its terminals.
    pub node: NodeIx,
}

/// Everything of the power path, every unit by itself.
#[derive(Debug, Clone)]
pub struct FullPlant {
    /// Voltage system.
    pub system: VoltageSystem,
    /// Earthing system.
    pub earthing: Earthing,
    /// Nodes.
    pub nodes: Vec<Node>,
    /// Two-ended parts.
    pub parts: Vec<Part>,
    /// Switching devices.
    pub gear: Vec<Gear>,
    /// Interlocks between them.
    pub interlocks: Vec<Interlock>,
    /// Utility and generator.
    pub supplies: Vec<Supply>,
    /// Units.
    pub units: Vec<Unit>,
    /// Array inverters.
    pub followers: Vec<Follower>,
    /// Neutral formers.
    pub formers: Vec<Former>,
    /// Joins of neutral and earth.
    pub bonds: Vec<Bond>,
    /// The DC bus.
    pub dc_bus: NodeIx,
    /// The backup panel.
    pub panel: NodeIx,
    /// The most that one unit feeds into one line for any time.
    pub bridge_limit: Known<Current>,
    /// The most units that feed one line.
    pub most_a_leg: u8,
    /// Facts that the catalogue does not state.
    pub unstated: Vec<Unstated>,
}

impl FullPlant {
    /// Where a source is.
    pub fn supply(&self, kind: SourceKind) -> Option<NodeIx> {
        self.supplies.iter().find(|s| s.kind == kind).map(|s| s.node)
    }

    /// The device with a role path.
    pub fn gear_ix(&self, id: &str) -> Option<DeviceIx> {
        self.gear.iter().position(|g| g.id == id).map(DeviceIx)
    }

    /// The node with a role path.
    pub fn node_ix(&self, id: &str) -> Option<NodeIx> {
        self.nodes.iter().position(|n| n.id == id).map(NodeIx)
    }

    /// The live conductors at a node: those of its unit, or all of the system.
    pub fn legs_at(&self, node: NodeIx) -> &[Leg] {
        let unit = self.nodes.get(node.0).and_then(|n| n.unit);
        let unit = unit.and_then(|number| self.units.iter().find(|u| u.number == number));
        unit.map_or(self.system.legs(), |unit| &unit.legs)
    }

    /// The live conductors of a part: those that both of its ends have.
    pub fn legs_of(&self, part: &Part) -> Vec<Leg> {
        let to = self.legs_at(part.to);
        self.legs_at(part.from).iter().copied().filter(|leg| part.lines && to.contains(leg)).collect()
    }

    /// Whether a part joins its ends with every device where `positions` say.
    pub fn closed(&self, part: &Part, positions: &[u8]) -> bool {
        part.moved_by.is_none_or(|(device, at)| positions.get(device.0) == Some(&at))
    }

    /// The part with a role path.
    pub fn part_ix(&self, id: &str) -> Option<usize> {
        self.parts.iter().position(|p| p.id == id)
    }
}
