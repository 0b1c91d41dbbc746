//! One inverter-charger family member: everything that engine and installer ask of it.

use derivation::Place;
use quantity::{
    Apparent, Capacitance, Current, DcCurrent, DcVoltage, Duration, Frequency, Length, Mass, PeakCurrent,
    Percent, Power, Ratio, Resistance, Temperature, VoltageSystem,
};

/// How a unit's bridge works on the legs of its output.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LegControl {
    /// One bridge, line to neutral: the unit sits on one leg or phase.
    OneLeg,
    /// Two legs, each with a bridge and a current limit of its own, also when contributing to a source.
    IndependentLegs,
    /// Two legs, each with a current limit of its own in the island; beside a source it gives both legs the same
    /// current and cannot help one leg alone.
    EqualLegs,
    /// One bridge between the two lines and no neutral: needs a neutral former, gives both lines the same current.
    LineToLine,
}

/// A power that may be exceeded for a time.
#[derive(Debug, Clone, PartialEq)]
pub struct Overload {
    /// Total active power of the unit at the reference temperature.
    pub power: Power,
    /// How long at most.
    pub lasts: Duration,
}

/// Short-time current limit of one leg's bridge.
#[derive(Debug, Clone, PartialEq)]
pub struct Surge {
    /// RMS current per leg at which the bridge limits.
    pub current: Current,
    /// How long it holds that.
    pub lasts: Duration,
    /// Instantaneous trip of one leg's bridge.
    pub peak: PeakCurrent,
}

/// Rating against altitude.
#[derive(Debug, Clone, PartialEq)]
pub struct AltitudeRating {
    /// Full rating up to here.
    pub full_to: Length,
    /// Share of the rating lost for every 100 m above.
    pub loss_per_100_m: Percent,
    /// Must not be used above.
    pub highest: Length,
}

/// A current that a contact carries for a time.
#[derive(Debug, Clone, PartialEq)]
pub struct ShortTime {
    /// RMS current.
    pub current: Current,
    /// How long at most.
    pub lasts: Duration,
}

/// What one unit gives into a fault in the island, per leg.
#[derive(Debug, Clone, PartialEq)]
pub struct IslandFault {
    /// RMS current.
    pub current: Current,
    /// How long at most, before it shuts off.
    pub lasts: Duration,
    /// Latest time after which its output is down to 50 V or less in a fault that draws this current, where stated.
    pub collapses: Option<Duration>,
}

/// Conditional short-circuit rating: withstands `current` behind a breaker of at most `breaker`.
#[derive(Debug, Clone, PartialEq)]
pub struct FaultRating {
    /// Prospective fault current, RMS.
    pub current: Current,
    /// Largest breaker ahead.
    pub breaker: Current,
}

/// The transfer relay inside a unit, per leg.
#[derive(Debug, Clone, PartialEq)]
pub struct TransferRelay {
    /// Carries for any time.
    pub continuous: Current,
    /// Makes onto, where published.
    pub make: Option<Current>,
    /// Breaks, where published.
    pub breaking: Option<Current>,
    /// Carries for a stated time, where published.
    pub short_time: Vec<ShortTime>,
    /// Conditional short-circuit rating, where published.
    pub fault: Option<FaultRating>,
    /// Longest time between the first and the last relay of one group moving, where published.
    pub group_moves_within: Option<Duration>,
}

/// Range of resistance of one complete pass-through path.
#[derive(Debug, Clone, PartialEq)]
pub struct PathResistance {
    /// Lowest of the family.
    pub lowest: Resistance,
    /// Highest of the family.
    pub highest: Resistance,
}

/// How the pass-through of paralleled units adds up.
#[derive(Debug, Clone, PartialEq)]
pub enum PassThrough {
    /// The catalogue says nothing: the group passes no more than one relay.
    OneRelay,
    /// The catalogue states that paths add up under stated wiring, and within which resistances they match.
    Matched {
        /// New.
        new: PathResistance,
        /// At the end of life.
        end_of_life: PathResistance,
        /// Wiring conditions, in words.
        wiring: String,
    },
}

/// Whether the units join neutral and earth by themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum IslandBond {
    /// Never.
    None,
    /// The lead unit does, while the group forms the voltage.
    WhileForming,
}

/// For whom an input current limit holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LimitScope {
    /// Each unit limits its own input.
    Unit,
    /// The lead unit limits the sum of the group.
    Group,
}

/// Settable limit of the current drawn from a source.
#[derive(Debug, Clone, PartialEq)]
pub struct InputLimit {
    /// Whose current.
    pub scope: LimitScope,
    /// Lowest setting, per leg.
    pub lowest: Current,
    /// Highest setting, per leg and unit.
    pub highest: Current,
}

/// What the unit may give back to the utility.
#[derive(Debug, Clone, PartialEq)]
pub struct Export {
    /// Highest power per unit; none means that it cannot export.
    pub highest: Option<Power>,
    /// Whether a limit for the group can be set.
    pub limit_settable: bool,
}

/// Second AC input for a generator, with a relay of its own.
#[derive(Debug, Clone, PartialEq)]
pub struct SecondInput {
    /// Continuous current per leg.
    pub continuous: Current,
    /// Makes onto, where published.
    pub make: Option<Current>,
    /// Breaks, where published.
    pub breaking: Option<Current>,
    /// Carries for a stated time.
    pub short_time: Vec<ShortTime>,
    /// Shortest time from the moment at which the unit may go over to the generator, its voltage good and the first
    /// input given up, to the closing of this relay; where published.
    pub closes_after: Option<Duration>,
}

/// Charging from AC.
#[derive(Debug, Clone, PartialEq)]
pub struct Charging {
    /// Highest AC power drawn for charging, per unit.
    pub power: Power,
    /// Highest DC current into the battery, per unit.
    pub current: DcCurrent,
    /// Lowest DC current to which charging can be set, where it can be set.
    pub lowest: Option<DcCurrent>,
}

/// How a group shows array inverters in its island that nothing takes their power.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IslandFrequency {
    /// Up to here it raises the frequency while the battery takes nothing more.
    pub raises_to: Frequency,
    /// Rated energy of the bank over the power of the arrays, at least: with such a bank what flows until the arrays
    /// are off lifts a full bank no further than it may. The maker's word, where published.
    pub least_bank: Option<Duration>,
}

/// DC input range.
#[derive(Debug, Clone, PartialEq)]
pub struct DcRange {
    /// Lowest working voltage.
    pub lowest: DcVoltage,
    /// Nominal.
    pub nominal: DcVoltage,
    /// Highest working voltage.
    pub highest: DcVoltage,
    /// Where it switches off for low voltage, where stated.
    pub cutoff: Option<DcCutoff>,
    /// How its input capacitors are charged when it is connected, where stated.
    pub precharge: Option<Precharge>,
    /// Capacitance of its input, the highest that it may have, where stated.
    pub capacitance: Option<Capacitance>,
}

/// Low voltage at which a unit switches off.
#[derive(Debug, Clone, PartialEq)]
pub struct DcCutoff {
    /// Below.
    pub below: DcVoltage,
    /// After this time below it.
    pub after: Duration,
}

/// How the input capacitors of a unit are charged when it is connected to the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Precharge {
    /// The unit limits the current by itself.
    Own,
    /// The installation has to.
    External,
}

/// Output voltage at which the unit gives up.
#[derive(Debug, Clone, PartialEq)]
pub struct UnderVoltage {
    /// Share of nominal.
    pub below: Ratio,
    /// After this time below it.
    pub after: Duration,
}

/// How many units may work as one.
#[derive(Debug, Clone, PartialEq)]
pub struct FormationLimits {
    /// Most units on one leg or phase (for two-leg units: in the group).
    pub per_leg: u32,
    /// Most units in the group.
    pub total: u32,
    /// Every leg must have the same number.
    pub equal_legs: bool,
    /// Other models of the family may be in the same group.
    pub mixed_models: bool,
}

/// How a link is wired.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkShape {
    /// From one device to the next, each with two ports.
    DaisyChain,
    /// Every device to the lead unit.
    Star,
    /// A common cable, wired from tap to tap, with a terminator at both ends.
    Bus,
}

impl LinkShape {
    /// As it is written to people.
    pub fn word(self) -> &'static str {
        match self {
            LinkShape::DaisyChain => "daisy chain",
            LinkShape::Star => "star",
            LinkShape::Bus => "bus",
        }
    }
}

/// A kind of link between units and its rules.
#[derive(Debug, Clone, PartialEq)]
pub struct LinkKind {
    /// What it carries: data, synchronising, monitoring.
    pub kind: String,
    /// Most devices on one link.
    pub devices: u32,
    /// How it is wired.
    pub shape: LinkShape,
    /// Most cable on one link (star: of each cable), where stated.
    pub longest: Option<Length>,
    /// Both ends need a terminator.
    pub terminated: bool,
    /// Each device needs an address of its own, from 1.
    pub addressed: bool,
    /// Devices beyond one link may go on a further one that starts at the lead unit.
    pub several: bool,
    /// What the group does when the link is lost, where stated.
    pub if_lost: Option<String>,
}

/// Mounting footprint.
#[derive(Debug, Clone, PartialEq)]
pub struct Footprint {
    /// Height of the housing.
    pub height: Length,
    /// Width.
    pub width: Length,
    /// Depth from the wall.
    pub depth: Length,
    /// Free space above.
    pub above: Length,
    /// Free space below.
    pub below: Length,
    /// Free space at each side.
    pub beside: Length,
    /// Where warm air leaves: "top", "bottom", "sides", or "none" without a fan.
    pub air_outlet: String,
    /// Mass.
    pub mass: Mass,
}

/// An inverter-charger model.
#[derive(Debug, Clone, PartialEq)]
pub struct UnitModel {
    /// Id in the catalogue.
    pub id: String,
    /// Name for people.
    pub name: String,
    /// Revision of the record.
    pub revision: u32,
    /// Where the record stands.
    pub place: Place,
    /// Systems that a group of it can form.
    pub forms: Vec<VoltageSystem>,
    /// Frequencies that it can form.
    pub frequencies: Vec<Frequency>,
    /// How its bridge works on the legs.
    pub leg_control: LegControl,
    /// Continuous active power of the whole unit at factor 1 of the temperature curve.
    pub power: Power,
    /// Continuous apparent power of the whole unit.
    pub apparent: Apparent,
    /// Continuous active power of one leg (equal to `power` for one-leg units; of the line-to-line bridge as a
    /// whole for line-to-line units).
    pub leg_power: Power,
    /// Continuous apparent power of one leg, likewise.
    pub leg_apparent: Apparent,
    /// Rating against room temperature: (temperature, factor), rising temperature; linear between; not used
    /// outside, except below the first point, where the first factor holds.
    pub temperature_curve: Vec<(Temperature, Ratio)>,
    /// Rating against altitude.
    pub altitude: AltitudeRating,
    /// Overload list, longest first: lower power lasts longer.
    pub overload: Vec<Overload>,
    /// Time below continuous power after which a spent overload budget is whole again, where stated.
    pub overload_recovery: Option<Duration>,
    /// Current limit and peak trip.
    pub surge: Surge,
    /// Output impedance of one leg below the current limit (taken as resistance).
    pub output_impedance: Resistance,
    /// Under-voltage trip of the output.
    pub under_voltage: UnderVoltage,
    /// Share by which a paralleled unit may carry more than its equal part.
    pub sharing_tolerance: Percent,
    /// Transfer relay.
    pub relay: TransferRelay,
    /// How pass-through adds up.
    pub pass_through: PassThrough,
    /// Longest time without power at the output when the utility fails (inline).
    pub transfer_gap: Duration,
    /// Earliest reconnection after the utility is back and good, in every condition: also when the units start anew
    /// from an empty battery.
    pub reconnect_earliest: Duration,
    /// Latest reconnection, where stated.
    pub reconnect_latest: Option<Duration>,
    /// An external contact can hold the unit off its input.
    pub input_inhibit: bool,
    /// Second input, if it has one.
    pub second_input: Option<SecondInput>,
    /// Voltage and frequency that it accepts at its inputs, where stated.
    pub accepts: Option<crate::SourceBand>,
    /// Input current limit.
    pub input_limit: InputLimit,
    /// Gives battery power beside a source when the load exceeds the input limit.
    pub contributes: bool,
    /// Export.
    pub export: Export,
    /// Charging.
    pub charging: Charging,
    /// How it curtails arrays in its island, where published.
    pub island_frequency: Option<IslandFrequency>,
    /// DC range.
    pub dc: DcRange,
    /// Efficiency against load share, rising share.
    pub efficiency: Vec<(Ratio, Ratio)>,
    /// Power drawn from the battery awake without load.
    pub idle: Power,
    /// Fault current that one unit feeds in the island, per leg.
    pub island_fault: IslandFault,
    /// How many units may work as one.
    pub formation: FormationLimits,
    /// Trouble on one phase of the utility takes the whole group off it.
    pub leaves_together: bool,
    /// What the relays of both inputs do with the neutral, where stated.
    pub neutral: Option<crate::NeutralPole>,
    /// Whether the units join neutral and earth by themselves, where stated.
    pub island_bond: Option<IslandBond>,
    /// Linked units decide as one, where stated: none forms a voltage of its own while a relay of any is closed, and
    /// none closes onto one input while another is closed onto the other.
    pub decides_together: Option<bool>,
    /// Largest breaker ahead of the unit's input.
    pub input_breaker: Current,
    /// Most units that a bypass of interlocked breakers may serve.
    pub bypass_breakers_up_to: u32,
    /// Link kinds.
    pub links: Vec<LinkKind>,
    /// Mounting footprint.
    pub footprint: Footprint,
    /// Price in the catalogue's currency.
    pub price: u32,
}
