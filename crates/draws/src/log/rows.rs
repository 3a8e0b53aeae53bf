//! The rows of a CSV text, each with its line; comments and blank lines left out.

use csv::{ReaderBuilder, StringRecord, Trim};

/// Goes through the rows of a text.
pub(crate) struct Rows<'t> {
    text: &'t str,
    reader: csv::Reader<&'t [u8]>,
    record: StringRecord,
    /// How far lines have been counted: a byte, and the line it lies on.
    counted: (usize, u64),
}

/// One row: its line, counted from 1, and its trimmed fields.
pub(crate) struct Row<'r> {
    pub(crate) line: u64,
    record: &'r StringRecord,
}

impl<'t> Rows<'t> {
    /// The rows of a text; a byte-order mark in front is skipped.
    pub(crate) fn new(text: &'t str) -> Self {
        let text = text.strip_prefix('\u{feff}').unwrap_or(text);
        let reader = ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .comment(Some(b'#'))
            .trim(Trim::All)
            .from_reader(text.as_bytes());
        Self { text, reader, record: StringRecord::new(), counted: (0, 1) }
    }

    /// The next row.
    pub(crate) fn next(&mut self) -> Result<Option<Row<'_>>, csv::Error> {
        while self.reader.read_record(&mut self.record)? {
            // The reader notes where it began to read, ahead of the comments and blank lines that it then skipped.
            let mut start = self.record.position().map_or(0, |p| usize::try_from(p.byte()).unwrap_or(usize::MAX));
            let mut rest = self.text.get(start..).unwrap_or_default();
            while let Some((first, after)) = rest.split_once('\n')
                && (first.starts_with('#') || first.trim_end_matches('\r').is_empty())
            {
                start += first.len() + 1;
                rest = after;
            }
            let (from, line) = self.counted;
            let passed = self.text.get(from..start).unwrap_or_default();
            let line = line + passed.bytes().map(|byte| u64::from(byte == b'\n')).sum::<u64>();
            self.counted = (from.max(start), line);

            let raw = rest.split('\n').next().unwrap_or_default().trim();
            if !raw.is_empty() && !raw.starts_with('#') {
                return Ok(Some(Row { line, record: &self.record }));
            }
        }
        Ok(None)
    }
}

impl<'r> Row<'r> {
    /// How many fields it has.
    pub(crate) fn len(&self) -> usize {
        self.record.len()
    }

    /// A field; empty where the row has none there.
    pub(crate) fn field(&self, place: usize) -> &'r str {
        self.record.get(place).unwrap_or_default()
    }

    /// All fields.
    pub(crate) fn fields(&self) -> Vec<&'r str> {
        self.record.iter().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Line and first field of each row.
    fn lines(text: &str) -> Vec<(u64, String)> {
        let mut rows = Rows::new(text);
        let mut found = Vec::new();
        while let Some(row) = rows.next().unwrap() {
            found.push((row.line, row.field(0).to_owned()));
        }
        found
    }

    #[test]
    fn lines_are_counted_through_comments_and_blanks() {
        for end in ["\n", "\r\n"] {
            for mark in ["", "\u{feff}"] {
                let text = ["# one", "", "a,1", "   ", "  # \"five", "b , 2", "#", "#", "\"#c, d\",3", "", "e"];
                let text = format!("{mark}{}", text.join(end));
                let expected = [(3, "a"), (6, "b"), (9, "#c, d"), (11, "e")].map(|(line, s)| (line, s.to_owned()));
                assert_eq!(lines(&text), expected, "{text:?}");
            }
        }
    }

    #[test]
    fn text_of_comments_has_no_rows() {
        assert_eq!(lines("# one\r\n\n  # three"), []);
        assert_eq!(lines("\u{feff}"), []);
    }
}
