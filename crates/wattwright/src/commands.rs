//! One module a command.

mod calc;
mod check;
mod check_place;
mod code_work;
mod draw;
mod explain;
mod grow;
mod manual;
mod new;
mod outages;
mod package;
mod prove;
mod schema;
mod states;
mod year;

use crate::Status;
use crate::cli::{Cli, Command};
use crate::files::{Loaded, Refused, load};
use crate::{output, terminal};

/// Runs a command.
pub(crate) fn run(cli: &Cli) -> Status {
    match &cli.command {
        Command::Check(args) => check::run(args, cli.json),
        Command::Grow(args) => grow::run(args, cli.json),
        Command::Prove(args) => prove::run(args, cli.json),
        Command::States(args) => states::run(args, cli.json),
        Command::Package(args) => package::run(args, cli.json),
        Command::Outages(args) => outages::run(args, cli.json),
        Command::Year(args) => year::run(args, cli.json),
        Command::Draw(args) => draw::run(args, cli.json),
        Command::Calc(args) => calc::run(args, cli.json),
        Command::New(args) => new::run(args, cli.json),
        Command::Schema(args) => schema::run(args),
        Command::Explain(args) => explain::run(args, cli.json),
        Command::Completions(args) => manual::completions(args),
        Command::Man(args) => manual::pages(args),
    }
}

/// Reads a site, or says every mistake.
fn loaded(args: &crate::cli::SiteArgs, stage: Option<&str>, json: bool) -> Result<Box<Loaded>, Status> {
    let loaded = load(args).map_err(|refused| refuse(&refused, json))?;
    if let Some(stage) = stage
        && !loaded.site.stages.iter().any(|s| s.id.value == stage)
    {
        let known: Vec<&str> = loaded.site.stages.iter().map(|s| s.id.value.as_str()).collect();
        let message = if known.is_empty() {
            format!("the site has no growth stages, so no \"{stage}\"")
        } else {
            format!("the site has no stage \"{stage}\"; it has {}", known.join(", "))
        };
        let refused = Refused {
            diagnostics: vec![reading::Diagnostic::new("unknown-stage", message)],
            sources: Vec::new(),
        };
        return Err(refuse(&refused, json));
    }
    Ok(loaded)
}

/// Reads a site and its demand, or says every mistake.
fn assessed(
    args: &crate::cli::SiteArgs,
    stage: Option<&str>,
    json: bool,
) -> Result<(Box<Loaded>, demand::Assessment), Status> {
    let loaded = loaded(args, stage, json)?;
    let assessment = demand::assess(&loaded.site, &loaded.files, stage);
    if assessment.diagnostics.is_empty() {
        return Ok((loaded, assessment));
    }
    let Loaded { sources, .. } = *loaded;
    Err(refuse(&Refused { diagnostics: assessment.diagnostics, sources }, json))
}

/// Designs, and runs the year of what was designed: no command says that a design holds where another finds that its
/// year does not.
fn designed<'a>(prepared: &'a design::Prepared<'a>, loaded: &Loaded) -> design::Design<'a> {
    let mut design = design::design(prepared);
    let found = annual::findings(&design, &loaded.catalog, &loaded.files);
    design.assessed.ledger.findings.extend(found);
    design
}

fn refuse(refused: &Refused, json: bool) -> Status {
    if json {
        output::say_json(&dossier::diagnostics_json(&refused.diagnostics));
    } else {
        terminal::mistakes(&refused.diagnostics, &refused.sources);
    }
    Status::BadInput
}
