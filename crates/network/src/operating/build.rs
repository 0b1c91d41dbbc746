//! From plant and positions to a network.

use num_complex::Complex64;
use plant::full::{FullPlant, NeutralPath, Part};
use plant::{NodeIx, SourceKind};
use quantity::{Leg, Quantity};

use super::{Bridge, Legs, Operating, TOLERANCE_A, Units, Unsolved};
use crate::impedance::polar_deg;
use crate::solve::{
    BusIx, Conductor, Config, ElementIx, Emf, Network, Solver, SourceIx, SourceSpec, Windings, Zip,
};

/// Share of a neutral former's rated impedance is not published: taken as small, so that it holds the neutral.
const FORMER_OHM: f64 = 0.01;
const NONE: Complex64 = Complex64::new(0.0, 0.0);

/// A network with what each part and node became.
pub(super) struct Built {
    pub solver: Solver,
    pub buses: Vec<Option<BusIx>>,
    pub lines: Vec<Option<ElementIx>>,
    pub sources: Vec<Option<SourceIx>>,
}

pub(super) fn conductor(leg: Leg) -> Conductor {
    match leg {
        Leg::L1 => Conductor::L1,
        Leg::L2 => Conductor::L2,
        Leg::L3 => Conductor::L3,
    }
}

/// What is live: per node its legs, and whether its neutral hangs on a live source's.
struct Live {
    legs: Vec<Vec<Leg>>,
    neutral: Vec<bool>,
    /// One node of each neutral that hangs together.
    tied: Vec<NodeIx>,
}

pub(super) fn build(state: &Operating<'_>) -> Result<Built, Unsolved> {
    let plant = state.plant;
    let live = live(state);
    let mut net = Network::new();
    let mut buses = Vec::with_capacity(plant.nodes.len());
    for ((node, legs), neutral) in plant.nodes.iter().zip(&live.legs).zip(&live.neutral) {
        let mut conductors: Vec<Conductor> = legs.iter().copied().map(conductor).collect();
        conductors.extend(neutral.then_some(Conductor::N));
        buses.push(if conductors.is_empty() { None } else { Some(net.bus(&node.id, &conductors)?) });
    }
    for node in &live.tied {
        if let Some(bus) = bus(&buses, *node) {
            net.bond("reference", bus, Conductor::N, None)?;
        }
    }
    let mut lines = Vec::with_capacity(plant.parts.len());
    for part in &plant.parts {
        lines.push(line(state, part, &live, &buses, &mut net)?);
    }
    outside(state, &live, &buses, &mut net)?;
    let sources = units(state, &live, &buses, &mut net)?;
    for former in &plant.formers {
        let on = former.moved_by.is_none_or(|(device, at)| state.positions.get(device.0) == Some(&at));
        let whole = live.legs.get(former.node.0).is_some_and(|legs| legs.len() == 2);
        if let (true, true, Some(bus)) = (on, whole, bus(&buses, former.node)) {
            let halves = Windings {
                first: (Conductor::L1, Conductor::N),
                second: (Conductor::N, Conductor::L2),
                ratio: 1.0,
                leakage_ohm: Complex64::new(FORMER_OHM, 0.0),
            };
            net.transformer(&former.id, bus, bus, &[halves])?;
        }
    }
    for (node, currents) in &state.loads {
        let legs = live.legs.get(node.0).map_or(&[][..], Vec::as_slice);
        load(state, (*node, legs), currents, &live, &buses, &mut net)?;
    }
    let config = Config { tolerance_a: TOLERANCE_A, ..Config::default() };
    Ok(Built { solver: Solver::new(net, config)?, buses, lines, sources })
}

fn bus(buses: &[Option<BusIx>], node: NodeIx) -> Option<BusIx> {
    buses.get(node.0).copied().flatten()
}

/// Nodes of sources that are there, with the legs that each feeds.
fn feeding(state: &Operating<'_>) -> Vec<(NodeIx, Vec<Leg>)> {
    let plant = state.plant;
    let outside = [(SourceKind::Utility, &state.utility_ohm), (SourceKind::Generator, &state.generator_ohm)];
    let mut all: Vec<(NodeIx, Vec<Leg>)> = outside
        .into_iter()
        .filter(|(_, ohm)| ohm.is_some())
        .filter_map(|(kind, _)| plant.supply(kind))
        .map(|node| (node, plant.system.legs().to_vec()))
        .collect();
    if let Units::Form(bridges) = &state.units {
        let on = plant.units.iter().zip(bridges).filter(|(_, bridge)| bridge.on);
        all.extend(on.map(|(unit, _)| (unit.ac, unit.legs.clone())));
    }
    all
}

fn live(state: &Operating<'_>) -> Live {
    let plant = state.plant;
    let closed: Vec<&Part> = plant.parts.iter().filter(|p| plant.closed(p, state.positions)).collect();
    let feeding = feeding(state);
    let mut legs = vec![Vec::new(); plant.nodes.len()];
    for &leg in plant.system.legs() {
        let start = feeding.iter().filter(|(_, fed)| fed.contains(&leg)).map(|(node, _)| *node).collect();
        let ways = closed.iter().filter(|p| plant.legs_of(p).contains(&leg)).map(|p| (p.from, p.to));
        let ways: Vec<(NodeIx, NodeIx)> = ways.collect();
        for node in joined(start, &ways) {
            if let Some(on) = legs.get_mut(node.0) {
                on.push(leg);
            }
        }
    }
    // a solid neutral passes whatever the device does
    let ways: Vec<(NodeIx, NodeIx)> = plant
        .parts
        .iter()
        .filter(|p| match p.neutral {
            NeutralPath::Solid => true,
            NeutralPath::Switched => plant.closed(p, state.positions),
            NeutralPath::Absent => false,
        })
        .map(|p| (p.from, p.to))
        .collect();
    let has = |node: &NodeIx| plant.nodes.get(node.0).is_some_and(|n| n.neutral);
    let formed = plant.formers.iter().map(|former| former.node);
    let starts = feeding.iter().map(|(node, _)| *node).chain(formed).filter(has);
    let mut neutral = vec![false; plant.nodes.len()];
    let mut tied = Vec::new();
    for start in starts {
        let lines = legs.get(start.0).is_some_and(|on| !on.is_empty());
        if !lines || neutral.get(start.0) == Some(&true) {
            continue;
        }
        tied.push(start);
        let ways: Vec<(NodeIx, NodeIx)> = ways.iter().copied().filter(|(a, b)| has(a) && has(b)).collect();
        for node in joined(vec![start], &ways) {
            if let Some(there) = neutral.get_mut(node.0) {
                *there = true;
            }
        }
    }
    Live { legs, neutral, tied }
}

/// Everything that ways join to some nodes.
fn joined(mut reached: Vec<NodeIx>, ways: &[(NodeIx, NodeIx)]) -> Vec<NodeIx> {
    reached.sort_unstable();
    reached.dedup();
    let mut next = 0;
    while let Some(&node) = reached.get(next) {
        next += 1;
        for (a, b) in ways {
            let there = if *a == node { *b } else { *a };
            if (*a == node || *b == node) && !reached.contains(&there) {
                reached.push(there);
            }
        }
    }
    reached
}

/// A part as a line: the legs that it joins, and its neutral.
fn line(
    state: &Operating<'_>,
    part: &Part,
    live: &Live,
    buses: &[Option<BusIx>],
    net: &mut Network,
) -> Result<Option<ElementIx>, Unsolved> {
    let (Some(from), Some(to)) = (bus(buses, part.from), bus(buses, part.to)) else { return Ok(None) };
    let Some(resistance) = &part.resistance else { return Ok(None) };
    let closed = state.plant.closed(part, state.positions);
    let at = |node: NodeIx| live.legs.get(node.0).map_or(&[][..], Vec::as_slice);
    let there = |node: NodeIx| live.neutral.get(node.0) == Some(&true);
    let mut conductors: Vec<Conductor> = Vec::new();
    if closed {
        let legs = state.plant.legs_of(part).into_iter();
        let legs = legs.filter(|leg| at(part.from).contains(leg) && at(part.to).contains(leg));
        conductors.extend(legs.map(conductor));
    }
    let joins = match part.neutral {
        NeutralPath::Solid => true,
        NeutralPath::Switched => closed,
        NeutralPath::Absent => false,
    };
    conductors.extend((joins && there(part.from) && there(part.to)).then_some(Conductor::N));
    if conductors.is_empty() {
        return Ok(None);
    }
    let z = Complex64::new(resistance.value().si(), 0.0);
    let all: Vec<(Conductor, Complex64)> = conductors.into_iter().map(|c| (c, z)).collect();
    Ok(Some(net.plain_line(&part.id, from, to, &all)?))
}

/// Utility and generator: nominal voltage to neutral behind their impedance.
fn outside(
    state: &Operating<'_>,
    live: &Live,
    buses: &[Option<BusIx>],
    net: &mut Network,
) -> Result<(), Unsolved> {
    let plant = state.plant;
    let both = [(SourceKind::Utility, state.utility_ohm), (SourceKind::Generator, state.generator_ohm)];
    for (kind, ohm) in both {
        let (Some(ohm), Some(node)) = (ohm, plant.supply(kind)) else { continue };
        let (Some(bus), true) = (bus(buses, node), live.neutral.get(node.0) == Some(&true)) else { continue };
        let legs = plant.system.legs();
        let emfs: Vec<Emf> = legs.iter().map(|leg| emf(plant, *leg, None)).collect();
        let n = emfs.len();
        let z_ohm = (0..n * n).map(|k| if k / n == k % n { ohm } else { NONE }).collect();
        net.source(SourceSpec { bus, emfs, z_ohm })?;
    }
    Ok(())
}

fn emf(plant: &FullPlant, leg: Leg, limit_a: Option<f64>) -> Emf {
    let emf_v = polar_deg(plant.system.phase_voltage().si(), plant.system.angle_deg(leg));
    Emf { from: conductor(leg), to: Conductor::N, emf_v, limit_a }
}

fn units(
    state: &Operating<'_>,
    live: &Live,
    buses: &[Option<BusIx>],
    net: &mut Network,
) -> Result<Vec<Option<SourceIx>>, Unsolved> {
    let plant = state.plant;
    let mut sources = vec![None; plant.units.len()];
    match &state.units {
        Units::Off => {}
        Units::Follow(all) => {
            for (unit, currents) in plant.units.iter().zip(all) {
                let legs = live.legs.get(unit.ac.0).map_or(&[][..], Vec::as_slice);
                load(state, (unit.ac, legs), currents, live, buses, net)?;
            }
        }
        Units::Form(bridges) => {
            for ((unit, bridge), source) in plant.units.iter().zip(bridges).zip(&mut sources) {
                if let (true, Some(bus)) = (bridge.on, bus(buses, unit.ac)) {
                    *source = Some(net.source(bridge_source(plant, (bus, &unit.legs), bridge))?);
                }
            }
        }
    }
    Ok(sources)
}

fn bridge_source(plant: &FullPlant, (bus, legs): (BusIx, &[Leg]), bridge: &Bridge) -> SourceSpec {
    let limit_a = Some(bridge.limit_a).filter(|limit| limit.is_finite());
    let ohm = Complex64::new(bridge.output_ohm, 0.0);
    let [first, second] = [legs.first(), legs.get(1)];
    if let (true, Some(first), Some(second)) = (bridge.line_to_line, first, second) {
        let (a, b) = (emf(plant, *first, None), emf(plant, *second, None));
        let one = Emf { from: a.from, to: b.from, emf_v: a.emf_v - b.emf_v, limit_a };
        return SourceSpec { bus, emfs: vec![one], z_ohm: vec![ohm * 2.0] };
    }
    let emfs: Vec<Emf> = legs.iter().map(|leg| emf(plant, *leg, limit_a)).collect();
    let n = emfs.len();
    SourceSpec { bus, emfs, z_ohm: (0..n * n).map(|k| if k / n == k % n { ohm } else { NONE }).collect() }
}

/// A current on each live leg, returning on the neutral; where the node has no neutral by nature (line-to-line units),
/// the same current from the first leg to the second.
fn load(
    state: &Operating<'_>,
    (node, legs): (NodeIx, &[Leg]),
    currents: &Legs,
    live: &Live,
    buses: &[Option<BusIx>],
    net: &mut Network,
) -> Result<(), Unsolved> {
    let drawn = |leg: &Leg| currents.get(leg.index()).copied().unwrap_or(NONE);
    let of = |leg: &Leg| Zip { current_a: drawn(leg), ..Zip::default() };
    let asked: Vec<Leg> = legs.iter().copied().filter(|leg| drawn(leg) != NONE).collect();
    let (Some(first), Some(bus)) = (asked.first(), bus(buses, node)) else { return Ok(()) };
    if live.neutral.get(node.0) == Some(&true) {
        for leg in &asked {
            net.load(bus, (conductor(*leg), Conductor::N), of(leg))?;
        }
        return Ok(());
    }
    let known = state.plant.nodes.get(node.0);
    match (known.is_some_and(|n| n.neutral), legs) {
        (false, [a, b]) => {
            net.load(bus, (conductor(*a), conductor(*b)), of(first))?;
            Ok(())
        }
        _ => Err(Unsolved::NoNeutral(known.map_or_else(String::new, |n| n.name.clone()))),
    }
}
