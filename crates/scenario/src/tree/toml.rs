//! TOML into the tree.

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::{Entry, Node, Table, Value};
use crate::diagnostic::Diagnostic;
use crate::quantity::clock;
use crate::source::{Source, Stretch};

pub(super) fn parse(source: &Source) -> Result<Node, Vec<Diagnostic>> {
    let (document, errors) = DeTable::parse_recoverable(&source.text);
    let table = table(source, document.get_ref(), Stretch::default());
    if errors.is_empty() {
        return Ok(Node { value: Value::Table(table), place: Stretch::default() });
    }
    let mut list = Vec::with_capacity(errors.len());
    // A section given twice has its keys twice too: that is told once.
    let mut told_until = 0;
    for error in &errors {
        let place = place(error);
        let twice = is_twice(error);
        if twice && place.start < told_until {
            continue;
        }
        if twice && let Some(end) = section_from(&source.text, place.start) {
            told_until = end;
        }
        list.push(syntax_error(source, error, &table));
    }
    Err(list)
}

fn is_twice(error: &toml::de::Error) -> bool {
    error.message().starts_with("duplicate key")
}

fn place(error: &toml::de::Error) -> Stretch {
    let place: Stretch = error.span().unwrap_or_default().into();
    // An empty place at the very start would count as "the whole file".
    Stretch { start: place.start, end: place.end.max(1) }
}

/// Where the section ends whose header is at a place; `None` where no header is there.
fn section_from(text: &str, at: usize) -> Option<usize> {
    let (before, after) = text.split_at_checked(at)?;
    let line = before.rsplit('\n').next().unwrap_or_default();
    line.trim_start().starts_with('[').then(|| after.find("\n[").map_or(text.len(), |length| at + length))
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
    let place = place(error);
    if is_twice(error) {
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
    let found = source.at(place).trim();
    if clock::is_no_day(found) {
        return Diagnostic::error(format!("there is no day {found}")).at(place, "the calendar has no such day");
    }
    if found.is_empty() && is_unquoted(error.message()) {
        return Diagnostic::error("a key has no value")
            .at(place, "nothing after the equals sign")
            .help("write it like: days = 7");
    }
    let fault = Diagnostic::error("this is not written in TOML").at(place, error.message());
    match hint(found, error.message()) {
        Some(hint) => fault.help(hint),
        None => fault,
    }
}

fn is_unquoted(message: &str) -> bool {
    message.starts_with("string values must be quoted")
}

/// What to write instead, where the usual slip is plain. The parser tells its errors in words only.
fn hint(found: &str, message: &str) -> Option<String> {
    let is_date =
        found.matches('/').count() == 2 && found.chars().all(|letter| letter.is_ascii_digit() || letter == '/');
    if is_date {
        Some("a date is written year-month-day, like: start = 2027-06-07".to_owned())
    } else if is_unquoted(message) {
        Some(format!("write \"{found}\""))
    } else if message.starts_with("unexpected key or value") {
        Some("a number and its unit stand together between the quotes, like \"44 gal\"".to_owned())
    } else if message.starts_with("key with no value") {
        Some("write it like: days = 7".to_owned())
    } else {
        None
    }
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
