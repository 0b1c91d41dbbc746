//! What a unit of the demo catalogue can do in its room.

use crate::error::{CalcError, InputError, nearest};
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![Calculation {
        id: "unit-rating",
        purpose: "What one inverter-charger of the demo catalogue (invented data) can do in a room at an altitude",
        inputs: vec![
            In::text("unit", "id of the unit in the demo catalogue"),
            In::number("room_degc", M::CELSIUS, "temperature of the room").within(-60.0, 100.0),
            In::number("altitude_m", M::METRE, "altitude of the site").within(-430.0, 9000.0),
        ],
        outputs: vec![
            Out::new("factor", M::NUMBER, "share of the rating that is left"),
            Out::new("power_w", M::WATT, "continuous active power of the unit"),
            Out::new("apparent_va", M::VOLT_AMPERE, "continuous apparent power of the unit"),
            Out::new("leg_power_w", M::WATT, "continuous active power of one leg"),
            Out::new("leg_apparent_va", M::VOLT_AMPERE, "continuous apparent power of one leg"),
            Out::new("overload_w", M::WATT, "overload powers of the unit, longest first"),
            Out::new("overload_s", M::SECOND, "how long each lasts at most"),
            Out::new("limit_a", M::AMPERE, "current limit of one leg, RMS"),
        ],
        run,
    }]
}

fn run(given: &Given) -> Result<Results, CalcError> {
    let (catalog, diagnostics) = catalog::demo();
    let catalog = catalog.ok_or_else(|| {
        let count = diagnostics.len();
        CalcError::NotCovered(format!("the demo catalogue cannot be read: {count} diagnostics"))
    })?;
    let id = given.word("unit")?;
    let unit = catalog.units.get(id).ok_or_else(|| InputError::OutOfRange {
        key: "unit",
        value: format!("\"{id}\""),
        allowed: match nearest(id, catalog.units.keys().map(String::as_str)) {
            Some(near) => format!("a unit of the demo catalogue, perhaps \"{near}\""),
            None => "a unit of the demo catalogue".to_owned(),
        },
    })?;
    let rating = unit
        .rating(&given.one("room_degc", "T")?, &given.one("altitude_m", "h")?)
        .map_err(|e| CalcError::NotCovered(e.to_string()))?;
    let powers: Vec<_> = rating.overload.iter().map(|o| o.total_power.clone()).collect();
    let times: Vec<_> = rating.overload.iter().map(|o| o.lasts.clone()).collect();
    Ok(Results::default()
        .known("factor", &rating.factor)
        .known("power_w", &rating.power)
        .known("apparent_va", &rating.apparent)
        .known("leg_power_w", &rating.leg_power)
        .known("leg_apparent_va", &rating.leg_apparent)
        .list("overload_w", &powers)
        .list("overload_s", &times)
        .known("limit_a", &rating.surge))
}
