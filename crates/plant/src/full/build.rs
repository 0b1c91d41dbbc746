//! From gear to graph.
//!
//! ```text
//! utility ─Q service─ main ─Q group─ W ─[source switch]─ input bus ─Q─ W ─ unit k: relay ─ AC ─ W ─Q─ output bus
//!                       ├─Q─ W ─ transfer(utility) ─┐                                                     │
//!                       │          transfer(group) ─┴─ load side ─ bypass(units) ─┬─Q feeder─ W ─ panel   │
//!                       │                │                                        │                       │
//!                       ├─Q─ W ──────────┼─────────────────────── bypass(bypass) ─┘                       │
//!                       │                └──────────────────────────────────────────── W ─Q─[former]──────┘
//! generator ─Q─ W ─ second-input bus ─Q─ W ─ unit k: second relay ─ AC
//! ```

use std::collections::BTreeMap;

use catalog::{
    BypassGear, Generator, LegControl, NeutralFormer, NeutralPole, SecondInput, TransferSwitch, UnitModel,
};
use derivation::Known;
use quantity::{Current, Length, Quantity, Resistance, VoltageSystem};
use site::Earthing;
use tables::iec::device::{Device, next_rated};
use tables::us::overcurrent::next_standard;

use super::{
    Concern, Exemption, FullPlant, Gear, Node, NodeKind, Part, PartKind, Supply, Unstated, arrangement,
    battery, bonds, generator, resistance, units,
};
use super::{NeutralPath, Unit};
use crate::{Control, DeviceIx, Layout, NodeIx, SourceKind};

/// A generator and its way in.
#[derive(Debug, Clone)]
pub struct GeneratorIn<'a> {
    /// The generator.
    pub model: &'a Generator,
    /// Its way in.
    pub way: crate::GeneratorGear<'a>,
}

/// Ratings of the breakers of every unit; without one, the largest that the family allows ahead of its input.
#[derive(Debug, Clone, Default)]
pub struct UnitBreakers {
    /// Ahead of its input.
    pub input: Option<Known<Current>>,
    /// Behind its output.
    pub output: Option<Known<Current>>,
}

/// Everything that the full graph is built from.
#[derive(Debug, Clone)]
pub struct FullGear<'a> {
    /// Voltage system.
    pub system: VoltageSystem,
    /// Earthing system.
    pub earthing: Earthing,
    /// Layout.
    pub layout: Layout,
    /// Unit model.
    pub unit: &'a UnitModel,
    /// Number of units in all.
    pub units: u8,
    /// Breakers of every unit, as far as they are chosen.
    pub unit_breakers: UnitBreakers,
    /// The most units that feed one leg.
    pub most_a_leg: u8,
    /// Units on each leg, in leg order, where a unit sits on one leg; empty where each spans all legs.
    pub on_legs: Vec<u8>,
    /// Resistance of the conductors that are chosen, by their role; the others' is assumed.
    pub chosen: BTreeMap<String, Known<Resistance>>,
    /// Lengths of runs that are stated, by their role; the others are assumed.
    pub lengths: BTreeMap<String, Known<Length>>,
    /// Length of the run that feeds the backup panel, where stated.
    pub run: Option<Known<Length>>,
    /// Rating of the service disconnect, with a utility.
    pub service: Option<Known<Current>>,
    /// Rating of everything that carries the whole backup panel.
    pub panel: Known<Current>,
    /// Transfer switch round the group (outboard).
    pub transfer: Option<&'a TransferSwitch>,
    /// Its auxiliary contact holds the units off their input while it stands on the group.
    pub inhibit: bool,
    /// Bypass.
    pub bypass: Option<&'a BypassGear>,
    /// Generator.
    pub generator: Option<GeneratorIn<'a>>,
    /// Neutral former.
    pub former: Option<&'a NeutralFormer>,
    /// Arrays on a panel.
    pub arrays: Vec<super::ArrayIn<'a>>,
    /// Strings of arrays up to their controllers or array inverters.
    pub strings: Vec<super::StringsIn>,
    /// The direct-current side, where it is decided.
    pub bank: Option<super::DcGear>,
}

impl FullGear<'_> {
    /// What the relays do with the neutral. A line-to-line unit has none.
    pub(super) fn relay_neutral(&self) -> NeutralPath {
        if self.unit.leg_control == LegControl::LineToLine {
            return NeutralPath::Absent;
        }
        // what is not stated is built as solid and reported as not covered
        self.unit.neutral.unwrap_or(NeutralPole::Solid).into()
    }

    /// What breakers for isolation do with the neutral: in TT and IT it counts among the conductors to be isolated
    /// (IEC 60364-4-46 and 60364-5-53, from memory); elsewhere it passes on.
    pub(super) fn breaker_neutral(&self) -> NeutralPath {
        match self.earthing {
            Earthing::Tt | Earthing::It => NeutralPath::Switched,
            Earthing::Us | Earthing::TnS | Earthing::TnCS => NeutralPath::Solid,
        }
    }

    /// Rating of the breaker ahead of a unit's input.
    pub(super) fn input_breaker(&self) -> Known<Current> {
        self.unit_breakers.input.clone().unwrap_or_else(|| self.largest_breaker())
    }

    /// Rating of the breaker behind a unit's output.
    pub(super) fn output_breaker(&self) -> Known<Current> {
        self.unit_breakers.output.clone().unwrap_or_else(|| self.largest_breaker())
    }

    /// The largest breaker that the family allows ahead of its input.
    pub(super) fn largest_breaker(&self) -> Known<Current> {
        Known::catalog(
            "I_q",
            "largest breaker ahead of the unit's input",
            self.unit.input_breaker,
            &self.unit.id,
            "input_breaker",
        )
    }

    pub(super) fn second_input(&self) -> Option<&SecondInput> {
        let second = matches!(&self.generator, Some(g) if matches!(g.way, crate::GeneratorGear::SecondInput));
        self.unit.second_input.as_ref().filter(|_| second)
    }
}

/// The graph while it grows.
pub(super) struct Builder {
    pub plant: FullPlant,
}

/// What a breaker is made of.
pub(super) struct Breaker<'n> {
    pub id: &'n str,
    pub name: &'n str,
    pub rating: Known<Current>,
    pub neutral: NeutralPath,
    pub unit: Option<u8>,
}

impl Builder {
    pub fn node(&mut self, id: &str, name: &str, kind: NodeKind, unit: Option<u8>) -> NodeIx {
        self.plant.nodes.push(Node {
            id: id.to_owned(),
            name: name.to_owned(),
            kind,
            neutral: kind != NodeKind::Dc,
            needs_neutral: false,
            unit,
        });
        NodeIx(self.plant.nodes.len() - 1)
    }

    pub fn supply(&mut self, kind: SourceKind, node: NodeIx) {
        self.plant.supplies.push(Supply { kind, node });
    }

    pub fn gear(
        &mut self,
        (id, name): (&str, &str),
        positions: &[&'static str],
        normal: u8,
        unit: Option<u8>,
    ) -> DeviceIx {
        self.plant.gear.push(Gear {
            id: id.to_owned(),
            name: name.to_owned(),
            class: 'Q',
            positions: positions.to_vec(),
            normal,
            control: Control::Manual,
            lockable: false,
            unit,
        });
        DeviceIx(self.plant.gear.len() - 1)
    }

    pub fn control(&mut self, device: DeviceIx, control: Control) {
        if let Some(gear) = self.plant.gear.get_mut(device.0) {
            gear.control = control;
        }
    }

    pub fn part(
        &mut self,
        (id, name): (&str, &str),
        kind: PartKind,
        (from, to): (NodeIx, NodeIx),
        neutral: NeutralPath,
        moved_by: Option<(DeviceIx, u8)>,
        rating: Option<Known<Current>>,
    ) {
        let length = (kind == PartKind::Conductor).then(resistance::room);
        let resistance = rating.as_ref().map(|rating| resistance::of(rating, length.as_ref()));
        self.plant.parts.push(Part {
            id: id.to_owned(),
            name: name.to_owned(),
            class: match kind {
                PartKind::Conductor => 'W',
                PartKind::Converter => 'T',
                PartKind::Breaker | PartKind::Switch | PartKind::Relay => 'Q',
            },
            kind,
            from,
            to,
            lines: true,
            neutral,
            moved_by,
            rating,
            ahead: None,
            direct: None,
            length,
            resistance,
            exempt: Vec::new(),
        });
    }

    /// A breaker that can be locked open, closed in normal operation.
    pub fn breaker(&mut self, breaker: Breaker<'_>, ends: (NodeIx, NodeIx)) -> DeviceIx {
        let device = self.gear((breaker.id, breaker.name), &["open", "closed"], 1, breaker.unit);
        if let Some(gear) = self.plant.gear.get_mut(device.0) {
            gear.lockable = true;
        }
        self.part(
            (breaker.id, breaker.name),
            PartKind::Breaker,
            ends,
            breaker.neutral,
            Some((device, 1)),
            Some(breaker.rating),
        );
        device
    }

    /// A conductor from a node to a new one, made for a current.
    pub fn run(
        &mut self,
        (id, name): (&str, &str),
        from: NodeIx,
        rating: Known<Current>,
        unit: Option<u8>,
    ) -> NodeIx {
        let end = self.node(id, name, NodeKind::Bus, unit);
        let (wire, words) = (format!("{id}.conductor"), format!("conductor to {name}"));
        self.part((&wire, &words), PartKind::Conductor, (from, end), NeutralPath::Solid, None, Some(rating));
        end
    }

    /// A conductor of a unit, from the node behind one of its breakers. Through the unit's relay the breaker on the far
    /// side feeds it as well, so it is made for the larger of both.
    pub fn run_of_unit(
        &mut self,
        names: (&str, &str),
        from: NodeIx,
        (ahead, far): (Known<Current>, Option<Known<Current>>),
        unit: u8,
    ) -> NodeIx {
        let larger = far.filter(|far| far.value() > ahead.value());
        let end = self.run(names, from, larger.clone().unwrap_or_else(|| ahead.clone()), Some(unit));
        if let Some(part) = self.plant.parts.last_mut() {
            part.ahead = larger.is_some().then_some(ahead);
        }
        end
    }

    pub fn exempt(&mut self, id: &str, from: SourceKind, clause: &'static str) {
        if let Some(part) = self.plant.parts.iter_mut().find(|p| p.id == id) {
            part.exempt.push(Exemption { from, clause });
        }
    }

    pub fn unstated(&mut self, concern: Concern, what: String) {
        self.plant.unstated.push(Unstated { concern, what });
    }
}

/// Builds the full graph. Gear that the layout does not use is left out, a source never: a generator without a way
/// in stands there and feeds nothing.
///
/// Ratings: unit breakers are those that were chosen, else the largest that the family allows; what carries the whole panel has the rating of the
/// panel; conductors carry what the breaker ahead of them passes, those of a unit what the larger of its breakers passes. What the catalogue does not state is listed in
/// [`FullPlant::unstated`].
pub fn build_full(gear: &FullGear<'_>) -> FullPlant {
    let mut b = Builder {
        plant: FullPlant {
            system: gear.system,
            earthing: gear.earthing,
            nodes: Vec::new(),
            parts: Vec::new(),
            gear: Vec::new(),
            interlocks: Vec::new(),
            supplies: Vec::new(),
            units: Vec::new(),
            followers: Vec::new(),
            formers: Vec::new(),
            bonds: Vec::new(),
            dc_bus: NodeIx(0),
            panel: NodeIx(0),
            bridge_limit: bridge_limit(gear),
            most_a_leg: gear.most_a_leg,
            unstated: Vec::new(),
        },
    };
    b.plant.dc_bus = b.node("dc", "DC bus", NodeKind::Dc, None);
    battery::strings(&mut b, gear);
    let main = (gear.layout != Layout::Islanded).then(|| arrangement::service(&mut b, gear));
    let generator = generator::generator(&mut b, gear);
    let input = generator::input_bus(&mut b, gear, main, generator);
    let second = generator::second_bus(gear, generator);
    let output = b.node("output", "group output bus", NodeKind::Bus, None);
    let to_panel = arrangement::to_panel(&mut b, gear, output, main);
    units::units(&mut b, gear, (input, second, output), to_panel.hold);
    arrangement::feeder(&mut b, gear, to_panel.served);
    super::arrays::arrays(&mut b, gear, main);
    super::strings::arrays(&mut b, gear);
    bonds::bonds(&mut b, gear, main, output);
    for part in &mut b.plant.parts {
        if let (Some(length), Some(_), true) =
            (gear.lengths.get(&part.role()), &part.direct, part.length.is_some())
        {
            part.length = Some(length.clone());
        }
        if let (Some(length), Some(rating), true) =
            (gear.lengths.get(&part.role()), &part.rating, part.length.is_some())
        {
            part.resistance = Some(resistance::of(rating, Some(length)));
            part.length = Some(length.clone());
        }
        let ac = part.direct.is_none();
        if let Some(chosen) = gear.chosen.get(&part.role()).filter(|_| ac) {
            part.resistance = Some(chosen.clone());
        }
    }
    stated(&mut b, gear);
    b.plant
}

/// The most that one unit feeds into a line for any time, as circuits of inverters are sized: 1.25 times the rated
/// continuous current (NEC 2023 705.28(A), form of IEC 60364-7-712, from memory). Overload and surge last for
/// seconds to minutes, less than a conductor takes to heat.
fn bridge_limit(gear: &FullGear<'_>) -> Known<Current> {
    let apparent = Known::catalog(
        "S_leg",
        "continuous apparent power of one bridge",
        gear.unit.leg_apparent,
        &gear.unit.id,
        "leg apparent",
    );
    let lines = gear.system.line_voltage().filter(|_| gear.unit.leg_control == LegControl::LineToLine);
    let volts = lines.map_or_else(|| gear.system.phase_voltage().si(), Quantity::si);
    Known::chosen(
        "I_1",
        "the most that one unit feeds into a line",
        Current::from_si(1.25 * gear.unit.leg_apparent.si() / volts),
        "1.25 times the rated current, NEC 2023 705.28(A) (from memory)",
        vec![apparent.node().clone()],
    )
}

/// Facts that the proof needs and the catalogue may not state.
fn stated(b: &mut Builder, gear: &FullGear<'_>) {
    let unit = gear.unit;
    if unit.neutral.is_none() && unit.leg_control != LegControl::LineToLine {
        b.unstated(Concern::Neutral, format!("`neutral` of unit \"{}\"", unit.id));
    }
    if unit.island_bond.is_none() {
        b.unstated(Concern::Neutral, format!("`island_bond` of unit \"{}\"", unit.id));
    }
    match unit.decides_together {
        None if gear.units > 1 => {
            b.unstated(Concern::Together, format!("`decides_together` of unit \"{}\"", unit.id));
        }
        Some(false) if gear.units > 1 => b.unstated(
            Concern::Together,
            format!("that all units decide together (`decides_together` of unit \"{}\" is false)", unit.id),
        ),
        _ => {}
    }
    if !unit.leaves_together && gear.system.legs().len() > 1 {
        let what = format!(
            "that all units leave the utility when one leg of it fails (`leaves_together` of unit \"{}\" is false)",
            unit.id
        );
        b.unstated(Concern::Together, what);
    }
    if let Some(generator) = &gear.generator
        && generator.model.neutral_bonded.is_none()
    {
        b.unstated(Concern::Neutral, format!("`neutral_bonded` of generator \"{}\"", generator.model.id));
    }
}

/// The smallest device of a standard rating that lets a current through (NEC 2023 240.6(A); preferred ratings of
/// IEC 60898-1 and the usual frames above); the current itself where the list ends.
pub(super) fn standard(gear: &FullGear<'_>, current: &Known<Current>) -> Known<Current> {
    next_device(gear.earthing, current)
}

/// The smallest device of a standard rating that lets a current through by the book that goes with an earthing system;
/// the current itself where the list ends (NEC 2023 240.6(A); preferred ratings of IEC 60898-1 and the usual frames
/// above).
pub fn next_device(earthing: Earthing, current: &Known<Current>) -> Known<Current> {
    let found = if earthing == Earthing::Us {
        next_standard(current)
    } else if current.value().si() <= LARGEST_MCB_A {
        next_rated(Device::Mcb, current)
    } else {
        next_rated(Device::Breaker, current)
    };
    found.unwrap_or_else(|_| current.clone())
}

/// Miniature circuit breakers up to here (IEC 60898-1), other breakers above.
const LARGEST_MCB_A: f64 = 125.0;

/// So many breakers of a rating side by side.
pub(super) fn times(rating: &Known<Current>, n: u8) -> Known<Current> {
    Known::chosen(
        "I_w",
        "what all units' breakers pass together",
        Current::from_si(rating.value().si() * f64::from(n)),
        format!("{n} breakers of {}", rating.value()),
        vec![rating.node().clone()],
    )
}

/// Registers a unit.
pub(super) fn register(b: &mut Builder, unit: Unit) {
    b.plant.units.push(unit);
}
