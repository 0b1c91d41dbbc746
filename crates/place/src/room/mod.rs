//! The room: heat of the worst hour, air that carries it away, the temperature at which it settles, battery gas.
//!
//! The design counts on the room temperature that the site states. So the loop between heat, room and rating is closed the
//! safe way round: where the room settles above the stated temperature, that is an error, and the rating that would be
//! left there is shown.

mod checks;
mod plan;

pub(crate) use plan::spark_distance;
pub use plan::{BatteryGas, RoomCase, StateLoad, plan};

use derivation::Known;
use quantity::{AirFlow, Area, Density, Length, Power, Ratio, Temperature, TemperatureSpan};

use crate::Held;

/// Heat in one state of the group.
#[derive(Debug, Clone)]
pub struct StateHeat {
    /// Which: "outage, worst half hour", "charging at full power".
    pub state: String,
    /// Heat of all units.
    pub heat: Known<Power>,
}

/// How the air moves.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Moving {
    /// A fan.
    Fan,
    /// By its own warmth through a low and a high opening.
    Openings,
    /// Only through the walls.
    Walls,
    /// Nothing is described.
    NotDescribed,
}

/// The room with its heat.
#[derive(Debug, Clone)]
pub struct RoomPlan {
    /// Heat of the units in each state looked at, the worst first.
    pub states: Vec<StateHeat>,
    /// Heat of the worst state with other heat in the room.
    pub heat: Known<Power>,
    /// Air outside that comes in.
    pub outside: Known<Temperature>,
    /// Highest temperature that the design counts on.
    pub stated: Known<Temperature>,
    /// Density of the air at the site's altitude.
    pub density: Known<Density>,
    /// How the air moves.
    pub moving: Moving,
    /// Air flow at the stated temperature.
    pub flow: Option<Known<AirFlow>>,
    /// Heat that leaves at the stated temperature.
    pub carried: Option<Known<Power>>,
    /// Rise over outside at which the room settles.
    pub rise: Option<Known<TemperatureSpan>>,
    /// Where the room settles.
    pub settled: Option<Known<Temperature>>,
    /// Share of the units' rating left there; none where they have none.
    pub factor: Option<Known<Ratio>>,
    /// Air flow that would hold the stated temperature; none where no flow can (outside is as warm).
    pub needed_flow: Option<Known<AirFlow>>,
    /// Cooling that would hold the stated temperature without any air flow.
    pub needed_cooling: Known<Power>,
    /// Battery gas, where the battery gives any.
    pub gas: Option<Gas>,
    /// Margins and findings.
    pub held: Held,
}

/// Ventilation for battery gas.
#[derive(Debug, Clone)]
pub struct Gas {
    /// Air flow.
    pub flow: Known<AirFlow>,
    /// Free opening of inlet and outlet each, where the air moves by itself.
    pub opening: Known<Area>,
    /// Nothing may spark or glow within this distance of the cells.
    pub distance: Known<Length>,
}
