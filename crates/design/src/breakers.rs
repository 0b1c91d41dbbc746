//! Breakers of the alternating-current side as records of the catalogue: by rating, poles, voltage, and the fault current
//! that they must break. What is at the site already, or comes with a generator, is not chosen.

use std::collections::BTreeMap;

use assess::Case;
use catalog::Breaker;
use derivation::{Known, formula};
use finding::{Finding, Severity};
use plant::Layout;
use plant::full::{FullPlant, NeutralPath, NodeKind, Part, PartKind};
use quantity::{Current, LineVoltage, Quantity, Ratio};
use saying::say;
use site::Earthing;

use crate::Prepared;
use crate::candidate::Design;

/// A generator gives at first its current over its subtransient reactance.
const LOWEST_REACTANCE: f64 = 0.1;
/// What array inverters give into a fault, over their current.
const ARRAY_MULTIPLE: f64 = 2.0;

/// One breaker of the plant.
#[derive(Debug, Clone)]
pub struct BreakerChoice<'a> {
    /// Role path, with the number of its unit.
    pub part: String,
    /// Name for people.
    pub name: String,
    /// Rating; none where it is open.
    pub rating: Option<Known<Current>>,
    /// Poles: lines, and the neutral where it is switched.
    pub poles: usize,
    /// It is there already, or comes with what it belongs to.
    pub there: bool,
    /// The most that it may have to break; none where that is not known.
    pub fault: Option<Known<Current>>,
    /// The record, where one serves.
    pub record: Option<&'a Breaker>,
}

/// Chooses, and refuses where no record serves.
pub(crate) fn choose<'a>(prepared: &'a Prepared<'a>, design: &mut Design<'a>) {
    let plant = assess::full_plant(&design.case);
    let fault = fault(&design.case);
    let ask = Asked::of(&design.case, fault.clone());
    let breakers: Vec<&Breaker> = prepared.catalog.breakers.values().collect();
    let all: Vec<BreakerChoice<'a>> = parts(&plant).map(|part| one(&plant, part, &ask, &breakers)).collect();
    let found = refused(&design.case, &all, &ask, &breakers);
    design.assessed.ledger.findings.extend(found);
    design.breakers = all;
}

/// Breakers of the lines; devices of the direct-current side are chosen with bank and arrays.
fn parts(plant: &FullPlant) -> impl Iterator<Item = &Part> {
    let direct = |part: &Part| plant.nodes.get(part.from.0).is_some_and(|n| n.kind == NodeKind::Dc);
    plant.parts.iter().filter(move |p| p.kind == PartKind::Breaker && p.lines && !direct(p))
}

/// What every breaker of a site must bear.
struct Asked {
    between: LineVoltage,
    to_earth: LineVoltage,
    to_neutral: LineVoltage,
    fault: Option<Known<Current>>,
}

impl Asked {
    fn of(case: &Case<'_>, fault: Option<Known<Current>>) -> Self {
        let to_neutral = LineVoltage::of(case.system().phase_voltage().si());
        let between = case.system().line_voltage().unwrap_or(to_neutral);
        // the first fault of an IT system lifts the other lines to the voltage between them
        let it = case.site.service.earthing.value == Earthing::It;
        Self { between, to_earth: if it { between } else { to_neutral }, to_neutral, fault }
    }

    /// Voltage, and voltage to earth (NEC 2023 240.85: a slash rating serves only where neither is exceeded; IEC 60947-2 and
    /// 60898-1: rated operational voltage, from memory).
    fn bears(&self, record: &Breaker) -> bool {
        let between = if record.poles == 1 { self.to_neutral } else { self.between };
        record.voltage.is_some_and(|v| v >= between && record.voltage_to_earth.unwrap_or(v) >= self.to_earth)
    }

    /// NEC 2023 110.9; IEC 60364-4-43 434.5.1.
    fn breaks(&self, record: &Breaker) -> bool {
        self.fault.as_ref().is_some_and(|fault| record.interrupting >= fault.value())
    }
}

fn one<'a>(plant: &FullPlant, part: &Part, ask: &Asked, breakers: &[&'a Breaker]) -> BreakerChoice<'a> {
    let neutral = usize::from(part.neutral == NeutralPath::Switched);
    let poles = plant.legs_of(part).len() + neutral;
    let there = part.id.starts_with("service") || part.id.starts_with("generator.breaker");
    let record = part.rating.as_ref().filter(|_| !there).and_then(|rating| {
        let serves = fitting(rating.value(), poles, breakers).filter(|b| ask.bears(b) && ask.breaks(b));
        serves.min_by(|a, b| (a.price, &a.id).cmp(&(b.price, &b.id)))
    });
    BreakerChoice {
        part: part.id.clone(),
        name: part.name.clone(),
        rating: part.rating.clone(),
        poles,
        there,
        fault: ask.fault.clone(),
        record,
    }
}

fn fitting<'b, 'a: 'b>(
    rating: Current,
    poles: usize,
    breakers: &'b [&'a Breaker],
) -> impl Iterator<Item = &'a Breaker> + 'b {
    let like = move |b: &&'a Breaker| b.poles as usize == poles && (b.rating.si() - rating.si()).abs() < 1e-9;
    breakers.iter().copied().filter(like)
}

/// The most that any breaker may have to break: the larger of utility and generator, which never feed together, and what
/// group and array inverters add, all in phase and without the impedance of any cable. None where the utility's is not known.
pub(crate) fn fault(case: &Case<'_>) -> Option<Known<Current>> {
    let mut outside = Vec::new();
    if case.layout != Layout::Islanded {
        outside.push(assess::fault_current(case)?);
    }
    if let Some(set) = case.generator {
        let I_g = Known::catalog("I_g", "current of the generator", set.leg_current, &set.id, "leg_current");
        let x = Known::assumed(
            "x",
            "lowest subtransient reactance of a generator set",
            Ratio::of(LOWEST_REACTANCE),
            "common practice for small sets: 0.1 or more (from memory, confirm with the maker)",
        );
        outside.push(formula!("I_kg", "fault current of the generator", [I_g, x] => I_g / x));
    }
    let mut parts: Vec<Known<Current>> =
        Known::largest("I_ko", "fault current of utility or generator", &outside).into_iter().collect();
    parts.extend(assess::highest_island_fault(case).map(|level| level.largest));
    for array in &case.arrays {
        let model = array.model;
        let I_1 = Known::catalog("I_1", "current of one array inverter", model.current, &model.id, "current");
        let count = Ratio::of(f64::from(array.inverters));
        let n = Known::chosen("n", format!("inverters of {}", array.id), count, "design", Vec::new());
        let k = Known::assumed(
            "k",
            "fault current of an array inverter over its current",
            Ratio::of(ARRAY_MULTIPLE),
            "common practice: inverters limit themselves to less than twice their current",
        );
        parts.push(formula!("I_ka", format!("fault current of {}", array.id), [I_1, n, k] => I_1 * n * k));
    }
    (!parts.is_empty()).then(|| Known::sum("I_k", "highest fault current at any breaker", &parts))
}

/// One finding for each rating and number of poles that no record serves.
fn refused(case: &Case<'_>, all: &[BreakerChoice<'_>], ask: &Asked, breakers: &[&Breaker]) -> Vec<Finding> {
    // without a fault current nothing can be chosen: that is a finding of its own
    let Some(fault) = &ask.fault else { return Vec::new() };
    let mut kinds: BTreeMap<(usize, String), (&BreakerChoice<'_>, &Known<Current>)> = BTreeMap::new();
    for choice in all.iter().filter(|c| !c.there && c.record.is_none()) {
        if let Some(rating) = &choice.rating {
            kinds.entry((choice.poles, rating.value().to_string())).or_insert((choice, rating));
        }
    }
    let finding = |(choice, rating): (&BreakerChoice<'_>, &Known<Current>)| {
        let poles = if choice.poles == 1 { "1 pole".to_owned() } else { format!("{} poles", choice.poles) };
        let near = fitting(rating.value(), choice.poles, breakers)
            .max_by_key(|b| (ask.bears(b), b.interrupting.si().to_bits()));
        let why = match near {
            None => "none of this rating is in it".to_owned(),
            Some(b) if b.voltage.is_none() => format!("{} states no voltage", b.id),
            Some(b) if !ask.bears(b) => format!("{} does not bear that voltage", b.id),
            Some(b) => format!("{} breaks {}", b.id, b.interrupting),
        };
        let message = say!(
            "the catalogue has no breaker of {rating} with {poles} for {x} ({to_earth} to earth) that breaks {fault}: {why}",
            rating = rating.value(),
            poles,
            x = if choice.poles == 1 { ask.to_neutral } else { ask.between },
            to_earth = ask.to_earth,
            fault = fault.value(),
            why
        );
        let part = plant::full::gathered(&choice.part);
        let finding = Finding::new("breaker-not-found", Severity::NotCovered, part, message)
            .by("NEC 2023 110.9, 240.85; IEC 60364-4-43 434.5.1")
            .at(Some(&case.site.group.place), say!("this group"))
            .fix(say!(
                "add one that serves to a catalogue of your own, or state a lower fault current if the utility gives one; series ratings are not looked at"
            ));
        match near {
            Some(b) if ask.bears(b) => {
                let limit =
                    Known::catalog("I_cu", "interrupting rating", b.interrupting, &b.id, "interrupting");
                finding.measured(fault.node(), limit.node())
            }
            _ => finding,
        }
    };
    kinds.into_values().map(finding).collect()
}
