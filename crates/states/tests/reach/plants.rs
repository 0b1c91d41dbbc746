//! What holds in every reachable state of every built plant, and how the search grows with the number of units.

use plant::{Layout, NodeIx, Plant, SourceKind};
use states::{LIMIT, State, search};

use crate::shapes::{Inlet, Shape, layouts, plant, real};

fn shapes(members: u8) -> Vec<Shape> {
    let mut all = Vec::new();
    for (layout, inlet) in layouts() {
        for inhibit in [false, true] {
            if !inhibit || layout == Layout::Outboard {
                all.push(Shape { inhibit, ..real(layout, inlet, members) });
            }
        }
    }
    all
}

fn node(plant: &Plant, kind: SourceKind) -> Option<NodeIx> {
    plant.source(kind).map(|s| s.node)
}

#[test]
fn nothing_moves_in_normal_operation() {
    for shape in shapes(3) {
        let found = search(&plant(&shape));
        assert!(found.states[0].due.is_empty(), "{shape:?}");
    }
}

/// Sources meet through the units' own relays or not at all, and only one at a time.
#[test]
fn outside_sources_never_meet_and_never_reach_the_output_round_the_relays() {
    for shape in shapes(2) {
        let plant = plant(&shape);
        let found = search(&plant);
        let (utility, generator) = (node(&plant, SourceKind::Utility), node(&plant, SourceKind::Generator));
        let relays = [plant::ElementKind::Relays, plant::ElementKind::GeneratorRelays];
        for reached in &found.states {
            let at = &reached.state.positions;
            for source in [utility, generator].into_iter().flatten() {
                let round = plant.joined(source, at, &relays);
                assert!(
                    !round.contains(&plant.group_output),
                    "{}",
                    states::situation(&reached.state, &plant)
                );
            }
            if let (Some(utility), Some(generator)) = (utility, generator) {
                assert!(!plant.joined(utility, at, &[]).contains(&generator), "{shape:?}");
            }
        }
    }
}

/// The group is joined to a dead utility, or a dead generator, only while the relays that join it are about to open.
#[test]
fn nothing_stays_joined_to_a_dead_source() {
    let mut moments = 0;
    for shape in shapes(2) {
        let plant = plant(&shape);
        for reached in &search(&plant).states {
            let state: &State = &reached.state;
            for kind in [SourceKind::Utility, SourceKind::Generator] {
                let Some(dead) = node(&plant, kind).filter(|_| !state.present(kind)) else { continue };
                if !plant.joined(dead, &state.positions, &[]).contains(&plant.group_output) {
                    continue;
                }
                moments += 1;
                for id in ["unit.relay", "unit.generator relay"] {
                    if let Some((device, _)) = plant.device(id)
                        && state.positions[device.0] > 0
                    {
                        assert!(reached.due.contains(&(device, 0)), "{}", states::situation(state, &plant));
                    }
                }
            }
        }
    }
    assert!(moments > 0, "the moment of opening is among the states");
}

/// With the auxiliary contact the panel flows from the utility through the relays in no state, whatever the delays.
#[test]
fn the_inhibit_keeps_the_panel_off_the_relays() {
    for inhibit in [false, true] {
        let shape =
            Shape { inhibit, retransfer: Some((0, None)), ..real(Layout::Outboard, Inlet::Second, 2) };
        let plant = plant(&shape);
        let (relays, transfer) = (plant.device("unit.relay"), plant.device("transfer"));
        let (relays, transfer) = (relays.expect("relays").0, transfer.expect("switch").0);
        let crossed = search(&plant).states.iter().any(|r| {
            r.state.utility && r.state.positions[relays.0] > 0 && r.state.positions[transfer.0] == 1
        });
        assert_eq!(crossed, !inhibit);
    }
}

/// Outboard with an empty battery: a generator on the second input reaches the panel, since the switch follows what
/// is live at the group's output and not only what the group forms.
#[test]
fn a_generator_through_the_units_takes_the_panel_without_a_battery() {
    let plant = plant(&real(Layout::Outboard, Inlet::Second, 1));
    let transfer = plant.device("transfer").expect("switch").0;
    let found = search(&plant);
    let waiting = found.states.iter().find(|r| {
        let s = &r.state;
        !s.utility
            && !s.battery
            && s.group_follows(&plant)
            && s.present(SourceKind::Generator)
            && s.positions[transfer.0] == 0
    });
    let waiting = waiting.expect("the switch still stands on the dead utility");
    assert!(waiting.due.contains(&(transfer, 1)));
}

/// Return of the switch at once when the group is down, as many switches do, adds no state to the stated delay.
#[test]
fn an_early_return_adds_no_state() {
    for inlet in [Inlet::None, Inlet::Second, Inlet::Switch] {
        let late = real(Layout::Outboard, inlet, 2);
        let early = Shape { to_first: (0, Some(40)), ..late.clone() };
        assert_eq!(search(&plant(&late)).states.len(), search(&plant(&early)).states.len(), "{inlet:?}");
    }
}

/// Identical relays count as a number, so states grow with the units, not with their subsets.
#[test]
fn three_dozen_units_are_searched_to_the_end() {
    for (few, many) in shapes(9).into_iter().zip(shapes(36)) {
        let (few, found) = (search(&plant(&few)), search(&plant(&many)));
        println!(
            "{:?} {:?} inhibit {}: {} states ({} search nodes) for 36 units, {} for 9",
            many.layout,
            many.inlet,
            many.inhibit,
            found.states.len(),
            found.visited,
            few.states.len()
        );
        assert!(found.complete && found.visited < LIMIT / 10);
        // sets of both inputs are never under way together: linear, not square
        assert!(found.states.len() <= 4 * few.states.len());
    }
}

/// Whatever source is there reaches the panel in the end, but for one arrangement: an inhibit by the transfer switch
/// holds a generator ahead of the units' only input off as well, and with an empty battery nothing moves again.
#[test]
fn only_an_inhibit_before_a_source_switch_leaves_the_panel_dead() {
    for shape in shapes(2) {
        let plant = plant(&shape);
        let found = search(&plant);
        let stranded = found.stranded(&plant);
        if shape.inlet == Inlet::Switch && shape.inhibit {
            let [one] = stranded[..] else { panic!("one such state") };
            let state = &found.states[one].state;
            assert!(state.generator && !state.utility && !state.battery);
        } else {
            assert!(
                stranded.is_empty(),
                "{shape:?}: {}",
                states::situation(&found.states[stranded[0]].state, &plant)
            );
        }
    }
}
