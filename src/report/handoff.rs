//! The handoff between two shifts: records entered since the start of the shift, their effects, and changes due in the next
//! hours.
//! Current signals are compared with those at the start of the shift, computed from the records entered by then. A late entry
//! or a void therefore shows up in the handoff of the shift that made it.

mod before;
mod signals;

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use super::due::{Census, DueReport, Row};
use super::infection::{OpenInfection, RunningTreatment, UnderTreatment};
use crate::chart::Chart;
use crate::day::{Calendar, Instant, WallTime};
use crate::event::{Anchor, ContactOutcome, Dressing, Event, Fact, Kind, Signal, Site, Source, only_in_note};
use crate::schedule::{Schedule, State, default_until};
use crate::signal::Episode;
use crate::word::{Word, words};
pub use before::JustBefore;
use before::is_just_before;
use signals::{SignalChange, signals};

/// The hours ahead that a handoff covers.
pub(crate) const HOURS_AHEAD: i64 = 12;

/// The handoff of a program.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct HandoffReport {
    /// The start of the time covered.
    pub since: At,
    /// The hours after `as_of` within which changes are listed.
    pub hours_ahead: i64,
    /// The census: each patient on file counted once.
    pub census: Census,
    /// Open signals of today not acted on.
    pub open: Vec<Episode>,
    /// Open signals of today that were acted on.
    pub open_acted_on: Vec<Episode>,
    /// Patients with an open infection, an ongoing treatment or a pending culture.
    pub under_treatment: Vec<TreatedPatient>,
    /// Signals that opened.
    pub rose: Vec<Episode>,
    /// Signals already open that got worse or were seen again.
    pub worse: Vec<Episode>,
    /// Signals that were acted on.
    pub acted_on: Vec<Episode>,
    /// Signals that ended.
    pub ended: Vec<Episode>,
    /// Signals no longer supported because a record was voided or corrected, in their last state.
    pub withdrawn: Vec<Episode>,
    /// Contacts recorded, in order.
    pub contacts: Vec<ContactMade>,
    /// Unkept promises: those that are broken, and those that still hold, by their time.
    pub promises: Vec<Promised>,
    /// Overdue exit sites as on the due list, in its order.
    pub overdue: Vec<Row>,
    /// Exit sites due now or within the next hours as on the due list, earliest deadline first.
    pub becomes_due: Vec<Row>,
    /// Records entered, by event time.
    pub recorded: Vec<Recorded>,
    /// Records entered about events before the time covered.
    pub entered_late: Vec<Recorded>,
    /// Records entered in the two hours before the default start; null without such records, or if the start was given.
    pub just_before: Option<JustBefore>,
    /// Signals of today known on this care day before the time covered, open or ended.
    pub earlier_today: Vec<Episode>,
    /// Records amended or voided.
    pub corrected: Vec<CorrectedRecord>,
    /// Patients with incomplete signals, because a file or a part of the policy is invalid.
    pub not_known: Vec<String>,
    /// Signals that cannot be computed for any patient because people.toml or a part of policy.toml is invalid.
    pub signals_not_known: Vec<Signal>,
}

/// A patient with an open infection, an ongoing treatment or a pending culture.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct TreatedPatient {
    /// The patient's code.
    pub patient: String,
    /// Open infections.
    pub infections: Vec<OpenInfection>,
    /// Ongoing treatments.
    pub treatments: Vec<RunningTreatment>,
    /// The dates of cultures without a result.
    pub cultures_pending: Vec<NaiveDate>,
}

/// A recorded contact.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ContactMade {
    /// The patient's code.
    pub patient: String,
    /// The time.
    pub at: At,
    /// The code of the caller.
    pub by: String,
    /// The person reached: a code, `patient` or `other`.
    pub with: String,
    /// The subjects.
    pub about: Vec<String>,
    /// The outcome.
    pub outcome: ContactOutcome,
    /// The person to whom the caller escalated.
    pub escalated_to: Option<String>,
    /// The time by which a change or visit is expected.
    pub expect_by: Option<WallTime>,
    /// The time by the policy, if a change or visit was promised without a time; otherwise null.
    pub by_policy: Option<WallTime>,
    /// The note.
    pub note: Option<String>,
    /// The record.
    pub file: String,
}

/// A promised change or visit.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Promised {
    /// The patient's code.
    pub patient: String,
    /// The time by which it is expected.
    pub expect_by: WallTime,
    /// True if that time has passed without a change.
    pub broken: bool,
    /// True if the time was agreed; false if it is the policy's.
    pub agreed: bool,
    /// The record of the contact.
    pub file: String,
}

/// An entered record.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct Recorded {
    /// The patient's code.
    pub patient: String,
    /// The time of the event.
    pub at: At,
    /// The kind.
    pub kind: Kind,
    /// The code of the person who did or saw it.
    pub by: String,
    /// The source.
    pub source: Source,
    /// The time of entry; null if the record does not state it.
    pub entered_at: Option<WallTime>,
    /// True if the record has since been voided.
    pub voided: bool,
    /// The exit site as recorded; null if the record does not state it.
    pub site: Option<Site>,
    /// The dressing as left, or else as found; null if the record does not state it.
    pub dressing: Option<Dressing>,
    /// The anchor as left, or else as found; null if the record does not state it.
    pub anchor: Option<Anchor>,
    /// Words of the note that name a finding which the record itself does not state.
    pub findings_in_note: Vec<String>,
    /// The record.
    pub file: String,
}

words! {
    /// A way of correcting a record.
    pub enum CorrectedHow {
        /// An amendment.
        Amended = "amended",
        /// A void.
        Voided = "voided",
    }
}

/// An amended or voided record.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CorrectedRecord {
    /// The patient's code.
    pub patient: String,
    /// `amended` or `voided`.
    pub action: CorrectedHow,
    /// The time of the correction.
    pub at: WallTime,
    /// The code of the person who made it.
    pub by: String,
    /// The reason.
    pub why: String,
    /// The values before the amendment, or the record that replaces the voided one; null if there is none.
    pub was: Option<String>,
    /// The kind of the record.
    pub kind: Kind,
    /// The record.
    pub file: String,
}

/// One patient's part of a handoff.
#[derive(Debug, Default)]
pub struct Part {
    code: String,
    is_complete: bool,
    signals: Vec<(SignalChange, Episode)>,
    under_treatment: Option<TreatedPatient>,
    contacts: Vec<ContactMade>,
    recorded: Vec<(Recorded, bool)>,
    just_before: Vec<Instant>,
    corrected: Vec<CorrectedRecord>,
}

/// Builds a patient's part since a moment. Requires the windows `Signals` and `Recent`.
pub(crate) fn of_patient(chart: &Chart, since: Instant) -> Part {
    let (code, calendar, until) = (&chart.patient.code, &chart.patient.calendar, chart.as_of().instant);
    let is_within = |at: Instant| since < at && at <= until;
    let mut part = Part { code: code.clone(), ..Part::default() };
    let mut events: Vec<&Event> = chart.all_events().collect();
    events.sort_by_key(|event| event.order());
    for event in events {
        part.just_before.extend(Some(event.known_at(calendar)).filter(|at| is_just_before(*at, since)));
        if is_within(event.known_at(calendar)) && event.exists(calendar, until) {
            let is_late = event.when.instant <= since;
            part.recorded.push((recorded(code, event, calendar), is_late));
            part.contacts.extend(contact(chart, event).filter(|_| event.void.is_none()));
        }
        let corrections = event.amended.iter().map(|one| (CorrectedHow::Amended, one));
        for (action, one) in corrections.chain(event.void.iter().map(|one| (CorrectedHow::Voided, one))) {
            if let Some(at) = one.at.instant(calendar).filter(|at| is_within(*at)) {
                let (by, why, file) = (one.by.clone(), one.why.clone(), event.file().to_owned());
                let at = calendar.wall(at);
                part.corrected.push(CorrectedRecord {
                    patient: code.clone(),
                    action,
                    at,
                    by,
                    why,
                    was: one.what.clone(),
                    kind: event.name.kind,
                    file,
                });
            }
        }
    }
    let treated = UnderTreatment::of(chart.timeline().events(), chart.timeline().today, chart.as_of().is_given);
    part.under_treatment = treated.is_any().then(|| TreatedPatient {
        patient: code.clone(),
        infections: treated.infections,
        treatments: treated.treatments,
        cultures_pending: treated.cultures_pending,
    });
    if let Some(signals) = signals(chart, since) {
        part.signals = signals;
        part.is_complete = chart.unread.is_empty();
    }
    part
}

/// Builds the part of a patient whose records cannot be read.
pub(crate) fn unjudged(code: &str) -> Part {
    Part { code: code.to_owned(), ..Part::default() }
}

fn recorded(code: &str, event: &Event, calendar: &Calendar) -> Recorded {
    Recorded {
        patient: code.to_owned(),
        at: At::of(&event.when, calendar),
        kind: event.name.kind,
        by: event.by.clone(),
        source: event.source,
        entered_at: event.entered_at.and_then(|at| at.instant(calendar)).map(|at| calendar.wall(at)),
        voided: event.void.is_some(),
        site: event.site().filter(|site| **site != Site::default()).cloned(),
        dressing: event.dressing(),
        anchor: event.anchor(),
        findings_in_note: only_in_note(event).into_iter().map(|(word, _)| word.to_owned()).collect(),
        file: event.file().to_owned(),
    }
}

fn contact(chart: &Chart, event: &Event) -> Option<ContactMade> {
    let Fact::Contact(contact) = &event.fact else { return None };
    let calendar = &chart.patient.calendar;
    let is_promise = matches!(contact.outcome, ContactOutcome::WillChange | ContactOutcome::ComingIn);
    let is_open = is_promise && contact.expect_by.is_none();
    Some(ContactMade {
        patient: chart.patient.code.clone(),
        at: At::of(&event.when, calendar),
        by: event.by.clone(),
        with: contact.with.clone(),
        about: contact.about.iter().map(|subject| subject.word().to_owned()).collect(),
        outcome: contact.outcome,
        escalated_to: contact.escalated_to.clone(),
        expect_by: contact.expect_by_instant.map(|at| calendar.wall(at)),
        by_policy: by_policy(chart, event).filter(|_| is_open),
        note: event.note.clone(),
        file: event.file().to_owned(),
    })
}

/// The time of a promise by the policy: the earliest of the exit sites followed.
fn by_policy(chart: &Chart, call: &Event) -> Option<WallTime> {
    let (plan, patient, timeline) = (chart.rules.plan()?, &chart.patient, chart.timeline());
    let exits = patient.exits_followed(timeline.today).into_iter();
    let until = exits.map(|exit| default_until(&Schedule { plan, patient, exit }, &timeline, call.when.instant)).min();
    until.map(|until| patient.calendar.wall(until))
}

/// The time covered by a handoff.
#[derive(Debug, Clone, Copy)]
pub struct Shift {
    /// The start.
    pub since: Instant,
    /// True if the start was given; false if it is the default.
    pub is_given: bool,
    /// The end.
    pub until: Instant,
}

/// Builds the handoff from all parts and the due list of the same patients.
pub fn report(due: DueReport, parts: Vec<Part>, shift: Shift, calendar: &Calendar) -> HandoffReport {
    let until = shift.until;
    let ahead = until + Duration::hours(HOURS_AHEAD);
    let is_known = due.signals_not_known.is_empty();
    let not_known = parts.iter().filter(|part| !part.is_complete || !is_known).map(|part| part.code.clone());
    let changed = |change: SignalChange| -> Vec<Episode> {
        let signals = parts.iter().flat_map(|part| &part.signals);
        let mut found: Vec<Episode> =
            signals.filter(|(known, _)| *known == change).map(|(_, episode)| episode.clone()).collect();
        found.sort_by_cached_key(|episode| (episode.urgency, episode.signal, episode.since, episode.patient.clone()));
        found
    };
    let sites = |is_wanted: &dyn Fn(&Row) -> bool| -> Vec<Row> {
        due.rows.iter().filter(|row| is_wanted(row)).cloned().collect()
    };
    let by_deadline = |mut found: Vec<Row>| {
        let deadline = |row: &Row| row.site().and_then(|site| site.due.deadline);
        found.sort_by_cached_key(|row| (deadline(row), row.patient().to_owned(), row.exit().map(str::to_owned)));
        found
    };
    let becomes_due = |row: &Row| match row.state() {
        State::Due => true,
        State::Upcoming => row.site().and_then(|site| site.due_from).is_some_and(|from| from.instant() <= ahead),
        _ => false,
    };
    let [open, open_acted_on, rose, earlier_today, worse, acted_on, ended, withdrawn] = [
        SignalChange::Open,
        SignalChange::OpenActedOn,
        SignalChange::Rose,
        SignalChange::EarlierToday,
        SignalChange::Worse,
        SignalChange::ActedOn,
        SignalChange::Ended,
        SignalChange::Withdrawn,
    ]
    .map(changed);
    let recorded = parts.iter().flat_map(|part| &part.recorded);
    let entered_before = parts.iter().flat_map(|part| part.just_before.iter().copied());
    HandoffReport {
        since: At::Time(shift.since.with_timezone(&calendar.policy_zone()).fixed_offset()),
        just_before: JustBefore::of(entered_before, calendar).filter(|_| !shift.is_given),
        earlier_today,
        hours_ahead: HOURS_AHEAD,
        open,
        open_acted_on,
        under_treatment: parts.iter().filter_map(|part| part.under_treatment.clone()).collect(),
        rose,
        worse,
        acted_on,
        ended,
        withdrawn,
        contacts: parts.iter().flat_map(|part| part.contacts.clone()).collect(),
        promises: promises(&due.rows),
        overdue: sites(&|row| row.state() == State::Overdue),
        becomes_due: by_deadline(sites(&becomes_due)),
        entered_late: recorded.clone().filter(|(_, is_late)| *is_late).map(|(one, _)| one.clone()).collect(),
        recorded: recorded.map(|(one, _)| one.clone()).collect(),
        corrected: parts.iter().flat_map(|part| part.corrected.clone()).collect(),
        not_known: not_known.collect(),
        signals_not_known: due.signals_not_known.clone(),
        census: due.census,
    }
}

/// Returns the unkept promises of the rows, each once.
fn promises(rows: &[Row]) -> Vec<Promised> {
    let mut found: Vec<Promised> = Vec::new();
    for site in rows.iter().filter_map(Row::site) {
        let Some(promise) = &site.due.promise else { continue };
        let is_kept = match (site.due.last_change.as_ref().map(|change| change.at), promise.at) {
            (Some(At::Time(changed)), At::Time(promised)) => changed >= promised,
            _ => false,
        };
        let one = Promised {
            patient: site.patient.clone(),
            expect_by: promise.expect_by,
            broken: promise.broken,
            agreed: promise.is_agreed,
            file: promise.file.clone(),
        };
        if !is_kept && !found.contains(&one) {
            found.push(one);
        }
    }
    found.sort_by_cached_key(|one| (one.expect_by, one.patient.clone()));
    found
}
