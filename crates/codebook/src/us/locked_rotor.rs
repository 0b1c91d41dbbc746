//! Locked-rotor apparent power from the code letter.
//!
//! ## Clause and edition
//! NEC 2023; 430.7(B), Table 430.7(B).
//! ## Applies when
//! A motor's nameplate carries a code letter and its start is to be reckoned with.
//! ## Why
//! At standstill a motor draws several times its running current; the letter bands how much.
//! ## Formula
//! `S_lr = k · hp`, k in kVA per horsepower, both ends of the letter's band; `I_lr = S_lr / V` single-phase,
//! `S_lr / (sqrt(3) · V)` three-phase.
//! ## Example
//! Passing: 20 hp at 460 V with letter G draw up to 125.8 kVA, 158 A. Failing: letter V has no upper end and is refused.
//! ## Limits of our reading
//! Direct start at rated voltage. The upper end is what a source must bear; the band holds for the rated horsepower
//! only.
//! ## Source
//! Table 430.7(B): two sources agree. Horsepower is 745.7 W.

use derivation::{Known, formula};
use quantity::{Apparent, Current, LineVoltage, PhaseVoltage, Quantity, ShaftPower};
use saying::say;
use tables::us::motor::{HORSEPOWER, code_letter};

use crate::NotCovered;
use crate::not_covered::sane;

const CLAUSE: &str = "NEC 2023 430.7(B)";

/// The band of a motor's locked-rotor apparent power.
#[derive(Debug, Clone)]
pub struct LockedRotor {
    /// Lowest, in VA.
    pub min_va: Known<Apparent>,
    /// Highest, in VA.
    pub max_va: Known<Apparent>,
}

/// The locked-rotor band of a motor by its code letter.
///
/// # Errors
/// No such letter, a letter without upper end, or a power that is not above zero.
pub fn locked_rotor(power: &Known<ShaftPower>, letter: char) -> Result<LockedRotor, NotCovered> {
    sane(CLAUSE, power)?;
    if power.value() <= ShaftPower::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("the motor's power is not above zero")));
    }
    let one_hp = Known::table("one_hp", "one horsepower", HORSEPOWER, "constant", "", "definition", false);
    let hp = formula!("hp", "power in horsepower", [power, one_hp] => power / one_hp);
    let kva = Known::table("kva", "one kVA", Apparent::of(1000.0), "constant", "", "definition", false);
    let band = code_letter(letter)?;
    let (k_min, k_max) = (band.min.clone(), band.max()?);
    let what = "locked-rotor apparent power";
    Ok(LockedRotor {
        min_va: formula!("S_lr_min", what, [k_min, hp, kva] => k_min * hp * kva, source = CLAUSE),
        max_va: formula!("S_lr_max", what, [k_max, hp, kva] => k_max * hp * kva, source = CLAUSE),
    })
}

/// Locked-rotor current of a single-phase motor between two legs, in A.
///
/// # Errors
/// The voltage is not above zero.
pub fn current_line_to_line(
    locked: &Known<Apparent>,
    voltage: &Known<LineVoltage>,
) -> Result<Known<Current>, NotCovered> {
    live(locked, voltage)?;
    Ok(formula!("I_lr", "locked-rotor current", [locked, voltage] => locked / voltage))
}

/// Locked-rotor current of a single-phase motor between a leg and neutral, in A.
///
/// # Errors
/// The voltage is not above zero.
pub fn current_to_neutral(
    locked: &Known<Apparent>,
    voltage: &Known<PhaseVoltage>,
) -> Result<Known<Current>, NotCovered> {
    live(locked, voltage)?;
    Ok(formula!("I_lr", "locked-rotor current", [locked, voltage] => locked / voltage))
}

/// Locked-rotor line current of a three-phase motor, in A.
///
/// # Errors
/// The voltage is not above zero.
pub fn current_three_phase(
    locked: &Known<Apparent>,
    voltage: &Known<LineVoltage>,
) -> Result<Known<Current>, NotCovered> {
    live(locked, voltage)?;
    let root3 = Known::factor("root3", "square root of three", 3.0_f64.sqrt(), "three-phase power");
    Ok(formula!("I_lr", "locked-rotor current", [locked, root3, voltage] => locked / (root3 * voltage)))
}

fn live<V: Quantity>(locked: &Known<Apparent>, voltage: &Known<V>) -> Result<(), NotCovered> {
    sane(CLAUSE, locked)?;
    sane(CLAUSE, voltage)?;
    if voltage.value().si() > 0.0 {
        return Ok(());
    }
    Err(NotCovered::new(CLAUSE, say!("the voltage is not above zero")))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given, near};

    fn hp(text: &str) -> Known<ShaftPower> {
        given(ShaftPower::read(text).unwrap())
    }

    /// NEC Handbook, example to Table 430.7(B) (MOT-01): 20 hp, 460 V, letter G: 125.8 kVA and 158 A.
    #[test]
    fn handbook_example() {
        let band = locked_rotor(&hp("20 hp"), 'G').unwrap();
        near(&band.max_va, 125_800.0);
        let current = current_three_phase(&band.max_va, &given(LineVoltage::of(460.0))).unwrap();
        close(&current, 158.0, 0.5);
    }

    /// Computed, Table 430.7(B), letter K (MOT-02): 1.5 hp at 240 V: 50.0 to 56.19 A.
    #[test]
    fn single_phase_band() {
        let band = locked_rotor(&hp("1.5 hp"), 'K').unwrap();
        let at = given(LineVoltage::of(240.0));
        close(&current_line_to_line(&band.min_va, &at).unwrap(), 50.0, 0.01);
        close(&current_line_to_line(&band.max_va, &at).unwrap(), 56.19, 0.01);
    }

    #[test]
    fn what_has_no_upper_end_is_refused() {
        assert!(locked_rotor(&hp("5 hp"), 'V').is_err());
        assert!(locked_rotor(&hp("5 hp"), 'O').is_err());
        assert!(locked_rotor(&given(ShaftPower::ZERO), 'G').is_err());
        assert!(locked_rotor(&given(ShaftPower::of(f64::NAN)), 'G').is_err());
        let band = locked_rotor(&hp("5 hp"), 'G').unwrap();
        assert!(current_to_neutral(&band.max_va, &given(PhaseVoltage::of(0.0))).is_err());
        assert!(current_to_neutral(&given(Apparent::of(f64::NAN)), &given(PhaseVoltage::of(120.0))).is_err());
        assert!(
            current_to_neutral(&band.max_va, &given(PhaseVoltage::of(f64::INFINITY))).is_err(),
            "no current"
        );
    }
}
