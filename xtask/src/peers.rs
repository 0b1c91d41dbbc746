//! `cargo xtask peers`: the network solve and the year held against other solvers, by `peers/run.py`.

use std::path::{Path, PathBuf};
use std::process::{Command, ExitCode};

/// Runs the script with the arguments and gives its exit status. `--install` is taken out: it makes an environment
/// under the target folder and installs what the script needs. An environment that is there is used.
pub fn run(args: impl Iterator<Item = String>) -> Result<ExitCode, String> {
    let (install, passed): (Vec<String>, Vec<String>) = args.partition(|a| a == "--install");
    let top = crate::top();
    let target = std::env::var_os("CARGO_TARGET_DIR").map_or_else(|| top.join("target"), PathBuf::from);
    let place =
        std::path::absolute(target.join("peers")).map_err(|e| format!("{}: {e}", target.display()))?;
    if !install.is_empty() {
        make(&top, &place)?;
    }
    let own = python_of(&place);
    let python = if own.exists() { own } else { PathBuf::from("python3") };
    let status = status(Command::new(python).arg("peers/run.py").args(passed).current_dir(top))?;
    Ok(ExitCode::from(code(status)))
}

/// The environment's own interpreter.
fn python_of(place: &Path) -> PathBuf {
    if cfg!(windows) { place.join("Scripts").join("python.exe") } else { place.join("bin").join("python3") }
}

fn make(top: &Path, place: &Path) -> Result<(), String> {
    let failed = || format!("the environment {} could not be made", place.display());
    if status(Command::new("python3").args(["-m", "venv"]).arg(place).current_dir(top))? != Some(0) {
        return Err(failed());
    }
    let mut pip = Command::new(python_of(place));
    pip.args([
        "-m",
        "pip",
        "install",
        "--quiet",
        "--disable-pip-version-check",
        "-r",
        "peers/requirements.txt",
    ]);
    if status(pip.current_dir(top))? != Some(0) {
        return Err(failed());
    }
    Ok(())
}

/// Runs a command to its end; none where a signal ended it.
fn status(command: &mut Command) -> Result<Option<i32>, String> {
    let done = command.status().map_err(|e| format!("{}: {e}", command.get_program().to_string_lossy()))?;
    Ok(done.code())
}

/// The status as a process can give it back: 0 only for 0.
fn code(status: Option<i32>) -> u8 {
    status.and_then(|code| u8::try_from(code).ok()).unwrap_or(1)
}

#[cfg(test)]
mod tests {
    use super::code;

    #[test]
    fn only_success_is_success() {
        assert_eq!([Some(0), Some(1), Some(2), Some(256), Some(-1), None].map(code), [0, 1, 2, 1, 1, 1]);
    }
}
