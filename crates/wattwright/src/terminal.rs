//! Findings and diagnostics on a terminal, in the manner of a good compiler.

use annotate_snippets::{AnnotationKind, Group, Level, Renderer, Snippet};
use finding::{Finding, Severity};
use reading::{Diagnostic, SourceText, render};

use crate::output;

/// All mistakes of an input, each at its place, to standard error.
pub(crate) fn mistakes(diagnostics: &[Diagnostic], sources: &[SourceText]) {
    for diagnostic in diagnostics {
        output::complain(&render(diagnostic, sources, output::styled()));
        output::complain("");
    }
    let s = if diagnostics.len() == 1 { "" } else { "s" };
    output::complain(&format!("{} mistake{s} in the input; nothing was computed", diagnostics.len()));
}

fn level(severity: Severity) -> Level<'static> {
    match severity {
        Severity::Error => Level::ERROR,
        Severity::NotCovered => Level::ERROR.with_name("not covered"),
        Severity::Warning => Level::WARNING,
        Severity::Note => Level::NOTE,
        Severity::OutsideScope => Level::INFO.with_name("outside scope"),
    }
}

/// One finding with the line that a user can change.
pub(crate) fn finding(finding: &Finding, sources: &[SourceText], styled: bool) -> String {
    let lines = |text: &str, width: usize| output::wrapped(text, width).join("\n");
    let head = finding.severity.word().len() + finding.id.len() + 4;
    let message = lines(&finding.message, 110usize.saturating_sub(head).max(40));
    let mut group = Group::with_title(level(finding.severity).primary_title(&message).id(finding.id));
    if let Some((place, label)) = &finding.place
        && let Some(source) = sources.iter().find(|s| s.name() == &*place.file)
    {
        // a place that spans several lines is a table: its first line says enough
        let end = source
            .text()
            .get(place.start..place.end)
            .and_then(|t| t.find('\n'))
            .map_or(place.end, |n| place.start + n);
        group = group.element(
            Snippet::source(source.text())
                .path(source.name())
                .annotation(AnnotationKind::Primary.span(place.start..end).label(label.as_str())),
        );
    }
    let mut facts = vec![("part", finding.part.clone())];
    facts.extend(finding.state.clone().map(|s| ("state", s)));
    if let (Some(value), Some(limit)) = (&finding.value, &finding.limit) {
        let margin =
            finding.margin().map_or(String::new(), |m| format!(" ({})", output::share(Some(m), m >= 0.0)));
        facts.push(("value", format!("{}, limit {}{margin}", value.amount.text, limit.amount.text)));
    }
    if finding.more_like_it > 0 {
        facts.push((
            "more",
            format!("{} like it, less far over their limits: see the margins", finding.more_like_it),
        ));
    }
    facts.extend(finding.clause.clone().map(|c| ("source", c)));
    let facts: Vec<(String, String)> = facts.into_iter().map(|(k, v)| (k.to_owned(), v)).collect();
    let facts: Vec<String> =
        facts.iter().map(|(k, v)| format!("{k:<7}{}", lines(v, 92).replace('\n', "\n       "))).collect();
    let fixes: Vec<String> = finding.fixes.iter().map(|fix| lines(fix, 96)).collect();
    for fact in &facts {
        group = group.element(Level::NOTE.no_name().message(fact.as_str()));
    }
    for fix in &fixes {
        group = group.element(Level::HELP.with_name("fix").message(fix.as_str()));
    }
    let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&[group])
}
