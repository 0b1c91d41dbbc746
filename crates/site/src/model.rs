//! What a site file says, checked and with places kept.

use codebook::fire::storage_places::{FireCode, Place as FirePlace};
use derivation::{Known, Place};
use quantity::{
    AirFlow, Angle, Apparent, Area, Connection, Current, DailyUse, DcCurrent, Duration, Energy, Frequency,
    HeatConductance, Length, Mass, Percent, Power, PulseEnergy, Ratio, Resistance, ShaftPower, Temperature,
    VoltageSystem, Wire,
};
use reading::{Decision, Placed};

use crate::{GeneratorRun, Policy, Project, TariffWish, Units, WeatherWish};

/// One site.
#[derive(Debug, Clone)]
pub struct Site {
    /// Name for people.
    pub name: Placed<String>,
    /// Altitude.
    pub altitude: Placed<Length>,
    /// Temperatures.
    pub temperature: Temperatures,
    /// Units of the papers; `None` = those of the place, see [`Site::units`].
    pub units: Option<Placed<Units>>,
    /// What the papers say of themselves.
    pub project: Project,
    /// Where on the globe, for the sun; there whenever there are arrays.
    pub position: Option<Position>,
    /// The electrical service (or, off grid, the system that the group forms).
    pub service: Service,
    /// The utility's rules; none off grid.
    pub utility: Utility,
    /// Panels, by the order of the file.
    pub panels: Vec<Panel>,
    /// Loads, by the order of the file.
    pub loads: Vec<Load>,
    /// How service demand is found.
    pub demand: DemandMethod,
    /// Generator, if any.
    pub generator: Option<GeneratorWish>,
    /// The inverter group.
    pub group: Group,
    /// Battery wishes.
    pub battery: BatteryWish,
    /// Arrays, by the order of the file.
    pub arrays: Vec<Array>,
    /// Where the weather of the year comes from, if stated.
    pub weather: Option<WeatherWish>,
    /// What energy costs, if stated.
    pub tariff: Option<TariffWish>,
    /// How energy is used, if stated.
    pub policy: Option<Policy>,
    /// Wishes.
    pub wish: Wish,
    /// The room of the units, if described.
    pub room: Option<Room>,
    /// The wall for the equipment, if known.
    pub wall: Option<Wall>,
    /// Links between the units that are built or fixed.
    pub links: Vec<LinkWish>,
    /// What is known or fixed of single conductor runs.
    pub conductors: Vec<ConductorWish>,
    /// Breakers of the units that are fixed.
    pub breakers: Vec<BreakerWish>,
    /// What the place changes of the code.
    pub amendments: Vec<Amendment>,
    /// Growth stages in order of years.
    pub stages: Vec<Stage>,
}

impl Site {
    /// Units of lengths, temperatures and masses on paper: as the site says, else those usual with its earthing.
    pub fn units(&self) -> Units {
        let usual = if self.service.earthing.value == Earthing::Us { Units::Us } else { Units::Metric };
        self.units.as_ref().map_or(usual, |units| units.value)
    }

    /// Latitude, where the site states it; south of the equator below zero.
    pub fn latitude(&self) -> Option<Angle> {
        self.position.as_ref().map(|p| p.latitude.value)
    }
}

/// Temperatures of the site.
#[derive(Debug, Clone)]
pub struct Temperatures {
    /// Lowest expected outdoors.
    pub lowest: Placed<Temperature>,
    /// High outdoors, exceeded 2 % of the time.
    pub high: Placed<Temperature>,
    /// Highest in the room of the units.
    pub room: Placed<Temperature>,
}

/// Where the site lies on the globe, and its clock.
#[derive(Debug, Clone)]
pub struct Position {
    /// North positive.
    pub latitude: Placed<Angle>,
    /// East positive.
    pub longitude: Placed<Angle>,
    /// Local standard time less universal time; no summer time.
    pub utc_offset: Placed<Duration>,
}

/// Earthing system.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Earthing {
    /// US practice: solidly grounded, one neutral-to-ground bond at the service.
    Us,
    /// Separate protective conductor from the source.
    TnS,
    /// Combined up to the service, separate from there.
    TnCS,
    /// Own electrode at the installation.
    Tt,
    /// Isolated source.
    It,
}

/// The service.
#[derive(Debug, Clone)]
pub struct Service {
    /// Voltage system.
    pub system: Placed<VoltageSystem>,
    /// Frequency; `None` = the usual one (an assumption).
    pub frequency: Option<Placed<Frequency>>,
    /// Whether a utility is connected (`utility = "none"` in `[service]` means off grid).
    pub utility: Placed<bool>,
    /// Rating of the service disconnect; needed with a utility.
    pub rating: Option<Placed<Current>>,
    /// Rating of the supply transformer.
    pub transformer_rating: Option<Placed<Apparent>>,
    /// Impedance of the supply transformer.
    pub transformer_impedance: Option<Placed<Percent>>,
    /// Fault current stated by the utility.
    pub fault_current: Option<Placed<Current>>,
    /// Earthing system.
    pub earthing: Placed<Earthing>,
    /// Resistance of the electrode, where measured.
    pub electrode: Option<Placed<Resistance>>,
}

/// What the utility allows to flow back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ExportClass {
    /// Nothing.
    None,
    /// Up to a limit.
    Limited,
    /// As much as the group can.
    Full,
}

/// The utility's rules.
#[derive(Debug, Clone)]
pub struct Utility {
    /// Export class; `None` written nowhere = no export (an assumption).
    pub export: Option<Placed<ExportClass>>,
    /// Limit, with class limited.
    pub export_limit: Option<Placed<Power>>,
    /// Largest difference between phases that the utility accepts.
    pub unbalance_cap: Option<Placed<Apparent>>,
    /// Interface protection asked for, in the utility's words.
    pub interface_protection: Option<Placed<String>>,
    /// Where the meter and its current transformers sit.
    pub metering: Option<Placed<String>>,
}

/// A distribution panel.
#[derive(Debug, Clone)]
pub struct Panel {
    /// Id.
    pub id: Placed<String>,
    /// Panel that feeds it; `None` = the service.
    pub fed_from: Option<Placed<String>>,
    /// Busbar rating.
    pub busbar: Option<Placed<Current>>,
    /// Main breaker.
    pub main_breaker: Option<Placed<Current>>,
    /// Free breaker positions.
    pub free_positions: Option<Placed<u32>>,
    /// Length of the run that feeds it.
    pub run: Option<Placed<Length>>,
    /// Route of the run, in words.
    pub route: Option<Placed<String>>,
    /// Rated residual current of what stands ahead of every final circuit of the panel; the largest where several do.
    pub rcd: Option<Placed<Current>>,
    /// Some of these are time-delayed (type S).
    pub rcd_delayed: Option<Placed<bool>>,
    /// Rated residual current of the device ahead of its feeder, behind the bond of the island.
    pub feeder_rcd: Option<Placed<Current>>,
    /// That device is time-delayed (type S).
    pub feeder_rcd_delayed: Option<Placed<bool>>,
    /// The largest branch breaker of the panel.
    pub branch_breaker: Option<BranchBreaker>,
    /// Type of its main breaker by IEC 60898-1: B, C or D.
    pub main_breaker_curve: Option<Placed<char>>,
    /// Highest loop impedance of its final circuits, as measured at their far ends.
    pub final_loop: Option<Placed<Resistance>>,
    /// What stands opposite its live parts.
    pub opposite: Option<Placed<Opposite>>,
}

/// A branch breaker of a panel.
#[derive(Debug, Clone)]
pub struct BranchBreaker {
    /// Rated current.
    pub rating: Placed<Current>,
    /// Type by IEC 60898-1: B, C or D.
    pub curve: Option<Placed<char>>,
    /// Catalogue id, where it is one of the catalogue.
    pub model: Option<Placed<String>>,
}

/// What stands opposite the live parts of a panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Opposite {
    /// Nothing live or grounded.
    Nothing,
    /// Grounded parts, concrete, brick or tile.
    Grounded,
    /// Live parts.
    Live,
}

/// What an amendment makes of a rule.
#[derive(Debug, Clone)]
pub enum Change {
    /// It is not applied.
    Falls,
    /// Its figure is a share.
    Share(Placed<Percent>),
    /// Its figure is a length.
    Length(Placed<Length>),
    /// Its figure is an energy.
    Energy(Placed<Energy>),
    /// Its figure is a time.
    Duration(Placed<Duration>),
    /// Its figure is a current.
    Current(Placed<Current>),
}

/// What the place changes of a rule of the code.
#[derive(Debug, Clone)]
pub struct Amendment {
    /// Id of the rule.
    pub rule: Placed<String>,
    /// The change.
    pub change: Change,
    /// Why, in the words of the place.
    pub reason: Placed<String>,
    /// Who amended.
    pub authority: Placed<String>,
}

impl Amendment {
    /// Reason and authority in a derivation.
    pub fn words(&self) -> String {
        format!("by local amendment: {} ({})", self.reason.value, self.authority.value)
    }
}

impl Site {
    /// The share that the place makes of a rule's, with its own words after `what`; none where it leaves the rule as it is.
    pub fn amended_share(&self, rule: &str, symbol: &str, what: &str) -> Option<Known<Ratio>> {
        let amendment = self.amendments.iter().find(|amendment| amendment.rule.value == rule)?;
        let Change::Share(share) = &amendment.change else { return None };
        let what = format!("{what}, {}", amendment.words());
        Some(Known::input(symbol, what, share.value.share(), &share.place))
    }
}

/// Where a load is connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LegWish {
    /// Between stated conductors.
    On(Connection),
    /// Any leg to neutral: the tool balances.
    AnyLeg,
    /// Any two legs: the tool balances.
    AnyPair,
}

/// Electrical size of a load that is no motor.
#[derive(Debug, Clone)]
pub enum LoadSize {
    /// Active power.
    Power(Placed<Power>),
    /// Apparent power.
    Apparent(Placed<Apparent>),
    /// Current at the nominal voltage of its connection.
    Current(Placed<Current>),
    /// A motor.
    Motor(Box<Motor>),
}

/// How a motor starts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotorStart {
    /// Straight on the line: locked-rotor current.
    Direct,
    /// Soft starter: limited to a stated current.
    Soft,
    /// Variable-speed drive: no inrush beyond its running current.
    Drive,
}

/// A motor.
#[derive(Debug, Clone)]
pub struct Motor {
    /// Shaft power.
    pub power: Placed<ShaftPower>,
    /// Full-load current; `None` = from the code table (US) or from efficiency and power factor.
    pub full_load_current: Option<Placed<Current>>,
    /// Efficiency at full load.
    pub efficiency: Option<Placed<Ratio>>,
    /// NEMA code letter.
    pub code_letter: Option<Placed<char>>,
    /// Locked-rotor current.
    pub locked_rotor_current: Option<Placed<Current>>,
    /// Power factor at standstill.
    pub locked_rotor_power_factor: Option<Placed<Ratio>>,
    /// How it starts.
    pub start: Placed<MotorStart>,
    /// Current to which a soft starter limits.
    pub start_current: Option<Placed<Current>>,
    /// Run-up time at full voltage.
    pub run_up: Option<Placed<Duration>>,
    /// Share of full-load torque that the driven machine asks for at standstill.
    pub starting_torque: Option<Placed<Ratio>>,
}

/// When a load runs.
#[derive(Debug, Clone)]
pub enum Schedule {
    /// So long a day.
    Daily(Placed<DailyUse>),
    /// Share of each of the 24 hours of local standard time in which it runs.
    Hourly(Vec<Placed<Ratio>>),
    /// A measured series in a CSV or XML file beside the site file.
    Series(Placed<String>),
}

/// Part of the year in which a load runs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Season {
    /// The warm half.
    Summer,
    /// The cold half.
    Winter,
}

impl Season {
    /// The season of a month, 0 for January. North of the equator April to September is summer, south of it October to
    /// March; without a latitude as in the north, which whoever asks must say.
    pub fn of_month(month: usize, latitude: Option<Angle>) -> Self {
        let south = latitude.is_some_and(|l| l < Angle::ZERO);
        if (3..9).contains(&(month % 12)) != south { Season::Summer } else { Season::Winter }
    }
}

/// What the law says of a load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LoadClass {
    /// The owner's convenience or loss: what this tool designs for.
    Optional,
    /// Emergency system (NEC 700 and its equals): refused.
    Emergency,
    /// Legally required standby (NEC 701): refused.
    LegallyRequired,
    /// Essential electrical system of health care (NEC 517): refused.
    EssentialHealthCare,
    /// Critical operations power (NEC 708): refused.
    CriticalOperations,
}

/// A load.
#[derive(Debug, Clone)]
pub struct Load {
    /// Unique name.
    pub name: Placed<String>,
    /// How many.
    pub count: u32,
    /// How many of them at once, at most; `None` = all.
    pub at_once: Option<Placed<u32>>,
    /// Panel.
    pub panel: Placed<String>,
    /// Connection.
    pub legs: Placed<LegWish>,
    /// Size of one.
    pub size: LoadSize,
    /// Power factor while running.
    pub power_factor: Option<Placed<Ratio>>,
    /// Runs three hours or more at full power.
    pub continuous: Option<Placed<bool>>,
    /// When it runs.
    pub schedule: Schedule,
    /// Longest single run (needs `rests`).
    pub lasts: Option<Placed<Duration>>,
    /// Shortest pause between runs.
    pub rests: Option<Placed<Duration>>,
    /// Loads that never run at the same time.
    pub never_with: Vec<Placed<String>>,
    /// Season.
    pub season: Option<Placed<Season>>,
    /// Shedding priority: 1 is shed first; `None` = never.
    pub shed: Option<Placed<u32>>,
    /// Longest time without power that it tolerates at transfer.
    pub gap: Option<Placed<Duration>>,
    /// Peak over RMS of its current.
    pub crest_factor: Option<Placed<Ratio>>,
    /// Third-harmonic current as a share of the fundamental.
    pub third_harmonic: Option<Placed<Ratio>>,
    /// Class by law.
    pub class: Option<Placed<LoadClass>>,
    /// It is already inside the measured demand.
    pub in_measured: Option<Placed<bool>>,
    /// Growth stage from which on it exists; `None` = today.
    pub stage: Option<Placed<String>>,
    /// Where its table stands.
    pub place: Place,
}

/// How the demand that sizes service and feeders is found.
#[derive(Debug, Clone)]
pub enum DemandMethod {
    /// From the loads, with their coincidence.
    Itemised,
    /// NEC 220 part III.
    DwellingStandard(Dwelling),
    /// NEC 220.82.
    DwellingOptional(Dwelling),
    /// NEC 220.87, and its use for group, relays and battery.
    Measured(Measured),
}

/// Facts of a dwelling for the code's load calculation.
#[derive(Debug, Clone)]
pub struct Dwelling {
    /// Floor area by outside dimensions.
    pub area: Placed<Area>,
    /// Small-appliance branch circuits.
    pub small_appliance_circuits: Placed<u32>,
    /// Laundry branch circuits.
    pub laundry_circuits: Placed<u32>,
    /// Ratings of household ranges and cooking appliances over 1.75 kW, one entry each.
    pub ranges: Vec<Placed<Power>>,
    /// Ratings of clothes dryers, one entry each.
    pub dryers: Vec<Placed<Power>>,
    /// Fastened-in-place appliances, one entry each (nameplate).
    pub appliances: Vec<Placed<Apparent>>,
    /// Electric space heating in all.
    pub heating: Option<Placed<Power>>,
    /// Separately controlled space heaters.
    pub heating_units: Option<Placed<u32>>,
    /// Air conditioning.
    pub cooling: Option<Placed<Apparent>>,
    /// Heat-pump compressor.
    pub heat_pump: Option<Placed<Apparent>>,
    /// Supplementary heat runs with the compressor.
    pub supplementary_with_compressor: Option<Placed<bool>>,
    /// Largest other motor.
    pub largest_motor: Option<Placed<Apparent>>,
    /// Electric-vehicle supply equipment, one entry each.
    pub vehicle_supply: Vec<Placed<Apparent>>,
    /// Where the table stands.
    pub place: Place,
}

/// Measured demand.
#[derive(Debug, Clone)]
pub struct Measured {
    /// CSV or XML file beside the site file.
    pub file: Placed<String>,
    /// Panel whose demand was measured.
    pub panel: Placed<String>,
    /// On-site generation or peak shaving was running during the recording (forbids the short-recording exception).
    pub on_site_generation: Placed<bool>,
    /// Power factor of the measured demand when only kW was recorded.
    pub power_factor: Option<Placed<Ratio>>,
    /// Ratio of the highest demand of seconds to the highest interval mean, if the site states one.
    pub short_peak_factor: Option<Placed<Ratio>>,
    /// Where the table stands.
    pub place: Place,
}

/// Where the generator feeds in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GeneratorInlet {
    /// The units' second input.
    SecondInput,
    /// A transfer switch ahead of the group's only input.
    TransferSwitch,
}

/// A generator that the site has or wants.
#[derive(Debug, Clone)]
pub struct GeneratorWish {
    /// Catalogue id.
    pub model: Placed<String>,
    /// Where it feeds in.
    pub inlet: Decision<GeneratorInlet>,
    /// Starts by itself.
    pub automatic: Option<Placed<bool>>,
    /// A contact or a setting keeps the units from giving power back while it feeds the input that the utility feeds too.
    pub no_export: Option<Placed<bool>>,
    /// Its fuel, and when it runs.
    pub run: GeneratorRun,
    /// Where the table stands.
    pub place: Place,
}

/// How utility, units and backup panel are connected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Arrangement {
    /// Service, units, backup panel in a row.
    Inline,
    /// A separate transfer switch takes the panel; the group's input stays on the utility.
    Outboard,
    /// No utility.
    Islanded,
}

/// Bypass wish.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum BypassWish {
    /// None wanted.
    None,
    /// Interlocked breakers.
    InterlockedBreakers,
    /// Manual switch.
    ManualSwitch,
}

/// The inverter group.
#[derive(Debug, Clone)]
pub struct Group {
    /// Catalogue id of the units.
    pub unit: Placed<String>,
    /// Panel that the group carries.
    pub panel: Placed<String>,
    /// Number of units.
    pub count: Decision<u32>,
    /// Units on each leg, when fixed: `"2+2+2"`.
    pub formation: Decision<String>,
    /// Transfer arrangement.
    pub arrangement: Decision<Arrangement>,
    /// Bypass.
    pub bypass: Decision<BypassWish>,
    /// Catalogue id of the transfer switch.
    pub transfer_switch: Decision<String>,
    /// Retransfer delay set at the transfer switch, as [earliest, latest].
    pub retransfer: Option<(Placed<Duration>, Option<Placed<Duration>>)>,
    /// An auxiliary contact of the transfer switch holds the units off their input while it is on the group.
    pub input_inhibit: Decision<bool>,
    /// Input current limit per leg for the group.
    pub input_limit: Decision<Current>,
    /// Catalogue id of the neutral former, where the units need one.
    pub neutral_former: Decision<String>,
    /// The wiring conditions that the catalogue sets for additive pass-through are met.
    pub matched_wiring: Option<Placed<bool>>,
    /// Most cables of the units, or of the battery, that lie side by side; one where each lies apart.
    pub cables_together: Option<Placed<u32>>,
    /// Where the table stands.
    pub place: Place,
}

/// Battery wishes.
#[derive(Debug, Clone)]
pub struct BatteryWish {
    /// Catalogue id.
    pub model: Option<Placed<String>>,
    /// Modules or strings in parallel.
    pub count: Decision<u32>,
    /// Where it stands.
    pub standing: Standing,
    /// Lowest temperature where the battery stands.
    pub lowest: Option<Placed<Temperature>>,
    /// Catalogue id of the device of every string.
    pub string_device: Option<Placed<String>>,
    /// Catalogue id of the device between the bus and every unit.
    pub unit_device: Option<Placed<String>>,
    /// What charges the input of a unit before its device closes, where the units leave that to the installation.
    pub precharge: Option<PrechargeGear>,
    /// Where the table stands; none where the site says nothing of a battery.
    pub place: Option<Place>,
}

/// A resistor with a switch round the open device of a unit.
#[derive(Debug, Clone)]
pub struct PrechargeGear {
    /// Its resistance.
    pub resistor: Placed<Resistance>,
    /// How far off that it may be.
    pub tolerance: Placed<Percent>,
    /// Energy of a pulse that it takes, one as short as a pre-charge.
    pub pulse: Placed<PulseEnergy>,
    /// Direct current that its switch and cable make and carry for so long.
    pub current: Placed<DcCurrent>,
    /// How long it is left on, where the site says so.
    pub time: Option<Placed<Duration>>,
}

/// Where a battery stands, for the fire code.
#[derive(Debug, Clone, Default)]
pub struct Standing {
    /// The kind of place, a key of [`codebook::fire::storage_places::Place`].
    pub place: Option<Placed<FirePlace>>,
    /// The adopted fire code.
    pub code: Option<Placed<FireCode>>,
    /// Smallest distance between two units.
    pub between: Option<Placed<Length>>,
    /// Smallest distance to doors and windows of the dwelling, outside.
    pub to_opening: Option<Placed<Length>>,
}

/// How the modules of an array stand: what cools them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mounting {
    /// On racks in the open: air on both sides.
    Ground,
    /// Parallel to a roof with a gap behind them.
    Roof,
    /// Close against a roof: no air behind them.
    FlushRoof,
}

/// How many modules.
#[derive(Debug, Clone)]
pub enum Modules {
    /// So many.
    Count(Placed<u32>),
    /// As many as the power asks for, under standard test conditions.
    Power(Placed<Power>),
}

/// Which bus an array feeds.
#[derive(Debug, Clone)]
pub enum Coupling {
    /// The DC bus, through a charge controller.
    Dc {
        /// Catalogue id of the controller.
        controller: Placed<String>,
    },
    /// A panel, through inverters that follow its voltage.
    Ac {
        /// Catalogue id of the array inverter.
        inverter: Placed<String>,
        /// How many.
        inverters: Decision<u32>,
        /// Panel where they connect.
        panel: Placed<String>,
        /// Length of the run from the inverters to the panel, one way.
        run: Option<Placed<Length>>,
    },
}

/// Modules in one plane, and what they feed.
#[derive(Debug, Clone)]
pub struct Array {
    /// Id.
    pub id: Placed<String>,
    /// Catalogue id of the module.
    pub module: Placed<String>,
    /// How many modules.
    pub modules: Modules,
    /// Strings in parallel at each controller or inverter.
    pub strings: Decision<u32>,
    /// Modules in series in each string.
    pub per_string: Decision<u32>,
    /// From the horizontal.
    pub tilt: Placed<Angle>,
    /// Where the modules look, clockwise from north.
    pub azimuth: Placed<Angle>,
    /// How the modules stand.
    pub mounting: Placed<Mounting>,
    /// Share lost to dirt, mismatch, wire and age; `None` = [`ASSUMED_ARRAY_LOSSES`], an assumption.
    pub losses: Option<Placed<Percent>>,
    /// Elevation of the horizon at even azimuths, the first to the north, clockwise; empty = open.
    pub horizon: Vec<Placed<Angle>>,
    /// Length of a string's cable from its modules to the controller or array inverter, one way.
    pub string_run: Option<Placed<Length>>,
    /// Where its power goes.
    pub coupling: Coupling,
    /// Where the word for the coupling stands.
    pub coupling_place: Place,
    /// Where the table stands.
    pub place: Place,
}

/// Share of an array's power that is lost where the site states nothing (common practice).
pub const ASSUMED_ARRAY_LOSSES: Percent = Percent::of_share(0.14);

/// How motors may start after an interruption or by their own control.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum MotorStarts {
    /// All that may run together may start together.
    Together,
    /// Controls see to it that only one starts at a time.
    OneAtATime,
}

/// Wishes.
#[derive(Debug, Clone)]
pub struct Wish {
    /// Outage to be carried.
    pub outage: Option<Placed<Duration>>,
    /// The panel must be carried with one unit out of service.
    pub one_unit_may_be_out: Option<Placed<bool>>,
    /// How motors start.
    pub motor_starts: Option<Placed<MotorStarts>>,
    /// The panel must be served while the units are serviced.
    pub bypass: Option<Placed<bool>>,
    /// Spare share on top of the demand of the backup panel.
    pub spare: Option<Placed<Percent>>,
    /// Largest number of units that `grow` looks at.
    pub grow_to: Option<Placed<u32>>,
}

/// The room of the units: how heat leaves it.
#[derive(Debug, Clone)]
pub struct Room {
    /// Air outside that comes in; `None` = the site's high outdoors.
    pub outside: Option<Placed<Temperature>>,
    /// Air flow of a fan.
    pub fan: Option<Placed<AirFlow>>,
    /// Free area of the low opening and of the high one, each.
    pub opening: Option<Placed<Area>>,
    /// Height from the middle of the low opening to the middle of the high one; needed with `opening`.
    pub opening_height: Option<Placed<Length>>,
    /// Heat through walls and ceiling to outside, for each kelvin.
    pub walls: Option<Placed<HeatConductance>>,
    /// Heat that a cooling device takes.
    pub cooling: Option<Placed<Power>>,
    /// Heat of everything else in the room.
    pub other_heat: Option<Placed<Power>>,
    /// Where the table stands.
    pub place: Place,
}

/// What is on the wall already.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ObstacleKind {
    /// Door.
    Door,
    /// Window.
    Window,
    /// Another opening to outdoors or to other rooms.
    Opening,
    /// Anything else: pipes, other gear.
    Other,
}

/// A part of the wall that is not free.
#[derive(Debug, Clone)]
pub struct WallObstacle {
    /// What it is.
    pub kind: Placed<ObstacleKind>,
    /// From the left end of the wall.
    pub left: Length,
    /// Above the floor.
    pub bottom: Length,
    /// Width.
    pub width: Length,
    /// Height.
    pub height: Length,
    /// How far it stands out from the wall; `None` = not at all.
    pub depth: Option<Length>,
    /// Where the table stands.
    pub place: Place,
}

/// The housing of a panel on the wall.
#[derive(Debug, Clone)]
pub struct Housing {
    /// Width.
    pub width: Length,
    /// Height.
    pub height: Length,
    /// Depth from the wall.
    pub depth: Length,
    /// Mass.
    pub mass: Mass,
    /// Where the table stands.
    pub place: Place,
}

/// The wall for the equipment.
#[derive(Debug, Clone)]
pub struct Wall {
    /// Width.
    pub width: Placed<Length>,
    /// Height.
    pub height: Placed<Length>,
    /// Spacing of studs, where it has any.
    pub studs: Option<Placed<Length>>,
    /// Middle of the first stud from the left end, where known.
    pub first_stud: Option<Placed<Length>>,
    /// Mass that one stud, or one fixing of a solid wall, carries of one housing, where known.
    pub fixing: Option<Placed<Mass>>,
    /// Free depth from the wall to what is opposite, where known.
    pub in_front: Option<Placed<Length>>,
    /// What is opposite; `None` = live parts, the worst.
    pub opposite: Option<Placed<Opposite>>,
    /// The backup panel, where it hangs on this wall.
    pub panel: Option<Housing>,
    /// The battery stands before this wall, too.
    pub battery: Option<Placed<bool>>,
    /// What is on the wall already.
    pub obstacles: Vec<WallObstacle>,
    /// Where the table stands.
    pub place: Place,
}

/// One unit on a link, as built or fixed.
#[derive(Debug, Clone)]
pub struct LinkDevice {
    /// Unit, from 1.
    pub unit: Placed<u32>,
    /// It is set as the lead unit.
    pub lead: bool,
    /// Address that is set.
    pub address: Option<Placed<u32>>,
    /// A terminator is plugged in.
    pub terminated: bool,
}

/// A link between units, as built or fixed.
#[derive(Debug, Clone)]
pub struct LinkWish {
    /// Kind, as the catalogue names it.
    pub kind: Placed<String>,
    /// Units in the order of the cable (star: the middle first).
    pub devices: Vec<LinkDevice>,
    /// Cable in all, where measured.
    pub cable: Option<Placed<Length>>,
}

/// What is known or fixed of a conductor run of the plant.
#[derive(Debug, Clone)]
pub struct ConductorWish {
    /// Its role path: `backup.conductor`; of runs that each unit has, without the unit's number.
    pub part: Placed<String>,
    /// Length, one way.
    pub length: Option<Placed<Length>>,
    /// Size of each line conductor.
    pub size: Option<Placed<Wire>>,
    /// Conductors in parallel, with a size; none = one.
    pub sets: Option<Placed<u32>>,
}

/// A breaker that each unit has.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum UnitBreaker {
    /// Ahead of its input.
    Input,
    /// Behind its output.
    Output,
}

impl UnitBreaker {
    /// Both, with the role path of each.
    pub const ALL: [(&'static str, UnitBreaker); 2] =
        [("unit.input", UnitBreaker::Input), ("unit.output", UnitBreaker::Output)];
}

/// A breaker of the units that the site fixes.
#[derive(Debug, Clone)]
pub struct BreakerWish {
    /// Which.
    pub part: Placed<UnitBreaker>,
    /// Its rating.
    pub rating: Placed<Current>,
}

/// A growth stage: loads name the stage from which on they exist.
#[derive(Debug, Clone)]
pub struct Stage {
    /// Id.
    pub id: Placed<String>,
    /// Years from now.
    pub after_years: Placed<u32>,
}
