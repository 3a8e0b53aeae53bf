//! Reads the tables in `tests/data`: CSV with its provenance on lines that start with `#`.

use csv::{ReaderBuilder, StringRecord};

/// A table with a header.
pub(crate) struct Table {
    provenance: String,
    header: StringRecord,
    rows: Vec<StringRecord>,
}

/// One row of a table.
pub(crate) struct Row<'t> {
    header: &'t StringRecord,
    fields: &'t StringRecord,
}

impl Table {
    pub(crate) fn read(text: &str) -> Self {
        let mut reader = ReaderBuilder::new().comment(Some(b'#')).from_reader(text.as_bytes());
        let header = reader.headers().unwrap_or_else(|error| panic!("{error}")).clone();
        let rows = reader.records().map(|row| row.unwrap_or_else(|error| panic!("{error}"))).collect();
        let provenance = text.lines().filter(|line| line.starts_with('#')).collect::<Vec<_>>().join("\n");
        Self { provenance, header, rows }
    }

    /// A number that the provenance gives as a word `key=value`.
    pub(crate) fn given(&self, key: &str) -> f64 {
        let value = self.provenance.split_whitespace().find_map(|word| word.strip_prefix(key)?.strip_prefix('='));
        let value = value.unwrap_or_else(|| panic!("no {key}= before the header"));
        value.parse().unwrap_or_else(|_| panic!("{key}: {value} is no number"))
    }

    pub(crate) fn rows(&self) -> impl Iterator<Item = Row<'_>> {
        self.rows.iter().map(|fields| Row { header: &self.header, fields })
    }
}

impl<'t> Row<'t> {
    pub(crate) fn text(&self, column: &str) -> &'t str {
        let place = self.header.iter().position(|name| name == column);
        place.and_then(|place| self.fields.get(place)).unwrap_or_else(|| panic!("no column {column}"))
    }

    pub(crate) fn number(&self, column: &str) -> f64 {
        let text = self.text(column);
        text.parse().unwrap_or_else(|_| panic!("{column}: {text} is no number"))
    }
}
