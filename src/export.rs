//! The records as tables: one for each kind of event, and those of the patients' courses and of the staff.
//!
//! ```text
//! patient,file,kind,at,on,care_day,by,source,exit,reason,…,found.dressing,…
//! P-014,patients/P-014/2026/2026-11-23T1855-change.toml,change,2026-11-23T18:55:00-06:00,,2026-11-23,p014-spouse,…
//! ```
//!
//! Columns are the records' own names, a key inside a table under its name (`found.dressing`), as `import` reads them.
//! They are made of what the readers ask for, so a new field is a new column by itself. [`release`] makes the tables
//! for a recipient under an agreement.
//!
//! Left out on purpose: how a table is written down. That is `view`'s.

mod columns;
pub(crate) mod release;
mod rows;

pub(crate) use columns::{ExportColumn, tables};
pub(crate) use rows::{PatientRows, Selection, people, read_patient, read_staff};

use crate::record::Value;

/// One row: a value for each column of its table, or none where nothing is known.
pub(crate) type ExportRow = Vec<Option<Value>>;
