//! Demand that sizes the service.

use std::collections::BTreeMap;
use std::sync::Arc;

use codebook::NotCovered;
use codebook::us::{MeasuredFacts, OnSiteSources, Record, measured_demand};
use derivation::{Known, Node, formula};
use num_complex::Complex64;
use quantity::{Apparent, Current, Duration, Leg, Quantity, Ratio, VoltageSystem};
use site::{Earthing, Measured, Site};
use tables::us::load_rule;

use crate::assumptions::Assumptions;
use crate::model::ServiceDemand;
use crate::panel::Members;
use crate::phasor::{NOTHING, magnitude};
use crate::series::{Series, Tracks};
use crate::sweep::Copies;

/// Itemised: the worst leg over the permitted subsets, continuous loads counted 1.25 times on US systems (NEC 2023
/// 230.42(A)(1)) and once elsewhere. `beside` are the loads that are not on the group's panel or below it.
///
/// # Errors
/// The code book's factor cannot be read.
pub(crate) fn itemised(
    members: &mut Members<'_>,
    beside: Option<&mut Members<'_>>,
    site: &Site,
) -> Result<ServiceDemand, NotCovered> {
    let f = continuous_factor(site)?;
    let legs = legs(members, &f, "service demand");
    let beside =
        beside.map(|b| self::legs(b, &f, "service demand beside the backup panel")).unwrap_or_default();
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

/// How often continuous loads count.
pub(crate) fn continuous_factor(site: &Site) -> Result<Known<Ratio>, NotCovered> {
    if let Some(own) = amended_continuous(site) {
        return Ok(own);
    }
    if site.service.earthing.value == Earthing::Us {
        return Ok(load_rule::ratio("f", "continuous-service")?);
    }
    Ok(Known::factor("f", "continuous loads counted once", 1.0, "common practice outside the US"))
}

/// Current of every leg, continuous loads counted `f` times.
pub(crate) fn legs(members: &mut Members<'_>, f: &Known<Ratio>, what: &str) -> BTreeMap<Leg, Known<Current>> {
    let legs = members.system.legs();
    legs.iter().map(|leg| (*leg, on_leg(members, f, *leg, what))).collect()
}

fn on_leg(members: &mut Members<'_>, f: &Known<Ratio>, leg: Leg, what: &str) -> Known<Current> {
    let (system, factor) = (members.system, f.value().si());
    let copies: Vec<Copies> = members
        .pieces
        .iter()
        .map(|p| {
            let k = if p.continuous { factor } else { 1.0 };
            // harmonics heat conductors as well
            let k = k * (1.0 + p.third * p.third).sqrt();
            p.copies(|c| p.legs_va(system, c)[leg.index()]).map(|z: Complex64| z * k)
        })
        .collect();
    let found = members.farthest(&copies, NOTHING);
    let loads = found.chosen.iter().filter_map(|v| members.pieces.get(*v)).map(|p| p.apparent.node().clone());
    let from: Vec<Arc<Node>> = std::iter::once(f.node().clone()).chain(loads).collect();
    let equation = "max over permitted subsets |f · sum of continuous S + sum of other S|";
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
