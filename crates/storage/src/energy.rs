//! Size of a bank by energy: from daily use and days of autonomy, or from the energy of one duty.

use derivation::{Known, Refused, formula};
use quantity::{Charge, DcVoltage, Energy, Ratio};

/// Common practice of stand-alone systems, as in the worksheets of IEEE 1013 and IEEE 1561; from memory.
const WORKSHEET: &str = "worksheet of stand-alone systems in the manner of IEEE 1013, from memory";
/// Capacity from design energy.
const STATION: &str = "in the manner of IEEE 485 and IEEE 1115, from memory";

/// What a bank is sized from.
#[derive(Debug, Clone)]
pub struct DailyUse {
    /// Energy of a day at the bank.
    pub daily: Known<Energy>,
    /// Days of autonomy.
    pub days: Known<Ratio>,
    /// Losses between bank and load, as a share of the load that comes on top.
    pub losses: Known<Ratio>,
    /// Efficiency from bank to load, where losses are given so.
    pub efficiency: Known<Ratio>,
    /// Share of the capacity that may be used.
    pub depth: Known<Ratio>,
    /// Factor for cold, 1 and above.
    pub temperature: Known<Ratio>,
    /// Factor for ageing, 1 and above.
    pub ageing: Known<Ratio>,
    /// Nominal voltage.
    pub voltage: Known<DcVoltage>,
}

/// A bank, step by step.
#[derive(Debug, Clone)]
pub struct Bank {
    /// Charge of a day.
    pub daily_charge: Known<Charge>,
    /// The same with losses.
    pub loaded_charge: Known<Charge>,
    /// Charge of all days of autonomy.
    pub reserve_charge: Known<Charge>,
    /// Energy of all days with losses.
    pub reserve: Known<Energy>,
    /// Divided by the usable share.
    pub at_depth: Known<Energy>,
    /// With the factor for cold.
    pub at_temperature: Known<Energy>,
    /// With the factor for ageing: what to install.
    pub energy: Known<Energy>,
    /// The same as a charge.
    pub charge: Known<Charge>,
}

/// Size of a bank for days of autonomy.
///
/// # Errors
/// A value is outside its range: a share of use above one, a factor below one, no number.
pub fn bank(from: &DailyUse) -> Result<Bank, Refused> {
    let DailyUse { daily, days, losses, efficiency, depth, temperature, ageing, voltage } = from;
    efficiency.share()?;
    daily.not_negative()?;
    days.above_zero()?;
    losses.within(0.0, 10.0, "a share from 0 to 10")?;
    depth.share()?;
    for factor in [temperature, ageing] {
        factor.within(1.0, 10.0, "a factor from 1 to 10")?;
    }
    voltage.above_zero()?;
    let daily_charge = formula!("C_d", "charge of a day", [daily, voltage] => daily / voltage);
    let loaded_charge = formula!("C_l", "charge of a day with losses", [daily_charge, losses, efficiency]
        => daily_charge * (1.0 + losses) / efficiency);
    let reserve_charge = formula!("C_r", "charge of all days", [loaded_charge, days] => loaded_charge * days);
    let reserve = formula!("E_r", "energy of all days with losses", [daily, losses, efficiency, days]
        => daily * (1.0 + losses) / efficiency * days);
    let at_depth = formula!("E_1", "energy by usable share", [reserve, depth] => reserve / depth);
    let at_temperature = formula!("E_2", "energy at the temperature", [at_depth, temperature]
        => at_depth * temperature);
    let energy = formula!("E", "energy to install", [at_temperature, ageing] => at_temperature * ageing,
        source = WORKSHEET);
    let charge = formula!("C", "charge to install", [energy, voltage] => energy / voltage);
    Ok(Bank {
        daily_charge,
        loaded_charge,
        reserve_charge,
        reserve,
        at_depth,
        at_temperature,
        energy,
        charge,
    })
}

/// Factors of a station battery.
#[derive(Debug, Clone)]
pub struct StationFactors {
    /// Ageing, 1 and above (1.25 where replaced at 80 %).
    pub ageing: Known<Ratio>,
    /// Temperature; below 1 in warm rooms.
    pub temperature: Known<Ratio>,
    /// Capacity rating for the length of the duty, 1 and above.
    pub rating: Known<Ratio>,
    /// Share of the capacity that may be used.
    pub depth: Known<Ratio>,
}

/// Least capacity of a station battery: `C = E · k_a · k_T · k_c / (V · d)`.
///
/// # Errors
/// A value is outside its range.
pub fn station_capacity(
    energy: &Known<Energy>,
    voltage: &Known<DcVoltage>,
    factors: &StationFactors,
) -> Result<Known<Charge>, Refused> {
    energy.not_negative()?;
    voltage.above_zero()?;
    let StationFactors { ageing, temperature, rating, depth } = factors;
    ageing.within(1.0, 10.0, "a factor from 1 to 10")?;
    temperature.within(0.5, 10.0, "a factor from 0.5 to 10")?;
    rating.within(1.0, 10.0, "a factor from 1 to 10")?;
    depth.share()?;
    Ok(formula!("C", "least capacity", [energy, ageing, temperature, rating, voltage, depth]
        => energy * ageing * temperature * rating / voltage / depth, source = STATION))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testing::{given, near};

    fn n(x: f64) -> Known<Ratio> {
        given(Ratio::of(x))
    }

    /// BAT-03 and BAT-04.
    #[test]
    fn days_of_autonomy() {
        let from = DailyUse {
            daily: given(Energy::of(1000.0)),
            days: n(2.5),
            losses: n(0.0),
            efficiency: n(1.0),
            depth: n(0.5),
            temperature: n(1.3),
            ageing: n(1.0),
            voltage: given(DcVoltage::of(12.0)),
        };
        let found = bank(&from).unwrap();
        near(&found.at_depth, 5000.0);
        near(&found.energy, 6500.0);
        near(&found.charge, 6500.0 / 12.0);
        let lossy = DailyUse { daily: given(Energy::of(157.428_57)), losses: n(0.2), ..from.clone() };
        near(&bank(&lossy).unwrap().reserve_charge, 157.428_57 / 12.0 * 1.2 * 2.5);
        let by_efficiency = DailyUse { efficiency: n(0.8), ..from.clone() };
        near(&bank(&by_efficiency).unwrap().energy, 6500.0 / 0.8);
        assert!(bank(&DailyUse { depth: n(50.0), ..from.clone() }).is_err());
        assert!(bank(&DailyUse { temperature: n(0.8), ..from }).is_err());
    }

    /// BAT-05.
    #[test]
    fn a_station() {
        let factors =
            StationFactors { ageing: n(1.25), temperature: n(0.956), rating: n(1.1), depth: n(0.8) };
        let (e, v) = (given(Energy::of(3242.8)), given(DcVoltage::of(120.0)));
        near(&station_capacity(&e, &v, &factors).unwrap(), 3242.8 * 1.25 * 0.956 * 1.1 / 96.0);
    }
}
