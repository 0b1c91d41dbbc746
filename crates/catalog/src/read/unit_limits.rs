//! Reader of a unit's limits at its output: temperature, altitude, overload, surge.

use derivation::Place;
use quantity::{Duration, Length, Percent, Ratio, Resistance, Temperature};
use reading::Section;

use super::check;
use super::common::{amperes, entries, in_order, ladder, may, need, need_key, need_percent, span};
use super::unit::Output;
use crate::{AltitudeRating, Overload, Surge, UnderVoltage};

/// What limits the output beyond the continuous rating.
pub(super) struct Limits {
    pub temperature_curve: Vec<(Temperature, Ratio)>,
    pub altitude: AltitudeRating,
    pub overload: Vec<Overload>,
    pub overload_recovery: Option<Duration>,
    pub surge: Surge,
    pub output_impedance: Resistance,
    pub under_voltage: UnderVoltage,
    pub sharing_tolerance: Percent,
}

pub(super) fn limits(s: &Section<'_>, output: Option<&Output>) -> Option<Limits> {
    let temperature = temperature(s);
    let altitude = s.need_section("altitude", "rating against altitude", altitude);
    let overload = overload(s, output);
    let doc = "time below continuous power after which a spent overload is whole again, where stated";
    let overload_recovery = may(s, "overload_recovery", doc, span(1.0, 86_400.0));
    let surge =
        s.need_section("surge", "current limit and peak trip of one leg's bridge", |c| surge(c, output));
    let doc = "output impedance of one leg below the current limit, taken as resistance";
    let output_impedance = need(s, "output_impedance", doc, span(0.0, 5.0));
    let under_voltage = s.need_section("under_voltage", "output voltage at which the unit gives up", |u| {
        let below = u.need_fraction("below", "share of nominal", 0.3..=1.0);
        let after = need(u, "after", "after this time below it", span(0.0, 3600.0));
        Some(UnderVoltage { below: below?.value, after: after? })
    });
    let doc = "share by which a paralleled unit may carry more than its equal part";
    let sharing_tolerance = need_percent(s, "sharing_tolerance", doc, 50.0);
    if let (Some(overload), Some(surge), Some(output)) = (&overload, &surge, output) {
        let steps: Vec<_> = overload.iter().map(|(o, place)| (o.power, place)).collect();
        check::overload_within_surge(s, output, &steps, surge.current);
    }
    Some(Limits {
        temperature_curve: temperature?,
        altitude: altitude?,
        overload: overload?.into_iter().map(|(o, _)| o).collect(),
        overload_recovery,
        surge: surge?,
        output_impedance: output_impedance?,
        under_voltage: under_voltage?,
        sharing_tolerance: sharing_tolerance?,
    })
}

fn temperature(s: &Section<'_>) -> Option<Vec<(Temperature, Ratio)>> {
    let doc =
        "rating against room temperature: rising temperatures, factors that do not rise, two points or more";
    let points = entries(s, "temperature", doc, |p| {
        let at = need(p, "at", "room temperature", span(-60.0, 90.0));
        let factor = p.need_fraction("factor", "share of the rating", 0.05..=1.0);
        Some((at?, factor?.value))
    });
    need_key(s, "temperature", doc);
    let points = points?;
    check::temperature_curve(s, &points);
    Some(points.into_iter().map(|p| p.value).collect())
}

fn altitude(s: &Section<'_>) -> Option<AltitudeRating> {
    let full_to = need::<Length>(s, "full_to", "full rating up to here", span(0.0, 6000.0));
    let loss = need_percent(s, "loss_per_100_m", "share of the rating lost for every 100 m above", 10.0);
    let highest = need::<Length>(s, "highest", "must not be used above", span(0.0, 6000.0));
    if let (Some(full_to), Some(highest)) = (full_to, highest) {
        in_order(s, "highest", "`highest` is below `full_to`", full_to, highest);
        if let Some(loss) = loss {
            check::altitude(s, full_to, loss, highest);
        }
    }
    Some(AltitudeRating { full_to: full_to?, loss_per_100_m: loss?, highest: highest? })
}

fn overload(s: &Section<'_>, output: Option<&Output>) -> Option<Vec<(Overload, Place)>> {
    let doc = "powers that may be exceeded for a time, longest first; [] if none is allowed";
    let list = entries(s, "overload", doc, |o| {
        let power = need(o, "power", "total active power of the unit", span(100.0, 1e6));
        let lasts = need(o, "lasts", "how long at most", span(0.01, 86_400.0));
        Some(Overload { power: power?, lasts: lasts? })
    });
    need_key(s, "overload", doc);
    let list = list?;
    let steps: Vec<_> = list.iter().map(|e| (e.value.power, e.value.lasts, &e.place)).collect();
    ladder(s, "overload-order", output.map(|o| o.power), &steps);
    Some(list.into_iter().map(|e| (e.value, e.place)).collect())
}

fn surge(s: &Section<'_>, output: Option<&Output>) -> Option<Surge> {
    let current = need(s, "current", "RMS current per leg at which the bridge limits", amperes());
    let lasts = need(s, "lasts", "how long it holds that", span(0.001, 3600.0));
    let peak = need(s, "peak", "instantaneous trip of one leg's bridge", span(0.5, 200_000.0));
    if let (Some(current), Some(peak)) = (current, peak) {
        check::surge_peak(s, current, peak);
    }
    if let (Some(current), Some(output)) = (current, output) {
        check::surge_above_continuous(s, output, current);
    }
    Some(Surge { current: current?, lasts: lasts?, peak: peak? })
}
