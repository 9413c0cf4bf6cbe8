//! `exitsite patient move`

use chrono::NaiveDate;

use super::{Change, Chart, Whose};
use crate::ask;
use crate::command::closing::Spoken;
use crate::command::correction::Writing;
use crate::command::gap::{self, Gaps};
use crate::command::{Desk, Outcome};
use crate::day::AsOf;
use crate::entry::Course;
use crate::patient::CareRow;
use crate::policy::CarePlace;
use crate::problem::Failure;
use crate::record::Value;
use crate::view;
use crate::word::Word;

/// Where a patient is from a day on: inpatient, home, elsewhere
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(flatten)]
    whose: Whose,

    /// inpatient, home, or elsewhere (another hospital, rehab: no records are expected)
    #[arg(long, value_name = "PLACE")]
    place: Option<String>,

    /// The first day there; default: today
    #[arg(long, value_name = "DATE")]
    from: Option<String>,

    /// How the household tells what happened: each change as it happens (each), or by a log now and then (log)
    #[arg(long, value_name = "HOW")]
    reports: Option<String>,

    /// The time zone there, where it is not the program's, such as America/Denver
    #[arg(long, value_name = "ZONE")]
    time_zone: Option<String>,

    /// Who writes it down, by code; else EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by: Option<String>,

    /// Why
    #[arg(long, value_name = "TEXT")]
    why: Option<String>,

    #[command(flatten)]
    writing: Writing,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let chart = Chart::open(desk, &program, &args.whose)?;
    let mut gaps = Gaps::of(desk, args.writing.yes);
    let place = "where the patient is: inpatient, home or elsewhere";
    let place = gaps.needed("--place", place, args.place.as_deref(), chart.read("care", "place"));
    let from = chart.day(&mut gaps, "--from", args.from.as_deref());
    let reports = gaps.optional("--reports", args.reports.as_deref(), chart.read("care", "reports"));
    let time_zone = gaps.optional("--time-zone", args.time_zone.as_deref(), chart.read("care", "time_zone"));
    let by = chart.writer(&mut gaps, args.by.as_deref());
    let why = gaps.optional("--why", args.why.as_deref(), gap::words);
    gaps.end()?;
    let (Some(Value::Text(place)), Some(from), Some(by)) = (place, from, by) else { return Err(gap::incomplete()) };
    let mut course = Course::of(&chart.patient)?;
    let mut doubts = course.forgotten(&place, time_zone.is_some(), reports.is_some());
    doubts.extend(chart.ahead(from));
    course.moved(
        from,
        vec![
            ("from", Some(Value::Date(from))),
            ("place", Some(Value::Text(place.clone()))),
            ("reports", reports),
            ("time_zone", time_zone),
            ("by", Some(Value::Text(by))),
            ("why", why.map(Value::Text)),
        ],
    )?;
    let back = format!("If it is wrong: take that row of [[care]] out of {} again.", chart.patient.file());
    let shown = match is_discharge(&chart, &place) {
        true => checklist(&chart, from, &mut doubts)?,
        false => String::new(),
    };
    // Only what ends by the move itself can end with it.
    let spoken = Some(Spoken { flag: None, is_typed: true, is_yes: true });
    let words = format!("{place} from {from}");
    chart.settle(&course, Change { words, shown, doubts, back, spoken, ..Change::default() }, args.writing)
}

/// Whether the patient comes home from another place.
fn is_discharge(chart: &Chart, place: &str) -> bool {
    let is_home = |row: &CareRow| row.place == CarePlace::Home;
    place == CarePlace::Home.word() && !chart.patient.care.last().is_some_and(is_home)
}

/// The discharge checklist as of the day of the move; each line not met is a doubt.
fn checklist(chart: &Chart, from: NaiveDate, doubts: &mut Vec<String>) -> Result<String, Failure> {
    let at = chart.desk.surroundings.now.max(chart.patient.calendar.start(from));
    let as_of = AsOf { instant: at, is_given: true };
    let (report, _) = ask::teaching(chart.program, std::slice::from_ref(&chart.patient.code), as_of)?;
    let mut shown = String::new();
    for mut discharge in report.discharge {
        discharge.planned_on = Some(from);
        doubts.extend(discharge.lines.iter().filter_map(view::unmet));
        shown.push_str(&view::checklist(&discharge, chart.desk.look));
    }
    Ok(shown)
}
