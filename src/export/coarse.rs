//! What of a table may leave the house, column by column: days since the implant in place of dates, a role in place of a
//! person, a number in place of an exit site's id, measures in steps; no code, no text that somebody wrote, no zone.
//!
//! A column that is not known here by its shape is left out: what is new in the records has to be let through by name.

use chrono::NaiveDate;

use super::columns::{Column, Table, Whose, tables};
use super::{Read, Row};
use crate::event::About;
use crate::people::{People, Role};
use crate::record::{Shape, Value};
use crate::word::Word;

/// A role in place of a person: those of staff, then these.
const ROLES: &[&str] = &["coordinator", "nurse", "physician", "educator", "other", "caregiver", "patient", "unknown"];

/// What a contact was about: the first of [`About`] that are no signals, and one word for all signals.
const SUBJECTS: &[&str] = &["overdue", "log", "supply", "other", "signal"];

/// Lengths are rounded down to so many millimeters, so that fewer of them are rare. Common practice, no source.
const STEP_MM: f64 = 5.0;

/// Tables of which nothing is let through: what they say are codes and texts.
const WHOLLY_LEFT_OUT: [&str; 6] = ["patients", "exits", "caregivers", "people", "supply", "amendments"];

/// A column, and what it is made of.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Coarse {
    pub(super) column: Column,
    /// The place of the column that it is made of.
    from: usize,
    how: How,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum How {
    /// Days since the implant.
    Day,
    /// What it is.
    Same,
    /// In steps of millimeters; what is under the first step, and not 0, is 1.
    Steps,
    /// In whole degrees.
    Degrees,
    /// How many items there are.
    Count,
    /// Whether anything stands there.
    Whether,
    /// The role of whoever has the code.
    Role,
    /// The place among the patient's exit sites, from 1.
    Exit,
    /// Subjects, all signals one of them.
    Subjects,
}

impl Coarse {
    /// Whether it is a day, which is let through as it is.
    pub(super) fn is_day(&self) -> bool {
        self.how == How::Day
    }

    /// The columns of a table; none if it is left out.
    pub(super) fn of(table: &Table) -> Option<Vec<Coarse>> {
        if WHOLLY_LEFT_OUT.contains(&table.name) {
            return None;
        }
        let columns = table.columns.iter().enumerate();
        Some(columns.filter_map(|(from, column)| Coarse::of_column(table, from, column)).collect())
    }

    fn of_column(table: &Table, from: usize, plain: &Column) -> Option<Coarse> {
        let name = plain.name.as_str();
        if ["kind", "at", "on", "voided"].contains(&name) || name.starts_with("void.") {
            return None;
        }
        let day = Shape::Whole(-80_000, 80_000);
        let made = |name: String, shape: Shape, how: How, about: String| {
            Some(Coarse { column: Column::of(name, shape, about), from, how })
        };
        let since = || format!("{}, in days since the implant", plain.about);
        match (&plain.shape, name) {
            (_, "care_day") => made("day".into(), day, How::Day, since()),
            (Shape::Date | Shape::Moment, name) => made(format!("{name}_day"), day, How::Day, since()),
            (Shape::Words(_) | Shape::Flag | Shape::Whole(..), name) => {
                made(name.into(), plain.shape.clone(), How::Same, plain.about.clone())
            }
            (Shape::Measure(_, most), name) if name.ends_with("_mm") => {
                let about = format!("{}; rounded down to a multiple of {STEP_MM}, 1 for less than that", plain.about);
                made(name.into(), Shape::Measure(0.0, *most), How::Steps, about)
            }
            (Shape::Measure(..), name) if name.ends_with("_c") => {
                made(name.into(), plain.shape.clone(), How::Degrees, format!("{}, rounded", plain.about))
            }
            (Shape::List(item), name) if **item == Shape::Id => {
                made(name.into(), Shape::Whole(0, 9999), How::Count, format!("how many {}", plain.about))
            }
            (Shape::List(_), "about") => {
                let subjects = Shape::List(Box::new(Shape::Words(SUBJECTS)));
                made(name.into(), subjects, How::Subjects, "about what; all signals are one word".into())
            }
            (Shape::Text, "exit") => {
                made(name.into(), Shape::Whole(1, 999), How::Exit, "which of the patient's exit sites, from 1".into())
            }
            (Shape::Text, "recurrence_of") => {
                made("recurrence".into(), Shape::Flag, How::Whether, "whether it is one that came back".into())
            }
            (Shape::Text, "by" | "with" | "learner" | "observer") if matches!(table.whose, Whose::Events(_)) => {
                made(name.into(), Shape::Words(ROLES), How::Role, format!("{}; the role alone", plain.about))
            }
            _ => None,
        }
    }

    /// The value in a row of the table that it is made of.
    pub(super) fn value(&self, row: &Row, whose: &Owner) -> Option<Value> {
        let value = row.get(self.from)?.as_ref();
        match (self.how, value) {
            (How::Whether, value) => Some(Value::Flag(value.is_some())),
            (_, None) => None,
            (How::Day, Some(Value::Date(day))) => whose.day(*day),
            (How::Day, Some(Value::Moment(moment))) => whose.day(moment.wall.date()),
            (How::Same, Some(value)) => Some(value.clone()),
            (How::Steps, Some(Value::Number(number))) => Some(Value::Number(steps(*number))),
            (How::Degrees, Some(Value::Number(number))) => Some(Value::Number(number.round())),
            (How::Count, Some(Value::List(items))) => Some(Value::Number(items.len() as f64)),
            (How::Role, Some(Value::Text(code))) => Some(word(whose.role(code))),
            (How::Exit, Some(Value::Text(id))) => whose.exit(id),
            (How::Subjects, Some(Value::List(items))) => Some(subjects(items)),
            _ => None,
        }
    }
}

/// Whose rows they are: what a date, a code and an exit site's id stand for.
#[derive(Debug)]
pub(super) struct Owner<'a> {
    implanted: NaiveDate,
    exits: Vec<&'a str>,
    caregivers: Vec<&'a str>,
    people: &'a People,
}

impl<'a> Owner<'a> {
    /// The owner of what was read; none where the course could not be used, so that no day can be counted.
    pub(super) fn of(read: &'a Read, people: &'a People) -> Option<Owner<'a>> {
        let Some(Value::Date(implanted)) = cells(read, "patients", "implanted").next() else { return None };
        let texts = |table, column| cells(read, table, column).filter_map(text).collect();
        Some(Owner {
            implanted: *implanted,
            exits: texts("exits", "id"),
            caregivers: texts("caregivers", "code"),
            people,
        })
    }

    fn day(&self, day: NaiveDate) -> Option<Value> {
        Some(Value::Number((day - self.implanted).num_days() as f64))
    }

    fn exit(&self, id: &str) -> Option<Value> {
        self.exits.iter().position(|own| *own == id).map(|n| Value::Number(n as f64 + 1.0))
    }

    fn role(&self, code: &str) -> &'static str {
        match self.people.get(code).map(|person| person.role) {
            Some(role) => Role::word(role),
            None if self.caregivers.contains(&code) => "caregiver",
            None => ["patient", "other"].into_iter().find(|word| *word == code).unwrap_or("unknown"),
        }
    }
}

/// The values of a column of what was read.
pub(super) fn cells<'a>(
    read: &'a Read,
    table: &'static str,
    column: &str,
) -> impl Iterator<Item = &'a Value> + use<'a> {
    let at = tables().iter().find(|known| known.name == table).and_then(|table| table.position(column));
    let rows = read.rows.get(table).into_iter().flatten();
    rows.filter_map(move |row| row.get(at?)?.as_ref())
}

pub(super) fn text(value: &Value) -> Option<&str> {
    if let Value::Text(text) = value { Some(text) } else { None }
}

pub(super) fn word(word: &str) -> Value {
    Value::Text(word.to_owned())
}

fn steps(number: f64) -> f64 {
    let rounded = (number / STEP_MM).floor() * STEP_MM;
    if rounded == 0.0 && number > 0.0 { 1.0 } else { rounded }
}

fn subjects(items: &[Value]) -> Value {
    let of = |item: &Value| match text(item).and_then(About::from_word) {
        Some(About::Overdue) => "overdue",
        Some(About::Log) => "log",
        Some(About::Supply) => "supply",
        Some(About::Other) | None => "other",
        Some(_) => "signal",
    };
    let said: Vec<&str> = items.iter().map(of).collect();
    Value::List(SUBJECTS.iter().filter(|subject| said.contains(subject)).map(|subject| word(subject)).collect())
}

#[cfg(test)]
mod tests {
    use super::steps;

    #[test]
    fn a_length_is_told_in_steps() {
        let check = |length: f64, expected: f64| assert_eq!(steps(length), expected, "{length} mm");
        check(0.0, 0.0);
        check(0.5, 1.0);
        check(4.9, 1.0);
        check(5.0, 5.0);
        check(12.0, 10.0);
    }
}
