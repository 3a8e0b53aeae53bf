//! Reads tables key by key and collects what is wrong.

use super::{At, Field, Section, Shape, Typed, meant};
use crate::diagnostic::Diagnostic;
use crate::display::Units;
use crate::plates::Plates;
use crate::source::{Format, Source, Stretch};
use crate::tree::{Entry, Node, Table, Value};
use springhouse_table::nearest;

/// Reads a source's tree; keeps every fault found on the way.
pub(crate) struct Reader<'a> {
    pub(crate) source: &'a Source,
    /// The units the scenario asks for, where that could be read: hints come in them first.
    pub(crate) units: Option<Units>,
    /// Heaters found from plates before.
    pub(crate) plates: &'a Plates,
    pub(crate) diagnostics: Vec<Diagnostic>,
    /// The whole file, to say where a misplaced key belongs.
    root: &'static Section,
    /// Keys that stand in a table under a name that is not quite theirs: not told as missing too.
    misspelt: Vec<(Stretch, &'static str)>,
}

impl<'a> Reader<'a> {
    pub(crate) fn new(source: &'a Source, root: &'static Section, units: Option<Units>, plates: &'a Plates) -> Self {
        Self { source, units, plates, diagnostics: Vec::new(), root, misspelt: Vec::new() }
    }

    pub(crate) fn tell(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    /// A line to add for a key that is missing, though not every scenario needs it.
    pub(crate) fn line_to_add(&self, section: &Section, key: &str) -> String {
        format!("add a line like: {}", self.example_line(section, key))
    }

    /// A line to write in place of one that will not do.
    pub(crate) fn line_to_write(&self, section: &Section, key: &str) -> String {
        format!("write it like: {}", self.example_line(section, key))
    }

    fn example_line(&self, section: &Section, key: &str) -> String {
        section.field(key).map(|field| field.example_line(self)).unwrap_or_default()
    }

    /// The table of a node, or a fault.
    pub(crate) fn section<'n>(&mut self, node: &'n Node, field: &Field) -> Option<&'n Table> {
        let table = node.as_table();
        if table.is_none() {
            let what = node.value.what();
            let keys = (field.shape)().section().into_iter().flat_map(Section::names);
            let keys: Vec<_> = keys.map(|name| format!("`{name}`")).collect();
            self.tell(
                Diagnostic::error(format!("`{}` is a section with keys of its own, not {what}", field.name))
                    .at(node.place, format!("this is {what}"))
                    .note(format!("its keys are {}", keys.join(", "))),
            );
        }
        table
    }

    pub(crate) fn refuse_unknown_keys(&mut self, table: &Table, field: &Field, section: &'static Section) {
        for entry in table.entries.iter().filter(|entry| section.field(&entry.key).is_none()) {
            let fault = self.unknown_key(entry, field, section);
            self.tell(fault);
            let meant = meant::other_span(field.name, &entry.key, &entry.node.value).map(|(name, _)| name);
            if let Some(name) = meant.or_else(|| nearest(&entry.key, section.names())) {
                self.misspelt.push((table.header, name));
            }
        }
    }

    /// What is told of a key that a section does not have.
    pub(crate) fn unknown_key(&self, entry: &Entry, field: &Field, section: &'static Section) -> Diagnostic {
        let key = entry.key.as_str();
        let is_section = matches!(&entry.node.value, Value::Table(_))
            || matches!(&entry.node.value, Value::List(items) if items.iter().all(|item| item.as_table().is_some()));
        let home = if field.name.is_empty() { self.whole().to_owned() } else { format!("`{}`", field.name) };
        let title = match (field.name.is_empty(), is_section) {
            (true, true) => format!("there is no section `{key}`"),
            (true, false) => format!("there is no key `{key}` before the sections"),
            (false, true) => format!("{home} has no section `{key}`"),
            (false, false) => format!("{home} has no key `{key}`"),
        };
        if let Some((name, value)) = meant::other_span(field.name, key, &entry.node.value) {
            let line = self.source.format.assignment(name, &format!("\"{value}\""));
            return Diagnostic::error(title)
                .at(entry.key_place, "it is given by the day")
                .note("a month has 30.4 days in the mean, a year 365")
                .help(format!("write {line}"));
        }
        let nearest = nearest(key, section.names());
        let fault = Diagnostic::error(title).at(
            entry.key_place,
            match nearest {
                Some(name) => format!("did you mean `{name}`?"),
                None => "unknown".to_owned(),
            },
        );
        let names: Vec<_> = section.names().map(|name| format!("`{name}`")).collect();
        let fault = fault.note(format!("the keys of {home} are {}", names.join(", ")));
        match (nearest, self.home_of(key, section)) {
            (None, Some(other)) => fault.help(format!("`{key}` belongs in `{other}`")),
            _ => fault,
        }
    }

    /// What the file as a whole is.
    fn whole(&self) -> &'static str {
        if self.root.field("scenario").is_some() { "a study" } else { "a scenario" }
    }

    /// The section of the file that has such a key.
    fn home_of(&self, key: &str, but: &Section) -> Option<&'static str> {
        let homes = self.root.fields.iter().filter_map(|field| Some((field.name, (field.shape)().section()?)));
        let mut homes = homes.filter(|(_, section)| !std::ptr::eq(*section, but) && section.field(key).is_some());
        homes.next().map(|(name, _)| name)
    }

    fn at<T: Typed>(&mut self, node: &Node, field: &Field) -> Option<At<T>> {
        let place = node.as_table().map_or(node.place, |table| table.header);
        T::read(node, field, self).map(|value| At { value, place, given: true })
    }

    pub(crate) fn required<T: Typed>(&mut self, table: &Table, field: &Field) -> Option<At<T>> {
        if let Some(entry) = table.get(field.name) {
            return self.at(&entry.node, field);
        }
        self.tell_missing(table.header, field, None);
        None
    }

    /// Asks for a key that only some need, in the section with this header.
    pub(crate) fn require(&mut self, header: Stretch, section: &Section, key: &str, why: Option<&str>) {
        if let Some(field) = section.field(key) {
            self.tell_missing(header, field, why);
        }
    }

    fn tell_missing(&mut self, header: Stretch, field: &Field, why: Option<&str>) {
        if !self.misspelt.contains(&(header, field.name)) {
            let fault = self.missing(header, field);
            self.tell(match why {
                Some(why) => fault.note(why),
                None => fault,
            });
        }
    }

    fn missing(&self, header: Stretch, field: &Field) -> Diagnostic {
        let (name, toml) = (field.name, self.source.format == Format::Toml);
        let doc = field.doc.trim();
        match (field.shape)() {
            Shape::Section(section) => {
                let first = field.example().split_whitespace().filter_map(|name| section.field(name));
                let lines: Vec<_> = first.map(|key| key.example_line(self)).collect();
                // Of a section in a section, the header names both.
                let header_text = self.source.at(header);
                let set = self.source.set_at(header).is_some() && !header_text.starts_with('{');
                let in_header = set || header_text.starts_with('[');
                let outer = if in_header { header_text.trim_matches(['[', ']']) } else { "" };
                let dot = if in_header { "." } else { "" };
                let example = if toml {
                    format!("[{outer}{dot}{name}]\n{}", lines.join("\n"))
                } else {
                    format!("\"{name}\": {{ {} }}", lines.join(", "))
                };
                Diagnostic::error(format!("section `{name}` is missing"))
                    .at(header, format!("no `{name}` here"))
                    .note(doc)
                    .help(format!("add, with your own numbers:\n{example}"))
            }
            _ => Diagnostic::error(format!("`{name}` is missing"))
                .at(header, format!("no `{name}` here"))
                .note(doc)
                .help(format!("add a line like: {}", field.example_line(self))),
        }
    }

    #[expect(clippy::option_option, reason = "a fault, a key that is left out, and a value are three cases")]
    pub(crate) fn optional<T: Typed>(&mut self, table: &Table, field: &Field) -> Option<Option<At<T>>> {
        match table.get(field.name) {
            Some(entry) => self.at(&entry.node, field).map(Some),
            None => Some(None),
        }
    }

    pub(crate) fn defaulted<T: Typed>(&mut self, table: &Table, field: &Field) -> Option<At<T>> {
        if let Some(entry) = table.get(field.name) {
            return self.at(&entry.node, field);
        }
        let node = Node { value: field.example_value()?, place: table.header };
        T::read(&node, field, self).map(|value| At { value, place: table.header, given: false })
    }

    pub(crate) fn list<T: Typed>(&mut self, table: &Table, field: &Field) -> Option<Vec<T>> {
        match table.get(field.name) {
            Some(entry) => Vec::read(&entry.node, field, self),
            None => Some(Vec::new()),
        }
    }

    pub(crate) fn empty_section<T: Typed>(&mut self, table: &Table, field: &Field) -> Option<T> {
        if let Some(entry) = table.get(field.name) {
            return T::read(&entry.node, field, self);
        }
        let empty = Value::Table(Table { header: table.header, entries: Vec::new() });
        T::read(&Node { value: empty, place: table.header }, field, self)
    }

    /// The index of a word among those accepted, or a fault.
    pub(crate) fn word(&mut self, node: &Node, field: &Field, words: &[&str]) -> Option<usize> {
        let list = words.iter().map(|word| format!("\"{word}\"")).collect::<Vec<_>>().join(", ");
        let Value::Text(text) = &node.value else {
            self.wrong_type(node, field, &format!("one of {list}"));
            return None;
        };
        let found = words.iter().position(|word| word == text);
        if found.is_none() {
            let near = meant::word(text, words)
                .or_else(|| nearest(text, words.iter().copied()).filter(|word| is_slip(text, word)));
            let label = match near {
                Some(word) => format!("did you mean \"{word}\"?"),
                None => "unknown".to_owned(),
            };
            self.tell(
                Diagnostic::error(format!("`{}` cannot be \"{text}\"", field.name))
                    .at(node.place, label)
                    .note(format!("it is one of {list}")),
            );
        }
        found
    }

    pub(crate) fn wrong_type(&mut self, node: &Node, field: &Field, wanted: &str) {
        let what = node.value.what();
        let place = node.as_table().map_or(node.place, |table| table.header);
        self.tell(
            Diagnostic::error(format!("`{}` must be {wanted}, not {what}", field.name))
                .at(place, format!("this is {what}"))
                .help(format!("write it like: {}", field.example_line(self))),
        );
    }
}

/// Whether a text may be a slip for one of several words: what is left where both begin with the same words is near, too.
/// A "stage closed" is no "stage bypassed".
fn is_slip(text: &str, word: &str) -> bool {
    let (mut left, mut right) = (text.split_whitespace().peekable(), word.split_whitespace().peekable());
    while left.peek().is_some_and(|of_text| right.peek() == Some(of_text)) {
        left.next();
        right.next();
    }
    let [left, right] = [left.collect::<Vec<_>>().join(" "), right.collect::<Vec<_>>().join(" ")];
    left.is_empty() || nearest(&left, [right.as_str()]).is_some()
}
