//! What each size buys: the point where inline stops serving, and how it moves when loads move.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "../../design/tests/support/mod.rs"]
mod support;

use options::{Row, grow};
use plant::Layout;
use quantity::Quantity;
use support::{Text, World};

const VETERINARY: &str = include_str!("../../../examples/veterinary-practice/site.toml");

fn rows(world: &World, most: u32) -> Vec<Row> {
    grow(&world.prepared(), most)
}

/// The example with some loads of the backup panel on the main panel.
fn veterinary(moved: &[&str]) -> World {
    let mut text = VETERINARY.to_owned();
    for load in moved {
        let at = text.find(&format!("name = \"{load}\"")).expect("the load is there");
        let (before, after) = text.split_at(at);
        text = format!("{before}{}", after.replacen("panel = \"backup\"", "panel = \"main\"", 1));
    }
    World::read(&text)
}

fn kilowatts(of: &derivation::Known<quantity::Power>) -> f64 {
    of.value().si() / 1000.0
}

/// Common practice, no source: a unit whose rated current (22.5 A a leg) is just under half of its relay (50 A).
/// Continuous inverting current of two stays below one relay, of three it does not; the inline ceiling stays where one
/// relay puts it however many units are added.
#[test]
fn the_inline_ceiling_stays_where_one_relay_puts_it() {
    let world =
        Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1").world();
    let rows = rows(&world, 9);
    assert_eq!(rows.iter().map(|r| r.units).collect::<Vec<_>>(), (1..=9).collect::<Vec<_>>());
    let relay = 50.0;
    for row in &rows {
        let inverting = row.rated.value().si() / 240.0;
        assert!((inverting - 22.5 * f64::from(row.units)).abs() < 1e-9, "{} units: {inverting} A", row.units);
        assert_eq!(inverting < relay, row.units <= 2, "{} units", row.units);
        let inline = row.inline_panel.as_ref().expect("there is a utility").value().si() / 240.0;
        if row.units <= 2 {
            assert!(
                (inline - row.carries.value().si() / 240.0).abs() < 1e-9,
                "{} units: {inline} A",
                row.units
            );
        } else {
            assert!((inline - relay).abs() < 1e-9, "{} units: {inline} A", row.units);
        }
        // outboard the panel grows with the group
        assert_eq!(row.outboard_panel.value(), row.carries.value());
    }
}

/// Common practice, no source: continuous and half-hour power grow in proportion to the number of units at the same
/// temperature, and the half-hour overload is 1.25 times the continuous rating.
#[test]
fn power_grows_in_proportion_to_the_units() {
    for room in ["25 degC", "35 degC", "48 degC"] {
        let mut text = Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"1 kW\"");
        text.room = room;
        let rows = rows(&text.world(), 8);
        let one = rows[0].rated.value().si();
        for row in &rows {
            let n = f64::from(row.units);
            assert!((row.rated.value().si() - n * one).abs() < 1e-6, "{room}, {n} units");
            let (overload, lasts) = row.overload.as_ref().expect("the family has overloads");
            assert!((lasts.si() - 1800.0).abs() < 1e-9);
            let ratio = overload.value().si() / row.carries.value().si();
            assert!((ratio - 1.25).abs() < 1e-9, "{room}, {n} units: {ratio}");
            // the sharing tolerance of 5 % counts from the second unit on, and for both alike
            let counted = if row.units == 1 { 1.0 } else { n / 1.05 };
            assert!((row.carries.value().si() - counted * one).abs() < 1e-6, "{room}, {n} units");
        }
    }
}

#[test]
fn the_table_of_the_veterinary_practice_says_where_inline_stops_and_why() {
    let rows = rows(&veterinary(&[]), 9);
    let first = rows.iter().find(|r| r.serves).expect("some size serves");
    assert_eq!(first.units, 6);
    assert!(first.needs.starts_with("outboard; inline: the units' relays pass "), "{}", first.needs);
    assert!(first.needs.contains("together they may pass 50.0 A"), "{}", first.needs);
    assert!(first.first_limit.starts_with("pass-through"), "{}", first.first_limit);
    for row in rows.iter().filter(|r| r.units < 6) {
        assert!(!row.serves && row.needs.starts_with("not served: "), "{} units: {}", row.units, row.needs);
    }
    let ceilings: Vec<f64> = rows.iter().map(|r| kilowatts(r.inline_panel.as_ref().unwrap())).collect();
    assert!(ceilings[1] < 12.0 && ceilings[2..].iter().all(|kw| (kw - 12.0).abs() < 1e-9), "{ceilings:?}");
}

#[test]
fn moving_loads_off_the_backup_panel_asks_for_fewer_units_and_leaves_the_ceiling() {
    let before = rows(&veterinary(&[]), 9);
    let after = rows(&veterinary(&["sterilizer", "dryer"]), 9);
    let first = |rows: &[Row]| rows.iter().find(|r| r.serves).map(|r| r.units).expect("some size serves");
    assert!(first(&after) < first(&before), "{} and {}", first(&before), first(&after));
    for (before, after) in before.iter().zip(&after) {
        // what a size buys is the units', not the loads'
        for of in [|r: &Row| r.rated.value(), |r: &Row| r.carries.value(), |r: &Row| r.outboard_panel.value()]
        {
            assert_eq!(of(before), of(after));
        }
        assert_eq!(
            before.inline_panel.as_ref().unwrap().value(),
            after.inline_panel.as_ref().unwrap().value()
        );
        assert!(after.serves || !before.serves, "{} units served more", before.units);
    }
}

#[test]
fn with_little_on_the_panel_no_size_needs_a_transfer_switch() {
    let world =
        Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1").world();
    let prepared = world.prepared();
    for row in grow(&prepared, 4) {
        assert!(row.serves, "{} units: {}", row.units, row.needs);
        assert!(row.needs.starts_with("inline"), "{} units: {}", row.units, row.needs);
    }
    assert_eq!(design::design(&prepared).case.layout, Layout::Inline);
}

#[test]
fn one_leg_units_grow_by_one_on_every_phase() {
    let world = Text::of("230/400 V wye", "demo-230-5k")
        .load("heat", "L1-L2-L3", "power = \"6 kW\"\npower_factor = 1")
        .world();
    let rows = rows(&world, 12);
    let formations: Vec<String> = rows.iter().map(|r| r.formation.to_string()).collect();
    assert_eq!(formations, ["1+1+1", "2+2+2", "3+3+3", "4+4+4"]);
    for (k, row) in rows.iter().enumerate() {
        assert_eq!(row.units, 3 * (k as u32 + 1));
        let step = row.price_step;
        assert!(step > 0, "{} units cost {step} more", row.units);
    }
    // one relay a phase: 50 A x 230 V x 3
    assert!((kilowatts(rows[3].inline_panel.as_ref().unwrap()) - 34.5).abs() < 1e-9);
}

#[test]
fn off_grid_there_is_no_inline_panel_and_no_export() {
    let mut text = Text::of("230 V single-phase", "demo-230-3k").load("heat", "L1", "power = \"500 W\"");
    text.service = "[service]\nkind = \"230 V single-phase\"\nutility = \"none\"\nearthing = \"TT\"\nelectrode = \"60 ohm\"".to_owned();
    for row in rows(&text.world(), 2) {
        assert!(row.inline_panel.is_none() && row.export.is_none());
        assert!(row.needs.starts_with("islanded"), "{}", row.needs);
    }
}
