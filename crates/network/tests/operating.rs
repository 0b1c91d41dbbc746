//! States of built plants solved as networks: Kirchhoff's current law at every node, agreement with a power balance in
//! every reachable state, islands by hand, refusals.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)] // helpers of tests are tests too

mod power_balance;

use catalog::{BypassKind, Catalog, LegControl};
use derivation::Known;
use network::operating::{Bridge, Flows, Legs, Operating, Units, Unsolved};
use num_complex::Complex64;
use plant::full::{ArrayIn, FullGear, FullPlant, GeneratorIn, build_full};
use plant::{ArraySide, ElementKind, Gear, GeneratorGear, Layout, Plant, SourceKind, build};
use power_balance::{Draw, flows};
use proptest::prelude::*;
use quantity::{Current, Leg, Quantity, VoltageSystem};
use site::Earthing;

/// What makes a pair of plants.
#[derive(Debug, Clone, Copy)]
struct Shape {
    layout: Layout,
    family: usize,
    per_leg: u8,
    way: usize,
    bypass: Option<BypassKind>,
    earthing: Earthing,
    array: Option<(ArraySide, u8)>,
}

const FAMILIES: [(&str, VoltageSystem); 4] = [
    ("demo-split-5k4", VoltageSystem::Split120_240),
    ("demo-leg-3k6", VoltageSystem::Wye120_208),
    ("demo-line-6k", VoltageSystem::Split120_240),
    ("demo-leg-3k6", VoltageSystem::TwoLegs120_208),
];

fn both(catalog: &Catalog, shape: Shape) -> (Plant, FullPlant) {
    let (family, system) = FAMILIES[shape.family];
    let unit = catalog.units.get(family).unwrap();
    let legs = u8::try_from(system.legs().len()).unwrap();
    let one_leg = unit.leg_control == LegControl::OneLeg;
    let units = if one_leg { shape.per_leg * legs } else { shape.per_leg };
    let switch = catalog.transfer_switches.values().next().unwrap();
    let outboard = shape.layout == Layout::Outboard;
    let bypass = catalog.bypasses.values().find(|b| Some(b.kind) == shape.bypass);
    let bypass = bypass.filter(|_| shape.layout != Layout::Islanded);
    let second = unit.second_input.is_some();
    let way = match shape.way {
        0 => None,
        1 if second => Some(GeneratorGear::SecondInput),
        _ if shape.layout == Layout::Islanded => Some(GeneratorGear::OnlyInput),
        _ => Some(GeneratorGear::SourceSwitch(switch)),
    };
    let amperes = |a: f64| Known::assumed("I", "rating", Current::of(a), "test");
    let arrays: Vec<ArrayIn<'_>> = shape
        .array
        .into_iter()
        .map(|(side, inverters)| ArrayIn {
            id: "array roof".to_owned(),
            model: &catalog.array_inverters["demo-ai-6k-split"],
            inverters,
            side,
            run: None,
            locked_out: way.is_some() && side == ArraySide::Backup,
        })
        .collect();
    let locked_out = arrays.iter().filter(|a| a.locked_out).map(|a| a.id.clone()).collect();
    let plant = build(&Gear {
        system,
        layout: shape.layout,
        unit,
        paths_a_leg: shape.per_leg,
        units,
        transfer: outboard.then_some(switch),
        retransfer: None,
        inhibit: false,
        bypass,
        generator: way.clone(),
        locked_out,
    });
    let full = build_full(&FullGear {
        system,
        earthing: shape.earthing,
        layout: shape.layout,
        unit,
        units,
        unit_breakers: plant::full::UnitBreakers::default(),
        most_a_leg: shape.per_leg,
        on_legs: if one_leg { vec![shape.per_leg; usize::from(legs)] } else { Vec::new() },
        run: None,
        chosen: std::collections::BTreeMap::new(),
        lengths: std::collections::BTreeMap::new(),
        service: Some(amperes(200.0)),
        panel: amperes(100.0),
        transfer: outboard.then_some(switch),
        inhibit: false,
        bypass,
        generator: way.map(|way| GeneratorIn { model: catalog.generators.values().next().unwrap(), way }),
        arrays,
        former: catalog.neutral_formers.values().next(),
        strings: Vec::new(),
        bank: None,
    });
    (plant, full)
}

fn bridges(full: &FullPlant, output_ohm: f64, limit_a: f64, line_to_line: bool) -> Vec<Bridge> {
    full.units.iter().map(|_| Bridge { on: true, output_ohm, limit_a, line_to_line }).collect()
}

/// Sum of the current of one part of all units, or of a part by itself.
fn total(full: &FullPlant, flows: &Flows, id: &str, leg: Leg) -> Complex64 {
    let mine = |part: &str| {
        let mut pieces: Vec<&str> = part.split('.').collect();
        pieces.retain(|p| p.parse::<u8>().is_err());
        pieces.join(".") == id
    };
    let parts = full.parts.iter().zip(&flows.parts).filter(|(part, _)| mine(&part.id));
    parts.map(|(_, i)| i[leg.index()]).sum()
}

/// Into every node flows what is drawn there; sources make up the difference at their own.
fn kirchhoff(full: &FullPlant, flows: &Flows, loads: &[(plant::NodeIx, Legs)]) -> Result<(), TestCaseError> {
    for (k, node) in full.nodes.iter().enumerate() {
        if full.supplies.iter().any(|s| s.node.0 == k) || full.units.iter().any(|u| u.ac.0 == k) {
            continue;
        }
        if full.formers.iter().any(|f| f.node.0 == k) {
            continue;
        }
        let mut sums = [Complex64::default(); 4];
        for (part, currents) in full.parts.iter().zip(&flows.parts) {
            for (sum, i) in sums.iter_mut().zip(currents) {
                *sum += if part.to.0 == k { *i } else { Complex64::default() };
                *sum -= if part.from.0 == k { *i } else { Complex64::default() };
            }
        }
        let drawn = loads.iter().find(|(at, _)| at.0 == k);
        for leg in Leg::ALL {
            let asked = drawn.map_or(0.0, |(_, i)| i[leg.index()].norm());
            let live = flows.voltages[k][leg.index()].is_some();
            let asked = if live { asked } else { 0.0 };
            let found = sums[leg.index()].norm();
            prop_assert!((found - asked).abs() < 1e-5, "{}: {found} A into {leg}, {asked} A drawn", node.id);
        }
        let neutral = (sums[3] + sums[0] + sums[1] + sums[2]).norm();
        prop_assert!(neutral < 1e-5, "{}: {neutral} A is left over", node.id);
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// Every reachable state of a built plant: the law of currents, and the same currents as a power balance.
    #[test]
    fn every_state_keeps_the_law_of_currents_and_agrees_with_the_balance(
        layout in prop::sample::select(vec![Layout::Inline, Layout::Outboard, Layout::Islanded]),
        family in 0_usize..FAMILIES.len(),
        per_leg in 1_u8..4,
        way in 0_usize..3,
        bypass in prop::sample::select(vec![None, Some(BypassKind::ManualSwitch), Some(BypassKind::InterlockedBreakers)]),
        earthing in prop::sample::select(vec![Earthing::Us, Earthing::Tt]),
        amperes in prop::array::uniform3(1.0_f64..40.0),
        factor in 0.3_f64..1.0,
        array in prop::option::of((prop::sample::select(vec![ArraySide::Backup, ArraySide::Main]), 1_u8..3)),
    ) {
        let catalog = catalog::demo().0.unwrap();
        let (plant, full) = both(&catalog, Shape { layout, family, per_leg, way, bypass, earthing, array });
        let line_to_line = FAMILIES[family].0 == "demo-line-6k";
        let mut panel = Legs::default();
        for leg in plant.system.legs() {
            let a = amperes[leg.index()];
            panel[leg.index()] = Complex64::new(a * factor, -a * (1.0 - factor * factor).sqrt());
        }
        let mut loads = vec![(full.panel, panel)];
        for follower in &full.followers {
            let mut given = Legs::default();
            for leg in plant.system.legs() {
                given[leg.index()] = Complex64::new(-follower.current.value().si(), 0.0);
            }
            loads.push((follower.node, given));
        }
        prop_assert_eq!(
            full.followers.len(),
            array.filter(|(side, _)| layout != Layout::Islanded || *side == ArraySide::Backup).map_or(0, |(_, n)| usize::from(n))
        );
        let mut compared = 0;
        for reached in &states::search(&plant).states {
            let state = &reached.state;
            let positions = full.positions_like(&plant, &state.positions).expect("the same gear");
            let open = plant.elements.iter().all(|e| {
                !matches!(e.kind, ElementKind::Relays | ElementKind::GeneratorRelays)
                    || plant.closed_paths(e, &state.positions) == 0
            });
            let forms = state.group_forms(&plant) && open;
            let state_of = Operating {
                plant: &full,
                positions: &positions,
                utility_ohm: state.utility.then_some(Complex64::new(0.01, 0.004)),
                generator_ohm: state.generator.then_some(Complex64::new(0.001, 0.0)),
                units: if forms { Units::Form(bridges(&full, 0.05, 500.0, line_to_line)) } else { Units::Off },
                loads: loads.clone(),
            };
            let solved = state_of.solve();
            let solved = solved.map_err(|e| TestCaseError::fail(format!("{e} in {}", states::situation(state, &plant))))?;
            kirchhoff(&full, &solved, &loads)?;
            prop_assert!(plant.looped(&state.positions).is_none());
            if !full.followers.is_empty() {
                // the balance has one source; with arrays the law of currents is what is looked at
                compared += 1;
                continue;
            }
            let source = [SourceKind::Utility, SourceKind::Generator, SourceKind::Group].into_iter().find(|kind| {
                let there = if *kind == SourceKind::Group { forms } else { state.present(*kind) };
                there && plant.source(*kind).is_some_and(|s| plant.joined(s.node, &state.positions, &[]).contains(&plant.backup_panel))
            });
            for leg in plant.system.legs() {
                let draw = Draw {
                    node: plant.backup_panel,
                    current: Known::assumed("I", "draw", Current::of(amperes[leg.index()]), "test"),
                };
                let balance = match source.and_then(|kind| plant.source(kind)) {
                    Some(source) => flows(&plant, &state.positions, source.node, &[draw]).unwrap(),
                    None => Vec::new(),
                };
                for (k, element) in plant.elements.iter().enumerate() {
                    let role = match element.kind {
                        ElementKind::Relays => "unit.relay",
                        ElementKind::GeneratorRelays => "unit.second relay",
                        _ => &element.id,
                    };
                    let found = total(&full, &solved, role, *leg).norm();
                    let by_balance = balance.iter().find(|f| f.element.0 == k).map_or(0.0, |f| f.current.value().si());
                    // beside the utility a neutral former evens the legs out: less than the larger of them
                    let ahead = element.id.starts_with("source switch");
                    let evened = line_to_line
                        && (ahead || matches!(element.kind, ElementKind::Relays | ElementKind::GeneratorRelays));
                    let largest = amperes.iter().copied().fold(0.0, f64::max);
                    prop_assert!(
                        (found - by_balance).abs() < 1e-5 || (evened && found <= largest),
                        "{} on {leg}: {found} A solved, {by_balance} A by balance in {}",
                        element.id, states::situation(state, &plant)
                    );
                    compared += 1;
                }
            }
        }
        prop_assert!(compared > 0 || plant.elements.is_empty());
    }
}

fn island(family: usize, per_leg: u8) -> FullPlant {
    let catalog = catalog::demo().0.unwrap();
    let shape = Shape {
        layout: Layout::Islanded,
        family,
        per_leg,
        way: 0,
        bypass: None,
        earthing: Earthing::Us,
        array: None,
    };
    both(&catalog, shape).1
}

fn normal(full: &FullPlant) -> Vec<u8> {
    full.gear.iter().map(|g| g.normal).collect()
}

fn solve(full: &FullPlant, bridges: Vec<Bridge>, panel: Legs) -> Result<Flows, Unsolved> {
    Operating {
        plant: full,
        positions: &normal(full),
        utility_ohm: None,
        generator_ohm: None,
        units: Units::Form(bridges),
        loads: vec![(full.panel, panel)],
    }
    .solve()
}

/// Three units behind 60 mohm each carry 45 A on L1 and nothing on L2: each gives 15 A, and at the panel the voltage is
/// down by 15 A x 60 mohm and the drop along conductors and contacts, out and back.
#[test]
fn an_island_shares_alike_and_sags_by_its_resistances() {
    let full = island(0, 3);
    let panel = [Complex64::new(45.0, 0.0), Complex64::default(), Complex64::default()];
    let flows = solve(&full, bridges(&full, 0.06, 60.0, false), panel).unwrap();
    for unit in &flows.units {
        assert!((unit[0].norm() - 15.0).abs() < 1e-6 && unit[1].norm() < 1e-6, "{unit:?}");
    }
    let along =
        |id: &str, i: f64| full.parts[full.part_ix(id).unwrap()].resistance.clone().unwrap().value().si() * i;
    let unit = ["unit.1.output.run.conductor", "unit.1.output"].map(|id| along(id, 15.0)).iter().sum::<f64>();
    let common = ["group.output", "group.output.run.conductor", "backup.feeder", "backup.conductor"];
    let common: f64 = common.map(|id| along(id, 45.0)).iter().sum();
    let expected = 120.0 - 15.0 * 0.06 - 2.0 * (unit + common);
    let volts = flows.voltages[full.panel.0][0].unwrap();
    assert!((volts - expected).abs() < 1e-6, "{volts} V, {expected} V by hand");
    // the idle leg rises by what the neutral drops
    assert!(flows.voltages[full.panel.0][1].unwrap() > 120.0);
}

/// With one leg loaded, a line-to-line unit gives half of the current on both lines and the former makes up the rest.
#[test]
fn line_to_line_units_give_half_of_a_single_leg() {
    let full = island(2, 2);
    let panel = [Complex64::new(20.0, 0.0), Complex64::default(), Complex64::default()];
    let flows = solve(&full, bridges(&full, 0.06, 60.0, true), panel).unwrap();
    for unit in &flows.units {
        assert!((unit[0].norm() - 5.0).abs() < 1e-6 && (unit[1].norm() - 5.0).abs() < 1e-6, "{unit:?}");
    }
}

/// Two units of 30 A carry 50 A and no more than 60 A. One of them off, the other cannot.
#[test]
fn beyond_the_limit_no_voltage_carries_the_loads() {
    let full = island(0, 2);
    let amperes = |a: f64| [Complex64::new(a, 0.0), Complex64::default(), Complex64::default()];
    assert!(solve(&full, bridges(&full, 0.06, 30.0, false), amperes(50.0)).is_ok());
    let over = solve(&full, bridges(&full, 0.06, 30.0, false), amperes(65.0));
    assert!(matches!(over, Err(Unsolved::NoVoltage(_) | Unsolved::NotConverged { .. })), "{over:?}");
    let mut one = bridges(&full, 0.06, 30.0, false);
    one[0].on = false;
    assert!(solve(&full, one, amperes(50.0)).is_err());
}

/// A panel with live lines and no neutral is refused.
#[test]
fn a_lost_neutral_is_no_answer() {
    let mut full = island(0, 2);
    let feeder = full.part_ix("backup.feeder").unwrap();
    full.parts[feeder].neutral = plant::full::NeutralPath::Absent;
    let panel = [Complex64::new(5.0, 0.0), Complex64::default(), Complex64::default()];
    let lost = solve(&full, bridges(&full, 0.06, 60.0, false), panel);
    assert!(matches!(lost, Err(Unsolved::NoNeutral(_))), "{lost:?}");
}
