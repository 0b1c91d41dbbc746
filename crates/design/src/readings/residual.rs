//! Residual current devices: what a tester and a loop meter must show where the protection of people rests on them.

use std::sync::Arc;

use assess::Case;
use derivation::{Known, Node, formula};
use quantity::{Current, Duration, PhaseVoltage, Quantity, Ratio, Resistance};
use site::{Earthing, Panel};
use tables::iec::device::break_time;

use crate::code::highest_loop;

/// Multiple of the rated residual current at which the shortest break time holds (IEC 61008-1 Table 1).
const FIVE: f64 = 5.0;
/// Share of the rated residual current at which a device must not open (IEC 61008-1, from memory).
const STAYS_SHARE: f64 = 0.5;
/// Multiples of the rated residual current, with the time for which a device of type S must stay closed at each, in
/// seconds (IEC 61008-1 Table 1, from memory).
const STAYS_S: [(f64, f64); 2] = [(1.0, 0.13), (FIVE, 0.05)];

/// Between which times a device opens at a residual current.
#[derive(Debug, Clone)]
pub struct OpensIn {
    /// Not before; none where it may open at once.
    pub least: Option<Known<Duration>>,
    /// At the latest.
    pub most: Known<Duration>,
}

/// A residual current device, or all that stand ahead of the final circuits of a panel.
#[derive(Debug, Clone)]
pub struct ResidualReadings {
    /// Role path.
    pub role: &'static str,
    /// Role path of the part at which it is drawn: the feeder's breaker, or the panel.
    pub at: &'static str,
    /// Where it stands, in words.
    pub place: &'static str,
    /// Rated residual current.
    pub rated: Known<Current>,
    /// Time-delayed, type S.
    pub delayed: bool,
    /// Current at which it stays closed.
    pub stays: Known<Current>,
    /// Current at which its shortest time holds.
    pub five: Known<Current>,
    /// When it opens at its rated residual current, and at the current of its shortest time; none without a table.
    pub opens: [Option<OpensIn>; 2],
    /// Highest fault loop, utility or island, with which it is sure of its shortest time.
    pub loop_most: Known<Resistance>,
    /// What the site says of the loops behind it.
    pub stated: Option<Known<Resistance>>,
    /// TT: what the site says of the electrode, and the highest with which no more than 50 V stay (IEC 60364-4-41
    /// 411.5.3).
    pub electrode: Option<(Known<Resistance>, Known<Resistance>)>,
}

impl ResidualReadings {
    /// Every value that a test of it rests on.
    pub fn nodes(&self) -> Vec<&Arc<Node>> {
        let times = self.opens.iter().flatten().flat_map(|o| o.least.iter().chain([&o.most]));
        let all = [self.rated.node(), self.stays.node(), self.five.node(), self.loop_most.node()];
        all.into_iter().chain(times.map(Known::node)).collect()
    }

    /// As it is written beside a symbol: `RCD 30 mA`.
    pub fn words(&self) -> String {
        let kind = if self.delayed { " type S" } else { "" };
        // as marked on the device, without needless decimals
        let amperes = self.rated.value().si();
        let (figure, unit) = if amperes < 1.0 { (1000.0 * amperes, "mA") } else { (amperes, "A") };
        let figure = format!("{figure:.1}");
        format!("RCD {} {unit}{kind}", figure.trim_end_matches(".0"))
    }
}

/// Those that the site states of the backup panel and its feeder, by the IEC book.
pub fn residual_devices(case: &Case<'_>) -> Vec<ResidualReadings> {
    if case.site.service.earthing.value == Earthing::Us {
        return Vec::new();
    }
    let panel = case.site.panels.iter().find(|p| p.id.value == case.site.group.panel.value);
    panel.map(|panel| of(case, panel)).unwrap_or_default()
}

fn of(case: &Case<'_>, panel: &Panel) -> Vec<ResidualReadings> {
    let mut all = Vec::new();
    if let Some(rcd) = &panel.feeder_rcd {
        let rated = rcd.known("I_dn", "rated residual current of the feeder's device");
        let delayed = panel.feeder_rcd_delayed.as_ref().is_some_and(|d| d.value);
        all.push(one(
            case,
            ("backup.feeder.rcd", "backup.feeder", "ahead of the backup panel's feeder"),
            rated,
            delayed,
        ));
    }
    if let Some(rcd) = &panel.rcd {
        let rated = rcd.known("I_dn", "rated residual current");
        let delayed = panel.rcd_delayed.as_ref().is_some_and(|d| d.value);
        let place = "ahead of all final circuits of the backup panel";
        let mut device = one(case, ("backup.final.rcd", "backup", place), rated, delayed);
        let what = "highest loop of the final circuits, as measured";
        device.stated = panel.final_loop.as_ref().map(|ohm| ohm.known("Z_f", what));
        all.push(device);
    }
    all
}

fn one(
    case: &Case<'_>,
    (role, at, place): (&'static str, &'static str, &'static str),
    I_dn: Known<Current>,
    delayed: bool,
) -> ResidualReadings {
    let times = |symbol: &str, value: f64, source: &str| {
        let what = "multiple of the rated residual current";
        Known::table(symbol, what, Ratio::of(value), "constant", "", source, true)
    };
    let k: Known<Ratio> =
        times("k", STAYS_SHARE, "IEC 61008-1: it stays closed up to one half (from memory, confirm)");
    let m: Known<Ratio> =
        times("m", FIVE, "IEC 61008-1 Table 1: its shortest time from five on (from memory, confirm)");
    let service = &case.site.service;
    let electrode = service.electrode.as_ref().filter(|_| service.earthing.value == Earthing::Tt);
    let electrode = electrode.map(|stated| {
        let U_t = Known::constant(
            "U_t",
            "touch voltage that may stay",
            PhaseVoltage::of(50.0),
            "IEC 60364-4-41 411.5.3",
        );
        let what = "highest resistance of the electrode with this device";
        let I = I_dn.clone();
        let most =
            formula!("R_A", what, [U_t, I] => U_t / I, source = "IEC 60364-4-41 411.5.3: R_A I_dn <= 50 V");
        (stated.known("R_A", "resistance of the electrode, as the site states"), most)
    });
    ResidualReadings {
        role,
        at,
        place,
        stays: formula!("I_t", "residual current at which the device stays closed", [k, I_dn] => k * I_dn),
        five: formula!("I_t", "residual current of the shortest break time", [m, I_dn] => m * I_dn),
        opens: STAYS_S.map(|(multiple, stays_s)| opens_in(delayed, multiple, stays_s)),
        loop_most: highest_loop(case, &I_dn),
        rated: I_dn,
        delayed,
        stated: None,
        electrode,
    }
}

/// When a device opens at a multiple of its rated residual current.
fn opens_in(delayed: bool, multiple: f64, stays_s: f64) -> Option<OpensIn> {
    let m =
        Known::chosen("m", "current of the test over the rated one", Ratio::of(multiple), "test", Vec::new());
    let source = "IEC 61008-1 Table 1: type S stays closed for so long (from memory, confirm)";
    let row = format!("{multiple} times");
    let least = delayed.then(|| {
        let what = "time for which a device of type S stays closed";
        Known::table("t_s", what, Duration::of(stays_s), "constant", row, source, true)
    });
    Some(OpensIn { least, most: break_time(delayed, &m).ok()? })
}
