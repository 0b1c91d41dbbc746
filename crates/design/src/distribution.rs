//! The group's own distribution: the buses on which the units' breakers sit. No record of the catalogue is one, so what it
//! must be is said here, and it is made up by whoever builds it.

use derivation::Known;
use plant::full::{FullPlant, Part, PartKind};
use quantity::{Current, Leg};

use crate::Design;

/// One bus with its breakers.
#[derive(Debug, Clone)]
pub struct DistributionBus {
    /// Role path of its node.
    pub role: &'static str,
    /// Name for people.
    pub name: &'static str,
    /// Breakers on it.
    pub ways: usize,
    /// Most lines that one of them switches.
    pub lines: usize,
    /// What its busbar must carry at least: the device ahead of it, where one device feeds it; else the devices of all
    /// units of the fullest leg together. None where a rating is open.
    pub rating: Option<Known<Current>>,
    /// What it must withstand and its breakers must break; none where that is not known.
    pub fault: Option<Known<Current>>,
}

impl DistributionBus {
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
            self.name
        )
    }
}

/// Its buses, in the order of the plant.
pub fn distribution(design: &Design<'_>) -> Vec<DistributionBus> {
    let plant = assess::full_plant(&design.case);
    let fault = |ways: &[&Part]| {
        let all: Option<Vec<Known<Current>>> = ways
            .iter()
            .map(|way| design.breakers.iter().find(|b| b.part == way.id).and_then(|b| b.fault.clone()))
            .collect();
        Known::largest("I_k", "fault current at the bus", &all?)
    };
    let names = [
        ("input", "group input bus"),
        ("generator.feed", "generator input bus"),
        ("output", "group output bus"),
    ];
    let buses = names.into_iter().filter_map(|(role, name)| {
        let at = plant.node_ix(role)?;
        let on = |p: &&Part| p.direct.is_none() && (p.from == at || p.to == at);
        let ways: Vec<&Part> =
            plant.parts.iter().filter(on).filter(|p| p.kind == PartKind::Breaker).collect();
        if ways.is_empty() {
            return None;
        }
        let feed = plant.parts.iter().filter(on).find(|p| p.kind == PartKind::Conductor);
        let feed = feed.filter(|_| role != "output").and_then(|p| p.rating.clone());
        Some(DistributionBus {
            role,
            name,
            ways: ways.len(),
            lines: ways.iter().map(|way| plant.legs_of(way).len()).max().unwrap_or_default(),
            rating: feed.or_else(|| together(&plant, &ways)),
            fault: fault(&ways),
        })
    });
    buses.collect()
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
