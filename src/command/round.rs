//! `exitsite round`

use std::collections::BTreeSet;

use super::consent::{doubted, is_yes, nothing_refused, sentence};
use super::record::{change_told_in, commit_message, is_known, nobody, only_caregiver, said, subject, told_by, write};
use super::{Desk, Outcome, Terminal};
use crate::day::AsOf;
use crate::entry::{Book, Draft};
use crate::event::{Kind, Outcome as Ended};
use crate::problem::Failure;
use crate::program::Program;
use crate::record::Value;
use crate::report::due::{self, Row};
use crate::report::effect;
use crate::schedule::State;
use crate::signal::Urgency;
use crate::text;
use crate::view;
use crate::word::Word;

/// The morning list as a walk: one patient after another, one key for what came of the call
///
/// Each outcome is written as a record at once, so that stopping at any point keeps what was written. It needs a
/// terminal; `exitsite due` prints the list.
#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// Also who becomes due within so many hours
    #[arg(long, value_name = "HOURS", value_parser = super::due::hours)]
    within: Option<u16>,

    /// Who calls; default: EXITSITE_BY
    #[arg(long, value_name = "CODE")]
    by: Option<String>,
}

/// The keys, what each does, and how the contact ends.
const KEYS: [(char, &str, Option<Ended>); 7] = [
    ('c', "called", Some(Ended::Advised)),
    ('d', "changed already", Some(Ended::Other)),
    ('w', "will change", Some(Ended::WillChange)),
    ('i', "coming in", Some(Ended::ComingIn)),
    ('n', "no answer", Some(Ended::NoAnswer)),
    ('s', "skip", None),
    ('q', "quit", None),
];

/// What is done next.
enum Next {
    Recorded,
    Skipped,
    Quit,
}

/// One walk.
struct Walk<'a> {
    desk: &'a Desk<'a>,
    program: &'a Program,
    terminal: &'a dyn Terminal,
    by: &'a str,
}

pub(super) fn run(args: &Args, desk: &Desk) -> Result<Outcome, Failure> {
    let program = desk.open()?;
    let terminal = desk.surroundings.terminal.ok_or_else(|| {
        Failure::new("a round is a walk with somebody at a terminal; `exitsite due` prints the list for scripts")
    })?;
    let by = args.by.as_ref().or(desk.surroundings.writer.as_ref());
    let by = by.ok_or_else(|| Failure::new("--by is missing: your code; or set EXITSITE_BY to it"))?;
    let walk = Walk { desk, program: &program, terminal, by };
    let as_of = AsOf { instant: desk.surroundings.now, is_given: false };
    let codes = program.codes(&[])?;
    let (body, unusable) = due::report(&program, &codes, as_of, true);
    let mut patients: Vec<Vec<Row>> = Vec::new();
    for row in body.rows.into_iter().filter(|row| row.is_shown(as_of, args.within.map(i64::from))) {
        match patients.iter_mut().find(|rows| rows.iter().any(|known| known.patient == row.patient)) {
            Some(rows) => rows.push(row),
            None => patients.push(vec![row]),
        }
    }
    let of = patients.len();
    let mut recorded = 0;
    let mut seen = 0;
    for rows in &patients {
        match walk.visit(rows, &format!("{} of {of}", seen + 1))? {
            Next::Recorded => recorded += 1,
            Next::Skipped => {}
            Next::Quit => break,
        }
        seen += 1;
    }
    let left = if seen < of { format!(", {} not reached", of - seen) } else { String::new() };
    let stdout = format!(
        "{} on the list, {recorded} recorded, {} skipped{left}. {}.",
        text::count(of as i64, "patient"),
        seen - recorded,
        body.census.words
    );
    let outcome = Outcome::report(view::entry::summary(&stdout, desk.look), &unusable);
    Ok(Outcome { has_written: recorded > 0, ..outcome })
}

impl Walk<'_> {
    /// One patient: what is due, then a key.
    fn visit(&self, rows: &[Row], number: &str) -> Result<Next, Failure> {
        let code = &rows[0].patient;
        let today = self.program.calendar().today(self.terminal.now());
        self.terminal.say(&format!("\n{number}\n{}", view::entry::rows(rows, today, self.desk.look)));
        let book = match Book::open(self.program, code, Kind::Contact) {
            Ok(book) => book,
            Err(failure) => {
                self.say(&failure.to_string());
                return Ok(match self.terminal.key(&self.question("q quit, any other key goes on")) {
                    Some('q' | '\u{1b}') | None => Next::Quit,
                    _ => Next::Skipped,
                });
            }
        };
        if !is_known(&book, self.by) {
            return Err(Failure::new(format!("--by (or EXITSITE_BY): {}", nobody(&book, self.by))));
        }
        self.terminal.say(&view::entry::household(&book));
        let question: Vec<String> = KEYS.iter().map(|(key, does, _)| format!("{key} {does}")).collect();
        loop {
            let key = self.terminal.key(&self.question(&question.join(", ")));
            match key.and_then(|key| KEYS.iter().find(|(known, ..)| *known == key.to_ascii_lowercase())) {
                Some(('s', ..)) => return Ok(Next::Skipped),
                Some(('q', ..)) => return Ok(Next::Quit),
                Some((key, _, Some(outcome))) => {
                    if self.record(&book, rows, *key == 'd', *outcome)? {
                        return Ok(Next::Recorded);
                    }
                }
                _ if matches!(key, None | Some('\u{1b}')) => return Ok(Next::Quit),
                _ => self.terminal.say(&format!("Type one of {}.", KEYS.map(|(key, ..)| String::from(key)).join(", "))),
            }
        }
    }

    fn say(&self, sentence: &str) {
        self.terminal.say(&view::sentences(sentence, self.desk.look));
    }

    fn question(&self, question: &str) -> String {
        view::entry::question(question, self.desk.look)
    }

    /// Writes the contact, and the change that was told in it. Says whether it was written.
    fn record(&self, book: &Book, rows: &[Row], is_changed: bool, outcome: Ended) -> Result<bool, Failure> {
        let now = self.terminal.now();
        let clock = book.clock(now);
        let word = |word: &str| Value::Text(word.to_owned());
        let mut contact = Draft::new(Kind::Contact);
        let set_now = contact.set_when("now", clock);
        set_now.map_err(Failure::new)?;
        let Some(with) = self.with(book) else { return Ok(false) };
        for (key, value) in [
            ("by", word(self.by)),
            ("with", word(&with)),
            ("about", Value::List(subjects(rows).into_iter().map(word).collect())),
            ("outcome", word(outcome.word())),
        ] {
            contact.values.set(key, value);
        }
        contact.entered(self.by, clock);
        if matches!(outcome, Ended::WillChange | Ended::ComingIn) {
            let question = "Until when? 18:00, \"tomorrow 12:00\" [Enter: the end of tomorrow]";
            let set = |draft: &mut Draft, text: &str| {
                draft.set("expect_by", text, clock)?;
                let until = match draft.values.get("expect_by") {
                    Some(Value::Moment(until)) => clock.instant(*until),
                    _ => None,
                };
                if until.is_some_and(|until| until <= now) {
                    draft.values.remove("expect_by");
                    return Err("that has passed; write when it is expected".to_owned());
                }
                Ok(())
            };
            if !self.until_it_fits(&mut contact, question, set) {
                return Ok(false);
            }
        }
        let mut drafts = vec![contact];
        if is_changed {
            match self.told_changes(&drafts[0], book) {
                Some(changes) => drafts.extend(changes),
                None => return Ok(false),
            }
        }
        self.enter(book, &drafts)
    }

    /// Tries the records out, asks what is doubtful, and writes them.
    fn enter(&self, book: &Book, drafts: &[Draft]) -> Result<bool, Failure> {
        let now = self.terminal.now();
        let trials = drafts.iter().map(|draft| book.trial(draft, now)).collect::<Result<Vec<_>, _>>()?;
        if let Err(refused) = nothing_refused(&trials) {
            self.say(&refused.to_string());
            return Ok(false);
        }
        self.terminal.say(&said(book, &trials, self.desk));
        let elsewhere = trials.iter().filter_map(|trial| book.elsewhere(trial.event.as_ref()?));
        for doubt in trials.iter().flat_map(|trial| &trial.asked).map(sentence).chain(elsewhere) {
            if !is_yes(self.terminal, &doubted(&doubt, self.desk.look), false) {
                return Ok(false);
            }
        }
        let files = write(self.program, &trials)?;
        let committed =
            self.desk.committed(self.program, None, &files, &commit_message(book, &trials), Outcome::default());
        // As of now, not of when the walk began: the call has come since.
        let rows = effect::standing(self.program, book.owner.code(), now);
        let today = book.calendar.today(now);
        let answered = answered(drafts, &rows);
        if !answered.is_empty() {
            self.terminal.say(&view::entry::summary(&format!("This answers {}.", answered.join(", ")), self.desk.look));
        }
        let answer = view::entry::Answer { files: &files, score: None, taught: None, rows: &rows };
        self.terminal.say(&view::entry::effect(book, &answer, today, self.desk.look));
        if !committed.stderr.is_empty() {
            self.terminal.say(&committed.stderr);
        }
        Ok(true)
    }

    /// With whom: the only caregiver, or whoever is named.
    fn with(&self, book: &Book) -> Option<String> {
        if let Some(only) = only_caregiver(book) {
            return Some(only);
        }
        let caregivers = book.patient.iter().flat_map(|patient| &patient.caregivers);
        let mut known: Vec<&str> = caregivers.map(|caregiver| caregiver.code.as_str()).collect();
        if known.is_empty() {
            return Some("patient".to_owned());
        }
        known.extend(["patient", "other"]);
        loop {
            let answer = self.terminal.ask(&self.question(&format!("With whom? {}", text::either(&known))))?;
            let answer = answer.trim();
            let mut found = known.iter().filter(|code| !answer.is_empty() && code.starts_with(answer));
            match (found.next(), found.next()) {
                (Some(code), None) => return Some((*code).to_owned()),
                _ if known.contains(&answer) => return Some(answer.to_owned()),
                _ => self.terminal.say(&format!("Type one of {}.", text::either(&known))),
            }
        }
    }

    /// The changes that were told, one for each exit site; none at the end of input.
    fn told_changes(&self, contact: &Draft, book: &Book) -> Option<Vec<Draft>> {
        let clock = book.clock(self.terminal.now());
        let today = book.calendar.today(self.terminal.now());
        let by = told_by(contact, book).unwrap_or_else(|| "patient".to_owned());
        let mut change = loop {
            let question = "When was it changed? 18:40, \"yesterday 20:00\" [Enter: today, the time not known]";
            let answer = self.terminal.ask(&self.question(question))?;
            // After midnight "today" could be two days; here it is the day of care.
            let when = if answer.trim().is_empty() { today.to_string() } else { answer.trim().to_owned() };
            match change_told_in(contact, &by, &when, clock) {
                Ok(change) => break change,
                Err(sentence) => self.say(&sentence),
            }
        };
        let exits = book.patient.as_ref().map(|patient| patient.exits_followed(today)).unwrap_or_default();
        if exits.len() < 2 {
            return Some(vec![change]);
        }
        let named: Vec<String> =
            exits.iter().map(|exit| format!("{} ({})", text::visible(&exit.id), exit.at)).collect();
        let question = format!("Of which exit site? {} or all:", named.join(", "));
        loop {
            let answer = self.terminal.ask(&self.question(&question))?;
            let chosen = exits.iter().filter(|exit| answer.trim() == "all" || answer.trim() == exit.id);
            let changes: Vec<Draft> = chosen
                .map(|exit| {
                    change.values.set("exit", Value::Text(exit.id.clone()));
                    change.clone()
                })
                .collect();
            if !changes.is_empty() {
                return Some(changes);
            }
            self.terminal.say(&format!("Type one of {} or all.", named.join(", ")));
        }
    }

    /// Asks until the answer fits, or nothing was typed. False at the end of input.
    fn until_it_fits(
        &self,
        draft: &mut Draft,
        question: &str,
        set: impl Fn(&mut Draft, &str) -> Result<(), String>,
    ) -> bool {
        loop {
            match self.terminal.ask(&self.question(question)).as_deref().map(str::trim) {
                None => return false,
                Some("") => return true,
                Some(answer) => match set(draft, answer) {
                    Ok(()) => return true,
                    Err(sentence) => self.say(&sentence),
                },
            }
        }
    }
}

/// What a call is about: what the rows are on the list for, and what they show to be looked at today. A signal of this
/// week is what it is about where nothing else is.
fn subjects(rows: &[Row]) -> Vec<&'static str> {
    let log_or_overdue = Some(subject(rows)).filter(|subject| *subject != "other");
    let open = rows.iter().flat_map(|row| row.signals.iter().flatten()).filter(|signal| !signal.is_answered);
    let (today, this_week): (Vec<_>, Vec<_>) = open.partition(|signal| signal.urgency == Urgency::Today);
    let is_due = rows.iter().any(|row| matches!(row.state, State::Due | State::Overdue));
    let is_only_that = log_or_overdue.is_none() && today.is_empty() && !is_due;
    let signals = today.into_iter().chain(this_week.into_iter().filter(|_| is_only_that));
    let mut subjects: Vec<&str> = log_or_overdue.into_iter().chain(signals.map(|signal| signal.name.word())).collect();
    let mut known = BTreeSet::new();
    subjects.retain(|subject| known.insert(*subject));
    if subjects.is_empty() { vec!["other"] } else { subjects }
}

/// The signals that a call was about and that are open and answered with it on file.
fn answered(drafts: &[Draft], rows: &[Row]) -> Vec<&'static str> {
    let about = drafts.first().and_then(|contact| contact.values.get("about"));
    let is_about = |name: &str| match about {
        Some(Value::List(words)) => words.iter().any(|word| *word == Value::Text(name.to_owned())),
        _ => false,
    };
    let signals = rows.iter().flat_map(|row| row.signals.iter().flatten()).filter(|signal| signal.is_answered);
    let names: BTreeSet<&str> = signals.map(|signal| signal.name.word()).filter(|name| is_about(name)).collect();
    names.into_iter().collect()
}
