//! `exitsite patient caregiver`

use super::{CourseChange, PATIENT, PatientFile};
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::{Context, Outcome};
use crate::entry::Course;
use crate::patient::Patient;
use crate::problem::Failure;
use crate::view::change;
use crate::view::words::question::course;

/// Adds a caregiver.
pub(super) const FORM: CommandForm = CommandForm {
    name: "caregiver",
    about: "Add a caregiver, by code",
    more: "",
    whose: PATIENT,
    fields: Patient::fields,
    table: "caregiver",
    keys: &[
        KeyFlag::new("code", Need::NewCode, course::CAREGIVER_CODE),
        KeyFlag::new("relation", Need::Asked("not recorded"), course::RELATION),
        KeyFlag::new("by", Need::Writer, course::WRITER),
    ],
    own: |command| command,
    run,
};

fn run(typed: &TypedForm, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let chart = PatientFile::open(context, &program, typed)?;
    let row = chart.row(&FORM, typed)?;
    let relation = row.text("relation").map(|relation| format!(", {relation}")).unwrap_or_default();
    let words = format!("caregiver {}{relation}", row.text("code").unwrap_or_default());
    let mut course = Course::of(&chart.patient)?;
    course.cared_for(&row)?;
    let lines = course.lines_of("caregiver", "code", row.text("code").unwrap_or_default());
    let back = change::remove_lines(lines, "caregiver", chart.patient.file());
    chart.settle(&course, CourseChange { words, back, ..CourseChange::default() }, typed.writing)
}
