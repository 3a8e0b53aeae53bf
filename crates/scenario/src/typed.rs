//! What a scenario may hold, declared once: readers, the JSON Schema and the reference are all made from it.
//!
//! A section is a struct declared by `section!`; each key has a sentence, a type, and either an example or a default, which
//! is itself read like typed text. A type is [`Typed`]: it can describe itself and read itself from a node. Readers never
//! stop at the first fault: what cannot be read is `None`, and the reason is among the diagnostics.

mod meant;
mod reader;
mod section;
mod values;

pub(crate) use reader::Reader;
pub(crate) use section::{choice, presence, section};
pub(crate) use values::{Bearing, File, Level, Moment, Number, Text, TimeOfDay, Tried, Whole};

use crate::quantity::unit::Dimension;
use crate::source::Stretch;
use crate::tree::{self, Node, Value};

/// A type that can be typed in.
pub(crate) trait Typed: Sized {
    /// What it is, for the schema and the reference.
    fn shape() -> Shape;

    /// The value of a node; where there is none the reader has been told why.
    fn read(node: &Node, field: &Field, reader: &mut Reader<'_>) -> Option<Self>;
}

/// What a value looks like.
#[derive(Clone, Debug)]
pub(crate) enum Shape {
    Quantity(&'static Dimension),
    /// A volume, or a share of a tank.
    Level,
    Choice(&'static [&'static str]),
    Text,
    File,
    Date,
    Moment,
    TimeOfDay,
    Whole {
        least: i64,
        most: i64,
    },
    Number {
        least: i64,
        most: i64,
    },
    YesNo,
    List(Box<Shape>),
    /// A value of a key of another file, which says what it must be.
    Any,
    Section(&'static Section),
}

impl Shape {
    /// Whether it is written between quotes.
    fn is_text(&self) -> bool {
        !matches!(
            self,
            Self::Whole { .. } | Self::Number { .. } | Self::YesNo | Self::List(_) | Self::Section(_) | Self::Any
        )
    }

    /// The section behind it, also that of a list of sections.
    pub(crate) fn section(&self) -> Option<&'static Section> {
        match self {
            Self::Section(section) => Some(section),
            Self::List(item) => item.section(),
            _ => None,
        }
    }

    /// The units its numbers are in.
    pub(crate) fn dimension(&self) -> Option<&'static Dimension> {
        match self {
            Self::Quantity(dimension) => Some(dimension),
            Self::Level => Some(&crate::quantity::unit::VOLUME),
            _ => None,
        }
    }
}

/// A section and its keys.
#[derive(Debug)]
pub(crate) struct Section {
    pub(crate) doc: &'static str,
    pub(crate) fields: &'static [Field],
}

impl Section {
    pub(crate) fn field(&self, name: &str) -> Option<&'static Field> {
        self.fields.iter().find(|field| field.name == name)
    }

    pub(crate) fn names(&self) -> impl Iterator<Item = &'static str> {
        self.fields.iter().map(|field| field.name)
    }
}

/// A key of a section.
#[derive(Debug)]
pub(crate) struct Field {
    pub(crate) name: &'static str,
    pub(crate) doc: &'static str,
    pub(crate) presence: Presence,
    pub(crate) shape: fn() -> Shape,
}

/// What it means when a key is left out.
#[derive(Debug)]
pub(crate) enum Presence {
    /// It must be there. The example of a section is the keys to begin it with.
    Required { example: &'static str },
    /// It is this.
    Default { text: &'static str },
    /// Something else takes its place, told in words.
    Optional { example: &'static str, otherwise: &'static str },
    /// A section that counts as empty, or a list that has no items.
    Empty,
}

impl Field {
    /// A value as it could be typed: in quotes where it is a text.
    pub(crate) fn example(&self) -> &'static str {
        match self.presence {
            Presence::Required { example } | Presence::Optional { example, .. } => example,
            Presence::Default { text } => text,
            Presence::Empty => "",
        }
    }

    /// The example as a value.
    pub(crate) fn example_value(&self) -> Option<Value> {
        if (self.shape)().is_text() {
            Some(Value::Text(self.example().to_owned()))
        } else {
            tree::value_of(self.example())
        }
    }

    /// The example as a line to add to a scenario.
    pub(crate) fn example_line(&self, reader: &Reader<'_>) -> String {
        let format = reader.source.format;
        let value = if (self.shape)().is_text() {
            format!("\"{}\"", self.example())
        } else if format == crate::source::Format::Toml {
            self.example().to_owned()
        } else {
            self.example_value().map(|value| serde_json::Value::from(&value).to_string()).unwrap_or_default()
        };
        format.assignment(self.name, &value)
    }
}

/// A value and where it was typed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct At<T> {
    pub(crate) value: T,
    /// The value, of a section its header; where it is a default, the header of the section it would stand in.
    pub(crate) place: Stretch,
    /// Whether it was typed; else it is the default.
    pub(crate) given: bool,
}

/// The word of a choice.
pub(crate) fn word_of<T: Typed>(choice: usize) -> &'static str {
    match T::shape() {
        Shape::Choice(words) => words.get(choice).copied().unwrap_or_default(),
        _ => "",
    }
}
