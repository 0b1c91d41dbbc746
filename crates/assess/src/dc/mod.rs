//! The direct-current side: the bank with its strings, the bus, and what the units draw, against every limit of it.
//!
//! A figure that the catalogue does not state is never guessed: what rests on it is "not covered". Demand is that of
//! the backup panel, each duration by itself, with the lowest open-circuit voltage, which is that at the least charge
//! that may be used.

mod charge;
mod devices;
mod draw;
mod energy;
mod figures;
mod precharge;
mod record;
mod ripple;
mod runs;
mod side;
mod strings;

use catalog::{BatteryModel, DcBusbar, DcDevice};
use derivation::{Known, Place};
use finding::{Finding, Severity};
use quantity::{DcCurrent, Length};
use saying::{Text, say};

use crate::{Case, Ledger, Run};
use figures::Figures;
use side::Side;

pub use devices::{Breaking, ForATime, breaking};
pub use draw::all_loads_from_bus;
pub(crate) use draw::{UnitGiven, from_bus_w};
pub use energy::least_strings;
pub use precharge::{SoftStart, soft_start};
pub use record::{ageing_factor, cold_factor, lowest_open_circuit, nominal_voltage, string_resistance};
pub use side::{DcFlow, along_the_bar, charging_worst, landing_gain};
pub(crate) use side::{flow, flow_charging};

/// Where strings and units land on the bus.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Landing {
    /// All strings at the one end, all units at the other.
    Apart,
    /// Strings and units in turn.
    InTurn,
}

impl Landing {
    /// As people say it.
    pub fn words(self) -> &'static str {
        match self {
            Landing::Apart => "all strings at the one end, all units at the other",
            Landing::InTurn => "strings and units in turn along the bar",
        }
    }
}

/// What lands on the bar at a place, by its number from 1.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Landed {
    /// A battery string.
    String(u32),
    /// A unit.
    Unit(u32),
}

impl std::fmt::Display for Landed {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Landed::String(n) => write!(f, "string {n}"),
            Landed::Unit(n) => write!(f, "unit {n}"),
        }
    }
}

/// The bank and its gear, as decided.
#[derive(Debug, Clone)]
pub struct Bank<'a> {
    /// Modules or cells.
    pub model: &'a BatteryModel,
    /// Strings in parallel.
    pub strings: u32,
    /// Device of every string.
    pub string_device: Option<&'a DcDevice>,
    /// Device between the bus and every unit.
    pub unit_device: Option<&'a DcDevice>,
    /// The busbar.
    pub busbar: Option<&'a DcBusbar>,
    /// Where things land on it.
    pub landing: Landing,
    /// Way of a string's cable on the wall, the longest of them; none where it is not known where they stand.
    pub string_way: Option<Known<Length>>,
    /// Way of a unit's cable on the wall, the longest of them.
    pub unit_way: Option<Known<Length>>,
    /// Charging current of every unit, as set.
    pub charge: Known<DcCurrent>,
    /// What the charge controllers of arrays on this bus give at most, together.
    pub solar: Option<Known<DcCurrent>>,
    /// How many charge controllers land on the bus.
    pub controllers: u32,
    /// Where the site speaks of it.
    pub place: Place,
}

/// Holds the whole side; says nothing where the site has no battery.
pub(crate) fn hold(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(bank) = &case.bank else { return };
    if bank.strings > bank.model.parallel {
        ledger.find(
            Finding::new(
                "bank-parallel-over",
                Severity::Error,
                "battery",
                say!(
                    "{strings} strings; {model} allows {parallel} in parallel",
                    strings = bank.strings,
                    model = bank.model.id,
                    parallel = bank.model.parallel
                ),
            )
            .at(Some(&bank.place), say!("this battery"))
            .fix(say!("a larger module, or fewer of them")),
        );
    }
    let figures = match Figures::of(bank) {
        Ok(figures) => figures,
        Err(missing) => {
            for (what, why) in missing {
                ledger.find(unstated(bank, &what, &why));
            }
            return;
        }
    };
    devices::voltage(case, bank, &figures, ledger);
    energy::hold(case, bank, ledger);
    crate::arrays::full_bank(case, bank, ledger);
    let side = Side::new(case, bank, &figures);
    strings::hold(case, bank, &side, ledger);
    charge::hold(case, bank, &side, ledger);
    ripple::hold(case, bank, &side, ledger);
    precharge::hold(case, bank, &figures, ledger);
    devices::hold(case, bank, &side, ledger);
}

/// The direct-current runs of the plant.
pub(crate) fn runs(case: &Case<'_>) -> Vec<Run> {
    case.bank.as_ref().map_or_else(Vec::new, |bank| runs::runs(case, bank))
}

/// A figure that the catalogue does not state, and what is not covered without it.
pub(crate) fn unstated(bank: &Bank<'_>, what: impl Into<Text>, why: impl Into<Text>) -> Finding {
    let (what, why) = (what.into(), why.into());
    let message = say!("the catalogue does not state {what}: {why}", what, why);
    Finding::new("dc-unstated", Severity::NotCovered, "battery", message)
        .at(Some(&bank.place), say!("this battery"))
        .fix(say!("ask the maker for {what}, and write it into the record", what))
}

/// An evaluator's refusal.
pub(crate) fn refused(bank: &Bank<'_>, part: &str, what: impl Into<Text>, why: impl Into<Text>) -> Finding {
    let (what, why) = (what.into(), why.into());
    Finding::new("dc-not-covered", Severity::NotCovered, part, say!("{what}: {why}", what, why))
        .at(Some(&bank.place), say!("this battery"))
}
