//! `exitsite patient`: changes to a patient's course.

mod add;
mod caregiver;
mod end;
mod exit;
mod r#move;
mod order;

use std::sync::Arc;

use chrono::NaiveDate;
use clap::{Arg, ArgAction, Command};

use super::closing::{self, Close, Spoken};
use super::consent::{self, ConsentAnswer, LastQuestion};
use super::correction::{Writing, lines};
use super::form::{CommandForm, Need, TypedForm, forms};
use super::question::Questions;
use super::record::not_a_clinician;
use super::{Context, Outcome};
use crate::ask::effect;
use crate::check;
use crate::day::Instant;
use crate::entry::{self, Book, Clock, Course, Verdict};
use crate::event::Event;
use crate::patient::{ExitSite, Patient};
use crate::place::RecordText;
use crate::problem::{Failure, Level, Problem, Rule};
use crate::program::Program;
use crate::record::Values;
use crate::report::consequence::{Consequence, Side};
use crate::report::due::Row;
use crate::schedule::{Because, Due, Schedule, State};
use crate::timeline::Timeline;
use crate::view::{self, change};

/// Add a patient; record moves, orders, exit sites, caregivers
///
/// Each command edits patient.toml, keeps its comments and layout, and shows the new schedule.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    #[command(subcommand)]
    sub: Sub,
}

const FORMS: [&CommandForm; 6] = [&add::FORM, &r#move::FORM, &order::FORM, &exit::FORM, &caregiver::FORM, &end::FORM];

forms!(Sub of FORMS);

pub(super) fn run(args: &Args, context: &Context) -> Result<Outcome, Failure> {
    args.sub.run(context)
}

/// The value after the name of each form.
const PATIENT: (&str, &str) = ("PATIENT", "The patient");

/// A patient's file, opened for a change.
struct PatientFile<'a> {
    context: &'a Context<'a>,
    program: &'a Program,
    patient: Patient,
}

/// A change to a patient's course, and the doubts about it.
#[derive(Default)]
struct CourseChange {
    /// In words: `home from 2026-11-24`.
    words: String,
    /// The text below the words, before the questions.
    shown: String,
    /// Doubts that the user has to accept.
    doubts: Vec<String>,
    /// Open dangers that it ends or takes off the list, one sentence each. `--yes` does not confirm these.
    closes: Vec<String>,
    /// The day on which it takes effect, if it can end signals.
    takes_effect: Option<NaiveDate>,
    /// A script's confirmation of what it ends or takes off the list.
    spoken: Option<Spoken>,
    /// True if the signals that it ends need no confirmation.
    is_end_meant: bool,
    /// A script's confirmation of an ordered interval above the policy's limit.
    longer: Option<Spoken>,
    /// The way to undo it.
    back: String,
}

/// The flag by which a script confirms that open signals end and that overdue changes leave the list.
struct EndsSignals;

impl EndsSignals {
    fn flag(command: Command) -> Command {
        let help = "Confirm that open signals end and overdue changes leave the list; --yes does not confirm that";
        command.arg(Arg::new("ends-signals").long("ends-signals").action(ArgAction::SetTrue).help(help))
    }

    fn spoken(typed: &TypedForm) -> Spoken {
        Spoken { flag: Some("--ends-signals"), is_typed: typed.is_set("ends-signals"), is_yes: typed.writing.yes }
    }
}

impl<'a> PatientFile<'a> {
    /// Opens a patient's file.
    ///
    /// # Errors
    /// No such patient, or the file cannot be used as it is.
    fn open(context: &'a Context<'a>, program: &'a Program, typed: &TypedForm) -> Result<PatientFile<'a>, Failure> {
        let code = &typed.code;
        program.codes(std::slice::from_ref(code))?;
        let mut problems = Vec::new();
        match program.patient(code, &mut problems) {
            Some(patient) => Ok(PatientFile { context, program, patient }),
            None => {
                let problem = problems.iter().find(|problem| problem.makes_unusable());
                let why = problem.map(|problem| format!("{}: {}", problem.place.file, problem.message));
                Err(Failure::new(format!(
                    "{code} cannot be changed: {}; correct that first, `exitsite check` shows where",
                    why.unwrap_or_default()
                )))
            }
        }
    }

    fn clock(&self) -> Clock<'_> {
        Clock { now: self.context.surroundings.now, calendar: &self.patient.calendar }
    }

    fn today(&self) -> NaiveDate {
        self.patient.calendar.today(self.context.surroundings.now)
    }

    /// Fills in a form from its flags, and at a terminal from answers.
    fn row(&self, form: &CommandForm, typed: &TypedForm) -> Result<Values, Failure> {
        let is_by = |need: Need, code: &str| match need {
            Need::NewCode => is_free(self.program, code),
            Need::NewExit => entry::is_new_exit(&self.patient, code),
            Need::OpenExit => entry::open_exit(&self.patient, code).map(|_| ()),
            Need::Writer => entry::is_writer(self.program, Some(&self.patient), code, self.today()),
            Need::Clinician => entry::is_writer(self.program, None, code, self.today()).and_then(|()| {
                let refused = not_a_clinician(self.program, code, "give an order", self.today());
                refused.map_or(Ok(()), Err)
            }),
            _ => entry::is_writer(self.program, None, code, self.today()),
        };
        form.row(typed, self.context, self.clock(), &is_by)
    }

    /// The doubt about a future day, which is allowed but rare.
    fn ahead(&self, day: NaiveDate) -> Option<String> {
        let days = (day - self.today()).num_days();
        (days > 0).then(|| format!("{day} is {} in the future.", crate::text::count(days, "day")))
    }

    /// Shows what will change, asks for confirmation, and writes; the only place that replaces patient.toml.
    ///
    /// # Errors
    /// The new text introduces a fault, there is no terminal to ask at, or the file changed meanwhile.
    fn settle(&self, course: &Course, change: CourseChange, writing: Writing) -> Result<Outcome, Failure> {
        let (context, code, file) = (self.context, &self.patient.code, self.patient.file());
        let now = context.surroundings.now;
        let verdict = verdict(self.program, code, Some(&self.patient.source.text), course.text(), context);
        consent::to_be_put_right(&verdict.refused.iter().map(consent::sentence).collect::<Vec<_>>())?;
        let title = format!("{code}: {}", change.words);
        let before = effect::standing(self.program, code, now);
        let whom = view::sentences(&title, context.look);
        let book = Book::of_folder(self.program, &format!("patients/{code}"))?;
        let whom = format!("{whom}{}{}", view::entry::whom(&book, &before, self.today(), context.look), change.shown);
        let (longer, asked): (Vec<Problem>, Vec<Problem>) =
            verdict.asked.into_iter().partition(|problem| problem.rule == Rule::IntervalLong);
        let longer: Vec<String> = longer.iter().map(|problem| over_the_limit(context, problem)).collect();
        let doubts = change.doubts.iter().cloned().chain(doubts(&asked, file));
        let doubts: Vec<String> = doubts.collect();
        let effect_at = change.takes_effect.map_or(now, |day| now.max(self.patient.calendar.start(day)));
        let closes: Vec<String> =
            change.closes.into_iter().chain(self.taken_off(course.text(), &before, effect_at)).collect();
        let ends = self.ends(course.text(), effect_at);
        if writing.dry_run {
            let stdout = format!("{whom}{file} would hold:\n\n{}", course.text());
            let closings = view::consequence::questions(&ends).into_iter().map(|closing| closing.text);
            let asked: Vec<String> = closings.chain(closes).chain(longer).chain(doubts).collect();
            return Ok(Outcome { stdout, stderr: lines(&asked), ..Outcome::default() });
        }
        context.say(&whom);
        let nothing = Spoken { flag: None, is_typed: false, is_yes: writing.yes };
        let spoken = change.spoken.unwrap_or(nothing);
        let by_itself = Spoken { flag: None, is_typed: true, is_yes: true };
        let of_signals = if change.is_end_meant { by_itself } else { spoken };
        if context.surroundings.terminal.is_none() {
            // A script learns first what --yes confirms, then at once everything that its flag confirms.
            if !doubts.is_empty() {
                consent::ask(context, writing.yes, &doubts, LastQuestion::Write)?;
            }
            let closings = view::consequence::questions(&ends).into_iter().filter(|_| !change.is_end_meant);
            let all: Vec<String> = closings.map(|closing| closing.text).chain(closes.iter().cloned()).collect();
            is_meant_so(context, &all, spoken)?;
        }
        let is_meant = consent::until_dropped(context, false, || {
            Ok(closing::ask(context, &ends, of_signals)? == Close::Meant
                && is_meant_so(context, &closes, spoken)?
                && is_meant_so(context, &longer, change.longer.unwrap_or(nothing))?
                && consent::ask(context, writing.yes, &doubts, LastQuestion::Write)? == ConsentAnswer::Yes)
        })?;
        let is_meant = is_meant && self.is_meant_now(course.text(), effect_at, ends, of_signals)?;
        if !is_meant {
            return Ok(Outcome { stderr: "Nothing was written.\n".to_owned(), ..Outcome::default() });
        }
        self.program.folder.replace(file, &self.patient.source.text, course.text())?;
        let call = self.program.policy.as_ref().and_then(|policy| policy.review_call.as_deref());
        let danger = view::consequence::danger(&self.consequence(course.text(), now), None, call, context.look);
        let schedule = change::schedule(&before, &effect::standing(self.program, code, now), context.look);
        let noted = verdict.noted.iter().map(|problem| format!("  {}", consent::sentence(problem)));
        let noted: String = noted.map(|line| view::sentences(&line, context.look)).collect();
        let back = view::sentences(&change.back, context.look);
        let done = format!("{danger}Changed {file}\n{schedule}{noted}{back}");
        let confirmed: Vec<String> = closes.into_iter().chain(doubts).collect();
        let outcome = context.answer(&whom, done, &confirmed);
        Ok(context.committed(self.program, writing.commit(), &[file.to_owned()], &title, outcome))
    }

    /// The consequence of a new text of patient.toml; a course ends a signal with or without a look.
    fn ends(&self, text: &str, at: Instant) -> Consequence {
        let mut ends = self.consequence(text, at);
        ends.ended.iter_mut().for_each(|sign| sign.needs_look = false);
        ends
    }

    /// Asks again while records arrive that make the change of course end more.
    fn is_meant_now(&self, text: &str, at: Instant, mut known: Consequence, spoken: Spoken) -> Result<bool, Failure> {
        loop {
            let newer = self.ends(text, at);
            let asked = closing::would_close(std::slice::from_ref(&known));
            if closing::would_close(std::slice::from_ref(&newer)).iter().all(|one| asked.contains(one)) {
                return Ok(true);
            }
            self.context.say("The records of this patient changed while you answered. Check again:\n");
            if closing::ask(self.context, &newer, spoken)? != Close::Meant {
                return Ok(false);
            }
            known = newer;
        }
    }

    /// The overdue changes and the showers and damage without a change that a new text of patient.toml takes off the list,
    /// as of the day on which it takes effect. The end of an exit site has its own question.
    fn taken_off(&self, text: &str, before: &[Row], at: Instant) -> Vec<String> {
        let (Some(plan), Some(after)) = (self.program.plan(), self.other(text)) else { return Vec::new() };
        let timeline = Timeline::of(&after, self.events(&after).0, at);
        let today = timeline.today;
        // `None` if the exit site is closed by then.
        let due = |id: &str| {
            let open = |exit: &&ExitSite| exit.id == id && exit.until.is_none_or(|until| until > today);
            let exit = after.exits.iter().find(open)?;
            Some(Due::of(&Schedule { plan, patient: &after, exit }, &timeline))
        };
        let has_ended = after.has_ended(today);
        let from = (at > self.context.surroundings.now).then_some(today);
        let mut gone = Vec::new();
        for site in before.iter().filter_map(Row::site) {
            let Some(then) = due(&site.exit) else { continue };
            if let Some(hours) = site.due.hours_overdue.filter(|_| has_ended || then.state != State::Overdue) {
                gone.push(change::overdue_off(&site.exit, hours, from));
            }
            let is_left = |because: Because| {
                !has_ended && (then.because == Some(because) || then.also.iter().any(|one| one.because == because))
            };
            for (_, report, deadline) in site.due.clocks().filter(|(because, ..)| !is_left(*because)) {
                gone.push(change::clock_off(&site.exit, report, deadline, site.date, from));
            }
        }
        gone
    }

    /// The patient under a new text of patient.toml, if it can be used.
    fn other(&self, text: &str) -> Option<Patient> {
        let source = Arc::new(RecordText { file: self.patient.file().to_owned(), text: text.to_owned() });
        Patient::read(&source, &self.patient.code, &self.program.calendar(), &mut Vec::new())
    }

    /// The events on file, as read for the course, and the problems of the files that cannot be read.
    fn events(&self, patient: &Patient) -> (Vec<Event>, Vec<Problem>) {
        let (own, mut problems) = (self.program.folder.patient(&patient.code), Vec::new());
        let events = self.program.all_events(&own, &patient.calendar, &mut problems);
        (events, problems)
    }

    /// The consequence of a new text of patient.toml, as of a moment.
    fn consequence(&self, text: &str, at: Instant) -> Consequence {
        let Some(after) = self.other(text) else { return Consequence::default() };
        let (was, _) = self.events(&self.patient);
        let (is, unread) = self.events(&after);
        let before = Side { patient: &self.patient, events: &was, unread: &unread };
        Consequence::of(self.program.rules(), before, Side { patient: &after, events: &is, unread: &unread }, at)
    }
}

/// The sentence about an ordered interval above the limit: for a terminal as a question, for a script with the
/// correction.
fn over_the_limit(context: &Context, problem: &Problem) -> String {
    match context.surroundings.terminal {
        Some(_) => format!("{} days, the limit of the policy.", crate::text::capitalized(&problem.message)),
        None => consent::sentence(problem),
    }
}

/// Asks about open dangers that are taken off the list, or an interval above the limit; the default is No.
///
/// # Errors
/// A confirmation is needed, there is no terminal, and the flag was not typed.
fn is_meant_so(context: &Context, closes: &[String], spoken: Spoken) -> Result<bool, Failure> {
    if closes.is_empty() || spoken.is_enough(context) {
        return Ok(true);
    }
    let Some(terminal) = context.surroundings.terminal else {
        let closes: String = closes.iter().map(|text| format!("{text} ")).collect();
        return Err(spoken.unconfirmed(&closes));
    };
    let questions = Questions { terminal, look: context.look, kept: None };
    Ok(closes.iter().all(|text| questions.is_yes(text, "Is that right?")))
}

/// The problems that a new text of patient.toml adds to those of `was`, in the file and in the patient's events.
fn verdict(program: &Program, code: &str, was: Option<&str>, text: &str, context: &Context) -> Verdict {
    let now = context.surroundings.now;
    let problems = |text: &str| check::problems_of_course(program, code, text, now);
    let before = was.map(problems).unwrap_or_default();
    Verdict::of(before, problems(text), |rule| rule.level() == Level::Error || rule == Rule::PrivateData)
}

/// The doubts: those of patient.toml itself, and for the events on file the first of each rule with the count.
fn doubts(asked: &[Problem], file: &str) -> Vec<String> {
    let (own, events): (Vec<_>, Vec<_>) = asked.iter().partition(|problem| problem.place.file == file);
    let mut doubts: Vec<String> = own.into_iter().map(consent::sentence).collect();
    let mut rules: Vec<Rule> = events.iter().map(|problem| problem.rule).collect();
    rules.sort();
    rules.dedup();
    for rule in rules {
        let mut of_rule = events.iter().filter(|problem| problem.rule == rule);
        let count = of_rule.clone().count() as i64;
        if let Some(first) = of_rule.next() {
            let records = crate::text::count(count, "record");
            doubts.push(format!(
                "{records} on file with this problem: {}; the first is {}",
                first.message, first.place.file
            ));
        }
    }
    doubts
}

/// Rejects a caregiver's code that is malformed or in use.
pub(super) fn is_free(program: &Program, code: &str) -> Result<(), String> {
    if !crate::event::is_person_code(code) {
        return Err(format!(
            "\"{}\" is not a person's code: 2 to 24 letters, digits and hyphens, such as p014-son; never a name",
            crate::text::visible(code)
        ));
    }
    if program.people.as_ref().is_some_and(|people| people.get(code).is_some()) {
        return Err(format!("{code} is on the staff. Codes are unique in the program: choose another."));
    }
    let has_it = |patient: &Patient| patient.caregivers.iter().any(|caregiver| caregiver.code == code);
    let mut others = program.patients.codes.iter().filter_map(|other| program.patient(other, &mut Vec::new()));
    match others.find(has_it) {
        Some(other) => Err(format!(
            "{code} is already a caregiver of {}. Codes are unique in the program: choose another.",
            other.code
        )),
        None => Ok(()),
    }
}
