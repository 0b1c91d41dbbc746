//! Voltage drop of a cable in service.
//!
//! ## Clause and edition
//! IEC 60364-5-52:2009; 525, Annex G, Table G.52.1.
//! ## Applies when
//! A circuit with alternating current leads from the origin of an installation, or from a part of it, to its loads.
//! ## Why
//! Motors fail to start and electronics switch off where too much of the voltage stays in the cable.
//! ## Formula
//! `u = b · (rho_1 / S · cos_phi + lambda · sin_phi) · L · I_b`, b = 2 for single-phase and 1 for three-phase
//! circuits; `du = u / U_0`.
//! ## Example
//! Passing: 20 A over 30 m of 4 mm2 copper, single-phase at 230 V and unity power factor: 6.75 V or 2.9 %. Failing:
//! the same over 60 m drops 5.9 %.
//! ## Limits of our reading
//! The limits are those from the origin to the load: the drops of all cables in a row must be summed before. The half
//! percent more that runs beyond 100 m may have is not given. Unbalanced three-phase circuits are not read. Starting
//! currents are not in it.
//! ## Source
//! Formula, copper, reactance and limits: two sources agree; resistivity of aluminium: one source.

use derivation::{Known, formula};
use quantity::{
    Current, Length, LinearResistance, PhaseVoltage, Quantity, Ratio, Resistivity, Section, root,
};
use saying::{Text, say};
use tables::iec::cable::{Loaded23, Metal};
use tables::iec::clause;

use crate::not_covered::{counted, sane};
use crate::{Check, NotCovered};

const CLAUSE: &str = "IEC 60364-5-52:2009 Annex G";

/// What the limit depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Supply {
    /// Fed from a source of its own and not from a public low-voltage network: an island is.
    pub private: bool,
    /// Feeds lighting.
    pub lighting: bool,
}

/// A circuit whose drop is asked for.
#[derive(Debug, Clone)]
pub struct Drop {
    /// Metal of the conductors.
    pub metal: Metal,
    /// Two loaded conductors for single-phase, three for balanced three-phase.
    pub loaded: Loaded23,
    /// Length one way.
    pub length: Known<Length>,
    /// Current in a line.
    pub current: Known<Current>,
    /// Power factor of the load, lagging.
    pub power_factor: Known<Ratio>,
    /// Nominal voltage from line to neutral, or between the two conductors of a single-phase circuit.
    pub nominal: Known<PhaseVoltage>,
    /// Reactance by length; `None` for the annex's own.
    pub reactance: Option<Known<LinearResistance>>,
    /// Supply and use.
    pub supply: Supply,
    /// Drop that lies before it already, of nominal.
    pub before: Known<Ratio>,
}

/// The drop.
#[derive(Debug, Clone)]
pub struct VoltageDrop {
    /// In V.
    pub drop: Known<PhaseVoltage>,
    /// From the origin to its end, of nominal, against the limit.
    pub total: Check<Ratio>,
}

/// Drop of a circuit with conductors of a section in so many parallel sets.
///
/// # Errors
/// A value is no number or negative, the power factor is not between 0 and 1, a section, voltage or count is none.
pub fn cable_voltage_drop(
    facts: &Drop,
    section: &Known<Section>,
    sets: &Known<Ratio>,
) -> Result<VoltageDrop, NotCovered> {
    check(facts, section)?;
    counted(CLAUSE, sets, &Known::factor("1", "one set", 1.0, CLAUSE))?;
    let metal = match facts.metal {
        Metal::Copper => "rho-cu",
        Metal::Aluminium => "rho-al",
    };
    let rho: Known<Resistivity> = clause::number("rho_1", metal)?;
    let (b, why) = match facts.loaded {
        Loaded23::Two => (2.0, "there and back"),
        Loaded23::Three => (1.0, "balanced three-phase circuit"),
    };
    let b = Known::factor("b", why, b, CLAUSE);
    let lambda = match &facts.reactance {
        Some(given) => given.clone(),
        None => clause::number("lambda", "reactance")?,
    };
    let (cos_phi, length, current) = (&facts.power_factor, &facts.length, &facts.current);
    let sin_phi =
        formula!("sin_phi", "reactive share", [cos_phi] => root(1.0 - cos_phi * cos_phi), source = CLAUSE);
    let per_km = formula!(
        "z", "drop by length and current",
        [rho, section, cos_phi, lambda, sin_phi] => rho / section * cos_phi + lambda * sin_phi, source = CLAUSE
    );
    let drop = formula!(
        "u", "voltage drop",
        [b, per_km, length, current, sets] => b * (per_km * length * (current / sets)), source = CLAUSE
    );
    let (nominal, before) = (&facts.nominal, &facts.before);
    let what = "voltage drop from the origin, of nominal";
    let total = formula!("du", what, [before, drop, nominal] => before + drop / nominal);
    let limit = clause::number("du_max", limit_key(facts.supply))?;
    Ok(VoltageDrop { drop, total: Check::at_most(total, limit) })
}

fn limit_key(supply: Supply) -> &'static str {
    match (supply.private, supply.lighting) {
        (false, true) => "drop-public-lighting",
        (false, false) => "drop-public-other",
        (true, true) => "drop-private-lighting",
        (true, false) => "drop-private-other",
    }
}

fn check(facts: &Drop, section: &Known<Section>) -> Result<(), NotCovered> {
    sane(CLAUSE, &facts.length)?;
    sane(CLAUSE, &facts.current)?;
    sane(CLAUSE, &facts.before)?;
    sane(CLAUSE, &facts.power_factor)?;
    facts.reactance.iter().try_for_each(|x| sane(CLAUSE, x))?;
    let refuse = |reason: Text| Err(NotCovered::new(CLAUSE, reason));
    if facts.power_factor.value().si() > 1.0 {
        return refuse(say!("a power factor lies between 0 and 1"));
    }
    let none = |si: f64| !(si > 0.0 && si.is_finite());
    if none(section.value().si()) || none(facts.nominal.value().si()) {
        return refuse(say!("a section and a nominal voltage above nothing are needed"));
    }
    Ok(())
}

#[cfg(test)]
pub(crate) mod tests {
    use super::*;
    use crate::us::testing::{close, given, near};

    /// A single-phase circuit of copper at 230 V with unity power factor on a public network.
    pub(crate) fn circuit(current: f64, length: f64) -> Drop {
        Drop {
            metal: Metal::Copper,
            loaded: Loaded23::Two,
            length: given(Length::of(length)),
            current: given(Current::of(current)),
            power_factor: given(Ratio::of(1.0)),
            nominal: given(PhaseVoltage::of(230.0)),
            reactance: None,
            supply: Supply { private: false, lighting: false },
            before: given(Ratio::of(0.0)),
        }
    }

    fn drop(facts: &Drop, mm2: f64, sets: f64) -> Result<VoltageDrop, NotCovered> {
        cable_voltage_drop(facts, &given(Section::of(mm2)), &given(Ratio::of(sets)))
    }

    /// By hand: 2 x 0.0225 x 30 / 4 x 20 = 6.75 V.
    #[test]
    fn by_hand() {
        let found = drop(&circuit(20.0, 30.0), 4.0, 1.0).unwrap();
        near(&found.drop, 6.75);
        close(&found.total.value, 6.75 / 230.0, 1e-12);
        assert!(found.total.holds);
        near(&drop(&circuit(0.005, 30.0), 4.0, 1.0).unwrap().drop, 0.001_687_5);
        assert!(!drop(&circuit(20.0, 60.0), 4.0, 1.0).unwrap().total.holds);
        near(&drop(&circuit(20.0, 60.0), 4.0, 2.0).unwrap().drop, 6.75);
        // three-phase, power factor 0.8: (0.0225/4 x 0.8 + 0.00008 x 0.6) x 30 x 20 = 2.7288 V
        let mut three = circuit(20.0, 30.0);
        (three.loaded, three.power_factor) = (Loaded23::Three, given(Ratio::of(0.8)));
        near(&drop(&three, 4.0, 1.0).unwrap().drop, 2.7288);
    }

    #[test]
    fn what_lies_before_counts_and_lighting_has_less() {
        let mut facts = circuit(20.0, 30.0);
        facts.before = given(Ratio::of(0.03));
        assert!(!drop(&facts, 4.0, 1.0).unwrap().total.holds);
        facts.supply.private = true;
        assert!(drop(&facts, 4.0, 1.0).unwrap().total.holds);
        facts.supply.lighting = true;
        assert!(drop(&facts, 4.0, 1.0).unwrap().total.holds);
        facts.supply.private = false;
        facts.before = given(Ratio::of(0.001));
        assert!(!drop(&facts, 4.0, 1.0).unwrap().total.holds);
        for bad in [0.0, -4.0, f64::NAN] {
            assert!(drop(&facts, bad, 1.0).is_err());
        }
        facts.power_factor = given(Ratio::of(1.1));
        assert!(drop(&facts, 4.0, 1.0).is_err());
        // what would pull the sum below the limit
        assert!(drop(&circuit(-20.0, 30.0), 4.0, 1.0).is_err());
        assert!(drop(&circuit(20.0, -30.0), 4.0, 1.0).is_err());
        let before = Drop { before: given(Ratio::of(-0.03)), ..circuit(20.0, 60.0) };
        assert!(drop(&before, 4.0, 1.0).is_err());
        let factor = Drop { power_factor: given(Ratio::of(-0.9)), ..circuit(20.0, 60.0) };
        assert!(drop(&factor, 4.0, 1.0).is_err());
        let reactance = Some(given(LinearResistance::of(-0.001)));
        assert!(drop(&Drop { reactance, ..circuit(20.0, 60.0) }, 4.0, 1.0).is_err());
        assert!(drop(&circuit(20.0, 60.0), 4.0, 1.5).is_err());
    }
}
