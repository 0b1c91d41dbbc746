//! By the US book: copper with 90 degC insulation in steel raceways (EMT), terminals of which nothing is known.

use assess::{Case, For, InArray, Run};
use codebook::NotCovered;
use codebook::us::conductor_ampacity::Surroundings;
use codebook::us::conductor_size::{ConductorSize, Demand, Kind, given, smallest};
use codebook::us::continuous_load::{self, Carrier};
use codebook::us::dwelling_service::dwelling_service_by;
use codebook::us::equipment_ground::{CircuitConductors, equipment_ground};
use codebook::us::raceway_fill::{self, Group};
use codebook::us::terminal_temperature::Listing;
use codebook::us::{generator_conductor, neutral_conductor, voltage_drop};
use derivation::{Known, formula};
use quantity::{Current, DcVoltage, Quantity, Ratio, VoltageSystem};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{Column, Conduit, Impedance, Laying, Material, ac_impedance_of_kft};
use tables::us::size::{KnownSize, Size, together};

use super::Chosen;
use crate::code::amended_share;

/// Largest conductor that is pulled (common practice, no source); beyond, sets in parallel.
const LARGEST: &str = "500";
const RACEWAY: &str = "EMT";
const INSULATION: &str = "THHN";
/// What that insulation is made for, in volts (NEC 2023 310.4, from memory).
const INSULATED_V: f64 = 600.0;

pub(super) fn choose(case: &Case<'_>, run: &Run) -> Result<Chosen, NotCovered> {
    let required = required(case, run)?;
    let array = super::in_array(run);
    insulated(array)?;
    let largest = Size::all().find(|size| size.figure() == LARGEST);
    let largest = largest.ok_or_else(|| NotCovered::new("NEC 2023 310.16", say!("no such largest size")))?;
    // loads with harmonics may make up most of a wye's load: its neutral then counts
    let counts = run.neutral && neutral_conductor::counts(case.system(), case.system().legs().len() > 2);
    let carrying = if run.lines { run.legs.len() + usize::from(counts) } else { 1 };
    let number = |n: usize, what: &str| {
        Known::chosen("n", what, Ratio::of(n as f64), "conductors of one raceway", Vec::new())
    };
    let kind = Kind {
        material: Material::Copper,
        insulation: Column::C90,
        listing: Listing::Unknown,
        at: Surroundings {
            laying: Laying::Raceway,
            ambient: run.ambient.clone(),
            on_roof: array.is_some_and(|a| a.at_modules && a.on_roof),
            current_carrying: number(carrying, "current-carrying conductors"),
            short_raceway: false,
        },
        largest,
    };
    let (device, made_for) = (run.device.clone(), run.made_for.clone());
    let demand = Demand {
        required: or_neutral(run, &required),
        carried: or_neutral(run, &run.carried),
        // without a device it carries what its sources give
        device: array.is_none_or(|a| a.guarded).then(|| made_for.clone()),
        circuit: device.clone(),
        several_receptacles: false,
    };
    let of_dwelling = dwelling(case, run, &kind)?;
    let dwelling = of_dwelling.is_some();
    let found = match of_dwelling {
        Some(found) => found,
        None => {
            let found = smallest(&kind, &demand)?;
            Smallest::of(found, required)
        }
    };
    // what is fixed is judged for itself; its protective conductor grows with it (250.122(B))
    let needed = together(&found.each.area, &found.sets);
    let found = match &run.fixed {
        None => found,
        Some(_) => fixed(run, &kind, &demand, found)?,
    };
    let Smallest { required, sets: n, total, before, .. } = found.clone();
    let sets = n.value().si();
    let (size, area) = (found.each.size, found.each.area.clone());
    let circuit =
        CircuitConductors { material: Material::Copper, needed, installed: together(&area, &found.sets) };
    // service conductors run ahead of the first device: they are bonded by other rules (250.92, 250.102)
    let ground = (run.role != "service.conductor")
        .then(|| equipment_ground(&made_for, Material::Copper, Some(&circuit)));
    let ground = ground.transpose()?;
    let lines = if run.lines { run.legs.len() } else { 0 };
    let mut groups = vec![Group::insulated(
        number(lines + usize::from(run.neutral), "lines and neutral"),
        INSULATION,
        size,
    )?];
    if let Some(ground) = &ground {
        let one = number(1, "equipment grounding conductor");
        groups.push(Group::insulated(one, INSULATION, ground.size.size)?);
    }
    let raceway = raceway_fill::smallest(&raceway_fill::fill(&groups, false)?, RACEWAY)?;
    let of_kft = if run.direct.is_some() {
        voltage_drop::dc_of_kft(size, Material::Copper, false, None)?
    } else {
        ac_impedance_of_kft(size, Material::Copper, Conduit::Steel, Impedance::Resistance)?
    };
    let resistance = voltage_drop::run(&of_kft, &run.length, &found.sets)?;
    Ok(Chosen {
        size: size.to_string(),
        sets: sets as usize,
        neutral: run.neutral.then(|| size.to_string()),
        ground: ground.as_ref().map(|g| g.size.size.to_string()),
        raceway: Some(format!("{RACEWAY} {}", raceway.raceway.trade_size)),
        required,
        dwelling,
        ampacity: total,
        before,
        resistance,
        why: area.node().clone(),
        from: ground
            .iter()
            .map(|g| g.size.area.node().clone())
            .chain([raceway.filled.node().clone()])
            .collect(),
    })
}

/// Conductors of the tables are insulated for 600 V.
fn insulated(array: Option<&InArray>) -> Result<(), NotCovered> {
    let Some(array) = array.filter(|a| a.highest.value() > DcVoltage::of(INSULATED_V)) else { return Ok(()) };
    let reason = say!(
        "the strings reach {highest}; conductors of the tables are insulated for {insulated_v} V",
        highest = array.highest.value(),
        insulated_v = INSULATED_V
    );
    Err(NotCovered::new("NEC 2023 310.4", reason))
}

/// The smallest conductor of a run.
#[derive(Debug, Clone)]
struct Smallest {
    each: KnownSize,
    sets: Known<Ratio>,
    /// What it carries where it lies.
    total: Known<Current>,
    /// What its terminals let through, before the factors of its surroundings; none where a share of the rating counts.
    before: Option<Known<Current>>,
    required: Known<Current>,
}

impl Smallest {
    fn of(found: ConductorSize, required: Known<Current>) -> Self {
        let (one, n) = (&found.ampacity.at_terminals, &found.sets);
        let before = formula!("I_t", "what the terminals let through, all sets", [one, n] => one * n,
            source = "NEC 2023 110.14(C)");
        Self { each: found.each, sets: found.sets, total: found.total, before: Some(before), required }
    }
}

/// The service conductors of a dwelling, where its demand is found by the dwelling's calculation: they carry a share of
/// the rating (310.12). None where the clause does not reach, and where it would not make them smaller.
fn dwelling(case: &Case<'_>, run: &Run, kind: &Kind) -> Result<Option<Smallest>, NotCovered> {
    let split = case.system() == VoltageSystem::Split120_240;
    let (true, true, "service.conductor") = (split, super::dwelling(case), run.role.as_str()) else {
        return Ok(None);
    };
    let Some(demand) = &case.assessment.service else { return Ok(None) };
    let Some(share) =
        amended_share(case.site, "dwelling-service", conductor_rule::ratio("f", "dwelling-share")?)
    else {
        return Ok(None);
    };
    // up to here terminals of which nothing is known are those of 60 degC (110.14(C)), which the clause's table is not
    // made for
    let sixty = conductor_rule::current("I_60", "terminal-current")?;
    if run.device.value() <= sixty.value() {
        return Ok(None);
    }
    // they carry the demand, also while the group charges, and the neutral is of their size
    let all = [demand.current.clone(), or_neutral(run, &run.carried)];
    let Some(load) = Known::largest("I_l", "load of the service, also while charging", &all) else {
        return Ok(None);
    };
    let Ok(found) = dwelling_service_by(kind, &run.device, &load, &share) else { return Ok(None) };
    let sets = Known::chosen("n", "conductors in parallel", Ratio::of(1.0), "one of each", Vec::new());
    Ok(Some(Smallest { each: found.size, sets, total: found.usable, before: None, required: found.required }))
}

/// A size that the site fixes, in so many sets. Service conductors that a dwelling's share makes smaller may be larger.
fn fixed(run: &Run, kind: &Kind, demand: &Demand, found: Smallest) -> Result<Smallest, NotCovered> {
    const CLAUSE: &str = "NEC 2023 310.14";
    let Some((wire, sets)) = &run.fixed else { return Ok(found) };
    let size: Size = wire
        .value
        .to_string()
        .parse()
        .map_err(|error: quantity::QuantityError| NotCovered::new(CLAUSE, error.to_string()))?;
    let area = Known::input("A", format!("copper: {size}, fixed"), size.area()?.value(), &wire.place);
    let each = KnownSize { size, area };
    let by_share = found.before.is_none() && *sets == 1 && size >= found.each.size;
    match given(kind, demand, &each, *sets) {
        Ok(given) => Ok(Smallest::of(given, found.required)),
        // what the smallest carries is no more than a larger one does
        Err(_) if by_share => Ok(Smallest { each, ..found }),
        Err(refused) => {
            let reason = say!(
                "{size} is fixed; the smallest that passes is {sets} x {size_2}: {reason}",
                size,
                sets = found.sets.value(),
                size_2 = found.each.size,
                reason = refused.reason
            );
            Err(NotCovered { reason, ..refused })
        }
    }
}

/// The neutral is of the lines' size, so the lines are as large as the neutral asks.
fn or_neutral(run: &Run, current: &Known<Current>) -> Known<Current> {
    let all: Vec<Known<Current>> = [current.clone()].into_iter().chain(run.neutral_current.clone()).collect();
    Known::largest("I_req", "current of lines or neutral", &all).unwrap_or_else(|| current.clone())
}

fn required(case: &Case<'_>, run: &Run) -> Result<Known<Current>, NotCovered> {
    match &run.wanted {
        For::Counted(current) => Ok(current.clone()),
        For::Continuous(current) => {
            if let Some(f) = demand::amended_continuous(case.site) {
                return Ok(formula!("I_req", "current to be carried", [f, current] => f * current));
            }
            let none =
                Known::chosen("I_0", "other load", Current::ZERO, "all of it may flow for hours", Vec::new());
            continuous_load::required(Carrier::Feeder, current, &none, false)
        }
        For::Generator(current) => generator_conductor::required(current, false),
        For::Device => Ok(run.device.clone()),
    }
}
