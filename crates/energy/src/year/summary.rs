//! The year in figures with derivations.

use derivation::{Known, formula};
use quantity::{Energy, Power, Ratio};

use super::run::{Columns, Series};
use crate::EnergyError;

/// The year of one design.
#[derive(Debug, Clone)]
pub struct Summary {
    /// Loads asked for.
    pub asked: Known<Energy>,
    /// Loads served.
    pub served: Known<Energy>,
    /// Loads not served.
    pub unserved: Known<Energy>,
    /// Array power used.
    pub array_used: Known<Energy>,
    /// Array power not used.
    pub array_lost: Known<Energy>,
    /// From the utility.
    pub import: Known<Energy>,
    /// To the utility.
    pub export: Known<Energy>,
    /// From the generator.
    pub generated: Known<Energy>,
    /// Share of the loads that did not come from the utility.
    pub own_share: Option<Known<Ratio>>,
    /// Most power through the transfer relay, means of steps.
    pub relay_peak: Known<Power>,
    /// Steps in which loads took more from the utility than input and relay allow. Above 0 the design does
    /// not hold: a breaker would have opened, and what comes after such a step is not what would happen.
    pub over_limit_steps: usize,
    /// What the steps do not show.
    pub hidden: String,
}

/// Figures of a year.
///
/// # Errors
/// Columns of another series.
pub fn summary(series: &Series<'_>, columns: &Columns) -> Result<Summary, EnergyError> {
    let steps = series.steps();
    let (Some(first), Some(last)) = (columns.stored_wh.first(), columns.stored_wh.last()) else {
        return Err(EnergyError::NotCovered("no step was run"));
    };
    if columns.served_w.len() != steps {
        let needed = format!("{steps} are needed");
        return Err(EnergyError::Count { what: "steps", count: columns.served_w.len(), needed });
    }
    let t = &columns.totals;
    let residual = t.imbalance_wh(*first, *last);
    let equation =
        format!("sum over {steps} steps of {} s; in = served + export + losses + stored", series.step_s);
    let energy = |symbol: &str, what: &str, wh: f64| {
        Known::solved(symbol, what, Energy::of(wh), equation.clone(), residual, Vec::new())
    };
    let asked_wh: f64 =
        series.loads_w.iter().map(|c| c.iter().sum::<f64>()).sum::<f64>() * series.hours_per_step();
    let asked = energy("E_l", "loads asked for", asked_wh);
    let served = energy("E_s", "loads served", t.served_wh());
    let import = energy("E_u", "from the utility", t.import_wh);
    let (E_l, E_s, E_u) = (&asked, &served, &import);
    let unserved = formula!("E_x", "loads not served", [E_l, E_s] => E_l - E_s);
    let own_share = (t.served_wh() > 0.0)
        .then(|| formula!("q", "share of served loads not bought", [E_u, E_s] => 1.0 - E_u / E_s));
    Ok(Summary {
        asked: asked.clone(),
        unserved,
        own_share,
        array_used: energy("E_a", "array power used", t.array_used_wh),
        array_lost: energy("E_c", "array power not used", t.array_lost_wh),
        export: energy("E_e", "to the utility", t.export_wh),
        generated: energy("E_g", "from the generator", t.generated_wh),
        relay_peak: Known::solved(
            "P_r",
            "most power through the transfer relay, mean of a step",
            Power::of(t.relay_peak_w),
            "largest of all steps",
            0.0,
            vec![served.node().clone()],
        ),
        over_limit_steps: t.over_limit_steps as usize,
        served,
        import,
        hidden: format!(
            "steps of {} s: peaks and trips shorter than that, motor starts, reactive power and the legs by themselves do not show",
            series.step_s
        ),
    })
}
