//! Motor starts: the starting motors at standstill on top of everything that may run with them.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Apparent, Connection, Current, Duration, Leg, Quantity, Ratio, VoltageSystem};

use crate::coincidence::Coincidence;
use crate::model::{StartEvent, StartLeg};
use crate::motor::Start;
use crate::phasor::{ByLeg, NOTHING, by_leg, magnitude};
use crate::pieces::{Piece, coincidence};
use crate::sweep::{Copies, Farthest, farthest};

/// The loads of a panel as a start sees them.
pub(crate) struct Starts<'a> {
    system: VoltageSystem,
    /// Loads that count while running, and motors inside the measured demand, which only count as they start.
    pieces: Vec<&'a Piece>,
    runs: Vec<bool>,
    graph: Coincidence,
}

impl<'a> Starts<'a> {
    /// `members` run; `inside` are loads inside a measured demand that is among the members.
    pub fn new(system: VoltageSystem, members: &[&'a Piece], inside: &[&'a Piece]) -> Self {
        let pieces: Vec<&Piece> = members.iter().chain(inside).copied().collect();
        let runs = (0..pieces.len()).map(|k| k < members.len()).collect();
        let graph = coincidence(&pieces);
        Self { system, pieces, runs, graph }
    }

    /// Every start by name; with `together`, also that of all motors that may start at once.
    pub fn events(&self, together: bool) -> Vec<StartEvent> {
        let mut events = Vec::new();
        for (k, piece) in self.pieces.iter().enumerate() {
            let Some(start) = start_of(piece) else { continue };
            for (connection, _) in &piece.placed {
                events.push(self.single(k, piece, start, *connection));
            }
        }
        if together && self.starters() > 1 {
            events.extend(self.together());
        }
        events.sort_by(|a, b| a.name.cmp(&b.name));
        events
    }

    /// Motors that may start at once, conflicts not counted.
    fn starters(&self) -> u32 {
        self.pieces.iter().filter(|p| start_of(p).is_some()).map(|p| p.at_once.min(p.count)).sum()
    }

    fn single(&self, k: usize, piece: &Piece, start: &Start, connection: Connection) -> StartEvent {
        let starting = start_legs(self.system, start, connection);
        let others: Vec<bool> =
            (0..self.pieces.len()).map(|u| self.runs[u] && (u == k || self.graph.compatible(k, u))).collect();
        let mut legs = BTreeMap::new();
        for leg in connection.legs() {
            let copies: Vec<Copies> = self
                .pieces
                .iter()
                .enumerate()
                .map(|(u, p)| match others[u] {
                    false => Copies::default(),
                    true => self.running(p, leg, (u == k).then_some(connection)),
                })
                .collect();
            let fixed = starting[leg.index()];
            let found = farthest(&self.graph, &copies, fixed);
            let running = found.sum + missing(&found, fixed);
            let start_known = start_share(piece, start, leg, magnitude(fixed));
            let from = self.running_nodes(&found.chosen);
            let third_va = self.third_va(&copies);
            legs.insert(leg, self.leg(leg, fixed, (running, third_va), start_known, from));
        }
        let name = if piece.placed.len() > 1 {
            format!("{} on {connection}", piece.name)
        } else {
            piece.name.clone()
        };
        StartEvent {
            name,
            loads: vec![piece.name.clone()],
            legs,
            run_up: start.run_up.clone(),
            torque_needed: start.torque_needed.clone(),
            place: Some(piece.place.clone()),
        }
    }

    /// Power of a load's instances on a leg; one instance less where that one starts.
    fn running(&self, piece: &Piece, leg: Leg, less_one_on: Option<Connection>) -> Copies {
        let mut copies = piece.copies(|c| piece.legs_va(self.system, c)[leg.index()]);
        if let Some(connection) = less_one_on {
            copies.at_once = copies.at_once.saturating_sub(1);
            for ((_, n), (c, _)) in copies.alike.iter_mut().zip(&piece.placed) {
                if *c == connection {
                    *n = n.saturating_sub(1);
                }
            }
        }
        copies
    }

    /// All motors that may run together start together: on each leg the worst permitted subset of starting motors
    /// and running other loads.
    fn together(&self) -> Option<StartEvent> {
        let mut legs = BTreeMap::new();
        let mut starting: BTreeSet<usize> = BTreeSet::new();
        for leg in self.system.legs() {
            let copies: Vec<Copies> = self
                .pieces
                .iter()
                .enumerate()
                .map(|(u, p)| match start_of(p) {
                    Some(start) => p.copies(|c| start_legs(self.system, start, c)[leg.index()]),
                    None if self.runs[u] => self.running(p, *leg, None),
                    None => Copies::default(),
                })
                .collect();
            let found = farthest(&self.graph, &copies, NOTHING);
            let along = |z: Complex64| z.re * found.direction.re + z.im * found.direction.im;
            let (mut start_va, mut parts, mut others) = (NOTHING, Vec::new(), Vec::new());
            for v in &found.chosen {
                let (Some(piece), Some(copies)) = (self.pieces.get(*v), copies.get(*v)) else { continue };
                let Some(start) = start_of(piece) else {
                    others.push(*v);
                    continue;
                };
                let sum = copies.picked(along).1;
                start_va += sum;
                starting.insert(*v);
                parts.push(start_share(piece, start, *leg, magnitude(sum)).node().clone());
            }
            if parts.is_empty() {
                continue;
            }
            let running = found.sum - start_va + missing(&found, NOTHING);
            let what = format!("power of the motors that start together, {leg}");
            let equation = "|sum of S_start|";
            let start_known =
                Known::solved("S_start", what, Apparent::of(magnitude(start_va)), equation, 0.0, parts);
            let third_va = self.third_va(&self.running_beside_motors(*leg));
            let from = self.running_nodes(&others);
            legs.insert(*leg, self.leg(*leg, start_va, (running, third_va), start_known, from));
        }
        let motors: Vec<&Piece> = starting.iter().filter_map(|v| self.pieces.get(*v).copied()).collect();
        let starts: Vec<&Start> = motors.iter().filter_map(|p| start_of(p)).collect();
        let run_ups: Vec<Known<Duration>> = starts.iter().map(|s| s.run_up.clone()).collect();
        let torques: Vec<Known<Ratio>> = starts.iter().map(|s| s.torque_needed.clone()).collect();
        Some(StartEvent {
            name: "all motors together".to_owned(),
            loads: motors.iter().map(|p| p.name.clone()).collect(),
            legs,
            run_up: Known::largest("t_run_up", "longest run-up time", &run_ups)?,
            torque_needed: Known::largest("m", "largest share of standstill torque needed", &torques)?,
            place: motors.first().map(|p| p.place.clone()),
        })
    }

    /// Loads that run and do not start, when all motors start together.
    fn running_beside_motors(&self, leg: Leg) -> Vec<Copies> {
        let of = |(u, p): (usize, &&Piece)| match start_of(p) {
            None if self.runs[u] => self.running(p, leg, None),
            _ => Copies::default(),
        };
        self.pieces.iter().enumerate().map(of).collect()
    }

    /// Voltage times the largest third-harmonic current of what may run, in VA.
    fn third_va(&self, running: &[Copies]) -> f64 {
        let weights: Vec<f64> =
            self.pieces.iter().zip(running).map(|(p, c)| c.top(magnitude) * p.third).collect();
        self.graph.heaviest(&weights).value
    }

    fn running_nodes(&self, chosen: &[usize]) -> Vec<Arc<Node>> {
        chosen.iter().filter_map(|v| self.pieces.get(*v)).map(|p| p.apparent.node().clone()).collect()
    }

    fn leg(
        &self,
        leg: Leg,
        start_va: Complex64,
        (running_va, third_va): (Complex64, f64),
        start_known: Known<Apparent>,
        from: Vec<Arc<Node>>,
    ) -> StartLeg {
        let volts = self.system.phase_voltage();
        let V = Known::chosen("V", "nominal line-to-neutral voltage", volts, self.system.name(), Vec::new());
        let S = &start_known;
        let start_current: Known<Current> =
            formula!("I_start", format!("starting current, {leg}"), [S, V] => S / V);
        let running_known = Known::solved(
            "S_run",
            format!("everything else that may run, {leg}"),
            Apparent::of(libm::hypot(magnitude(running_va), third_va)),
            "the permitted subset that makes |S_start + sum of S| largest, with its third harmonics at most",
            0.0,
            from,
        );
        StartLeg { start_va, running_va, start_known, running_known, start_current }
    }
}

fn start_of(piece: &Piece) -> Option<&Start> {
    piece.motor.as_ref()?.start.as_ref()
}

fn start_legs(system: VoltageSystem, start: &Start, connection: Connection) -> ByLeg {
    by_leg(system, connection, start.power_va).unwrap_or_default()
}

/// What the subset found lacks of the upper bound, along its own direction, so that the sum is never understated.
fn missing(found: &Farthest, fixed: Complex64) -> Complex64 {
    let sum = found.sum + fixed;
    let length = magnitude(sum);
    let lacks = found.bound - length;
    // below that it is the noise of the arithmetic
    if length <= 0.0 || lacks <= 1e-9 * length { NOTHING } else { sum * (lacks / length) }
}

fn start_share(piece: &Piece, start: &Start, leg: Leg, va: f64) -> Known<Apparent> {
    let S = &start.apparent;
    let share = if S.value().si() > 0.0 { va / S.value().si() } else { 0.0 };
    let how: Vec<String> = piece.placed.iter().map(|(c, n)| format!("{n} on {c}")).collect();
    let n = Known::chosen("n", format!("share on {leg}"), Ratio::of(share), how.join(", "), Vec::new());
    formula!("S_start", format!("power of {} at standstill, {leg}", piece.name), [S, n] => S * n)
}
