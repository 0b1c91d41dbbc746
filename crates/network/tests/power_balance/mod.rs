//! Currents of one state by power balance, the yardstick of the solve: round the group the closed gear is a tree, so the
//! current of an element is the sum of what is drawn beyond it. Magnitudes are added, which is never less than the
//! phasor sum.
#![allow(dead_code, non_snake_case)] // each test file takes what it needs

use derivation::{Known, formula};
use plant::{ElementIx, NodeIx, Plant};
use quantity::Current;

/// A current drawn at a node (or fed in: the direction does not matter for the magnitudes here), on one leg.
#[derive(Debug, Clone)]
pub struct Draw {
    /// Where.
    pub node: NodeIx,
    /// How much.
    pub current: Known<Current>,
}

/// The current of all closed paths of one element together, on one leg.
#[derive(Debug, Clone)]
pub struct Flow {
    /// The element.
    pub element: ElementIx,
    /// Its current.
    pub current: Known<Current>,
}

/// The closed elements make a loop: how the current divides is not told by a balance.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("closed gear makes a loop at {0}")]
pub struct Loop(pub String);

/// The current of every closed element that lies between `slack` and something drawn, on one leg. A draw at a node
/// that no closed element joins to `slack` flows nowhere; a draw at `slack` itself flows through no element. A
/// current with a minus sign (fed in) counts by its magnitude.
///
/// # Errors
/// The closed elements make a loop.
pub fn flows(plant: &Plant, positions: &[u8], slack: NodeIx, draws: &[Draw]) -> Result<Vec<Flow>, Loop> {
    let mut flows = Vec::new();
    let reached = plant.joined(slack, positions, &[]);
    for (k, element) in plant.elements.iter().enumerate() {
        if plant.closed_paths(element, positions) == 0 || !reached.contains(&element.from) {
            continue;
        }
        let without = without(plant, positions, slack, k);
        if without.contains(&element.from) && without.contains(&element.to) {
            return Err(Loop(element.name.clone()));
        }
        let beyond: Vec<Known<Current>> = draws
            .iter()
            .filter(|draw| reached.contains(&draw.node) && !without.contains(&draw.node))
            .map(|draw| magnitude(&draw.current))
            .collect();
        let current = match beyond.as_slice() {
            [] => continue,
            [one] => one.clone(),
            several => Known::sum("I", format!("current of {}", element.name), several),
        };
        flows.push(Flow { element: ElementIx(k), current });
    }
    Ok(flows)
}

fn magnitude(current: &Known<Current>) -> Known<Current> {
    if current.value() < Current::ZERO {
        let I = current;
        return formula!("I", "magnitude of a current fed in", [I] => I.abs());
    }
    current.clone()
}

/// Nodes joined to `start` without one element.
fn without(plant: &Plant, positions: &[u8], start: NodeIx, left_out: usize) -> Vec<NodeIx> {
    let mut reached = vec![start];
    let mut next = 0;
    while let Some(&node) = reached.get(next) {
        next += 1;
        for (k, element) in plant.elements.iter().enumerate() {
            if k == left_out || plant.closed_paths(element, positions) == 0 {
                continue;
            }
            for (here, there) in [(element.from, element.to), (element.to, element.from)] {
                if here == node && !reached.contains(&there) {
                    reached.push(there);
                }
            }
        }
    }
    reached
}
