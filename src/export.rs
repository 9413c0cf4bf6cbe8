//! The records as tables: one per kind of event, plus those of the patients' courses and of the staff.
//!
//! ```text
//! patient,file,kind,at,on,care_day,by,source,exit,reason,…,found.dressing,…
//! P-014,patients/P-014/2026/2026-11-23T1855-change.toml,change,2026-11-23T18:55:00-06:00,,2026-11-23,p014-spouse,…
//! ```
//!
//! Columns have the keys of the records; a key inside a table is dotted (`found.dressing`), as `import` reads it. They
//! are generated from the fields that the readers ask for, so a new field is a new column. [`release`] makes the tables
//! for a recipient under an agreement.
//!
//! Left out on purpose: the file format of a table, which belongs to `view`.

mod columns;
pub(crate) mod release;
mod rows;

pub(crate) use columns::{ExportColumn, tables};
pub(crate) use rows::{PatientRows, Selection, people, read_patient, read_staff};

use crate::record::Value;

/// One row: a value for each column of its table, or `None` if unknown.
pub(crate) type ExportRow = Vec<Option<Value>>;
