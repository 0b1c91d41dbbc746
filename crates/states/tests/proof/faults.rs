//! Planted faults: at least four broken plants for each property, each found by that property, with the shortest
//! sequence of moves as brute force finds it.

use catalog::{BypassKind, NeutralPole};
use plant::full::{BondPlace, Former, FullPlant, NeutralPath, Part, PartKind};
use plant::{ArraySide, Condition, Control, Layout, Rule, SourceKind};
use site::Earthing;
use states::proof::{Outcome, ProofInput, Property, prove};

use crate::brute::Brute;
use crate::edits::{always, bond, breaker_between, device, gear, node, own_device, part, rules, tap, with};
use crate::plants::{ASKED, Inlet, Shape, build, shape};

/// A broken plant: what is wrong, the property that must find it, the number of moves by hand where one can tell.
struct Fault {
    what: &'static str,
    property: Property,
    plant: FullPlant,
    input: ProofInput,
    moves: Option<usize>,
}

fn fault(what: &'static str, property: Property, plant: FullPlant, moves: Option<usize>) -> Fault {
    Fault { what, property, plant, input: ASKED, moves }
}

fn inline() -> Shape {
    shape(Layout::Inline, 2)
}

fn outboard() -> Shape {
    shape(Layout::Outboard, 2)
}

fn sources_meet() -> Vec<Fault> {
    let p1 = |what, plant, moves| fault(what, Property::SourcesMeet, plant, moves);
    let breakers = Shape { bypass: Some(BypassKind::InterlockedBreakers), ..inline() };
    let second = Shape { inlet: Inlet::Second, ..inline() };
    vec![
        // close the bypass, open the group breaker, both relays open: the group forms
        p1("bypass of two independent breakers", with(&breakers, |p| p.interlocks.clear()), Some(4)),
        p1(
            "a jumper across the bypass side of the switch",
            with(&inline(), |p| part(p, "bypass.bypass").moved_by = None),
            Some(3),
        ),
        p1(
            "generator on the main panel",
            with(&second, |p| breaker_between(p, "generator.feed", "main")),
            Some(1),
        ),
        p1(
            "generator on the backup panel",
            with(&second, |p| breaker_between(p, "generator.feed", "backup")),
            Some(1),
        ),
        p1(
            "second-input relays that do not look at the first",
            with(&second, |p| {
                for k in 1..=2 {
                    let terminal = node(p, &format!("unit.{k}.second.run"));
                    let id = format!("unit.{k}.second relay");
                    let mut rules = rules(p, &id);
                    rules[0].when = Condition::LiveFromOutside(terminal);
                    rules[1].when = Condition::LiveFromOutside(terminal).negated();
                    gear(p, &id).control = Control::Automatic(rules);
                }
            }),
            Some(2),
        ),
        p1(
            "array that nothing locks out on the generator",
            with(&Shape { array: Some(ArraySide::Backup), ..second.clone() }, |p| {
                part(p, "array barn.inverter 1.lock-out").moved_by = None;
                p.followers[0].lockout = None;
            }),
            None,
        ),
        p1(
            "array whose contactor looks at the utility and not at the generator",
            with(&Shape { array: Some(ArraySide::Backup), ..second.clone() }, |p| {
                let mut rules = rules(p, "array barn.lock-out");
                rules[0].when = Condition::Present(SourceKind::Utility);
                rules[1].when = Condition::Present(SourceKind::Utility).negated();
                gear(p, "array barn.lock-out").control = Control::Automatic(rules);
            }),
            None,
        ),
        p1(
            "array on the generator's side of the units",
            with(&Shape { array: Some(ArraySide::Main), ..second.clone() }, |p| {
                let at = node(p, "generator.feed");
                part(p, "array barn.inverter 1").from = at;
            }),
            Some(1),
        ),
        p1(
            "source switch of two independent poles",
            with(&Shape { inlet: Inlet::Switch, ..inline() }, |p| {
                let own = own_device(p, "generator pole", 0, Control::Manual);
                part(p, "source switch.generator").moved_by = Some((own, 1));
            }),
            Some(2),
        ),
    ]
}

fn dead_utility() -> Vec<Fault> {
    let p2 = |what, plant, moves| fault(what, Property::DeadUtility, plant, moves);
    let breakers = Shape { bypass: Some(BypassKind::InterlockedBreakers), ..inline() };
    let second = Shape { inlet: Inlet::Second, ..inline() };
    vec![
        p2("bypass of two independent breakers", with(&breakers, |p| p.interlocks.clear()), Some(4)),
        p2(
            "a jumper across the bypass side of the switch",
            with(&inline(), |p| part(p, "bypass.bypass").moved_by = None),
            Some(3),
        ),
        // the array inverter goes on with the group's voltage, on the utility's side of the bypass
        p2(
            "array on the utility side, with a bypass of two independent breakers",
            with(&Shape { array: Some(ArraySide::Main), ..breakers.clone() }, |p| p.interlocks.clear()),
            Some(4),
        ),
        // utility fails, two relays open, the switch goes to the group
        p2(
            "utility pole of the transfer switch welded",
            with(&outboard(), |p| part(p, "transfer.utility").moved_by = None),
            Some(4),
        ),
        p2(
            "generator on the main panel",
            with(&second, |p| breaker_between(p, "generator.feed", "main")),
            Some(2),
        ),
        // the other relay opens
        p2(
            "relay that stays closed and is not noticed",
            with(&inline(), |p| {
                let relay = device(p, "unit.1.relay");
                gear(p, "unit.1.relay").control = Control::Automatic(Vec::new());
                for unit in &mut p.units {
                    unit.relays.retain(|r| *r != relay);
                }
            }),
            Some(2),
        ),
    ]
}

fn service() -> Vec<Fault> {
    let p3 = |what, plant, moves| fault(what, Property::Service, plant, moves);
    vec![
        p3(
            "transfer switch by hand",
            with(&outboard(), |p| gear(p, "transfer").control = Control::Manual),
            Some(3),
        ),
        // generator starts, battery empty, utility fails, two relays open, then two close onto the generator
        p3(
            "switch that watches the group's own voltage only",
            with(&Shape { inlet: Inlet::Second, ..outboard() }, |p| {
                let mut rules = rules(p, "transfer");
                rules[1].when = Condition::GroupForms;
                gear(p, "transfer").control = Control::Automatic(rules);
            }),
            None,
        ),
        p3(
            "inhibit ahead of a source switch",
            with(&Shape { inlet: Inlet::Switch, inhibit: true, ..outboard() }, |_| {}),
            None,
        ),
        p3(
            "group output breaker open in normal operation",
            with(&inline(), |p| gear(p, "group.output").normal = 0),
            Some(0),
        ),
        p3(
            "two controls that undo each other",
            with(&outboard(), |p| {
                let transfer = device(p, "transfer");
                let delay = rules(p, "transfer")[0].delay.clone();
                let rule = |when, position| Rule { when, position, delay: delay.clone() };
                let chase = |d, to| vec![rule(Condition::At(d, 0), to), rule(Condition::At(d, 1), 1 - to)];
                let other = own_device(p, "contactor", 0, Control::Automatic(chase(transfer, 1)));
                gear(p, "transfer").control = Control::Automatic(chase(other, 0));
            }),
            Some(0),
        ),
    ]
}

fn isolation() -> Vec<Fault> {
    let p4 = |what, plant| fault(what, Property::Isolation, plant, None);
    let second = Shape { inlet: Inlet::Second, ..inline() };
    vec![
        p4(
            "bypass ahead of the unit's own input breaker",
            with(&inline(), |p| part(p, "bypass.supply").from = node(p, "unit.1.input.run")),
        ),
        p4("unit without an output breaker", with(&inline(), |p| part(p, "unit.1.output").moved_by = None)),
        p4(
            "input breaker that cannot be locked",
            with(&outboard(), |p| gear(p, "unit.2.input").lockable = false),
        ),
        p4("unit without a DC breaker", with(&inline(), |p| part(p, "unit.2.dc").moved_by = None)),
        p4("second input without a breaker", with(&second, |p| part(p, "unit.1.second").moved_by = None)),
        p4("no bypass where one is asked for", with(&Shape { bypass: None, ..inline() }, |_| {})),
        p4(
            "TT, and an output breaker that passes the neutral on",
            with(&Shape { earthing: Earthing::Tt, ..inline() }, |p| {
                part(p, "unit.1.output").neutral = NeutralPath::Solid;
            }),
        ),
    ]
}

fn bonding() -> Vec<Fault> {
    let p5 = |what, plant, moves| fault(what, Property::Bonding, plant, moves);
    let second = Shape { inlet: Inlet::Second, ..inline() };
    vec![
        p5(
            "second bond in the backup panel",
            with(&inline(), |p| bond(p, "backup", BondPlace::Elsewhere, always())),
            Some(0),
        ),
        p5(
            "solid neutral to a generator with a bond of its own",
            with(&second, |p| bond(p, "generator", BondPlace::Generator, always())),
            Some(0),
        ),
        // utility fails, two relays open: the island floats
        p5(
            "gear that switches the neutral, and no bond of the group",
            with(&Shape { neutral: NeutralPole::Switched, ..outboard() }, |p| {
                for k in 1..=2 {
                    part(p, &format!("unit.{k}.relay")).neutral = NeutralPath::Switched;
                }
            }),
            Some(3),
        ),
        p5(
            "units that bond in the island beside a solid neutral",
            with(&inline(), |p| bond(p, "output", BondPlace::Group, Condition::GroupForms)),
            Some(3),
        ),
        p5(
            "TT island on the supplier's earth",
            build(&Shape { earthing: Earthing::Tt, ..inline() }),
            Some(3),
        ),
        p5("no bond at the service", with(&inline(), |p| p.bonds.clear()), Some(0)),
        p5(
            "IT with an earthed neutral",
            with(&Shape { earthing: Earthing::It, ..inline() }, |p| {
                bond(p, "main", BondPlace::Service, always());
            }),
            Some(0),
        ),
    ]
}

fn protection() -> Vec<Fault> {
    let p6 = |what, plant, moves| fault(what, Property::Protection, plant, moves);
    let second = Shape { inlet: Inlet::Second, ..inline() };
    vec![
        p6("tap without a breaker", with(&inline(), |p| tap(p, "backup")), Some(0)),
        p6(
            "switch in place of a unit's input breaker",
            with(&inline(), |p| part(p, "unit.1.input").kind = PartKind::Switch),
            Some(0),
        ),
        p6(
            "switch in place of the transfer switch's supply breaker",
            with(&outboard(), |p| part(p, "transfer.supply").kind = PartKind::Switch),
            Some(0),
        ),
        p6(
            "generator breaker too large for its conductor",
            with(&second, |p| {
                let large =
                    derivation::Known::assumed("I_n", "breaker", quantity::Current::of(500.0), "test");
                part(p, "generator.breaker").rating = Some(large);
            }),
            Some(1),
        ),
        p6(
            "service conductors that no clause exempts",
            with(&inline(), |p| part(p, "service.conductor").exempt.clear()),
            Some(0),
        ),
        // only from the group is the tap too small: group breaker opened, relays open
        p6(
            "tap on the group's output behind a breaker of the input only",
            with(&inline(), |p| {
                let small = derivation::Known::assumed("I_n", "breaker", quantity::Current::of(20.0), "test");
                part(p, "group.breaker").rating = Some(small);
                tap(p, "output");
            }),
            None,
        ),
    ]
}

fn neutral() -> Vec<Fault> {
    let p7 = |what, plant, moves| fault(what, Property::Neutral, plant, moves);
    let line = Shape { unit: "demo-line-6k", bypass: None, ..inline() };
    let asked = ProofInput { bypass_asked: false, ..ASKED };
    let mut former = p7(
        "neutral former on its own breaker, which does not trip the lines",
        build(&Shape { trips: false, ..shape_island(&line) }),
        Some(1),
    );
    former.input = asked;
    let mut without =
        p7("line-to-line units without a former", with(&shape_island(&line), |p| p.formers.clear()), Some(0));
    without.input = asked;
    let mut elsewhere = p7(
        "former on the wrong side of the output breaker",
        with(&shape_island(&line), |p| {
            let node = node(p, "unit.1.dc");
            p.formers = vec![Former { id: "former".to_owned(), node, moved_by: None }];
        }),
        Some(0),
    );
    elsewhere.input = asked;
    vec![
        former,
        without,
        elsewhere,
        p7(
            "neutral link in the feeder",
            with(&inline(), |p| {
                let link = own_device(p, "neutral link", 1, Control::Manual);
                let feeder = part(p, "backup.feeder");
                feeder.neutral = NeutralPath::Absent;
                let link = Part {
                    id: "link".to_owned(),
                    kind: PartKind::Switch,
                    lines: false,
                    neutral: NeutralPath::Switched,
                    moved_by: Some((link, 1)),
                    ..feeder.clone()
                };
                p.parts.push(link);
            }),
            Some(1),
        ),
        p7(
            "no neutral run to the bypass",
            with(&inline(), |p| {
                part(p, "bypass.bypass").neutral = NeutralPath::Absent;
                part(p, "bypass.units").neutral = NeutralPath::Switched;
            }),
            Some(1),
        ),
        // its supply breaker opens, and it goes to the group, which passes the utility through
        p7(
            "no neutral on the group side of the transfer switch",
            with(&Shape { bypass: None, ..outboard() }, |p| {
                part(p, "transfer.group").neutral = NeutralPath::Absent;
                part(p, "transfer.utility").neutral = NeutralPath::Switched;
            }),
            Some(2),
        ),
    ]
}

fn shape_island(line: &Shape) -> Shape {
    Shape { layout: Layout::Islanded, ..line.clone() }
}

#[test]
fn every_planted_fault_is_found_by_its_property() {
    let all = [sources_meet(), dead_utility(), service(), isolation(), bonding(), protection(), neutral()];
    for faults in &all {
        let property = faults[0].property;
        assert!(faults.len() >= 4, "{property:?}");
        for fault in faults {
            let proof = prove(&fault.plant, &fault.input);
            let outcome = proof.outcome(property).expect("looked at");
            let Outcome::Broken(broken) = outcome else { panic!("{}: {outcome:?}", fault.what) };
            println!("{} {}: {:?} moves, {}", property.number(), fault.what, outcome.moves(), broken.what);
            let brute = Brute { plant: &fault.plant, input: fault.input };
            if property == Property::Isolation {
                assert_eq!(outcome.moves(), None);
                continue;
            }
            let moves = outcome.moves().expect("a way");
            let shortest = brute.moves_to(|s| brute.breaks(property, s), 400_000);
            assert_eq!(Some(moves), shortest, "{}: {:#?}", fault.what, broken.told);
            if let Some(by_hand) = fault.moves {
                assert_eq!(moves, by_hand, "{}: {:#?}", fault.what, broken.told);
            }
            // every step is a move that brute force knows, and the end breaks the property
            assert_eq!(broken.way[0].state, brute.start());
            for pair in broken.way.windows(2) {
                assert!(brute.next(&pair[0].state).contains(&pair[1].state), "{}", fault.what);
            }
            assert!(brute.breaks(property, &broken.way.last().expect("an end").state), "{}", fault.what);
            assert!(!broken.what.is_empty() && !broken.fix.is_empty() && !broken.part.is_empty());
        }
    }
}

/// What a fault of isolation says, and that a state-by-state look agrees: no state isolates the unit with the panel
/// served, and without the fault some do.
#[test]
fn faults_of_isolation_have_no_way_out() {
    let one = |shape: Shape| Shape { units: 1, most_a_leg: 1, ..shape };
    type Change = fn(&mut FullPlant);
    let edits: [(&str, Change); 4] = [
        ("nothing", |_| {}),
        ("output", |p| part(p, "unit.1.output").moved_by = None),
        ("input", |p| gear(p, "unit.1.input").lockable = false),
        ("bypass", |p| part(p, "bypass.supply").from = node(p, "unit.1.input.run")),
    ];
    for (what, edit) in edits {
        let plant = with(&one(inline()), edit);
        let brute = Brute { plant: &plant, input: ASKED };
        let possible = brute.all().iter().any(|s| brute.isolates(1, s));
        let holds = prove(&plant, &ASKED).outcome(Property::Isolation) == Some(&Outcome::Holds);
        assert_eq!((holds, holds), (possible, what == "nothing"), "{what}");
    }
}

/// A source that is lost after the fault was made counts too: bypass round closed relays, then the utility fails.
#[test]
fn the_bypass_round_closed_relays_is_harmless_until_the_utility_fails() {
    let breakers = Shape { bypass: Some(BypassKind::InterlockedBreakers), ..inline() };
    let plant = with(&breakers, |p| p.interlocks.clear());
    let proof = prove(&plant, &ASKED);
    let Some(Outcome::Broken(broken)) = proof.outcome(Property::DeadUtility) else { panic!("broken") };
    assert_eq!(
        broken.told,
        [
            "normal operation: utility live, battery holds",
            "someone closes bypass breaker, bypass side",
            "the utility fails",
            "the relays of units 1 and 2 open",
        ]
    );
    assert_eq!(broken.what, "the group energises the dead utility");
    assert_eq!(plant.supply(SourceKind::Utility), Some(node(&plant, "utility")));
}
