//! Demand that sizes the service.

use std::collections::BTreeMap;
use std::sync::Arc;

use codebook::NotCovered;
use codebook::us::{MeasuredFacts, OnSiteSources, Record, measured_demand};
use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Apparent, Current, Duration, Leg, Quantity, Ratio, VoltageSystem};
use site::{Earthing, Measured, Site};
use tables::us::{conductor_rule, load_rule};

use crate::assumptions::Assumptions;
use crate::model::ServiceDemand;
use crate::panel::Members;
use crate::phasor::{NOTHING, magnitude};
use crate::pieces::Piece;
use crate::series::{Series, Tracks};
use crate::sweep::{Copies, Farthest};

/// How loads count where conductors are sized.
pub(crate) struct Counting {
    /// How often a continuous load counts.
    continuous: Known<Ratio>,
    /// How often the largest motor counts; none where no book asks.
    motor: Option<Known<Ratio>>,
}

/// Itemised: the worst leg over the permitted subsets. On US systems continuous loads that are no motors count 1.25
/// times (NEC 2023 230.42(A)(1)), and so does the largest motor (220.14(C), 430.24); elsewhere all count once. `beside` are
/// the loads that are not on the group's panel or below it.
///
/// # Errors
/// A factor of the code book cannot be read.
pub(crate) fn itemised(
    members: &mut Members<'_>,
    beside: Option<&mut Members<'_>>,
    site: &Site,
) -> Result<ServiceDemand, NotCovered> {
    let how = counting(site)?;
    let legs = legs(members, &how, "service demand");
    let beside =
        beside.map(|b| self::legs(b, &how, "service demand beside the backup panel")).unwrap_or_default();
    let all: Vec<Known<Current>> = legs.values().cloned().collect();
    let current = Known::largest("I_service", "service demand of the worst leg", &all)
        .unwrap_or_else(|| Known::sum("I_service", "service demand", &[]));
    Ok(ServiceDemand { method: "itemised", current, neutral: Some(members.neutral()), legs, beside })
}

/// How often continuous loads count where the place amends the US rule; none where it does not.
pub fn amended_continuous(site: &Site) -> Option<Known<Ratio>> {
    let us = site.service.earthing.value == Earthing::Us;
    site.amended_share("continuous-load", "f", "how often a continuous load counts").filter(|_| us)
}

/// How loads of a site count for conductors and what protects them.
///
/// # Errors
/// A factor of the code book cannot be read.
pub(crate) fn counting(site: &Site) -> Result<Counting, NotCovered> {
    if site.service.earthing.value != Earthing::Us {
        let source = "common practice outside the US";
        let continuous = Known::factor("f", "continuous loads counted once", 1.0, source);
        return Ok(Counting { continuous, motor: None });
    }
    let continuous = match amended_continuous(site) {
        Some(own) => own,
        None => load_rule::ratio("f", "continuous-service")?,
    };
    Ok(Counting { continuous, motor: Some(conductor_rule::ratio("f_m", "motor-feeder")?) })
}

/// Current of every leg, loads counted as the code asks.
pub(crate) fn legs(members: &mut Members<'_>, how: &Counting, what: &str) -> BTreeMap<Leg, Known<Current>> {
    let legs = members.system.legs();
    legs.iter().map(|leg| (*leg, on_leg(members, how, *leg, what))).collect()
}

/// A motor counts with its full-load current where 430.24 is asked for, and not once more as a continuous load.
fn counted(piece: &Piece, how: &Counting, system: VoltageSystem, leg: Leg) -> Copies {
    let k = match (&how.motor, &piece.motor) {
        (Some(_), Some(motor)) => {
            let running = piece.apparent.value().si();
            if running > 0.0 { motor.full_load.value().si() / running } else { 1.0 }
        }
        _ if piece.continuous => how.continuous.value().si(),
        _ => 1.0,
    };
    // harmonics heat conductors as well
    let k = k * (1.0 + piece.third * piece.third).sqrt();
    piece.copies(|c| piece.legs_va(system, c)[leg.index()]).map(|z: Complex64| z * k)
}

/// The largest sum over the permitted subsets and over which of its motors is the raised one. Raising the largest is the
/// most that raising one of them can give, so no order of the motors has to be known.
fn worst(members: &mut Members<'_>, how: &Counting, leg: Leg) -> Farthest {
    let system = members.system;
    let copies: Vec<Copies> = members.pieces.iter().map(|p| counted(p, how, system, leg)).collect();
    let plain = members.farthest(&copies, NOTHING);
    let Some(f_m) = &how.motor else { return plain };
    let more = f_m.value().si() - 1.0;
    // every instance of a motor that may be the raised one, with what that adds at most, the largest first
    let mut raised: Vec<(f64, usize, usize)> = Vec::new();
    for (k, (piece, its)) in members.pieces.iter().zip(&copies).enumerate() {
        if piece.motor.is_some() {
            raised.extend(its.alike.iter().enumerate().map(|(n, (z, _))| (magnitude(*z) * more, k, n)));
        }
    }
    raised.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let (floor, mut best) = (plain.bound, plain);
    for (adds, k, n) in raised {
        // the bound of a sum is at most 0.004 % too large
        if adds <= 0.0 || (floor + adds) * 1.0001 <= best.bound {
            break;
        }
        let mut with = copies.clone();
        if let Some(its) = with.get_mut(k) {
            its.raise_one(n, 1.0 + more);
        }
        let found = members.farthest(&with, NOTHING);
        if found.bound > best.bound {
            best = found;
        }
    }
    best
}

fn on_leg(members: &mut Members<'_>, how: &Counting, leg: Leg, what: &str) -> Known<Current> {
    let system = members.system;
    let found = worst(members, how, leg);
    let loads =
        found.chosen.iter().filter_map(|v| members.pieces.get(*v)).map(|p| match (&how.motor, &p.motor) {
            (Some(_), Some(motor)) => motor.full_load.node().clone(),
            _ => p.apparent.node().clone(),
        });
    let motors = members.pieces.iter().any(|p| p.motor.is_some());
    let f_m = how.motor.as_ref().filter(|_| motors).map(|f| f.node().clone());
    let equation = match f_m {
        Some(_) => {
            "max over permitted subsets |f · sum of continuous S that are no motors + f_m · S of the largest motor + sum of other S|"
        }
        None => "max over permitted subsets |f · sum of continuous S + sum of other S|",
    };
    let from: Vec<Arc<Node>> =
        std::iter::once(how.continuous.node().clone()).chain(f_m).chain(loads).collect();
    let residual = found.bound - magnitude(found.sum);
    let S = Known::solved(
        "S",
        format!("apparent power of the {what}, {leg}"),
        Apparent::of(found.bound),
        equation,
        residual,
        from,
    );
    let volts = system.phase_voltage();
    let V = Known::chosen("V", "nominal line-to-neutral voltage", volts, system.name(), Vec::new());
    formula!("I", format!("{what}, {leg}"), [S, V] => S / V)
}

/// What is known of measured demand when a service is sized by it.
pub(crate) struct MeasuredService<'a> {
    pub measured: &'a Measured,
    pub series: &'a Series,
    /// Current of the loads that are not in the measured demand.
    pub new_load: Known<Current>,
    /// Loads of a season are listed outside the measured demand.
    pub seasonal_loads_listed: bool,
    pub rating: Known<Current>,
}

const YEAR_DAYS: f64 = 365.0;

/// NEC 2023 220.87 with its conditions.
///
/// # Errors
/// A condition is not met.
pub(crate) fn measured(
    m: &MeasuredService<'_>,
    system: VoltageSystem,
    assumptions: &mut Assumptions,
) -> Result<ServiceDemand, NotCovered> {
    let place = &m.measured.file.place;
    let interval = Known::input("t_i", "interval of the record", Duration::of(m.series.interval_s), place);
    let days = m.series.span_s() / 86_400.0;
    let record = if days >= YEAR_DAYS - 1e-6 {
        Record::Year { interval: Some(interval) }
    } else {
        let span = Known::input("t_rec", "length of the record", Duration::of(m.series.span_s()), place);
        Record::Recorded {
            span,
            interval,
            on_highest_phase: matches!(m.series.tracks, Tracks::Legs(_)),
            seasons_included: m.seasonal_loads_listed,
        }
    };
    let generation = m.measured.on_site_generation.value;
    let sources = if generation { OnSiteSources::HiddenInRecord } else { OnSiteSources::None };
    assumptions.take(
        "n",
        "overload protection of the measured service by its disconnect",
        Ratio::of(1.0),
        "NEC 2023 220.87 asks for it; the site states the rating of the disconnect only",
    );
    let found = measured_demand(&MeasuredFacts {
        record,
        sources,
        protected: true,
        peak: peak(m, system)?,
        new_load: m.new_load.clone(),
        rating: m.rating.clone(),
    })?;
    Ok(ServiceDemand {
        method: "measured (NEC 2023 220.87)",
        current: found.total_a,
        neutral: None,
        legs: BTreeMap::new(),
        beside: BTreeMap::new(),
    })
}

/// Highest interval mean of the most loaded leg.
fn peak(m: &MeasuredService<'_>, system: VoltageSystem) -> Result<Known<Current>, NotCovered> {
    let Tracks::Legs(legs) = &m.series.tracks else {
        return Err(NotCovered::new("NEC 2023 220.87", "the legs were not recorded apart"));
    };
    let V = Known::chosen(
        "V",
        "nominal line-to-neutral voltage",
        system.phase_voltage(),
        system.name(),
        Vec::new(),
    );
    let peaks: Vec<Known<Current>> = legs
        .iter()
        .map(|(leg, track)| {
            let what = format!("highest interval mean, {leg}");
            let S = Known::input("S", what.clone(), Apparent::of(track.peak_va()), &m.measured.file.place);
            formula!("I", what, [S, V] => S / V)
        })
        .collect();
    Known::largest("I_peak", "highest demand of the most loaded leg", &peaks)
        .ok_or_else(|| NotCovered::new("NEC 2023 220.87", "nothing was recorded"))
}
