//! Laws that hold for every site, tried on many. Each case is a few small loads on a fixed design.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::collections::BTreeMap;

use assess::{Formation, assess_group};
use catalog::LegControl;
use demand::Lane;
use design::{Design, design};
use plant::Layout;
use proptest::prelude::*;
use quantity::{Leg, Quantity};
use support::{Text, World, name};

/// One load: on L1, L2, both, or any; watts; how long it runs and rests, in minutes; motor or not.
#[derive(Debug, Clone)]
struct Load {
    legs: &'static str,
    watts: u32,
    minutes: Option<(u32, u32)>,
    motor: Option<char>,
}

const POWER_FACTOR: &str = "power_factor = 0.9";

impl Load {
    fn of(&self) -> (String, String) {
        let size = match self.motor {
            Some(letter) => format!(
                "motor = {{ power = \"{} W\", efficiency = 0.8, locked_rotor_power_factor = 0.9, code_letter = \"{letter}\", start = \"direct\" }}\n{POWER_FACTOR}",
                self.watts.min(1500)
            ),
            None => format!("power = \"{} W\"\n{POWER_FACTOR}", self.watts),
        };
        let runs = match self.minutes {
            Some((lasts, rests)) => {
                format!("runs = \"20 min/day\"\nlasts = \"{lasts} min\"\nrests = \"{rests} min\"")
            }
            None => "runs = \"24 h/day\"".to_owned(),
        };
        (size, runs)
    }
}

fn load(legs: &'static [&'static str]) -> impl Strategy<Value = Load> {
    let minutes = prop::option::of((1_u32..90, 1_u32..60));
    let motor = prop::option::weighted(0.3, prop::sample::select(vec!['B', 'G', 'K', 'N']));
    (prop::sample::select(legs), 50_u32..2500, minutes, motor).prop_map(|(legs, watts, minutes, motor)| {
        // a motor runs line to line, so that every leg sees it alike
        let legs = if motor.is_some() { "L1-L2" } else { legs };
        Load { legs, watts, minutes, motor }
    })
}

const PLACED: &[&str] = &["L1", "L2", "L1-L2"];
const PLACED_OR_NOT: &[&str] = &["L1", "L2", "L1-L2", "any", "any", "any pair"];

const FAMILIES: &[(&str, &str)] = &[
    ("120/240 V split-phase", "demo-split-5k4"),
    ("120/240 V split-phase", "demo-split-10k"),
    ("120/240 V split-phase", "demo-line-6k"),
    ("120/240 V split-phase", "demo-leg-3k6"),
    ("120/208 V wye", "demo-leg-3k6"),
    ("120/208 V two legs", "demo-leg-3k6"),
    ("120 V single-phase", "demo-leg-3k6"),
    ("230/400 V wye", "demo-230-5k"),
    ("230/400 V wye", "demo-230-3k"),
    ("230 V single-phase", "demo-230-5k"),
];

fn site(unit: &str, loads: &[Load]) -> Text {
    loads_on(Text::split(unit), loads)
}

fn loads_on(text: Text, loads: &[Load]) -> Text {
    loads.iter().enumerate().fold(text, |text, (k, load)| {
        let (size, runs) = load.of();
        text.load_with(&format!("load {k}"), load.legs, &size, &runs)
    })
}

/// Figures of every margin, by what it is of.
fn margins(design: &Design<'_>) -> BTreeMap<(String, String, String), f64> {
    let all = design.assessed.ledger.margins.iter();
    let mut out = BTreeMap::new();
    for margin in all {
        let (part, what) = name(margin);
        let share = margin.share().unwrap_or(f64::NEG_INFINITY);
        let least: &mut f64 = out.entry((part, what, margin.state.clone())).or_insert(share);
        *least = least.min(share);
    }
    out
}

fn heaviest(world: &World) -> Leg {
    let lanes = &world.assessment.panels["backup"].lanes;
    let power = |leg: Leg| lanes.get(&Lane::Leg(leg)).map_or(0.0, |lane| lane.steady_apparent.value().si());
    if power(Leg::L1) >= power(Leg::L2) { Leg::L1 } else { Leg::L2 }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Design fixed, no export, the same power factor everywhere: more load on the heaviest leg takes from its margins
    /// or leaves them.
    #[test]
    fn load_added_to_the_heaviest_leg_raises_none_of_its_margins(
        loads in prop::collection::vec(load(PLACED), 1..6),
        more in 50_u32..3000,
        minutes in prop::option::of((1_u32..90, 1_u32..60)),
        units in 1_u32..6,
        outboard in any::<bool>(),
        unit in prop::sample::select(vec!["demo-split-5k4", "demo-split-10k", "demo-line-6k"]),
    ) {
        let arrangement = if outboard { "outboard" } else { "inline" };
        let fixed = format!(
            "count = {units}\narrangement = \"{arrangement}\"\nbypass = \"none\"\ninput_limit = \"45 A\"\ntransfer_switch = \"demo-ats-240-200-switched\"\ninput_inhibit = \"no\"\nneutral_former = \"demo-former-60\""
        );
        let mut text = site(unit, &loads).group(&fixed);
        // breakers of the units stay what they are: they would be chosen larger for more load
        let most = text.world().prepared().unit.input_breaker.si();
        text.rest = ["unit.input", "unit.output"]
            .map(|part| format!("[[breaker]]\npart = \"{part}\"\nrating = \"{most} A\"\n"))
            .concat();
        let before = text.world();
        let leg = heaviest(&before);
        let added = Load { legs: if leg == Leg::L1 { "L1" } else { "L2" }, watts: more, minutes, motor: None };
        let (size, runs) = added.of();
        let after = text.load_with("added", added.legs, &size, &runs).world();
        let (before, after) = (before.prepared(), after.prepared());
        let (before, after) = (margins(&design(&before)), margins(&design(&after)));
        let mine = format!(", {leg}");
        let mut compared = 0;
        for (of, share) in before.iter().filter(|((_, what, _), _)| what.ends_with(&mine)) {
            if let Some(now) = after.get(of) {
                prop_assert!(*now <= share + 1e-9, "{of:?} rose from {share} to {now}");
                compared += 1;
            }
        }
        prop_assert!(compared >= 2, "only {compared} margins of {leg} in both");
    }

    /// The order in which loads and panels stand in the file changes nothing but places.
    #[test]
    fn the_order_of_items_changes_nothing(
        loads in prop::collection::vec(load(PLACED_OR_NOT), 2..7),
        seed in any::<prop::sample::Index>(),
        first in any::<prop::sample::Index>(),
    ) {
        let text = site("demo-split-5k4", &loads).group("count = \"choose\"");
        let mut other = text.clone();
        other.panels.reverse();
        let n = other.loads.len();
        other.loads.rotate_left(1 + seed.index(n - 1));
        other.loads.swap(0, first.index(n));
        let (a, b) = (text.world(), other.world());
        let (a, b) = (a.prepared(), b.prepared());
        let (da, db) = (design(&a), design(&b));
        prop_assert_eq!(&da.case.formation, &db.case.formation);
        let decisions = |d: &Design<'_>| -> Vec<_> {
            d.decisions.iter().map(|d| format!("{} {} {:?} {:?}", d.what, d.value, d.reasons, d.dropped)).collect()
        };
        prop_assert_eq!(decisions(&da), decisions(&db));
        prop_assert_eq!(&a.demand.balance, &b.demand.balance);
        let figures = |d: &Design<'_>| -> Vec<_> {
            let margins = d.assessed.ledger.margins.iter();
            let of = |m: &finding::Margin| (name(m), m.state.clone(), derivation::number(m.value.amount.si), derivation::number(m.limit.amount.si));
            margins.map(of).collect()
        };
        prop_assert_eq!(figures(&da), figures(&db));
        // a message may name loads in the order of the file
        let words = |text: &str| {
            let mut words: Vec<String> = text.split_whitespace().map(|w| w.trim_end_matches(',').to_owned()).collect();
            words.sort_unstable();
            words
        };
        let findings = |d: &Design<'_>| -> Vec<_> {
            d.assessed.ledger.findings.iter().map(|f| (f.id, f.part.clone(), words(&f.message), f.fixes.clone())).collect()
        };
        prop_assert_eq!(findings(&da), findings(&db));
    }

    /// A group that serves goes on serving with more units.
    #[test]
    fn more_units_never_make_a_serving_group_fail(
        loads in prop::collection::vec(load(PLACED), 1..6),
        one_out in any::<bool>(),
        unit in prop::sample::select(vec!["demo-split-5k4", "demo-split-10k", "demo-line-6k", "demo-leg-3k6"]),
    ) {
        let text = site(unit, &loads).wish(&format!("one_unit_may_be_out = {one_out}"));
        let world = text.world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let system = prepared.site.service.system.value;
        let mut served = false;
        for units in 1..=6 {
            let formation = if prepared.unit.leg_control == LegControl::OneLeg {
                Formation::one_leg(system, vec![units; 2])
            } else {
                Formation::two_leg(system, units)
            };
            let ledger = assess_group(&design.case, &formation);
            prop_assert!(!(served && ledger.fails()), "{units} units fail, fewer do not: {:#?}", ledger.findings);
            served |= !ledger.fails();
        }
    }

    /// The number that the tool chooses is the smallest: with fewer the group fails.
    #[test]
    fn the_chosen_number_of_units_is_the_smallest(
        loads in prop::collection::vec(load(PLACED), 1..6),
        one_out in any::<bool>(),
        unit in prop::sample::select(vec!["demo-split-5k4", "demo-split-10k", "demo-line-6k"]),
    ) {
        let world = site(unit, &loads).wish(&format!("one_unit_may_be_out = {one_out}")).world();
        let prepared = world.prepared();
        let design = design(&prepared);
        let system = prepared.site.service.system.value;
        let chosen = design.case.formation.units();
        for fewer in 1..chosen {
            let ledger = assess_group(&design.case, &Formation::two_leg(system, fewer));
            prop_assert!(ledger.fails(), "{chosen} units were chosen, {fewer} hold");
        }
    }

    /// Whatever fails has a place that a user can change; margins have a state and figures.
    #[test]
    fn what_fails_says_where(
        loads in prop::collection::vec(load(PLACED), 1..5),
        scale in prop::sample::select(vec![1_u32, 3]),
        (system, unit) in prop::sample::select(FAMILIES.to_vec()),
        arrangement in prop::sample::select(vec!["inline", "outboard", "choose"]),
        units in prop::option::of(1_u32..10),
        generator in any::<bool>(),
        one_out in any::<bool>(),
    ) {
        let loads: Vec<Load> = loads.into_iter().map(|l| Load { watts: l.watts * scale, ..l }).collect();
        let mut text = loads_on(Text::of(system, unit), &loads);
        if system.ends_with("single-phase") {
            for load in &mut text.loads {
                *load = load.replace("\"L1-L2\"", "\"L1\"").replace("\"L2\"", "\"L1\"");
            }
        }
        text = text.group(&format!("arrangement = \"{arrangement}\"")).wish(&format!("one_unit_may_be_out = {one_out}"));
        if let Some(units) = units {
            text = text.group(&format!("count = {units}"));
        }
        if generator {
            let model = if system.starts_with("230") { "demo-gen-20k-400" } else { "demo-gen-12k" };
            text.rest = format!("[generator]\nmodel = \"{model}\"\ninlet = \"choose\"");
        }
        let world = text.world();
        let prepared = world.prepared();
        let design = design(&prepared);
        for finding in design.failing() {
            prop_assert!(finding.place.is_some(), "no place: {finding:#?}");
            prop_assert!(finding::kind(finding.id).is_some(), "not explained: {}", finding.id);
        }
        for margin in &design.assessed.ledger.margins {
            prop_assert!(!margin.state.is_empty() && !margin.part.is_empty(), "{margin:?}");
            prop_assert!(margin.share().is_some(), "no figure: {margin:?}");
            // whatever does not hold is found, unless it is a matter of the generator, which is a warning
            let told = design.assessed.ledger.findings.iter().any(|f| f.severity < finding::Severity::Note);
            prop_assert!(margin.holds() || told, "nothing said of {margin:?}");
        }
    }

    /// A load that the law makes a lifeline stops the design, whatever else the site holds.
    #[test]
    fn a_lifeline_is_refused_whatever_else_there_is(
        loads in prop::collection::vec(load(PLACED_OR_NOT), 0..5),
        class in prop::sample::select(vec!["emergency", "legally required", "essential health care", "critical operations"]),
        watts in 1_u32..3000,
        on_main in any::<bool>(),
        units in 1_u32..12,
    ) {
        let text = site("demo-split-5k4", &loads).group(&format!("count = {units}"));
        let more = format!("runs = \"1 min/day\"\nclass = \"{class}\"");
        let mut text = text.load_with("lifeline", "L1", &format!("power = \"{watts} W\""), &more);
        if on_main {
            let last = text.loads.last_mut().unwrap();
            *last = last.replace("panel = \"backup\"", "panel = \"main\"");
            text = text.load("lights", "L2", "power = \"100 W\"");
        }
        let world = text.world();
        let refused = world.refused();
        prop_assert!(refused.iter().any(|f| f.id == "lifeline-load" && f.severity.fails()));
    }

    /// What the tool chooses by itself, and calls fine, is fine with its choices written down.
    #[test]
    fn a_choice_written_down_gives_the_same_design(loads in prop::collection::vec(load(PLACED), 1..6)) {
        let free = site("demo-split-5k4", &loads);
        let world = free.world();
        let prepared = world.prepared();
        let chosen = design(&prepared);
        let arrangement = if chosen.case.layout == Layout::Inline { "inline" } else { "outboard" };
        let mut fixed = format!("count = {}\narrangement = \"{arrangement}\"", chosen.case.formation.units());
        if let Some(switch) = chosen.case.transfer {
            fixed.push_str(&format!("\ntransfer_switch = \"{}\"", switch.id));
        }
        let again = free.group(&fixed).world();
        let prepared = again.prepared();
        let again = design(&prepared);
        prop_assert_eq!(&chosen.case.formation, &again.case.formation);
        prop_assert_eq!(margins(&chosen), margins(&again));
        prop_assert_eq!(support::failing(&chosen), support::failing(&again));
    }
}
