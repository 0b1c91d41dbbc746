//! Disconnects that energy storage and standby batteries need.
//!
//! ## Clause and edition
//! NEC 2023; 706.15, 480.7.
//! ## Applies when
//! A battery above 1 kWh is installed: as energy storage by Article 706, as a standby battery by Article 480.
//! ## Why
//! A battery cannot be switched off upstream. Whoever works on it or fights a fire beside it must find the switch.
//! ## Formula
//! Storage: all ungrounded conductors, readily accessible, within it, or within sight and 10 ft, or lockable; a second one
//! at the storage where conductors run over 5 ft or through a wall. Dwellings: an emergency shutdown outside. Standby: a
//! disconnect above 60 V DC; segments of at most 240 V for servicing; at dwellings an emergency disconnect outside.
//! ## Example
//! Passing: a disconnect 8 ft away and within sight. Failing: one 15 ft away that cannot be locked.
//! ## Limits of our reading
//! A list of what is asked for, and the place of one disconnect; switches themselves are not looked at. Storage of 1 kWh
//! or less gets no list.
//! ## Source
//! 706.1, 706.15(A), 480.7(A) and (C): two sources agree; the 10 ft, the 5 ft, 480.1 and 480.7(B): one source; confirm in
//! the adopted code.

use derivation::Known;
use quantity::{DcVoltage, Energy, Length};
use tables::us::dc_rule;

use crate::NotCovered;
use crate::not_covered::under;

const CLAUSE: &str = "NEC 2023 706.15";
const STANDBY: &str = "NEC 2023 480.7";

/// By which article the battery is installed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Article {
    /// Energy storage, Article 706: it feeds loads or the utility as a matter of course.
    Storage,
    /// Stationary standby battery, Article 480.
    Standby,
}

/// What is known of the battery.
#[derive(Debug, Clone)]
pub struct DisconnectFacts {
    /// By which article.
    pub article: Article,
    /// Its energy.
    pub energy: Known<Energy>,
    /// Its nominal voltage.
    pub voltage: Known<DcVoltage>,
    /// Whether it serves a one- or two-family dwelling.
    pub dwelling: bool,
    /// Run of its conductors to the equipment.
    pub run: Known<Length>,
    /// Whether that passes a wall or partition.
    pub through_wall: bool,
}

/// Something that is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Asked {
    /// Standard, edition, clause.
    pub clause: &'static str,
    /// What.
    pub what: &'static str,
    /// Rests on one source or on memory.
    pub confirm: bool,
}

/// Everything that is asked for.
///
/// # Errors
/// A value is negative or no number.
pub fn disconnects(facts: &DisconnectFacts) -> Result<Vec<Asked>, NotCovered> {
    facts.energy.not_negative().map_err(under(CLAUSE))?;
    facts.voltage.above_zero().map_err(under(CLAUSE))?;
    facts.run.not_negative().map_err(under(CLAUSE))?;
    match facts.article {
        Article::Storage => storage(facts),
        Article::Standby => standby(facts),
    }
}

fn storage(facts: &DisconnectFacts) -> Result<Vec<Asked>, NotCovered> {
    if facts.energy.value() <= dc_rule::energy("E", "storage-floor")?.value() {
        return Ok(Vec::new());
    }
    let mut asked = vec![Asked {
        clause: "NEC 2023 706.15(A)",
        what: "a readily accessible disconnect of all ungrounded conductors of the energy storage",
        confirm: false,
    }];
    if facts.dwelling {
        let what = "an emergency shutdown outside, readily accessible, after which the storage feeds nothing";
        asked.push(Asked { clause: "NEC 2023 706.15(B)", what, confirm: false });
    }
    if facts.through_wall || facts.run.value() > dc_rule::length("L", "storage-run-disconnect")?.value() {
        let what =
            "a disconnect at the storage's end, and a second one at the equipment where that is out of sight";
        asked.push(Asked { clause: "NEC 2023 706.15(D) or (E)", what, confirm: true });
    }
    Ok(asked)
}

fn standby(facts: &DisconnectFacts) -> Result<Vec<Asked>, NotCovered> {
    if facts.energy.value() <= dc_rule::energy("E", "standby-floor")?.value() {
        return Ok(Vec::new());
    }
    let mut asked = Vec::new();
    if facts.voltage.value() > dc_rule::voltage("V", "standby-disconnect")?.value() {
        let what =
            "a disconnect of all ungrounded conductors, readily accessible and within sight of the battery";
        asked.push(Asked { clause: "NEC 2023 480.7(A)", what, confirm: false });
    }
    if facts.dwelling {
        let what = "an emergency disconnect, or its remote control, at a readily accessible place outside";
        asked.push(Asked { clause: "NEC 2023 480.7(B)", what, confirm: true });
    }
    if facts.voltage.value() > dc_rule::voltage("V", "standby-segments")?.value() {
        let what = "means to part the string into segments of at most 240 V for servicing";
        asked.push(Asked { clause: "NEC 2023 480.7(C)", what, confirm: false });
    }
    Ok(asked)
}

/// Whether the place of a storage disconnect is allowed (706.15(B)).
///
/// # Errors
/// The distance is negative or no number.
pub fn placed(distance: &Known<Length>, within_sight: bool, lockable: bool) -> Result<bool, NotCovered> {
    distance.not_negative().map_err(under(CLAUSE))?;
    let farthest = dc_rule::length("d", "storage-disconnect-sight")?;
    Ok(lockable || (within_sight && distance.value() <= farthest.value()))
}

/// Whether an ungrounded battery circuit needs ground-fault detection (480.13).
///
/// # Errors
/// The voltage is not above zero.
pub fn ground_fault_detection(voltage: &Known<DcVoltage>) -> Result<bool, NotCovered> {
    voltage.above_zero().map_err(under(STANDBY))?;
    Ok(voltage.value() > dc_rule::voltage("V", "standby-ground-fault")?.value())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::given;

    fn asked(article: Article, kwh: f64, volts: f64, dwelling: bool, run_m: f64) -> Vec<&'static str> {
        let facts = DisconnectFacts {
            article,
            energy: given(Energy::of(kwh * 1e3)),
            voltage: given(DcVoltage::of(volts)),
            dwelling,
            run: given(Length::of(run_m)),
            through_wall: false,
        };
        disconnects(&facts).unwrap().iter().map(|asked| asked.clause).collect()
    }

    #[test]
    fn what_is_asked_for_follows_from_size_place_and_run() {
        use Article::{Standby, Storage};
        assert!(asked(Storage, 1.0, 51.2, true, 1.0).is_empty());
        assert_eq!(asked(Storage, 15.0, 51.2, false, 1.0), ["NEC 2023 706.15(A)"]);
        assert_eq!(asked(Storage, 15.0, 51.2, true, 2.0).len(), 3);
        assert!(asked(Standby, 15.0, 48.0, false, 2.0).is_empty());
        assert_eq!(asked(Standby, 15.0, 480.0, true, 2.0).len(), 3);
        assert_eq!(asked(Standby, 15.0, 240.0, false, 2.0), ["NEC 2023 480.7(A)"]);
        assert!(asked(Standby, 1.0, 480.0, true, 2.0).is_empty());
        let facts = |article, volts| DisconnectFacts {
            article,
            energy: given(Energy::of(15e3)),
            voltage: given(DcVoltage::of(volts)),
            dwelling: true,
            run: given(Length::of(1.0)),
            through_wall: false,
        };
        let confirm = |article| {
            disconnects(&facts(article, 480.0)).unwrap().iter().map(|a| a.confirm).collect::<Vec<_>>()
        };
        assert_eq!(confirm(Storage), [false, false]);
        assert_eq!(confirm(Standby), [false, true, false]);
        assert!(disconnects(&facts(Standby, 0.0)).is_err());
    }

    #[test]
    fn near_and_seen_or_locked() {
        let m = |x| given(Length::of(x));
        assert!(placed(&m(2.4), true, false).unwrap());
        assert!(!placed(&m(4.6), true, false).unwrap());
        assert!(placed(&m(4.6), false, true).unwrap());
        assert!(placed(&m(f64::NAN), true, true).is_err());
        assert!(!ground_fault_detection(&given(DcVoltage::of(51.2))).unwrap());
    }
}
