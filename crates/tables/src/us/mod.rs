//! Tables of NFPA 70 (NEC), 2023, and of the fire codes that stand beside it.

pub mod array;
pub mod dc_rule;
pub mod dwelling;
pub mod label;
pub mod load_rule;
pub mod motor;
pub mod overcurrent;
pub mod storage_place;

use std::sync::LazyLock;

use crate::{Sheet, TableError};

type Loaded = LazyLock<Result<Sheet, TableError>>;

macro_rules! files {
    ($($name:ident = $file:literal;)+) => {
        $(static $name: Loaded = LazyLock::new(|| {
            Sheet::parse($file, include_str!(concat!("../../../../data/us/", $file)))
        });)+

        /// Every US table, by file name.
        ///
        /// # Errors
        /// The first table that cannot be used.
        pub fn sheets() -> Result<Vec<(&'static str, &'static Sheet)>, TableError> {
            Ok(vec![$(($file, of(&$name)?)),+])
        }
    };
}

files! {
    LIGHTING = "nec_220_45_dwelling_lighting.csv";
    DRYERS = "nec_220_54_dryers.csv";
    RANGES = "nec_220_55_ranges.csv";
    RATINGS = "nec_240_6_a_standard_ratings.csv";
    FLC_SINGLE = "nec_430_248_single_phase.csv";
    FLC_THREE = "nec_430_250_three_phase.csv";
    LRC_SINGLE = "nec_430_251_a_locked_rotor.csv";
    LRC_THREE = "nec_430_251_b_locked_rotor.csv";
    CODE_LETTERS = "nec_430_7_b_code_letters.csv";
    COLD_FACTORS = "nec_690_7_a_cold_voltage_factors.csv";
    DC_RULES = "nec_dc_rules.csv";
    LABELS = "nec_labels.csv";
    STORAGE_PLACES = "storage_dwelling_limits.csv";
    LOAD_RULES = "nec_load_rules.csv";
}

fn of(loaded: &'static Loaded) -> Result<&'static Sheet, TableError> {
    loaded.as_ref().map_err(Clone::clone)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_file_of_the_folder_is_loaded_and_usable() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/us");
        let mut files: Vec<String> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .filter(|name| name.ends_with(".csv"))
            .collect();
        files.sort();
        let mut loaded: Vec<&str> = sheets().unwrap().into_iter().map(|(file, _)| file).collect();
        loaded.sort_unstable();
        assert_eq!(files, loaded);
    }
}
