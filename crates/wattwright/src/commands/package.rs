//! `package`: the papers of a design in a folder.

use crate::Status;
use crate::cli::Package;
use crate::output;

/// Without the PDF engine there are no papers.
#[cfg(not(feature = "pdf"))]
pub(crate) fn run(_: &Package, _: bool) -> Status {
    output::complain(
        "error: this build writes no packages: it was made without the PDF engine, which takes minutes to build\n\
         help: cargo build --release --features pdf",
    );
    Status::BadInput
}

#[cfg(feature = "pdf")]
pub(crate) fn run(args: &Package, json: bool) -> Status {
    use design::prepare;
    use dossier::Dossier;

    // what cannot be written is said before the work is done
    if let Err(why) = crate::folder::may_write(&args.out) {
        output::complain(&format!("error: {why}"));
        return Status::BadInput;
    }
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
    let fails = dossier.fails();
    if fails && !args.anyway {
        let failing = dossier.findings.iter().filter(|f| f.severity.fails()).count();
        output::complain(&format!(
            "error: the design does not hold ({failing} findings fail), so no package was written\n\
             help: see `wattwright check`; `--anyway` writes a package marked NOT FOR CONSTRUCTION on every page"
        ));
        return Status::Findings;
    }
    let inputs =
        loaded.sources.iter().map(|s| (s.name().to_string(), crate::folder::sha256(s.text().as_bytes())));
    let drawings = match &designed {
        Ok(design) => super::draw::pictures(args.date, design, &dossier),
        Err(_) => Ok(Vec::new()),
    };
    let drawings = match drawings {
        Ok(drawings) => drawings,
        Err(why) => {
            // a drawing that does not show the plant is worse than none
            output::complain(&format!("error: {why}; nothing was written"));
            return Status::BadInput;
        }
    };
    let mut stop = crate::stop::Stop::listen();
    let energy = match &designed {
        Ok(design) => super::plots::energy(design, &loaded, &mut stop),
        Err(_) => Some(super::plots::Energy::default()),
    };
    stop.finish();
    let Some(energy) = energy else {
        output::complain("stopped: nothing was written");
        return Status::Stopped;
    };
    let order = package::Order {
        date: args.date,
        stage: args.stage.as_deref(),
        inputs: inputs.collect(),
        drawings,
        plots: energy.plots,
        energy: energy.schedules,
        energy_notes: energy.notes,
        ..package::Order::default()
    };
    let (mut design, pictures) = package::gather(&dossier, &loaded.catalog, order);
    let site = &args.site.site;
    let home = if site.is_dir() { Some(site.as_path()) } else { site.parent() };
    if let Some(home) = home {
        within(&mut design, home);
    }
    let written = package::papers(&design, &pictures).and_then(|p| crate::folder::write(&args.out, &p));
    match written {
        Err(why) => {
            output::complain(&format!("error: {why}; nothing was written"));
            Status::BadInput
        }
        Ok(files) => {
            if json {
                let folder = args.out.display().to_string();
                output::say_json(&serde_json::json!({
                    "schema": "wattwright-package/1", "folder": folder, "files": files, "verdict": design["verdict"],
                }));
            } else {
                let marked = if fails { ", marked NOT FOR CONSTRUCTION on every page" } else { "" };
                let mut text = format!("{} files in {}{marked}\n", files.len(), args.out.display());
                for file in &files {
                    text.push_str(&format!("  {file}\n"));
                }
                output::say(&text);
                output::say(&dossier::CAUTIONS.join("\n"));
            }
            if fails { Status::Findings } else { Status::Fine }
        }
    }
}

/// Names files as the folder of the site knows them: papers are the same wherever that folder stands.
#[cfg(feature = "pdf")]
fn within(value: &mut serde_json::Value, home: &std::path::Path) {
    use serde_json::Value;
    match value {
        Value::Array(all) => all.iter_mut().for_each(|one| within(one, home)),
        Value::Object(map) => {
            for (key, inner) in map {
                let inside = match inner {
                    Value::String(file) if key == "file" => {
                        std::path::Path::new(file).strip_prefix(home).ok().map(|p| p.display().to_string())
                    }
                    _ => None,
                };
                match inside {
                    Some(file) => *inner = Value::String(file),
                    None => within(inner, home),
                }
            }
        }
        _ => {}
    }
}
