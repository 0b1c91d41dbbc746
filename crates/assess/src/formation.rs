//! Which unit feeds which leg, and what paralleled units may be counted for.

use std::fmt;

use catalog::{LegControl, UnitModel};
use derivation::{Known, formula};
use quantity::{Leg, Ratio, VoltageSystem};

/// Units on the legs of a system: `4` two-leg units, or `2+2+2` one-leg units.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Formation {
    system: VoltageSystem,
    per_leg: Vec<u32>,
    two_leg: bool,
}

impl Formation {
    /// Two-leg units: `n` on both legs.
    pub fn two_leg(system: VoltageSystem, n: u32) -> Self {
        Self { system, per_leg: vec![n; system.legs().len()], two_leg: true }
    }

    /// One-leg units: so many on each leg, in leg order.
    pub fn one_leg(system: VoltageSystem, per_leg: Vec<u32>) -> Self {
        Self { system, per_leg, two_leg: false }
    }

    /// As many on every leg, as the unit's legs ask.
    pub fn even(unit: &UnitModel, system: VoltageSystem, per_leg: u32) -> Self {
        if unit.leg_control == LegControl::OneLeg {
            Self::one_leg(system, vec![per_leg; system.legs().len()])
        } else {
            Self::two_leg(system, per_leg)
        }
    }

    /// Units in all.
    pub fn units(&self) -> u32 {
        if self.two_leg { self.per_leg.first().copied().unwrap_or(0) } else { self.per_leg.iter().sum() }
    }

    /// Units that feed a leg.
    pub fn on(&self, leg: Leg) -> u32 {
        self.per_leg.get(leg.index()).copied().unwrap_or(0)
    }

    /// Fewest units on any leg: the paths that can be relied on side by side.
    pub fn fewest(&self) -> u32 {
        self.per_leg.iter().copied().min().unwrap_or(0)
    }

    /// Most units on any leg.
    pub fn most(&self) -> u32 {
        self.per_leg.iter().copied().max().unwrap_or(0)
    }

    /// Whether every leg has the same number.
    pub fn is_even(&self) -> bool {
        self.per_leg.windows(2).all(|w| w.first() == w.last())
    }

    /// The formations that remain when one unit is out: one for each leg it may have been on.
    pub fn one_out(&self) -> Vec<Formation> {
        let less = |k: usize| {
            let mut out = self.clone();
            if let Some(n) = out.per_leg.get_mut(k) {
                *n = n.saturating_sub(1);
            }
            out
        };
        if self.two_leg {
            let mut out = self.clone();
            for n in &mut out.per_leg {
                *n = n.saturating_sub(1);
            }
            return vec![out];
        }
        let mut all: Vec<Formation> = (0..self.per_leg.len()).map(less).collect();
        all.dedup();
        all
    }

    /// The system that it forms.
    pub fn system(&self) -> VoltageSystem {
        self.system
    }
}

impl fmt::Display for Formation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if self.two_leg {
            return f.pad(&self.units().to_string());
        }
        f.pad(&self.per_leg.iter().map(u32::to_string).collect::<Vec<_>>().join("+"))
    }
}

/// How many units' ratings may be counted for `n` in parallel: n / (1 + t), since one of them may carry the share
/// (1 + t) / n and the first unit over its limit stops all. One unit counts whole.
pub fn counted(unit: &UnitModel, n: u32) -> Known<Ratio> {
    let n_units = Known::chosen("n", "units on the leg", Ratio::of(f64::from(n)), "formation", Vec::new());
    if n < 2 {
        return n_units;
    }
    let t = Known::catalog(
        "t",
        "sharing tolerance",
        unit.sharing_tolerance.share(),
        &unit.id,
        "sharing_tolerance",
    );
    formula!("n_c", "units that may be counted", [n_units, t] => n_units / (1.0 + t))
}
