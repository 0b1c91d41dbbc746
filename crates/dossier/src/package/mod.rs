//! What is handed over beside drawings and report: settings, check-out procedure, schedules. Figures are those of the
//! design; limits of the check-out are computed from them.

mod arrays;
mod bypass;
mod checkout;
mod cold;
mod direct;
mod generator;
mod grid;
mod island;
mod lists;
mod load;
mod neutrals;
mod of_arrays;
mod of_loads;
mod residual;
mod schedules;
mod settings;
mod soft_start;
mod utility;

use catalog::Catalog;
use design::Design;

use crate::{CheckoutStep, Schedule, Setting};

/// Everything that an installer fills in or reads off.
#[derive(Debug, Clone)]
pub struct Packed {
    /// Settings, what belongs together beside each other.
    pub settings: Vec<Setting>,
    /// The check-out, in order.
    pub checkout: Vec<CheckoutStep>,
    /// Schedules.
    pub schedules: Vec<Schedule>,
}

/// Packs a design. `catalog` gives prices.
pub fn package(design: &Design<'_>, catalog: &Catalog) -> Packed {
    let settings = settings::of(design);
    let checkout = checkout::of(design, &settings);
    let schedules = schedules::of(design, catalog, &settings);
    Packed { settings, checkout, schedules }
}
