//! `schema`: JSON Schemas for editors.

use crate::cli::Schema;
use crate::{Status, output};

pub(crate) fn run(args: &Schema) -> Status {
    output::say_json(&match args.of.as_str() {
        "catalog" => catalog::schema(),
        "design" => dossier::design_schema(),
        _ => site::schema(),
    });
    Status::Fine
}
