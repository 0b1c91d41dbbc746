//! Radiation on tilted planes: beam, sky and ground; horizon; incidence.
//!
//! ```text
//! beam    DNI max(cos a, 0) m(a)                                     a: angle between beam and normal
//! sky     DHI ((1 - F1) (1 + cos b)/2 v + F1 max(cos a, 0)/max(cos z, low) + F2 sin b), never below 0
//! ground  GHI r (1 - cos b)/2                                        b: tilt, r: reflectance of the ground
//! ```
//!
//! F1 is the share of the sky's light that comes from round the sun, F2 what the band over the horizon adds;
//! they belong to the sky, not to the plane, so that all planes share them. Isotropic: F1 = F2 = 0 (Liu and
//! Jordan 1963). Hay and Davies (1980): F1 = DNI / extraterrestrial, F2 = 0. Perez et al., Solar Energy 44
//! (1990) 271: from tables. v is the part of the sky that the horizon profile leaves open (1 without a
//! profile); where it hides the sun, beam and the part round the sun are gone. m is the loss by reflection at
//! glancing incidence, on the beam only.

mod horizon;
mod known;
mod perez;

pub use horizon::Horizon;
pub use known::{KnownHour, KnownPlane, known_plane, known_tilted_hour};
pub use perez::{PerezFactors, perez_factors};

use crate::EnergyError;
use crate::error::within;
use crate::sky::air_mass;
use crate::sun::{RAD, SunColumns};

/// Solar constant in W/m2 (ASTM E490-00a: 1366.1; measurements since 2003 give 1361, which is taken here).
pub const SOLAR_CONSTANT_W_M2: f64 = 1361.0;

/// Global irradiance on the horizontal less what direct and diffuse make there, in W/m2: zero where the three belong
/// together. The zenith angle is in degrees.
pub fn closure_w_m2(ghi_w_m2: f64, dni_w_m2: f64, dhi_w_m2: f64, zenith_deg: f64) -> f64 {
    ghi_w_m2 - (dni_w_m2 * libm::cos(zenith_deg * RAD) + dhi_w_m2)
}

/// How the light of the sky is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SkyModel {
    /// Evenly.
    Isotropic,
    /// Evenly, and round the sun.
    HayDavies,
    /// Evenly, round the sun, and in a band over the horizon; coefficients of all sites together (1990).
    Perez,
}

impl SkyModel {
    /// Least cosine of the zenith angle that the part round the sun is divided by: 89 degrees, 85 with Perez.
    pub(crate) fn lowest_cos(self) -> f64 {
        match self {
            SkyModel::Perez => 0.087_155_742_747_658_17,
            SkyModel::HayDavies | SkyModel::Isotropic => 0.017_45,
        }
    }
}

/// What glass loses when light comes in flat.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Incidence {
    /// Nothing is taken off.
    Ignored,
    /// 1 - b0 (1/cos a - 1), never below 0 (ASHRAE 93; 0.05 is common for plain glass).
    Ashrae {
        /// The coefficient b0.
        b0: f64,
    },
}

/// A tilted plane.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Plane {
    /// From horizontal, in degrees, 0 to 180.
    pub tilt_deg: f64,
    /// Direction it faces, in degrees from north over east.
    pub azimuth_deg: f64,
    /// Share of light that the ground gives back.
    pub albedo: f64,
    /// Loss at flat incidence.
    pub incidence: Incidence,
}

/// Light on the horizontal and on a plane facing the sun, in W/m2.
#[derive(Debug, Clone, Copy)]
pub struct Radiation<'a> {
    /// Global, on the horizontal.
    pub ghi_w_m2: &'a [f64],
    /// Direct, facing the sun.
    pub dni_w_m2: &'a [f64],
    /// Diffuse, on the horizontal.
    pub dhi_w_m2: &'a [f64],
}

impl Radiation<'_> {
    pub(crate) fn checked(&self, count: usize) -> Result<(), EnergyError> {
        for (what, column) in [
            ("values of GHI", self.ghi_w_m2),
            ("values of DNI", self.dni_w_m2),
            ("values of DHI", self.dhi_w_m2),
        ] {
            if column.len() != count {
                return Err(EnergyError::Count {
                    what,
                    count: column.len(),
                    needed: format!("{count} are needed"),
                });
            }
            for value in column {
                within("radiation in W/m2", *value, 0.0, 2000.0, "from 0 to 2000")?;
            }
        }
        Ok(())
    }
}

/// F1 and F2 at every time.
#[derive(Debug, Clone, PartialEq)]
pub struct Sky {
    f1: Vec<f64>,
    f2: Vec<f64>,
    lowest_cos: f64,
}

/// F1 and F2 of a sky model at every time. With the sun below the horizon both are 0: twilight counts as
/// even.
///
/// # Errors
/// Columns of unlike length, radiation outside 0 to 2000 W/m2.
pub fn sky(model: SkyModel, sun: &SunColumns, light: &Radiation<'_>) -> Result<Sky, EnergyError> {
    let count = sun.up.len();
    light.checked(count)?;
    let (mut f1, mut f2) = (vec![0.0; count], vec![0.0; count]);
    let lights = light.dni_w_m2.iter().zip(light.dhi_w_m2);
    let suns = sun.up.iter().zip(&sun.distance_au);
    for (((dni, dhi), (up, distance)), (f1, f2)) in lights.zip(suns).zip(f1.iter_mut().zip(&mut f2)) {
        if *up <= 0.0 || *dhi <= 0.0 {
            continue;
        }
        let extra = SOLAR_CONSTANT_W_M2 / (distance * distance);
        match model {
            SkyModel::Isotropic => {}
            SkyModel::HayDavies => *f1 = (dni / extra).min(1.0),
            SkyModel::Perez => {
                let zenith = libm::acos(up.min(1.0));
                let m = crate::sky::kasten_young_of(zenith / RAD, *up);
                let found = perez::factors(zenith, *dni, *dhi, extra, m);
                (*f1, *f2) = (found.f1, found.f2);
            }
        }
    }
    Ok(Sky { f1, f2, lowest_cos: model.lowest_cos() })
}

/// The unit vector on a plane: up, south, west.
fn normal(plane: &Plane) -> [f64; 3] {
    let (sin_b, cos_b) = libm::sincos(plane.tilt_deg * RAD);
    let (sin_a, cos_a) = libm::sincos((plane.azimuth_deg - 180.0) * RAD);
    [cos_b, sin_b * cos_a, sin_b * sin_a]
}

impl Plane {
    /// The same, if it is a plane.
    ///
    /// # Errors
    /// A tilt outside 0 to 180, a direction outside -360 to 360 degrees, a reflectance outside 0 to 1, b0
    /// outside 0 to 1.
    pub fn checked(self) -> Result<Self, EnergyError> {
        within("tilt in degrees", self.tilt_deg, 0.0, 180.0, "from 0 to 180")?;
        within("direction in degrees", self.azimuth_deg, -360.0, 360.0, "from -360 to 360, north over east")?;
        within("reflectance of the ground", self.albedo, 0.0, 1.0, "from 0 to 1")?;
        if let Incidence::Ashrae { b0 } = self.incidence {
            within("b0", b0, 0.0, 1.0, "from 0 to 1")?;
        }
        Ok(self)
    }
}

impl Incidence {
    #[inline]
    fn factor(self, cos: f64) -> f64 {
        match self {
            Incidence::Ignored => 1.0,
            Incidence::Ashrae { b0 } => (1.0 - b0 * (1.0 / cos.max(1e-6) - 1.0)).max(0.0),
        }
    }
}

/// Light on a plane at every time, in W/m2: beam, sky and ground together, less what the horizon hides.
///
/// # Errors
/// Columns of unlike length, no plane.
pub fn plane_w_m2(
    plane: &Plane,
    sun: &SunColumns,
    light: &Radiation<'_>,
    sky: &Sky,
    horizon: Option<&Horizon>,
) -> Result<Vec<f64>, EnergyError> {
    let plane = plane.checked()?;
    let count = sun.up.len();
    for (what, column) in
        [("values of GHI", light.ghi_w_m2), ("values of DNI", light.dni_w_m2), ("values of F1", &sky.f1)]
    {
        if column.len() != count {
            return Err(EnergyError::Count {
                what,
                count: column.len(),
                needed: format!("{count} are needed"),
            });
        }
    }
    let n = normal(&plane);
    let sin_b = libm::sin(plane.tilt_deg * RAD);
    let (sees_sky, sees_ground) = ((1.0 + n[0]) / 2.0, (1.0 - n[0]) / 2.0 * plane.albedo);
    let open = horizon.map_or(1.0, Horizon::open_sky);
    let suns = sun.up.iter().zip(&sun.south).zip(&sun.west);
    let lights = light.ghi_w_m2.iter().zip(light.dni_w_m2).zip(light.dhi_w_m2);
    let skies = sky.f1.iter().zip(&sky.f2);
    let mut out = Vec::with_capacity(count);
    for ((((up, south), west), ((ghi, dni), dhi)), (f1, f2)) in suns.zip(lights).zip(skies) {
        let seen = horizon.is_none_or(|h| h.shows(*up, *south, *west));
        let above = if seen && *up > 0.0 { 1.0 } else { 0.0 };
        let cos = (n[0] * up + n[1] * south + n[2] * west).max(0.0) * above;
        let beam = dni * cos * plane.incidence.factor(cos);
        let round_sun = f1 * cos / up.max(sky.lowest_cos);
        let diffuse = (dhi * ((1.0 - f1) * sees_sky * open + round_sun + f2 * sin_b)).max(0.0);
        out.push(beam + diffuse + ghi * sees_ground);
    }
    Ok(out)
}

/// One moment on one plane, each part in W/m2.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Angle between the beam and the normal, in degrees; above 90 the sun is behind the plane.
    pub incidence_deg: f64,
    /// Its cosine, 0 where the sun is behind the plane.
    pub cos_incidence: f64,
    /// Share of the sky's light from round the sun.
    pub f1: f64,
    /// What the band over the horizon adds.
    pub f2: f64,
}

/// Angle of incidence and F1, F2 for a sun given by its angles. `relative_air_mass`: by Kasten and Young if
/// none.
///
/// # Errors
/// A zenith angle outside 0 to 90 degrees, radiation outside 0 to 2000 W/m2, no plane.
#[allow(clippy::too_many_arguments)] // the facts of a moment, each a plain number
pub fn moment(
    model: SkyModel,
    plane: &Plane,
    zenith_deg: f64,
    sun_azimuth_deg: f64,
    dni_w_m2: f64,
    dhi_w_m2: f64,
    extra_w_m2: f64,
    relative_air_mass: Option<f64>,
) -> Result<Moment, EnergyError> {
    let plane = plane.checked()?;
    let kasten = air_mass(zenith_deg)?;
    let m = within("air mass", relative_air_mass.unwrap_or(kasten), 0.3, 50.0, "from 0.3 to 50")?;
    within("direction of the sun in degrees", sun_azimuth_deg, -360.0, 360.0, "from -360 to 360")?;
    let dni = within("direct radiation in W/m2", dni_w_m2, 0.0, 2000.0, "from 0 to 2000")?;
    let dhi = within("diffuse radiation in W/m2", dhi_w_m2, 0.0, 2000.0, "from 0 to 2000")?;
    let extra =
        within("extraterrestrial radiation in W/m2", extra_w_m2, 1200.0, 1500.0, "from 1200 to 1500")?;
    let (sin_z, cos_z) = libm::sincos(zenith_deg * RAD);
    let (sin_a, cos_a) = libm::sincos((sun_azimuth_deg - 180.0) * RAD);
    let n = normal(&plane);
    let cos = n[0] * cos_z + n[1] * sin_z * cos_a + n[2] * sin_z * sin_a;
    let (f1, f2) = match model {
        SkyModel::Isotropic => (0.0, 0.0),
        SkyModel::HayDavies => ((dni / extra).min(1.0), 0.0),
        SkyModel::Perez => {
            let found = perez_factors(zenith_deg, dni, dhi, extra, m)?;
            (found.f1, found.f2)
        }
    };
    let incidence_deg = libm::acos(cos.clamp(-1.0, 1.0)) / RAD;
    Ok(Moment { incidence_deg, cos_incidence: cos.max(0.0), f1, f2 })
}

#[cfg(test)]
mod tests;
