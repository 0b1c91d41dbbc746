//! Section of a protective conductor.
//!
//! ## Clause and edition
//! IEC 60364-5-54:2011; 543.1, Table 54.2, 543.7.
//! ## Applies when
//! A circuit has a protective conductor.
//! ## Why
//! It carries the whole fault current until the device opens, and must be there afterwards.
//! ## Formula
//! `S_PE = S` up to 16 mm2, 16 mm2 up to 35 mm2, `S / 2` above, times `k_1 / k_2` for another metal; and `S_PE >=
//! sqrt(I^2 · t) / k` where the fault is known. Then the next nominal section.
//! ## Example
//! Passing: lines of 70 mm2 have 35 mm2. Failing: 10 mm2 beside lines of 16 mm2.
//! ## Limits of our reading
//! The clause lets one choose table or heat; here both must hold where the fault is known, which is stricter. A
//! protective conductor that serves several circuits follows the largest of them, which the caller brings. Sheaths,
//! conduits and structures as protective conductors are not read.
//! ## Source
//! Table 54.2: two sources agree; sections apart from the cable: one source; 543.7: from memory.

use derivation::{Known, formula};
use quantity::{Quantity, Ratio, Section};
use saying::say;
use tables::iec::cable::{Metal, nominal_sections};
use tables::iec::clause;
use tables::iec::heat::{FaultMetal, Use, heat_constant};

use super::adiabatic_withstand::{Fault, least_section};
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "IEC 60364-5-54:2011 Table 54.2";

/// How the protective conductor lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// A core of the cable, or in one enclosure with the lines.
    WithLines,
    /// Apart, protected from damage.
    ApartProtected,
    /// Apart, not protected from damage.
    ApartOpen,
}

/// A protective conductor that is asked for.
#[derive(Debug, Clone)]
pub struct ProtectiveFacts {
    /// Section of the lines; parallel sets of one circuit together.
    pub line: Known<Section>,
    /// Metal of the lines.
    pub line_metal: Metal,
    /// Insulation of the lines: one of the two uses of lines.
    pub line_use: Use,
    /// Metal of the protective conductor.
    pub metal: Metal,
    /// Insulation and place of the protective conductor, as far as heat goes.
    pub usage: Use,
    /// Where it lies.
    pub place: Place,
    /// More than 10 mA flow in it in service, and there is one conductor alone.
    pub leakage: bool,
    /// The fault, where it is known.
    pub fault: Option<Fault>,
}

/// The protective conductor.
#[derive(Debug, Clone)]
pub struct Protective {
    /// By the table, in mm2.
    pub by_table: Known<Section>,
    /// By the heat of the fault, in mm2.
    pub by_heat: Option<Known<Section>>,
    /// Next nominal section that satisfies all, in mm2.
    pub section: Known<Section>,
}

/// Least protective conductor.
///
/// # Errors
/// No k for a conductor, a fault that is not read, more than the largest nominal section, no number.
pub fn protective_conductor(facts: &ProtectiveFacts) -> Result<Protective, NotCovered> {
    sane(CLAUSE, &facts.line)?;
    if facts.line.value() <= Section::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("the lines have no section")));
    }
    let by_table = by_table(facts)?;
    let by_heat = match &facts.fault {
        Some(fault) => Some(least_section(fault_metal(facts.metal), facts.usage, fault)?),
        None => None,
    };
    let mut all = vec![by_table.clone()];
    all.extend(by_heat.clone());
    all.extend(floors(facts)?);
    let least = Known::largest("S_min", "least protective conductor", &all);
    let least = least.ok_or_else(|| NotCovered::new(CLAUSE, say!("no section")))?;
    let section = next_nominal("S_PE", "protective conductor", &least)?;
    Ok(Protective { by_table, by_heat, section })
}

fn fault_metal(metal: Metal) -> FaultMetal {
    match metal {
        Metal::Copper => FaultMetal::Copper,
        Metal::Aluminium => FaultMetal::Aluminium,
    }
}

fn by_table(facts: &ProtectiveFacts) -> Result<Known<Section>, NotCovered> {
    let line = &facts.line;
    let equal: Known<Section> = clause::number("S_eq", "pe-equal")?;
    let half: Known<Section> = clause::number("S_half", "pe-half")?;
    let what = "protective conductor of the same metal by the table";
    let same = if line.value() <= equal.value() {
        formula!("S_t", what, [line] => line, source = CLAUSE)
    } else if line.value() <= half.value() {
        formula!("S_t", what, [equal] => equal, source = CLAUSE)
    } else {
        let share: Known<Ratio> = clause::number("share", "pe-share")?;
        formula!("S_t", what, [share, line] => share * line, source = CLAUSE)
    };
    if facts.metal == facts.line_metal {
        return Ok(same);
    }
    let k_1 = heat_constant(fault_metal(facts.line_metal), facts.line_use, line.value())?;
    let k_2 = heat_constant(fault_metal(facts.metal), facts.usage, same.value())?;
    let what = "protective conductor of another metal by the table";
    let ratio = Ratio::of(k_1.value().si() / k_2.value().si());
    let from = vec![k_1.node().clone(), k_2.node().clone()];
    let k =
        Known::chosen("k_1/k_2", "ratio of the two factors k", ratio, "k of the lines over its own", from);
    Ok(formula!("S_t", what, [k, same] => k * same, source = CLAUSE))
}

fn floors(facts: &ProtectiveFacts) -> Result<Vec<Known<Section>>, NotCovered> {
    let mut keys = Vec::new();
    match (facts.place, facts.metal) {
        (Place::WithLines, _) => {}
        (_, Metal::Aluminium) => keys.push("pe-apart-al"),
        (Place::ApartProtected, Metal::Copper) => keys.push("pe-protected-cu"),
        (Place::ApartOpen, Metal::Copper) => keys.push("pe-open-cu"),
    }
    if facts.leakage {
        keys.push(match facts.metal {
            Metal::Copper => "pe-leakage-cu",
            Metal::Aluminium => "pe-leakage-al",
        });
    }
    keys.into_iter().map(|key| Ok(clause::number("S_floor", key)?)).collect()
}

/// The next nominal section that is not below a section.
pub(super) fn next_nominal(
    symbol: &str,
    what: &str,
    least: &Known<Section>,
) -> Result<Known<Section>, NotCovered> {
    let all = nominal_sections()?;
    let needed = least.value().si() * (1.0 - 1e-9);
    let found = all.iter().find(|s| s.value().si() >= needed).ok_or_else(|| {
        NotCovered::new(
            "IEC 60228:2004",
            say!("{least} is more than the largest nominal section", least = least.value()),
        )
    })?;
    let from = vec![least.node().clone(), found.node().clone()];
    Ok(Known::chosen(symbol, what, found.value(), "next nominal section that is not below it", from))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given, near};
    use quantity::{Current, Duration};

    fn facts(mm2: f64) -> ProtectiveFacts {
        ProtectiveFacts {
            line: given(Section::of(mm2)),
            line_metal: Metal::Copper,
            line_use: Use::LinePvc,
            metal: Metal::Copper,
            usage: Use::InCablePvc,
            place: Place::WithLines,
            leakage: false,
            fault: None,
        }
    }

    #[test]
    fn by_the_table_then_nominal() {
        for (line, pe) in
            [(2.5, 2.5), (16.0, 16.0), (25.0, 16.0), (35.0, 16.0), (50.0, 25.0), (70.0, 35.0), (95.0, 50.0)]
        {
            near(&protective_conductor(&facts(line)).unwrap().section, pe);
        }
        // an aluminium conductor beside copper lines: 16 x 115 / 76 = 24.2, so 25 mm2
        let aluminium = ProtectiveFacts { metal: Metal::Aluminium, ..facts(25.0) };
        let found = protective_conductor(&aluminium).unwrap();
        close(&found.by_table, 16.0 * 115.0 / 76.0, 1e-9);
        near(&found.section, 25.0);
        assert!(
            protective_conductor(&facts(0.0)).is_err() && protective_conductor(&facts(f64::NAN)).is_err()
        );
    }

    #[test]
    fn floors_and_heat_raise_it() {
        let apart = |place, leakage| ProtectiveFacts { place, leakage, ..facts(1.5) };
        near(&protective_conductor(&apart(Place::ApartProtected, false)).unwrap().section, 2.5);
        near(&protective_conductor(&apart(Place::ApartOpen, false)).unwrap().section, 4.0);
        near(&protective_conductor(&apart(Place::WithLines, true)).unwrap().section, 10.0);
        // 1000 A for 1 s: 1000 / 115 = 8.7 mm2, so 10 mm2
        let fault = Some(Fault::Lasting(given(Current::of(1000.0)), given(Duration::of(1.0))));
        let found = protective_conductor(&ProtectiveFacts { fault, ..facts(2.5) }).unwrap();
        close(&found.by_heat.unwrap(), 1000.0 / 115.0, 1e-9);
        near(&found.section, 10.0);
    }
}
