//! Power that arrays and units may push back into the running generator, in every state that the gear can reach.
//!
//! Nothing is counted against it: all loads may be off and the battery full. An array on a panel gives its highest power
//! while its lock-out contactor is closed. Units give back what their export limit allows where the generator feeds the
//! input that the utility feeds too, since they cannot tell one from the other, unless the site says that a contact or a
//! setting keeps them from it. Through a second input, made for a generator, they give nothing back: that is a setting, and
//! the check-out asks for it.

use catalog::Generator;
use derivation::{Known, formula};
use finding::{Finding, Margin, Severity};
use plant::full::ArrayIn;
use plant::{ArraySide, ElementKind, SourceKind};
use quantity::Power;
use saying::say;
use site::GeneratorWish;
use states::{Reached, Search};

use crate::state_name::name;
use crate::{Case, Ledger, arrays, generator_current};

/// What is pushed back in one state.
struct Back {
    power: Known<Power>,
    state: String,
    /// Who pushes, in words.
    who: Vec<String>,
    by_units: bool,
    /// Nothing is about to move.
    stays: bool,
}

/// Holds what may flow back, the worst of the states that last and the worst of those that a contactor is about to end.
pub(crate) fn hold(case: &Case<'_>, search: &Search, ledger: &mut Ledger) {
    let (Some(set), Some(wish)) = (case.generator, &case.site.generator) else { return };
    let (mut lasting, mut passing): (Option<Back>, Option<Back>) = (None, None);
    for reached in search.states.iter().filter(|reached| reached.state.generator) {
        let Some((back, ends)) = of(case, wish, reached) else { continue };
        let worst = if ends { &mut passing } else { &mut lasting };
        // of equal ones the state that stays until something else happens
        let rank = |back: &Back| (back.power.value(), back.stays);
        if worst.as_ref().is_none_or(|before| rank(&back) > rank(before)) {
            *worst = Some(back);
        }
    }
    let limit = bears(set);
    if lasting.is_none() && passing.is_none() && set.reverse_power.is_some() {
        let why = "in no state is an array or an exporting unit joined to it";
        let none = Known::chosen("P_r", "power back into the generator", Power::ZERO, why, Vec::new());
        ledger
            .hold(Margin::below("generator", say!("power back into it"), "generator", &none, &limit), |_| {
                Finding::new("generator-reverse-power", Severity::Error, "generator", why)
            });
    }
    if let Some(back) = lasting {
        one(wish, &back, &limit, Severity::Error, ledger);
    }
    if let Some(back) = passing {
        one(wish, &back, &limit, Severity::Warning, ledger);
    }
    helping(case, ledger);
}

/// What may flow back into a generator for any time.
fn bears(set: &Generator) -> Known<Power> {
    set.reverse_power.map_or_else(
        || {
            Known::assumed(
                "P_b",
                "power that the generator bears back",
                Power::ZERO,
                "its record states none",
            )
        },
        |power| Known::catalog("P_b", "power that the generator bears back", power, &set.id, "reverse_power"),
    )
}

/// What is pushed back in a state, and whether a lock-out that is about to open ends it; none where nothing is.
fn of(case: &Case<'_>, wish: &GeneratorWish, reached: &Reached) -> Option<(Back, bool)> {
    let (plant, state) = (&case.plant, &reached.state);
    let start = plant.source(SourceKind::Generator)?.node;
    let joined = plant.joined(start, &state.positions, &[]);
    let mut each: Vec<Known<Power>> = Vec::new();
    let (mut who, mut ends) = (Vec::new(), true);
    for array in &case.arrays {
        let node = match array.side {
            ArraySide::Backup => Some(plant.backup_panel),
            ArraySide::Main => plant.source(SourceKind::Utility).map(|utility| utility.node),
        };
        if !node.is_some_and(|node| joined.contains(&node)) {
            continue;
        }
        match locked_out(case, array, reached) {
            Some(LockOut::Open) => continue,
            Some(LockOut::Opening) => {}
            Some(LockOut::Closed) | None => ends = false,
        }
        each.push(arrays::highest(array));
        who.push(array.id.clone());
    }
    // not by way of the second input, which is made for a generator
    let as_utility = plant.joined(start, &state.positions, &[ElementKind::GeneratorRelays]);
    let held = wish.no_export.as_ref().is_some_and(|held| held.value);
    let P_x = &case.settings.export_limit;
    let by_units = as_utility.contains(&plant.group_output) && !held && P_x.value() > Power::ZERO;
    if by_units {
        each.push(P_x.clone());
        who.push("units that export".to_owned());
        ends = false;
    }
    if each.is_empty() {
        return None;
    }
    let sum = Known::sum("P_s", "what arrays and units may give", &each);
    let none =
        Known::assumed("P_l", "load and charging that take it", Power::ZERO, "all loads off, battery full");
    let power = formula!("P_r", "power back into the generator", [sum, none] => sum - none);
    let stays = reached.due.is_empty();
    Some((Back { power, state: name(case, reached), who, by_units, stays }, ends))
}

/// Where the lock-out of an array stands.
enum LockOut {
    Open,
    Opening,
    Closed,
}

fn locked_out(case: &Case<'_>, array: &ArrayIn<'_>, reached: &Reached) -> Option<LockOut> {
    let (device, _) = case.plant.device(&format!("{}.lock-out", array.id))?;
    let open = reached.state.positions.get(device.0).is_some_and(|at| *at == 0);
    let opening = reached.due.iter().any(|(due, to)| *due == device && *to == 0);
    Some(match (open, opening) {
        (true, _) => LockOut::Open,
        (false, true) => LockOut::Opening,
        (false, false) => LockOut::Closed,
    })
}

fn one(wish: &GeneratorWish, back: &Back, limit: &Known<Power>, severity: Severity, ledger: &mut Ledger) {
    let passing = severity == Severity::Warning;
    let state = if passing { format!("{}, lock-out about to open", back.state) } else { back.state.clone() };
    let margin = Margin::below("generator", say!("power back into it"), state, &back.power, limit);
    ledger.hold(margin, |m| {
        let over = Power::of(m.value.amount.si - m.limit.amount.si);
        let message = say!(
            "{who} may push {value} back into the running generator; it bears {limit}",
            who = back.who.join(" and "),
            value = m.value.amount.text,
            limit = m.limit.amount.text
        );
        let fix = if passing {
            say!("units whose record states that they take a generator only later (`closes_after`)")
        } else if back.by_units {
            say!(
                "bring it to the second input of the units, keep them from giving back while it runs and say so (no_export = true), or a load of at least {over} that always runs with it",
                over
            )
        } else {
            say!(
                "a contactor that parts the array while it runs, or a load of at least {over} that always runs with it",
                over
            )
        };
        Finding::new("generator-reverse-power", severity, "generator", message)
            .at(Some(&wish.model.place), say!("this generator"))
            .fix(fix)
    });
}

/// Units that help the generator give the load's excess; for an instant also when that load has just gone.
fn helping(case: &Case<'_>, ledger: &mut Ledger) {
    let Some(limit) = generator_current(case).filter(|_| case.helps_one_leg()) else { return };
    let over = case.system().legs().iter().any(|&leg| {
        let lane = case.demand.lanes.get(&demand::Lane::Leg(leg));
        lane.is_some_and(|lane| lane.steady_current.value() > limit.value())
    });
    if over {
        let message = say!(
            "not looked at: what units that help the generator still give in the instant in which the load goes"
        );
        ledger.find(Finding::new("outside-scope", Severity::OutsideScope, "generator", message));
    }
}
