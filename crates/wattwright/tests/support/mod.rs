//! Runs the command as a user does, from the top of the repository, so that the places in its output read the same on
//! every machine.

#![allow(dead_code)] // each test file takes what it needs

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use serde_json::Value;

pub const EXAMPLES: [&str; 5] =
    ["creamery", "farmhouse", "field-station", "packing-shed", "veterinary-practice"];

/// How a command ended.
pub struct Ran {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Ran {
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.out).unwrap_or_else(|e| panic!("no JSON: {e}\n{}\n{}", self.out, self.err))
    }
}

pub fn top() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().expect("the repository is there")
}

pub fn example(name: &str) -> String {
    std::fs::read_to_string(top().join("examples").join(name).join("site.toml"))
        .expect("the example is there")
}

fn finish(mut command: Command, input: &str) -> Ran {
    let mut child = command
        .current_dir(top())
        .env("NO_COLOR", "1")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the command starts");
    // a command that reads nothing may have ended already
    let _ = child.stdin.take().expect("there is an input").write_all(input.as_bytes());
    let output = child.wait_with_output().expect("the command ends");
    Ran {
        status: output.status.code().unwrap_or_else(|| panic!("ended by a signal: {:?}", output.status)),
        out: String::from_utf8(output.stdout).expect("the output is text"),
        err: String::from_utf8(output.stderr).expect("the messages are text"),
    }
}

pub fn run(args: &[&str]) -> Ran {
    run_with(args, "")
}

pub fn run_with(args: &[&str], input: &str) -> Ran {
    let mut command = Command::new(env!("CARGO_BIN_EXE_wattwright"));
    command.args(args);
    finish(command, input)
}

/// With at most `kilobytes` of address space.
#[cfg(unix)]
pub fn run_within(kilobytes: u32, args: &[&str]) -> Ran {
    let mut command = Command::new("sh");
    command.arg("-c").arg(format!("ulimit -v {kilobytes} && exec \"$0\" \"$@\""));
    command.arg(env!("CARGO_BIN_EXE_wattwright")).args(args);
    finish(command, "")
}

/// A site file in a folder of its own.
pub struct Written {
    folder: tempfile::TempDir,
}

impl Written {
    pub fn new(text: impl AsRef<[u8]>) -> Self {
        let folder = tempfile::tempdir().expect("there is room for a folder");
        std::fs::write(folder.path().join("site.toml"), text).expect("the file is written");
        Self { folder }
    }

    pub fn path(&self) -> String {
        self.folder.path().join("site.toml").display().to_string()
    }
}
