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
