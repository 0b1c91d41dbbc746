//! The demand-duration curve of a plain list of loads that may all run together: the single calculation behind the
//! curve of a lane.

use std::sync::Arc;

use derivation::Known;
use quantity::{Duration, Power, Quantity};

use crate::coincidence::Coincidence;
use crate::duration::OnTime;
use crate::lane::{LaneItem, LaneItems};

/// A load that may run at any time.
#[derive(Debug, Clone)]
pub struct CyclingLoad {
    /// Power while it runs.
    pub power: Known<Power>,
    /// Running time in any 24 hours.
    pub a_day: Known<Duration>,
    /// Longest run and shortest pause; none = all of the day's running time in one run.
    pub cycle: Option<(Known<Duration>, Known<Duration>)>,
}

/// The highest mean demand of such loads over any window of each length: the energy that they can take in it over
/// its length (see the `lane` module). Lengths that are not above zero give the demand of all loads at once.
pub fn duration_curve(loads: &[CyclingLoad], lengths: &[Duration]) -> Vec<Known<Power>> {
    let items = loads
        .iter()
        .map(|load| {
            let w = load.power.value().si();
            let on = OnTime {
                daily_s: load.a_day.value().si(),
                run: load.cycle.as_ref().map(|(run, rest)| (run.value().si(), rest.value().si())),
                measured: None,
            };
            LaneItem { top_w: w, all_w: w, top_va: w, all_va: w, instances: 1.0, on }
        })
        .collect();
    let lane = LaneItems::new(Arc::new(Coincidence::new(vec![None; loads.len()], &[])), items);
    let total: f64 = loads.iter().map(|l| l.power.value().si()).sum();
    let from: Vec<_> = loads
        .iter()
        .flat_map(|l| {
            let cycle = l.cycle.iter().flat_map(|(run, rest)| [run.node().clone(), rest.node().clone()]);
            [l.power.node().clone(), l.a_day.node().clone()].into_iter().chain(cycle)
        })
        .collect();
    lengths
        .iter()
        .map(|length| {
            let mean = if length.si() > 0.0 { lane.mean_w(length.si()).min(total) } else { total };
            let what =
                format!("upper bound of the demand that can last {length}: highest mean over {length}");
            let equation = "sum over loads of P · (longest time on within D) / D";
            Known::solved("P_D", what, Power::of(mean), equation, 0.0, from.clone())
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn load(watts: f64, day_h: f64, cycle: Option<(f64, f64)>) -> CyclingLoad {
        let known = |s: f64| Known::assumed("t", "time", Duration::of(s), "test");
        CyclingLoad {
            power: Known::assumed("P", "power", Power::of(watts), "test"),
            a_day: known(day_h * 3600.0),
            cycle: cycle.map(|(run, rest)| (known(run), known(rest))),
        }
    }

    /// By hand: 1 kW all day; 2 kW for 15 min of every 35; 4 kW for 10 min once a day. Within 30 min: 1 + 2 · 15/30 +
    /// 4 · 10/30 = 3.33 kW. Within 3 h: five whole cycles of 35 min and 5 min of the sixth give 80 of 180 min:
    /// 1 + 2 · 80/180 + 4 · 10/180 = 2.11 kW.
    #[test]
    fn hand_calculation() {
        let loads = [
            load(1000.0, 24.0, None),
            load(2000.0, 24.0, Some((900.0, 1200.0))),
            load(4000.0, 1.0 / 6.0, None),
        ];
        let curve = duration_curve(&loads, &[5.0, 1800.0, 10_800.0].map(Duration::of));
        let expect = [7000.0, 1000.0 + 1000.0 + 4000.0 / 3.0, 1000.0 + 2000.0 * 80.0 / 180.0 + 4000.0 / 18.0];
        for (found, expected) in curve.iter().zip(expect) {
            assert!(
                (found.value().si() - expected).abs() < 1e-6,
                "{} against {expected}",
                found.value().si()
            );
        }
    }
}
