//! Heat of one unit from its efficiency curve, never less than it is.

use derivation::{Known, Refused, formula};
use quantity::{Power, Quantity, Ratio};

/// Efficiency against load share of one unit, and what it draws awake without load.
#[derive(Debug, Clone)]
pub struct Curve {
    /// Rated power.
    pub rated: Known<Power>,
    /// Points of load share and efficiency, rising share, in the order of the catalogue.
    pub points: Vec<(Known<Ratio>, Known<Ratio>)>,
    /// Power drawn awake without load.
    pub idle: Known<Power>,
}

/// Heat of a unit that gives a power. Between two points of its curve the lower efficiency of the two counts; below the
/// first point the heat at that point; above the last the heat grows with the square of the load, since no part of a
/// bridge's loss grows faster. Never below the idle draw.
///
/// # Errors
/// The power is negative, or the curve is none.
pub fn heat_of(curve: &Curve, output: &Known<Power>) -> Result<Known<Power>, Refused> {
    let p_w = output.not_negative()?;
    let rated_w = curve.rated.above_zero()?;
    curve.idle.not_negative()?;
    for pair in curve.points.windows(2) {
        if let [a, b] = pair
            && a.0.value() >= b.0.value()
        {
            return Err(Refused::NotReached("an efficiency curve whose points do not rise".to_owned()));
        }
    }
    for (share, efficiency) in &curve.points {
        share.above_zero()?;
        efficiency.share()?;
    }
    let (Some(first), Some(last)) = (curve.points.first(), curve.points.last()) else {
        return Err(Refused::NotReached("an efficiency curve without points".to_owned()));
    };
    let share = p_w / rated_w;
    let P_r = &curve.rated;
    let P = output;
    let heat: Known<Power> = if share > last.0.value().si() {
        let (s, eta) = (&last.0, &last.1);
        formula!("Q_1", "heat of one unit above the last point of its curve", [P, P_r, s, eta]
            => (P_r * s) * (1.0 / eta - 1.0) * square(P / (P_r * s)), source = "no part of the loss grows faster than the square of the load")
    } else if share <= first.0.value().si() {
        let (s, eta) = (&first.0, &first.1);
        formula!("Q_1", "heat of one unit at the first point of its curve", [P_r, s, eta]
            => (P_r * s) * (1.0 / eta - 1.0), source = "energy balance; the loss never falls with the load")
    } else {
        let around: Vec<Known<Ratio>> = curve
            .points
            .windows(2)
            .find(|w| matches!(w, [a, b] if a.0.value().si() < share && share <= b.0.value().si()))
            .into_iter()
            .flatten()
            .map(|(_, eta)| eta.clone())
            .collect();
        let eta = Known::smallest("eta", "lower efficiency of the points around the load", &around)
            .ok_or_else(|| Refused::NotReached("a load between no two points".to_owned()))?;
        formula!("Q_1", "heat of one unit", [P, eta] => P * (1.0 / eta - 1.0), source = "energy balance")
    };
    Known::largest("Q_1", "heat of one unit, at least its idle draw", &[heat, curve.idle.clone()])
        .ok_or_else(|| Refused::NotReached("no heat".to_owned()))
}

fn square(x: Ratio) -> Ratio {
    x * x
}

/// Heat of a unit that takes a power from AC to charge: `P (1 - eta)`. The curve is that of inverting: what a bridge loses
/// does not depend on the direction (common practice where no charging efficiency is stated).
///
/// # Errors
/// As [`heat_of`].
pub fn heat_of_charging(curve: &Curve, input: &Known<Power>) -> Result<Known<Power>, Refused> {
    // P_in (1 - eta) <= P_in (1 / eta - 1): the heat of giving as much is no less
    let heat = heat_of(curve, input)?;
    Ok(Known::chosen(
        "Q_c",
        "heat of one charging unit",
        heat.value(),
        "no more than while it gives as much: the bridge loses alike both ways (common practice)",
        vec![heat.node().clone()],
    ))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};
    use proptest::prelude::*;

    fn curve() -> Curve {
        let n = |x| given(Ratio::of(x));
        Curve {
            rated: given(Power::of(5000.0)),
            points: vec![(n(0.1), n(0.90)), (n(0.5), n(0.94)), (n(1.0), n(0.91))],
            idle: given(Power::of(40.0)),
        }
    }

    /// 2 kW lies between 500 W (90 %) and 2.5 kW (94 %): 90 % counts, 222 W. 4 kW: 91 %, 396 W. 200 W: as at 500 W, 56 W.
    #[test]
    fn by_hand() {
        let of = |w: f64| heat_of(&curve(), &given(Power::of(w))).unwrap();
        near(&of(2000.0), 2000.0 * (1.0 / 0.90 - 1.0));
        near(&of(4000.0), 4000.0 * (1.0 / 0.91 - 1.0));
        near(&of(200.0), 500.0 * (1.0 / 0.90 - 1.0));
        near(&of(6000.0), 5000.0 * (1.0 / 0.91 - 1.0) * 1.44);
        let mut idle = curve();
        idle.idle = given(Power::of(70.0));
        near(&heat_of(&idle, &given(Power::of(0.0))).unwrap(), 70.0);
        assert!(heat_of(&curve(), &given(Power::of(f64::NAN))).is_err());
        assert!(heat_of(&Curve { points: Vec::new(), ..curve() }, &given(Power::of(1.0))).is_err());
    }

    proptest! {
        /// Against the loss that the curve interpolated in efficiency would give: never less.
        #[test]
        fn never_less_than_between_the_points(p in 500.0..5000.0_f64) {
            let s = p / 5000.0;
            let eta = if s < 0.5 { 0.90 + (s - 0.1) / 0.4 * 0.04 } else { 0.94 - (s - 0.5) / 0.5 * 0.03 };
            let found = heat_of(&curve(), &given(Power::of(p))).unwrap().value().si();
            prop_assert!(found >= p * (1.0 / eta - 1.0) - 1e-9);
        }
    }
}
