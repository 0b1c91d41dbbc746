//! Small plants of every layout, with delays in whole seconds.

use catalog::{BypassGear, Catalog, DelayRange, TransferSwitch, UnitModel};
use plant::{Gear, GeneratorGear, Layout, Plant, build};
use quantity::{Duration, VoltageSystem};

/// How the generator feeds in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inlet {
    None,
    Second,
    Switch,
    Only,
}

/// Seconds: earliest, and latest where stated.
pub type Range = (u32, Option<u32>);

/// What makes a plant.
#[derive(Debug, Clone)]
pub struct Shape {
    pub layout: Layout,
    pub inlet: Inlet,
    pub inhibit: bool,
    pub bypass: bool,
    pub members: u8,
    pub gap: u32,
    pub reconnect: Range,
    pub to_second: Range,
    pub to_first: Range,
    pub retransfer: Option<Range>,
}

pub fn demo() -> Catalog {
    catalog::demo().0.expect("the demo catalogue reads")
}

/// A family with everything: second input, inhibit contact.
pub fn unit(catalog: &Catalog) -> UnitModel {
    catalog
        .units
        .values()
        .find(|u| u.second_input.is_some() && u.input_inhibit)
        .expect("the demo catalogue has a family with a second input and an inhibit contact")
        .clone()
}

fn seconds(n: u32) -> Duration {
    Duration::of(f64::from(n))
}

fn range((earliest, latest): Range) -> DelayRange {
    DelayRange { earliest: seconds(earliest), latest: latest.map(seconds) }
}

pub fn plant(shape: &Shape) -> Plant {
    let catalog = demo();
    let mut unit = unit(&catalog);
    unit.transfer_gap = seconds(shape.gap);
    unit.reconnect_earliest = seconds(shape.reconnect.0);
    unit.reconnect_latest = shape.reconnect.1.map(seconds);
    let mut switch: TransferSwitch = catalog.transfer_switches.values().next().expect("a switch").clone();
    switch.to_second = range(shape.to_second);
    switch.to_first = range(shape.to_first);
    let bypass: &BypassGear = catalog.bypasses.values().next().expect("a bypass");
    build(&Gear {
        system: VoltageSystem::Split120_240,
        layout: shape.layout,
        unit: &unit,
        paths_a_leg: shape.members,
        units: shape.members,
        transfer: Some(&switch),
        retransfer: shape.retransfer.map(range),
        inhibit: shape.inhibit,
        bypass: shape.bypass.then_some(bypass),
        locked_out: Vec::new(),
        generator: match shape.inlet {
            Inlet::None => None,
            Inlet::Second => Some(GeneratorGear::SecondInput),
            Inlet::Switch => Some(GeneratorGear::SourceSwitch(&switch)),
            Inlet::Only => Some(GeneratorGear::OnlyInput),
        },
    })
}

/// A plant with the delays of real gear.
pub fn real(layout: Layout, inlet: Inlet, members: u8) -> Shape {
    Shape {
        layout,
        inlet,
        inhibit: false,
        bypass: true,
        members,
        gap: 0,
        reconnect: (60, Some(300)),
        to_second: (1, Some(3)),
        to_first: (20, Some(40)),
        retransfer: None,
    }
}

/// Every layout with every way for a generator to feed in.
pub fn layouts() -> Vec<(Layout, Inlet)> {
    let mut all = Vec::new();
    for layout in [Layout::Inline, Layout::Outboard] {
        all.extend([Inlet::None, Inlet::Second, Inlet::Switch].map(|inlet| (layout, inlet)));
    }
    all.extend([Inlet::None, Inlet::Second, Inlet::Only].map(|inlet| (Layout::Islanded, inlet)));
    all
}
