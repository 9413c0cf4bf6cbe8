//! Telling it: printed, shown, or sent message by message, and remembered after each one that was accepted.

use super::remembered::Remembered;
use super::{Args, Desk, Outcome};
use crate::alert::{Message, Recipient, Standing, messages};
use crate::day::{AsOf, Calendar};
use crate::policy::Alerts;
use crate::post::{Letter, Sender};
use crate::problem::Failure;
use crate::program::Program;
use crate::report::alert::{AlertReport, MessageRow};
use crate::report::{Report, Unusable};
use crate::signal::off_today;
use crate::text;
use crate::view::{self, Words};

/// Whom a printed alert is remembered by.
const PRINTED: &str = "printed";

/// After how many hours it is told again that nothing could be judged, where the policy cannot say.
const REPEAT_HOURS: i64 = 24;

/// A run at work.
pub(super) struct Delivery<'a> {
    pub(super) args: &'a Args,
    pub(super) desk: &'a Desk<'a>,
    pub(super) sender: Option<&'a Sender>,
    pub(super) program: Option<&'a Program>,
}

/// What is told in a run, in words.
struct Telling<'a> {
    words: Words<'a>,
    /// Said in every message.
    remarks: Vec<String>,
    heartbeat: Option<String>,
    /// Whether coordinators get a message with nothing but the heartbeat.
    always: bool,
    names_no_physician: bool,
    /// Everything that stands, told now or before.
    standing: &'a Standing,
}

impl Telling<'_> {
    /// A message in words; none where there is nothing to say.
    fn row(&self, message: &Message, is_mail: bool) -> Option<MessageRow> {
        if message.alerts.is_empty() && !(self.always && message.to.is_coordinator) {
            return None;
        }
        let mut remarks = self.remarks.clone();
        if is_mail && self.names_no_physician && message.alerts.iter().any(|(alert, _)| alert.to_physician) {
            remarks.push("No physician is told: policy.toml names no address of one.".to_owned());
        }
        let Standing { alerts, overdue, unusable, .. } = self.standing;
        let mut subject = format!("exitsite: {}", view::counted(message));
        if message.alerts.is_empty() && !alerts.is_empty() {
            // That nothing is new is not that nothing is to be done.
            subject.push_str(&format!("; {overdue} overdue, {unusable} unusable"));
            remarks.push(format!("Told before and still so: {}.", text::count(alerts.len() as i64, "alert")));
        }
        Some(MessageRow {
            to: is_mail.then(|| message.to.address.clone()),
            alerts: message.alerts.len(),
            subject,
            text: self.words.body(message, &remarks, self.heartbeat.as_deref()),
            sent: None,
            problem: None,
        })
    }
}

impl Delivery<'_> {
    /// Tells what stands to those whom it concerns.
    pub(super) fn tell(&self, as_of: AsOf, standing: &Standing, mut kept: Remembered) -> Result<Outcome, Failure> {
        let (Some(program), Some(alerts)) = (self.program, self.alerts()) else {
            return Ok(self.not_judged(&Failure::new("policy.toml says of nobody who is told"), kept));
        };
        let (calendar, now) = (program.calendar(), as_of.instant);
        let recipients = self.recipients(alerts)?;
        let commit = commit(program);
        let is_shown = self.args.heartbeat || self.args.state.is_none();
        let telling = Telling {
            words: Words { calendar: &calendar, as_of, with_findings: alerts.findings_in_messages },
            remarks: remarks(&kept).into_iter().chain(turned_off(program)).collect(),
            heartbeat: Some(view::heartbeat(standing, commit.as_deref(), as_of)),
            always: if self.sender.is_some() { self.args.heartbeat } else { is_shown },
            names_no_physician: alerts.physician.is_empty(),
            standing,
        };
        let told = messages(&standing.alerts, &recipients, &kept.memory, alerts.repeat_hours, now);
        let report = |rows: &[MessageRow]| {
            let body = AlertReport::of(standing, rows.to_vec(), commit.clone(), &calendar, alerts.findings_in_messages);
            let unusable = standing.problems.iter().map(Unusable::from).collect();
            Report::of("alert", as_of, &calendar, unusable, body)
        };
        let is_mail = self.sender.is_some();
        let in_words = |message| Some((message, telling.row(message, is_mail)?));
        let (due, mut rows): (Vec<&Message>, Vec<MessageRow>) = told.iter().filter_map(in_words).unzip();
        let mut outcome = Outcome::default();
        match self.sender.filter(|_| !self.args.dry_run) {
            Some(sender) => {
                for (message, row) in due.into_iter().zip(&mut rows) {
                    send(sender, message, row, &mut kept, as_of);
                }
                if self.args.is_json() {
                    outcome.stdout = view::json(&report(&rows));
                }
            }
            None => {
                let text = if self.args.is_json() { view::json(&report(&rows)) } else { printed(&rows) };
                self.print(&text, &mut outcome)?;
                if !self.args.dry_run {
                    told.iter().for_each(|message| kept.memory.tell(message, now));
                }
            }
        }
        let is_all_accepted = rows.iter().all(|row| row.problem.is_none());
        if is_all_accepted {
            kept.memory.keep(&standing.alerts, |patient| standing.not_known.contains(patient));
            kept.save(now);
        }
        outcome.stderr.push_str(&kept.said);
        outcome.stderr.push_str(&not_accepted(&rows));
        let is_told = rows.iter().any(|row| row.alerts > 0);
        outcome.status = match () {
            () if !is_all_accepted || kept.is_unkept => 2,
            () if !standing.problems.is_empty() => 3,
            () => u8::from(self.args.exit_code && is_told),
        };
        Ok(outcome)
    }

    /// Tells the fallback address, and the coordinators whose addresses can be read, that nothing could be judged; where no
    /// coordinator's can, the physicians, so that somebody hears of it.
    pub(super) fn not_judged(&self, failure: &Failure, mut kept: Remembered) -> Outcome {
        let standing = Standing::not_judged(&failure.to_string());
        let calendar = self.program.map_or_else(utc, Program::calendar);
        let as_of = AsOf { instant: self.desk.surroundings.now, is_given: false };
        let known = self.program.and_then(|program| program.policy.as_ref()).map(|policy| &policy.addresses);
        let known = known.cloned().unwrap_or_default();
        let whom = if known.coordinator.is_empty() { &known.physician } else { &known.coordinator };
        let mut recipients: Vec<Recipient> = Vec::new();
        for address in whom.iter().chain(&self.args.fallback) {
            add(&mut recipients, address, true);
        }
        let telling = Telling {
            words: Words { calendar: &calendar, as_of, with_findings: false },
            remarks: remarks(&kept),
            heartbeat: None,
            always: false,
            names_no_physician: false,
            standing: &standing,
        };
        let repeat_hours = self.alerts().map_or(REPEAT_HOURS, |alerts| alerts.repeat_hours);
        let mut rows = Vec::new();
        let mut outcome = Outcome { status: 2, ..Outcome::default() };
        if self.sender.is_some() {
            for message in messages(&standing.alerts, &recipients, &kept.memory, repeat_hours, as_of.instant) {
                let Some(mut row) = telling.row(&message, true) else { continue };
                if let Some(sender) = self.sender.filter(|_| !self.args.dry_run) {
                    send(sender, &message, &mut row, &mut kept, as_of);
                }
                rows.push(row);
            }
        }
        outcome.stderr = format!("{}exitsite: nothing could be judged: {failure}\n{}", kept.said, not_accepted(&rows));
        if self.args.dry_run {
            for to in rows.iter().filter_map(|row| row.to.as_deref()) {
                outcome.stderr.push_str(&format!("exitsite: {} would be told so\n", text::visible(to)));
            }
        }
        outcome
    }

    fn alerts(&self) -> Option<&Alerts> {
        self.program?.policy.as_ref()?.alerts.as_ref()
    }

    /// Who is told: everybody at once where it is printed, else each address on its own.
    fn recipients(&self, alerts: &Alerts) -> Result<Vec<Recipient>, Failure> {
        let mut recipients = Vec::new();
        if self.sender.is_none() {
            add(&mut recipients, PRINTED, true);
            return Ok(recipients);
        }
        let in_place = self.args.fallback.iter().filter(|_| alerts.coordinator.is_empty());
        for address in alerts.coordinator.iter().chain(in_place) {
            add(&mut recipients, address, true);
        }
        if recipients.is_empty() {
            return Err(Failure::new(
                "nobody would be told: write the address of a coordinator into policy.toml, under [alerts], or name one \
                 with --fallback",
            ));
        }
        alerts.physician.iter().for_each(|address| add(&mut recipients, address, false));
        Ok(recipients)
    }

    /// Prints now where it will be remembered, so that what is remembered was seen; else when the run ends.
    fn print(&self, text: &str, outcome: &mut Outcome) -> Result<(), Failure> {
        match self.desk.surroundings.print {
            Some(print) if self.args.state.is_some() && !text.is_empty() => print(text).map_err(|error| {
                Failure::new(format!("the alerts could not be printed, and will be told again: {error}"))
            }),
            _ => {
                outcome.stdout.push_str(text);
                Ok(())
            }
        }
    }
}

/// Sends one message, and remembers it as soon as it was accepted.
fn send(sender: &Sender, message: &Message, row: &mut MessageRow, kept: &mut Remembered, as_of: AsOf) {
    let to = message.to.address.clone();
    let sent = sender.send(&Letter { to, subject: row.subject.clone(), body: row.text.clone() });
    row.sent = Some(sent.is_ok());
    match sent {
        Ok(()) => {
            kept.memory.tell(message, as_of.instant);
            kept.save(as_of.instant);
        }
        Err(failure) => row.problem = Some(failure.to_string()),
    }
}

/// The messages as they are printed: with the address and subject where they would be sent.
fn printed(rows: &[MessageRow]) -> String {
    let one = |row: &MessageRow| match &row.to {
        Some(to) => format!("To: {}\nSubject: {}\n\n{}", text::visible(to), row.subject, row.text),
        None => row.text.clone(),
    };
    rows.iter().map(one).collect::<Vec<_>>().join("\n")
}

/// One line on the messages that were not accepted.
fn not_accepted(rows: &[MessageRow]) -> String {
    let failed: Vec<&MessageRow> = rows.iter().filter(|row| row.problem.is_some()).collect();
    let Some(why) = failed.first().and_then(|row| row.problem.as_deref()) else { return String::new() };
    let whom: Vec<String> = failed.iter().filter_map(|row| row.to.as_deref().map(text::visible)).collect();
    let of = text::count(rows.len() as i64, "message");
    format!("exitsite: not sent to {} ({} of {of}): {why}; the next run tries again\n", whom.join(", "), failed.len())
}

fn remarks(kept: &Remembered) -> Vec<String> {
    let lost = "What was told before is not known, since the state file could not be used: everything is told again.";
    kept.is_lost.then(|| lost.to_owned()).into_iter().collect()
}

/// That nobody is told of what the policy has turned off.
fn turned_off(program: &Program) -> Option<String> {
    let off: Vec<String> = off_today(program.policy.as_ref()).into_keys().collect();
    (!off.is_empty()).then(|| format!("Signals of today that the policy has turned off: {}.", off.join(", ")))
}

fn add(recipients: &mut Vec<Recipient>, address: &str, is_coordinator: bool) {
    if !recipients.iter().any(|known| known.address == address) {
        recipients.push(Recipient { address: address.to_owned(), is_coordinator });
    }
}

/// The commit that the records folder stands at.
fn commit(program: &Program) -> Option<String> {
    program.folder.repository().ok()?.revision("HEAD", "HEAD").ok()?.commit
}

fn utc() -> Calendar {
    Calendar::new(chrono::NaiveTime::MIN, chrono_tz::Tz::UTC)
}
