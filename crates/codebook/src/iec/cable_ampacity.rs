//! Current that a cable may carry where it lies.
//!
//! ## Clause and edition
//! IEC 60364-5-52:2009; 523, Tables B.52.2 to B.52.5, B.52.10 to B.52.20 and E.52.1.
//! ## Applies when
//! A cable of copper or aluminium with PVC or XLPE (EPR) insulation is laid by one of the reference methods.
//! ## Why
//! Insulation that is too hot ages, then fails; the surroundings and other cables take away the reserve.
//! ## Formula
//! `I_z = n · I_table · k_t · k_g · k_soil · k_h`: sets in parallel, table value, factors for temperature, grouping,
//! soil and third harmonics. Above 33 % of third harmonic the neutral decides: `I_z = n · I_table · k_t · k_g · k_soil
//! · k_h / (3 · h)`.
//! ## Example
//! Passing: 16 mm2 copper, PVC, method C, three loaded, 35 degC, alone: 76 A · 0.94 = 71.4 A. Failing: 90 degC round a
//! PVC cable is refused.
//! ## Limits of our reading
//! Between two rows of a factor the less favourable one counts. Every parallel set counts as a circuit of the group.
//! Circuits loaded below 30 % are not left out of the count, which is stricter than the note to B.52.17. Harmonics are
//! read for multicore cables with a loaded neutral alone. Sun, stacked groups and cables of unlike size are not read.
//! ## Source
//! Tables: two sources agree in most cells, some one source or from memory; each figure says so. Parallel conductors
//! (433.4): from memory.

use derivation::{Known, formula};
use quantity::{Current, Quantity, Ratio, Section, SoilResistivity, Temperature};
use saying::say;
use tables::iec::cable::{self, Cable, Loaded23, Method};
use tables::iec::grouping::{Together, grouping_factor};

use crate::NotCovered;
use crate::not_covered::{counted, sane};

const CLAUSE: &str = "IEC 60364-5-52:2009 523";

/// A cable and where it lies.
#[derive(Debug, Clone)]
pub struct CableRun {
    /// The cable and its method.
    pub cable: Cable,
    /// Temperature of the air, or of the ground for methods D1 and D2.
    pub ambient: Known<Temperature>,
    /// Thermal resistivity of the soil; methods D1 and D2 need it.
    pub soil: Option<Known<SoilResistivity>>,
    /// How it lies with other circuits or its own parallel sets; `None` for one circuit alone.
    pub together: Option<Together>,
    /// Other circuits that lie with it.
    pub beside: Known<Ratio>,
    /// Third harmonic in the line current, of the line current; `None` where there is none.
    pub third_harmonic: Option<Known<Ratio>>,
}

/// What a cable may carry.
#[derive(Debug, Clone)]
pub struct Ampacity {
    /// One circuit alone at reference conditions, in A.
    pub table: Known<Current>,
    /// All factors together.
    pub factor: Known<Ratio>,
    /// Line current that all parallel sets together may carry, in A.
    pub capacity: Known<Current>,
}

/// Line current that a cable of a section may carry, in so many parallel sets.
///
/// # Errors
/// No row for the cable, the section or a factor; a soil that is not given; harmonics in a cable that the table of
/// harmonics is not for.
pub fn cable_ampacity(run: &CableRun, section: Section, sets: &Known<Ratio>) -> Result<Ampacity, NotCovered> {
    let one = Known::factor("1", "one set", 1.0, CLAUSE);
    counted(CLAUSE, sets, &one)?;
    let table = cable::capacity(run.cable, section)?;
    let temperature =
        cable::temperature_factor(run.cable.insulation, run.cable.method.in_ground(), &run.ambient)?;
    let group = grouping(run, sets)?;
    let soil = soil(run)?;
    let harmonic = harmonic(run)?;
    let factor = formula!(
        "k", "all factors together",
        [temperature, group, soil, harmonic] => temperature * group * soil * harmonic, source = CLAUSE
    );
    let what = "current that the cable may carry";
    let capacity = formula!("I_z", what, [sets, table, factor] => sets * (table * factor), source = CLAUSE);
    Ok(Ampacity { table, factor, capacity })
}

fn grouping(run: &CableRun, sets: &Known<Ratio>) -> Result<Known<Ratio>, NotCovered> {
    let none = Known::factor("0", "none", 0.0, CLAUSE);
    counted(CLAUSE, &run.beside, &none)?;
    let beside = &run.beside;
    let count = formula!("n_g", "circuits that lie together", [sets, beside] => sets + beside);
    match &run.together {
        Some(together) => Ok(grouping_factor(run.cable.method, together, &count)?),
        None if count.value().si() <= 1.0 => {
            Ok(Known::factor("k_g", "one circuit alone", 1.0, "IEC 60364-5-52:2009 Table B.52.17"))
        }
        None => {
            let reason = say!("{count} circuits lie together, but not said how", count = count.value());
            Err(NotCovered::new(CLAUSE, reason))
        }
    }
}

fn soil(run: &CableRun) -> Result<Known<Ratio>, NotCovered> {
    match (&run.soil, run.cable.method.in_ground()) {
        (Some(soil), true) => Ok(cable::soil_factor(run.cable.method, soil)?),
        (None, true) => {
            let reason =
                say!("the thermal resistivity of the soil decides what a buried cable carries: give it");
            Err(NotCovered::new("IEC 60364-5-52:2009 Table B.52.16", reason))
        }
        (_, false) => Ok(Known::factor("k_soil", "not in the ground", 1.0, CLAUSE)),
    }
}

/// Factor on the line current: that of the table, over three times the share where the neutral decides.
fn harmonic(run: &CableRun) -> Result<Known<Ratio>, NotCovered> {
    let clause = "IEC 60364-5-52:2009 Table E.52.1";
    let Some(share) = run.third_harmonic.as_ref().filter(|share| share.value().si() != 0.0) else {
        return Ok(Known::factor("k_h", "no third harmonic", 1.0, clause));
    };
    sane(clause, share)?;
    let multicore =
        matches!(run.cable.method, Method::A2 | Method::B2 | Method::C | Method::D1 | Method::D2 | Method::E);
    if run.cable.loaded != Loaded23::Three || !multicore {
        let reason = say!("third harmonics are read for three-phase multicore cables alone");
        return Err(NotCovered::new(clause, reason));
    }
    let found = cable::harmonic_factor(share)?;
    let factor = found.factor;
    if !found.by_neutral {
        return Ok(factor);
    }
    let lines = Known::factor("lines", "lines whose third harmonics add up in the neutral", 3.0, clause);
    let what = "factor on the line current where the neutral decides";
    Ok(formula!("k_h", what, [factor, lines, share] => factor / (lines * share), source = clause))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::iec::testing::run;
    use crate::us::testing::{close, given, near};
    use tables::iec::grouping::{Clearance, Layout};

    fn one() -> Known<Ratio> {
        given(Ratio::of(1.0))
    }

    /// By hand: 76 A x 0.94 = 71.44 A; beside two others bunched x 0.70 = 50.0 A.
    #[test]
    fn factors_multiply() {
        let mut run = run(Method::C, 35.0);
        let s = Section::of(16.0);
        near(&cable_ampacity(&run, s, &one()).unwrap().capacity, 71.44);
        run.together = Some(Together::Air(Layout::Bunched));
        run.beside = given(Ratio::of(2.0));
        near(&cable_ampacity(&run, s, &one()).unwrap().capacity, 71.44 * 0.70);
        // a second set of its own is one more circuit of the group
        let two = given(Ratio::of(2.0));
        near(&cable_ampacity(&run, s, &two).unwrap().capacity, 2.0 * 71.44 * 0.65);
        run.together = None;
        assert!(cable_ampacity(&run, s, &one()).is_err());
    }

    /// By hand: 70 A in the ground at 25 degC x 0.95, beside one other touching x 0.75, in soil of 1.5 K.m/W x 1.28,
    /// with 40 % of third harmonic x 0.86 / (3 x 0.4): 70 x 0.912 x 0.7167 = 45.752 A.
    #[test]
    fn every_factor_multiplies() {
        let mut run = run(Method::D2, 25.0);
        run.soil = Some(given(SoilResistivity::of(1.5)));
        run.together = Some(Together::Buried(Clearance::Touching));
        run.beside = given(Ratio::of(1.0));
        run.third_harmonic = Some(given(Ratio::of(0.4)));
        let found = cable_ampacity(&run, Section::of(16.0), &one()).unwrap();
        near(&found.table, 70.0);
        close(&found.factor, 0.6536, 1e-9);
        close(&found.capacity, 45.752, 1e-9);
    }

    /// Worked example of annex E: 39 A with 40 % third harmonic is chosen by 3 x 0.4 x 39 / 0.86 = 54.4 A.
    #[test]
    fn above_33_percent_the_neutral_decides() {
        let mut run = run(Method::C, 30.0);
        run.third_harmonic = Some(given(Ratio::of(0.4)));
        let found = cable_ampacity(&run, Section::of(10.0), &one()).unwrap();
        close(&found.capacity, 57.0 * 0.86 / 1.2, 1e-9);
        let needed = 39.0 / found.factor.value().si();
        assert!((needed - 54.4).abs() < 0.05, "{needed}");
        run.third_harmonic = Some(given(Ratio::of(0.2)));
        close(&cable_ampacity(&run, Section::of(10.0), &one()).unwrap().capacity, 57.0 * 0.86, 1e-9);
        run.cable.method = Method::B1;
        assert!(cable_ampacity(&run, Section::of(10.0), &one()).is_err());
    }

    #[test]
    fn what_the_tables_lack_is_refused() {
        let s = Section::of;
        assert!(cable_ampacity(&run(Method::C, 90.0), s(16.0), &one()).is_err());
        assert!(cable_ampacity(&run(Method::C, 30.0), s(0.5), &one()).is_err());
        assert!(cable_ampacity(&run(Method::D2, 20.0), s(16.0), &one()).is_err(), "soil is not given");
        assert!(cable_ampacity(&run(Method::C, 30.0), s(16.0), &given(Ratio::of(0.0))).is_err());
        assert!(cable_ampacity(&run(Method::C, 30.0), s(16.0), &given(Ratio::of(1.5))).is_err());
        let mut buried = run(Method::D2, 20.0);
        buried.soil = Some(given(SoilResistivity::of(2.5)));
        let at_base = cable_ampacity(&buried, s(16.0), &one()).unwrap();
        assert_eq!(at_base.capacity.value(), at_base.table.value());
    }
}
