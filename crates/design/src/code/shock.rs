//! Protection of people in the island, by the IEC book: a fault at the backup panel, and one in a final circuit.
//!
//! US practice has no such rule; there the report says what a fault in the island does.

use codebook::iec::automatic_disconnection::breaker_tripping;
use codebook::iec::disconnection_time::disconnection_time;
use codebook::iec::island_shock_protection::{
    IslandFacts, IslandVerdict, Opening, Residual, island_shock_protection,
};
use codebook::{Check, NotCovered, rule};
use derivation::{Known, Place, formula};
use finding::{Finding, Severity};
use network::fault::Lasts;
use plant::full::{BondPlace, PartKind};
use quantity::{Current, Duration, Ratio, Resistance};
use saying::{Text, say};
use site::{Earthing, Panel};
use tables::iec::shock::{Circuit, Earthing as Row, Kind};

use super::Holding;
use crate::{Held, Wire};

const RULE: &str = "island-shock-protection";
/// Multiple of the rated residual current at which the loop is taken where none is measured: above five, from which on
/// the shortest break time holds (IEC 61008-1 Table 1).
const RESIDUAL_MULTIPLE: f64 = 6.0;
/// Runs that a fault at the backup panel draws its current through, in the island.
const ISLAND_RUNS: [&str; 3] =
    ["unit.output.run.conductor", "group.output.run.conductor", "backup.conductor"];
/// Runs that lie on no way between panel, bond and units: a source's own, and those of arrays.
const ELSEWHERE: [&str; 4] = ["service.", "generator.", "unit.second.", "array "];

/// Holds both circuits.
pub(super) fn hold(h: &mut Holding<'_, '_>) {
    if h.us() {
        return;
    }
    let panel = h.case.site.panels.iter().find(|p| p.id.value == h.case.site.group.panel.value);
    let Some(panel) = panel else { return };
    let ground = match ground(h) {
        Ok(ground) => ground,
        Err(refused) => return say(h, "backup", None, Err(refused), &panel.id.place),
    };
    let at_panel = distribution(h, panel, &ground);
    say(
        h,
        "backup",
        Some(say!("a fault to a touchable part at the backup panel")),
        at_panel,
        &panel.id.place,
    );
    let place = panel.rcd.as_ref().map_or(&panel.id.place, |rcd| &rcd.place);
    let further = final_circuit(h, panel, &ground);
    say(h, "backup.final", Some(say!("a fault to a touchable part in a final circuit")), further, place);
    sockets(h);
}

/// Highest rated residual current of additional protection (IEC 60364-4-41:2005 415.1.1, 411.3.3; from memory).
const ADDITIONAL_A: f64 = 0.030;

/// Socket-outlets ask for more than disconnection in time. What the final circuits feed no site tells.
fn sockets(h: &mut Holding<'_, '_>) {
    for panel in &h.case.site.panels {
        let feeds = h.case.site.loads.iter().any(|load| load.panel.value == panel.id.value);
        let rcd = panel.rcd.as_ref();
        let behind = panel.id.value == h.case.site.group.panel.value;
        if !(behind && feeds) || rcd.is_some_and(|rcd| rcd.value <= Current::of(ADDITIONAL_A)) {
            continue;
        }
        let is = rcd.map_or(say!("no residual current device is stated"), |rcd| {
            say!("the residual current device is one of {rcd}", rcd = rcd.value)
        });
        let message = say!(
            "{is}: socket-outlets up to 32 A for ordinary people need one of at most 30 mA (411.3.3), and whether there are \
             any in the final circuits is not known",
            is
        );
        h.found.push(
            Finding::new("socket-without-rcd", Severity::Warning, "backup.final", message)
                .by("IEC 60364-4-41:2005 411.3.3")
                .at(Some(rcd.map_or(&panel.id.place, |rcd| &rcd.place)), say!("this panel"))
                .fix(say!("`rcd = \"30 mA\"`, or devices of their own in all circuits with socket-outlets")),
        );
    }
}

/// The island as a fault sees it.
struct Ground {
    row: Row,
    /// Electrode in the loop, where earth is.
    electrode: Option<Known<Resistance>>,
    /// The loop runs over the supplier's conductors.
    over_supplier: bool,
    /// Runs that may lie between the panel, the bond and the units, where the bond is on the units' input side: the
    /// current comes back over them.
    back: Vec<String>,
}

fn ground(h: &Holding<'_, '_>) -> Result<Ground, NotCovered> {
    let refuse = |reason: Text| Err(NotCovered::new(RULE, reason));
    let service = &h.case.site.service;
    if service.earthing.value == Earthing::It {
        return refuse(say!(
            "an IT island: a first fault drives no current that a device could see; insulation monitoring and the \
             second fault are not judged"
        ));
    }
    match h.bonded_once {
        Some(true) => {}
        Some(false) => return refuse(say!("neutral and earth are not joined as the earthing system asks")),
        None => return refuse(say!("it is not known where neutral and earth are joined in the island")),
    }
    let Some(plant) = assess::prove_plant(h.case) else {
        return refuse(say!("gear that the arrangement needs was not found"));
    };
    let bonded = |place| plant.bonds.iter().any(|bond| bond.place == place);
    let at_group = bonded(BondPlace::Group);
    let own = at_group || bonded(BondPlace::Service);
    // the whole way back is counted once over protective conductors and once over neutrals: no single way is longer, and
    // ways beside each other only shorten it
    let mut back: Vec<String> = Vec::new();
    for part in plant.parts.iter().filter(|p| p.kind == PartKind::Conductor && p.direct.is_none()) {
        let role = part.role();
        let known = ISLAND_RUNS.contains(&role.as_str()) || back.contains(&role);
        if !at_group && !known && !ELSEWHERE.iter().any(|start| role.starts_with(start)) {
            back.push(role);
        }
    }
    match service.earthing.value {
        Earthing::Tt => match &service.electrode {
            Some(electrode) => {
                let electrode = electrode.known("R_A", "resistance of the electrode");
                Ok(Ground { row: Row::Tt, electrode: Some(electrode), over_supplier: !own, back })
            }
            None => {
                refuse(say!("a TT island without the resistance of its electrode: measure it, `electrode`"))
            }
        },
        _ => Ok(Ground { row: Row::Tn, electrode: None, over_supplier: !own, back }),
    }
}

/// What the group gives into a fault, at least and at most.
struct Source {
    least: Known<Current>,
    most: Known<Current>,
    lasts: Known<Duration>,
    collapses: Option<Known<Duration>>,
}

fn source(h: &Holding<'_, '_>) -> Result<Source, NotCovered> {
    let (case, unit) = (h.case, h.case.unit);
    let (Some(level), Some(highest)) =
        (assess::island_fault_at_panel(case), assess::highest_island_fault(case))
    else {
        return Err(NotCovered::new(RULE, say!("what the units give into a fault is not stated")));
    };
    let Lasts::For(lasts) = level.lasts else {
        return Err(NotCovered::new(RULE, say!("how long the units give it is not stated")));
    };
    let collapses = unit.island_fault.collapses.map(|t| {
        let what = say!("latest time after which the output is at 50 V or less");
        Known::catalog("t_c", what, t, &unit.id, "island_fault")
    });
    Ok(Source { least: level.least, most: highest.largest, lasts, collapses })
}

/// Line and protective conductor of a run, each one way.
fn pair(wire: &Wire) -> Result<(Known<Resistance>, Known<Resistance>), NotCovered> {
    let mm2 = |text: &str| text.strip_suffix("mm2").and_then(|t| t.trim().parse::<f64>().ok());
    let (line, ground) = (mm2(&wire.size), wire.ground.as_deref().and_then(mm2));
    let (Some(line), Some(ground)) = (line, ground) else {
        return Err(NotCovered::new(
            RULE,
            say!("{wire} has no protective conductor of a section", wire = wire.name),
        ));
    };
    let R = wire.resistance.clone();
    let k = Known::chosen(
        "k",
        format!("section of a line over that of the protective conductor: {}", wire.name),
        Ratio::of(line / ground),
        format!("{} over {}", wire.size, wire.ground.as_deref().unwrap_or_default()),
        vec![wire.why.clone()],
    );
    let R_PE = formula!("R_PE", "protective conductor of the run", [R, k] => R * k);
    Ok((R, R_PE))
}

/// The loop of a fault at the backup panel, and its protective part.
fn loop_at_panel(
    h: &Holding<'_, '_>,
    ground: &Ground,
) -> Result<(Known<Resistance>, Known<Resistance>), NotCovered> {
    let chosen = |role: &str| {
        let reason = || say!("the conductor \"{role}\" of the fault loop was not chosen", role);
        h.wire(role).ok_or_else(|| NotCovered::new(RULE, reason()))
    };
    let mut lines = Vec::new();
    let mut protective = Vec::new();
    for role in ISLAND_RUNS {
        let (line, ground) = pair(chosen(role)?)?;
        lines.push(line);
        protective.push(ground);
    }
    if !ground.back.is_empty() {
        // over the neutral the current also passes the units' own runs once more
        protective.extend(lines.iter().cloned());
    }
    for role in &ground.back {
        let (neutral, ground) = pair(chosen(role)?)?;
        protective.extend([neutral, ground]);
    }
    protective.extend(ground.electrode.clone());
    let R_PE = Known::sum("R_PE", "protective conductors from the panel to the bond", &protective);
    let mut all = vec![Known::sum("R_L", "lines from the group to the panel", &lines), R_PE.clone()];
    // the earth of the island's neutral is no better known than the other electrode
    all.extend(ground.electrode.clone());
    Ok((Known::sum("Z_s", "fault loop", &all), R_PE))
}

fn facts(
    h: &mut Holding<'_, '_>,
    ground: &Ground,
    circuit: Circuit,
    (loop_ohm, protective_ohm): (Known<Resistance>, Known<Resistance>),
) -> Result<IslandFacts, NotCovered> {
    let Source { least, most, lasts, collapses } = source(h)?;
    let to_earth = h.case.voltage();
    let code = disconnection_time(ground.row, Kind::Ac, circuit, &to_earth)?;
    let longest = code.map(|code| h.time(RULE, code));
    Ok(IslandFacts {
        bonded: true,
        earthing: ground.row,
        circuit,
        to_earth,
        loop_ohm,
        protective_ohm,
        least,
        most,
        lasts,
        collapses,
        breaker: None,
        residual: None,
        longest,
    })
}

/// What a circuit comes to: it is protected by these, or not.
enum Protected {
    By(Vec<&'static str>, Option<Text>),
    Not(Box<IslandVerdict>),
}

/// A fault at the panel itself: of the feeder's breaker nobody states the curve.
fn distribution(h: &mut Holding<'_, '_>, panel: &Panel, ground: &Ground) -> Result<Protected, NotCovered> {
    if ground.over_supplier {
        return Err(NotCovered::new(
            RULE,
            say!(
                "in the island the fault loop runs over the supplier's conductors, which an outage may have cut: bond \
             neutral and earth at the group or the service"
            ),
        ));
    }
    let ohm = loop_at_panel(h, ground)?;
    let mut facts = facts(h, ground, Circuit::Distribution, ohm)?;
    facts.residual = panel.feeder_rcd.as_ref().map(|rcd| Residual {
        rated: rcd.known("I_dn", "rated residual current of the feeder's device"),
        delayed: panel.feeder_rcd_delayed.as_ref().is_some_and(|d| d.value),
    });
    let verdict = island_shock_protection(&facts)?;
    judged(
        verdict,
        &facts,
        say!("no time until the group's output is down is stated (`collapses` of the family)"),
    )
}

fn judged(verdict: IslandVerdict, facts: &IslandFacts, missing: Text) -> Result<Protected, NotCovered> {
    let by = verdict.protected_by();
    if !by.is_empty() {
        return Ok(Protected::By(by, None));
    }
    // a source at its limit may collapse in time: unless its maker says when, nothing is known
    let at_limit = verdict.fault.value() >= facts.least.value();
    if facts.collapses.is_none() && at_limit {
        return Err(NotCovered::new(RULE, missing));
    }
    Ok(Protected::Not(Box::new(verdict)))
}

fn final_circuit(h: &mut Holding<'_, '_>, panel: &Panel, ground: &Ground) -> Result<Protected, NotCovered> {
    let residual = panel.rcd.as_ref().map(|rcd| Residual {
        rated: rcd.known("I_dn", "rated residual current"),
        delayed: panel.rcd_delayed.as_ref().is_some_and(|d| d.value),
    });
    let ohm = match (&panel.final_loop, &residual) {
        (Some(measured), _) => {
            let Z_f = measured.known("Z_f", "highest loop of the final circuits, as measured");
            let (Z_p, _) = loop_at_panel(h, ground)?;
            let what = say!("fault loop, the measured one and that of the island");
            formula!("Z_s", what, [Z_f, Z_p] => Z_f + Z_p)
        }
        (None, Some(residual)) => highest_loop(h.case, &residual.rated),
        (None, None) => {
            return Err(NotCovered::new(
                RULE,
                say!(
                    "neither residual current devices (`rcd`) nor the loop of the final circuits (`final_loop`) are stated"
                ),
            ));
        }
    };
    if ground.over_supplier && residual.is_none() {
        return Err(NotCovered::new(RULE, say!("the fault loop runs over the supplier's conductors")));
    }
    let limit = ohm.value();
    // how much of the loop is protective conductor is not known: all of it
    let mut facts = facts(h, ground, Circuit::Final, (ohm.clone(), ohm))?;
    let assumed = panel.final_loop.is_none();
    facts.residual = residual;
    if assumed {
        // a loop that is not known says nothing of the other ways
        facts.collapses = None;
    } else {
        facts.breaker = opening(h, panel)?;
    }
    let verdict = island_shock_protection(&facts)?;
    let missing = if assumed {
        say!(
            "the residual current devices alone do not open in time, and the loop of the final circuits is not stated"
        )
    } else {
        say!("no time until the group's output is down is stated (`collapses` of the family)")
    };
    if assumed {
        let by = verdict.protected_by();
        if by.is_empty() {
            return Err(NotCovered::new(RULE, missing));
        }
        let until = say!("as long as no fault loop exceeds {limit}: measured at check-out", limit);
        return Ok(Protected::By(by, Some(until)));
    }
    judged(verdict, &facts, missing)
}

/// The highest loop through which the residual current device is still sure of its shortest time.
pub(crate) fn highest_loop(case: &assess::Case<'_>, I_dn: &Known<Current>) -> Known<Resistance> {
    let U_0 = case.voltage();
    let m = Known::factor(
        "m",
        "multiple at which the device is sure of its shortest time",
        RESIDUAL_MULTIPLE,
        "IEC 61008-1 Table 1: from five on",
    );
    formula!("Z_s", "highest fault loop, to be measured", [U_0, m, I_dn] => U_0 / (m * I_dn))
}

fn opening(h: &Holding<'_, '_>, panel: &Panel) -> Result<Option<Opening>, NotCovered> {
    let Some(branch) = &panel.branch_breaker else { return Ok(None) };
    let Some(letter) = super::breakers::curve(h, branch) else { return Ok(None) };
    let rated = branch.rating.known("I_n", "largest branch breaker");
    let current = breaker_tripping(letter, &rated)?;
    let time = Duration::of(super::breakers::AT_ONCE_S);
    let time = Known::constant("t", "time within which it opens at once", time, "IEC 60898-1 Table 7");
    Ok(Some(Opening { current, time }))
}

fn say(
    h: &mut Holding<'_, '_>,
    part: &str,
    what: Option<Text>,
    outcome: Result<Protected, NotCovered>,
    place: &Place,
) {
    let clause = rule(RULE).map_or_else(String::new, |r| format!("{} {}", r.edition, r.clause));
    let new = |severity, message: Text| {
        Finding::new("island-shock", severity, part, message)
            .in_state("fault, group carries the panel")
            .by(clause.clone())
            .at(Some(place), say!("this panel"))
    };
    let what = what.unwrap_or(say!("a fault to a touchable part in the island"));
    match outcome {
        Ok(Protected::By(by, until)) => {
            let until = until.map_or(Text::default(), |until| say!(", {until}", until));
            let why = say!("{what}: by {by}{until}", what, by = by.join(", "), until);
            h.held.push(Held::new(RULE, part, true).because(why));
        }
        Ok(Protected::Not(verdict)) => {
            h.held.push(Held::new(RULE, part, false));
            let Check { value, limit, .. } = &verdict.touch;
            let message = say!(
                "{what} is not cut off in {longest} in the island: no more than {fault} flow, nothing opens or collapses in time, and {value} may stay on what people touch",
                what,
                longest = verdict.longest.value(),
                fault = verdict.fault.value(),
                value = value.value()
            );
            let finding = new(Severity::Error, message).measured(value.node(), limit.node());
            h.found.push(finding.fix(say!(
                "residual current devices ahead of all final circuits (`rcd`) and of the feeder (`feeder_rcd`), heavier protective conductors, or a family that gives up in time"
            )));
        }
        Err(refused) => {
            h.held.push(Held::not_covered(RULE, part).because(refused.reason.clone()));
            h.found.push(new(Severity::NotCovered, say!("{what}: {reason}", what, reason = refused.reason)));
        }
    }
}
