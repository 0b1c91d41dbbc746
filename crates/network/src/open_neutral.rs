//! A lost neutral on split-phase: the line-to-neutral loads of the two legs stand in series on the line voltage,
//! and the smaller load takes the larger share of it.
//!
//! Loads are resistances R = V_r^2 / P (lamps and heaters; the resistance is taken as it is at rated voltage).
//! Electronics and motors behave otherwise, often worse.

use std::sync::Arc;

use derivation::{Known, Node};
use quantity::{Current, LineVoltage, PhaseVoltage, Power, Quantity, Ratio, Resistance};

use crate::NetworkError;
use crate::error::above_zero;

/// One leg after the neutral was lost.
#[derive(Debug, Clone)]
pub struct LegAfter {
    /// Resistance of the leg's loads.
    pub resistance: Known<Resistance>,
    /// Voltage that they get.
    pub voltage: Known<PhaseVoltage>,
    /// Power that they take.
    pub power: Known<Power>,
    /// Voltage over rated voltage.
    pub of_rated: Known<Ratio>,
}

/// Both legs after the neutral was lost.
#[derive(Debug, Clone)]
pub struct OpenNeutral {
    /// The one current through both.
    pub current: Known<Current>,
    /// First and second leg.
    pub legs: [LegAfter; 2],
}

/// What the loads of two legs get when their common neutral opens. A leg without load has no answer: it floats.
///
/// # Errors
/// A power or voltage that is not above zero.
pub fn open_neutral(
    source: &Known<LineVoltage>,
    rated: &Known<PhaseVoltage>,
    powers: &[Known<Power>; 2],
) -> Result<OpenNeutral, NetworkError> {
    let source_v = above_zero(source)?;
    let [first, second] = powers;
    let r1 = resistance(1, rated, first)?;
    let r2 = resistance(2, rated, second)?;
    let current_a = source_v / (r1.value().si() + r2.value().si());
    let args = named(&[("V_s", source.node()), ("R_1", r1.node()), ("R_2", r2.node())]);
    let what = "current through both legs in series";
    let current = Known::formula("I", what, Current::of(current_a), "V_s / (R_1 + R_2)", args, None);
    let legs = [leg(1, &current, r1, rated), leg(2, &current, r2, rated)];
    Ok(OpenNeutral { current, legs })
}

fn named(args: &[(&str, &Arc<Node>)]) -> Vec<(String, Arc<Node>)> {
    args.iter().map(|(name, node)| ((*name).to_owned(), (*node).clone())).collect()
}

fn resistance(
    k: usize,
    rated: &Known<PhaseVoltage>,
    power: &Known<Power>,
) -> Result<Known<Resistance>, NetworkError> {
    let v = above_zero(rated)?;
    let ohm = v * v / above_zero(power)?;
    let args = named(&[("V_r", rated.node()), ("P", power.node())]);
    let what = format!("resistance of the loads on leg {k}");
    Ok(Known::formula(&format!("R_{k}"), what, Resistance::of(ohm), "V_r^2 / P", args, None))
}

fn leg(
    k: usize,
    current: &Known<Current>,
    resistance: Known<Resistance>,
    rated: &Known<PhaseVoltage>,
) -> LegAfter {
    let (I, R, V_r) = (current, &resistance, rated);
    let V = derivation::formula!(&format!("V_{k}"), format!("voltage on leg {k}"), [R, I] => R * I);
    let watts = V.value().si() * I.value().si();
    let args = named(&[("V", V.node()), ("I", I.node())]);
    let what = format!("power that leg {k} takes");
    let power = Known::formula(&format!("P_{k}"), what, Power::of(watts), "V * I", args, None);
    let what = format!("voltage on leg {k}, of rated");
    let of_rated = derivation::formula!(&format!("v_{k}"), what, [V, V_r] => V / V_r);
    LegAfter { resistance, voltage: V, power, of_rated }
}
