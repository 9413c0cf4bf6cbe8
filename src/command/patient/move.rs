//! `exitsite patient move`

use chrono::NaiveDate;

use super::{CourseChange, EndsSignals, PATIENT, PatientFile};
use crate::ask;
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::gap::{self, FlagGaps};
use crate::command::{Context, Outcome, consent};
use crate::day::{AsOf, Instant};
use crate::entry::Course;
use crate::patient::{CareRow, Patient};
use crate::policy::CarePlace;
use crate::problem::Failure;
use crate::record::Value;
use crate::report::teaching::{DischargeRequirement, Line};
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
    let mut row = chart.row(&FORM, typed)?;
    let from = day(&chart, typed)?.or(row.date("from")).unwrap_or(chart.today());
    row.set("from", Value::Date(from));
    let place = row.text("place").unwrap_or_default().to_owned();
    let place = place.as_str();
    let mut course = Course::of(&chart.patient)?;
    let plan = course.planned(from, chart.today()).map(|plan| (plan.from, plan.place.word()));
    let is_new_day = plan.is_some_and(|(_, planned)| planned == place);
    let mut doubts = match is_new_day {
        // The planned row keeps what it says about the household.
        true => Vec::new(),
        false => course.forgotten(place, row.get("time_zone").is_some(), row.get("reports").is_some()),
    };
    doubts.extend(chart.ahead(from));
    if is_new_day && row.get("why").is_none() {
        row.set("why", Value::Text(why_another_day(context, typed)?));
    }
    doubts.extend(plan.map(|(day, planned)| match is_new_day {
        true => format!("The move ({place}) was planned for {day}. Its row gets the new day, {from}."),
        false => format!("The move planned for {day} ({planned}) stays planned."),
    }));
    course.moved(from, &row, chart.today())?;
    let file = chart.patient.file();
    let lines = course.lines_of("care", "from", &from.to_string());
    let back = match (plan.filter(|_| is_new_day), lines) {
        (Some((day, _)), Some((first, last))) => {
            format!("If it is wrong: set `from` in lines {first} to {last} of {file}, that [[care]], back to {day}.")
        }
        (Some((day, _)), None) => format!("If it is wrong: set `from` of that [[care]] back to {day} in {file}."),
        (None, lines) => view::change::remove_lines(lines, "care", file),
    };
    let shown = match is_discharge(&chart, place, from) {
        true => checklist(&chart, from, &mut doubts),
        false => String::new(),
    };
    let words = format!("{place} from {from}");
    let takes_effect = Some(from);
    let spoken = Some(EndsSignals::spoken(typed));
    // A move ends only signals about the place itself.
    let change = CourseChange {
        words,
        shown,
        doubts,
        back,
        spoken,
        takes_effect,
        is_end_meant: true,
        ..CourseChange::default()
    };
    chart.settle(&course, change, typed.writing)
}

/// The day of a move for which no day was typed, asked for at a terminal if a later move is planned; `None` if not asked.
fn day(chart: &PatientFile, typed: &TypedForm) -> Result<Option<NaiveDate>, Failure> {
    let (context, today) = (chart.context, chart.today());
    let course = Course::of(&chart.patient)?;
    let Some(plan) = course.planned(today, today) else { return Ok(None) };
    if typed.get("from").is_some() || typed.writing.yes || context.surroundings.terminal.is_none() {
        return Ok(None);
    }
    context.say(&format!("A move ({}) is planned for {}.", plan.place, plan.from));
    FlagGaps::walk(context, false, |gaps| {
        gaps.needed(("--from", "the day of the move", course::MOVED_ON), None, |text| {
            let day = chart.clock().day(text)?;
            consent::date_meant(context.surroundings.terminal, text, &Value::Date(day)).map(|()| day)
        })
    })
}

/// Returns true if the patient comes home from another place.
fn is_discharge(chart: &PatientFile, place: &str, from: NaiveDate) -> bool {
    let is_home = |row: &CareRow| row.place == CarePlace::Home;
    let before = chart.patient.care.iter().rfind(|row| row.from < from);
    place == CarePlace::Home.word() && !before.is_some_and(is_home)
}

/// The reason why a planned move gets another day.
fn why_another_day(context: &Context, typed: &TypedForm) -> Result<String, Failure> {
    let why = FlagGaps::walk(context, typed.writing.yes, |gaps| {
        let why = ("--why", "the reason why the planned day changes", course::MOVED_EARLIER_BECAUSE);
        gaps.needed(why, None, gap::reason)
    })?;
    why.ok_or_else(gap::incomplete)
}

/// The discharge checklist as of the day of the move; each unmet line is a doubt.
fn checklist(chart: &PatientFile, from: NaiveDate, doubts: &mut Vec<String>) -> String {
    let now = chart.context.surroundings.now;
    let at = now.max(chart.patient.calendar.start(from));
    // A move that was planned for later is the one that is written now.
    let mut patient = chart.patient.clone();
    patient.care.retain(|row| row.from <= from);
    let of = |instant: Instant, is_given| ask::discharge(chart.program, &patient, AsOf { instant, is_given });
    let (Some(mut discharge), Some(today)) = (of(at, true), of(now, false)) else { return String::new() };
    discharge.planned_on = Some(from);
    // A change is current or overdue today, not on the day of a planned move: until then there are no records.
    let is_of_dressing = |line: &Line| line.needs == DischargeRequirement::DressingCurrent;
    discharge.lines.retain(|line| !is_of_dressing(line));
    discharge.lines.extend(today.lines.into_iter().filter(is_of_dressing));
    doubts.extend(discharge.lines.iter().filter_map(view::unmet));
    view::checklist(&discharge, chart.context.look)
}
