//! Delivery of alerts: printed, shown, or sent message by message; each accepted message is remembered at once.

use super::log::{AlertLog, PRINTED};
use super::remembered::Remembered;
use super::{Args, Context, Outcome};
use crate::alert::{Alert, Matter, Memory, Message, OpenAlerts, Recipient, RecipientRole, messages};
use crate::day::{AsOf, Calendar, Instant};
use crate::policy::Alerts;
use crate::post::{Letter, Sender};
use crate::problem::Failure;
use crate::program::Program;
use crate::report::alert::{AlertReport, MessageRow};
use crate::report::{Report, Unusable};
use crate::signal::off_today;
use crate::text;
use crate::view::{self, AlertWords};

/// The hours until the alert that no records could be checked is repeated, if the policy is unreadable.
const REPEAT_HOURS: i64 = 24;

/// One run.
pub(super) struct AlertRun<'a> {
    pub(super) args: &'a Args,
    pub(super) context: &'a Context<'a>,
    pub(super) sender: Option<&'a Sender>,
    pub(super) program: Option<&'a Program>,
}

/// The wording of a run's messages.
struct Wording<'a> {
    words: AlertWords<'a>,
    /// Remarks added to each message.
    remarks: Vec<String>,
    heartbeat: Option<String>,
    /// True if coordinators get a message even if it has only the heartbeat.
    always: bool,
    names_no_physician: bool,
    /// All open alerts, new or sent before.
    open: &'a OpenAlerts,
}

impl Wording<'_> {
    /// A message in words; `None` if there is nothing to report.
    fn row(&self, message: &Message, is_mail: bool) -> Option<MessageRow> {
        if message.alerts.is_empty() && !(self.always && message.to.role == RecipientRole::Coordinator) {
            return None;
        }
        let is_all = message.to.role == RecipientRole::Coordinator;
        let not_alerted = if is_all { view::not_alerted(self.open) } else { Vec::new() };
        let mut remarks = self.remarks.clone();
        if is_mail && self.names_no_physician && message.alerts.iter().any(|(alert, _)| alert.to_physician()) {
            remarks.push("No physician is alerted: policy.toml has no physician address.".to_owned());
        }
        let OpenAlerts { alerts, unreadable, .. } = self.open;
        let mut subject = format!("exitsite: {}", view::counted(message));
        if message.alerts.is_empty() && !alerts.is_empty() {
            // No new alerts does not mean that nothing needs to be done.
            subject.push_str(&format!("; on file: {}, {unreadable} unreadable", view::overdue_on_file(self.open)));
            remarks.push(format!("Sent before and still open: {}.", text::count(alerts.len() as i64, "alert")));
        }
        Some(MessageRow {
            to: is_mail.then(|| message.to.address.clone()),
            alerts: message.alerts.len(),
            subject,
            text: self.words.body(message, &not_alerted, &remarks, self.heartbeat.as_deref()),
            sent: None,
            problem: None,
            answer: None,
        })
    }
}

impl AlertRun<'_> {
    /// Sends or prints the open alerts.
    pub(super) fn tell(
        &self,
        as_of: AsOf,
        mut open: OpenAlerts,
        mut kept: Remembered,
        mut log: AlertLog,
    ) -> Result<Outcome, Failure> {
        let (Some(program), Some(alerts)) = (self.program, self.alerts()) else {
            return Ok(self.not_judged(&Failure::new("policy.toml does not name the recipients of alerts"), kept, log));
        };
        let (calendar, now) = (program.calendar(), as_of.instant);
        let recipients = self.recipients(&alerts)?;
        kept.save(now);
        open.alerts.extend(unkept(&kept));
        let open = &open;
        let commit = commit(program);
        let is_shown = self.args.heartbeat || self.args.state.is_none();
        let memory = kept.memory.clone();
        let wording = Wording {
            words: AlertWords {
                calendar: &calendar,
                as_of,
                with_findings: alerts.findings_in_messages,
                memory: &memory,
            },
            remarks: remarks(&kept, &log).into_iter().chain(turned_off(program)).collect(),
            heartbeat: Some(view::heartbeat(open, commit.as_deref(), as_of)),
            always: if self.sender.is_some() { self.args.heartbeat } else { is_shown },
            names_no_physician: alerts.physician.is_empty(),
            open,
        };
        let told = messages(&open.alerts, &recipients, &memory, alerts.repeat_hours, now);
        let report = |rows: &[MessageRow], memory: &Memory| {
            let known = (&calendar, memory);
            let body = AlertReport::of(open, rows.to_vec(), commit.clone(), known, alerts.findings_in_messages);
            let unusable = open.problems.iter().map(Unusable::from).collect();
            Report::of("alert", as_of, &calendar, unusable, body)
        };
        let is_mail = self.sender.is_some();
        let in_words = |message| Some((message, wording.row(message, is_mail)?));
        let (due, mut rows): (Vec<&Message>, Vec<MessageRow>) = told.iter().filter_map(in_words).unzip();
        let mut outcome = Outcome::default();
        match self.sender.filter(|_| !self.args.dry_run) {
            Some(sender) => {
                let sent_at = self.context.surroundings.now;
                send(sender, due.into_iter().zip(&mut rows), (&mut kept, &mut log), (as_of, sent_at));
                if self.args.is_json() {
                    outcome.stdout = view::json(&report(&rows, &kept.memory));
                }
            }
            None => {
                let text = if self.args.is_json() { view::json(&report(&rows, &memory)) } else { printed(&rows) };
                self.print(&text, &mut outcome)?;
                due.iter().zip(&rows).for_each(|(message, row)| log.add(message, row, self.context.surroundings.now));
                if !self.args.dry_run {
                    told.iter().for_each(|message| kept.memory.tell(message, now));
                }
            }
        }
        let is_all_accepted = rows.iter().all(|row| row.problem.is_none());
        if is_all_accepted {
            kept.memory.keep(&open.alerts, |patient| open.not_known.contains(patient));
            self.has_told(&kept, now);
        }
        kept.said.extend(log.said());
        outcome.stderr = kept.line(not_accepted(&rows), alerts.repeat_hours, now);
        kept.save(now);
        let is_told = rows.iter().any(|row| row.alerts > 0);
        outcome.status = match () {
            () if !is_all_accepted || kept.unkept.is_some() || log.failed.is_some() => 2,
            () if !open.problems.is_empty() => 3,
            () => u8::from(self.args.exit_code && is_told),
        };
        Ok(outcome)
    }

    /// Alerts the fallback address, and the coordinators whose addresses can be read, that no records could be checked; if
    /// no coordinator's address can be read, the physicians.
    pub(super) fn not_judged(&self, failure: &Failure, mut kept: Remembered, mut log: AlertLog) -> Outcome {
        let mut open = OpenAlerts::not_judged(&failure.to_string());
        let calendar = self.program.map_or_else(utc, Program::calendar);
        let as_of = AsOf { instant: self.context.surroundings.now, is_given: false };
        kept.save(as_of.instant);
        open.alerts.extend(unkept(&kept));
        let known = match self.program {
            Some(program) => program.policy.as_ref().map(|policy| policy.addresses.clone()).unwrap_or_default(),
            None => self.context.folder(&self.args.asking).as_ref().map(Program::addresses).unwrap_or_default(),
        };
        let whom = if known.coordinator.is_empty() { &known.physician } else { &known.coordinator };
        let mut recipients: Vec<Recipient> = Vec::new();
        for address in whom.iter().chain(&self.args.fallback) {
            add(&mut recipients, address, RecipientRole::Coordinator);
        }
        let memory = kept.memory.clone();
        let wording = Wording {
            words: AlertWords { calendar: &calendar, as_of, with_findings: false, memory: &memory },
            remarks: remarks(&kept, &log),
            heartbeat: None,
            always: false,
            names_no_physician: false,
            open: &open,
        };
        let repeat_hours = self.alerts().map_or(REPEAT_HOURS, |alerts| alerts.repeat_hours);
        let mut rows = Vec::new();
        let mut outcome = Outcome { status: 2, ..Outcome::default() };
        if self.sender.is_some() {
            let told = messages(&open.alerts, &recipients, &memory, repeat_hours, as_of.instant);
            let in_words = |message| Some((message, wording.row(message, true)?));
            let (due, said): (Vec<&Message>, Vec<MessageRow>) = told.iter().filter_map(in_words).unzip();
            rows = said;
            if let Some(sender) = self.sender.filter(|_| !self.args.dry_run) {
                let sent_at = self.context.surroundings.now;
                send(sender, due.into_iter().zip(&mut rows), (&mut kept, &mut log), (as_of, sent_at));
            }
        }
        kept.said.extend(log.said());
        if rows.iter().all(|row| row.problem.is_none()) {
            self.has_told(&kept, as_of.instant);
        }
        let why = format!("no records could be checked: {failure}");
        let line = [Some(why), not_accepted(&rows)].into_iter().flatten().collect::<Vec<_>>().join("; ");
        outcome.stderr = kept.line(Some(line), repeat_hours, as_of.instant);
        kept.save(as_of.instant);
        if self.args.dry_run {
            for to in rows.iter().filter_map(|row| row.to.as_deref()) {
                outcome.stderr.push_str(&format!("exitsite: {} would get this message\n", text::visible(to)));
            }
        }
        outcome
    }

    /// Saves the time of a complete run for the next one; not in a dry run, which sends nothing.
    fn has_told(&self, kept: &Remembered, now: Instant) {
        if !self.args.dry_run {
            kept.has_told(now);
        }
    }

    fn alerts(&self) -> Option<Alerts> {
        self.program?.policy.as_ref()?.alerts_or_default()
    }

    /// The recipients: one if alerts are printed, else one per address.
    fn recipients(&self, alerts: &Alerts) -> Result<Vec<Recipient>, Failure> {
        let mut recipients = Vec::new();
        if self.sender.is_none() {
            add(&mut recipients, PRINTED, RecipientRole::Coordinator);
            return Ok(recipients);
        }
        // Without a coordinator, others get all alerts instead.
        let is_broken =
            self.program.and_then(|program| program.policy.as_ref()).is_some_and(|policy| policy.alerts.is_none());
        let fallback: Vec<String> = self.args.fallback.iter().cloned().collect();
        let physicians = if is_broken { &alerts.physician[..] } else { &[] };
        let in_place = [&alerts.coordinator[..], &fallback, physicians].into_iter().find(|them| !them.is_empty());
        for address in in_place.into_iter().flatten() {
            add(&mut recipients, address, RecipientRole::Coordinator);
        }
        if recipients.is_empty() {
            return Err(Failure::new(
                "no recipient: add the address of a coordinator to policy.toml, under [alerts], or name one \
                 with --fallback",
            ));
        }
        alerts.physician.iter().for_each(|address| add(&mut recipients, address, RecipientRole::Physician));
        fallback.iter().for_each(|address| add(&mut recipients, address, RecipientRole::Fallback));
        Ok(recipients)
    }

    /// Prints at once if the alerts will be remembered, so that only printed alerts are remembered; else when the run
    /// ends.
    fn print(&self, text: &str, outcome: &mut Outcome) -> Result<(), Failure> {
        match self.context.surroundings.print {
            Some(print) if self.args.state.is_some() && !text.is_empty() => print(text).map_err(|error| {
                Failure::new(format!("the alerts could not be printed; the next run repeats them: {error}"))
            }),
            _ => {
                outcome.stdout.push_str(text);
                Ok(())
            }
        }
    }
}

/// Sends messages within one delivery timeout, and remembers each as soon as it is accepted. If the connection fails,
/// no further address is tried: it would only delay this run and those after it.
fn send<'a>(
    sender: &Sender,
    due: impl Iterator<Item = (&'a Message<'a>, &'a mut MessageRow)>,
    (kept, log): (&mut Remembered, &mut AlertLog),
    (as_of, now): (AsOf, Instant),
) {
    let mut delivery = sender.begin();
    for (message, row) in due {
        let to = message.to.address.clone();
        let sent = delivery.send(&Letter { to, subject: row.subject.clone(), body: row.text.clone() });
        row.sent = Some(sent.is_ok());
        match sent {
            Ok(answer) => {
                row.answer = Some(text::visible(&answer));
                kept.memory.tell(message, as_of.instant);
                kept.save(as_of.instant);
            }
            Err(why) => row.problem = Some(why),
        }
        log.add(message, row, now);
    }
}

/// The alert that the state could not be saved.
fn unkept(kept: &Remembered) -> Option<Alert> {
    kept.unkept.clone().map(|why| Alert::of_program(Matter::Unkept { why }, None))
}

/// The messages as printed, with address and subject if they would be mailed.
fn printed(rows: &[MessageRow]) -> String {
    let one = |row: &MessageRow| match &row.to {
        Some(to) => format!("To: {}\nSubject: {}\n\n{}", text::visible(to), row.subject, row.text),
        None => row.text.clone(),
    };
    rows.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// A line about the messages that were not accepted.
fn not_accepted(rows: &[MessageRow]) -> Option<String> {
    let failed: Vec<&MessageRow> = rows.iter().filter(|row| row.problem.is_some()).collect();
    let why = failed.first().and_then(|row| row.problem.as_deref())?;
    let whom: Vec<String> = failed.iter().filter_map(|row| row.to.as_deref().map(text::visible)).collect();
    let of = text::count(rows.len() as i64, "message");
    Some(format!("not sent to {} ({} of {of}): {why}; the next run tries again", whom.join(", "), failed.len()))
}

fn remarks(kept: &Remembered, log: &AlertLog) -> Vec<String> {
    let lost = "The state file cannot be read, so earlier alerts are unknown and all are repeated.";
    let lost = kept.is_lost.then(|| lost.to_owned());
    let unlogged = log.failed.as_ref().map(|failure| format!("This message is not in the log of alerts: {failure}."));
    lost.into_iter().chain(unlogged).collect()
}

/// The remark about signals that the policy turned off.
fn turned_off(program: &Program) -> Option<String> {
    let off: Vec<String> = off_today(program.rules()).into_keys().collect();
    (!off.is_empty()).then(|| format!("Signals for today turned off by the policy: {}.", off.join(", ")))
}

fn add(recipients: &mut Vec<Recipient>, address: &str, role: RecipientRole) {
    if !recipients.iter().any(|known| known.address == address) {
        recipients.push(Recipient { address: address.to_owned(), role });
    }
}

/// The commit of the records folder.
fn commit(program: &Program) -> Option<String> {
    program.folder.repository().ok()?.revision("HEAD", "HEAD").ok()?.commit
}

fn utc() -> Calendar {
    Calendar::new(chrono::NaiveTime::MIN, chrono_tz::Tz::UTC)
}
