//! Nodes, elements, sources and devices.

use derivation::Known;
use quantity::{Current, VoltageSystem};

use crate::Control;

/// Index of a node in its plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct NodeIx(pub usize);

/// Index of an element in its plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct ElementIx(pub usize);

/// Index of a device in its plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct DeviceIx(pub usize);

/// What an element is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ElementKind {
    /// Transfer relays of the units, one path a unit.
    Relays,
    /// Second-input relays of the units, one path a unit.
    GeneratorRelays,
    /// Pole of an automatic transfer switch.
    TransferPole,
    /// Pole of bypass gear.
    BypassPole,
}

/// A two-ended part. It stands for `paths` identical parts side by side.
#[derive(Debug, Clone)]
pub struct Element {
    /// Role path: `unit.relay`, `transfer.utility side`.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// What it is.
    pub kind: ElementKind,
    /// One end.
    pub from: NodeIx,
    /// The other end.
    pub to: NodeIx,
    /// The device that moves it.
    pub device: DeviceIx,
    /// The device's position in which it is closed. For devices of many (relays): it has as many closed paths as
    /// the device has members in this position.
    pub closed_in: u8,
    /// Continuous rating of one path, per leg.
    pub rating: Known<Current>,
}

/// Kind of source.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum SourceKind {
    /// The utility.
    Utility,
    /// A generator.
    Generator,
    /// The inverter group, which forms a voltage while the battery holds and no relay joins it to a live source.
    Group,
}

/// A source at a node.
#[derive(Debug, Clone)]
pub struct Source {
    /// Role path.
    pub id: String,
    /// Kind.
    pub kind: SourceKind,
    /// Where.
    pub node: NodeIx,
}

/// A switching device, or a set of identical ones that move one by one.
#[derive(Debug, Clone)]
pub struct Device {
    /// Role path.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Names of its positions.
    pub positions: Vec<&'static str>,
    /// How many identical ones (units' relays: one a unit). Sets have two positions, open (0) and closed (1).
    pub members: u8,
    /// Position, or number of members closed, in normal operation.
    pub normal: u8,
    /// How it moves.
    pub control: Control,
}

/// Everything of the power path round the group.
#[derive(Debug, Clone)]
pub struct Plant {
    /// Voltage system.
    pub system: VoltageSystem,
    /// Names of nodes.
    pub nodes: Vec<String>,
    /// Elements.
    pub elements: Vec<Element>,
    /// Devices.
    pub devices: Vec<Device>,
    /// Sources.
    pub sources: Vec<Source>,
    /// Output bus of the group.
    pub group_output: NodeIx,
    /// Bus of the backup panel.
    pub backup_panel: NodeIx,
    /// Number of units.
    pub units: u8,
}

impl Plant {
    /// The source of a kind, if there is one.
    pub fn source(&self, kind: SourceKind) -> Option<&Source> {
        self.sources.iter().find(|s| s.kind == kind)
    }

    /// The element with a role path.
    pub fn element(&self, id: &str) -> Option<(ElementIx, &Element)> {
        self.elements.iter().enumerate().find(|(_, e)| e.id == id).map(|(k, e)| (ElementIx(k), e))
    }

    /// The device with a role path.
    pub fn device(&self, id: &str) -> Option<(DeviceIx, &Device)> {
        self.devices.iter().enumerate().find(|(_, d)| d.id == id).map(|(k, d)| (DeviceIx(k), d))
    }

    /// Paths of an element that are closed at given device positions.
    pub fn closed_paths(&self, element: &Element, positions: &[u8]) -> u8 {
        let (Some(device), Some(&at)) = (self.devices.get(element.device.0), positions.get(element.device.0))
        else {
            return 0;
        };
        if device.members > 1 {
            return if element.closed_in == 1 { at } else { device.members - at.min(device.members) };
        }
        u8::from(at == element.closed_in)
    }

    /// A closed element whose ends are joined without it: how its current divides rests on impedances.
    pub fn looped(&self, positions: &[u8]) -> Option<&Element> {
        let closed = |e: &&Element| self.closed_paths(e, positions) > 0;
        self.elements.iter().filter(closed).find(|e| self.joined_but(e.from, positions, e).contains(&e.to))
    }

    /// Whether whatever flows from `source` to `node` flows through an element.
    pub fn between(&self, source: NodeIx, node: NodeIx, positions: &[u8], element: &Element) -> bool {
        self.closed_paths(element, positions) > 0
            && self.joined(source, positions, &[]).contains(&node)
            && !self.joined_but(source, positions, element).contains(&node)
    }

    /// Nodes that are joined to `start` through closed elements other than one.
    fn joined_but(&self, start: NodeIx, positions: &[u8], but: &Element) -> Vec<NodeIx> {
        self.reach(start, &|e| e.id != but.id && self.closed_paths(e, positions) > 0)
    }

    /// Nodes that are joined to `start` through closed elements, leaving out the kinds in `without`.
    pub fn joined(&self, start: NodeIx, positions: &[u8], without: &[ElementKind]) -> Vec<NodeIx> {
        self.reach(start, &|e| !without.contains(&e.kind) && self.closed_paths(e, positions) > 0)
    }

    fn reach(&self, start: NodeIx, closed: &dyn Fn(&Element) -> bool) -> Vec<NodeIx> {
        let mut reached = vec![start];
        let mut next = 0;
        while let Some(&node) = reached.get(next) {
            next += 1;
            for element in self.elements.iter().filter(|e| closed(e)) {
                for (here, there) in [(element.from, element.to), (element.to, element.from)] {
                    if here == node && !reached.contains(&there) {
                        reached.push(there);
                    }
                }
            }
        }
        reached
    }
}
