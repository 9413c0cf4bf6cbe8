//! Tables for a recipient under an agreement: the releasable columns, and the rows built from them.
//!
//! ```text
//! patient,day,source,exit,reason,found.dressing,…
//! 480113,64,seen,1,due,intact,…
//! ```
//!
//! A column stays internal unless it is on the list. A patient becomes a random number, a day becomes days since the
//! implant (day 0), and an exit site becomes its number among the patient's. Codes, times, texts and file names are never
//! exported; voided records are left out.
//!
//! The result is still patients' data: a recipient who knows some of a patient's dates can identify the rest. Left out on
//! purpose: any attempt to hide rare values, which would promise more than it can keep.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::columns::{ExportColumn, ExportTable, tables};
use super::{ExportRow, PatientRows};
use crate::record::{Shape, Value};

/// The notice in each file: the first line of a text, and the name of the first column of a table.
pub(crate) const NOTICE: &str =
    "Patients' data, pseudonymous and still protected: the program decides who may have them and for what.";

/// The notice as a column name that any CSV reader accepts.
pub(crate) const NOTICE_COLUMN: &str = "still_patients_data_the_program_decides";

/// Columns of a record with site findings.
const SITE: [&str; 11] = [
    "site.drainage",
    "site.amount",
    "site.redness_mm",
    "site.swelling",
    "site.crust_mm",
    "site.pain",
    "site.odor",
    "site.warmth",
    "site.overgranulation",
    "site.bleeding",
    "site.temperature_c",
];

/// Columns of a change other than those of its site.
const CHANGE: [&str; 13] = [
    "care_day",
    "source",
    "exit",
    "reason",
    "found.dressing",
    "found.anchor",
    "materials.cleanser",
    "materials.driveline_cleansed",
    "materials.disc",
    "materials.skin_protectant",
    "materials.gauze",
    "left.dressing",
    "left.anchor",
];

/// The columns that may be released, by table, under their internal names. No other column is exported.
const RELEASED: [(&str, [&[&str]; 2]); 15] = [
    ("patients", [&["records_from", "infections_before", "last_change_before", "ended.on", "ended.why"], &[]]),
    ("exits", [&["id", "where", "from", "until", "why"], &[]]),
    ("care", [&["from", "place", "reports"], &[]]),
    // Weekdays combined with days since the implant would reveal the weekday of the implant.
    ("orders", [&["from", "until", "every_days", "min_days", "no_showers", "exit"], &[]]),
    ("assessment", [&["care_day", "source", "exit"], &SITE]),
    ("change", [&CHANGE, &SITE]),
    ("contact", [&["care_day", "source", "outcome", "temperature_c"], &[]]),
    ("culture", [&["care_day", "source", "specimen", "result.on", "result.growth"], &[]]),
    ("infection", [&["care_day", "source", "part", "certainty", "onset", "resolved", "readmission"], &[]]),
    ("inspection", [&["care_day", "source", "exit", "dressing", "anchor"], &[]]),
    ("log", [&["care_day", "source", "from", "through", "complete"], &[]]),
    ("shower", [&["care_day", "source", "water", "dressing_before", "dressing_after", "anchor"], &[]]),
    ("teaching", [&["care_day", "source", "mode"], &[]]),
    ("trauma", [&["care_day", "source", "exit", "mechanism", "dressing", "anchor", "site_bleeding"], &[]]),
    ("treatment", [&["care_day", "source", "what", "until"], &[]]),
];

/// A released column, and the index of its source column.
struct Made {
    column: ExportColumn,
    from: usize,
    how: How,
}

#[derive(Clone, Copy)]
enum How {
    /// Unchanged.
    Same,
    /// Days since the implant.
    Day,
    /// The number among the patient's exit sites, from 1.
    Exit,
}

impl Made {
    /// The released form of a column; `None` for a text or any type without a safe form.
    fn of(from: usize, plain: &ExportColumn) -> Option<Made> {
        let name = plain.name.as_str();
        let made = |name: String, shape, about: String, how| {
            Some(Made { column: ExportColumn::of(name, shape, about), from, how })
        };
        match (&plain.shape, name) {
            (Shape::Date | Shape::Moment, _) => {
                let name = if name == "care_day" { "day".to_owned() } else { format!("{name}_day") };
                made(name, Shape::Whole(-80_000, 80_000), format!("{}, days since the implant", plain.about), How::Day)
            }
            (Shape::Text, "exit" | "id") => {
                let about = "number among the patient's exit sites, from 1".to_owned();
                made("exit".into(), Shape::Whole(1, 999), about, How::Exit)
            }
            (Shape::Words(_) | Shape::Flag | Shape::Whole(..) | Shape::Measure(..) | Shape::WholeOr(_), _) => {
                made(name.into(), plain.shape.clone(), plain.about.clone(), How::Same)
            }
            _ => None,
        }
    }

    fn value(&self, row: &ExportRow, owner: &RowPatient) -> Option<Value> {
        match (self.how, row.get(self.from)?.as_ref()?) {
            (How::Same, value) => Some(value.clone()),
            (How::Day, Value::Date(day)) => Some(owner.day(*day)),
            (How::Day, Value::Moment(moment)) => Some(owner.day(moment.wall.date())),
            (How::Exit, Value::Text(id)) => owner.exit(id),
            _ => None,
        }
    }
}

/// The patient whose rows are released: the origin of days and the numbering of exit sites.
struct RowPatient<'a> {
    implanted: NaiveDate,
    exits: Vec<&'a str>,
}

impl<'a> RowPatient<'a> {
    /// Returns the patient of the rows; `None` if the course is unreadable, so that no day can be counted.
    fn of(read: &'a PatientRows) -> Option<RowPatient<'a>> {
        let Some(Value::Date(implanted)) = cells(read, "patients", "implanted").next() else { return None };
        let id = |value: &'a Value| if let Value::Text(id) = value { Some(id.as_str()) } else { None };
        Some(RowPatient { implanted: *implanted, exits: cells(read, "exits", "id").filter_map(id).collect() })
    }

    fn day(&self, day: NaiveDate) -> Value {
        Value::Number((day - self.implanted).num_days() as f64)
    }

    fn exit(&self, id: &str) -> Option<Value> {
        self.exits.iter().position(|own| *own == id).map(|n| Value::Number(n as f64 + 1.0))
    }
}

/// The values of a column of the rows.
fn cells<'a>(read: &'a PatientRows, table: &'static str, column: &str) -> impl Iterator<Item = &'a Value> + use<'a> {
    let at = tables().iter().find(|known| known.name == table).and_then(|table| table.position(column));
    let rows = read.rows.get(table).into_iter().flatten();
    rows.filter_map(move |row| row.get(at?)?.as_ref())
}

/// The released columns of a table, in the order of the list.
fn made(table: &ExportTable) -> Option<Vec<Made>> {
    let (_, names) = RELEASED.iter().find(|(name, _)| *name == table.name)?;
    let one = |name: &&str| {
        let from = table.position(name)?;
        Made::of(from, table.columns.get(from)?)
    };
    Some(names.iter().flat_map(|names| names.iter()).filter_map(one).collect())
}

/// Every released table with its columns, in order.
pub(crate) fn shapes() -> Vec<(&'static str, Vec<ExportColumn>)> {
    let number =
        ExportColumn::of("patient", Shape::Whole(1, 1_000_000_000), "random number; the key file maps it to a code");
    let columns = |table: &ExportTable| {
        let own = made(table)?.into_iter().map(|made| made.column);
        Some((table.name, [number.clone()].into_iter().chain(own).collect()))
    };
    tables().iter().filter_map(columns).collect()
}

/// The released rows of a patient under a number; empty if the course is unreadable.
pub(crate) fn rows(read: &PatientRows, number: u32) -> BTreeMap<&'static str, Vec<ExportRow>> {
    let Some(owner) = RowPatient::of(read) else { return BTreeMap::new() };
    let of_table = |table: &ExportTable| {
        let (made, voided) = (made(table)?, table.position("voided"));
        let counts = |row: &&ExportRow| !voided.is_some_and(|at| row.get(at) == Some(&Some(Value::Flag(true))));
        let row = |row: &ExportRow| -> ExportRow {
            let own = made.iter().map(|made| made.value(row, &owner));
            [Some(Value::Number(f64::from(number)))].into_iter().chain(own).collect()
        };
        Some((table.name, read.rows.get(table.name)?.iter().filter(counts).map(row).collect()))
    };
    tables().iter().filter_map(of_table).collect()
}
