//! The battery bank of small sites: by hand, and laws.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use design::{Design, design};
use finding::Margin;
use quantity::Quantity;
use support::{Text, World, failing, found, ids};

/// 6 kW on both legs all day, two units.
fn site(battery: &str, outage: &str) -> World {
    let mut text = Text::split("demo-split-5k4")
        .load("heat", "L1-L2", "power = \"6 kW\"\npower_factor = 1\ngap = \"1 min\"")
        .group("count = 2")
        .wish(&format!("outage = \"{outage}\""));
    text.rest = format!("[battery]\n{battery}");
    text.world()
}

fn with(battery: &str, outage: &str, look: impl Fn(&Design<'_>)) {
    let world = site(battery, outage);
    let prepared = world.prepared();
    look(&design(&prepared));
}

fn margin<'d>(design: &'d Design<'_>, part: &str, what: &str, state: &str) -> &'d Margin {
    let all = &design.assessed.ledger.margins;
    let it = all.iter().find(|m| m.part == part && m.what == what && m.state.contains(state));
    it.unwrap_or_else(|| panic!("no {part}: {what} [{state}]"))
}

const LFP: &str = "model = \"demo-lfp-5k\"\nlowest = \"10 degC\"";

/// Power from the bus: 6 kW are 0.556 of 10.8 kW, between the listed 0.935 and 0.92, so 6000 / 0.92 and twice 42 W.
const FROM_BUS_W: f64 = 6000.0 / 0.92 + 84.0;

/// 2 h of it at 51.2 V, 90 % usable, 80 % left when worn, 93 % at 10 degC: 385.4 Ah, four modules of 100 Ah.
#[test]
fn size_by_energy_by_hand() {
    with(LFP, "2 h", |design| {
        assert_eq!(failing(design), [""; 0]);
        let needed = FROM_BUS_W * 2.0 / 51.2 / (0.9 * 0.8 * 0.93);
        let rated = margin(design, "battery", "rated charge", "outage");
        assert!((rated.limit.amount.si - needed).abs() < 1e-6 * needed, "{}", rated.limit.amount.si);
        assert!((rated.value.amount.si - 400.0).abs() < 1e-9);
        let decided = design.decisions.iter().find(|d| d.what == "battery").unwrap();
        assert_eq!(decided.value, "4 strings of one demo-lfp-5k");
        assert!(
            decided.dropped[0].value.starts_with("3 strings") && decided.dropped[0].reason.contains("300 Ah")
        );
    });
}

/// At 50.4 V (10 % charge): four strings of 12 mohm and their cables, two units' cables.
#[test]
fn sag_by_hand() {
    with(&format!("{LFP}\ncount = 4"), "2 h", |design| {
        let ohm = |role: &str| {
            let wire = design.wires.iter().find(|w| w.role == role).unwrap();
            assert!(wire.direct);
            2.0 * wire.resistance.value().si()
        };
        let r = (0.012 + ohm("battery.string.conductor")) / 4.0 + ohm("unit.dc.conductor") / 2.0;
        let v = 0.5 * (50.4 + (50.4_f64 * 50.4 - 4.0 * r * FROM_BUS_W).sqrt());
        let found = margin(design, "dc.bus", "voltage at a unit", "3 h and longer").value.amount.si;
        // the bar and the units' unlike parts take a few hundredths more
        assert!(found < v && found > v - 0.05, "{found} {v}");
    });
}

/// Each of four strings may be 0.15 V off the mean: at the worst 0.15 V · (1 + 1) over two loops, less its part.
#[test]
fn unlike_strings_carry_more_than_an_equal_part() {
    with(&format!("{LFP}\ncount = 4"), "2 h", |design| {
        let worst = margin(design, "battery.string", "string current, strings unlike", "3 h and longer")
            .value
            .amount
            .si;
        let equal = FROM_BUS_W / 49.8 / 4.0;
        assert!(worst > equal + 5.0 && worst < equal + 25.0, "{worst} {equal}");
    });
}

/// IEEE 485 by hand: 6606 W at 42 V for 1 h, 1000 Ah cells that give 420 A for 1 h, 88 % at 10 degC, worn to 80 %.
#[test]
fn lead_acid_by_sections() {
    let battery = "model = \"demo-fla-2v-1000\"\nlowest = \"10 degC\"";
    with(battery, "1 h", |design| {
        let needed = FROM_BUS_W / 42.0 * (1000.0 / 420.0) / 0.88 / 0.8;
        let rated = margin(design, "battery", "rated charge", "outage");
        assert!((rated.limit.amount.si - needed).abs() < 1e-6 * needed, "{} {needed}", rated.limit.amount.si);
    });
}

/// More strings never sag more, and never leave more to a survivor.
#[test]
fn more_strings_never_sag_more() {
    let mut before: Option<(Vec<(String, f64)>, f64)> = None;
    for count in 2..=7_u32 {
        let world = site(&format!("{LFP}\ncount = {count}"), "20 min");
        let prepared = world.prepared();
        let design = design(&prepared);
        let sags = design.assessed.ledger.margins.iter().filter(|m| m.what == "voltage at a unit");
        let now: Vec<(String, f64)> = sags.map(|m| (m.state.clone(), m.value.amount.si)).collect();
        assert!(now.len() > 4);
        let survivor =
            margin(&design, "battery.string", "current of a survivor", "one string off").value.amount.si;
        // the others never give less than the equal part that they had before
        assert!(survivor >= FROM_BUS_W / 50.4 / f64::from(count), "{survivor}");
        if let Some((volts, other)) = &before {
            for ((state, v), (same, w)) in now.iter().zip(volts) {
                assert!(state == same && v >= w, "{count} strings, {state}: {v} after {w}");
            }
            assert!(survivor < *other);
        }
        before = Some((now, survivor));
    }
}

/// What a maker does not publish is not covered, each with its name; nothing is guessed in its place.
#[test]
fn an_unpublished_figure_is_not_covered() {
    type Take = fn(&mut catalog::BatteryModel);
    let cases: [(&str, Take); 6] = [
        ("`open_circuit`", |b| b.open_circuit.clear()),
        ("`highest`", |b| b.highest = None),
        ("`spread`", |b| b.spread = None),
        ("`short_circuit`", |b| b.short_circuit = None),
        ("`ripple`", |b| b.ripple = None),
        ("`end_of_life`", |b| b.end_of_life = None),
    ];
    for (what, take) in cases {
        let mut world = site(&format!("{LFP}\ncount = 4"), "2 h");
        take(world.catalog.batteries.get_mut("demo-lfp-5k").unwrap());
        let prepared = world.prepared();
        let design = design(&prepared);
        assert!(found(&design, "dc-unstated").message.contains(what), "{what}: {:?}", ids(&design));
    }
    let mut world = site(&format!("{LFP}\ncount = 4"), "2 h");
    world.catalog.units.get_mut("demo-split-5k4").unwrap().dc.precharge = None;
    assert_eq!(failing(&design(&world.prepared())), ["precharge-not-covered"]);
    let world = site("model = \"demo-lfp-5k\"\ncount = 4", "2 h");
    assert_eq!(failing(&design(&world.prepared())), ["battery-temperature-unknown"]);
}

/// The full plant shows what was decided, and every unit stays isolable on its DC side.
#[test]
fn the_plant_has_the_strings() {
    with(&format!("{LFP}\ncount = 4"), "2 h", |design| {
        assert!(design.proof.as_ref().unwrap().holds());
        let (plant, _) = assess::prove(&design.case, false).unwrap();
        for id in [
            "battery.string.4.device",
            "battery.string.4.conductor",
            "dc.bus",
            "unit.2.dc",
            "unit.2.dc.conductor",
        ] {
            let part = &plant.parts[plant.part_ix(id).unwrap_or_else(|| panic!("no {id}"))];
            assert!(part.direct.is_some() && part.rating.is_none(), "{id}");
        }
        assert!(plant.part_ix("battery.string.5.device").is_none());
    });
}
