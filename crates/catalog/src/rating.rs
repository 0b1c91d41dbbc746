//! What one unit can do in a room at an altitude.
//!
//! The catalogue states full ratings and how they shrink. One factor k = k_T · k_h holds for all of them: k_T from
//! the temperature curve, linear between its points, k_h falling by the stated share for every 100 m above the
//! altitude of full rating. Outside the stated ranges there is no rating, only a refusal; below the first point of
//! the curve its factor holds.
//!
//! Choices of ours, all on the safe side, where a catalogue gives no more:
//! - Overload powers and the RMS surge current shrink with the same factor as the continuous rating, since they
//!   heat the same parts. The instantaneous peak trip is a threshold, not heat, and keeps its value.
//! - An overload is stated as total active power. One leg may carry its equal part of it, or its own continuous
//!   rating if that is more; in VA no more than that power at power factor 1, or its continuous rating.

#![allow(non_snake_case)] // symbols as a hand calculation writes them

use derivation::{Known, formula};
use quantity::{
    Apparent, Current, Duration, Length, PeakCurrent, Power, Quantity, Ratio, Temperature, as_va,
};

use crate::{LegControl, Overload, UnitModel};

/// Rating of one unit in its room. W and VA are limits apart: both hold.
#[derive(Debug, Clone)]
pub struct UnitRating {
    /// Share of the catalogue's rating that is left.
    pub factor: Known<Ratio>,
    /// Continuous active power of the unit.
    pub power: Known<Power>,
    /// Continuous apparent power of the unit.
    pub apparent: Known<Apparent>,
    /// Continuous active power of one leg (of the bridge, for line-to-line units).
    pub leg_power: Known<Power>,
    /// Continuous apparent power of one leg, likewise.
    pub leg_apparent: Known<Apparent>,
    /// Overloads, longest first.
    pub overload: Vec<OverloadRating>,
    /// RMS current of one leg at which the bridge limits.
    pub surge: Known<Current>,
    /// How long it holds that.
    pub surge_lasts: Known<Duration>,
    /// Instantaneous trip of one leg's bridge, at any temperature and altitude.
    pub peak: Known<PeakCurrent>,
}

/// An overload of one unit in its room.
#[derive(Debug, Clone)]
pub struct OverloadRating {
    /// Active power of one leg (of the bridge, for line-to-line units).
    pub leg_power: Known<Power>,
    /// Apparent power of one leg, likewise.
    pub leg_apparent: Known<Apparent>,
    /// Active power of the unit.
    pub total_power: Known<Power>,
    /// How long at most.
    pub lasts: Known<Duration>,
}

/// Why a unit has no rating in a room.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum RatingRefusal {
    /// Hotter than the last point of the temperature curve.
    #[error("{unit} has no rating at {room}: its temperature curve ends at {highest}")]
    TooHot {
        /// Id of the unit.
        unit: String,
        /// Room temperature.
        room: Temperature,
        /// Last point of the curve.
        highest: Temperature,
    },
    /// Higher than the unit may be used.
    #[error("{unit} must not be used at {altitude}: at most {highest}")]
    TooHigh {
        /// Id of the unit.
        unit: String,
        /// Altitude of the site.
        altitude: Length,
        /// Highest altitude of use.
        highest: Length,
    },
    /// The record has no curve of two points or more in rising temperature. Records that were read always have.
    #[error("{unit} has no temperature curve of two rising points or more")]
    NoCurve {
        /// Id of the unit.
        unit: String,
    },
    /// Temperature or altitude is no number, or the factor would not be between 0 and 1.
    #[error("{unit} has no rating at {room} and {altitude}: no factor between 0 and 1 results")]
    NoFactor {
        /// Id of the unit.
        unit: String,
        /// Room temperature.
        room: Temperature,
        /// Altitude of the site.
        altitude: Length,
    },
}

impl UnitModel {
    /// What one unit can do in a room at `room` and a site at `altitude`.
    ///
    /// # Errors
    /// Too hot, too high, or values that give no factor: see [`RatingRefusal`].
    pub fn rating(
        &self,
        room: &Known<Temperature>,
        altitude: &Known<Length>,
    ) -> Result<UnitRating, RatingRefusal> {
        let factor = self.factor(room, altitude)?;
        let k = &factor;
        let (P_r, S_r) = (
            self.stated("P_r", "rated power", self.power, "rating.power"),
            self.stated("S_r", "rated apparent power", self.apparent, "rating.apparent"),
        );
        let (P_l, S_l) = self.stated_leg();
        let I_s = self.stated("I_s", "current limit of one leg", self.surge.current, "surge.current");
        let overload = self.overload.iter().map(|o| self.overload_rating(o, k, &P_l, &S_l)).collect();
        Ok(UnitRating {
            power: formula!("P", "continuous power of one unit", [P_r, k] => P_r * k),
            apparent: formula!("S", "continuous apparent power of one unit", [S_r, k] => S_r * k),
            leg_power: formula!("P_leg", "continuous power of one leg", [P_l, k] => P_l * k),
            leg_apparent: formula!("S_leg", "continuous apparent power of one leg", [S_l, k] => S_l * k),
            overload,
            surge: formula!("I_lim", "current limit of one leg", [I_s, k] => I_s * k, source = SAME_FACTOR),
            surge_lasts: self.stated("t_s", "time at the current limit", self.surge.lasts, "surge.lasts"),
            peak: self.stated("i_pk", "peak trip of one leg", self.surge.peak, "surge.peak"),
            factor,
        })
    }

    fn factor(
        &self,
        room: &Known<Temperature>,
        altitude: &Known<Length>,
    ) -> Result<Known<Ratio>, RatingRefusal> {
        let no_factor = || RatingRefusal::NoFactor {
            unit: self.id.clone(),
            room: room.value(),
            altitude: altitude.value(),
        };
        if !room.value().si().is_finite() || !altitude.value().si().is_finite() {
            return Err(no_factor());
        }
        let k_T = self.temperature_factor(room)?;
        let k_h = self.altitude_factor(altitude)?;
        let factor = formula!("k", "share of the rating left in this room", [k_T, k_h] => k_T * k_h);
        let left = factor.value().si();
        if left > 0.0 && left <= 1.0 { Ok(factor) } else { Err(no_factor()) }
    }

    fn temperature_factor(&self, room: &Known<Temperature>) -> Result<Known<Ratio>, RatingRefusal> {
        let curve = &self.temperature_curve;
        let no_curve = || RatingRefusal::NoCurve { unit: self.id.clone() };
        let rising = curve.windows(2).all(|w| matches!(w, [a, b] if b.0 > a.0));
        let (Some(first), Some(last), true) = (curve.first(), curve.last(), rising && curve.len() > 1) else {
            return Err(no_curve());
        };
        if room.value() > last.0 {
            return Err(RatingRefusal::TooHot { unit: self.id.clone(), room: room.value(), highest: last.0 });
        }
        let from = self.stated("T_0", "first point of the temperature curve", first.0, "temperature");
        let T = if room.value() < first.0 {
            Known::largest(
                "T",
                "room temperature, at least the first point of the curve",
                &[room.clone(), from],
            )
            .ok_or_else(no_curve)?
        } else {
            room.clone()
        };
        let pair = curve.windows(2).find(|w| matches!(w, [_, b] if T.value() <= b.0));
        let Some([a, b]) = pair else { return Err(no_curve()) };
        let T_1 = self.stated("T_1", "point of the curve below", a.0, "temperature");
        let k_1 = self.stated("k_1", "factor at T_1", a.1, "temperature");
        let T_2 = self.stated("T_2", "point of the curve above", b.0, "temperature");
        let k_2 = self.stated("k_2", "factor at T_2", b.1, "temperature");
        Ok(formula!(
            "k_T", "temperature factor, linear between two points",
            [k_1, k_2, T, T_1, T_2] => k_1 - (k_1 - k_2) * ratio(T - T_1, T_2 - T_1)
        ))
    }

    fn altitude_factor(&self, altitude: &Known<Length>) -> Result<Known<Ratio>, RatingRefusal> {
        let rating = &self.altitude;
        if altitude.value() > rating.highest {
            return Err(RatingRefusal::TooHigh {
                unit: self.id.clone(),
                altitude: altitude.value(),
                highest: rating.highest,
            });
        }
        let h_0 = self.stated("h_0", "full rating up to this altitude", rating.full_to, "altitude.full_to");
        let h = if altitude.value() < rating.full_to {
            let both = [altitude.clone(), h_0.clone()];
            Known::largest("h", "altitude, at least that of full rating", &both)
                .unwrap_or_else(|| h_0.clone())
        } else {
            altitude.clone()
        };
        let field = "altitude.loss_per_100_m";
        let loss = self.stated("loss", "loss for every H above h_0", rating.loss_per_100_m.share(), field);
        let H = self.stated("H", "step of altitude", Length::of(100.0), field);
        Ok(formula!("k_h", "altitude factor", [loss, h, h_0, H] => 1.0 - loss * ((h - h_0) / H)))
    }

    fn overload_rating(
        &self,
        overload: &Overload,
        k: &Known<Ratio>,
        P_l: &Known<Power>,
        S_l: &Known<Apparent>,
    ) -> OverloadRating {
        let P_o =
            self.stated("P_o", format!("power for {}", overload.lasts), overload.power, "overload.power");
        let n = Known::factor("n", "bridges that share it", self.bridges(), "leg control of the unit");
        let pf = Known::factor("pf", "power factor at which VA are counted", 1.0, "choice on the safe side");
        let P_e: Known<Power> = formula!("P_e", "equal part of one leg", [P_o, n] => P_o / n);
        let S_e: Known<Apparent> =
            formula!("S_e", "equal part of one leg in VA", [P_e, pf] => as_va(P_e / pf));
        let P_m = Known::largest("P_m", "overload of one leg", &[P_e.clone(), P_l.clone()]).unwrap_or(P_e);
        let S_m =
            Known::largest("S_m", "overload of one leg in VA", &[S_e.clone(), S_l.clone()]).unwrap_or(S_e);
        OverloadRating {
            leg_power: formula!("P_ov", "overload power of one leg", [P_m, k] => P_m * k, source = SAME_FACTOR),
            leg_apparent: formula!(
                "S_ov", "overload apparent power of one leg", [S_m, k] => S_m * k, source = SAME_FACTOR
            ),
            total_power: formula!(
                "P_tot", "overload power of one unit", [P_o, k] => P_o * k, source = SAME_FACTOR
            ),
            lasts: self.stated("t_o", "how long at most", overload.lasts, "overload.lasts"),
        }
    }

    fn stated_leg(&self) -> (Known<Power>, Known<Apparent>) {
        (
            self.stated("P_l", "rated power of one leg", self.leg_power, "leg.power"),
            self.stated("S_l", "rated apparent power of one leg", self.leg_apparent, "leg.apparent"),
        )
    }

    /// Bridges with a current limit of their own.
    fn bridges(&self) -> f64 {
        match self.leg_control {
            LegControl::OneLeg | LegControl::LineToLine => 1.0,
            LegControl::IndependentLegs | LegControl::EqualLegs => 2.0,
        }
    }

    fn stated<Q: Quantity>(&self, symbol: &str, what: impl Into<String>, value: Q, field: &str) -> Known<Q> {
        Known::catalog(symbol, what, value, &self.id, field)
    }
}

const SAME_FACTOR: &str = "choice on the safe side: it shrinks as the continuous rating does";

/// Quotient of two temperature differences.
fn ratio(part: Temperature, whole: Temperature) -> Ratio {
    Ratio::of(part.si() / whole.si())
}
