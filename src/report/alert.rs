//! Open alerts, and the messages sent.

use chrono::NaiveDate;
use schemars::JsonSchema;
use serde::Serialize;

use super::At;
use crate::alert::{Alert, Matter, MatterKind, Memory, OpenAlerts, SentTo};
use crate::day::{Calendar, Instant};
use crate::event::Signal;
use crate::schedule::Because;
use crate::signal::Urgency;

/// The alert report.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AlertReport {
    /// All open alerts, worst first, whether or not already sent.
    pub alerts: Vec<AlertRow>,
    /// The messages of this run.
    pub messages: Vec<MessageRow>,
    /// Patients on file.
    pub on_file: usize,
    /// Patients with an overdue change.
    pub overdue: usize,
    /// Overdue patients whose overdue alert is held back until a promise is broken.
    pub held_by_promise: Vec<String>,
    /// Patients whose change has been overdue for too few hours to alert about (`coordinator_after_hours`).
    pub not_yet_alerted: Vec<String>,
    /// Unreadable patients, including folder names that are not patient codes.
    pub cannot_be_judged: usize,
    /// Patients whose support has ended according to a call; no alert about them is sent until patient.toml records the end.
    pub reported_ended: Vec<String>,
    /// The time of the newest record; null if there is none.
    pub newest_record: Option<At>,
    /// The commit of the records folder; null if it is not in a git repository.
    pub commit: Option<String>,
}

/// One alert. Findings are null unless the policy sets `findings_in_messages`.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AlertRow {
    /// The patient's code; null if the alert concerns the program.
    pub patient: Option<String>,
    /// The exit site's id; null if the alert concerns the patient as such.
    pub exit: Option<String>,
    /// The type of alert.
    pub what: MatterKind,
    /// The urgency of a signal: `today` or `this-week`.
    pub urgency: Option<Urgency>,
    /// The time at which it opened.
    pub since: Option<At>,
    /// The earliest time at which the program could know of it, if that is known.
    pub known_since: Option<At>,
    /// Days until it was reported, if reported late.
    pub learnt_after_days: Option<i64>,
    /// Completed hours since the deadline, or since the last record.
    pub hours: Option<i64>,
    /// The date of the move home, or of the end of support.
    pub on: Option<NaiveDate>,
    /// The reason why the change was due.
    pub because: Option<Because>,
    /// The signal's name.
    pub signal: Option<Signal>,
    /// The evidence in the records, or the unreadable files.
    pub evidence: Option<Vec<String>>,
    /// True if physicians are also alerted.
    pub to_physician: bool,
    /// The recipients of a signal of today, in the order of the first sending; null for any other alert.
    pub told: Option<Vec<Told>>,
    /// The time of the first record that acts on the signal; null if there is none.
    pub acted_on: Option<At>,
    /// That record.
    pub acted_on_by: Option<String>,
    /// True if the signal's latest evidence has been acted on; null if the alert is not about a signal.
    pub news_acted_on: Option<bool>,
}

/// A recipient of an alert.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Told {
    /// The address; `printed` if the alert is printed.
    pub to: String,
    /// The time of the first sending; null if an older version of exitsite sent it.
    pub first_at: Option<At>,
    /// The time of the last sending.
    pub last_at: At,
}

/// One message to one address.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MessageRow {
    /// The address; null if the message is printed.
    pub to: Option<String>,
    /// The number of alerts in the message.
    pub alerts: usize,
    /// The subject.
    pub subject: String,
    /// The text.
    pub text: String,
    /// True if the message was accepted; null if it was not sent.
    pub sent: Option<bool>,
    /// The reason for which it was not accepted.
    pub problem: Option<String>,
    /// The reply of the mail server, or the exit status of the mail program, if it was accepted.
    pub answer: Option<String>,
}

impl AlertReport {
    /// Builds the report from the open alerts and the messages from a run.
    pub fn of(
        open: &OpenAlerts,
        messages: Vec<MessageRow>,
        commit: Option<String>,
        (calendar, memory): (&Calendar, &Memory),
        with_findings: bool,
    ) -> AlertReport {
        let mut alerts: Vec<&Alert> = open.alerts.iter().collect();
        alerts.sort_by_cached_key(|alert| alert.rank());
        AlertReport {
            alerts: alerts.into_iter().map(|alert| AlertRow::of(alert, (calendar, memory), with_findings)).collect(),
            messages,
            on_file: open.on_file,
            overdue: open.overdue,
            held_by_promise: open.held_by_promise.clone(),
            not_yet_alerted: open.not_yet.clone(),
            cannot_be_judged: open.unreadable,
            reported_ended: open.reported_ended.clone(),
            newest_record: open.newest.map(|newest| on_the_wall(newest, calendar)),
            commit,
        }
    }
}

impl AlertRow {
    fn of(alert: &Alert, (calendar, memory): (&Calendar, &Memory), with_findings: bool) -> AlertRow {
        let told = |sent: SentTo| Told {
            to: sent.whom,
            first_at: sent.first.map(|at| on_the_wall(at, calendar)),
            last_at: on_the_wall(sent.last, calendar),
        };
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
            told: None,
            acted_on: None,
            acted_on_by: None,
            news_acted_on: None,
        };
        match &alert.matter {
            Matter::Overdue { hours, because } => (row.hours, row.because) = (Some(*hours), *because),
            Matter::Signal { signal, urgency, evidence, acted_on } => {
                if *urgency == Urgency::Today {
                    row.told = Some(memory.sent_to(alert).into_iter().map(told).collect());
                }
                row.acted_on = acted_on.as_ref().map(|acted| on_the_wall(acted.at, calendar));
                row.acted_on_by = acted_on.as_ref().map(|acted| acted.by.clone());
                row.news_acted_on = Some(acted_on.as_ref().is_some_and(|acted| acted.is_of_all));
                let said = evidence.iter().map(|what| what.to_string()).collect();
                (row.urgency, row.signal, row.evidence) = (Some(*urgency), Some(*signal), Some(said));
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
