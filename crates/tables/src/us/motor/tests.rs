use super::*;

const SINGLE: [&str; 12] = ["1/6", "1/4", "1/3", "1/2", "3/4", "1", "1 1/2", "2", "3", "5", "7 1/2", "10"];

fn hp(text: &str) -> ShaftPower {
    ShaftPower::read(&format!("{text} hp")).unwrap()
}

/// Every figure of a table, by row, for one column.
fn column(table: &'static Loaded, at: MotorVoltage) -> Vec<(String, Option<f64>)> {
    let sheet = of(table).unwrap();
    (0..sheet.len())
        .map(|row| (sheet.text(row, "hp").to_owned(), sheet.number(row, at.column()).unwrap()))
        .collect()
}

#[test]
fn currents_rise_with_the_rating_in_every_column() {
    for table in [&FLC_SINGLE, &FLC_THREE, &LRC_SINGLE, &LRC_THREE] {
        for at in MotorVoltage::ALL {
            let figures: Vec<f64> = column(table, at).into_iter().filter_map(|(_, a)| a).collect();
            assert!(figures.windows(2).all(|w| w[0] < w[1]), "{at:?} {figures:?}");
        }
    }
}

#[test]
fn the_230_v_column_is_half_the_115_v_column() {
    for rating in SINGLE {
        let a115 = full_load_current_single(hp(rating), MotorVoltage::V115).unwrap().value().si();
        let a230 = full_load_current_single(hp(rating), MotorVoltage::V230).unwrap().value().si();
        assert!((a115 / 2.0 - a230).abs() < 1e-9, "{rating}");
    }
}

/// Both single-phase tables against each other: six times full-load current; the 208 V
/// locked-rotor column is the 230 V one times 230/208 in whole amperes, so it is up to 1.1 % off.
#[test]
fn single_phase_locked_rotor_is_six_times_full_load() {
    for at in [MotorVoltage::V115, MotorVoltage::V208, MotorVoltage::V230] {
        for (rating, _) in column(&LRC_SINGLE, at) {
            if rating == "10" && at == MotorVoltage::V115 {
                continue; // refused, below
            }
            let lrc = locked_rotor_current_single(hp(&rating), at).unwrap().value().si();
            let flc = full_load_current_single(hp(&rating), at).unwrap().value().si();
            assert!((lrc / flc / 6.0 - 1.0).abs() < 0.012, "{rating} hp {at:?}: {lrc} to {flc}");
        }
    }
}

#[test]
fn the_cell_on_which_editions_disagree_is_refused() {
    let refused = locked_rotor_current_single(hp("10"), MotorVoltage::V115);
    assert!(matches!(&refused, Err(TableError::Disputed { note, .. }) if note.contains("600 A")));
    assert!(locked_rotor_current_single(hp("10"), MotorVoltage::V230).is_ok());
}

#[test]
fn polyphase_locked_rotor_is_five_to_ten_times_full_load() {
    for at in MotorVoltage::ALL {
        for (rating, lrc) in column(&LRC_THREE, at) {
            let Some(lrc) = lrc else { continue };
            let flc = full_load_current_three_phase(hp(&rating), at).unwrap().value().si();
            assert!((5.0..=10.0).contains(&(lrc / flc)), "{rating} hp {at:?}: {lrc} to {flc}");
        }
    }
}

#[test]
fn no_rating_between_rows_and_no_figure_in_blank_cells() {
    assert!(matches!(full_load_current_single(hp("4"), MotorVoltage::V230), Err(TableError::NoRow { .. })));
    assert!(matches!(
        full_load_current_single(ShaftPower::of(f64::NAN), MotorVoltage::V230),
        Err(TableError::NoRow { .. })
    ));
    assert!(matches!(
        full_load_current_three_phase(hp("3"), MotorVoltage::V115),
        Err(TableError::NoFigure { .. })
    ));
    assert!(matches!(
        full_load_current_single(hp("5"), MotorVoltage::V460),
        Err(TableError::NoFigure { .. })
    ));
    assert_eq!(MotorVoltage::for_system_v(240.0), Some(MotorVoltage::V230));
    assert_eq!(MotorVoltage::for_system_v(277.0), None);
}

#[test]
fn code_letters_are_contiguous_and_the_last_has_no_end() {
    let letters: Vec<char> = "ABCDEFGHJKLMNPRSTUV".chars().collect();
    assert_eq!(of(&CODE_LETTERS).unwrap().len(), letters.len());
    for pair in letters.windows(2) {
        let max = code_letter(pair[0]).unwrap().max().unwrap().value().si();
        let next = code_letter(pair[1]).unwrap().min.value().si();
        assert!((next - max - 0.01).abs() < 1e-9, "{pair:?}");
    }
    assert!(matches!(code_letter('V').unwrap().max(), Err(TableError::NoFigure { .. })));
    assert!(matches!(code_letter('I'), Err(TableError::NoRow { .. })));
    assert_eq!(code_letter('g').unwrap().letter, 'G');
}

/// MOT-04: Table 430.248, 115 V and 230 V columns as remembered independently of the file.
#[test]
fn single_phase_full_load_currents() {
    let at115 = [4.4, 5.8, 7.2, 9.8, 13.8, 16.0, 20.0, 24.0, 34.0, 56.0, 80.0, 100.0];
    let at230 = [2.2, 2.9, 3.6, 4.9, 6.9, 8.0, 10.0, 12.0, 17.0, 28.0, 40.0, 50.0];
    for (column, figures) in [(MotorVoltage::V115, at115), (MotorVoltage::V230, at230)] {
        for (rating, figure) in SINGLE.iter().zip(figures) {
            let found = full_load_current_single(hp(rating), column).unwrap();
            assert_eq!(found.value(), Current::of(figure), "{rating} hp");
        }
    }
}

/// MOT-06: Table 430.251(A), six times the full-load current at 230 V.
#[test]
fn single_phase_locked_rotor_currents() {
    for (rating, figure) in [("1/2", 29.4), ("1", 48.0), ("2", 72.0), ("5", 168.0)] {
        let found = locked_rotor_current_single(hp(rating), MotorVoltage::V230).unwrap();
        assert_eq!(found.value(), Current::of(figure), "{rating} hp");
    }
}

/// Nameplates round fractions of a horsepower; the rating is still found, and its derivation names the row.
#[test]
fn rounded_fractions_are_found() {
    let found = full_load_current_single(hp("0.167"), MotorVoltage::V115).unwrap();
    let source = found.node().source();
    assert!(source.contains("Table 430.248") && source.contains("1/6 hp at 115 V"), "{source}");
}
