//! Rows as Parquet: one file per table, in row groups of a fixed size, with typed columns.
//! Days are DATE, times of day TIME, integers INT, measures DOUBLE, flags BOOLEAN, lists of texts LIST. A moment has two
//! columns: `at`, the instant (TIMESTAMP in UTC), and `at_local`, the wall-clock time, so that its offset is kept. Unknown
//! values are null. The header of a JSON file is metadata under the key `exitsite`. Left out on purpose: compression, which
//! would need two more crates; dictionary encoding keeps words small.

use std::io::{self, Write};
use std::sync::Arc;

use chrono::{NaiveDate, NaiveDateTime, NaiveTime};
use parquet::basic::{LogicalType, Repetition, TimeUnit, Type as Physical};
use parquet::data_type::{BoolType, ByteArray, ByteArrayType, DoubleType, Int32Type, Int64Type};
use parquet::errors::ParquetError;
use parquet::file::metadata::KeyValue;
use parquet::file::properties::WriterProperties;
use parquet::file::writer::{SerializedColumnWriter, SerializedFileWriter};
use parquet::schema::types::{Type, TypePtr};

use super::JsonHead;
use crate::export::release::NOTICE_COLUMN;
use crate::export::{ExportColumn, ExportRow};
use crate::record::{Moment, Shape, Value};
use crate::view::json::line;

/// The rows per group, which is the number held in memory per table.
const ROWS_IN_GROUP: usize = 8_192;
/// The key of the header in the file's metadata.
const HEAD: &str = "exitsite";

/// A Parquet file being written.
pub(crate) struct Columnar<W: Write + Send> {
    writer: SerializedFileWriter<W>,
    leaves: Vec<Leaf>,
    rows: Vec<ExportRow>,
}

/// A column of the file, and the index of its values in a row; `None` for the notice, which has no values.
struct Leaf {
    name: String,
    kind: ColumnType,
    from: Option<usize>,
}

/// The type of a column.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum ColumnType {
    Text,
    Flag,
    Whole,
    Real,
    Day,
    Time,
    /// A moment with its offset, in UTC.
    Instant,
    /// A moment in wall-clock time.
    Wall,
    Texts,
}

impl<W: Write + Send> Columnar<W> {
    /// Begins a file with these columns. With notice, the name of an empty first column states that these are patient data.
    ///
    /// # Errors
    /// It cannot be written.
    pub(crate) fn begin(file: W, table: &str, columns: &[ExportColumn], with_notice: bool) -> io::Result<Columnar<W>> {
        let notice = with_notice.then(|| Leaf { name: NOTICE_COLUMN.to_owned(), kind: ColumnType::Text, from: None });
        let leaves: Vec<Leaf> =
            notice.into_iter().chain(columns.iter().enumerate().flat_map(|(n, column)| leaves(n, column))).collect();
        let fields = leaves.iter().map(Leaf::field).collect::<Result<Vec<TypePtr>, _>>().map_err(failed)?;
        let schema = Type::group_type_builder(table).with_fields(fields).build().map_err(failed)?;
        let made_by = format!("exitsite {}", env!("CARGO_PKG_VERSION"));
        let properties = WriterProperties::builder().set_created_by(made_by).build();
        let writer = SerializedFileWriter::new(file, Arc::new(schema), Arc::new(properties)).map_err(failed)?;
        Ok(Columnar { writer, leaves, rows: Vec::new() })
    }

    /// Adds rows; complete groups are written and released.
    ///
    /// # Errors
    /// They cannot be written.
    pub(crate) fn add(&mut self, rows: Vec<ExportRow>) -> io::Result<()> {
        for row in rows {
            self.rows.push(row);
            if self.rows.len() == ROWS_IN_GROUP {
                self.write_group()?;
            }
        }
        Ok(())
    }

    /// Finishes the file.
    ///
    /// # Errors
    /// It cannot be written.
    pub(crate) fn finish(mut self, head: &JsonHead) -> io::Result<W> {
        if !self.rows.is_empty() {
            self.write_group()?;
        }
        self.writer.append_key_value_metadata(KeyValue::new(HEAD.to_owned(), line(head)));
        self.writer.into_inner().map_err(failed)
    }

    fn write_group(&mut self) -> io::Result<()> {
        let mut group = self.writer.next_row_group().map_err(failed)?;
        let mut leaves = self.leaves.iter();
        while let (Some(mut column), Some(leaf)) = (group.next_column().map_err(failed)?, leaves.next()) {
            let values = self.rows.iter().map(|row| row.get(leaf.from?)?.as_ref());
            leaf.kind.write(&mut column, values).map_err(failed)?;
            column.close().map_err(failed)?;
        }
        group.close().map_err(failed)?;
        self.rows.clear();
        Ok(())
    }
}

/// Returns the file columns for one table column.
fn leaves(from: usize, column: &ExportColumn) -> Vec<Leaf> {
    let leaf = |name: String, kind| Leaf { name, kind, from: Some(from) };
    let name = column.name.clone();
    match &column.shape {
        Shape::Moment => {
            let wall = leaf(format!("{name}_local"), ColumnType::Wall);
            vec![leaf(name, ColumnType::Instant), wall]
        }
        Shape::Flag => vec![leaf(name, ColumnType::Flag)],
        Shape::Whole(..) => vec![leaf(name, ColumnType::Whole)],
        Shape::Measure(..) => vec![leaf(name, ColumnType::Real)],
        Shape::Date => vec![leaf(name, ColumnType::Day)],
        Shape::TimeOfDay => vec![leaf(name, ColumnType::Time)],
        Shape::List(_) => vec![leaf(name, ColumnType::Texts)],
        // Numbers that may also be "unknown" are stored as text, so that "unknown" is kept.
        _ => vec![leaf(name, ColumnType::Text)],
    }
}

impl Leaf {
    fn field(&self) -> Result<TypePtr, ParquetError> {
        let micros = |is_utc| LogicalType::timestamp(is_utc, TimeUnit::MICROS);
        let (physical, logical) = match self.kind {
            ColumnType::Texts => return self.list(),
            ColumnType::Text => (Physical::BYTE_ARRAY, Some(LogicalType::String)),
            ColumnType::Flag => (Physical::BOOLEAN, None),
            ColumnType::Whole => (Physical::INT32, None),
            ColumnType::Real => (Physical::DOUBLE, None),
            ColumnType::Day => (Physical::INT32, Some(LogicalType::Date)),
            ColumnType::Time => (Physical::INT64, Some(LogicalType::time(false, TimeUnit::MICROS))),
            ColumnType::Instant => (Physical::INT64, Some(micros(true))),
            ColumnType::Wall => (Physical::INT64, Some(micros(false))),
        };
        let field = Type::primitive_type_builder(&self.name, physical).with_logical_type(logical);
        field.with_repetition(Repetition::OPTIONAL).build().map(Arc::new)
    }

    /// Builds the type of a list of texts, in the three levels required by the format.
    fn list(&self) -> Result<TypePtr, ParquetError> {
        let element = Type::primitive_type_builder("element", Physical::BYTE_ARRAY)
            .with_logical_type(Some(LogicalType::String))
            .with_repetition(Repetition::REQUIRED)
            .build()?;
        let list = Type::group_type_builder("list")
            .with_repetition(Repetition::REPEATED)
            .with_fields(vec![Arc::new(element)])
            .build()?;
        Type::group_type_builder(&self.name)
            .with_logical_type(Some(LogicalType::List))
            .with_repetition(Repetition::OPTIONAL)
            .with_fields(vec![Arc::new(list)])
            .build()
            .map(Arc::new)
    }
}

impl ColumnType {
    /// Writes the values of a group.
    fn write<'v>(
        self,
        column: &mut SerializedColumnWriter,
        values: impl Iterator<Item = Option<&'v Value>>,
    ) -> Result<(), ParquetError> {
        match self {
            ColumnType::Text => plain::<ByteArrayType>(column, values, |value| Some(bytes(value))),
            ColumnType::Flag => plain::<BoolType>(column, values, |value| match value {
                Value::Flag(flag) => Some(*flag),
                _ => None,
            }),
            ColumnType::Whole => plain::<Int32Type>(column, values, |value| match value {
                Value::Number(number) => Some(*number as i32),
                _ => None,
            }),
            ColumnType::Real => plain::<DoubleType>(column, values, |value| match value {
                Value::Number(number) => Some(*number),
                _ => None,
            }),
            ColumnType::Day => plain::<Int32Type>(column, values, |value| match value {
                Value::Date(day) => i32::try_from((*day - NaiveDate::default()).num_days()).ok(),
                _ => None,
            }),
            ColumnType::Time => plain::<Int64Type>(column, values, |value| match value {
                Value::Time(time) => (*time - NaiveTime::MIN).num_microseconds(),
                _ => None,
            }),
            ColumnType::Instant => plain::<Int64Type>(column, values, |value| instant(moment(value)?)),
            ColumnType::Wall => plain::<Int64Type>(column, values, |value| micros(moment(value)?.wall)),
            ColumnType::Texts => lists(column, values),
        }
    }
}

/// Writes values with their definition levels.
fn plain<'v, T: parquet::data_type::DataType>(
    column: &mut SerializedColumnWriter,
    values: impl Iterator<Item = Option<&'v Value>>,
    typed: impl Fn(&Value) -> Option<T::T>,
) -> Result<(), ParquetError> {
    let values: Vec<Option<T::T>> = values.map(|value| typed(value?)).collect();
    let is_there: Vec<i16> = values.iter().map(|value| i16::from(value.is_some())).collect();
    let values: Vec<T::T> = values.into_iter().flatten().collect();
    column.typed::<T>().write_batch(&values, Some(&is_there), None).map(drop)
}

/// Writes lists. Definition levels: 0 unknown, 1 empty, 2 an item; items after the first have repetition level 1.
fn lists<'v>(
    column: &mut SerializedColumnWriter,
    values: impl Iterator<Item = Option<&'v Value>>,
) -> Result<(), ParquetError> {
    let (mut items, mut levels, mut repeats) = (Vec::new(), Vec::new(), Vec::new());
    for value in values {
        match value {
            Some(Value::List(list)) if !list.is_empty() => {
                items.extend(list.iter().map(bytes));
                levels.extend(list.iter().map(|_| 2_i16));
                repeats.extend((0..list.len()).map(|n| i16::from(n > 0)));
            }
            value => {
                levels.push(i16::from(value.is_some()));
                repeats.push(0);
            }
        }
    }
    column.typed::<ByteArrayType>().write_batch(&items, Some(&levels), Some(&repeats)).map(drop)
}

fn bytes(value: &Value) -> ByteArray {
    match value {
        Value::Text(text) => ByteArray::from(text.as_str()),
        value => ByteArray::from(value.to_string().as_str()),
    }
}

fn moment(value: &Value) -> Option<Moment> {
    if let Value::Moment(moment) = value { Some(*moment) } else { None }
}

/// Returns the instant in UTC; `None` if the local time is ambiguous or does not exist that day.
fn instant(moment: Moment) -> Option<i64> {
    micros(moment.wall.checked_sub_offset(moment.offset?)?)
}

fn micros(time: NaiveDateTime) -> Option<i64> {
    Some(time.and_utc().timestamp_micros())
}

fn failed(error: ParquetError) -> io::Error {
    match error {
        ParquetError::External(inner) => match inner.downcast::<io::Error>() {
            Ok(error) => *error,
            Err(other) => io::Error::other(other),
        },
        error => io::Error::other(error.to_string()),
    }
}
