//! JSON into the tree, as RFC 8259 has it: no comments, no trailing commas.

use jsonc_parser::ast;
use jsonc_parser::common::Ranged;
use jsonc_parser::errors::ParseErrorKind;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};

use super::{Entry, Node, Table, Value};
use crate::diagnostic::Diagnostic;
use crate::source::{Source, Stretch};

const STRICT: ParseOptions = ParseOptions {
    allow_comments: false,
    allow_loose_object_property_names: false,
    allow_trailing_commas: false,
    allow_missing_commas: false,
    allow_single_quoted_strings: false,
    allow_hexadecimal_numbers: false,
    allow_unary_plus_numbers: false,
    allow_bare_decimal_point_numbers: false,
    allow_non_finite_numbers: false,
    allow_extended_string_escapes: false,
};

pub(super) fn parse(source: &Source) -> Result<Node, Vec<Diagnostic>> {
    let parsed = parse_to_ast(&source.text, &CollectOptions::default(), &STRICT).map_err(|error| {
        let (range, kind) = (error.range(), error.kind());
        let place = Stretch { start: range.start, end: range.end.max(1) };
        // What is never closed goes on to the end of the file.
        let open = matches!(kind, ParseErrorKind::UnterminatedArray | ParseErrorKind::UnterminatedObject);
        let place = if open { first_letter(place) } else { place };
        let fault = Diagnostic::error("this is not written in JSON").at(place, lower_case(&kind.to_string()));
        vec![match hint(kind) {
            Some(hint) => fault.help(hint),
            None => fault,
        }]
    })?;
    let Some(value) = parsed.value else {
        return Err(vec![Diagnostic::error("the file is empty").help("a scenario is an object: `{ \"start\": … }`")]);
    };
    let mut errors = Vec::new();
    let root = node(source, &value, None, &mut errors);
    if root.as_table().is_none() {
        errors.push(
            Diagnostic::error("a scenario is an object").at(first_letter(root.place), root.value.what().to_owned()),
        );
    }
    if errors.is_empty() { Ok(root) } else { Err(errors) }
}

/// What to do about it, where the usual slip is plain.
fn hint(kind: &ParseErrorKind) -> Option<&'static str> {
    match kind {
        ParseErrorKind::CommentsNotAllowed => {
            Some("take it out, or write the scenario in TOML, where a comment begins with #")
        }
        ParseErrorKind::TrailingCommasNotAllowed => Some("take out the comma after the last one"),
        ParseErrorKind::ExpectedComma => Some("write a comma between one and the next"),
        ParseErrorKind::UnexpectedToken | ParseErrorKind::UnexpectedWord => {
            Some("a number and its unit stand together between quotes, like \"44 gal\"")
        }
        ParseErrorKind::UnterminatedArray => Some("add the ] that belongs to it"),
        ParseErrorKind::UnterminatedObject => Some("add the } that belongs to it"),
        _ => None,
    }
}

fn node(source: &Source, value: &ast::Value<'_>, key: Option<Stretch>, errors: &mut Vec<Diagnostic>) -> Node {
    let place = stretch(value);
    let value = match value {
        ast::Value::StringLit(text) => {
            refuse_control_characters(source, place, errors);
            Value::Text(text.value.to_string())
        }
        ast::Value::NumberLit(number) => {
            Value::Number(number.value.parse().unwrap_or(f64::NAN), number.value.parse().ok())
        }
        ast::Value::BooleanLit(yes) => Value::YesNo(yes.value),
        ast::Value::NullKeyword(_) => Value::Null,
        ast::Value::Array(list) => {
            Value::List(list.elements.iter().map(|item| node(source, item, None, errors)).collect())
        }
        ast::Value::Object(object) => {
            let mut entries: Vec<Entry> = Vec::with_capacity(object.properties.len());
            for property in &object.properties {
                let (key, key_place) = (property.name.as_str(), stretch(&property.name));
                refuse_control_characters(source, key_place, errors);
                if let Some(first) = entries.iter().find(|entry| entry.key == key) {
                    errors.push(
                        Diagnostic::error(format!("`{key}` is given twice"))
                            .at(key_place, "second time")
                            .at(first.key_place, "first time")
                            .help("keep one of them"),
                    );
                }
                let node = node(source, &property.value, Some(key_place), errors);
                entries.push(Entry { key: key.to_owned(), key_place, node });
            }
            Value::Table(Table { header: key.unwrap_or_else(|| first_letter(place)), entries })
        }
    };
    Node { value, place }
}

/// The parser lets them through; the language does not.
fn refuse_control_characters(source: &Source, place: Stretch, errors: &mut Vec<Diagnostic>) {
    if source.at(place).contains(|letter: char| letter < ' ') {
        errors.push(
            Diagnostic::error("this is not written in JSON")
                .at(place, "a text must stand on one line, without tabs or other control characters"),
        );
    }
}

fn stretch(ranged: &impl Ranged) -> Stretch {
    let range = ranged.range();
    Stretch { start: range.start, end: range.end }
}

fn first_letter(place: Stretch) -> Stretch {
    Stretch { start: place.start, end: place.end.min(place.start + 1) }
}

fn lower_case(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map(|first| first.to_lowercase().chain(letters).collect()).unwrap_or_default()
}
