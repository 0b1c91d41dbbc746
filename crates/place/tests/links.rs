//! Links of small groups: planned by hand, and every way to build them wrong.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use catalog::LinkShape;
use place::link::{LinkCase, LinkPlan, plan};
use quantity::{Length, Quantity};
use support::{catalog, failing, ids, site};

/// Units side by side, 0.5 m apart, at one height.
fn planned(id: &str, n: u32, rest: &str) -> LinkPlan {
    let (site, catalog) = (site(rest), catalog());
    let ports = (0..n).map(|k| Some((Length::of(0.5 * f64::from(k)), Length::of(1.0)))).collect();
    plan(&LinkCase { site: &site, unit: &catalog.units[id], units: n, ports })
}

/// Four units: three cables of 0.5 m and 0.6 m of loops, 1.1 m, so 1.5 m each.
#[test]
fn a_row_of_four_by_hand() {
    let found = planned("demo-split-10k", 4, "");
    let [link] = found.links.as_slice() else { panic!("{:?}", found.links) };
    let told: Vec<(&str, Option<u32>, bool, bool)> =
        link.devices.iter().map(|d| (d.part.as_str(), d.address, d.lead, d.terminated)).collect();
    let expected = [
        ("unit 1", Some(1), true, true),
        ("unit 2", Some(2), false, false),
        ("unit 3", Some(3), false, false),
        ("unit 4", Some(4), false, true),
    ];
    assert_eq!(told, expected);
    assert!(link.cables.iter().all(|c| (c.length.value().si() - 1.5).abs() < 1e-12));
    assert!((link.total.value().si() - 4.5).abs() < 1e-12);
    let cut: Vec<usize> = link.cables.iter().map(|c| c.cuts_off.len()).collect();
    assert_eq!((cut, failing(&found.held.findings)), (vec![3, 2, 1], vec![]));
    assert_eq!(ids(&found.held.findings), ["link-lost"]);
    assert!(planned("demo-split-10k", 1, "").links.is_empty(), "one unit needs no link");
}

#[test]
fn too_many_and_too_long_are_found() {
    assert_eq!(failing(&planned("demo-split-10k", 9, "").held.findings), ["link-too-many"]);
    let (site, catalog) = (site(""), catalog());
    let far = |step: f64| {
        let ports = (0..4).map(|k| Some((Length::of(step * f64::from(k)), Length::of(1.0)))).collect();
        failing(
            &plan(&LinkCase { site: &site, unit: &catalog.units["demo-split-10k"], units: 4, ports })
                .held
                .findings,
        )
    };
    // three cables of 9.4 m and 0.6 m are just the 30 m of the record; a little more is too long
    assert!(far(9.4).is_empty());
    assert_eq!(far(9.41), ["link-too-long"]);
    let unplaced =
        LinkCase { site: &site, unit: &catalog.units["demo-split-10k"], units: 2, ports: vec![None, None] };
    assert_eq!(failing(&plan(&unplaced).held.findings), ["link-not-covered"], "no length, no verdict");
}

/// Nine units where a link takes eight and further ones may begin at the lead unit: eight and two, addresses once.
#[test]
fn a_full_link_is_continued_from_the_lead_unit_where_the_record_allows_it() {
    let (site, mut catalog) = (site(""), catalog());
    let unit = catalog.units.get_mut("demo-split-10k").unwrap();
    unit.links[0].several = true;
    let ports = (0..9).map(|k| Some((Length::of(0.5 * f64::from(k)), Length::of(1.0)))).collect();
    let found = plan(&LinkCase { site: &site, unit, units: 9, ports });
    let sizes: Vec<usize> = found.links.iter().map(|l| l.devices.len()).collect();
    assert_eq!(sizes, [8, 2]);
    assert!(found.links.iter().all(|l| l.devices[0].lead && l.devices[0].part == found.lead));
    let mut addresses: Vec<u32> =
        found.links.iter().flat_map(|l| &l.devices).filter(|d| !d.lead).filter_map(|d| d.address).collect();
    addresses.sort_unstable();
    assert_eq!(addresses, (2..=9).collect::<Vec<_>>());
    assert!(failing(&found.held.findings).is_empty());
}

#[test]
fn a_star_has_its_middle_in_the_middle() {
    let (site, mut catalog) = (site(""), catalog());
    let unit = catalog.units.get_mut("demo-split-10k").unwrap();
    unit.links[0].shape = LinkShape::Star;
    let ports = (0..5).map(|k| Some((Length::of(0.5 * f64::from(k)), Length::of(1.0)))).collect();
    let found = plan(&LinkCase { site: &site, unit, units: 5, ports });
    assert_eq!(found.lead, "unit 3");
    assert!(found.links[0].cables.iter().all(|c| c.from == "unit 3" && c.cuts_off == [c.to.clone()]));
    assert!(found.links[0].devices.iter().all(|d| !d.terminated));
}

/// A star as built: the cable of a lead unit that is not the middle cuts it off from all others; cable that was measured
/// counts, and says of single cables only that none is longer.
#[test]
fn a_star_whose_lead_is_not_in_the_middle() {
    let of = |cable: &str| {
        let (site, mut catalog) = (
            site(&format!(
                "[[link]]\nkind = \"data and synchronising\"\n{cable}\ndevice = [{{ unit = 2, address = 2 }}, \
                 {{ unit = 1, lead = true, address = 1 }}, {{ unit = 3, address = 3 }}]"
            )),
            catalog(),
        );
        let unit = catalog.units.get_mut("demo-split-10k").unwrap();
        unit.links[0].shape = LinkShape::Star;
        let ports = (0..3).map(|k| Some((Length::of(0.5 * f64::from(k)), Length::of(1.0)))).collect();
        plan(&LinkCase { site: &site, unit, units: 3, ports })
    };
    let found = of("");
    let cut: Vec<Vec<String>> = found.links[0].cables.iter().map(|c| c.cuts_off.clone()).collect();
    assert_eq!(cut, [vec!["unit 2".to_owned(), "unit 3".to_owned()], vec!["unit 3".to_owned()]]);
    let fails = |cable: &str| failing(&of(cable).held.findings).join(" ");
    assert_eq!(fails(""), "");
    assert_eq!(fails("cable = \"30 m\""), "");
    assert_eq!(fails("cable = \"31 m\""), "link-not-covered");
}

const SOUND: &str = "[[link]]\nkind = \"data and synchronising\"\ncable = \"6 m\"\ndevice = [\
    { unit = 2, lead = true, address = 1, terminated = true }, { unit = 1, address = 2 }, { unit = 3, address = 3, terminated = true }]";

#[test]
fn what_is_built_right_is_taken_as_it_is() {
    let found = planned("demo-split-10k", 3, SOUND);
    assert!(failing(&found.held.findings).is_empty(), "{:?}", found.held.findings);
    assert_eq!(found.lead, "unit 2");
    let order: Vec<&str> = found.links[0].devices.iter().map(|d| d.part.as_str()).collect();
    assert_eq!(order, ["unit 2", "unit 1", "unit 3"]);
}

/// Each of these looks fine at a glance.
#[test]
fn every_way_to_build_it_wrong_is_found() {
    let cases = [
        ("{ unit = 1, address = 2 }", "{ unit = 1, lead = true, address = 2 }", "link-leads"),
        ("lead = true, ", "", "link-leads"),
        ("address = 2", "address = 3", "link-address"),
        ("{ unit = 1, address = 2 }", "{ unit = 1 }", "link-address"),
        ("address = 3, terminated = true", "address = 3", "link-ends"),
        ("address = 2 }", "address = 2, terminated = true }", "link-ends"),
        ("{ unit = 1, address = 2 }, ", "", "link-members"),
        ("unit = 1, ", "unit = 3, ", "link-members"),
        ("unit = 1, ", "unit = 7, ", "link-members"),
        ("\"6 m\"", "\"31 m\"", "link-too-long"),
        ("\"data and synchronising\"", "\"data\"", "link-unknown"),
    ];
    for (from, to, id) in cases {
        let text = SOUND.replacen(from, to, 1);
        assert_ne!(text, SOUND, "{from}");
        let found = failing(&planned("demo-split-10k", 3, &text).held.findings);
        assert!(found.contains(&id), "{from} -> {to}: {found:?}");
    }
}
