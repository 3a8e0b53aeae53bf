//! The text of a scenario and places in it.

use std::ops::Range;

/// Which of the two languages a scenario is written in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    /// TOML.
    Toml,
    /// JSON, without comments.
    Json,
}

impl Format {
    /// A key with its value, as one would type it.
    pub(crate) fn assignment(self, key: &str, value: &str) -> String {
        match self {
            Self::Toml => format!("{key} = {value}"),
            Self::Json => format!("\"{key}\": {value}"),
        }
    }
}

/// Bytes of a source, from `start` up to `end`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(crate) struct Stretch {
    pub(crate) start: usize,
    pub(crate) end: usize,
}

impl From<Range<usize>> for Stretch {
    fn from(range: Range<usize>) -> Self {
        Self { start: range.start, end: range.end }
    }
}

/// A scenario's text, with the name people know it by.
#[derive(Clone, Debug)]
pub(crate) struct Source {
    pub(crate) name: String,
    pub(crate) text: String,
    pub(crate) format: Format,
}

impl Source {
    /// A source without the mark some editors put before the first character.
    pub(crate) fn new(name: &str, text: &str, format: Format) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).to_owned();
        Self { name: name.to_owned(), text, format }
    }

    /// What stands at a place; empty where the place is not in the text.
    pub(crate) fn at(&self, place: Stretch) -> &str {
        self.text.get(place.start..place.end).unwrap_or_default()
    }

    /// Widens a place to whole characters inside the text, so that it can be underlined.
    pub(crate) fn underlined(&self, place: Stretch) -> Range<usize> {
        let length = self.text.len();
        let (mut start, mut end) = (place.start.min(length), place.end.min(length));
        while !self.text.is_char_boundary(start) {
            start -= 1;
        }
        while !self.text.is_char_boundary(end) {
            end += 1;
        }
        start..end.max(start)
    }
}
