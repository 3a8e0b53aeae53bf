//! One tree for both languages: values, each with its place in the text.
//!
//! Readers see only this tree; it does not tell them which language it came from.

mod json;
mod toml;

use crate::diagnostic::Diagnostic;
use crate::source::{Format, Source, Stretch};

/// A value and where it stands.
#[derive(Clone, Debug)]
pub(crate) struct Node {
    pub(crate) value: Value,
    pub(crate) place: Stretch,
}

/// What can stand in a scenario.
#[derive(Clone, Debug)]
pub(crate) enum Value {
    Text(String),
    /// A number, and the same as a whole number where it is one.
    Number(f64, Option<i64>),
    YesNo(bool),
    /// A date, a time or both, as typed without quotes.
    Moment(String),
    List(Vec<Node>),
    Table(Table),
    Null,
}

/// Keys with values, in the order in which they stand.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    /// Where the table is named: what a missing key points at.
    pub(crate) header: Stretch,
    pub(crate) entries: Vec<Entry>,
}

/// A key and its value.
#[derive(Clone, Debug)]
pub(crate) struct Entry {
    pub(crate) key: String,
    pub(crate) key_place: Stretch,
    pub(crate) node: Node,
}

impl Table {
    pub(crate) fn get(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.key == key)
    }
}

impl Value {
    /// What it is, for a person.
    pub(crate) fn what(&self) -> &'static str {
        match self {
            Self::Text(_) => "a text",
            Self::Number(..) => "a bare number",
            Self::YesNo(_) => "true or false",
            Self::Moment(_) => "a date or time",
            Self::List(_) => "a list",
            Self::Table(_) => "a section",
            Self::Null => "null",
        }
    }
}

impl Node {
    /// The table of a node that is one.
    pub(crate) fn as_table(&self) -> Option<&Table> {
        match &self.value {
            Value::Table(table) => Some(table),
            _ => None,
        }
    }

    /// Moves all its places so many bytes on in a text, or back.
    pub(crate) fn shift(&mut self, by: isize) {
        self.place = self.place.moved(by);
        match &mut self.value {
            Value::List(items) => items.iter_mut().for_each(|item| item.shift(by)),
            Value::Table(table) => {
                table.header = table.header.moved(by);
                for entry in &mut table.entries {
                    entry.key_place = entry.key_place.moved(by);
                    entry.node.shift(by);
                }
            }
            Value::Text(_) | Value::Number(..) | Value::YesNo(_) | Value::Moment(_) | Value::Null => {}
        }
    }

    /// The place of a part of a text, where it stands in the source letter by letter; else the whole value's.
    pub(crate) fn part(&self, source: &Source, part: std::ops::Range<usize>) -> Stretch {
        let Value::Text(text) = &self.value else { return self.place };
        let typed = source.at(self.place);
        let plain = typed.get(1..typed.len().saturating_sub(1)).is_some_and(|inner| inner == text);
        if !plain || part.is_empty() {
            return self.place;
        }
        Stretch { start: self.place.start + 1 + part.start, end: self.place.start + 1 + part.end }
    }
}

/// The tree of a source.
///
/// # Errors
/// Everything that is not written in the language: the tree would have holes.
pub(crate) fn parse(source: &Source) -> Result<Node, Vec<Diagnostic>> {
    match source.format {
        Format::Toml => toml::parse(source),
        Format::Json => json::parse(source),
    }
}

/// A value written in TOML without a place of its own: a default or an example.
pub(crate) fn value_of(text: &str) -> Option<Value> {
    let source = Source::new("", &format!("value = {text}"), Format::Toml);
    let node = toml::parse(&source).ok()?;
    node.as_table()?.get("value").map(|entry| entry.node.value.clone())
}

impl From<&Value> for serde_json::Value {
    fn from(value: &Value) -> Self {
        match value {
            Value::Text(text) | Value::Moment(text) => Self::from(text.as_str()),
            Value::Number(_, Some(whole)) => Self::from(*whole),
            Value::Number(number, None) => Self::from(*number),
            Value::YesNo(yes) => Self::from(*yes),
            Value::List(list) => list.iter().map(|node| Self::from(&node.value)).collect(),
            Value::Table(table) => {
                table.entries.iter().map(|entry| (entry.key.clone(), Self::from(&entry.node.value))).collect()
            }
            Value::Null => Self::Null,
        }
    }
}
