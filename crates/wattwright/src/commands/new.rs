//! `new`: a commented starter site.

use serde_json::json;

use crate::cli::New;
use crate::{Status, files, output};

pub(crate) fn run(args: &New, json: bool) -> Status {
    match files::write_new(&args.file, site::starter()) {
        Ok(()) => {
            let file = args.file.display().to_string();
            if json {
                output::say_json(&json!({ "schema": "wattwright-new/1", "written": file }));
            } else {
                output::say(&format!("wrote {file}; now: wattwright check {file}"));
            }
            Status::Fine
        }
        Err(why) => {
            if json {
                output::say_json(
                    &json!({ "schema": "wattwright-input/1", "mistakes": [{ "id": "not-written", "message": why }] }),
                );
            } else {
                output::complain(&format!("error: {why}"));
            }
            Status::BadInput
        }
    }
}
