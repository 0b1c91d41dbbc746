//! `[weather]`, `[tariff]`, `[policy]`, and how a generator runs.

use std::str::FromStr;

use quantity::{
    Duration, FuelRate, Irradiation, Quantity, QuantityError, Temperature, TemperatureSpan, Volume,
};
use reading::{Diagnostic, Placed, Section};

use super::label::{need_name, percent_in, weather_file};
use crate::{Days, GeneratorRun, HourSpan, Policy, PricePeriod, TariffWish, WeatherWish};

pub(super) fn weather(s: &Section<'_>) -> Option<WeatherWish> {
    let file = s
        .text("file", "EPW or TMY3 file beside the site file, of one year")
        .and_then(|text| weather_file(s, text));
    let radiation = s.quantities::<Irradiation>(
        "radiation",
        "mean radiation on the horizontal a day, twelve months, January first, such as \"4.2 kWh/m2\"",
    );
    let temperature = s.quantities::<Temperature>(
        "temperature",
        "mean air temperature, twelve months, January first, such as \"11 degC\"",
    );
    let daily_range = s.quantity_in(
        "daily_range",
        "mean difference of the day's highest and lowest temperature; left out, 10 K",
        TemperatureSpan::of(0.0)..=TemperatureSpan::of(40.0),
    );
    let seed = s.count("seed", "which of the years that fit the means is drawn; left out, 1", 0..=1_000_000);
    let place = s.place()?;
    let by_months = s.has("radiation") || s.has("temperature");
    if s.has("file") == by_months {
        let message =
            if by_months { "both a file and monthly means" } else { "neither a file nor monthly means" };
        s.mistake(
            Diagnostic::new("contradiction", message)
                .at(&place, "weather comes from one of them")
                .help("give `file`, or `radiation` and `temperature` with twelve values each"),
        );
        return None;
    }
    if by_months {
        twelve(s, "radiation", radiation.len())?;
        twelve(s, "temperature", temperature.len())?;
    }
    Some(WeatherWish { file, radiation, temperature, daily_range, seed, place })
}

fn twelve(s: &Section<'_>, key: &str, count: usize) -> Option<()> {
    if count != 12 {
        let message = format!("`{key}` has {count} values that can be read");
        s.mistake_at(key, "wrong-count", message, "give twelve, January first");
    }
    (count == 12).then_some(())
}

pub(super) fn tariff(s: &Section<'_>) -> Option<TariffWish> {
    let currency = need_name(s, "currency", "currency of all prices, such as \"USD\"");
    let price = -100_000.0..=100_000.0;
    let energy = s.need_fraction("energy", "price of a kWh at all times that no period names", price.clone());
    let export = s.fraction("export", "paid for a kWh that is fed in; left out, nothing", price.clone());
    let demand = s.fraction("demand", "for each kW of a month's highest mean, a month", 0.0..=100_000.0);
    let demand_interval = s.quantity_in(
        "demand_interval",
        "over which that mean is taken; left out, 15 min",
        Duration::of(60.0)..=Duration::of(3600.0),
    );
    let per_day = s.fraction("per_day", "fixed, a day", 0.0..=100_000.0);
    let periods =
        s.list("period", "a price that holds at some times only; the first that fits counts", period);
    Some(TariffWish {
        currency: currency?,
        energy: energy?,
        export,
        demand,
        demand_interval,
        per_day,
        periods,
        place: s.place()?,
    })
}

fn period(s: &Section<'_>) -> Option<PricePeriod> {
    let price = s.need_fraction("price", "price of a kWh", -100_000.0..=100_000.0);
    let hours = hours(s, "hours", "hours of local standard time, from and to; left out, all");
    let months = s.fractions("months", "months, 1 to 12; left out, all", 1.0..=12.0);
    for month in months.iter().filter(|m| m.value.si().fract() != 0.0) {
        s.mistake(Diagnostic::new("wrong-value", "no month").at(&month.place, "not one of 1 to 12"));
    }
    let days = s.choice(
        "days",
        "days of the week; left out, all",
        &[("all", Days::All), ("weekdays", Days::Weekdays), ("weekends", Days::Weekends)],
    );
    Some(PricePeriod { price: price?, hours, months, days })
}

fn hours(s: &Section<'_>, key: &str, doc: &str) -> Option<Placed<HourSpan>> {
    s.designation::<HourSpan>(key, doc, "16-21")
}

pub(super) fn policy(s: &Section<'_>) -> Option<Policy> {
    let policy = Policy {
        outage_reserve: percent_in(
            s,
            "outage_reserve",
            "share of the usable charge that is kept for outages; left out, all of it",
            0.0..=1.0,
        ),
        own_use_first: s.flag("own_use_first", "the battery serves loads above the reserve at any hour"),
        spend: hours(s, "spend", "hours in which the battery serves loads above the reserve"),
        fill: hours(s, "fill", "hours in which the battery is filled from the utility"),
        shed_first_below: percent_in(
            s,
            "shed_first_below",
            "charge below which the loads with the first shedding priority go off in an outage",
            0.0..=1.0,
        ),
        shed_all_below: percent_in(
            s,
            "shed_all_below",
            "charge below which all loads with a shedding priority go off in an outage",
            0.0..=1.0,
        ),
        place: s.place()?,
    };
    if let (Some(first), Some(all)) = (&policy.shed_first_below, &policy.shed_all_below)
        && all.value.share() > first.value.share()
    {
        s.mistake(
            Diagnostic::new("wrong-order", "all is shed before the first")
                .at(&all.place, "above the charge at which the first go off")
                .also(&first.place, "the first go off here")
                .help("exchange them"),
        );
    }
    Some(policy)
}

pub(super) fn generator_run(s: &Section<'_>) -> GeneratorRun {
    let fuel = || FuelRate::of(0.0)..=FuelRate::of(1000.0);
    let charge = 0.0..=1.0;
    let run = GeneratorRun {
        tank: s.quantity_in(
            "tank",
            "fuel that is there when an outage begins",
            Volume::of(0.0)..=Volume::of(100.0),
        ),
        fuel_idle: s.quantity_in("fuel_idle", "fuel without load", fuel()),
        fuel_full: s.quantity_in("fuel_full", "fuel at full load", fuel()),
        fuel_rating: percent_in(
            s,
            "fuel_rating",
            "share of its rating that it gives on the fuel that is used here, as its maker states; left out, all of it",
            0.3..=1.0,
        ),
        fuel_price: s.fraction("fuel_price", "price of a litre, in the tariff's currency", 0.0..=100_000.0),
        start_below: percent_in(
            s,
            "start_below",
            "charge of the battery below which it starts",
            charge.clone(),
        ),
        stop_above: percent_in(s, "stop_above", "charge above which it stops", charge),
        warm_up: s.quantity_in("warm_up", "time before it takes load", Duration::ZERO..=Duration::of(3600.0)),
        minimum_run: s.quantity_in("minimum_run", "shortest run", Duration::ZERO..=Duration::of(86_400.0)),
    };
    if let (Some(start), Some(stop)) = (&run.start_below, &run.stop_above)
        && stop.value.share() <= start.value.share()
    {
        s.mistake(
            Diagnostic::new("wrong-order", "the generator stops before it starts")
                .at(&stop.place, "not above the charge below which it starts")
                .also(&start.place, "it starts below this")
                .help("let it stop at a higher charge than it starts at"),
        );
    }
    run
}

impl FromStr for HourSpan {
    type Err = QuantityError;
    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let help = "write \"16-21\" for 16:00 to 21:00, \"22-6\" over midnight";
        let refuse = || QuantityError::new(format!("\"{text}\" are no hours of a day"), help);
        let (from, to) = text.trim().split_once('-').ok_or_else(refuse)?;
        let hour = |part: &str| part.trim().parse::<u32>().map_err(|_| refuse());
        let (from, to) = (hour(from)?, hour(to)?);
        if from > 23 || !(1..=24).contains(&to) || from == to {
            return Err(refuse());
        }
        Ok(HourSpan { from, to })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_go_over_midnight() {
        let night: HourSpan = "22-6".parse().unwrap();
        let held: Vec<usize> = (0..24).filter(|h| night.holds(*h)).collect();
        assert_eq!(held, [0, 1, 2, 3, 4, 5, 22, 23]);
        let evening: HourSpan = "16-21".parse().unwrap();
        assert!(evening.holds(16) && !evening.holds(21));
        for wrong in ["16", "16-16", "24-2", "3-25", "a-b", "5-0"] {
            assert!(wrong.parse::<HourSpan>().is_err(), "{wrong}");
        }
    }
}
