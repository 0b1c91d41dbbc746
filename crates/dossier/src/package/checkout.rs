//! The check-out: what is looked at and measured, in the order in which it can be done and is safe. Nothing gives
//! alternating voltage before the settings are read back; the group forms its island alone before the utility is joined;
//! every device is closed by a step of its own before a later one rests on it. Each step carries what it does to the plant
//! as data; `crates/dossier/tests/checkout.rs` plays all of it.

use std::sync::Arc;

use assess::{Case, full_plant};
use derivation::Node;
use design::{Design, Readings, SourceReadings};
use plant::full::{FullPlant, Gear, Part, PartKind, Unit};
use saying::{Text, say};

use super::{arrays, bypass, cold, direct, generator, island, load, neutrals, of_loads, residual, utility};
use crate::{Act, CheckoutStep, Reading, Setting};

pub(super) const STOP: Text = Text::plain("stop, make safe, find the cause before going on");
pub(super) const LIVE: Text = Text::plain(
    "Live parts: arc-rated clothing, face shield, one person measures and one watches. Doors that need not be open are shut.",
);

/// A step without number, caution or readings.
pub(super) fn step(stage: &'static str, action: impl Into<Text>) -> CheckoutStep {
    CheckoutStep {
        number: 0,
        stage,
        action: action.into(),
        caution: None,
        readings: Vec::new(),
        otherwise: STOP,
        acts: Vec::new(),
    }
}

impl CheckoutStep {
    pub(super) fn caution(mut self, words: impl Into<Text>) -> Self {
        self.caution = Some(words.into());
        self
    }

    /// A reading that is a yes or no, or a word.
    pub(super) fn see(mut self, what: impl Into<Text>, expected: impl Into<Text>) -> Self {
        self.readings.push(Reading { what: what.into(), expected: expected.into(), from: Vec::new() });
        self
    }

    /// A reading with the figures it rests on.
    pub(super) fn read(
        mut self,
        what: impl Into<Text>,
        expected: impl Into<Text>,
        from: &[&Arc<Node>],
    ) -> Self {
        let from = from.iter().map(|n| (*n).clone()).collect();
        self.readings.push(Reading { what: what.into(), expected: expected.into(), from });
        self
    }

    pub(super) fn otherwise(mut self, words: impl Into<Text>) -> Self {
        self.otherwise = words.into();
        self
    }

    pub(super) fn moves(mut self, device: impl Into<String>, to: &'static str) -> Self {
        self.acts.push(Act::Moves { device: device.into(), to });
        self
    }

    pub(super) fn closes(self, device: impl Into<String>) -> Self {
        self.moves(device, "closed")
    }

    pub(super) fn opens(self, device: impl Into<String>) -> Self {
        self.moves(device, "open")
    }

    pub(super) fn live(mut self, place: impl Into<String>) -> Self {
        self.acts.push(Act::Live(place.into()));
        self
    }

    pub(super) fn dead(mut self, place: impl Into<String>) -> Self {
        self.acts.push(Act::Dead(place.into()));
        self
    }

    /// The same for each of several.
    pub(super) fn each<T>(self, of: impl IntoIterator<Item = T>, act: impl Fn(Self, T) -> Self) -> Self {
        of.into_iter().fold(self, act)
    }

    /// Only where it holds.
    pub(super) fn given(self, holds: bool, act: impl FnOnce(Self) -> Self) -> Self {
        if holds { act(self) } else { self }
    }
}

/// What the steps are made from.
pub(super) struct Walk<'d, 'c> {
    pub design: &'d Design<'c>,
    pub case: &'d Case<'c>,
    pub r: &'d Readings,
    pub settings: &'d [Setting],
    pub plant: FullPlant,
    /// Number of the unit that leads.
    pub lead: u8,
}

impl Walk<'_, '_> {
    pub fn gear(&self, id: &str) -> Option<&Gear> {
        self.plant.gear.iter().find(|g| g.id == id)
    }

    pub fn has(&self, id: &str) -> bool {
        self.gear(id).is_some()
    }

    pub fn place(&self, id: &str) -> bool {
        self.plant.nodes.iter().any(|n| n.id == id)
    }

    /// The generator starts by itself where nobody blocks it.
    pub fn automatic(&self) -> bool {
        let wish = self.case.site.generator.as_ref().filter(|_| self.case.generator.is_some());
        wish.and_then(|g| g.automatic.as_ref()).is_some_and(|a| a.value)
    }

    pub fn utility(&self) -> bool {
        self.has("service")
    }

    /// Lead unit first, then the others by number.
    pub fn in_order(&self) -> Vec<&Unit> {
        let mut all: Vec<&Unit> = self.plant.units.iter().collect();
        all.sort_by_key(|u| (u.number != self.lead, u.number));
        all
    }

    /// Devices of one side of every unit: "input", "relay", "second", ...
    pub fn of_units(&self, side: &str) -> Vec<String> {
        let ids = self.plant.units.iter().map(|u| format!("unit.{}.{side}", u.number));
        ids.filter(|id| self.has(id)).collect()
    }

    /// Every leg of the system is there, with an order of its own.
    pub fn rotates(&self) -> bool {
        self.case.system().legs().len() > 2
    }

    /// Devices on direct current that move by hand: of the strings of battery and arrays.
    pub fn by_hand(&self) -> impl Iterator<Item = &Part> {
        self.plant.parts.iter().filter(|p| p.kind == PartKind::Breaker && p.moved_by.is_none())
    }

    /// The service opens, and what follows by itself.
    pub fn leave(&self, s: CheckoutStep) -> CheckoutStep {
        s.given(self.utility(), |s| {
            s.opens("service")
                .each(self.of_units("relay"), CheckoutStep::opens)
                .given(self.has("transfer"), |s| s.moves("transfer", "on the group"))
        })
    }

    /// The service closes, and what follows by itself.
    pub fn come_back(&self, s: CheckoutStep) -> CheckoutStep {
        s.given(self.utility(), |s| {
            s.closes("service")
                .given(self.has("source switch"), |s| s.moves("source switch", "on the utility"))
                .given(self.has("transfer"), |s| s.moves("transfer", "on the utility"))
                .each(self.of_units("relay"), CheckoutStep::closes)
        })
    }
}

/// The voltages of a place, as expected.
pub(super) fn volts(s: CheckoutStep, e: &SourceReadings, at: impl Into<Text>) -> CheckoutStep {
    let at = at.into();
    frequency(between(to_neutral(s, e, say!("each leg"), &at), e, &at), e, &at)
}

pub(super) fn to_neutral(
    s: CheckoutStep,
    e: &SourceReadings,
    leg: impl Into<Text>,
    at: impl Into<Text>,
) -> CheckoutStep {
    let (leg, at): (Text, Text) = (leg.into(), at.into());
    let (low, high) = &e.phase;
    s.read(
        say!("{leg} to neutral {at}", leg, at),
        say!("{low} to {high}", low = low.value(), high = high.value()),
        &[low.node(), high.node()],
    )
}

pub(super) fn between(s: CheckoutStep, e: &SourceReadings, at: impl Into<Text>) -> CheckoutStep {
    let at: Text = at.into();
    let Some((low, high)) = &e.line else { return s };
    s.read(
        say!("between lines {at}", at),
        say!("{low} to {high}", low = low.value(), high = high.value()),
        &[low.node(), high.node()],
    )
}

pub(super) fn frequency(s: CheckoutStep, e: &SourceReadings, at: impl Into<Text>) -> CheckoutStep {
    let at: Text = at.into();
    use quantity::Quantity;
    let (low, high) = &e.frequency;
    s.read(
        say!("frequency {at}", at),
        say!(
            "{low} Hz to {high} Hz",
            low = format!("{:.1}", low.value().si()),
            high = format!("{:.1}", high.value().si())
        ),
        &[low.node(), high.node()],
    )
}

pub(super) fn of(design: &Design<'_>, settings: &[Setting]) -> Vec<CheckoutStep> {
    let r = design::readings(design);
    let lead = design.placed.as_ref().and_then(|p| p.links.lead.rsplit(' ').next()?.parse().ok());
    let case = &design.case;
    let walk = Walk { design, case, r: &r, settings, plant: full_plant(case), lead: lead.unwrap_or(1) };
    let mut all = cold::before(&walk);
    all.extend(residual::electrode(&r));
    all.extend(arrays::strings(design, &r));
    all.extend(direct::steps(&walk));
    all.extend(utility::at_disconnect(&walk));
    all.extend(island::steps(&walk));
    // arrays on the battery stay off until the battery's current in the island has been read
    all.extend(arrays::controllers(&walk));
    all.extend(utility::joined(&walk));
    all.extend(residual::steps(&walk));
    all.extend(bypass::steps(&walk));
    all.extend(generator::steps(&walk));
    all.extend(neutrals::steps(&walk));
    all.extend(of_loads::tried(&walk));
    all.extend(load::in_the_island(&walk));
    // what goes back to the utility is read with every array running
    all.extend(arrays::joined(&walk));
    all.extend(load::towards_the_utility(&walk));
    all.extend(arrays::tried(&walk));
    all.push(load::hand_over(&walk));
    for (number, step) in (1..).zip(&mut all) {
        step.number = number;
    }
    all
}
