//! The questions about a call: person reached, outcome, deadline, open signals discussed, note.

use super::Walk;
use crate::command::call::{household, outcomes};
use crate::command::consent;
use crate::command::question::{Choice, Enter, Leave};
use crate::command::record::{notes_temperature, subject};
use crate::command::until::no_time_given;
use crate::entry::{Book, Clock, Draft, is_note, temperature};
use crate::event::{ContactOutcome as Ended, Kind, Signal};
use crate::people::Person;
use crate::policy::Threshold;
use crate::problem::Failure;
use crate::record::{Moment, Value};
use crate::report::due::Row;
use crate::view::day::by_their_clock;
use crate::view::words;
use crate::view::words::question::{Question, call as asks};
use crate::word::Word;

/// The answers so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Call {
    /// The person reached: a code, `patient` or `other`.
    pub(super) with: Option<String>,
    /// True if a clinician was reached; the code is asked for next.
    is_clinician: bool,
    /// The outcome.
    pub(super) outcome: Option<Ended>,
    /// The clinician to whom it was escalated.
    escalated_to: Option<String>,
    /// The time by which a change or visit is expected.
    until: Option<Moment>,
    /// The body temperature that the note mentions, in °C.
    temperature_c: Option<f64>,
    /// The signals discussed.
    about: Vec<Signal>,
    /// True if the fever told in the call was passed on in it.
    is_fever_named: bool,
    /// A note of one line.
    note: Option<String>,
}

impl Call {
    /// An unanswered call about every open signal.
    pub(super) fn unanswered(rows: &[Row]) -> Call {
        let about = open_signals(rows);
        Call { with: Some("other".to_owned()), outcome: Some(Ended::NoAnswer), about, ..Call::default() }
    }

    /// A call with this outcome, if given.
    pub(super) fn with_outcome(outcome: Option<Ended>) -> Call {
        Call { outcome, ..Call::default() }
    }

    /// Returns true if the call acts on the signals that it names: a clinician was reached, or will see the patient.
    fn may_act(&self) -> bool {
        self.is_clinician || matches!(self.outcome, Some(Ended::Escalated | Ended::ComingIn))
    }

    /// The record of the call. Its source is `told`: nothing was seen on the telephone.
    pub(super) fn draft(&self, by: &str, rows: &[Row], clock: Clock) -> Result<Draft, Failure> {
        let mut draft = Draft::new(Kind::Contact);
        draft.set_when("now", clock).map_err(Failure::new)?;
        let word = |word: &str| Value::Text(word.to_owned());
        let mut about: Vec<Value> = self.about.iter().map(|signal| word(signal.word())).collect();
        if self.is_fever_named {
            about.push(word(Signal::Fever.word()));
        }
        // A call that reached someone is about the signals chosen; one that did not was made for what the row shows.
        match subject(rows) {
            subject if self.outcome == Some(Ended::NoAnswer) && (about.is_empty() || subject != "other") => {
                about.push(word(subject));
            }
            _ if about.is_empty() => about.push(word("other")),
            _ => {}
        }
        draft.values.set("by", word(by));
        draft.values.set("source", word("told"));
        draft.values.set("with", word(self.with.as_deref().unwrap_or("other")));
        draft.values.set("about", Value::List(about));
        draft.values.set("outcome", word(self.outcome.unwrap_or(Ended::Other).word()));
        if let Some(to) = &self.escalated_to {
            draft.values.set("escalated_to", word(to));
        }
        if let Some(until) = self.until {
            draft.values.set("expect_by", Value::Moment(until));
        }
        if let Some(degrees) = self.temperature_c {
            draft.values.set("temperature_c", Value::Number(degrees));
        }
        if let Some(note) = &self.note {
            draft.values.set("note", word(note));
        }
        draft.entered(by, clock);
        Ok(draft)
    }
}

/// The number of questions in [`Walk::ask_of_call`].
pub(super) const CALL_QUESTIONS: usize = 7;

impl Walk<'_> {
    /// Asks one question about a call; returns false if no question was needed.
    pub(super) fn ask_of_call(
        &self,
        at: usize,
        call: &mut Call,
        book: &Book,
        rows: &[Row],
        (preset, is_changed): (Option<Ended>, bool),
    ) -> Result<bool, Leave> {
        let questions = self.questions();
        match at {
            0 => self.ask_reached(call, book, preset.is_some())?,
            1 if call.is_clinician => self.ask_clinician(call, book)?,
            2 if preset.is_none() && call.outcome != Some(Ended::NoAnswer) => {
                call.escalated_to = None;
                let words: Vec<&str> = outcomes().into_iter().filter(|word| *word != Ended::NoAnswer.word()).collect();
                let choices: Vec<Choice> = Choice::words(&words)
                    .into_iter()
                    .map(|choice| Choice { about: explained(&choice.key).to_owned(), ..choice })
                    .collect();
                let place = questions.choose(asks::OUTCOME, &choices, Enter::Asks)?;
                call.outcome = place.and_then(|place| Ended::from_word(words[place]));
            }
            3 if call.outcome == Some(Ended::Escalated) && !call.is_clinician => {
                call.escalated_to = self.clinician(asks::ESCALATED_TO, book)?;
            }
            4 if matches!(call.outcome, Some(Ended::WillChange | Ended::ComingIn)) => self.ask_until(call, book)?,
            5 => {
                let open = open_signals(rows);
                if open.is_empty() || call.outcome == Some(Ended::NoAnswer) {
                    return Ok(false);
                }
                let choices: Vec<Choice> = open.iter().map(|signal| Choice::of(words::signal(*signal), "")).collect();
                let is_needed =
                    call.is_clinician || call.outcome == Some(Ended::Escalated) || open.contains(&Signal::Fever);
                let places = match is_needed {
                    true => questions.choose_several_or_none(asks::ABOUT_TYPED, &choices)?,
                    false => {
                        let enter = Enter::Leaves("none of them");
                        questions.choose_several(asks::ABOUT, &choices, enter)?.unwrap_or_default()
                    }
                };
                call.about = places.into_iter().map(|place| open[place]).collect();
            }
            6 if !is_changed => {
                self.ask_note(call)?;
            }
            _ => return Ok(false),
        }
        Ok(true)
    }

    /// Asks for the note, if the user wanted to add one to a call with a change.
    pub(super) fn ask_note(&self, call: &mut Call) -> Result<(), Leave> {
        let note = |text: &str| is_note(text).map(|()| text.to_owned());
        call.note = self.questions().ask(asks::NOTE, Enter::Leaves("no note"), note)?;
        call.temperature_c = None;
        if call.note.as_deref().is_some_and(notes_temperature) {
            call.temperature_c = self.questions().ask(asks::TEMPERATURE, Enter::Leaves("not known"), temperature)?;
        }
        call.is_fever_named = false;
        if self.is_fever(call.temperature_c) && call.may_act() && !call.about.contains(&Signal::Fever) {
            let choices = Choice::words(&["yes", "no"]);
            call.is_fever_named = self.questions().choose(asks::FEVER_PASSED_ON, &choices, Enter::Asks)? == Some(0);
        }
        Ok(())
    }

    /// Returns true for a temperature that raises a fever.
    fn is_fever(&self, temperature_c: Option<f64>) -> bool {
        let signals = self.program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
        let limit = signals.map(|signals| signals.threshold(Threshold::FeverCelsius));
        temperature_c.zip(limit).is_some_and(|(told, limit)| told >= limit)
    }

    /// Asks who was reached, without a default. `nobody` is not a choice if the outcome implies that someone was.
    fn ask_reached(&self, call: &mut Call, book: &Book, is_answered: bool) -> Result<(), Leave> {
        let mut choices = household(book);
        choices.push(Choice::of("other", "another person"));
        choices.push(Choice::of("clinician", ""));
        if !is_answered {
            choices.push(Choice::of("nobody", "no answer"));
        }
        let place = self.questions().choose(asks::REACHED, &choices, Enter::Asks)?;
        let word = place.map(|place| choices[place].word.clone());
        let is_nobody = word.as_deref() == Some("nobody");
        call.is_clinician = word.as_deref() == Some("clinician");
        call.with = if is_nobody { Some("other".to_owned()) } else { word };
        if is_nobody {
            call.outcome = Some(Ended::NoAnswer);
        } else if !is_answered {
            call.outcome = None;
        }
        Ok(())
    }

    fn ask_clinician(&self, call: &mut Call, book: &Book) -> Result<(), Leave> {
        call.with = self.clinician(asks::CLINICIAN, book)?;
        if call.with.is_none() {
            self.questions().say("The staff list has no clinician; the call is recorded as with another person.");
            call.with = Some("other".to_owned());
        }
        Ok(())
    }

    /// Asks for a clinician on the staff list; `None` if there is none.
    fn clinician(&self, question: Question, book: &Book) -> Result<Option<String>, Leave> {
        let today = book.calendar.today(self.terminal.now());
        let signals = self.program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
        let roles = signals.map(|signals| signals.clinician_roles.as_slice()).unwrap_or_default();
        let people = self.program.people.iter().flat_map(|people| &people.people);
        let is_one = |person: &&Person| person.is_active(today) && roles.contains(&person.role);
        let choices: Vec<Choice> =
            people.filter(is_one).map(|person| Choice::of(person.code.clone(), person.role.word())).collect();
        if choices.is_empty() {
            return Ok(None);
        }
        let place = self.questions().choose(question, &choices, Enter::Asks)?;
        Ok(place.map(|place| choices[place].word.clone()))
    }

    /// Asks for the time promised. Enter writes none; the question says until when the promise then counts.
    fn ask_until(&self, call: &mut Call, book: &Book) -> Result<(), Leave> {
        let now = self.terminal.now();
        let clock = book.clock(now);
        let read = |text: &str| {
            let until = clock.ahead(text)?;
            consent::date_meant(Some(self.terminal), text, &Value::Moment(until))?;
            match clock.instant(until) {
                Some(instant) if instant <= now => {
                    Err("That time has passed. Type when the change or the visit is expected.".to_owned())
                }
                _ => Ok(until),
            }
        };
        let open = no_time_given(book, now, clock);
        let zone = by_their_clock(&book.calendar, now);
        loop {
            call.until = self.questions().ask(asks::EXPECTED_BY.with(&[&zone]), Enter::Leaves(&open), read)?;
            let until = call.until.and_then(|until| clock.instant(until));
            match until.and_then(|until| self.promised_late(book, until)) {
                Some(late) if !self.questions().is_yes(&late, "Keep this time?") => {}
                _ => return Ok(()),
            }
        }
    }
}

/// The open signals of a patient's rows, in the order shown above the question, without duplicates.
fn open_signals(rows: &[Row]) -> Vec<Signal> {
    let mut open: Vec<_> = rows.iter().flat_map(Row::signals).collect();
    open.sort_by_key(|signal| (signal.is_news_answered, signal.urgency, signal.name));
    let mut names: Vec<Signal> = Vec::new();
    for signal in open {
        if !names.contains(&signal.name) {
            names.push(signal.name);
        }
    }
    names
}

/// The explanation of an outcome.
fn explained(word: &str) -> &'static str {
    match word {
        "advised" => "advice was given",
        "support-ended" => "record the end itself with `exitsite patient end`",
        _ => "",
    }
}
