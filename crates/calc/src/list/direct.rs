//! The direct-current side: sag of a bank, strings and converters on a bus, bank faults, ripple, pre-charge.

use network::LoadPower;
use network::dc::bus::{BankString, BusOutcome, DcBus, DcUnit};
use network::dc::fault::all_bank_faults;
use network::dc::precharge::{PrechargeCase, precharge};
use network::dc::ripple::{RippleCase, largest_ripple, ripple};
use network::dc::sag::{SagCase, SagEnd, sag};
use quantity::{Apparent, Connection, DcVoltage, Power, QuantityError, Ratio, Resistance};

use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![dc_sag(), dc_bus(), bank_fault(), dc_ripple(), dc_precharge()]
}

fn dc_sag() -> Calculation {
    Calculation {
        id: "dc-sag",
        purpose: "Voltage of a bank under a constant-power draw, against the cut-off",
        inputs: vec![
            In::number("ocv_v", M::DC_VOLT, "open-circuit voltage of the bank"),
            In::number("path_ohm", M::OHM, "all resistance from the cells to the converters, both poles"),
            In::number("output_w", M::WATT, "power that the converters give").within(0.0, 1e9),
            In::number("efficiency_pct", M::PERCENT, "efficiency in discharge").within(1.0, 100.0),
            In::number("idle_w", M::WATT, "idle loss of one unit").within(0.0, 1e6).or("0"),
            In::number("awake", M::NUMBER, "units that are awake").within(0.0, 1000.0).or("1"),
            In::number("cutoff_v", M::DC_VOLT, "voltage under which the converters switch off"),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "the voltage stays at the cut-off or above"),
            Out::new("solution", M::WORD, "a steady voltage exists"),
            Out::new("voltage_v", M::DC_VOLT, "voltage at the converters"),
            Out::new("current_a", M::DC_AMPERE, "current of the bank"),
            Out::new("margin_v", M::DC_VOLT, "voltage over the cut-off"),
            Out::new("draw_w", M::WATT, "draw from the bank, losses included"),
            Out::new("largest_draw_w", M::WATT, "largest draw that has a steady voltage"),
            Out::new("largest_output_w", M::WATT, "largest output at the cut-off or above"),
        ],
        run: |given| {
            let found = sag(&SagCase {
                ocv: given.one("ocv_v", "OCV")?,
                resistance: given.one("path_ohm", "R")?,
                output: given.one("output_w", "P_out")?,
                efficiency: given.one("efficiency_pct", "eta")?,
                idle: given.one("idle_w", "p_idle")?,
                awake: given.one("awake", "n")?,
                cutoff: given.one("cutoff_v", "V_c")?,
            })?;
            let results = Results::default()
                .flag("holds", found.end.holds())
                .known("draw_w", &found.draw)
                .known("largest_draw_w", &found.largest_draw)
                .known("largest_output_w", &found.largest_output);
            Ok(match &found.end {
                SagEnd::Holds(state) | SagEnd::BelowCutoff(state) => results
                    .flag("solution", true)
                    .known("voltage_v", &state.voltage)
                    .known("current_a", &state.current)
                    .known("margin_v", &state.margin),
                SagEnd::NoSolution => results.flag("solution", false),
            })
        },
    }
}

fn bus_inputs() -> Vec<In> {
    vec![
        In::numbers("string_ocv_v", M::DC_VOLT, "open-circuit voltage of string"),
        In::numbers("string_ohm", M::OHM, "internal resistance of string"),
        In::numbers("management_ohm", M::OHM, "resistance of the management system of string")
            .within(0.0, 1e3)
            .or("0"),
        In::numbers("cable_ohm", M::OHM, "resistance of the cable of string, both poles")
            .within(0.0, 1e3)
            .or("0"),
        In::numbers("string_landing", M::NUMBER, "landing of string, from 1").within(1.0, 1000.0).or("1"),
        In::numbers("segment_ohm", M::OHM, "resistance to the next landing, both poles, of segment")
            .within(0.0, 1e3)
            .if_given(),
        In::numbers("unit_ohm", M::OHM, "resistance of the cable of unit, both poles")
            .within(0.0, 1e3)
            .or("0"),
        In::numbers("unit_landing", M::NUMBER, "landing of unit, from 1").within(1.0, 1000.0).or("1"),
    ]
}

fn landings(given: &Given, key: &'static str, count: usize) -> Result<Vec<usize>, CalcError> {
    let numbers = given.for_each::<Ratio>(key, "k", count)?;
    let landing = |number: f64| {
        if (number - number.round()).abs() > 0.0 {
            return Err(CalcError::NotCovered(format!("{key} is {number}: landings are counted 1, 2, 3")));
        }
        Ok(number as usize - 1)
    };
    numbers.iter().map(|n| landing(quantity::Quantity::si(n.value()))).collect()
}

/// The bus without its units' power.
fn bus(given: &Given, powers: Vec<derivation::Known<Power>>) -> Result<DcBus, CalcError> {
    let ocvs = given.list::<DcVoltage>("string_ocv_v", "OCV")?;
    let n = ocvs.len();
    let internals = given.for_each::<Resistance>("string_ohm", "R_i", n)?;
    let managements = given.for_each::<Resistance>("management_ohm", "R_m", n)?;
    let cables = given.for_each::<Resistance>("cable_ohm", "R_c", n)?;
    let at = landings(given, "string_landing", n)?;
    let parts = internals.into_iter().zip(managements).zip(cables).zip(at);
    let string = |(k, (ocv, (((internal, management), cable), landing)))| BankString {
        name: format!("{}", k + 1),
        landing,
        ocv,
        internal,
        management: Some(management),
        cable,
    };
    let strings = ocvs.into_iter().zip(parts).enumerate().map(string).collect();
    let cables = given.for_each::<Resistance>("unit_ohm", "R_u", powers.len())?;
    let at = landings(given, "unit_landing", powers.len())?;
    let unit =
        |(k, ((power, cable), landing))| DcUnit { name: format!("unit {}", k + 1), landing, power, cable };
    let units = powers.into_iter().zip(cables).zip(at).enumerate().map(unit).collect();
    let segments = if given.has("segment_ohm") { given.list("segment_ohm", "R_s")? } else { Vec::new() };
    Ok(DcBus { segments, strings, units })
}

fn dc_bus() -> Calculation {
    let mut inputs = bus_inputs();
    inputs.push(
        In::numbers("unit_w", M::WATT, "power at the terminals of unit: above zero draws, below charges")
            .within(-1e9, 1e9),
    );
    Calculation {
        id: "dc-bus",
        purpose: "Currents of parallel strings and voltages of converters on a bus with several landings",
        inputs,
        outputs: vec![
            Out::new("solution", M::WORD, "steady voltages exist"),
            Out::new("largest_share_pct", M::PERCENT, "largest share of the draws that has a solution"),
            Out::new("string_a", M::DC_AMPERE, "current of each string, above zero in discharge"),
            Out::new("total_a", M::DC_AMPERE, "current of all strings"),
            Out::new("worst_string", M::NUMBER, "the string with the largest current"),
            Out::new("worst_a", M::DC_AMPERE, "its magnitude"),
            Out::new("worst_of_equal_pct", M::PERCENT, "that over an equal part of the total"),
            Out::new("landing_v", M::DC_VOLT, "voltage of each landing"),
            Out::new("unit_v", M::DC_VOLT, "voltage at the terminals of each unit"),
            Out::new("unit_a", M::DC_AMPERE, "current of each unit"),
            Out::new("segment_a", M::DC_AMPERE, "current of each segment, towards the higher landing"),
        ],
        run: |given| {
            let bus = bus(given, given.list("unit_w", "P")?)?;
            match bus.solve()? {
                BusOutcome::Settled(state) => {
                    let strings: Vec<_> = state.strings.iter().map(|s| s.current.clone()).collect();
                    let volts: Vec<_> = state.units.iter().map(|u| u.voltage.clone()).collect();
                    let amperes: Vec<_> = state.units.iter().map(|u| u.current.clone()).collect();
                    Ok(Results::default()
                        .flag("solution", true)
                        .list("string_a", &strings)
                        .known("total_a", &state.total)
                        .plain("worst_string", state.worst as f64 + 1.0)
                        .known("worst_a", &state.worst_current)
                        .known_if("worst_of_equal_pct", state.worst_over_equal.as_ref())
                        .list("landing_v", &state.landings)
                        .list("unit_v", &volts)
                        .list("unit_a", &amperes)
                        .list("segment_a", &state.segments))
                }
                BusOutcome::NoSolution { largest_share } => {
                    Ok(Results::default().flag("solution", false).known("largest_share_pct", &largest_share))
                }
                BusOutcome::NotConverged => {
                    let why = "no steady voltages were found, and it is not shown that there are none";
                    Err(CalcError::NotCovered(why.to_owned()))
                }
            }
        },
    }
}

fn bank_fault() -> Calculation {
    let mut inputs = bus_inputs();
    inputs.push(In::number("units", M::NUMBER, "how many units").within(0.0, 1000.0).or("0"));
    Calculation {
        id: "bank-fault",
        purpose: "Bolted fault current of parallel strings at each landing of a bus and at each unit",
        inputs,
        outputs: vec![
            Out::new("landing_fault_a", M::DC_AMPERE, "fault current at each landing"),
            Out::new("unit_fault_a", M::DC_AMPERE, "fault current at the terminals of each unit"),
            Out::new("string_a", M::DC_AMPERE, "current of each string into a fault at the first landing"),
        ],
        run: |given| {
            let count = given.plain("units")?;
            if (count - count.round()).abs() > 0.0 {
                return Err(CalcError::NotCovered("units is a whole number".to_owned()));
            }
            let idle =
                derivation::Known::assumed("P", "power of a unit", Power::ZERO, "plays no part in a fault");
            let bus = bus(given, vec![idle; count as usize])?;
            let faults = all_bank_faults(&bus)?;
            let currents: Vec<_> = faults.iter().map(|(_, fault)| fault.current.clone()).collect();
            let (landings, units) = currents.split_at(bus.landings());
            let strings = faults.first().map(|(_, fault)| fault.strings.clone()).unwrap_or_default();
            Ok(Results::default()
                .list("landing_fault_a", landings)
                .list("unit_fault_a", units)
                .list("string_a", &strings))
        },
    }
}

fn dc_ripple() -> Calculation {
    Calculation {
        id: "dc-ripple",
        purpose: "Alternating current on the direct-current side at twice the line frequency",
        inputs: vec![
            In::text("system", "voltage system of the group"),
            In::text("load", "connections: L1, L1-L2, L1-L2-L3").each(),
            In::numbers("load_va", M::VOLT_AMPERE, "power of load").within(0.0, 1e9),
            In::numbers("load_pf", M::NUMBER, "power factor, lagging, of load").within(0.0, 1.0).or("1"),
            In::number("efficiency_pct", M::PERCENT, "efficiency from the bus to the loads")
                .within(1.0, 100.0),
            In::number("bus_v", M::DC_VOLT, "voltage of the bus, the lowest"),
        ],
        outputs: vec![
            Out::new("mean_a", M::DC_AMPERE, "mean current"),
            Out::new("ripple_a", M::AMPERE, "alternating current, RMS"),
            Out::new("rms_a", M::AMPERE, "both together, RMS"),
            Out::new("worst_ripple_a", M::AMPERE, "alternating current with each load full or off, RMS"),
            Out::new("pulsating_va", M::VOLT_AMPERE, "peak of the alternating power"),
        ],
        run: |given| {
            let powers = given.list::<Apparent>("load_va", "S")?;
            let n = powers.len();
            let factors = given.for_each::<Ratio>("load_pf", "pf", n)?;
            let mut loads = Vec::new();
            for ((word, power), factor) in given.words_for_each("load", n)?.iter().zip(powers).zip(factors) {
                let connection: Connection =
                    word.parse().map_err(|e: QuantityError| CalcError::NotCovered(e.message))?;
                loads.push((connection, LoadPower::lagging(power, factor)));
            }
            let case = RippleCase {
                system: given.system()?,
                loads,
                efficiency: given.one("efficiency_pct", "eta")?,
                bus: given.one("bus_v", "V")?,
            };
            let found = ripple(&case)?;
            Ok(Results::default()
                .known("mean_a", &found.mean)
                .known("ripple_a", &found.ripple)
                .known("rms_a", &found.total)
                .known("worst_ripple_a", &largest_ripple(&case)?.ripple)
                .known("pulsating_va", &found.pulsating))
        },
    }
}

fn dc_precharge() -> Calculation {
    Calculation {
        id: "dc-precharge",
        purpose: "Charging of a converter's input capacitors through a resistor before its device closes",
        inputs: vec![
            In::number("bus_v", M::DC_VOLT, "voltage of the bus, the highest"),
            In::number("capacitance_f", M::FARAD, "capacitance of the converter's input, the highest"),
            In::number("resistor_ohm", M::OHM, "resistor, as marked"),
            In::number("tolerance_pct", M::PERCENT, "by how much the resistor may be off")
                .within(0.0, 50.0)
                .or("0"),
            In::number("switch_a", M::DC_AMPERE, "current that the resistor's switch and cable make"),
            In::number("path_ohm", M::OHM, "resistance from the bus to the converter, both poles, the least"),
            In::number("makes_a", M::DC_AMPERE, "peak current onto which the device may close"),
            In::number(
                "time_s",
                M::SECOND,
                "how long the resistor is left on; left out, as long as it takes",
            )
            .if_given(),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "start and closing stay within switch and device"),
            Out::new("without_a", M::DC_AMPERE, "current onto empty capacitors without pre-charge"),
            Out::new("least_resistor_ohm", M::OHM, "smallest resistor, as marked, that the switch bears"),
            Out::new("start_a", M::DC_AMPERE, "current through the resistor at the start"),
            Out::new("start_w", M::WATT, "power of the resistor at the start"),
            Out::new("energy_j", M::JOULE, "heat of the resistor at each closing"),
            Out::new("share_pct", M::PERCENT, "share of the voltage to be reached"),
            Out::new("needs_s", M::SECOND, "time in which it is reached"),
            Out::new("to_95_s", M::SECOND, "time to 95 %"),
            Out::new("to_99_s", M::SECOND, "time to 99 %"),
            Out::new("left_v", M::DC_VOLT, "voltage left across the device as it closes"),
            Out::new("closing_a", M::DC_AMPERE, "current as it closes"),
        ],
        run: |given| {
            let case = PrechargeCase {
                voltage: given.one("bus_v", "V")?,
                capacitance: given.one("capacitance_f", "C")?,
                resistor: given.one("resistor_ohm", "R")?,
                tolerance: given.one("tolerance_pct", "d")?,
                path: given.one("path_ohm", "R_c")?,
                makes: given.one("makes_a", "I_m")?,
                starts: given.one("switch_a", "I_s")?,
                time: if given.has("time_s") { Some(given.one("time_s", "t")?) } else { None },
            };
            let found = precharge(&case)?;
            Ok(Results::default()
                .flag("holds", found.holds(&case))
                .known("without_a", &found.without)
                .known("least_resistor_ohm", &found.least_resistor)
                .known("start_a", &found.start)
                .known("start_w", &found.start_power)
                .known("energy_j", &found.energy)
                .known("share_pct", &found.share)
                .known("needs_s", &found.needs)
                .known("to_95_s", &found.to_95)
                .known("to_99_s", &found.to_99)
                .known("left_v", &found.left)
                .known("closing_a", &found.closing))
        },
    }
}
