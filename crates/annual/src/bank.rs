//! The battery of the design: what it holds when it is worn and cold.

use assess::{Case, ageing_factor, all_loads_from_bus, cold_factor};
use catalog::{BatteryModel, Catalog, Chemistry};
use derivation::{Known, formula};
use finding::{Finding, Severity};
use quantity::{Charge, DcCurrent, Quantity, Ratio};
use saying::say;

use crate::figures::Bank;
use crate::make::refused;

/// The decided bank; before it is decided, the one that the site fixes.
///
/// # Errors
/// Findings of severity "not covered": no battery, or figures that its record does not state.
pub(crate) fn of<'a>(case: &Case<'a>, catalog: &'a Catalog) -> Result<Bank<'a>, Vec<Finding>> {
    let wish = &case.site.battery;
    let (model, strings, set) = if let Some(bank) = &case.bank {
        let n = Ratio::of(f64::from(bank.strings));
        let strings = match wish.count.fixed() {
            Some(count) => count.clone().map(|_| n).known("n_p", "strings in parallel"),
            None => Known::chosen("n_p", "strings in parallel", n, "the design's bank", Vec::new()),
        };
        let units = Ratio::of(f64::from(case.formation.units()));
        let units = Known::chosen("n", "units", units, "formation", Vec::new());
        let I_u = &bank.charge;
        let set: Known<DcCurrent> =
            formula!("I_c", "charging current of all units, as set", [I_u, units] => I_u * units);
        (bank.model, strings, Some(set))
    } else {
        let (Some(id), Some(count)) = (&wish.model, wish.count.fixed()) else {
            return Err(vec![
                Finding::new(
                    "battery-not-decided",
                    Severity::NotCovered,
                    "battery",
                    say!("the year was not run: no battery is decided, and the site does not say which and how many"),
                )
                .fix(say!("give `model` and `count` under [battery]")),
            ]);
        };
        let missing = || refused(format!("the catalogue has no battery \"{}\"", id.value));
        let model = catalog.batteries.get(&id.value).ok_or_else(missing)?;
        let strings = count.clone().map(|n| Ratio::of(f64::from(n)));
        (model, strings.known("n_p", "strings in parallel"), None)
    };
    let worn = ageing_factor(model).ok_or_else(|| unstated(model, "end_of_life", "what a worn one holds"))?;
    let lowest = wish.lowest.as_ref().ok_or_else(|| {
        refused("the site does not say how cold its battery gets: `lowest` under [battery]")
    })?;
    let cold = cold_factor(model, lowest.value)
        .ok_or_else(|| unstated(model, "cold", "what it gives at the lowest temperature"))?;
    let charge = charge(case, model, &strings)?;
    Ok(Bank { model, strings, worn, cold, charge, set })
}

fn unstated(model: &BatteryModel, key: &str, what: &str) -> Vec<Finding> {
    refused(format!("the record of \"{}\" does not state `{key}`: {what} is not known", model.id))
}

/// Charge of a module. Lead-acid gives less the faster it is drawn: what its record lists for the next higher current
/// than all loads of the panel together ask of a string, losses of the units included.
fn charge(
    case: &Case<'_>,
    model: &BatteryModel,
    strings: &Known<Ratio>,
) -> Result<Known<Charge>, Vec<Finding>> {
    let C = Known::catalog("C_1", "rated charge of a module", model.capacity, &model.id, "capacity");
    if model.chemistry != Chemistry::FloodedLeadAcid {
        return Ok(C);
    }
    let nothing = || refused("the panel has no load");
    let V = Known::catalog(
        "V",
        "lowest working voltage of the units",
        case.unit.dc.lowest,
        &case.unit.id,
        "dc lowest",
    );
    let P = all_loads_from_bus(case).ok_or_else(nothing)?;
    let I: Known<DcCurrent> = formula!("I", "current of a string with all loads on, at the lowest voltage", [P, V, strings] => P / V / strings);
    let least = model
        .rated_currents
        .iter()
        .filter(|r| r.current >= I.value())
        .min_by(|a, b| a.current.si().total_cmp(&b.current.si()))
        .ok_or_else(|| unstated(model, "rated_currents", "what it gives at the current of all loads"))?;
    let I_t = Known::catalog("I_t", "listed current", least.current, &model.id, "rated_currents");
    let t = Known::catalog("t", "for so long", least.lasts, &model.id, "rated_currents");
    let listed: Known<Charge> = formula!("C_1", "charge of a module at that current", [I_t, t] => I_t * t);
    Known::smallest("C_1", "charge of a module", &[C, listed]).ok_or_else(nothing)
}
