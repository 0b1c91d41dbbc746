//! Texts with a number in them that are not quantities of one kind.

use std::fmt;
use std::str::FromStr;

use crate::number::{significant, split_number};
use crate::{Duration, Quantity, QuantityError, Ratio};

/// A share written in percent: `"1.8 %"`. Plain numbers are refused so that 0.018 and 1.8 cannot be confused.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Percent(f64);

impl Percent {
    /// From a share: 0.018 is 1.8 %.
    pub const fn of_share(share: f64) -> Self {
        Self(share)
    }
    /// The share as a plain number.
    pub fn share(self) -> Ratio {
        Ratio::of(self.0)
    }
}

impl fmt::Display for Percent {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{} %", significant(self.0 * 100.0, 3)))
    }
}

impl FromStr for Percent {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let (value, unit) = split_number(text, "percentage", "1.8 %")?;
        if unit != "%" {
            return Err(QuantityError::new(
                format!("\"{text}\" is not a percentage"),
                "write a number and %, for example \"1.8 %\"",
            ));
        }
        Ok(Self(value / 100.0))
    }
}

/// How long something runs in a day: `"2 h/day"`.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct DailyUse(Duration);

impl DailyUse {
    /// Running time in a day.
    pub fn a_day(self) -> Duration {
        self.0
    }
    /// Running time in a day.
    pub fn of(a_day: Duration) -> Self {
        Self(a_day)
    }
}

impl fmt::Display for DailyUse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&format!("{}/day", self.0))
    }
}

impl FromStr for DailyUse {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, QuantityError> {
        let help = "write \"2 h/day\", \"40 min/day\" or \"24 h/day\"";
        let Some(span) = text.trim().strip_suffix("/day").or_else(|| text.trim().strip_suffix("/d")) else {
            return Err(QuantityError::new(format!("\"{text}\" is no daily running time"), help));
        };
        let span: Duration = span.parse()?;
        if !(0.0..=86_400.0).contains(&span.si()) {
            return Err(QuantityError::new(
                format!("\"{text}\" is more than a day, or less than nothing"),
                help,
            ));
        }
        Ok(Self(span))
    }
}
