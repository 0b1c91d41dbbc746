//! Check values from the trade. Every one of them is common practice, no source: what people who build such systems
//! expect, not what a standard says.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use catalog::BypassKind;
use design::{Fixed, design, design_with};
use finding::Severity;
use plant::Layout;
use support::{Text, failing, found, ids};

/// Heat from line to line, in amperes.
fn heat(amperes: f64) -> Text {
    Text::split("demo-split-5k4").load(
        "heat",
        "L1-L2",
        &format!("current = \"{amperes} A\"\npower_factor = 1"),
    )
}

/// Common practice, no source: a load that four units carry is more than one relay passes, so that a separate transfer
/// switch goes round them.
#[test]
fn four_units_get_a_transfer_switch() {
    // 72 A on a leg: four units of 22.5 A, counted with a tolerance of 5 %, give 85 A, three give 64 A
    let world = heat(72.0).world();
    let prepared = world.prepared();
    let design = design(&prepared);
    assert_eq!(design.case.formation.units(), 4);
    assert_eq!(design.case.layout, Layout::Outboard);
    assert_eq!(failing(&design), [""; 0]);
    let arrangement = design.decisions.iter().find(|d| d.what == "arrangement").unwrap();
    let inline = &arrangement.dropped[0];
    assert_eq!(inline.value, "inline");
    assert!(inline.reason.contains("72.0 A") && inline.reason.contains("50.0 A"), "{}", inline.reason);
}

/// Common practice, no source: what two such units carry all day, one relay passes.
#[test]
fn two_units_at_their_continuous_rating_stay_inline() {
    let world = heat(42.0).world();
    let prepared = world.prepared();
    let design = design(&prepared);
    assert_eq!(design.case.formation.units(), 2);
    assert_eq!((design.case.layout, failing(&design)), (Layout::Inline, Vec::new()));
}

/// Common practice, no source: a half-hour overload of two units can be more than one relay passes, and must be found.
#[test]
fn a_half_hour_overload_of_two_units_is_over_one_relay() {
    let text = |arrangement: &str| {
        heat(10.0)
            .load_with(
                "oven",
                "L1-L2",
                "current = \"43 A\"\npower_factor = 1",
                "runs = \"20 min/day\"\nlasts = \"20 min\"\nrests = \"1 h\"",
            )
            .group(&format!("count = 2\narrangement = \"{arrangement}\""))
            .world()
    };
    let world = text("inline");
    let prepared = world.prepared();
    let design = design(&prepared);
    // the bridges may carry 64 A for half an hour; the relays do not
    assert_eq!(failing(&design), ["pass-through-over-relay"]);
    let over = found(&design, "pass-through-over-relay");
    assert!((over.value.as_ref().unwrap().amount.si - 53.0).abs() < 1e-6);
    assert!((over.limit.as_ref().unwrap().amount.si - 50.0).abs() < 1e-9);
    assert!(over.fixes.iter().any(|f| f.contains("360 VA")), "3 A at 120 V: {:?}", over.fixes);

    let world = text("choose");
    let prepared = world.prepared();
    let design = self::design(&prepared);
    assert_eq!((design.case.layout, failing(&design)), (Layout::Outboard, Vec::new()));
}

/// Common practice, no source: panel and charging together can be more than one relay passes with two units.
#[test]
fn charging_beside_the_panel_is_over_one_relay_unless_the_input_limit_holds_it() {
    let text = |limit: &str| {
        heat(40.0).group(&format!("count = 2\narrangement = \"inline\"\ninput_limit = \"{limit}\"")).world()
    };
    let world = text("60 A");
    let prepared = world.prepared();
    let design = design(&prepared);
    let over = found(&design, "pass-through-over-relay");
    assert!(over.message.contains("charging"), "{}", over.message);
    // 40 A of the panel, and of the 35 A that two chargers draw what a limit of 60 A leaves
    assert!((over.value.as_ref().unwrap().amount.si - 60.0).abs() < 1e-6);
    let world = text("50 A");
    assert_eq!(failing(&self::design(&world.prepared())), [""; 0]);
}

/// Common practice, no source: inverting more than can be passed through, inline, is bad practice.
#[test]
fn inline_a_group_that_inverts_more_than_it_passes_is_warned_of() {
    for units in 1..=6_u32 {
        let world = heat(20.0).group(&format!("count = {units}\narrangement = \"inline\"")).world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let warned = ids(&design).contains(&"inverts-more-than-passes");
        // 22.5 A a unit against one relay of 50 A
        assert_eq!(warned, units >= 3, "{units} units");
        if warned {
            assert_eq!(found(&design, "inverts-more-than-passes").severity, Severity::Warning);
        }
        let outboard = design_with(
            &prepared,
            &Fixed { per_leg: Some(units), layout: Some(Layout::Outboard), ..Fixed::default() },
        );
        assert!(!ids(&outboard).contains(&"inverts-more-than-passes"), "{units} units outboard");
    }
}

/// Common practice, no source: of several units on three phases, trouble on one phase takes all off the utility.
#[test]
fn on_three_phases_one_phase_takes_the_whole_group_off() {
    for (system, unit) in [("120/208 V wye", "demo-leg-3k6"), ("230/400 V wye", "demo-230-5k")] {
        let world = Text::of(system, unit).load("heat", "L1", "power = \"1 kW\"").world();
        let prepared = world.prepared();
        let design = design(&prepared);
        assert_eq!(found(&design, "one-phase-takes-all").severity, Severity::Note);
    }
    let world = heat(20.0).world();
    assert!(!ids(&design(&world.prepared())).contains(&"one-phase-takes-all"));
}

/// Common practice, no source: interlocked breakers bypass up to two units, more need a manual switch (here: what the
/// family states).
#[test]
fn more_than_two_units_need_a_manual_bypass_switch() {
    for units in 1..=4_u32 {
        let world = heat(15.0).group(&format!("count = {units}")).world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let wants = if units <= 2 { BypassKind::InterlockedBreakers } else { BypassKind::ManualSwitch };
        assert_eq!(design.case.bypass.map(|b| b.kind), Some(wants), "{units} units");
        let decision = design.decisions.iter().find(|d| d.what == "bypass").unwrap();
        assert!(decision.reasons[0].contains("up to 2"), "{:?}", decision.reasons);
    }
    // what the site fixes against it is found, and no bypass at all is a warning
    let world = heat(15.0).group("count = 3\nbypass = \"interlocked breakers\"").world();
    assert_eq!(failing(&design(&world.prepared())), ["bypass-too-many-units"]);
    let world = heat(15.0).group("count = 3\nbypass = \"none\"").world();
    assert_eq!(found(&design(&world.prepared()), "no-bypass").severity, Severity::Warning);
}

/// Common practice, no source: without the catalogue's word that pass-through adds up, and the site's word that the
/// wiring is as the catalogue asks, one relay is counted. Solved shares never loosen it.
#[test]
fn relays_are_counted_together_only_on_the_words_of_catalogue_and_site() {
    let passes = |unit: &str, units: u32, more: &str| {
        let text = Text::split(unit).load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1");
        let world = text.group(&format!("count = {units}\narrangement = \"inline\"\n{more}")).world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let current = design.assessed.ledger.margins.iter().find(|m| {
            m.part == "unit.relay" && m.what == "current, L1" && !m.state.contains("one after the other")
        });
        current.expect("the relays have a margin").limit.amount.si
    };
    assert!((passes("demo-split-5k4", 6, "") - 50.0).abs() < 1e-9);
    // neither word alone is enough
    assert!((passes("demo-split-5k4", 6, "matched_wiring = true") - 50.0).abs() < 1e-9);
    assert!((passes("demo-split-10k", 4, "") - 63.0).abs() < 1e-9);
    // both: one path open leaves n - 1; 63 A x (1 + (n - 2) / r), r = 2.6 mohm / 1.2 mohm
    let matched = |n: u32| 63.0 * (1.0 + (f64::from(n) - 2.0) * 1.2 / 2.6);
    for n in [2, 3, 4] {
        let limit = passes("demo-split-10k", n, "matched_wiring = true");
        assert!((limit - matched(n)).abs() < 1e-6, "{n} units: {limit}");
    }
}
