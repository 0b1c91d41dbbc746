//! What the assessment hands on.

use std::collections::BTreeMap;
use std::fmt;
use std::sync::Arc;

use derivation::{Known, Node, Place};
use finding::Finding;
use num_complex::Complex64;
use quantity::{Apparent, Connection, Current, Duration, Energy, Leg, PeakCurrent, Power, Ratio};

use crate::lane::{LaneItems, times};
use crate::profile::Profile;

/// The loads of a site, assessed.
#[derive(Debug, Clone)]
pub struct Assessment {
    /// Every panel by id, with the panels that it feeds counted in.
    pub panels: BTreeMap<String, PanelDemand>,
    /// What is wrong, not covered or worth saying.
    pub findings: Vec<Finding>,
    /// Files with series that cannot be used, with their lines.
    pub diagnostics: Vec<reading::Diagnostic>,
    /// Every default that was used, each once.
    pub assumptions: Vec<Arc<Node>>,
    /// Demand that sizes the service; none off grid, or where no method covers it.
    pub service: Option<ServiceDemand>,
    /// All loads of the site together, panel id "service"; none where measured demand cannot be read.
    pub whole: Option<PanelDemand>,
    /// All loads that are neither on the group's panel nor on one that it feeds, panel id "beside the backup panel";
    /// all zero where there are none. None where it cannot be told: measured demand that cannot be read, or measured
    /// on a panel that feeds the group's panel, so that the record does not show which part is beside it.
    pub beside: Option<PanelDemand>,
    /// Each load as it was placed on legs, by name and connection.
    pub items: Vec<Item>,
}

/// The demand of one panel and all that it feeds.
#[derive(Debug, Clone)]
pub struct PanelDemand {
    /// Panel id.
    pub panel: String,
    /// Demand of each leg and in total.
    pub lanes: BTreeMap<Lane, LaneDemand>,
    /// Largest neutral current over every permitted subset of loads.
    pub neutral: Known<Current>,
    /// All loads at once, whether permitted or not.
    pub connected: Known<Power>,
    /// Loads that run three hours or more at full power.
    pub continuous: Known<Power>,
    /// Current of every leg for sizing what feeds the panel: continuous loads and motors counted as the code asks (NEC
    /// 2023 215.3 and 430.24: continuous loads and the largest motor 1.25 times; all once elsewhere).
    pub sizing: BTreeMap<Leg, Known<Current>>,
    /// Largest difference between two legs over every permitted subset.
    pub unbalance: Known<Apparent>,
    /// Energy of a day on which everything runs as long as it may, in the season that asks for more.
    pub daily_energy: Known<Energy>,
    /// Energy of each month, January first.
    pub monthly: Vec<Known<Energy>>,
    /// When each load runs on its longest day, by name.
    pub profiles: Vec<Profile>,
    /// Motor starts, by name.
    pub starts: Vec<StartEvent>,
    /// How well `any` loads could be spread.
    pub balance: Balance,
    /// With measured data: shorter durations are not covered.
    pub covered_from: Option<Known<Duration>>,
}

impl PanelDemand {
    /// The leg with the largest current; the first of equals.
    pub fn worst_leg(&self) -> Option<(Leg, &LaneDemand)> {
        let mut worst: Option<(Leg, &LaneDemand)> = None;
        for (lane, demand) in &self.lanes {
            let more = worst.is_none_or(|(_, w)| demand.steady_current.value() > w.steady_current.value());
            if let (Lane::Leg(leg), true) = (lane, more) {
                worst = Some((*leg, demand));
            }
        }
        worst
    }

    /// The same panel with every load larger or smaller by a factor; motors that start keep their size, what runs
    /// beside them does not.
    #[must_use]
    pub fn scaled(&self, factor: f64) -> PanelDemand {
        let f = Known::chosen("f", "scale", Ratio::of(factor), "asked for", Vec::new());
        let mut panel = self.clone();
        for lane in panel.lanes.values_mut() {
            *lane = lane.scaled(factor);
        }
        panel.neutral = times(&self.neutral, &f);
        panel.unbalance = times(&self.unbalance, &f);
        for current in panel.sizing.values_mut() {
            *current = times(current, &f);
        }
        for profile in &mut panel.profiles {
            profile.power = times(&profile.power, &f);
        }
        for leg in panel.starts.iter_mut().flat_map(|start| start.legs.values_mut()) {
            leg.running_va *= factor;
            leg.running_known = times(&leg.running_known, &f);
        }
        panel
    }
}

/// One leg, or all of them together.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Lane {
    /// One leg.
    Leg(Leg),
    /// The sum over the legs.
    Total,
}

impl fmt::Display for Lane {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Lane::Leg(leg) => leg.fmt(f),
            Lane::Total => f.pad("total"),
        }
    }
}

/// Demand of one lane. Every figure is an upper bound over the permitted subsets of loads.
#[derive(Debug, Clone)]
pub struct LaneDemand {
    /// Highest active power of loads that may run at once, motor starts apart.
    pub steady_power: Known<Power>,
    /// Highest apparent power of loads that may run at once, motor starts apart: voltage times RMS current, third
    /// harmonic included (fundamental by phasor sum). For the total: the phasor sum; where any load has a harmonic, an
    /// upper bound by the sum over the legs.
    pub steady_apparent: Known<Apparent>,
    /// Highest RMS current, third harmonic included. For the total: that of the largest leg.
    pub steady_current: Known<Current>,
    /// Highest instantaneous current: sum of RMS current x crest factor.
    pub peak_current: Known<PeakCurrent>,
    /// Demand-duration curve, shortest first.
    pub curve: Vec<DurationDemand>,
    pub(crate) items: LaneItems,
}

/// An upper bound of the demand that can last so long: the highest mean over any window of that length. What is above
/// a level all the time has a mean above it, so nothing higher can last; whether as much can last is not told.
#[derive(Debug, Clone)]
pub struct DurationDemand {
    /// How long.
    pub lasts: Duration,
    /// Active power.
    pub power: Known<Power>,
    /// Apparent power.
    pub apparent: Known<Apparent>,
}

/// One motor start, or several motors starting together.
#[derive(Debug, Clone)]
pub struct StartEvent {
    /// Unique in its panel: "well pump", "well pump on L1", "all motors together".
    pub name: String,
    /// The loads that start.
    pub loads: Vec<String>,
    /// What each leg that a starting motor touches carries.
    pub legs: BTreeMap<Leg, StartLeg>,
    /// Run-up time at nominal voltage, longer behind a soft starter; the longest of several.
    pub run_up: Known<Duration>,
    /// Share of the torque at standstill and full voltage (behind a soft starter: of what it leaves) below which the
    /// motor may fail to start. Torque goes with the square of voltage, so V^2 per unit must not be below it; above 1
    /// the motor may fail at full voltage as well.
    pub torque_needed: Known<Ratio>,
    /// Where the motor stands in the site file.
    pub place: Option<Place>,
}

/// A start as one leg sees it. Powers are at nominal voltage, positive into the load, inductive above the axis.
#[derive(Debug, Clone)]
pub struct StartLeg {
    /// Power of the starting motors at standstill, in VA.
    pub start_va: Complex64,
    /// Power of everything else that may run with them, in VA: the subset that makes the sum with `start_va` largest.
    pub running_va: Complex64,
    /// Magnitude of `start_va`.
    pub start_known: Known<Apparent>,
    /// Magnitude of `running_va` with the third-harmonic current of what may run beside the start (square root of the
    /// sum of squares); `running_va` itself is the fundamental only.
    pub running_known: Known<Apparent>,
    /// Current of the starting motors at nominal voltage.
    pub start_current: Known<Current>,
}

/// How `any` loads were placed.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// How far the worst leg may still be above the best placement, as a share of it; 0 is optimal.
    pub gap_share: f64,
    /// No placement has a smaller worst leg.
    pub proven_optimal: bool,
    /// The loads that the tool placed, by name and connection.
    pub placements: Vec<Placement>,
}

/// Where the tool put instances of one load.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Placement {
    /// Load.
    pub load: String,
    /// Connection.
    pub connection: Connection,
    /// How many of its instances.
    pub count: u32,
}

/// Instances of one load on one connection.
#[derive(Debug, Clone)]
pub struct Item {
    /// Load.
    pub load: String,
    /// Panel.
    pub panel: String,
    /// Connection.
    pub connection: Connection,
    /// How many instances are connected so.
    pub count: u32,
    /// Active power of one.
    pub power: Known<Power>,
    /// Apparent power of one.
    pub apparent: Known<Apparent>,
    /// Power of one on each leg that it touches, in VA.
    pub legs_va: BTreeMap<Leg, Complex64>,
    /// Where its table stands.
    pub place: Place,
}

/// Demand that sizes the service.
#[derive(Debug, Clone)]
pub struct ServiceDemand {
    /// How it was found.
    pub method: &'static str,
    /// Current of the worst leg for sizing the service.
    pub current: Known<Current>,
    /// Current for sizing the neutral, where the method gives one.
    pub neutral: Option<Known<Current>>,
    /// Itemised: current of every leg, continuous loads counted as the code asks; empty for other methods.
    pub legs: BTreeMap<Leg, Known<Current>>,
    /// Itemised: the same of the loads that are neither on the group's panel nor on one that it feeds; zero where
    /// there are none, empty for other methods.
    pub beside: BTreeMap<Leg, Known<Current>>,
}
