//! The sky: air mass and pressure, radiation outside the atmosphere, clear days, sun angles by day number.

mod air_mass;
mod clear;
mod day;

pub(crate) use day::sunset_rad;

pub(crate) use air_mass::kasten_young as kasten_young_of;
pub use air_mass::{absolute_air_mass, air_mass, pressure_at_pa};
pub use clear::{ClearDay, clear_day, collector_on_clear_day, haurwitz_ghi_w_m2};
pub use day::{
    DayAngles, beam_ratio, cooper_declination_deg, day_angle_deg, day_angles, extraterrestrial_daily_wh_m2,
    extraterrestrial_normal_w_m2, extraterrestrial_span_wh_m2, fao_declination_deg, fao_inverse_distance,
    incidence_deg, spencer_declination_deg, spencer_equation_of_time_s,
};
