use super::*;

fn a(size: Size, material: Material, column: Column, laying: Laying) -> Option<f64> {
    ampacity(size, material, column, laying).ok().map(|known| known.value().si())
}

const METALS: [Material; 2] = [Material::Copper, Material::Aluminum];

#[test]
fn ampacity_rises_with_size_and_temperature_and_in_free_air() {
    for material in METALS {
        for laying in [Laying::Raceway, Laying::FreeAir] {
            for column in Column::ALL {
                let figures: Vec<f64> = Size::all().filter_map(|s| a(s, material, column, laying)).collect();
                assert!(figures.len() >= 27 && figures.windows(2).all(|w| w[0] < w[1]), "{figures:?}");
            }
        }
        for size in Size::all() {
            let at = |column, laying| a(size, material, column, laying);
            let Some(first) = at(Column::C60, Laying::Raceway) else { continue };
            assert!(at(Column::C75, Laying::Raceway) > Some(first), "{size}");
            assert!(at(Column::C90, Laying::Raceway) > at(Column::C75, Laying::Raceway), "{size}");
            for column in Column::ALL {
                assert!(at(column, Laying::FreeAir) > at(column, Laying::Raceway), "{size}");
                assert!(
                    a(size, Material::Aluminum, column, Laying::Raceway)
                        < a(size, Material::Copper, column, Laying::Raceway),
                    "{size}"
                );
            }
        }
    }
    let small: Size = "16 AWG".parse().unwrap();
    assert!(ampacity(small, Material::Copper, Column::C75, Laying::Raceway).is_err());
    let small: Size = "14 AWG".parse().unwrap();
    assert!(ampacity(small, Material::Aluminum, Column::C75, Laying::Raceway).is_err());
}

/// The code's own equation, F = sqrt((Tc - Ta) / (Tc - 30)), at the hot end of each band as printed to two digits.
#[test]
fn ambient_factors_follow_the_equation() {
    let given = |degc: f64| Known::assumed("T", "ambient", Temperature::of(degc), "test");
    for column in Column::ALL {
        for band in 2..=17 {
            let ambient = f64::from(band) * 5.0;
            let Ok(factor) = ambient_factor(&given(ambient), column) else {
                assert!(ambient > f64::from(column.degc()) - 5.0 - 1e-9, "{ambient} {column:?}");
                continue;
            };
            let tc = f64::from(column.degc());
            let by_equation = ((tc - ambient) / (tc - 30.0)).sqrt();
            assert!(
                (factor.value().si() - by_equation).abs() <= 0.0101,
                "{ambient} {column:?} {by_equation}"
            );
        }
    }
    // between two bands, the hotter
    assert_eq!(ambient_factor(&given(30.4), Column::C75).unwrap().value().to_string(), "0.94");
    // 122 degF is 50 degC up to rounding
    let hot: Temperature = "122 degF".parse().unwrap();
    let hot = Known::assumed("T", "ambient", hot, "test");
    assert_eq!(ambient_factor(&hot, Column::C90).unwrap().value().to_string(), "0.82");
    for degc in [90.0, 85.1, f64::NAN] {
        assert!(ambient_factor(&given(degc), Column::C90).is_err(), "{degc}");
    }
    assert!(ambient_factor(&given(56.0), Column::C60).is_err());
}

#[test]
fn more_conductors_carry_less_and_half_a_conductor_is_refused() {
    let factor =
        |n: f64| count_factor(&Known::assumed("n", "n", Ratio::of(n), "test")).map(|f| f.value().to_string());
    let ends = [1.0, 3.0, 4.0, 6.0, 7.0, 9.0, 10.0, 20.0, 21.0, 30.0, 31.0, 40.0, 41.0, 400.0];
    let found: Vec<String> = ends.iter().map(|&n| factor(n).unwrap()).collect();
    assert_eq!(found.join(" "), "1 1 0.8 0.8 0.7 0.7 0.5 0.5 0.45 0.45 0.4 0.4 0.35 0.35");
    for n in [0.0, 3.5, -1.0, f64::NAN] {
        assert!(factor(n).is_err(), "{n}");
    }
}

/// Table 8 by physics: 10.371 ohm-cmil/ft of copper at 20 degC (61 % of that conductivity for aluminum), taken to
/// 75 degC, 2 % more where stranded.
#[test]
fn resistance_is_that_of_the_metal() {
    for size in Size::all() {
        let cmil = size.area().unwrap().value().si() * 1000.0;
        for (material, rho, alpha) in
            [(Material::Copper, 10.371, 0.003_93), (Material::Aluminum, 17.002, 0.004_03)]
        {
            for (solid, lay) in [(true, 1.0), (false, 1.02)] {
                let Ok(found) = dc_resistance_of_kft(size, material, solid) else { continue };
                let expected = 1000.0 * rho * (1.0 + alpha * 55.0) * lay / cmil;
                let off = found.value().si() / expected - 1.0;
                assert!(off.abs() < 0.025, "{size} {material:?} {solid}: {off}");
            }
        }
    }
}

/// Reactance and resistance of Table 9 give the printed effective impedance, up to the rounding of the print (5.5
/// %).
#[test]
fn printed_effective_impedance_is_that_of_its_parts() {
    let mut compared = 0;
    for size in Size::all() {
        for material in METALS {
            for conduit in [Conduit::Pvc, Conduit::Aluminum, Conduit::Steel] {
                let figure =
                    |which| ac_impedance_of_kft(size, material, conduit, which).map(|k| k.value().si());
                let (Ok(r), Ok(x), Ok(z)) = (
                    figure(Impedance::Resistance),
                    figure(Impedance::Reactance),
                    figure(Impedance::Effective85),
                ) else {
                    continue;
                };
                let by_parts = 0.85 * r + (1.0_f64 - 0.85 * 0.85).sqrt() * x;
                assert!(
                    (z / by_parts - 1.0).abs() < 0.055,
                    "{size} {material:?} {conduit:?}: {z} {by_parts}"
                );
                let dc = dc_resistance_of_kft(size, material, false).unwrap().value().si();
                assert!(r > 0.93 * dc, "{size} {material:?}: AC resistance under DC resistance");
                compared += 1;
            }
        }
    }
    assert_eq!(compared, 21 * 6 - 3);
}

/// Each size of Table 310.12(A) carries 83 % of its rating in the 75 degC column, and the next smaller does not.
#[test]
fn dwelling_sizes_carry_83_percent() {
    let ratings = [100.0, 110.0, 125.0, 150.0, 175.0, 200.0, 225.0, 250.0, 300.0, 350.0, 400.0];
    for rating in ratings {
        let known = Known::assumed("I", "rating", Current::of(rating), "test");
        for material in METALS {
            let size = dwelling_conductor(&known, material).unwrap();
            let carries = a(size, material, Column::C75, Laying::Raceway).unwrap();
            assert!(carries >= 0.83 * rating, "{rating} {size}");
        }
    }
    let odd = Known::assumed("I", "rating", Current::of(120.0), "test");
    assert!(dwelling_conductor(&odd, Material::Copper).is_err());
}

#[test]
fn small_conductors_have_a_limit_and_others_none() {
    let limit = |text: &str, material| {
        small_conductor(text.parse().unwrap(), material).unwrap().map(|known| known.value().si())
    };
    assert_eq!(limit("14 AWG", Material::Copper), Some(15.0));
    assert_eq!(limit("12 AWG", Material::Copper), Some(20.0));
    assert_eq!(limit("10 AWG", Material::Copper), Some(30.0));
    assert_eq!(limit("12 AWG", Material::Aluminum), Some(15.0));
    assert_eq!(limit("10 AWG", Material::Aluminum), Some(25.0));
    assert_eq!(limit("8 AWG", Material::Copper), None);
    assert!(small_conductor("18 AWG".parse().unwrap(), Material::Copper).is_err());
}
