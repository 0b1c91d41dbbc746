//! Resistance of a part until its conductor is chosen: what parts of such a rating have.

use derivation::Known;
use quantity::{Current, Length, Quantity, Resistance};

use super::PartKind;

/// Volts along a metre of conductor at its rated current: copper at 75 degC (0.0217 ohm mm2/m, NEC 2023 Chapter 9
/// Table 8, from memory) at about 3.7 A/mm2, as 75 degC ampacities from 30 A to 130 A come to.
const VOLTS_A_METRE: f64 = 0.08;
/// Volts across a closed contact at its rated current (common practice, no source).
const CONTACT_V: f64 = 0.05;
/// Length of a run within the equipment room that nobody states, in metres.
const ROOM_M: f64 = 3.0;

/// Resistance of each conductor of a part. Reactance is left out: conductors of such sizes have less than a third of
/// their resistance in it.
pub(super) fn of(kind: PartKind, rating: &Known<Current>, run: Option<&Known<Length>>) -> Known<Resistance> {
    let amperes = rating.value().si().max(f64::MIN_POSITIVE);
    if kind != PartKind::Conductor {
        return Known::chosen(
            "R_q",
            "resistance of a closed contact",
            Resistance::from_si(CONTACT_V / amperes),
            "assumed: 50 mV at rated current (common practice, no source)",
            vec![rating.node().clone()],
        );
    }
    let room =
        || Known::assumed("l", "length of the run", Length::from_si(ROOM_M), "within the equipment room");
    let length = run.cloned().unwrap_or_else(room);
    Known::chosen(
        "R_w",
        "resistance of the conductor, one way",
        Resistance::from_si(VOLTS_A_METRE * length.value().si() / amperes),
        "assumed until the conductor is chosen: 0.08 V a metre at rated current (copper at 75 degC, about 3.7 A/mm2)",
        vec![rating.node().clone(), length.node().clone()],
    )
}
