//! Loads that count in slices, each with its share.

use derivation::{Known, formula};
use quantity::{Apparent, Ratio};
use tables::us::dwelling::Tier;

/// The demand of a load by tiers: the share of each slice, summed.
pub(crate) fn demand(symbol: &str, what: &str, load: &Known<Apparent>, tiers: &[Tier]) -> Known<Apparent> {
    let mut parts: Vec<Known<Apparent>> = Vec::new();
    for Tier { over, up_to, share } in tiers {
        if !parts.is_empty() && load.value() <= over.value() {
            break;
        }
        let upper = match up_to {
            Some(end) => {
                Known::smallest("S_u", "load up to the end of the tier", &[load.clone(), end.clone()])
            }
            None => None,
        };
        let upper = upper.unwrap_or_else(|| load.clone());
        parts.push(formula!("S_t", "demand of the tier", [share, upper, over] => share * (upper - over)));
    }
    Known::sum(symbol, what, &parts)
}

/// A first slice in full and a share of the rest.
pub(crate) fn first_and_rest(
    symbol: &str,
    what: &str,
    load: &Known<Apparent>,
    first: &Known<Apparent>,
    rest: &Known<Ratio>,
    source: &str,
) -> Known<Apparent> {
    if load.value() > first.value() {
        formula!(symbol, what, [first, rest, load] => first + rest * (load - first), source = source)
    } else {
        formula!(symbol, what, [load] => load, source = source)
    }
}
