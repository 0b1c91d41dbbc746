//! Full plants of every layout.

use catalog::{
    BypassGear, BypassKind, Catalog, Generator, NeutralFormer, NeutralPole, TransferSwitch, UnitModel,
};
use derivation::Known;
use plant::full::{ArrayIn, FullGear, FullPlant, GeneratorIn, UnitBreakers, build_full};
use plant::{ArraySide, GeneratorGear, Layout};
use quantity::{Current, VoltageSystem};
use site::Earthing;
use states::proof::ProofInput;

/// What makes a plant.
#[derive(Debug, Clone)]
pub struct Shape {
    pub system: VoltageSystem,
    pub earthing: Earthing,
    pub layout: Layout,
    pub unit: &'static str,
    pub units: u8,
    pub most_a_leg: u8,
    pub bypass: Option<BypassKind>,
    pub inlet: Inlet,
    pub inhibit: bool,
    pub neutral: NeutralPole,
    pub trips: bool,
    pub array: Option<ArraySide>,
    /// Ratings of every unit's input and output breaker, in A; none: the largest of the family.
    pub breakers: Option<(f64, f64)>,
}

/// How a generator comes in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inlet {
    None,
    Second,
    Switch,
    Only,
}

pub const ASKED: ProofInput =
    ProofInput { generator_automatic: true, bypass_asked: true, single_failures: false };

pub fn shape(layout: Layout, units: u8) -> Shape {
    Shape {
        system: VoltageSystem::Split120_240,
        earthing: Earthing::Us,
        layout,
        unit: "demo-split-5k4",
        units,
        most_a_leg: units,
        bypass: (layout != Layout::Islanded).then_some(BypassKind::ManualSwitch),
        inlet: Inlet::None,
        inhibit: false,
        neutral: NeutralPole::Solid,
        trips: true,
        array: None,
        breakers: None,
    }
}

/// Nine, or any number of, one-leg units on three phases with everything.
pub fn three_phase(layout: Layout, units: u8) -> Shape {
    Shape {
        system: VoltageSystem::Wye120_208,
        unit: "demo-leg-3k6",
        most_a_leg: units.div_ceil(3),
        inlet: Inlet::Second,
        ..shape(layout, units)
    }
}

fn some<T: Clone>(mut all: impl Iterator<Item = T>, what: &str) -> T {
    all.next().unwrap_or_else(|| panic!("the demo catalogue has {what}"))
}

pub fn rated(a: f64) -> Known<Current> {
    Known::assumed("I_n", "rating", Current::of(a), "test")
}

pub fn build(shape: &Shape) -> FullPlant {
    let catalog: Catalog = catalog::demo().0.expect("the demo catalogue reads");
    let unit: &UnitModel = catalog.units.get(shape.unit).expect("a family");
    let mut switch: TransferSwitch = some(catalog.transfer_switches.values().cloned(), "a switch");
    switch.neutral = shape.neutral;
    let bypass: Option<BypassGear> = shape
        .bypass
        .map(|kind| some(catalog.bypasses.values().filter(|b| b.kind == kind).cloned(), "a bypass"));
    let model: Generator = some(
        catalog.generators.values().filter(|g| g.neutral_bonded == Some(false)).cloned(),
        "a generator with a free neutral",
    );
    let former: NeutralFormer = some(
        catalog.neutral_formers.values().cloned().map(|f| NeutralFormer { trips_lines: shape.trips, ..f }),
        "a former",
    );
    let way = match shape.inlet {
        Inlet::None => None,
        Inlet::Second => Some(GeneratorGear::SecondInput),
        Inlet::Switch => Some(GeneratorGear::SourceSwitch(&switch)),
        Inlet::Only => Some(GeneratorGear::OnlyInput),
    };
    build_full(&FullGear {
        unit_breakers: shape.breakers.map_or_else(UnitBreakers::default, |(input, output)| UnitBreakers {
            input: Some(rated(input)),
            output: Some(rated(output)),
        }),
        system: shape.system,
        earthing: shape.earthing,
        layout: shape.layout,
        unit,
        units: shape.units,
        most_a_leg: shape.most_a_leg,
        on_legs: Vec::new(),
        run: None,
        chosen: std::collections::BTreeMap::new(),
        lengths: std::collections::BTreeMap::new(),
        service: Some(Known::assumed("I_s", "service", Current::of(200.0), "test")),
        panel: Known::assumed("I_n", "panel", Current::of(100.0), "test"),
        transfer: (shape.layout == Layout::Outboard).then_some(&switch),
        inhibit: shape.inhibit,
        bypass: bypass.as_ref(),
        generator: way.map(|way| GeneratorIn { model: &model, way }),
        arrays: shape.array.map(|side| array(&catalog, shape, side)).into_iter().collect(),
        former: (unit.leg_control == catalog::LegControl::LineToLine).then_some(&former),
        strings: Vec::new(),
        bank: None,
    })
}

/// One array inverter, locked out wherever a generator can feed its panel.
fn array<'c>(catalog: &'c Catalog, shape: &Shape, side: ArraySide) -> ArrayIn<'c> {
    ArrayIn {
        id: "array barn".to_owned(),
        model: catalog.array_inverters.values().next().expect("an array inverter"),
        inverters: 1,
        side,
        run: None,
        locked_out: side == ArraySide::Backup && shape.inlet != Inlet::None,
    }
}

/// Every layout with a bypass of one switch, and with an array on a panel.
pub fn with_array(units: u8) -> Vec<Shape> {
    let all = layouts(units).into_iter().flat_map(|shape| {
        let sides = [ArraySide::Backup, ArraySide::Main];
        sides.map(|side| Shape { array: Some(side), ..shape.clone() })
    });
    let connected = |s: &Shape| s.layout != Layout::Islanded || s.array == Some(ArraySide::Backup);
    all.filter(|s| connected(s) && s.bypass != Some(BypassKind::InterlockedBreakers)).collect()
}

/// Every layout with every way in for a generator.
pub fn layouts(units: u8) -> Vec<Shape> {
    let mut all = Vec::new();
    for layout in [Layout::Inline, Layout::Outboard] {
        for inlet in [Inlet::None, Inlet::Second, Inlet::Switch] {
            for bypass in [BypassKind::ManualSwitch, BypassKind::InterlockedBreakers] {
                all.push(Shape { inlet, bypass: Some(bypass), ..shape(layout, units) });
            }
        }
    }
    for inlet in [Inlet::None, Inlet::Second, Inlet::Only] {
        all.push(Shape { inlet, ..shape(Layout::Islanded, units) });
    }
    all
}
