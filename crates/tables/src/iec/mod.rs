//! Tables of IEC 60364 and of the IEC standards that it works with.

pub mod cable;
pub mod clause;
pub mod device;
pub mod grid;
pub mod grouping;
pub mod heat;
pub mod notice;
pub mod shock;
pub mod solar;
pub mod unbalance;

use crate::files::{Loaded, files, of};

files! {
    "iec":
    RESISTANCE = "iec_60228_resistance.csv";
    TIMES = "iec_60364_4_41_times.csv";
    AIR = "iec_60364_5_52_air_temperature.csv";
    AMPACITY = "iec_60364_5_52_ampacity.csv";
    GROUND = "iec_60364_5_52_ground_temperature.csv";
    GROUPING = "iec_60364_5_52_grouping.csv";
    BURIED = "iec_60364_5_52_grouping_buried.csv";
    DUCTS = "iec_60364_5_52_grouping_ducts.csv";
    TRAYS = "iec_60364_5_52_grouping_trays.csv";
    HARMONICS = "iec_60364_5_52_harmonics.csv";
    SOIL = "iec_60364_5_52_soil.csv";
    HEAT = "iec_60364_k.csv";
    BANDS = "iec_60898_bands.csv";
    BREAK_TIMES = "iec_61008_break_times.csv";
    VOC_FACTOR = "iec_62548_voc_factor.csv";
    NUMBERS = "iec_clause_numbers.csv";
    RATED = "iec_rated_currents.csv";
    NOTICES = "iec_notices.csv";
    PROTECTION = "en_50549_ranges.csv";
    UNBALANCE = "nema_mg1_unbalance.csv";
}
