use proptest::prelude::*;

use super::*;
use crate::sun::{Frames, Observer, columns};
use crate::time::unix_s;

fn plane(tilt_deg: f64, azimuth_deg: f64) -> Plane {
    Plane { tilt_deg, azimuth_deg, albedo: 0.2, incidence: Incidence::Ignored }
}

fn day(latitude: f64) -> SunColumns {
    let start = unix_s(2025, 4, 10, 0.0).unwrap();
    let place = Observer::standard(latitude, 10.0, 0.0).unwrap();
    columns(&Frames::new(start, 86_400.0).unwrap(), &place, start, 600.0, 144).unwrap()
}

proptest! {
    /// A flat plane gets what falls on the horizontal (the part round a low sun apart, where the models hold
    /// the divisor), and no plane gets less than nothing.
    #[test]
    fn a_flat_plane_gets_the_global_light(
        latitude in -65.0..65.0, dni in 0.0..900.0, dhi in 1.0..400.0, tilt in 0.0..180.0, azimuth in 0.0..360.0,
    ) {
        let sun = day(latitude);
        let n = sun.up.len();
        let (beam, diffuse) = (vec![dni; n], vec![dhi; n]);
        let ghi: Vec<f64> = sun.up.iter().map(|up| dhi + dni * up.max(0.0)).collect();
        let light = Radiation { ghi_w_m2: &ghi, dni_w_m2: &beam, dhi_w_m2: &diffuse };
        for model in [SkyModel::Isotropic, SkyModel::HayDavies, SkyModel::Perez] {
            let sky = sky(model, &sun, &light).unwrap();
            let flat = plane_w_m2(&plane(0.0, 77.0), &sun, &light, &sky, None).unwrap();
            for k in 0..n {
                if sun.up[k] > 0.09 || sun.up[k] < 0.0 || model == SkyModel::Isotropic {
                    prop_assert!((flat[k] - ghi[k]).abs() < 1e-9 * ghi[k], "{model:?} {} {}", flat[k], ghi[k]);
                }
            }
            let tilted = plane_w_m2(&plane(tilt, azimuth), &sun, &light, &sky, None).unwrap();
            prop_assert!(tilted.iter().all(|g| g.is_finite() && *g >= 0.0));
        }
    }

    /// A horizon never adds light; a horizon of no height takes none; one to the zenith leaves the ground's.
    #[test]
    fn a_horizon_only_takes(heights in prop::collection::vec(0.0..60.0, 4), azimuth in 0.0..360.0) {
        let sun = day(45.0);
        let n = sun.up.len();
        let (beam, diffuse, ghi) = (vec![700.0; n], vec![80.0; n], vec![500.0; n]);
        let light = Radiation { ghi_w_m2: &ghi, dni_w_m2: &beam, dhi_w_m2: &diffuse };
        let sky = sky(SkyModel::HayDavies, &sun, &light).unwrap();
        let on = |horizon: Option<&Horizon>| plane_w_m2(&plane(30.0, azimuth), &sun, &light, &sky, horizon).unwrap();
        let points: Vec<(f64, f64)> = heights.iter().enumerate().map(|(k, h)| (80.0 * k as f64 + 3.5, *h)).collect();
        let free = on(None);
        let hidden = on(Some(&Horizon::new(&points).unwrap()));
        prop_assert!(free.iter().zip(&hidden).all(|(f, h)| h <= f));
        prop_assert_eq!(&on(Some(&Horizon::new(&[(0.0, 0.0)]).unwrap())), &free);
        let ground = 500.0 * 0.2 * (1.0 - libm::cos(30.0 * RAD)) / 2.0;
        let dark = on(Some(&Horizon::new(&[(0.0, 90.0)]).unwrap()));
        prop_assert!(dark.iter().all(|g| (g - ground).abs() < 1e-9));
    }
}

#[test]
fn a_point_of_the_horizon_hides_the_sun_where_it_stands() {
    let horizon = Horizon::new(&[(90.0, 0.0), (120.3, 20.0), (150.0, 0.0)]).unwrap();
    let toward = |azimuth: f64, height: f64| {
        let (sin, cos) = libm::sincos(height * RAD);
        let (west, south) = libm::sincos((azimuth - 180.0) * RAD);
        horizon.shows(sin, cos * south, cos * west)
    };
    assert!(!toward(120.3, 19.9) && toward(120.3, 20.1));
    assert!(!toward(105.5, 10.0) && toward(105.5, 11.0));
    assert!(toward(300.0, 0.1) && !toward(300.0, -0.1));
    assert!(Horizon::new(&[(90.0, 5.0), (80.0, 5.0)]).is_err());
    assert!(Horizon::new(&[]).is_err());
}

#[test]
fn flat_incidence_takes_from_the_beam() {
    let m = Incidence::Ashrae { b0: 0.05 };
    // 60 degrees: 1 - 0.05 (2 - 1)
    assert!((m.factor(0.5) - 0.95).abs() < 1e-12);
    assert!((m.factor(1.0) - 1.0).abs() < 1e-12);
    assert!(m.factor(0.001).abs() < 1e-12);
}
