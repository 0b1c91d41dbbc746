//! A weather file against the site that names it.
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)] // helpers of tests are tests too

mod support;

use std::fmt::Write as _;

use annual::{Asked, Made, findings, make};
use energy::weather::{MonthlyMeans, Station, Weather, year_from_months};
use finding::{Finding, Severity};
use reading::Files;
use support::with;

const FIELD_STATION: &str = include_str!("../../../examples/field-station/site.toml");

/// One file, by any name.
struct One(String);

impl Files for One {
    fn read(&self, _: &str) -> Result<Vec<u8>, String> {
        Ok(self.0.clone().into_bytes())
    }
}

/// The field station's own place.
const HERE: Station = Station {
    name: String::new(),
    latitude_deg: 46.8,
    longitude_deg: 10.6,
    elevation_m: 1450.0,
    utc_offset_h: 1.0,
};

fn drawn() -> Weather {
    let means = MonthlyMeans {
        daily_wh_m2: [1500., 2400., 3800., 4900., 5500., 5900., 5900., 5000., 3800., 2600., 1600., 1200.],
        air_degc: [-2., -2., 0., 4., 8., 12., 14., 13., 10., 6., 1., -1.],
        range_k: [6.0; 12],
        spread_k: [2.0; 12],
        wind_m_s: [1.0; 12],
    };
    year_from_months(HERE, &means, 4).unwrap()
}

/// The year as a file, whose head says what is asked for and whose hours begin so many hours later.
fn epw(head: &Station, weather: &Weather, later: usize) -> String {
    let Station { latitude_deg, longitude_deg, elevation_m, utc_offset_h, .. } = head;
    let mut text = format!(
        "LOCATION,Invented Ridge,ZZ,ZZZ,made,0,{latitude_deg},{longitude_deg},{utc_offset_h},{elevation_m}\n\
         DESIGN CONDITIONS,0\nTYPICAL/EXTREME PERIODS,0\nGROUND TEMPERATURES,0\nHOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\n\
         COMMENTS 1,invented\nCOMMENTS 2,invented\nDATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\n"
    );
    let days = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31];
    let stamps =
        (1..=12).zip(days).flat_map(|(m, n)| (1..=n).flat_map(move |d| (1..=24).map(move |h| (m, d, h))));
    for (k, (month, day, hour)) in stamps.enumerate() {
        let k = (k + later) % 8760;
        let _ = writeln!(
            text,
            "2001,{month},{day},{hour},60,x,{:.1},0,0,0,0,0,0,{:.1},{:.1},{:.1},0,0,0,0,0,{:.1},0,0",
            weather.air_degc[k],
            weather.ghi_w_m2[k],
            weather.dni_w_m2[k],
            weather.dhi_w_m2[k],
            weather.wind_m_s[k]
        );
    }
    text
}

/// The field station with a file in place of its means, and with its own temperatures replaced.
fn sited(temperature: &str) -> String {
    let from = FIELD_STATION.find("[weather]").unwrap();
    let to = from + FIELD_STATION[from..].find("[wish]").unwrap();
    let with = format!("{}[weather]\nfile = \"w.epw\"\n\n{}", &FIELD_STATION[..from], &FIELD_STATION[to..]);
    support::replaced(&with, "{ lowest = \"-18 degC\", high = \"29 degC\", room = \"28 degC\" }", temperature)
}

const OWN: &str = "{ lowest = \"-18 degC\", high = \"29 degC\", room = \"28 degC\" }";

fn refusal(made: &Result<Made, Vec<Finding>>) -> &Finding {
    let Err(refused) = made else { panic!("taken") };
    let [refused] = refused.as_slice() else { panic!("{refused:?}") };
    assert_eq!((refused.id, refused.severity), ("year-not-covered", Severity::NotCovered));
    refused
}

#[test]
fn a_file_of_another_place_is_refused_and_its_clock_is_brought_here() {
    let weather = drawn();
    with(&sited(OWN), |design, catalog| {
        let make = |head: &Station, weather: &Weather, later: usize| {
            let asked = Asked { step_s: 3600.0, seed: None };
            make(design, catalog, &One(epw(head, weather, later)), asked)
        };
        let warned = |head: &Station| {
            let found = findings(design, catalog, &One(epw(head, &weather, 0)));
            assert!(found.iter().all(|f| f.id != "year-not-covered"), "{found:?}");
            found.iter().any(|f| f.id == "weather-station-far" && f.severity == Severity::Warning)
        };
        let here = make(&HERE, &weather, 0).unwrap();
        assert!(
            here.notes.iter().any(|n| n.contains("Invented Ridge, 0 km from the site")),
            "{:?}",
            here.notes
        );
        assert!(!warned(&HERE));

        // the same hours by universal time give the same to the bit
        let utc = make(&Station { utc_offset_h: 0.0, ..HERE }, &weather, 1).unwrap();
        assert_eq!(here.array_w, utc.array_w);
        assert!(utc.notes.iter().any(|n| n.contains("1 h behind")), "{:?}", utc.notes);
        let half = make(&Station { utc_offset_h: 0.5, ..HERE }, &weather, 0);
        assert!(refusal(&half).message.contains("hours are moved whole only"));

        // 133 km north: a warning; 267 km: refused; likewise the height
        assert!(warned(&Station { latitude_deg: 48.0, ..HERE }));
        assert!(warned(&Station { elevation_m: 1000.0, ..HERE }));
        let far = make(&Station { latitude_deg: 49.2, ..HERE }, &weather, 0);
        assert!(refusal(&far).message.contains("267 km from the site"), "{far:?}");
        let low = make(&Station { elevation_m: 800.0, ..HERE }, &weather, 0);
        assert!(refusal(&low).message.contains("650 m below it"), "{low:?}");

        // the other half of the earth, with light that fits it: its summer is in January
        let mut south = weather.clone();
        for column in [&mut south.ghi_w_m2, &mut south.dni_w_m2, &mut south.dhi_w_m2] {
            column.rotate_left(182 * 24);
        }
        let south = make(&Station { latitude_deg: -46.8, ..HERE }, &south, 0);
        assert!(refusal(&south).message.contains("another place"), "{south:?}");
    });
}

/// What of the findings on the site's temperatures is there: id, severity, what to write.
fn ends(text: &str, files: &dyn Files) -> Vec<(&'static str, Severity, String)> {
    with(text, |design, catalog| {
        let found = findings(design, catalog, files).into_iter();
        let found = found.filter(|f| f.id.starts_with("weather-"));
        found
            .map(|f| (f.id, f.severity, f.fixes.first().map(ToString::to_string).unwrap_or_default()))
            .collect()
    })
}

/// The coldest hour of the file, and the temperature that no more than 175 of its hours exceed, against what the site
/// states: at them it holds, a tenth of a kelvin on the wrong side it does not.
#[test]
fn a_site_is_not_warmer_than_its_weather() {
    let weather = drawn();
    let file = One(epw(&HERE, &weather, 0));
    let mut air: Vec<i64> = weather.air_degc.iter().map(|t| (t * 10.0).round() as i64).collect();
    air.sort_unstable();
    let (lowest, high) = (air[0], air[8760 - 1 - 175]);
    let stated = |lowest: i64, high: i64| {
        let degc = |tenths: i64| format!("\"{:.1} degC\"", tenths as f64 / 10.0);
        sited(&format!("{{ lowest = {}, high = {}, room = \"28 degC\" }}", degc(lowest), degc(high)))
    };
    assert_eq!(ends(&stated(lowest, high), &file), []);
    let cold = ends(&stated(lowest + 1, high), &file);
    let [("weather-below-lowest", Severity::Error, fix)] = cold.as_slice() else { panic!("{cold:?}") };
    assert!(fix.contains(&format!("lowest = \"{} degC\"", lowest as f64 / 10.0)), "{fix}");
    let hot = ends(&stated(lowest, high - 1), &file);
    let [("weather-above-high", Severity::Warning, fix)] = hot.as_slice() else { panic!("{hot:?}") };
    assert!(fix.contains(&format!("high = \"{} degC\"", high as f64 / 10.0)), "{fix}");
}

/// By hand: the coldest month has a mean of -6, the hottest of 12 degrees, half of 10 K less and more.
#[test]
fn a_site_is_not_warmer_than_its_monthly_means() {
    let stated = |lowest: &str, high: &str| {
        let with = format!("{{ lowest = \"{lowest} degC\", high = \"{high} degC\", room = \"28 degC\" }}");
        ends(&support::replaced(FIELD_STATION, OWN, &with), &support::Nothing)
    };
    assert_eq!(stated("-18", "29"), []);
    assert_eq!(stated("-11", "17"), []);
    let both = stated("-10.9", "16.9");
    let [("weather-below-lowest", Severity::Error, cold), ("weather-above-high", Severity::Warning, hot)] =
        both.as_slice()
    else {
        panic!("{both:?}")
    };
    assert!(cold.contains("lowest = \"-11 degC\"") && hot.contains("high = \"17 degC\""), "{both:?}");
}
