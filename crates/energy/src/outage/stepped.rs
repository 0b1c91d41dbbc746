//! Carry times by stepping every start: for what does not compose, and for tiers that outlast others.

use super::carry::{Cause, YearEnd, checked};
use crate::EnergyError;
use crate::year::{Columns, Design, Flows, Inputs, Kept, Lanes, Series, State, Sums, away};

/// Carry times of each tier, stepped.
#[derive(Debug, Clone, PartialEq)]
pub struct SteppedCarry {
    /// Length of a step, in seconds.
    pub step_s: f64,
    /// Whole steps until a tier is first not served, for tiers 0, 1, 2.
    pub steps: [Vec<u32>; 3],
    /// What ended tiers 0, 1, 2.
    pub ended_by: [Vec<Cause>; 3],
}

/// Carry times of every start in `starts` (all of the year if none), each by itself: shedding, taper,
/// generator and tank as the design has them, all tiers on and the tank full at the beginning. A tier without
/// load at a step counts as served.
///
/// # Errors
/// Columns of another series, figures that cannot be.
pub fn stepped_carry_times(
    design: &Design,
    series: &Series<'_>,
    year: &Columns,
    end: YearEnd,
    starts: Option<&[usize]>,
) -> Result<SteppedCarry, EnergyError> {
    checked(design, series, year)?;
    let count = series.steps();
    let all: Vec<usize> = if starts.is_none() { (0..count).collect() } else { Vec::new() };
    let designs = [*design];
    let lanes = Lanes::<1>::new(&designs, series.hours_per_step());
    let mut out =
        SteppedCarry { step_s: series.step_s, steps: Default::default(), ended_by: Default::default() };
    for start in starts.unwrap_or(&all) {
        let (Some(charge), Some(budget)) = (year.stored_wh.get(*start), year.heat_left_wh.get(*start)) else {
            return Err(EnergyError::NotCovered("an outage starts after the end of the year"));
        };
        let mut state = State::<1>::new(&designs, &[*charge]);
        state.heat = [design.converter.heat_budget_wh - budget];
        let most = match end {
            YearEnd::Wraps => count,
            YearEnd::Censors => count - start,
        };
        let lasted = one(design, series, &lanes, &mut state, *start, most);
        for ((column, causes), lasted) in out.steps.iter_mut().zip(&mut out.ended_by).zip(lasted) {
            let (steps, cause) = lasted.unwrap_or_else(|| {
                (most, if end == YearEnd::Wraps { Cause::WholeYear } else { Cause::YearEnd })
            });
            column.push(u32::try_from(steps).unwrap_or(u32::MAX));
            causes.push(cause);
        }
    }
    Ok(out)
}

/// Steps until each tier is first not served, and why; none where it lasts.
fn one(
    design: &Design,
    series: &Series<'_>,
    lanes: &Lanes<1>,
    state: &mut State<1>,
    start: usize,
    most: usize,
) -> [Option<(usize, Cause)>; 3] {
    let mut kept = Kept { flows: Flows::default(), sums: Sums::zero() };
    let mut lasted = [None; 3];
    for done in 0..most {
        let x = series.inputs((start + done) % series.steps());
        let before = state.clone();
        away(series, lanes, state, &x, &mut kept);
        let flows = kept.flows;
        let served = [flows.served0, flows.served1, flows.served2];
        // down without load is down as well
        let down = state.up[0] < 0.5;
        let mut asked = 0.0;
        for ((lasted, served), load) in lasted.iter_mut().zip(served).zip(x.loads) {
            asked += load;
            if (served < load || down) && lasted.is_none() {
                *lasted = Some((done, cause(design, &before, &x, asked)));
            }
        }
        if lasted[0].is_some() {
            break;
        }
    }
    lasted
}

/// Why a step did not serve the loads of a tier and of those that stay longer.
fn cause(design: &Design, before: &State<1>, x: &Inputs, load: f64) -> Cause {
    let c = &design.converter;
    let load = (load - x.panel * design.array_scale).max(0.0);
    let draws = crate::year::draw(c.loss_per_w, c.loss_per_w2, load) + c.idle_w;
    let g = &design.generator;
    // less than a step at full power burns
    let scant = before.fuel[0] <= 0.0
        || before.fuel[0] < (g.idle_l_per_h + g.l_per_kwh * g.power_w / 1000.0) * x.hours;
    if g.power_w > 0.0 && scant {
        Cause::Fuel
    } else if load > c.peak_w || draws - x.array * design.array_scale > design.battery.discharge_limit_w {
        Cause::Power
    } else if (load - c.rating_w) * x.hours > c.heat_budget_wh - before.heat[0] {
        Cause::Heat
    } else {
        Cause::Energy
    }
}
