//! TOML into the tree.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Entry, Node, Table, Value};
use crate::diagnostic::Diagnostic;
use crate::source::{Source, Stretch};

pub(super) fn parse(source: &Source) -> Result<Node, Vec<Diagnostic>> {
    let (document, errors) = DeTable::parse_recoverable(&source.text);
    let table = table(source, document.get_ref(), Stretch::default());
    if errors.is_empty() {
        return Ok(Node { value: Value::Table(table), place: Stretch::default() });
    }
    Err(errors.iter().map(|error| syntax_error(source, error, &table)).collect())
}

fn table(source: &Source, table: &DeTable<'_>, header: Stretch) -> Table {
    let mut entries: Vec<Entry> = table
        .iter()
        .map(|(key, value)| Entry {
            key: key.get_ref().to_string(),
            key_place: key.span().into(),
            node: node(source, value),
        })
        .collect();
    entries.sort_by_key(|entry| entry.key_place.start);
    Table { header, entries }
}

fn node(source: &Source, spanned: &Spanned<DeValue<'_>>) -> Node {
    let place: Stretch = spanned.span().into();
    let value = match spanned.get_ref() {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(integer) => {
            let whole = i64::from_str_radix(integer.as_str(), integer.radix()).ok();
            // Past 64 bits a whole number is refused wherever one is wanted; only its size matters then.
            Value::Number(number_or_nan(integer.as_str(), whole), whole)
        }
        DeValue::Float(float) => Value::Number(number_or_nan(float.as_str(), None), None),
        DeValue::Boolean(yes) => Value::YesNo(*yes),
        DeValue::Datetime(moment) => Value::Moment(moment.to_string()),
        DeValue::Array(items) => Value::List(items.iter().map(|item| node(source, item)).collect()),
        DeValue::Table(inner) => Value::Table(table(source, inner, header(source, place))),
    };
    Node { value, place }
}

#[expect(clippy::cast_precision_loss, reason = "only whole numbers beyond any that a scenario accepts lose digits")]
fn number_or_nan(text: &str, whole: Option<i64>) -> f64 {
    whole.map_or_else(|| text.parse().unwrap_or(f64::NAN), |whole| whole as f64)
}

/// The header of a section; of an inline table over several lines its first brace.
fn header(source: &Source, place: Stretch) -> Stretch {
    if source.at(place).contains('\n') { Stretch { start: place.start, end: place.start + 1 } } else { place }
}

fn syntax_error(source: &Source, error: &toml::de::Error, partial: &Table) -> Diagnostic {
    let place: Stretch = error.span().unwrap_or_default().into();
    // An empty place at the very start would count as "the whole file".
    let place = Stretch { start: place.start, end: place.end.max(1) };
    if error.message().starts_with("duplicate key") {
        let key = source.at(place).trim_matches(['"', '\'']);
        let mut diagnostic = Diagnostic::error(format!("`{key}` is given twice")).at(place, "second time");
        let mut first = None;
        last_before(partial, key, place.start, &mut first);
        if let Some(first) = first {
            diagnostic = diagnostic.at(first, "first time");
        }
        return diagnostic.help(
            "keep one of them; where a section may stand several times, every header has double brackets: [[draw]]",
        );
    }
    Diagnostic::error("this is not written in TOML").at(place, error.message())
}

/// The last key of that name before a place: within one section that is the first of two equal keys.
fn last_before(table: &Table, key: &str, before: usize, found: &mut Option<Stretch>) {
    for entry in table.entries.iter().filter(|entry| entry.key_place.start < before) {
        if entry.key == key && found.is_none_or(|place| place.start < entry.key_place.start) {
            *found = Some(entry.key_place);
        }
        let items = match &entry.node.value {
            Value::List(items) => items.as_slice(),
            _ => std::slice::from_ref(&entry.node),
        };
        for inner in items.iter().filter_map(Node::as_table) {
            last_before(inner, key, before, found);
        }
    }
}
