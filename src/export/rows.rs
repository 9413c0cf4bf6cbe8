//! The rows of a patient, of the staff list, and of a staff member.
//!
//! An unreadable file is a problem; everything else on file is exported. A record with an unclear exit site is exported
//! as written, and reported.

use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::ExportRow;
use super::columns::{ExportColumn, ExportTable, Whose, tables};
use crate::day::{AsOf, Calendar};
use crate::event::{Event, Kind};
use crate::patient::{Belonging, ExitDay, Patient, Reports};
use crate::problem::Problem;
use crate::program::Program;
use crate::record::{Moment, Shape, Value, Values};
use crate::word::Word;

/// The selection of events.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Selection {
    /// Only records that existed at this instant.
    pub as_of: AsOf,
    /// Only records of this care day and later.
    pub from: Option<NaiveDate>,
    /// Only records of this care day and earlier.
    pub to: Option<NaiveDate>,
}

/// Rows by table name, with the problems.
#[derive(Debug, Default)]
pub(crate) struct PatientRows {
    /// The rows, in order.
    pub rows: BTreeMap<&'static str, Vec<ExportRow>>,
    /// The problems of the files; an unreadable file leaves a gap in the tables.
    pub problems: Vec<Problem>,
}

impl Selection {
    /// Returns true if an event is selected.
    pub(crate) fn takes(&self, event: &Event, calendar: &Calendar) -> bool {
        let exists = !self.as_of.is_given || event.exists(calendar, self.as_of.instant);
        let day = event.when.care_day;
        exists && self.from.is_none_or(|from| from <= day) && self.to.is_none_or(|to| day <= to)
    }

    /// Returns true if a part with its own date, such as a result, is selected.
    pub(crate) fn takes_day(&self, day: NaiveDate, calendar: &Calendar) -> bool {
        !self.as_of.is_given || day <= calendar.today(self.as_of.instant)
    }
}

impl PatientRows {
    fn push(&mut self, table: &ExportTable, row: ExportRow) {
        self.rows.entry(table.name).or_default().push(row);
    }

    fn add_events(
        &mut self,
        owner: &str,
        events: &[Event],
        patient: Option<&Patient>,
        calendar: &Calendar,
        selection: &Selection,
    ) {
        for event in events.iter().filter(|event| selection.takes(event, calendar)) {
            let Some(values) = Values::of(&event.record.text) else { continue };
            let told = EventRow { owner, event, patient, calendar, selection, values };
            for table in tables() {
                match table.whose {
                    Whose::Events(kind) if kind == event.name.kind => self.push(table, told.row(table)),
                    Whose::Amendments => {
                        told.values
                            .rows("amended")
                            .into_iter()
                            .for_each(|row| self.push(table, told.amendment(table, row)));
                    }
                    _ => {}
                }
            }
        }
    }

    fn add_course(&mut self, patient: &Patient) {
        let Some(values) = Values::of(&patient.source.text) else { return };
        for table in tables() {
            let with_defaults = |values: &Values| -> ExportRow {
                let value = |column: &ExportColumn| match column.name.as_str() {
                    "patient" => Some(text(&patient.code)),
                    "file" => Some(text(patient.file())),
                    name => values.get(name).cloned().or_else(|| default(table, name, patient)),
                };
                table.columns.iter().map(value).collect()
            };
            match table.whose {
                Whose::Patients => self.push(table, with_defaults(&values)),
                Whose::Course(key) => values.rows(key).into_iter().for_each(|row| self.push(table, with_defaults(row))),
                _ => {}
            }
        }
    }
}

/// Returns the default of a key of a course.
fn default(table: &ExportTable, name: &str, patient: &Patient) -> Option<Value> {
    match (table.name, name) {
        ("patients", "records_from") => Some(Value::Date(patient.records_from)),
        ("patients", "infections_before") if patient.records_from == patient.implanted => Some(Value::Number(0.0)),
        ("care", "reports") => Some(text(Reports::Each.word())),
        _ => None,
    }
}

/// The rows of one patient: the course and the selected events.
pub(crate) fn read_patient(program: &Program, code: &str, selection: &Selection) -> PatientRows {
    let mut read = PatientRows::default();
    let own = program.folder.patient(code);
    let patient = program.patient(code, &mut read.problems);
    let calendar = patient.as_ref().map_or_else(|| program.calendar(), |patient| patient.calendar.clone());
    let events = program.all_events(&own, &calendar, &mut read.problems);
    if let Some(patient) = &patient {
        let counted = events.iter().filter(|event| event.void.is_none());
        read.problems.extend(counted.filter_map(|event| patient.exit_problem(event)));
        read.add_course(patient);
    }
    read.add_events(code, &events, patient.as_ref(), &calendar, selection);
    read
}

/// The checkoffs of staff.
pub(crate) fn read_staff(program: &Program, selection: &Selection) -> PatientRows {
    let mut read = PatientRows::default();
    let (folders, problems) = program.folder.staff();
    read.problems.extend(problems);
    let calendar = program.calendar();
    for (code, own) in folders {
        let events = program.all_events(&own, &calendar, &mut read.problems);
        read.add_events(&code, &events, None, &calendar, selection);
    }
    read
}

/// The staff list.
pub(crate) fn people(program: &Program) -> PatientRows {
    let mut read = PatientRows::default();
    let source = program.people.as_ref().and_then(|people| people.source.as_ref());
    let Some(values) = source.and_then(|source| Values::of(&source.text)) else { return read };
    for table in tables().iter().filter(|table| table.whose == Whose::People) {
        for person in values.rows("person") {
            let may_not_sign = |name: &str| (name == "may_sign").then_some(Value::Flag(false));
            let value =
                |column: &ExportColumn| person.get(&column.name).cloned().or_else(|| may_not_sign(&column.name));
            read.push(table, table.columns.iter().map(value).collect());
        }
    }
    read
}

/// One event, as the source of a row.
struct EventRow<'a> {
    owner: &'a str,
    event: &'a Event,
    patient: Option<&'a Patient>,
    calendar: &'a Calendar,
    selection: &'a Selection,
    values: Values,
}

impl EventRow<'_> {
    fn row(&self, table: &ExportTable) -> ExportRow {
        table.columns.iter().map(|column| self.value(column)).collect()
    }

    fn value(&self, column: &ExportColumn) -> Option<Value> {
        match column.name.as_str() {
            "patient" => Some(text(self.owner)),
            "file" => Some(text(self.event.file())),
            "care_day" => Some(Value::Date(self.event.when.care_day)),
            "source" => Some(text(self.event.source.word())),
            "exit" => self.exit().map(|id| text(&id)),
            "voided" => Some(Value::Flag(self.event.void.is_some())),
            "amended" => Some(Value::Number(self.event.amended.len() as f64)),
            name => self.plain(name, &self.values, &column.shape).filter(|_| self.is_there_yet(name)),
        }
    }

    fn amendment(&self, table: &ExportTable, amended: &Values) -> ExportRow {
        let value = |column: &ExportColumn| match column.name.as_str() {
            "patient" => Some(text(self.owner)),
            "file" => Some(text(self.event.file())),
            name => self.plain(name, amended, &column.shape),
        };
        table.columns.iter().map(value).collect()
    }

    /// Returns the value in the record, a time with its offset; `None` for an impossible value in a voided record.
    fn plain(&self, name: &str, values: &Values, shape: &Shape) -> Option<Value> {
        match values.get(name)?.clone() {
            Value::Moment(moment) => Some(Value::Moment(with_offset(moment, self.calendar))),
            value => Some(value),
        }
        .filter(|value| fits(shape, value))
    }

    /// Returns the exit site to which the event belongs; if that is unclear, the one that it names.
    fn exit(&self) -> Option<String> {
        match self.patient.map(|patient| (patient, patient.belonging(self.event))) {
            Some((patient, Belonging::Exit(ExitDay::One(n) | ExitDay::Closing(n)))) => {
                patient.exits.get(n).map(|exit| exit.id.clone())
            }
            _ => self.event.exit.clone(),
        }
    }

    /// A result and a resolution exist only from their own date on.
    fn is_there_yet(&self, name: &str) -> bool {
        let day = match name {
            "resolved" if self.event.name.kind == Kind::Infection => "resolved",
            name if name.starts_with("result.") => "result.on",
            _ => return true,
        };
        match self.values.get(day) {
            Some(Value::Date(day)) => self.selection.takes_day(*day, self.calendar),
            _ => true,
        }
    }
}

fn text(text: &str) -> Value {
    Value::Text(text.to_owned())
}

/// Adds to a time the offset of its time zone; returns it unchanged if a clock change makes it ambiguous.
fn with_offset(moment: Moment, calendar: &Calendar) -> Moment {
    let instant = if moment.offset.is_none() { calendar.instant(moment.wall).ok() } else { None };
    let offset = instant.map(|instant| *calendar.on_the_wall(instant, calendar.care_day(moment.wall)).offset());
    Moment { offset: moment.offset.or(offset), ..moment }
}

/// Returns true if a value fits its column; only a voided record, which is checked for its form alone, can hold another.
fn fits(shape: &Shape, value: &Value) -> bool {
    match (shape, value) {
        (Shape::Text | Shape::Id, Value::Text(_))
        | (Shape::Flag, Value::Flag(_))
        | (Shape::Date, Value::Date(_))
        | (Shape::TimeOfDay, Value::Time(_))
        | (Shape::Moment, Value::Moment(_)) => true,
        (Shape::Words(words), Value::Text(word)) => words.contains(&word.as_str()),
        (Shape::WholeOr(word), Value::Text(text)) => text == word,
        (Shape::WholeOr(_), Value::Number(number)) => number.fract() == 0.0 && (0.0..=3650.0).contains(number),
        (Shape::Whole(least, most), Value::Number(number)) => {
            number.fract() == 0.0 && (*least as f64..=*most as f64).contains(number)
        }
        (Shape::Measure(least, most), Value::Number(number)) => (*least..=*most).contains(number),
        (Shape::List(item), Value::List(items)) => items.iter().all(|value| fits(item, value)),
        _ => false,
    }
}
