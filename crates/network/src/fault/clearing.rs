//! Whether a breaker clears a fault in the time for which its source keeps it up, and whether it may.
//!
//! A device is what is promised of it: from a current on it opens within a time. Between two promises the one of the
//! lower current holds, without interpolation.
//!
//! IEC 60898-1 (table of the time-current operating characteristic, from memory): 1.45 times rated current within 1 h
//! (2 h above 63 A), 2.55 times within 60 s (120 s above 32 A), and in less than 0.1 s from 5 (B), 10 (C) or 20 (D)
//! times; the magnetic release holds below 3, 5, 10 times. The standard's longest times at the lower end of a band are
//! not used, nor the higher end that some editions allow for D. UL 489 sets no band for the instantaneous release of
//! an inverse-time breaker: only what a catalogue states is taken.

use std::fmt;

use derivation::{Known, formula};
use quantity::{Current, Duration, Quantity, Ratio};

use super::{FaultLevel, Lasts};
use crate::NetworkError;
use crate::error::above_zero;

/// Curve of a breaker to IEC 60898-1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Curve {
    /// Magnetic release between 3 and 5 times rated current.
    B,
    /// Between 5 and 10 times.
    C,
    /// Between 10 and 20 times.
    D,
}

impl Curve {
    /// From where on the magnetic release may open, and from where on it does, over rated current.
    pub fn band(self) -> (f64, f64) {
        match self {
            Curve::B => (3.0, 5.0),
            Curve::C => (5.0, 10.0),
            Curve::D => (10.0, 20.0),
        }
    }
}

impl fmt::Display for Curve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Curve::B => "B",
            Curve::C => "C",
            Curve::D => "D",
        })
    }
}

/// From a current on, the device opens within a time.
#[derive(Debug, Clone)]
pub struct Promise {
    /// From this current on, RMS, tolerance included.
    pub from: Known<Current>,
    /// It has opened within this time. None where it is instantaneous and no time is stated.
    pub within: Option<Known<Duration>>,
    /// By its instantaneous release.
    pub instantaneous: bool,
}

/// What is promised of a breaker.
#[derive(Debug, Clone)]
pub struct Device {
    /// Promises, in any order.
    pub promises: Vec<Promise>,
    /// The current below which it is not meant to open, where its standard says so.
    pub holds_below: Option<Known<Current>>,
}

impl Device {
    /// A breaker to IEC 60898-1.
    ///
    /// # Errors
    /// A rated current outside the standard, which ends at 125 A.
    pub fn iec60898(rated: &Known<Current>, curve: Curve) -> Result<Self, NetworkError> {
        let rated_a = crate::error::within(rated, 0.5, 125.0, "from 0.5 A to 125 A (IEC 60898-1)")?;
        let source = "IEC 60898-1, time-current operating characteristic (from memory)";
        let row = |symbol: &str, what: &str, multiple: f64, row: &str| -> Known<Current> {
            let m: Known<Ratio> =
                Known::table(symbol, what, Ratio::of(multiple), "characteristic", row, source, true);
            let I_n = rated;
            formula!(&format!("{symbol} · I_n"), what, [m, I_n] => m * I_n)
        };
        let time = |what: &str, seconds: f64| {
            Some(Known::table("t", what, Duration::of(seconds), "characteristic", "", source, true))
        };
        let hours = if rated_a > 63.0 { 7200.0 } else { 3600.0 };
        let minutes = if rated_a > 32.0 { 120.0 } else { 60.0 };
        let promise = |from, within, instantaneous| Promise { from, within, instantaneous };
        let upper = curve.band().1;
        let promises = vec![
            promise(
                row("m_2", "conventional tripping current", 1.45, "b"),
                time("conventional time", hours),
                false,
            ),
            promise(
                row("m_c", "test current c", 2.55, "c"),
                time("longest time at test current c", minutes),
                false,
            ),
            promise(
                row("m_m", &format!("upper end of the band of curve {curve}"), upper, "e"),
                time("instantaneous tripping", 0.1),
                true,
            ),
        ];
        let holds_below = Some(row("m_1", "conventional non-tripping current", 1.13, "a"));
        Ok(Self { promises, holds_below })
    }

    /// An inverse-time breaker, of which only what the catalogue states is known: the current from which its
    /// instantaneous release certainly opens, with the clearing time where stated, and points of its longest clearing
    /// times.
    pub fn stated(
        instantaneous: Option<(Known<Current>, Option<Known<Duration>>)>,
        points: &[(Known<Current>, Known<Duration>)],
    ) -> Self {
        let point = |(from, within): &(Known<Current>, Known<Duration>)| Promise {
            from: from.clone(),
            within: Some(within.clone()),
            instantaneous: false,
        };
        let mut promises: Vec<Promise> = points.iter().map(point).collect();
        promises.extend(instantaneous.map(|(from, within)| Promise { from, within, instantaneous: true }));
        Self { promises, holds_below: None }
    }
}

/// How a fault is cleared.
#[derive(Debug, Clone)]
pub enum Clearing {
    /// By the instantaneous release, within the time for which the source keeps the fault up.
    Instantaneous {
        /// The longest clearing time; none where none is stated and the source lasts until cleared.
        within: Option<Known<Duration>>,
        /// Fault current over the current from which the release opens.
        over: Known<Ratio>,
    },
    /// By the thermal or time-delayed release, no later than this, which the source outlasts.
    ThermalWithin {
        /// The longest clearing time.
        within: Known<Duration>,
    },
    /// Opening is promised later than the source lasts: it may give up first.
    NotWithinSourceTime {
        /// The time that is promised.
        needed: Known<Duration>,
        /// How long the source lasts.
        lasts: Known<Duration>,
    },
    /// The device's standard does not have it open at this current.
    NotPromised {
        /// The fault current.
        current: Known<Current>,
        /// The current from which something is promised.
        from: Known<Current>,
    },
    /// Nothing is known that answers it.
    NotCovered(&'static str),
}

const NOTHING_STATED: &str =
    "no standard sets this breaker's band, and its catalogue states none that reaches this current";
const NO_TIME: &str =
    "the instantaneous release's clearing time is not stated, and the source lasts for a limited time only";

/// Whether a device clears the least current of a fault level in the time for which the source keeps it up.
///
/// # Errors
/// A current or time that is not above zero.
pub fn clearing(device: &Device, level: &FaultLevel) -> Result<Clearing, NetworkError> {
    let current_a = above_zero(&level.least)?;
    if let Lasts::For(time) = &level.lasts {
        above_zero(time)?;
    }
    let mut reached: Vec<&Promise> = Vec::new();
    for promise in &device.promises {
        promise.within.as_ref().map(above_zero).transpose()?;
        if above_zero(&promise.from)? <= current_a {
            reached.push(promise);
        }
    }
    if let (true, Some(_)) = (reached.is_empty(), &device.holds_below) {
        let all: Vec<Known<Current>> = device.promises.iter().map(|p| p.from.clone()).collect();
        if let Some(from) = Known::smallest("I_2", "least current at which it is to open", &all) {
            return Ok(Clearing::NotPromised { current: level.least.clone(), from });
        }
    }
    // an instantaneous release whose time nobody states still comes first where the source waits for it
    let seconds = |p: &Promise| p.within.as_ref().map_or(0.0, |t| t.value().si());
    let timed = |p: &&&Promise| p.within.is_some() || matches!(level.lasts, Lasts::UntilCleared);
    let best = reached
        .iter()
        .filter(timed)
        .min_by(|a, b| seconds(a).total_cmp(&seconds(b)).then(b.instantaneous.cmp(&a.instantaneous)));
    let Some(best) = best else {
        return Ok(Clearing::NotCovered(if reached.is_empty() { NOTHING_STATED } else { NO_TIME }));
    };
    let within = best.within.as_ref().map(|time| {
        let why = "promised from a current on that the fault reaches";
        let from = vec![time.node().clone(), best.from.node().clone(), level.least.node().clone()];
        Known::chosen("t_open", "longest time to open", time.value(), why, from)
    });
    if let (Lasts::For(lasts), Some(needed)) = (&level.lasts, &within)
        && needed.value().si() > lasts.value().si()
    {
        return Ok(Clearing::NotWithinSourceTime { needed: needed.clone(), lasts: lasts.clone() });
    }
    let (I_f, I_m) = (&level.least, &best.from);
    Ok(match within {
        Some(within) if !best.instantaneous => Clearing::ThermalWithin { within },
        within => Clearing::Instantaneous {
            within,
            over: formula!("q", "fault current over the current from which the release opens", [I_f, I_m] => I_f / I_m),
        },
    })
}

/// A fault current held against an interrupting rating.
#[derive(Debug, Clone)]
pub struct Interrupting {
    /// Fault current over rating.
    pub loading: Known<Ratio>,
    /// Whether the rating is no less than the current.
    pub holds: bool,
}

/// Holds the largest current of a fault level against the interrupting rating, at the voltage for which that is given.
/// A source whose X/R is above that of the rating's test needs more: not looked at.
///
/// # Errors
/// A current or rating that is not above zero.
pub fn interrupting(level: &FaultLevel, rating: &Known<Current>) -> Result<Interrupting, NetworkError> {
    above_zero(&level.largest)?;
    above_zero(rating)?;
    let (I_f, I_cn) = (&level.largest, rating);
    let loading = formula!("p", "fault current over interrupting rating", [I_f, I_cn] => I_f / I_cn);
    let holds = I_f.value().si() <= I_cn.value().si();
    Ok(Interrupting { loading, holds })
}
