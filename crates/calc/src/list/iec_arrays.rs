//! Strings and arrays by IEC 62548, type of residual current devices, motors on unbalanced voltages.

use codebook::iec::array_overcurrent::{ArrayFacts, Behind, array_overcurrent};
use codebook::iec::array_voltage::{Cold, array_voltage};
use codebook::iec::residual_current_type::{ResidualType, residual_current_type};
use codebook::iec::solar_supply_overcurrent::{StringFacts, solar_supply_overcurrent};
use codebook::iec::unbalance_derating::unbalance_derating;

use super::yes;
use crate::error::CalcError;
use crate::given::exactly;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![voltage(), overcurrent(), supply(), residual(), motor()]
}

fn voltage() -> Calculation {
    Calculation {
        id: "array-voltage",
        purpose: "Highest voltage of a string of modules in the cold (IEC 62548, IEC 60364-7-712)",
        inputs: vec![
            In::number("modules", M::NUMBER, "modules in series").within(1.0, 1000.0),
            In::number("open_circuit_v", M::DC_VOLT, "open-circuit voltage of a module at 25 degC"),
            In::word(
                "by",
                "the module's coefficient, the table for crystalline silicon, or 1.2 where nothing is known",
                &["coefficient", "table", "unknown"],
            ),
            In::number(
                "coefficient_pct",
                M::PERCENT,
                "change of open-circuit voltage per kelvin, such as -0.3",
            )
            .within(-1.0, 0.0)
            .if_given(),
            In::number("lowest_degc", M::CELSIUS, "lowest ambient temperature")
                .within(-90.0, 60.0)
                .if_given(),
        ],
        outputs: vec![Out::new("highest_v", M::DC_VOLT, "highest voltage of the string")],
        run: |given| {
            let cold = match (given.word("by")?, given.has("coefficient_pct"), given.has("lowest_degc")) {
                ("coefficient", true, true) => Cold::Coefficient(
                    given.one("coefficient_pct", "beta")?,
                    given.one("lowest_degc", "T_min")?,
                ),
                ("table", false, true) => Cold::CrystallineTable(given.one("lowest_degc", "T_min")?),
                ("unknown", false, false) => Cold::Unknown,
                _ => {
                    let text = "by=coefficient takes coefficient_pct and lowest_degc, by=table lowest_degc alone, \
                                by=unknown neither";
                    return Err(CalcError::NotCovered(text.to_owned()));
                }
            };
            let found =
                array_voltage(&given.one("modules", "n")?, &given.one("open_circuit_v", "U_oc")?, &cold)?;
            Ok(Results::default().known("highest_v", &found))
        },
    }
}

fn overcurrent() -> Calculation {
    Calculation {
        id: "array-overcurrent",
        purpose: "Overcurrent devices and conductors of strings and arrays (IEC 62548)",
        inputs: vec![
            In::number("strings", M::NUMBER, "strings in parallel").within(1.0, 10_000.0),
            In::number(
                "short_circuit_a",
                M::DC_AMPERE,
                "short-circuit current of a module at standard conditions",
            ),
            In::number("module_most_a", M::DC_AMPERE, "largest overcurrent device that the module bears"),
            In::number("string_device_a", M::DC_AMPERE, "device of each string, where there is one")
                .if_given(),
            In::number("array_device_a", M::DC_AMPERE, "device of the array, where there is one").if_given(),
            In::yes_no("fed_from_behind", "a battery or another source can feed the array"),
            In::number("back_feed_a", M::DC_AMPERE, "the most that it feeds back, where its maker limits it")
                .within(0.0, 5000.0)
                .if_given(),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "all that is needed is there and fits"),
            Out::new("string_device_needed", M::WORD, "strings need devices"),
            Out::new("reverse_a", M::DC_AMPERE, "reverse current that the other strings drive"),
            Out::new("string_conductor_a", M::DC_AMPERE, "least capacity of a string's conductors"),
            Out::new("array_conductor_a", M::DC_AMPERE, "least capacity of the array's conductors"),
        ],
        run: |given| {
            let if_given = |key, symbol| given.has(key).then(|| given.one(key, symbol)).transpose();
            let facts = ArrayFacts {
                strings: given.one("strings", "N")?,
                short_circuit: given.one("short_circuit_a", "I_sc")?,
                module_most: given.one("module_most_a", "I_ocpr")?,
                string_device: if_given("string_device_a", "I_n")?,
                array_device: if_given("array_device_a", "I_n,array")?,
                behind: match if_given("back_feed_a", "I_back")? {
                    Some(back) => Behind::Limited(back),
                    None if yes(given, "fed_from_behind")? => Behind::Unlimited,
                    None => Behind::Nothing,
                },
            };
            let found = array_overcurrent(&facts)?;
            Ok(Results::default()
                .flag("holds", found.holds)
                .flag("string_device_needed", !found.reverse.holds)
                .known("reverse_a", &found.reverse.value)
                .known("string_conductor_a", &found.string_conductor)
                .known("array_conductor_a", &found.array_conductor))
        },
    }
}

fn supply() -> Calculation {
    Calculation {
        id: "solar-supply-overcurrent",
        purpose: "Overcurrent devices of strings in an installation (IEC 60364-7-712)",
        inputs: vec![
            In::number("strings", M::NUMBER, "strings in parallel").within(1.0, 10_000.0),
            In::number(
                "short_circuit_a",
                M::DC_AMPERE,
                "short-circuit current of a module at standard conditions",
            ),
            In::number("module_most_a", M::DC_AMPERE, "largest overcurrent device that the module bears"),
            In::number(
                "factor",
                M::NUMBER,
                "factor on the short-circuit current; else 1.25, more for modules lit from behind",
            )
            .within(1.25, 3.0)
            .if_given(),
            In::number("device_a", M::DC_AMPERE, "device of each string, where there is one").if_given(),
            In::number("back_feed_a", M::DC_AMPERE, "the most that the converter behind them feeds back")
                .within(0.0, 5000.0)
                .if_given(),
        ],
        outputs: vec![
            Out::new("holds", M::WORD, "all that is needed is there and fits"),
            Out::new("needed", M::WORD, "strings need devices"),
            Out::new("reverse_a", M::DC_AMPERE, "reverse current that the other strings drive"),
            Out::new("bears_a", M::DC_AMPERE, "reverse current that a module bears"),
            Out::new("largest_a", M::DC_AMPERE, "largest current of a module"),
        ],
        run: |given| {
            let found = solar_supply_overcurrent(&StringFacts {
                strings: given.one("strings", "N")?,
                short_circuit: given.one("short_circuit_a", "I_sc")?,
                module_most: given.one("module_most_a", "I_ocpr")?,
                factor: given.has("factor").then(|| given.one("factor", "K_I")).transpose()?,
                device: given.has("device_a").then(|| given.one("device_a", "I_n")).transpose()?,
                back_feed: given
                    .has("back_feed_a")
                    .then(|| given.one("back_feed_a", "I_back"))
                    .transpose()?,
            })?;
            Ok(Results::default()
                .flag("holds", found.holds)
                .flag("needed", found.needed)
                .known("reverse_a", &found.reverse.value)
                .known("bears_a", &found.reverse.limit)
                .known("largest_a", &found.largest))
        },
    }
}

fn residual() -> Calculation {
    Calculation {
        id: "residual-current-type",
        purpose: "Type of a residual current device on the alternating side of a solar inverter (IEC 60364-7-712)",
        inputs: vec![
            In::yes_no("simple_separation", "a transformer separates the two sides"),
            In::yes_no("no_dc_declared", "the maker declares that no direct residual current can flow"),
        ],
        outputs: vec![
            Out::new("type", M::WORD, "least type: A, or B for smooth direct current"),
            Out::new("reason", M::WORD, "why"),
        ],
        run: |given| {
            let (kind, why) =
                residual_current_type(yes(given, "simple_separation")?, yes(given, "no_dc_declared")?);
            let word = match kind {
                ResidualType::Ac => "AC",
                ResidualType::A => "A",
                ResidualType::F => "F",
                ResidualType::B => "B",
            };
            let why = format!("{why} (IEC 60364-7-712 712.531; confirm in the adopted code)");
            Ok(Results::default().text("type", word.to_owned()).text("reason", why))
        },
    }
}

fn motor() -> Calculation {
    Calculation {
        id: "unbalance-derating",
        purpose: "Power that a three-phase motor may give on unbalanced voltages (NEMA MG 1)",
        inputs: vec![
            In::number("rated_w", M::WATT, "rated power of the motor"),
            In::numbers("line_v", M::LINE_VOLT, "the three line-to-line voltages"),
        ],
        outputs: vec![
            Out::new("power_w", M::WATT, "power that the motor may give"),
            Out::new("factor", M::NUMBER, "factor on its rating"),
            Out::new("unbalance_pct", M::PERCENT, "largest departure from the mean, of the mean"),
        ],
        run: |given| {
            let lines = exactly("line_v", given.list("line_v", "U")?, 3)?;
            let found = unbalance_derating(&given.one("rated_w", "P_rated")?, &lines)?;
            Ok(Results::default()
                .known("power_w", &found.power)
                .known("factor", &found.factor)
                .known("unbalance_pct", &found.unbalance))
        },
    }
}
