//! `calc`: single calculations.

use std::fmt::Write as _;
use std::io::Read;

use calc::{Inputs, calculations};
use serde_json::{Value, json};

use crate::cli::Calc;
use crate::{Status, output};

const LARGEST_INPUT_BYTES: u64 = 1024 * 1024;

pub(crate) fn run(args: &Calc, as_json: bool) -> Status {
    let Some(id) = &args.id else {
        list(as_json);
        return Status::Fine;
    };
    if args.list {
        list(as_json);
        return Status::Fine;
    }
    let inputs = if args.inputs.iter().any(|i| i == "-") {
        if args.inputs.len() > 1 {
            return refuse("`-` reads all inputs from standard input; leave the others out", as_json);
        }
        let mut text = String::new();
        match std::io::stdin().lock().take(LARGEST_INPUT_BYTES).read_to_string(&mut text) {
            Ok(_) => Inputs::from_json(&text),
            Err(error) => return refuse(&format!("standard input: {error}"), as_json),
        }
    } else {
        Inputs::from_pairs(&args.inputs)
    };
    match inputs.and_then(|inputs| calc::run(id, &inputs)) {
        Ok(outcome) => {
            if as_json {
                output::say_json(&outcome.json());
            } else {
                output::say(&outcome.text());
            }
            Status::Fine
        }
        Err(error) => refuse(&error.to_string(), as_json),
    }
}

fn refuse(why: &str, as_json: bool) -> Status {
    if as_json {
        output::say_json(
            &json!({ "schema": "wattwright-input/1", "mistakes": [{ "id": "calc-input", "message": why }] }),
        );
    } else {
        output::complain(&format!("error: {why}"));
    }
    Status::BadInput
}

fn list(as_json: bool) {
    if as_json {
        let all: Vec<Value> = calculations().iter().map(described).collect();
        output::say_json(&json!({
            "schema": "wattwright-calc-list/1",
            "syntax": calc::SYNTAX,
            "calculations": all,
        }));
        return;
    }
    let mut text = String::from("How values are written:\n");
    for line in calc::SYNTAX {
        let _ = writeln!(text, "  {line}");
    }
    text.push('\n');
    for c in calculations() {
        let _ = writeln!(text, "{}  {}", c.id, c.purpose);
        for input in &c.inputs {
            let list = if input.list { " (a list)" } else { "" };
            let left_out = match (input.default, input.optional) {
                (Some(default), _) => format!("; {default} if left out"),
                (None, true) => "; may be left out".to_owned(),
                (None, false) => String::new(),
            };
            let _ = writeln!(
                text,
                "    {:<28} {}{list}; {}{left_out}",
                input.key,
                input.what,
                input.allowed_text()
            );
        }
        for out in &c.outputs {
            let _ = writeln!(text, "  = {:<28} {}", out.key, out.what);
        }
        text.push('\n');
    }
    output::say(&text);
}

fn described(c: &calc::Calculation) -> Value {
    let inputs: Vec<Value> = c
        .inputs
        .iter()
        .map(|i| {
            json!({
                "key": i.key,
                "unit": i.measure.unit,
                "what": i.what,
                "required": i.default.is_none() && !i.optional,
                "default": i.default,
                "allowed": i.allowed_text(),
                "list": i.list,
            })
        })
        .collect();
    let outputs: Vec<Value> =
        c.outputs.iter().map(|o| json!({ "key": o.key, "unit": o.measure.unit, "what": o.what })).collect();
    json!({ "id": c.id, "purpose": c.purpose, "inputs": inputs, "outputs": outputs })
}
