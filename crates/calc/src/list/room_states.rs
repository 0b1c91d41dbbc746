//! Where a room settles, heat of a unit from its curve, space before gear that is worked on.
#![allow(non_snake_case)] // symbols as a hand calculation writes them

use codebook::us::working_area::area;
use derivation::{Known, formula};
use quantity::{Density, Length, Power, Quantity, Ratio, Temperature};
use room::loss::{Curve, heat_of};
use room::steady::{Openings, Ways, carried, settles};

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![room_settles(), unit_heat(), working_area()]
}

fn room_settles() -> Calculation {
    Calculation {
        id: "room-settles",
        purpose: "Temperature at which a room with heat in it settles, by fan or openings, walls and cooling",
        inputs: vec![
            In::number("heat_w", M::WATT, "heat in the room").within(0.0, 1e7),
            In::number("outside_degc", M::CELSIUS, "air outside").within(-60.0, 70.0),
            In::number("fan_m3_h", M::CUBIC_METRE_PER_HOUR, "air flow of a fan; not beside openings")
                .if_given(),
            In::number("opening_cm2", M::SQUARE_CENTIMETRE, "free area of a low and of a high opening, each")
                .if_given(),
            In::number("opening_height_m", M::METRE, "height between the openings, with opening_cm2")
                .if_given(),
            In::number("walls_w_per_k", M::WATT_PER_KELVIN, "heat through walls and ceiling").if_given(),
            In::number("cooling_w", M::WATT, "heat that a cooling device takes").if_given(),
            In::number("density_kg_m3", M::DENSITY, "density of the air; see air-at-altitude")
                .within(0.3, 2.0)
                .or("1.15"),
            In::number("room_degc", M::CELSIUS, "highest temperature that the room may have").if_given(),
        ],
        outputs: vec![
            Out::new("rise_k", M::KELVIN, "rise over outside"),
            Out::new("settles_degc", M::CELSIUS, "temperature of the room, the cooling device at full power"),
            Out::new("carried_w", M::WATT, "heat that leaves at room_degc"),
            Out::new("holds", M::WORD, "the room stays at room_degc or under"),
        ],
        run: run_settles,
    }
}

fn run_settles(given: &Given) -> Result<Results, CalcError> {
    let heat: Known<Power> = given.one("heat_w", "Q")?;
    let outside: Known<Temperature> = given.one("outside_degc", "T_out")?;
    let density: Known<Density> = given.one("density_kg_m3", "rho")?;
    let openings = match (given.one_if("opening_cm2", "A")?, given.one_if("opening_height_m", "H")?) {
        (Some(area), Some(height)) => Some(Openings { area, height }),
        (None, None) => None,
        _ => {
            let words = "openings need both opening_cm2 and opening_height_m";
            return Err(CalcError::NotCovered(words.to_owned()));
        }
    };
    let ways = Ways {
        fan: given.one_if("fan_m3_h", "V_fan")?,
        openings,
        walls: given.one_if("walls_w_per_k", "UA")?,
        cooling: given.one_if("cooling_w", "Q_c")?,
    };
    let dT = settles(&heat, &ways, &density, &outside)?;
    let settled = formula!("T", "temperature at which the room settles", [outside, dT] => outside + dT);
    let results = Results::default().known("rise_k", &dT).known("settles_degc", &settled);
    match given.one_if::<Temperature>("room_degc", "T_room")? {
        None => Ok(results),
        Some(room) => {
            let leaves = carried(&ways, &density, &outside, &room)?;
            let holds = leaves.value() >= heat.value();
            Ok(results.known("carried_w", &leaves).flag("holds", holds))
        }
    }
}

fn unit_heat() -> Calculation {
    Calculation {
        id: "unit-heat",
        purpose: "Heat of a unit at a load, never less than its efficiency curve gives",
        inputs: vec![
            In::number("output_w", M::WATT, "power that it gives").within(0.0, 1e7),
            In::number("rated_w", M::WATT, "rated power").within(1.0, 1e7),
            In::numbers("share", M::NUMBER, "load share of each point of the curve, rising")
                .within(0.001, 2.0),
            In::numbers("efficiency", M::NUMBER, "efficiency at each point").within(0.01, 1.0),
            In::number("idle_w", M::WATT, "draw awake without load").within(0.0, 1e5),
        ],
        outputs: vec![Out::new("heat_w", M::WATT, "heat")],
        run: |given| {
            let shares: Vec<Known<Ratio>> = given.list("share", "s")?;
            let efficiencies = given.for_each("efficiency", "eta", shares.len())?;
            let curve = Curve {
                rated: given.one("rated_w", "P_r")?,
                points: shares.into_iter().zip(efficiencies).collect(),
                idle: given.one("idle_w", "P_0")?,
            };
            Ok(Results::default().known("heat_w", &heat_of(&curve, &given.one("output_w", "P")?)?))
        },
    }
}

fn working_area() -> Calculation {
    Calculation {
        id: "working-area",
        purpose: "Width and height of the space before equipment, and the highest handle, by the US code",
        inputs: vec![
            In::number("width_in", M::INCH, "width of the equipment").within(0.0, 1e4),
            In::number("top_in", M::INCH, "top of the equipment above the floor").within(0.0, 1e4),
            In::number("handle_in", M::INCH, "middle of the highest grip above the floor").if_given(),
        ],
        outputs: vec![
            Out::new("space_width_in", M::INCH, "least width of the space"),
            Out::new("space_height_in", M::INCH, "least height of the space"),
            Out::new("protrusion_in", M::INCH, "most that other equipment may stand out beyond the front"),
            Out::new("highest_handle_in", M::INCH, "highest middle of a grip"),
            Out::new("handle_holds", M::WORD, "the grip is low enough"),
        ],
        run: |given| {
            let asked = area(&given.one("width_in", "w")?, &given.one("top_in", "h")?)?;
            let results = Results::default()
                .known("space_width_in", &asked.width)
                .known("space_height_in", &asked.height)
                .known("protrusion_in", &asked.protrusion)
                .known("highest_handle_in", &asked.handle);
            Ok(match given.one_if::<Length>("handle_in", "h_grip")? {
                Some(handle) => {
                    // 79 in times the metres of an inch is the same product on both sides but for its last bit
                    let holds = handle.value().si() <= asked.handle.value().si() * (1.0 + 1e-12);
                    results.flag("handle_holds", holds)
                }
                None => results,
            })
        },
    }
}
