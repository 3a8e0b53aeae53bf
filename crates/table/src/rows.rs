//! The rows of a CSV text, each with its line; comments and blank lines left out.

use core::iter::Zip;
use core::ops::RangeFrom;
use core::str::Lines;
use std::borrow::Cow;
use std::io::Read;

use crate::errors::{Errors, Problem};
use crate::header::Column;

/// Reads a table: `parse` is given its first row and the rest of them; `headers` says what may stand on the first,
/// `file_name` is what errors call it.
///
/// # Errors
/// All that is wrong with the file.
pub fn read<P: From<Problem>, T>(
    mut reader: impl Read,
    file_name: &str,
    headers: &'static str,
    parse: impl FnOnce(&Row<'_>, Rows<'_>, &mut Errors<P>) -> T,
) -> Result<T, Errors<P>> {
    let mut errors = Errors::none(file_name);
    let mut bytes = Vec::new();
    if let Err(error) = reader.read_to_end(&mut bytes) {
        errors.push(None, None, Problem::Unreadable { reason: error.to_string() });
        return Err(errors);
    }
    let text = match core::str::from_utf8(&bytes) {
        Ok(text) => text,
        Err(error) => {
            let good = bytes.iter().take(error.valid_up_to());
            let line = 1 + good.map(|byte| u64::from(*byte == b'\n')).sum::<u64>();
            errors.push(Some(line), None, Problem::NotUtf8);
            return Err(errors);
        }
    };
    let mut rows = Rows::new(text);
    match rows.next() {
        None => errors.push(None, None, Problem::Empty { headers }),
        Some(Err((line, problem))) => errors.push(Some(line), None, problem),
        Some(Ok(first)) => {
            let parsed = parse(&first, rows, &mut errors);
            if errors.is_empty() {
                return Ok(parsed);
            }
        }
    }
    Err(errors)
}

/// One row: its line, counted from 1, and its trimmed fields.
#[derive(Debug)]
pub struct Row<'t> {
    /// Its line.
    pub line: u64,
    fields: Vec<Cow<'t, str>>,
}

impl Row<'_> {
    /// The field of a column.
    #[must_use]
    pub fn field(&self, column: Column) -> &str {
        self.fields.get(column.place).map_or("", AsRef::as_ref)
    }

    /// All fields.
    pub fn fields(&self) -> impl Iterator<Item = &str> {
        self.fields.iter().map(AsRef::as_ref)
    }

    /// Whether a field says this, in upper or lower case.
    #[must_use]
    pub fn has(&self, name: &str) -> bool {
        self.fields().any(|field| field.eq_ignore_ascii_case(name))
    }

    /// The error that this is no header.
    #[must_use]
    pub fn no_header(&self, headers: &'static str) -> Problem {
        let found = crate::shortened(&self.fields().collect::<Vec<_>>().join(","));
        Problem::NoHeader { found, headers }
    }
}

/// The rows of a text; all are as wide as the first, or an error with its line.
pub struct Rows<'t> {
    lines: Zip<RangeFrom<u64>, Lines<'t>>,
    width: Option<usize>,
}

impl<'t> Rows<'t> {
    fn new(text: &'t str) -> Self {
        Self { lines: (1..).zip(text.strip_prefix('\u{feff}').unwrap_or(text).lines()), width: None }
    }

    /// Lets the next row set the width anew: some tables open with a line about the station.
    pub fn any_width(&mut self) {
        self.width = None;
    }
}

impl<'t> Iterator for Rows<'t> {
    type Item = Result<Row<'t>, (u64, Problem)>;

    fn next(&mut self) -> Option<Self::Item> {
        let said = |(line, text): (u64, &'t str)| (line, text.trim());
        let (line, text) =
            self.lines.by_ref().map(said).find(|(_, text)| !text.is_empty() && !text.starts_with('#'))?;
        let Some(fields) = split(text) else { return Some(Err((line, Problem::Quotes))) };
        let expected = *self.width.get_or_insert(fields.len());
        Some(if fields.len() == expected {
            Ok(Row { line, fields })
        } else {
            Err((line, Problem::FieldCount { found: fields.len(), expected }))
        })
    }
}

/// The fields of a line; `None` where quotes are not around a whole field. A row never goes on to the next line, so that a
/// quote left open spoils one row only.
fn split(line: &str) -> Option<Vec<Cow<'_, str>>> {
    let mut fields = Vec::new();
    let mut rest = line;
    loop {
        let (field, after) = if let Some(quoted) = rest.trim_start().strip_prefix('"') {
            unquoted(quoted)?
        } else {
            let (field, after) = rest.split_at(rest.find(',').unwrap_or(rest.len()));
            (Cow::Borrowed(field.trim()), after)
        };
        fields.push(field);
        match after.strip_prefix(',') {
            Some(after) => rest = after,
            None => return after.is_empty().then_some(fields),
        }
    }
}

/// What stands before the closing quote, where two quotes mean one, and what comes after it.
fn unquoted(text: &str) -> Option<(Cow<'_, str>, &str)> {
    let mut from = 0;
    loop {
        let end = from + text.get(from..)?.find('"')?;
        let after = text.get(end + 1..)?;
        if after.starts_with('"') {
            from = end + 2;
        } else {
            let field = text.get(..end)?.trim();
            let field = if from == 0 { Cow::Borrowed(field) } else { Cow::Owned(field.replace("\"\"", "\"")) };
            return Some((field, after.trim_start()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Line and fields of each row.
    fn rows(text: &str) -> Vec<(u64, Vec<String>)> {
        let row = |row: Row<'_>| (row.line, row.fields().map(str::to_owned).collect());
        Rows::new(text).map(|found| row(found.expect("rows of one width"))).collect()
    }

    #[test]
    fn lines_are_counted_through_comments_and_blanks() {
        for end in ["\n", "\r\n"] {
            for mark in ["", "\u{feff}"] {
                let text = ["# one", "", "a,1", "   ", "  # \"five", "b , 2", "#", "#", "\"#c, d\",3", "", "e,"];
                let text = format!("{mark}{}", text.join(end));
                let expected = [(3, ["a", "1"]), (6, ["b", "2"]), (9, ["#c, d", "3"]), (11, ["e", ""])];
                assert_eq!(rows(&text), expected.map(|(line, s)| (line, s.map(str::to_owned).to_vec())), "{text:?}");
            }
        }
    }

    #[test]
    fn text_of_comments_has_no_rows() {
        assert_eq!(rows("# one\r\n\n  # three"), []);
        assert_eq!(rows("\u{feff}"), []);
    }

    #[test]
    fn a_table_may_open_with_a_line_of_another_width() {
        let mut rows = Rows::new("a\nb,c\nd,e\nf");
        let width = |rows: &mut Rows<'_>| rows.next().unwrap().map(|row| row.fields().count());
        assert_eq!(width(&mut rows), Ok(1));
        rows.any_width();
        assert_eq!([width(&mut rows), width(&mut rows)], [Ok(2), Ok(2)]);
        assert_eq!(width(&mut rows), Err((4, Problem::FieldCount { found: 1, expected: 2 })));
    }

    #[test]
    fn quotes_stand_around_a_whole_field() {
        assert_eq!(split(r#" "a, b" ,"say ""c""", d"e ,"","#).unwrap(), ["a, b", r#"say "c""#, "d\"e", "", ""]);
        for open in ["\"a", "a,\"b,c", "\"a\"\"", "\"a\" b,c"] {
            assert_eq!(split(open), None, "{open}");
        }
    }

    #[test]
    fn rows_are_as_wide_as_the_first() {
        let found: Vec<_> = Rows::new("a,b\n1,2\n3\n4,\"5\n6,7").map(|row| row.map(|row| row.line)).collect();
        let short = Problem::FieldCount { found: 1, expected: 2 };
        assert_eq!(found, [Ok(1), Ok(2), Err((3, short)), Err((4, Problem::Quotes)), Ok(5)]);
    }
}
