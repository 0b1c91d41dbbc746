//! Light on tilted planes.

use derivation::Known;
use energy::plane::{Incidence, KnownPlane, Plane, SkyModel, closure_w_m2, known_plane, known_tilted_hour};
use energy::sky::{clear_day, collector_on_clear_day, cooper_declination_deg, incidence_deg};
use quantity::{Irradiance, Quantity};

use super::sun::{day_number, latitude};
use crate::error::CalcError;
use crate::given::Given;
use crate::measure::Measure as M;
use crate::outcome::Results;
use crate::spec::{Calculation, InputSpec as In, OutputSpec as Out};

pub(super) fn all() -> Vec<Calculation> {
    vec![plane_irradiance(), tilted_hour(), incidence(), clear_day_collector()]
}

fn tilt() -> In {
    In::number("tilt_deg", M::DEGREE, "tilt of the plane from horizontal").within(0.0, 180.0)
}

fn albedo() -> In {
    In::number("albedo", M::NUMBER, "share of light that the ground gives back").within(0.0, 1.0).or("0.2")
}

fn plane_irradiance() -> Calculation {
    let light = |key, what| In::number(key, M::IRRADIANCE, what).within(0.0, 2000.0);
    Calculation {
        id: "plane-irradiance",
        purpose: "Light on a tilted plane at one moment, by three models of the sky",
        inputs: vec![
            tilt(),
            In::number("azimuth_deg", M::DEGREE, "direction it faces, from north over east")
                .within(-360.0, 360.0),
            In::number("zenith_deg", M::DEGREE, "apparent angle of the sun from the zenith")
                .within(0.0, 90.0),
            In::number("sun_azimuth_deg", M::DEGREE, "direction of the sun, from north over east")
                .within(-360.0, 360.0),
            light("dni_w_m2", "direct, facing the sun"),
            light("dhi_w_m2", "diffuse, on the horizontal"),
            light("ghi_w_m2", "global, on the horizontal"),
            In::number("extra_w_m2", M::IRRADIANCE, "facing the sun outside the atmosphere")
                .within(1200.0, 1500.0),
            In::number("air_mass", M::NUMBER, "relative air mass; Kasten and Young if not given").if_given(),
            albedo(),
        ],
        outputs: vec![
            Out::new("isotropic_w_m2", M::IRRADIANCE, "on the plane, even sky"),
            Out::new("hay_davies_w_m2", M::IRRADIANCE, "on the plane, Hay and Davies"),
            Out::new("perez_w_m2", M::IRRADIANCE, "on the plane, Perez (all sites, 1990)"),
            Out::new("beam_w_m2", M::IRRADIANCE, "beam on the plane"),
            Out::new("ground_w_m2", M::IRRADIANCE, "from the ground"),
            Out::new("incidence_deg", M::DEGREE, "angle between beam and normal"),
            Out::new("closure_w_m2", M::IRRADIANCE, "ghi less what dni and dhi make on the horizontal"),
            Out::new("note", M::WORD, "where the three do not belong together"),
        ],
        run: run_plane,
    }
}

fn run_plane(given: &Given) -> Result<Results, CalcError> {
    let plane = Plane {
        tilt_deg: given.plain("tilt_deg")?,
        azimuth_deg: given.plain("azimuth_deg")?,
        albedo: given.plain("albedo")?,
        incidence: Incidence::Ignored,
    };
    let (zenith, azimuth) = (given.plain("zenith_deg")?, given.plain("sun_azimuth_deg")?);
    let dni: Known<Irradiance> = given.one("dni_w_m2", "DNI")?;
    let (dhi, ghi) = (given.one("dhi_w_m2", "DHI")?, given.one("ghi_w_m2", "GHI")?);
    let extra = given.plain("extra_w_m2")?;
    let mass = if given.has("air_mass") { Some(given.plain("air_mass")?) } else { None };
    let by = |model| -> Result<KnownPlane, CalcError> {
        Ok(known_plane(model, &plane, zenith, azimuth, &dni, &dhi, &ghi, extra, mass)?)
    };
    let even = by(SkyModel::Isotropic)?;
    let gap = closure_w_m2(ghi.value().si(), dni.value().si(), dhi.value().si(), zenith);
    let results = if gap.abs() > CLOSURE_W_M2.max(CLOSURE_SHARE * ghi.value().si()) {
        Results::default().text(
            "note",
            format!(
                "ghi_w_m2 differs by {gap:.0} W/m2 from dni cos(zenith) + dhi: one of the three is wrong, and so is what follows"
            ),
        )
    } else {
        Results::default()
    };
    Ok(results
        .plain("closure_w_m2", gap)
        .known("isotropic_w_m2", &even.total)
        .known("hay_davies_w_m2", &by(SkyModel::HayDavies)?.total)
        .known("perez_w_m2", &by(SkyModel::Perez)?.total)
        .known("beam_w_m2", &even.beam)
        .known("ground_w_m2", &even.ground)
        .plain("incidence_deg", even.incidence_deg))
}

/// From here on global, direct and diffuse light do not belong together; usual checks of measured series allow about
/// this much (common practice).
const CLOSURE_W_M2: f64 = 20.0;
const CLOSURE_SHARE: f64 = 0.1;

fn tilted_hour() -> Calculation {
    let sum = |key, what| In::number(key, M::IRRADIATION, what).within(0.0, 1e5);
    Calculation {
        id: "tilted-hour",
        purpose: "An hour's light on a tilted plane under an even sky, from R_b",
        inputs: vec![
            sum("beam_wh_m2", "beam on the horizontal"),
            sum("diffuse_wh_m2", "diffuse on the horizontal"),
            In::number("rb", M::NUMBER, "beam on the plane over beam on the horizontal").within(0.0, 100.0),
            tilt(),
            albedo(),
        ],
        outputs: vec![
            Out::new("total_wh_m2", M::IRRADIATION, "on the plane"),
            Out::new("on_plane_beam_wh_m2", M::IRRADIATION, "beam"),
            Out::new("on_plane_sky_wh_m2", M::IRRADIATION, "from the sky"),
            Out::new("on_plane_ground_wh_m2", M::IRRADIATION, "from the ground"),
            Out::new("over_horizontal", M::NUMBER, "on the plane over on the horizontal"),
        ],
        run: |given| {
            let (beam, diffuse) = (given.one("beam_wh_m2", "I_b")?, given.one("diffuse_wh_m2", "I_d")?);
            let (rb, rho) = (given.one("rb", "R_b")?, given.one("albedo", "rho")?);
            let found = known_tilted_hour(&beam, &diffuse, &rb, &rho, given.plain("tilt_deg")?)?;
            Ok(Results::default()
                .known("total_wh_m2", &found.total)
                .known("on_plane_beam_wh_m2", &found.beam)
                .known("on_plane_sky_wh_m2", &found.sky)
                .known("on_plane_ground_wh_m2", &found.ground)
                .known("over_horizontal", &found.over_horizontal))
        },
    }
}

fn incidence() -> Calculation {
    Calculation {
        id: "incidence-angle",
        purpose: "Angle between the sun's beam and a plane's normal, by day number and solar time",
        inputs: vec![
            latitude(),
            day_number(),
            In::number("solar_h", M::HOUR, "solar time").within(0.0, 24.0),
            tilt(),
            In::number("from_south_deg", M::DEGREE, "direction of the plane from south, west positive")
                .within(-180.0, 180.0),
        ],
        outputs: vec![
            Out::new("incidence_deg", M::DEGREE, "angle of incidence"),
            Out::new("declination_deg", M::DEGREE, "declination after Cooper"),
        ],
        run: |given| {
            let declination = cooper_declination_deg(given.plain("day_of_year")?)?;
            let hour = (given.plain("solar_h")? - 12.0) * 15.0;
            let (tilt, facing) = (given.plain("tilt_deg")?, given.plain("from_south_deg")?);
            let angle = incidence_deg(given.plain("latitude_deg")?, declination, hour, tilt, facing)?;
            Ok(Results::default().plain("incidence_deg", angle).plain("declination_deg", declination))
        },
    }
}

fn clear_day_collector() -> Calculation {
    Calculation {
        id: "clear-day-collector",
        purpose: "Clear-day beam and light on a collector at solar noon (ASHRAE 1993 form, Masters)",
        inputs: vec![
            latitude(),
            day_number(),
            In::number("declination_deg", M::DEGREE, "declination of the sun").within(-23.5, 23.5),
            tilt(),
            In::number("from_south_deg", M::DEGREE, "direction of the collector from south, west positive")
                .within(-180.0, 180.0),
            In::number("sky_factor", M::NUMBER, "diffuse on the horizontal over beam").within(0.0, 1.0),
            albedo(),
        ],
        outputs: vec![
            Out::new("flux_w_m2", M::IRRADIANCE, "apparent extraterrestrial flux A"),
            Out::new("optical_depth", M::NUMBER, "optical depth k"),
            Out::new("altitude_deg", M::DEGREE, "altitude of the sun at noon"),
            Out::new("air_mass", M::NUMBER, "air mass 1 / sin(altitude)"),
            Out::new("beam_w_m2", M::IRRADIANCE, "beam, facing the sun"),
            Out::new("on_plane_beam_w_m2", M::IRRADIANCE, "beam on the collector"),
            Out::new("on_plane_sky_w_m2", M::IRRADIANCE, "sky on the collector"),
            Out::new("on_plane_ground_w_m2", M::IRRADIANCE, "ground on the collector"),
            Out::new("on_plane_w_m2", M::IRRADIANCE, "together"),
        ],
        run: |given| {
            let plain = |key| given.plain(key);
            let (latitude, declination) = (plain("latitude_deg")?, plain("declination_deg")?);
            let altitude = 90.0 - (latitude - declination).abs();
            let day = clear_day(plain("day_of_year")?, altitude)?;
            let incidence =
                incidence_deg(latitude, declination, 0.0, plain("tilt_deg")?, plain("from_south_deg")?)?;
            let on = collector_on_clear_day(
                &day,
                altitude,
                incidence,
                plain("tilt_deg")?,
                plain("sky_factor")?,
                plain("albedo")?,
            )?;
            Ok(Results::default()
                .plain("flux_w_m2", day.flux_w_m2)
                .plain("optical_depth", day.optical_depth)
                .plain("altitude_deg", altitude)
                .plain("air_mass", day.air_mass)
                .plain("beam_w_m2", day.beam_w_m2)
                .plain("on_plane_beam_w_m2", on[0])
                .plain("on_plane_sky_w_m2", on[1])
                .plain("on_plane_ground_w_m2", on[2])
                .plain("on_plane_w_m2", on[0] + on[1] + on[2]))
        },
    }
}
