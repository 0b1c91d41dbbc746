//! Arrays: voltage, currents, strings, windows, energy.

use array::strings::{ModuleVoltage, in_window, operating_point, window_limits};
use codebook::us::array_current::{Governs, array_current};
use codebook::us::array_maximum_voltage::{
    ArrayVoltageFacts, Site, cold_voltage, in_series, limit, most_modules,
};
use codebook::us::array_not_checked::array_not_checked;
use codebook::us::string_overcurrent::{StringFacts, behind_one_device, string_overcurrent};
use derivation::Known;
use quantity::DcVoltage;

use super::rising;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![voltage(), current(), overcurrent(), one_device(), point(), controller_window(), not_checked()]
}

fn site_input() -> In {
    In::word("site", "where the array stands", &["dwelling", "building", "ground"])
}

fn site(given: &Given) -> Result<Site, CalcError> {
    Ok(match given.word("site")? {
        "dwelling" => Site::Dwelling,
        "building" => Site::Building,
        _ => Site::Ground,
    })
}

fn voltage() -> Calculation {
    Calculation {
        id: "array-maximum-voltage",
        purpose: "Largest voltage of modules in series at the lowest temperature, three ways, and its limit (NEC 690.7)",
        inputs: vec![
            In::number("voc_v", M::DC_VOLT, "open-circuit voltage of a module at standard test conditions"),
            In::number("modules", M::NUMBER, "modules in series").within(1.0, 1e3).if_given(),
            In::number("lowest_degc", M::CELSIUS, "lowest expected ambient temperature").within(-90.0, 25.0),
            In::number(
                "voc_pct_per_degc",
                M::PERCENT_PER_DEGREE,
                "coefficient of the open-circuit voltage in percent, below zero",
            )
            .within(-1.0, 0.0)
            .if_given(),
            In::number(
                "voc_v_per_degc",
                M::VOLT_PER_DEGREE,
                "coefficient of the open-circuit voltage in volts, below zero",
            )
            .within(-10.0, 0.0)
            .if_given(),
            In::yes_no("crystalline", "modules of crystalline silicon, for which the code has a table")
                .or("yes"),
            site_input(),
            In::number("equipment_v", M::DC_VOLT, "lowest voltage limit of modules and equipment").if_given(),
        ],
        outputs: vec![
            Out::new("module_by_percent_v", M::DC_VOLT, "a cold module by the coefficient in percent"),
            Out::new("module_by_volts_v", M::DC_VOLT, "a cold module by the coefficient in volts"),
            Out::new("module_by_table_v", M::DC_VOLT, "a cold module by the code's table"),
            Out::new("module_v", M::DC_VOLT, "the one that counts: a coefficient before the table"),
            Out::new("by_percent_v", M::DC_VOLT, "all modules by the coefficient in percent"),
            Out::new("by_volts_v", M::DC_VOLT, "all modules by the coefficient in volts"),
            Out::new("by_table_v", M::DC_VOLT, "all modules by the code's table"),
            Out::new("maximum_v", M::DC_VOLT, "largest voltage of the array"),
            Out::new("limit_v", M::DC_VOLT, "its limit"),
            Out::new("holds", M::WORD, "the limit is kept"),
            Out::new("most_modules", M::NUMBER, "most modules in series that the limit allows"),
        ],
        run: run_voltage,
    }
}

fn run_voltage(given: &Given) -> Result<Results, CalcError> {
    let facts = ArrayVoltageFacts {
        voc: given.one("voc_v", "V_oc")?,
        lowest: given.one("lowest_degc", "T_min")?,
        percent: given.one_if("voc_pct_per_degc", "beta")?,
        volts: given.one_if("voc_v_per_degc", "beta_V")?,
        crystalline: given.yes("crystalline")?,
    };
    let cold = cold_voltage(&facts)?;
    let limit = limit(site(given)?, given.one_if("equipment_v", "V_eq")?.as_ref())?;
    let mut results = Results::default()
        .known_if("module_by_percent_v", cold.by_percent.as_ref())
        .known_if("module_by_volts_v", cold.by_volts.as_ref())
        .known_if("module_by_table_v", cold.by_table.as_ref())
        .known("module_v", &cold.counts)
        .known("limit_v", &limit)
        .known("most_modules", &most_modules(&limit, &cold.counts));
    let Some(modules) = given.one_if("modules", "n")? else { return Ok(results) };
    let ways =
        [("by_percent_v", &cold.by_percent), ("by_volts_v", &cold.by_volts), ("by_table_v", &cold.by_table)];
    for (key, one) in ways {
        let all: Option<Known<DcVoltage>> = one.as_ref().map(|one| in_series(&modules, one)).transpose()?;
        results = results.known_if(key, all.as_ref());
    }
    let maximum = in_series(&modules, &cold.counts)?;
    let holds = maximum.value() <= limit.value();
    Ok(results.known("maximum_v", &maximum).flag("holds", holds))
}

fn current() -> Calculation {
    Calculation {
        id: "array-current",
        purpose: "Largest current of an array circuit, ampacity by both tests, overcurrent device (NEC 690.8, 690.9)",
        inputs: vec![
            In::number(
                "isc_a",
                M::DC_AMPERE,
                "short-circuit current of a module at standard test conditions",
            ),
            In::number("strings", M::NUMBER, "strings in parallel").within(1.0, 1e4).or("1"),
            In::number("correction", M::NUMBER, "ambient correction factor of the conductor")
                .within(0.01, 1.5)
                .or("1"),
            In::number("adjustment", M::NUMBER, "adjustment factor for conductors together")
                .within(0.01, 1.0)
                .or("1"),
            In::yes_no("fully_rated", "assembly listed for continuous use at 100 % of its rating").or("no"),
            In::number("ampacity_a", M::DC_AMPERE, "ampacity of the conductor in its table, without factors")
                .if_given(),
        ],
        outputs: vec![
            Out::new("maximum_a", M::DC_AMPERE, "largest current, 690.8(A)"),
            Out::new("test1_a", M::DC_AMPERE, "ampacity before conditions of use, 690.8(B)(1)"),
            Out::new("test2_a", M::DC_AMPERE, "ampacity in the table for the conditions of use, 690.8(B)(2)"),
            Out::new("ampacity_needed_a", M::DC_AMPERE, "the larger of both"),
            Out::new("governs", M::WORD, "which test that is: test1 or test2"),
            Out::new("crossover", M::NUMBER, "product of the factors below which test2 governs"),
            Out::new("device_least_a", M::DC_AMPERE, "least rating of an overcurrent device, 690.9(B)"),
            Out::new("device_a", M::DC_AMPERE, "the next standard rating"),
            Out::new("holds", M::WORD, "the given conductor is large enough"),
        ],
        run: run_current,
    }
}

fn run_current(given: &Given) -> Result<Results, CalcError> {
    let factors = (&given.one("correction", "f_T")?, &given.one("adjustment", "f_n")?);
    let isc = given.one("isc_a", "I_sc")?;
    let found = array_current(&isc, &given.one("strings", "n")?, factors, given.yes("fully_rated")?)?;
    let governs = match found.governs {
        Governs::Before => "test1",
        Governs::AtConditions => "test2",
    };
    let results = Results::default()
        .known("maximum_a", &found.maximum)
        .known("test1_a", &found.before)
        .known("test2_a", &found.at_conditions)
        .known("ampacity_needed_a", &found.ampacity)
        .text("governs", governs)
        .known("crossover", &found.crossover)
        .known("device_least_a", &found.device)
        .known("device_a", &found.standard);
    Ok(match given.one_if::<quantity::DcCurrent>("ampacity_a", "I_z")? {
        Some(ampacity) => results.flag("holds", ampacity.value() >= found.ampacity.value()),
        None => results,
    })
}

fn overcurrent() -> Calculation {
    Calculation {
        id: "string-overcurrent",
        purpose: "Whether strings in parallel need overcurrent devices, and of what rating (NEC 690.9)",
        inputs: vec![
            In::number(
                "isc_a",
                M::DC_AMPERE,
                "short-circuit current of a module at standard test conditions",
            ),
            In::number("strings", M::NUMBER, "strings in parallel").within(1.0, 1e4),
            In::number("series_fuse_a", M::DC_AMPERE, "largest series fuse on the module's label"),
            In::number(
                "feed_back_a",
                M::DC_AMPERE,
                "what the converter can feed back into the array; 0 only where its maker says so",
            )
            .within(0.0, 1e5),
            In::number(
                "ampacity_a",
                M::DC_AMPERE,
                "ampacity of the string's conductor with all conditions of use",
            ),
        ],
        outputs: vec![
            Out::new("maximum_a", M::DC_AMPERE, "largest current of one string"),
            Out::new("into_fault_a", M::DC_AMPERE, "current into a fault in one string"),
            Out::new("needed", M::WORD, "every string needs a device"),
            Out::new("device_least_a", M::DC_AMPERE, "least rating of it"),
            Out::new(
                "device_a",
                M::DC_AMPERE,
                "standard rating that module and conductor allow; absent where there is none",
            ),
            Out::new("holds", M::WORD, "the strings are protected as they are, or by that device"),
            Out::new("failures", M::WORD, "what is not met"),
        ],
        run: |given| {
            let found = string_overcurrent(&StringFacts {
                isc: given.one("isc_a", "I_sc")?,
                strings: given.one("strings", "n")?,
                series_fuse: given.one("series_fuse_a", "I_fuse")?,
                feed_back: given.one("feed_back_a", "I_back")?,
                ampacity: given.one("ampacity_a", "I_z")?,
            })?;
            let holds = found.failures.is_empty();
            let results = Results::default()
                .known("maximum_a", &found.maximum)
                .known("into_fault_a", &found.into_fault)
                .flag("needed", found.needed)
                .known("device_least_a", &found.least)
                .known_if("device_a", found.device.as_ref().filter(|_| holds));
            Ok(super::conductor_inputs::failing(results, &found.failures))
        },
    }
}

fn one_device() -> Calculation {
    Calculation {
        id: "strings-behind-one-device",
        purpose: "Ampacity of each string's conductor where several stand behind one overcurrent device (NEC 690.8(D))",
        inputs: vec![
            In::number("device_a", M::DC_AMPERE, "rating of the device"),
            In::number(
                "isc_a",
                M::DC_AMPERE,
                "short-circuit current of a module at standard test conditions",
            ),
            In::number("strings", M::NUMBER, "strings behind it").within(1.0, 1e4),
        ],
        outputs: vec![Out::new("ampacity_a", M::DC_AMPERE, "ampacity of each string's conductor")],
        run: |given| {
            let (device, isc) = (given.one("device_a", "I_n")?, given.one("isc_a", "I_sc")?);
            let ampacity = behind_one_device(&device, &isc, &given.one("strings", "n")?)?;
            Ok(Results::default().known("ampacity_a", &ampacity))
        },
    }
}

fn point() -> Calculation {
    Calculation {
        id: "array-operating-point",
        purpose: "Rated voltage, current and power of equal strings in parallel",
        inputs: vec![
            In::number("vmp_v", M::DC_VOLT, "voltage of a module at maximum power"),
            In::number("imp_a", M::DC_AMPERE, "current of a module at maximum power"),
            In::number("modules", M::NUMBER, "modules in series").within(1.0, 1e3),
            In::number("strings", M::NUMBER, "strings in parallel").within(1.0, 1e4).or("1"),
        ],
        outputs: vec![
            Out::new("array_v", M::DC_VOLT, "voltage"),
            Out::new("array_a", M::DC_AMPERE, "current"),
            Out::new("array_w", M::WATT, "power"),
        ],
        run: |given| {
            let (modules, strings) = (given.one("modules", "n_s")?, given.one("strings", "n_p")?);
            let found = operating_point(
                &given.one("vmp_v", "V_1")?,
                &given.one("imp_a", "I_1")?,
                &modules,
                &strings,
            )?;
            Ok(Results::default()
                .known("array_v", &found.voltage)
                .known("array_a", &found.current)
                .known("array_w", &found.power))
        },
    }
}

fn controller_window() -> Calculation {
    Calculation {
        id: "string-window",
        purpose: "Whether a string stays in a controller's window of maximum power with hot and with cold cells",
        inputs: vec![
            In::number("vmp_v", M::DC_VOLT, "voltage of a module at maximum power"),
            In::number("vmp_pct_per_degc", M::PERCENT_PER_DEGREE, "coefficient of that voltage, below zero")
                .within(-1.0, 0.0),
            In::number("modules", M::NUMBER, "modules in series").within(1.0, 1e3).if_given(),
            In::number("hot_cell_degc", M::CELSIUS, "hottest cells").within(-90.0, 120.0),
            In::number("cold_cell_degc", M::CELSIUS, "coldest cells").within(-90.0, 120.0),
            In::number("window_low_v", M::DC_VOLT, "lower end of the controller's window"),
            In::number("window_high_v", M::DC_VOLT, "upper end of the controller's window"),
        ],
        outputs: vec![
            Out::new("hot_v", M::DC_VOLT, "string with hot cells"),
            Out::new("cold_v", M::DC_VOLT, "string with cold cells"),
            Out::new("fewest_modules", M::NUMBER, "fewest modules in series"),
            Out::new("most_modules", M::NUMBER, "most modules in series"),
            Out::new("inside", M::WORD, "both ends are kept"),
        ],
        run: |given| {
            let module = ModuleVoltage {
                vmp: given.one("vmp_v", "V_mp")?,
                coefficient: given.one("vmp_pct_per_degc", "gamma")?,
            };
            let temperatures =
                (&given.one("hot_cell_degc", "T_hot")?, &given.one("cold_cell_degc", "T_cold")?);
            let ends = (&given.one("window_low_v", "V_low")?, &given.one("window_high_v", "V_high")?);
            rising(given, "window_low_v", "window_high_v")?;
            rising(given, "cold_cell_degc", "hot_cell_degc")?;
            let limits = window_limits(&module, temperatures, ends)?;
            let results = Results::default()
                .known("fewest_modules", &limits.fewest)
                .known("most_modules", &limits.most);
            let Some(modules) = given.one_if("modules", "n")? else { return Ok(results) };
            let found = in_window(&modules, &limits, ends)?;
            Ok(results.known("hot_v", &found.hot).known("cold_v", &found.cold).flag("inside", found.inside))
        },
    }
}

fn not_checked() -> Calculation {
    Calculation {
        id: "array-not-checked",
        purpose: "Rules on arrays that are named but not checked here",
        inputs: vec![In::yes_no("on_building", "the array stands on or in a building")],
        outputs: vec![Out::new("not_checked", M::WORD, "clauses outside scope; none of them counts as held")],
        run: |given| {
            let items = array_not_checked(given.yes("on_building")?);
            let lines = items
                .iter()
                .map(|item| format!("{} (confirm in the adopted code): {}", item.clause, item.what))
                .collect();
            Ok(Results::default().texts("not_checked", lines))
        },
    }
}
