//! Files that cannot be used: each gets a clear word and status 2, never a crash, never a guess.

// helpers of tests; clippy's own exception reaches only functions marked as tests
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]

mod support;

use std::fs::File;

use support::{Ran, Written, example, run, top};

const TEN: &str = include_str!("../../site/tests/ten-mistakes.toml");

/// Lines of the planted mistakes: those that the file marks with `# <-`.
fn planted() -> Vec<u64> {
    let marked = TEN.lines().enumerate().filter(|(_, line)| line.contains("# <- "));
    marked.map(|(k, _)| k as u64 + 1).collect()
}

#[test]
fn ten_planted_mistakes_get_ten_diagnostics_in_one_run() {
    let file = Written::new(TEN);
    let ran = run(&["check", &file.path(), "--json"]);
    assert_eq!(ran.status, 2);
    let json = ran.json();
    let mistakes = json["mistakes"].as_array().unwrap();
    let mut lines: Vec<u64> = mistakes.iter().map(|m| m["place"]["line"].as_u64().unwrap()).collect();
    lines.sort_unstable();
    assert_eq!(lines, planted());
    assert_eq!(lines.len(), 10);
    for mistake in mistakes {
        assert!(!mistake["message"].as_str().unwrap().is_empty());
        assert!(mistake["place"]["column"].as_u64().unwrap() > 0);
    }

    let ran = run(&["check", &file.path()]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""));
    for line in planted() {
        assert!(ran.err.contains(&format!("site.toml:{line}:")), "line {line} is not named:\n{}", ran.err);
    }
    assert_eq!(ran.err.matches("error[").count(), 10);
    assert!(ran.err.contains("10 mistakes in the input"), "{}", ran.err);
}

/// One refusal, in text and in JSON.
fn refused_once(path: &str, what: &str, run: &dyn Fn(&[&str]) -> Ran) {
    let ran = run(&["check", path, "--json"]);
    assert_eq!(ran.status, 2, "{what}: {}{}", ran.out, ran.err);
    let mistakes = ran.json()["mistakes"].as_array().unwrap().len();
    assert_eq!(mistakes, 1, "{what}: {}", ran.out);
    let ran = run(&["check", path]);
    assert_eq!((ran.status, ran.out.as_str()), (2, ""), "{what}");
    assert_eq!(ran.err.matches("error[").count(), 1, "{what}: {}", ran.err);
    assert!(ran.err.len() < 2000, "{what}: the refusal is {} bytes long", ran.err.len());
    let grow = run(&["grow", path]);
    assert_eq!((grow.status, grow.out.as_str()), (2, ""), "{what}");
}

#[test]
fn a_file_that_is_no_site_gets_one_clear_refusal() {
    let text = example("veterinary-practice");
    // cut off inside a string: no TOML any more
    let cut = text.find("Juniper").unwrap() + 4;
    let nested =
        |open: &str, close: &str| format!("site = {}1{}\n", open.repeat(50_000), close.repeat(50_000));
    let binary: Vec<u8> = (0..20_000_u32).map(|k| (k.wrapping_mul(2_654_435_761) >> 13) as u8).collect();
    for (what, bytes) in [
        ("empty", Vec::new()),
        ("blank", b"\n  \n\n".to_vec()),
        ("truncated", text.as_bytes()[..cut].to_vec()),
        ("binary", binary),
        ("not UTF-8", b"format = 1 # \xff\xfe\n".to_vec()),
        ("deeply nested lists", nested("[", "]").into_bytes()),
        ("deeply nested tables", nested("{ a = ", "}").into_bytes()),
        ("a deep key", format!("a{} = 1\n", ".a".repeat(50_000)).into_bytes()),
        ("a deep header", format!("[a{}]\nb = 1\n", ".a".repeat(50_000)).into_bytes()),
    ] {
        let file = Written::new(bytes);
        refused_once(&file.path(), what, &run);
    }
}

#[test]
fn five_megabytes_of_text_are_refused_at_once() {
    let mut text = example("veterinary-practice");
    while text.len() < 5 * 1024 * 1024 {
        text.push_str(
            "# more and more of the same, as a file that was saved over and over again might hold\n",
        );
    }
    let file = Written::new(text);
    refused_once(&file.path(), "5 MB", &run);
}

#[cfg(unix)]
#[test]
fn a_hundred_megabytes_are_refused_within_a_gigabyte_of_memory() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("site.toml");
    File::create(&path).unwrap().set_len(100 * 1024 * 1024).unwrap();
    let within = |args: &[&str]| support::run_within(1_000_000, args);
    refused_once(&path.display().to_string(), "100 MB", &within);
    // the limit is one under which the command works as a rule
    assert_eq!(within(&["check", "examples/farmhouse"]).status, 0);
}

#[test]
fn beside_a_bad_site_a_bad_catalogue_is_told_in_the_same_run() {
    let site =
        Written::new(example("farmhouse").replace("\"120/240 V split-phase\"", "\"121/240 V split-phase\""));
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("mine.toml"), "format = 1\n[[unit]]\nid = \"mine\"\nrevisoin = 1\n")
        .unwrap();
    let own = folder.path().display().to_string();
    let ran = run(&["check", &site.path(), "--catalog", &own, "--json"]);
    assert_eq!(ran.status, 2);
    let json = ran.json();
    let files: Vec<&str> =
        json["mistakes"].as_array().unwrap().iter().map(|m| m["place"]["file"].as_str().unwrap()).collect();
    assert!(
        files.iter().any(|f| f.ends_with("site.toml")) && files.iter().any(|f| f.ends_with("mine.toml")),
        "{files:?}"
    );
}

#[test]
fn measured_data_that_is_missing_points_at_the_line_that_names_it() {
    let text = std::fs::read_to_string(top().join("examples/creamery/site-measured.toml")).unwrap();
    let site = Written::new(&text);
    let ran = run(&["check", &site.path(), "--json"]);
    assert_eq!(ran.status, 2, "{}", ran.out);
    let json = ran.json();
    let line = json["mistakes"][0]["place"]["line"].as_u64().unwrap();
    let named = text.lines().nth(line as usize - 1).unwrap();
    assert!(named.contains("demand.csv"), "points at: {named}");
}
