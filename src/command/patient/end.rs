//! `exitsite patient end`

use super::{Change, Chart, Ends, PATIENT};
use crate::command::form::{Form, Key, Need, Typed};
use crate::command::{Context, Outcome};
use crate::entry::Course;
use crate::patient::Patient;
use crate::problem::Failure;

/// Records the end of support.
pub(super) const FORM: Form = Form {
    name: "end",
    about: "Record the end of support: nothing is due from that day on",
    more: "",
    whose: PATIENT,
    fields: Patient::fields,
    table: "ended",
    keys: &[
        Key::new("on", Need::Needed).asks("On which day did support end?"),
        Key::new("why", Need::Needed).asks("Why did support end?"),
        Key::new("by", Need::Writer),
    ],
    own: Ends::flag,
    run,
};

fn run(typed: &Typed, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let chart = Chart::open(context, &program, typed)?;
    let row = chart.row(&FORM, typed)?;
    let on = row.date("on").unwrap_or(chart.today());
    let words = format!("support ends on {on}, {}", row.text("why").unwrap_or_default());
    let mut course = Course::of(&chart.patient)?;
    course.ended(&row)?;
    let back = format!("If it is wrong: remove [ended] from {}.", chart.patient.file());
    let doubts = chart.ahead(on).into_iter().collect();
    let change =
        Change { words, doubts, back, takes_effect: Some(on), spoken: Some(Ends::spoken(typed)), ..Change::default() };
    chart.settle(&course, change, typed.writing)
}
