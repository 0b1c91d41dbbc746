//! The power path of each transfer arrangement.
//!
//! ```text
//! inline     utility ─▶ main ─▶ [source switch] ─▶ relays ─▶ output bus ─▶ bypass(units) ─▶ backup panel
//!                         └──────────────────────────────────────────────▶ bypass(bypass) ──┘
//! outboard   utility ─▶ main ─▶ relays ─▶ output bus ─▶ transfer(group) ──▶ bypass(units) ─▶ backup panel
//!                         ├─────────────────────────▶ transfer(utility) ──┘                 │
//!                         └──────────────────────────────────────────────▶ bypass(bypass) ──┘
//! islanded   [generator ─▶ relays of the only or the second input] ─▶ output bus ─▶ backup panel
//! ```
//!
//! A source switch stands between main panel and relays in both layouts with a utility. A second input joins the
//! generator to the output bus through relays of its own.

use catalog::{BypassGear, DelayRange, TransferSwitch, UnitModel};
use derivation::Known;
use quantity::{Duration, VoltageSystem};

use crate::{
    Condition, Control, Device, DeviceIx, Element, ElementKind, NodeIx, Plant, Rule, Source, SourceKind,
};

/// How utility, units and backup panel are connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Layout {
    /// Service, units, backup panel in a row.
    Inline,
    /// A separate transfer switch takes the panel.
    Outboard,
    /// No utility.
    Islanded,
}

impl Layout {
    /// As it is written in site files and to people.
    pub fn word(self) -> &'static str {
        match self {
            Layout::Inline => "inline",
            Layout::Outboard => "outboard",
            Layout::Islanded => "islanded",
        }
    }
}

/// How a generator feeds in.
#[derive(Debug, Clone)]
pub enum GeneratorGear<'a> {
    /// The units' second input.
    SecondInput,
    /// A transfer switch that selects utility or generator ahead of the units' input.
    SourceSwitch(&'a TransferSwitch),
    /// The units' only input, without a utility.
    OnlyInput,
}

/// Where an array on a panel connects.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ArraySide {
    /// The backup panel.
    Backup,
    /// The main panel.
    Main,
}

/// Shortest time from the generator's end to the closing of a contactor that parts array inverters from a panel, set
/// at a timer in its control (our own figure): a generator that fails for a moment does not find them connected.
pub const LOCK_OUT_STAYS_OPEN: f64 = 5.0;

/// Rules of a contactor that parts array inverters from a panel: open while the generator runs, by its own voltage,
/// and for a set time after.
pub(crate) fn lock_out_rules() -> Vec<Rule> {
    let runs = Condition::Present(SourceKind::Generator);
    let moves = crate::full::arrays::falls_off;
    vec![
        Rule { when: runs.clone(), position: 0, delay: moves() },
        Rule {
            when: runs.negated(),
            position: 1,
            delay: DelayRange { earliest: Duration::of(LOCK_OUT_STAYS_OPEN), latest: None },
        },
    ]
}

/// Everything that the graph is built from.
#[derive(Debug, Clone)]
pub struct Gear<'a> {
    /// Voltage system.
    pub system: VoltageSystem,
    /// Layout.
    pub layout: Layout,
    /// Unit model.
    pub unit: &'a UnitModel,
    /// Number of units whose relays stand side by side on one leg.
    pub paths_a_leg: u8,
    /// Number of units in all.
    pub units: u8,
    /// Transfer switch round the group (outboard).
    pub transfer: Option<&'a TransferSwitch>,
    /// Its return delay as set.
    pub retransfer: Option<DelayRange>,
    /// Its auxiliary contact holds the units off their input while it stands on the group.
    pub inhibit: bool,
    /// Bypass.
    pub bypass: Option<&'a BypassGear>,
    /// Generator.
    pub generator: Option<GeneratorGear<'a>>,
    /// Ids of arrays that a contactor parts from their panel while the generator runs.
    pub locked_out: Vec<String>,
}

struct Builder {
    plant: Plant,
}

impl Builder {
    fn node(&mut self, name: &str) -> NodeIx {
        self.plant.nodes.push(name.to_owned());
        NodeIx(self.plant.nodes.len() - 1)
    }

    fn device(
        &mut self,
        id: &str,
        name: &str,
        positions: &[&'static str],
        members: u8,
        normal: u8,
    ) -> DeviceIx {
        self.plant.devices.push(Device {
            id: id.to_owned(),
            name: name.to_owned(),
            positions: positions.to_vec(),
            members,
            normal,
            control: Control::Manual,
        });
        DeviceIx(self.plant.devices.len() - 1)
    }

    fn automatic(&mut self, device: DeviceIx, rules: Vec<Rule>) {
        if let Some(device) = self.plant.devices.get_mut(device.0) {
            device.control = Control::Automatic(rules);
        }
    }

    fn source(&mut self, id: &str, kind: SourceKind, node: NodeIx) {
        self.plant.sources.push(Source { id: id.to_owned(), kind, node });
    }

    fn element(
        &mut self,
        (id, name): (&str, &str),
        kind: ElementKind,
        (from, to): (NodeIx, NodeIx),
        (device, closed_in): (DeviceIx, u8),
        rating: Known<quantity::Current>,
    ) {
        self.plant.elements.push(Element {
            id: id.to_owned(),
            name: name.to_owned(),
            kind,
            from,
            to,
            device,
            closed_in,
            rating,
        });
    }
}

/// Builds the graph. Gear that the layout does not use is left out, but never a source: a generator that has no
/// way in (an only input beside a utility, a second input that the family lacks) stands in the plant unconnected.
/// Without a utility a source switch has nothing to choose from, and the generator is on the only input.
/// Outboard without a switch joins the panel to the group's output.
pub fn build(gear: &Gear<'_>) -> Plant {
    let mut b = Builder {
        plant: Plant {
            system: gear.system,
            nodes: Vec::new(),
            elements: Vec::new(),
            devices: Vec::new(),
            sources: Vec::new(),
            group_output: NodeIx(0),
            backup_panel: NodeIx(0),
            units: gear.units,
        },
    };
    let output = b.node("group output");
    let panel = b.node("backup panel");
    b.plant.group_output = output;
    b.plant.backup_panel = panel;
    b.source("group", SourceKind::Group, output);

    let main = (gear.layout != Layout::Islanded).then(|| {
        let main = b.node("main panel");
        b.source("utility", SourceKind::Utility, main);
        main
    });
    let input = input_side(&mut b, gear, main);
    let relays = input.map(|input| relays(&mut b, gear, input, output));
    let second = second_input(&mut b, gear, output);
    if gear.generator.is_some() && b.plant.source(SourceKind::Generator).is_none() {
        let generator = b.node("generator");
        b.source("generator", SourceKind::Generator, generator);
    }
    let (served, transfer) = match (gear.layout, gear.transfer, main) {
        (Layout::Outboard, Some(switch), Some(main)) => {
            let (served, device) = outboard(&mut b, gear, switch, (main, output));
            (served, Some(device))
        }
        _ => (output, None),
    };
    let hold = transfer.filter(|_| gear.inhibit).map(|device| Condition::At(device, 0));
    relay_rules(&mut b, gear.unit, relays, second, hold);
    to_panel(&mut b, gear, served, panel, main);
    for id in &gear.locked_out {
        let device = b.device(
            &format!("{id}.lock-out"),
            &format!("{id} lock-out contactor"),
            &["open", "closed"],
            1,
            1,
        );
        b.automatic(device, lock_out_rules());
    }
    b.plant
}

/// The node at the units' first input: the main panel, or what a source switch selects.
fn input_side(b: &mut Builder, gear: &Gear<'_>, main: Option<NodeIx>) -> Option<NodeIx> {
    match (&gear.generator, main) {
        (Some(GeneratorGear::SourceSwitch(switch)), Some(main)) => {
            let generator = b.node("generator");
            b.source("generator", SourceKind::Generator, generator);
            let input = b.node("group input");
            let device = b.device(
                "source switch",
                "source transfer switch",
                &["on the utility", "on the generator"],
                1,
                0,
            );
            b.automatic(
                device,
                vec![
                    Rule {
                        when: Condition::LiveFromOutside(main),
                        position: 0,
                        delay: switch.to_first.clone(),
                    },
                    Rule {
                        when: Condition::Present(SourceKind::Generator),
                        position: 1,
                        delay: switch.to_second.clone(),
                    },
                ],
            );
            let rating =
                || Known::catalog("I_r", "rating of the source switch", switch.rating, &switch.id, "rating");
            b.element(
                ("source switch.utility", "source switch, utility side"),
                ElementKind::TransferPole,
                (main, input),
                (device, 0),
                rating(),
            );
            b.element(
                ("source switch.generator", "source switch, generator side"),
                ElementKind::TransferPole,
                (generator, input),
                (device, 1),
                rating(),
            );
            Some(input)
        }
        (Some(GeneratorGear::OnlyInput | GeneratorGear::SourceSwitch(_)), None) => {
            let generator = b.node("generator");
            b.source("generator", SourceKind::Generator, generator);
            Some(generator)
        }
        (_, main) => main,
    }
}

fn relays(b: &mut Builder, gear: &Gear<'_>, input: NodeIx, output: NodeIx) -> (DeviceIx, NodeIx) {
    let unit = gear.unit;
    let device = b.device("unit.relay", "transfer relays", &["open", "closed"], gear.paths_a_leg, 0);
    let normal = if gear.layout == Layout::Islanded { 0 } else { gear.paths_a_leg };
    if let Some(device) = b.plant.devices.get_mut(device.0) {
        device.normal = normal;
    }
    b.element(
        ("unit.relay", "unit transfer relays"),
        ElementKind::Relays,
        (input, output),
        (device, 1),
        Known::catalog(
            "I_r",
            "rating of one transfer relay",
            unit.relay.continuous,
            &unit.id,
            "relay continuous",
        ),
    );
    (device, input)
}

fn second_input(b: &mut Builder, gear: &Gear<'_>, output: NodeIx) -> Option<(DeviceIx, NodeIx)> {
    let (Some(GeneratorGear::SecondInput), Some(second)) = (&gear.generator, &gear.unit.second_input) else {
        return None;
    };
    let generator = b.node("generator");
    b.source("generator", SourceKind::Generator, generator);
    let device =
        b.device("unit.generator relay", "second-input relays", &["open", "closed"], gear.paths_a_leg, 0);
    b.element(
        ("unit.generator relay", "unit second-input relays"),
        ElementKind::GeneratorRelays,
        (generator, output),
        (device, 1),
        Known::catalog(
            "I_r2",
            "rating of one second-input relay",
            second.continuous,
            &gear.unit.id,
            "second input continuous",
        ),
    );
    Some((device, generator))
}

/// Rules of the units' relays: follow the input; the group never closes both inputs at once, and the first input
/// wins. `hold` is the contact that must be made for the first input to count as good; a held input leaves the
/// second one free.
fn relay_rules(
    b: &mut Builder,
    unit: &UnitModel,
    relays: Option<(DeviceIx, NodeIx)>,
    second: Option<(DeviceIx, NodeIx)>,
    hold: Option<Condition>,
) {
    // the catalogue states the reconnection after the utility is back, and nothing about a generator
    let reconnect = DelayRange { earliest: unit.reconnect_earliest, latest: unit.reconnect_latest };
    let unknown = DelayRange { earliest: Duration::ZERO, latest: None };
    let first_good = relays.map(|(_, input)| {
        let live = Condition::LiveFromOutside(input);
        Condition::All([live].into_iter().chain(hold).collect())
    });
    if let (Some((device, _)), Some(good)) = (relays, first_good.clone()) {
        let mut all = vec![good];
        all.extend(second.map(|(other, _)| Condition::At(other, 0)));
        let switch = b.plant.device("source switch").map(|(switch, _)| switch);
        let on_generator = switch.map(|switch| Condition::At(switch, 1));
        let utility = b.plant.source(SourceKind::Utility).is_some();
        let delay = if utility { reconnect } else { unknown.clone() };
        let mut rules = follow(unit, all.clone(), delay);
        if let Some(on_generator) = on_generator {
            all.push(on_generator);
            rules.insert(0, Rule { when: Condition::All(all), position: 1, delay: unknown.clone() });
        }
        b.automatic(device, rules);
    }
    if let Some((device, generator)) = second {
        let mut good = vec![Condition::LiveFromOutside(generator)];
        good.extend(relays.map(|(other, _)| Condition::At(other, 0)));
        good.extend(first_good.map(Condition::negated));
        let earliest = unit.second_input.as_ref().and_then(|input| input.closes_after);
        let delay = DelayRange { earliest: earliest.unwrap_or(Duration::ZERO), latest: None };
        b.automatic(device, follow(unit, good, delay));
    }
}

/// Closes after `reconnect` while all of `good` holds, else opens within the transfer gap.
fn follow(unit: &UnitModel, good: Vec<Condition>, reconnect: DelayRange) -> Vec<Rule> {
    let good = Condition::All(good);
    let leave = DelayRange { earliest: Duration::ZERO, latest: Some(unit.transfer_gap) };
    vec![
        Rule { when: good.clone(), position: 1, delay: reconnect },
        Rule { when: good.negated(), position: 0, delay: leave },
    ]
}

/// The transfer switch round the group: back to the utility while that is live, else to the group while its output
/// is live, by its own voltage or through it from a generator.
fn outboard(
    b: &mut Builder,
    gear: &Gear<'_>,
    switch: &TransferSwitch,
    (main, output): (NodeIx, NodeIx),
) -> (NodeIx, DeviceIx) {
    let served = b.node("transfer switch load side");
    let device = b.device("transfer", "transfer switch", &["on the utility", "on the group"], 1, 0);
    let back = gear.retransfer.clone().unwrap_or_else(|| switch.to_first.clone());
    // the utility is lost for the switch only once the relays no longer hold its terminals up
    let latest = switch.to_second.latest.map(|latest| latest + gear.unit.transfer_gap);
    let away = DelayRange { earliest: switch.to_second.earliest, latest };
    b.automatic(
        device,
        vec![
            Rule { when: Condition::LiveFromOutside(main), position: 0, delay: back },
            Rule { when: Condition::Live(output), position: 1, delay: away },
        ],
    );
    let rating =
        || Known::catalog("I_r", "rating of the transfer switch", switch.rating, &switch.id, "rating");
    b.element(
        ("transfer.utility", "transfer switch, utility side"),
        ElementKind::TransferPole,
        (main, served),
        (device, 0),
        rating(),
    );
    b.element(
        ("transfer.group", "transfer switch, group side"),
        ElementKind::TransferPole,
        (output, served),
        (device, 1),
        rating(),
    );
    (served, device)
}

fn to_panel(b: &mut Builder, gear: &Gear<'_>, served: NodeIx, panel: NodeIx, main: Option<NodeIx>) {
    match (gear.bypass, main) {
        (Some(bypass), Some(main)) => {
            let device = b.device("bypass", "bypass gear", &["on the units", "on bypass", "off"], 1, 0);
            let rating =
                || Known::catalog("I_r", "rating of the bypass", bypass.rating, &bypass.id, "rating");
            b.element(
                ("bypass.units", "bypass gear, units side"),
                ElementKind::BypassPole,
                (served, panel),
                (device, 0),
                rating(),
            );
            b.element(
                ("bypass.bypass", "bypass gear, bypass side"),
                ElementKind::BypassPole,
                (main, panel),
                (device, 1),
                rating(),
            );
        }
        _ => {
            // no gear between: the panel is the served node
            b.plant.backup_panel = served;
        }
    }
}
