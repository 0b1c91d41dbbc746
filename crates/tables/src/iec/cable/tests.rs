use super::*;

fn every() -> Vec<Cable> {
    let mut all = Vec::new();
    for &metal in Metal::ALL {
        for &insulation in Insulation::ALL {
            for &method in Method::ALL {
                for &loaded in Loaded23::ALL {
                    all.push(Cable { metal, insulation, method, loaded });
                }
            }
        }
    }
    all.retain(|&cable| sections(cable).is_ok());
    all
}

fn a(cable: Cable, mm2: f64) -> Option<f64> {
    capacity(cable, Section::of(mm2)).ok().map(|k| k.value().si())
}

fn degc(t: f64) -> Known<Temperature> {
    Known::assumed("t", "ambient", Temperature::of(t), "test")
}

/// Every row is found by the words, none by two.
#[test]
fn every_row_belongs_to_one_cable() {
    let rows: usize = every().iter().map(|&cable| sections(cable).unwrap().len()).sum();
    // "touching" with two loaded conductors serves both words of method F: 4 x 10 rows twice
    assert_eq!(rows, of(&AMPACITY).unwrap().len() + 40);
    assert_eq!(every().len(), 4 * (10 + 12));
}

#[test]
fn capacity_rises_with_section_and_falls_with_loaded_conductors() {
    let mut uneven = std::collections::BTreeSet::new();
    for cable in every() {
        let sizes = sections(cable).unwrap();
        assert!(sizes.windows(2).all(|w| w[0] < w[1]), "{}", cable.name());
        let amps: Vec<f64> = sizes.iter().map(|s| a(cable, s.si()).unwrap()).collect();
        assert!(amps.windows(2).all(|w| w[0] < w[1]), "{}", cable.name());
        // between two sections the current grows as a power of 0.395 to 0.8 of the section
        for (s, i) in sizes.windows(2).zip(amps.windows(2)) {
            let power = libm::log(i[1] / i[0]) / libm::log(s[1].si() / s[0].si());
            if !(0.395..=0.80).contains(&power) {
                assert!(power < 0.395, "{} {} rises too fast", cable.name(), s[1]);
                uneven.insert(format!("{} {} to {}", cable.name(), s[0], s[1]));
            }
        }
        let fewer = Cable { loaded: Loaded23::Two, ..cable };
        for s in sizes {
            if let Some(two) = a(fewer, s.si()) {
                assert!(a(cable, s.si()).unwrap() <= two, "{} {s}", cable.name());
            }
        }
    }
    // where the standard itself is uneven, and two cells where the lower of two figures stands
    let known = [
        "aluminium, PVC, method F-flat, 2 loaded 240 mm2 to 300 mm2",
        "aluminium, PVC, method F-trefoil, 2 loaded 240 mm2 to 300 mm2",
        "aluminium, XLPE, method B1, 3 loaded 120 mm2 to 150 mm2",
        "aluminium, XLPE, method B2, 2 loaded 120 mm2 to 150 mm2",
        "aluminium, XLPE, method C, 3 loaded 16 mm2 to 25 mm2",
        "aluminium, XLPE, method D2, 2 loaded 95 mm2 to 120 mm2",
        "aluminium, XLPE, method E, 2 loaded 16 mm2 to 25 mm2",
    ];
    assert_eq!(uneven.iter().map(String::as_str).collect::<Vec<_>>(), known);
}

#[test]
fn copper_carries_more_than_aluminium_and_xlpe_more_than_pvc() {
    for cable in every().into_iter().filter(|cable| cable.metal == Metal::Aluminium) {
        for s in sections(cable).unwrap() {
            let copper = a(Cable { metal: Metal::Copper, ..cable }, s.si()).unwrap();
            let ratio = a(cable, s.si()).unwrap() / copper;
            assert!((0.70..=0.83).contains(&ratio), "{} {s}: {ratio}", cable.name());
        }
    }
    for cable in every().into_iter().filter(|cable| cable.insulation == Insulation::Pvc) {
        for s in sections(cable).unwrap() {
            let xlpe = a(Cable { insulation: Insulation::Xlpe, ..cable }, s.si()).unwrap();
            assert!(a(cable, s.si()).unwrap() < xlpe, "{} {s}", cable.name());
        }
    }
}

/// Known cells, and what is not there.
#[test]
fn known_cells_and_refusals() {
    let c = |method, loaded| Cable { metal: Metal::Copper, insulation: Insulation::Pvc, method, loaded };
    assert_eq!(a(c(Method::A1, Loaded23::Two), 1.5), Some(14.5));
    assert_eq!(a(c(Method::C, Loaded23::Three), 16.0), Some(76.0));
    assert_eq!(a(c(Method::B1, Loaded23::Two), 2.5), Some(24.0));
    assert_eq!(a(c(Method::B1, Loaded23::Two), 0.5), None);
    assert_eq!(a(c(Method::B1, Loaded23::Two), 3.0), None);
    assert_eq!(a(c(Method::B1, Loaded23::Two), 400.0), None);
    assert!(sections(c(Method::GVertical, Loaded23::Two)).is_err());
    let single = Cable { metal: Metal::Aluminium, ..c(Method::A1, Loaded23::Two) };
    let explained = capacity(single, Section::of(6.0)).unwrap();
    assert!(
        explained.node().source().contains("confirm in the adopted code"),
        "{}",
        explained.node().source()
    );
}

#[test]
fn temperature_takes_the_next_hotter_row_and_ends_below_the_conductors_temperature() {
    let f = |i, ground, t| temperature_factor(i, ground, &degc(t)).ok().map(|k| k.value().si());
    assert_eq!(f(Insulation::Pvc, false, 30.0), Some(1.0));
    assert_eq!(f(Insulation::Pvc, true, 20.0), Some(1.0));
    assert_eq!(f(Insulation::Pvc, false, 33.0), f(Insulation::Pvc, false, 35.0));
    assert_eq!(f(Insulation::Xlpe, false, -20.0), Some(1.15));
    assert_eq!(f(Insulation::Pvc, false, 60.1), None);
    assert_eq!(f(Insulation::Xlpe, false, 90.0), None);
    assert_eq!(f(Insulation::Xlpe, false, f64::NAN), None);
    // the tables follow the root of the rise that is left, to their rounding
    for (ground, base) in [(false, 30.0), (true, 20.0)] {
        for (insulation, top) in [(Insulation::Pvc, 70.0), (Insulation::Xlpe, 90.0)] {
            let mut last = f64::INFINITY;
            for t in (10..=80).step_by(5) {
                let Some(found) = f(insulation, ground, f64::from(t)) else { continue };
                let formula = ((top - f64::from(t)) / (top - base)).sqrt();
                assert!((found - formula).abs() < 0.013, "{t}: {found} {formula}");
                assert!(found < last);
                last = found;
            }
        }
    }
}

#[test]
fn wetter_soil_carries_more_and_drier_than_the_table_is_refused() {
    let f = |m, r| {
        let soil = Known::assumed("r", "soil", SoilResistivity::of(r), "test");
        soil_factor(m, &soil).ok().map(|k| k.value().si())
    };
    for method in [Method::D1, Method::D2] {
        let all: Vec<f64> =
            [0.5, 0.7, 1.0, 1.5, 2.0, 2.5, 3.0].iter().map(|&r| f(method, r).unwrap()).collect();
        assert!(all.windows(2).all(|w| w[0] > w[1]));
        assert_eq!(f(method, 2.5), Some(1.0));
        assert_eq!(f(method, 2.6), f(method, 3.0));
        assert_eq!(f(method, 3.1), None);
    }
    assert_eq!(f(Method::C, 1.0), None);
}

#[test]
fn harmonics_by_their_rows() {
    let f = |share| {
        let found = harmonic_factor(&Known::assumed("h", "share", Ratio::of(share), "test")).ok();
        found.map(|h| (h.factor.value().si(), h.by_neutral))
    };
    assert_eq!(
        [0.0, 0.15, 0.16, 0.33].map(|h| f(h).unwrap()),
        [(1.0, false), (1.0, false), (0.86, false), (0.86, false)]
    );
    assert_eq!(
        [0.34, 0.45, 0.46, 2.0].map(|h| f(h).unwrap()),
        [(0.86, true), (0.86, true), (1.0, true), (1.0, true)]
    );
    assert!(f(-0.1).is_none() && f(f64::NAN).is_none());
}

/// Resistance falls with section and lies 0 to 20 % over that of the pure metal.
#[test]
fn resistance_is_that_of_the_metal() {
    for (metal, rho) in [(Metal::Copper, 17.241), (Metal::Aluminium, 28.264)] {
        for &build in Build::ALL {
            let mut last = f64::INFINITY;
            let mut seen = 0;
            for s in nominal_sections().unwrap() {
                let Ok(r) = resistance_20(metal, build, s.value()) else { continue };
                let r = r.value().si();
                assert!(r < last);
                assert!((0.98..=1.20).contains(&(r * s.value().si() / rho)), "{} {build:?}", s.value());
                last = r;
                seen += 1;
            }
            assert!(seen > 10 || (metal == Metal::Aluminium && build != Build::Stranded), "{build:?} {seen}");
        }
    }
    let r = resistance_20(Metal::Copper, Build::Stranded, Section::of(16.0)).unwrap();
    assert_eq!(r.value(), LinearResistance::of(1.15));
}
