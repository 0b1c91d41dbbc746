//! Walls by hand, and walls that look fine and are not.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use derivation::Known;
use place::wall::{Depth, WallCase, WallPlan, opposite_panel, plan};
use quantity::{Length, PhaseVoltage, Quantity};
use support::{catalog, failing, ids, site, units, with};

fn on(site: &site::Site, n: u32) -> WallPlan {
    at(site, n, 120.0, Depth::AsTheCode)
}

fn at(site: &site::Site, n: u32, volts: f64, depth: Depth) -> WallPlan {
    let catalog = catalog();
    let to_ground = Known::assumed("U", "voltage to ground", PhaseVoltage::of(volts), "test");
    plan(&WallCase {
        site,
        items: units(&catalog, "demo-split-5k4", n),
        without_footprint: Vec::new(),
        elsewhere: Vec::new(),
        cables: Vec::new(),
        to_ground,
        gas: None,
        depth,
    })
    .unwrap()
}

fn said(plan: &WallPlan, rule: &str) -> Option<bool> {
    plan.verdicts.iter().find(|v| v.rule == rule).unwrap_or_else(|| panic!("nothing of {rule}")).holds
}

fn wall(n: u32, keys: &str) -> WallPlan {
    on(&site(&format!("[wall]\n{keys}")), n)
}

/// Three units of 420 mm, 50 mm beside and between: 1.46 m. 215 mm deep and 3 ft before a live part opposite: 1.129 m.
/// 49 kg on one stud 406 mm apart.
const SOUND: &str = "width = \"1.5 m\"\nheight = \"1.99 m\"\nin_front = \"1.13 m\"\nstuds = \"16 in\"\nfirst_stud = \"300 mm\"\nfixing = \"49 kg\"";

#[test]
fn three_units_on_a_wall_that_just_does() {
    let found = wall(3, SOUND);
    assert!(ids(&found.held.findings).is_empty(), "{:?}", found.held.findings);
    assert_eq!((found.items.len(), found.left_over.len()), (3, 0));
    assert!((found.mass.value().si() - 147.0).abs() < 1e-9);
    for item in &found.items {
        assert!(!item.studs.is_empty() && item.working.is_some(), "{}", item.item.part);
        let top = item.body.bottom.si() + item.body.height.si();
        assert!(top <= 2.0066 && item.keep_clear.left.si() >= 0.0);
    }
}

/// Each key a little too small, or the free space taken by something.
#[test]
fn walls_that_look_fine_and_are_not() {
    let cases = [
        ("width = \"1.5 m\"", "width = \"1.459 m\"", "wall-too-small"),
        ("height = \"1.99 m\"", "height = \"1.1 m\"", "wall-too-small"),
        ("height = \"1.99 m\"", "height = \"1.98 m\"", "clearance-short"),
        ("in_front = \"1.13 m\"", "in_front = \"1.12 m\"", "clearance-short"),
        ("fixing = \"49 kg\"", "fixing = \"48.9 kg\"", "fixing-over"),
        (
            "fixing",
            "obstacle = [{ kind = \"window\", left = \"0.6 m\", bottom = \"0.3 m\", width = \"0.3 m\", height = \"1.5 m\" }]\nfixing",
            "wall-too-small",
        ),
        (
            "fixing",
            "obstacle = [{ kind = \"other\", left = \"0 m\", bottom = \"1.0 m\", width = \"1.5 m\", height = \"50 mm\", depth = \"50 mm\" }]\nfixing",
            "wall-too-small",
        ),
    ];
    for (from, to, id) in cases {
        let text = SOUND.replacen(from, to, 1);
        assert_ne!(text, SOUND);
        let found = wall(3, &text);
        assert!(failing(&found.held.findings).contains(&id), "{to}: {:?}", found.held.findings);
        if id == "wall-too-small" {
            assert!(!found.left_over.is_empty() && found.left_over.len() + found.items.len() == 3);
        }
    }
    // what is not said is said to be missing
    assert_eq!(
        ids(&wall(3, "width = \"3 m\"\nheight = \"2.4 m\"\nstuds = \"600 mm\"").held.findings),
        ["fixing-unknown", "stud-not-sure", "working-space-unknown"]
    );
    assert_eq!(ids(&on(&site(""), 3).held.findings), ["wall-not-described"]);
}

/// By how much: the narrowest that was found is named, and does.
#[test]
fn a_wall_that_is_too_small_says_what_would_do() {
    let short = wall(6, "width = \"1 m\"\nheight = \"1.7 m\"\nin_front = \"2 m\"\nfixing = \"60 kg\"");
    let need = short.needed_width.as_ref().unwrap().value().si();
    assert!(need > 1.0, "{need}");
    let does = wall(
        6,
        &format!("width = \"{need} m\"\nheight = \"1.99 m\"\nin_front = \"2 m\"\nfixing = \"60 kg\""),
    );
    assert!(does.left_over.is_empty(), "{:?}", does.held.findings);
    let free = on(&site(""), 6);
    assert!(free.left_over.is_empty() && !free.stated);
}

/// By IEC 0.7 m before gear of 215 mm: 0.915 m.
#[test]
fn the_other_book_has_its_own_figures() {
    let text = |m: &str| {
        format!("[wall]\nwidth = \"3 m\"\nheight = \"2.1 m\"\nfixing = \"60 kg\"\nin_front = \"{m} m\"")
    };
    let temperature = "{ lowest = \"-10 degC\", high = \"33 degC\", room = \"35 degC\" }";
    let of =
        |m: &str| failing(&on(&with("230 V single-phase", "TN-S", temperature, &text(m)), 2).held.findings);
    assert!(of("0.915").is_empty());
    assert_eq!(of("0.914"), ["clearance-short"]);
}

/// 215 mm of gear and the 1.5 m that the place asks for: 1.715 m.
#[test]
fn the_depth_of_the_place_reaches_the_wall() {
    let own = || Depth::Own(Known::assumed("d", "depth", Length::of(1.5), "the place"));
    let of = |in_front: &str, depth: Depth| {
        let text = SOUND.replacen("1.13 m", in_front, 1);
        let plan = at(&site(&format!("[wall]\n{text}")), 3, 120.0, depth);
        (
            failing(&plan.held.findings).join(" "),
            ids(&plan.held.findings).join(" "),
            said(&plan, "working-space"),
        )
    };
    let short = "clearance-short".to_owned();
    assert_eq!(of("1.13 m", Depth::AsTheCode), (String::new(), String::new(), Some(true)));
    assert_eq!(of("1.71 m", own()), (short.clone(), short.clone(), Some(false)));
    assert_eq!(of("1.72 m", own()).0, "");
    assert_eq!(of("0.9 m", Depth::Waived), (String::new(), short, Some(false)), "waived: a warning");
}

/// NEC 2023 Table 110.26(A)(1) at 277 V: 3 ft, 3.5 ft, 4 ft. What is said of the wall and of its panel: the worse.
#[test]
fn what_is_opposite_is_decided_once() {
    let housing = "panel = { width = \"400 mm\", height = \"700 mm\", depth = \"120 mm\", mass = \"20 kg\" }";
    let of = |wall: &str, panel: &str, hangs: bool| {
        let more = if hangs { housing } else { "" };
        let mut site = site(&format!("[wall]\n{SOUND}\n{wall}\n{more}"));
        let words = [
            ("nothing", site::Opposite::Nothing),
            ("grounded", site::Opposite::Grounded),
            ("live", site::Opposite::Live),
        ];
        let value = words.into_iter().find(|(word, _)| *word == panel).map(|(_, value)| value);
        let place = site.group.place.clone();
        site.panels[1].opposite = value.map(|value| reading::Placed { value, place });
        let depth = at(&site, 3, 277.0, Depth::AsTheCode).working_depth.unwrap().value().si();
        ((depth / 0.3048 * 2.0).round() / 2.0, format!("{:?}", opposite_panel(&site, &site.panels[1])))
    };
    let wall = |word: &str| format!("opposite = \"{word}\"");
    assert_eq!(of(&wall("nothing"), "", true), (3.0, "Nothing".to_owned()));
    assert_eq!(of(&wall("nothing"), "live", true), (4.0, "Live".to_owned()));
    assert_eq!(of(&wall("nothing"), "live", false), (3.0, "Live".to_owned()), "it hangs elsewhere");
    assert_eq!(of(&wall("grounded"), "nothing", true), (3.5, "Grounded".to_owned()));
    assert_eq!(of("", "nothing", true), (4.0, "Nothing".to_owned()), "the units' opposite is not said");
    assert_eq!(of("", "", true), (4.0, "Live".to_owned()));
}

#[test]
fn the_rules_on_space_have_a_verdict() {
    let height = |m: &str| said(&wall(3, &SOUND.replacen("1.99 m", m, 1)), "working-area");
    assert_eq!((height("1.99 m"), height("1.98 m")), (Some(true), Some(false)));
    let unsaid = wall(3, &SOUND.replacen("in_front = \"1.13 m\"\n", "", 1));
    assert_eq!(said(&unsaid, "working-space"), None);
    assert_eq!(said(&on(&site(""), 3), "working-area"), None);
    let narrow = wall(3, &SOUND.replacen("1.5 m", "1.0 m", 1));
    assert!(narrow.verdicts.iter().any(|v| v.rule == "working-area" && v.holds == Some(false)));
}
