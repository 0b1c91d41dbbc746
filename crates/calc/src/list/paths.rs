//! Paralleled paths: transfer relays, unlike transformers.

use derivation::Known;
use network::Impedance;
use network::sharing::{
    Path, hottest_share, largest_total, loading, matched_paths_limit, one_path_open, path_currents, shares,
};
use network::spread::{Draws, PathRange, Spread};
use quantity::{Apparent, Current};

use crate::error::CalcError;
use crate::given::{Given, exactly};
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![sharing(), matched(), spread(), largest()]
}

fn sharing() -> Calculation {
    Calculation {
        id: "relay-sharing",
        purpose: "How paralleled relay paths share a current, and what is left when one is open",
        inputs: vec![
            In::numbers("path_ohm", M::OHM, "resistance of path"),
            In::numbers("path_x_ohm", M::OHM, "reactance of path").within(-1e6, 1e6).if_given(),
            In::number("total_a", M::AMPERE, "current through all paths").within(0.0, 1e6),
            In::number("relay_a", M::AMPERE, "continuous rating of one relay").if_given(),
            In::number("open_path", M::NUMBER, "number of the path that is open").within(1.0, 1e3).if_given(),
        ],
        outputs: vec![
            Out::new("path_a", M::AMPERE, "current in each path"),
            Out::new("share", M::NUMBER, "share of each path"),
            Out::new("hottest_share", M::NUMBER, "share of the path that carries most"),
            Out::new("drop_v", M::PHASE_VOLT, "voltage across the paths"),
            Out::new("worst_pct", M::PERCENT, "hottest path over its rating"),
            Out::new(
                "largest_total_a",
                M::AMPERE,
                "largest total that overloads no path at these resistances; no leave to count relays together",
            ),
            Out::new("first_path", M::NUMBER, "path that reaches its rating first"),
            Out::new(
                "worst_with_one_open_a",
                M::AMPERE,
                "largest current in a path when any one other is open",
            ),
            Out::new("remaining_a", M::AMPERE, "currents in the remaining paths with the named one open"),
        ],
        run: run_sharing,
    }
}

fn run_sharing(given: &Given) -> Result<Results, CalcError> {
    let paths = ohmic_paths(given)?;
    let total: Known<Current> = given.one("total_a", "I")?;
    let divided = path_currents(&paths, &total)?;
    let mut results = Results::default()
        .list("path_a", &divided.currents)
        .list("share", &shares(&paths)?)
        .known("hottest_share", &hottest_share(&paths)?)
        .known("drop_v", &divided.drop);
    if given.has("relay_a") {
        let relay: Known<Current> = given.one("relay_a", "I_r")?;
        let largest = largest_total(&vec![relay.clone(); paths.len()], &paths)?;
        let hottest = Known::largest("I_hot", "current in the hottest path", &divided.currents)
            .ok_or(CalcError::Undeclared { key: "path_a" })?;
        results = results
            .known("worst_pct", &loading(&hottest, &relay)?)
            .known("largest_total_a", &largest.total)
            .plain("first_path", largest.first as f64 + 1.0);
    }
    if paths.len() < 2 {
        return Ok(results);
    }
    let cases = one_path_open(&paths, &total)?;
    let every: Vec<Known<Current>> =
        cases.iter().flat_map(|c| c.currents.iter().flatten().cloned()).collect();
    let worst = Known::largest("I_open", "largest current with one path open", &every);
    results = results.known_if("worst_with_one_open_a", worst.as_ref());
    if !given.has("open_path") {
        return Ok(results);
    }
    let wanted = given.plain("open_path")?;
    let case = cases.iter().find(|c| (c.open as f64 + 1.0 - wanted).abs() < 1e-9);
    let case = case.ok_or_else(|| {
        CalcError::NotCovered(format!("there is no path {wanted}: there are {}", paths.len()))
    })?;
    let remaining: Vec<Known<Current>> = case.currents.iter().flatten().cloned().collect();
    Ok(results.list("remaining_a", &remaining))
}

fn ohmic_paths(given: &Given) -> Result<Vec<Path>, CalcError> {
    let ohms = given.list("path_ohm", "R")?;
    let reactances: Vec<Option<_>> = if given.has("path_x_ohm") {
        given.for_each("path_x_ohm", "X", ohms.len())?.into_iter().map(Some).collect()
    } else {
        vec![None; ohms.len()]
    };
    let paths = ohms.into_iter().zip(reactances).map(|(r, x)| Path::of(&Impedance { r, x }));
    Ok(paths.collect::<Result<_, _>>()?)
}

fn matched() -> Calculation {
    Calculation {
        id: "relay-matched-limit",
        purpose: "Largest total through paralleled relays whose path resistances differ by a known spread at most",
        inputs: vec![
            In::number("relay_a", M::AMPERE, "continuous rating of one relay"),
            In::number("paths", M::NUMBER, "number of paralleled paths").within(1.0, 100.0),
            In::number("spread", M::NUMBER, "largest over smallest path resistance").within(1.0, 1e3),
        ],
        outputs: vec![
            Out::new("limit_a", M::AMPERE, "largest total through all paths"),
            Out::new("limit_one_open_a", M::AMPERE, "largest total with one path open"),
        ],
        run: run_matched,
    }
}

fn run_matched(given: &Given) -> Result<Results, CalcError> {
    let (relay, spread) = (given.one("relay_a", "I_r")?, given.one("spread", "r")?);
    let count = whole(given, "paths")? as usize;
    let results = Results::default().known("limit_a", &matched_paths_limit(&relay, count, &spread)?);
    if count < 2 {
        return Ok(results);
    }
    Ok(results.known("limit_one_open_a", &matched_paths_limit(&relay, count - 1, &spread)?))
}

/// A whole number; its declared range keeps it exact.
fn whole(given: &Given, key: &'static str) -> Result<u64, CalcError> {
    let number = given.plain(key)?;
    if number.fract() != 0.0 {
        return Err(CalcError::NotCovered(format!("{key} is {number}: it must be a whole number")));
    }
    Ok(number as u64)
}

fn spread() -> Calculation {
    Calculation {
        id: "relay-spread",
        purpose: "The hottest of paralleled relays when each path's resistance lies in a range: worst corner and draws",
        inputs: vec![
            In::number("total_a", M::AMPERE, "current to the panel through all paths").within(0.0, 1e6),
            In::number("paths", M::NUMBER, "number of paralleled paths").within(1.0, 100.0),
            In::number("lowest_ohm", M::OHM, "lowest resistance of a path, relay and wiring"),
            In::number("highest_ohm", M::OHM, "highest resistance of a path, relay and wiring"),
            In::numbers(
                "own_a",
                M::AMPERE,
                "own-bridge current of a unit, lowest and highest, charging above zero",
            )
            .within(-1e6, 1e6)
            .or("0,0"),
            In::numbers(
                "ahead",
                M::NUMBER,
                "part of a path's resistance ahead of its bridge, lowest and highest",
            )
            .within(0.0, 1.0)
            .or("0,1"),
            In::number("relay_a", M::AMPERE, "continuous rating of one relay").if_given(),
            In::number("draws", M::NUMBER, "number of draws").within(1.0, 1e6).or("10000"),
            In::number("seed", M::NUMBER, "seed of the draws").within(0.0, 9_007_199_254_740_991.0).or("1"),
        ],
        outputs: vec![
            Out::new("corner_a", M::AMPERE, "largest current that a path can carry within the ranges"),
            Out::new("median_a", M::AMPERE, "hottest path, not exceeded in half of the draws"),
            Out::new("p95_a", M::AMPERE, "hottest path, not exceeded in 95 % of the draws"),
            Out::new("p99_a", M::AMPERE, "hottest path, not exceeded in 99 % of the draws"),
            Out::new("max_a", M::AMPERE, "hottest path in any draw; no leave to allow more than the corner"),
            Out::new("over_share", M::NUMBER, "part of the draws with a relay over its rating"),
        ],
        run: run_spread,
    }
}

fn run_spread(given: &Given) -> Result<Results, CalcError> {
    let total: Known<Current> = given.one("total_a", "I")?;
    let own: Vec<Known<Current>> = given.for_each("own_a", "J", 2)?;
    let ahead = given.for_each("ahead", "a", 2)?;
    let lowest = given.one("lowest_ohm", "R_min")?;
    let mut path = PathRange::between(&lowest, &given.one("highest_ohm", "R_max")?)?;
    if let ([own_low, own_high], [ahead_low, ahead_high]) = (own.as_slice(), ahead.as_slice()) {
        path = path.own(own_low, own_high)?.bridge_at(ahead_low, ahead_high)?;
    }
    let spread = Spread::new(vec![path; whole(given, "paths")? as usize], &total)?;
    let relay = if given.has("relay_a") { Some(given.one("relay_a", "I_r")?) } else { None };
    let draws = Draws { count: whole(given, "draws")? as usize, seed: whole(given, "seed")? };
    let drawn = spread.draw(draws, relay.as_ref())?;
    Ok(Results::default()
        .known("corner_a", &spread.corner()?.current)
        .known("median_a", &drawn.median)
        .known("p95_a", &drawn.p95)
        .known("p99_a", &drawn.p99)
        .known("max_a", &drawn.largest)
        .known_if("over_share", drawn.over_share.as_ref()))
}

fn largest() -> Calculation {
    Calculation {
        id: "path-largest-total",
        purpose: "Largest load of unlike paralleled transformers that overloads none of them",
        inputs: vec![
            In::numbers("rating_va", M::VOLT_AMPERE, "rating of transformer"),
            In::numbers("r_pu", M::NUMBER, "resistance, per unit of its own rating, of transformer")
                .within(1e-6, 1.0),
            In::numbers("x_pu", M::NUMBER, "reactance, per unit of its own rating, of transformer")
                .within(0.0, 1.0),
        ],
        outputs: vec![
            Out::new("largest_va", M::VOLT_AMPERE, "largest load"),
            Out::new("first_path", M::NUMBER, "transformer that reaches its rating first"),
            Out::new("share", M::NUMBER, "share of each"),
            Out::new("limit_va", M::VOLT_AMPERE, "load at which each reaches its rating"),
        ],
        run: run_largest,
    }
}

fn run_largest(given: &Given) -> Result<Results, CalcError> {
    let ratings: Vec<Known<Apparent>> = given.list("rating_va", "S")?;
    let resistances = exactly("r_pu", given.list("r_pu", "r")?, ratings.len())?;
    let reactances = exactly("x_pu", given.list("x_pu", "x")?, ratings.len())?;
    let mut paths = Vec::new();
    for ((rating, r), x) in ratings.iter().zip(&resistances).zip(&reactances) {
        paths.push(Path::per_unit(rating, r, x)?);
    }
    let largest = largest_total(&ratings, &paths)?;
    Ok(Results::default()
        .known("largest_va", &largest.total)
        .plain("first_path", largest.first as f64 + 1.0)
        .list("share", &shares(&paths)?)
        .list("limit_va", &largest.limits))
}
