//! `exitsite patient exit`

use clap::{Arg, Command};

use super::{CourseChange, EndsSignals, PATIENT, PatientFile};
use crate::ask::{self, effect};
use crate::command::form::{CommandForm, KeyFlag, Need, TypedForm};
use crate::command::{Context, Outcome};
use crate::day::AsOf;
use crate::entry::Course;
use crate::patient::Patient;
use crate::problem::Failure;
use crate::schedule::{Because, State};
use crate::signal::{Episode, Urgency};
use crate::text::visible;
use crate::view::words::question::course;
use crate::view::{self, words};

/// Opens an exit site.
pub(super) const FORM: CommandForm = CommandForm {
    name: "exit",
    about: "Record a new exit site, or the last day of one",
    more: "",
    whose: PATIENT,
    fields: Patient::fields,
    table: "exit",
    keys: &[
        KeyFlag::new("id", Need::NewExit, course::NEW_EXIT),
        KeyFlag::new("where", Need::Needed, course::WHERE),
        KeyFlag::new("why", Need::Needed, course::NEW_EXIT_BECAUSE),
        KeyFlag::new("from", Need::Needed, course::NEW_EXIT_DAY),
        KeyFlag::new("by", Need::Writer, course::WRITER),
    ],
    own,
    run,
};

/// Closes one, with `--until`.
const CLOSED: CommandForm = CommandForm {
    keys: &[
        KeyFlag::new("id", Need::OpenExit, course::CLOSED_EXIT),
        KeyFlag::new("until", Need::Needed, course::CLOSED_EXIT_DAY),
    ],
    ..FORM
};

fn own(command: Command) -> Command {
    let closes = "Exit site that closes that day, for example after a relocation";
    let until = "Last day (inclusive) of exit site --id; no new one is opened";
    EndsSignals::flag(command).arg(Arg::new("closes").long("closes").value_name("ID").help(closes)).arg(
        Arg::new("until")
            .long("until")
            .value_name("DAY")
            .help(until)
            .conflicts_with_all(["where", "why", "from", "closes"]),
    )
}

fn run(typed: &TypedForm, context: &Context) -> Result<Outcome, Failure> {
    let program = context.open()?;
    let chart = PatientFile::open(context, &program, typed)?;
    if typed.get("until").is_some() { closed(typed, &chart) } else { opened(typed, &chart) }
}

fn opened(typed: &TypedForm, chart: &PatientFile) -> Result<Outcome, Failure> {
    let row = chart.row(&FORM, typed)?;
    let (id, from) = (row.text("id").unwrap_or_default(), row.date("from").unwrap_or(chart.today()));
    let closes = typed.get("closes");
    let mut course = Course::of(&chart.patient)?;
    if let Some(other) = closes {
        course.closed(other, from)?;
    }
    let closing = closes.map(|other| format!("; exit {} closes that day", visible(other))).unwrap_or_default();
    let at = row.text("where").unwrap_or_default();
    let words = format!("exit {}, {at}, from {from}{closing}", visible(id));
    course.opened(id, &row)?;
    let lines = course.lines_of("exit", "id", id);
    let back = view::change::remove_lines(lines, "exit", chart.patient.file());
    let change = CourseChange {
        words,
        doubts: chart.ahead(from).into_iter().collect(),
        closes: closes.map(|other| open_at(chart, other)).unwrap_or_default(),
        back,
        takes_effect: Some(from),
        spoken: Some(EndsSignals::spoken(typed)),
        ..CourseChange::default()
    };
    chart.settle(&course, change, typed.writing)
}

fn closed(typed: &TypedForm, chart: &PatientFile) -> Result<Outcome, Failure> {
    let row = chart.row(&CLOSED, typed)?;
    let (id, until) = (row.text("id").unwrap_or_default(), row.date("until").unwrap_or(chart.today()));
    let mut course = Course::of(&chart.patient)?;
    course.closed(id, until)?;
    let back = format!("If it is wrong: correct `until` of that [[exit]] in {}.", chart.patient.file());
    let change = CourseChange {
        words: format!("exit {} closes, last day {until}", visible(id)),
        doubts: chart.ahead(until).into_iter().collect(),
        closes: open_at(chart, id),
        back,
        takes_effect: Some(until),
        spoken: Some(EndsSignals::spoken(typed)),
        ..CourseChange::default()
    };
    chart.settle(&course, change, typed.writing)
}

/// The open signals of today and the running clocks of an exit site, as sentences.
fn open_at(chart: &PatientFile, id: &str) -> Vec<String> {
    let (code, now) = (chart.patient.code.as_str(), chart.context.surroundings.now);
    let (report, _) = ask::signals(chart.program, &[code], AsOf { instant: now, is_given: false }, false);
    let is_here = |signal: &&Episode| signal.urgency == Urgency::Today && signal.exit.as_deref() == Some(id);
    let names: Vec<&str> = report.signals.iter().filter(is_here).map(|signal| words::signal(signal.signal)).collect();
    let mut open = Vec::new();
    if !names.is_empty() {
        let names = names.join(", ");
        open.push(format!(
            "Exit {} still needs review today: {names}. It stays open when the exit closes.",
            visible(id)
        ));
    }
    let rows = effect::standing(chart.program, code, now);
    for row in rows.iter().filter(|row| row.exit() == Some(id)) {
        let because = row.site().and_then(|site| site.due.because);
        let is_running = matches!(because, Some(Because::AfterShower | Because::Damage));
        if is_running || row.state() == State::Overdue {
            let state = view::entry::standing(row);
            open.push(format!(
                "Exit {} has a change due ({state}). Nothing is due there once it is closed.",
                visible(id)
            ));
        }
    }
    open
}
