//! The texts of the round: questions for a call, calls already made, and open matters after a call.

use super::day::{ReaderClock, day_and_time, short_day};
use super::due::{at_closed_exit, promised, reason, reported_late};
use super::entry::household;
use super::words;
use super::{TextStyle, contact, hanging};
use crate::day::{Instant, WallTime};
use crate::entry::{Book, Contacts};
use crate::event::{Event, Fact};
use crate::policy::CarePlace;
use crate::report::At;
use crate::report::due::Row;
use crate::schedule::{ChangeTrigger, State, Trouble};
use crate::signal::{Episode, Urgency, Worsening};
use crate::text::visible;
use chrono::NaiveDate;

/// Renders the questions for a call: open signals by name (their findings are in the row above), the last call, the last
/// record of the site, dressing or anchor by anyone, and the people to call.
///
/// ```text
/// Needs review today: pus (called p014-spouse, advised: still needs review)
/// Needs review this week: more drainage
/// Last call: Mon 18:40 by co-1: p014-spouse, about overdue, advised
/// Last report: inspection, today 07:00 by rn-03, seen: dressing intact
/// Call: p014-spouse (spouse)
///   Dana Field, 555-0142, English (rings twice)
/// ```
pub(crate) fn to_ask(book: &Book, signals: &[Episode], contacts: &Contacts, now: Instant, look: TextStyle) -> String {
    let today = book.calendar.today(now);
    let mut by_danger: Vec<&Episode> = signals.iter().collect();
    by_danger.sort_by_key(|signal| signal.signal);
    let mut out = String::new();
    for (heading, urgency, is_answered) in [
        ("Needs review today", Some(Urgency::Today), false),
        ("Needs review this week", Some(Urgency::ThisWeek), false),
        ("Acted on", None, true),
    ] {
        let is_here = |signal: &&&Episode| {
            signal.news_answered == is_answered && urgency.is_none_or(|urgency| signal.urgency == urgency)
        };
        let names: Vec<String> = by_danger.iter().filter(is_here).map(|signal| named(book, signal, today)).collect();
        if !names.is_empty() {
            out.push_str(&hanging(look, &format!("{heading}: {}", names.join(", ")), "  "));
        }
    }
    let is_past = |event: &&Event| event.void.is_none() && event.when.instant <= now;
    let is_call = |event: &&Event| is_past(event) && matches!(event.fact, Fact::Contact(_));
    if let Some(call) = book.events.iter().rfind(is_call) {
        out.push_str(&hanging(look, &format!("Last call: {}", sentence(book, call, today)), "  "));
    }
    let is_look = |event: &&Event| is_past(event) && event.name.kind.traits().is_care;
    if let Some(last) = book.events.iter().rfind(is_look) {
        let exit = last.exit.as_deref().filter(|_| book.patient.iter().any(|patient| patient.exits.len() > 1));
        let exit = exit.map(|exit| format!(" at exit {}", visible(exit))).unwrap_or_default();
        let line = format!("Last report: {}{exit}, {}", last.name.kind, sentence(book, last, today));
        out.push_str(&hanging(look, &line, "  "));
    }
    let place = book.patient.as_ref().map(|patient| patient.place(today));
    let unit = if place == Some(CarePlace::Inpatient) { "the unit; household: " } else { "" };
    out.push_str(&hanging(look, &format!("Call: {unit}{}", household(book)), "  "));
    let caregivers = book.patient.iter().flat_map(|patient| &patient.caregivers);
    let caregivers = caregivers.map(|one| (one.code.as_str(), one.relation.as_deref()));
    for line in contact::household(contacts, book.owner.code(), caregivers) {
        out.push_str(&hanging(look, &format!("  {line}"), "    "));
    }
    out
}

/// Names a signal, with its exit site if the patient has several, and with a call that did not count as acting on it.
fn named(book: &Book, signal: &Episode, today: NaiveDate) -> String {
    let exits = || book.patient.iter().flat_map(|patient| &patient.exits);
    let is_closed = |id: &str| exits().any(|exit| exit.id == id && exit.until.is_some_and(|day| day <= today));
    let at = |exit: &String| {
        let closed = if is_closed(exit) { " (closed)" } else { "" };
        format!(" at exit {}{closed}", visible(exit))
    };
    let exit = signal.exit.as_ref().filter(|_| exits().count() > 1).map(at).unwrap_or_default();
    let clock = ReaderClock { today, calendar: &book.calendar };
    let worse: Vec<Worsening> = signal.worse_since_action().cloned().collect();
    let last = signal.evidence.last().map(|said| &said.what);
    let worse = words::worse(&worse, last, |at| clock.wall(at), today);
    let worse = worse.map(|worse| format!(" ({worse})")).unwrap_or_default();
    let called = words::contacts(signal, clock).filter(|_| !signal.news_answered);
    let called = called.map(|called| format!(" ({called}; still needs review)"));
    let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), today);
    let act = || words::act(signal.latest_action.as_ref(), signal.signal, |_| String::new());
    let acted_on = if signal.news_answered { format!(" ({}{ended})", act()) } else { String::new() };
    format!("{}{exit}{acted_on}{worse}{}", words::signal(signal.signal), called.unwrap_or_default())
}

fn sentence(book: &Book, event: &Event, today: NaiveDate) -> String {
    let at = day_and_time(&At::of(&event.when, &book.calendar), today);
    let says = super::event::facts(event);
    let says = if says.is_empty() { String::new() } else { format!(": {}", visible(&says)) };
    let note = event.note.as_ref().map(|note| format!("; {}", visible(note))).unwrap_or_default();
    let how = words::how_known(event);
    format!("{at} by {}{how}{says}{note}", visible(&event.by))
}

/// Describes a skipped patient who was already reached today: the call, and open matters.
///
/// ```text
/// P-014 was called today 07:10 by co-1: will change the dressing; open: promised by 18:00, overdue since Mon. Not shown ...
/// ```
pub(crate) fn passed(book: &Book, call: &Event, rows: &[Row], today: NaiveDate) -> String {
    format!("{}. Not shown again; `exitsite round --again` shows it.", called(book, call, rows, today))
}

/// Describes a patient whom another person called from another computer while the row was on this screen.
///
/// ```text
/// P-014 was called today 07:14 by rn-07: will change the dressing; open: promised by 18:00. Skipped: recorded while ...
/// ```
pub(crate) fn called_meanwhile(book: &Book, call: &Event, rows: &[Row], today: NaiveDate) -> String {
    let called = called(book, call, rows, today);
    format!(
        "{called}. Skipped: recorded while the row was on your screen. Nothing of yours was written; < goes back to it."
    )
}

/// Describes a call and the open matters after it.
fn called(book: &Book, call: &Event, rows: &[Row], today: NaiveDate) -> String {
    let at = At::of(&call.when, &book.calendar);
    let outcome = match &call.fact {
        Fact::Contact(contact) => words::outcome_to(contact.outcome, contact.escalated_to.as_deref()),
        _ => String::new(),
    };
    let code = book.owner.code();
    format!("{code} was called {} by {}: {outcome}; open: {}", day_and_time(&at, today), visible(&call.by), open(rows),)
}

/// Lists a patient's open matters briefly, each once: signals, the change with its day, the promise.
pub(crate) fn open(rows: &[Row]) -> String {
    let mut all: Vec<String> = Vec::new();
    let mut say = |words: String| {
        if !all.contains(&words) {
            all.push(words);
        }
    };
    for row in rows {
        let Row::Site(site) = row else {
            say(reason(row));
            continue;
        };
        for signal in site.signals.iter().flatten() {
            let ended = words::and_treatment_ended(signal.treatment_ended.as_ref(), site.date);
            let act = || words::act(signal.latest_action.as_ref(), signal.name, |_| String::new());
            let acted_on = if signal.is_news_answered { format!(" ({}{ended})", act()) } else { String::new() };
            say(format!("{}{}{acted_on}", words::signal(signal.name), at_closed_exit(signal)));
        }
        if site.signals.is_none() {
            say("signals not known".to_owned());
        }
        let due = &site.due;
        match (due.state, due.due_on) {
            // A shower or damage has a clock, an interval has a day.
            (State::Overdue | State::Due | State::Upcoming, _) if due.report.is_some() => {
                let is_overdue = due.state == State::Overdue;
                due.deadline.iter().for_each(|deadline| say(clocked(*deadline, is_overdue, site.date)));
            }
            (State::Overdue, Some(day)) => say(format!("change overdue, due {}", short_day(day, site.date))),
            (State::Due | State::Upcoming, Some(day)) => say(format!("change due {}", short_day(day, site.date))),
            (State::AwaitingLog, _) => say("no log yet".to_owned()),
            _ => {}
        }
        let also = due.also.iter().filter(|one| one.is_reported());
        also.for_each(|one| say(clocked(one.deadline, false, site.date)));
        if let Some(promise) = &due.promise {
            say(promised(site, promise));
        }
    }
    if all.is_empty() { "nothing".to_owned() } else { all.join(", ") }
}

/// Names the patients of whom something needs a person now, in the order of the list: a record that cannot be read, a signal of
/// today not acted on, a shower or damage without a change; empty if there are none.
///
/// ```text
/// Cannot read: P-026. Still needs review today: P-011. No change yet after a shower or damage: P-022 (overdue 7 h), P-014 (by 09:17).
/// ```
pub(crate) fn still_open(rows: &[Row]) -> String {
    let sentence = |heading: &str, name: &dyn Fn(&Row) -> Option<String>| {
        let mut names: Vec<String> = Vec::new();
        for name in rows.iter().filter_map(name) {
            if !names.contains(&name) {
                names.push(name);
            }
        }
        if names.is_empty() { String::new() } else { format!("{heading}: {}. ", names.join(", ")) }
    };
    let code = |row: &Row| visible(row.patient());
    let unreadable = sentence("Cannot read", &|row| (row.state() == State::Unusable).then(|| code(row)));
    let review = sentence("Still needs review today", &|row| row.needs_review_today().then(|| code(row)));
    let change = sentence("No change yet after a shower or damage", &|row| {
        let late = reported_late(row.site()?)?;
        Some(format!("{} ({late})", code(row)))
    });
    format!("{unreadable}{review}{change}")
}

/// Names the patients who were not on the list of a round and whose state is not known or not reported, by reason; empty if
/// there are none.
///
/// ```text
/// Not in this round: cannot read P-026; waiting for log P-018, P-021; away P-031.
/// ```
pub(crate) fn not_in_it(rows: &[Row], listed: &[&str]) -> String {
    let reason = |row: &Row| match (row.state(), row.site()) {
        (State::Unusable, _) => Some(0),
        (State::AwaitingLog, _) => Some(1),
        (State::None, Some(site)) if site.ended.is_none() && site.days_elsewhere.is_some() => Some(2),
        _ => None,
    };
    let mut named: [Vec<String>; 3] = Default::default();
    for row in rows.iter().filter(|row| !listed.contains(&row.patient())) {
        let code = visible(row.patient());
        if let Some(reason) = reason(row).filter(|_| !named.iter().flatten().any(|known| *known == code)) {
            named[reason].push(code);
        }
    }
    let whys = ["cannot read", "waiting for log", "away"].iter().zip(&named).filter(|(_, codes)| !codes.is_empty());
    let whys: Vec<String> = whys.map(|(why, codes)| format!("{why} {}", codes.join(", "))).collect();
    if whys.is_empty() { String::new() } else { format!("Not in this round: {}. ", whys.join("; ")) }
}

/// Describes a change that a shower or damage requires by a time: `change due by today 08:20`.
fn clocked(deadline: WallTime, is_overdue: bool, today: NaiveDate) -> String {
    let at = day_and_time(&deadline.into(), today);
    if is_overdue { format!("change overdue since {at}") } else { format!("change due by {at}") }
}

/// Names a reported shower or damage, with its time: `Dressing lifting, today 06:00`.
pub(crate) fn reported(report: &ChangeTrigger, today: NaiveDate) -> String {
    let what = match report.trouble {
        Trouble::Shower => "Shower".to_owned(),
        Trouble::Damage(dressing) => format!("Dressing {dressing}"),
        Trouble::LeftDamaged(dressing) => format!("Dressing left {dressing}"),
    };
    format!("{what}, {}", day_and_time(&report.at, today))
}
