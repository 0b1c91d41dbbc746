//! The figures of a design. Powers of the battery are at its terminals (direct current), of the converter on
//! its AC side. Whoever has no figure does not get one: see the catalogue.

use crate::EnergyError;
use crate::error::{above_zero, not_negative, within};

/// The battery.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Battery {
    /// Energy from empty to full.
    pub capacity_wh: f64,
    /// Charge below which nothing is drawn.
    pub floor_wh: f64,
    /// Charge kept for outages while the utility is there.
    pub reserve_wh: f64,
    /// Most charging power.
    pub charge_limit_w: f64,
    /// Most discharging power.
    pub discharge_limit_w: f64,
    /// Energy stored over energy charged.
    pub charge_efficiency: f64,
    /// Energy given over energy taken out.
    pub discharge_efficiency: f64,
    /// Charge from which the charging power falls to nothing at full; the capacity where it does not.
    pub taper_from_wh: f64,
    /// Power that every watt-hour above the floor holds the voltage for: with less charge less power is drawn
    /// before the voltage falls too low. [`Battery::ANY_CHARGE_W_PER_WH`] where the maker promises the limit
    /// down to the floor.
    pub holds_w_per_wh: f64,
    /// Share of the charge lost in a day.
    pub self_discharge_per_day: f64,
}

/// The converter, all units together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Converter {
    /// Continuous power.
    pub rating_w: f64,
    /// Highest power at all.
    pub peak_w: f64,
    /// Energy above the rating that it takes from cool.
    pub heat_budget_wh: f64,
    /// Share of a watt-hour below the rating that the budget gains back; 0 where the maker says nothing.
    pub heat_recovery: f64,
    /// Loss without load.
    pub idle_w: f64,
    /// Loss per watt.
    pub loss_per_w: f64,
    /// Loss per watt squared, in 1/W.
    pub loss_per_w2: f64,
    /// Most power into the battery from the AC side.
    pub charger_limit_w: f64,
}

/// The utility's side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Utility {
    /// Most power taken.
    pub input_limit_w: f64,
    /// Most power through the transfer relay: its current times the voltage. The relay's own limit is judged
    /// where the plant is known.
    pub relay_limit_w: f64,
    /// Most power fed in.
    pub export_limit_w: f64,
}

/// A generator; power 0 for none. It runs only without the utility.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Generator {
    /// Power.
    pub power_w: f64,
    /// Charge below which it starts.
    pub start_wh: f64,
    /// Charge above which it stops.
    pub stop_wh: f64,
    /// Time before it takes load.
    pub warm_up_s: f64,
    /// Shortest run.
    pub minimum_run_s: f64,
    /// Fuel without load, in litres an hour.
    pub idle_l_per_h: f64,
    /// Fuel per energy, in litres a kilowatt-hour.
    pub l_per_kwh: f64,
    /// Fuel at the beginning of the year, in litres.
    pub tank_l: f64,
}

/// When loads are shed without the utility. Tier 0 stays longest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shedding {
    /// Charges below which tiers 1 and 2 are shed; 0 for never.
    pub shed_wh: [f64; 2],
    /// Charges from which they come back.
    pub restore_wh: [f64; 2],
    /// Charge from which the converter starts again after it went down.
    pub restart_wh: f64,
}

/// Arrays on the panel that the group carries. They follow its voltage: in the island they are held back by frequency to
/// what loads and charging take, and while the generator runs they are locked out.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PanelArray {
    /// Most power that they give back to the utility.
    pub export_limit_w: f64,
    /// With the utility, what the loads leave of them charges the battery.
    pub charges: bool,
    /// Time after the beginning of an outage, and after the generator, until they give power again.
    pub reconnect_s: f64,
}

/// A design.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Design {
    /// The battery.
    pub battery: Battery,
    /// The converter.
    pub converter: Converter,
    /// Times the arrays of the series.
    pub array_scale: f64,
    /// Arrays on the panel.
    pub panel_array: PanelArray,
    /// The utility's side.
    pub utility: Utility,
    /// The generator.
    pub generator: Generator,
    /// Shedding.
    pub shedding: Shedding,
}

impl Battery {
    /// The discharge limit holds at any charge above the floor.
    pub const ANY_CHARGE_W_PER_WH: f64 = 1e9;
}

impl Generator {
    /// None.
    pub const NONE: Self = Self {
        power_w: 0.0,
        start_wh: -1.0,
        stop_wh: 0.0,
        warm_up_s: 0.0,
        minimum_run_s: 0.0,
        idle_l_per_h: 0.0,
        l_per_kwh: 0.0,
        tank_l: 0.0,
    };
}

impl PanelArray {
    /// None.
    pub const NONE: Self = Self { export_limit_w: 0.0, charges: false, reconnect_s: 0.0 };
}

impl Shedding {
    /// Never by charge.
    pub const NEVER: Self = Self { shed_wh: [0.0; 2], restore_wh: [0.0; 2], restart_wh: 0.0 };
}

impl Converter {
    /// Loss figures from a curve of efficiency: through the points of lowest and highest power, the linear
    /// loss raised until no given point is better in the model than it is given. `points`: power in watts,
    /// efficiency.
    ///
    /// # Errors
    /// Fewer than two points, powers that do not rise from above 0, efficiencies outside 0.3 to 1, an idle
    /// loss that alone exceeds the loss at the lowest point.
    pub fn losses_through(idle_w: f64, points: &[(f64, f64)]) -> Result<(f64, f64), EnergyError> {
        let (Some(first), Some(last)) = (points.first(), points.last().filter(|_| points.len() > 1)) else {
            let needed = "at least 2 are needed".to_owned();
            return Err(EnergyError::Count { what: "points of the efficiency", count: points.len(), needed });
        };
        not_negative("idle loss in W", idle_w)?;
        for (power, efficiency) in points {
            above_zero("power of an efficiency in W", *power)?;
            within("efficiency", *efficiency, 0.3, 1.0, "from 0.3 to 1")?;
        }
        if points.windows(2).any(|w| matches!(w, [a, b] if b.0 <= a.0)) {
            return Err(EnergyError::NotCovered("powers of the efficiency curve must rise"));
        }
        // loss beyond idle, per watt: k1 + k2 P
        let per_w = |p: &(f64, f64)| (p.0 / p.1 - p.0 - idle_w) / p.0;
        if points.iter().any(|p| per_w(p) < 0.0) {
            return Err(EnergyError::NotCovered(
                "the idle loss alone exceeds the loss of a point of the efficiency",
            ));
        }
        let square = ((per_w(last) - per_w(first)) / (last.0 - first.0)).max(0.0);
        let linear = points.iter().map(|p| per_w(p) - square * p.0).fold(0.0, f64::max);
        Ok((linear, square))
    }
}

impl Design {
    /// The same, if its figures can be.
    ///
    /// # Errors
    /// The first figure that cannot be.
    pub fn checked(self) -> Result<Self, EnergyError> {
        let b = self.battery;
        above_zero("capacity in Wh", b.capacity_wh)?;
        within("floor in Wh", b.floor_wh, 0.0, b.capacity_wh, "from 0 to the capacity")?;
        within("reserve in Wh", b.reserve_wh, b.floor_wh, b.capacity_wh, "from the floor to the capacity")?;
        within("taper in Wh", b.taper_from_wh, 0.0, b.capacity_wh, "from 0 to the capacity")?;
        above_zero("power held by charge in W/Wh", b.holds_w_per_wh)?;
        not_negative("charge limit in W", b.charge_limit_w)?;
        not_negative("discharge limit in W", b.discharge_limit_w)?;
        within("charge efficiency", b.charge_efficiency, 0.3, 1.0, "from 0.3 to 1")?;
        within("discharge efficiency", b.discharge_efficiency, 0.3, 1.0, "from 0.3 to 1")?;
        within("self-discharge a day", b.self_discharge_per_day, 0.0, 0.5, "from 0 to 0.5")?;
        let c = self.converter;
        above_zero("rating in W", c.rating_w)?;
        within("peak in W", c.peak_w, c.rating_w, 100.0 * c.rating_w, "from the rating")?;
        not_negative("heat budget in Wh", c.heat_budget_wh)?;
        within("heat recovery", c.heat_recovery, 0.0, 1.0, "from 0 to 1")?;
        not_negative("idle loss in W", c.idle_w)?;
        within("loss per W", c.loss_per_w, 0.0, 1.0, "from 0 to 1")?;
        within("loss per W2", c.loss_per_w2, 0.0, 1.0 / c.rating_w, "from 0 to 1 over the rating")?;
        not_negative("charger limit in W", c.charger_limit_w)?;
        not_negative("array scale", self.array_scale)?;
        not_negative("export limit of arrays in W", self.panel_array.export_limit_w)?;
        within(
            "reconnection of arrays in s",
            self.panel_array.reconnect_s,
            0.0,
            86_400.0,
            "from 0 to a day",
        )?;
        let u = self.utility;
        not_negative("input limit in W", u.input_limit_w)?;
        not_negative("relay limit in W", u.relay_limit_w)?;
        not_negative("export limit in W", u.export_limit_w)?;
        self.checked_outage()
    }

    fn checked_outage(self) -> Result<Self, EnergyError> {
        let (g, capacity_wh) = (self.generator, self.battery.capacity_wh);
        not_negative("generator power in W", g.power_w)?;
        if g.power_w > 0.0 {
            within("generator start in Wh", g.start_wh, 0.0, capacity_wh, "from 0 to the capacity")?;
            within(
                "generator stop in Wh",
                g.stop_wh,
                g.start_wh,
                capacity_wh,
                "from its start to the capacity",
            )?;
        }
        not_negative("warm-up in s", g.warm_up_s)?;
        not_negative("shortest run in s", g.minimum_run_s)?;
        not_negative("idle fuel in l/h", g.idle_l_per_h)?;
        not_negative("fuel in l/kWh", g.l_per_kwh)?;
        not_negative("tank in l", g.tank_l)?;
        for (shed, restore) in self.shedding.shed_wh.iter().zip(self.shedding.restore_wh) {
            within("shedding in Wh", *shed, 0.0, capacity_wh, "from 0 to the capacity")?;
            within("restoring in Wh", restore, *shed, capacity_wh, "from the shedding to the capacity")?;
        }
        within("restart in Wh", self.shedding.restart_wh, 0.0, capacity_wh, "from 0 to the capacity")?;
        Ok(self)
    }
}
