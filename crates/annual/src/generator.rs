//! The generator of the design: what it gives here, when it starts and stops, what it burns.

use assess::{Case, generator_current, generator_power as rated_here};
use derivation::Known;
use energy::year::{Battery, Generator};
use quantity::{Duration, Power, Quantity, Ratio};

use crate::figures::{Figures, even_power, panel_power};

/// The generator that is counted in the year: one that starts by itself and has its fuel stated. Else none, and a note
/// says why.
pub(crate) fn generator(
    case: &Case<'_>,
    battery: &Battery,
    figures: &mut Figures,
    notes: &mut Vec<String>,
) -> Generator {
    let (Some(set), Some(wish)) = (case.generator, &case.site.generator) else { return Generator::NONE };
    let run = &wish.run;
    let mut left_out = |why: &str| {
        notes.push(format!("the generator is not counted: {why}"));
        Generator::NONE
    };
    if !wish.automatic.as_ref().is_some_and(|a| a.value) {
        return left_out("it does not start by itself");
    }
    let (Some(tank), Some(full)) = (&run.tank, &run.fuel_full) else {
        return left_out("`tank` and `fuel_full` under [generator] are not stated");
    };
    let Some(runs) = running(case, battery, figures) else {
        return left_out("nothing says what it gives");
    };
    // idle use that is not stated: all of the full use at any load, which never flatters
    let full_l = figures.take(&full.known("f", "fuel at full load"));
    let idle_l =
        run.fuel_idle.as_ref().map_or(full_l, |f| figures.take(&f.known("f_0", "fuel without load")));
    Generator {
        idle_l_per_h: idle_l.min(full_l),
        l_per_kwh: if runs.power_w > 0.0 {
            (full_l - idle_l).max(0.0) / (set.power.si() / 1000.0)
        } else {
            0.0
        },
        tank_l: figures.take(&tank.known("V_t", "fuel when an outage begins")) * 1000.0,
        ..runs
    }
}

/// What the site's generator gives and when it starts and stops, whether it starts by itself or not; its fuel is not
/// looked at. None where nothing says what it gives.
pub(crate) fn running(case: &Case<'_>, battery: &Battery, figures: &mut Figures) -> Option<Generator> {
    let run = &case.site.generator.as_ref()?.run;
    let power = generator_power(case)?;
    let share = |stated: Option<&reading::Placed<quantity::Percent>>, what: &str, default: f64| match stated {
        Some(share) => share.clone().map(|s| s.share()).known("s", what),
        None => Known::assumed("s", what, Ratio::of(default), "the site does not say; settable at the units"),
    };
    let time = |stated: Option<&reading::Placed<Duration>>, what: &str, default: f64| match stated {
        Some(time) => time.known("t", what),
        None => Known::assumed("t", what, Duration::of(default), "the site does not say: common practice"),
    };
    // where nothing is stated: a tenth of what may be used above the charge that is never drawn, if 40 % lies lower
    let capacity_wh = battery.capacity_wh;
    let lowest = battery.floor_wh / capacity_wh;
    let default_start = (lowest + 0.1 * (1.0 - lowest)).max(0.4);
    let start = share(run.start_below.as_ref(), "charge below which the generator starts", default_start);
    let stop = share(run.stop_above.as_ref(), "charge above which the generator stops", 0.8);
    let warm = time(run.warm_up.as_ref(), "time before the generator takes load", 60.0);
    let least = time(run.minimum_run.as_ref(), "shortest run of the generator", 1800.0);
    let (power_w, start_wh) = (figures.take(&power), figures.take(&start) * capacity_wh);
    Some(Generator {
        power_w,
        start_wh,
        stop_wh: (figures.take(&stop) * capacity_wh).max(start_wh),
        warm_up_s: figures.take(&warm),
        minimum_run_s: figures.take(&least),
        ..Generator::NONE
    })
}

/// What a generator gives here: its power in this air and heat, its current on the worst leg with its breaker, and the
/// input limit on it.
fn generator_power(case: &Case<'_>) -> Option<Known<Power>> {
    let mut limits = vec![rated_here(case)?];
    if let Some(I) = &generator_current(case) {
        limits.extend(panel_power(case, "current of the generator per leg", I));
    }
    if let Some(I) = &case.settings.generator_limit {
        limits.extend(panel_power(case, "input limit on the generator", I));
        limits.push(even_power(case, "input limit on the generator", I));
    }
    Known::smallest("P_g", "what the generator gives", &limits)
}
