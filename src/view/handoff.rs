//! The handoff between two shifts: dangers first, then events, then changes due; one screen for a quiet night, and one page
//! to sign.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use maud::html;

use super::day::ReaderClock;
use super::due::{due_by_deadline, overdue_line};
use super::html::{self, INTERNAL};
use super::infection;
use super::{TextStyle, bold, census, hanging, not_known_words, paragraph, unusable, words};
use crate::day::Calendar;
use crate::event::{Anchor, ContactOutcome, Kind, Subject};
use crate::report::handoff::{
    ContactMade, CorrectedRecord, HandoffReport, JustBefore, Promised, Recorded, TreatedPatient,
};
use crate::report::{At, Report};
use crate::schedule::State;
use crate::signal::{Episode, Worsening};
use crate::text::{count, visible};
use crate::word::Word;

/// The kind of page in its mark.
const KIND: &str = "handoff";

/// The signature lines.
const SIGNED: [&str; 2] = ["Handed off by, time", "Received by, time"];

/// The heading of the changes due now or from the next hours on.
const DUE: &str = "CHANGES DUE, WITH DEADLINES";

/// The heading of the infections, treatments and pending cultures.
const TREATED: &str = "INFECTION, TREATMENT OR PENDING CULTURE";

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
    for section in sections(&report.body, ReaderClock { today: report.as_of.date(), calendar }) {
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
        @for section in sections(&report.body, ReaderClock { today: report.as_of.date(), calendar }) {
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
    let voided = body.recorded.iter().filter(|record| record.voided).count();
    let voided = if voided > 0 { format!(" ({voided} of them voided)") } else { String::new() };
    let earlier = match body.earlier_today.len() {
        0 => String::new(),
        n => format!(", {n} earlier today"),
    };
    let written = format!(
        "{}{voided}, {}, {} entered late, {} corrected; {}{earlier}",
        number(body.recorded.len(), "record"),
        number(body.contacts.len(), "call"),
        body.entered_late.len(),
        body.corrected.len(),
        number(body.rose.len(), if body.not_known.is_empty() { "new signal" } else { "known new signal" }),
    );
    let not_known = (!body.not_known.is_empty()).then(|| words::not_all_known(&body.not_known));
    let is_complete = report.unusable.is_empty() && body.not_known.is_empty() && body.signals_not_known.is_empty();
    let census = census(&body.census, is_complete);
    [format!("Handoff from {} to {}", at(&body.since), at(&report.as_of)), census, written]
        .into_iter()
        .chain(body.just_before.as_ref().map(|before| just_before(before, &body.since, &report.as_of)))
        .chain(not_known)
        .chain(not_known_words(&body.signals_not_known))
        .collect()
}

/// `1 record entered between 07:00 and 07:40 is not in this handoff: --since 07:00 includes it`
fn just_before(before: &JustBefore, since: &At, as_of: &At) -> String {
    let clock = |at: &At| match at {
        At::Time(time) => time.format("%H:%M").to_string(),
        At::Day(day) => day.to_string(),
    };
    let (from, until) = (clock(&before.since), clock(since));
    let typed = match before.since.date() == as_of.date() {
        true => from.clone(),
        false => format!("{}T{from}", before.since.date()),
    };
    let (is, them) = if before.records == 1 { ("is", "it") } else { ("are", "them") };
    let records = count(before.records as i64, "record");
    format!("{records} entered between {from} and {until} {is} not in this handoff: --since {typed} includes {them}")
}

/// Returns the sections that have lines, dangers first.
fn sections(body: &HandoffReport, clock: ReaderClock) -> Vec<HeadedLines> {
    let today = clock.today;
    let signals = |episodes: &[Episode], more: &dyn Fn(&Episode) -> String| -> Vec<String> {
        episodes.iter().map(|episode| format!("{}{}", signal(episode, clock), more(episode))).collect()
    };
    let is_open = |episode: &Episode| body.open.iter().any(|open| open == episode);
    let is_new = |episode: &Episode| body.rose.iter().any(|rose| rose == episode);
    let others = |episodes: &[Episode], is_told: &dyn Fn(&Episode) -> bool| -> Vec<Episode> {
        episodes.iter().filter(|episode| !is_told(episode)).cloned().collect()
    };
    let is_still_open = |episode: &Episode| body.open_acted_on.iter().any(|open| open == episode);
    let is_told_above = |episode: &Episode| is_open(episode) || is_still_open(episode);
    let ended_earlier: Vec<Episode> = others(&body.earlier_today, &|one| one.is_open() || body.ended.contains(one));
    let (rose, worsened) = (others(&body.rose, &is_told_above), others(&body.worse, &is_told_above));
    let acted_on = others(&body.acted_on, &|episode| is_new(episode) || is_still_open(episode));
    let ended = others(&body.ended, &is_new);
    let earlier = |episode: &Episode| {
        if body.earlier_today.contains(episode) { " (before this handoff)" } else { "" }
    };
    let new = |episode: &Episode| match (is_new(episode), body.worse.contains(episode)) {
        (true, _) => format!(" (new){}{}", worse(episode, clock), called(episode, clock)),
        (_, true) if episode.worse_since_action().next().is_none() => {
            format!(" (worse or seen again){}", called(episode, clock))
        }
        _ => format!("{}{}{}", earlier(episode), worse(episode, clock), called(episode, clock)),
    };
    let still_open = |episode: &Episode| {
        let is_news = if is_new(episode) { " (new)" } else { earlier(episode) };
        format!("{is_news}{}{}", acted_on_at(episode, clock).unwrap_or_default(), called(episode, clock))
    };
    let late: Vec<String> = body.entered_late.iter().map(|one| entered(one, clock)).collect();
    let all = [
        ("NEEDS REVIEW TODAY", signals(&body.open, &new)),
        ("ACTED ON, STILL OPEN", signals(&body.open_acted_on, &still_open)),
        ("NEW SIGNALS", signals(&rose, &|episode| state(episode, clock))),
        ("WORSE OR SEEN AGAIN", signals(&worsened, &|episode| state(episode, clock))),
        ("ACTED ON", signals(&acted_on, &|episode| state(episode, clock))),
        ("ENDED", signals(&ended, &|episode| state(episode, clock))),
        ("ENDED EARLIER TODAY, BEFORE THIS HANDOFF", signals(&ended_earlier, &|episode| state(episode, clock))),
        ("WITHDRAWN: RECORD VOIDED OR CORRECTED", signals(&body.withdrawn, &|_| String::new())),
        (TREATED, under_treatment(body, today)),
        ("CALLS", body.contacts.iter().map(|contact| call(contact, clock)).collect()),
        ("PROMISES", body.promises.iter().map(|one| promise(one, clock)).collect()),
        ("OVERDUE", body.overdue.iter().map(overdue_line).collect()),
        (DUE, due_by_deadline(&body.becomes_due)),
        ("RECORDED", by_kind(&body.recorded)),
        ("ENTERED LATE", late),
        ("CORRECTED", body.corrected.iter().map(|one| correction(one, clock)).collect()),
    ];
    let voided = body.recorded.iter().filter(|record| record.voided).count();
    let headed = |(heading, lines): (&str, Vec<String>)| {
        let number = match heading {
            DUE => body.becomes_due.len(),
            TREATED => body.under_treatment.len(),
            "RECORDED" => body.recorded.len(),
            _ => lines.len(),
        };
        let voided = if heading == "RECORDED" && voided > 0 { format!(", {voided} voided") } else { String::new() };
        HeadedLines { heading: format!("{heading} ({number}{voided})"), lines }
    };
    all.into_iter().filter(|(_, lines)| !lines.is_empty()).map(headed).collect()
}

/// `P-022 a  dressing wet or off since Mon 21:30: dressing wet`
fn signal(episode: &Episode, clock: ReaderClock) -> String {
    let exit = episode.exit.as_ref().map(|exit| format!(" {}", visible(exit))).unwrap_or_default();
    let (name, since) = (words::signal(episode.signal), clock.since(episode));
    let said = episode.latest().map(|(_, what)| words::observation(what, clock.today));
    let with_pus = episode.later_score.as_ref().map(|score| format!(" with pus {}", clock.wall(score.at)));
    let said = said.filter(|said| said != name).map(|said| format!(": {said}{}", with_pus.unwrap_or_default()));
    format!("{}{exit}  {name} since {since}{}", visible(&episode.patient), said.unwrap_or_default())
}

/// Describes the contacts about a signal that did not count as acting on it.
fn called(episode: &Episode, clock: ReaderClock) -> String {
    words::contacts(episode, clock).map(|contacts| format!("; {contacts}")).unwrap_or_default()
}

/// Describes a worsening since the last action: `; worse than when acted on Fri 10:00 (redness 22 mm)`.
fn worse(episode: &Episode, clock: ReaderClock) -> String {
    let worse: Vec<Worsening> = episode.worse_since_action().cloned().collect();
    let last = episode.evidence.last().map(|said| &said.what);
    let worse = words::worse(&worse, last, |at| clock.wall(at), clock.today);
    worse.map(|worse| format!("; {worse}")).unwrap_or_default()
}

/// Describes the action on a signal: `; told md-3 Nov 3 10:20; oral antibiotic ended Nov 20`.
fn acted_on_at(episode: &Episode, clock: ReaderClock) -> Option<String> {
    let ended = words::and_treatment_ended(episode.treatment_ended.as_ref(), clock.today);
    let act = |_| words::act(episode.latest_action.as_ref(), episode.signal, |at| format!(" {}", clock.wall(at)));
    episode.answered.map(act).map(|act| format!("; {act}{ended}"))
}

fn state(episode: &Episode, clock: ReaderClock) -> String {
    let acted = acted_on_at(episode, clock).filter(|_| episode.news_answered);
    let acted = acted.unwrap_or_else(|| format!("{}; not acted on", worse(episode, clock)));
    match episode.ended {
        Some(at) => format!("{acted}; ended {}", clock.wall(at)),
        None => format!("{acted}{}", called(episode, clock)),
    }
}

/// `P-022  Mon 21:40 co-1 called p022-aunt about dressing wet or off: advised`
fn call(contact: &ContactMade, clock: ReaderClock) -> String {
    let about = contact.about.iter().filter_map(|word| Subject::from_word(word)).map(words::subject);
    let about: Vec<&str> = about.filter(|about| *about != words::subject(Subject::Other)).collect();
    // A call may be about nothing in particular.
    let about = if about.is_empty() { String::new() } else { format!(" about {}", about.join(", ")) };
    let note = contact.note.as_deref().map(|note| format!("; note: {}", visible(note))).unwrap_or_default();
    let agreed = contact.expect_by.map(|at| words::until(&clock.wall(at), true));
    let until = agreed.or(contact.by_policy.map(|at| words::until(&clock.wall(at), false))).unwrap_or_default();
    let with = if contact.with == "other" { "another person".to_owned() } else { visible(&contact.with) };
    let with = if contact.outcome == ContactOutcome::NoAnswer { String::new() } else { format!(" {with}") };
    let outcome = match contact.outcome {
        ContactOutcome::Other => String::new(),
        outcome => format!(": {}", words::outcome_to(outcome, contact.escalated_to.as_deref())),
    };
    format!(
        "{}  {} {} called{with}{about}{outcome}{until}{note}",
        visible(&contact.patient),
        clock.at(&contact.at),
        visible(&contact.by),
    )
}

/// `P-009  Infection under treatment: driveline superficial, proven, since Nov 14, …`, `P-009  Culture of Nov 17 pending`
fn treated(one: &TreatedPatient, today: NaiveDate) -> Vec<String> {
    let lines = infection::lines(&one.infections, &one.treatments, &one.cultures_pending, today);
    lines.into_iter().map(|line| format!("{}  {line}", visible(&one.patient))).collect()
}

/// Describes each patient with an infection, a treatment or a pending culture; if there is none, the number of patients whose
/// records were read.
fn under_treatment(body: &HandoffReport, today: NaiveDate) -> Vec<String> {
    let on_file = body.census.on_file;
    let is_all_read = body.not_known.is_empty() && body.census.in_state(State::Unusable) == 0;
    match body.under_treatment.is_empty() && on_file > 0 && is_all_read {
        true => vec![format!("None current on file; records read: {}", count(on_file as i64, "patient"))],
        false => body.under_treatment.iter().flat_map(|one| treated(one, today)).collect(),
    }
}

fn promise(promised: &Promised, clock: ReaderClock) -> String {
    let late = if promised.broken { ", not reported" } else { "" };
    let by = words::until(&clock.wall(promised.expect_by), promised.agreed);
    format!("{}  promised{by}{late}", visible(&promised.patient))
}

/// Renders one line per kind, with the abnormal findings of each patient: `change: P-014, P-016 (2; redness 12 mm)`.
fn by_kind(records: &[Recorded]) -> Vec<String> {
    let mut kinds: BTreeMap<&str, BTreeMap<&str, Vec<&Recorded>>> = BTreeMap::new();
    for record in records {
        kinds.entry(record.kind.word()).or_default().entry(&record.patient).or_default().push(record);
    }
    let patient = |(code, records): (&&str, &Vec<&Recorded>)| {
        let voided = records.iter().filter(|record| record.voided).count();
        let mut facts: Vec<String> = Vec::new();
        facts.extend((records.len() > 1).then(|| records.len().to_string()));
        for fact in records.iter().filter(|record| !record.voided).flat_map(|record| found(record)) {
            if !facts.contains(&fact) {
                facts.push(fact);
            }
        }
        match (voided, records.len()) {
            (0, _) => {}
            (1, 1) => facts.push("voided".to_owned()),
            (voided, _) => facts.push(format!("{voided} voided")),
        }
        let code = visible(code);
        if facts.is_empty() { code } else { format!("{code} ({})", facts.join("; ")) }
    };
    let line = |(kind, patients): (&str, BTreeMap<&str, Vec<&Recorded>>)| {
        format!("{kind}: {}", patients.iter().map(patient).collect::<Vec<_>>().join(", "))
    };
    kinds.into_iter().map(line).collect()
}

/// Lists the abnormal findings of a record: site, temperature, dressing, anchor, and those that only its note mentions.
fn found(record: &Recorded) -> Vec<String> {
    let site = record.site.as_ref();
    let mut found = site.map(words::findings).unwrap_or_default();
    found.extend(site.and_then(|site| site.temperature_c).map(words::temperature));
    found.extend(
        record.dressing.filter(|dressing| dressing.is_damaged()).map(|dressing| format!("dressing {dressing}")),
    );
    found.extend(
        record.anchor.filter(|anchor| *anchor != Anchor::InPlace).map(|anchor| words::anchor(anchor).to_owned()),
    );
    // The whole note of a call is told with the calls.
    let noted: Vec<String> = record.findings_in_note.iter().map(|word| words::noted_word(word)).collect();
    if !noted.is_empty() && record.kind != Kind::Contact {
        found.push(format!("note mentions {}", noted.join(", ")));
    }
    found
}

/// `P-009  change Nov 16 09:30, entered today 02:10 by rn-07`
fn entered(record: &Recorded, clock: ReaderClock) -> String {
    let at = record.entered_at.map(|at| format!(", entered {}", clock.wall(at))).unwrap_or_default();
    let voided = if record.voided { ", since voided" } else { "" };
    let (patient, by) = (visible(&record.patient), visible(&record.by));
    format!("{patient}  {} {} by {by}{at}{voided}", record.kind, clock.at(&record.at))
}

fn correction(one: &CorrectedRecord, clock: ReaderClock) -> String {
    let (patient, by, why) = (visible(&one.patient), visible(&one.by), visible(&one.why));
    let was = one.was.as_ref().map(|was| format!("; was {}", visible(was))).unwrap_or_default();
    let (action, at, file) = (one.action, clock.wall(one.at), visible(&one.file));
    format!("{patient}  {} {action} {at} by {by}: {why}{was} ({file})", one.kind)
}
