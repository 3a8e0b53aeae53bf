//! Rows are written and read back.

use std::fs::File;

use ::parquet::file::reader::{FileReader, SerializedFileReader};
use ::parquet::record::{Field, RowAccessor};
use springhouse_study::many::Job;

use super::*;
use crate::study::fixtures::plan;

/// The file, read by the library's own reader.
fn open(bytes: &[u8]) -> SerializedFileReader<File> {
    let mut file = tempfile::tempfile().unwrap();
    file.write_all(bytes).unwrap();
    SerializedFileReader::new(file).unwrap()
}

/// The rows of a plan with what is hard to keep: no value, a zero below zero, digits to the last bit, texts with commas.
fn rows(plan: &Plan) -> Vec<Row> {
    let job = |number: u64| plan.job(number);
    let row = |number: u64| {
        let value = f64::from(u32::try_from(number).unwrap());
        let fault = number.is_multiple_of(7).then(|| format!("a \"fault\", number {number}\nin two lines"));
        let figures = (0..plan.figures.len()).map(|figure| match (figure + usize::try_from(number).unwrap()) % 5 {
            _ if fault.is_some() => None,
            0 => None,
            1 => Some(-0.0),
            2 => Some(0.1 + value / 3.0),
            3 => Some(1e-300 * value),
            _ => Some(value),
        });
        let figures = figures.collect();
        let cell = |column: &Column| match column.kind {
            ColumnKind::Text => Cell::Text(format!("späť, {}", number % 3)),
            _ => Cell::Number(value.sqrt()),
        };
        Row { job: job(number), uncertain: plan.uncertain.iter().map(cell).collect(), fault, figures }
    };
    (0..plan.jobs()).map(row).collect()
}

fn written(plan: &Plan, rows: &[Row], group: usize) -> Vec<u8> {
    let mut file = Rows::in_groups(plan, Vec::new(), group).unwrap();
    for row in rows {
        file.row(row).unwrap();
    }
    file.finish().unwrap()
}

#[test]
fn exact_rows_come_back_to_the_bit_from_all_groups() {
    let plan = plan();
    let rows = rows(&plan);
    let bytes = written(&plan, &rows, 10);
    assert_eq!(bytes, written(&plan, &rows, 10), "the same rows gave other bytes");
    let file = open(&bytes);
    let told = file.metadata();
    assert_eq!(told.file_metadata().created_by(), Some(concat!("springhouse ", env!("CARGO_PKG_VERSION"))));
    assert_eq!(told.num_row_groups(), rows.len().div_ceil(10));
    let heads: Vec<String> = columns(&plan).into_iter().map(|(name, _)| name).collect();
    let found: Vec<_> = file.get_row_iter(None).unwrap().map(Result::unwrap).collect();
    assert_eq!(found.len(), rows.len());
    let number = |value: Option<f64>| value.map_or(Field::Null, Field::Double);
    let text = |value: Option<&str>| value.map_or(Field::Null, |text| Field::Str(text.to_owned()));
    for (row, found) in rows.iter().zip(&found) {
        let variant = &plan.variants[usize::try_from(row.job.variant).unwrap()];
        let mut expected = vec![
            Field::Long(i64::try_from(row.job.variant).unwrap() + 1),
            Field::Long(i64::try_from(row.job.run).unwrap()),
        ];
        for (place, key) in plan.keys.iter().enumerate() {
            expected.push(match key.kind {
                ColumnKind::Text => text(Some(&variant.settings[place])),
                _ => number(variant.amounts[place]),
            });
        }
        expected.extend(row.uncertain.iter().map(|cell| match cell {
            Cell::Number(value) => number(Some(*value)),
            Cell::Text(value) => text(Some(value)),
        }));
        expected.push(text(row.fault.as_deref()));
        expected.extend(row.figures.iter().map(|value| number(*value)));
        let cells: Vec<(&String, &Field)> = found.get_column_iter().collect();
        assert!(cells.iter().map(|(name, _)| *name).eq(&heads), "{cells:?}");
        for ((name, cell), expected) in cells.iter().zip(&expected) {
            let is_same = match (cell, expected) {
                (Field::Double(a), Field::Double(b)) => a.to_bits() == b.to_bits(),
                (a, b) => *a == b,
            };
            assert!(is_same, "{name}: {cell:?} is not {expected:?}");
        }
        assert_eq!(found.get_long(0).unwrap(), i64::try_from(row.job.variant).unwrap() + 1);
    }
    if let Some(folder) = std::env::var_os("SPRINGHOUSE_PARQUET") {
        for_a_reader(&plan, &rows, std::path::Path::new(&folder));
    }
}

/// The same rows as `runs.csv` and `runs.parquet`, for `tests/readers/parquet_equal.py`.
fn for_a_reader(plan: &Plan, rows: &[Row], folder: &std::path::Path) {
    std::fs::write(folder.join("runs.parquet"), written(plan, rows, 10)).unwrap();
    let mut table = ::csv::Writer::from_path(folder.join("runs.csv")).unwrap();
    table.write_record(columns(plan).iter().map(|(name, _)| name)).unwrap();
    let cell = |value: Option<f64>| value.map_or_else(String::new, |value| value.to_string());
    for row in rows {
        let variant = &plan.variants[usize::try_from(row.job.variant).unwrap()];
        let mut cells = vec![(row.job.variant + 1).to_string(), row.job.run.to_string()];
        cells.extend(plan.keys.iter().enumerate().map(|(place, key)| match key.kind {
            ColumnKind::Text => variant.settings[place].clone(),
            _ => cell(variant.amounts[place]),
        }));
        cells.extend(row.uncertain.iter().map(|it| match it {
            Cell::Number(value) => cell(Some(*value)),
            Cell::Text(value) => value.clone(),
        }));
        cells.push(row.fault.clone().unwrap_or_default());
        cells.extend(row.figures.iter().map(|value| cell(*value)));
        table.write_record(cells).unwrap();
    }
    table.flush().unwrap();
}

#[test]
fn exact_groups_change_no_row_and_no_rows_are_a_file() {
    let plan = plan();
    let rows = rows(&plan);
    let read = |bytes: Vec<u8>| -> Vec<String> {
        let file = open(&bytes);
        file.get_row_iter(None).unwrap().map(|row| row.unwrap().to_string()).collect()
    };
    assert_eq!(read(written(&plan, &rows, 1)), read(written(&plan, &rows, GROUP)));
    assert!(read(written(&plan, &[], GROUP)).is_empty());
}

#[test]
fn a_full_disk_is_told_as_one() {
    struct Full;
    impl Write for Full {
        fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            Err(io::ErrorKind::StorageFull.into())
        }
        fn flush(&mut self) -> io::Result<()> {
            Ok(())
        }
    }
    let plan = plan();
    let row = Row { job: Job { variant: 0, run: 0 }, uncertain: Vec::new(), fault: None, figures: Vec::new() };
    let failed = Rows::new(&plan, Full).and_then(|mut file| {
        file.row(&row)?;
        file.finish()
    });
    assert_eq!(failed.map(|_| ()).unwrap_err().kind(), io::ErrorKind::StorageFull);
}
