//! One key of a record as a question: its choices, the meaning of Enter, and the answer tried out beside what is on file.

use super::flags::{flag, short_name, with_words};
use super::{is_known, nobody};
use crate::command::question::{Choice, Enter, Leave, Questions, pick};
use crate::entry::{Book, Clock, Draft};
use crate::event::{About, Kind};
use crate::policy::{CarePlace, Curriculum, Step};
use crate::problem::Rule;
use crate::record::{Shape, Value};
use crate::report::due::Row;
use crate::text::visible;
use crate::view::words;
use crate::word::Word;

/// A record, and somebody who is asked about it.
pub(super) struct Asking<'a> {
    pub(super) questions: Questions<'a>,
    pub(super) book: &'a Book<'a>,
    pub(super) clock: Clock<'a>,
    /// The code of whoever writes, where it is known.
    pub(super) writer: Option<&'a str>,
    /// The rows of the patient on the due list.
    pub(super) rows: &'a [Row],
}

impl Asking<'_> {
    /// Asks for one key. False where there is nothing to ask.
    pub(super) fn key(&self, draft: &mut Draft, key: &str, shape: &Shape, about: &str) -> Result<bool, Leave> {
        if draft.values.get(key).is_some() || self.is_clear(draft, key) {
            return Ok(false);
        }
        let is_needed = draft.missing().iter().any(|(missing, _)| missing == key) || key == "source";
        let default = self.default(draft, key);
        let enter = match &default {
            Some(default) => Enter::Takes(default),
            None if is_needed => Enter::Asks,
            None if key.starts_with("site.") => Enter::Leaves("not looked at"),
            None => Enter::Leaves("not said"),
        };
        let name = short_name(key, &Draft::keys(draft.kind)).unwrap_or_else(|| flag(key)).replace('-', " ");
        let choices = self.choices(draft, key, shape);
        let question = format!("{name}: {about}");
        let fits = |text: &str| self.with(draft, key, text);
        let word = |at: usize| choices[at].word.clone();
        let answered = if choices.is_empty() {
            self.questions.ask(&format!("{name}: {}", with_words(about, shape)), enter, fits)?
        } else if key == "about" || is_list(shape) {
            let picked = self.questions.choose_several(&question, &choices, enter)?;
            picked
                .map(|picked| self.with_value(draft, key, list(key, picked.into_iter().map(word))))
                .transpose()
                .map_err(|sentence| self.again(&sentence))?
        } else if is_closed(shape) {
            let picked = self.questions.choose(&question, &choices, enter)?;
            picked.map(|picked| fits(&word(picked))).transpose().map_err(|sentence| self.again(&sentence))?
        } else {
            // Codes: one of these, or any other that is on file.
            let read = |text: &str| fits(&pick(&choices, text).map_or(text.to_owned(), word));
            let shown: Vec<String> = choices.iter().enumerate().map(|(n, choice)| shown(n, choice)).collect();
            self.questions.ask(&format!("{question}: {}, or another", shown.join(", ")), enter, read)?
        };
        if let Some(answered) = answered {
            *draft = answered;
        }
        Ok(true)
    }

    /// Says what is wrong and asks the same question again: the state is as it was.
    fn again(&self, sentence: &str) -> Leave {
        self.questions.say(sentence);
        Leave::Again
    }

    /// Asks when it happened. A date that could be read two ways is read back in full.
    pub(super) fn when(&self, draft: &mut Draft) -> Result<bool, Leave> {
        let question = "When: 18:40, \"yesterday 18:40\", 11/23 18:40, a date alone if only the day is known";
        let read = |text: &str| {
            let mut draft = draft.clone();
            draft.set_when(text, self.clock)?;
            if text.contains('/') {
                self.questions.say(&format!("That is {}.", read_back(&draft)));
            }
            Ok(draft)
        };
        if let Some(answered) = self.questions.ask(question, Enter::Takes("now"), read)? {
            *draft = answered;
        }
        Ok(true)
    }

    /// The draft with one more answer, or the reason why it can never be written so.
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

    /// Refuses an answer at its own question, where the whole record would be refused for it.
    pub(super) fn fitting(&self, draft: &Draft, key: &str, answered: Draft) -> Result<Draft, String> {
        let code = answered.values.text(key);
        if let ("by", Some(code)) = (key, code)
            && !is_known(self.book, code)
        {
            return Err(nobody(self.book, code));
        }
        if let (Kind::Contact, "expect_by", Some(Value::Moment(until)), Some(at)) =
            (answered.kind, key, answered.values.get(key), answered.instant(self.clock))
            && self.clock.instant(*until).is_some_and(|until| until <= at)
        {
            return Err(format!("{until} is not after the call. Write when it is expected."));
        }
        let refused = |draft: &Draft| {
            let trial = self.book.trial(draft, self.clock.now).ok();
            let refused = trial.into_iter().flat_map(|trial| trial.refused);
            refused.filter(|problem| problem.rule != Rule::MissingKey).collect::<Vec<_>>()
        };
        let known = refused(draft);
        let is_new = |problem: &crate::problem::Problem| {
            known.iter().all(|other| (other.rule, &other.message) != (problem.rule, &problem.message))
        };
        match refused(&answered).iter().find(|problem| is_new(problem)) {
            Some(problem) => Err(crate::command::consent::sentence(problem)),
            None => Ok(answered),
        }
    }

    /// Whether it needs no question: the only exit site; how it is known, where the writer did it.
    fn is_clear(&self, draft: &Draft, key: &str) -> bool {
        match key {
            "exit" => self.book.patient.as_ref().is_none_or(|patient| patient.exits.len() < 2),
            "site.amount" => draft.values.text("site.drainage").is_none_or(|drainage| drainage == "none"),
            _ => false,
        }
    }

    /// The answer of Enter, which claims nothing of the site. At home neither who nor how has one.
    fn default(&self, draft: &Draft, key: &str) -> Option<String> {
        match key {
            "by" if draft.kind != Kind::Infection && !self.is_at_home() => self.writer.map(str::to_owned),
            "version" => self.curriculum(draft).map(|curriculum| curriculum.version.to_string()),
            _ => None,
        }
    }

    fn is_at_home(&self) -> bool {
        let today = self.book.calendar.today(self.clock.now);
        self.book.patient.as_ref().is_some_and(|patient| patient.place(today) == CarePlace::Home)
    }

    /// The choices of a key; none for what is typed freely.
    fn choices(&self, draft: &Draft, key: &str, shape: &Shape) -> Vec<Choice> {
        match key {
            "by" if draft.kind == Kind::Infection => self.clinicians(),
            "by" => self.people(true),
            "with" => {
                let other = Choice::of("other", "somebody else");
                self.people(false).into_iter().chain(self.clinicians()).chain([other]).collect()
            }
            "learner" => self.people(false),
            "observer" => self.signers(),
            "about" => self.subjects(),
            "curriculum" => {
                let curricula = self.curricula();
                let mut names: Vec<&str> = curricula.iter().map(|curriculum| curriculum.name.as_str()).collect();
                names.sort_unstable();
                names.dedup();
                Choice::words(&names)
            }
            "missed" | "prompted" | "unaided" if draft.kind == Kind::Teaching => self.steps(draft),
            "steps_missed" => self.all_steps(),
            "exit" => {
                let exits = self.book.patient.iter().flat_map(|patient| &patient.exits);
                exits.map(|exit| Choice::of(&exit.id, exit.at.word())).collect()
            }
            _ => match shape {
                Shape::Words(words) => Choice::words(words),
                Shape::List(item) => match &**item {
                    Shape::Words(words) => Choice::words(words),
                    _ => Vec::new(),
                },
                Shape::Flag => Choice::words(&["yes", "no"]),
                _ => Vec::new(),
            },
        }
    }

    /// The household, and before it whoever writes.
    fn people(&self, has_writer: bool) -> Vec<Choice> {
        let writer = self.writer.filter(|_| has_writer).map(|code| Choice::of(code, "you"));
        let patient = self.book.patient.iter().map(|_| Choice::of("patient", ""));
        let caregivers = self.book.patient.iter().flat_map(|patient| &patient.caregivers);
        let caregivers =
            caregivers.map(|caregiver| Choice::of(&caregiver.code, caregiver.relation.clone().unwrap_or_default()));
        let mut people: Vec<Choice> = Vec::new();
        for person in writer.into_iter().chain(caregivers).chain(patient) {
            if people.iter().all(|known| known.word != person.word) {
                people.push(person);
            }
        }
        people
    }

    fn staff(&self, is_meant: impl Fn(&crate::people::Person) -> bool) -> Vec<Choice> {
        let today = self.book.calendar.today(self.clock.now);
        let people = self.book.program.people.iter().flat_map(|people| &people.people);
        let is_here = |person: &&crate::people::Person| {
            person.from.is_none_or(|from| from <= today) && person.until.is_none_or(|until| today <= until)
        };
        let meant = people.filter(is_here).filter(|person| is_meant(person));
        meant.map(|person| Choice::of(&person.code, person.role.word())).collect()
    }

    /// The staff whose role may determine an infection.
    fn clinicians(&self) -> Vec<Choice> {
        let signals = self.book.program.policy.as_ref().and_then(|policy| policy.signals.as_ref());
        self.staff(|person| signals.is_some_and(|signals| signals.clinician_roles.contains(&person.role)))
    }

    fn signers(&self) -> Vec<Choice> {
        self.staff(|person| person.may_sign)
    }

    /// The subjects of a call: this patient's open signals first.
    fn subjects(&self) -> Vec<Choice> {
        let open = self.rows.iter().flat_map(|row| row.signals.iter().flatten()).map(|signal| signal.name);
        let mut subjects: Vec<About> = Vec::new();
        for about in open.chain([About::Overdue, About::Log, About::Supply, About::Other]) {
            if !subjects.contains(&about) {
                subjects.push(about);
            }
        }
        subjects.into_iter().map(|about| Choice::of(words::signal(about), "")).collect()
    }

    fn curricula(&self) -> &[Curriculum] {
        self.book.program.policy.as_ref().and_then(|policy| policy.curricula.as_deref()).unwrap_or_default()
    }

    /// The curriculum of a checkoff, in the version that it says, else the newest.
    fn curriculum(&self, draft: &Draft) -> Option<&Curriculum> {
        curriculum(self.curricula(), draft)
    }

    /// The steps of every curriculum, each once.
    fn all_steps(&self) -> Vec<Choice> {
        let mut all: Vec<Choice> = Vec::new();
        for step in self.curricula().iter().flat_map(|curriculum| &curriculum.steps) {
            if all.iter().all(|known| known.word != step.id) {
                all.push(Choice::of(&step.id, step.text.clone()));
            }
        }
        all
    }

    fn steps(&self, draft: &Draft) -> Vec<Choice> {
        let steps = self.curriculum(draft).map(|curriculum| curriculum.steps.as_slice()).unwrap_or_default();
        let words = |step: &Step| Choice::of(&step.id, step.text.clone());
        steps.iter().map(words).collect()
    }
}

/// The curriculum that a checkoff names, in its version, else the newest.
pub(super) fn curriculum<'c>(curricula: &'c [Curriculum], draft: &Draft) -> Option<&'c Curriculum> {
    let name = draft.values.text("curriculum")?;
    let named = curricula.iter().filter(|curriculum| curriculum.name == name);
    match draft.values.get("version") {
        Some(Value::Number(version)) => named.clone().find(|curriculum| curriculum.version as f64 == *version),
        _ => named.clone().max_by_key(|curriculum| curriculum.version),
    }
}

/// A list as it is written; a subject of a call by its key.
fn list(key: &str, words: impl Iterator<Item = String>) -> Value {
    let is = |word: &str, about: &&str| About::from_word(about).is_some_and(|about| words::signal(about) == word);
    let written = |word: String| match key {
        "about" => About::WORDS.iter().find(|about| is(&word, about)).map_or(word, |about| (*about).to_owned()),
        _ => word,
    };
    Value::List(words.map(|word| Value::Text(written(word))).collect())
}

fn is_list(shape: &Shape) -> bool {
    matches!(shape, Shape::List(_))
}

/// Whether no other answer than the choices is possible.
fn is_closed(shape: &Shape) -> bool {
    matches!(shape, Shape::Words(_) | Shape::Flag)
}

fn shown(n: usize, choice: &Choice) -> String {
    let about = if choice.about.is_empty() { String::new() } else { format!(" ({})", visible(&choice.about)) };
    format!("{} {}{about}", n + 1, visible(&choice.word))
}

/// The time of a draft in full: `Monday, November 23, 2026, 18:40`.
fn read_back(draft: &Draft) -> String {
    match (draft.values.get("at"), draft.values.get("on")) {
        (Some(Value::Moment(moment)), _) => moment.wall.format("%A, %B %-d, %Y, %H:%M").to_string(),
        (_, Some(Value::Date(day))) => day.format("%A, %B %-d, %Y").to_string(),
        _ => String::new(),
    }
}
