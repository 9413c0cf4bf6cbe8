//! Tables as files: CSV and JSON, the same rows in both; and what was written, for a person.

mod csv;
mod json;
mod said;

pub use self::csv::{csv_header, csv_rows};
pub use self::json::{JsonHead, json_head, json_rows, json_tail};
pub use self::said::{exported, told_with_it};
