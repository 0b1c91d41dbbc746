//! `relay-spread`: hand figures, defaults, refusals.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::panic)]

use calc::{CalcError, Inputs, Outcome, run};

fn spread(more: &[&str]) -> Result<Outcome, CalcError> {
    let first = ["total_a=80", "paths=2", "lowest=1 mohm", "highest=3 mohm"];
    run("relay-spread", &Inputs::from_pairs(&[&first, more].concat())?)
}

#[test]
fn corner_and_draws() {
    let plain = spread(&["relay_a=50"]).unwrap();
    let of = |key: &str| plain.number(key).unwrap();
    assert!((of("corner_a") - 60.0).abs() < 1e-9, "three quarters of 80 A");
    let rising = [40.0, of("median_a"), of("p95_a"), of("p99_a"), of("max_a"), of("corner_a")];
    assert!(rising.windows(2).all(|w| w[0] < w[1]), "{rising:?}");
    assert!(of("max_a") > 0.98 * 60.0);
    // 50 A of 80 A: the other path has more than 5/3 of this one's resistance; with R uniform on 1 to 3 that is
    // 2 * integral from 1 to 9/5 of (3 - 5x/3)/4 dx = 4/15
    assert!((of("over_share") - 4.0 / 15.0).abs() < 0.015, "{}", of("over_share"));
    let said = spread(&["relay_a=50", "seed=1", "draws=10000"]).unwrap();
    assert_eq!(plain.json()["outputs"]["p99_a"]["value"], said.json()["outputs"]["p99_a"]["value"]);
    let charging = spread(&["own_a=0,20", "ahead=1", "seed=9"]).unwrap();
    assert!((charging.number("corner_a").unwrap() - 0.75 * 120.0).abs() < 1e-9);
    assert!(charging.get("over_share").is_none(), "no rating, no part over it");
}

#[test]
fn refused_with_a_reason() {
    for bad in ["draws=10.5", "seed=0.5", "draws=0", "draws=2e6", "own_a=20,0", "own_a=0,5,9", "ahead=0,1.5"]
    {
        assert!(spread(&[bad]).is_err(), "{bad}");
    }
    let reversed = ["total_a=80", "paths=2", "lowest_ohm=0.003", "highest_ohm=0.001"];
    let said = run("relay-spread", &Inputs::from_pairs(&reversed).unwrap()).unwrap_err().to_string();
    assert!(said.contains("not above the highest of its range"), "{said}");
}
