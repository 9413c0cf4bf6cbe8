//! The texts around writing a record: the patient, the content, and the effect.

use chrono::NaiveDate;

pub(crate) use super::day::day_and_time;
use super::day::short_day;
use super::{TextStyle, hanging, paragraph};
use super::{due as due_list, grade, teaching, words};
use crate::entry::{Book, Owner};
use crate::event::{ContactOutcome, Event, EventName, Fact, Kind, Source};
use crate::folder::Embedded;
use crate::patient::Caregiver;
use crate::report::At;
use crate::report::due::{Row, SiteRow};
use crate::report::teaching::Learner;
use crate::schedule::{Schedule, State, default_until};
use crate::score::ScoredSite;
use crate::score::{CAUTION, NO_ALL_CLEAR};
use crate::signal::Urgency;
use crate::teaching::CurriculumProgress;
use crate::text::visible;
use crate::timeline::Timeline;

/// Describes the patient of a record, since a swapped code is the most common error.
///
/// ```text
/// P-014 · POD 113 · right-upper · last change yesterday 18:55 by p014-spouse
///   needs review today: pus; acted on: fever (told md-3)
/// ```
pub(crate) fn whom(book: &Book, rows: &[Row], today: NaiveDate, look: TextStyle) -> String {
    let Some(patient) = &book.patient else {
        let person = book.program.people.as_ref().and_then(|people| people.get(book.owner.code()));
        let role = person.map(|person| format!(" · {}", person.role)).unwrap_or_default();
        return hanging(look, &format!("{}{role} · staff", book.owner.code()), "  ");
    };
    let mut out = String::new();
    for row in rows.iter().filter(|row| row.site().is_none()) {
        out.push_str(&hanging(look, &format!("{} · {}", patient.code, due_list::reason(row)), "  "));
    }
    let is_judged = rows.iter().all(|row| row.site().is_some());
    for exit in patient.exits_followed(today).into_iter().filter(|_| is_judged) {
        let row = rows.iter().filter_map(Row::site).find(|row| row.exit == exit.id);
        let pod = row.map(|row| format!(" · POD {}", row.pod)).unwrap_or_default();
        let last = row.and_then(|row| row.due.last_change.as_ref()).map_or("no change on file".to_owned(), |change| {
            let by = book.events.iter().find(|event| event.file() == change.file).map(|event| event.by.as_str());
            format!(
                "last change {}{}",
                day_and_time(&change.at, today),
                by.map(|by| format!(" by {by}")).unwrap_or_default()
            )
        });
        let exits = if patient.exits.len() > 1 { format!(" · exit {}", visible(&exit.id)) } else { String::new() };
        let line = format!("{}{exits}{pod} · {} · {last}", patient.code, exit.at);
        out.push_str(&hanging(look, &line, "  "));
    }
    out.push_str(&open_today(rows, look));
    if let Some(ended) = &patient.ended {
        out.push_str(&hanging(look, &format!("  support ended {}, {}", ended.on, ended.why), "  "));
    }
    if !patient.intolerances.is_empty() {
        out.push_str(&hanging(
            look,
            &format!("  does not tolerate {}", visible(&patient.intolerances.join(", "))),
            "  ",
        ));
    }
    out
}

/// Lists the open signals of today in one line; empty if there are none.
fn open_today(rows: &[Row], look: TextStyle) -> String {
    let (mut waiting, mut acted_on): (Vec<String>, Vec<String>) = (Vec::new(), Vec::new());
    let date = rows.iter().find_map(Row::site).map(|site| site.date).unwrap_or_default();
    for signal in rows.iter().flat_map(Row::signals).filter(|signal| signal.urgency == Urgency::Today) {
        let names = if signal.is_news_answered { &mut acted_on } else { &mut waiting };
        let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), date);
        let act = || words::act(signal.latest_action.as_ref(), signal.name, |_| String::new());
        let acted = if signal.is_news_answered { format!(" ({}{ended})", act()) } else { String::new() };
        let name = format!("{}{acted}", words::signal(signal.name));
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let parts = [("needs review today", waiting), ("acted on", acted_on)];
    let parts = parts.iter().filter(|(_, names)| !names.is_empty());
    let said: Vec<String> = parts.map(|(what, names)| format!("{what}: {}", names.join(", "))).collect();
    if said.is_empty() { String::new() } else { hanging(look, &format!("  {}", said.join("; ")), "    ") }
}

/// Describes a new record, with its full date and time.
pub(crate) fn record(book: &Book, event: &Event, look: TextStyle) -> String {
    in_full(&sentence(book, event), book, event, look)
}

/// Describes a new record that moves to another patient.
pub(crate) fn record_under(whose: &str, book: &Book, event: &Event, look: TextStyle) -> String {
    in_full(&format!("Under {whose}: {}", sentence(book, event)), book, event, look)
}

fn in_full(sentence: &str, book: &Book, event: &Event, look: TextStyle) -> String {
    let mut out = hanging(look, sentence, "  ");
    if event.site().is_some_and(|site| site.is_none_noted()) {
        out.push_str(&paragraph(
            look,
            match event.source {
                Source::Told | Source::Log => "Exit site: all nine findings asked about, none reported.",
                _ => "Exit site: all nine findings assessed, none present.",
            },
        ));
    }
    if let Some(until) = promised_by_policy(book, event) {
        let until = day_and_time(&until, book.calendar.date(event.when.instant));
        out.push_str(&paragraph(look, &format!("No time given: the promise counts until {until}.")));
    }
    if let Fact::Log(log) = event.fact
        && log.complete
        && !changes_between(book, log.from, log.through)
    {
        let words = "The log has no change, so changes due on its days count as missed. If the household did not write everything down, record the log as not complete.";
        out.push_str(&paragraph(look, words));
    }
    out
}

/// Returns the time of a promise by the policy, if the contact gives none: the earliest of the exit sites followed.
fn promised_by_policy(book: &Book, event: &Event) -> Option<At> {
    let Fact::Contact(contact) = &event.fact else { return None };
    let is_promise = matches!(contact.outcome, ContactOutcome::WillChange | ContactOutcome::ComingIn);
    let (plan, patient) = (book.program.plan()?, book.patient.as_ref()?);
    if !is_promise || contact.expect_by.is_some() {
        return None;
    }
    let timeline = Timeline::of(patient, book.events.clone(), event.when.instant);
    let exits = patient.exits_followed(timeline.today).into_iter();
    let until = |exit| default_until(&Schedule { plan, patient, exit }, &timeline, event.when.instant);
    exits.map(until).min().map(|until| patient.calendar.wall(until).into())
}

/// Returns true if a change on these days is on file.
fn changes_between(book: &Book, from: NaiveDate, through: NaiveDate) -> bool {
    let is_there = |event: &Event| {
        let day = event.when.care_day;
        event.name.kind == Kind::Change && event.void.is_none() && from <= day && day <= through
    };
    book.events.iter().any(is_there)
}

/// Describes a record on file in one line, its findings first: `Fri 2026-11-20 10:00  culture by rn-07: exit site; no
/// result yet`.
pub(crate) fn brief(book: &Book, event: &Event) -> String {
    let exit = event.exit.as_ref().map(|exit| format!(", exit {}", visible(exit))).unwrap_or_default();
    let words = super::event::findings_first(event);
    let says = if words.is_empty() { String::new() } else { format!(": {}", visible(&words)) };
    let at = match At::of(&event.when, &book.calendar) {
        At::Time(time) => time.format("%a %Y-%m-%d %H:%M").to_string(),
        At::Day(day) => day.format("%a %Y-%m-%d, time unknown").to_string(),
    };
    format!("{at}  {} by {}{exit}{says}", event.name.kind, visible(&event.by))
}

/// Describes a record on file, with its full date and time.
pub(crate) fn on_file(book: &Book, event: &Event, look: TextStyle) -> String {
    hanging(look, &format!("  on file: {}", sentence(book, event)), "    ")
}

fn sentence(book: &Book, event: &Event) -> String {
    let at = match At::of(&event.when, &book.calendar) {
        At::Time(time) => time.format("%A %Y-%m-%d %H:%M (%:z)").to_string(),
        At::Day(day) => format!("{}, time unknown,", day.format("%A %Y-%m-%d")),
    };
    let exit = event.exit.as_ref().map(|exit| format!(", exit {}", visible(exit))).unwrap_or_default();
    let words = super::event::facts(event);
    let says = if words.is_empty() { String::new() } else { format!(": {}", visible(&words)) };
    let note = event.note.as_ref().map(|note| format!("; note: {}", visible(note))).unwrap_or_default();
    let how = super::words::how_known(event);
    format!("{} on {at} by {}{how}{exit}{says}{note}", event.name.kind, visible(&event.by))
}

/// The reply after a write.
pub(crate) struct WriteReply<'a> {
    /// The files written.
    pub files: &'a [String],
    /// The score of the site, if there is one.
    pub score: Option<&'a ScoredSite>,
    /// The progress of the learner of a checkoff.
    pub taught: Option<&'a (Learner, CurriculumProgress)>,
    /// The patient's rows of the due list.
    pub rows: &'a [Row],
}

/// Describes the effect of a record: the score, the learner's progress, the next change, and the command that undoes it.
pub(crate) fn effect(book: &Book, answer: &WriteReply, look: TextStyle) -> String {
    let WriteReply { files, score, taught, rows } = *answer;
    let mut out = String::new();
    for file in files {
        out.push_str(&format!("Recorded {file}\n"));
    }
    if let Some(score) = score {
        out.push_str(&hanging(look, &format!("{}. {NO_ALL_CLEAR}", grade::in_a_line(score)), "  "));
    }
    if let Some((learner, standing)) = taught {
        out.push_str(&teaching::learned(learner, standing, files, look));
    }
    if let Owner::Patient(_) = book.owner {
        for row in rows {
            let exit = row.exit().filter(|_| rows.len() > 1).map(|exit| format!("exit {}: ", visible(exit)));
            // The signals were shown above, with the dangers.
            let standing = standing_because(row, due_list::schedule_reason(row));
            out.push_str(&hanging(look, &format!("{}{standing}", exit.unwrap_or_default()), "  "));
            let left_out = row.site().filter(|site| site.changed_before.is_none() && has_change_before(files, site));
            if let Some(site) = left_out {
                let begins = short_day(site.begins, site.date);
                let words =
                    format!("This change is from before the records begin ({begins}), so the schedule leaves it out.");
                out.push_str(&hanging(look, &words, "  "));
            }
        }
        let mut promises: Vec<String> = Vec::new();
        for site in rows.iter().filter_map(Row::site) {
            // Only a promise of this write: the others are on the list.
            let promise = site.due.promise.as_ref().filter(|promise| files.contains(&promise.file));
            promises.extend(promise.map(|promise| due_list::promised(site, promise)));
        }
        promises.dedup();
        promises.iter().for_each(|promise| out.push_str(&hanging(look, promise, "  ")));
        if let Some(row) = rows.iter().find(|row| row.is_end_reported()) {
            out.push_str(&hanging(look, &due_list::end_reported(row.patient()), "  "));
        }
    }
    for file in files {
        let back = super::command_line(&format!("  exitsite void {file} --why \"…\""), look);
        out.push_str(&format!("To take it back:\n{back}\n"));
    }
    if score.is_some() {
        out.push_str(&paragraph(look, CAUTION));
    }
    out
}

/// Returns true if a change among the files is from before the exit site's records begin.
fn has_change_before(files: &[String], site: &SiteRow) -> bool {
    let names = files.iter().filter_map(|file| EventName::read(file.rsplit('/').next()?));
    names.into_iter().any(|name| name.kind == Kind::Change && name.date < site.begins)
}

/// Renders a patient's rows of the due list.
pub(crate) fn rows(rows: &[Row], look: TextStyle) -> String {
    due_list::rows(rows, look)
}

/// Names the people to call.
pub(crate) fn household(book: &Book) -> String {
    let caregiver = |caregiver: &Caregiver| match &caregiver.relation {
        Some(relation) => format!("{} ({})", caregiver.code, visible(relation)),
        None => caregiver.code.clone(),
    };
    let caregivers: Vec<String> = book.patient.iter().flat_map(|patient| &patient.caregivers).map(caregiver).collect();
    if caregivers.is_empty() { "no caregivers on file".to_owned() } else { caregivers.join(", ") }
}

/// Renders a question with the prompt for its answer on the next line.
pub(crate) fn question(question: &str, look: TextStyle) -> String {
    format!("{}>", hanging(look, question, "  "))
}

/// Renders the result of a round.
pub(crate) fn summary(sentences: &str, look: TextStyle) -> String {
    hanging(look, sentences, "  ")
}

/// Describes the state of an exit site in a sentence.
pub(crate) fn standing(row: &Row) -> String {
    standing_because(row, due_list::reason(row))
}

fn standing_because(row: &Row, reason: String) -> String {
    let due_on = row.site().and_then(|site| site.due.due_on);
    let on = || due_on.map(|day| day.format("%a %Y-%m-%d").to_string()).unwrap_or_default();
    match row.state() {
        State::Upcoming => format!("next change due {}: {reason}", on()),
        State::None => format!("nothing is due: {reason}"),
        State::Unusable => reason,
        State::Due => format!("change {}: {reason}", due_list::state(row)),
        State::Overdue | State::AwaitingLog => format!("{}: {reason}", due_list::state(row)),
    }
}

/// Describes the personal metadata in a picture file; `None` if there is none.
pub(crate) fn embedded(found: &[Embedded]) -> Option<String> {
    let named = |one: &Embedded| match one {
        Embedded::Place => "the location",
        Embedded::Device => "the device",
        Embedded::Person => "a person",
        Embedded::Other => "other properties",
    };
    let named: Vec<&str> = found.iter().map(named).collect();
    let (last, others) = named.split_last()?;
    let named = if others.is_empty() { (*last).to_owned() } else { format!("{} and {last}", others.join(", ")) };
    Some(format!(
        "the picture file contains {named}: remove that first, then record the cleaned file, since its checksum changes"
    ))
}

/// Asks if another patient is meant, without naming that patient: the person at the bedside knows.
pub(crate) fn swapped(code: &str) -> String {
    format!("{code} has nothing due today. Is this the right patient?")
}
