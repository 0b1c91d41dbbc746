//! How paralleled paths share, against published contactor upratings and by its properties.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use derivation::Known;
use network::sharing::{
    hottest_share, largest_total, matched_paths_limit, one_path_open, path_currents, resistive_paths,
};
use proptest::prelude::*;
use quantity::{Current, Quantity, Ratio, Resistance};

fn amps(a: f64) -> Known<Current> {
    Known::assumed("I", "current", Current::of(a), "test")
}

fn ratio(r: f64) -> Known<Ratio> {
    Known::assumed("r", "spread", Ratio::of(r), "test")
}

fn ohms(values: &[f64]) -> Vec<Known<Resistance>> {
    values.iter().map(|v| Known::assumed("R", "path", Resistance::of(*v), "test")).collect()
}

fn uprating(n: usize, r: f64) -> f64 {
    matched_paths_limit(&amps(1.0), n, &ratio(r)).unwrap().value().si()
}

/// Two contactor manuals print how much poles in parallel may carry, over one pole. They check the algebra: poles
/// of one contactor share one coil, which says nothing of relays in separate units.
#[test]
fn published_upratings_of_poles_in_parallel() {
    for (n, published) in [(2, 1.6), (3, 2.2), (4, 2.8)] {
        assert!((uprating(n, 5.0 / 3.0) - published).abs() < 1e-12, "{n} poles");
    }
    assert!((uprating(2, 4.0 / 3.0) - 1.75).abs() < 1e-12);
    assert!((uprating(3, 4.0 / 3.0) - 2.5).abs() < 1e-12);
    assert!(uprating(2, 4.0 / 3.0) <= 1.8 && uprating(3, 4.0 / 3.0) <= 2.5, "the other manual's figures");
}

/// A spread below 1 would count n paths as more than n: refused, never computed.
#[test]
fn impossible_spreads_and_paths_are_refused() {
    for r in [0.99, 0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert!(matched_paths_limit(&amps(50.0), 3, &ratio(r)).is_err(), "r = {r}");
    }
    assert!(matched_paths_limit(&amps(50.0), 0, &ratio(1.5)).is_err());
    assert!(resistive_paths(&ohms(&[0.002, 0.0])).is_err(), "ideal paths share by nothing that is known");
    let one = resistive_paths(&ohms(&[0.002])).unwrap();
    assert!(one_path_open(&one, &amps(10.0)).is_err(), "the only path open leaves none");
    assert!(hottest_share(&[]).is_err());
}

proptest! {
    /// Paths drawn together towards their mean never raise the hottest share.
    #[test]
    fn better_matched_paths_never_raise_the_hottest_share(
        values in prop::collection::vec(0.5e-3..20e-3_f64, 2..8),
        closer in 0.0..1.0_f64,
    ) {
        let mean = values.iter().map(|r| 1.0 / r).sum::<f64>() / values.len() as f64;
        let drawn: Vec<f64> = values.iter().map(|r| 1.0 / (mean + (1.0 / r - mean) * closer)).collect();
        let share = |v: &[f64]| {
            hottest_share(&resistive_paths(&ohms(v)).unwrap()).unwrap().value().si()
        };
        prop_assert!(share(&drawn) <= share(&values) + 1e-12);
        prop_assert!(share(&values) >= 1.0 / values.len() as f64 - 1e-12);
    }

    /// Whatever the paths within a spread, the matched limit overloads none of them.
    #[test]
    fn the_matched_limit_is_safe_for_every_set_of_paths(
        spread in 1.0..3.0_f64,
        places in prop::collection::vec(0.0..=1.0_f64, 1..8),
    ) {
        let values: Vec<f64> = places.iter().map(|p| 1e-3 * (1.0 + p * (spread - 1.0))).collect();
        let paths = resistive_paths(&ohms(&values)).unwrap();
        let limit = matched_paths_limit(&amps(50.0), values.len(), &ratio(spread)).unwrap();
        let hottest = path_currents(&paths, &limit).unwrap().currents.iter().map(|i| i.value().si()).fold(0.0, f64::max);
        prop_assert!(hottest <= 50.0 * (1.0 + 1e-12));
        let exact = largest_total(&vec![amps(50.0); values.len()], &paths).unwrap().total;
        prop_assert!(limit.value().si() <= exact.value().si() * (1.0 + 1e-12));
    }

    /// Losing a path never relieves one that stays, and the total is still carried.
    #[test]
    fn an_open_path_loads_the_others(values in prop::collection::vec(0.5e-3..20e-3_f64, 2..6)) {
        let paths = resistive_paths(&ohms(&values)).unwrap();
        let before = path_currents(&paths, &amps(100.0)).unwrap().currents;
        for case in one_path_open(&paths, &amps(100.0)).unwrap() {
            prop_assert!(case.currents[case.open].is_none());
            let sum: f64 = case.currents.iter().flatten().map(|i| i.value().si()).sum();
            prop_assert!((sum - 100.0).abs() < 1e-9);
            for (after, before) in case.currents.iter().zip(&before) {
                if let Some(after) = after {
                    prop_assert!(after.value().si() >= before.value().si());
                }
            }
        }
    }
}
