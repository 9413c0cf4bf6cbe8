//! `exitsite patient move`

use chrono::NaiveDate;

use super::{CourseChange, EndsSignals, PATIENT, PatientFile};
use crate::ask;
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::{Context, Outcome};
use crate::day::AsOf;
use crate::entry::Course;
use crate::patient::{CareRow, Patient};
use crate::policy::CarePlace;
use crate::problem::Failure;
use crate::view;
use crate::view::words::question::course;
use crate::word::Word;

/// Moves a patient.
pub(super) const FORM: CommandForm = CommandForm {
    name: "move",
    about: "Record a move: inpatient, home, or elsewhere from a day on",
    more: "",
    whose: PATIENT,
    fields: Patient::fields,
    table: "care",
    keys: &[
        KeyFlag::new("place", Need::Needed, course::MOVED_TO),
        KeyFlag::new("from", Need::Today, course::MOVED_ON),
        KeyFlag::new("reports", Need::May, course::REPORTS),
        KeyFlag::new("time_zone", Need::May, course::OWN_TIME_ZONE),
        KeyFlag::new("by", Need::Writer, course::WRITER),
        KeyFlag::new("why", Need::May, course::MOVED_BECAUSE),
    ],
    own: EndsSignals::flag,
    run,
};

fn run(typed: &TypedForm, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let chart = PatientFile::open(context, &program, typed)?;
    let row = chart.row(&FORM, typed)?;
    let (place, from) = (row.text("place").unwrap_or_default(), row.date("from").unwrap_or(chart.today()));
    let mut course = Course::of(&chart.patient)?;
    let mut doubts = course.forgotten(place, row.get("time_zone").is_some(), row.get("reports").is_some());
    doubts.extend(chart.ahead(from));
    course.moved(from, &row)?;
    let back = format!("If it is wrong: remove that row of [[care]] from {}.", chart.patient.file());
    let shown = match is_discharge(&chart, place) {
        true => checklist(&chart, from, &mut doubts)?,
        false => String::new(),
    };
    let words = format!("{place} from {from}");
    let spoken = Some(EndsSignals::spoken(typed));
    // A move ends only signals about the place itself.
    let change = CourseChange { words, shown, doubts, back, spoken, is_end_meant: true, ..CourseChange::default() };
    chart.settle(&course, change, typed.writing)
}

/// Returns true if the patient comes home from another place.
fn is_discharge(chart: &PatientFile, place: &str) -> bool {
    let is_home = |row: &CareRow| row.place == CarePlace::Home;
    place == CarePlace::Home.word() && !chart.patient.care.last().is_some_and(is_home)
}

/// The discharge checklist as of the day of the move; each unmet line is a doubt.
fn checklist(chart: &PatientFile, from: NaiveDate, doubts: &mut Vec<String>) -> Result<String, Failure> {
    let at = chart.context.surroundings.now.max(chart.patient.calendar.start(from));
    let as_of = AsOf { instant: at, is_given: true };
    let (report, _) = ask::teaching(chart.program, std::slice::from_ref(&chart.patient.code), as_of)?;
    let mut shown = String::new();
    for mut discharge in report.discharge {
        discharge.planned_on = Some(from);
        doubts.extend(discharge.lines.iter().filter_map(view::unmet));
        shown.push_str(&view::checklist(&discharge, chart.context.look));
    }
    Ok(shown)
}
