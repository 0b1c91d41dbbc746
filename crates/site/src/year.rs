//! What a site says of its weather, its tariff and how its energy is used.

use derivation::Place;
use quantity::{Duration, FuelRate, Irradiation, Percent, Ratio, Temperature, TemperatureSpan, Volume};
use reading::Placed;

/// Where the weather of the year comes from.
#[derive(Debug, Clone)]
pub struct WeatherWish {
    /// EPW or TMY3 file beside the site file.
    pub file: Option<Placed<String>>,
    /// Mean radiation on the horizontal a day, January first; twelve, or none with a file.
    pub radiation: Vec<Placed<Irradiation>>,
    /// Mean air temperature, January first; likewise.
    pub temperature: Vec<Placed<Temperature>>,
    /// Mean difference of the day's highest and lowest temperature.
    pub daily_range: Option<Placed<TemperatureSpan>>,
    /// Which of the years that fit the means is drawn.
    pub seed: Option<Placed<u32>>,
    /// Where the table stands.
    pub place: Place,
}

/// Hours of a day, from the beginning of the first to the beginning of the second, over midnight where that is
/// smaller.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HourSpan {
    /// First hour, 0 to 23.
    pub from: u32,
    /// Hour that is no longer in it, 1 to 24.
    pub to: u32,
}

impl HourSpan {
    /// Whether an hour of the day lies in it.
    pub fn holds(self, hour: usize) -> bool {
        let (from, to) = (self.from as usize, self.to as usize);
        if from < to { (from..to).contains(&hour) } else { hour >= from || hour < to }
    }
}

/// Days of the week on which a price holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Days {
    /// All of them.
    All,
    /// Monday to Friday.
    Weekdays,
    /// Saturday and Sunday.
    Weekends,
}

/// A price that holds at some times only.
#[derive(Debug, Clone)]
pub struct PricePeriod {
    /// Price of a kilowatt-hour.
    pub price: Placed<Ratio>,
    /// Hours; none is all.
    pub hours: Option<Placed<HourSpan>>,
    /// Months 1 to 12; none is all.
    pub months: Vec<Placed<Ratio>>,
    /// Days; none is all.
    pub days: Option<Placed<Days>>,
}

/// What energy costs.
#[derive(Debug, Clone)]
pub struct TariffWish {
    /// Currency of all prices.
    pub currency: Placed<String>,
    /// Price of a kilowatt-hour at all times that no period names.
    pub energy: Placed<Ratio>,
    /// Paid for a kilowatt-hour that is fed in; none where nothing is paid.
    pub export: Option<Placed<Ratio>>,
    /// For each kilowatt of a month's highest mean.
    pub demand: Option<Placed<Ratio>>,
    /// Over which that mean is taken.
    pub demand_interval: Option<Placed<Duration>>,
    /// Fixed, a day.
    pub per_day: Option<Placed<Ratio>>,
    /// Dearer or cheaper times; the first that fits counts.
    pub periods: Vec<PricePeriod>,
    /// Where the table stands.
    pub place: Place,
}

/// How the energy of array and battery is used.
#[derive(Debug, Clone)]
pub struct Policy {
    /// Share of the usable charge that is kept for outages; none keeps all of it.
    pub outage_reserve: Option<Placed<Percent>>,
    /// The battery serves loads above the reserve at any hour.
    pub own_use_first: Option<Placed<bool>>,
    /// Hours in which it serves loads above the reserve.
    pub spend: Option<Placed<HourSpan>>,
    /// Hours in which it is filled from the utility.
    pub fill: Option<Placed<HourSpan>>,
    /// Charge below which the tier that is shed first goes off in an outage.
    pub shed_first_below: Option<Placed<Percent>>,
    /// Charge below which all that may be shed goes off in an outage.
    pub shed_all_below: Option<Placed<Percent>>,
    /// Where the table stands.
    pub place: Place,
}

/// Fuel of a generator and when it runs by itself.
#[derive(Debug, Clone, Default)]
pub struct GeneratorRun {
    /// Fuel that is there when an outage begins.
    pub tank: Option<Placed<Volume>>,
    /// Fuel without load.
    pub fuel_idle: Option<Placed<FuelRate>>,
    /// Fuel at full load.
    pub fuel_full: Option<Placed<FuelRate>>,
    /// Share of its rating that it gives on the fuel used here; none: on that of its record.
    pub fuel_rating: Option<Placed<Percent>>,
    /// Price of a litre, in the tariff's currency.
    pub fuel_price: Option<Placed<Ratio>>,
    /// Charge of the battery below which it starts.
    pub start_below: Option<Placed<Percent>>,
    /// Charge above which it stops.
    pub stop_above: Option<Placed<Percent>>,
    /// Time before it takes load.
    pub warm_up: Option<Placed<Duration>>,
    /// Shortest run.
    pub minimum_run: Option<Placed<Duration>>,
}
