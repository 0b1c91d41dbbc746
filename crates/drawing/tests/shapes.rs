//! The single-line diagram of every layout, way of the generator, bypass and earthing passes the audit.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are tests too

use catalog::{BypassKind, Catalog, LegControl};
use derivation::Known;
use drawing::{Item, Texts, audit::audit, dxf, single_line, svg};
use plant::full::{FullGear, FullPlant, GeneratorIn, build_full};
use plant::{GeneratorGear, Layout};
use quantity::{Current, VoltageSystem};
use site::Earthing;

const FAMILIES: [(&str, VoltageSystem); 4] = [
    ("demo-split-5k4", VoltageSystem::Split120_240),
    ("demo-leg-3k6", VoltageSystem::Wye120_208),
    ("demo-line-6k", VoltageSystem::Split120_240),
    ("demo-leg-3k6", VoltageSystem::TwoLegs120_208),
];

fn plant(
    catalog: &Catalog,
    layout: Layout,
    family: usize,
    way: usize,
    bypass: Option<BypassKind>,
    earthing: Earthing,
) -> FullPlant {
    let (family, system) = FAMILIES[family];
    let unit = catalog.units.get(family).unwrap();
    let legs = u8::try_from(system.legs().len()).unwrap();
    let one_leg = unit.leg_control == LegControl::OneLeg;
    let units = if one_leg { 2 * legs } else { 2 };
    let switch = catalog.transfer_switches.values().next().unwrap();
    let bypass = catalog.bypasses.values().find(|b| Some(b.kind) == bypass);
    let way = match way {
        0 => None,
        1 if unit.second_input.is_some() => Some(GeneratorGear::SecondInput),
        _ if layout == Layout::Islanded => Some(GeneratorGear::OnlyInput),
        _ => Some(GeneratorGear::SourceSwitch(switch)),
    };
    let amperes = |a: f64| Known::assumed("I", "rating", Current::of(a), "test");
    build_full(&FullGear {
        system,
        earthing,
        layout,
        unit,
        units,
        most_a_leg: 2,
        on_legs: if one_leg { vec![2; usize::from(legs)] } else { Vec::new() },
        run: None,
        chosen: std::collections::BTreeMap::new(),
        service: Some(amperes(200.0)),
        panel: amperes(100.0),
        transfer: (layout == Layout::Outboard).then_some(switch),
        inhibit: false,
        bypass: bypass.filter(|_| layout != Layout::Islanded),
        generator: way.map(|way| GeneratorIn { model: catalog.generators.values().next().unwrap(), way }),
        former: catalog.neutral_formers.values().next(),
    })
}

fn texts() -> Texts {
    let site = "A <site> & \"more\"".to_owned();
    Texts {
        site,
        revision: "A".to_owned(),
        demo: true,
        cautions: vec!["Work is done de-energised.".to_owned()],
    }
}

#[test]
fn every_shape_passes_the_audit() {
    let catalog = catalog::demo().0.unwrap();
    let mut failed = std::collections::BTreeSet::new();
    let mut looked = 0;
    for layout in [Layout::Inline, Layout::Outboard, Layout::Islanded] {
        for family in 0..FAMILIES.len() {
            for way in 0..3 {
                for bypass in [None, Some(BypassKind::ManualSwitch), Some(BypassKind::InterlockedBreakers)] {
                    for earthing in [Earthing::Us, Earthing::TnCS, Earthing::TnS, Earthing::Tt, Earthing::It]
                    {
                        let plant = plant(&catalog, layout, family, way, bypass, earthing);
                        let scene = single_line(&plant, &[], &texts());
                        failed.extend(audit(&scene, &plant));
                        let symbols = |legend: bool| {
                            let all = scene.items.iter().filter_map(|i| match i {
                                Item::Symbol(s) if (s.count == 0) == legend => Some(s.kind),
                                _ => None,
                            });
                            all.collect::<std::collections::BTreeSet<_>>()
                        };
                        assert_eq!(symbols(true), symbols(false), "the legend shows what is drawn");
                        roxmltree::Document::parse(&svg(&scene)).unwrap();
                        looked += 1;
                    }
                }
            }
        }
    }
    assert_eq!(looked, 540);
    assert!(failed.is_empty(), "{failed:#?}");
}

/// The audit finds what is put wrong on purpose.
#[test]
fn the_audit_sees_what_is_wrong() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 1, Some(BypassKind::ManualSwitch), Earthing::Us);
    let right = single_line(&plant, &[], &texts());
    let with = |item: Item| {
        let mut scene = right.clone();
        scene.items.push(item);
        audit(&scene, &plant).join("\n")
    };
    let Some(text) = right.items.iter().find(|i| matches!(i, Item::Text { .. })) else { panic!() };
    assert!(with(text.clone()).contains("lies over"));
    let Some(symbol) = right.items.iter().find(|i| matches!(i, Item::Symbol(s) if s.role.is_some())) else {
        panic!()
    };
    assert!(with(symbol.clone()).contains("2 drawn"));
    let loose =
        Item::Line { layer: drawing::Layer::Wire, points: vec![(380.0, 30.0), (390.0, 30.0)], dashed: false };
    assert!(with(loose).contains("meets nothing"));
    let small = Item::Text { at: (380.0, 30.0), size_mm: 1.5, text: "x".to_owned() };
    assert!(with(small).contains("smaller"));
    let outside = Item::Text { at: (430.0, 30.0), size_mm: 2.0, text: "x".to_owned() };
    assert!(with(outside).contains("outside"));
    let mut less = right.clone();
    less.items.retain(|i| !matches!(i, Item::Symbol(s) if s.role.as_deref() == Some("unit.dc")));
    assert!(audit(&less, &plant).join("\n").contains("unit.dc: 2 in the plant, 0 drawn"));
}

#[test]
fn files_are_whole_and_the_same_again() {
    let catalog = catalog::demo().0.unwrap();
    let plant = plant(&catalog, Layout::Outboard, 0, 1, Some(BypassKind::InterlockedBreakers), Earthing::Us);
    let scene = single_line(&plant, &[], &texts());
    let text = dxf(&scene);
    assert_eq!(text.lines().count() % 2, 0, "codes and values come in pairs");
    assert!(text.lines().step_by(2).all(|code| code.parse::<u16>().is_ok()));
    assert_eq!(text, dxf(&single_line(&plant, &[], &texts())));
    assert!(svg(&scene).contains("A &lt;site&gt; &amp; &quot;more&quot;"));
}
