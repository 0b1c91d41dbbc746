//! `schema`: JSON Schemas for editors.

use crate::cli::Schema;
use crate::{Status, output};

pub(crate) fn run(args: &Schema) -> Status {
    output::say_json(&if args.of == "catalog" { catalog::schema() } else { site::schema() });
    Status::Fine
}
