//! Voltage drop along a run.
//!
//! ## Clause and edition
//! NEC 2023; 210.19 and 215.2 (informational notes), Chapter 9 Tables 8 and 9.
//! ## Applies when
//! The voltage at the end of a run is of interest.
//! ## Why
//! Equipment is made for a band of voltage; what the run loses heats the run.
//! ## Formula
//! One conductor loses `V_1 = I · r · L`. Between two lines or to a return of the same size `V = 2 · V_1`;
//! three-phase `V = sqrt(3) · V_1`; from a leg of a split-phase circuit to neutral `V = V_1 + r · L · (I - I_other)`.
//! r is the DC resistance of Table 8, the effective impedance `R · pf + X · sin(acos(pf))` of Table 9, or `K / cmil`.
//! ## Example
//! Passing: 16 A over 100 ft of 12 AWG at K = 12.9 lose 6.32 V of 120 V. Failing: a power factor of 1.2 is refused.
//! ## Limits of our reading
//! Advice, not law: 3 % for a run, 5 % with what stands before it. Tables at 75 degC; Table 9 at 60 Hz, lagging power
//! factor, three single conductors in conduit. Table 8 serves AC up to 1 AWG only. The effective impedance is the
//! usual approximation and errs where the drop is large. Parallel sets share evenly. Of two legs the heavier is to be
//! asked for. Unequal split-phase legs are in phase with each other, neutral like the legs.
//! ## Source
//! Tables 8 and 9: two sources agree; Note 2 of both: one source; K: common practice; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{
    Current, DcCurrent, DcVoltage, Length, LineVoltage, PhaseVoltage, Quantity, Ratio, Resistance,
    Temperature, WireArea, root,
};
use saying::say;
use tables::us::conductor_rule;
use tables::us::conductors::{Conduit, Impedance, Material, ac_impedance_of_kft, dc_resistance_of_kft};
use tables::us::size::Size;

use crate::NotCovered;
use crate::not_covered::{counted, sane};

const CLAUSE: &str = "NEC 2023 Chapter 9";

/// How the current returns.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Circuit {
    /// Two conductors of one size, out and back.
    TwoWire,
    /// Three phases, balanced.
    ThreePhase,
}

/// What a run loses.
#[derive(Debug, Clone)]
pub struct Drop {
    /// Along one conductor.
    pub one_way: Known<PhaseVoltage>,
    /// Between the lines, or line and return.
    pub drop: Known<LineVoltage>,
    /// Of the voltage at its start.
    pub share: Known<Ratio>,
    /// Whether the share keeps the recommended limit of one run.
    pub recommended: bool,
}

/// Length to which the tables' figures belong.
fn kft() -> Known<Length> {
    Known::table("kft", "length of the table's figures", Length::of(304.8), "constant", "", CLAUSE, false)
}

/// Impedance of a run of one conductor: a table's figure of 1000 ft, the length, and conductors in parallel.
///
/// # Errors
/// A figure or a length that is no number, or no whole number of conductors.
pub fn run(
    of_kft: &Known<Resistance>,
    length: &Known<Length>,
    parallel: &Known<Ratio>,
) -> Result<Known<Resistance>, NotCovered> {
    sane(CLAUSE, of_kft)?;
    sane(CLAUSE, length)?;
    counted(CLAUSE, parallel, &Known::factor("n_min", "at least one", 1.0, CLAUSE))?;
    let kft = kft();
    Ok(
        formula!("Z", "impedance of the run", [of_kft, length, kft, parallel] => of_kft * (length / kft) / parallel),
    )
}

/// A figure of 1000 ft as one of 1 km.
pub fn of_km(of_kft: &Known<Resistance>) -> Known<Resistance> {
    let kft = kft();
    let km = Known::table("km", "one kilometre", Length::of(1000.0), "constant", "", "definition", false);
    formula!("r_km", "resistance of 1 km", [of_kft, km, kft] => of_kft * (km / kft))
}

/// Resistance of 1000 ft for an AC run whose conduit is not known: Table 8 at 75 degC, for sizes whose reactance
/// matters little.
///
/// # Errors
/// A conductor larger than 1 AWG, for which the DC resistance would show too small a drop.
pub fn ac_by_resistance_of_kft(
    size: Size,
    material: Material,
    solid: bool,
) -> Result<Known<Resistance>, NotCovered> {
    let largest = Size::all().find(|size| size.figure() == "1");
    if largest.is_none_or(|largest| size > largest) {
        let reason = say!("reactance counts at {size}: conduit and power factor are needed", size);
        return Err(NotCovered::new(CLAUSE, reason));
    }
    dc_of_kft(size, material, solid, None)
}

/// DC resistance of 1000 ft at a conductor temperature (Table 8 and its Note 2).
///
/// # Errors
/// A conductor that the table does not have, or a temperature that is no number.
pub fn dc_of_kft(
    size: Size,
    material: Material,
    solid: bool,
    temperature: Option<&Known<Temperature>>,
) -> Result<Known<Resistance>, NotCovered> {
    let r75 = dc_resistance_of_kft(size, material, solid)?;
    let Some(t) = temperature else { return Ok(r75) };
    // the linear law of the note is not meant beyond what insulation bears
    if !(-40.0..=150.0).contains(&t.value().si()) {
        let reason = say!("a conductor of {t}; the note is read from -40 to 150 degC", t = t.value());
        return Err(NotCovered::new("NEC 2023 Chapter 9 Table 8 Note 2", reason));
    }
    let alpha = match material {
        Material::Copper => conductor_rule::ratio("alpha", "alpha-cu")?,
        Material::Aluminum => conductor_rule::ratio("alpha", "alpha-al")?,
    };
    let t75 = conductor_rule::temperature("t75", "table-temperature")?;
    let rise = formula!("dT", "degrees above the table's", [t, t75] => degrees(t - t75));
    let source = "NEC 2023 Chapter 9 Table 8 Note 2";
    let what = "resistance of 1000 ft at its temperature";
    Ok(formula!("r", what, [r75, alpha, rise] => r75 * (1.0 + alpha * rise), source = source))
}

fn degrees(difference: Temperature) -> Ratio {
    Ratio::of(difference.si())
}

/// Effective impedance of 1000 ft at a lagging power factor (Table 9 and its Note 2).
///
/// # Errors
/// A conductor that the table does not have, or a power factor outside 0 to 1.
pub fn effective_of_kft(
    size: Size,
    material: Material,
    conduit: Conduit,
    pf: &Known<Ratio>,
) -> Result<Known<Resistance>, NotCovered> {
    let r = ac_impedance_of_kft(size, material, conduit, Impedance::Resistance)?;
    let x = ac_impedance_of_kft(size, material, conduit, Impedance::Reactance)?;
    effective(&r, &x, pf)
}

/// Effective impedance from resistance and reactance at a lagging power factor.
///
/// # Errors
/// A value that is no number, or a power factor outside 0 to 1.
pub fn effective(
    r: &Known<Resistance>,
    x: &Known<Resistance>,
    pf: &Known<Ratio>,
) -> Result<Known<Resistance>, NotCovered> {
    sane(CLAUSE, r)?;
    sane(CLAUSE, x)?;
    if !(0.0..=1.0).contains(&pf.value().si()) {
        return Err(NotCovered::new(CLAUSE, say!("a power factor of {pf}", pf = pf.value())));
    }
    let source = "NEC 2023 Chapter 9 Table 9 Note 2 (confirm in the adopted code)";
    let what = "effective impedance of 1000 ft";
    Ok(formula!("z", what, [r, pf, x] => r * pf + x * root(1.0 - pf * pf), source = source))
}

/// Resistance of 1000 ft by the K method: K ohm for one circular mil and one foot.
///
/// # Errors
/// K or the area is not above zero.
pub fn by_k_of_kft(k: &Known<Resistance>, area: &Known<WireArea>) -> Result<Known<Resistance>, NotCovered> {
    sane(CLAUSE, k)?;
    sane(CLAUSE, area)?;
    if area.value() <= WireArea::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("a conductor without area")));
    }
    let kcmil = Known::table("kcmil", "one kcmil", WireArea::of(1.0), "constant", "", "definition", false);
    // K ohm-cmil/ft over cmil, times 1000 ft: the thousands cancel
    Ok(
        formula!("r", "resistance of 1000 ft", [k, area, kcmil] => k / (area / kcmil), source = "common practice"),
    )
}

/// Drop of an AC run at a current.
///
/// # Errors
/// A value that is no number, or a voltage that is not above zero.
pub fn drop(
    impedance: &Known<Resistance>,
    current: &Known<Current>,
    voltage: &Known<LineVoltage>,
    circuit: Circuit,
) -> Result<Drop, NotCovered> {
    sane(CLAUSE, impedance)?;
    sane(CLAUSE, current)?;
    let one_way = formula!("V_1", "drop along one conductor", [impedance, current] => impedance * current);
    let k = match circuit {
        Circuit::TwoWire => Known::factor("k", "out and back", 2.0, "two conductors"),
        Circuit::ThreePhase => Known::factor("k", "square root of three", 3.0_f64.sqrt(), "three phases"),
    };
    let drop = formula!("V_d", "drop between the lines", [k, one_way] => between_lines(k * one_way));
    finished(one_way, drop, voltage)
}

/// Longest run of the same kind whose drop keeps the recommended limit; `None` where there is no drop.
///
/// # Errors
/// A value that is no number or negative.
pub fn longest(length: &Known<Length>, share: &Known<Ratio>) -> Result<Option<Known<Length>>, NotCovered> {
    sane(CLAUSE, length)?;
    if share.value() <= Ratio::ZERO {
        return Ok(None);
    }
    let most = conductor_rule::ratio("v_max", "drop-run")?;
    let what = "longest run with the recommended drop";
    Ok(Some(formula!("L_max", what, [length, most, share] => length * (most / share))))
}

/// Drop from one leg of a split-phase circuit to neutral while the other leg carries a current of its own. The
/// share is of the voltage from leg to neutral.
///
/// # Errors
/// A value that is no number, or a voltage that is not above zero.
pub fn leg_drop(
    impedance: &Known<Resistance>,
    leg: &Known<Current>,
    other: &Known<Current>,
    voltage: &Known<PhaseVoltage>,
) -> Result<Drop, NotCovered> {
    sane(CLAUSE, impedance)?;
    sane(CLAUSE, leg)?;
    sane(CLAUSE, other)?;
    sane(CLAUSE, voltage)?;
    let one_way = formula!("V_1", "drop along the leg", [impedance, leg] => impedance * leg);
    let what = "drop from leg to neutral";
    let neutral =
        formula!("V_n", "drop along the neutral", [impedance, leg, other] => impedance * (leg - other));
    let drop = formula!("V_d", what, [one_way, neutral] => between_lines(one_way + neutral));
    let voltage = formula!("V", "voltage from leg to neutral", [voltage] => between_lines(voltage));
    finished(one_way, drop, &voltage)
}

/// What a DC run loses, out and back.
#[derive(Debug, Clone)]
pub struct DcDrop {
    /// Along both conductors.
    pub drop: Known<DcVoltage>,
    /// Of the voltage at its start.
    pub share: Known<Ratio>,
    /// Whether the share keeps the recommended limit of one run.
    pub recommended: bool,
}

/// Drop of a DC run at a current.
///
/// # Errors
/// A value that is no number, or a voltage that is not above zero.
pub fn dc_drop(
    resistance: &Known<Resistance>,
    current: &Known<DcCurrent>,
    voltage: &Known<DcVoltage>,
) -> Result<DcDrop, NotCovered> {
    sane(CLAUSE, resistance)?;
    sane(CLAUSE, current)?;
    live(voltage)?;
    let k = Known::factor("k", "out and back", 2.0, "two conductors");
    let what = "drop along both conductors";
    let drop = formula!("V_d", what, [k, resistance, current] => k * (resistance * current));
    let share = formula!("v", "share of the voltage", [drop, voltage] => drop / voltage);
    Ok(DcDrop { recommended: keeps(&share)?, drop, share })
}

fn finished(
    one_way: Known<PhaseVoltage>,
    drop: Known<LineVoltage>,
    voltage: &Known<LineVoltage>,
) -> Result<Drop, NotCovered> {
    live(voltage)?;
    let share = formula!("v", "share of the voltage", [drop, voltage] => drop / voltage);
    Ok(Drop { recommended: keeps(&share)?, one_way, drop, share })
}

fn keeps(share: &Known<Ratio>) -> Result<bool, NotCovered> {
    // a leg that rises because the other pulls the neutral is as far off as one that falls
    Ok(share.value().abs() <= conductor_rule::ratio("v_max", "drop-run")?.value())
}

/// A drop along conductors as a voltage between lines.
fn between_lines(voltage: PhaseVoltage) -> LineVoltage {
    LineVoltage::of(voltage.si())
}

fn live<V: Quantity>(voltage: &Known<V>) -> Result<(), NotCovered> {
    sane(CLAUSE, voltage)?;
    if voltage.value().si() > 0.0 {
        Ok(())
    } else {
        Err(NotCovered::new(CLAUSE, say!("the voltage is not above zero")))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{close, given, near};

    fn feet(ft: f64) -> Known<Length> {
        given(Length::of(ft * 0.3048))
    }

    fn one() -> Known<Ratio> {
        given(Ratio::of(1.0))
    }

    /// CON-07: K = 12.9, 6530 cmil, 16 A, 100 ft: 6.32 V, 5.27 % of 120 V.
    #[test]
    fn published_k_method() {
        let r = by_k_of_kft(&given(Resistance::of(12.9)), &given(WireArea::of(6.53))).unwrap();
        let z = run(&r, &feet(100.0), &one()).unwrap();
        let lost =
            drop(&z, &given(Current::of(16.0)), &given(LineVoltage::of(120.0)), Circuit::TwoWire).unwrap();
        close(&lost.drop, 6.3216, 1e-3);
        assert!(!lost.recommended);
        // by hand: 100 ft · 3 % / 5.268 %
        close(&longest(&feet(100.0), &lost.share).unwrap().unwrap(), 56.948 * 0.3048, 1e-3);
    }

    /// CON-08: 0.16 ohm/kft, 150 ft, 100 A: 2.4 V to neutral, 4.157 V between lines, 1.73 % of 240 V.
    #[test]
    fn published_three_phase() {
        let z = run(&given(Resistance::of(0.16)), &feet(150.0), &one()).unwrap();
        let lost = drop(&z, &given(Current::of(100.0)), &given(LineVoltage::of(240.0)), Circuit::ThreePhase)
            .unwrap();
        close(&lost.one_way, 2.4, 1e-9);
        close(&lost.drop, 4.157, 1e-3);
        assert!(lost.recommended);
    }

    /// CON-09: 35 A over 90 ft of 0.491 ohm/kft: 3.0933 V in DC; balanced legs lose 1.54665 V each, one leg alone
    /// twice.
    #[test]
    fn balanced_legs_lose_half() {
        let r = run(&given(Resistance::of(0.491)), &feet(90.0), &one()).unwrap();
        let dc = dc_drop(&r, &given(DcCurrent::of(35.0)), &given(DcVoltage::of(48.0))).unwrap();
        close(&dc.drop, 3.0933, 1e-9);
        let (a, v) = (|a| given(Current::of(a)), given(PhaseVoltage::of(120.0)));
        close(&leg_drop(&r, &a(35.0), &a(35.0), &v).unwrap().drop, 1.546_65, 1e-9);
        close(&leg_drop(&r, &a(35.0), &a(0.0), &v).unwrap().drop, 3.0933, 1e-9);
        let risen = leg_drop(&r, &a(0.0), &a(100.0), &v).unwrap();
        assert!(risen.drop.value() < LineVoltage::ZERO && !risen.recommended, "4.4 V too high");
    }

    /// By hand: 4/0 AWG copper in PVC at 0.85: 0.062 x 0.85 + 0.041 x 0.5268 = 0.0743 (printed 0.074); two in
    /// parallel half.
    #[test]
    fn tables_and_parallels() {
        let size: Size = "4/0".parse().unwrap();
        let pf = given(Ratio::of(0.85));
        let z = effective_of_kft(size, Material::Copper, Conduit::Pvc, &pf).unwrap();
        close(&z, 0.0743, 1e-4);
        let both = run(&z, &feet(1000.0), &given(Ratio::of(2.0))).unwrap();
        near(&both, z.value().si() / 2.0);
        assert!(effective_of_kft(size, Material::Copper, Conduit::Pvc, &given(Ratio::of(1.2))).is_err());
        assert!(effective_of_kft(size, Material::Copper, Conduit::Pvc, &given(Ratio::of(1.001))).is_err());
        assert!(effective_of_kft("2000".parse().unwrap(), Material::Copper, Conduit::Pvc, &pf).is_err());
        let cold = dc_of_kft(size, Material::Copper, false, Some(&given(Temperature::of(25.0)))).unwrap();
        near(&of_km(&dc_of_kft(size, Material::Copper, false, None).unwrap()), 0.0608 / 0.3048);
        assert!(ac_by_resistance_of_kft(size, Material::Copper, false).is_err(), "reactance counts");
        near(&ac_by_resistance_of_kft("12".parse().unwrap(), Material::Copper, false).unwrap(), 1.98);
        near(&cold, 0.0608 * (1.0 - 0.003_23 * 50.0));
        let at = |degc| dc_of_kft(size, Material::Copper, false, Some(&given(Temperature::of(degc))));
        near(&at(150.0).unwrap(), 0.0608 * (1.0 + 0.003_23 * 75.0));
        near(&at(-40.0).unwrap(), 0.0608 * (1.0 - 0.003_23 * 115.0));
        assert!(at(150.1).is_err() && at(-40.1).is_err() && at(f64::NAN).is_err());
        assert!(drop(&z, &given(Current::of(1.0)), &given(LineVoltage::ZERO), Circuit::TwoWire).is_err());
        assert!(run(&z, &feet(f64::NAN), &one()).is_err());
        let ohm = |x| given(Resistance::of(x));
        assert!(
            effective(&ohm(-1.0), &ohm(0.0), &pf).is_err() && effective(&ohm(1.0), &ohm(-1.0), &pf).is_err()
        );
        assert!(by_k_of_kft(&ohm(-12.9), &given(WireArea::of(6.53))).is_err());
        assert!(by_k_of_kft(&ohm(12.9), &given(WireArea::ZERO)).is_err());
    }
}
