//! `prove`: what no position of the gear can do, property by property, and what single failures lead to.

use std::fmt::Write as _;

use assess::Case;
use design::prepare;
use finding::Finding;
use plant::SourceKind;
use plant::full::FullPlant;
use serde_json::{Value, json};
use states::proof::{Outcome, Proof, Property, SingleFailure, findings};

use crate::Status;
use crate::cli::Prove;
use crate::{output, terminal};

pub(crate) fn run(args: &Prove, json: bool) -> Status {
    let (loaded, assessment) = match super::assessed(&args.site, args.stage.as_deref(), json) {
        Ok(both) => both,
        Err(status) => return status,
    };
    let prepared = match prepare(&loaded.site, &loaded.catalog, &assessment) {
        Ok(prepared) => prepared,
        Err(refused) => return no_design(SCHEMA, &refused, &loaded.sources, json),
    };
    let designed = super::designed(&prepared, &loaded);
    let Some((plant, proof)) = assess::prove(&designed.case, true) else {
        let failing: Vec<Finding> = designed.failing().cloned().collect();
        return no_design(SCHEMA, &failing, &loaded.sources, json);
    };
    // a proof of the positions says nothing of a design that fails otherwise
    let failing = assessment.findings.iter().filter(|f| f.severity.fails()).chain(designed.failing());
    let fails = failing.count();
    if json {
        output::say_json(&to_json(&loaded.site.name.value, &plant, &proof, fails));
    } else {
        output::say(&text(&loaded.site.name.value, &designed.case, &plant, &proof));
        if fails > 0 {
            let what =
                if fails == 1 { "1 finding fails".to_owned() } else { format!("{fails} findings fail") };
            output::say(&format!("the design does not hold: {what}, see `wattwright check`"));
        }
        output::say(&dossier::CAUTIONS.join("\n"));
    }
    if proof.holds() && fails == 0 { Status::Fine } else { Status::Findings }
}

const SCHEMA: &str = "wattwright-prove/1";

/// Why there is no plant to look at.
pub(super) fn no_design(
    schema: &str,
    refused: &[Finding],
    sources: &[reading::SourceText],
    json: bool,
) -> Status {
    if json {
        let findings: Vec<Value> = refused.iter().map(finding_json).collect();
        output::say_json(&json!({ "schema": schema, "holds": false, "findings": findings }));
    } else {
        for finding in refused {
            output::say(&terminal::finding(finding, sources, output::styled()));
        }
        output::say("no plant could be built, so there is nothing to look at");
    }
    Status::Findings
}

/// Words in lines that fit a terminal, each behind an indent; the first behind a head of the same width.
fn lines(out: &mut String, head: &str, text: &str) {
    let indent = head.chars().count();
    for (k, line) in output::wrapped(text, 96_usize.saturating_sub(indent)).iter().enumerate() {
        let _ = if k == 0 { writeln!(out, "{head}{line}") } else { writeln!(out, "{:indent$}{line}", "") };
    }
}

fn text(site: &str, case: &Case<'_>, plant: &FullPlant, proof: &Proof) -> String {
    let layout = case.layout.word();
    let units = plant.units.len();
    let s = if units == 1 { "" } else { "s" };
    let mut out = format!("{site} · {units} unit{s} · {layout}\n");
    let sources = match plant.supplies.len() {
        0 => "battery",
        1 if plant.supply(SourceKind::Utility).is_some() => "utility, battery",
        1 => "generator, battery",
        _ => "utility, generator, battery",
    };
    let looked = format!(
        "{} states of {sources} and {} devices looked at, in every order of moves, whatever the delays",
        output::grouped(&proof.states),
        plant.gear.len()
    );
    lines(&mut out, "", &looked);
    out.push('\n');
    for (property, outcome) in &proof.results {
        result(&mut out, *property, outcome, &proof.states);
    }
    for note in &proof.notes {
        lines(&mut out, "note: ", note);
    }
    if !proof.failures.is_empty() {
        let rest = if units > 2 { "; two units in service, the rest off" } else { "" };
        let _ = writeln!(out, "\nsingle failures on top of that (no part of the proof{rest})");
    }
    for failure in &proof.failures {
        failed(&mut out, failure);
    }
    out
}

fn result(out: &mut String, property: Property, outcome: &Outcome, states: &str) {
    let head = format!("{} {:<38}", property.number(), property.words());
    match outcome {
        Outcome::Holds if property == Property::Isolation => {
            let _ = writeln!(out, "{head} holds for every unit");
        }
        Outcome::Holds => {
            let _ = writeln!(out, "{head} holds in all {} states", output::grouped(states));
        }
        Outcome::NotCovered(missing) => {
            let _ = writeln!(out, "{head} NOT COVERED");
            lines(out, "   the catalogue does not state ", &missing.join(", "));
        }
        Outcome::Broken(broken) => {
            let moves = match outcome.moves() {
                None => String::new(),
                Some(0) => ", as built".to_owned(),
                Some(1) => ", 1 move".to_owned(),
                Some(n) => format!(", {n} moves"),
            };
            let _ = writeln!(out, "{head} BROKEN{moves}");
            for (k, step) in broken.told.iter().enumerate() {
                lines(out, &format!("   {}. ", k + 1), step);
            }
            lines(out, "   ", &broken.what);
            if !broken.situation.is_empty() {
                lines(out, "   state: ", &broken.situation);
            }
            lines(out, "   fix: ", &broken.fix);
            if let Some(clause) = broken.clause {
                lines(out, "   source: ", clause);
            }
        }
    }
}

fn failed(out: &mut String, failure: &SingleFailure) {
    lines(out, &format!("  {:<8} ", failure.severity.word()), &failure.what);
    if failure.leads_to.is_empty() {
        lines(out, "           ", "everything that was proven still holds");
    }
    for (property, broken) in &failure.leads_to {
        lines(out, &format!("           {}: ", property.number()), &broken.what);
        let moves: Vec<&str> = broken.told.iter().skip(1).map(String::as_str).collect();
        if !moves.is_empty() {
            lines(out, "               after: ", &moves.join("; "));
        }
    }
}

fn broken_json(broken: &states::proof::Broken) -> Value {
    json!({
        "what": broken.what,
        "part": broken.part,
        "fix": broken.fix,
        "source": broken.clause,
        "moves": broken.way.len().checked_sub(1),
        "way": broken.told,
        "state": broken.situation,
    })
}

pub(super) fn finding_json(finding: &Finding) -> Value {
    json!({
        "id": finding.id,
        "severity": finding.severity.word(),
        "part": finding.part,
        "state": finding.state,
        "message": finding.message.as_str(),
        "source": finding.clause,
        "fixes": finding.fixes.iter().map(|f| f.as_str()).collect::<Vec<_>>(),
    })
}

fn to_json(site: &str, plant: &FullPlant, proof: &Proof, check_fails: usize) -> Value {
    let properties: Vec<Value> = proof
        .results
        .iter()
        .map(|(property, outcome)| {
            let (verdict, broken, missing) = match outcome {
                Outcome::Holds => ("holds", Value::Null, json!([])),
                Outcome::Broken(broken) => ("broken", broken_json(broken), json!([])),
                Outcome::NotCovered(missing) => ("not covered", Value::Null, json!(missing)),
            };
            json!({
                "id": property.number(),
                "words": property.words(),
                "finding": property.finding(),
                "verdict": verdict,
                "broken": broken,
                "not_stated": missing,
            })
        })
        .collect();
    let failures: Vec<Value> = proof
        .failures
        .iter()
        .map(|f| {
            let leads_to: Vec<Value> = f
                .leads_to
                .iter()
                .map(|(p, broken)| json!({ "id": p.number(), "broken": broken_json(broken) }))
                .collect();
            json!({ "part": f.part, "what": f.what, "severity": f.severity.word(), "leads_to": leads_to })
        })
        .collect();
    json!({
        "schema": "wattwright-prove/1",
        "cautions": dossier::CAUTIONS,
        "site": site,
        "units": plant.units.len(),
        "devices": plant.gear.len(),
        "states": proof.states,
        "holds": proof.holds(),
        "check_fails": check_fails,
        "properties": properties,
        "notes": proof.notes,
        "single_failures": failures,
        "findings": findings(proof).iter().map(finding_json).collect::<Vec<_>>(),
    })
}
