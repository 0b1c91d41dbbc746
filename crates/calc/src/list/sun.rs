//! The sun: days, positions, angles, radiation outside the atmosphere, air mass, clear skies.

use energy::sky::{
    absolute_air_mass, air_mass, cooper_declination_deg, day_angles, extraterrestrial_daily_wh_m2,
    extraterrestrial_normal_w_m2, extraterrestrial_span_wh_m2, fao_declination_deg, fao_inverse_distance,
    haurwitz_ghi_w_m2, pressure_at_pa, spencer_equation_of_time_s,
};
use energy::sun::{Observer, Rise, geocentric, position, rise_set};
use energy::time::{delta_t_s, julian_day, julian_day_of, parse_unix_s};

use super::rising;
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![
        julian(),
        sun_position(),
        solar_time(),
        sun_angles(),
        outside_day(),
        outside_normal(),
        masses(),
        pressure(),
        clear_sky(),
    ]
}

pub(super) fn latitude() -> In {
    In::number("latitude_deg", M::DEGREE, "latitude, north positive").within(-90.0, 90.0)
}

pub(super) fn day_number() -> In {
    In::number(
        "day_of_year",
        M::NUMBER,
        "day of the year, 1 for the first of January; a fraction is a part of that day",
    )
    .within(1.0, 366.0)
}

fn julian() -> Calculation {
    Calculation {
        id: "julian-day",
        purpose: "Julian day of a Gregorian date",
        inputs: vec![
            In::number("year", M::NUMBER, "year").within(1583.0, 6000.0),
            In::number("month", M::NUMBER, "month").within(1.0, 12.0),
            In::number("day", M::NUMBER, "day, with the time as its fraction").within(1.0, 32.0),
        ],
        outputs: vec![Out::new("julian_day", M::NUMBER, "Julian day")],
        run: |given| {
            let (year, month) = (given.plain("year")?, given.plain("month")?);
            if year.fract().abs() > 0.0 || month.fract().abs() > 0.0 {
                return Err(CalcError::NotCovered("year and month are whole numbers".to_owned()));
            }
            let day = julian_day(year as i64, month as i64, given.plain("day")?)?;
            Ok(Results::default().plain("julian_day", day))
        },
    }
}

fn sun_position() -> Calculation {
    Calculation {
        id: "sun-position",
        purpose: "Where the sun stands at a time and place (NREL/TP-560-34302)",
        inputs: vec![
            In::text("time", "date and time, as 2003-10-17T12:30:30"),
            In::number("offset_h", M::HOUR, "the clock's zone, hours east of UTC").within(-14.0, 14.0),
            latitude(),
            In::number("longitude_deg", M::DEGREE, "longitude, east positive").within(-180.0, 180.0),
            In::number("elevation_m", M::METRE, "height above sea level").within(-500.0, 9000.0).or("0"),
            In::number(
                "pressure_pa",
                M::PASCAL,
                "air pressure, for refraction; that of the height if not given",
            )
            .within(20_000.0, 120_000.0)
            .if_given(),
            In::number("air_degc", M::CELSIUS, "air temperature, for refraction")
                .within(-90.0, 60.0)
                .or("12"),
            In::number("delta_t_s", M::SECOND, "terrestrial minus universal time; from a table if not given")
                .within(-100.0, 10_000.0)
                .if_given(),
        ],
        outputs: vec![
            Out::new("elevation_deg", M::DEGREE, "elevation without refraction"),
            Out::new("apparent_zenith_deg", M::DEGREE, "angle from the zenith, with refraction"),
            Out::new("azimuth_deg", M::DEGREE, "direction from north over east"),
            Out::new("right_ascension_deg", M::DEGREE, "geocentric right ascension"),
            Out::new("declination_deg", M::DEGREE, "geocentric declination"),
            Out::new("distance_au", M::NUMBER, "distance of sun and earth in astronomical units"),
            Out::new("equation_of_time_s", M::SECOND, "apparent minus mean solar time"),
            Out::new("rise_h", M::HOUR, "sunrise by the same clock"),
            Out::new("transit_h", M::HOUR, "passage of the meridian by the same clock"),
            Out::new("set_h", M::HOUR, "sunset by the same clock"),
            Out::new("julian_day", M::NUMBER, "Julian day, universal time"),
        ],
        run: run_position,
    }
}

fn run_position(given: &Given) -> Result<Results, CalcError> {
    let offset_h = given.plain("offset_h")?;
    let at = parse_unix_s(given.word("time")?, offset_h)?;
    let elevation_m = given.plain("elevation_m")?;
    let pressure_pa = match given.has("pressure_pa") {
        true => given.plain("pressure_pa")?,
        false => pressure_at_pa(elevation_m)?,
    };
    let place = Observer {
        latitude_deg: given.plain("latitude_deg")?,
        longitude_deg: given.plain("longitude_deg")?,
        elevation_m,
        pressure_pa,
        temperature_degc: given.plain("air_degc")?,
    };
    let delta = if given.has("delta_t_s") { given.plain("delta_t_s")? } else { delta_t_s(at) };
    let found = position(&place, at, Some(delta))?;
    let sun = geocentric(julian_day_of(at), delta);
    // the date that the clock shows
    let midnight = ((at + offset_h * 3600.0) / 86_400.0).floor() * 86_400.0;
    let results = Results::default()
        .plain("elevation_deg", found.geometric_elevation_deg)
        .plain("apparent_zenith_deg", found.apparent_zenith_deg)
        .plain("azimuth_deg", found.azimuth_deg)
        .plain("right_ascension_deg", sun.right_ascension_deg)
        .plain("declination_deg", sun.declination_deg)
        .plain("distance_au", found.distance_au)
        .plain("equation_of_time_s", found.equation_of_time_s)
        .plain("julian_day", found.julian_day);
    Ok(match rise_set(&place, midnight, delta)? {
        Rise::RisesAndSets(times) => {
            let local = times.local(offset_h);
            results
                .plain("rise_h", local.rise_utc_h)
                .plain("transit_h", local.transit_utc_h)
                .plain("set_h", local.set_utc_h)
        }
        Rise::AlwaysUp | Rise::AlwaysDown => results,
    })
}

fn solar_time() -> Calculation {
    Calculation {
        id: "solar-time",
        purpose: "Solar time from standard time, by day number (Spencer)",
        inputs: vec![
            day_number(),
            In::number("standard_h", M::HOUR, "standard time").within(0.0, 24.0),
            In::number("longitude_west_deg", M::DEGREE, "longitude, west positive").within(-180.0, 180.0),
            In::number("meridian_west_deg", M::DEGREE, "meridian of the standard time, west positive")
                .within(-180.0, 180.0),
        ],
        outputs: vec![
            Out::new("equation_of_time_s", M::SECOND, "apparent minus mean solar time"),
            Out::new("solar_h", M::HOUR, "solar time, from 0 to 24 h"),
            Out::new("day_shift", M::NUMBER, "days by which its date differs: -1 is the day before"),
        ],
        run: |given| {
            let equation_s = spencer_equation_of_time_s(given.plain("day_of_year")?)?;
            let west = given.plain("meridian_west_deg")? - given.plain("longitude_west_deg")?;
            let solar_h = energy::time::solar_h(given.plain("standard_h")?, west, equation_s);
            let shift = (solar_h / 24.0).floor();
            Ok(Results::default()
                .plain("equation_of_time_s", equation_s)
                .plain("solar_h", solar_h - 24.0 * shift)
                .plain("day_shift", shift))
        },
    }
}

fn sun_angles() -> Calculation {
    Calculation {
        id: "sun-angles",
        purpose: "Altitude, azimuth and length of day from declination and hour angle",
        inputs: vec![
            latitude(),
            In::number("declination_deg", M::DEGREE, "declination of the sun").within(-23.5, 23.5),
            In::number("hour_angle_deg", M::DEGREE, "hour angle, afternoon positive").within(-180.0, 180.0),
        ],
        outputs: vec![
            Out::new("altitude_deg", M::DEGREE, "altitude above the horizon"),
            Out::new("azimuth_deg", M::DEGREE, "direction from south, west positive"),
            Out::new("sin_azimuth", M::NUMBER, "its sine"),
            Out::new("day_length_h", M::HOUR, "length of the day"),
            Out::new("sunset_h", M::HOUR, "sunset in solar time"),
        ],
        run: |given| {
            let plain = |key| given.plain(key);
            let found =
                day_angles(plain("latitude_deg")?, plain("declination_deg")?, plain("hour_angle_deg")?)?;
            Ok(Results::default()
                .plain("altitude_deg", found.altitude_deg)
                .plain("azimuth_deg", found.azimuth_from_south_deg)
                .plain("sin_azimuth", found.sin_azimuth())
                .plain("day_length_h", found.day_length_h)
                .plain("sunset_h", found.sunset_h()))
        },
    }
}

fn outside_day() -> Calculation {
    Calculation {
        id: "extraterrestrial-day",
        purpose: "Radiation on the horizontal outside the atmosphere, over a day and a span of hours",
        inputs: vec![
            latitude(),
            day_number(),
            In::number("constant_w_m2", M::IRRADIANCE, "solar constant").within(1300.0, 1400.0).or("1361"),
            In::word(
                "declination",
                "formula of the declination: Cooper or FAO paper 56 (whose own solar constant, 0.0820 MJ/m2/min or 1366.67 W/m2, is to be given as constant_w_m2)",
                &["cooper", "fao56"],
            ),
            In::number("from_h", M::HOUR, "solar hour at which the span begins").within(0.0, 24.0).or("0"),
            In::number("to_h", M::HOUR, "solar hour at which it ends").within(0.0, 24.0).or("24"),
        ],
        outputs: vec![
            Out::new("daily_wh_m2", M::IRRADIATION, "over the day"),
            Out::new("span_wh_m2", M::IRRADIATION, "over the span"),
            Out::new("declination_deg", M::DEGREE, "declination"),
            Out::new("sunset_hour_angle_deg", M::DEGREE, "hour angle of the sunset"),
            Out::new("inverse_distance", M::NUMBER, "inverse relative distance of the earth"),
            Out::new("day_length_h", M::HOUR, "length of the day"),
        ],
        run: run_outside_day,
    }
}

fn run_outside_day(given: &Given) -> Result<Results, CalcError> {
    let (latitude, n) = (given.plain("latitude_deg")?, given.plain("day_of_year")?);
    let declination = if given.word("declination")? == "fao56" {
        fao_declination_deg(n)?
    } else {
        cooper_declination_deg(n)?
    };
    let inverse = fao_inverse_distance(n)?;
    let normal = given.plain("constant_w_m2")? * inverse;
    let angles = day_angles(latitude, declination, 0.0)?;
    rising(given, "from_h", "to_h")?;
    let hour = |key| -> Result<f64, CalcError> { Ok((given.plain(key)? - 12.0) * 15.0) };
    let span = extraterrestrial_span_wh_m2(latitude, declination, normal, hour("from_h")?, hour("to_h")?)?;
    Ok(Results::default()
        .plain("daily_wh_m2", extraterrestrial_daily_wh_m2(latitude, declination, normal)?)
        .plain("span_wh_m2", span)
        .plain("declination_deg", declination)
        .plain("sunset_hour_angle_deg", angles.sunset_hour_angle_deg)
        .plain("inverse_distance", inverse)
        .plain("day_length_h", angles.day_length_h))
}

fn outside_normal() -> Calculation {
    Calculation {
        id: "extraterrestrial-normal",
        purpose: "Radiation facing the sun outside the atmosphere (Spencer)",
        inputs: vec![
            day_number(),
            In::number("constant_w_m2", M::IRRADIANCE, "solar constant").within(1300.0, 1400.0).or("1361"),
        ],
        outputs: vec![Out::new("normal_w_m2", M::IRRADIANCE, "facing the sun")],
        run: |given| {
            let found =
                extraterrestrial_normal_w_m2(given.plain("day_of_year")?, given.plain("constant_w_m2")?)?;
            Ok(Results::default().plain("normal_w_m2", found))
        },
    }
}

fn masses() -> Calculation {
    Calculation {
        id: "air-mass",
        purpose: "Relative air mass by Kasten and Young",
        inputs: vec![In::number("zenith_deg", M::DEGREE, "apparent angle from the zenith").within(0.0, 90.0)],
        outputs: vec![Out::new("relative", M::NUMBER, "relative air mass")],
        run: |given| Ok(Results::default().plain("relative", air_mass(given.plain("zenith_deg")?)?)),
    }
}

fn pressure() -> Calculation {
    Calculation {
        id: "air-pressure",
        purpose: "Pressure of the standard atmosphere at a height, and air mass corrected for it",
        inputs: vec![
            In::number("elevation_m", M::METRE, "height above sea level").within(-500.0, 9000.0),
            In::number("relative_air_mass", M::NUMBER, "relative air mass").or("1"),
        ],
        outputs: vec![
            Out::new("pressure_pa", M::PASCAL, "pressure"),
            Out::new("absolute", M::NUMBER, "air mass times pressure over 101,325 Pa"),
        ],
        run: |given| {
            let pressure = pressure_at_pa(given.plain("elevation_m")?)?;
            let absolute = absolute_air_mass(given.plain("relative_air_mass")?, pressure);
            Ok(Results::default().plain("pressure_pa", pressure).plain("absolute", absolute))
        },
    }
}

fn clear_sky() -> Calculation {
    Calculation {
        id: "clear-sky",
        purpose: "Global horizontal irradiance under a clear sky (Haurwitz)",
        inputs: vec![
            In::number("zenith_deg", M::DEGREE, "apparent angle from the zenith").within(0.0, 180.0),
        ],
        outputs: vec![Out::new("ghi_w_m2", M::IRRADIANCE, "on the horizontal")],
        run: |given| Ok(Results::default().plain("ghi_w_m2", haurwitz_ghi_w_m2(given.plain("zenith_deg")?)?)),
    }
}
