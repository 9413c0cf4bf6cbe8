//! One key of a record as a question: its choices, the effect of Enter, and a trial of the answer against the records
//! on file.

use std::cell::RefCell;

use chrono::NaiveDate;

use super::clinician::{not_a_clinician, reserved};
use crate::command::consent;
use crate::command::order::SameMinute;
use crate::command::question::{Choice, Enter, Leave, Questions, in_words, pick_or_other};
use crate::command::twin::Twin;
use crate::command::until::no_time_given;
use crate::entry::{Book, Clock, Draft};
use crate::event::{ContactOutcome, Kind, Source};
use crate::policy::Curriculum;
use crate::problem::{Problem, Rule};
use crate::record::{Shape, Value};
use crate::report::due::Row;
use crate::text::visible;
use crate::view::day::by_their_clock;
use crate::view::words::question::{QuestionText, record};
use crate::word::Word;

/// A record and the person who is asked about it.
pub(super) struct Asking<'a> {
    pub(super) questions: Questions<'a>,
    pub(super) book: &'a Book<'a>,
    pub(super) clock: Clock<'a>,
    /// The writer's code, if known.
    pub(super) writer: Option<&'a str>,
    /// The patient's rows on the due list.
    pub(super) rows: &'a [Row],
    /// The keys typed as flags, with `at` for a typed time.
    pub(super) typed: Vec<String>,
    /// The doubts already accepted.
    pub(super) agreed: RefCell<Vec<String>>,
    /// The records on file that this one replaces.
    pub(super) replaced: RefCell<Vec<Twin>>,
}

impl Asking<'_> {
    /// Asks for one key; returns false if no question was needed.
    pub(super) fn key(&self, draft: &mut Draft, key: &str, shape: &Shape) -> Result<bool, Leave> {
        let Some(question) = record::of_key(key) else { return Ok(false) };
        let question = if (draft.kind, key) == (Kind::Contact, "by") { record::CALLER } else { question };
        if draft.values.get(key).is_some() || self.is_clear(draft, key) {
            return Ok(false);
        }
        let is_missing = draft.missing().iter().any(|(missing, _)| missing == key);
        let is_needed = is_missing || key == "source" || (key == "exit" && self.has_several_open());
        let default = self.default(draft, key);
        let open = self.open(draft, key);
        let enter = match &default {
            Some(default) => Enter::Takes(default),
            None if is_needed => Enter::Asks,
            None => Enter::Leaves(&open),
        };
        let choices = self.choices(draft, key, shape);
        let fits = |text: &str| {
            let answered = self.with(draft, key, text)?;
            if let Some(value) = answered.values.get(key) {
                consent::date_meant(Some(self.questions.terminal), text, value)?;
            }
            Ok(answered)
        };
        let word = |at: usize| choices[at].key.clone();
        let answered = if choices.is_empty() {
            self.questions.ask(question, enter, fits)?
        } else if key == "about" || is_list(shape) {
            let fits = |picked: Vec<usize>| self.with_value(draft, key, list(picked.into_iter().map(word)));
            self.questions.choose_several_as(question, &choices, enter, fits)?
        } else if is_closed(shape) || matches!(key, "exit" | "curriculum" | "kept_at") {
            self.questions.choose_as(question, &choices, enter, |picked| fits(&word(picked)))?
        } else {
            // Codes: one of these, or any other on file.
            let read = |text: &str| fits(&pick_or_other(&choices, text)?.map_or(text.to_owned(), word));
            let shown: Vec<String> = choices.iter().enumerate().map(|(n, choice)| shown(n, choice)).collect();
            let question = QuestionText::from(question).and(&format!(" {}, or another", shown.join(", ")));
            let question = question.numbered(choices.len());
            self.questions.ask_in_words(question, enter, read, |typed| in_words(&choices, typed))?
        };
        if let Some(answered) = answered {
            *draft = answered;
        }
        Ok(true)
    }

    /// Asks for the time of the event. Reads an ambiguous date back in full.
    pub(super) fn when(&self, draft: &mut Draft) -> Result<bool, Leave> {
        let question = record::WHEN.with(&[&by_their_clock(&self.book.calendar, self.clock.now)]);
        let meant = RefCell::new(String::new());
        let read = |text: &str| {
            let mut draft = draft.clone();
            let text = self.questions.half_day(self.clock, text)?;
            draft.set_when(&text, self.clock)?;
            if let Some(value) = draft.values.get("at").or(draft.values.get("on")) {
                consent::date_meant(Some(self.questions.terminal), &text, value)?;
            }
            meant.replace(text);
            Ok(draft)
        };
        let words = |_: &str| meant.take();
        if let Some(answered) = self.questions.ask_in_words(question, Enter::Takes("now"), read, words)? {
            *draft = answered;
        }
        Ok(true)
    }

    /// Asks whether a change came after a shower or damage of its minute; after a no, asks for the time again.
    pub(super) fn order(&self, draft: &mut Draft) -> Result<bool, Leave> {
        let mut is_asked = false;
        loop {
            let mut is_after = true;
            for other in SameMinute::of(draft, self.book, self.clock.now) {
                is_asked |= other.needed().is_some();
                is_after &= other.is_after(&self.questions)?;
                if !is_after {
                    break;
                }
                other.settle(draft);
            }
            if is_after {
                return Ok(is_asked);
            }
            self.when(draft)?;
        }
    }

    /// The draft with one more answer, or the reason it can never be written.
    pub(super) fn with(&self, draft: &Draft, key: &str, text: &str) -> Result<Draft, String> {
        let mut answered = draft.clone();
        answered.set(key, text, self.clock)?;
        self.fitting(draft, key, answered)
    }

    fn with_value(&self, draft: &Draft, key: &str, value: Value) -> Result<Draft, String> {
        let mut answered = draft.clone();
        answered.values.set(key, value);
        self.fitting(draft, key, answered)
    }

    /// Rejects an answer at its own question if the record would later be rejected for it.
    pub(super) fn fitting(&self, draft: &Draft, key: &str, answered: Draft) -> Result<Draft, String> {
        let code = answered.values.text(key).filter(|_| CODES.contains(&key));
        let unknown = |code: &str| crate::check::unknown_code(self.book.program, self.book.patient.as_ref(), key, code);
        if let Some(sentences) = code.and_then(unknown) {
            return Err(sentences);
        }
        if let ("by", Some(act), Some(code)) = (key, reserved(answered.kind), code)
            && let Some(sentence) = not_a_clinician(self.book.program, code, act, self.today())
        {
            return Err(sentence);
        }
        if let (Kind::Contact, "expect_by", Some(Value::Moment(until)), Some(at)) =
            (answered.kind, key, answered.values.get(key), answered.instant(self.clock))
            && self.clock.instant(*until).is_some_and(|until| until <= at)
        {
            return Err(format!("{until} is not after the call. Type when it is expected."));
        }
        if key == "source"
            && let Some(sentence) = super::source::not_seen_by(self.book, &answered, self.writer)
        {
            return Err(sentence);
        }
        let refused = |draft: &Draft| {
            let trial = self.book.trial(draft, self.clock.now).ok();
            let refused = trial.into_iter().flat_map(|trial| trial.refused);
            refused.filter(|problem| problem.rule != Rule::MissingKey).collect::<Vec<_>>()
        };
        let known = refused(draft);
        let is_new = |problem: &Problem| known.iter().all(|other| other.fault() != problem.fault());
        if let Some(problem) = refused(&answered).iter().find(|problem| is_new(problem)) {
            return Err(consent::sentence(problem));
        }
        match code {
            Some(code) => self.not_doubted(code, self.day(&answered)).map(|()| answered),
            None => Ok(answered),
        }
    }

    /// Asks about the code of a person who was not active in the program on a day.
    pub(super) fn not_doubted(&self, code: &str, day: NaiveDate) -> Result<(), String> {
        let doubt = crate::check::inactive_code(self.book.program, self.book.patient.as_ref(), code, day);
        match doubt.is_none_or(|doubt| self.is_agreed(&doubt, "Use this code anyway?")) {
            true => Ok(()),
            false => Err("Type another code.".to_owned()),
        }
    }

    /// Asks at once about each typed code of a person who was not active in the program; after a No, removes the code
    /// so that it is asked for.
    pub(super) fn codes(&mut self, mut draft: Draft) -> Draft {
        for key in CODES {
            let Some(code) = draft.values.text(key) else { continue };
            if self.not_doubted(code, self.day(&draft)).is_err() {
                draft.values.remove(key);
                self.typed.retain(|typed| typed != key);
            }
        }
        draft
    }

    /// Returns true if the user accepts a doubt, now or before.
    pub(super) fn is_agreed(&self, doubt: &str, question: &str) -> bool {
        let is_known = self.agreed.borrow().iter().any(|known| known == doubt);
        let is_agreed = is_known || self.questions.is_yes(doubt, question);
        if is_agreed && !is_known {
            self.agreed.borrow_mut().push(doubt.to_owned());
        }
        is_agreed
    }

    /// The care day of a draft; today if it has no date.
    fn day(&self, draft: &Draft) -> NaiveDate {
        match draft.values.get("on") {
            Some(Value::Date(day)) => *day,
            _ => self.book.calendar.today(draft.instant(self.clock).unwrap_or(self.clock.now)),
        }
    }

    fn today(&self) -> NaiveDate {
        self.book.calendar.today(self.clock.now)
    }

    fn has_several_open(&self) -> bool {
        let today = self.today();
        let exits = self.book.patient.iter().flat_map(|patient| &patient.exits);
        exits.filter(|exit| exit.until.is_none_or(|until| today <= until)).count() > 1
    }

    /// Returns true if no question is needed: the exit of a patient with only one, the amount without drainage.
    fn is_clear(&self, draft: &Draft, key: &str) -> bool {
        match key {
            "exit" => self.book.patient.as_ref().is_none_or(|patient| patient.exits.len() < 2),
            // A pending culture has no growth yet, and one without growth no organisms.
            "result.growth" => draft.values.get("result.on").is_none(),
            "result.organisms" => draft.values.get("result.growth") != Some(&Value::Flag(true)),
            "site.amount" => draft.values.text("site.drainage").is_none_or(|drainage| drainage == "none"),
            _ => false,
        }
    }

    /// The answer of Enter, which claims nothing: the author and the source have none.
    fn default(&self, draft: &Draft, key: &str) -> Option<String> {
        match key {
            "version" => self.curriculum(draft).map(|curriculum| curriculum.version.to_string()),
            _ => None,
        }
    }

    /// The meaning of a key that Enter leaves open: a finding that nobody looked at or asked about, a promise without a
    /// time, or a field that is not recorded.
    fn open(&self, draft: &Draft, key: &str) -> String {
        match key {
            "expect_by" if is_promise(draft) => {
                no_time_given(self.book, draft.instant(self.clock).unwrap_or(self.clock.now), self.clock)
            }
            key if is_finding(key) => not_looked_at(draft).to_owned(),
            _ => "not recorded".to_owned(),
        }
    }
}

/// Returns true for a key of the site, the dressing or the anchor.
fn is_finding(key: &str) -> bool {
    let is_part = |part: &str| part.starts_with("dressing") || part == "anchor" || part == "site_bleeding";
    key.starts_with("site.") || is_part(key.rsplit('.').next().unwrap_or(key))
}

/// The meaning of a finding left open: a finding reported by telephone was not asked about.
pub(super) fn not_looked_at(draft: &Draft) -> &'static str {
    if is_told(draft) { "not asked" } else { "not looked at" }
}

/// Returns true if the record was reported by telephone.
pub(super) fn is_told(draft: &Draft) -> bool {
    draft.values.text("source").and_then(Source::from_word) == Some(Source::Told)
}

/// The keys that hold the code of a person.
const CODES: [&str; 4] = ["by", "with", "learner", "observer"];

/// The curriculum named by a checkoff, in the version given, else the newest.
pub(super) fn curriculum<'c>(curricula: &'c [Curriculum], draft: &Draft) -> Option<&'c Curriculum> {
    let name = draft.values.text("curriculum")?;
    let named = curricula.iter().filter(|curriculum| curriculum.name == name);
    match draft.values.get("version") {
        Some(Value::Number(version)) => named.clone().find(|curriculum| curriculum.version as f64 == *version),
        _ => named.clone().max_by_key(|curriculum| curriculum.version),
    }
}

/// A list as it is stored.
fn list(words: impl Iterator<Item = String>) -> Value {
    Value::List(words.map(Value::Text).collect())
}

/// Returns true if a call ended with the promise of a change or a visit.
fn is_promise(draft: &Draft) -> bool {
    let outcome = draft.values.text("outcome").and_then(ContactOutcome::from_word);
    matches!(outcome, Some(ContactOutcome::WillChange | ContactOutcome::ComingIn))
}

fn is_list(shape: &Shape) -> bool {
    matches!(shape, Shape::List(_))
}

/// Returns true if only the listed choices are valid.
fn is_closed(shape: &Shape) -> bool {
    matches!(shape, Shape::Words(_) | Shape::Flag)
}

fn shown(n: usize, choice: &Choice) -> String {
    let about = if choice.about.is_empty() { String::new() } else { format!(" ({})", visible(&choice.about)) };
    format!("{} {}{about}", n + 1, visible(&choice.word))
}
