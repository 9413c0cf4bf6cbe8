//! The handoff between two shifts: dangers first, then events, then changes due; one screen for a quiet night, and one page
//! to sign.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use maud::html;

use super::day::short;
use super::html::{self, INTERNAL};
use super::infection::in_one_line;
use super::{TextStyle, bold, census, hanging, not_known_words, paragraph, unusable, words};
use crate::day::{Calendar, WallTime};
use crate::event::Subject;
use crate::report::handoff::{
    ContactMade, CorrectedRecord, DueSoon, HandoffReport, Promised, Recorded, TreatedPatient,
};
use crate::report::{At, Report};
use crate::signal::Episode;
use crate::text::{count, visible};
use crate::word::Word;

/// The kind of page in its mark.
const KIND: &str = "handoff";

/// The signature lines.
const SIGNED: [&str; 2] = ["Handed off by, time", "Received by, time"];

/// A heading with its lines.
struct HeadedLines {
    heading: String,
    lines: Vec<String>,
}

/// Renders the handoff as text.
pub(crate) fn handoff(report: &Report<HandoffReport>, calendar: &Calendar, look: TextStyle) -> String {
    let mut out = unusable(look, &report.unusable);
    for line in first_lines(report, calendar) {
        out.push_str(&hanging(look, &line, "  "));
    }
    for section in sections(&report.body, report.as_of.date()) {
        out.push_str(&format!("\n{}\n", bold(&section.heading, look)));
        section.lines.iter().for_each(|line| out.push_str(&hanging(look, &format!("  {line}"), "    ")));
    }
    out.push('\n');
    out.push_str(&paragraph(look, &report.caution));
    out
}

/// Returns the mark that only such a page begins with.
pub(crate) fn handoff_mark() -> String {
    html::mark(KIND)
}

/// Renders the handoff as a self-contained HTML page to sign.
pub(crate) fn handoff_page(report: &Report<HandoffReport>, calendar: &Calendar) -> String {
    let page = html! {
        p class="release" { (INTERNAL) } "\n"
        h1 { "Exit-site handoff" } "\n"
        @for file in &report.unusable {
            p class="warn" { "Incomplete. Cannot read " (file.file) ": " (file.message) } "\n"
        }
        @for line in first_lines(report, calendar) { p { (line) } "\n" }
        @for section in sections(&report.body, report.as_of.date()) {
            h2 { (section.heading) } "\n"
            ul { @for line in &section.lines { li { (line) } "\n" } } "\n"
        }
        table {
            tbody { @for place in SIGNED { tr { th scope="row" { (place) } td class="box" {} } "\n" } }
        } "\n"
        p class="caution" { (report.caution) } "\n"
    };
    html::page(KIND, "Exit-site handoff", include_str!("due/due.css"), page)
}

/// Returns the shift, the census, and the number of records.
fn first_lines(report: &Report<HandoffReport>, calendar: &Calendar) -> Vec<String> {
    let body = &report.body;
    let at = |at: &At| match at {
        At::Time(time) => time.with_timezone(&calendar.policy_zone()).format("%a %b %-d %H:%M %Z").to_string(),
        At::Day(day) => day.format("%a %b %-d").to_string(),
    };
    let number = |n: usize, what: &str| count(n as i64, what);
    let written = format!(
        "{}, {}, {} entered late, {} corrected; {}",
        number(body.recorded.len(), "record"),
        number(body.contacts.len(), "call"),
        body.entered_late.len(),
        body.corrected.len(),
        number(body.rose.len(), "new signal"),
    );
    let not_known = (!body.not_known.is_empty())
        .then(|| format!("Not all signals are known, unreadable record: {}", body.not_known.join(" ")));
    let is_complete = report.unusable.is_empty() && body.not_known.is_empty() && body.signals_not_known.is_empty();
    let census = census(&body.census, is_complete);
    [format!("Handoff from {} to {}", at(&body.since), at(&report.as_of)), census, written]
        .into_iter()
        .chain(not_known)
        .chain(not_known_words(&body.signals_not_known))
        .collect()
}

/// Returns the sections that have lines, dangers first.
fn sections(body: &HandoffReport, today: NaiveDate) -> Vec<HeadedLines> {
    let signals = |episodes: &[Episode], more: &dyn Fn(&Episode) -> String| -> Vec<String> {
        episodes.iter().map(|episode| format!("{}{}", signal(episode, today), more(episode))).collect()
    };
    let is_open = |episode: &Episode| body.open.iter().any(|open| open == episode);
    let is_new = |episode: &Episode| body.rose.iter().any(|rose| rose == episode);
    let others = |episodes: &[Episode], is_told: &dyn Fn(&Episode) -> bool| -> Vec<Episode> {
        episodes.iter().filter(|episode| !is_told(episode)).cloned().collect()
    };
    let is_still_open = |episode: &Episode| body.open_acted_on.iter().any(|open| open == episode);
    let is_told_above = |episode: &Episode| is_open(episode) || is_still_open(episode);
    let (rose, worse) = (others(&body.rose, &is_told_above), others(&body.worse, &is_told_above));
    let acted_on = others(&body.acted_on, &|episode| is_new(episode) || is_still_open(episode));
    let ended = others(&body.ended, &is_new);
    let new = |episode: &Episode| match (is_new(episode), body.worse.contains(episode)) {
        (true, _) => format!(" (new){}", called(episode, today)),
        (_, true) => format!(" (worse or seen again){}", called(episode, today)),
        _ => called(episode, today),
    };
    let still_open = |episode: &Episode| {
        let acted_on = episode.answered.map(|at| format!("; acted on {}", wall(at, today))).unwrap_or_default();
        let is_news = if is_new(episode) { " (new)" } else { "" };
        format!("{is_news}{acted_on}{}", called(episode, today))
    };
    let late: Vec<String> = body.entered_late.iter().map(|one| entered(one, today)).collect();
    let all = [
        ("NEEDS REVIEW TODAY", signals(&body.open, &new)),
        ("ACTED ON, STILL OPEN", signals(&body.open_acted_on, &still_open)),
        ("NEW SIGNALS", signals(&rose, &|episode| state(episode, today))),
        ("WORSE OR SEEN AGAIN", signals(&worse, &|episode| state(episode, today))),
        ("ACTED ON", signals(&acted_on, &|episode| state(episode, today))),
        ("ENDED", signals(&ended, &|episode| state(episode, today))),
        ("WITHDRAWN: RECORD VOIDED OR CORRECTED", signals(&body.withdrawn, &|_| String::new())),
        (
            "INFECTION, TREATMENT OR PENDING CULTURE",
            body.under_treatment.iter().map(|one| treated(one, today)).collect(),
        ),
        ("CALLS", body.contacts.iter().map(|contact| call(contact, today)).collect()),
        ("PROMISES", body.promises.iter().map(|one| promise(one, today)).collect()),
        ("OVERDUE", codes(&body.overdue, "since", today)),
        ("DUE NOW OR IN THE NEXT 12 HOURS", codes(&body.becomes_due, "by", today)),
        ("RECORDED", by_kind(&body.recorded)),
        ("ENTERED LATE", late),
        ("CORRECTED", body.corrected.iter().map(|one| correction(one, today)).collect()),
    ];
    let sizes = [body.overdue.len(), body.becomes_due.len(), body.recorded.len()];
    let headed = |(heading, lines): (&str, Vec<String>)| {
        let number = match heading {
            "OVERDUE" => sizes[0],
            "DUE NOW OR IN THE NEXT 12 HOURS" => sizes[1],
            "RECORDED" => sizes[2],
            _ => lines.len(),
        };
        HeadedLines { heading: format!("{heading} ({number})"), lines }
    };
    all.into_iter().filter(|(_, lines)| !lines.is_empty()).map(headed).collect()
}

/// `P-022 a  dressing wet or off since Mon 21:30: dressing wet`
fn signal(episode: &Episode, today: NaiveDate) -> String {
    let exit = episode.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
    let (name, since) = (words::signal(episode.signal), wall(episode.since, today));
    let said = episode.evidence.last().map(|said| words::observation(&said.what, today));
    let said = said.filter(|said| said != name).map(|said| format!(": {said}"));
    format!("{}{exit}  {name} since {since}{}", visible(&episode.patient), said.unwrap_or_default())
}

/// Describes the last call about a signal that did not count as acting on it.
fn called(episode: &Episode, today: NaiveDate) -> String {
    let words = episode.called.as_ref().map(|called| {
        format!("; called {} {}: {}", visible(&called.with), wall(called.at, today), words::outcome(called.outcome))
    });
    words.unwrap_or_default()
}

fn state(episode: &Episode, today: NaiveDate) -> String {
    let acted = match episode.answered {
        Some(at) if episode.news_answered => format!("; acted on {}", wall(at, today)),
        _ => "; not acted on".to_owned(),
    };
    match episode.ended {
        Some(at) => format!("{acted}; ended {}", wall(at, today)),
        None => format!("{acted}{}", called(episode, today)),
    }
}

/// `P-022  Mon 21:40 co-1 called p022-aunt about dressing wet or off: advised`
fn call(contact: &ContactMade, today: NaiveDate) -> String {
    let about = contact.about.iter().filter_map(|word| Subject::from_word(word)).map(words::subject);
    let about: Vec<&str> = about.collect();
    let until = contact.expect_by.map(|at| format!(" by {}", wall(at, today))).unwrap_or_default();
    format!(
        "{}  {} {} called {} about {}: {}{until}",
        visible(&contact.patient),
        short(&contact.at, today),
        visible(&contact.by),
        visible(&contact.with),
        about.join(", "),
        words::outcome_to(contact.outcome, contact.escalated_to.as_deref()),
    )
}

/// `P-009  Infection under treatment: driveline superficial, proven, since Nov 14, …`
fn treated(one: &TreatedPatient, today: NaiveDate) -> String {
    let line = in_one_line(&one.infections, &one.treatments, &one.cultures_pending, today);
    format!("{}  {line}", visible(&one.patient))
}

fn promise(promised: &Promised, today: NaiveDate) -> String {
    let late = if promised.broken { ", not done" } else { "" };
    format!("{}  promised by {}{late}", visible(&promised.patient), wall(promised.expect_by, today))
}

/// Renders one line per deadline: `by Wed 03:00: P-005, P-016`.
fn codes(sites: &[DueSoon], before: &str, today: NaiveDate) -> Vec<String> {
    let code = |site: &DueSoon| {
        let exit = if site.exits > 1 { format!(" {}", visible(&site.exit)) } else { String::new() };
        format!("{}{exit}", visible(&site.patient))
    };
    let line = |sites: &[DueSoon]| {
        let deadline = sites.first().and_then(|site| site.deadline);
        let at = deadline.map(|at| format!("{before} {}: ", wall(at, today))).unwrap_or_default();
        format!("{at}{}", sites.iter().map(code).collect::<Vec<_>>().join(", "))
    };
    sites.chunk_by(|one, next| one.deadline == next.deadline).map(line).collect()
}

/// Renders one line per kind: `change: P-014, P-016 (2)`.
fn by_kind(records: &[Recorded]) -> Vec<String> {
    let mut kinds: BTreeMap<&str, BTreeMap<&str, usize>> = BTreeMap::new();
    for record in records {
        *kinds.entry(record.kind.word()).or_default().entry(&record.patient).or_default() += 1;
    }
    let patient = |(code, n): (&&str, &usize)| if *n > 1 { format!("{code} ({n})") } else { (*code).to_owned() };
    let line = |(kind, patients): (&str, BTreeMap<&str, usize>)| {
        format!("{kind}: {}", patients.iter().map(patient).collect::<Vec<_>>().join(", "))
    };
    kinds.into_iter().map(line).collect()
}

/// `P-009  change Nov 16 09:30, entered today 02:10 by rn-07`
fn entered(record: &Recorded, today: NaiveDate) -> String {
    let at = record.entered_at.map(|at| format!(", entered {}", wall(at, today))).unwrap_or_default();
    let voided = if record.voided { ", since voided" } else { "" };
    let (patient, by) = (visible(&record.patient), visible(&record.by));
    format!("{patient}  {} {} by {by}{at}{voided}", record.kind, short(&record.at, today))
}

fn correction(one: &CorrectedRecord, today: NaiveDate) -> String {
    let (patient, by, why) = (visible(&one.patient), visible(&one.by), visible(&one.why));
    let was = one.was.as_ref().map(|was| format!("; was {}", visible(was))).unwrap_or_default();
    let (action, at, file) = (one.action, wall(one.at, today), visible(&one.file));
    format!("{patient}  {} {action} {at} by {by}: {why}{was} ({file})", one.kind)
}

fn wall(at: WallTime, today: NaiveDate) -> String {
    short(&At::Time(at.0), today)
}
