//! By the IEC book: copper, PVC, a multicore cable in conduit on a wall (method B2); battery cables direct on
//! the wall (method C); cables of arrays with cross-linked insulation in conduit (method B2). The cables of all units lie
//! together (Table B.52.17), so do those of the battery's side, unless the site says how many do.

use assess::{Case, For, Run};
use codebook::NotCovered;
use codebook::iec::cable_ampacity::CableRun;
use codebook::iec::conductor_choice::{
    Conductor, Wanted, conductor_alone, conductor_behind, conductor_given,
};
use codebook::iec::protective_conductor::{Place, ProtectiveFacts, protective_conductor};
use derivation::{Known, formula};
use quantity::{Current, Quantity, Ratio, Section, Temperature, Wire};
use reading::Placed;
use saying::say;
use tables::iec::cable::{Cable, Insulation, Loaded23, Metal, Method};
use tables::iec::device::Device;
use tables::iec::grouping::{Layout, Together};
use tables::iec::heat::Use;

use super::Chosen;

/// Miniature circuit breakers up to here (IEC 60898-1), other breakers above.
const LARGEST_MCB_A: f64 = 125.0;
/// Parallel sets that are tried.
const MOST_SETS: u8 = 4;
/// Temperature behind modules in the sun, in degC (IEC 60364-7-712, from memory).
const BEHIND_MODULES_C: f64 = 70.0;

pub(super) fn choose(case: &Case<'_>, runs: &[Run], run: &Run) -> Result<Chosen, NotCovered> {
    let three = case.system().legs().len() > 2 && run.lines && run.direct.is_none();
    let loaded = if three { Loaded23::Three } else { Loaded23::Two };
    // battery cables lie in the open on the wall of their room, where they can be seen
    let array = super::in_array(run);
    // array cables are cross-linked, and lie in conduit where they leave the modules
    let method = if run.direct.is_some() && array.is_none() { Method::C } else { Method::B2 };
    let insulation = if array.is_some() { Insulation::Xlpe } else { Insulation::Pvc };
    let cable = Cable { metal: Metal::Copper, insulation, method, loaded };
    let ambient = if array.is_some_and(|a| a.at_modules) { behind_modules(run) } else { run.ambient.clone() };
    let beside = beside(case, runs, run);
    let layout = if method == Method::C { Layout::Wall } else { Layout::Bunched };
    let grouped = beside.value().si() > 0.0;
    let together = grouped.then_some(Together::Air(layout));
    // a neutral of the lines' size must carry what is on it
    let all: Vec<Known<Current>> =
        [run.made_for.clone()].into_iter().chain(run.neutral_current.clone()).collect();
    let design = Known::largest("I_B", "design current: device, or neutral", &all)
        .unwrap_or_else(|| run.made_for.clone());
    // more than 15 % is taken as 33 %, up to which lines are counted with the factor of Annex E; above, the neutral's
    // own current is the design current
    let third = run.harmonic && loaded == Loaded23::Three;
    let third_harmonic = third.then(|| {
        Known::assumed(
            "h",
            "third harmonic of the line current",
            Ratio::of(0.33),
            "some loads state more than 15 %",
        )
    });
    let wanted = Wanted {
        design: design.clone(),
        device: device(run, &design),
        run: CableRun { cable, ambient, soil: None, together, beside, third_harmonic },
        drop: None,
        least: None,
        // more sets of one would be more of every other beside it
        most_sets: if grouped { 1 } else { MOST_SETS },
    };
    // with the device that is there as the design current, conductor and device fit whatever flows below it; without a
    // device it carries what its sources give
    let guarded = array.is_none_or(|array| array.guarded);
    let smallest = if guarded { conductor_behind(&wanted, &design) } else { conductor_alone(&wanted) };
    let found = match &run.fixed {
        Some((wire, sets)) => fixed((wire, *sets), &wanted, guarded.then_some(&design), layout, smallest)?,
        None => smallest?,
    };
    let line = if found.sets.value().si() > 1.0 {
        let (S, n) = (&found.section, &found.sets);
        formula!("S_n", "section of all sets together", [S, n] => S * n)
    } else {
        found.section.clone()
    };
    let pe = (run.role != "service.conductor").then(|| {
        protective_conductor(&ProtectiveFacts {
            line,
            line_metal: Metal::Copper,
            line_use: Use::LinePvc,
            metal: Metal::Copper,
            usage: Use::InCablePvc,
            place: Place::WithLines,
            leakage: false,
            fault: None,
        })
    });
    let pe = pe.transpose()?;
    let (r, l, n) = (&found.resistance.hot, &run.length, &found.sets);
    let resistance =
        formula!("R_w", "resistance of the run, one way", [r, l, n] => r * l / n, source = "IEC 60228");
    let required = match &run.wanted {
        For::Counted(current) | For::Continuous(current) | For::Generator(current) => current.clone(),
        For::Device => run.device.clone(),
    };
    let size = found.section.value().to_string();
    Ok(Chosen {
        sets: found.sets.value().si() as usize,
        neutral: run.neutral.then(|| size.clone()),
        size,
        ground: pe.as_ref().map(|pe| pe.section.value().to_string()),
        raceway: None,
        required,
        dwelling: false,
        ampacity: found.ampacity.capacity.clone(),
        before: None,
        resistance,
        why: found.section.node().clone(),
        from: pe.iter().map(|pe| pe.section.node().clone()).chain([found.device.node().clone()]).collect(),
    })
}

/// Cables that lie beside one of a run. Units hang side by side and their cables end at the same gear, whatever their role;
/// those of the battery's side end at the same bar. Of others no site tells: each in a conduit of its own.
fn beside(case: &Case<'_>, runs: &[Run], run: &Run) -> Known<Ratio> {
    let kin = |other: &&Run| match (&run.direct, &other.direct) {
        (None, None) => of_unit(run) && of_unit(other),
        (Some(a), Some(b)) => a.array.is_none() && b.array.is_none(),
        _ => false,
    };
    let all: usize = runs.iter().filter(kin).map(|other| other.count).sum();
    let what = if run.direct.is_some() { "battery cables beside one" } else { "cables of units beside one" };
    if let Some(stated) = case.site.group.cables_together.as_ref().filter(|_| all > 1) {
        let most = stated.value.min(u32::try_from(all).unwrap_or(u32::MAX)).max(1);
        return Known::input("n_b", what, Ratio::of(f64::from(most - 1)), &stated.place);
    }
    if all > 1 {
        let why = "no `cables_together` is stated: all lie side by side along one way (IEC 60364-5-52 Table B.52.17)";
        return Known::assumed("n_b", what, Ratio::of((all - 1) as f64), why);
    }
    let why = "each in a conduit of its own and apart, so that none warms another; else a larger section (IEC \
               60364-5-52 Table B.52.17)";
    Known::assumed("n_b", "cables beside one that is not of the units or the battery", Ratio::of(0.0), why)
}

/// A cable that every unit has.
fn of_unit(run: &Run) -> bool {
    run.role.starts_with("unit.")
}

/// The kind of device that stands ahead of a run. No record says of a fuse how late it opens on an overload, so it is taken
/// as one for general use (gG), which opens latest; fuses of strings are for arrays (gPV) and open at 1.45 times their
/// rating as miniature circuit breakers do (IEC 60269-6 Table 101, from memory).
fn device(run: &Run, design: &Known<Current>) -> Device {
    match &run.direct {
        Some(direct) if direct.fused => Device::FuseGg,
        _ if design.value().si() <= LARGEST_MCB_A => Device::Mcb,
        _ => Device::Breaker,
    }
}

/// The back of a module in the sun heats what lies behind it.
fn behind_modules(run: &Run) -> Known<Temperature> {
    let hot = Known::assumed(
        "T_m",
        "temperature behind modules in the sun",
        Temperature::of(BEHIND_MODULES_C),
        "IEC 60364-7-712: cables behind modules are heated by them (from memory)",
    );
    let both = [run.ambient.clone(), hot.clone()];
    Known::largest("T_a", "temperature round the run", &both).unwrap_or(hot)
}

/// A section that the site fixes, in so many sets: these lie together, as do those of every cable beside them.
fn fixed(
    (wire, sets): (&Placed<Wire>, u32),
    wanted: &Wanted,
    rated: Option<&Known<Current>>,
    layout: Layout,
    smallest: Result<Conductor, NotCovered>,
) -> Result<Conductor, NotCovered> {
    const CLAUSE: &str = "IEC 60364-4-43:2008 433.1";
    let Wire::Mm2(mm2) = wire.value else {
        return Err(NotCovered::new(CLAUSE, say!("{wire} is no section of IEC 60228", wire = wire.value)));
    };
    let section = Section::of(mm2);
    let n = Known::chosen("n", "parallel sets", Ratio::of(f64::from(sets)), "as fixed", Vec::new());
    let mut wanted = wanted.clone();
    if sets > 1 {
        let one = &wanted.run.beside;
        let beside = formula!("n_b", "sets of other cables beside it", [one, n] => one * n);
        wanted.run.beside = beside;
        wanted.run.together = Some(Together::Air(layout));
    }
    let refused = match conductor_given(&wanted, rated, section, &n) {
        Ok(found) => {
            let section = Known::input("S", "section of each conductor, fixed", section, &wire.place);
            return Ok(Conductor { section, ..found });
        }
        Err(refused) => refused,
    };
    let reason = match smallest {
        Ok(found) => say!(
            "{section} is fixed; the smallest that passes is {sets} x {section_2}: {reason}",
            section,
            sets = found.sets.value(),
            section_2 = found.section.value(),
            reason = refused.reason
        ),
        Err(_) => say!("{section} is fixed: {reason}", section, reason = refused.reason),
    };
    Err(NotCovered { reason, ..refused })
}
