//! What every conductor run of the plant has to carry, as facts for the rules that choose it.

use derivation::{Known, formula};
use plant::full::{NeutralPath, PartKind};
use quantity::{Current, DcCurrent, DcVoltage, Leg, Length, Quantity, Temperature, Wire};
use reading::Placed;

use crate::flowing::{Corner, Flowing};
use crate::parts::WorstParts;
use crate::{Case, counted, feed};

/// The run ahead of the service disconnect.
const SERVICE: &str = "service.conductor";

/// What a run is chosen for.
#[derive(Debug, Clone)]
pub enum For {
    /// A current to which the code's factor for continuous loads is added already.
    Counted(Known<Current>),
    /// A current that may flow for hours: the code's factor is still to come.
    Continuous(Known<Current>),
    /// A generator's current by its nameplate.
    Generator(Known<Current>),
    /// The device ahead alone.
    Device,
}

/// A conductor run, or the like runs of all units.
#[derive(Debug, Clone)]
pub struct Run {
    /// Role path without the number of its unit.
    pub role: String,
    /// Name for people.
    pub name: String,
    /// How many of them there are.
    pub count: usize,
    /// Its live conductors.
    pub legs: Vec<Leg>,
    /// It has a neutral.
    pub neutral: bool,
    /// It has lines; else it is a neutral by itself.
    pub lines: bool,
    /// Rating of the device ahead.
    pub device: Known<Current>,
    /// Rating of the largest device that feeds it, from whichever end: what its conductors must be fit for.
    pub made_for: Known<Current>,
    /// What it is chosen for.
    pub wanted: For,
    /// What flows in its worst state.
    pub carried: Known<Current>,
    /// What its neutral may carry, where that may be more than a line's: the panel's or the service's, third harmonics
    /// included.
    pub neutral_current: Option<Known<Current>>,
    /// Of a run that every unit has: what one of them passes at most.
    pub of_one: Option<Known<Current>>,
    /// Of a run that every unit has: what motor starts bring through one of them.
    pub start_of_one: Option<Known<Current>>,
    /// Loads behind it state a third harmonic of more than 15 % of their current.
    pub harmonic: bool,
    /// Size and sets as the site fixes them.
    pub fixed: Option<(Placed<Wire>, u32)>,
    /// Length, one way.
    pub length: Known<Length>,
    /// Highest temperature round it.
    pub ambient: Known<Temperature>,
    /// On the direct-current side.
    pub direct: Option<Direct>,
}

/// What a run of the direct-current side has besides.
#[derive(Debug, Clone)]
pub struct Direct {
    /// Nominal voltage.
    pub nominal: Known<DcVoltage>,
    /// The direct current that it carries.
    pub carried: Known<DcCurrent>,
    /// Its device is a fuse of which no more is known: fuses open later on an overload than breakers.
    pub fused: bool,
    /// What a cable of an array has besides.
    pub array: Option<InArray>,
}

/// What a cable of an array has besides.
#[derive(Debug, Clone)]
pub struct InArray {
    /// A device protects it; else the currents of the sources are no more than it carries, and the run's device stands
    /// for one where its protective conductor is chosen.
    pub guarded: bool,
    /// It lies behind or between the modules.
    pub at_modules: bool,
    /// These stand on a roof.
    pub on_roof: bool,
    /// Highest voltage between its poles.
    pub highest: Known<DcVoltage>,
}

/// Every run of the plant.
pub(crate) fn runs(case: &Case<'_>, flowing: &Flowing<'_, '_>, worst: &WorstParts) -> Vec<Run> {
    let mut all = Vec::new();
    for (role, members) in flowing.roles() {
        let Some(part) = members.first().and_then(|k| flowing.plant.parts.get(*k)) else { continue };
        let (PartKind::Conductor, Some(made_for), Some(length)) = (part.kind, &part.rating, &part.length)
        else {
            continue;
        };
        let device = part.ahead.as_ref().unwrap_or(made_for);
        let of_unit = role != part.id;
        let legs = flowing.plant.legs_of(part);
        let service = role == SERVICE;
        let carried = match part.lines {
            // what flows there is not solved state by state; where nothing is known of it, as much as the device lets
            true if service => feed::service_current(case).or_else(|| Some(device.clone())),
            true => worst.most(case, role, of_unit),
            false => Some(case.demand.neutral.clone()),
        };
        let carried = carried
            .unwrap_or_else(|| crate::positions::nothing("current", "it carries nothing in any state"));
        let panel = worst.carries_panel(role);
        let wanted = match role {
            SERVICE => For::Device,
            "generator.feed.conductor" => match case.generator {
                Some(set) => For::Generator(Known::catalog(
                    "I_g",
                    "current of the generator",
                    set.leg_current,
                    &set.id,
                    "leg_current",
                )),
                None => For::Device,
            },
            _ if !part.lines => For::Counted(case.demand.neutral.clone()),
            _ if of_unit => For::Counted(unit(case, &flowing.plant.bridge_limit, panel)),
            _ if panel => For::Counted(panel_sizing(case, &worst.beyond_load(role), &carried)),
            _ => For::Continuous(carried.clone()),
        };
        all.push(Run {
            role: role.to_owned(),
            name: part.kind_name(),
            count: members.len(),
            neutral: part.neutral != NeutralPath::Absent,
            lines: part.lines,
            legs: if legs.is_empty() { case.system().legs().to_vec() } else { legs },
            device: device.clone(),
            made_for: made_for.clone(),
            wanted,
            carried,
            neutral_current: match part.lines && part.neutral != NeutralPath::Absent {
                true if service => service_neutral(case),
                true if panel => Some(neutral(case, of_unit)),
                _ => None,
            },
            of_one: of_unit
                .then(|| Known::largest("I_1", "current of one unit's", &worst.of_one(case, (part, role))))
                .flatten(),
            start_of_one: of_unit
                .then(|| {
                    Known::largest(
                        "I_st",
                        "current of one unit's in a start",
                        &worst.starts_of_one(case, role),
                    )
                })
                .flatten(),
            harmonic: (panel || service) && harmonic(case),
            fixed: fixed(case, role),
            length: length.clone(),
            ambient: ambient(case, role),
            direct: None,
        });
    }
    all.extend(crate::dc::runs(case));
    all.extend(crate::solar::runs(case));
    all
}

/// The service's neutral current, by the method that gives one, else over every permitted set of loads; and what
/// charging on one leg adds.
fn service_neutral(case: &Case<'_>) -> Option<Known<Current>> {
    let by_method = case.assessment.service.as_ref().and_then(|demand| demand.neutral.clone());
    let I_N = by_method.or_else(|| case.assessment.whole.as_ref().map(|whole| whole.neutral.clone()))?;
    let Some(I_ch) = feed::charging_neutral(case) else { return Some(I_N) };
    Some(formula!("I_Nch", "neutral current of the service while one leg charges", [I_N, I_ch] => I_N + I_ch))
}

/// The panel's neutral current, or one unit's part of it.
fn neutral(case: &Case<'_>, of_unit: bool) -> Known<Current> {
    let I_N = case.demand.neutral.clone();
    if !of_unit {
        return I_N;
    }
    let n_c = counted(case.unit, case.formation.fewest().max(1));
    formula!("I_N1", "one unit's part of the neutral current", [I_N, n_c] => I_N / n_c)
}

/// Share of third harmonic above which the neutral heats the cable (IEC 60364-5-52 Annex E: 15 %).
const HARMONIC: f64 = 0.15;

fn harmonic(case: &Case<'_>) -> bool {
    let loads = case.site.loads.iter();
    loads.filter_map(|load| load.third_harmonic.as_ref()).any(|h| h.value.si() > HARMONIC)
}

pub(crate) fn fixed(case: &Case<'_>, role: &str) -> Option<(Placed<Wire>, u32)> {
    let wish = case.site.conductors.iter().find(|c| c.part.value == role)?;
    Some((wish.size.clone()?, wish.sets.as_ref().map_or(1, |sets| sets.value)))
}

/// The room's highest temperature; for the runs to the backup panel and to array inverters also that outdoors, since
/// they leave the room.
pub(crate) fn ambient(case: &Case<'_>, role: &str) -> Known<Temperature> {
    let room = case.site.temperature.room.known("T_room", "highest room temperature");
    let high = case.site.temperature.high.known("T_high", "high temperature outdoors");
    if matches!(role, "backup.conductor" | SERVICE) || role.starts_with("array ") {
        return Known::largest("T_a", "temperature round the run", &[room.clone(), high]).unwrap_or(room);
    }
    room
}

/// Current for sizing what carries the panel: continuous loads counted as the code asks, and where charging beside the
/// load asks for more, that as a continuous load.
fn panel_sizing(case: &Case<'_>, beyond: &[Known<Current>], carried: &Known<Current>) -> Known<Current> {
    let mut all: Vec<Known<Current>> = case.demand.sizing.values().cloned().collect();
    let code = || {
        let what = "continuous loads (NEC 2023 215.2(A)(1))";
        Known::factor("f", what, continuous_factor(case), "as the code asks")
    };
    let f = demand::amended_continuous(case.site).unwrap_or_else(code);
    all.extend(
        beyond
            .iter()
            .map(|I_b| formula!("I_c", "current that may flow for hours, as counted", [I_b, f] => I_b * f)),
    );
    Known::largest("I_req", "current for sizing", &all).unwrap_or_else(|| carried.clone())
}

fn continuous_factor(case: &Case<'_>) -> f64 {
    if case.site.service.earthing.value == site::Earthing::Us { 1.25 } else { 1.0 }
}

/// A unit's own conductors: what its bridge gives, and its part of what passes on to the panel.
fn unit(case: &Case<'_>, bridge: &Known<Current>, panel: bool) -> Known<Current> {
    let mut all = vec![bridge.clone()];
    if panel {
        let sizing: Vec<Known<Current>> = case.demand.sizing.values().cloned().collect();
        if let Some(I_p) = Known::largest("I_p", "current for sizing of the panel", &sizing) {
            let n_c = counted(case.unit, case.formation.fewest().max(1));
            all.push(formula!("I_s", "one unit's part of it", [I_p, n_c] => I_p / n_c));
        }
    }
    Known::largest("I_req", "current for sizing", &all).unwrap_or_else(|| bridge.clone())
}

impl WorstParts {
    /// The largest current of a role on any leg; of a part that each unit has, of one of them.
    fn most(&self, case: &Case<'_>, role: &str, of_unit: bool) -> Option<Known<Current>> {
        let n_c = counted(case.unit, case.formation.fewest().max(1));
        let mut all = Vec::new();
        for (together, current) in self.currents(role, |_| true) {
            all.push(if of_unit && together {
                let I = current;
                formula!("I_1", "one unit's part", [I, n_c] => I / n_c)
            } else {
                current.clone()
            });
        }
        Known::largest("I_b", "largest current of any state", &all)
    }

    /// Currents of corners other than the load's that are more than the load alone.
    fn beyond_load(&self, role: &str) -> Vec<Known<Current>> {
        let load =
            self.currents(role, |corner| corner == Corner::Load).map(|(_, current)| current.value().si());
        let load = load.fold(0.0, f64::max) * (1.0 + 1e-9);
        let beyond = self.currents(role, |corner| corner != Corner::Load).map(|(_, current)| current);
        beyond.filter(|current| current.value().si() > load).cloned().collect()
    }
}
