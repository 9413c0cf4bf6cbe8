//! The questions of `patient add`: one for each missing flag that decides the schedule.
//!
//! An answer is kept as the text of its flag, so that the same code reads a person's answers and a script's flags.

use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;

use chrono::NaiveDate;

use super::caregiver;
use crate::command::form::TypedForm;
use crate::command::question::{Choice, Enter, Leave, Questions};
use crate::command::{Outcome, consent};
use crate::entry::{self, Clock, typed_for};
use crate::patient::Where;
use crate::problem::Failure;
use crate::program::Program;
use crate::record::Value;
use crate::view::words::question::{QuestionText, course};
use crate::word::Word;

/// The texts of the flags, by name.
#[derive(Debug, Clone, Default)]
pub(super) struct FlagTexts {
    texts: BTreeMap<&'static str, String>,
    caregivers: Vec<String>,
}

impl FlagTexts {
    /// The flags as typed.
    pub(super) fn of(typed: &TypedForm, writer: Option<&str>) -> FlagTexts {
        let text = |flag: &&'static str| typed.get(flag.trim_start_matches('-')).map(str::to_owned);
        let flags = ORDER.iter().chain(&["--time-zone"]).filter(|flag| **flag != "--caregiver");
        let mut texts: BTreeMap<_, _> = flags.filter_map(|flag| Some((*flag, text(flag)?))).collect();
        if let Some(writer) = writer {
            texts.entry("--by").or_insert_with(|| writer.to_owned());
        }
        FlagTexts { texts, caregivers: typed.all("caregiver") }
    }

    /// The text of a flag.
    pub(super) fn get(&self, flag: &str) -> Option<&str> {
        self.texts.get(flag).map(String::as_str).filter(|text| !text.trim().is_empty())
    }

    /// The caregivers, each as typed.
    pub(super) fn caregivers(&self) -> &[String] {
        &self.caregivers
    }

    /// The flags that were answered and not typed, in the order of the questions.
    fn besides(&self, typed: &FlagTexts) -> Vec<(String, Option<String>)> {
        let flags = ORDER.iter().filter(|flag| typed.get(flag).is_none());
        let texts = flags.filter_map(|flag| Some(((*flag).to_owned(), Some(self.get(flag)?.to_owned()))));
        let caregivers = self.caregivers.iter().filter(|one| !typed.caregivers.contains(one));
        texts.chain(caregivers.map(|one| ("--caregiver".to_owned(), Some(one.clone())))).collect()
    }

    fn set(&mut self, flag: &'static str, text: String) {
        self.texts.insert(flag, text);
    }
}

/// A day that is not in the future.
pub(super) fn past(text: &str, clock: Clock, today: NaiveDate) -> Result<NaiveDate, String> {
    match clock.day(text)? {
        day if day == clock.date() && day > today => Err(format!(
            "Care day {day} begins at {}. Until then it is {today}.",
            clock.calendar.starts().format("%H:%M")
        )),
        day if day > today => Err(format!("{day} is in the future. Check the month and the year.")),
        day => Ok(day),
    }
}

/// The questions in order.
const ORDER: [&str; 12] = [
    "--implanted",
    "--where",
    "--place",
    "--records-from",
    "--place-since",
    "--place-before",
    "--infections-before",
    "--last-change-before",
    "--caregiver",
    "--reports",
    "--intolerances",
    "--by",
];

/// The most infections before the records, as `check` accepts them.
const MOST_INFECTIONS: i64 = 3650;

/// One interview.
struct Interview<'a> {
    program: &'a Program,
    clock: Clock<'a>,
    questions: Questions<'a>,
    today: NaiveDate,
}

/// Asks for each flag that is missing or invalid, and confirms the answers. After a No the answers are kept and the
/// questions continue; only the word `discard` drops them, which returns `None`.
///
/// # Errors
/// The end of input.
pub(super) fn ask(
    flags: &TypedForm,
    program: &Program,
    clock: Clock,
    questions: Questions,
    writer: Option<&str>,
    settle: impl Fn(&FlagTexts) -> Result<Option<Outcome>, Failure>,
) -> Result<Option<Outcome>, Failure> {
    questions.terminal.on_interrupt(consent::STOPPED);
    let today = clock.calendar.today(clock.now);
    let interview = Interview { program, clock, questions, today };
    let typed = FlagTexts::of(flags, writer);
    let (is_asked, done) = (Cell::new(false), RefCell::new(None));
    let last = |answers: &FlagTexts| {
        let mut answers = answers.clone();
        for (flag, text) in &typed.texts {
            answers.texts.entry(flag).or_insert_with(|| text.clone());
        }
        match settle(&answers) {
            Ok(Some(outcome)) => _ = done.replace(Some(outcome)),
            Err(failure) if !is_asked.get() => return Err(Leave::Fails(failure)),
            Ok(None) if !is_asked.get() => {}
            Ok(None) => questions.discards()?,
            Err(failure) => {
                questions.say(&failure.to_string());
                questions.discards()?;
            }
        }
        Ok(true)
    };
    let mut answers = FlagTexts::default();
    questions.walk(&mut answers, ORDER.len() + 1, |at, answers| {
        questions.terminal.so_far("patient", answers.besides(&typed));
        let Some(flag) = ORDER.get(at) else { return last(answers) };
        let was_asked = interview.put(flag, &typed, answers)?;
        is_asked.set(is_asked.get() || was_asked);
        Ok(was_asked)
    })?;
    Ok(done.into_inner())
}

impl Interview<'_> {
    /// Takes a flag as typed, else asks for it; returns false if no question was needed.
    fn put(&self, flag: &'static str, typed: &FlagTexts, answers: &mut FlagTexts) -> Result<bool, Leave> {
        if flag == "--caregiver" && !typed.caregivers.is_empty() {
            match typed.caregivers.iter().try_for_each(|one| caregiver(self.program, one).map(|_| ())) {
                Ok(()) => {
                    answers.caregivers = typed.caregivers.clone();
                    return Ok(false);
                }
                Err(sentence) => self.questions.say(&sentence),
            }
        } else if let Some(text) = typed.get(flag) {
            match self.meant(flag, text, answers) {
                Ok(text) => {
                    answers.set(flag, text);
                    return Ok(false);
                }
                Err(sentence) => self.questions.say(&sentence),
            }
        }
        if !self.is_open(flag, answers) {
            return Ok(false);
        }
        self.question(flag, answers)?;
        Ok(true)
    }

    /// The text of a flag, if it is valid; a US-style date is read back in full, and confirmed if it is ambiguous.
    fn meant(&self, flag: &str, text: &str, answers: &FlagTexts) -> Result<String, String> {
        let read = self.read(flag, text, answers)?;
        // A place since before the records begin counts from their first day; the day as typed is the one to confirm.
        let typed = if flag == "--place-since" { past(text, self.clock, self.today).ok() } else { read.parse().ok() };
        if let Some(day) = typed {
            consent::date_meant(Some(self.questions.terminal), text, &Value::Date(day))?;
            if day.to_string() != read {
                self.questions.say(&format!("Written as {read}, when your records begin."));
            }
        }
        Ok(read)
    }

    /// The text of a flag, if it is valid.
    fn read(&self, flag: &str, text: &str, answers: &FlagTexts) -> Result<String, String> {
        let typed = |table, key| typed_for(table, key, text, self.clock).map(|value| entry::plain(&value));
        let begin = self.begin(answers);
        match flag {
            "--implanted" => past(text, self.clock, self.today).map(|day| day.to_string()),
            "--records-from" => {
                let implanted = self.day(answers, "--implanted");
                match (text.trim(), implanted) {
                    ("implant", Some(day)) => Ok(day.to_string()),
                    (text, implanted) => match past(text, self.clock, self.today)? {
                        day if implanted.is_some_and(|implanted| day < implanted) => Err(format!(
                            "{day} is before the implant. Records begin on the day of the implant or later."
                        )),
                        day => Ok(day.to_string()),
                    },
                }
            }
            "--place-since" => match past(text, self.clock, self.today)? {
                day if begin.is_some_and(|begin| day < begin) => Ok(begin.unwrap_or(day).to_string()),
                day => Ok(day.to_string()),
            },
            "--last-change-before" => match past(text, self.clock, self.today)? {
                day if begin.is_some_and(|begin| day >= begin) => Err(format!(
                    "{day} is not before the records begin. Record that change with `exitsite record change`."
                )),
                day => Ok(day.to_string()),
            },
            "--where" => typed("exit", "where"),
            "--place" | "--place-before" => typed("care", "place"),
            "--reports" => typed("care", "reports"),
            "--infections-before" => match text.trim().parse::<i64>() {
                Ok(n) if !(0..=MOST_INFECTIONS).contains(&n) => {
                    Err(format!("{n} is not possible. Write a whole number from 0 to {MOST_INFECTIONS}, or unknown."))
                }
                _ => typed("", "infections_before"),
            },
            "--intolerances" => typed("", "intolerances").map(|_| text.trim().to_owned()),
            _ => {
                let code = text.trim();
                entry::is_writer(self.program, None, code, self.today).map(|()| code.to_owned())
            }
        }
    }

    fn day(&self, answers: &FlagTexts, flag: &str) -> Option<NaiveDate> {
        answers.get(flag)?.parse().ok()
    }

    fn begin(&self, answers: &FlagTexts) -> Option<NaiveDate> {
        self.day(answers, "--records-from").or_else(|| self.day(answers, "--implanted"))
    }

    /// Returns true if an answer would make a difference.
    fn is_open(&self, flag: &str, answers: &FlagTexts) -> bool {
        let implanted = self.day(answers, "--implanted");
        let begin = self.begin(answers);
        match flag {
            "--records-from" => implanted != Some(self.today),
            "--place-since" => begin.is_some_and(|begin| begin < self.today),
            "--place-before" => self.day(answers, "--place-since") > begin,
            "--infections-before" | "--last-change-before" => begin > implanted,
            "--reports" => answers.get("--place") == Some("home"),
            _ => true,
        }
    }

    fn question(&self, flag: &'static str, answers: &mut FlagTexts) -> Result<(), Leave> {
        let known = answers.clone();
        let read = |text: &str| self.meant(flag, text, &known);
        let choose = |question: QuestionText, words: &[&str]| {
            let at = self.questions.choose(question, &Choice::words(words), Enter::Asks)?;
            Ok(at.map(|at| words[at].to_owned()))
        };
        let begin = self.begin(&known).map(|day| day.to_string()).unwrap_or_default();
        let text = match flag {
            "--implanted" => self.questions.ask(course::IMPLANTED, Enter::Asks, read)?,
            "--where" => choose(course::WHERE.into(), Where::WORDS)?,
            "--place" => choose(course::PLACE.into(), &["inpatient", "home", "elsewhere"])?,
            "--records-from" => {
                let question = course::RECORDS_FROM.with(&[&self.clock.today_as_typed()]);
                self.questions.ask(question, Enter::Asks, read)?
            }
            "--place-since" => {
                let place = known.get("--place").unwrap_or("there").replace("home", "at home");
                self.questions.ask(course::PLACE_SINCE.with(&[&place, &begin]), Enter::Asks, read)?
            }
            "--place-before" => choose(course::PLACE_BEFORE.with(&[&begin]), &["inpatient", "home", "elsewhere"])?,
            "--infections-before" => {
                self.questions.ask(course::INFECTIONS_BEFORE.with(&[&begin]), Enter::Takes("unknown"), read)?
            }
            "--last-change-before" => {
                self.questions.ask(course::LAST_CHANGE_BEFORE.with(&[&begin]), Enter::Leaves("not known"), read)?
            }
            "--caregiver" => {
                let question = course::CAREGIVERS;
                let read = |text: &str| {
                    let all: Vec<String> = text.split(',').map(|one| one.trim().to_owned()).collect();
                    all.iter().try_for_each(|one| caregiver(self.program, one).map(|_| ()))?;
                    Ok(all)
                };
                answers.caregivers = self.questions.ask(question, Enter::Leaves("none yet"), read)?.unwrap_or_default();
                None
            }
            "--reports" => {
                let choices = [
                    Choice::of("each", "every change is reported as it happens"),
                    Choice::of("log", "by a log from time to time"),
                ];
                let at = self.questions.choose(course::REPORTS, &choices, Enter::Asks)?;
                at.map(|at| choices[at].word.clone())
            }
            "--intolerances" => self.questions.ask(course::INTOLERANCES, Enter::Leaves("none recorded"), read)?,
            _ => self.questions.ask(course::WRITER, Enter::Asks, read)?,
        };
        if let Some(text) = text {
            answers.set(flag, text);
        }
        Ok(())
    }
}
