//! What is wrong with a text, where, what was expected and what to write instead.

use annotate_snippets::{AnnotationKind, Level, Renderer, Snippet};
use derivation::Place;

use crate::SourceText;

/// One mistake in an input.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Diagnostic {
    /// Stable id in words: `unknown-key`.
    pub id: &'static str,
    /// What is wrong.
    pub message: String,
    /// Where.
    pub place: Option<Place>,
    /// What to say at the place.
    pub label: String,
    /// What to write instead.
    pub help: Option<String>,
    /// Other places that matter, such as the first of two duplicates.
    pub also: Vec<(Place, String)>,
}

impl Diagnostic {
    /// A mistake without a place yet.
    pub fn new(id: &'static str, message: impl Into<String>) -> Self {
        Self { id, message: message.into(), place: None, label: String::new(), help: None, also: Vec::new() }
    }

    /// At a place, with what to say there.
    #[must_use]
    pub fn at(mut self, place: &Place, label: impl Into<String>) -> Self {
        self.place = Some(place.clone());
        self.label = label.into();
        self
    }

    /// What to write instead.
    #[must_use]
    pub fn help(mut self, help: impl Into<String>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Another place that matters.
    #[must_use]
    pub fn also(mut self, place: &Place, label: impl Into<String>) -> Self {
        self.also.push((place.clone(), label.into()));
        self
    }
}

/// Orders diagnostics as they stand in the files.
pub fn sort(diagnostics: &mut [Diagnostic]) {
    diagnostics.sort_by(|a, b| (&a.place, a.id, &a.message).cmp(&(&b.place, b.id, &b.message)));
}

/// Renders one diagnostic with its source line and a caret. `styled` adds terminal colours.
pub fn render(diagnostic: &Diagnostic, sources: &[SourceText], styled: bool) -> String {
    let source_of = |place: &Place| sources.iter().find(|s| s.name() == &*place.file);
    let mut group = Level::ERROR
        .primary_title(&diagnostic.message)
        .id(diagnostic.id)
        .elements(std::iter::empty::<annotate_snippets::Element<'_>>());
    if let Some((place, source)) = diagnostic.place.as_ref().and_then(|p| Some((p, source_of(p)?))) {
        let mut snippet = Snippet::source(source.text())
            .path(source.name())
            .annotation(AnnotationKind::Primary.span(place.start..place.end).label(&diagnostic.label));
        for (also, label) in diagnostic.also.iter().filter(|(a, _)| a.file == place.file) {
            snippet =
                snippet.annotation(AnnotationKind::Context.span(also.start..also.end).label(label.as_str()));
        }
        group = group.element(snippet);
        for (also, label) in diagnostic.also.iter().filter(|(a, _)| a.file != place.file) {
            if let Some(source) = source_of(also) {
                group =
                    group.element(Snippet::source(source.text()).path(source.name()).annotation(
                        AnnotationKind::Context.span(also.start..also.end).label(label.as_str()),
                    ));
            }
        }
    } else if let Some(place) = &diagnostic.place {
        group = group.element(annotate_snippets::Origin::path(place.file.as_ref()));
    }
    if let Some(help) = &diagnostic.help {
        group = group.element(Level::HELP.message(help.as_str()));
    }
    let renderer = if styled { Renderer::styled() } else { Renderer::plain() };
    renderer.render(&[group])
}
