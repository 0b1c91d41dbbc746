//! The set of reachable states and every verdict, against brute force over all states of small plants, whole and
//! edited at random.

use plant::Control;
use plant::full::{BondPlace, FullPlant, NeutralPath, PartKind};
use plant::{Condition, DeviceIx, Layout};
use proptest::prelude::*;
use site::Earthing;
use states::proof::{Outcome, ProofInput, Property, prove};

use crate::brute::Brute;
use crate::plants::{ASKED, Shape, build, layouts, shape, with_array};

/// Leaves out manual gear that only multiplies states: it stays as it normally is.
pub fn smaller(plant: &mut FullPlant, keep: &[&str]) {
    for gear in &mut plant.gear {
        if gear.control == Control::Manual && !keep.contains(&gear.id.as_str()) {
            gear.control = Control::Automatic(Vec::new());
        }
    }
}

pub fn held_against(plant: &FullPlant, input: ProofInput) {
    let proof = prove(plant, &input);
    let brute = Brute { plant, input };
    let all = brute.all();
    assert_eq!(proof.states, all.len().to_string());
    for (property, outcome) in &proof.results {
        if *property == Property::Isolation {
            let each = plant.units.iter().all(|u| all.iter().any(|s| brute.isolates(u.number, s)));
            let at_once = all.iter().any(|s| plant.units.iter().all(|u| brute.isolates(u.number, s)));
            assert_eq!(*outcome == Outcome::Holds, each && (at_once || !input.bypass_asked));
            continue;
        }
        let broken = all.iter().any(|s| brute.breaks(*property, s));
        assert_eq!(matches!(outcome, Outcome::Broken(_)), broken, "{property:?} {outcome:?}");
        if let Some(moves) = outcome.moves() {
            assert_eq!(
                brute.moves_to(|s| brute.breaks(*property, s), 1_000_000),
                Some(moves),
                "{property:?}"
            );
        }
    }
}

pub const KEPT: [&str; 7] = [
    "bypass",
    "bypass.units",
    "bypass.bypass",
    "unit.1.input",
    "unit.1.output",
    "unit.2.output",
    "group.breaker",
];

#[test]
fn every_layout_has_exactly_the_states_and_verdicts_of_brute_force() {
    for shape in layouts(2) {
        let mut plant = build(&shape);
        smaller(&mut plant, &KEPT);
        held_against(&plant, ASKED);
    }
}

#[test]
fn every_layout_with_an_array_on_a_panel_holds_as_brute_force_says() {
    for shape in with_array(2) {
        let mut plant = build(&shape);
        smaller(&mut plant, &KEPT);
        held_against(&plant, ASKED);
        let proof = prove(&plant, &ASKED);
        for property in [Property::SourcesMeet, Property::DeadUtility, Property::Protection] {
            assert_eq!(proof.outcome(property), Some(&Outcome::Holds), "{property:?} {shape:?}");
        }
        assert!(proof.notes.iter().any(|note| note.contains("certified")));
    }
}

/// An array inverter alone forms nothing: with every other source gone no node is live, so it gives nowhere.
#[test]
fn an_array_alone_in_an_island_energises_nothing() {
    for shape in with_array(1) {
        let plant = build(&shape);
        let brute = Brute { plant: &plant, input: ASKED };
        let mut dead = brute.start();
        (dead.utility, dead.generator, dead.battery) = (false, false, false);
        assert_eq!(plant.followers.len(), 1);
        assert!((0..plant.nodes.len()).all(|k| !brute.is_live(plant::NodeIx(k), &dead)), "{shape:?}");
    }
}

#[test]
fn one_unit_with_all_its_breakers_is_exact_too() {
    let mut plant = build(&shape(Layout::Inline, 1));
    smaller(
        &mut plant,
        &["bypass", "unit.1.input", "unit.1.output", "unit.1.dc", "service", "backup.feeder"],
    );
    held_against(&plant, ASKED);
}

/// One change to a plant, by numbers.
#[derive(Debug, Clone)]
enum Edit {
    Jumper(usize),
    Neutral(usize, u8),
    Bond(usize, u8, bool),
    NoInterlock,
    NotABreaker(usize),
    Stuck(usize, u8),
    Alone(usize),
    Moved(usize, usize),
}

fn edit() -> impl Strategy<Value = Edit> {
    prop_oneof![
        (0usize..64).prop_map(Edit::Jumper),
        (0usize..64, 0u8..3).prop_map(|(k, n)| Edit::Neutral(k, n)),
        (0usize..64, 0u8..5, any::<bool>()).prop_map(|(k, p, f)| Edit::Bond(k, p, f)),
        Just(Edit::NoInterlock),
        (0usize..64).prop_map(Edit::NotABreaker),
        (0usize..64, 0u8..2).prop_map(|(k, at)| Edit::Stuck(k, at)),
        (0usize..2).prop_map(Edit::Alone),
        (0usize..64, 0usize..64).prop_map(|(k, n)| Edit::Moved(k, n)),
    ]
}

fn apply(plant: &mut FullPlant, edit: &Edit) {
    let (parts, nodes) = (plant.parts.len(), plant.nodes.len());
    match edit {
        Edit::Jumper(k) => plant.parts[k % parts].moved_by = None,
        Edit::Neutral(k, n) => {
            plant.parts[k % parts].neutral =
                [NeutralPath::Solid, NeutralPath::Switched, NeutralPath::Absent][usize::from(*n)];
        }
        Edit::Bond(k, place, forming) => {
            let places = [
                BondPlace::Supplier,
                BondPlace::Service,
                BondPlace::Group,
                BondPlace::Generator,
                BondPlace::Elsewhere,
            ];
            plant.bonds.push(plant::full::Bond {
                id: "stray".to_owned(),
                name: "stray".to_owned(),
                node: plant::NodeIx(k % nodes),
                place: places[usize::from(*place)],
                while_: if *forming { Condition::GroupForms } else { Condition::All(Vec::new()) },
            });
        }
        Edit::NoInterlock => plant.interlocks.clear(),
        Edit::NotABreaker(k) => plant.parts[k % parts].kind = PartKind::Switch,
        Edit::Stuck(k, at) => {
            let k = k % plant.gear.len();
            plant.gear[k].normal = *at;
            plant.gear[k].control = Control::Automatic(Vec::new());
            let relay = DeviceIx(k);
            plant.units.iter_mut().for_each(|u| u.relays.retain(|r| *r != relay));
        }
        Edit::Alone(k) => {
            let k = k % plant.units.len();
            plant.units[k].linked = false;
        }
        Edit::Moved(k, n) => plant.parts[k % parts].to = plant::NodeIx(n % nodes),
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, failure_persistence: None, ..ProptestConfig::default() })]

    /// Plants that nobody would build, in every layout and earthing system.
    #[test]
    fn plants_edited_at_random_are_judged_as_by_brute_force(
        base in proptest::sample::select(layouts(2)),
        earthing in proptest::sample::select(vec![
            Earthing::Us, Earthing::TnS, Earthing::TnCS, Earthing::Tt, Earthing::It,
        ]),
        edits in proptest::collection::vec(edit(), 1..=3),
    ) {
        let mut plant = build(&Shape { earthing, ..base });
        for edit in &edits {
            apply(&mut plant, edit);
        }
        smaller(&mut plant, &["bypass", "bypass.bypass", "bypass.units", "unit.1.input", "group.breaker"]);
        held_against(&plant, ProofInput { bypass_asked: false, ..ASKED });
    }
}
