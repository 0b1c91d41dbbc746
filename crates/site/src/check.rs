//! What no table can check alone: names and references, feeds, and statements that contradict each other.

mod formation;
mod names;

use std::collections::{BTreeMap, BTreeSet};

use quantity::Connection;
use reading::{Diagnostic, Placed, Section};

use crate::facts::Facts;
use crate::read::MOST_LOADS;
use crate::{Arrangement, BypassWish, ExportClass, LegWish};

/// Reports every mistake between tables.
pub(crate) fn all(root: &Section<'_>, facts: &Facts) {
    let report = |diagnostic| root.mistake(diagnostic);
    something_there(root, facts);
    if !facts.panels.defined.is_empty() {
        // without any panel that one mistake says enough
        names::check(&facts.panels, "panel", &report);
    }
    names::check(&facts.loads, "load", &report);
    names::check(&facts.stages, "stage", &report);
    names::check(&facts.arrays, "array", &report);
    sun(facts, &report);
    circles(facts, &report);
    connections(facts, &report);
    off_grid(facts, &report);
    bypass(facts, &report);
    years(facts, &report);
    formation::check(facts, &report);
}

fn something_there(root: &Section<'_>, facts: &Facts) {
    let whole = root.place();
    let needs = [("panel", "a panel", &facts.panels), ("load", "a load", &facts.loads)];
    for (key, what, names) in needs {
        let none = !root.has(key) && names.defined.is_empty();
        // measured demand may be all that is known of the loads
        if !none || (key == "load" && root.has("measured")) {
            continue;
        }
        if let Some(place) = &whole {
            root.mistake(
                Diagnostic::new("missing-key", format!("the site has no {key}"))
                    .at(place, format!("expected {what} at least: a table [[{key}]]")),
            );
        }
    }
    if let Some(first_too_many) = facts.loads.defined.get(MOST_LOADS) {
        root.mistake(
            Diagnostic::new("too-many-loads", format!("the site has more than {MOST_LOADS} loads"))
                .at(&first_too_many.place, "one too many")
                .help("write loads of one kind as one load with `count`"),
        );
    }
}

/// Panels that feed one another: one mistake for each circle, at its first panel in the file.
fn circles(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    let feeds: BTreeMap<&str, &Placed<String>> =
        facts.feeds.iter().map(|feed| (feed.panel.as_str(), &feed.fed_from)).collect();
    let mut done: BTreeSet<&str> = BTreeSet::new();
    for feed in &facts.feeds {
        let mut path: Vec<&str> = Vec::new();
        let mut at = feed.panel.as_str();
        let mut on_path: BTreeSet<&str> = BTreeSet::new();
        while let Some(next) = feeds.get(at).filter(|_| !done.contains(at) && on_path.insert(at)) {
            path.push(at);
            at = next.value.as_str();
        }
        if on_path.contains(at) {
            let circle: Vec<&str> = path.iter().copied().skip_while(|panel| *panel != at).collect();
            report(circle_mistake(&circle, &feeds));
        }
        done.extend(on_path);
    }
}

/// Panels of a circle that are named; more would not fit on a screen.
const MOST_NAMED: usize = 8;

fn circle_mistake(circle: &[&str], feeds: &BTreeMap<&str, &Placed<String>>) -> Diagnostic {
    let mut places: Vec<&Placed<String>> =
        circle.iter().filter_map(|panel| feeds.get(panel).copied()).collect();
    places.sort_by(|a, b| a.place.cmp(&b.place));
    let mut chain = circle.iter().take(MOST_NAMED).copied().collect::<Vec<_>>().join(" from ");
    chain.push_str(if circle.len() > MOST_NAMED { " from …" } else { "" });
    let first = circle.first().copied().unwrap_or_default();
    let message = format!("panels are fed in a circle: {chain} from {first}");
    let mut diagnostic = Diagnostic::new("fed-in-a-circle", message)
        .help("one of them is fed from the service: leave its `fed_from` out");
    for (k, feed) in places.into_iter().take(MOST_NAMED).enumerate() {
        diagnostic = if k == 0 {
            diagnostic.at(&feed.place, "this feed is part of the circle")
        } else {
            diagnostic.also(&feed.place, "and this one")
        };
    }
    diagnostic
}

fn connections(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    let Some(system) = &facts.system else { return };
    for legs in &facts.connections {
        let (there, written) = match legs.value {
            LegWish::On(connection) => (system.value.has(connection), connection.to_string()),
            LegWish::AnyLeg => (true, "any".to_owned()),
            LegWish::AnyPair => (system.value.legs().len() > 1, "any pair".to_owned()),
        };
        if there {
            continue;
        }
        let legs_there = system.value.legs().iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
        report(
            Diagnostic::new("no-such-connection", format!("a {} service has no {written}", system.value))
                .at(&legs.place, "not on this service")
                .also(&system.place, "the service")
                .help(format!("its live conductors are {legs_there}; {}", instead(legs.value))),
        );
    }
}

fn instead(legs: LegWish) -> &'static str {
    match legs {
        LegWish::On(Connection::ThreePhase) => "a three-phase load needs a three-phase service",
        LegWish::On(Connection::LineToNeutral(_)) => "\"any\" lets the tool choose the leg",
        LegWish::On(Connection::LineToLine(..)) | LegWish::AnyPair => {
            "name two of them, or, if it is a load between a leg and neutral, write \"any\""
        }
        LegWish::AnyLeg => "write one of them",
    }
}

fn off_grid(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    let Some(utility) = &facts.utility else { return };
    let conflict = |at: &Placed<()>, message: &str, help: &str| {
        report(
            Diagnostic::new("contradiction", message)
                .at(&at.place, "this")
                .also(&utility.place, if utility.value { "a utility is there" } else { "no utility" })
                .help(help),
        );
    };
    if let Some(arrangement) = &facts.arrangement {
        let islanded = arrangement.value == Arrangement::Islanded;
        let at = arrangement.clone().map(|_| ());
        if utility.value && islanded {
            let help = "write \"inline\" or \"outboard\", or utility = \"none\" in [service]";
            conflict(&at, "the islanded arrangement is for sites without a utility", help);
        }
        if !utility.value && !islanded {
            let help = "write \"islanded\" or \"choose\", or utility = \"yes\" in [service]";
            conflict(&at, "this arrangement needs a utility", help);
        }
    }
    if let Some(export) = facts.export.as_ref().filter(|export| export.value != ExportClass::None)
        && !utility.value
    {
        let help = "write export = \"none\", or utility = \"yes\" in [service]";
        conflict(&export.clone().map(|_| ()), "there is no utility to export to", help);
    }
}

fn bypass(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    let (Some(wish), Some(bypass)) = (&facts.bypass_wished, &facts.bypass) else { return };
    if wish.value && bypass.value == BypassWish::None {
        report(
            Diagnostic::new("contradiction", "a bypass is wished for and ruled out")
                .at(&bypass.place, "no bypass")
                .also(&wish.place, "the panel must be served while the units are serviced")
                .help("write bypass = \"choose\" in [group], or bypass = false in [wish]"),
        );
    }
}

/// What an array gives hangs on where the sun stands.
fn sun(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    let (Some(position), Some(array)) = (&facts.position, facts.arrays.defined.first()) else { return };
    if !position.value {
        report(
            Diagnostic::new("missing-key", "the site has an array, and [site] does not say where it lies")
                .at(&position.place, "`latitude`, `longitude` and `utc_offset` are missing")
                .also(&array.place, "this array")
                .help("write latitude = \"40.1 deg\", longitude = \"-83.2 deg\" (east is positive) and utc_offset = \"-5 h\" (standard time)"),
        );
    }
}

fn years(facts: &Facts, report: &dyn Fn(Diagnostic)) {
    for pair in facts.years.windows(2) {
        let [before, after] = pair else { continue };
        if after.value <= before.value {
            report(
                Diagnostic::new("wrong-order", "growth stages do not rise in years")
                    .at(&after.place, format!("{} years", after.value))
                    .also(&before.place, format!("the stage before: {} years", before.value))
                    .help("write the stages in the order of their years, each later than the one before"),
            );
        }
    }
}
