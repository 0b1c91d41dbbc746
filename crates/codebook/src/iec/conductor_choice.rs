//! Smallest conductor and its device for a design current.
//!
//! ## Clause and edition
//! IEC 60364-4-43:2008; 433.1 with 60364-5-52:2009 523 and 525.
//! ## Applies when
//! A conductor and its overcurrent device are chosen together.
//! ## Why
//! The device follows the load, the conductor follows the device: chosen apart, one of them is wrong.
//! ## Formula
//! `I_n = min(rated current >= I_b)`; then the fewest parallel sets and the smallest section with `I_n <= I_z`, `I_2
//! <= 1.45 · I_z` and, where a length is given, `du <= du_max`.
//! ## Example
//! Passing: 60 A by method C, PVC, three loaded, 30 degC: 63 A miniature circuit breaker and 16 mm2. Failing: 130 A by
//! a miniature circuit breaker, of which there is none.
//! ## Limits of our reading
//! A breaker may be set below its rating, and a conductor may be chosen without any device, where the caller says so.
//! Faults, protective conductor and neutral are rules of their own. Parallel sets must be of equal length, section and
//! path. Sections that IEC 60228 does not have are passed over.
//! ## Source
//! Rules that it joins; figures two sources agree, one source or from memory as each says.

use derivation::Known;
use quantity::{Current, Quantity, Ratio, Section};
use saying::say;
use tables::iec::cable::{self, Build};
use tables::iec::device::{self, Device};

use super::cable_ampacity::{Ampacity, CableRun, cable_ampacity};
use super::cable_voltage_drop::{Drop, VoltageDrop, cable_voltage_drop};
use super::conductor_resistance::{ConductorResistance, conductor_resistance};
use super::overload_coordination::{Overload, overload_coordination};
use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "IEC 60364-4-43:2008 433.1";

/// What a conductor is wanted for.
#[derive(Debug, Clone)]
pub struct Wanted {
    /// Design current.
    pub design: Known<Current>,
    /// Kind of device that protects it.
    pub device: Device,
    /// The cable and where it lies.
    pub run: CableRun,
    /// Its length and what may drop; `None` where the drop is judged elsewhere.
    pub drop: Option<Drop>,
    /// Least section for another reason, such as a fault or a terminal.
    pub least: Option<Known<Section>>,
    /// Most parallel sets.
    pub most_sets: u8,
}

/// A conductor with its device.
#[derive(Debug, Clone)]
pub struct Conductor {
    /// Rated current of the device, in A.
    pub device: Known<Current>,
    /// Section of each conductor, in mm2.
    pub section: Known<Section>,
    /// Parallel sets.
    pub sets: Known<Ratio>,
    /// What it may carry.
    pub ampacity: Ampacity,
    /// How device and conductor fit.
    pub overload: Overload,
    /// Its drop.
    pub drop: Option<VoltageDrop>,
    /// Resistance of one conductor, in ohm/km.
    pub resistance: ConductorResistance,
}

/// The smallest conductor that passes, with the smallest device for the current.
///
/// # Errors
/// No device is large enough, no section passes in the sets allowed, or a rule does not cover the case.
pub fn conductor_choice(wanted: &Wanted) -> Result<Conductor, NotCovered> {
    sane(CLAUSE, &wanted.design)?;
    let rated = device::next_rated(wanted.device, &wanted.design)?;
    choose(wanted, &rated)
}

/// The smallest conductor behind a circuit breaker of IEC 60947-2 that is set to a current.
///
/// # Errors
/// Another kind of device, a setting below the design current or above the largest frame, and as [`conductor_choice`].
pub fn conductor_at_setting(wanted: &Wanted, setting: &Known<Current>) -> Result<Conductor, NotCovered> {
    sane(CLAUSE, &wanted.design)?;
    sane(CLAUSE, setting)?;
    if wanted.device != Device::Breaker {
        let reason =
            say!("only circuit breakers of IEC 60947-2 are set: choose one, or leave the setting out");
        return Err(NotCovered::new(CLAUSE, reason));
    }
    device::next_rated(wanted.device, setting)?;
    if setting.value() < wanted.design.value() {
        let (set, design) = (setting.value(), wanted.design.value());
        return Err(NotCovered::new(
            CLAUSE,
            say!("a setting of {set} is below the design current of {design}", set, design),
        ));
    }
    choose(wanted, setting)
}

/// The smallest conductor behind a device that is there, whatever its rated current: of direct-current devices no standard
/// fixes a series.
///
/// # Errors
/// A rated current below the design current, and as [`conductor_choice`] but for the device.
pub fn conductor_behind(wanted: &Wanted, rated: &Known<Current>) -> Result<Conductor, NotCovered> {
    sane(CLAUSE, &wanted.design)?;
    sane(CLAUSE, rated)?;
    if rated.value() < wanted.design.value() {
        let (rated, design) = (rated.value(), wanted.design.value());
        return Err(NotCovered::new(
            CLAUSE,
            say!("a device of {rated} is below the design current of {design}", rated, design),
        ));
    }
    choose(wanted, rated)
}

/// The smallest conductor that carries the design current alone, as Annex E of IEC 60364-5-52 has it; what protects it is
/// settled elsewhere. The device in the answer is the design current.
///
/// # Errors
/// As [`conductor_choice`].
pub fn conductor_alone(wanted: &Wanted) -> Result<Conductor, NotCovered> {
    sane(CLAUSE, &wanted.design)?;
    // a release set to the design current asks just for I_b <= I_z
    let wanted = Wanted { device: Device::Breaker, ..wanted.clone() };
    choose(&wanted, &wanted.design)
}

/// A section and sets that are there, behind a device of a rated current; `None` for the design current alone, as
/// [`conductor_alone`] has it.
///
/// # Errors
/// As [`conductor_behind`]; a section that does not pass, with what fails.
pub fn conductor_given(
    wanted: &Wanted,
    rated: Option<&Known<Current>>,
    section: Section,
    sets: &Known<Ratio>,
) -> Result<Conductor, NotCovered> {
    sane(CLAUSE, &wanted.design)?;
    let alone = Wanted { device: Device::Breaker, ..wanted.clone() };
    let (wanted, rated) = rated.map_or((&alone, &wanted.design), |rated| (wanted, rated));
    sane(CLAUSE, rated)?;
    match one(wanted, rated, sets, section, "it is fixed")? {
        Tried::Passes(conductor) => Ok(*conductor),
        Tried::Fell(why) => Err(NotCovered::new(CLAUSE, why)),
    }
}

fn choose(wanted: &Wanted, rated: &Known<Current>) -> Result<Conductor, NotCovered> {
    let mut fell = "there is none smaller".to_owned();
    for n in 1..=wanted.most_sets {
        let sets =
            Known::chosen("n", "parallel sets", Ratio::of(f64::from(n)), "fewest that pass", Vec::new());
        for section in cable::sections(wanted.run.cable)? {
            match one(wanted, rated, &sets, section, &fell)? {
                Tried::Passes(conductor) => return Ok(*conductor),
                Tried::Fell(why) => fell = why,
            }
        }
    }
    let most = wanted.most_sets;
    Err(NotCovered::new(
        CLAUSE,
        say!("no section passes in up to {most} sets; the last fell since {fell}", most, fell),
    ))
}

enum Tried {
    Passes(Box<Conductor>),
    Fell(String),
}

fn one(
    wanted: &Wanted,
    rated: &Known<Current>,
    sets: &Known<Ratio>,
    section: Section,
    fell: &str,
) -> Result<Tried, NotCovered> {
    let cable = wanted.run.cable;
    let name = format!("{} x {section}", sets.value());
    if let Some(least) = wanted.least.as_ref().filter(|least| section < least.value()) {
        return Ok(Tried::Fell(format!("{name} is below {}: {}", least.value(), least.node().what)));
    }
    let Ok(resistance) = conductor_resistance(cable.metal, Build::Stranded, cable.insulation, section) else {
        return Ok(Tried::Fell(format!("{name} is no conductor of IEC 60228")));
    };
    let ampacity = cable_ampacity(&wanted.run, section, sets)?;
    let overload = overload_coordination(wanted.device, &wanted.design, rated, &ampacity.capacity)?;
    if !overload.holds() {
        let capacity = ampacity.capacity.value();
        return Ok(Tried::Fell(format!("{name} carries {capacity}, too little for {}", rated.value())));
    }
    let from = vec![rated.node().clone(), ampacity.capacity.node().clone()];
    let why = format!("smallest that passes; {fell}");
    let mut known = Known::chosen("S", "section of each conductor", section, why.clone(), from.clone());
    let drop = match &wanted.drop {
        Some(facts) => Some(cable_voltage_drop(facts, &known, sets)?),
        None => None,
    };
    if let Some(drop) = &drop {
        if !drop.total.holds {
            let (found, limit) = (drop.total.value.value().si(), drop.total.limit.value().si());
            let text = format!("{name} drops {:.2} %, more than {:.1} %", found * 100.0, limit * 100.0);
            return Ok(Tried::Fell(text));
        }
        let mut from = from;
        from.push(drop.total.value.node().clone());
        known = Known::chosen("S", "section of each conductor", section, why, from);
    }
    let device = rated.clone();
    let conductor =
        Conductor { device, section: known, sets: sets.clone(), ampacity, overload, drop, resistance };
    Ok(Tried::Passes(Box::new(conductor)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::iec::cable_voltage_drop::tests::circuit;
    use crate::iec::testing::run;
    use crate::us::testing::{given, near};
    use tables::iec::cable::{Insulation, Loaded23, Metal, Method};
    use tables::iec::grouping::{Layout, Together};

    fn wanted(a: f64, device: Device) -> Wanted {
        let run = run(Method::C, 30.0);
        Wanted { design: given(Current::of(a)), device, run, drop: None, least: None, most_sets: 1 }
    }

    #[test]
    fn the_device_follows_the_load_and_the_conductor_the_device() {
        let found = conductor_choice(&wanted(60.0, Device::Mcb)).unwrap();
        near(&found.device, 63.0);
        near(&found.section, 16.0);
        let why = found.section.node().source();
        assert!(why.contains("1 x 10 mm2 carries 57.0 A"), "{why}");
        // a fuse of 63 A asks for 69.5 A: still 16 mm2 with 76 A; of 80 A for 88.3 A: 25 mm2 with 96 A
        near(&conductor_choice(&wanted(60.0, Device::FuseGg)).unwrap().section, 16.0);
        near(&conductor_choice(&wanted(70.0, Device::FuseGg)).unwrap().section, 25.0);
        assert!(conductor_choice(&wanted(130.0, Device::Mcb)).is_err());
    }

    /// Table B.52.4, method C, two loaded: 33 A are carried by 4 mm2 (36 A); a miniature circuit breaker of 40 A asks for 6
    /// mm2 (41 A); a breaker set to 36 A for 4 mm2 still.
    #[test]
    fn without_a_device_and_at_a_setting() {
        let mut two = wanted(33.0, Device::Mcb);
        two.run.cable.loaded = Loaded23::Two;
        near(&conductor_choice(&two).unwrap().section, 6.0);
        near(&conductor_alone(&two).unwrap().section, 4.0);
        let set =
            |a: f64, device| conductor_at_setting(&Wanted { device, ..two.clone() }, &given(Current::of(a)));
        near(&set(36.0, Device::Breaker).unwrap().section, 4.0);
        near(&set(37.0, Device::Breaker).unwrap().section, 6.0);
        assert!(set(32.0, Device::Breaker).is_err() && set(36.0, Device::Mcb).is_err());
        assert!(set(f64::NAN, Device::Breaker).is_err());
    }

    /// Table B.52.2, method C: a breaker of 340 A, which is no frame of IEC 60947-2, asks for 340 A: 150 mm2 (344 A). A fuse
    /// asks for 340 x 1.6 / 1.45 = 375 A: 185 mm2 (392 A). The next frame, 400 A, would ask for 240 mm2.
    #[test]
    fn behind_a_device_of_any_rating() {
        let behind = |device, rated: f64| {
            let mut two = wanted(300.0, device);
            two.run.cable.loaded = Loaded23::Two;
            conductor_behind(&two, &given(Current::of(rated)))
        };
        near(&behind(Device::Breaker, 340.0).unwrap().section, 150.0);
        near(&behind(Device::FuseGg, 340.0).unwrap().section, 185.0);
        near(&behind(Device::FuseGg, 340.0).unwrap().device, 340.0);
        near(&behind(Device::Breaker, 400.0).unwrap().section, 240.0);
        assert!(behind(Device::Breaker, 250.0).is_err() && behind(Device::Breaker, f64::NAN).is_err());
    }

    #[test]
    fn drop_and_least_section_raise_it() {
        let mut two = wanted(20.0, Device::Mcb);
        two.run.cable.loaded = Loaded23::Two;
        near(&conductor_choice(&two).unwrap().section, 2.5);
        two.drop = Some(circuit(20.0, 60.0));
        // 2 x 0.0225 x 60 x 20 / S <= 11.5 V: S >= 4.7 mm2
        near(&conductor_choice(&two).unwrap().section, 6.0);
        // 2 x 0.0225 x 60 x 20 / 4 = 13.5 V of 230 V
        let why = conductor_choice(&two).unwrap().section.node().source().to_owned();
        assert!(why.contains("1 x 4 mm2 drops 5.87 %, more than 5.0 %"), "{why}");
        two.least = Some(given(Section::of(10.0)));
        near(&conductor_choice(&two).unwrap().section, 10.0);
    }

    #[test]
    fn over_the_largest_section_sets_lie_in_parallel_and_derate_each_other() {
        let mut large = wanted(600.0, Device::Breaker);
        large.run.cable.insulation = Insulation::Xlpe;
        large.run.cable.method = Method::E;
        large.run.together = Some(Together::Air(Layout::Ladder));
        assert!(conductor_choice(&large).is_err(), "one set does not carry 630 A");
        large.most_sets = 4;
        let found = conductor_choice(&large).unwrap();
        near(&found.device, 630.0);
        near(&found.sets, 2.0);
        // every smaller section in two sets carries less than 630 A: brute force
        for section in cable::sections(large.run.cable).unwrap() {
            let z = cable_ampacity(&large.run, section, &found.sets).unwrap().capacity.value();
            assert_eq!(z.si() >= 630.0, section >= found.section.value(), "{section}");
        }
    }

    /// Brute force over currents: what is chosen passes, and the next smaller section does not.
    #[test]
    fn nothing_smaller_would_do() {
        for metal in [Metal::Copper, Metal::Aluminium] {
            for a in (1..=120).map(f64::from) {
                let mut w = wanted(a, Device::Mcb);
                w.run.cable.metal = metal;
                let found = conductor_choice(&w).unwrap();
                assert!(found.device.value().si() >= a && found.overload.holds());
                let sizes = cable::sections(w.run.cable).unwrap();
                let smaller = sizes.iter().filter(|&&s| s < found.section.value());
                for &s in smaller.filter(|s| metal == Metal::Copper || s.si() >= 10.0) {
                    let z = cable_ampacity(&w.run, s, &found.sets).unwrap().capacity.value();
                    assert!(z < found.device.value(), "{a} A: {s}");
                }
            }
        }
    }

    proptest::proptest! {
        /// Wherever a cable lies: what is chosen passes, a larger current, a hotter place or more company never
        /// asks for less.
        #[test]
        fn harder_never_asks_for_less(
            a in 1.0f64..400.0,
            more in 1.0f64..2.0,
            method in proptest::sample::select(Method::ALL),
            degc in 10.0f64..60.0,
            hotter in 0.0f64..15.0,
            beside in 0u8..6,
            fuse in proptest::bool::ANY,
        ) {
            let device = if fuse { Device::FuseGg } else { Device::Breaker };
            let choose = |a: f64, degc: f64, beside: u8| {
                let mut w = wanted(a, device);
                w.run.cable.insulation = Insulation::Xlpe;
                w.run.cable.method = method;
                w.run.ambient = given(quantity::Temperature::of(degc));
                w.run.soil = Some(given(quantity::SoilResistivity::of(1.5)));
                w.run.together = (beside > 0).then_some(Together::Air(Layout::Bunched));
                w.run.beside = given(Ratio::of(f64::from(beside)));
                conductor_choice(&w).ok()
            };
            let section = |c: &Conductor| c.section.value();
            if let Some(base) = choose(a, degc, beside) {
                proptest::prop_assert!(base.device.value().si() >= a && base.overload.holds());
                proptest::prop_assert!(base.ampacity.capacity.value() >= base.device.value());
                for harder in [choose(a * more, degc, beside), choose(a, degc + hotter, beside), choose(a, degc, beside + 1)] {
                    // refused is never less
                    proptest::prop_assert!(harder.is_none_or(|harder| section(&harder) >= section(&base)));
                }
            }
        }
    }
}
