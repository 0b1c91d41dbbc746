//! Demand that sizes the service.

use derivation::{Known, formula};
use num_complex::Complex64;
use quantity::{Apparent, Current};

use crate::model::ServiceDemand;
use crate::panel::Members;
use crate::phasor::{NOTHING, magnitude};
use crate::sweep::Copies;

/// Itemised: the worst leg over the permitted subsets, continuous loads counted 1.25 times on US systems (NEC 2023
/// 230.42(A)(1)) and once elsewhere.
pub(crate) fn itemised(members: &mut Members<'_>, us: bool) -> ServiceDemand {
    let factor = if us { 1.25 } else { 1.0 };
    let legs: Vec<Known<Current>> = members
        .system
        .legs()
        .iter()
        .map(|leg| {
            let system = members.system;
            let copies: Vec<Copies> = members
                .pieces
                .iter()
                .map(|p| {
                    let k = if p.continuous { factor } else { 1.0 };
                    // harmonics heat conductors as well
                    let k = k * (1.0 + p.third * p.third).sqrt();
                    p.copies(|c| p.legs_va(system, c)[leg.index()]).map(|z: Complex64| z * k)
                })
                .collect();
            let found = members.farthest(&copies, NOTHING);
            let from = found
                .chosen
                .iter()
                .filter_map(|v| members.pieces.get(*v))
                .map(|p| p.apparent.node().clone())
                .collect();
            let (equation, what) = if us {
                (
                    "max over permitted subsets |1.25 sum of continuous S + sum of other S|",
                    "continuous x 1.25, NEC 2023 230.42(A)(1)",
                )
            } else {
                ("max over permitted subsets |sum of S|", "continuous loads counted once")
            };
            let residual = found.bound - magnitude(found.sum);
            let S = Known::solved(
                "S",
                format!("service demand, {leg} ({what})"),
                Apparent::of(found.bound),
                equation,
                residual,
                from,
            );
            let volts = system.phase_voltage();
            let V = Known::chosen("V", "nominal line-to-neutral voltage", volts, system.name(), Vec::new());
            formula!("I", format!("service demand, {leg}"), [S, V] => S / V)
        })
        .collect();
    let current = Known::largest("I_service", "service demand of the worst leg", &legs)
        .unwrap_or_else(|| Known::sum("I_service", "service demand", &[]));
    ServiceDemand { method: "itemised", current, neutral: Some(members.neutral()) }
}
