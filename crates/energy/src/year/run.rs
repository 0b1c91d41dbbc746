//! All steps.

use super::design::Design;
use super::flows::{Flows, Kept, Sink, Sums, Totals};
use super::lanes::{Inputs, Lanes, State};
use super::step::{step_off, step_on};
use crate::EnergyError;
use crate::error::within;

/// What holds for a step, the same for all designs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Hour {
    /// The utility is there.
    pub utility: bool,
    /// The battery may be spent on loads, down to the reserve (dear hours, or always).
    pub spend: bool,
    /// The battery may be filled from the utility (cheap hours).
    pub fill: bool,
}

/// Columns that all designs share, one value a step.
#[derive(Debug, Clone, Copy)]
pub struct Series<'a> {
    /// Length of a step, in seconds: 60 to 3600.
    pub step_s: f64,
    /// Loads on the AC side by tier, in watts; tier 0 stays longest.
    pub loads_w: [&'a [f64]; 3],
    /// The array behind its controller, in watts, before a design scales it.
    pub array_w: &'a [f64],
    /// Arrays on the panel behind their inverters, in watts, before a design scales them; empty for none.
    pub panel_array_w: &'a [f64],
    /// Utility and tariff.
    pub hours: &'a [Hour],
}

impl Series<'_> {
    /// How many steps.
    pub fn steps(&self) -> usize {
        self.array_w.len()
    }

    /// Length of a step, in hours.
    pub fn hours_per_step(&self) -> f64 {
        self.step_s / 3600.0
    }

    pub(crate) fn checked(&self) -> Result<(), EnergyError> {
        within("step in s", self.step_s, 60.0, 3600.0, "from 60 to 3600")?;
        let count = self.steps();
        let panel = if self.panel_array_w.is_empty() { self.array_w } else { self.panel_array_w };
        for column in [self.loads_w[0], self.loads_w[1], self.loads_w[2], self.array_w, panel] {
            if column.len() != count || count == 0 {
                let needed = format!("as many as of the array, {count}, are needed, and at least 1");
                return Err(EnergyError::Count { what: "values of load", count: column.len(), needed });
            }
            // NaN lies in no range
            if let Some(value) = column.iter().find(|v| !(0.0..=1e9).contains(*v)) {
                within("power in W", *value, 0.0, 1e9, "from 0 to 1e9")?;
            }
        }
        if self.hours.len() != count {
            let needed = format!("{count} are needed");
            return Err(EnergyError::Count { what: "hours of the tariff", count: self.hours.len(), needed });
        }
        Ok(())
    }

    #[inline(always)]
    pub(crate) fn inputs(&self, k: usize) -> Inputs {
        let at = |column: &[f64]| column.get(k).copied().unwrap_or(0.0);
        let hour = self.hours.get(k).copied().unwrap_or(Hour { utility: false, spend: false, fill: false });
        Inputs {
            loads: [at(self.loads_w[0]), at(self.loads_w[1]), at(self.loads_w[2])],
            array: at(self.array_w),
            panel: at(self.panel_array_w),
            hours: self.hours_per_step(),
            spend: f64::from(u8::from(hour.spend)),
            fill: f64::from(u8::from(hour.fill)),
        }
    }

    #[inline(always)]
    pub(crate) fn utility(&self, k: usize) -> bool {
        self.hours.get(k).is_some_and(|h| h.utility)
    }
}

/// A year of one design, a value a step.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Columns {
    /// Charge at the beginning of each step, in Wh, and at the end of the last.
    pub stored_wh: Vec<f64>,
    /// Heat budget left at the beginning of each step, in Wh.
    pub heat_left_wh: Vec<f64>,
    /// Loads served, in watts.
    pub served_w: Vec<f64>,
    /// From the utility, in watts.
    pub import_w: Vec<f64>,
    /// To the utility, in watts.
    pub export_w: Vec<f64>,
    /// From the generator, in watts.
    pub generated_w: Vec<f64>,
    /// Of all arrays used, in watts.
    pub array_used_w: Vec<f64>,
    /// Of the arrays on the panel used, in watts.
    pub panel_used_w: Vec<f64>,
    /// Sums.
    pub totals: Totals,
}

/// A step with or without the utility, as its hour says.
#[inline(always)]
pub(super) fn one<const N: usize>(
    series: &Series<'_>,
    k: usize,
    p: &Lanes<N>,
    s: &mut State<N>,
    f: &mut impl Sink,
) {
    let x = series.inputs(k);
    if series.utility(k) {
        step_on(p, s, &x, f);
    } else {
        away(series, p, s, &x, f);
    }
}

/// A step without the utility. Arrays on a panel are looked at only where there are some.
#[inline(always)]
pub(crate) fn away<const N: usize>(
    series: &Series<'_>,
    p: &Lanes<N>,
    s: &mut State<N>,
    x: &Inputs,
    f: &mut impl Sink,
) {
    if series.panel_array_w.is_empty() {
        step_off::<N, false>(p, s, x, f);
    } else {
        step_off::<N, true>(p, s, x, f);
    }
}

fn start(design: &Design, stored_wh: f64) -> Result<f64, EnergyError> {
    design.checked()?;
    within(
        "charge at the beginning in Wh",
        stored_wh,
        0.0,
        design.battery.capacity_wh,
        "from 0 to the capacity",
    )
}

/// One design, with columns.
///
/// # Errors
/// Figures that cannot be, columns of unlike length, a step outside 60 to 3600 s.
pub fn simulate(design: &Design, series: &Series<'_>, stored_wh: f64) -> Result<Columns, EnergyError> {
    series.checked()?;
    let first = start(design, stored_wh)?;
    let designs = [*design];
    let lanes = Lanes::<1>::new(&designs, series.hours_per_step());
    let mut state = State::<1>::new(&designs, &[first]);
    let mut kept = Kept { flows: Flows::default(), sums: Sums::zero() };
    let mut out = Columns::default();
    for k in 0..series.steps() {
        out.stored_wh.push(state.stored[0]);
        out.heat_left_wh.push((design.converter.heat_budget_wh - state.heat[0]).max(0.0));
        one(series, k, &lanes, &mut state, &mut kept);
        let flows = kept.flows;
        out.served_w.push(flows.served0 + flows.served1 + flows.served2);
        out.import_w.push(flows.import);
        out.export_w.push(flows.export);
        out.generated_w.push(flows.generated);
        out.array_used_w.push(flows.array_used);
        out.panel_used_w.push(flows.panel);
    }
    out.stored_wh.push(state.stored[0]);
    out.totals = kept.sums.totals(0, series.hours_per_step());
    Ok(out)
}

/// Designs side by side.
const LANES: usize = 16;

/// A block of designs, run with the widest instructions of the machine. None of them changes a bit: products
/// and sums are not contracted.
struct Block<'a> {
    designs: &'a [Design],
    series: &'a Series<'a>,
    stored_wh: &'a [f64],
}

impl pulp::NullaryFnOnce for Block<'_> {
    type Output = Vec<(Totals, f64)>;

    #[inline(always)]
    fn call(self) -> Self::Output {
        block(self.designs, self.series, self.stored_wh)
    }
}

#[inline(always)]
fn block(designs: &[Design], series: &Series<'_>, stored_wh: &[f64]) -> Vec<(Totals, f64)> {
    let lanes = Lanes::<LANES>::new(designs, series.hours_per_step());
    let mut state = State::<LANES>::new(designs, stored_wh);
    let mut sums = Sums::<LANES>::zero();
    for k in 0..series.steps() {
        one(series, k, &lanes, &mut state, &mut sums);
    }
    (0..designs.len().min(LANES))
        .map(|l| (sums.totals(l, series.hours_per_step()), state.stored[l]))
        .collect()
}

/// Many designs, sums and the charge at the end of each, in their order; the same figures as one by one, to
/// the bit.
///
/// # Errors
/// As [`simulate`]; `stored_wh` is the charge at the beginning of each design.
pub fn simulate_many(
    designs: &[Design],
    series: &Series<'_>,
    stored_wh: &[f64],
) -> Result<Vec<(Totals, f64)>, EnergyError> {
    series.checked()?;
    if stored_wh.len() != designs.len() {
        let needed = format!("{} are needed", designs.len());
        return Err(EnergyError::Count { what: "charges at the beginning", count: stored_wh.len(), needed });
    }
    for (design, stored) in designs.iter().zip(stored_wh) {
        start(design, *stored)?;
    }
    let arch = pulp::Arch::new();
    let mut out = Vec::with_capacity(designs.len());
    for (designs, stored) in designs.chunks(LANES).zip(stored_wh.chunks(LANES)) {
        out.extend(arch.dispatch(Block { designs, series, stored_wh: stored }));
    }
    Ok(out)
}
