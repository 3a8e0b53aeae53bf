//! What is wrong with a scenario, told so that the reader can put it right: the line, the place in it, what was found,
//! what is accepted.

use std::fmt;

use annotate_snippets::renderer::DecorStyle;
use annotate_snippets::{AnnotationKind, Group, Level, Origin, Renderer, Snippet};

use crate::source::{Format, Source, Stretch};

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

    /// The same of another place: what it says of its first place, it then says of that one.
    pub(crate) fn placed(mut self, place: Stretch) -> Self {
        self.labels.truncate(1);
        if let Some(label) = self.labels.first_mut() {
            label.place = place;
        }
        self
    }

    /// The same in a longer text, in which the one it points into begins at byte `start`.
    #[must_use]
    pub fn moved(self, start: usize) -> Self {
        self.moved_by(isize::try_from(start).unwrap_or(isize::MAX))
    }

    pub(crate) fn moved_by(mut self, by: isize) -> Self {
        for label in &mut self.labels {
            label.place = label.place.moved(by);
        }
        self
    }

    /// The places underlined.
    pub(crate) fn places(&self) -> impl Iterator<Item = Stretch> {
        self.labels.iter().map(|label| label.place)
    }

    fn group<'a>(&'a self, source: &'a Source) -> Group<'a> {
        let level = match self.severity {
            Severity::Error => Level::ERROR,
            Severity::Warning => Level::WARNING,
        };
        let title = level.primary_title(self.title.as_str());
        let placed: Vec<_> = self.labels.iter().filter(|label| label.place.end > 0).collect();
        let mut pages = Vec::new();
        for page in placed.iter().map(|label| source.page(label.place)) {
            if !pages.contains(&page) {
                pages.push(page);
            }
        }
        let mut group = Group::with_title(title);
        if pages.is_empty() {
            group = group.element(Origin::path(source.name.as_str()));
        }
        for page in pages {
            let labels = placed.iter().enumerate().filter(|(_, label)| source.page(label.place) == page);
            let annotations = labels.map(|(i, label)| {
                let kind = if i == 0 { AnnotationKind::Primary } else { AnnotationKind::Context };
                let place = source.underlined(label.place);
                let end = page.start + page.text.len();
                kind.span(place.start - page.start..place.end.min(end) - page.start).label(label.text.as_str())
            });
            group = group.element(Snippet::source(page.text).path(page.name).annotations(annotations));
        }
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

    /// What is wrong in a text of another kind than a scenario: a path of keys, or the file that it stands in.
    ///
    /// Places count in bytes from its start, after the mark some editors put before the first character; see
    /// [`Diagnostic::moved`].
    ///
    /// ```
    /// use springhouse_scenario::Diagnostics;
    /// use springhouse_scenario::vary::KeyPath;
    ///
    /// let study = "vary = \"storage..volume\"\n";
    /// let fault = KeyPath::parse("storage..volume").unwrap_err().moved(8);
    /// let told = Diagnostics::in_text("study.toml", study, vec![fault]).to_string();
    /// assert!(told.contains("study.toml:1:17"), "{told}");
    /// ```
    #[must_use]
    pub fn in_text(name: &str, text: &str, list: Vec<Diagnostic>) -> Self {
        Self::new(Source::new(name, text, Format::Toml), list)
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

    /// The line of the file each of them points at, counted from one; `None` where it concerns the file as a whole, or
    /// only what was set beside it.
    #[must_use]
    pub fn line(&self, diagnostic: &Diagnostic) -> Option<usize> {
        let own = diagnostic.places().find(|place| self.source.set_at(*place).is_none());
        let place = own.filter(|place| place.end > 0)?;
        let before = self.source.text.get(..self.source.underlined(place).start)?;
        Some(before.matches('\n').count() + 1)
    }

    /// Which of the keys set in a variant of a scenario it points at, counted from zero; `None` where it points at none. See
    /// [`Base::with`](crate::vary::Base::with).
    #[must_use]
    pub fn setting(&self, diagnostic: &Diagnostic) -> Option<usize> {
        diagnostic.places().find_map(|place| self.source.set_at(place))
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
