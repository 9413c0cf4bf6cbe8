//! `exitsite patient end`

use super::{CourseChange, EndsSignals, PATIENT, PatientFile};
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::{Context, Outcome};
use crate::entry::Course;
use crate::patient::Patient;
use crate::problem::Failure;
use crate::view::words::question::course;

/// Records the end of support.
pub(super) const FORM: CommandForm = CommandForm {
    name: "end",
    about: "Record the end of support: nothing is due from that day on",
    more: "",
    whose: PATIENT,
    fields: Patient::fields,
    table: "ended",
    keys: &[
        KeyFlag::new("on", Need::Needed, course::ENDED_ON),
        KeyFlag::new("why", Need::Needed, course::ENDED_BECAUSE),
        KeyFlag::new("by", Need::Writer, course::WRITER),
    ],
    own: EndsSignals::flag,
    run,
};

fn run(typed: &TypedForm, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let chart = PatientFile::open(context, &program, typed)?;
    let row = chart.row(&FORM, typed)?;
    let on = row.date("on").unwrap_or(chart.today());
    let words = format!("support ends on {on}, {}", row.text("why").unwrap_or_default());
    let mut course = Course::of(&chart.patient)?;
    course.ended(&row)?;
    let back = format!("If it is wrong: remove [ended] from {}.", chart.patient.file());
    let doubts = chart.ahead(on).into_iter().collect();
    let change = CourseChange {
        words,
        doubts,
        back,
        takes_effect: Some(on),
        spoken: Some(EndsSignals::spoken(typed)),
        ..CourseChange::default()
    };
    chart.settle(&course, change, typed.writing)
}
