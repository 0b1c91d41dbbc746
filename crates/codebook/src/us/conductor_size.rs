//! Smallest conductor that carries a load, and its device.
//!
//! ## Clause and edition
//! NEC 2023; 210.19(A), 215.2(A), 230.42(A), 310.15, 310.10(G), 110.14(C), 240.4.
//! ## Applies when
//! A conductor of a branch circuit, feeder or service is to be chosen for a current.
//! ## Why
//! Several limits bind in turn; only the one that binds says what a larger conductor would mend.
//! ## Formula
//! Smallest size, then fewest sets, with `n · I_terminals >= 1.25 · I_continuous + I_other`, `n · min(I_terminals,
//! I_z) >= I_continuous + I_other`, and a device that 240.4 lets protect it.
//! ## Example
//! Passing: 200 A continuous at 75 degC terminals ask for 250 A and take 250 kcmil copper behind 250 A. Failing:
//! 20,000 A find no set.
//! ## Limits of our reading
//! Sets lie each in a raceway of its own, so that the number of current-carrying conductors is that of one raceway.
//! The device is the next standard rating unless one is given. Voltage drop is not looked at here. Single conductors
//! come before sets, up to the largest size that is allowed.
//! ## Source
//! 210.19(A), 215.2(A), 240.4 and the tables: two sources agree; 230.42(A): from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{Current, Ratio};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{Column, Material};
use tables::us::overcurrent::next_standard;
use tables::us::size::{KnownSize, Size};

use super::conductor_ampacity::{Ampacity, Factors, Surroundings, factors, with_factors};
use super::continuous_load::{self, Carrier};
use super::parallel_set::total;
use super::terminal_temperature::{Listing, Terminals, terminals};
use super::{overcurrent_device, small_conductor};
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 310.14";
/// No plant of this kind needs more in parallel.
const MOST_SETS: u32 = 12;

/// The conductor to be chosen, apart from its current.
#[derive(Debug, Clone)]
pub struct Kind {
    /// Its metal.
    pub material: Material,
    /// Temperature rating of its insulation.
    pub insulation: Column,
    /// What is known of the terminals.
    pub listing: Listing,
    /// Where it lies.
    pub at: Surroundings,
    /// Largest size that is pulled; beyond, sets in parallel.
    pub largest: Size,
}

/// What it has to carry.
#[derive(Debug, Clone)]
pub struct Load {
    /// What kind of circuit.
    pub carrier: Carrier,
    /// Part that runs for three hours or more.
    pub continuous: Known<Current>,
    /// The rest.
    pub other: Known<Current>,
    /// Listed for continuous use at full rating.
    pub fully_rated: bool,
    /// Rating of the device, where it is settled; else the next standard one.
    pub device: Option<Known<Current>>,
    /// A branch circuit with more than one receptacle for portable loads.
    pub several_receptacles: bool,
}

impl Load {
    /// A current of which a share runs for three hours or more.
    ///
    /// # Errors
    /// A share outside 0 to 1.
    pub fn shared(
        carrier: Carrier,
        current: &Known<Current>,
        share: &Known<Ratio>,
    ) -> Result<Self, NotCovered> {
        if !(Ratio::ZERO..=Ratio::of(1.0)).contains(&share.value()) {
            return Err(NotCovered::new(
                CLAUSE,
                say!("a continuous share of {share}", share = share.value()),
            ));
        }
        let continuous = formula!("I_c", "continuous part", [share, current] => share * current);
        let other = formula!("I_o", "other part", [current, continuous] => current - continuous);
        Ok(Self { carrier, continuous, other, fully_rated: false, device: None, several_receptacles: false })
    }
}

/// What a choice must satisfy, whatever clause it comes from.
#[derive(Debug, Clone)]
pub struct Demand {
    /// What the terminals' column must reach.
    pub required: Known<Current>,
    /// What must be carried after the factors.
    pub carried: Known<Current>,
    /// The device that protects it at its ampacity; `None` where another clause protects it.
    pub device: Option<Known<Current>>,
    /// By which the terminals' column is chosen.
    pub circuit: Known<Current>,
    /// The next larger device is not allowed.
    pub several_receptacles: bool,
}

/// The conductor that was chosen.
#[derive(Debug, Clone)]
pub struct ConductorSize {
    /// Conductors in parallel.
    pub sets: Known<Ratio>,
    /// Each of them, with the reason.
    pub each: KnownSize,
    /// What the conductor must reach before factors.
    pub required: Known<Current>,
    /// What it must carry after factors.
    pub carried: Known<Current>,
    /// The column of the terminals.
    pub terminals: Terminals,
    /// What one carries.
    pub ampacity: Ampacity,
    /// What all carry together.
    pub total: Known<Current>,
    /// The device; `None` where another clause protects the conductor.
    pub device: Option<Known<Current>>,
    /// Why each smaller one was passed over, in the order they were tried.
    pub passed_over: Vec<String>,
}

/// The smallest conductor, and sets of them beyond the largest size, for a load, with its device.
///
/// # Errors
/// A current that is no number, an ambient or a number of conductors without factor, or a load that no set carries.
pub fn conductor_size(kind: &Kind, load: &Load) -> Result<ConductorSize, NotCovered> {
    let required = continuous_load::required(load.carrier, &load.continuous, &load.other, load.fully_rated)?;
    let carried = Known::sum("I_load", "current of the load", &[load.continuous.clone(), load.other.clone()]);
    let device = match &load.device {
        Some(device) => device.clone(),
        None => next_standard(&required)?,
    };
    if device.value() < required.value() {
        let reason = say!(
            "a device of {device} is below the {required} that are asked for",
            device = device.value(),
            required = required.value()
        );
        return Err(NotCovered::new("NEC 2023 210.20(A), 215.3", reason));
    }
    let circuit = device.clone();
    let several_receptacles = load.several_receptacles;
    smallest(kind, &Demand { required, carried, device: Some(device), circuit, several_receptacles })
}

/// The smallest conductor for a demand.
///
/// # Errors
/// As [`conductor_size`].
pub fn smallest(kind: &Kind, demand: &Demand) -> Result<ConductorSize, NotCovered> {
    sane(CLAUSE, &demand.required)?;
    sane(CLAUSE, &demand.carried)?;
    let ends = terminals(&demand.circuit, kind.listing)?;
    let factors = factors(kind.insulation, &kind.at)?;
    let least_parallel = conductor_rule::size("A_min", "parallel-least")?;
    let mut passed_over = Vec::new();
    for n in 1..=MOST_SETS {
        let sets =
            Known::chosen("n", "conductors in parallel", Ratio::of(f64::from(n)), "tried in turn", vec![]);
        for size in Size::all().filter(|s| *s <= kind.largest && (n == 1 || *s >= least_parallel.size)) {
            let Ok(one) = one(kind, size, &factors, ends.column) else { continue };
            if let Some(why) = fails(kind, demand, size, &one, &sets)? {
                passed_over.push(format!("{n} x {size}: {why}"));
                continue;
            }
            let total = total(&one.usable, &sets);
            let mut from: Vec<_> = [&demand.required, &demand.carried, &one.at_terminals, &total]
                .map(|current| current.node().clone())
                .into();
            from.extend(demand.device.as_ref().map(|device| device.node().clone()));
            from.push(ends.limit.node().clone());
            let why = match passed_over.last() {
                Some(last) => format!("smallest that passes; before it {last}"),
                None => "smallest of the table".to_owned(),
            };
            return Ok(ConductorSize {
                each: size.chosen("A", kind.material.name(), why, from)?,
                total,
                sets,
                required: demand.required.clone(),
                carried: demand.carried.clone(),
                terminals: ends,
                ampacity: one,
                device: demand.device.clone(),
                passed_over,
            });
        }
    }
    let last = passed_over.last().cloned().unwrap_or_else(|| "no size in the table".to_owned());
    Err(NotCovered::new(
        CLAUSE,
        say!("no conductor up to {most_sets} in parallel carries it: {last}", most_sets = MOST_SETS, last),
    ))
}

/// A size and sets that are there, against a demand.
///
/// # Errors
/// As [`conductor_size`]; a size that does not do, with what fails.
pub fn given(kind: &Kind, demand: &Demand, each: &KnownSize, n: u32) -> Result<ConductorSize, NotCovered> {
    sane(CLAUSE, &demand.required)?;
    sane(CLAUSE, &demand.carried)?;
    let ends = terminals(&demand.circuit, kind.listing)?;
    let factors = factors(kind.insulation, &kind.at)?;
    let least_parallel = conductor_rule::size("A_min", "parallel-least")?;
    let size = each.size;
    if n < 1 || (n > 1 && size < least_parallel.size) {
        let reason =
            say!("{n} x {size}: in parallel from {size_2} on", n, size, size_2 = least_parallel.size);
        return Err(NotCovered::new("NEC 2023 310.10(G)", reason));
    }
    let sets = Known::chosen("n", "conductors in parallel", Ratio::of(f64::from(n)), "as fixed", vec![]);
    let one = one(kind, size, &factors, ends.column)?;
    if let Some(why) = fails(kind, demand, size, &one, &sets)? {
        return Err(NotCovered::new(CLAUSE, say!("{n} x {size}: {why}", n, size, why)));
    }
    Ok(ConductorSize {
        each: each.clone(),
        total: total(&one.usable, &sets),
        sets,
        required: demand.required.clone(),
        carried: demand.carried.clone(),
        terminals: ends,
        ampacity: one,
        device: demand.device.clone(),
        passed_over: Vec::new(),
    })
}

fn one(kind: &Kind, size: Size, factors: &Factors, ends: Column) -> Result<Ampacity, NotCovered> {
    with_factors(size, kind.material, kind.insulation, kind.at.laying, factors, ends)
}

/// Why a size does not do; `None` where it does.
fn fails(
    kind: &Kind,
    demand: &Demand,
    size: Size,
    one: &Ampacity,
    sets: &Known<Ratio>,
) -> Result<Option<String>, NotCovered> {
    let at_ends = total(&one.at_terminals, sets);
    if at_ends.value() < demand.required.value() {
        return Ok(Some(format!(
            "terminals let {} through, {} asked for",
            at_ends.value(),
            demand.required.value()
        )));
    }
    let usable = total(&one.usable, sets);
    if usable.value() < demand.carried.value() {
        return Ok(Some(format!(
            "carries {} where it lies, {} needed",
            usable.value(),
            demand.carried.value()
        )));
    }
    let Some(device) = &demand.device else { return Ok(None) };
    if !small_conductor::allows(size, kind.material, device)? {
        return Ok(Some(format!("too small for a device of {} (240.4(D))", device.value())));
    }
    // an ampacity below the standard ratings has none that protects it
    let largest = overcurrent_device::largest(&usable, demand.several_receptacles);
    if largest.is_ok_and(|largest| device.value() <= largest.value()) {
        return Ok(None);
    }
    Ok(Some(format!("a device of {} does not protect {} (240.4)", device.value(), usable.value())))
}

#[cfg(test)]
mod tests;
