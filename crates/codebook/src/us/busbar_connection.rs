//! Sources on a busbar: the sums that may not exceed its rating.
//!
//! ## Clause and edition
//! NEC 2023; 705.12(B)(1) to (6).
//! ## Applies when
//! Sources are connected to a busbar that a primary source feeds through an overcurrent device.
//! ## Why
//! Two supplies can together load a stretch of the busbar beyond its rating without any device seeing it.
//! ## Formula
//! `1.25 · sum(I_out) + I_main <= I_bus` anywhere; `<= 1.20 · I_bus` with sources and main at opposite ends, or in a
//! dwelling's center-fed panelboard at one end; or `sum(I_load breakers) + sum(I_source breakers) <= I_bus` and
//! `I_main <= I_bus`.
//! ## Example
//! Passing: two of 24 A with a main of 175 A at opposite ends of 200 A: 235 A of 240 A. Failing: the same with 200 A:
//! 260 A.
//! ## Limits of our reading
//! Feed-through conductors and busbars under engineering supervision are not decided here. Opposite ends: all sources
//! at the end away from the main. Outputs are rated continuous currents; a setpoint of power control has its own
//! rule. Labels are asked for elsewhere. Editions before 2014 count the ratings of the sources' breakers in place of
//! 125 % of their output.
//! ## Source
//! 705.12(B)(1) to (4): two sources agree; editions before 2014: from memory; confirm in the adopted code.

use derivation::{Known, formula};
use quantity::{Apparent, Current, LineVoltage, Quantity};
use saying::say;
use tables::us::conductor_rule;

use crate::NotCovered;
use crate::not_covered::{all_sane, sane};

const CLAUSE: &str = "NEC 2023 705.12(B)";
/// Rounding of a computed sum that meets its limit.
const ROUNDING: f64 = 1.0 + 1e-9;

/// A busbar with what feeds it and what hangs on it.
#[derive(Debug, Clone)]
pub struct Busbar {
    /// Its rating.
    pub rating: Known<Current>,
    /// The device that protects it from the primary source.
    pub main: Known<Current>,
    /// Rated continuous output current of each source.
    pub sources: Vec<Known<Current>>,
    /// Ratings of the sources' breakers; none where they are not known.
    pub source_breakers: Option<Vec<Known<Current>>>,
    /// Ratings of the load breakers; none where they are not known.
    pub load_breakers: Option<Vec<Known<Current>>>,
    /// All sources stand at the end away from the main.
    pub opposite_ends: bool,
    /// A center-fed panelboard of a dwelling, all sources at one end.
    pub center_fed_dwelling: bool,
}

/// One way to satisfy the clause.
#[derive(Debug, Clone)]
pub struct BusOption {
    /// In a word: `full`, `opposite`, `breakers`, `center`.
    pub id: &'static str,
    /// The clause.
    pub clause: &'static str,
    /// What counts.
    pub sum: Known<Current>,
    /// What it may not exceed.
    pub limit: Known<Current>,
    /// Whether the sum keeps the limit and the condition is met.
    pub holds: bool,
    /// Whether the condition of the option is met.
    pub applies: bool,
}

/// All ways.
#[derive(Debug, Clone)]
pub struct BusbarConnection {
    /// 125 % of the sources and the main.
    pub sum: Known<Current>,
    /// The options, in the order of the clause; that of the breakers only where these are known.
    pub options: Vec<BusOption>,
    /// Whether one of them holds.
    pub any: bool,
}

impl BusbarConnection {
    /// An option by its word.
    pub fn option(&self, id: &str) -> Option<&BusOption> {
        self.options.iter().find(|option| option.id == id)
    }
}

fn keeps(sum: &Known<Current>, limit: &Known<Current>) -> bool {
    sum.value().si() <= limit.value().si() * ROUNDING
}

fn checked(bus: &Busbar) -> Result<(), NotCovered> {
    sane(CLAUSE, &bus.rating)?;
    sane(CLAUSE, &bus.main)?;
    all_sane(CLAUSE, &bus.sources)?;
    all_sane(CLAUSE, bus.source_breakers.as_deref().unwrap_or_default())?;
    all_sane(CLAUSE, bus.load_breakers.as_deref().unwrap_or_default())?;
    let enough =
        |of: &Option<Vec<Known<Current>>>| of.as_ref().is_none_or(|all| all.len() == bus.sources.len());
    if bus.sources.is_empty() || !enough(&bus.source_breakers) {
        return Err(NotCovered::new(
            CLAUSE,
            say!("each source needs its output and, where breakers are given, its breaker"),
        ));
    }
    if bus.rating.value() <= Current::ZERO {
        return Err(NotCovered::new(CLAUSE, say!("a busbar without rating")));
    }
    Ok(())
}

/// Every option of the clause for a busbar.
///
/// # Errors
/// No source, a source without breaker where breakers are given, or a current that is no number or negative.
pub fn busbar_connection(bus: &Busbar) -> Result<BusbarConnection, NotCovered> {
    checked(bus)?;
    let (rating, main) = (&bus.rating, &bus.main);
    let f = conductor_rule::ratio("f", "source-bus")?;
    let out = Known::sum("I_out", "output of the sources", &bus.sources);
    let what = "sources and main on the busbar";
    let sum = formula!("I_sum", what, [f, out, main] => f * out + main, source = CLAUSE);
    let full =
        formula!("I_lim", "rating of the busbar", [rating] => rating, source = "NEC 2023 705.12(B)(1)");
    let larger = |key, clause: &str| -> Result<Known<Current>, NotCovered> {
        let k = conductor_rule::ratio("k", key)?;
        let what = "raised rating of the busbar";
        Ok(formula!("I_lim", what, [k, rating] => k * rating, source = clause))
    };
    let option = |id, clause, sum: &Known<Current>, limit: Known<Current>, applies: bool| BusOption {
        holds: applies && keeps(sum, &limit),
        sum: sum.clone(),
        id,
        clause,
        limit,
        applies,
    };
    let opposite = larger("bus-share", "NEC 2023 705.12(B)(2)")?;
    let center = larger("bus-share-center", "NEC 2023 705.12(B)(4)")?;
    let mut options = vec![
        option("full", "705.12(B)(1)", &sum, full.clone(), true),
        option("opposite", "705.12(B)(2)", &sum, opposite, bus.opposite_ends),
    ];
    if let (Some(sources), Some(loads)) = (&bus.source_breakers, &bus.load_breakers) {
        let all: Vec<_> = loads.iter().chain(sources).cloned().collect();
        let breakers = Known::sum("I_breakers", "all breakers but the main", &all);
        options.push(option("breakers", "705.12(B)(3)", &breakers, full.clone(), keeps(main, &full)));
    }
    options.push(option("center", "705.12(B)(4)", &sum, center, bus.center_fed_dwelling));
    Ok(BusbarConnection { any: options.iter().any(|option| option.holds), options, sum })
}

/// The rule of editions before 2014: the breakers of all sources and the main against 120 % of the busbar, sources
/// at the end away from the main.
///
/// # Errors
/// As [`busbar_connection`], or breakers that are not given.
pub fn before_2014(bus: &Busbar) -> Result<BusOption, NotCovered> {
    checked(bus)?;
    let clause = "NEC 2011 705.12(D)(2)";
    let breakers = bus.source_breakers.as_ref();
    let breakers =
        breakers.ok_or_else(|| NotCovered::new(clause, say!("the sources' breakers are not given")))?;
    let (rating, main) = (&bus.rating, &bus.main);
    let sources = Known::sum("I_b", "breakers of the sources", breakers);
    let what = "breakers that supply the busbar";
    let sum = formula!("I_sum", what, [sources, main] => sources + main, source = clause);
    let k = conductor_rule::ratio("k", "bus-share-breakers")?;
    let limit = formula!("I_lim", "raised rating of the busbar", [k, rating] => k * rating, source = clause);
    let holds = bus.opposite_ends && keeps(&sum, &limit);
    Ok(BusOption {
        id: "before-2014",
        clause: "2011 edition 705.12(D)(2)",
        sum,
        limit,
        holds,
        applies: bus.opposite_ends,
    })
}

/// What is left on a busbar for sources.
#[derive(Debug, Clone)]
pub struct Room {
    /// For 125 % of the sources: their breaker at most.
    pub room: Known<Current>,
    /// Their rated continuous output.
    pub source: Known<Current>,
}

/// What is left for sources anywhere on a busbar, and at the end away from the main.
///
/// # Errors
/// A rating that is no number, or a main that leaves nothing even there.
pub fn room(rating: &Known<Current>, main: &Known<Current>, opposite_ends: bool) -> Result<Room, NotCovered> {
    sane(CLAUSE, rating)?;
    sane(CLAUSE, main)?;
    let f = conductor_rule::ratio("f", "source-bus")?;
    let what = "room for 125 % of the sources";
    let room = if opposite_ends {
        let k = conductor_rule::ratio("k", "bus-share")?;
        formula!("I_room", what, [k, rating, main] => k * rating - main, source = "NEC 2023 705.12(B)(2)")
    } else {
        formula!("I_room", what, [rating, main] => rating - main, source = "NEC 2023 705.12(B)(1)")
    };
    if room.value() < Current::ZERO {
        let reason =
            say!("a main of {main} leaves no room on {rating}", main = main.value(), rating = rating.value());
        return Err(NotCovered::new(CLAUSE, reason));
    }
    let source = formula!("I_src", "largest output of the sources", [room, f] => room / f);
    Ok(Room { room, source })
}

/// Power of an output current at a voltage; root three for three phases.
///
/// # Errors
/// A value that is no number.
pub fn power(
    current: &Known<Current>,
    line: &Known<LineVoltage>,
    three_phase: bool,
) -> Result<Known<Apparent>, NotCovered> {
    sane(CLAUSE, current)?;
    sane(CLAUSE, line)?;
    let what = "power of the sources";
    if three_phase {
        let root3 = Known::factor("root3", "square root of three", 3.0_f64.sqrt(), "three-phase power");
        return Ok(formula!("S", what, [root3, line, current] => (root3 * line) * current));
    }
    Ok(formula!("S", what, [line, current] => line * current))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::us::testing::{all, given, near};

    fn bus(main: f64, sources: &[f64]) -> Busbar {
        Busbar {
            rating: given(Current::of(200.0)),
            main: given(Current::of(main)),
            sources: all(sources),
            source_breakers: None,
            load_breakers: None,
            opposite_ends: true,
            center_fed_dwelling: false,
        }
    }

    /// BUS-01.
    #[test]
    fn published_three_ways() {
        let holds = |main| {
            let found = busbar_connection(&bus(main, &[24.0, 24.0])).unwrap();
            (found.option("full").unwrap().holds, found.option("opposite").unwrap().holds, found.any)
        };
        assert_eq!(holds(125.0), (true, true, true));
        assert_eq!(holds(175.0), (false, true, true));
        assert_eq!(holds(200.0), (false, false, false));
        near(&busbar_connection(&bus(175.0, &[24.0, 24.0])).unwrap().sum, 235.0);
        let mut near_main = bus(175.0, &[24.0, 24.0]);
        near_main.opposite_ends = false;
        assert!(!busbar_connection(&near_main).unwrap().any);
        near_main.center_fed_dwelling = true;
        assert!(busbar_connection(&near_main).unwrap().option("center").unwrap().holds);
    }

    /// BUS-02: 40 A, 32 A, 7680 VA; and just that much holds.
    #[test]
    fn published_room() {
        let found = room(&given(Current::of(200.0)), &given(Current::of(200.0)), true).unwrap();
        near(&found.room, 40.0);
        near(&found.source, 32.0);
        near(&power(&found.source, &given(LineVoltage::of(240.0)), false).unwrap(), 7680.0);
        assert!(busbar_connection(&bus(200.0, &[32.0])).unwrap().any);
        assert!(!busbar_connection(&bus(200.0, &[32.1])).unwrap().any);
        assert!(room(&given(Current::of(200.0)), &given(Current::of(225.0)), false).is_err());
    }

    /// BUS-03.
    #[test]
    fn sum_of_breakers() {
        let mut panel = bus(200.0, &[16.0]);
        panel.opposite_ends = false;
        panel.source_breakers = Some(all(&[20.0]));
        panel.load_breakers = Some(all(&[40.0, 30.0, 30.0, 50.0, 20.0]));
        let found = busbar_connection(&panel).unwrap();
        near(&found.option("breakers").unwrap().sum, 190.0);
        assert!(found.option("breakers").unwrap().holds && found.any);
        panel.load_breakers = Some(all(&[40.0, 30.0, 30.0, 50.0, 20.0, 20.0]));
        assert!(!busbar_connection(&panel).unwrap().any);
        panel.load_breakers = Some(all(&[20.0]));
        panel.main = given(Current::of(225.0));
        assert!(!busbar_connection(&panel).unwrap().any, "the main exceeds the busbar");
    }

    /// BUS-04.
    #[test]
    fn older_editions_count_breakers() {
        let mut panel = bus(200.0, &[16.7, 16.7]);
        assert!(before_2014(&panel).is_err());
        panel.source_breakers = Some(all(&[25.0, 25.0]));
        let old = before_2014(&panel).unwrap();
        near(&old.sum, 250.0);
        near(&old.limit, 240.0);
        assert!(!old.holds);
        assert!(derivation::explain(old.limit.node()).contains("confirm in the adopted code"));
        near(&busbar_connection(&panel).unwrap().sum, 241.75);
    }

    #[test]
    fn what_makes_no_sense_is_refused() {
        assert!(busbar_connection(&bus(200.0, &[])).is_err());
        let none = Busbar { rating: given(Current::ZERO), ..bus(0.0, &[0.0]) };
        assert!(busbar_connection(&none).is_err());
        let (ten, volts) = (given(Current::of(10.0)), given(LineVoltage::of(-240.0)));
        assert!(power(&ten, &volts, false).is_err());
        assert!(power(&given(Current::of(-10.0)), &given(LineVoltage::of(240.0)), true).is_err());
        assert!(busbar_connection(&bus(f64::NAN, &[10.0])).is_err());
        assert!(busbar_connection(&bus(100.0, &[-10.0])).is_err());
    }
}
