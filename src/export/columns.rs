//! The tables and their columns.

use std::sync::LazyLock;

use crate::event::Kind;
use crate::patient::Patient;
use crate::people::People;
use crate::record::{Field, Shape, leaves};
use crate::word::Word;

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ExportColumn {
    /// The key that it holds: the part of the name before the dot.
    pub name: String,
    /// The type of its values.
    pub shape: Shape,
    /// Description, one phrase.
    pub about: String,
}

/// A table.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct ExportTable {
    /// Name of the table and of its file.
    pub name: &'static str,
    /// The source of its rows.
    pub whose: Whose,
    /// Its columns, in order.
    pub columns: Vec<ExportColumn>,
}

/// The source of the rows of a table.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Whose {
    /// Events of a kind.
    Events(Kind),
    /// Corrections of events.
    Amendments,
    /// Patients.
    Patients,
    /// Rows of patient.toml under this key.
    Course(&'static str),
    /// The staff.
    People,
}

/// The maximum of a count in a column.
const MOST: i64 = 1_000_000;

/// Event keys that are columns of every kind.
const WRITTEN_BY_THE_COMMANDS: [&str; 2] = ["entered.at", "entered.by"];

static TABLES: LazyLock<Vec<ExportTable>> = LazyLock::new(|| {
    let mut tables = vec![patients()];
    let course = [("exits", "exit"), ("care", "care"), ("orders", "order"), ("caregivers", "caregiver")];
    tables.extend(course.map(|(name, key)| ExportTable {
        name,
        whose: Whose::Course(key),
        columns: with_patient(own(&inside(&Patient::fields(), key))),
    }));
    let people = own(&inside(&People::fields(), "person"));
    tables.push(ExportTable { name: "people", whose: Whose::People, columns: people });
    tables.extend(Kind::ALL.iter().map(|kind| events(*kind)));
    tables.push(amendments());
    tables
});

/// Every table, in order.
pub(crate) fn tables() -> &'static [ExportTable] {
    &TABLES
}

impl ExportColumn {
    pub(super) fn of(name: impl Into<String>, shape: Shape, about: impl Into<String>) -> ExportColumn {
        ExportColumn { name: name.into(), shape, about: about.into() }
    }

    fn patient() -> ExportColumn {
        ExportColumn::of("patient", Shape::Text, "patient's code; in a staff checkoff, the staff member's code")
    }

    fn file() -> ExportColumn {
        ExportColumn::of("file", Shape::Text, "file, relative to the records folder")
    }
}

impl ExportTable {
    /// The index of a column.
    pub(crate) fn position(&self, name: &str) -> Option<usize> {
        self.columns.iter().position(|column| column.name == name)
    }
}

/// Returns the fields of the rows under a key.
fn inside(fields: &[Field], key: &str) -> Vec<Field> {
    let of = |field: &&Field| field.name == key;
    match fields.iter().find(of).map(|field| &field.shape) {
        Some(Shape::Rows(inner) | Shape::Table(inner)) => inner.clone(),
        _ => Vec::new(),
    }
}

fn own(fields: &[Field]) -> Vec<ExportColumn> {
    let column = |(name, field): (String, &Field)| ExportColumn::of(name, field.shape.clone(), field.about);
    leaves(fields).into_iter().map(column).collect()
}

fn with_patient(columns: Vec<ExportColumn>) -> Vec<ExportColumn> {
    [vec![ExportColumn::patient()], columns].concat()
}

fn patients() -> ExportTable {
    let mut columns = vec![ExportColumn::patient(), ExportColumn::file()];
    columns.extend(own(&Patient::fields()).into_iter().filter(|column| column.name != "code"));
    ExportTable { name: "patients", whose: Whose::Patients, columns }
}

fn events(kind: Kind) -> ExportTable {
    let mut columns = vec![ExportColumn::patient(), ExportColumn::file()];
    for column in own(&kind.fields()) {
        match column.name.as_str() {
            "exit" if !kind.traits().concerns_one_exit => continue,
            "exit" => columns.push(ExportColumn { about: "exit site of the record".into(), ..column }),
            "on" => columns.extend([column, ExportColumn::of("care_day", Shape::Date, "care day")]),
            name if name == WRITTEN_BY_THE_COMMANDS[0] => {
                columns.push(ExportColumn::of(
                    "voided",
                    Shape::Flag,
                    "true if the record was voided and does not count",
                ));
                columns.push(ExportColumn::of("amended", Shape::Whole(0, MOST), "number of amendments"));
                columns.push(column);
            }
            _ => columns.push(column),
        }
    }
    ExportTable { name: kind.word(), whose: Whose::Events(kind), columns }
}

fn amendments() -> ExportTable {
    let mut columns = vec![ExportColumn::patient(), ExportColumn::file()];
    columns.extend(own(&inside(&Kind::Change.fields(), "amended")));
    ExportTable { name: "amendments", whose: Whose::Amendments, columns }
}
