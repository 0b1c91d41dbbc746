//! Plays a check-out on the full plant, step by step, and says where it cannot be carried out as printed. Lines are one
//! bundle, as in the plant: what is live is what closed parts join to a source.

mod laws;

use std::collections::{BTreeMap, BTreeSet};

use design::ResidualReadings;
use dossier::{Act, CheckoutStep, FINAL, Packed};
use laws::{in_step, legs_known, suns, unattended};
use plant::full::{FullPlant, Gear, Part, PartKind};
use plant::{Condition, Control, NodeIx, SourceKind};

struct Play<'p> {
    plant: &'p FullPlant,
    at: BTreeMap<String, String>,
    /// Without a decided bank the bus itself stands for the battery.
    bankless: bool,
    residual: &'p [ResidualReadings],
}

/// What fed a residual current device that was made to open.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Fed {
    Utility,
    Group,
}

impl Play<'_> {
    fn is(&self, id: &str, position: &str) -> bool {
        self.at.get(id).is_some_and(|p| p == position)
    }

    fn gear(&self, id: &str) -> Option<&Gear> {
        self.plant.gear.iter().find(|g| g.id == id)
    }

    fn stands(&self, gear: &Gear, position: u8) -> bool {
        self.is(&gear.id, gear.positions[usize::from(position)])
    }

    fn closed(&self, part: &Part) -> bool {
        if self.residual.iter().any(|d| d.at == part.id && self.is(d.role, "open")) {
            return false;
        }
        match part.moved_by {
            Some((device, position)) => self.stands(&self.plant.gear[device.0], position),
            None if part.kind == PartKind::Breaker => self.is(&part.id, "closed"),
            None => part.lines && part.kind != PartKind::Converter,
        }
    }

    fn reach(&self, from: NodeIx, but: &dyn Fn(&Part) -> bool) -> BTreeSet<NodeIx> {
        let mut found = BTreeSet::from([from]);
        let mut next = vec![from];
        while let Some(node) = next.pop() {
            for part in self.plant.parts.iter().filter(|p| self.closed(p) && !but(p)) {
                for (here, there) in [(part.from, part.to), (part.to, part.from)] {
                    if here == node && found.insert(there) {
                        next.push(there);
                    }
                }
            }
        }
        found
    }

    /// Sources outside the group that are there.
    fn outside(&self) -> Vec<(SourceKind, NodeIx)> {
        let there = |kind| kind != SourceKind::Generator || self.is("generator", "running");
        self.plant.supplies.iter().filter(|s| there(s.kind)).map(|s| (s.kind, s.node)).collect()
    }

    /// Units that form a voltage.
    fn forming(&self) -> Vec<NodeIx> {
        let forms = |n: u8| self.is(&format!("unit.{n}"), "forming");
        self.plant.units.iter().filter(|u| forms(u.number)).map(|u| u.ac).collect()
    }

    fn direct(&self) -> Vec<NodeIx> {
        let string = |id: &str| {
            let mut end = id.rsplit('.');
            end.next().is_some_and(|n| n.parse::<u32>().is_ok()) && end.next() == Some("string")
        };
        let cells =
            self.plant.nodes.iter().enumerate().filter(|(_, n)| string(&n.id)).map(|(k, _)| NodeIx(k));
        let bus = (self.bankless && self.is("battery", "closed")).then_some(self.plant.dc_bus);
        cells.chain(bus).collect()
    }

    fn node(&self, id: &str) -> NodeIx {
        let found = self.plant.nodes.iter().position(|n| n.id == id);
        NodeIx(found.unwrap_or_else(|| panic!("there is no place {id}")))
    }

    fn live(&self, node: NodeIx) -> bool {
        let ac = self.outside().into_iter().map(|(_, n)| n).chain(self.forming());
        ac.chain(self.direct()).any(|source| self.reach(source, &|_| false).contains(&node))
    }

    /// A place of the plant, or the final circuits behind their residual current devices.
    fn place_live(&self, id: &str) -> bool {
        let open = self.residual.iter().any(|d| d.at == "backup" && self.is(d.role, "open"));
        match id {
            FINAL => !open && self.live(self.plant.panel),
            _ => self.live(self.node(id)),
        }
    }

    fn fed_outside(&self, node: NodeIx) -> bool {
        self.outside().into_iter().any(|(_, s)| self.reach(s, &|_| false).contains(&node))
    }

    fn holds(&self, when: &Condition) -> bool {
        match when {
            Condition::LiveFromOutside(node) => self.fed_outside(*node),
            Condition::Live(node) => self.live(*node),
            Condition::GroupForms => !self.forming().is_empty(),
            Condition::Present(kind) => self.outside().iter().any(|(k, _)| k == kind),
            Condition::At(device, position) => self.stands(&self.plant.gear[device.0], *position),
            Condition::All(all) => all.iter().all(|c| self.holds(c)),
            Condition::Any(any) => any.iter().any(|c| self.holds(c)),
            Condition::Not(c) => !self.holds(c),
        }
    }

    /// Sources that are no one's to synchronise never meet, and units meet the utility through their relays only.
    fn apart(&self) {
        let relay = |p: &Part| p.kind == PartKind::Relay;
        let outside = self.outside();
        for (k, (_, one)) in outside.iter().enumerate() {
            let met = self.reach(*one, &|_| false);
            assert!(outside[k + 1..].iter().all(|(_, other)| !met.contains(other)), "two sources meet");
            let past = self.reach(*one, &relay);
            assert!(
                self.forming().iter().all(|unit| !past.contains(unit)),
                "a source meets units past their relays"
            );
        }
        if self.is("electrode", "open") {
            for place in ["output", "backup"] {
                assert!(!self.live(self.node(place)), "{place} is live without its electrode");
            }
        }
        for interlock in &self.plant.interlocks {
            let all = interlock.forbids.iter().all(|(d, p)| self.stands(&self.plant.gear[d.0], *p));
            assert!(!all, "{} is broken", interlock.id);
        }
    }

    /// Every automatic device of units that run stands where its rules put it.
    fn settled(&self, words: &str) {
        for gear in &self.plant.gear {
            let off = gear.unit.is_some_and(|n| !self.is(&format!("unit.{n}"), "forming"));
            let Control::Automatic(rules) = &gear.control else { continue };
            if let Some(rule) = rules.iter().find(|r| self.holds(&r.when)).filter(|_| !off) {
                assert!(
                    self.stands(gear, rule.position),
                    "{words}: {} stands {}",
                    gear.id,
                    self.at[&gear.id]
                );
            }
        }
    }
}

/// What the action calls a device: units' devices without the number, since the step names the units.
fn called(gear: &Gear) -> String {
    match gear.unit {
        Some(n) => gear.name.trim_start_matches(&format!("unit {n} ")).to_owned(),
        None if gear.id.starts_with("array") => "inverter breaker".to_owned(),
        None => gear.name.trim_end_matches(", units side").trim_end_matches(", bypass side").to_owned(),
    }
}

/// What a plant needs beside its parts to be played.
#[derive(Debug, Clone, Copy)]
pub struct Beside<'d> {
    /// Residual current devices.
    pub residual: &'d [ResidualReadings],
    /// Without a decided bank the bus itself stands for the battery.
    pub bankless: bool,
    /// The generator starts by itself.
    pub automatic: bool,
    /// The installation pre-charges the units.
    pub precharge: bool,
}

impl<'d> Beside<'d> {
    /// Of a design.
    pub fn of(case: &assess::Case<'_>, residual: &'d [ResidualReadings]) -> Self {
        let automatic = case.site.generator.as_ref().and_then(|g| g.automatic.as_ref());
        Self {
            residual,
            bankless: case.bank.is_none(),
            automatic: case.generator.is_some() && automatic.is_some_and(|a| a.value),
            precharge: case.unit.dc.precharge == Some(catalog::Precharge::External),
        }
    }
}

/// Plays all of it from a plant in which everything is closed and on. For each step: the positions in which each device
/// stood in it.
pub fn play(
    plant: &FullPlant,
    beside: Beside<'_>,
    packed: &Packed,
) -> Vec<BTreeMap<String, BTreeSet<String>>> {
    let Beside { residual, bankless, automatic, precharge } = beside;
    let mut at: BTreeMap<String, String> =
        plant.gear.iter().map(|g| (g.id.clone(), g.positions[usize::from(g.normal)].to_owned())).collect();
    let by_hand: Vec<&Part> =
        plant.parts.iter().filter(|p| p.kind == PartKind::Breaker && p.moved_by.is_none()).collect();
    at.extend(by_hand.iter().map(|p| (p.id.clone(), "closed".to_owned())));
    at.extend(plant.units.iter().map(|u| (format!("unit.{}", u.number), "forming".to_owned())));
    at.insert("generator".to_owned(), "running".to_owned());
    at.insert("battery".to_owned(), "closed".to_owned());
    at.insert("electrode".to_owned(), "closed".to_owned());
    at.extend(residual.iter().map(|d| (d.role.to_owned(), "closed".to_owned())));
    if automatic {
        at.insert("generator.start".to_owned(), "free".to_owned());
    }
    let normal = at.clone();
    if precharge {
        at.extend(plant.units.iter().map(|u| (format!("unit.{}.precharge", u.number), "closed".to_owned())));
    }
    let mut play = Play { plant, at, bankless, residual };
    let mut locked: BTreeSet<String> = BTreeSet::new();
    let mut read_back = false;
    let mut tripped: BTreeSet<(&str, Fed)> = BTreeSet::new();
    let mut stood = Vec::new();
    for (k, step) in packed.checkout.iter().enumerate() {
        read_back |= step.stage == "settings";
        let mut here: BTreeMap<String, BTreeSet<String>> =
            play.at.iter().map(|(id, at)| (id.clone(), BTreeSet::from([at.clone()]))).collect();
        for act in &step.acts {
            tripped.extend(opened(&play, step, act));
            legs_known(&play, &packed.checkout[..=k], act);
            if let (true, Act::Moves { device, to: "closed" }) = (precharge, act)
                && let Some(unit) = device.strip_suffix(".dc").filter(|d| d.starts_with("unit."))
            {
                let through = format!("{unit}.precharge");
                assert!(play.is(&through, "closed"), "{device} closes onto empty capacitors");
            }
            moved(&mut play, step, act, k == 0, read_back, &mut locked);
            if k > 0 {
                play.apart();
            }
            for (id, at) in &play.at {
                here.entry(id.clone()).or_default().insert(at.clone());
            }
        }
        if automatic {
            unattended(&play, step, &here);
        }
        suns(&play, step);
        let switches = play.at.iter().filter(|(id, _)| id.ends_with(".precharge"));
        assert!(switches.into_iter().all(|(_, at)| at == "open"), "{}: pre-charge stays on", step.action);
        stood.push(here);
        if k > 0 {
            play.settled(&step.action);
        }
    }
    let utility = plant.supplies.iter().any(|s| s.kind == SourceKind::Utility);
    for device in residual {
        assert!(tripped.contains(&(device.role, Fed::Group)), "{} is never tried on the group", device.role);
        assert_eq!(tripped.contains(&(device.role, Fed::Utility)), utility, "{} on the utility", device.role);
    }
    // what nothing joins to the units stays locked out
    let ends = |id: &str| {
        let node = plant.nodes.iter().position(|n| n.id == id);
        node.is_some_and(|n| plant.parts.iter().filter(|p| p.from.0 == n || p.to.0 == n).count() == 1)
    };
    let out = (ends("generator.feed") || held_off(plant)) && locked.remove("generator.breaker");
    assert!(read_back && locked.is_empty(), "still locked: {locked:?}");
    for (id, position) in normal.iter().filter(|(id, _)| !(out && id.starts_with("generator."))) {
        let ends = if id == "generator" { "stopped" } else { position };
        if id != "generator" || plant.supplies.iter().any(|s| s.kind == SourceKind::Generator) {
            assert!(play.is(id, ends), "{id} ends {} and not {ends}", play.at[id]);
        }
    }
    stood
}

/// Units held off the input behind the source switch while the transfer switch stands on the group.
fn held_off(plant: &FullPlant) -> bool {
    fn mentions(when: &Condition, device: plant::DeviceIx) -> bool {
        match when {
            Condition::At(d, _) => *d == device,
            Condition::All(all) | Condition::Any(all) => all.iter().any(|c| mentions(c, device)),
            Condition::Not(c) => mentions(c, device),
            _ => false,
        }
    }
    let there = plant.gear_ix("source switch").and(plant.gear_ix("transfer"));
    let relay = plant.gear.iter().find(|g| g.id == "unit.1.relay");
    let rules = relay.and_then(|g| match &g.control {
        Control::Automatic(rules) => Some(rules),
        Control::Manual => None,
    });
    there.zip(rules).is_some_and(|(device, rules)| rules.iter().any(|r| mentions(&r.when, device)))
}

/// A residual current device that an act opens under voltage, and what fed it.
fn opened<'p>(play: &Play<'p>, step: &CheckoutStep, act: &Act) -> Option<(&'p str, Fed)> {
    let Act::Moves { device, to: "open" } = act else { return None };
    let found = play.residual.iter().find(|d| d.role == device)?;
    let words = format!("step {} \"{}\"", step.number, step.action);
    assert!(step.action.contains("RCD"), "{words}: does not name it");
    assert!(
        play.live(play.plant.panel) && play.is(device, "closed"),
        "{words}: {device} trips without voltage"
    );
    let dead = if found.at == "backup" { FINAL } else { "backup" };
    let own = |a: &&Act| matches!(a, Act::Moves { device: d, .. } if d == device);
    let after = step.acts.iter().skip_while(|a| !std::ptr::eq(*a, act)).skip(1);
    let seen: Vec<&Act> = after.take_while(|a| !own(a)).collect();
    assert!(seen.contains(&&Act::Dead(dead.to_owned())), "{words}: nobody sees that {dead} is dead");
    Some((found.role, if play.fed_outside(play.plant.panel) { Fed::Utility } else { Fed::Group }))
}

fn moved(
    play: &mut Play<'_>,
    step: &CheckoutStep,
    act: &Act,
    first: bool,
    read_back: bool,
    locked: &mut BTreeSet<String>,
) {
    let words = format!("step {} \"{}\"", step.number, step.action);
    match act {
        Act::Live(place) => assert!(play.place_live(place), "{words}: {place} is dead"),
        Act::Dead(place) => assert!(!play.place_live(place), "{words}: {place} is live"),
        Act::Moves { device, to } => {
            assert!(play.at.contains_key(device), "{words}: there is no {device}");
            let gear = play.gear(device).cloned();
            let manual = gear.as_ref().is_none_or(|g| g.control == Control::Manual);
            if let Some(gear) = &gear {
                assert!(gear.positions.contains(to), "{words}: {device} has no {to}");
            }
            if first {
                if *to == "open" && manual {
                    locked.insert(device.clone());
                }
            } else {
                let alternating = gear.as_ref().is_some_and(|g| !g.id.ends_with(".dc"));
                let forms = ["forming", "running"].contains(to);
                assert!(
                    read_back || !(alternating || forms),
                    "{words}: {device} before settings are read back"
                );
                if let Some(gear) = gear.as_ref().filter(|_| manual) {
                    let name = called(gear);
                    assert!(step.action.contains(&name), "{words}: does not name {name}");
                }
                if *to == "closed" && locked.remove(device) {
                    assert!(step.action.contains("lock"), "{words}: the lock of {device} stays on");
                }
                if *to == "closed" && device.ends_with(".output") && device.starts_with("unit.") {
                    in_step(play, step, device);
                }
                if device.starts_with("bypass") && device != "bypass.supply" && !locked.contains(device) {
                    let off = !play.live(play.plant.panel) || step.stage == "the island";
                    assert!(off, "{words}: {device} is moved with the panel on");
                }
                if *to == "closed" && manual {
                    assert!(!play.is(device, "closed"), "{words}: {device} is closed already");
                }
            }
            play.at.insert(device.clone(), (*to).to_owned());
        }
    }
}
