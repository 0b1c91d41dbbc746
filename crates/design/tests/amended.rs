//! Local amendments: what they do, and what is said of them.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use design::{Design, Verdict, compliance, design};
use support::{Text, World, failing, found};

const WORDS: &str = "reason = \"r\"\nauthority = \"a\"";

fn us(lines: &str) -> World {
    let mut text = Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"7 kW\"\npower_factor = 1");
    text.rest = format!("[[amendment]]\n{lines}\n{WORDS}");
    text.group("count = 3").world()
}

fn verdict(world: &World, design: &Design<'_>, rule: &str) -> Verdict {
    let all = compliance(world.site.service.earthing.value, &design.held);
    all.into_iter().find(|c| c.rule == rule).unwrap().verdict
}

/// 1 s is less than the 5 s of a distribution circuit and more than the 0.4 s of a final one (IEC 60364-4-41): looser.
#[test]
fn the_severest_use_of_an_amended_figure_counts() {
    let mut text =
        Text::of("230/400 V wye", "demo-230-5k").load("heat", "L1", "power = \"2 kW\"\npower_factor = 1");
    text.panels[1].push_str("\nrcd = \"30 mA\"");
    text.rest = format!("[[amendment]]\nrule = \"island-shock-protection\"\ntime = \"1 s\"\n{WORDS}");
    let world = text.group("formation = \"1+1+1\"\nbypass = \"manual switch\"").world();
    let prepared = world.prepared();
    let design = design(&prepared);
    assert_eq!(found(&design, "local-amendment").severity.word(), "warning");
}

#[test]
fn an_amendment_of_a_rule_that_nothing_asks_for_says_so() {
    let said = |lines: &str| {
        let world = us(lines);
        let prepared = world.prepared();
        let design = design(&prepared);
        found(&design, "local-amendment").message.contains("the rule is not used here")
    };
    // a utility is there, no dwelling, no place of the battery
    for rule in ["stand-alone", "dwelling-service", "storage-places"] {
        assert!(said(&format!("rule = \"{rule}\"\napplies = false")), "{rule}");
    }
    for rule in ["standby-capacity", "voltage-drop", "working-space"] {
        assert!(!said(&format!("rule = \"{rule}\"\napplies = false")), "{rule}");
    }
}

/// The depth of the place decides at the wall too, and a rule that it does not apply is not called passed.
#[test]
fn the_working_space_of_the_place_is_held_at_the_wall() {
    let of = |lines: &str| {
        let wall = "[wall]\nwidth = \"4 m\"\nheight = \"2.4 m\"\nin_front = \"1.2 m\"\nfixing = \"100 kg\"";
        let mut text =
            Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"7 kW\"\npower_factor = 1");
        text.rest = format!("{wall}\n[[amendment]]\nrule = \"working-space\"\n{lines}\n{WORDS}");
        let world = text.group("count = 3").world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let short = failing(&design).contains(&"clearance-short");
        (verdict(&world, &design, "working-space"), verdict(&world, &design, "working-area"), short)
    };
    assert_eq!(of("length = \"0.95 m\""), (Verdict::Passed, Verdict::Passed, false));
    assert_eq!(of("length = \"1.1 m\""), (Verdict::Failed, Verdict::Passed, true));
    assert_eq!(of("applies = false").0, Verdict::DoesNotApply);
}

/// 7 kW at 240 V are 29.2 A for hours: 36.5 A as the code counts them, 43.8 A where the place counts them 1.5 times, 29.2 A
/// where it counts them once.
#[test]
fn the_place_may_count_continuous_loads_otherwise() {
    let of = |lines: &str| {
        let mut text =
            Text::split("demo-split-5k4").load("heat", "L1-L2", "power = \"7 kW\"\npower_factor = 1");
        text.rest = lines.to_owned();
        let world = text.group("count = 3").world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let wire = design.wires.iter().find(|w| w.role == "backup.conductor").unwrap();
        let said = design.assessed.ledger.findings.iter().find(|f| f.id == "local-amendment");
        let service = world.assessment.service.as_ref().unwrap().current.value();
        (wire.required.value(), service, said.map(|f| (f.severity.word(), f.message.clone())))
    };
    let amps = |i: quantity::Current| (quantity::Quantity::si(i) * 10.0).round() / 10.0;
    let amended =
        |share: &str| of(&format!("[[amendment]]\nrule = \"continuous-load\"\nshare = \"{share}\"\n{WORDS}"));
    let (wire, service, said) = of("");
    assert_eq!((amps(wire), amps(service), said), (36.5, 36.5, None));
    let (wire, service, said) = amended("150 %");
    assert_eq!((amps(wire), amps(service)), (43.8, 43.8));
    let (severity, message) = said.unwrap();
    assert!(severity == "note" && message.contains("150 % in place of 125 %"), "{message}");
    assert!(!message.contains("not used here"), "{message}");
    let (wire, service, said) = amended("100 %");
    assert_eq!((amps(wire), amps(service), said.unwrap().0), (29.2, 29.2, "warning"));
}
