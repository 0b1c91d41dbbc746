//! Chores of the repository. `cargo xtask readme` runs the commands shown in the documents and writes their output
//! there; `cargo xtask docs` writes the pages that come from the schema and from the registry of findings; `cargo xtask
//! words` lists every sentence for translators. Tests fail while one of them is stale. `cargo xtask peers` holds the
//! network solve against other solvers.

mod docs;
mod peers;
mod words;

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

const USAGE: &str =
    "usage: cargo xtask readme | docs | words | peers [--install] [arguments of peers/run.py]";

fn main() -> ExitCode {
    let mut args = std::env::args().skip(1);
    let done = match args.next().as_deref() {
        Some("readme") => readme().map(|()| ExitCode::SUCCESS),
        Some("docs") => docs().map(|()| ExitCode::SUCCESS),
        Some("words") => words().map(|()| ExitCode::SUCCESS),
        Some("peers") => peers::run(args),
        _ => Err(USAGE.to_owned()),
    };
    match done {
        Ok(code) => code,
        Err(why) => {
            // a closed standard error is no reason to panic
            let _ = std::io::Write::write_all(&mut std::io::stderr(), format!("{why}\n").as_bytes());
            ExitCode::FAILURE
        }
    }
}

/// Top of the repository.
fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The test that compares the documents with what the commands print writes them instead, when asked to: it is the one
/// that has the built command.
fn readme() -> Result<(), String> {
    let status = Command::new(std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into()))
        .args(["test", "--quiet", "--package", "wattwright", "--test", "readme", "--test", "cli", "--"])
        .args(["the_documents_show", "every_example_is_drawn"])
        .env("WATTWRIGHT_WRITE_DOCS", "yes")
        .current_dir(top())
        .status()
        .map_err(|e| format!("cargo: {e}"))?;
    if status.success() { Ok(()) } else { Err("the documents could not be written".to_owned()) }
}

fn docs() -> Result<(), String> {
    for (path, text) in docs::pages() {
        std::fs::write(top().join(path), text).map_err(|e| format!("{path}: {e}"))?;
    }
    Ok(())
}

fn words() -> Result<(), String> {
    let list = words::list()?;
    std::fs::write(top().join(words::PATH), list).map_err(|e| format!("{}: {e}", words::PATH))
}
