//! One plant with everything that is known about it: what `assess` looks at.

use std::collections::BTreeMap;

use catalog::{
    BypassGear, DelayRange, Generator, LegControl, NeutralFormer, TransferSwitch, UnitModel, UnitRating,
};
use demand::{Assessment, PanelDemand};
use derivation::{Known, Place};
use plant::full::{ArrayIn, UnitBreakers};
use plant::{Layout, Plant};
use quantity::{Current, PhaseVoltage, Power, Ratio, Resistance, VoltageSystem};
use site::{GeneratorInlet, Site};

use crate::Formation;

/// Settings that the design makes and the installer enters.
#[derive(Debug, Clone)]
pub struct Settings {
    /// Input current limit on the utility, per leg, of the whole group; none off grid.
    pub input_limit: Option<Known<Current>>,
    /// Input current limit on the generator, per leg, of the whole group.
    pub generator_limit: Option<Known<Current>>,
    /// Export limit of the group; zero = none.
    pub export_limit: Known<Power>,
    /// Return delay of the transfer switch.
    pub retransfer: Option<DelayRange>,
    /// The transfer switch's auxiliary contact holds the units off their input.
    pub inhibit: bool,
}

/// One design of one site.
#[derive(Debug, Clone)]
pub struct Case<'a> {
    /// The site.
    pub site: &'a Site,
    /// Demand of every panel.
    pub assessment: &'a Assessment,
    /// Demand of the backup panel, with the spare that the site asks for.
    pub demand: &'a PanelDemand,
    /// Units.
    pub unit: &'a UnitModel,
    /// What one unit can do here.
    pub rating: &'a UnitRating,
    /// Formation.
    pub formation: Formation,
    /// Transfer arrangement.
    pub layout: Layout,
    /// Transfer switch round the group.
    pub transfer: Option<&'a TransferSwitch>,
    /// Bypass.
    pub bypass: Option<&'a BypassGear>,
    /// Generator.
    pub generator: Option<&'a Generator>,
    /// Where the generator feeds in.
    pub inlet: Option<GeneratorInlet>,
    /// Source switch between utility and generator.
    pub source_switch: Option<&'a TransferSwitch>,
    /// Neutral former.
    pub former: Option<&'a NeutralFormer>,
    /// Arrays on a panel.
    pub arrays: Vec<ArrayIn<'a>>,
    /// Strings of arrays with their devices and cables.
    pub strings: Vec<crate::Strings<'a>>,
    /// Settings.
    pub settings: Settings,
    /// The bank and its gear; none where the site has none, or before it is decided.
    pub bank: Option<crate::Bank<'a>>,
    /// Breakers of the units that are chosen.
    pub breakers: UnitBreakers,
    /// Resistance of the conductors that are chosen, by their role; empty before.
    pub conductors: BTreeMap<String, Known<Resistance>>,
    /// The graph.
    pub plant: Plant,
}

impl Case<'_> {
    /// The voltage system.
    pub fn system(&self) -> VoltageSystem {
        self.site.service.system.value
    }

    /// Nominal voltage from a leg to neutral.
    pub fn voltage(&self) -> Known<PhaseVoltage> {
        let place = &self.site.service.system.place;
        Known::input("U", "nominal voltage to neutral", self.system().phase_voltage(), place)
    }

    /// Number of legs of the service.
    pub fn legs(&self) -> Known<Ratio> {
        let legs = self.system().legs().len() as f64;
        Known::input("m", "legs of the service", Ratio::of(legs), &self.site.service.system.place)
    }

    /// Whether the units can relieve one leg of a source without pushing as much into the others.
    pub fn helps_one_leg(&self) -> bool {
        let alone = matches!(self.unit.leg_control, LegControl::OneLeg | LegControl::IndependentLegs);
        self.unit.contributes && (alone || self.system().legs().len() == 1)
    }

    /// Where a user changes the number of units.
    pub fn count_place(&self) -> &Place {
        self.site.group.count.fixed().map_or(&self.site.group.place, |c| &c.place)
    }

    /// Where a user changes the arrangement.
    pub fn arrangement_place(&self) -> &Place {
        self.site.group.arrangement.fixed().map_or(&self.site.group.place, |a| &a.place)
    }
}
