//! `explain`: what a kind of finding means.

use finding::{Kind, kind, kinds};
use serde_json::{Value, json};

use crate::cli::Explain;
use crate::{Status, output};

pub(crate) fn run(args: &Explain, as_json: bool) -> Status {
    let Some(id) = &args.finding else {
        if as_json {
            output::say_json(
                &json!({ "schema": "wattwright-explain/1", "findings": kinds().iter().map(value).collect::<Vec<_>>() }),
            );
        } else {
            let lines: Vec<String> = kinds().iter().map(|k| format!("{:<28} {}", k.id, k.title)).collect();
            output::say(&lines.join("\n"));
        }
        return Status::Fine;
    };
    match kind(id) {
        Some(kind) if as_json => output::say_json(&value(kind)),
        Some(kind) => {
            let lines = |text: &str| output::wrapped(text, 100).join("\n");
            output::say(&format!(
                "{}: {}\n\n{}\n\n{}",
                kind.id,
                kind.title,
                lines(kind.why),
                lines(&format!("Usually mended by: {}", kind.remedies))
            ));
        }
        None => {
            output::complain(&format!(
                "error: no finding is called \"{id}\"; `wattwright explain` lists them"
            ));
            return Status::BadInput;
        }
    }
    Status::Fine
}

fn value(kind: &Kind) -> Value {
    json!({ "id": kind.id, "title": kind.title, "why": kind.why, "remedies": kind.remedies })
}
