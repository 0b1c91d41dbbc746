//! Longest disconnection times (IEC 60364-4-41 Table 41.1 and 411.3.2).

use derivation::Known;
use quantity::{Duration, PhaseVoltage, Quantity};

use super::cable::{number, words};
use super::{TIMES, of};
use crate::TableError;
use crate::sheet::Cell;

words! {
    /// System earthing, as far as disconnection times go.
    Earthing {
        /// TN: exposed parts are connected to the earthed point of the source.
        Tn = "TN",
        /// TT: exposed parts have an earth electrode of their own.
        Tt = "TT",
    }
}

words! {
    /// Kind of circuit.
    Circuit {
        /// Final circuit with socket-outlets up to 63 A, or with fixed equipment alone up to 32 A.
        Final = "final",
        /// Distribution circuit, and every other circuit.
        Distribution = "distribution",
    }
}

words! {
    /// Kind of current.
    Kind {
        /// Alternating.
        Ac = "ac",
        /// Direct.
        Dc = "dc",
    }
}

/// Longest time within which a fault must be cut off at a nominal voltage to earth; `None` where none is required
/// against shock.
///
/// # Errors
/// The voltage is 50 V or less, where the table does not begin, or no number.
pub fn disconnection_time(
    earthing: Earthing,
    kind: Kind,
    circuit: Circuit,
    to_earth: &Known<PhaseVoltage>,
) -> Result<Option<Known<Duration>>, TableError> {
    let sheet = of(&TIMES)?;
    let u0 = to_earth.value().si();
    let name = format!("{} {} {}, {}", earthing.word(), kind.word(), circuit.word(), to_earth.value());
    for row in 0..sheet.len() {
        let alike = sheet.text(row, "system") == earthing.word()
            && sheet.text(row, "current") == kind.word()
            && sheet.text(row, "circuit") == circuit.word();
        let within =
            u0 > number(sheet, row, "u0_over_v")? && sheet.number(row, "u0_to_v")?.is_none_or(|to| u0 <= to);
        if alike && within {
            if sheet.text(row, "time_s").is_empty() {
                return Ok(None);
            }
            let name = format!("{}, {name}", sheet.text(row, "clause"));
            let cell = Cell { row, column: "time_s", row_name: &name, scale: 1.0 };
            let time: Known<Duration> = sheet.known("t_max", "longest disconnection time", cell)?;
            let from = vec![to_earth.node().clone(), time.node().clone()];
            let why = "row of the voltage to earth";
            return Ok(Some(Known::chosen("t_max", "longest disconnection time", time.value(), why, from)));
        }
    }
    Err(sheet.no_row(name, "voltages to earth above 50 V"))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn t(earthing: Earthing, kind: Kind, circuit: Circuit, v: f64) -> Option<f64> {
        let u0 = Known::assumed("U_0", "voltage", PhaseVoltage::of(v), "test");
        disconnection_time(earthing, kind, circuit, &u0).unwrap().map(|k| k.value().si())
    }

    #[test]
    fn higher_voltage_never_has_more_time_and_tt_never_more_than_tn() {
        for &kind in Kind::ALL {
            let at = |e, v| t(e, kind, Circuit::Final, v).unwrap_or(f64::INFINITY);
            for &earthing in Earthing::ALL {
                let times = [51.0, 120.0, 121.0, 230.0, 231.0, 400.0, 401.0, 690.0].map(|v| at(earthing, v));
                assert!(times.windows(2).all(|w| w[0] >= w[1]), "{times:?}");
            }
            for v in [100.0, 230.0, 277.0, 480.0] {
                assert!(at(Earthing::Tt, v) <= at(Earthing::Tn, v));
            }
        }
    }

    #[test]
    fn known_cells_and_refusals() {
        use Circuit::{Distribution, Final};
        assert_eq!(t(Earthing::Tn, Kind::Ac, Final, 230.0), Some(0.4));
        assert_eq!(t(Earthing::Tt, Kind::Ac, Final, 230.0), Some(0.2));
        assert_eq!(t(Earthing::Tn, Kind::Ac, Final, 230.1), Some(0.2));
        assert_eq!(t(Earthing::Tn, Kind::Ac, Distribution, 230.0), Some(5.0));
        assert_eq!(t(Earthing::Tt, Kind::Ac, Distribution, 230.0), Some(1.0));
        assert_eq!(t(Earthing::Tn, Kind::Dc, Final, 110.0), None);
        for v in [50.0, f64::NAN] {
            let u0 = Known::assumed("U_0", "voltage", PhaseVoltage::of(v), "test");
            assert!(disconnection_time(Earthing::Tn, Kind::Ac, Final, &u0).is_err());
        }
    }
}
