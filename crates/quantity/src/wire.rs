//! Conductor sizes: designations, not quantities.

use std::fmt;
use std::str::FromStr;

use crate::QuantityError;
use crate::number::split_number;

/// A conductor size as the trade writes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Wire {
    /// American wire gauge; 0 is 1/0, -3 is 4/0.
    Awg(i8),
    /// Thousands of circular mils.
    Kcmil(u16),
    /// Nominal cross-section in mm2.
    Mm2(f64),
}

impl Wire {
    /// Conductor cross-section in mm2. AWG by its defining geometric series (ASTM B258): diameter
    /// 0.127 mm x 92^((36 - n)/39); 1 kcmil = 0.506707 mm2.
    pub fn area_mm2(self) -> f64 {
        match self {
            Wire::Awg(n) => {
                let d = 0.127 * libm::pow(92.0, (36.0 - f64::from(n)) / 39.0);
                std::f64::consts::FRAC_PI_4 * d * d
            }
            Wire::Kcmil(k) => f64::from(k) * 0.506_707_479,
            Wire::Mm2(a) => a,
        }
    }
}

impl fmt::Display for Wire {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Wire::Awg(n) if *n <= 0 => f.pad(&format!("{}/0 AWG", 1 - n)),
            Wire::Awg(n) => f.pad(&format!("{n} AWG")),
            Wire::Kcmil(k) => f.pad(&format!("{k} kcmil")),
            Wire::Mm2(a) => f.pad(&format!("{a} mm2")),
        }
    }
}

impl FromStr for Wire {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let wrong = || {
            QuantityError::new(
                format!("\"{text}\" is not a conductor size"),
                "write \"3 AWG\", \"4/0 AWG\", \"250 kcmil\" or \"70 mm2\"",
            )
        };
        let text = text.trim();
        if let Some(size) = text.strip_suffix("AWG").map(str::trim) {
            if let Some(aught) = size.strip_suffix("/0") {
                let n: i8 = aught.parse().map_err(|_| wrong())?;
                return if (1..=4).contains(&n) { Ok(Wire::Awg(1 - n)) } else { Err(wrong()) };
            }
            let n: i8 = size.parse().map_err(|_| wrong())?;
            return if (0..=40).contains(&n) { Ok(Wire::Awg(n)) } else { Err(wrong()) };
        }
        if let Some(size) = text.strip_suffix("kcmil").map(str::trim) {
            let k: u16 = size.replace(',', "").parse().map_err(|_| wrong())?;
            return if (250..=2000).contains(&k) { Ok(Wire::Kcmil(k)) } else { Err(wrong()) };
        }
        let (value, unit) = split_number(text, "conductor size", "70 mm2")?;
        if !matches!(unit, "mm2" | "mm²") || !(0.1..=2000.0).contains(&value) {
            return Err(wrong());
        }
        Ok(Wire::Mm2(value))
    }
}
