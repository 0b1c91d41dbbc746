//! What the dwelling methods take in.

use derivation::Known;
use quantity::{Apparent, Area, LineVoltage, Ratio, VoltageSystem};
use saying::say;

use super::{general_lighting, small_appliance};
use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

/// One appliance or motor.
#[derive(Debug, Clone)]
pub struct Item {
    /// Nameplate rating; kW of heating appliances taken as kVA.
    pub nameplate: Known<Apparent>,
    /// Whether it uses the neutral (120 V, or 120/240 V as most ranges and dryers).
    pub neutral: bool,
    /// Whether it is a motor or driven by one.
    pub motor: bool,
}

impl Item {
    /// Between two legs, without neutral.
    pub fn line_to_line(nameplate: Known<Apparent>) -> Self {
        Self { nameplate, neutral: false, motor: false }
    }

    /// Uses the neutral.
    pub fn with_neutral(nameplate: Known<Apparent>) -> Self {
        Self { nameplate, neutral: true, motor: false }
    }

    /// The same as a motor.
    #[must_use]
    pub fn motor(mut self) -> Self {
        self.motor = true;
        self
    }
}

/// A heat pump.
#[derive(Debug, Clone)]
pub struct HeatPump {
    /// Compressor and what runs with it.
    pub compressor: Known<Apparent>,
    /// Supplementary electric heat.
    pub supplementary: Option<Known<Apparent>>,
    /// Whether a control keeps the compressor from running with the supplementary heat.
    pub interlocked: bool,
}

/// Fixed electric space heating.
#[derive(Debug, Clone)]
pub struct SpaceHeat {
    /// Connected load.
    pub load: Known<Apparent>,
    /// How many units are separately controlled; a central furnace is one.
    pub separately_controlled_units: Known<Ratio>,
    /// Whether it uses the neutral.
    pub neutral: bool,
}

/// Heating and cooling. Heat and cooling are taken not to run at the same time.
#[derive(Debug, Clone, Default)]
pub struct Climate {
    /// Air conditioning and cooling, heat pumps left out.
    pub cooling: Vec<Item>,
    /// A heat pump.
    pub heat_pump: Option<HeatPump>,
    /// Electric space heating that is neither storage nor supplementary to a heat pump.
    pub space_heat: Option<SpaceHeat>,
    /// Thermal storage and other heat whose usual load is continuous at full nameplate.
    pub storage_heat: Option<Known<Apparent>>,
}

/// One dwelling.
#[derive(Debug, Clone)]
pub struct DwellingFacts {
    /// The voltage system of its service or feeder.
    pub supply: VoltageSystem,
    /// Floor area by the outside dimensions, without open porches, garages and space not adaptable for use.
    pub area: Known<Area>,
    /// Number of small-appliance branch circuits.
    pub small_appliance_circuits: Known<Ratio>,
    /// Number of laundry branch circuits.
    pub laundry_circuits: Known<Ratio>,
    /// Appliances fastened in place: water heater, dishwasher, disposer; nothing that has a place of its own here.
    pub fixed_appliances: Vec<Item>,
    /// Household cooking appliances over 1.75 kW.
    pub cooking: Vec<Item>,
    /// Electric clothes dryers.
    pub dryers: Vec<Item>,
    /// Permanently connected motors that are none of the above.
    pub motors: Vec<Item>,
    /// Electric-vehicle supply equipment.
    pub ev_supply: Vec<Item>,
    /// Heating and cooling.
    pub climate: Climate,
}

impl DwellingFacts {
    /// Refuses numbers that are none and services that the dwelling methods here do not reach.
    pub(crate) fn check(&self, clause: &str) -> Result<(), NotCovered> {
        line_voltage(clause, self.supply)?;
        sane(clause, &self.area)?;
        for list in [&self.fixed_appliances, &self.cooking, &self.dryers, &self.motors, &self.ev_supply] {
            all_sane(clause, &nameplates(list))?;
        }
        self.climate.check(clause)
    }
}

impl Climate {
    fn check(&self, clause: &str) -> Result<(), NotCovered> {
        all_sane(clause, &nameplates(&self.cooling))?;
        let pump =
            self.heat_pump.iter().flat_map(|pump| [Some(&pump.compressor), pump.supplementary.as_ref()]);
        let heat = self.space_heat.as_ref().map(|heat| &heat.load);
        let all = pump.chain([heat, self.storage_heat.as_ref()]).flatten();
        all.into_iter().try_for_each(|load| sane(clause, load))
    }
}

/// Voltage between the legs of a single-phase three-wire supply.
pub(crate) fn line_voltage(clause: &str, supply: VoltageSystem) -> Result<Known<LineVoltage>, NotCovered> {
    let voltage = match supply {
        VoltageSystem::Split120_240 | VoltageSystem::TwoLegs120_208 => supply.line_voltage(),
        _ => None,
    };
    let reason = || {
        say!(
            "the dwelling methods here are for three-wire 120/240 V and two legs of 120/208 V, not {supply}",
            supply
        )
    };
    let voltage = voltage.ok_or_else(|| NotCovered::new(clause, reason()))?;
    Ok(Known::assumed("V", "voltage between the legs", voltage, "nominal voltage of the supply"))
}

/// The nameplates of all.
pub(crate) fn nameplates(items: &[Item]) -> Vec<Known<Apparent>> {
    items.iter().map(|item| item.nameplate.clone()).collect()
}

/// The nameplates of those that use the neutral.
pub(crate) fn neutral_nameplates(items: &[Item]) -> Vec<Known<Apparent>> {
    items.iter().filter(|item| item.neutral).map(|item| item.nameplate.clone()).collect()
}

/// The part of the load that every dwelling has.
pub(crate) struct General {
    pub(crate) lighting_va: Known<Apparent>,
    pub(crate) general_va: Known<Apparent>,
}

/// Lighting, small-appliance and laundry circuits.
pub(crate) fn general(facts: &DwellingFacts) -> Result<General, NotCovered> {
    let lighting_va = general_lighting::lighting(&facts.area)?;
    let parts = [
        lighting_va.clone(),
        small_appliance::small_appliance(&facts.small_appliance_circuits)?,
        small_appliance::laundry(&facts.laundry_circuits)?,
    ];
    Ok(General { lighting_va, general_va: Known::sum("S_g", "general load", &parts) })
}

/// Everything that the optional methods count in tiers, in VA: the general load and the nameplates of appliances
/// fastened in place, cooking, dryers and motors.
pub(crate) fn all_general(facts: &DwellingFacts) -> Result<Known<Apparent>, NotCovered> {
    let mut parts = vec![general(facts)?.general_va];
    for list in [&facts.fixed_appliances, &facts.cooking, &facts.dryers, &facts.motors] {
        parts.extend(nameplates(list));
    }
    Ok(Known::sum("S_g", "general loads", &parts))
}

impl Climate {
    /// Refuses heat of more than one kind: the optional methods take the largest, though they may run together.
    pub(crate) fn one_kind_of_heat(&self, clause: &str) -> Result<(), NotCovered> {
        let kinds = [self.heat_pump.is_some(), self.space_heat.is_some(), self.storage_heat.is_some()];
        if kinds.into_iter().filter(|&kind| kind).count() <= 1 {
            return Ok(());
        }
        let reason = say!(
            "heat of more than one kind may run together, but the clause takes the largest: \
                      use the standard method"
        );
        Err(NotCovered::new(clause, reason))
    }

    /// All that cools, a heat pump's compressor included; `None` where nothing does.
    pub(crate) fn all_cooling(&self) -> Option<Known<Apparent>> {
        let mut parts = nameplates(&self.cooling);
        parts.extend(self.heat_pump.iter().map(|pump| pump.compressor.clone()));
        (!parts.is_empty()).then(|| Known::sum("S_cool", "cooling", &parts))
    }
}
