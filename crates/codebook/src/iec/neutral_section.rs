//! Section of the neutral conductor.
//!
//! ## Clause and edition
//! IEC 60364-5-52:2009; 524.2, Annex E.
//! ## Applies when
//! A circuit has a neutral that carries load.
//! ## Why
//! Third harmonics of the three lines do not cancel in the neutral but add up, and no device watches it.
//! ## Formula
//! `S_N = S_line`; above 16 mm2 copper or 25 mm2 aluminium and up to 15 % of third harmonic no less than that, if the
//! neutral carries its largest current. Current of third harmonics in the neutral: `I_N = 3 · h · I_b`.
//! ## Example
//! Passing: lines of 50 mm2 copper, 10 % third harmonic, at most 60 A in the neutral: 16 mm2 that carry 60 A. Failing:
//! with 20 % third harmonic the neutral must be as large as the lines.
//! ## Limits of our reading
//! Whether a reduced neutral carries its current is a question to `cable-ampacity`. Unbalance of the lines adds to the
//! third harmonics and must be in the largest neutral current that the caller brings. Above 33 % the lines of a
//! multicore cable follow the neutral: see `cable-ampacity`.
//! ## Source
//! Bounds: from memory; factors of annex E: one source.

use derivation::{Known, formula};
use quantity::{Current, Ratio, Section};
use saying::say;
use tables::iec::cable::{Loaded23, Metal};
use tables::iec::clause;

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "IEC 60364-5-52:2009 524.2";

/// A circuit with neutral.
#[derive(Debug, Clone)]
pub struct NeutralFacts {
    /// Metal of lines and neutral.
    pub metal: Metal,
    /// Two for single-phase, three for three-phase.
    pub loaded: Loaded23,
    /// Section of a line.
    pub line: Known<Section>,
    /// Current in a line.
    pub current: Known<Current>,
    /// Third harmonic in it, of it.
    pub third_harmonic: Known<Ratio>,
    /// Largest current that the neutral carries, unbalance included; `None` where not known.
    pub largest: Option<Known<Current>>,
}

/// What the neutral must be.
#[derive(Debug, Clone)]
pub struct NeutralSection {
    /// Least section, in mm2.
    pub least: Known<Section>,
    /// Current that it must carry, in A.
    pub current: Known<Current>,
}

/// Least section of a neutral and what it must carry.
///
/// # Errors
/// A value is no number or negative.
pub fn neutral_section(facts: &NeutralFacts) -> Result<NeutralSection, NotCovered> {
    sane(CLAUSE, &facts.line)?;
    sane(CLAUSE, &facts.current)?;
    sane(CLAUSE, &facts.third_harmonic)?;
    facts.largest.iter().try_for_each(|current| sane(CLAUSE, current))?;
    let (line, current) = (&facts.line, &facts.current);
    let full = |why: &str| {
        Known::chosen("S_N", "least section of the neutral", line.value(), why, vec![line.node().clone()])
    };
    if facts.loaded == Loaded23::Two {
        let why = "a single-phase neutral carries what the line carries (IEC 60364-5-52:2009 524.2)";
        return Ok(NeutralSection { least: full(why), current: current.clone() });
    }
    let share = &facts.third_harmonic;
    let lines = Known::factor("lines", "lines whose third harmonics add up in the neutral", 3.0, CLAUSE);
    let what = "third harmonics in the neutral";
    let harmonics =
        formula!("I_N3", what, [lines, share, current] => lines * share * current, source = CLAUSE);
    let mut all = vec![harmonics];
    // without a figure of its own one line alone may be on
    all.push(facts.largest.clone().unwrap_or_else(|| current.clone()));
    let carried = Known::largest("I_N", "current that the neutral must carry", &all);
    let carried = carried.ok_or_else(|| NotCovered::new(CLAUSE, say!("no current")))?;
    let floor: Known<Section> = match facts.metal {
        Metal::Copper => clause::number("S_red", "neutral-full-cu")?,
        Metal::Aluminium => clause::number("S_red", "neutral-full-al")?,
    };
    let bound: Known<Ratio> = clause::number("h_max", "neutral-harmonic")?;
    let least = if facts.largest.is_none() {
        full("its largest current is not known, so it is as large as a line")
    } else if share.value() > bound.value() {
        full("third harmonics are above the bound of a reduced neutral (IEC 60364-5-52:2009 524.2)")
    } else if line.value() <= floor.value() {
        full("lines of this size have a neutral as large (IEC 60364-5-52:2009 524.2)")
    } else {
        let from = vec![line.node().clone(), share.node().clone(), floor.node().clone()];
        let why = "a neutral may be reduced to this if it carries its largest current";
        Known::chosen("S_N", "least section of the neutral", floor.value(), why, from)
    };
    Ok(NeutralSection { least, current: carried })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{given, near};

    fn facts(loaded: Loaded23, mm2: f64, h: f64, largest: Option<f64>) -> NeutralFacts {
        NeutralFacts {
            metal: Metal::Copper,
            loaded,
            line: given(Section::of(mm2)),
            current: given(Current::of(100.0)),
            third_harmonic: given(Ratio::of(h)),
            largest: largest.map(|a| given(Current::of(a))),
        }
    }

    #[test]
    fn reduced_only_where_all_is_known() {
        let found = |loaded, s, h, l| neutral_section(&facts(loaded, s, h, l)).unwrap();
        let reduced = found(Loaded23::Three, 50.0, 0.10, Some(60.0));
        near(&reduced.least, 16.0);
        near(&reduced.current, 60.0);
        near(&found(Loaded23::Three, 50.0, 0.15, Some(10.0)).current, 45.0);
        near(&found(Loaded23::Three, 50.0, 0.16, Some(60.0)).least, 50.0);
        near(&found(Loaded23::Three, 50.0, 0.15, Some(60.0)).least, 16.0);
        near(&found(Loaded23::Three, 10.0, 0.0, Some(10.0)).least, 10.0);
        assert!(neutral_section(&facts(Loaded23::Three, f64::NAN, 0.1, Some(60.0))).is_err());
        near(&found(Loaded23::Three, 50.0, 0.0, None).least, 50.0);
        near(&found(Loaded23::Three, 16.0, 0.0, Some(10.0)).least, 16.0);
        near(&found(Loaded23::Two, 50.0, 0.0, Some(10.0)).least, 50.0);
        // 40 % third harmonic: 120 A in the neutral of lines with 100 A
        near(&found(Loaded23::Three, 50.0, 0.40, None).current, 120.0);
        assert!(neutral_section(&facts(Loaded23::Three, 50.0, -0.1, None)).is_err());
        assert!(neutral_section(&facts(Loaded23::Three, 50.0, 0.1, Some(-60.0))).is_err());
        assert!(neutral_section(&facts(Loaded23::Three, 50.0, 0.1, Some(f64::NAN))).is_err());
    }
}
