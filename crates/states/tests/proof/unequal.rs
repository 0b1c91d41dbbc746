//! Breakers of units that are not alike: what each conductor is made for decides, judged as brute force judges it.

use derivation::Known;
use plant::Layout;
use plant::full::{FullPlant, PartKind};
use quantity::Current;
use states::proof::{Outcome, Property, prove};

use crate::edits::{part, with};
use crate::exact::{KEPT, held_against, smaller};
use crate::plants::{ASKED, Inlet, Shape, build, layouts, rated, shape};

fn protected(plant: &FullPlant) -> bool {
    prove(plant, &ASKED).outcome(Property::Protection) == Some(&Outcome::Holds)
}

/// As the proof and as brute force see it.
fn judged(mut plant: FullPlant) -> bool {
    smaller(&mut plant, &KEPT);
    held_against(&plant, ASKED);
    protected(&plant)
}

/// Every breaker and every conductor of a unit is of one rating.
fn unit_of(plant: &mut FullPlant, unit: u8, breakers_a: f64, conductors_a: f64) {
    let start = format!("unit.{unit}.");
    for part in plant.parts.iter_mut().filter(|p| p.id.starts_with(&start) && p.direct.is_none()) {
        match part.kind {
            PartKind::Breaker => part.rating = Some(rated(breakers_a)),
            PartKind::Conductor => part.rating = Some(rated(conductors_a)),
            _ => {}
        }
    }
}

/// A conductor between two breakers of 40 A and 60 A is fed by the larger one through the relay: made for that it is
/// protected, made for the smaller one, as the breaker ahead of it would have it, it is not.
#[test]
fn a_conductor_is_made_for_the_larger_breaker_that_feeds_it() {
    for base in layouts(3) {
        for breakers in [(40.0, 60.0), (60.0, 40.0)] {
            let shape = Shape { breakers: Some(breakers), ..base.clone() };
            let plant = build(&shape);
            assert!(protected(&plant), "{shape:?}");
            for conductor in plant.parts.iter().filter(|p| p.id.ends_with(".run.conductor")) {
                let Some(unit) = plant.nodes[conductor.to.0].unit else { continue };
                let both_sides = shape.layout != Layout::Islanded || shape.inlet != Inlet::None;
                let made_for = conductor.rating.as_ref().unwrap().value();
                let larger = if both_sides { 60.0 } else { breakers.1 };
                assert_eq!(made_for, Current::of(larger), "{} {unit}", conductor.id);
                let ahead = conductor.ahead.as_ref().map_or(made_for, Known::value);
                let of_output = conductor.id.contains("output");
                let own = if of_output { breakers.1 } else { breakers.0 };
                assert_eq!(ahead, Current::of(own), "{}", conductor.id);
            }
        }
    }
    let shape = Shape { breakers: Some((40.0, 60.0)), ..shape(Layout::Inline, 2) };
    assert!(judged(build(&shape)));
    let thin = |p: &mut FullPlant| part(p, "unit.1.input.run.conductor").rating = Some(rated(40.0));
    assert!(!judged(with(&shape, thin)));
    let shape = Shape { breakers: Some((60.0, 40.0)), ..shape };
    assert!(judged(build(&shape)));
    let thin = |p: &mut FullPlant| part(p, "unit.2.output.run.conductor").rating = Some(rated(40.0));
    assert!(!judged(with(&shape, thin)));
}

/// Unit 1 behind 40 A and unit 2 behind 60 A, each with conductors for its own: protected. With the breakers swapped the
/// conductors of unit 1 are behind 60 A, and are not.
#[test]
fn units_of_unequal_breakers_hold_until_these_are_swapped() {
    for layout in [Layout::Inline, Layout::Outboard] {
        let shape = shape(layout, 2);
        let each = |p: &mut FullPlant| {
            unit_of(p, 1, 40.0, 40.0);
            unit_of(p, 2, 60.0, 60.0);
        };
        assert!(judged(with(&shape, each)), "{layout:?}");
        let swapped = |p: &mut FullPlant| {
            unit_of(p, 1, 60.0, 40.0);
            unit_of(p, 2, 40.0, 60.0);
        };
        assert!(!judged(with(&shape, swapped)), "{layout:?}");
    }
}
