//! `explain`: what a kind of finding means, or what a rule of a code says.

use codebook::{Rule, rule, rules};
use finding::{Kind, kind, kinds};
use serde_json::{Value, json};

use crate::cli::Explain;
use crate::{Status, output};

pub(crate) fn run(args: &Explain, as_json: bool) -> Status {
    let Some(id) = &args.id else {
        list(as_json);
        return Status::Fine;
    };
    match (kind(id), rule(id)) {
        (Some(kind), _) if as_json => output::say_json(&value(kind)),
        (Some(kind), _) => {
            output::say(&format!(
                "{}: {}\n\n{}\n\n{}",
                kind.id,
                kind.title,
                lines(kind.why),
                lines(&format!("Usually mended by: {}", kind.remedies))
            ));
        }
        (None, Some(rule)) if as_json => output::say_json(&rule_value(rule)),
        (None, Some(rule)) => output::say(&rule_text(rule)),
        (None, None) => {
            output::complain(&format!(
                "error: no finding and no rule is called \"{id}\"; `wattwright explain` lists them"
            ));
            return Status::BadInput;
        }
    }
    Status::Fine
}

fn list(as_json: bool) {
    if as_json {
        output::say_json(&json!({
            "schema": "wattwright-explain/1",
            "findings": kinds().iter().map(value).collect::<Vec<_>>(),
            "rules": rules().iter().map(rule_value).collect::<Vec<_>>(),
        }));
        return;
    }
    let kinds = kinds().iter().map(|k| format!("{:<28} {}", k.id, k.title));
    let rules = rules().iter().map(|r| format!("{:<28} {} ({}, {})", r.id, r.title, r.edition, r.clause));
    let heading = ["".to_owned(), "Rules of the codes".to_owned()];
    output::say(&kinds.chain(heading).chain(rules).collect::<Vec<String>>().join("\n"));
}

fn lines(text: &str) -> String {
    output::wrapped(text, 100).join("\n")
}

fn value(kind: &Kind) -> Value {
    json!({ "id": kind.id, "title": kind.title, "why": kind.why, "remedies": kind.remedies })
}

/// Heading and text of every part of a rule.
fn parts(rule: &Rule) -> [(&'static str, &str); 7] {
    [
        ("applies", &rule.applies),
        ("why", &rule.why),
        ("formula", &rule.formula),
        ("example", &rule.example),
        ("limits", &rule.limits),
        ("source", &rule.source),
        ("clause", &rule.clause),
    ]
}

fn rule_text(rule: &Rule) -> String {
    let head = format!("{}: {}", rule.id, rule.title);
    let book = format!("Book {}, {}, {}", rule.book.word(), rule.edition, rule.clause);
    let changed = lines(&format!("local amendment: {}", codebook::amendable(&rule.id)));
    let said = parts(rule).into_iter().take(6).map(|(heading, text)| lines(&format!("{heading}: {text}")));
    [head, lines(&book)].into_iter().chain(said).chain([changed]).collect::<Vec<_>>().join("\n\n")
}

fn rule_value(rule: &Rule) -> Value {
    let mut body = serde_json::Map::new();
    body.insert("id".into(), json!(rule.id));
    body.insert("book".into(), json!(rule.book.word()));
    body.insert("edition".into(), json!(rule.edition));
    body.insert("title".into(), json!(rule.title));
    body.insert("amendable".into(), json!(codebook::amendable(&rule.id)));
    body.extend(parts(rule).into_iter().map(|(heading, text)| (heading.to_owned(), json!(text))));
    Value::Object(body)
}
