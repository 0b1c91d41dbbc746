//! Tables of NFPA 70 (NEC), 2023.

pub mod dwelling;
pub mod load_rule;
pub mod motor;
pub mod overcurrent;

use crate::files::{Loaded, files, of};

files! {
    "us":
    LIGHTING = "nec_220_45_dwelling_lighting.csv";
    DRYERS = "nec_220_54_dryers.csv";
    RANGES = "nec_220_55_ranges.csv";
    RATINGS = "nec_240_6_a_standard_ratings.csv";
    FLC_SINGLE = "nec_430_248_single_phase.csv";
    FLC_THREE = "nec_430_250_three_phase.csv";
    LRC_SINGLE = "nec_430_251_a_locked_rotor.csv";
    LRC_THREE = "nec_430_251_b_locked_rotor.csv";
    CODE_LETTERS = "nec_430_7_b_code_letters.csv";
    LOAD_RULES = "nec_load_rules.csv";
}
