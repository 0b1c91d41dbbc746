//! One moment or hour on a plane, with its derivation.

use derivation::{Known, formula};
use quantity::{Irradiance, Irradiation, Quantity, Ratio};

use super::{Moment, Plane, SkyModel, moment};
use crate::EnergyError;
use crate::error::{not_negative, within};
use crate::sun::RAD;

/// Light on a plane at one moment.
#[derive(Debug, Clone)]
pub struct KnownPlane {
    /// Angle of incidence, in degrees.
    pub incidence_deg: f64,
    /// Beam on the plane.
    pub beam: Known<Irradiance>,
    /// From the sky.
    pub sky: Known<Irradiance>,
    /// From the ground.
    pub ground: Known<Irradiance>,
    /// Together.
    pub total: Known<Irradiance>,
}

fn angle(symbol: &str, what: &str, value: f64, equation: &str) -> Known<Ratio> {
    Known::solved(symbol, what, Ratio::of(value), equation, 0.0, Vec::new())
}

/// Light on a plane at one moment; see the head of `plane`. No loss by incidence.
///
/// # Errors
/// As [`moment`].
#[allow(clippy::too_many_arguments)] // the facts of a moment
pub fn known_plane(
    model: SkyModel,
    plane: &Plane,
    zenith_deg: f64,
    sun_azimuth_deg: f64,
    DNI: &Known<Irradiance>,
    DHI: &Known<Irradiance>,
    GHI: &Known<Irradiance>,
    extra_w_m2: f64,
    air_mass: Option<f64>,
) -> Result<KnownPlane, EnergyError> {
    let (dni, dhi) = (DNI.value().si(), DHI.value().si());
    let found: Moment = moment(model, plane, zenith_deg, sun_azimuth_deg, dni, dhi, extra_w_m2, air_mass)?;
    within("global radiation in W/m2", GHI.value().si(), 0.0, 2000.0, "from 0 to 2000")?;
    let (sin_b, cos_b) = libm::sincos(plane.tilt_deg * RAD);
    let cos_a = angle(
        "cos_a",
        "cosine of the angle of incidence, 0 behind the plane",
        found.cos_incidence,
        "cos a = cos z cos b + sin z sin b cos(sun - plane)",
    );
    let V_s =
        angle("V_s", "share of the sky that the plane sees", (1.0 + cos_b) / 2.0, "V_s = (1 + cos b) / 2");
    let V_g =
        angle("V_g", "share of the ground that the plane sees", (1.0 - cos_b) / 2.0, "V_g = (1 - cos b) / 2");
    let low = model.lowest_cos();
    let R_b = angle(
        "R_b",
        "light from round the sun, plane over horizontal",
        found.cos_incidence / libm::cos(zenith_deg * RAD).max(low),
        "R_b = cos a / max(cos z, cos of the lowest sun)",
    );
    let rho = Known::assumed("rho", "reflectance of the ground", Ratio::of(plane.albedo), "as stated");
    let F_1 = angle("F_1", "share from round the sun", found.f1, "by the sky model");
    let F_2 = angle("F_2", "band over the horizon, times sin b", found.f2 * sin_b, "by the sky model");
    let beam = formula!("G_b", "beam on the plane", [DNI, cos_a] => DNI * cos_a);
    let sky = formula!(
        "G_d",
        "sky on the plane",
        [DHI, F_1, V_s, R_b, F_2] => (DHI * ((1.0 - F_1) * V_s + ratio(F_1 * R_b) + ratio(F_2))).max(Irradiance::ZERO),
        source = source(model)
    );
    let ground = formula!("G_r", "ground on the plane", [GHI, rho, V_g] => GHI * rho * V_g);
    let (G_b, G_d, G_r) = (&beam, &sky, &ground);
    let total = formula!("G", "light on the plane", [G_b, G_d, G_r] => G_b + G_d + G_r);
    Ok(KnownPlane { incidence_deg: found.incidence_deg, beam, sky, ground, total })
}

/// A ratio as the number that a ratio can be added to.
fn ratio(value: Ratio) -> f64 {
    value.si()
}

fn source(model: SkyModel) -> &'static str {
    match model {
        SkyModel::Isotropic => "Liu and Jordan 1963",
        SkyModel::HayDavies => "Hay and Davies 1980",
        SkyModel::Perez => "Perez et al., Solar Energy 44 (1990) 271",
    }
}

/// An hour's light on a tilted plane.
#[derive(Debug, Clone)]
pub struct KnownHour {
    /// Beam on the plane.
    pub beam: Known<Irradiation>,
    /// From the sky.
    pub sky: Known<Irradiation>,
    /// From the ground.
    pub ground: Known<Irradiation>,
    /// Together.
    pub total: Known<Irradiation>,
    /// The same over what falls on the horizontal.
    pub over_horizontal: Known<Ratio>,
}

/// An hour on a tilted plane under an even sky, with R_b (beam, plane over horizontal) at hand: beam, sky,
/// ground, and their sum (Duffie and Beckman 2.15).
///
/// # Errors
/// A tilt outside 0 to 180 degrees, a reflectance outside 0 to 1, negative radiation or R_b.
pub fn known_tilted_hour(
    I_b: &Known<Irradiation>,
    I_d: &Known<Irradiation>,
    R_b: &Known<Ratio>,
    rho: &Known<Ratio>,
    tilt_deg: f64,
) -> Result<KnownHour, EnergyError> {
    let tilt = within("tilt in degrees", tilt_deg, 0.0, 180.0, "from 0 to 180")?;
    within("reflectance of the ground", rho.value().si(), 0.0, 1.0, "from 0 to 1")?;
    not_negative("R_b", R_b.value().si())?;
    not_negative("beam in Wh/m2", I_b.value().si())?;
    not_negative("diffuse in Wh/m2", I_d.value().si())?;
    let cos_b = libm::cos(tilt * RAD);
    let V_s =
        angle("V_s", "share of the sky that the plane sees", (1.0 + cos_b) / 2.0, "V_s = (1 + cos b) / 2");
    let V_g =
        angle("V_g", "share of the ground that the plane sees", (1.0 - cos_b) / 2.0, "V_g = (1 - cos b) / 2");
    let beam = formula!("I_Tb", "beam on the plane", [I_b, R_b] => I_b * R_b);
    let sky = formula!("I_Td", "sky on the plane", [I_d, V_s] => I_d * V_s);
    let ground = formula!("I_Tr", "ground on the plane", [I_b, I_d, rho, V_g] => (I_b + I_d) * rho * V_g);
    let (I_Tb, I_Td, I_Tr) = (&beam, &sky, &ground);
    let total = formula!("I_T", "light on the plane", [I_Tb, I_Td, I_Tr] => I_Tb + I_Td + I_Tr);
    let I_T = &total;
    let over_horizontal = formula!("R", "plane over horizontal", [I_T, I_b, I_d] => I_T / (I_b + I_d));
    Ok(KnownHour { beam, sky, ground, total, over_horizontal })
}
