//! Largest voltage of an array and its limit.
//!
//! ## Clause and edition
//! NEC 2023; 690.7, 690.7(A)(1) and (2).
//! ## Applies when
//! Modules stand in series on the DC side of an array.
//! ## Why
//! Cold modules give more volts than their rating; on the first cold clear morning that meets every device at once.
//! ## Formula
//! `V_max = n · V_oc · (1 + beta · (T_min - 25 degC))` by the module's coefficient in percent, `n · (V_oc + beta_V ·
//! (T_min - 25 degC))` by one in volts, `n · V_oc · K` by Table 690.7(A) for crystalline silicon without a coefficient.
//! `V_max <=` 600 V on or in one- and two-family dwellings, 1000 V on or in other buildings, 1500 V elsewhere.
//! ## Example
//! Passing: 12 modules of 44 V with -0.3 %/degC at -10 degC give 583 V. Failing: 13 of them give 632 V on a dwelling.
//! ## Limits of our reading
//! Coefficients win over the table; of two coefficients the larger voltage counts. Engineered calculations of systems
//! of 100 kW and more, dc-to-dc converters and bipolar arrays are not reached; nor is a lowest temperature above
//! 25 degC, which would lower the voltage. Above 1000 V further wiring rules apply that are not checked.
//! ## Source
//! 690.7, 690.7(A)(1) and (2): two sources agree; the 1500 V limit: one source; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{DcVoltage, Quantity, Ratio, Temperature, TemperatureCoefficient, VoltageCoefficient, above};
use saying::say;
use tables::us::{array, dc_rule};

use crate::NotCovered;
use crate::not_covered::{largest_of, under};

const CLAUSE: &str = "NEC 2023 690.7(A)";
const BY_COEFFICIENT: &str = "NEC 2023 690.7(A)(1)";
const BY_TABLE: &str = "NEC 2023 690.7(A)(2)";

/// Where the array stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Site {
    /// On or in a one- or two-family dwelling.
    Dwelling,
    /// On or in another building.
    Building,
    /// Not on or in a building.
    Ground,
}

/// What is known of the modules and the place.
#[derive(Debug, Clone)]
pub struct ArrayVoltageFacts {
    /// Open-circuit voltage of a module at standard test conditions.
    pub voc: Known<DcVoltage>,
    /// Lowest expected ambient temperature.
    pub lowest: Known<Temperature>,
    /// Coefficient of the open-circuit voltage in the module's instructions, in percent.
    pub percent: Option<Known<TemperatureCoefficient>>,
    /// The same in volts.
    pub volts: Option<Known<VoltageCoefficient>>,
    /// Whether the modules are of crystalline silicon.
    pub crystalline: bool,
}

/// Largest voltage of one module, each way that the facts allow.
#[derive(Debug, Clone)]
pub struct ColdVoltage {
    /// By the coefficient in percent.
    pub by_percent: Option<Known<DcVoltage>>,
    /// By the coefficient in volts.
    pub by_volts: Option<Known<DcVoltage>>,
    /// By the table.
    pub by_table: Option<Known<DcVoltage>>,
    /// The one that counts.
    pub counts: Known<DcVoltage>,
}

/// Largest voltage of one module.
///
/// # Errors
/// No way is open, or a value is outside what modules have.
pub fn cold_voltage(facts: &ArrayVoltageFacts) -> Result<ColdVoltage, NotCovered> {
    let (voc, lowest) = (&facts.voc, &facts.lowest);
    voc.above_zero().map_err(under(CLAUSE))?;
    lowest.within(-90.0, 25.0, "from -90 to 25 degC").map_err(under(CLAUSE))?;
    let stc = Known::constant("T_stc", "temperature of the ratings", Temperature::of(25.0), "IEC 60904-3");
    let by_percent = facts.percent.as_ref().map(|beta| percent_way(voc, beta, lowest, &stc)).transpose()?;
    let by_volts = facts.volts.as_ref().map(|beta| volt_way(voc, beta, lowest, &stc)).transpose()?;
    let coefficients: Vec<_> = [&by_percent, &by_volts].into_iter().flatten().cloned().collect();
    let by_table = by_table(facts, coefficients.is_empty())?;
    let counts = match (coefficients.as_slice(), &by_table) {
        ([], Some(table)) => table.clone(),
        ([], None) => {
            let reason =
                say!("without the module's temperature coefficient only crystalline silicon has factors");
            return Err(NotCovered::new(CLAUSE, reason));
        }
        (ways, _) => largest_of(CLAUSE, ("V_cold", "voltage of a cold module"), ways)?,
    };
    Ok(ColdVoltage { by_percent, by_volts, by_table, counts })
}

fn percent_way(
    voc: &Known<DcVoltage>,
    beta: &Known<TemperatureCoefficient>,
    lowest: &Known<Temperature>,
    stc: &Known<Temperature>,
) -> Result<Known<DcVoltage>, NotCovered> {
    let allowed = "below zero (write the sign) and not steeper than -1 %/degC";
    beta.within(-0.01, -1e-6, allowed).map_err(under(BY_COEFFICIENT))?;
    let what = "voltage of a cold module, percent coefficient";
    Ok(formula!("V_1", what, [voc, beta, lowest, stc] => voc * (1.0 + beta * above(lowest, stc)),
        source = BY_COEFFICIENT))
}

fn volt_way(
    voc: &Known<DcVoltage>,
    beta: &Known<VoltageCoefficient>,
    lowest: &Known<Temperature>,
    stc: &Known<Temperature>,
) -> Result<Known<DcVoltage>, NotCovered> {
    let steepest = -0.01 * voc.value().si();
    let allowed = "below zero (write the sign) and not steeper than -1 % of the voltage for each degC";
    beta.within(steepest, -1e-6, allowed).map_err(under(BY_COEFFICIENT))?;
    let what = "voltage of a cold module, volt coefficient";
    Ok(
        formula!("V_1", what, [voc, beta, lowest, stc] => voc + beta * above(lowest, stc), source = BY_COEFFICIENT),
    )
}

/// By the table; where a coefficient decides, a table without an answer is no obstacle.
fn by_table(facts: &ArrayVoltageFacts, decides: bool) -> Result<Option<Known<DcVoltage>>, NotCovered> {
    if !facts.crystalline {
        return Ok(None);
    }
    let factor = match array::cold_voltage_factor(&facts.lowest) {
        Ok(factor) => factor,
        Err(error) if decides => return Err(error.into()),
        Err(_) => return Ok(None),
    };
    let voc = &facts.voc;
    let what = "voltage of a cold module, table";
    Ok(Some(formula!("V_1", what, [voc, factor] => voc * factor, source = BY_TABLE)))
}

/// Voltage of modules in series.
///
/// # Errors
/// Their number is no whole number from 1.
pub fn in_series(modules: &Known<Ratio>, one: &Known<DcVoltage>) -> Result<Known<DcVoltage>, NotCovered> {
    modules.whole().map_err(under(CLAUSE))?;
    Ok(formula!("V_max", "largest voltage of the array", [modules, one] => modules * one, source = CLAUSE))
}

/// The limit by place, and that of the equipment where it is known and lower.
///
/// # Errors
/// The equipment's limit is not above zero.
pub fn limit(site: Site, equipment: Option<&Known<DcVoltage>>) -> Result<Known<DcVoltage>, NotCovered> {
    let key = match site {
        Site::Dwelling => "array-limit-dwelling",
        Site::Building => "array-limit-building",
        Site::Ground => "array-limit-ground",
    };
    let by_place = dc_rule::voltage("V_lim", key)?;
    let Some(own) = equipment else { return Ok(by_place) };
    own.above_zero().map_err(under(CLAUSE))?;
    let smallest = Known::smallest("V_lim", "voltage limit of the array", &[by_place, own.clone()]);
    smallest.ok_or_else(|| NotCovered::new(CLAUSE, say!("no limit")))
}

/// Most modules in series that a limit allows; 0 where one is too many.
#[must_use]
pub fn most_modules(limit: &Known<DcVoltage>, one: &Known<DcVoltage>) -> Known<Ratio> {
    formula!("n_max", "most modules in series", [limit, one] => floor(limit / one))
}

fn floor(number: Ratio) -> Ratio {
    Ratio::of(number.si().floor())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn facts(voc: f64, lowest: f64, percent: Option<f64>, volts: Option<f64>) -> ArrayVoltageFacts {
        ArrayVoltageFacts {
            voc: given(DcVoltage::of(voc)),
            lowest: given(Temperature::of(lowest)),
            percent: percent.map(|x| given(TemperatureCoefficient::of(x))),
            volts: volts.map(|x| given(VoltageCoefficient::of(x))),
            crystalline: true,
        }
    }

    /// PVS-03: 12 modules of 38.3 V at -7 degC three ways.
    #[test]
    fn three_ways() {
        let found = cold_voltage(&facts(38.3, -7.0, Some(-0.0036), Some(-0.137))).unwrap();
        let twelve = given(Ratio::of(12.0));
        let all = |one: &Option<Known<DcVoltage>>| in_series(&twelve, one.as_ref().unwrap()).unwrap();
        near(&all(&found.by_table), 523.944);
        near(&all(&found.by_percent), 512.545_92);
        near(&all(&found.by_volts), 512.208);
        near(&found.counts, 38.3 * 1.1152);
        near(&cold_voltage(&facts(38.3, -7.0, None, None)).unwrap().counts, 38.3 * 1.14);
    }

    #[test]
    fn as_many_as_the_limit_allows_and_not_one_more() {
        let one = cold_voltage(&facts(44.0, -10.0, Some(-0.003), None)).unwrap().counts;
        near(&one, 48.62);
        let limit = limit(Site::Dwelling, None).unwrap();
        near(&most_modules(&limit, &one), 12.0);
        assert!(in_series(&given(Ratio::of(12.0)), &one).unwrap().value() <= limit.value());
        assert!(in_series(&given(Ratio::of(13.0)), &one).unwrap().value() > limit.value());
        let controller = given(DcVoltage::of(450.0));
        near(&super::limit(Site::Building, Some(&controller)).unwrap(), 450.0);
        let ground = super::limit(Site::Ground, None).unwrap();
        assert!(derivation::explain(ground.node()).contains("confirm in the adopted code"));
    }

    #[test]
    fn a_missing_sign_a_warm_winter_and_thin_film_are_refused() {
        assert!(cold_voltage(&facts(44.0, -10.0, Some(0.003), None)).is_err());
        assert!(cold_voltage(&facts(44.0, -10.0, None, Some(0.137))).is_err());
        assert!(cold_voltage(&facts(44.0, -10.0, Some(-0.137), None)).is_err(), "volts written as percent");
        assert!(cold_voltage(&facts(44.0, 30.0, Some(-0.003), None)).is_err());
        assert!(cold_voltage(&facts(44.0, 26.0, Some(-0.003), None)).is_err());
        assert!(cold_voltage(&facts(44.0, -95.0, Some(-0.003), None)).is_err());
        assert!(
            cold_voltage(&facts(44.0, -10.0, None, Some(-0.45))).is_err(),
            "steeper than 0.44 V for each degC"
        );
        assert!(cold_voltage(&facts(44.0, f64::NAN, Some(-0.003), None)).is_err());
        assert!(cold_voltage(&facts(0.0, -10.0, Some(-0.003), None)).is_err());
        assert!(cold_voltage(&facts(-44.0, -10.0, None, None)).is_err(), "would lie below every limit");
        let thin = ArrayVoltageFacts { crystalline: false, ..facts(44.0, -10.0, None, None) };
        assert!(cold_voltage(&thin).is_err());
        // colder than the table, but a coefficient is known
        assert!(cold_voltage(&facts(44.0, -45.0, Some(-0.003), None)).unwrap().by_table.is_none());
        assert!(cold_voltage(&facts(44.0, -45.0, None, None)).is_err());
    }
}
