//! The header of a table: which of the known columns it has, and where.

use crate::errors::{Errors, Problem};
use crate::nearest::nearest;
use crate::rows::Row;
use crate::values::shortened;

/// What a kind of table is headed by.
pub struct Form {
    /// What it is, as in "no column of `a record of rain`".
    pub what: &'static str,
    /// The headers accepted, as text.
    pub headers: &'static str,
    /// The columns accepted, as text.
    pub accepted: &'static str,
    /// Each column, and what its numbers are in; empty where they have no unit.
    pub columns: &'static [(&'static str, &'static str)],
}

/// A column: its name, and its place on a row.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// As the form has it.
    pub name: &'static str,
    pub(crate) place: usize,
}

/// The columns of a table.
pub struct Header {
    line: u64,
    headers: &'static str,
    columns: Vec<Column>,
    /// Columns that seem to be there under a misspelt name, which was told: they are not told as missing as well.
    misspelt: Vec<&'static str>,
}

impl Header {
    /// Reads a header; what is unknown or given twice is told.
    pub fn read<P: From<Problem>>(row: &Row<'_>, form: &Form, errors: &mut Errors<P>) -> Self {
        let mut header = Self { line: row.line, headers: form.headers, columns: Vec::new(), misspelt: Vec::new() };
        for (place, field) in row.fields().enumerate() {
            let known = form.columns.iter().find(|(name, _)| name.eq_ignore_ascii_case(field));
            match known {
                Some((name, _)) if header.find(name).is_some() => {
                    errors.push(Some(row.line), Some(name), Problem::ColumnTwice);
                }
                Some((name, _)) => header.columns.push(Column { name, place }),
                None => {
                    let absent = form.columns.iter().map(|(name, _)| *name).filter(|name| !row.has(name));
                    let nearest = nearest(field, absent);
                    let unit =
                        form.columns.iter().find(|(name, _)| Some(*name) == nearest).map_or("", |(_, unit)| unit);
                    let (found, what, accepted) = (shortened(field), form.what, form.accepted);
                    errors.push(Some(row.line), None, Problem::UnknownColumn { found, what, accepted, nearest, unit });
                    header.misspelt.extend(nearest);
                }
            }
        }
        header
    }

    /// Reads the header of a public layout, of which the form names only what is needed; other columns are passed over.
    pub fn pick<P: From<Problem>>(row: &Row<'_>, form: &Form, errors: &mut Errors<P>) -> Self {
        let mut header = Self { line: row.line, headers: form.headers, columns: Vec::new(), misspelt: Vec::new() };
        for (name, _) in form.columns {
            let mut places = row.fields().enumerate().filter(|(_, field)| name.eq_ignore_ascii_case(field));
            header.columns.extend(places.next().map(|(place, _)| Column { name, place }));
            if places.next().is_some() {
                errors.push(Some(row.line), Some(name), Problem::ColumnTwice);
            }
        }
        header
    }

    /// The column of a name, if there is one.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Column> {
        self.columns.iter().copied().find(|column| column.name == name)
    }

    /// A column that cannot be done without; told where it is missing.
    pub fn need<P: From<Problem>>(&self, name: &'static str, errors: &mut Errors<P>) -> Option<Column> {
        self.one_of(&[(name, ())], errors).map(|(column, ())| column)
    }

    /// The one column there is of several that say the same, with its meaning; the first of them is the one that is missed.
    pub fn one_of<P: From<Problem>, T: Copy>(
        &self,
        choices: &[(&'static str, T)],
        errors: &mut Errors<P>,
    ) -> Option<(Column, T)> {
        let mut found = choices.iter().filter_map(|(name, meaning)| Some((self.find(name)?, *meaning)));
        let first = found.next();
        if let (Some((first, _)), Some((second, _))) = (first, found.next()) {
            let problem = Problem::SameTwice { first: first.name, second: second.name };
            errors.push(Some(self.line), None, problem);
            return None;
        }
        if first.is_none() && !choices.iter().any(|(name, _)| self.misspelt.contains(name)) {
            let name = choices.first().map(|(name, _)| *name);
            errors.push(Some(self.line), name, Problem::ColumnMissing { headers: self.headers });
        }
        first
    }
}
