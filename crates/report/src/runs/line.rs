//! `runs.csv`: a line for each run. Numbers have the fewest digits that read back as the same number.

use std::io::Read;

use csv::{ByteRecord, Reader, StringRecord, Writer};
use springhouse_study::many::{Cell, Column, ColumnKind, Job, Plan, Row};

/// The heads of the columns.
#[must_use]
pub fn head(plan: &Plan) -> Vec<String> {
    let settings = plan.keys.iter().chain(&plan.uncertain).map(Column::head);
    let first = ["variant", "run"].map(str::to_owned);
    first.into_iter().chain(settings).chain(["fault".to_owned()]).chain(plan.figures.iter().cloned()).collect()
}

/// A number as it stands in a table.
fn number(value: f64) -> String {
    let text = format!("{value:?}");
    text.strip_suffix(".0").unwrap_or(&text).to_owned()
}

/// The cells of a run.
fn cells(plan: &Plan, row: &Row) -> Vec<String> {
    let Job { variant, run } = row.job;
    let place = usize::try_from(variant).unwrap_or(usize::MAX);
    let settings = plan.variants.get(place).filter(|_| !plan.keys.is_empty());
    let settings = settings.into_iter().flat_map(|variant| variant.settings.iter().zip(&variant.amounts));
    let settings = settings.map(|(text, amount)| amount.map_or_else(|| text.clone(), number));
    let uncertain = row.uncertain.iter().map(|cell| match cell {
        Cell::Number(value) => number(*value),
        Cell::Text(text) => text.clone(),
    });
    let figures = row.figures.iter().map(|figure| figure.map(number).unwrap_or_default());
    let first = [(variant + 1).to_string(), run.to_string()];
    let fault = row.fault.clone().unwrap_or_default();
    first.into_iter().chain(settings).chain(uncertain).chain([fault]).chain(figures).collect()
}

/// Lines as they are appended to a file.
pub(super) fn lines(plan: &Plan, rows: &[Row]) -> csv::Result<Vec<u8>> {
    let mut table = Writer::from_writer(Vec::new());
    for row in rows {
        table.write_record(cells(plan, row))?;
    }
    table.into_inner().map_err(|error| error.into_error().into())
}

/// The first line.
pub(super) fn first_line(plan: &Plan) -> csv::Result<Vec<u8>> {
    let mut table = Writer::from_writer(Vec::new());
    table.write_record(head(plan))?;
    table.into_inner().map_err(|error| error.into_error().into())
}

/// Reads the runs of a plan, one after the other; an error says in words what is wrong with a line.
pub struct Lines<'p, R> {
    plan: &'p Plan,
    records: Reader<R>,
    record: StringRecord,
    begun: bool,
}

impl<'p, R: Read> Lines<'p, R> {
    /// Reads from the first line on.
    pub fn new(plan: &'p Plan, from: R) -> Self {
        let records = csv::ReaderBuilder::new().has_headers(false).from_reader(from);
        Self { plan, records, record: StringRecord::new(), begun: false }
    }

    fn read(&mut self) -> Result<Option<Row>, String> {
        let told = |error: csv::Error| format!("it cannot be read: {error}");
        if !self.begun {
            self.begun = true;
            let mut first = ByteRecord::new();
            self.records.read_byte_record(&mut first).map_err(told)?;
            let expected = head(self.plan);
            if first.iter().ne(expected.iter().map(String::as_bytes)) {
                return Err("its first line has other columns than the study".to_owned());
            }
        }
        if !self.records.read_record(&mut self.record).map_err(told)? {
            return Ok(None);
        }
        let line = self.record.position().map_or(0, csv::Position::line);
        row(self.plan, &self.record).map(Some).ok_or_else(|| format!("line {line} is no run of this study"))
    }
}

impl<R: Read> Iterator for Lines<'_, R> {
    type Item = Result<Row, String>;

    fn next(&mut self) -> Option<Self::Item> {
        self.read().transpose()
    }
}

/// The run that a line tells of.
fn row(plan: &Plan, record: &StringRecord) -> Option<Row> {
    let mut cells = record.iter();
    let variant = cells.next()?.parse::<u64>().ok()?.checked_sub(1)?;
    let run = cells.next()?.parse().ok()?;
    if variant >= plan.variants.len() as u64 || run >= plan.runs {
        return None;
    }
    // What the variant sets is in the plan.
    let mut cells = cells.skip(plan.keys.len());
    let mut uncertain = Vec::with_capacity(plan.uncertain.len());
    for column in &plan.uncertain {
        let cell = cells.next()?;
        uncertain.push(match column.kind {
            ColumnKind::Text => Cell::Text(cell.to_owned()),
            ColumnKind::Quantity(_) | ColumnKind::Number => Cell::Number(cell.parse().ok()?),
        });
    }
    let fault = Some(cells.next()?).filter(|fault| !fault.is_empty()).map(str::to_owned);
    let figure = |cell: &str| if cell.is_empty() { Some(None) } else { cell.parse().ok().map(Some) };
    let figures: Option<Vec<_>> = cells.map(figure).collect();
    Some(Row { job: Job { variant, run }, uncertain, fault, figures: figures? })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::runs::folder::tests::plan;

    #[test]
    fn exact_lines_read_back_as_the_same_runs() {
        let plan = plan();
        let rows = [
            Row {
                job: Job { variant: 0, run: 0 },
                uncertain: vec![Cell::Number(0.1 + 0.2), Cell::Text("a, \"b\"".to_owned())],
                fault: None,
                figures: vec![Some(1.0), Some(f64::MIN_POSITIVE), None],
            },
            Row {
                job: Job { variant: 1, run: 2 },
                uncertain: vec![Cell::Number(1e300), Cell::Text("x".to_owned())],
                fault: Some("the run: it broke, badly".to_owned()),
                figures: vec![None, None, None],
            },
        ];
        let mut text = first_line(&plan).unwrap();
        text.extend(lines(&plan, &rows).unwrap());
        let read: Vec<_> = Lines::new(&plan, text.as_slice()).collect::<Result<_, _>>().unwrap();
        assert_eq!(read, rows);
        let spoilt = String::from_utf8(text).unwrap().replace("1e300", "lots");
        let told = Lines::new(&plan, spoilt.as_bytes()).last().unwrap().unwrap_err();
        assert_eq!(told, "line 3 is no run of this study");
    }
}
