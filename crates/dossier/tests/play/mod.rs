//! Plays a check-out on the full plant, step by step, and says where it cannot be carried out as printed. Lines are one
//! bundle, as in the plant: what is live is what closed parts join to a source.

use std::collections::{BTreeMap, BTreeSet};

use dossier::{Act, CheckoutStep, Packed};
use plant::full::{FullPlant, Gear, Part, PartKind};
use plant::{Condition, Control, NodeIx, SourceKind};

struct Play<'p> {
    plant: &'p FullPlant,
    at: BTreeMap<String, String>,
    /// Without a decided bank the bus itself stands for the battery.
    bankless: bool,
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
        for interlock in &self.plant.interlocks {
            let all = interlock.forbids.iter().all(|(d, p)| self.stands(&self.plant.gear[d.0], *p));
            assert!(!all, "{} is broken", interlock.id);
        }
    }

    /// Every automatic device of units that run stands where its rules put it.
    fn settled(&self) {
        for gear in &self.plant.gear {
            let off = gear.unit.is_some_and(|n| !self.is(&format!("unit.{n}"), "forming"));
            let Control::Automatic(rules) = &gear.control else { continue };
            if let Some(rule) = rules.iter().find(|r| self.holds(&r.when)).filter(|_| !off) {
                assert!(self.stands(gear, rule.position), "{} stands {}", gear.id, self.at[&gear.id]);
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

/// Plays all of it from a plant in which everything is closed and on.
pub fn play(plant: &FullPlant, bankless: bool, packed: &Packed) {
    let mut at: BTreeMap<String, String> =
        plant.gear.iter().map(|g| (g.id.clone(), g.positions[usize::from(g.normal)].to_owned())).collect();
    let by_hand: Vec<&Part> =
        plant.parts.iter().filter(|p| p.kind == PartKind::Breaker && p.moved_by.is_none()).collect();
    at.extend(by_hand.iter().map(|p| (p.id.clone(), "closed".to_owned())));
    at.extend(plant.units.iter().map(|u| (format!("unit.{}", u.number), "forming".to_owned())));
    at.insert("generator".to_owned(), "running".to_owned());
    at.insert("battery".to_owned(), "closed".to_owned());
    let normal = at.clone();
    let mut play = Play { plant, at, bankless };
    let mut locked: BTreeSet<String> = BTreeSet::new();
    let mut read_back = false;
    for (k, step) in packed.checkout.iter().enumerate() {
        read_back |= step.stage == "settings";
        for act in &step.acts {
            moved(&mut play, step, act, k == 0, read_back, &mut locked);
            if k > 0 {
                play.apart();
            }
        }
        if k > 0 {
            play.settled();
        }
    }
    // what nothing joins to the units stays locked out
    let ends = |id: &str| {
        let node = plant.nodes.iter().position(|n| n.id == id);
        node.is_some_and(|n| plant.parts.iter().filter(|p| p.from.0 == n || p.to.0 == n).count() == 1)
    };
    let out = ends("generator.feed") && locked.remove("generator.breaker");
    assert!(read_back && locked.is_empty(), "still locked: {locked:?}");
    for (id, position) in normal.iter().filter(|(id, _)| !(out && *id == "generator.breaker")) {
        let ends = if id == "generator" { "stopped" } else { position };
        if id != "generator" || plant.supplies.iter().any(|s| s.kind == SourceKind::Generator) {
            assert!(play.is(id, ends), "{id} ends {} and not {ends}", play.at[id]);
        }
    }
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
        Act::Live(place) => assert!(play.live(play.node(place)), "{words}: {place} is dead"),
        Act::Dead(place) => assert!(!play.live(play.node(place)), "{words}: {place} is live"),
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
                if *to == "closed" && manual {
                    assert!(!play.is(device, "closed"), "{words}: {device} is closed already");
                }
            }
            play.at.insert(device.clone(), (*to).to_owned());
        }
    }
}

/// Onto a live bus a unit goes only after it was measured against it in the same step, both sides live.
fn in_step(play: &Play<'_>, step: &CheckoutStep, device: &str) {
    let bus = play.node("output");
    if !play.live(bus) {
        return;
    }
    let own = Act::Live(format!("{device}.run"));
    let before = step.acts.iter().take_while(|a| !matches!(a, Act::Moves { device: d, .. } if d == device));
    let seen: Vec<&Act> = before.collect();
    assert!(seen.contains(&&own) && seen.contains(&&Act::Live("output".to_owned())), "{}", step.action);
    let read = |r: &dossier::Reading| {
        !r.from.is_empty() && (r.what.contains("across the open") || r.what.contains("of the output bus"))
    };
    assert!(step.readings.iter().any(read), "{}", step.action);
}
