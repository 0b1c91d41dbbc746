//! Where in a day a load runs: drawn by a seed, so that the same site and seed give the same year.

use demand::{Profile, spread};

const DAY_S: f64 = 86_400.0;
/// Draws that are tried before loads that must not meet are let meet.
const TRIES: usize = 48;

/// From and to, in seconds of the day.
pub(crate) type Span = (f64, f64);

/// A stream of draws: a counter through the finalizer of splitmix64 (Steele, Lea and Flood 2014).
#[derive(Debug, Clone)]
pub(crate) struct Draw {
    state: u64,
}

impl Draw {
    /// A stream of its own for each seed, load and day, so that another load changes nothing of this one.
    pub fn new(seed: u64, name: &str, day: u64) -> Self {
        let mut state = 0xcbf2_9ce4_8422_2325 ^ seed.wrapping_mul(0x9e37_79b9_7f4a_7c15);
        for byte in name.bytes().chain(day.to_le_bytes()) {
            state = (state ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
        }
        Self { state }
    }

    /// Even over 0 to below 1.
    pub fn even(&mut self) -> f64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^= z >> 31;
        (z >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// The day of a load: what runs of each of its lanes (as many as may run at once), and whether it had to meet a load
/// that it must not meet.
pub(crate) fn day(profile: &Profile, draw: &mut Draw, taken: &[&[Span]]) -> (Vec<Span>, bool) {
    let mut spans = Vec::new();
    let mut met = false;
    for _ in 0..profile.at_once {
        let mut best: Option<(f64, Vec<Span>)> = None;
        for _ in 0..TRIES {
            let drawn = lane(profile, draw);
            let shared: f64 = taken.iter().map(|t| overlap(&drawn, t)).sum();
            if best.as_ref().is_none_or(|(least, _)| shared < *least) {
                best = Some((shared, drawn));
            }
            if shared <= 0.0 {
                break;
            }
        }
        if let Some((shared, drawn)) = best {
            met |= shared > 1.0;
            spans.extend(drawn);
        }
    }
    (spans, met)
}

fn lane(profile: &Profile, draw: &mut Draw) -> Vec<Span> {
    let each = f64::from(profile.count) / f64::from(profile.at_once.max(1));
    let seconds = (each * profile.day_s).min(DAY_S);
    if let Some(shares) = profile.hourly {
        let hours = spread(shares.map(|s| s * each), seconds / 3600.0);
        return hours
            .iter()
            .enumerate()
            .filter(|(_, share)| **share > 0.0)
            .map(|(hour, share)| {
                let start = 3600.0 * (hour as f64 + draw.even() * (1.0 - share).max(0.0));
                (start, start + 3600.0 * share)
            })
            .collect();
    }
    if seconds <= 0.0 {
        return Vec::new();
    }
    if seconds >= DAY_S - 1.0 {
        return vec![(0.0, DAY_S)];
    }
    match profile.run_s {
        Some((lasts, rests)) if lasts > 0.0 => in_runs(seconds, lasts, rests, draw),
        _ => round_midnight(draw.even() * DAY_S, seconds),
    }
}

/// Runs of like length of at most `lasts`; pauses of at least `rests` where there is room for them, and the rest of
/// the day shared out among the pauses by chance.
fn in_runs(seconds: f64, lasts: f64, rests: f64, draw: &mut Draw) -> Vec<Span> {
    let runs = libm::ceil(seconds / lasts - 1e-9).max(1.0);
    let (length, free) = (seconds / runs, DAY_S - seconds);
    let least = rests.min(free / runs);
    let parts: Vec<f64> = (0..runs as usize).map(|_| -libm::log(1.0 - draw.even())).collect();
    let whole: f64 = parts.iter().sum();
    let mut at = draw.even() * DAY_S;
    let mut spans = Vec::with_capacity(parts.len() + 1);
    for part in parts {
        spans.extend(round_midnight(at, length));
        let more = if whole > 0.0 { part / whole } else { 1.0 / runs };
        at += length + least + (free - least * runs) * more;
    }
    spans
}

/// A run that goes past midnight goes on at the beginning of the same day, so that each day has its energy.
fn round_midnight(at: f64, length: f64) -> Vec<Span> {
    let start = at % DAY_S;
    if start + length <= DAY_S {
        vec![(start, start + length)]
    } else {
        vec![(start, DAY_S), (0.0, start + length - DAY_S)]
    }
}

fn overlap(a: &[Span], b: &[Span]) -> f64 {
    let shared = |x: &Span, y: &Span| (x.1.min(y.1) - x.0.max(y.0)).max(0.0);
    a.iter().flat_map(|x| b.iter().map(move |y| shared(x, y))).sum()
}

#[cfg(test)]
pub(crate) mod tests {
    use derivation::Known;
    use proptest::prelude::*;
    use quantity::Power;

    use super::*;

    pub(crate) fn profile(count: u32, at_once: u32, day_s: f64, run_s: Option<(f64, f64)>) -> Profile {
        Profile {
            load: "pump".to_owned(),
            power: Known::assumed("P", "power", Power::of(1000.0), "test"),
            count,
            at_once: at_once.min(count),
            day_s,
            hourly: None,
            run_s,
            season: None,
            shed: None,
            never_with: Vec::new(),
        }
    }

    proptest! {
        /// Whatever is drawn: the energy of the assessment, never longer than a run may be, pauses kept.
        #[test]
        fn a_drawn_day_has_the_energy_of_the_assessment(
            count in 1u32..5, at_once in 1u32..5, hours in 0.1..24.0_f64, runs in any::<bool>(), day in 0u64..366,
        ) {
            let run = runs.then_some((900.0, 1200.0));
            let hours = if runs { hours * 0.4 } else { hours };
            let p = profile(count, at_once, hours * 3600.0, run);
            let (spans, _) = super::day(&p, &mut Draw::new(3, &p.load, day), &[]);
            let seconds: f64 = spans.iter().map(|s| s.1 - s.0).sum();
            prop_assert!((seconds / 3600.0 * 1000.0 - p.day_wh()).abs() < 1e-6, "{seconds} {}", p.day_wh());
            prop_assert!(spans.iter().all(|s| s.0 >= 0.0 && s.1 <= DAY_S + 1e-9 && s.1 > s.0));
            if runs && p.at_once == count {
                prop_assert!(spans.iter().all(|s| s.1 - s.0 <= 900.0 + 1e-6));
            }
        }
    }

    #[test]
    fn what_must_not_meet_does_not_meet_where_there_is_room() {
        let dryer = profile(1, 1, 3.0 * 3600.0, Some((3600.0, 600.0)));
        for seed in 0..50 {
            let sterilizer = vec![(30_000.0, 36_000.0), (50_000.0, 52_000.0)];
            let (spans, met) = day(&dryer, &mut Draw::new(seed, "dryer", 1), &[&sterilizer]);
            assert!(!met && overlap(&spans, &sterilizer) <= 0.0, "seed {seed}");
        }
        // no room at all: it is told
        let (_, met) = day(&dryer, &mut Draw::new(1, "dryer", 1), &[&[(0.0, DAY_S)]]);
        assert!(met);
    }
}
