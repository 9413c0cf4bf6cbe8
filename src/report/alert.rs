//! What somebody must hear of, and what was sent to whom.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use crate::alert::{Alert, Matter, OpenAlerts, What};
use crate::day::{Calendar, Instant};
use crate::event::Signal;
use crate::schedule::Because;
use crate::signal::Urgency;

/// Alerts.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AlertReport {
    /// Everything that stands, the worst first, whether it was told before or not.
    pub alerts: Vec<AlertRow>,
    /// What is told in this run.
    pub messages: Vec<MessageRow>,
    /// Patients on file.
    pub on_file: usize,
    /// Of them, those with an overdue change.
    pub overdue: usize,
    /// Of them, those who cannot be judged, and names that are no patient's.
    pub cannot_be_judged: usize,
    /// Patients whose support has ended, as a call reported; nothing more is sent about them until that is recorded.
    pub reported_ended: Vec<String>,
    /// When the newest record was written; null where there is none.
    pub newest_record: Option<At>,
    /// The commit that the records folder stands at; null where no repository keeps it.
    pub commit: Option<String>,
}

/// One alert. What was found is null unless the policy says `findings_in_messages`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AlertRow {
    /// The patient's code; null where it is the whole program.
    pub patient: Option<String>,
    /// The exit site's id; null where it concerns the patient.
    pub exit: Option<String>,
    /// What it is about.
    pub what: What,
    /// Of a signal: today or this-week.
    pub urgency: Option<Urgency>,
    /// Since when.
    pub since: Option<At>,
    /// When it could be known, where that is known.
    pub known_since: Option<At>,
    /// After how many days it was learnt, where that was late.
    pub learnt_after_days: Option<i64>,
    /// Whole hours since the deadline, or since the last record.
    pub hours: Option<i64>,
    /// The day of the move home, or of the end of support.
    pub on: Option<NaiveDate>,
    /// Why the change was due.
    pub because: Option<Because>,
    /// The signal's name.
    pub signal: Option<Signal>,
    /// What the records say, or which files cannot be used.
    pub evidence: Option<Vec<String>>,
    /// Whether physicians are told, too.
    pub to_physician: bool,
}

/// A message to one address.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MessageRow {
    /// The address; null where it is printed.
    pub to: Option<String>,
    /// How many alerts it tells.
    pub alerts: usize,
    /// The subject.
    pub subject: String,
    /// The text.
    pub text: String,
    /// Whether it was accepted; null where it was not sent.
    pub sent: Option<bool>,
    /// Why it was not accepted.
    pub problem: Option<String>,
}

impl AlertReport {
    /// The open alerts, and the messages of a run.
    pub fn of(
        open: &OpenAlerts,
        messages: Vec<MessageRow>,
        commit: Option<String>,
        calendar: &Calendar,
        with_findings: bool,
    ) -> AlertReport {
        let mut alerts: Vec<&Alert> = open.alerts.iter().collect();
        alerts.sort_by_cached_key(|alert| alert.rank());
        AlertReport {
            alerts: alerts.into_iter().map(|alert| AlertRow::of(alert, calendar, with_findings)).collect(),
            messages,
            on_file: open.on_file,
            overdue: open.overdue,
            cannot_be_judged: open.unreadable,
            reported_ended: open.reported_ended.clone(),
            newest_record: open.newest.map(|newest| on_the_wall(newest, calendar)),
            commit,
        }
    }
}

impl AlertRow {
    fn of(alert: &Alert, calendar: &Calendar, with_findings: bool) -> AlertRow {
        let mut row = AlertRow {
            patient: alert.patient.clone(),
            exit: alert.exit.clone(),
            what: alert.matter.what(),
            urgency: None,
            since: alert.since.map(|since| on_the_wall(since, calendar)),
            known_since: alert.known_since.map(|known| on_the_wall(known, calendar)),
            learnt_after_days: alert.learnt_after_days(),
            hours: None,
            on: None,
            because: None,
            signal: None,
            evidence: None,
            to_physician: alert.to_physician(),
        };
        match &alert.matter {
            Matter::Overdue { hours, because } => (row.hours, row.because) = (Some(*hours), *because),
            Matter::Signal { signal, urgency, evidence } => {
                (row.urgency, row.signal, row.evidence) = (Some(*urgency), Some(*signal), Some(evidence.clone()));
            }
            Matter::Unusable { files } => row.evidence = Some(files.clone()),
            Matter::SignOff { home_on } => row.on = Some(*home_on),
            Matter::Supply { item } => row.evidence = Some(vec![item.clone()]),
            Matter::SupportEnded { on } => row.on = Some(*on),
            Matter::Quiet { hours } => row.hours = *hours,
            Matter::Policy { .. } | Matter::Unkept { .. } | Matter::NotJudged { .. } => {}
        }
        if with_findings { row } else { AlertRow { signal: None, evidence: None, ..row } }
    }
}

fn on_the_wall(instant: Instant, calendar: &Calendar) -> At {
    At::Time(calendar.on_the_wall(instant, calendar.today(instant)))
}
