//! Readings at arrays: strings by themselves, then what feeds a panel.

use array::cells::stc_temperature;
use assess::{Case, Strings};
use catalog::ArrayModule;
use derivation::{Known, formula};
use plant::full::ArrayIn;
use plant::{ArraySide, Layout};
use quantity::{
    Current, DcCurrent, DcVoltage, Duration, Frequency, Quantity, Ratio, Resistance, Temperature,
    TemperatureCoefficient, above,
};

use super::{Band, band, ceases, us};

/// Cell temperatures at which a string's voltage is told, in degrees Celsius: between them it is a straight line.
const CELLS_C: [f64; 3] = [0.0, 25.0, 50.0];
/// How far a sound string may read off the computed voltage (common practice).
const VOLTAGE_SHARE: f64 = 0.05;
/// How far from the computed current, since the meter of irradiance is off as well (common practice).
const CURRENT_SHARE: f64 = 0.10;
/// Irradiance of which a string's current is told: 100 W/m2, of the 1000 W/m2 of the ratings.
const PER_HUNDRED: f64 = 0.1;

/// Open-circuit voltage of a string at one cell temperature.
#[derive(Debug, Clone)]
pub struct VoltageAt {
    /// Of the cells.
    pub cell: Known<Temperature>,
    /// Lowest and highest of a sound string.
    pub voltage: Band<DcVoltage>,
}

/// How insulation is tested.
#[derive(Debug, Clone)]
pub struct Insulation {
    /// Test voltage.
    pub test: Known<DcVoltage>,
    /// Least resistance to earth.
    pub least: Known<Resistance>,
}

/// What one string of an array should read.
#[derive(Debug, Clone)]
pub struct StringReadings {
    /// What the array's parts begin with.
    pub id: String,
    /// Strings in all.
    pub strings: u32,
    /// Modules in series.
    pub per_string: u32,
    /// Open-circuit voltage, by cell temperature.
    pub open: Vec<VoltageAt>,
    /// How much two strings of one device may differ at once, as a share.
    pub alike: Known<Ratio>,
    /// Short-circuit current for each 100 W/m2 in the plane of the modules.
    pub short: Band<DcCurrent>,
    /// Current at maximum power for each 100 W/m2.
    pub operating: Band<DcCurrent>,
    /// Insulation; none above the voltages of the table.
    pub insulation: Option<Insulation>,
}

/// What an array on a panel should do.
#[derive(Debug, Clone)]
pub struct AcArrayReadings {
    /// What its parts begin with.
    pub id: String,
    /// Where it feeds.
    pub side: ArraySide,
    /// A contactor parts it from the panel while the generator runs.
    pub locked_out: bool,
    /// Highest current of each line.
    pub current: Known<Current>,
    /// Time within which it is off when its panel goes dead, where a standard of this book states it.
    pub ceases: Option<Known<Duration>>,
    /// Earliest time from a right voltage to the first power.
    pub returns: Known<Duration>,
    /// Frequency from which on it gives nothing, and the one to which the units raise the island; none where it does
    /// not hang behind the group, or one of them is not published.
    pub curtailed: Option<(Known<Frequency>, Known<Frequency>)>,
}

fn of<Q: Quantity>(m: &ArrayModule, symbol: &str, what: &str, value: Q, field: &str) -> Known<Q> {
    Known::catalog(symbol, what, value, &m.id, field)
}

pub(super) fn strings(strings: &Strings<'_>) -> StringReadings {
    let m = strings.module;
    let in_series = Ratio::of(f64::from(strings.per_string));
    let n = Known::chosen("n_m", "modules in series", in_series, "layout of the array", Vec::new());
    let near = Known::factor("t", "tolerance of a string's voltage", VOLTAGE_SHARE, "common practice");
    let open = CELLS_C.iter().map(|c| {
        let cell = Known::constant(
            "T_c",
            "cell temperature that the voltage is told for",
            Temperature::of(*c),
            "our own choice: a line through two of them gives any other",
        );
        let voltage = band("V_oc", "open-circuit voltage of a string", &open(m, &n, &cell), &near);
        VoltageAt { cell, voltage }
    });
    let g =
        Known::factor("g", "share of the irradiance of the ratings", PER_HUNDRED, "100 W/m2 of 1000 W/m2");
    let off = Known::factor("t", "tolerance of a string's current", CURRENT_SHARE, "common practice");
    let I_sc = of(m, "I_sc", "short-circuit current of a module", m.short_circuit, "short_circuit");
    let P = of(m, "P_m", "power of a module", m.power, "power");
    let V_mp = of(m, "V_mp", "voltage at the maximum power point", m.mpp_voltage, "mpp_voltage");
    let short: Known<DcCurrent> =
        formula!("I_sc", "short-circuit current of a string for each 100 W/m2", [I_sc, g] => I_sc * g);
    let operating: Known<DcCurrent> = formula!("I_mp", "current of a string at maximum power for each 100 W/m2", [P, V_mp, g] => P / V_mp * g);
    StringReadings {
        id: strings.id.clone(),
        strings: strings.all(),
        per_string: strings.per_string,
        open: open.collect(),
        alike: near.clone(),
        short: band("I_sc", "short-circuit current of a string for each 100 W/m2", &short, &off),
        operating: band("I_mp", "operating current of a string for each 100 W/m2", &operating, &off),
        insulation: insulation(m, &n),
    }
}

/// V = n V_oc (1 + beta (T - 25 degC)): the coefficient as a share of the voltage at standard test conditions (IEC 60891,
/// from memory).
fn open(m: &ArrayModule, n: &Known<Ratio>, T_c: &Known<Temperature>) -> Known<DcVoltage> {
    let V_oc = of(m, "V_oc", "open-circuit voltage of a module", m.open_circuit, "open_circuit");
    let beta = TemperatureCoefficient::of(m.voltage_coefficient_per_k.si());
    let beta = of(m, "beta", "change of open-circuit voltage per kelvin", beta, "voltage_coefficient_per_k");
    let T_stc = stc_temperature();
    formula!("V_oc", "open-circuit voltage of a string", [n, V_oc, beta, T_c, T_stc] =>
        n * V_oc * (1.0 + beta * above(T_c, T_stc)))
}

/// Test voltage and least resistance by the system voltage, 1.25 times the open-circuit voltage of the string (IEC
/// 62446-1:2016, table of insulation tests, from memory): to 120 V, 250 V and 0.5 Mohm; to 500 V, 500 V and 1 Mohm; to
/// 1000 V, 1000 V and 1 Mohm. Higher voltages are not covered.
fn insulation(m: &ArrayModule, n: &Known<Ratio>) -> Option<Insulation> {
    let source = "IEC 62446-1:2016, insulation test of strings (from memory, confirm)";
    let V_oc = of(m, "V_oc", "open-circuit voltage of a module", m.open_circuit, "open_circuit");
    let k = Known::factor("k", "system voltage over open-circuit voltage", 1.25, source);
    let system: Known<DcVoltage> =
        formula!("V_sys", "system voltage of a string", [n, V_oc, k] => n * V_oc * k, source = source);
    let (volts, ohm) = match system.value().si() {
        v if v < 120.0 => (250.0, 0.5e6),
        v if v <= 500.0 => (500.0, 1e6),
        v if v <= 1000.0 => (1000.0, 1e6),
        _ => return None,
    };
    let from = vec![system.node().clone()];
    Some(Insulation {
        test: Known::chosen("V_t", "test voltage of insulation", DcVoltage::of(volts), source, from.clone()),
        least: Known::chosen("R_i", "least insulation resistance", Resistance::of(ohm), source, from),
    })
}

pub(super) fn on_panel(case: &Case<'_>, array: &ArrayIn<'_>) -> AcArrayReadings {
    let model = array.model;
    let I_1 = Known::catalog("I_1", "current of one array inverter", model.current, &model.id, "current");
    let count = Ratio::of(f64::from(array.inverters));
    let n = Known::chosen("n", format!("inverters of {}", array.id), count, "design", Vec::new());
    let f =
        |symbol, what: &str, value, record: &str, field| Known::catalog(symbol, what, value, record, field);
    let stop = model.frequency_watt.map(|curve| {
        let what = "frequency from which the array inverter gives nothing";
        f("f_0", what, curve.stop, &model.id, "frequency_watt stop")
    });
    let raised = case.unit.island_frequency.as_ref().map(|island| {
        let what = "frequency to which the units raise the island";
        f("f_r", what, island.raises_to, &case.unit.id, "island_frequency raises_to")
    });
    AcArrayReadings {
        id: array.id.clone(),
        side: array.side,
        locked_out: array.locked_out,
        current: formula!("I_a", format!("highest current of {}", array.id), [I_1, n] => I_1 * n),
        ceases: (us(case) && case.layout != Layout::Islanded).then(ceases),
        returns: Known::catalog(
            "t_a",
            "earliest return of the array inverter",
            model.reconnect.earliest,
            &model.id,
            "reconnect earliest",
        ),
        curtailed: stop.zip(raised).filter(|_| array.side == ArraySide::Backup),
    }
}
