//! From a solved network back to parts, nodes and units.

use num_complex::Complex64;
use quantity::Leg;

use super::build::{Built, conductor};
use super::{Flows, Operating, Units};
use crate::impedance::magnitude;
use crate::solve::Conductor;

pub(super) fn read(state: &Operating<'_>, built: &Built, residual_a: f64) -> Flows {
    let plant = state.plant;
    let mut flows = Flows {
        parts: vec![[Complex64::default(); 4]; plant.parts.len()],
        voltages: vec![[None; 3]; plant.nodes.len()],
        units: vec![[Complex64::default(); 3]; plant.units.len()],
        at_limit: vec![false; plant.units.len()],
        residual_a,
    };
    let Some(solution) = built.solver.solution() else {
        return Flows { residual_a: f64::NAN, ..flows };
    };
    for (line, currents) in built.lines.iter().zip(&mut flows.parts) {
        let Some(line) = line else { continue };
        let conductors = Leg::ALL.map(conductor).into_iter().chain([Conductor::N]);
        for (conductor, current) in conductors.zip(currents) {
            *current = solution.line_current(*line, conductor).unwrap_or_default();
        }
    }
    for (bus, voltages) in built.buses.iter().zip(&mut flows.voltages) {
        let Some(bus) = bus else { continue };
        for (leg, voltage) in Leg::ALL.iter().zip(voltages) {
            *voltage = solution.between(*bus, conductor(*leg), Conductor::N).map(magnitude);
        }
    }
    match &state.units {
        Units::Off => {}
        Units::Follow(taken) => {
            for (unit, taken) in flows.units.iter_mut().zip(taken) {
                *unit = taken.map(|current| -current);
            }
        }
        Units::Form(_) => forming(state, built, &solution, &mut flows),
    }
    flows
}

fn forming(state: &Operating<'_>, built: &Built, solution: &crate::solve::Solution<'_>, flows: &mut Flows) {
    let results = flows.units.iter_mut().zip(&mut flows.at_limit);
    for ((source, unit), (given, limited)) in built.sources.iter().zip(&state.plant.units).zip(results) {
        let Some(source) = source else { continue };
        let currents = solution.source_currents(*source).unwrap_or_default();
        match (currents.as_slice(), unit.legs.as_slice()) {
            // between the lines: out of the first leg, back on the second
            ([one], [first, second]) => {
                for (leg, current) in [(first, *one), (second, -*one)] {
                    if let Some(given) = given.get_mut(leg.index()) {
                        *given = current;
                    }
                }
            }
            (currents, legs) => {
                for (leg, current) in legs.iter().zip(currents) {
                    if let Some(given) = given.get_mut(leg.index()) {
                        *given = *current;
                    }
                }
            }
        }
        *limited = solution.at_limit(*source).is_some_and(|at| at.contains(&true));
    }
}
