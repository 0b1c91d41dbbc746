//! Small sites that must come out as a practitioner expects: refused, found, or held.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use design::design;
use finding::Severity;
use plant::Layout;
use quantity::Quantity;
use support::{Text, World, failing, found, ids};

#[test]
fn on_two_legs_of_a_wye_the_neutral_is_as_large_as_the_legs() {
    let world = Text::of("120/208 V two legs", "demo-leg-3k6")
        .load("heat one", "L1", "current = \"20 A\"\npower_factor = 1")
        .load("heat two", "L2", "current = \"20 A\"\npower_factor = 1")
        .world();
    let prepared = world.prepared();
    // |20 at 0 deg + 20 at 120 deg| = 20
    assert!((prepared.demand.neutral.value().si() - 20.0).abs() < 1e-6);
    assert_eq!(failing(&design(&prepared)), [""; 0]);

    // the same on split-phase: one leg may be off, so all of a leg again, though both together give none
    let split = Text::split("demo-split-5k4")
        .load("heat one", "L1", "current = \"20 A\"\npower_factor = 1")
        .load("heat two", "L2", "current = \"20 A\"\npower_factor = 1")
        .world();
    assert!((split.prepared().demand.neutral.value().si() - 20.0).abs() < 1e-6);
}

#[test]
fn a_split_phase_unit_is_refused_on_a_wye() {
    for system in ["120/208 V two legs", "120/208 V wye"] {
        for unit in ["demo-split-5k4", "demo-split-10k", "demo-line-6k"] {
            let world = Text::of(system, unit).load("heat", "L1", "power = \"1 kW\"").world();
            let refused = world.refused();
            let why = refused.iter().find(|f| f.id == "unit-cannot-serve").expect("a word about the unit");
            assert_eq!(why.severity, Severity::Error);
            assert!(why.message.contains("180 degrees"), "{}", why.message);
            let (place, _) = why.place.as_ref().expect("a place");
            assert_eq!(place, &world.site.group.unit.place);
        }
    }
}

/// One unit, whose bridge on each leg limits at 60 A.
fn starting(motor: &str, beside: Option<&str>) -> World {
    let text = Text::split("demo-split-5k4")
        .load("saw", "L1-L2", &format!("motor = {{ {motor} }}\npower_factor = 0.8"))
        .group("count = 1\narrangement = \"inline\"\nbypass = \"interlocked breakers\"");
    match beside {
        Some(size) => text.load("chargers", "L1-L2", size).world(),
        None => text.world(),
    }
}

#[test]
fn a_motor_start_beyond_the_surge_limit_shows_the_collapsed_voltage_and_torque() {
    // 3 hp, letter K: up to 8.99 kVA/hp (NEC Table 430.7(B)), 112 A on each leg at full voltage; a locked rotor is an
    // impedance, so 60 A leave 60/112.4 of the voltage and the square of it of the torque
    let world = starting("power = \"3 hp\", code_letter = \"K\", start = \"direct\"", None);
    let prepared = world.prepared();
    let design = design(&prepared);
    let low = found(&design, "motor-start-voltage");
    assert_eq!(low.severity, Severity::Error);
    let left = low.value.as_ref().unwrap().amount.si;
    assert!((left - 60.0 / 112.4).abs() < 0.002, "{left}");
    for words in ["at its current limit", "53 % of nominal", "29 % of its torque", "L1"] {
        assert!(low.message.contains(words), "{}", low.message);
    }
    // what its impedance alone would leave (1 - 112 A x 80 mohm / 120 V = 93 %) must stand nowhere
    let voltages = design.assessed.ledger.margins.iter().filter(|m| m.what.starts_with("voltage, saw"));
    assert_eq!(voltages.filter(|m| m.holds()).count(), 0);

    // through a drive the same motor starts
    let world = starting("power = \"3 hp\", start = \"drive\"", None);
    let prepared = world.prepared();
    let design = self::design(&prepared);
    assert!(!ids(&design).iter().any(|id| id.starts_with("motor-start")), "{:?}", ids(&design));
}

#[test]
fn beside_constant_power_a_start_beyond_the_limit_leaves_no_voltage_at_all() {
    let motor = "power = \"3 hp\", code_letter = \"K\", start = \"direct\"";
    let world = starting(motor, Some("power = \"3.6 kW\"\npower_factor = 1"));
    let prepared = world.prepared();
    let design = design(&prepared);
    let collapse = found(&design, "motor-start-collapse");
    assert_eq!(collapse.severity, Severity::Error);
    let (asked, limit) = (collapse.value.as_ref().unwrap(), collapse.limit.as_ref().unwrap());
    assert!(asked.amount.si > limit.amount.si, "{} of {}", asked.amount.text, limit.amount.text);
    assert!((limit.amount.si - 60.0).abs() < 1e-9, "{}", limit.amount.text);
    let voltages = design.assessed.ledger.margins.iter().filter(|m| m.what.starts_with("voltage, saw"));
    assert_eq!(voltages.filter(|m| m.holds()).count(), 0);
}

#[test]
fn a_start_just_beyond_the_limit_is_told_with_what_it_leaves() {
    // 1.5 hp, letter M: up to 11.19 kVA/hp, 69.9 A at full voltage: 60 A leave 86 %, enough to start
    let world = starting("power = \"1.5 hp\", code_letter = \"M\", start = \"direct\"", None);
    let prepared = world.prepared();
    let design = design(&prepared);
    let voltage = design.assessed.ledger.margins.iter().find(|m| m.what == "voltage, saw starting, L1");
    let voltage = voltage.expect("the start has a margin");
    assert!((voltage.value.amount.si - 60.0 / 69.94).abs() < 0.002, "{}", voltage.value.amount.text);
    assert!(voltage.holds());
}

#[test]
fn a_load_that_the_law_asks_for_is_refused() {
    for class in ["emergency", "legally required", "essential health care", "critical operations"] {
        let world = Text::split("demo-split-5k4")
            .load("lights", "L1", "power = \"500 W\"")
            .load_with(
                "exit lights",
                "L2",
                "power = \"200 W\"",
                &format!("runs = \"24 h/day\"\nclass = \"{class}\""),
            )
            .world();
        let refused = world.refused();
        let why = refused.iter().find(|f| f.id == "lifeline-load").expect("a word about the load");
        assert_eq!(why.severity, Severity::NotCovered, "{class}");
        assert!(why.part.contains("exit lights"), "{}", why.part);
        assert!(why.place.is_some());
    }
    let world = Text::split("demo-split-5k4")
        .load_with("lights", "L1", "power = \"500 W\"", "runs = \"24 h/day\"\nclass = \"optional\"")
        .world();
    assert_eq!(failing(&design(&world.prepared())), [""; 0]);
}

#[test]
fn a_line_to_line_unit_gets_a_neutral_former_and_its_unpublished_breaking_current_is_not_covered() {
    let world = Text::split("demo-line-6k")
        .load("lights", "L1", "power = \"1 kW\"\npower_factor = 1")
        .load("heat", "L1-L2", "power = \"2 kW\"\npower_factor = 1")
        .world();
    let prepared = world.prepared();
    let design = design(&prepared);
    let unknown = found(&design, "relay-breaking-unknown");
    assert_eq!(unknown.severity, Severity::NotCovered);
    assert!(design.failing().next().is_some(), "not covered must fail the check");
    // 8.3 A in the neutral: the smaller of the two formers
    assert_eq!(design.case.former.map(|f| f.id.as_str()), Some("demo-former-30"));
    let former = design.decisions.iter().find(|d| d.what == "neutral former").expect("a decision");
    assert_eq!(former.value, "demo-former-30");
    assert!(!former.reasons.is_empty());
}

#[test]
fn a_neutral_former_that_is_too_small_is_found() {
    let world = Text::split("demo-line-6k")
        .load("lights", "L1", "current = \"40 A\"\npower_factor = 1")
        .group("count = 2\nneutral_former = \"demo-former-30\"")
        .world();
    let prepared = world.prepared();
    let design = design(&prepared);
    assert_eq!(found(&design, "neutral-former-over").severity, Severity::Error);
}

/// 60 A on a leg, outboard: more than one relay of 50 A, for as long as the whole panel flows through the units.
fn outboard(switch: &str, retransfer: &str, inhibit: &str) -> World {
    Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "current = \"60 A\"\npower_factor = 1")
        .group("count = 4\narrangement = \"outboard\"\nbypass = \"manual switch\"")
        .group(&format!("transfer_switch = \"{switch}\"\ninput_inhibit = \"{inhibit}\"\n{retransfer}"))
        .world()
}

const SOLID: &str = "demo-ats-240-200-solid"; // no auxiliary contacts, delays without a latest time

#[test]
fn before_the_switch_returns_the_whole_panel_may_flow_through_the_relays() {
    let world = outboard(SOLID, "", "no");
    let prepared = world.prepared();
    let design = design(&prepared);
    assert_eq!(design.case.layout, Layout::Outboard);
    let over = found(&design, "pass-through-over-relay");
    assert_eq!(over.severity, Severity::Error);
    assert!((over.value.as_ref().unwrap().amount.si - 60.0).abs() < 1e-6);
    assert!((over.limit.as_ref().unwrap().amount.si - 50.0).abs() < 1e-9);
    assert!(over.state.as_ref().unwrap().contains("transfer switch still on the group"), "{:?}", over.state);
    // the steps, in order: it fails, the switch takes the panel, it returns, the units reconnect
    let told = &over.message;
    let steps = ["the utility fails", "goes to the group", "the utility returns", "relay closes"];
    let at: Vec<Option<usize>> = steps.iter().map(|s| told.find(s)).collect();
    assert!(at.iter().all(Option::is_some), "{told}");
    assert!(at.windows(2).all(|w| w[0] < w[1]), "the steps are out of order: {told}");
    assert!(over.fixes.iter().any(|f| f.contains("input_inhibit")), "{:?}", over.fixes);
}

#[test]
fn an_auxiliary_contact_that_holds_the_units_off_excludes_it() {
    // it returns after 120 s to 180 s, the units reconnect after 60 s to 300 s
    let contact = "demo-ats-240-100-solid";
    let world = outboard(contact, "", "no");
    assert_eq!(failing(&design(&world.prepared())), ["pass-through-over-relay"]);
    let world = outboard(contact, "", "yes");
    assert_eq!(failing(&design(&world.prepared())), [""; 0]);
    // a switch without the contact cannot do it
    let world = outboard(SOLID, "", "yes");
    assert!(failing(&design(&world.prepared())).contains(&"inhibit-impossible"));
}

#[test]
fn delays_exclude_it_only_when_the_latest_return_is_under_the_earliest_reconnection() {
    let after = |retransfer: &str| -> Vec<&'static str> {
        let world = outboard(SOLID, retransfer, "no");
        failing(&design(&world.prepared()))
    };
    let over = ["pass-through-over-relay"];
    assert_eq!(after("retransfer = { earliest = \"30 s\", latest = \"50 s\" }"), [""; 0]);
    // without a latest time any later moment is possible
    assert_eq!(after("retransfer = { earliest = \"30 s\" }"), over);
    assert_eq!(after("retransfer = { earliest = \"30 s\", latest = \"61 s\" }"), over);
    // at the same moment either may be first
    assert_eq!(after("retransfer = { earliest = \"30 s\", latest = \"60 s\" }"), over);
    // the contact leaves the group before it travels, so leaving in time is enough
    assert_eq!(after("retransfer = { earliest = \"30 s\", latest = \"59.9 s\" }"), [""; 0]);
}

#[test]
fn a_panel_within_one_relay_needs_no_order_of_moves() {
    let world = Text::split("demo-split-5k4")
        .load("heat one", "L1", "current = \"45 A\"\npower_factor = 1")
        .load("heat two", "L2", "current = \"45 A\"\npower_factor = 1")
        .group("count = 3\narrangement = \"outboard\"\nbypass = \"manual switch\"")
        .group(&format!("transfer_switch = \"{SOLID}\"\ninput_inhibit = \"no\""))
        .world();
    assert_eq!(failing(&design(&world.prepared())), [""; 0]);
}

#[test]
fn a_load_that_tolerates_no_gap_is_found_behind_a_transfer_switch() {
    let world = Text::split("demo-split-5k4")
        .load_with("server", "L1", "power = \"500 W\"", "runs = \"24 h/day\"\ngap = \"30 ms\"")
        .group("count = 2\narrangement = \"outboard\"\ntransfer_switch = \"demo-ats-240-100-solid\"")
        .world();
    let prepared = world.prepared();
    let design = design(&prepared);
    let gap = found(&design, "gap-not-tolerated");
    assert_eq!(gap.severity, Severity::Error);
    // 20 ms of the units, up to 3 s of delay and 150 ms of travel
    assert!((gap.value.as_ref().unwrap().amount.si - 3.17).abs() < 1e-9);
    // inline there are only the 20 ms of the units
    let world = Text::split("demo-split-5k4")
        .load_with("server", "L1", "power = \"500 W\"", "runs = \"24 h/day\"\ngap = \"30 ms\"")
        .group("count = 2\narrangement = \"choose\"")
        .world();
    let prepared = world.prepared();
    let design = self::design(&prepared);
    assert_eq!((design.case.layout, failing(&design)), (Layout::Inline, Vec::new()));
}

#[test]
fn a_switch_that_states_no_latest_time_covers_no_gap() {
    let world = Text::split("demo-split-5k4")
        .load_with("fan", "L1", "power = \"500 W\"", "runs = \"24 h/day\"\ngap = \"1 h\"")
        .group(&format!("count = 2\narrangement = \"outboard\"\ntransfer_switch = \"{SOLID}\""))
        .world();
    assert_eq!(failing(&design(&world.prepared())), ["gap-not-covered"]);
}

#[test]
fn a_load_on_a_panel_behind_the_backup_panel_counts_and_has_its_gap_held() {
    let mut text = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"1 kW\"\npower_factor = 1")
        .load_with(
            "server",
            "L1",
            "power = \"600 W\"\npower_factor = 1",
            "runs = \"24 h/day\"\ngap = \"5 ms\"",
        )
        .group("count = 2\narrangement = \"inline\"");
    text.panels.push("[[panel]]\nid = \"sub\"\nfed_from = \"backup\"\nmain_breaker = \"30 A\"".to_owned());
    text.loads[1] = text.loads[1].replace("panel = \"backup\"", "panel = \"sub\"");
    let world = text.world();
    let prepared = world.prepared();
    assert!((prepared.demand.connected.value().si() - 1600.0).abs() < 1e-9);
    // the units take up to 20 ms
    assert_eq!(failing(&design(&prepared)), ["gap-not-tolerated"]);
}

#[test]
fn outside_the_rating_of_the_units_nothing_is_called_fine() {
    let base = Text::split("demo-split-5k4").load("lights", "L1", "power = \"100 W\"");
    let hot = Text { room: "59 degC", ..base.clone() }.world();
    let prepared = hot.prepared();
    assert!(prepared.rating.power.value().si() < 5400.0 * 0.55, "{}", prepared.rating.power.value());
    // this family's curve ends at 55 degC
    let hotter = Text::split("demo-split-10k").load("lights", "L1", "power = \"100 W\"");
    let hotter = Text { room: "56 degC", ..hotter }.world();
    assert!(
        hotter.refused().iter().any(|f| f.id == "outside-unit-rating" && f.severity == Severity::NotCovered)
    );
    for (altitude, within) in [("3990 m", true), ("4010 m", false)] {
        let text = base.write().replace("altitude = \"0 m\"", &format!("altitude = \"{altitude}\""));
        let world = World::read(&text);
        if within {
            assert!(world.prepared().rating.power.value().si() < 5400.0 * 0.81);
        } else {
            assert!(world.refused().iter().any(|f| f.id == "outside-unit-rating"));
        }
    }
}

#[test]
fn what_the_site_fixes_against_the_family_is_found() {
    let with = |unit: &str, line: &str| -> Vec<&'static str> {
        let world =
            Text::of("120/208 V wye", unit).load("heat", "L1-L2-L3", "power = \"3 kW\"").group(line).world();
        failing(&design(&world.prepared()))
    };
    assert_eq!(with("demo-leg-3k6", "formation = \"1+1+1\""), [""; 0]);
    // the family asks for as many units on every leg, four at most
    assert!(with("demo-leg-3k6", "formation = \"2+1+1\"").contains(&"formation-uneven"));
    assert!(with("demo-leg-3k6", "count = 4").contains(&"formation-uneven"));
    assert!(with("demo-leg-3k6", "count = 2").contains(&"leg-without-unit"));
    assert!(with("demo-leg-3k6", "formation = \"5+5+5\"").contains(&"formation-over-limits"));
    assert!(with("demo-leg-3k6", "formation = \"3\"").contains(&"formation-not-understood"));
}

#[test]
fn equipment_that_is_not_in_the_catalogue_is_refused_with_the_nearest_name() {
    let refused = |unit: &str, line: &str| {
        Text::split(unit).load("heat", "L1-L2", "power = \"1 kW\"").group(line).world().refused()
    };
    for (unit, line, near) in [
        ("demo-split-5k", "", "demo-split-5k4"),
        ("demo-split-5k4", "transfer_switch = \"demo-ats-240-100-soild\"", "demo-ats-240-100-solid"),
        ("demo-line-6k", "neutral_former = \"demo-former-3\"", "demo-former-30"),
    ] {
        let refused = refused(unit, line);
        let unknown = refused.iter().find(|f| f.id == "unknown-equipment").expect("a word about it");
        assert!(unknown.fixes.iter().any(|f| f.contains(near)), "{:?}", unknown.fixes);
        assert!(unknown.place.is_some());
    }
}

#[test]
fn without_a_known_fault_current_nothing_is_called_fine() {
    let mut text = Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"1 kW\"");
    text.service = text.service.replace("fault_current = \"4 kA\"\n", "");
    assert_eq!(failing(&design(&text.world().prepared())), ["fault-current-unknown"]);
    text.service.push_str("\nfault_current = \"12 kA\"");
    // no breaker of the catalogue breaks it either
    let failing = failing(&design(&text.world().prepared()));
    assert_eq!(failing, ["breaker-not-found", "fault-over-withstand"]);
}

#[test]
fn when_one_unit_may_be_out_the_rest_carry_the_panel() {
    // 40 A a leg: two units carry it, and with one out none would
    let text = |wish: bool| {
        Text::split("demo-split-5k4")
            .load("heat one", "L1", "current = \"40 A\"\npower_factor = 1")
            .load("heat two", "L2", "current = \"40 A\"\npower_factor = 1")
            .wish(&format!("one_unit_may_be_out = {wish}"))
            .world()
    };
    for (wish, units) in [(false, 2), (true, 3)] {
        let world = text(wish);
        let prepared = world.prepared();
        let design = design(&prepared);
        assert_eq!((design.case.formation.units(), failing(&design)), (units, Vec::new()));
    }
}
