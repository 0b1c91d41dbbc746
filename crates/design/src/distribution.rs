//! The group's own distribution: the buses on which the units' breakers sit, each in a housing of the catalogue where one
//! serves. Where none does, what it must be is said here, and it is made up by whoever builds it.

use assess::Case;
use catalog::DistributionBoard;
use derivation::Known;
use plant::full::{FullPlant, Part, PartKind, buses};
use quantity::{Current, Leg, LineVoltage, Quantity};

use crate::{Prepared, breakers};

/// One bus with its breakers.
#[derive(Debug, Clone)]
pub struct DistributionBus<'a> {
    /// Role path of its node.
    pub role: &'static str,
    /// Name for people.
    pub name: &'static str,
    /// Reference designation.
    pub designation: String,
    /// Breakers on it.
    pub ways: usize,
    /// Lines that stand on it: of one-leg units each on its own, all of them together.
    pub lines: usize,
    /// What its busbar must carry at least: the device ahead of it, where one device feeds it; else the devices of all
    /// units of the fullest leg together. None where a rating is open.
    pub rating: Option<Known<Current>>,
    /// What it must withstand and its breakers must break; none where that is not known.
    pub fault: Option<Known<Current>>,
    /// The housing, where one of the catalogue serves.
    pub record: Option<&'a DistributionBoard>,
}

impl DistributionBus<'_> {
    /// What it is called on the wall and in lists.
    pub fn part(&self) -> String {
        format!("{} {}", self.name, self.designation)
    }

    /// As a list of parts and a quotation name it.
    pub fn words(&self) -> String {
        let or_open = |value: Option<String>| value.unwrap_or("open".to_owned());
        let rating = or_open(self.rating.as_ref().map(|I| I.value().to_string()));
        let fault = or_open(self.fault.as_ref().map(|I| I.value().to_string()));
        let lines = if self.lines == 1 { "1 line".to_owned() } else { format!("{} lines", self.lines) };
        let ways =
            if self.ways == 1 { "1 breaker way".to_owned() } else { format!("{} breaker ways", self.ways) };
        format!(
            "{}: busbar {rating} or more, {lines}, neutral and ground (PE) bars, {ways}, for a fault current of {fault} or more",
            self.part()
        )
    }
}

/// Its buses, in the order of the plant.
pub(crate) fn of<'a>(prepared: &'a Prepared<'a>, case: &Case<'_>) -> Vec<DistributionBus<'a>> {
    let plant = assess::full_plant(case);
    let fault = breakers::fault(case);
    let found = buses(&plant).into_iter().map(|bus| {
        let at = plant.node_ix(bus.role);
        let on = |p: &&Part| p.direct.is_none() && (Some(p.from) == at || Some(p.to) == at);
        let feed = plant.parts.iter().filter(on).find(|p| p.kind == PartKind::Conductor);
        let feed = feed.filter(|_| bus.role != "output").and_then(|p| p.rating.clone());
        let rating = feed.or_else(|| together(&plant, &bus.breakers));
        let ways = bus.breakers.len();
        DistributionBus {
            role: bus.role,
            name: bus.name,
            designation: bus.designation,
            ways,
            lines: lines(&plant, &bus.breakers),
            record: record(prepared, case, rating.as_ref(), fault.as_ref(), ways),
            rating,
            fault: fault.clone(),
        }
    });
    found.collect()
}

/// The cheapest housing of the catalogue that carries, withstands and takes the breakers; none while a figure is open.
/// NEC 2023 408.30, 110.9 and 110.10; IEC 61439-1 5.2, 5.3 (from memory).
fn record<'a>(
    prepared: &'a Prepared<'a>,
    case: &Case<'_>,
    rating: Option<&Known<Current>>,
    fault: Option<&Known<Current>>,
    ways: usize,
) -> Option<&'a DistributionBoard> {
    let (rating, fault) = (rating?.value(), fault?.value());
    let lines = case.system().legs().len();
    let to_neutral = LineVoltage::of(case.system().phase_voltage().si());
    let between = case.system().line_voltage().unwrap_or(to_neutral);
    let serves = prepared.catalog.distributions.values().filter(|d| {
        d.rating >= rating
            && d.withstand >= fault
            && d.lines as usize >= lines
            && d.ways as usize >= ways
            && d.voltage >= between
    });
    serves.min_by(|a, b| (a.price, &a.id).cmp(&(b.price, &b.id)))
}

/// Lines that any of the breakers on a bus switches.
fn lines(plant: &FullPlant, ways: &[&Part]) -> usize {
    plant.system.legs().iter().filter(|leg| ways.iter().any(|way| plant.legs_of(way).contains(leg))).count()
}

/// The devices of the units on the fullest leg, together.
fn together(plant: &FullPlant, ways: &[&Part]) -> Option<Known<Current>> {
    let of = |leg: Leg| {
        let own = ways.iter().filter(|way| way.id.starts_with("unit.") && plant.legs_of(way).contains(&leg));
        let ratings: Option<Vec<Known<Current>>> = own.map(|way| way.rating.clone()).collect();
        let ratings = ratings.filter(|all| !all.is_empty())?;
        Some(Known::sum("I_bus", format!("devices of all units on {leg}"), &ratings))
    };
    let legs: Option<Vec<Known<Current>>> = plant.system.legs().iter().map(|leg| of(*leg)).collect();
    Known::largest("I_bus", "devices of the units on the fullest leg", &legs?)
}
