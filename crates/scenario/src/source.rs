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

impl Stretch {
    /// The same letters after so many more bytes, or less; what has no place gets none.
    pub(crate) fn moved(self, by: isize) -> Self {
        let at = |byte: usize| byte.saturating_add_signed(by);
        if self.end == 0 { self } else { Self { start: at(self.start), end: at(self.end) } }
    }
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
    /// What the file holds; behind it, a line for each key that a study sets: so that all places are places in one text.
    pub(crate) text: String,
    pub(crate) format: Format,
    /// Where the lines of a study begin.
    set: Vec<usize>,
}

/// A part of a source with a name and lines of its own.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) struct Page<'a> {
    pub(crate) name: &'a str,
    pub(crate) text: &'a str,
    /// Where it begins in the whole.
    pub(crate) start: usize,
}

/// What the lines of a study are called.
const SET_BY: &str = "set by the study";

impl Source {
    /// A source without the mark some editors put before the first character.
    pub(crate) fn new(name: &str, text: &str, format: Format) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text).to_owned();
        Self { name: name.to_owned(), text, format, set: Vec::new() }
    }

    /// Adds a line of a study; where it begins.
    pub(crate) fn set(&mut self, line: &str) -> usize {
        let start = self.text.len();
        self.set.push(start);
        self.text.push_str(line);
        self.text.push('\n');
        start
    }

    /// Which line of the study a place is in, counted from zero; `None` in the file itself.
    pub(crate) fn set_at(&self, place: Stretch) -> Option<usize> {
        if place.end == 0 {
            return None;
        }
        self.set.partition_point(|start| *start <= place.start).checked_sub(1)
    }

    /// The lines of the study, one for each key it sets.
    pub(crate) fn settings(&self) -> impl Iterator<Item = &str> {
        let ends = self.set.iter().skip(1).copied().chain([self.text.len()]);
        self.set.iter().zip(ends).filter_map(|(start, end)| Some(self.text.get(*start..end)?.trim_end()))
    }

    /// The file, or the lines of the study: whichever a place is in.
    pub(crate) fn page(&self, place: Stretch) -> Page<'_> {
        let own_end = self.set.first().copied().unwrap_or(self.text.len());
        let (own, set) = self.text.split_at_checked(own_end).unwrap_or((&self.text, ""));
        match self.set_at(place) {
            Some(_) => Page { name: SET_BY, text: set, start: own_end },
            None => Page { name: &self.name, text: own, start: 0 },
        }
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
