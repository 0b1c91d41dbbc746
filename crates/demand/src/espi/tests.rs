use super::*;
use proptest::prelude::*;
use quantity::Leg;

/// 2025-03-09 09:00 universal time, an hour before clocks go forward in a zone 8 h west.
const START: i64 = 1_741_510_800;

fn entry_of(links: &[(&str, &str)], title: &str, content: &str) -> String {
    let links: String =
        links.iter().map(|(rel, href)| format!("<link rel=\"{rel}\" href=\"{href}\"/>")).collect();
    format!("<entry>{links}<title>{title}</title><content>{content}</content></entry>\n")
}

/// One kind of reading with its intervals, under a number of its own.
fn channel(n: u32, kind: &str, readings: &str) -> String {
    let (meter, kind_of) = (format!("/Meter/{n}"), format!("/Type/{n}"));
    let block = format!("<espi:IntervalBlock>{readings}</espi:IntervalBlock>");
    entry_of(&[("self", &meter), ("related", &kind_of)], "", "<espi:MeterReading/>")
        + &entry_of(&[("self", &kind_of)], "", &format!("<espi:ReadingType>{kind}</espi:ReadingType>"))
        + &entry_of(&[("up", &format!("{meter}/IntervalBlock"))], "", &block)
}

fn time_zone() -> String {
    let content = "<espi:LocalTimeParameters><espi:dstEndRule>B40E2000</espi:dstEndRule>\
                   <espi:dstOffset>3600</espi:dstOffset><espi:dstStartRule>360E2000</espi:dstStartRule>\
                   <espi:tzOffset>-28800</espi:tzOffset></espi:LocalTimeParameters>";
    entry_of(&[], "", content)
}

fn meter(title: &str) -> String {
    let content = "<espi:UsagePoint><espi:ServiceCategory><espi:kind>0</espi:kind></espi:ServiceCategory></espi:UsagePoint>";
    entry_of(&[], title, content)
}

fn feed(entries: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?>\n<feed xmlns=\"http://www.w3.org/2005/Atom\" \
         xmlns:espi=\"http://naesb.org/espi\">\n{entries}</feed>"
    )
}

fn kind(uom: i64, more: &str) -> String {
    format!("<espi:uom>{uom}</espi:uom>{more}")
}

fn reading(start: i64, length: i64, value: i64) -> String {
    format!(
        "<espi:IntervalReading><espi:timePeriod><espi:duration>{length}</espi:duration>\
         <espi:start>{start}</espi:start></espi:timePeriod><espi:value>{value}</espi:value></espi:IntervalReading>"
    )
}

fn quarter_hours(values: &[i64]) -> String {
    (0i64..).zip(values).map(|(k, v)| reading(START + 900 * k, 900, *v)).collect()
}

fn taken(entries: &str) -> Result<Series, String> {
    let source = SourceText::new("meter.xml", &feed(&(time_zone() + entries)));
    read(&source, VoltageSystem::Split120_240, 0.8)
        .map_err(|all| all.iter().map(|d| d.message.clone()).collect::<Vec<_>>().join("\n"))
}

fn total(series: &Series) -> Track {
    series.total()
}

#[track_caller]
fn refused(entries: &str, why: &str) {
    let said = taken(entries).unwrap_err();
    assert!(said.contains(why), "{said}");
}

/// 250 Wh in a quarter of an hour are 1 kW; the multiplier counts; without VA the power factor does.
#[test]
fn energy_becomes_mean_power() {
    let one = meter("house") + &channel(1, &kind(72, ""), &quarter_hours(&[250, 500]));
    let series = taken(&one).unwrap();
    assert_eq!(series.start.to_string(), "2025-03-09T01:00:00");
    assert_eq!(
        total(&series),
        Track { interval_s: 900.0, w: vec![1000.0, 2000.0], va: vec![1250.0, 2500.0] }
    );
    let milli = kind(72, "<espi:powerOfTenMultiplier>-3</espi:powerOfTenMultiplier>");
    assert_eq!(
        total(&taken(&channel(1, &milli, &quarter_hours(&[250_000, 1])).clone()).unwrap()).w,
        [1000.0, 0.004]
    );
    let watts = kind(38, "<espi:powerOfTenMultiplier>3</espi:powerOfTenMultiplier>");
    assert_eq!(total(&taken(&channel(1, &watts, &quarter_hours(&[4, 5]))).unwrap()).w, [4000.0, 5000.0]);
}

#[test]
fn several_channels_of_one_meter_join() {
    let wh = channel(1, &kind(72, ""), &quarter_hours(&[75, 75]));
    let varh = channel(2, &kind(73, ""), &quarter_hours(&[100, 0]));
    let volts = channel(3, &kind(29, ""), &quarter_hours(&[120, 120]));
    let found = total(&taken(&(wh.clone() + &varh + &volts)).unwrap());
    assert_eq!((found.w, found.va), (vec![300.0, 300.0], vec![500.0, 300.0]));
    let vah = channel(2, &kind(71, ""), &quarter_hours(&[100, 50]));
    assert_eq!(total(&taken(&(wh.clone() + &vah)).unwrap()).va, [400.0, 300.0], "never below W");
    assert_eq!(total(&taken(&vah).unwrap()).w, [400.0, 200.0]);
    refused(&(wh.clone() + &channel(2, &kind(72, ""), &quarter_hours(&[1, 1]))), "second series");
    refused(&(wh + &channel(2, &kind(73, ""), &quarter_hours(&[1]))), "same intervals");
}

/// Clocks change within the recording; universal time runs on, and so does the series. Blocks in any order.
#[test]
fn clock_changes_leave_no_mark() {
    let hours: String = (0..6).rev().map(|k| reading(START + 3600 * k, 3600, 100 + k)).collect();
    let series = taken(&channel(1, &kind(72, ""), &hours)).unwrap();
    assert_eq!(total(&series).w, [100.0, 101.0, 102.0, 103.0, 104.0, 105.0]);
    assert_eq!(series.start.to_string(), "2025-03-09T01:00:00");
}

#[test]
fn readings_without_period_follow_each_other() {
    let value = |v| format!("<espi:IntervalReading><espi:value>{v}</espi:value></espi:IntervalReading>");
    let interval = format!(
        "<espi:interval><espi:duration>1800</espi:duration><espi:start>{START}</espi:start></espi:interval>"
    );
    let block = interval + &value(250) + &value(500);
    let kind_900 = kind(72, "<espi:intervalLength>900</espi:intervalLength>");
    assert_eq!(total(&taken(&channel(1, &kind_900, &block)).unwrap()).w, [1000.0, 2000.0]);
    refused(&channel(1, &kind(72, ""), &block), "without start, duration or value");
}

#[test]
fn what_hides_demand_is_refused() {
    let wh = |more: &str, readings: &str| channel(1, &kind(72, more), readings);
    let good = quarter_hours(&[250, 500]);
    refused(&(meter("house") + &meter("barn") + &wh("", &good)), "2 electricity meters: \"house\", \"barn\"");
    let gap = reading(START, 900, 1) + &reading(START + 1800, 900, 1);
    refused(&wh("", &gap), "900 s are missing");
    refused(&wh("", &(reading(START, 900, 1) + &reading(START, 900, 1))), "twice");
    refused(&wh("", &(reading(START, 900, 1) + &reading(START + 900, 1800, 1))), "900 s and 1800 s");
    refused(&wh("", &(reading(START, 90, 1) + &reading(START + 90, 90, 1))), "90 s");
    refused(&wh("", &quarter_hours(&[250, -1])), "flows back");
    refused(&wh("", &quarter_hours(&[250])), "fewer than two");
    refused(&wh("<espi:accumulationBehaviour>1</espi:accumulationBehaviour>", &good), "register");
    refused(&wh("<espi:flowDirection>20</espi:flowDirection>", &good), "both directions");
    refused(&wh("<espi:phase>128</espi:phase>", &good), "one phase");
    refused(&wh("<espi:dataQualifier>9</espi:dataQualifier>", &good), "no mean");
    refused(&wh("<espi:powerOfTenMultiplier>4</espi:powerOfTenMultiplier>", &good), "no such multiplier");
    let guessed = good.replacen(
        "</espi:timePeriod>",
        "</espi:timePeriod><espi:ReadingQuality><espi:quality>8</espi:quality></espi:ReadingQuality>",
        1,
    );
    refused(&wh("", &guessed), "estimated");
    let back = channel(2, &kind(72, "<espi:flowDirection>19</espi:flowDirection>"), &quarter_hours(&[0, 3]));
    refused(&(wh("", &good) + &back), "flows back");
    let nothing =
        channel(2, &kind(72, "<espi:flowDirection>19</espi:flowDirection>"), &quarter_hours(&[0, 0]));
    assert!(taken(&(wh("", &good) + &nothing)).is_ok());
    refused(&channel(1, &kind(29, ""), &good), "no reading type of electric power");
    // two types, and a block whose links lead nowhere
    let lost = (wh("", &good) + &channel(2, &kind(73, ""), &good)).replacen("/Meter/2/", "/Meter/9/", 1);
    refused(&lost, "cannot be told");
}

#[test]
fn no_time_zone_no_xml_no_feed() {
    let read = |text: &str| read(&SourceText::new("m.xml", text), VoltageSystem::Single230, 0.8);
    let entries = channel(1, &kind(72, ""), &quarter_hours(&[250, 500]));
    let said = read(&feed(&entries)).unwrap_err();
    assert!(said[0].message.contains("local standard time"), "{}", said[0].message);
    assert!(read("<feed><entry></feed>").unwrap_err()[0].message.contains("no XML"));
    assert!(read("<!DOCTYPE a [<!ENTITY b \"c\">]><a>&b;</a>").is_err());
    assert!(read("<html><body>sign in</body></html>").is_err());
    // a service with one leg has its demand on that leg
    let one = read(&feed(&(time_zone() + &entries))).unwrap();
    assert!(matches!(one.tracks, Tracks::Legs(ref legs) if legs.len() == 1 && legs[0].0 == Leg::L1));
}

/// The CSV reader opens the feed by its first character.
#[test]
fn the_reader_of_series_knows_the_feed() {
    let text = feed(&(time_zone() + &channel(1, &kind(72, ""), &quarter_hours(&[250, 500]))));
    let bytes = format!("\u{feff}{text}").into_bytes();
    let series = crate::series::read("m.xml", &bytes, VoltageSystem::Split120_240, 0.8).unwrap();
    assert_eq!(total(&series).w, [1000.0, 2000.0]);
}

proptest! {
    /// The energy of the file is the energy of the series, whatever the multiplier and interval.
    #[test]
    fn energy_is_kept(
        values in prop::collection::vec(0i64..100_000, 2..40),
        multiplier in prop::sample::select(vec![-3i32, -1, 0, 2, 3]),
        minutes in 1i64..=60,
    ) {
        let length = minutes * 60;
        let readings: String =
            (0i64..).zip(&values).map(|(k, v)| reading(START + length * k, length, *v)).collect();
        let kind = kind(72, &format!("<espi:powerOfTenMultiplier>{multiplier}</espi:powerOfTenMultiplier>"));
        let series = taken(&channel(1, &kind, &readings)).unwrap();
        let wh: f64 = total(&series).w.iter().sum::<f64>() * length as f64 / 3600.0;
        let file = values.iter().sum::<i64>() as f64 * libm::pow(10.0, f64::from(multiplier));
        prop_assert!((wh - file).abs() <= 1e-9 * file.max(1.0), "{wh} {file}");
    }

    /// No text makes the reader stop.
    #[test]
    fn damaged_feeds_are_refused_in_words(cut in 0usize..4000, junk in "[<>/a-z0-9 ]{0,12}") {
        let text = feed(&(time_zone() + &channel(1, &kind(72, ""), &quarter_hours(&[250, 500, 750]))));
        let cut = cut.min(text.len());
        let damaged = format!("{}{junk}{}", &text[..cut], &text[cut..]);
        let source = SourceText::new("m.xml", &damaged);
        match read(&source, VoltageSystem::Split120_240, 0.8) {
            Ok(series) => prop_assert!(series.total().w.iter().all(|w| w.is_finite() && *w >= 0.0)),
            Err(all) => prop_assert!(!all.is_empty() && all.len() <= MOST_MISTAKES),
        }
    }
}
