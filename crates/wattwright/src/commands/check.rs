//! `check`: verdict first, then findings that point into the site file, then the tightest margins.

use std::fmt::Write as _;

use demand::Lane;
use derivation::explain;
use design::{By, Verdict, compliance, prepare};
use dossier::{CAUTIONS, Dossier};
use finding::Severity;
use plant::Layout;

use crate::Status;
use crate::cli::Check;
use crate::files::Loaded;
use crate::{output, terminal};

pub(crate) fn run(args: &Check, json: bool) -> Status {
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = prepare(&loaded.site, &loaded.catalog, &assessment);
    let designed = prepared.as_ref().map(|p| super::designed(p, &loaded)).map_err(Clone::clone);
    let dossier = match &designed {
        Ok(design) => Dossier::new(&loaded.site, &assessment, Ok(design)),
        Err(refused) => Dossier::new(&loaded.site, &assessment, Err(refused.clone())),
    };
    if json {
        output::say_json(&dossier::check_json(&dossier));
    } else {
        output::say(&text(&dossier, &loaded, args, output::styled()));
    }
    if dossier.fails() { Status::Findings } else { Status::Fine }
}

fn count(n: usize, what: &str) -> Option<String> {
    match n {
        0 => None,
        1 => Some(format!("1 {what}")),
        n if what == "not covered" => Some(format!("{n} {what}")),
        n => Some(format!("{n} {what}s")),
    }
}

fn text(dossier: &Dossier<'_>, loaded: &Loaded, args: &Check, styled: bool) -> String {
    let mut out = String::new();
    head(&mut out, dossier, args);
    for finding in dossier.findings.iter().filter(|f| f.severity < Severity::OutsideScope) {
        out.push_str(&terminal::finding(finding, &loaded.sources, styled));
        out.push_str("\n\n");
    }
    decided(&mut out, dossier, args.why);
    wires(&mut out, dossier, args.why);
    super::code_work::write(&mut out, dossier, args.why);
    super::check_place::write(&mut out, dossier, WIDTH);
    clauses(&mut out, dossier);
    margins(&mut out, dossier, args);
    loads(&mut out, dossier);
    assumed(&mut out, dossier);
    confirm(&mut out, dossier);
    outside(&mut out, dossier);
    for caution in CAUTIONS {
        let _ = writeln!(out, "{caution}");
    }
    out
}

fn head(out: &mut String, dossier: &Dossier<'_>, args: &Check) {
    let site = dossier.site;
    let service = match (&site.service.rating, site.service.utility.value) {
        (Some(rating), true) => format!(" · {}", rating.value),
        _ => " · off grid".to_owned(),
    };
    let stage = args.stage.as_ref().map_or(String::new(), |s| format!(" · stage \"{s}\""));
    let _ = writeln!(out, "{} · {}{service}{stage}", site.name.value, site.service.system.value);
    let verdict = if dossier.fails() { "does not hold" } else { "holds" };
    let counts: Vec<String> = [
        count(dossier.count(Severity::Error), "error"),
        count(dossier.count(Severity::NotCovered), "not covered"),
        count(dossier.count(Severity::Warning), "warning"),
        count(dossier.count(Severity::Note), "note"),
    ]
    .into_iter()
    .flatten()
    .collect();
    let counts = if counts.is_empty() { String::new() } else { format!(": {}", counts.join(" · ")) };
    match dossier.design {
        None => {
            let _ = writeln!(out, "no design was made{counts}\n");
        }
        Some(design) => {
            let case = &design.case;
            let layout =
                if case.layout == Layout::Outboard { "outboard transfer" } else { case.layout.word() };
            let bypass = match case.bypass.map(|b| b.kind) {
                Some(catalog::BypassKind::InterlockedBreakers) => "bypass by interlocked breakers",
                Some(catalog::BypassKind::ManualSwitch) => "manual bypass switch",
                None => "no bypass",
            };
            let units = case.formation.units();
            let s = if units == 1 { "" } else { "s" };
            let _ = writeln!(
                out,
                "{units} unit{s}{}, {} each here · {layout} · {bypass}",
                if case.formation.to_string().contains('+') {
                    format!(" ({})", case.formation)
                } else {
                    String::new()
                },
                case.rating.power.value()
            );
            let _ = writeln!(
                out,
                "{verdict}{counts} · {} settled states of the gear looked at",
                design.assessed.states_found
            );
            if let Some(proof) = &design.proof {
                let holds = if proof.holds() { "hold" } else { "do NOT all hold" };
                let _ = writeln!(
                    out,
                    "interlock proof: P1 to P7 {holds} in {} states of the full plant (`wattwright prove`)",
                    output::grouped(&proof.states)
                );
            }
            out.push('\n');
        }
    }
}

fn decided(out: &mut String, dossier: &Dossier<'_>, why: bool) {
    let Some(design) = dossier.design else { return };
    let _ = writeln!(out, "decided");
    for decision in &design.decisions {
        let by = match &decision.by {
            By::Site(place) => format!(" [site, {}:{}]", place.file, place.line),
            By::Tool => String::new(),
        };
        let _ = writeln!(out, "  {:<16} {}{by}", decision.what, decision.value);
        let dropped = decision.dropped.iter().map(|d| format!("not {}: {}", d.value, d.reason));
        for text in decision.reasons.iter().map(ToString::to_string).chain(dropped) {
            for line in output::wrapped(&text, WIDTH - 21) {
                let _ = writeln!(out, "  {:<16}   {line}", "");
            }
        }
        if why {
            for node in &decision.from {
                for line in explain(node).lines() {
                    let _ = writeln!(out, "  {:<16}     {line}", "");
                }
            }
        }
    }
    out.push('\n');
}

/// How cables by the IEC book are taken to lie.
const LAYING: &str = "; grouped as `cables_together` says, else all of the units and all of the battery side by side, \
                      every other alone in its conduit (Table B.52.17)";

/// The conductors, one run or kind of run a line.
fn wires(out: &mut String, dossier: &Dossier<'_>, why: bool) {
    let Some(design) = dossier.design.filter(|d| !d.wires.is_empty()) else { return };
    let us = dossier.site.service.earthing.value == site::Earthing::Us;
    let of = if us {
        "copper, 90 degC insulation, in EMT; NEC 2023"
    } else {
        "copper, multicore PVC cable in conduit on a wall, DC cables direct on it; IEC 60364"
    };
    let beside = if us { "" } else { LAYING };
    let arrays = if us || design.case.strings.is_empty() { "" } else { ", array cables XLPE" };
    let _ = writeln!(out, "conductors ({of}{arrays}{beside})");
    for wire in &design.wires {
        let sets = if wire.sets > 1 { format!("{} sets of ", wire.sets) } else { String::new() };
        let lines = if wire.lines > 0 { format!("{} x {}, ", wire.lines, wire.size) } else { String::new() };
        let neutral = wire.neutral.as_ref().map_or(String::new(), |n| format!("N {n}, "));
        let raceway = wire.raceway.as_ref().map_or(String::new(), |r| format!(", {r}"));
        let count = if wire.count > 1 { format!(" ({} of them)", wire.count) } else { String::new() };
        let ground = wire.ground.as_ref().map_or("no ground".to_owned(), |g| format!("ground {g}"));
        let device = if wire.guarded {
            format!("behind {}", wire.device.value())
        } else {
            "needs no device".to_owned()
        };
        let text = format!(
            "{}{count}: {sets}{lines}{neutral}{ground}{raceway}; {device}, carries {}, {} long, loses up to {:.1} %",
            wire.name,
            wire.ampacity.value(),
            wire.length.value(),
            100.0 * quantity::Quantity::si(wire.drop.value()),
        );
        for (k, line) in output::wrapped(&text, WIDTH - 4).iter().enumerate() {
            let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
        }
        if why {
            for node in [&wire.why, wire.drop.node()] {
                for line in explain(node).lines() {
                    let _ = writeln!(out, "      {line}");
                }
            }
        }
    }
    out.push('\n');
}

/// The rules of the book that were held; those that were not are only counted.
fn clauses(out: &mut String, dossier: &Dossier<'_>) {
    let Some(design) = dossier.design.filter(|d| !d.held.is_empty()) else { return };
    let all = compliance(dossier.site.service.earthing.value, &design.held);
    let (used, rest): (Vec<_>, Vec<_>) = all.iter().partition(|c| c.verdict.is_held());
    let outside = rest.iter().filter(|c| c.verdict == Verdict::OutsideScope).count();
    let _ = writeln!(
        out,
        "clauses held ({} more do not apply, {outside} are outside scope, each with its reason: `check --json`)",
        rest.len() - outside
    );
    for clause in used {
        let on = match clause.parts.as_slice() {
            [one] => one.clone(),
            many => format!("{} parts", many.len()),
        };
        let title = codebook::within_sentence(clause.title);
        let text = format!("{}: {title} ({on}), {}", clause.verdict.word(), clause.clause);
        for (k, line) in output::wrapped(&text, WIDTH - 4).iter().enumerate() {
            let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
        }
    }
    out.push('\n');
}

/// Columns that a terminal shows without wrapping by itself.
const WIDTH: usize = 110;

fn margins(out: &mut String, dossier: &Dossier<'_>, args: &Check) {
    let Some(design) = dossier.design else { return };
    let all = design.assessed.ledger.tightest();
    let held = all.iter().filter(|m| m.held_by.is_some()).count();
    // what a setting holds at its limit is tight on purpose and would hide the rest
    let all: Vec<_> = all.into_iter().filter(|m| m.held_by.is_none() || !m.holds()).collect();
    let shown = args.margins.min(all.len());
    let _ = writeln!(out, "tightest margins ({shown} of {}; {held} more are held by settings)", all.len());
    for margin in all.into_iter().take(shown) {
        let of = if margin.floor { "at least" } else { "of" };
        let text = format!(
            "{}: {} {} {of} {} [{}]",
            margin.part, margin.what, margin.value.amount.text, margin.limit.amount.text, margin.state
        );
        for (k, line) in output::wrapped(&text, WIDTH - 11).iter().enumerate() {
            let share = if k == 0 { output::share(margin.share(), margin.holds()) } else { String::new() };
            let indent = if k == 0 { "" } else { "  " };
            let _ = writeln!(out, "  {share:>7}  {indent}{line}");
        }
        if args.why {
            for line in explain(&margin.value).lines().chain(explain(&margin.limit).lines()) {
                let _ = writeln!(out, "             {line}");
            }
        }
    }
    out.push('\n');
}

fn loads(out: &mut String, dossier: &Dossier<'_>) {
    let id = &dossier.site.group.panel.value;
    let without = dossier.assessment.panels.get(id);
    let Some(panel) = dossier.design.map(|d| d.case.demand).or(without) else { return };
    let spare = dossier.site.wish.spare.as_ref().filter(|_| dossier.design.is_some());
    let spare = spare.map_or(String::new(), |s| format!(", with {} spare", s.value));
    let _ = writeln!(out, "demand of the backup panel \"{id}\"{spare} (no demand above this lasts so long)");
    let Some((_, first)) = panel.lanes.iter().next() else { return };
    let times: Vec<String> = first.curve.iter().map(|p| format!("{:>9}", p.lasts.to_string())).collect();
    let _ = writeln!(out, "  {:<6}{}   {:>9}", "", times.join(""), "current");
    for (lane, demand) in &panel.lanes {
        let name = match lane {
            Lane::Leg(leg) => leg.to_string(),
            Lane::Total => "all".to_owned(),
        };
        let values: Vec<String> =
            demand.curve.iter().map(|p| format!("{:>9}", p.power.value().to_string())).collect();
        let _ = writeln!(
            out,
            "  {name:<6}{}   {:>9}",
            values.join(""),
            demand.steady_current.value().to_string()
        );
    }
    let _ = writeln!(out, "  neutral {}, a day {}", panel.neutral.value(), panel.daily_energy.value());
    for placement in &panel.balance.placements {
        let _ =
            writeln!(out, "  placed: {} × {} on {}", placement.count, placement.load, placement.connection);
    }
    if !panel.balance.placements.is_empty() {
        let _ = writeln!(
            out,
            "  {}",
            if panel.balance.proven_optimal {
                "no other placement has a smaller worst leg".to_owned()
            } else {
                format!(
                    "the worst leg is within {:.1} % of the best placement",
                    panel.balance.gap_share * 100.0
                )
            }
        );
    }
    if let Some(service) = &dossier.assessment.service {
        let _ = writeln!(out, "service: {} ({})", service.current.value(), service.method);
    }
    out.push('\n');
}

fn confirm(out: &mut String, dossier: &Dossier<'_>) {
    if dossier.to_confirm.is_empty() {
        return;
    }
    out.push_str("confirm in the adopted code (one source or from memory)\n");
    for figure in &dossier.to_confirm {
        for (k, line) in output::wrapped(figure, WIDTH - 4).iter().enumerate() {
            let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
        }
    }
    out.push('\n');
}

fn assumed(out: &mut String, dossier: &Dossier<'_>) {
    if dossier.assumptions.is_empty() {
        return;
    }
    let _ = writeln!(out, "assumed");
    for node in &dossier.assumptions {
        let why = node.source();
        let why = why.strip_prefix("assumed: ").unwrap_or(&why);
        bullet(out, &format!("{} {}: {why}", node.what, node.amount.text));
    }
    out.push('\n');
}

fn outside(out: &mut String, dossier: &Dossier<'_>) {
    let outside: Vec<_> = dossier.findings.iter().filter(|f| f.severity == Severity::OutsideScope).collect();
    if outside.is_empty() {
        return;
    }
    let _ = writeln!(out, "outside scope of this version");
    for finding in outside {
        let what = finding.message.strip_prefix("not looked at: ").unwrap_or(&finding.message);
        bullet(out, &format!("{}: {what}", finding.part));
    }
    out.push('\n');
}

fn bullet(out: &mut String, text: &str) {
    for (k, line) in output::wrapped(text, WIDTH - 4).iter().enumerate() {
        let _ = writeln!(out, "  {}{line}", if k == 0 { "" } else { "  " });
    }
}
