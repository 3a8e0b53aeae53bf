//! Where a path leads in the tree of a scenario.

use springhouse_table::nearest;

use super::path::{Item, KeyPath, Step};
use super::what::What;
use crate::diagnostic::Diagnostic;
use crate::load::WHOLE;
use crate::plates::Plates;
use crate::sections::ScenarioFile;
use crate::source::{Source, Stretch};
use crate::tree::{Entry, Node, Table, Value};
use crate::typed::{Field, Reader, Section, Shape};

/// A key, and the way to it.
pub(super) struct Found {
    pub(super) what: What,
    pub(super) hops: Vec<Hop>,
}

/// One step down in a tree.
#[derive(Clone, Copy)]
pub(super) enum Hop {
    /// Into a key of a section; the path up to its end.
    Key(&'static str, Stretch),
    /// Into an item of a list, counted from nought.
    Item(usize),
}

/// Follows a path through the sections and the tree at once. Places are those in the path.
pub(super) fn find(path: &KeyPath, root: &Node, source: &Source) -> Result<Found, Diagnostic> {
    let (mut field, mut section, mut there) = (&WHOLE, ScenarioFile::SECTION, Some(root));
    let mut hops = Vec::new();
    let mut steps = path.steps.iter().peekable();
    while let Some(step) = steps.next() {
        let last = steps.peek().is_none();
        let Some(key) = section.field(&step.key) else {
            return Err(unknown_key(step, last, (field, section), source));
        };
        hops.push(Hop::Key(key.name, Stretch { start: 0, end: step.place.end }));
        there = there.and_then(Node::as_table).and_then(|table| table.get(key.name)).map(|entry| &entry.node);
        let shape = (key.shape)();
        let list = matches!(shape, Shape::List(_));
        if let Some(node) = there.filter(|node| list && !matches!(node.value, Value::List(_)))
            && (step.item.is_some() || !last)
        {
            return Err(is_another(step, "a list", node, source));
        }
        let shape = match (&step.item, shape) {
            (None, shape @ Shape::List(_)) if !last => return Err(which_one(step, &shape, there)),
            (None, shape) => shape,
            (Some((item, place)), Shape::List(of)) => {
                let index = index(step, (item, path.at(*place), *place), &of, there)?;
                hops.push(Hop::Item(index));
                there = items(there).get(index);
                *of
            }
            (Some(_), _) => return Err(stands_once(path, step)),
        };
        if last {
            return Ok(Found { what: What::of(&shape), hops });
        }
        let Some(inner) = shape.section() else { return Err(goes_no_further(path, step, &shape)) };
        if let Some(node) = there.filter(|node| node.as_table().is_none()) {
            return Err(is_another(step, "a section", node, source));
        }
        (field, section) = (key, inner);
    }
    Err(Diagnostic::error("a path is empty"))
}

/// Puts a value at the end of a path that was found; what stood there. `start` is where the path begins.
pub(super) fn set(root: &mut Node, hops: &[Hop], start: isize, value: Node) -> Option<Node> {
    let (last, way) = hops.split_last()?;
    let mut node = root;
    for hop in way {
        node = step_into(node, *hop, start)?;
    }
    let slot = match (*last, &mut node.value) {
        (Hop::Key(name, place), Value::Table(table)) => {
            let Some(entry) = table.entries.iter_mut().find(|entry| entry.key == name) else {
                table.entries.push(Entry { key: name.to_owned(), key_place: place.moved(start), node: value });
                return None;
            };
            &mut entry.node
        }
        (Hop::Item(index), Value::List(items)) => items.get_mut(index)?,
        _ => return None,
    };
    Some(std::mem::replace(slot, value))
}

/// Where a value stands, or the header of a section.
pub(super) fn place(node: &Node) -> Stretch {
    node.as_table().map_or(node.place, |table| table.header)
}

/// The first place in a value that a study has set before.
pub(super) fn set_before(node: &Node, source: &Source) -> Option<Stretch> {
    let place = place(node);
    if source.set_at(place).is_some() {
        return Some(place);
    }
    match &node.value {
        Value::List(items) => items.iter().find_map(|item| set_before(item, source)),
        Value::Table(table) => table.entries.iter().find_map(|entry| set_before(&entry.node, source)),
        _ => None,
    }
}

/// Goes into a section, which is added where there is none.
fn step_into(node: &mut Node, hop: Hop, start: isize) -> Option<&mut Node> {
    match (hop, &mut node.value) {
        (Hop::Key(name, place), Value::Table(table)) => {
            let place = place.moved(start);
            if table.get(name).is_none() {
                let value = Value::Table(Table { header: place, entries: Vec::new() });
                table.entries.push(Entry { key: name.to_owned(), key_place: place, node: Node { value, place } });
            }
            table.entries.iter_mut().find(|entry| entry.key == name).map(|entry| &mut entry.node)
        }
        (Hop::Item(index), Value::List(items)) => items.get_mut(index),
        _ => None,
    }
}

fn items(node: Option<&Node>) -> &[Node] {
    match node.map(|node| &node.value) {
        Some(Value::List(items)) => items,
        _ => &[],
    }
}

/// The name of an item that has one.
fn name(item: &Node) -> Option<&str> {
    match &item.as_table()?.get("name")?.node.value {
        Value::Text(name) => Some(name),
        _ => None,
    }
}

fn index(
    step: &Step,
    (item, text, place): (&Item, &str, Stretch),
    of: &Shape,
    there: Option<&Node>,
) -> Result<usize, Diagnostic> {
    let (key, items) = (&step.key, items(there));
    let named = of.section().is_some_and(|section| section.field("name").is_some());
    let fault = match item {
        Item::Number(number) if (1..=items.len()).contains(number) => return Ok(number - 1),
        Item::Name(wanted) if named => {
            if let Some(index) = items.iter().position(|item| name(item) == Some(wanted)) {
                return Ok(index);
            }
            let label = match nearest(wanted, items.iter().filter_map(name)) {
                Some(near) => format!("did you mean `{near}`?"),
                None => "unknown".to_owned(),
            };
            Diagnostic::error(format!("there is no `{key}` called \"{text}\"")).at(place, label)
        }
        Item::Name(_) => {
            let fault = Diagnostic::error(format!("`{key}` is not found by a name"));
            let fault = fault.at(place, "a number is wanted, counted from one");
            return Err(fault.help(format!("write {key}[1] for the first one")));
        }
        Item::Number(_) => {
            let label = match items.len() {
                0 => "it has none".to_owned(),
                1 => "it has one only".to_owned(),
                many => format!("it has {many}"),
            };
            Diagnostic::error(format!("the scenario has no `{key}` number {text}")).at(place, label)
        }
    };
    Err(known(fault, key, items))
}

/// What a list of the scenario has, for who looked for something else in it.
fn known(fault: Diagnostic, key: &str, items: &[Node]) -> Diagnostic {
    if items.is_empty() {
        return fault.help(format!("add a `{key}` to the scenario first: a path leads to what is there"));
    }
    let names: Vec<_> = items.iter().filter_map(name).map(|name| format!("{key}[{name}]")).collect();
    match (names.is_empty(), items.len()) {
        (false, _) => fault.note(format!("there are: {}", names.join(", "))),
        (true, 1) => fault.note(format!("there is: {key}[1]")),
        (true, count) => fault.note(format!("there are: {key}[1] to {key}[{count}]")),
    }
}

/// Tells of what stands where something else would lead further.
fn is_another(step: &Step, wanted: &str, node: &Node, source: &Source) -> Diagnostic {
    Diagnostic::error(format!("`{}` of the scenario is {}", step.key, node.value.what()))
        .at(step.place, format!("{wanted} is wanted here"))
        .help(format!("make it {wanted} in {}", source.name))
}

fn which_one(step: &Step, shape: &Shape, there: Option<&Node>) -> Diagnostic {
    let key = &step.key;
    let by_name = shape.section().is_some_and(|section| section.field("name").is_some());
    let by = if by_name { "its number or its name" } else { "its number" };
    let fault = Diagnostic::error(format!("the path does not say which `{key}`"))
        .at(step.place, format!("{by} is wanted behind it, in brackets"));
    known(fault, key, items(there))
}

fn stands_once(path: &KeyPath, step: &Step) -> Diagnostic {
    let place = step.item.as_ref().map_or(step.place, |(_, place)| *place);
    let before = path.at(Stretch { start: 0, end: step.place.end });
    let after = path.at(Stretch { start: place.end + 1, end: path.place().end });
    Diagnostic::error(format!("there is one `{}` only", step.key))
        .at(place, "no number or name is wanted")
        .help(format!("write {before}{after}"))
}

fn goes_no_further(path: &KeyPath, step: &Step, shape: &Shape) -> Diagnostic {
    let end = step.item.as_ref().map_or(step.place.end, |(_, place)| place.end + 1);
    let whole = path.at(Stretch { start: 0, end });
    Diagnostic::error(format!("`{}` has no keys of its own", step.key))
        .at(step.place, format!("this is {}", What::of(shape)))
        .help(format!("write {whole}"))
}

/// As in a file.
fn unknown_key(step: &Step, last: bool, (field, section): (&Field, &'static Section), source: &Source) -> Diagnostic {
    let plates = Plates::default();
    let reader = Reader::new(source, ScenarioFile::SECTION, None, &plates);
    // Only a section can have keys behind it.
    let value = if last && step.item.is_none() {
        Value::Null
    } else {
        Value::Table(Table { header: step.place, entries: Vec::new() })
    };
    let node = Node { value, place: step.place };
    reader.unknown_key(&Entry { key: step.key.clone(), key_place: step.place, node }, field, section)
}
