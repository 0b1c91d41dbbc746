//! The units in their frame, with what is between them and the group's output.

use std::collections::BTreeMap;

use super::{
    AC_Y, BEHIND_Y, BOTTOM_Y, BRIDGE_X, Column, Drawing, FEEDER_X, GENERATOR_X, GROUP_X, INPUT_Y, LOAD_Y,
    OUTPUT_Y, RISER_X, SERVED_Y, TRANSFER_X,
};
use crate::expected::{array_nodes, former_live, own_breaker};
use crate::facts::{node_role, of_role, role_of, several};
use crate::pen::TEXT_MM;
use crate::scene::{Layer, Live, wrapped};
use crate::symbol::SymbolKind;

impl Drawing<'_> {
    pub(super) fn units(&mut self) {
        if let Some((part, _)) = of_role(&self.facts.plant, "unit.input") {
            let node = node_role(&self.facts.plant, part.from);
            let parts = [("unit.input", 115.0), ("unit.input.run.conductor", 126.0), ("unit.relay", 137.0)];
            let column =
                Column { x: GROUP_X, from: (INPUT_Y, &node), to: Some(AC_Y), width: 48.0, parts: &parts };
            self.column(&column);
        }
        if let Some((part, _)) = of_role(&self.facts.plant, "unit.second") {
            let node = node_role(&self.facts.plant, part.from);
            let parts =
                [("unit.second", 115.0), ("unit.second.run.conductor", 126.0), ("unit.second relay", 137.0)];
            let joined = AC_Y - 4.5;
            let column = Column {
                x: GENERATOR_X,
                from: (INPUT_Y, &node),
                to: Some(joined),
                width: 46.0,
                parts: &parts,
            };
            self.column(&column);
            let to = if self.has("unit.input") { joined } else { AC_Y };
            self.wire("unit.ac", &[(GENERATOR_X, joined), (GROUP_X, joined), (GROUP_X, to)]);
        }
        let parts = [("unit.output.run.conductor", 158.0), ("unit.output", 169.0)];
        self.column(&Column {
            x: GROUP_X,
            from: (AC_Y, "unit.ac"),
            to: Some(OUTPUT_Y),
            width: 48.0,
            parts: &parts,
        });
        self.wire("unit.ac", &[(GROUP_X, AC_Y), (BRIDGE_X - 5.0, AC_Y)]);
        let count = self.facts.plant.units.len();
        let terminals = ["unit.bridge:1".to_owned(), "unit.bridge:2".to_owned()];
        self.pen
            .symbol((SymbolKind::Bridge, (BRIDGE_X, AC_Y)), "unit.bridge", &terminals, |s| s.count = count);
        let does = match self.live("unit.ac") {
            None => "converter",
            Some(Live::Dead) => "converter: off",
            Some(Live::Group) => "converter: forms",
            Some(_) => "converter: follows",
        };
        self.pen.label((BRIDGE_X + 7.0, AC_Y), &wrapped(does, TEXT_MM, 19.0));
        let roles = self.dc_roles();
        let room = (OUTPUT_Y - 5.5) - (AC_Y + 5.0);
        let step = room / roles.len().max(1) as f64;
        let parts: Vec<(&str, f64)> = roles
            .iter()
            .enumerate()
            .map(|(k, role)| (role.as_str(), AC_Y + 5.0 + step * (k as f64 + 0.5)))
            .collect();
        let column = Column {
            x: BRIDGE_X,
            from: (AC_Y + 5.0, "unit.dc"),
            to: Some(OUTPUT_Y),
            width: 22.0,
            parts: &parts,
        };
        self.column(&column);
        let inputs = self.has("unit.input") || self.has("unit.second");
        let top = if inputs { 109.0 } else { AC_Y - 12.0 };
        let (left, right, bottom) = (66.0, 219.0, 176.5);
        let outline = [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)];
        self.pen.line(Layer::Outline, &outline, None);
        self.pen.text((70.0, 157.0), 3.0, &several(count, "inverter-charger"));
        let drawn = if count > 1 { "each as drawn" } else { "as drawn" };
        let mut words: Vec<String> = self.facts.records.get("unit").cloned().into_iter().collect();
        words.push(drawn.to_owned());
        words.extend(self.on_legs());
        let words: Vec<String> = words.iter().flat_map(|line| wrapped(line, TEXT_MM, 58.0)).collect();
        self.pen.lines((70.0, 161.0), &words);
    }

    /// Which units sit on which legs, where they do not all sit on the same.
    fn on_legs(&self) -> Vec<String> {
        let plant = &self.facts.plant;
        let mut sets: BTreeMap<String, Vec<String>> = BTreeMap::new();
        for unit in &plant.units {
            let legs: Vec<String> = unit.legs.iter().map(ToString::to_string).collect();
            sets.entry(legs.join("-")).or_default().push(unit.number.to_string());
        }
        if sets.len() < 2 {
            return Vec::new();
        }
        let range = |n: &[String]| match n {
            [first, .., last] => format!("units {first} to {last}"),
            [one] => format!("unit {one}"),
            [] => String::new(),
        };
        sets.iter().map(|(legs, n)| format!("{legs}: {}", range(n))).collect()
    }

    /// Roles from a unit's DC terminals to the DC bus.
    fn dc_roles(&self) -> Vec<String> {
        let plant = &self.facts.plant;
        let mut roles: Vec<String> = Vec::new();
        let bus = node_role(plant, plant.dc_bus);
        let mut node = "unit.dc".to_owned();
        while node != bus {
            let next = plant.parts.iter().find_map(|p| {
                let (from, to) = (node_role(plant, p.from), node_role(plant, p.to));
                let role = role_of(p);
                if roles.contains(&role) {
                    None
                } else if to == node {
                    Some((role, from))
                } else if from == node {
                    Some((role, to))
                } else {
                    None
                }
            });
            let Some((role, other)) = next else { break };
            roles.push(role);
            node = other;
        }
        roles
    }

    pub(super) fn output(&mut self) {
        let dc = node_role(&self.facts.plant, self.facts.plant.dc_bus);
        self.bus("output", &[(108.0, OUTPUT_Y), (GROUP_X + 5.0, OUTPUT_Y)]);
        self.pen.label((84.0, OUTPUT_Y), &["output bus".to_owned()]);
        self.bus(&dc, &[(182.0, OUTPUT_Y), (217.0, OUTPUT_Y)]);
        self.pen.label((206.0, OUTPUT_Y + 3.5), &["DC bus".to_owned()]);
        self.wire(&dc, &[(201.0, OUTPUT_Y), (201.0, 188.0)]);
        self.pen.symbol((SymbolKind::Battery, (201.0, 191.0)), "battery", &["battery:1".to_owned()], |_| {});
        let arrays = array_nodes(&self.facts.plant).len();
        let beside = (arrays > 0).then_some("and arrays:").into_iter();
        let words: Vec<String> = beside.chain(["see sheet", "DC side"]).map(str::to_owned).collect();
        self.pen.label((206.0, 192.5), &words);
        let width = if self.facts.plant.formers.is_empty() { 50.0 } else { 24.0 };
        self.column(&Column {
            x: GROUP_X,
            from: (OUTPUT_Y, "output"),
            to: Some(BEHIND_Y),
            width,
            parts: &[("group.output", 191.0)],
        });
        let parts = [("group.output.run.conductor", 209.0)];
        let end = self.column(&Column {
            x: GROUP_X,
            from: (BEHIND_Y, "group.output"),
            to: Some(BOTTOM_Y),
            width: 84.0,
            parts: &parts,
        });
        if self.has("transfer.group") {
            let top = 92.0;
            let x = TRANSFER_X.0;
            self.wire(&end, &[(GROUP_X, BOTTOM_Y), (RISER_X, BOTTOM_Y), (RISER_X, top), (x, top), (x, 97.0)]);
        } else if self.has("bypass.units") {
            let way =
                [(GROUP_X, BOTTOM_Y), (RISER_X, BOTTOM_Y), (RISER_X, SERVED_Y), (TRANSFER_X.1, SERVED_Y)];
            self.wire(&end, &way);
        } else {
            let way = [(GROUP_X, BOTTOM_Y), (RISER_X, BOTTOM_Y), (RISER_X, LOAD_Y), (FEEDER_X, LOAD_Y)];
            self.wire(&end, &way);
        }
        self.former();
    }

    /// A neutral former behind the output breaker, with its own breaker or tripping that one.
    pub(super) fn former(&mut self) {
        let plant = &self.facts.plant;
        let Some(former) = plant.formers.first() else { return };
        let x = 166.0;
        let letter = self.labels.letter(&former.id);
        let own = former.moved_by.filter(|(device, _)| own_breaker(plant, device.0));
        let mut words = vec![format!("{letter} neutral former")];
        let mut top = (BEHIND_Y, "group.output");
        self.wire("group.output", &[(GROUP_X, BEHIND_Y), (x, BEHIND_Y)]);
        let live = self.state.map(|s| former_live(plant, s, &self.live));
        if let Some((device, at)) = own {
            let id = plant.gear.get(device.0).map_or("", |g| g.id.as_str());
            let role = format!("{id}.breaker");
            let closed = self.positions.get(device.0) == Some(&at);
            self.wire("group.output", &[(x, BEHIND_Y), (x, 198.0)]);
            let terminals = [format!("{role}:2"), format!("{role}:1")];
            self.pen.symbol((SymbolKind::Breaker, (x, 194.0)), &role, &terminals, |s| s.closed = closed);
            let stands = match (self.state, closed) {
                (None, _) => "",
                (_, true) => ": closed",
                (_, false) => ": OPEN",
            };
            words.push(format!("{} its breaker{stands}", self.labels.letter(&role)));
            top = (190.0, "former.terminals");
        } else {
            words.push("trips the output breaker".to_owned());
        }
        let live = if top.1 == "group.output" { self.live(top.1) } else { live };
        self.pen.line(Layer::Wire, &[(x, top.0), (x, 188.0)], live);
        let terminal = format!("{}:1", former.id);
        let at = (x, 185.5);
        self.pen.symbol((SymbolKind::Former, at), &former.id, &[terminal], |_| {});
        let words: Vec<String> = words.iter().flat_map(|line| wrapped(line, TEXT_MM, 22.0)).collect();
        self.pen.label((x + 5.0, 192.0), &words);
    }
}
