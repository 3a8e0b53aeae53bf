//! The way to a key of a scenario.

use std::fmt;

use crate::diagnostic::Diagnostic;
use crate::source::Stretch;

/// The way to a key, from the outermost section inwards.
///
/// Keys are parted by points: `storage.float_switch.start`. Of sections that may stand several times, one is named between
/// brackets, by its number counted from one or by its `name`: `draw[2].flow`, `building[house].people[parents].count`. What
/// consists of digits is a number.
///
/// ```
/// use springhouse_scenario::Diagnostics;
/// use springhouse_scenario::vary::KeyPath;
///
/// let path = KeyPath::parse("heater[water heater].set_point").unwrap();
/// assert_eq!(path.to_string(), "heater[water heater].set_point");
/// let fault = KeyPath::parse("heater[0].set_point").unwrap_err();
/// assert_eq!(
///     Diagnostics::in_text("the path", "heater[0].set_point", vec![fault]).to_string(),
///     "error: `heater` has no number 0
///  --> the path:1:8
///   |
/// 1 | heater[0].set_point
///   |        ^ counted from one
///   |
///   = help: write heater[1] for the first one"
/// );
/// ```
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KeyPath {
    text: String,
    pub(super) steps: Vec<Step>,
}

/// A key on the way, and which of several.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Step {
    pub(super) key: String,
    pub(super) place: Stretch,
    pub(super) item: Option<(Item, Stretch)>,
}

/// An item of a list.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Item {
    /// By its place in the list, counted from one.
    Number(usize),
    Name(String),
}

/// Which item of a list a path means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which<'a> {
    /// By its place in the list, counted from one.
    Number(usize),
    /// By its name.
    Name(&'a str),
}

impl KeyPath {
    /// Reads a path. Whether there is such a key [`Base::knows`](super::Base::knows).
    ///
    /// # Errors
    /// What is not written as a path; the place is one in `text`, see [`Diagnostics::in_text`](crate::Diagnostics::in_text).
    pub fn parse(text: &str) -> Result<Self, Diagnostic> {
        let rest = |at: usize| text.get(at..).unwrap_or_default();
        let mut steps: Vec<Step> = Vec::new();
        let mut at = 0;
        loop {
            let length = rest(at).find(['.', '[', ']']).unwrap_or(rest(at).len());
            let place = Stretch { start: at, end: at + length };
            let key = key(text, place)?;
            at += length;
            let mut item = None;
            if let Some(inside) = rest(at).strip_prefix('[') {
                let start = at + 1;
                let Some(length) = inside.find(']') else { return Err(never_closed(at)) };
                let place = Stretch { start, end: start + length };
                item = Some((self::item(text, key, place)?, place));
                at = place.end + 1;
            }
            steps.push(Step { key: key.to_owned(), place, item });
            match rest(at).chars().next() {
                None => return Ok(Self { text: text.to_owned(), steps }),
                Some('.') => at += 1,
                Some(found) => return Err(no_point(found, at)),
            }
        }
    }

    /// Its keys from the outermost inwards, and which of several each means.
    pub fn keys(&self) -> impl Iterator<Item = (&str, Option<Which<'_>>)> {
        self.steps.iter().map(|step| {
            let which = step.item.as_ref().map(|(item, _)| match item {
                Item::Number(number) => Which::Number(*number),
                Item::Name(name) => Which::Name(name),
            });
            (step.key.as_str(), which)
        })
    }

    /// A part of it.
    pub(super) fn at(&self, place: Stretch) -> &str {
        self.text.get(place.start..place.end).unwrap_or_default()
    }

    /// All of it.
    pub(super) fn place(&self) -> Stretch {
        Stretch { start: 0, end: self.text.len() }
    }
}

impl fmt::Display for KeyPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

/// How a path is written.
const FORM: &str = "write it like: storage.volume, or building[house].people[2].count";

fn key(text: &str, place: Stretch) -> Result<&str, Diagnostic> {
    let key = text.get(place.start..place.end).unwrap_or_default();
    if key.is_empty() {
        let place = Stretch { start: place.start, end: place.start + 1 };
        let title = if text.is_empty() { "a path is empty" } else { "a path lacks a key" };
        return Err(Diagnostic::error(title).at(place, "a key is wanted here").help(FORM));
    }
    if let Some((at, letter)) = key.char_indices().find(|(_, letter)| is_blank(*letter)) {
        let start = place.start + at;
        let place = Stretch { start, end: start + letter.len_utf8() };
        return Err(Diagnostic::error("a path has a space in it").at(place, "no key has one").help(FORM));
    }
    Ok(key)
}

fn is_blank(letter: char) -> bool {
    letter.is_whitespace() || letter.is_control()
}

fn item(text: &str, key: &str, place: Stretch) -> Result<Item, Diagnostic> {
    let inside = text.get(place.start..place.end).unwrap_or_default();
    let first = format!("write {key}[1] for the first one");
    if inside.is_empty() {
        let brackets = Stretch { start: place.start - 1, end: place.end + 1 };
        let fault = Diagnostic::error(format!("the path does not say which `{key}`"));
        return Err(fault.at(brackets, "a number or a name is wanted").help(first));
    }
    if inside.starts_with(['"', '\'']) {
        let bare = inside.trim_matches(['"', '\'']);
        let fault = Diagnostic::error("a name in a path stands without quotes").at(place, "quotes");
        return Err(fault.help(format!("write {key}[{bare}]")));
    }
    if inside.trim() != inside || inside.contains(char::is_control) {
        let fault = Diagnostic::error("a name in a path is one line without spaces around it");
        return Err(fault.at(place, "not plain").help(format!("write {key}[{}]", inside.trim())));
    }
    if !inside.bytes().all(|byte| byte.is_ascii_digit()) {
        return Ok(Item::Name(inside.to_owned()));
    }
    // What is too long to be read is past the end of every list.
    match inside.parse().unwrap_or(usize::MAX) {
        0 => Err(Diagnostic::error(format!("`{key}` has no number 0")).at(place, "counted from one").help(first)),
        number => Ok(Item::Number(number)),
    }
}

fn never_closed(at: usize) -> Diagnostic {
    let place = Stretch { start: at, end: at + 1 };
    Diagnostic::error("a bracket is never closed").at(place, "opened here").help("add the ] that belongs to it")
}

fn no_point(found: char, at: usize) -> Diagnostic {
    let place = Stretch { start: at, end: at + found.len_utf8() };
    match found {
        ']' => Diagnostic::error("a bracket was never opened").at(place, "closed here").help(FORM),
        '[' => Diagnostic::error("a path has two pairs of brackets in a row").at(place, "the second").help(FORM),
        _ => Diagnostic::error("a path lacks a point").at(place, "a point is wanted before this").help(FORM),
    }
}
