//! Every unit by itself.

use catalog::{DelayRange, LegControl};
use derivation::Known;
use quantity::Leg;

use super::build::{Breaker, Builder, FullGear, register};
use super::generator::{any_time, second_breaker};
use super::{NodeKind, PartKind, Unit, battery};
use crate::{Condition, Control, DeviceIx, Layout, NodeIx, Rule, SourceKind};

/// What one unit has on its input sides.
struct Sides {
    number: u8,
    ac: NodeIx,
    dc: NodeIx,
    first: Option<(DeviceIx, NodeIx)>,
    second: Option<(DeviceIx, NodeIx)>,
}

/// Clause for conductors that only a limited source feeds.
const LIMITED: &str =
    "IEC 60364-4-43 clause 436, form of NEC 240.21 (from memory): the source cannot feed more";

/// `hold`: must hold for a first input to count as good.
pub(super) fn units(
    b: &mut Builder,
    gear: &FullGear<'_>,
    (input, second, output): (Option<NodeIx>, Option<NodeIx>, NodeIx),
    hold: Option<Condition>,
) {
    let sides: Vec<Sides> = (1..=gear.units).map(|k| unit(b, gear, k, (input, second, output))).collect();
    rules(b, gear, &sides, hold);
    for side in sides {
        let relays = [side.first, side.second].into_iter().flatten().map(|(relay, _)| relay).collect();
        register(
            b,
            Unit {
                number: side.number,
                legs: legs(gear, side.number),
                ac: side.ac,
                relays,
                dc: side.dc,
                neutral: gear.unit.leg_control != LegControl::LineToLine,
                linked: true,
            },
        );
    }
}

fn unit(
    b: &mut Builder,
    gear: &FullGear<'_>,
    k: u8,
    (input, second, output): (Option<NodeIx>, Option<NodeIx>, NodeIx),
) -> Sides {
    let id = |what: &str| format!("unit.{k}.{what}");
    let name = |what: &str| format!("unit {k} {what}");
    let ac = b.node(&id("ac"), &name("AC"), NodeKind::Terminal, Some(k));
    let first = input.map(|bus| {
        let rating = Known::catalog(
            "I_r",
            "rating of one transfer relay",
            gear.unit.relay.continuous,
            &gear.unit.id,
            "relay continuous",
        );
        let normal = u8::from(gear.layout != Layout::Islanded);
        let names = Names { side: "input", relay: "relay", words: "input breaker", relay_words: "relay" };
        inlet(b, gear, k, bus, ac, &names, (gear.input_breaker(), rating, normal))
    });
    let second = second.zip(gear.second_input()).map(|(bus, inlet_of)| {
        let rating = Known::catalog(
            "I_r2",
            "rating of one second-input relay",
            inlet_of.continuous,
            &gear.unit.id,
            "second_input continuous",
        );
        let names = Names {
            side: "second",
            relay: "second relay",
            words: "second-input breaker",
            relay_words: "second-input relay",
        };
        inlet(b, gear, k, bus, ac, &names, (second_breaker(gear), rating, 0))
    });
    let far = (first.is_some() || second.is_some()).then(|| gear.input_breaker());
    let names = (id("output.run"), name("output breaker"));
    let end = b.run_of_unit((&names.0, &names.1), ac, (gear.output_breaker(), far), k);
    b.exempt(&format!("{}.conductor", id("output.run")), SourceKind::Group, LIMITED);
    let breaker = Breaker {
        id: &id("output"),
        name: &name("output breaker"),
        rating: gear.output_breaker(),
        neutral: gear.breaker_neutral(),
        unit: Some(k),
    };
    b.breaker(breaker, (end, output));
    let dc = b.node(&id("dc"), &name("DC terminals"), NodeKind::Dc, Some(k));
    let device = b.gear((&id("dc"), &name("DC breaker")), &["open", "closed"], 1, Some(k));
    if let Some(gear) = b.plant.gear.get_mut(device.0) {
        gear.lockable = true;
    }
    battery::unit(b, gear, k, (dc, device));
    Sides { number: k, ac, dc, first, second }
}

/// The legs that a unit sits on. Units are numbered leg by leg.
fn legs(gear: &FullGear<'_>, number: u8) -> Vec<Leg> {
    let all = gear.system.legs();
    let mut last = 0_u8;
    for (leg, count) in all.iter().zip(&gear.on_legs) {
        last = last.saturating_add(*count);
        if number <= last {
            return vec![*leg];
        }
    }
    all.to_vec()
}

struct Names {
    side: &'static str,
    relay: &'static str,
    words: &'static str,
    relay_words: &'static str,
}

/// Breaker on the bus, conductor, terminal, relay.
fn inlet(
    b: &mut Builder,
    gear: &FullGear<'_>,
    k: u8,
    bus: NodeIx,
    ac: NodeIx,
    names: &Names,
    (breaker, relay, normal): (Known<quantity::Current>, Known<quantity::Current>, u8),
) -> (DeviceIx, NodeIx) {
    let side = format!("unit.{k}.{}", names.side);
    let words = format!("unit {k} {}", names.words);
    let behind = b.node(&format!("{side}.breaker"), &format!("{words}, load side"), NodeKind::Bus, Some(k));
    let part = Breaker {
        id: &side,
        name: &words,
        rating: breaker.clone(),
        neutral: gear.breaker_neutral(),
        unit: Some(k),
    };
    b.breaker(part, (bus, behind));
    let run = (format!("{side}.run"), format!("unit {k} {} terminals", names.side));
    let terminal = b.run_of_unit((&run.0, &run.1), behind, (breaker, Some(gear.output_breaker())), k);
    b.exempt(&format!("{}.conductor", run.0), SourceKind::Group, LIMITED);
    let relay_id = format!("unit.{k}.{}", names.relay);
    let relay_name = format!("unit {k} {}", names.relay_words);
    let device = b.gear((&relay_id, &relay_name), &["open", "closed"], normal, Some(k));
    b.part(
        (&relay_id, &relay_name),
        PartKind::Relay,
        (terminal, ac),
        gear.relay_neutral(),
        Some((device, 1)),
        Some(relay),
    );
    (device, terminal)
}

/// Rules of the relays. A unit follows its own inputs; what the units decide together: none closes onto one input
/// while another is closed onto the other, and the first input wins. A held input leaves the second one free.
fn rules(b: &mut Builder, gear: &FullGear<'_>, sides: &[Sides], hold: Option<Condition>) {
    let unit = gear.unit;
    let leave = DelayRange { earliest: quantity::Duration::ZERO, latest: Some(unit.transfer_gap) };
    let reconnect = DelayRange { earliest: unit.reconnect_earliest, latest: unit.reconnect_latest };
    let close = if gear.generator.is_none() { reconnect } else { any_time() };
    let good = |terminal| {
        let live = Condition::LiveFromOutside(terminal);
        Condition::All([live].into_iter().chain(hold.clone()).collect())
    };
    let open = |relays: &mut dyn Iterator<Item = DeviceIx>| -> Vec<Condition> {
        relays.map(|relay| Condition::At(relay, 0)).collect()
    };
    let no_first_good: Vec<Condition> =
        sides.iter().filter_map(|s| s.first).map(|(_, terminal)| good(terminal).negated()).collect();
    for side in sides {
        if let Some((device, terminal)) = side.first {
            let mut all = vec![good(terminal)];
            all.extend(open(&mut sides.iter().filter_map(|s| s.second).map(|(relay, _)| relay)));
            b.control(device, follow(all, close.clone(), leave.clone()));
        }
        if let Some((device, terminal)) = side.second {
            let mut all = vec![Condition::LiveFromOutside(terminal)];
            all.extend(open(&mut sides.iter().filter_map(|s| s.first).map(|(relay, _)| relay)));
            all.extend(no_first_good.clone());
            b.control(device, follow(all, any_time(), leave.clone()));
        }
    }
}

fn follow(good: Vec<Condition>, close: DelayRange, leave: DelayRange) -> Control {
    let good = Condition::All(good);
    Control::Automatic(vec![
        Rule { when: good.clone(), position: 1, delay: close },
        Rule { when: good.negated(), position: 0, delay: leave },
    ])
}
