//! Seeded draws of the paths' states.
//!
//! Every draw takes, for each path in turn, its resistance, the place of its bridge and its own-bridge current, each
//! uniform over its range and independent of the others: a convention, not knowledge of how relays are made or age.
//! A quantile is therefore the model's, and never a reason to allow more than the corner bound does. The same seed
//! gives the same bits on every machine: only additions, multiplications, divisions and comparisons in a fixed order.

use std::sync::Arc;

use derivation::{Known, Node};
use quantity::{Current, Quantity, Ratio};

use super::{PathRange, Point, Range, Spread, hottest};
use crate::NetworkError;
use crate::error::above_zero;

/// More draws than this are refused.
const MOST_DRAWS: usize = 10_000_000;

/// How many draws, and from which seed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Draws {
    /// Number of draws, from 1 to 10 million.
    pub count: usize,
    /// The seed.
    pub seed: u64,
}

/// The hottest path's current over all draws. Quantiles by nearest rank: the smallest value that at least that part
/// of the draws does not exceed.
#[derive(Debug, Clone)]
pub struct Distribution {
    /// Not exceeded in half of the draws.
    pub median: Known<Current>,
    /// Not exceeded in 95 % of the draws.
    pub p95: Known<Current>,
    /// Not exceeded in 99 % of the draws.
    pub p99: Known<Current>,
    /// The largest seen.
    pub largest: Known<Current>,
    /// The part of the draws in which a relay carries more than its rating.
    pub over_share: Option<Known<Ratio>>,
}

impl Spread {
    /// Draws states of all paths, and for each the current of the path that carries most.
    ///
    /// # Errors
    /// A number of draws outside 1 to 10 million, a rating that is not above zero, or as [`Spread::corner`].
    pub fn draw(&self, draws: Draws, relay: Option<&Known<Current>>) -> Result<Distribution, NetworkError> {
        if !(1..=MOST_DRAWS).contains(&draws.count) {
            let needed = "from 1 to 10 million are possible";
            return Err(NetworkError::Count { what: "draws", count: draws.count, needed });
        }
        let relay_a = relay.map(above_zero).transpose()?;
        // refuses what has no finite answer
        self.corner()?;
        let hot = self.hottest_of(draws);
        let story = Story::of(self, draws);
        let over_share = match (relay, relay_a) {
            (Some(relay), Some(relay_a)) => {
                let over = hot.iter().rev().take_while(|i| **i > relay_a).count();
                Some(story.over(over as f64 / draws.count as f64, relay))
            }
            _ => None,
        };
        let quantile = |symbol: &str, percent: usize| {
            let rank = (hot.len() * percent).div_ceil(100).clamp(1, hot.len());
            story.quantile(symbol, percent, hot.get(rank - 1).copied().unwrap_or(f64::NAN))
        };
        Ok(Distribution {
            median: quantile("I_50", 50),
            p95: quantile("I_95", 95),
            p99: quantile("I_99", 99),
            largest: quantile("I_max", 100),
            over_share,
        })
    }

    /// The hottest current of every draw, in A, in rising order.
    fn hottest_of(&self, draws: Draws) -> Vec<f64> {
        let mut random = SplitMix(draws.seed);
        let mut points = vec![Point { siemens: 0.0, ahead: 0.0, own_a: 0.0 }; self.paths.len()];
        let mut hot = Vec::with_capacity(draws.count);
        for _ in 0..draws.count {
            for (point, range) in points.iter_mut().zip(&self.paths) {
                *point = random.point(range);
            }
            hot.push(hottest(&points, self.total_a));
        }
        hot.sort_unstable_by(f64::total_cmp);
        hot
    }
}

/// What the derivations of the results rest on: the draws, then total and ranges.
struct Story(Vec<(String, Arc<Node>)>);

impl Story {
    fn of(spread: &Spread, draws: Draws) -> Self {
        let seed = format!("seed of the draws, {}", draws.seed);
        let mut nodes = vec![
            Known::factor("m", "number of draws", draws.count as f64, "count").node().clone(),
            Known::factor("seed", seed, draws.seed as f64, "chosen").node().clone(),
        ];
        nodes.extend(spread.nodes());
        Self(nodes.into_iter().map(|node| (node.symbol.clone(), node)).collect())
    }

    fn quantile(&self, symbol: &str, percent: usize, si: f64) -> Known<Current> {
        let what = match percent {
            100 => "largest current of a path in any draw".to_owned(),
            _ => format!("hottest path's current, not exceeded in {percent} % of the draws"),
        };
        let expression = format!("rank({percent} %, m, seed)");
        let source = Some("seeded uniform draws over the ranges, nearest rank");
        Known::formula(symbol, what, Current::from_si(si), &expression, self.0.clone(), source)
    }

    fn over(&self, part: f64, relay: &Known<Current>) -> Known<Ratio> {
        let mut args = self.0.clone();
        args.insert(0, ("I_r".to_owned(), relay.node().clone()));
        let what = "part of the draws with a relay over its rating";
        let expression = "count(I_hot > I_r, m, seed) / m";
        let source = Some("seeded uniform draws over the ranges");
        Known::formula("p_over", what, Ratio::of(part), expression, args, source)
    }
}

/// SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators", 2014; constants from memory,
/// held against published numbers in the test).
struct SplitMix(u64);

impl SplitMix {
    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let z = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    /// Uniform over a range, by the upper 53 bits.
    fn within(&mut self, range: Range) -> f64 {
        let part = (self.next() >> 11) as f64 / 9_007_199_254_740_992.0;
        (range.0 + part * (range.1 - range.0)).clamp(range.0, range.1)
    }

    /// Three numbers are taken whatever the ranges are, so that narrower ranges meet the same numbers.
    fn point(&mut self, range: &PathRange) -> Point {
        let ohm = self.within(range.ohm);
        let (ahead, own_a) = (self.within(range.ahead), self.within(range.own_a));
        let siemens = if range.is_open() { 0.0 } else { 1.0 / ohm };
        Point { siemens, ahead, own_a }
    }
}

#[cfg(test)]
mod tests {
    use super::SplitMix;

    /// The numbers that are published for seed 1234567.
    #[test]
    fn the_generator_gives_the_published_numbers() {
        let mut random = SplitMix(1_234_567);
        let found: Vec<u64> = (0..5).map(|_| random.next()).collect();
        let published = [
            6_457_827_717_110_365_317,
            3_203_168_211_198_807_973,
            9_817_491_932_198_370_423,
            4_593_380_528_125_082_431,
            16_408_922_859_458_223_821,
        ];
        assert_eq!(found, published);
    }
}
