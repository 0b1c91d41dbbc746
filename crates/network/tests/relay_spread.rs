//! How far the currents of paralleled relays spread: the corner bound against every corner solved by hand and
//! against seeded draws.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use derivation::{Known, Origin};
use network::NetworkError;
use network::sharing::matched_paths_limit;
use network::spread::{Distribution, Draws, PathRange, Spread};
use proptest::prelude::*;
use quantity::{Current, Quantity, Ratio, Resistance};

type Ends = (f64, f64);

fn known<Q: Quantity>(value: f64) -> Known<Q> {
    Known::assumed("x", "value", Q::from_si(value), "test")
}

fn ohm(value: f64) -> Known<Resistance> {
    known(value)
}

fn amps(value: f64) -> Known<Current> {
    known(value)
}

/// Resistance, own current, place of the bridge.
fn path((r, own, at): (Ends, Ends, Ends)) -> Result<PathRange, NetworkError> {
    PathRange::between(&ohm(r.0), &ohm(r.1))?
        .own(&amps(own.0), &amps(own.1))?
        .bridge_at(&known::<Ratio>(at.0), &known::<Ratio>(at.1))
}

fn spread(paths: &[(Ends, Ends, Ends)], total_a: f64) -> Spread {
    Spread::new(paths.iter().map(|p| path(*p).unwrap()).collect(), &amps(total_a)).unwrap()
}

fn like(count: usize, r: Ends, own: Ends, total_a: f64) -> Spread {
    spread(&vec![(r, own, (0.0, 1.0)); count], total_a)
}

fn corner_a(spread: &Spread) -> f64 {
    spread.corner().unwrap().current.value().si()
}

fn draw(spread: &Spread, seed: u64) -> Distribution {
    spread.draw(Draws { count: 10_000, seed }, Some(&amps(50.0))).unwrap()
}

fn largest_a(spread: &Spread, seed: u64) -> f64 {
    draw(spread, seed).largest.value().si()
}

/// The largest relay current, from the node equations with the bridge's own node eliminated by hand: relay and output
/// wiring are separate resistances a and b, V the voltage across both, so a i + b (i - J) = V.
fn by_nodes(states: &[(f64, f64, f64)], total_a: f64) -> f64 {
    let current = |v: f64, (r, own, at): (f64, f64, f64)| (v + (1.0 - at) * r * own) / r;
    let out = |v: f64| states.iter().map(|s| current(v, *s) - s.1).sum::<f64>();
    // what reaches the panel is linear in V
    let slope = out(1.0) - out(0.0);
    let v = (total_a - out(0.0)) / slope;
    states.iter().map(|s| current(v, *s).abs()).fold(0.0, f64::max)
}

/// Every corner of every range, solved apart.
fn by_brute_force(paths: &[(Ends, Ends, Ends)], total_a: f64) -> f64 {
    let end = |range: Ends, high: bool| if high { range.1 } else { range.0 };
    (0..1_u32 << (3 * paths.len()))
        .map(|bits| {
            let bit = |k: usize| bits >> k & 1 == 1;
            let state = |(k, p): (usize, &(Ends, Ends, Ends))| {
                (end(p.0, bit(3 * k)), end(p.1, bit(3 * k + 1)), end(p.2, bit(3 * k + 2)))
            };
            by_nodes(&paths.iter().enumerate().map(state).collect::<Vec<_>>(), total_a)
        })
        .fold(0.0, f64::max)
}

fn ends(low: f64, high: f64) -> impl Strategy<Value = Ends> {
    (low..high, low..high).prop_map(|(a, b)| if a <= b { (a, b) } else { (b, a) })
}

fn any_path() -> impl Strategy<Value = (Ends, Ends, Ends)> {
    (ends(0.5e-3, 9e-3), ends(-60.0, 60.0), ends(0.0, 1.0))
}

proptest! {
    /// The bound is the worst of all corners, and no state inside exceeds it.
    #[test]
    fn the_bound_is_the_worst_corner(
        paths in proptest::collection::vec(any_path(), 1..5), total in 0.0..300.0_f64, seed in 0_u64..1000,
    ) {
        let spread = spread(&paths, total);
        let (bound, brute) = (corner_a(&spread), by_brute_force(&paths, total));
        prop_assert!((bound - brute).abs() <= 1e-9 * (1.0 + brute), "{bound} against {brute}");
        let drawn = spread.draw(Draws { count: 500, seed }, None).unwrap();
        prop_assert!(drawn.largest.value().si() <= bound * (1.0 + 1e-12));
        let corner = spread.corner().unwrap().current;
        match &corner.node().origin {
            Origin::Solved { residual, .. } => prop_assert!(residual.abs() <= 1e-9 * (1.0 + bound)),
            other => prop_assert!(false, "{other:?}"),
        }
    }

    /// Ranges inside the ranges never raise the bound; the order of the paths does not matter.
    #[test]
    fn better_matched_never_worse_and_order_does_not_matter(
        paths in proptest::collection::vec(any_path(), 1..9), total in 0.0..300.0_f64,
        cut in ends(0.0, 1.0), turn in 0_usize..8,
    ) {
        let bound = corner_a(&spread(&paths, total));
        let inside = |r: Ends| {
            let at = |part: f64| (r.0 + part * (r.1 - r.0)).clamp(r.0, r.1);
            (at(cut.0), at(cut.1))
        };
        let better: Vec<_> = paths.iter().map(|p| (inside(p.0), inside(p.1), inside(p.2))).collect();
        prop_assert!(corner_a(&spread(&better, total)) <= bound * (1.0 + 1e-12));
        let mut turned = paths.clone();
        turned.rotate_left(turn % paths.len());
        turned.reverse();
        let again = corner_a(&spread(&turned, total));
        prop_assert!((again - bound).abs() <= 1e-12 * bound.max(1.0), "{again} against {bound}");
    }

    /// With one path open: nothing through it, the others as if it were not there.
    #[test]
    fn one_open_is_one_fewer(
        r in ends(0.5e-3, 9e-3), count in 2_usize..10, open in 0_usize..10, total in 1.0..300.0_f64,
    ) {
        let (all, open) = (like(count, r, (0.0, 0.0), total), open % count);
        let fewer = corner_a(&like(count - 1, r, (0.0, 0.0), total));
        let rest = all.with_open(open).unwrap();
        prop_assert!((corner_a(&rest) - fewer).abs() <= 1e-12 * fewer);
        prop_assert!(rest.corner().unwrap().path != open);
        prop_assert!(fewer >= corner_a(&all));
    }
}

/// 10,000 draws stay under the bound; for two units they come within 2 % of it.
#[test]
fn draws_stay_under_the_bound_and_come_near_it_for_two_units() {
    println!("paths  R_max/R_min  own A   median    p95    p99    max  bound   max/bound");
    for (count, r, own) in [
        (2, 1.5, 0.0),
        (2, 3.0, 0.0),
        (2, 5.0, 0.0),
        (2, 3.0, 20.0),
        (9, 3.0, 0.0),
        (36, 3.0, 0.0),
        (36, 3.0, 20.0),
    ] {
        let spread = like(count, (1e-3, r * 1e-3), (0.0, own), 40.0 * count as f64);
        let bound = corner_a(&spread);
        let mut nearest: f64 = 1.0;
        for seed in 1..=5 {
            let found = draw(&spread, seed);
            let largest = found.largest.value().si();
            assert!(largest <= bound * (1.0 + 1e-12), "{count} paths, seed {seed}: {largest} over {bound}");
            nearest = nearest.min(largest / bound);
            if seed == 1 {
                let of = |q: &Known<Current>| q.value().si();
                let (m, p95, p99) = (of(&found.median), of(&found.p95), of(&found.p99));
                assert!(m <= p95 && p95 <= p99 && p99 <= largest);
                println!(
                    "{count:5} {r:12} {own:6} {m:8.2} {p95:6.2} {p99:6.2} {largest:6.2} {bound:6.2} {:11.4}",
                    largest / bound
                );
            }
        }
        if count == 2 && own <= 0.0 {
            assert!(nearest > 0.98, "two paths, spread {r}: only {nearest} of the bound");
        }
    }
}

/// Without own currents the bound is the matched paths' limit turned round.
#[test]
fn agrees_with_the_matched_paths_limit() {
    for (count, r) in [(1, 4.0), (2, 5.0 / 3.0), (3, 5.0 / 3.0), (9, 3.0), (36, 1.2)] {
        let limit = matched_paths_limit(&amps(50.0), count, &known::<Ratio>(r)).unwrap().value().si();
        let bound = corner_a(&like(count, (2e-3, 2e-3 * r), (0.0, 0.0), limit));
        assert!((bound - 50.0).abs() < 1e-9, "{count} paths, {r}: {bound}");
    }
}

/// Two paths of 1 to 3 mohm, 100 A to the panel, bridges charging up to 20 A each. All resistance behind the bridges:
/// 75 + 20 A. All ahead of them: three quarters of 140 A. Not known: the other's 20 A is ahead, its own is not.
#[test]
fn charging_of_the_others_passes_the_hottest_relay() {
    let two = |at: Ends| corner_a(&spread(&[((1e-3, 3e-3), (0.0, 20.0), at); 2], 100.0));
    for (at, by_hand) in [((0.0, 0.0), 95.0), ((1.0, 1.0), 105.0), ((0.0, 1.0), 0.75 * 120.0 + 20.0)] {
        assert!((two(at) - by_hand).abs() < 1e-9, "{at:?}: {}", two(at));
    }
    // contribution against the through-current relieves: at worst there is none
    let relieved = corner_a(&spread(&[((1e-3, 3e-3), (-20.0, 0.0), (0.0, 1.0)); 2], 100.0));
    assert!((relieved - 75.0).abs() < 1e-9, "{relieved}");
    // a bridge that goes on charging behind its open relay loads the other one
    let open = spread(&[((1e-3, 3e-3), (0.0, 20.0), (0.0, 1.0)); 2], 100.0).with_open(0).unwrap();
    assert!((corner_a(&open) - 140.0).abs() < 1e-9);
    assert!(largest_a(&open, 1) <= 140.0 && largest_a(&open, 1) > 138.0);
}

/// No load; the first bridge charges with 100 A at the utility's busbar, the second feeds 60 A into the panel's. What
/// comes back through the first relay relieves it, least when the second path conducts best: 100 - 60/4 A.
#[test]
fn relief_counts_at_its_least() {
    let r = (1e-3, 3e-3);
    let paths = [(r, (100.0, 100.0), (0.0, 0.0)), (r, (-60.0, -60.0), (1.0, 1.0))];
    let bound = spread(&paths, 0.0).corner().unwrap();
    assert!((bound.current.value().si() - 85.0).abs() < 1e-9, "{}", bound.current.value());
    assert_eq!(bound.path, 0);
}

#[test]
fn components_add() {
    let (relay, wire) = ((ohm(0.4e-3), ohm(2e-3)), (ohm(1e-3), ohm(1.2e-3)));
    let path = PathRange::of_components((&relay.0, &relay.1), (&wire.0, &wire.1)).unwrap();
    let both = Spread::new(vec![path; 3], &amps(120.0)).unwrap();
    let by_hand = 120.0 / (1.0 + 2.0 * 1.4 / 3.2);
    assert!((corner_a(&both) - by_hand).abs() < 1e-9);
    assert!((largest_a(&both, 1) / by_hand) < 1.0);
}

#[test]
fn zero_spread_gives_equal_shares() {
    let found = draw(&like(6, (2e-3, 2e-3), (0.0, 0.0), 240.0), 7);
    for value in [&found.median, &found.p95, &found.p99, &found.largest] {
        assert!((value.value().si() - 40.0).abs() < 1e-12);
    }
    assert_eq!(found.over_share.unwrap().value().si().to_bits(), 0.0_f64.to_bits());
}

/// Same seed, same bits; another seed, others. The part over the rating agrees with the quantiles.
#[test]
fn the_seed_decides() {
    let spread = like(4, (1e-3, 3e-3), (0.0, 10.0), 130.0);
    let bits = |seed: u64| {
        let d = draw(&spread, seed);
        [&d.median, &d.p95, &d.p99, &d.largest].map(|q| q.value().si().to_bits())
    };
    assert_eq!(bits(1), bits(1));
    assert_ne!(bits(1), bits(2));
    let (p95, at) = (draw(&spread, 1).p95, Draws { count: 10_000, seed: 1 });
    let over = spread.draw(at, Some(&p95)).unwrap().over_share.unwrap().value().si();
    assert!((over - 0.05).abs() < 1e-12, "{over}");
}

#[test]
fn what_cannot_be_reckoned_is_refused() {
    let ok = ((1e-3, 2e-3), (0.0, 5.0), (0.0, 1.0));
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.0, 5e-324, 5.0] {
        assert!(path(((bad, 2e-3), ok.1, ok.2)).is_err(), "lowest {bad} ohm");
    }
    for bad in [f64::NAN, f64::INFINITY, -1.0, 0.5e-3] {
        assert!(path(((1e-3, bad), ok.1, ok.2)).is_err(), "highest {bad} ohm");
    }
    for own in [(f64::NAN, 5.0), (0.0, f64::NAN), (0.0, f64::INFINITY), (5.0, 0.0)] {
        assert!(path((ok.0, own, ok.2)).is_err(), "own {own:?}");
    }
    for at in [(-0.1, 1.0), (0.0, 1.1), (0.8, 0.2), (f64::NAN, 1.0)] {
        assert!(path((ok.0, ok.1, at)).is_err(), "bridge at {at:?}");
    }
    let none = ohm(0.0);
    assert!(
        PathRange::of_components((&none, &none), (&none, &none)).is_err(),
        "ideal paths share by nothing"
    );
    assert!(Spread::new(Vec::new(), &amps(50.0)).is_err());
    for total in [f64::NAN, f64::INFINITY, -1.0] {
        assert!(Spread::new(vec![path(ok).unwrap()], &amps(total)).is_err(), "total {total}");
    }
    let one = spread(&[ok], 50.0);
    assert!(one.with_open(0).is_err() && one.with_open(1).is_err());
    for count in [0, 10_000_001] {
        assert!(one.draw(Draws { count, seed: 1 }, None).is_err(), "{count} draws");
    }
    for rating in [0.0, f64::NAN] {
        let at = Draws { count: 10, seed: 1 };
        assert!(one.draw(at, Some(&amps(rating))).is_err(), "rating {rating}");
    }
}

/// Printed, never judged: other work on the machine must not fail a test.
#[test]
fn time_of_nine_paths() {
    let spread = like(9, (1e-3, 3e-3), (0.0, 20.0), 360.0);
    let start = std::time::Instant::now();
    let found = draw(&spread, 1);
    println!("nine paths, 10,000 draws: {:.2?}, largest {}", start.elapsed(), found.largest.value());
    assert!(found.largest.value().si() > found.median.value().si());
}
