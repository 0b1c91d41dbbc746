//! From loads and the site's room to a plan.

use catalog::UnitModel;
use derivation::{Known, Refused, formula};
use quantity::{AirFlow, Density, Length, Power, Quantity, Ratio, Temperature, TemperatureSpan, above};
use room::air::{Atmosphere, pressure};
use room::hydrogen::{GassingBank, ventilation};
use room::loss::{Curve, heat_of, heat_of_charging};
use room::steady::{Openings, Ways, carried, density_at, flow_through, settles};
use site::Site;
use tables::battery_gas::gassing_currents;

use super::{Gas, Moving, RoomPlan, StateHeat, checks};
use crate::Held;

/// What the units do in one state.
#[derive(Debug, Clone)]
pub struct StateLoad {
    /// Which state.
    pub state: String,
    /// Power of one unit and how many carry as much.
    pub each: Vec<(Known<Power>, u32)>,
    /// They take that power from AC and charge; else they give it.
    pub charging: bool,
}

/// A battery that gives off gas.
#[derive(Debug, Clone)]
pub struct BatteryGas {
    /// Kind of cells, by the key of the table of gas-producing currents.
    pub cell: &'static str,
    /// Cells in series.
    pub cells: Known<Ratio>,
    /// Strings in parallel.
    pub strings: Known<Ratio>,
    /// Rated capacity of one string.
    pub capacity: Known<quantity::Charge>,
}

/// What a room is planned for.
#[derive(Debug, Clone)]
pub struct RoomCase<'a> {
    /// The site.
    pub site: &'a Site,
    /// The units.
    pub unit: &'a UnitModel,
    /// States to look at; at least one.
    pub loads: Vec<StateLoad>,
    /// A battery that gives off gas, where there is one in this room.
    pub gas: Option<BatteryGas>,
}

/// The curve of a catalogue record.
fn curve(unit: &UnitModel) -> Curve {
    let of =
        |symbol: &str, what: &str, share: Ratio| Known::catalog(symbol, what, share, &unit.id, "efficiency");
    Curve {
        rated: Known::catalog("P_r", "rated power of one unit", unit.power, &unit.id, "rating.power"),
        points: unit
            .efficiency
            .iter()
            .map(|(s, eta)| {
                (of("s", "load share of a point of the curve", *s), of("eta", "efficiency there", *eta))
            })
            .collect(),
        idle: Known::catalog("P_0", "draw of one unit awake without load", unit.idle, &unit.id, "idle"),
    }
}

fn state_heat(curve: &Curve, load: &StateLoad) -> Result<StateHeat, Refused> {
    let mut parts = Vec::new();
    for (power, count) in &load.each {
        let Q_1 = if load.charging { heat_of_charging(curve, power)? } else { heat_of(curve, power)? };
        let n =
            Known::chosen("n", "units with this load", Ratio::of(f64::from(*count)), "formation", Vec::new());
        parts.push(formula!("Q", "heat of these units", [n, Q_1] => Q_1 * n));
    }
    let heat = match parts.as_slice() {
        [one] => one.clone(),
        many => Known::sum("Q", "heat of all units", many),
    };
    Ok(StateHeat { state: load.state.clone(), heat })
}

/// What the site says of its room.
fn ways(site: &Site) -> Ways {
    let Some(room) = &site.room else { return Ways::default() };
    let openings = room.opening.as_ref().zip(room.opening_height.as_ref()).map(|(area, height)| Openings {
        area: area.known("A", "free area of each opening"),
        height: height.known("H", "height between the openings"),
    });
    Ways {
        fan: room.fan.as_ref().map(|f| f.known("V_fan", "air flow of the fan")),
        // a fan disturbs what warm air does by itself: beside one, the openings are only its way in
        openings: openings.filter(|_| room.fan.is_none()),
        walls: room.walls.as_ref().map(|w| w.known("UA", "heat through walls and ceiling")),
        cooling: room.cooling.as_ref().map(|c| c.known("Q_c", "heat that the cooling device takes")),
    }
}

fn moving(site: &Site) -> Moving {
    match &site.room {
        None => Moving::NotDescribed,
        Some(room) if room.fan.is_some() => Moving::Fan,
        Some(room) if room.opening.is_some() => Moving::Openings,
        Some(_) => Moving::Walls,
    }
}

/// Plans the room.
///
/// # Errors
/// No state, or a value outside what the formulas reach; the caller answers "not covered".
pub fn plan(case: &RoomCase<'_>) -> Result<RoomPlan, Refused> {
    let site = case.site;
    let curve = curve(case.unit);
    let mut states = Vec::new();
    for load in &case.loads {
        states.push(state_heat(&curve, load)?);
    }
    states.sort_by(|a, b| {
        b.heat.value().si().total_cmp(&a.heat.value().si()).then_with(|| a.state.cmp(&b.state))
    });
    let worst = states.iter().map(|s| s.heat.clone()).collect::<Vec<_>>();
    let units = Known::largest("Q_u", "heat of the units in their worst state", &worst)
        .ok_or_else(|| Refused::NotReached("no state of the group to take heat from".to_owned()))?;
    let other = site.room.as_ref().and_then(|r| r.other_heat.as_ref());
    let heat = match other {
        Some(other) => {
            let Q_o = other.known("Q_o", "heat of everything else in the room");
            Known::sum("Q", "heat in the room", &[units, Q_o])
        }
        None => units,
    };
    let stated = site.temperature.room.known("T_room", "highest room temperature that the design counts on");
    let outside = site.room.as_ref().and_then(|r| r.outside.as_ref()).map_or_else(
        || site.temperature.high.known("T_out", "air outside: the site's high, exceeded 2 % of the time"),
        |t| t.known("T_out", "air outside that comes in"),
    );
    let altitude = site.altitude.known("h", "altitude");
    let p = pressure(&altitude, Atmosphere::Standard)?;
    // warm air is thin: the warmer of the two temperatures counts
    let warm = Known::largest("T", "warmer side of the air flow", &[stated.clone(), outside.clone()])
        .unwrap_or_else(|| stated.clone());
    let density = density_at(&p, &warm)?;
    let mut plan = RoomPlan {
        states,
        needed_flow: needed_flow(&heat, &density, &stated, &outside),
        needed_cooling: Known::chosen(
            "Q_need",
            "cooling that holds the stated temperature without air from outside",
            heat.value(),
            "all heat of the room",
            vec![heat.node().clone()],
        ),
        moving: moving(site),
        flow: None,
        carried: None,
        rise: None,
        settled: None,
        factor: None,
        gas: None,
        held: Held::default(),
        heat,
        outside,
        stated,
        density,
    };
    if site.room.is_some() {
        steady(case, &mut plan)?;
    }
    if let Some(battery) = &case.gas {
        plan.gas = Some(gas(battery)?);
    }
    checks::hold(case, &mut plan);
    Ok(plan)
}

fn steady(case: &RoomCase<'_>, plan: &mut RoomPlan) -> Result<(), Refused> {
    let ways = ways(case.site);
    let RoomPlan { outside, stated, density, .. } = &*plan;
    let carried = carried(&ways, density, outside, stated)?;
    let over = above(stated.value(), outside.value());
    let rise_at_stated =
        formula!("dT", "stated room over outside", [stated, outside] => above(stated, outside));
    let flow = match (&ways.fan, &ways.openings) {
        (Some(fan), _) => Some(fan.clone()),
        (None, Some(openings)) if over.si() >= 0.0 => Some(flow_through(openings, &rise_at_stated, stated)?),
        _ => None,
    };
    let nothing = ways.fan.is_none() && ways.openings.is_none() && ways.walls.is_none();
    let rise = if ways.cooling.is_some() && carried.value() >= plan.heat.value() {
        Some(held_back(plan, &ways))
    } else if nothing {
        None
    } else {
        settles(&plan.heat, &ways, density, outside).ok()
    };
    let settled = rise
        .as_ref()
        .map(|dT| formula!("T_set", "temperature at which the room settles", [outside, dT] => outside + dT));
    let altitude = case.site.altitude.known("h", "altitude");
    plan.factor =
        settled.as_ref().and_then(|t| case.unit.rating(t, &altitude).ok()).map(|rating| rating.factor);
    (plan.carried, plan.flow, plan.rise, plan.settled) = (Some(carried), flow, rise, settled);
    Ok(())
}

/// Where a room settles whose cooling device is large enough: it takes no more than keeps the stated temperature, and
/// rests where the room stays cooler without it.
fn held_back(plan: &RoomPlan, ways: &Ways) -> Known<TemperatureSpan> {
    let RoomPlan { outside, stated, density, heat, .. } = plan;
    let at_stated = formula!("dT", "stated room over outside", [stated, outside] => above(stated, outside));
    let without = Ways { cooling: None, ..ways.clone() };
    match settles(heat, &without, density, outside) {
        Ok(rests) if rests.value() <= at_stated.value() => rests,
        _ => at_stated,
    }
}

/// Air that holds the stated temperature; none where outside is as warm.
fn needed_flow(
    heat: &Known<Power>,
    density: &Known<Density>,
    stated: &Known<Temperature>,
    outside: &Known<Temperature>,
) -> Option<Known<AirFlow>> {
    let rise = formula!("dT", "stated room over outside", [stated, outside] => above(stated, outside));
    room::heat::air_flow(heat, &rise, density).ok()
}

fn gas(battery: &BatteryGas) -> Result<Gas, Refused> {
    let refused = |e: &dyn std::fmt::Display| Refused::NotReached(e.to_string());
    let bank = GassingBank {
        cells: battery.cells.clone(),
        strings: battery.strings.clone(),
        capacity: battery.capacity.clone(),
    };
    // the battery is charged at boost voltage, too, so that counts
    let currents = gassing_currents(battery.cell).map_err(|e| refused(&e))?;
    let found = ventilation(&bank, &currents.boost).map_err(|e| refused(&e))?;
    Ok(Gas { flow: found.flow, opening: found.opening, distance: found.distance })
}

/// Distance that batteries keep from what may spark; none without gas.
pub(crate) fn spark_distance(battery: &BatteryGas) -> Option<Known<Length>> {
    gas(battery).ok().map(|gas| gas.distance)
}
