//! Tables of NFPA 70 (NEC), 2023, and of the fire codes that stand beside it.

pub mod array;
pub mod building;
pub mod conductor_rule;
pub mod conductors;
pub mod dc_rule;
pub mod dwelling;
pub mod grid;
pub mod grounding;
pub mod label;
pub mod load_rule;
pub mod motor;
pub mod overcurrent;
pub mod place_rule;
pub mod raceway;
pub mod size;
pub mod storage_place;

use crate::files::{Loaded, files, of};

files! {
    "us":
    LIGHTING = "nec_220_45_dwelling_lighting.csv";
    OTHER_LIGHTING = "nec_220_45_other_lighting.csv";
    UNIT_LOADS = "nec_220_42_a_unit_loads.csv";
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
    AMPACITY_RACEWAY = "nec_310_16_ampacity_raceway.csv";
    AMPACITY_FREE_AIR = "nec_310_17_ampacity_free_air.csv";
    AMBIENT = "nec_310_15_b1_ambient.csv";
    ADJUSTMENT = "nec_310_15_c1_adjustment.csv";
    DWELLING_CONDUCTORS = "nec_310_12_a_dwelling.csv";
    SMALL_CONDUCTORS = "nec_240_4_d_small_conductors.csv";
    EQUIPMENT_GROUND = "nec_250_122_equipment_ground.csv";
    ELECTRODE = "nec_250_66_electrode.csv";
    BONDING = "nec_250_102_c1_bonding.csv";
    MOTOR_DEVICE = "nec_430_52_c1_motor_device.csv";
    WORKING_SPACE = "nec_110_26_a1_working_space.csv";
    FILL = "nec_ch9_1_fill.csv";
    RACEWAYS = "nec_ch9_4_raceways.csv";
    INSULATED = "nec_ch9_5_insulated.csv";
    INSULATED_DIAMETER = "nec_ch9_5_diameter.csv";
    WIRE_AREA = "nec_ch9_8_area.csv";
    RESISTANCE = "nec_ch9_8_resistance.csv";
    IMPEDANCE = "nec_ch9_9_impedance.csv";
    CONDUCTOR_RULES = "nec_conductor_rules.csv";
    CONNECTION_RULES = "nec_connection_rules.csv";
    PLACE_RULES = "nec_place_rules.csv";
    TRIPS = "ieee_1547_trips.csv";
    ENTER_SERVICE = "ieee_1547_enter_service.csv";
}
