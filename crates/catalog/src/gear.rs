//! Everything round the units: transfer and bypass gear, breakers, generators, neutral formers.

use derivation::Place;
use quantity::{
    Apparent, Current, Duration, Frequency, Length, LineVoltage, Percent, Power, Ratio, Temperature,
    VoltageSystem, Wire,
};

use crate::{Footprint, ShortTime};

/// What happens to the neutral in transfer or bypass gear.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NeutralPole {
    /// Passes through unswitched.
    Solid,
    /// Is switched with the lines.
    Switched,
}

/// A delay with its tolerance: [earliest, latest]. No latest means that the tolerance is not stated.
#[derive(Debug, Clone, PartialEq)]
pub struct DelayRange {
    /// Never earlier.
    pub earliest: Duration,
    /// Never later, where stated.
    pub latest: Option<Duration>,
}

/// An automatic transfer switch with two source positions; it breaks before it makes.
#[derive(Debug, Clone, PartialEq)]
pub struct TransferSwitch {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Continuous current per pole.
    pub rating: Current,
    /// Systems it is made for.
    pub systems: Vec<VoltageSystem>,
    /// Neutral.
    pub neutral: NeutralPole,
    /// From the loss of the first source to the move.
    pub to_second: DelayRange,
    /// From the return of the first source to the move back; settable within.
    pub to_first: DelayRange,
    /// Time without either source while it moves.
    pub travel: Duration,
    /// Auxiliary contacts free for interlocking.
    pub auxiliary_contacts: u32,
    /// Short-circuit current that it withstands and closes onto.
    pub short_circuit: Current,
    /// Carries for a stated time.
    pub short_time: Vec<ShortTime>,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// How a maintenance bypass keeps two sources apart.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BypassKind {
    /// Breakers of which a mechanical interlock lets only one side close.
    InterlockedBreakers,
    /// A manual switch with one moving part: units, off, bypass.
    ManualSwitch,
}

/// Maintenance bypass gear.
#[derive(Debug, Clone, PartialEq)]
pub struct BypassGear {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Interlocked breakers or manual switch.
    pub kind: BypassKind,
    /// Continuous current per pole.
    pub rating: Current,
    /// Systems it is made for.
    pub systems: Vec<VoltageSystem>,
    /// Neutral.
    pub neutral: NeutralPole,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// A breaker.
#[derive(Debug, Clone, PartialEq)]
pub struct Breaker {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Rated current.
    pub rating: Current,
    /// Poles.
    pub poles: u32,
    /// Rated voltage between poles, of one pole to neutral, where stated.
    pub voltage: Option<LineVoltage>,
    /// Highest voltage from a pole to earth, where it is lower than `voltage` (a slash rating).
    pub voltage_to_earth: Option<LineVoltage>,
    /// Interrupting rating at that voltage.
    pub interrupting: Current,
    /// Type by IEC 60898-1, B, C or D, where it is made to that standard.
    pub curve: Option<char>,
    /// Current from which on it opens at once, where no standard fixes that and the maker states it.
    pub at_once: Option<Current>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// A housing with the bus of the group, on which the breakers of the units sit.
#[derive(Debug, Clone, PartialEq)]
pub struct DistributionBoard {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Current that each line of its bus carries for any time.
    pub rating: Current,
    /// Lines of its bus; bars for neutral and earth are in it besides.
    pub lines: u32,
    /// Breakers that it takes, each of as many poles as the bus has lines.
    pub ways: u32,
    /// Rated voltage between its lines, of one line to neutral.
    pub voltage: LineVoltage,
    /// Fault current that its bus withstands.
    pub withstand: Current,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency, without breakers.
    pub price: u32,
}

/// A generator set.
#[derive(Debug, Clone, PartialEq)]
pub struct Generator {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Voltage system of its output.
    pub system: VoltageSystem,
    /// Continuous active power at reference conditions.
    pub power: Power,
    /// Continuous apparent power.
    pub apparent: Apparent,
    /// Current of one leg or phase that it carries continuously.
    pub leg_current: Current,
    /// Full rating up to this altitude.
    pub full_to: Length,
    /// Share of the rating lost for every 100 m above.
    pub loss_per_100_m: Percent,
    /// Loss of rating with the temperature of the air, where stated.
    pub heat: Option<HeatLoss>,
    /// Share of its power under which it must not run for long, where stated.
    pub least_load: Option<Ratio>,
    /// Active power that may flow back into it for any time, where stated; its reverse-power protection stands above it.
    pub reverse_power: Option<Power>,
    /// What its voltage and frequency do from no load to full load, where stated.
    pub band: Option<SourceBand>,
    /// Breaker at its output, where it has one.
    pub breaker: Option<Current>,
    /// Its neutral is joined to its frame, where stated.
    pub neutral_bonded: Option<bool>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// Loss of rating with the temperature of the air.
#[derive(Debug, Clone, PartialEq)]
pub struct HeatLoss {
    /// Full rating up to this temperature.
    pub full_to: Temperature,
    /// Share of the rating lost for every 10 K above.
    pub loss_per_10_k: Percent,
}

/// A range of voltage and frequency: what a source keeps, or what an input accepts.
#[derive(Debug, Clone, PartialEq)]
pub struct SourceBand {
    /// Voltage either way, as a share of nominal.
    pub voltage: Percent,
    /// Lowest frequency.
    pub lowest: Frequency,
    /// Highest frequency.
    pub highest: Frequency,
}

/// A neutral-forming autotransformer for the island side of line-to-line units.
#[derive(Debug, Clone, PartialEq)]
pub struct NeutralFormer {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Continuous neutral current that it forms.
    pub neutral: Current,
    /// Neutral current for a time.
    pub short_time: Vec<ShortTime>,
    /// Peak of the inrush when it is energised, RMS equivalent of the first cycle.
    pub inrush: Current,
    /// Its over-temperature or loss contact opens the lines with it.
    pub trips_lines: bool,
    /// Mounting footprint, where stated.
    pub footprint: Option<Footprint>,
    /// Price in the catalogue's currency.
    pub price: u32,
}

/// A conductor as it is bought.
#[derive(Debug, Clone, PartialEq)]
pub struct ConductorStock {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Size.
    pub size: Wire,
    /// "Cu" or "Al".
    pub metal: String,
    /// Insulation, as marked.
    pub insulation: String,
    /// Price per metre in the catalogue's currency, in hundredths.
    pub price_per_m_hundredths: u32,
}
