//! Tables as CSV, JSON or Parquet files with the same rows, and the summary of the files written.

mod csv;
mod json;
mod parquet;
mod said;

pub(crate) use self::csv::{csv_header, csv_rows};
pub(crate) use self::json::{JsonHead, json_head, json_rows, json_tail};
pub(crate) use self::parquet::Columnar;
pub(crate) use self::said::{exported, told_with_it};
