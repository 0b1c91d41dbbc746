use proptest::prelude::*;

use super::super::closure::{Hours, hold};
use super::super::{MonthlyMeans, WeatherError, year_from_months};
use super::{made, means, station};
use crate::sky::{cooper_declination_deg, extraterrestrial_daily_wh_m2, extraterrestrial_normal_w_m2};
use crate::sun::Observer;

/// What is made of GHI, DNI, DHI and air of an hour.
type Change<'a> = &'a dyn Fn(usize, [&mut f64; 4]);
type Expected = fn(&WeatherError) -> bool;

/// Light that no sky gives, each of it made of figures that are possible one by one.
#[test]
fn light_that_does_not_close_is_refused() {
    let changed = |change: &dyn Fn(usize, [&mut f64; 4])| {
        let mut year = made();
        for (k, row) in year.rows.iter_mut().enumerate() {
            let [mut g, mut n, mut d, mut t] = [13, 14, 15, 6].map(|c: usize| row[c].parse::<f64>().unwrap());
            change(k, [&mut g, &mut n, &mut d, &mut t]);
            for (column, value) in [(13, g), (14, n), (15, d), (6, t)] {
                row[column] = value.to_string();
            }
        }
        year.epw()
    };
    assert!(changed(&|_, _| {}).is_ok());
    // a few hours and a day that are off are no reason to refuse a year
    let few = changed(&|k, [g, n, ..]| {
        if k % 10 == 0 {
            *n *= 0.3;
        }
        if (4800..4824).contains(&k) {
            *g = 0.0;
        }
    });
    assert!(few.is_ok(), "{:?}", few.err());
    let cases: [(&str, Change<'_>, Expected); 12] = [
        ("diffuse is the whole", &|_, [g, _, d, _]| *d = *g, |e| matches!(e, WeatherError::Parts { .. })),
        ("direct is always strong", &|_, [g, n, ..]| *n = if *g > 0.0 { 1400.0 } else { 0.0 }, |e| {
            matches!(e, WeatherError::Parts { .. })
        }),
        ("direct is the whole", &|_, [g, n, ..]| *n = *g, |e| {
            matches!(e, WeatherError::Parts { .. } | WeatherError::HoursOpen { .. })
        }),
        ("no direct", &|_, [_, n, ..]| *n = 0.0, |e| matches!(e, WeatherError::Parts { .. })),
        ("no diffuse", &|_, [_, _, d, _]| *d = 0.0, |e| matches!(e, WeatherError::Parts { .. })),
        (
            "all is diffuse",
            &|_, [g, n, d, _]| (*n, *d) = (0.0, *g),
            |e| matches!(e, WeatherError::Diffuse { share_pct, .. } if *share_pct > 99.0),
        ),
        (
            "no diffuse in July, made up for by direct",
            &|k, [_, n, d, _]| {
                if (4344..5088).contains(&k) {
                    (*n, *d) = (*n / 0.7, 0.0);
                }
            },
            |e| matches!(e, WeatherError::Diffuse { .. }),
        ),
        (
            "parts that are off both ways",
            &|k, [_, n, ..]| *n *= if k / 24 % 2 == 0 { 1.6 } else { 0.4 },
            |e| matches!(e, WeatherError::HoursOpen { .. }),
        ),
        (
            "four of five days scaled",
            &|k, [g, n, d, _]| {
                if k / 24 % 5 > 0 {
                    (*g, *n, *d) = (*g * 1.5, *n * 1.5, *d * 1.5);
                }
            },
            |e| matches!(e, WeatherError::Days { count: 292, first: 2, .. } | WeatherError::Clearness { .. }),
        ),
        (
            "two months without light",
            &|k, [g, n, d, _]| {
                if k < 59 * 24 {
                    (*g, *n, *d) = (0.0, 0.0, 0.0);
                }
            },
            |e| matches!(e, WeatherError::Clearness { .. }),
        ),
        (
            "a week without light",
            &|k, [g, n, d, _]| {
                if (4800..4968).contains(&k) {
                    (*g, *n, *d) = (0.0, 0.0, 0.0);
                }
            },
            |e| matches!(e, WeatherError::Days { count: 7, first: 201, .. }),
        ),
        ("air stands still", &|_, [.., t]| *t = -60.0, |e| matches!(e, WeatherError::StillAir { .. })),
    ];
    for (what, change, as_expected) in cases {
        match changed(change) {
            Ok(_) => panic!("{what}: read"),
            Err(error) => assert!(as_expected(&error), "{what}: {error}"),
        }
    }
    // a tenth of all light
    let dim = changed(&|_, [g, n, d, _]| (*g, *n, *d) = (*g / 10.0, *n / 10.0, *d / 10.0));
    assert!(matches!(dim, Err(WeatherError::Clearness { .. })), "{:?}", dim.err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    /// A year drawn from means anywhere is light of one sky: the limits are wide of what is drawn.
    #[test]
    fn a_made_year_closes(seed in any::<u64>(), latitude in -55.0..55.0_f64, clear in 0.25..0.7_f64) {
        let outside = |m: usize| {
            let day = 30.4 * m as f64 + 15.0;
            let (dec, normal) = (cooper_declination_deg(day)?, extraterrestrial_normal_w_m2(day, 1361.0)?);
            extraterrestrial_daily_wh_m2(latitude, dec, normal)
        };
        let daily_wh_m2 = std::array::from_fn(|m| clear * outside(m).unwrap());
        let year = year_from_months(station(latitude), &MonthlyMeans { daily_wh_m2, ..means() }, seed).unwrap();
        let place = Observer::standard(latitude, 10.0, 200.0).unwrap();
        let held = hold(&year, &Hours::of(&place, 1.0).unwrap());
        prop_assert!(held.is_ok(), "{:?}", held.err());
    }
}
