use super::*;
use crate::us::testing::{given, near};
use quantity::{Quantity, Temperature};
use tables::us::conductors::Laying;

fn kind(material: Material, insulation: Column, ambient: f64, n: f64, listing: Listing) -> Kind {
    Kind {
        material,
        insulation,
        listing,
        at: Surroundings {
            laying: Laying::Raceway,
            ambient: given(Temperature::of(ambient)),
            on_roof: false,
            current_carrying: given(Ratio::of(n)),
            short_raceway: false,
        },
        largest: "600".parse().unwrap(),
    }
}

fn load(continuous: f64, other: f64) -> Load {
    Load {
        carrier: Carrier::Feeder,
        continuous: given(Current::of(continuous)),
        other: given(Current::of(other)),
        fully_rated: false,
        device: None,
        several_receptacles: false,
    }
}

fn copper() -> Kind {
    kind(Material::Copper, Column::C75, 30.0, 3.0, Listing::C75)
}

/// CON-02: 200 A continuous: 250 A, 250 kcmil of 255 A.
#[test]
fn published_feeder() {
    let found = conductor_size(&copper(), &load(200.0, 0.0)).unwrap();
    near(&found.required, 250.0);
    assert_eq!(found.each.size.figure(), "250");
    near(&found.total, 255.0);
    near(found.device.as_ref().unwrap(), 250.0);
    assert!(found.passed_over.last().unwrap().contains("4/0 AWG"), "{:?}", found.passed_over);
}

/// By hand: 16 A continuous take 12 AWG behind 20 A: 14 AWG of 75 degC would carry 20 A, but 240.4(D) stops at 15
/// A.
#[test]
fn small_conductors_are_held_to_their_device() {
    let found = conductor_size(&copper(), &load(16.0, 0.0)).unwrap();
    assert_eq!(found.each.size.figure(), "12");
    assert!(found.passed_over[0].contains("240.4(D)"), "{:?}", found.passed_over);
    // 16 A other: a load of 16 A asks for a device of 20 A too
    assert_eq!(conductor_size(&copper(), &load(0.0, 16.0)).unwrap().each.size.figure(), "12");
}

/// By hand: 1000 A non-continuous: over 800 A the ampacity must reach the device, so 3 x 400 kcmil (1005 A), since
/// two of 600 kcmil carry 840 A.
#[test]
fn sets_beyond_the_largest_size_reach_a_device_over_800_a() {
    let found = conductor_size(&copper(), &load(0.0, 1000.0)).unwrap();
    near(&found.sets, 3.0);
    assert_eq!(found.each.size.figure(), "400");
    near(&found.total, 1005.0);
}

/// By hand: 40 A at 50 degC ambient with six conductors of 90 degC: 55 · 0.82 · 0.8 = 36.1 A fails, 6 AWG carries
/// 49.2 A; 35 A would let 8 AWG stand.
#[test]
fn factors_apply_to_the_load_without_the_continuous_addition() {
    let hot = kind(Material::Copper, Column::C90, 50.0, 6.0, Listing::C75);
    let found = conductor_size(&hot, &load(40.0, 0.0)).unwrap();
    assert_eq!(found.each.size.figure(), "6");
    near(&found.total, 75.0 * 0.82 * 0.8);
    // 36.08 A of ampacity, 40 A device by the next size up, 1.25 x 28 = 35 A
    assert_eq!(conductor_size(&hot, &load(28.0, 0.0)).unwrap().each.size.figure(), "8");
}

#[test]
fn terminals_of_unknown_listing_count_as_60_degc_up_to_100_a() {
    let unknown = kind(Material::Copper, Column::C90, 30.0, 3.0, Listing::Unknown);
    // 55 A at 60 degC is 6 AWG, at 75 degC 6 AWG too; 50 A: 6 AWG against 8 AWG
    assert_eq!(conductor_size(&unknown, &load(0.0, 50.0)).unwrap().each.size.figure(), "6");
    let listed = kind(Material::Copper, Column::C90, 30.0, 3.0, Listing::C75);
    assert_eq!(conductor_size(&listed, &load(0.0, 50.0)).unwrap().each.size.figure(), "8");
}

/// 310.10(G) lets 1/0 AWG lie in parallel: two carry 2 x 150 A, more than 250 A.
#[test]
fn the_least_size_in_parallel_is_one_of_them() {
    let bound = Kind { largest: "1/0".parse().unwrap(), ..copper() };
    let found = conductor_size(&bound, &load(0.0, 250.0)).unwrap();
    assert_eq!(found.each.size.figure(), "1/0");
    near(&found.sets, 2.0);
    near(&found.total, 300.0);
}

#[test]
fn what_no_conductor_carries_or_no_table_has_is_refused() {
    assert!(conductor_size(&copper(), &load(0.0, 20_000.0)).is_err());
    assert!(conductor_size(&copper(), &load(f64::NAN, 0.0)).is_err());
    assert!(conductor_size(&copper(), &load(-1.0, 0.0)).is_err());
    let demand = |required, carried| Demand {
        required: given(Current::of(required)),
        carried: given(Current::of(carried)),
        device: None,
        circuit: given(Current::of(50.0)),
        several_receptacles: false,
    };
    assert!(smallest(&copper(), &demand(50.0, f64::NAN)).is_err());
    assert!(smallest(&copper(), &demand(-1.0, 40.0)).is_err());
    let oven = kind(Material::Copper, Column::C90, 90.0, 3.0, Listing::C75);
    assert!(conductor_size(&oven, &load(10.0, 0.0)).is_err());
    let mut small = load(40.0, 0.0);
    small.device = Some(given(Current::of(45.0)));
    assert!(conductor_size(&copper(), &small).is_err(), "50 A are asked for");
}

/// Laws over the whole range: every choice satisfies each limit by itself, and more load never takes a smaller
/// single conductor.
#[test]
fn a_choice_holds_and_never_shrinks_with_more_load() {
    for material in [Material::Copper, Material::Aluminum] {
        for (insulation, ambient, n) in [(Column::C75, 30.0, 3.0), (Column::C90, 43.0, 8.0)] {
            let kind = kind(material, insulation, ambient, n, Listing::C75);
            let mut before = 0.0;
            for step in 1..200 {
                let a = f64::from(step) * 7.3;
                let found = conductor_size(&kind, &load(a, 0.0)).unwrap();
                let sets = found.sets.value().si();
                let device = found.device.as_ref().unwrap();
                assert!(sets * found.ampacity.at_terminals.value().si() >= 1.25 * a - 1e-9);
                assert!(found.total.value().si() >= a && device.value().si() >= 1.25 * a - 1e-9);
                let largest = overcurrent_device::largest(&found.total, false).unwrap();
                assert!(device.value() <= largest.value(), "{a}");
                let area = sets * found.each.area.value().si();
                if sets < 1.5 {
                    assert!(area >= before, "{a}");
                    before = area;
                }
            }
        }
    }
}

#[test]
fn a_share_of_the_load_is_continuous() {
    let share = |s| Load::shared(Carrier::Branch, &given(Current::of(40.0)), &given(Ratio::of(s)));
    near(&conductor_size(&copper(), &share(0.5).unwrap()).unwrap().required, 45.0);
    for s in [-0.1, 1.1, f64::NAN] {
        assert!(share(s).is_err(), "{s}");
    }
}

/// Rows of Table 310.16 as plain numbers: size, then the three columns of a metal.
fn plain_table(material: Material) -> Vec<(String, [f64; 3])> {
    let text = include_str!("../../../../../data/us/nec_310_16_ampacity_raceway.csv");
    let rows = text.lines().filter(|line| line.contains("AWG,") || line.contains("kcmil,"));
    let first = if material == Material::Copper { 1 } else { 4 };
    let columns = |line: &str| {
        let cells: Vec<&str> = line.split(',').collect();
        let a = |k: usize| cells[first + k].parse().ok();
        Some((cells[0].to_owned(), [a(0)?, a(1)?, a(2)?]))
    };
    rows.filter_map(columns).collect()
}

/// Against a search by brute force that knows the clauses as plain comparisons, over a grid of loads and places.
#[test]
fn a_search_by_brute_force_finds_the_same() {
    let standard = [
        10., 15., 20., 25., 30., 35., 40., 45., 50., 60., 70., 80., 90., 100., 110., 125., 150., 175., 200.,
        225., 250., 300., 350., 400., 450., 500., 600., 700., 800., 1000., 1200., 1600., 2000.,
    ];
    let mut compared = 0;
    for (material, smalls) in [
        (Material::Copper, [("14 AWG", 15.0), ("12 AWG", 20.0), ("10 AWG", 30.0)]),
        (Material::Aluminum, [("14 AWG", 0.0), ("12 AWG", 15.0), ("10 AWG", 25.0)]),
    ] {
        for (column, ambient, f_t, n, f_n) in [
            (Column::C75, 30.0, 1.0, 3.0, 1.0),
            (Column::C90, 38.0, 0.91, 4.0, 0.8),
            (Column::C60, 33.0, 0.91, 2.0, 1.0),
            (Column::C90, 8.0, 1.15, 25.0, 0.45),
        ] {
            for step in 0..140 {
                let (continuous, other) = (f64::from(step) * 5.7, f64::from(step % 7) * 3.1 + 1.0);
                let required = 1.25 * continuous + other;
                let device = standard.into_iter().find(|r| *r >= required - 1e-9).unwrap();
                let ends: usize = if device <= 100.0 { 0 } else { 1 };
                let own = Column::ALL.iter().position(|c| *c == column).unwrap();
                let passes = |size: &str, a: &[f64; 3], sets: f64| {
                    let at_ends = a[ends.min(own)];
                    let usable = sets * at_ends.min(a[own] * f_t * f_n);
                    let small = smalls.iter().find(|(name, _)| *name == size).map_or(1e9, |(_, a)| *a);
                    let protects = if usable > 800.0 {
                        device <= usable
                    } else {
                        device <= standard.into_iter().find(|r| *r >= usable - 1e-9).unwrap()
                    };
                    sets * at_ends >= required - 1e-9
                        && usable >= continuous + other - 1e-9
                        && device <= small
                        && protects
                };
                let table = plain_table(material);
                let end = table.iter().position(|(size, _)| size == "600 kcmil").unwrap();
                let big = table.iter().position(|(size, _)| size == "1/0 AWG").unwrap();
                let expected = (1..=12).find_map(|sets| {
                    let from = if sets == 1 { 0 } else { big };
                    let row = table[from..=end].iter().find(|(size, a)| passes(size, a, f64::from(sets)));
                    row.map(|(size, _)| (f64::from(sets), size.clone()))
                });
                let kind = kind(material, column, ambient, n, Listing::Unknown);
                let found = conductor_size(&kind, &load(continuous, other)).unwrap();
                let found = (found.sets.value().si(), found.each.size.to_string());
                assert_eq!(Some(found), expected, "{material:?} {column:?} {continuous} {other}");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 2 * 4 * 140);
}
