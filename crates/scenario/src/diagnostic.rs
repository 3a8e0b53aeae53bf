//! What is wrong with a scenario, told so that the reader can put it right: the line, the place in it, what was found,
//! what is accepted.

use std::fmt;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::source::{Source, Stretch};

/// How bad it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Severity {
    /// The scenario cannot be run.
    Error,
    /// The scenario runs, but somebody should look at it.
    Warning,
}

/// One fault or warning.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    severity: Severity,
    title: String,
    labels: Vec<Label>,
    notes: Vec<Note>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Label {
    place: Stretch,
    text: String,
}

#[derive(Clone, Debug, PartialEq, Eq)]
enum Note {
    Note(String),
    Help(String),
}

impl Diagnostic {
    pub(crate) fn error(title: impl Into<String>) -> Self {
        Self { severity: Severity::Error, title: title.into(), labels: Vec::new(), notes: Vec::new() }
    }

    pub(crate) fn warning(title: impl Into<String>) -> Self {
        Self { severity: Severity::Warning, ..Self::error(title) }
    }

    /// Underlines a place; the first one is the place that is wrong, later ones are what it disagrees with.
    pub(crate) fn at(mut self, place: Stretch, text: impl Into<String>) -> Self {
        self.labels.push(Label { place, text: text.into() });
        self
    }

    pub(crate) fn note(mut self, text: impl Into<String>) -> Self {
        self.notes.push(Note::Note(text.into()));
        self
    }

    pub(crate) fn help(mut self, text: impl Into<String>) -> Self {
        self.notes.push(Note::Help(text.into()));
        self
    }

    /// How bad it is.
    #[must_use]
    pub fn severity(&self) -> Severity {
        self.severity
    }

    /// What is wrong, in one line.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    fn group<'a>(&'a self, source: &'a Source) -> Group<'a> {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let title = level.primary_title(self.title.as_str());
        let placed: Vec<_> = self.labels.iter().filter(|label| label.place.end > 0).collect();
        let mut group = if placed.is_empty() {
            title.element(Origin::path(source.name.as_str()))
        } else {
            let annotations = placed.iter().enumerate().map(|(i, label)| {
                let kind = if i == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
                kind.span(source.underlined(label.place)).label(label.text.as_str())
            });
            let snippet = Snippet::source(source.text.as_str()).path(source.name.as_str());
            title.element(snippet.annotations(annotations))
        };
        let is_help = |note: &&Note| matches!(note, Note::Help(_));
        let facts = self.notes.iter().filter(|note| !is_help(note));
        for note in facts.chain(self.notes.iter().filter(is_help)) {
            group = group.element(match note {
                Note::Note(text) => Level::NOTE.message(text.as_str()),
                Note::Help(text) => Level::HELP.message(text.as_str()),
            });
        }
        group
    }
}

/// All that was found in one scenario file, in the order in which it stands there.
#[derive(Clone, Debug)]
pub struct Diagnostics {
    source: Source,
    list: Vec<Diagnostic>,
}

impl Diagnostics {
    pub(crate) fn new(source: Source, mut list: Vec<Diagnostic>) -> Self {
        list.sort_by_key(|diagnostic| diagnostic.labels.first().map_or(0, |label| label.place.start));
        Self { source, list }
    }

    /// Whether there is nothing to tell.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// How many there are.
    #[must_use]
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Each of them.
    pub fn iter(&self) -> impl Iterator<Item = &Diagnostic> {
        self.list.iter()
    }

    /// The line each of them points at, counted from one; `None` where it concerns the file as a whole.
    #[must_use]
    pub fn line(&self, diagnostic: &Diagnostic) -> Option<usize> {
        let place = diagnostic.labels.first().map(|label| label.place).filter(|place| place.end > 0)?;
        let before = self.source.text.get(..self.source.underlined(place).start)?;
        Some(before.matches('\n').count() + 1)
    }

    /// The text for a person, one paragraph each, with terminal colours or without.
    #[must_use]
    pub fn render(&self, color: bool) -> String {
        let renderer = if color { Renderer::styled() } else { Renderer::plain() }.decor_style(DecorStyle::Ascii);
        let paragraphs: Vec<String> =
            self.list.iter().map(|diagnostic| renderer.render(&[diagnostic.group(&self.source)])).collect();
        paragraphs.join("\n\n")
    }
}

impl fmt::Display for Diagnostics {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.render(false))
    }
}

impl std::error::Error for Diagnostics {}
