//! The dressing change reported in a call: by whom, at which exit site, when, why, and what was found. If the time is unknown,
//! asks whether the change came after a shower or damage of that day, so that an earlier change never counts for a later report.

use chrono::{NaiveDate, Timelike};

use super::Walk;
use crate::command::call::{household, staff};
use crate::command::consent;
use crate::command::order::SameMinute;
use crate::command::question::{Choice, Enter, Kept, Leave, Questions, pick};
use crate::command::record::{ReportedChange, Talk, change_told_in};
use crate::day::Instant;
use crate::entry::{Book, Clock, Draft, Said};
use crate::event::{At, ChangeReason, Kind};
use crate::patient::ExitSite;
use crate::record::Value;
use crate::report::due::Row;
use crate::schedule::{ChangeTrigger, Schedule, TriggerEvent};
use crate::timeline::Timeline;
use crate::view::day::by_their_clock;
use crate::view::round as view;
use crate::view::words::question::call as asks;
use crate::word::Word;

/// The answers so far.
#[derive(Debug, Clone, Default)]
pub(super) struct ToldChange {
    by: Option<String>,
    exits: Vec<String>,
    when: Option<ReportedTime>,
    /// The reason as reported; `None` if not asked.
    why: Option<ChangeReason>,
    /// True if the change is confirmed to be after the showers and damage of its minute.
    is_after: bool,
    /// The reasons as they will be written, one per exit site.
    reasons: Vec<(String, Option<ChangeReason>)>,
    /// The findings, by exit site.
    findings: Vec<(String, Talk)>,
}

/// The reported time.
#[derive(Debug, Clone)]
enum ReportedTime {
    /// Today before noon.
    ThisMorning(NaiveDate),
    /// A day, without a time.
    Day(NaiveDate),
    /// As typed, with a time.
    Typed(String),
}

/// The choices for an unknown time.
const UNKNOWN: [&str; 3] = ["this morning", "today", "yesterday"];

/// The number of questions in [`Walk::ask_of_change`] before those about the findings.
const BEFORE_FINDINGS: usize = 5;

/// The number of questions in [`Walk::ask_of_change`].
pub(super) fn change_questions(book: &Book, now: Instant) -> usize {
    BEFORE_FINDINGS + followed(book, now).len() * ReportedChange::count()
}

/// The exit sites of today.
fn followed<'b>(book: &'b Book, now: Instant) -> Vec<&'b ExitSite> {
    book.patient.as_ref().map(|patient| patient.exits_followed(book.calendar.today(now))).unwrap_or_default()
}

/// The call and the records that a change was reported in.
pub(super) struct AskedChange<'a> {
    pub(super) contact: &'a Draft,
    pub(super) book: &'a Book<'a>,
    pub(super) rows: &'a [Row],
    /// The answers about each exit site.
    pub(super) kept: &'a [Kept],
}

impl ToldChange {
    /// The change at one exit site, without its findings.
    fn begun(&self, exit: &str, contact: &Draft, clock: Clock) -> Result<Draft, String> {
        let by = self.by.clone().unwrap_or_else(|| "patient".to_owned());
        let when = match &self.when {
            Some(ReportedTime::ThisMorning(day) | ReportedTime::Day(day)) => day.to_string(),
            Some(ReportedTime::Typed(text)) => text.clone(),
            None => return Err("the time is missing".to_owned()),
        };
        let mut change = change_told_in(contact, &by, &when, clock)?;
        if !self.exits.is_empty() {
            change.values.set("exit", Value::Text(exit.to_owned()));
        }
        Ok(change)
    }

    /// The change records, one per exit site.
    pub(super) fn drafts(&self, contact: &Draft, book: &Book, clock: Clock) -> Result<Vec<Draft>, String> {
        let of_exit = |(exit, reason): &(String, Option<ChangeReason>)| {
            let mut change = self.begun(exit, contact, clock)?;
            if let Some(reason) = reason {
                change.values.set("reason", Value::Text(reason.word().to_owned()));
            }
            if self.is_after {
                SameMinute::of(&change, book, clock.now).iter().for_each(|other| other.settle(&mut change));
            }
            let found = self.findings.iter().find(|(known, _)| known == exit).map(|(_, talk)| &talk.draft);
            for (key, ..) in Draft::keys(Kind::Change) {
                if let Some(value) = found.and_then(|found| found.values.get(&key)).filter(|_| is_finding(&key)) {
                    change.values.set(&key, value.clone());
                }
            }
            if let Some(ReportedTime::ThisMorning(_)) = &self.when {
                change.values.set("note", Value::Text("this morning, as reported".to_owned()));
            }
            Ok(change)
        };
        self.reasons.iter().map(of_exit).collect()
    }

    /// The change records with the answers so far; without a reason for each exit site, the reason is the reported one.
    pub(super) fn so_far(&self, contact: &Draft, book: &Book, clock: Clock) -> Result<Vec<Draft>, String> {
        let mut known = self.clone();
        if known.reasons.is_empty() && known.when.is_some() {
            let exits = if known.exits.is_empty() { vec![String::new()] } else { known.exits.clone() };
            known.reasons = exits.into_iter().map(|exit| (exit, known.why)).collect();
        }
        known.drafts(contact, book, clock)
    }
}

fn is_finding(key: &str) -> bool {
    ["site.", "found.", "left."].iter().any(|table| key.starts_with(table))
}

impl Walk<'_> {
    /// Asks one question about a change; returns false if no question was needed.
    pub(super) fn ask_of_change(&self, at: usize, change: &mut ToldChange, asked: &AskedChange) -> Result<bool, Leave> {
        let now = self.terminal.now();
        let (book, exits) = (asked.book, followed(asked.book, now));
        match at {
            0 => {
                let people: Vec<Choice> = household(book).into_iter().chain(staff(book, now)).collect();
                let place = self.questions().choose(asks::CHANGED_BY, &people, Enter::Asks)?;
                change.by = place.map(|place| people[place].word.clone());
            }
            1 => {
                change.exits = Vec::new();
                if exits.len() < 2 {
                    return Ok(false);
                }
                let choices: Vec<Choice> =
                    exits.iter().map(|exit| Choice::of(exit.id.clone(), exit.at.word())).collect();
                let places = self.questions().choose_several(asks::CHANGED_EXITS, &choices, Enter::Asks)?;
                change.exits = places.unwrap_or_default().into_iter().map(|place| exits[place].id.clone()).collect();
            }
            2 => {
                change.when = self.ask_when(book, book.calendar.today(now))?;
                change.is_after = false;
            }
            3 => {
                let choices = Choice::words(ChangeReason::WORDS);
                let place = self.questions().choose(asks::CHANGED_BECAUSE, &choices, Enter::Leaves("not asked"))?;
                change.why = place.and_then(|place| ChangeReason::from_word(ChangeReason::WORDS[place]));
            }
            4 => {
                change.reasons = Vec::new();
                let mut is_asked = self.ask_order(change, asked, &exits)?;
                let is_meant = |exit: &&ExitSite| change.exits.is_empty() || change.exits.contains(&exit.id);
                for exit in exits.into_iter().filter(is_meant) {
                    let (reason, was_asked) = self.ask_reason(change, book, exit)?;
                    is_asked |= was_asked;
                    change.reasons.push((exit.id.clone(), reason));
                }
                return Ok(is_asked);
            }
            at => return self.ask_finding(at - BEFORE_FINDINGS, change, asked, &exits),
        }
        Ok(true)
    }

    /// Asks one question about the site, the dressing or the anchor of an exit site, as reported.
    fn ask_finding(
        &self,
        at: usize,
        change: &mut ToldChange,
        asked: &AskedChange,
        exits: &[&ExitSite],
    ) -> Result<bool, Leave> {
        let (n, at) = (at / ReportedChange::count(), at % ReportedChange::count());
        let Some(exit) = exits.get(n).filter(|exit| change.exits.is_empty() || change.exits.contains(&exit.id)) else {
            return Ok(false);
        };
        let clock = asked.book.clock(self.terminal.now());
        if at == 0 {
            let begun = change.begun(&exit.id, asked.contact, clock);
            let begun = begun.map_err(|sentence| {
                self.questions().say(&sentence);
                Leave::Back
            })?;
            change.findings.retain(|(known, _)| *known != exit.id);
            change.findings.push((exit.id.clone(), ReportedChange::begun(begun)));
            if change.exits.len() > 1 {
                self.say(&format!("Exit site {} ({}):", exit.id, exit.at));
            }
        }
        let Some((_, talk)) = change.findings.iter_mut().find(|(known, _)| *known == exit.id) else {
            return Ok(false);
        };
        let questions = Questions { kept: asked.kept.get(n), ..self.questions() };
        ReportedChange::of(questions, asked.book, clock, asked.rows, self.by).ask(at, talk)
    }

    /// Asks whether a change came after a shower or damage of its minute; after a no, asks for the time again.
    fn ask_order(&self, change: &mut ToldChange, asked: &AskedChange, exits: &[&ExitSite]) -> Result<bool, Leave> {
        let (now, mut is_asked) = (self.terminal.now(), false);
        let clock = asked.book.clock(now);
        'time: loop {
            for exit in exits.iter().filter(|exit| change.exits.is_empty() || change.exits.contains(&exit.id)) {
                let Ok(mut begun) = change.begun(&exit.id, asked.contact, clock) else { continue };
                if let Some(why) = change.why {
                    begun.values.set("reason", Value::Text(why.word().to_owned()));
                }
                for other in SameMinute::of(&begun, asked.book, now) {
                    is_asked |= other.needed().is_some();
                    if !other.is_after(&self.questions())? {
                        change.when = self.ask_when(asked.book, asked.book.calendar.today(now))?;
                        continue 'time;
                    }
                }
            }
            change.is_after = true;
            return Ok(is_asked);
        }
    }

    fn ask_when(&self, book: &Book, today: NaiveDate) -> Result<Option<ReportedTime>, Leave> {
        let clock = book.clock(self.terminal.now());
        let choices = Choice::words(&UNKNOWN);
        let read = |text: &str| match pick(&choices, text) {
            Ok(0) => Ok(ReportedTime::ThisMorning(today)),
            Ok(1) => Ok(ReportedTime::Day(today)),
            Ok(_) => Ok(ReportedTime::Day(crate::day::before(today))),
            Err(_) => {
                let text = self.questions().half_day(clock, text)?;
                match clock.past(&text)? {
                    Said::At(moment) => {
                        consent::date_meant(Some(self.terminal), &text, &Value::Moment(moment))?;
                        Ok(ReportedTime::Typed(text))
                    }
                    Said::On(day) => {
                        consent::date_meant(Some(self.terminal), &text, &Value::Date(day))?;
                        Ok(ReportedTime::Day(day))
                    }
                }
            }
        };
        let question = asks::CHANGED_AT.with(&[&by_their_clock(&book.calendar, self.terminal.now())]);
        self.questions().ask(question.numbered(choices.len()), Enter::Asks, read)
    }

    /// The reason of a change without a time, chosen so that the change counts for the showers and damage of that day
    /// that preceded it and for no others; else as reported. Also returns whether anything was asked.
    fn ask_reason(
        &self,
        change: &ToldChange,
        book: &Book,
        exit: &ExitSite,
    ) -> Result<(Option<ChangeReason>, bool), Leave> {
        let (day, is_morning) = match change.when {
            Some(ReportedTime::ThisMorning(day)) => (day, true),
            Some(ReportedTime::Day(day)) => (day, false),
            _ => return Ok((change.why, false)),
        };
        let (mut after, mut others, mut is_asked) = (Vec::new(), Vec::new(), false);
        for report in self.assumed(change, day, book, exit) {
            let is_later = matches!(report.at, At::Time(time) if time.hour() >= 12);
            let is_after = if is_morning && is_later {
                false
            } else if change.why.is_some() {
                // The reason says what it came after.
                true
            } else {
                is_asked = true;
                let today = book.calendar.date(self.terminal.now());
                let question = asks::CHANGED_AFTER.with(&[&view::reported(&report, today)]);
                let choices = Choice::words(&["yes", "no", "not known"]);
                self.questions().choose(question, &choices, Enter::Asks)? == Some(0)
            };
            if is_after { after.push(report) } else { others.push(report) }
        }
        let reason = match change.why {
            // A change of this morning was not made for a report of the afternoon.
            Some(why) if ChangeTrigger::spares(why, &others) => Some(why),
            _ => ChangeTrigger::reason_after(&after, &others),
        };
        Ok((reason, is_asked))
    }

    /// The reports that a change of a day, without a time, would end only because it counts as later.
    fn assumed(&self, change: &ToldChange, day: NaiveDate, book: &Book, exit: &ExitSite) -> Vec<ChangeTrigger> {
        let now = self.terminal.now();
        let (Some(plan), Some(patient)) = (self.program.plan(), book.patient.as_ref()) else { return Vec::new() };
        let mut draft = Draft::new(Kind::Change);
        draft.happened(Said::On(day));
        let text = |text: &str| Value::Text(text.to_owned());
        draft.values.set("by", text(change.by.as_deref().unwrap_or("patient")));
        draft.values.set("source", text("told"));
        draft.values.set("exit", text(&exit.id));
        let Some(event) = book.trial(&draft, now).ok().and_then(|trial| trial.event) else { return Vec::new() };
        let timeline = Timeline::of(patient, book.events.iter().cloned().chain([event.clone()]).collect(), now);
        let assumed = TriggerEvent::assumed(&Schedule { plan, patient, exit }, &timeline).into_iter();
        assumed.filter(|(_, by)| by.name == event.name).map(|(report, _)| report.trigger(&patient.calendar)).collect()
    }
}
