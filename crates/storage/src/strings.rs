//! Strings in parallel on one bus, each with its own voltage, internal and cable resistance: how they share a load and
//! what they give into a fault at the bus. Kirchhoff; fault current as open-circuit voltage over resistance, as in
//! IEEE 946 and IEC 61660-1. No inductance: what flows after it has risen.

use derivation::{Known, Refused, formula, same_length};
use quantity::{DcCurrent, DcVoltage, Quantity, Ratio, Resistance};

const SHARING: &str = "Kirchhoff";
const FAULT: &str = "open-circuit voltage over resistance, as in IEEE 946";

/// One string.
#[derive(Debug, Clone)]
pub struct BatteryString {
    /// Open-circuit voltage.
    pub emf: Known<DcVoltage>,
    /// Resistance of cells and connectors.
    pub internal: Known<Resistance>,
    /// Resistance of its cable to the bus, both ways.
    pub cable: Known<Resistance>,
}

/// How strings share and fault.
#[derive(Debug, Clone)]
pub struct Shared {
    /// Voltage of the bus under the load.
    pub bus: Known<DcVoltage>,
    /// Current of each; below zero where a string is charged by the others.
    pub currents: Vec<Known<DcCurrent>>,
    /// Largest current against an equal share; `None` without a load.
    pub worst_share: Option<Known<Ratio>>,
    /// What each gives into a bolted fault at the bus.
    pub fault_currents: Vec<Known<DcCurrent>>,
    /// All of them together.
    pub fault: Known<DcCurrent>,
    /// Largest current through one string's device when that string faults: what the others give.
    pub into_string: Vec<Known<DcCurrent>>,
}

/// Shares a load among strings.
///
/// # Errors
/// No string, a voltage or resistance not above zero, a load below zero, or one that the strings cannot give.
pub fn share(strings: &[BatteryString], load: &Known<DcCurrent>) -> Result<Shared, Refused> {
    if strings.is_empty() {
        return Err(Refused::Count {
            what: "strings",
            count: 0,
            needed: "at least one is needed".to_owned(),
        });
    }
    load.not_negative()?;
    let mut paths = Vec::new();
    for string in strings {
        string.emf.above_zero()?;
        string.internal.not_negative()?;
        string.cable.not_negative()?;
        let (internal, cable) = (&string.internal, &string.cable);
        let path =
            formula!("R", "resistance of a string with its cable", [internal, cable] => internal + cable);
        path.above_zero()?;
        paths.push(path);
    }
    let fault_currents: Vec<Known<DcCurrent>> = strings.iter().zip(&paths).map(fault_of).collect();
    let fault = Known::sum("I_f", "fault current at the bus", &fault_currents);
    let bus = bus_voltage(strings, &paths, &fault, load)?;
    let currents: Vec<Known<DcCurrent>> = strings
        .iter()
        .zip(&paths)
        .map(|(string, path)| {
            let emf = &string.emf;
            formula!("I", "current of a string", [emf, bus, path] => (emf - bus) / path, source = SHARING)
        })
        .collect();
    let worst_share = worst(&currents, load);
    let into_string = fault_currents
        .iter()
        .map(|own| formula!("I_in", "what the others give", [fault, own] => fault - own))
        .collect();
    Ok(Shared { bus, currents, worst_share, fault_currents, fault, into_string })
}

fn fault_of((string, path): (&BatteryString, &Known<Resistance>)) -> Known<DcCurrent> {
    let emf = &string.emf;
    formula!("I_f", "fault current of a string at the bus", [emf, path] => emf / path, source = FAULT)
}

/// `V = (sum(E_k / R_k) - I) / sum(1 / R_k)`.
fn bus_voltage(
    strings: &[BatteryString],
    paths: &[Known<Resistance>],
    fault: &Known<DcCurrent>,
    load: &Known<DcCurrent>,
) -> Result<Known<DcVoltage>, Refused> {
    same_length("strings", strings.len(), paths.len())?;
    let conductance: f64 = paths.iter().map(|path| 1.0 / path.value().si()).sum();
    let from = paths.iter().map(|path| path.node().clone()).collect();
    let why = "1 / sum(1 / R) of all strings";
    let all = Known::chosen(
        "R_all",
        "resistance of all strings together",
        Resistance::of(1.0 / conductance),
        why,
        from,
    );
    let bus =
        formula!("V_bus", "voltage of the bus", [fault, load, all] => (fault - load) * all, source = SHARING);
    if bus.value().si() > 0.0 {
        return Ok(bus);
    }
    Err(Refused::NotReached(format!(
        "the strings cannot give {}: it is above their fault current",
        load.value()
    )))
}

fn worst(currents: &[Known<DcCurrent>], load: &Known<DcCurrent>) -> Option<Known<Ratio>> {
    if load.value().si() <= 0.0 {
        return None;
    }
    let largest = Known::largest("I_max", "largest current of a string", currents)?;
    let count = Known::chosen("n", "strings", Ratio::of(currents.len() as f64), "counted", Vec::new());
    Some(
        formula!("s", "largest current over an equal share", [largest, load, count] => largest / (load / count)),
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    fn string(emf: f64, internal: f64, cable: f64) -> BatteryString {
        BatteryString {
            emf: given(DcVoltage::of(emf)),
            internal: given(Resistance::of(internal)),
            cable: given(Resistance::of(cable)),
        }
    }

    /// BAT-07, besides that currents add up to the load.
    #[test]
    fn the_shortest_cable_carries_most() {
        let strings = [0.0012, 0.0016, 0.0026].map(|cable| string(52.8, 0.0048, cable));
        let found = share(&strings, &given(DcCurrent::of(300.0))).unwrap();
        let total: f64 = found.currents.iter().map(|i| i.value().si()).sum();
        assert!((total - 300.0).abs() < 1e-8);
        assert!((found.currents[0].value().si() - 109.157_959).abs() < 1e-5);
        assert!((found.worst_share.unwrap().value().si() - 1.091_579_59).abs() < 1e-7);
        assert!((found.fault.value().si() - 24_185.135_1).abs() < 1e-3);
        near(&found.fault_currents[0], 8800.0);
        assert!((found.into_string[0].value().si() - 15_385.135_1).abs() < 1e-3);
    }

    /// 0.4 V apart through 12 mohm: 33 A flow from the full string into the empty one without any load.
    #[test]
    fn unlike_voltages_circulate() {
        let strings = [string(53.0, 0.005, 0.001), string(52.6, 0.005, 0.001)];
        let found = share(&strings, &given(DcCurrent::of(0.0))).unwrap();
        near(&found.currents[0], 0.4 / 0.012);
        near(&found.currents[1], -0.4 / 0.012);
        assert!(found.worst_share.is_none());
        assert!(share(&strings, &given(DcCurrent::of(20_000.0))).is_err());
        assert!(share(&[], &given(DcCurrent::of(1.0))).is_err());
        assert!(share(&[string(52.0, 0.0, 0.0)], &given(DcCurrent::of(1.0))).is_err());
    }

    proptest::proptest! {
        /// Whatever the strings: currents add up to the load, each leaves its string at the voltage of the bus, and no
        /// string gives more than into a fault.
        #[test]
        fn kirchhoff_holds(
            all in proptest::collection::vec((50.0..56.0_f64, 0.001..0.02_f64, 0.0..0.01_f64), 1..9),
            load in 0.0..800.0_f64,
        ) {
            let strings: Vec<BatteryString> = all.iter().map(|&(e, r, c)| string(e, r, c)).collect();
            let found = share(&strings, &given(DcCurrent::of(load))).unwrap();
            let bus = found.bus.value().si();
            let mut total = 0.0;
            for ((current, fault), (e, r, c)) in found.currents.iter().zip(&found.fault_currents).zip(&all) {
                let amperes = current.value().si();
                total += amperes;
                assert!((e - amperes * (r + c) - bus).abs() < 1e-9 * e);
                assert!(amperes < fault.value().si());
            }
            assert!((total - load).abs() < 1e-6);
        }
    }
}
