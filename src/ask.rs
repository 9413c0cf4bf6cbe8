//! The questions of the reading commands: each names the windows that it needs and builds its report.
//!
//! The only place where the disk and the pure reports meet. No other code opens patients' files for a report.

pub mod effect;
pub(crate) mod history;
mod policy;
mod teaching;

pub use policy::policy;
pub(crate) use teaching::discharge;
pub use teaching::teaching;

use rayon::prelude::*;

use crate::chart::{Chart, Looks, Unjudged, Window};
use crate::day::{AsOf, Period};
use crate::entry::Contacts;
use crate::event::Event;
use crate::policy::{CarePlan, Scoring};
use crate::problem::{Failure, Problem};
use crate::program::Program;
use crate::report::Unusable;
use crate::report::contacts::{self, ContactsReport};
use crate::report::due::{self, DueReport, Row};
use crate::report::grade::{self, GradeReport};
use crate::report::handoff::{self, HandoffReport, Shift};
use crate::report::missed::{self, MissedReport};
use crate::report::sheet::{self, MonthLog};
use crate::report::show::{self, EventText, ShowReport};
use crate::report::signals::{self, SignalsReport};
use crate::report::supplies::{self, SuppliesReport};

/// A report, and the unreadable files.
pub type Answer<R> = (R, Vec<Unusable>);

/// The windows of the due list: the state and the signals.
pub const DUE: [Window; 2] = [Window::Signals, Window::Recent];

/// Opens `windows` of each patient's records, several patients in parallel, and passes the charts to a question.
fn charts<A: Send>(
    program: &Program,
    codes: &[&str],
    windows: &[Window],
    as_of: AsOf,
    question: impl Fn(&Chart) -> A + Sync,
    unjudged: impl Fn(&str, &Unjudged) -> A + Sync,
) -> Answer<Vec<A>> {
    let ask = |code: &&str| one(program, code, windows, as_of, &question, &unjudged);
    let (answers, unusable): (Vec<A>, Vec<Vec<Unusable>>) =
        program.folder.waiting(|| codes.par_iter().map(ask).unzip());
    (answers, unusable.concat())
}

/// Opens `windows` of one patient's records, and passes the chart to a question.
fn one<A>(
    program: &Program,
    code: &str,
    windows: &[Window],
    as_of: AsOf,
    question: impl Fn(&Chart) -> A,
    unjudged: impl Fn(&str, &Unjudged) -> A,
) -> Answer<A> {
    match program.chart(code, windows, as_of) {
        Ok(chart) => (question(&chart), files(chart.unread.problems())),
        Err(why) => (unjudged(code, &why), files(&why.problems)),
    }
}

fn files<'p>(problems: impl IntoIterator<Item = &'p Problem>) -> Vec<Unusable> {
    problems.into_iter().filter(|problem| problem.makes_unusable()).map(Unusable::from).collect()
}

/// The unreadable parts of the policy and the staff list and, if no patient was named, the names in the folder of
/// patients that are not patient codes.
pub(crate) fn unusable_of(program: &Program, is_everybody: bool) -> Vec<Unusable> {
    let strays = program.patients.strays.iter().map(|(_, problem)| problem).filter(|_| is_everybody);
    files(&program.problems).into_iter().chain(strays.map(Unusable::from)).collect()
}

/// The unreadable files without which the state of a patient cannot be determined; empty if it can.
pub(crate) fn unusable_of_patient(program: &Program, code: &str, as_of: AsOf) -> Vec<Unusable> {
    match program.chart(code, &[Window::State], as_of) {
        Ok(chart) if chart.unread.state().is_none() => Vec::new(),
        Ok(chart) => files(chart.unread.problems()),
        Err(unjudged) => files(&unjudged.problems),
    }
}

/// The due list of `codes`, worst first; with `is_everybody`, names in the folder of patients that are not patient codes
/// are rows too.
pub fn due(program: &Program, codes: &[&str], as_of: AsOf, is_everybody: bool) -> Answer<DueReport> {
    let rules = program.rules();
    let (rows, files) = match rules.plan() {
        Some(_) => charts(program, codes, &DUE, as_of, due::rows, due::unjudged),
        None => (codes.iter().map(|code| vec![Row::unusable(code, &rules.policy_problem())]).collect(), Vec::new()),
    };
    let strays = if is_everybody { program.patients.strays.as_slice() } else { &[] };
    (due::report(rules, rows.concat(), strays), [unusable_of(program, is_everybody), files].concat())
}

/// Compares the entries of the contacts file with the people on file.
pub fn contacts(program: &Program, contacts: &Contacts, as_of: AsOf) -> Answer<ContactsReport> {
    let today = program.calendar().today(as_of.instant);
    let mut problems = Vec::new();
    let patients = program.patients.codes.iter().map(|code| (code.as_str(), program.patient(code, &mut problems)));
    let report = contacts::report(contacts, patients.collect(), today);
    (report, [unusable_of(program, true), files(&problems)].concat())
}

/// The handoff of a shift, for all patients.
pub fn handoff(program: &Program, as_of: AsOf, shift: Shift) -> Answer<HandoffReport> {
    let codes: Vec<&str> = program.patients.codes.iter().map(String::as_str).collect();
    let rules = program.rules();
    let rows = |chart: &Chart| (due::rows(chart), handoff::of_patient(chart, shift.since));
    let unjudged = |code: &str, why: &Unjudged| (due::unjudged(code, why), handoff::unjudged(code));
    // A signal that ended since the start of the shift was open at its start.
    let windows = [Window::LookBack, Window::Recent];
    let (answers, files) = charts(program, &codes, &windows, as_of, rows, unjudged);
    let (rows, parts): (Vec<Vec<Row>>, Vec<_>) = answers.into_iter().unzip();
    let due = due::report(rules, rows.concat(), &program.patients.strays);
    (handoff::report(due, parts, shift, &program.calendar()), [unusable_of(program, true), files].concat())
}

/// The signals of `codes`: the open ones; with `is_all`, ended ones too.
pub fn signals(program: &Program, codes: &[&str], as_of: AsOf, is_all: bool) -> Answer<SignalsReport> {
    let windows = [if is_all { Window::LookBack } else { Window::Signals }, Window::State];
    let unjudged = |code: &str, _: &Unjudged| signals::unjudged(code);
    let (patients, files) = charts(program, codes, &windows, as_of, signals::of_patient, unjudged);
    (signals::report(program.rules(), patients, is_all), [unusable_of(program, false), files].concat())
}

/// The scores of the exit sites of `codes`.
pub fn grade(program: &Program, scoring: &Scoring, codes: &[&str], as_of: AsOf, looks: Looks) -> Answer<GradeReport> {
    let rows = |chart: &Chart| grade::rows(scoring, chart, looks);
    let windows = [Window::Sites(looks), Window::Signals];
    let (rows, files) = charts(program, codes, &windows, as_of, rows, |code, _| grade::unjudged(code));
    (GradeReport { rows: rows.concat() }, files)
}

/// The expected changes of `codes` over a period.
pub fn missed(program: &Program, plan: &CarePlan, codes: &[&str], as_of: AsOf, period: Period) -> Answer<MissedReport> {
    let rows = |chart: &Chart| missed::rows(plan, chart, period);
    let (rows, files) =
        charts(program, codes, &[Window::Changes(period)], as_of, rows, |code, _| missed::unjudged(code));
    (MissedReport { rows: rows.concat(), period }, files)
}

/// The supplies of `codes`, worst first; with `is_named`, those of patients whose support has ended too.
pub fn supplies(program: &Program, codes: &[&str], as_of: AsOf, is_named: bool) -> Answer<SuppliesReport> {
    let windows = supplies::windows(program.rules());
    let unjudged = |code: &str, _: &Unjudged| supplies::unjudged(code);
    let (households, files) = charts(program, codes, windows, as_of, supplies::household, unjudged);
    (supplies::report(households, is_named), [unusable_of(program, !is_named), files].concat())
}

/// The history of one patient, of a period or complete; `text_of` words an event.
pub fn show(
    program: &Program,
    code: &str,
    as_of: AsOf,
    period: Option<Period>,
    text_of: impl Fn(&Event, Option<&Problem>) -> EventText,
) -> Answer<ShowReport> {
    let windows = [Window::Everything, Window::LookBack, Window::Recent];
    let story = |chart: &Chart| show::story(chart, period, &text_of);
    let unjudged = |code: &str, _: &_| ShowReport { patient: code.to_owned(), ..ShowReport::default() };
    let (story, files) = one(program, code, &windows, as_of, story, unjudged);
    (story, [files, unusable_of(program, false)].concat())
}

/// The log of a patient's month, for the household to fill in.
///
/// # Errors
/// The patient's course is unreadable, or nothing is expected of the patient in that month.
pub fn log(
    program: &Program,
    plan: &CarePlan,
    code: &str,
    as_of: AsOf,
    month: Period,
) -> Result<Answer<MonthLog>, Failure> {
    let chart =
        |window| program.chart(code, &[window], as_of).map_err(|why| sheet::cannot_be_judged(code, &why.problems));
    let (recent, around) = (chart(Window::State)?, chart(Window::Changes(month))?);
    let log = sheet::log(plan, &recent, &around, month)?;
    Ok((log, files(recent.unread.problems().chain(around.unread.problems()))))
}
