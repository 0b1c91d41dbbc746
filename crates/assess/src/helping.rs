//! What flows where the panel asks a generator for more than the units' limit on it: on such a leg the battery gives the
//! rest, on the others the units charge up to the limit.
//!
//! One state for every part at once. A leg of the panel carries all that its loads ask for, a leg of the generator the
//! limit, or load and chargers together where that is less: while the units keep their limit neither can be more, so what
//! is found is an upper bound of every line part. What the units give for any time bounds what they add; where that is too
//! little the rest is left to the generator, above the limit.

use network::operating::{Legs, Units, Unsolved};
use num_complex::Complex64;
use plant::SourceKind;
use quantity::{Leg, Quantity};
use states::Reached;

use crate::flowing::{Corner, Flowing, Solved, rotated};
use crate::positions::panel_current;
use crate::unit_flows;

/// Rounds in which the units' current is brought to the limit, and the share of the limit that is left over at most.
const ROUNDS: usize = 12;
const CLOSE: f64 = 1e-10;

/// What the units of a leg give and take for any time, in amperes.
struct Bounds {
    give_a: f64,
    take_a: f64,
}

/// What the units take in phase with the voltage of a leg (negative: give), in amperes, so that beside a load of `p + jq`
/// amperes no more than the limit flows: |p + c + jq| = L has c = sqrt(L^2 - q^2) - p.
fn beside(load: Complex64, limit_a: f64, bounds: &Bounds) -> f64 {
    let room = (limit_a * limit_a - load.im * load.im).max(0.0).sqrt() - load.re;
    room.clamp(-bounds.give_a, bounds.take_a)
}

impl Flowing<'_, '_> {
    /// Solves it. None where the panel is not served by a generator through the group, where its units cannot help one leg, and where no leg asks for
    /// more than the limit: then charging beside the load says it all.
    pub(crate) fn helping(
        &self,
        reached: &Reached,
        positions: &[u8],
        source: SourceKind,
    ) -> Option<Result<Solved, Unsolved>> {
        let case = self.case;
        let limit = case.settings.generator_limit.as_ref()?;
        if source != SourceKind::Generator || !reached.state.battery || !case.helps_one_leg() {
            return None;
        }
        if reached.state.feeds_panel(&case.plant) != Some(source) {
            return None;
        }
        let over = |leg: &&Leg| panel_current(case, **leg).value() > limit.value();
        let legs_over = case.system().legs().iter().filter(over).count();
        if legs_over == 0 {
            return None;
        }
        let mut from = Default::default();
        // all that the panel asks for, not what a generator by itself would give it
        let loads = self.loads(reached, None, &mut from);
        let limit_a = limit.value().si();
        let relays = self.followed_through(source);
        let mut own = Legs::default();
        let mut round = 0;
        let flows = loop {
            let units = if round == 0 { Units::Off } else { self.each(&own) };
            let flows = match self.run(reached, positions, units, loads.clone()) {
                Ok(flows) => flows,
                Err(error) => return Some(Err(error)),
            };
            let mut off = round == 0;
            for &leg in case.system().legs() {
                let through = rotated(case, leg, self.total(&flows, relays, leg));
                let Some(own) = own.get_mut(leg.index()) else { continue };
                let next = beside(through - *own, limit_a, &self.bounds(leg, legs_over));
                off |= (next - own.re).abs() > CLOSE * limit_a;
                own.re = next;
            }
            if !off || round == ROUNDS {
                break flows;
            }
            round += 1;
        };
        for (&leg, from) in case.system().legs().iter().zip(&mut from) {
            from.extend([limit.clone(), unit_flows::charging_most(case, leg)]);
        }
        Some(Ok(Solved::held(Corner::Helping, flows, from, limit_a)))
    }

    /// Of units that help several legs no leg gets more than its part of what they give in all.
    fn bounds(&self, leg: Leg, legs_over: usize) -> Bounds {
        let case = self.case;
        let on_leg: Vec<_> = self.plant.units.iter().filter(|u| u.legs.contains(&leg)).collect();
        let volts = case.system().phase_voltage().si();
        let rating = case.rating;
        let give_va = on_leg.iter().map(|unit| {
            let shared = unit.legs.len().min(legs_over).max(1) as f64;
            rating.leg_apparent.value().si().min(rating.apparent.value().si() / shared)
        });
        Bounds {
            give_a: give_va.sum::<f64>() / volts,
            take_a: unit_flows::charging_most(case, leg).value().si(),
        }
    }

    /// The relays through which the units follow a source, as a role.
    pub(crate) fn followed_through(&self, source: SourceKind) -> &'static str {
        match source {
            SourceKind::Generator if self.plant.part_ix("unit.1.second relay").is_some() => {
                "unit.second relay"
            }
            _ => "unit.relay",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 30 A at a power factor of 0.8 are 24 A and 18 A across. Beside a limit of 30 A nothing is left; of 25 A, 17.349 A may
    /// be active, so 6.651 A are given; of 40 A, 35.721 A, so 11.721 A are left for charging, or what the chargers take.
    #[test]
    fn what_is_left_beside_a_load_by_hand() {
        let load = Complex64::new(24.0, -18.0);
        let bounds = |give_a, take_a| Bounds { give_a, take_a };
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-3, "{a} {b}");
        near(beside(load, 30.0, &bounds(50.0, 50.0)), 0.0);
        near(beside(load, 25.0, &bounds(50.0, 50.0)), -6.651);
        near(beside(load, 25.0, &bounds(5.0, 50.0)), -5.0);
        near(beside(load, 40.0, &bounds(50.0, 50.0)), 11.721);
        near(beside(load, 40.0, &bounds(50.0, 8.0)), 8.0);
        // what flows across alone is more than the limit: all that is active is given
        near(beside(load, 15.0, &bounds(50.0, 50.0)), -24.0);
    }
}
