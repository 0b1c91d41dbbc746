//! Cells and arrays: temperature, power, the controller's limit.

mod supply;

pub use supply::supply_w;

use crate::EnergyError;
use crate::error::{above_zero, not_negative, within};

/// How warm cells get.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CellModel {
    /// T = T_air + G / (u0 + u1 v): Faiman, Progress in Photovoltaics 16 (2008) 307; 25.0 W/m2K and 6.84
    /// Ws/m3K were found there for free-standing modules.
    Faiman {
        /// Heat given off without wind, in W/m2K.
        u0_w_m2_k: f64,
        /// Rise with the wind, in Ws/m3K.
        u1_ws_m3_k: f64,
    },
    /// T = T_air + G exp(a + b v) + d G / 1000: King, Boyson, Kratochvil, SAND2004-3535; a and b belong to module and
    /// mounting, d is how much warmer cells are than the module's back at 1000 W/m2.
    King {
        /// Exponent without wind.
        a: f64,
        /// Change of the exponent with the wind, in s/m; not above zero.
        b_s_m: f64,
        /// Cells over the back of the module at 1000 W/m2, in kelvin.
        rise_k: f64,
    },
    /// T = T_air + (NOCT - 20) G / 800: the definition of the nominal operating temperature; no wind.
    Noct {
        /// Nominal operating cell temperature, in degrees Celsius.
        noct_degc: f64,
    },
}

impl CellModel {
    /// The same, if its figures can be.
    ///
    /// # Errors
    /// u0 not above zero, u1 negative, an exponent of King outside what modules have, a NOCT outside 20 to 100 degC.
    pub fn checked(self) -> Result<Self, EnergyError> {
        match self {
            CellModel::Faiman { u0_w_m2_k, u1_ws_m3_k } => {
                above_zero("u0 in W/m2K", u0_w_m2_k)?;
                not_negative("u1 in Ws/m3K", u1_ws_m3_k)?;
            }
            CellModel::King { a, b_s_m, rise_k } => {
                within("a", a, -5.0, -1.0, "from -5 to -1")?;
                within("b in s/m", b_s_m, -0.5, 0.0, "from -0.5 to 0")?;
                within("rise of the cells in K", rise_k, 0.0, 20.0, "from 0 to 20")?;
            }
            CellModel::Noct { noct_degc } => {
                within("NOCT in degC", noct_degc, 20.0, 100.0, "from 20 to 100")?;
            }
        }
        Ok(self)
    }

    /// Cell temperature in degrees Celsius.
    #[inline]
    pub fn cell_degc(&self, air_degc: f64, plane_w_m2: f64, wind_m_s: f64) -> f64 {
        match self {
            CellModel::Faiman { u0_w_m2_k, u1_ws_m3_k } => {
                air_degc + plane_w_m2 / (u0_w_m2_k + u1_ws_m3_k * wind_m_s)
            }
            CellModel::King { a, b_s_m, rise_k } => {
                air_degc + plane_w_m2 * libm::exp(a + b_s_m * wind_m_s) + rise_k * plane_w_m2 / 1000.0
            }
            CellModel::Noct { noct_degc } => air_degc + (noct_degc - 20.0) * plane_w_m2 / 800.0,
        }
    }
}

/// An array behind a charge controller.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Array {
    /// Power under standard test conditions, in watts.
    pub peak_w: f64,
    /// Change of power with cell temperature, per kelvin; below zero.
    pub gamma_per_k: f64,
    /// Share lost to dirt, mismatch, wire and age.
    pub losses: f64,
    /// What the controller lets through, in watts of direct current.
    pub controller_limit_w: f64,
    /// Efficiency of the controller.
    pub controller_efficiency: f64,
    /// How warm the cells get.
    pub cells: CellModel,
}

impl Array {
    /// The same, if its figures can be.
    ///
    /// # Errors
    /// Negative powers, a coefficient outside -0.02 to 0 per kelvin, losses outside 0 to 1, an efficiency
    /// outside 0 to 1.
    pub fn checked(self) -> Result<Self, EnergyError> {
        not_negative("array power in W", self.peak_w)?;
        within("temperature coefficient per K", self.gamma_per_k, -0.02, 0.0, "from -0.02 to 0")?;
        within("losses", self.losses, 0.0, 1.0, "from 0 to 1")?;
        not_negative("controller limit in W", self.controller_limit_w)?;
        within("controller efficiency", self.controller_efficiency, 0.0, 1.0, "from 0 to 1")?;
        self.cells.checked()?;
        Ok(self)
    }

    /// Direct current power after the controller, in watts: P G/1000 (1 + gamma (T - 25)) (1 - losses)
    /// efficiency, at most the limit, never below zero (linear power model, NREL/TP-6A20-62641).
    #[inline]
    pub fn power_w(&self, air_degc: f64, plane_w_m2: f64, wind_m_s: f64) -> f64 {
        let cell = self.cells.cell_degc(air_degc, plane_w_m2, wind_m_s);
        let kept = self.peak_w / 1000.0 * (1.0 - self.losses) * self.controller_efficiency;
        (kept * plane_w_m2 * (1.0 + self.gamma_per_k * (cell - 25.0))).max(0.0).min(self.controller_limit_w)
    }

    /// The same at every time.
    ///
    /// # Errors
    /// Columns of unlike length, figures that cannot be.
    pub fn column_w(
        &self,
        air_degc: &[f64],
        plane_w_m2: &[f64],
        wind_m_s: &[f64],
    ) -> Result<Vec<f64>, EnergyError> {
        let array = self.checked()?;
        let count = plane_w_m2.len();
        for (what, column) in [("air temperatures", air_degc), ("wind speeds", wind_m_s)] {
            if column.len() != count {
                return Err(EnergyError::Count {
                    what,
                    count: column.len(),
                    needed: format!("{count} are needed"),
                });
            }
        }
        let each = air_degc.iter().zip(plane_w_m2).zip(wind_m_s);
        Ok(each.map(|((air, light), wind)| array.power_w(*air, *light, *wind)).collect())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 10 kW at 900 W/m2 and 20 degC in 3 m/s: cell 20 + 900/45.52 = 39.77 degC; 9000 (1 - 0.0037 x 14.77) x
    /// 0.95.
    #[test]
    fn an_array_by_hand() {
        let cells = CellModel::Faiman { u0_w_m2_k: 25.0, u1_ws_m3_k: 6.84 };
        let array = Array {
            peak_w: 10_000.0,
            gamma_per_k: -0.0037,
            losses: 0.05,
            controller_limit_w: 9000.0,
            controller_efficiency: 1.0,
            cells,
        };
        assert!(
            (array.power_w(20.0, 900.0, 3.0) - 8082.7).abs() < 0.1,
            "{}",
            array.power_w(20.0, 900.0, 3.0)
        );
        assert!((array.power_w(-20.0, 1200.0, 3.0) - 9000.0).abs() < 1e-9);
        assert!((CellModel::Noct { noct_degc: 45.0 }.cell_degc(20.0, 800.0, 9.0) - 45.0).abs() < 1e-12);
        // open rack, glass and glass (SAND2004-3535 Table 1): 10 + 1000 exp(-3.47) + 3 degC
        let rack = CellModel::King { a: -3.47, b_s_m: -0.0594, rise_k: 3.0 };
        assert!((rack.cell_degc(10.0, 1000.0, 0.0) - 44.117_03).abs() < 1e-4);
        assert!(rack.cell_degc(10.0, 1000.0, 5.0) < rack.cell_degc(10.0, 1000.0, 1.0));
        assert!(CellModel::King { a: 3.47, b_s_m: -0.0594, rise_k: 3.0 }.checked().is_err());
        assert!(Array { gamma_per_k: 0.4, ..array }.checked().is_err());
    }
}
