//! The site's lowest and high temperature against its own weather.

use derivation::{Known, formula};
use energy::weather::Weather;
use finding::{Finding, Severity};
use quantity::{Quantity, Temperature, TemperatureSpan, above};
use reading::Placed;
use saying::say;
use site::{Site, WeatherWish};

/// Share of the time that the site's high may be exceeded, as its key says.
const ABOVE_HIGH: f64 = 0.02;
/// What a day's highest lies over its lowest where the site does not say.
pub(crate) const DAILY_RANGE: TemperatureSpan = TemperatureSpan::of(10.0);

/// What the weather says of the coldest and of the hot end.
struct Ends {
    coldest: Known<Temperature>,
    hot: Known<Temperature>,
}

/// Findings where the weather goes beyond what the site states. `file`: what a file of the site's weather holds.
pub(crate) fn beyond(site: &Site, wish: &WeatherWish, file: Option<&Weather>) -> Vec<Finding> {
    let ends = match (&wish.file, file) {
        (Some(name), Some(weather)) => of_file(name, weather),
        _ => of_months(wish),
    };
    let Some(Ends { coldest, hot }) = ends else { return Vec::new() };
    let stated = &site.temperature;
    let nothing =
        Known::chosen("dT_0", "difference that may be", TemperatureSpan::of(0.0), "none", Vec::new());
    let mut found = Vec::new();
    if coldest.value() < stated.lowest.value {
        let lowest = stated.lowest.known("T_min", "lowest temperature of the site");
        let under = difference("weather under the site's lowest", &lowest, &coldest);
        let message = say!(
            "{what}: {coldest}, under the lowest that [site] states, {lowest}: strings in the cold and all that stands outdoors were held at too warm a temperature",
            what = coldest.node().what,
            coldest = coldest.value(),
            lowest = stated.lowest.value
        );
        let write = libm::floor(coldest.value().si() * 10.0) / 10.0;
        let finding = Finding::new("weather-below-lowest", Severity::Error, "site", message)
            .measured(under.node(), nothing.node())
            .at(Some(&stated.lowest.place), say!("lowest"))
            .fix(say!(
                "temperature = {{ lowest = \"{write} degC\", .. }} or lower, if the weather is that of the site",
                write
            ))
            .fix(say!("other weather, if it is not"));
        found.push(finding);
    }
    if hot.value() > stated.high.value {
        let high = stated.high.known("T_high", "high temperature of the site");
        let over = difference("weather over the site's high", &hot, &high);
        let message = say!(
            "{what}: {hot}, above the high that [site] states, {high}: conductors, generator and strings in the heat were held at too cool a temperature",
            what = hot.node().what,
            hot = hot.value(),
            high = stated.high.value
        );
        let write = libm::ceil(hot.value().si() * 10.0) / 10.0;
        let finding = Finding::new("weather-above-high", Severity::Warning, "site", message)
            .measured(over.node(), nothing.node())
            .at(Some(&stated.high.place), say!("high"))
            .fix(say!(
                "temperature = {{ .., high = \"{write} degC\", .. }} or higher, if the weather is that of the site",
                write
            ));
        found.push(finding);
    }
    found
}

fn difference(what: &str, T_1: &Known<Temperature>, T_2: &Known<Temperature>) -> Known<TemperatureSpan> {
    formula!("dT", what, [T_1, T_2] => above(T_1, T_2))
}

/// The coldest hour, and what is exceeded in as many hours as the site's high may be.
fn of_file(file: &Placed<String>, weather: &Weather) -> Option<Ends> {
    let mut air = weather.air_degc.clone();
    air.sort_by(f64::total_cmp);
    let over = (ABOVE_HIGH * air.len() as f64) as usize;
    let (coldest, hot) = (*air.first()?, *air.iter().rev().nth(over)?);
    let known = |symbol: &str, what: String, degc: f64| {
        Known::input(symbol, what, Temperature::of(degc), &file.place)
    };
    Some(Ends {
        coldest: known("T_w", format!("coldest hour of {}", file.value), coldest),
        hot: known("T_w", format!("exceeded in 2 % of the hours of {}", file.value), hot),
    })
}

/// Mean of the coldest and of the hottest month, less and plus half of what a day ranges over.
fn of_months(wish: &WeatherWish) -> Option<Ends> {
    let by = |a: &&Placed<Temperature>, b: &&Placed<Temperature>| a.value.si().total_cmp(&b.value.si());
    let (cold, hot) = (wish.temperature.iter().min_by(by)?, wish.temperature.iter().max_by(by)?);
    let dT_d = match &wish.daily_range {
        Some(range) => range.known("dT_d", "highest less lowest of a day"),
        None => Known::assumed("dT_d", "highest less lowest of a day", DAILY_RANGE, "the site does not say"),
    };
    let (T_c, T_h) =
        (cold.known("T_c", "mean of the coldest month"), hot.known("T_h", "mean of the hottest month"));
    Some(Ends {
        coldest: formula!("T_w", "a mean morning of the coldest month", [T_c, dT_d] => T_c + dT_d * -0.5),
        hot: formula!("T_w", "a mean afternoon of the hottest month", [T_h, dT_d] => T_h + dT_d * 0.5),
    })
}
