//! Where a room settles: heat in, heat out by air and walls, and a cooling device.

use derivation::{Known, Refused, formula};
use quantity::{
    AirFlow, Area, Density, HeatConductance, Length, Power, Pressure, Quantity, Ratio, Temperature,
    TemperatureSpan,
};

/// Specific heat of air, J/(kg K).
const AIR_J_PER_KG_K: f64 = 1006.0;
const AIR_SOURCE: &str = "physics of air";
/// Gas constant of dry air, J/(kg K).
const GAS_J_PER_KG_K: f64 = 287.05;
const KELVIN: f64 = 273.15;
const GRAVITY: f64 = 9.81;
/// Beyond these rises the search stops: such a room is no room for equipment.
const REACH_K: f64 = 400.0;

/// Density of dry air at a pressure and a temperature, `rho = p / (R T)`.
///
/// # Errors
/// Pressure or temperature is outside what air on earth has.
pub fn density_at(pressure: &Known<Pressure>, air: &Known<Temperature>) -> Result<Known<Density>, Refused> {
    pressure.within(2e4, 1.2e5, "from 20 to 120 kPa")?;
    air.within(-80.0, 120.0, "from -80 to 120 degC")?;
    let p = pressure;
    let T = air;
    Ok(formula!("rho", "density of dry air", [p, T] => dry(p, T), source = "ideal gas, rho = p / (R T)"))
}

fn dry(p: Pressure, air: Temperature) -> Density {
    Density::of(p.si() / (GAS_J_PER_KG_K * (air.si() + KELVIN)))
}

/// A low and a high opening of one size.
#[derive(Debug, Clone)]
pub struct Openings {
    /// Free area of each.
    pub area: Known<Area>,
    /// From the middle of the low one to the middle of the high one.
    pub height: Known<Length>,
}

/// How heat leaves a room.
#[derive(Debug, Clone, Default)]
pub struct Ways {
    /// Air flow of a fan.
    pub fan: Option<Known<AirFlow>>,
    /// Openings through which warm air rises.
    pub openings: Option<Openings>,
    /// Through walls and ceiling.
    pub walls: Option<Known<HeatConductance>>,
    /// Heat that a cooling device takes.
    pub cooling: Option<Known<Power>>,
}

/// Air through two equal openings by its own warmth: `V = C_d A sqrt(g H dT / T)`, the effective area of two in a row
/// being `A / sqrt(2)` and the driving pressure that of the whole height. `T` is the warmer side's, in kelvin. A fan
/// beside the openings is another way: it disturbs this one, so only one of them may be counted.
///
/// # Errors
/// A value is outside its range.
pub fn flow_through(
    openings: &Openings,
    rise: &Known<TemperatureSpan>,
    inside: &Known<Temperature>,
) -> Result<Known<AirFlow>, Refused> {
    let (A, H) = (&openings.area, &openings.height);
    A.above_zero()?;
    H.above_zero()?;
    rise.not_negative()?;
    inside.within(-80.0, 200.0, "from -80 to 200 degC")?;
    let C_d = discharge();
    let (dT, T) = (rise, inside);
    Ok(formula!("V", "air through the openings", [C_d, A, H, dT, T] => stack(C_d, A, H, dT, T),
        source = "stack effect, two equal openings: V = C_d A sqrt(g H dT / T)"))
}

fn discharge() -> Known<Ratio> {
    Known::factor("C_d", "discharge coefficient of an opening", 0.6, "sharp-edged openings, common practice")
}

fn stack(c: Ratio, area: Area, height: Length, rise: TemperatureSpan, inside: Temperature) -> AirFlow {
    let drive = GRAVITY * height.si() * rise.si() / (inside.si() + KELVIN);
    AirFlow::of(c.si() * area.si() * libm::sqrt(drive.max(0.0)))
}

/// Heat that leaves at a rise over outside, in watts; negative where outside is warmer.
struct Model {
    air_w_per_k: f64,
    walls_w_per_k: f64,
    cooling_w: f64,
    /// C_d A, H, rho c.
    openings: Option<(f64, f64, f64)>,
    outside_k: f64,
}

impl Model {
    fn of(ways: &Ways, density: &Known<Density>, outside: &Known<Temperature>) -> Result<Self, Refused> {
        let rho_c = density.within(0.3, 2.0, "from 0.3 to 2 kg/m3")? * AIR_J_PER_KG_K;
        outside.within(-80.0, 80.0, "from -80 to 80 degC")?;
        if ways.fan.is_some() && ways.openings.is_some() {
            return Err(Refused::NotReached(
                "a fan beside openings disturbs the flow that warm air makes: count one of them".to_owned(),
            ));
        }
        let some = |x: Option<Result<f64, Refused>>| x.transpose().map(|x| x.unwrap_or(0.0));
        let openings = match &ways.openings {
            None => None,
            Some(o) => Some((0.6 * o.area.above_zero()?, o.height.above_zero()?, rho_c)),
        };
        Ok(Self {
            air_w_per_k: some(ways.fan.as_ref().map(Known::above_zero))? * rho_c,
            walls_w_per_k: some(ways.walls.as_ref().map(Known::above_zero))?,
            cooling_w: some(ways.cooling.as_ref().map(Known::not_negative))?,
            openings,
            outside_k: outside.value().si() + KELVIN,
        })
    }

    fn carries_nothing(&self) -> bool {
        self.air_w_per_k <= 0.0 && self.walls_w_per_k <= 0.0 && self.openings.is_none()
    }

    fn leaving_w(&self, rise_k: f64) -> f64 {
        let stack = self.openings.map_or(0.0, |(area, height, rho_c)| {
            let warm_k = self.outside_k + rise_k.max(0.0);
            let flow = area * libm::sqrt(GRAVITY * height * rise_k.abs() / warm_k);
            rho_c * flow * rise_k
        });
        self.cooling_w + (self.air_w_per_k + self.walls_w_per_k) * rise_k + stack
    }
}

fn entering(
    ways: &Ways,
    more: &[&std::sync::Arc<derivation::Node>],
) -> Vec<std::sync::Arc<derivation::Node>> {
    let mut from: Vec<_> = more.iter().map(|n| (*n).clone()).collect();
    from.extend(ways.fan.iter().map(|k| k.node().clone()));
    if let Some(o) = &ways.openings {
        from.extend([o.area.node().clone(), o.height.node().clone(), discharge().node().clone()]);
    }
    from.extend(ways.walls.iter().map(|k| k.node().clone()));
    from.extend(ways.cooling.iter().map(|k| k.node().clone()));
    from.push(
        Known::factor("c_p", "specific heat of air, J/(kg K)", AIR_J_PER_KG_K, AIR_SOURCE).node().clone(),
    );
    from
}

const EQUATION: &str = "Q = Q_c + (UA + rho c V) dT";

/// Heat that leaves a room at a temperature, at most: what cooling, air and walls take. Never below zero: where outside is
/// so warm that more comes in than a cooling device takes, nothing is carried.
///
/// # Errors
/// A value is outside its range, or a fan and openings are both given.
pub fn carried(
    ways: &Ways,
    density: &Known<Density>,
    outside: &Known<Temperature>,
    room: &Known<Temperature>,
) -> Result<Known<Power>, Refused> {
    room.within(-80.0, 120.0, "from -80 to 120 degC")?;
    let model = Model::of(ways, density, outside)?;
    let leaving = model.leaving_w(room.value().si() - outside.value().si()).max(0.0);
    let from = entering(ways, &[density.node(), outside.node(), room.node()]);
    Ok(Known::solved(
        "Q_max",
        "heat that leaves at this temperature",
        Power::of(leaving),
        EQUATION,
        0.0,
        from,
    ))
}

/// Rise over outside at which a room settles: heat in and heat out are equal. Negative where a cooling device takes more.
/// The heat that walls, floor and equipment store is left out: a steady room is never cooler than the hottest hour.
///
/// # Errors
/// A value is outside its range, nothing carries heat away, or the room would rise above 400 K.
pub fn settles(
    heat: &Known<Power>,
    ways: &Ways,
    density: &Known<Density>,
    outside: &Known<Temperature>,
) -> Result<Known<TemperatureSpan>, Refused> {
    let heat_w = heat.not_negative()?;
    let model = Model::of(ways, density, outside)?;
    if model.carries_nothing() {
        return Err(Refused::NotReached("no air, opening or wall carries heat away".to_owned()));
    }
    let (mut low, mut high) = (-REACH_K / 4.0, REACH_K);
    if model.leaving_w(low) > heat_w || model.leaving_w(high) < heat_w {
        return Err(Refused::NotReached(format!(
            "the room would settle outside {low} to {high} K over outside"
        )));
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if model.leaving_w(middle) < heat_w { low = middle } else { high = middle }
    }
    let residual = (model.leaving_w(high) - heat_w).abs();
    let from = entering(ways, &[heat.node(), density.node(), outside.node()]);
    Ok(Known::solved(
        "dT",
        "rise over outside at which the room settles",
        TemperatureSpan::of(high),
        EQUATION,
        residual,
        from,
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};
    use proptest::prelude::*;

    fn rho() -> Known<Density> {
        given(Density::of(1.15))
    }

    fn at(degc: f64) -> Known<Temperature> {
        given(Temperature::of(degc))
    }

    /// 1200 W, 300 m3/h of air of 1.15 kg/m3 (96.4 W/K) and walls of 20 W/K: 1200 / 116.4 = 10.3 K.
    #[test]
    fn a_fan_and_walls_by_hand() {
        let ways = Ways {
            fan: Some(given(AirFlow::of(300.0 / 3600.0))),
            walls: Some(given(HeatConductance::of(20.0))),
            ..Ways::default()
        };
        let k = 300.0 / 3600.0 * 1.15 * 1006.0 + 20.0;
        let rise = settles(&given(Power::of(1200.0)), &ways, &rho(), &at(35.0)).unwrap();
        assert!((rise.value().si() - 1200.0 / k).abs() < 1e-9);
        near(&carried(&ways, &rho(), &at(35.0), &at(40.0)).unwrap(), 5.0 * k);
        near(&carried(&ways, &rho(), &at(35.0), &at(30.0)).unwrap(), 0.0);
        // a cooling device in a room that is to stay below outside also takes what comes in
        let cooled = Ways { cooling: Some(given(Power::of(2000.0))), ..ways };
        near(&carried(&cooled, &rho(), &at(35.0), &at(30.0)).unwrap(), 2000.0 - 5.0 * k);
    }

    /// 0.05 m2 each, 2 m apart, 10 K at 45 degC: 0.6 · 0.05 · sqrt(9.81 · 2 · 10 / 318.15) = 0.02356 m3/s.
    #[test]
    fn openings_by_hand() {
        let openings = Openings { area: given(Area::of(0.05)), height: given(Length::of(2.0)) };
        let flow = flow_through(&openings, &given(TemperatureSpan::of(10.0)), &at(45.0)).unwrap();
        near(&flow, 0.03 * libm::sqrt(196.2 / 318.15));
        let ways = Ways { openings: Some(openings), ..Ways::default() };
        let heat = 1.15 * 1006.0 * flow.value().si() * 10.0;
        let rise = settles(&given(Power::of(heat)), &ways, &rho(), &at(35.0)).unwrap();
        assert!((rise.value().si() - 10.0).abs() < 1e-6, "{}", rise.value());
    }

    #[test]
    fn what_cannot_be_is_refused() {
        let heat = given(Power::of(100.0));
        assert!(settles(&heat, &Ways::default(), &rho(), &at(30.0)).is_err());
        let only_cooling = Ways { cooling: Some(given(Power::of(500.0))), ..Ways::default() };
        assert!(settles(&heat, &only_cooling, &rho(), &at(30.0)).is_err());
        let both = Ways {
            fan: Some(given(AirFlow::of(0.1))),
            openings: Some(Openings { area: given(Area::of(0.05)), height: given(Length::of(2.0)) }),
            ..Ways::default()
        };
        assert!(settles(&heat, &both, &rho(), &at(30.0)).is_err());
        assert!(settles(&given(Power::of(f64::NAN)), &both, &rho(), &at(30.0)).is_err());
        assert!(
            (density_at(&given(Pressure::of(101_325.0)), &at(15.0)).unwrap().value().si() - 1.225).abs()
                < 1e-3
        );
    }

    proptest! {
        /// More heat never settles cooler, more air never warmer, and what settles is what is carried there.
        #[test]
        fn monotone_and_consistent(
            heat in 10.0..5000.0_f64, more in 1.0..2.0_f64, area in 0.01..0.3_f64, h in 0.5..4.0_f64,
            walls in 1.0..200.0_f64, out in -20.0..45.0_f64,
        ) {
            let ways = |area: f64| Ways {
                openings: Some(Openings { area: given(Area::of(area)), height: given(Length::of(h)) }),
                walls: Some(given(HeatConductance::of(walls))),
                ..Ways::default()
            };
            let rise = |q: f64, ways: &Ways| settles(&given(Power::of(q)), ways, &rho(), &at(out)).unwrap().value().si();
            let base = rise(heat, &ways(area));
            prop_assert!(rise(heat * more, &ways(area)) >= base - 1e-9);
            prop_assert!(rise(heat, &ways(area * more)) <= base + 1e-9);
            if out + base < 110.0 {
                let carried = carried(&ways(area), &rho(), &at(out), &at(out + base)).unwrap().value().si();
                prop_assert!((carried - heat).abs() < 1e-6 * heat);
            }
        }
    }
}
