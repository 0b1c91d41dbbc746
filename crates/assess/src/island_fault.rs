//! A fault at the backup panel while the group carries it: how much flows and for how long, and whether the feeder's
//! breaker may be expected to open on it. Protection of people in the island is a matter of its own.

use derivation::{Known, formula};
use finding::{Finding, Severity};
use network::Impedance;
use network::fault::island::{LoopVoltage, UnitFault, island_fault};
use network::fault::{FaultLevel, Lasts};
use quantity::{Current, Quantity, Ratio, Resistance};
use saying::say;

use crate::Case;
use crate::Ledger;

/// Below this multiple of its rating a thermal-magnetic breaker is not sure to open at once: upper end of the type C
/// band (IEC 60898-1), and about what moulded-case breakers are set to (common practice, no source).
const SURE_MULTIPLE: f64 = 10.0;

/// Fault current from the leg with the fewest units to neutral at the panel, its cable left out.
pub fn island_fault_at_panel(case: &Case<'_>) -> Option<FaultLevel> {
    let out = u32::from(case.site.wish.one_unit_may_be_out.as_ref().is_some_and(|w| w.value));
    at_panel(case, case.formation.fewest().saturating_sub(out).max(1))
}

/// The same with all units of the leg that has the most.
pub fn highest_island_fault(case: &Case<'_>) -> Option<FaultLevel> {
    at_panel(case, case.formation.most().max(1))
}

fn at_panel(case: &Case<'_>, n: u32) -> Option<FaultLevel> {
    let unit = case.unit;
    let one = UnitFault {
        current: Known::catalog(
            "I_1f",
            "fault current of one unit on a leg",
            unit.island_fault.current,
            &unit.id,
            "island_fault",
        ),
        time: Known::catalog("t_f", "for how long", unit.island_fault.lasts, &unit.id, "island_fault"),
    };
    let none = Known::assumed(
        "R",
        "loop impedance",
        Resistance::from_si(0.0),
        "cable left out: the most that may flow",
    );
    let units = vec![one; usize::try_from(n).unwrap_or(1)];
    island_fault(&units, &LoopVoltage::Phase(case.voltage()), &Impedance::resistive(none)).ok()
}

/// Says what a fault in the island does, where the feeder's breaker is not sure to end it.
pub(crate) fn tell(case: &Case<'_>, feeder: &Known<Current>, ledger: &mut Ledger) {
    let Some(level) = island_fault_at_panel(case) else { return };
    let Lasts::For(time) = &level.lasts else { return };
    let m = Known::factor(
        "m",
        "multiple at which a breaker is sure to open at once",
        SURE_MULTIPLE,
        "IEC 60898-1 type C, upper end",
    );
    let I_n = feeder;
    let sure: Known<Current> = formula!("I_sure", "current at which the feeder's breaker is sure to open at once", [m, I_n] => I_n * m);
    if level.least.value() >= sure.value() {
        return;
    }
    let multiple = Ratio::of(level.least.value().si() / I_n.value().si());
    ledger.find(
        Finding::new(
            "island-fault-not-cleared",
            Severity::Warning,
            "backup.feeder",
            say!(
                "in the island a fault at the backup panel draws no more than {least} for {time}, {multiple} times the feeder breaker's {i_n}: the breaker is not sure to open, the units give up and the panel goes dead. The protection of people then rests on residual current devices or on that collapse",
                least = level.least.value(),
                time = time.value(),
                multiple = format!("{:.1}", multiple.si()),
                i_n = I_n.value()
            ),
        )
        .in_state("fault, group carries the panel")
        .measured(level.least.node(), sure.node())
        .at(Some(&case.site.group.place), say!("this group"))
        .fix(say!(
            "choose branch breakers so small that the island opens them, and check touch protection in the island by the adopted code"
        )),
    );
}
