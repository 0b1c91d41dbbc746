//! Carry times by composed maps.

use super::maps::Steps;
use super::tree::Tree;
use super::walk::LANES;
use crate::EnergyError;
use crate::year::{Columns, Design, Series};

/// What follows the last step of the year.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum YearEnd {
    /// The first one again, so that every outage can last a year.
    Wraps,
    /// Nothing: outages that are still carried end there, and are marked.
    Censors,
}

/// What ended an outage's carrying.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Cause {
    /// The charge did not suffice, or a tier would have been shed for it.
    Energy,
    /// The power asked for exceeds what battery or converter give.
    Power,
    /// The converter's heat budget was spent.
    Heat,
    /// The generator ran out of fuel.
    Fuel,
    /// The year ended: it was carried for at least as long.
    YearEnd,
    /// A whole year was carried.
    WholeYear,
}

/// Carry times of outages that start at each step.
#[derive(Debug, Clone, PartialEq)]
pub struct Carry {
    /// Length of a step, in seconds.
    pub step_s: f64,
    /// Whole steps carried: the last one, not wholly carried, does not count.
    pub steps: Vec<u32>,
    /// What ended it.
    pub ended_by: Vec<Cause>,
}

/// Whether a design's steps without the utility are maps.
pub(super) fn composes(design: &Design) -> bool {
    design.generator.power_w <= 0.0
}

/// Carry times with the first `tiers` tiers on and the others off from the first moment; charge and heat
/// budget at the start as the year has them.
///
/// # Errors
/// A design whose steps do not compose (generator: see [`super::stepped_carry_times`]), tiers other
/// than 1 to 3, columns of another series, figures that cannot be.
pub fn carry_times(
    design: &Design,
    series: &Series<'_>,
    year: &Columns,
    tiers: usize,
    end: YearEnd,
) -> Result<Carry, EnergyError> {
    if !composes(design) {
        return Err(EnergyError::NotCovered("a generator does not compose: step the outages"));
    }
    checked(design, series, year)?;
    if !(1..=3).contains(&tiers) {
        return Err(EnergyError::OutOfRange { what: "tiers", value: tiers as f64, allowed: "from 1 to 3" });
    }
    let count = series.steps();
    let tree = Tree::new(Steps::new(design, series, tiers, 1.0));
    // the first steps, in which arrays on the panel have not reconnected or only for a part
    let first: Vec<Steps> = if series.panel_array_w.is_empty() {
        Vec::new()
    } else {
        let wait = design.panel_array.reconnect_s / series.step_s;
        (0..count)
            .map(|k| (1.0 - (wait - k as f64)).max(0.0))
            .take_while(|share| *share < 1.0)
            .map(|share| Steps::new(design, series, tiers, share))
            .collect()
    };
    Ok(pulp::Arch::new().dispatch(Starts { tree: &tree, first: &first, year, end, step_s: series.step_s }))
}

/// Outages that start at every step, walked with the widest instructions of the machine. None of them changes a bit:
/// products and sums are not contracted.
struct Starts<'a> {
    tree: &'a Tree,
    /// Steps that hold only at the beginning of an outage.
    first: &'a [Steps],
    /// Has charge and heat budget at each step.
    year: &'a Columns,
    end: YearEnd,
    step_s: f64,
}

impl pulp::NullaryFnOnce for Starts<'_> {
    type Output = Carry;

    #[inline(always)]
    fn call(self) -> Carry {
        let Self { tree, first, year, end, step_s } = self;
        let count = year.heat_left_wh.len();
        let mut out = Carry { step_s, steps: Vec::with_capacity(count), ended_by: Vec::with_capacity(count) };
        let from = year.stored_wh.chunks(LANES).zip(year.heat_left_wh.chunks(LANES));
        for (block, (charge, budget)) in from.enumerate() {
            let base = block * LANES;
            let most: [usize; LANES] = std::array::from_fn(|l| match end {
                YearEnd::Wraps => count,
                YearEnd::Censors => count.saturating_sub(base + l),
            });
            let walks = tree.walk(first, base, charge, budget, &most);
            for (walk, most) in walks.iter().zip(&most).take(budget.len()) {
                let map = first.get(walk.steps).unwrap_or(tree.steps()).map(walk.at);
                out.steps.push(u32::try_from(walk.steps).unwrap_or(u32::MAX));
                out.ended_by.push(match end {
                    YearEnd::Wraps if walk.steps >= *most => Cause::WholeYear,
                    YearEnd::Censors if walk.steps >= *most => Cause::YearEnd,
                    _ if map.n.is_infinite() => Cause::Power,
                    _ if walk.budget < map.hn => Cause::Heat,
                    _ => Cause::Energy,
                });
            }
        }
        out
    }
}

pub(super) fn checked(design: &Design, series: &Series<'_>, year: &Columns) -> Result<(), EnergyError> {
    design.checked()?;
    series.checked()?;
    let count = series.steps();
    for column in [year.stored_wh.len().saturating_sub(1), year.heat_left_wh.len()] {
        if column != count {
            let needed = format!("{count} are needed: the year of the same series");
            return Err(EnergyError::Count { what: "steps of the year", count: column, needed });
        }
    }
    Ok(())
}
