//! `runs.parquet`: every run of a study, the columns of `runs.csv` with their types.

use std::io::{self, Write};
use std::sync::Arc;

use ::parquet::basic::{ConvertedType, LogicalType, Repetition, Type as Physical};
use ::parquet::column::writer::ColumnWriter;
use ::parquet::data_type::ByteArray;
use ::parquet::errors::ParquetError;
use ::parquet::file::properties::WriterProperties;
use ::parquet::file::writer::SerializedFileWriter;
use ::parquet::schema::types::{Type, TypePtr};
use springhouse_study::many::{Cell, Column, ColumnKind, Plan, Row};

/// Rows that are held before they are written together.
const GROUP: usize = 65_536;

/// Writes rows one after the other, and holds no more than 65,536 of them. The same rows give the same bytes.
pub struct Rows<'p, W: Write + Send> {
    plan: &'p Plan,
    file: SerializedFileWriter<W>,
    columns: Vec<Values>,
    held: usize,
    group: usize,
}

/// The values of a column that are held; levels say where there is one.
enum Values {
    Whole(Vec<i64>),
    Number { values: Vec<f64>, levels: Vec<i16> },
    Text { values: Vec<ByteArray>, levels: Vec<i16> },
}

impl Values {
    fn number() -> Self {
        Self::Number { values: Vec::new(), levels: Vec::new() }
    }

    fn text() -> Self {
        Self::Text { values: Vec::new(), levels: Vec::new() }
    }

    fn of(column: &Column) -> Self {
        match column.kind {
            ColumnKind::Quantity(_) | ColumnKind::Number => Self::number(),
            ColumnKind::Text => Self::text(),
        }
    }

    fn push_whole(&mut self, value: u64) {
        if let Self::Whole(values) = self {
            values.push(i64::try_from(value).unwrap_or(i64::MAX));
        }
    }

    /// A number; in a column of texts as it is written.
    fn push_number(&mut self, value: Option<f64>) {
        match self {
            Self::Whole(_) => {}
            Self::Number { values, levels } => {
                levels.push(i16::from(value.is_some()));
                values.extend(value);
            }
            Self::Text { .. } => self.push_text(value.map(|value| value.to_string()).as_deref()),
        }
    }

    /// A text; in a column of numbers only where it is one.
    fn push_text(&mut self, value: Option<&str>) {
        match self {
            Self::Whole(_) => {}
            Self::Number { .. } => self.push_number(value.and_then(|value| value.parse().ok())),
            Self::Text { values, levels } => {
                levels.push(i16::from(value.is_some()));
                values.extend(value.map(ByteArray::from));
            }
        }
    }

    /// Writes what is held and lets go of it.
    fn write(&mut self, out: &mut ColumnWriter<'_>) -> Result<(), ParquetError> {
        match (self, out) {
            (Self::Whole(values), ColumnWriter::Int64ColumnWriter(out)) => {
                out.write_batch(values, None, None)?;
                values.clear();
            }
            (Self::Number { values, levels }, ColumnWriter::DoubleColumnWriter(out)) => {
                out.write_batch(values, Some(levels), None)?;
                values.clear();
                levels.clear();
            }
            (Self::Text { values, levels }, ColumnWriter::ByteArrayColumnWriter(out)) => {
                out.write_batch(values, Some(levels), None)?;
                values.clear();
                levels.clear();
            }
            _ => return Err(ParquetError::General("a column is of another type than its values".to_owned())),
        }
        Ok(())
    }

    fn schema(&self, name: &str) -> Result<TypePtr, ParquetError> {
        let of = |physical| Type::primitive_type_builder(name, physical).with_repetition(Repetition::OPTIONAL);
        let built = match self {
            Self::Whole(_) => of(Physical::INT64).with_repetition(Repetition::REQUIRED).build(),
            Self::Number { .. } => of(Physical::DOUBLE).build(),
            Self::Text { .. } => {
                let text = of(Physical::BYTE_ARRAY).with_converted_type(ConvertedType::UTF8);
                text.with_logical_type(Some(LogicalType::String)).build()
            }
        };
        Ok(Arc::new(built?))
    }
}

/// The columns of a plan's runs, in order.
fn columns(plan: &Plan) -> Vec<(String, Values)> {
    let settings = plan.keys.iter().chain(&plan.uncertain).map(|column| (column.head(), Values::of(column)));
    let figures = plan.figures.iter().map(|figure| (figure.clone(), Values::number()));
    let first = ["variant", "run"].map(|name| (name.to_owned(), Values::Whole(Vec::new())));
    let fault = core::iter::once(("fault".to_owned(), Values::text()));
    first.into_iter().chain(settings).chain(fault).chain(figures).collect()
}

impl<'p, W: Write + Send> Rows<'p, W> {
    /// Begins a file of the plan's runs.
    ///
    /// # Errors
    /// When `out` cannot be written to.
    pub fn new(plan: &'p Plan, out: W) -> io::Result<Self> {
        Self::in_groups(plan, out, GROUP)
    }

    /// The same with other groups.
    fn in_groups(plan: &'p Plan, out: W, group: usize) -> io::Result<Self> {
        let (names, columns): (Vec<String>, Vec<Values>) = columns(plan).into_iter().unzip();
        let fields: Result<Vec<TypePtr>, ParquetError> =
            names.iter().zip(&columns).map(|(name, values)| values.schema(name)).collect();
        let fields = fields.map_err(failed)?;
        let schema = Type::group_type_builder("run").with_fields(fields).build().map_err(failed)?;
        let created_by = concat!("springhouse ", env!("CARGO_PKG_VERSION")).to_owned();
        let properties = WriterProperties::builder().set_created_by(created_by).build();
        let file = SerializedFileWriter::new(out, Arc::new(schema), Arc::new(properties)).map_err(failed)?;
        Ok(Self { plan, file, columns, held: 0, group: group.max(1) })
    }

    /// Takes the next row.
    ///
    /// # Errors
    /// When what was held cannot be written.
    pub fn row(&mut self, row: &Row) -> io::Result<()> {
        let plan = self.plan;
        let variant = usize::try_from(row.job.variant).ok().and_then(|place| plan.variants.get(place));
        let mut columns = self.columns.iter_mut();
        let mut next = |put: &dyn Fn(&mut Values)| columns.next().map_or((), put);
        next(&|column| column.push_whole(row.job.variant.saturating_add(1)));
        next(&|column| column.push_whole(row.job.run));
        for (place, key) in plan.keys.iter().enumerate() {
            match key.kind {
                ColumnKind::Quantity(_) | ColumnKind::Number => {
                    let amount = variant.and_then(|it| it.amounts.get(place).copied().flatten());
                    next(&|column| column.push_number(amount));
                }
                ColumnKind::Text => {
                    let setting = variant.and_then(|it| it.settings.get(place).map(String::as_str));
                    next(&|column| column.push_text(setting));
                }
            }
        }
        for place in 0..plan.uncertain.len() {
            next(&|column| match row.uncertain.get(place) {
                Some(Cell::Number(value)) => column.push_number(Some(*value)),
                Some(Cell::Text(text)) => column.push_text(Some(text)),
                None => column.push_text(None),
            });
        }
        next(&|column| column.push_text(row.fault.as_deref()));
        for place in 0..plan.figures.len() {
            next(&|column| column.push_number(row.figures.get(place).copied().flatten()));
        }
        self.held += 1;
        if self.held >= self.group { self.write_group().map_err(failed) } else { Ok(()) }
    }

    /// Writes what is held and the end of the file.
    ///
    /// # Errors
    /// When it cannot be written.
    pub fn finish(mut self) -> io::Result<W> {
        self.write_group().map_err(failed)?;
        let mut out = self.file.into_inner().map_err(failed)?;
        out.flush()?;
        Ok(out)
    }

    fn write_group(&mut self) -> Result<(), ParquetError> {
        if self.held == 0 {
            return Ok(());
        }
        self.held = 0;
        let mut group = self.file.next_row_group()?;
        for values in &mut self.columns {
            let Some(mut column) = group.next_column()? else { break };
            values.write(column.untyped())?;
            column.close()?;
        }
        group.close()?;
        Ok(())
    }
}

/// What went wrong, as the operating system told it where it did.
fn failed(error: ParquetError) -> io::Error {
    match error {
        ParquetError::External(source) => match source.downcast::<io::Error>() {
            Ok(error) => *error,
            Err(source) => io::Error::other(source),
        },
        other => io::Error::other(other),
    }
}

#[cfg(test)]
mod tests;
