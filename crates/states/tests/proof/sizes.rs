//! The number of units changes the number of states, never a verdict; and the proof stays fast.

use std::time::Instant;

use catalog::BypassKind;
use plant::Layout;
use states::proof::{Outcome, ProofInput, Property, prove};

use crate::plants::{ASKED, build, layouts, shape, three_phase};

fn verdicts(shape: &crate::plants::Shape) -> Vec<(Property, bool, Option<usize>)> {
    let proof = prove(&build(shape), &ASKED);
    proof.results.iter().map(|(p, o)| (*p, *o == Outcome::Holds, o.moves())).collect()
}

#[test]
fn two_three_and_four_units_are_judged_alike() {
    for (two, (three, four)) in layouts(2).iter().zip(layouts(3).iter().zip(layouts(4).iter())) {
        let of = verdicts(two);
        assert_eq!(of, verdicts(three), "{two:?}");
        assert_eq!(of, verdicts(four), "{two:?}");
    }
}

#[test]
fn whole_plants_hold_in_every_layout() {
    for shape in layouts(2).into_iter().chain(layouts(1)) {
        let asked = shape.layout != Layout::Islanded;
        let proof = prove(&build(&shape), &ProofInput { bypass_asked: asked, ..ASKED });
        assert!(proof.holds(), "{shape:?} {:#?}", proof.results);
    }
}

/// Counted by hand: three inline units with nothing but relays and breakers.
#[test]
fn states_are_counted_by_multiplication() {
    let plant = build(&crate::plants::Shape { bypass: None, ..shape(Layout::Inline, 3) });
    let proof = prove(&plant, &ASKED);
    // utility and battery; service, group, group output and feeder breakers; of each unit input, output and DC
    // breakers and its relay
    let by_hand: u64 = 2u64.pow(2) * 2u64.pow(4) * 2u64.pow(3 * 4);
    assert_eq!(proof.states, by_hand.to_string());
    // with interlocked bypass breakers three of four positions
    let bypass = Some(BypassKind::InterlockedBreakers);
    let plant = build(&crate::plants::Shape { bypass, ..shape(Layout::Inline, 3) });
    assert_eq!(prove(&plant, &ASKED).states, (by_hand * 2 * 3).to_string());
}

/// Times are printed, not held: they are measured in a release build.
#[test]
fn nine_and_thirty_six_units_with_everything() {
    for (units, layout, single_failures) in [
        (9, Layout::Inline, true),
        (9, Layout::Outboard, true),
        (36, Layout::Inline, false),
        (36, Layout::Outboard, true),
    ] {
        let plant = build(&three_phase(layout, units));
        let before = Instant::now();
        let proof = prove(&plant, &ProofInput { single_failures, ..ASKED });
        println!(
            "{layout:?}, {units} units, single failures {single_failures}: {} states, {:.2} s",
            proof.states,
            before.elapsed().as_secs_f64()
        );
        assert!(proof.holds(), "{:#?}", proof.results);
    }
}

/// A fault that only shows once every relay is open: the shortest way grows with the units.
#[test]
fn a_fault_of_many_units_is_found_with_its_way() {
    for units in [2, 9] {
        let mut plant = build(&shape(Layout::Inline, units));
        for part in plant.parts.iter_mut().filter(|p| p.id == "bypass.bypass") {
            part.moved_by = None;
        }
        let before = Instant::now();
        let proof = prove(&plant, &ASKED);
        println!("{units} units, broken: {:.2} s", before.elapsed().as_secs_f64());
        let outcome = proof.outcome(Property::DeadUtility).expect("looked at");
        assert_eq!(outcome.moves(), Some(1 + usize::from(units)));
    }
}
