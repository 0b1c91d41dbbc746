//! What flows while the group follows a generator: the law of currents at every node, and no less than can flow. All data
//! are invented.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use demand::Lane;
use design::{Design, design};
use num_complex::Complex64;
use plant::SourceKind;
use plant::full::FullPlant;
use quantity::{Leg, Quantity};
use support::{Text, World};

/// What parts bring to a node on L1, L2, L3 and neutral.
fn into(plant: &FullPlant, flows: &network::operating::Flows, node: usize) -> [Complex64; 4] {
    let mut sums = [Complex64::default(); 4];
    for (part, currents) in plant.parts.iter().zip(&flows.parts) {
        for (sum, i) in sums.iter_mut().zip(currents) {
            *sum += if part.to.0 == node { *i } else { Complex64::default() };
            *sum -= if part.from.0 == node { *i } else { Complex64::default() };
        }
    }
    sums
}

/// The panel's highest current of a leg, with the power factor of its highest power.
fn load(design: &Design<'_>, leg: Leg) -> Complex64 {
    let case = &design.case;
    let Some(lane) = case.demand.lanes.get(&Lane::Leg(leg)) else { return Complex64::default() };
    let amperes = lane.steady_current.value().si();
    let active = (lane.steady_power.value().si() / case.system().phase_voltage().si()).min(amperes);
    Complex64::new(active, -(amperes * amperes - active * active).max(0.0).sqrt())
}

/// How often a leg was helped, and charged beside a helped one.
#[derive(Default)]
struct Seen {
    helped: usize,
    charged: usize,
    states: usize,
}

/// Every state in which the group follows the generator, in the corner that its sheet shows.
fn held(design: &Design<'_>, seen: &mut Seen) {
    let case = &design.case;
    let Some(limit) = case.settings.generator_limit.as_ref().map(|l| l.value().si()) else { return };
    let plant = assess::full_plant(case);
    let main = plant.node_ix("main").map(|n| n.0);
    let volts = case.system().phase_voltage().si();
    for state in assess::detail(case, false).iter().filter(|d| d.follows == Some(SourceKind::Generator)) {
        let of = |word: &str| state.corners.iter().find(|c| c.word == word);
        let helping = of("helping the generator");
        let served = state.state.feeds_panel(&case.plant) == Some(SourceKind::Generator);
        let asks_more = case.system().legs().iter().any(|leg| load(design, *leg).norm() > limit + 1e-9);
        assert_eq!(
            helping.is_some(),
            asks_more && served && state.state.battery && case.helps_one_leg(),
            "{}: {limit} A",
            state.name
        );
        let Some(corner) = helping.or(of("charging")).or(of("load")) else { continue };
        // a loop of closed gear, a panel without its neutral: said, and without currents
        let Some(flows) = &corner.flows else {
            assert!(corner.problem.is_some() && corner.parts.is_empty(), "{}", state.name);
            continue;
        };
        seen.states += 1;
        for k in 0..plant.nodes.len() {
            let sums = into(&plant, flows, k);
            if plant.supplies.iter().any(|s| s.node.0 == k) || plant.formers.iter().any(|f| f.node.0 == k) {
                continue;
            }
            let unit = plant.units.iter().position(|u| u.ac.0 == k);
            for leg in Leg::ALL {
                let found = sums[leg.index()];
                let drawn = match unit {
                    Some(unit) => flows.units[unit][leg.index()].norm(),
                    None if k == plant.panel.0 && helping.is_some() => load(design, leg).norm(),
                    None if k == plant.panel.0 || Some(k) == main => continue,
                    None => 0.0,
                };
                let live = flows.voltages[k][leg.index()].is_some();
                let drawn = if live { drawn } else { 0.0 };
                let name = &plant.nodes[k].id;
                assert!((found.norm() - drawn).abs() < 1e-4, "{name} {leg}: {found} A, {drawn} A drawn");
            }
            let left = (sums[0] + sums[1] + sums[2] + sums[3]).norm();
            assert!(left < 1e-4, "{}: {left} A is left over", plant.nodes[k].id);
        }
        for &leg in case.system().legs() {
            let feed = |role: &str| {
                corner.parts.iter().find(|p| p.role == role).map_or(0.0, |p| p.legs_a[leg.index()])
            };
            let s = if served { load(design, leg) } else { Complex64::default() };
            let l = leg.index();
            let most = f64::from(case.formation.units()) * case.unit.charging.power.si() / volts
                * share(design, leg);
            let shown = feed("generator.feed.conductor");
            if helping.is_some() {
                // load and chargers together, or the limit where that is less: |s + c| = L
                let expected = (s + Complex64::new(most, 0.0)).norm().min(limit);
                assert!((shown - expected).abs() < 0.01, "{} {leg}: {shown} A, {expected} A", state.name);
                assert!((feed("backup.feeder") - s.norm()).abs() < 0.01, "{} {leg}", state.name);
                let given: f64 = flows.units.iter().map(|u| u[l].re).sum();
                seen.helped += usize::from(s.norm() > limit + 1.0);
                seen.charged += usize::from(s.norm() < limit - 1.0);
                assert!((given.abs() > 0.1) == ((s.norm() - limit).abs() > 0.1 || most > 0.1), "{given} A");
            } else if asks_more {
                assert!(shown + 0.01 >= s.norm().min(limit), "{} {leg}", state.name);
            } else if case.helps_one_leg() {
                let expected = (s + Complex64::new(most, 0.0)).norm().min(limit);
                assert!((shown - expected).abs() < 0.01, "{} {leg}: {shown} A, {expected} A", state.name);
            }
        }
    }
}

/// The part of the group's charging that is on a leg.
fn share(design: &Design<'_>, leg: Leg) -> f64 {
    let case = &design.case;
    if case.unit.leg_control != catalog::LegControl::OneLeg {
        return 1.0 / case.system().legs().len() as f64;
    }
    f64::from(case.formation.on(leg)) / f64::from(case.formation.units())
}

fn site(system: &str, unit: &str, generator: &str, amperes: &[f64]) -> Text {
    let volts = if system.starts_with("230") { 230.0 } else { 120.0 };
    let mut text = Text::of(system, unit);
    for (k, a) in amperes.iter().enumerate() {
        let size = format!("power = \"{:.0} W\"\npower_factor = 0.9", a * volts * 0.9);
        text = text.load(&format!("heat {k}"), &format!("L{}", k + 1), &size);
    }
    text.rest = format!(
        "[battery]\ncount = \"choose\"\nlowest = \"10 degC\"\n\n[generator]\nmodel = \"{generator}\"\n"
    );
    text
}

/// A leg above the generator's limit beside one below it, families that help one leg and one that does not, one and several
/// phases.
#[test]
fn beside_a_generator_no_less_is_shown_than_can_flow() {
    let mut seen = Seen::default();
    for (system, unit, generator, amperes) in [
        ("120/240 V split-phase", "demo-split-5k4", "demo-gen-12k", &[62.0, 11.0][..]),
        ("120/240 V split-phase", "demo-split-5k4", "demo-gen-12k", &[30.0, 31.0][..]),
        ("120/240 V split-phase", "demo-line-6k", "demo-gen-12k", &[30.0, 10.0][..]),
        ("230/400 V wye", "demo-230-5k", "demo-gen-20k-400", &[38.0, 12.0, 25.0][..]),
        ("120/208 V wye", "demo-leg-3k6", "demo-gen-25k-208", &[80.0, 20.0, 5.0][..]),
    ] {
        for inlet in ["second input", "transfer switch"] {
            let mut text = site(system, unit, generator, amperes);
            text.rest += &format!("inlet = \"{inlet}\"");
            let world = text.world();
            let prepared = world.prepared();
            held(&design(&prepared), &mut seen);
        }
    }
    for name in ["creamery", "farmhouse", "field-station", "packing-shed", "veterinary-practice"] {
        let path = format!("{}/../../examples/{name}/site.toml", env!("CARGO_MANIFEST_DIR"));
        let world = World::read(&std::fs::read_to_string(path).unwrap());
        let prepared = world.prepared();
        held(&design(&prepared), &mut seen);
    }
    assert!(
        seen.helped > 3 && seen.charged > 3 && seen.states > 8,
        "{} {} {}",
        seen.helped,
        seen.charged,
        seen.states
    );
}
