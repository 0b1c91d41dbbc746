//! Strings of equal modules: the operating point of several in parallel, and how many modules stay inside the
//! window of a controller when cells are hot and when they are cold.

use derivation::{Known, Refused, formula};
use quantity::{DcCurrent, DcVoltage, Power, Quantity, Ratio, Temperature, TemperatureCoefficient, above};

use crate::cells::{falling, stc_temperature};

/// Voltage, current and power of an array at its rated point.
#[derive(Debug, Clone)]
pub struct OperatingPoint {
    /// Modules in series add their volts.
    pub voltage: Known<DcVoltage>,
    /// Strings in parallel add their amperes.
    pub current: Known<DcCurrent>,
    /// The product.
    pub power: Known<Power>,
}

/// `strings` equal strings of `modules` equal modules each, all in the same light.
///
/// # Errors
/// A count is no whole number, or a rating is not above zero.
pub fn operating_point(
    vmp: &Known<DcVoltage>,
    imp: &Known<DcCurrent>,
    modules: &Known<Ratio>,
    strings: &Known<Ratio>,
) -> Result<OperatingPoint, Refused> {
    vmp.above_zero()?;
    imp.above_zero()?;
    modules.whole()?;
    strings.whole()?;
    let voltage = formula!("V_mp", "voltage of the array", [modules, vmp] => modules * vmp);
    let current = formula!("I_mp", "current of the array", [strings, imp] => strings * imp);
    let power = formula!("P_mp", "power of the array", [voltage, current] => voltage * current);
    Ok(OperatingPoint { voltage, current, power })
}

/// A voltage at maximum power with what temperature does to it.
#[derive(Debug, Clone)]
pub struct ModuleVoltage {
    /// At standard test conditions.
    pub vmp: Known<DcVoltage>,
    /// Of this voltage itself; the coefficient of the open-circuit voltage is smaller and errs on the wrong side
    /// when cells are hot.
    pub coefficient: Known<TemperatureCoefficient>,
}

impl ModuleVoltage {
    fn at(&self, symbol: &str, what: &str, cell: &Known<Temperature>) -> Result<Known<DcVoltage>, Refused> {
        self.vmp.above_zero()?;
        falling(&self.coefficient)?;
        cell.within(-90.0, 120.0, "a cell temperature from -90 to 120 degC")?;
        let (vmp, gamma, stc) = (&self.vmp, &self.coefficient, stc_temperature());
        let found = formula!(symbol, what, [vmp, gamma, cell, stc] => vmp * (1.0 + gamma * above(cell, stc)));
        found.above_zero()?;
        Ok(found)
    }
}

/// How many modules a controller's window allows.
#[derive(Debug, Clone)]
pub struct WindowLimits {
    /// Of one module with the hottest cells.
    pub hot_module: Known<DcVoltage>,
    /// Of one module with the coldest cells.
    pub cold_module: Known<DcVoltage>,
    /// Fewest modules that reach the lower end with the hottest cells.
    pub fewest: Known<Ratio>,
    /// Most modules that stay below the upper end with the coldest cells; 0 where none do.
    pub most: Known<Ratio>,
}

/// Modules in series that stay in a controller's window from `low` to `high`, in which it finds the maximum power. The
/// open-circuit voltage against the controller's largest input voltage is another question.
///
/// # Errors
/// A value is outside what modules and controllers have, or the hot cells are colder than the cold ones.
pub fn window_limits(
    module: &ModuleVoltage,
    (hottest, coldest): (&Known<Temperature>, &Known<Temperature>),
    (low, high): (&Known<DcVoltage>, &Known<DcVoltage>),
) -> Result<WindowLimits, Refused> {
    low.above_zero()?;
    high.above_zero()?;
    let hot_module = module.at("V_hot1", "voltage of a module with hot cells", hottest)?;
    let cold_module = module.at("V_cold1", "voltage of a module with cold cells", coldest)?;
    if hottest.value() < coldest.value() {
        return Err(hottest.refused("not below the coldest"));
    }
    let fewest = formula!("n_min", "fewest modules in series", [low, hot_module] => ceil(low / hot_module));
    let most = formula!("n_max", "most modules in series", [high, cold_module] => floor(high / cold_module));
    Ok(WindowLimits { hot_module, cold_module, fewest, most })
}

/// How a string stands in a window.
#[derive(Debug, Clone)]
pub struct Window {
    /// Of the string with the hottest cells.
    pub hot: Known<DcVoltage>,
    /// Of the string with the coldest cells.
    pub cold: Known<DcVoltage>,
    /// Whether both ends are kept.
    pub inside: bool,
}

/// Holds a string of `modules` against a window from `low` to `high`.
///
/// # Errors
/// The number of modules is not whole.
pub fn in_window(
    modules: &Known<Ratio>,
    limits: &WindowLimits,
    (low, high): (&Known<DcVoltage>, &Known<DcVoltage>),
) -> Result<Window, Refused> {
    modules.whole()?;
    let (hot_module, cold_module) = (&limits.hot_module, &limits.cold_module);
    let hot = formula!("V_hot", "voltage of the string with hot cells", [modules, hot_module] => modules * hot_module);
    let cold = formula!("V_cold", "voltage of the string with cold cells", [modules, cold_module] => modules * cold_module);
    let inside = hot.value() >= low.value() && cold.value() <= high.value();
    Ok(Window { hot, cold, inside })
}

fn ceil(number: Ratio) -> Ratio {
    Ratio::of(number.si().ceil())
}

fn floor(number: Ratio) -> Ratio {
    Ratio::of(number.si().floor())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    /// PVS-06: six of 17.4 V and two strings of 5.02 A.
    #[test]
    fn volts_add_in_series_and_amperes_in_parallel() {
        let (v, i) = (given(DcVoltage::of(17.4)), given(DcCurrent::of(5.02)));
        let n = |x| given(Ratio::of(x));
        let found = operating_point(&v, &i, &n(6.0), &n(2.0)).unwrap();
        near(&found.voltage, 104.4);
        near(&found.current, 10.04);
        near(&found.power, 104.4 * 10.04);
        assert!(operating_point(&v, &i, &n(6.5), &n(2.0)).is_err());
    }

    /// 34 V with -0.35 %/degC: 28.05 V at 75 degC of the cell, 38.165 V at -10 degC.
    #[test]
    fn heat_asks_for_modules_and_cold_forbids_them() {
        let module = ModuleVoltage {
            vmp: given(DcVoltage::of(34.0)),
            coefficient: given(TemperatureCoefficient::of(-0.0035)),
        };
        let (hot, cold) = (given(Temperature::of(75.0)), given(Temperature::of(-10.0)));
        let (low, high) = (given(DcVoltage::of(120.0)), given(DcVoltage::of(400.0)));
        let limits = window_limits(&module, (&hot, &cold), (&low, &high)).unwrap();
        near(&limits.fewest, 5.0);
        near(&limits.most, 10.0);
        let at = |n: f64| in_window(&given(Ratio::of(n)), &limits, (&low, &high)).unwrap();
        near(&at(5.0).hot, 140.25);
        near(&at(5.0).cold, 190.825);
        for n in 1..15 {
            let n = f64::from(n);
            assert_eq!(at(n).inside, (5.0..=10.0).contains(&n), "{n}");
        }
        assert!(window_limits(&module, (&cold, &hot), (&low, &high)).is_err());
    }
}
