//! The alerts of a run: the open matters that are due to be sent.
//!
//! An alert is sent once; again when it worsens, and again after `repeat_hours` until it is acted on. Sent alerts are
//! remembered by address, so that an address that rejects mail delays no other.
//!
//! Left out on purpose: sending, and the wording. The policy names the recipients.

mod matter;
mod memory;
mod open;

pub(crate) use matter::{ActedOn, Matter, MatterKind};
pub(crate) use memory::{Memory, SentTo};
pub(crate) use open::OpenAlerts;

use crate::day::Instant;
use crate::schedule::Because;
use crate::signal::{Urgency, learnt_after_days};
use crate::word::{Word, words};

words! {
    /// The reason to send an alert now.
    pub(crate) enum Why {
        /// Never sent.
        New = "new",
        /// It was sent, and has worsened.
        Worse = "worse",
        /// It was sent, and is still open.
        Again = "again",
    }
}

/// The interval after which an alert is repeated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Repeat {
    /// Never.
    Never,
    /// After the policy's `repeat_hours`.
    Policy,
    /// After a week.
    Weekly,
}

words! {
    /// The role of a recipient.
    pub(crate) enum RecipientRole {
        /// A coordinator, who gets all alerts.
        Coordinator = "coordinator",
        /// A physician.
        Physician = "physician",
        /// The fallback address, which gets alerts about the program itself.
        Fallback = "fallback",
    }
}

/// An open matter of which a recipient must be informed.
#[derive(Debug, Clone, PartialEq)]
pub struct Alert {
    /// The patient; `None` if it concerns the program.
    pub patient: Option<String>,
    /// The exit site; `None` if it concerns the patient.
    pub exit: Option<String>,
    /// The matter.
    pub matter: Matter,
    /// The time from which it is open, if known.
    pub since: Option<Instant>,
    /// The time at which it could be known, if later.
    pub known_since: Option<Instant>,
    /// The severity: an alert with a higher one is sent again.
    pub level: i64,
    /// The instant from which coordinators receive it; `None` if unknown.
    pub told_from: Option<Instant>,
    /// The instant from which physicians receive it too; `None` if they do not.
    pub physician_from: Option<Instant>,
    /// The interval of repeats.
    pub repeat: Repeat,
}

/// A recipient of alerts.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Recipient {
    /// An address, or the name of another channel.
    pub address: String,
    /// The role.
    pub role: RecipientRole,
}

/// The alerts for one recipient in one run.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Message<'a> {
    /// The recipient.
    pub to: &'a Recipient,
    /// The alerts, each with its reason, worst first.
    pub alerts: Vec<(&'a Alert, Why)>,
}

impl Alert {
    /// An alert about the program, repeated while it is open.
    pub(crate) fn of_program(matter: Matter, since: Option<Instant>) -> Alert {
        let (patient, exit, known_since, physician_from) = (None, None, None, None);
        let (level, repeat) = (1, Repeat::Policy);
        Alert { patient, exit, matter, since, known_since, level, told_from: since, physician_from, repeat }
    }

    /// The word under which it is remembered: for a signal, its name.
    pub fn what(&self) -> &'static str {
        match &self.matter {
            Matter::Signal { signal, .. } => signal.word(),
            matter => matter.what().word(),
        }
    }

    /// Returns true if physicians receive it too.
    pub fn to_physician(&self) -> bool {
        self.physician_from.is_some()
    }

    /// The instant from which a role receives it: `Some(None)` if unknown, `None` if never.
    fn told_from(&self, role: RecipientRole) -> Option<Option<Instant>> {
        match role {
            RecipientRole::Coordinator => Some(self.told_from),
            RecipientRole::Physician => self.physician_from.map(Some),
            RecipientRole::Fallback => self.is_of_the_program_itself().then_some(self.told_from),
        }
    }

    /// Returns true if an administrator must correct it.
    fn is_of_the_program_itself(&self) -> bool {
        matches!(self.matter, Matter::Policy { .. } | Matter::Unkept { .. } | Matter::NotJudged { .. })
    }

    /// The reporting delay in days, if it was reported late.
    pub(crate) fn learnt_after_days(&self) -> Option<i64> {
        learnt_after_days(self.since?, self.known_since?)
    }

    /// The order within a message: unreadable records, then overdue changes, then by urgency.
    pub fn rank(&self) -> impl Ord + use<> {
        let group = match &self.matter {
            Matter::NotJudged { .. } | Matter::Policy { .. } | Matter::Unkept { .. } => 0,
            Matter::Unusable { .. } => 1,
            Matter::Quiet { .. } => 2,
            Matter::Signal { urgency: Urgency::Today, .. } => 3,
            Matter::Overdue { because: Some(Because::AfterShower | Because::Damage), .. } => 4,
            Matter::Overdue { .. } => 5,
            Matter::SignOff { .. } => 6,
            Matter::Supply { .. } => 7,
            Matter::Signal { .. } => 8,
            Matter::SupportEnded { .. } => 9,
        };
        (group, self.since, self.patient.clone(), self.exit.clone(), self.what())
    }
}

/// Returns the message to each recipient; without alerts if there is nothing new.
pub(crate) fn messages<'a>(
    alerts: &'a [Alert],
    recipients: &'a [Recipient],
    memory: &Memory,
    repeat_hours: i64,
    now: Instant,
) -> Vec<Message<'a>> {
    let message = |to: &'a Recipient| {
        let why = |alert: &'a Alert| Some((alert, memory.why(alert, to, repeat_hours, now)?));
        let mut alerts: Vec<(&Alert, Why)> = alerts.iter().filter_map(why).collect();
        alerts.sort_by_cached_key(|(alert, _)| alert.rank());
        Message { to, alerts }
    };
    recipients.iter().map(message).collect()
}

#[cfg(test)]
mod tests {
    use super::{Alert, Matter, Memory, Recipient, RecipientRole, Repeat, Why, messages};
    use crate::day::Instant;
    use crate::event::Signal;
    use crate::signal::Urgency;
    use crate::word::Word;

    fn at(text: &str) -> Instant {
        format!("{text}:00Z").parse().unwrap()
    }

    fn overdue(level: i64, hours: i64) -> Alert {
        let matter = Matter::Overdue { hours, because: None };
        let alert = Alert::of_program(matter, Some(at("2026-11-22T09:00")));
        let patient = Some("P-014".to_owned());
        let physician_from = alert.since.filter(|_| level > 1);
        Alert { patient, exit: Some("a".to_owned()), level, physician_from, ..alert }
    }

    fn signal(signal: Signal, urgency: Urgency, repeats: bool) -> Alert {
        let matter = Matter::Signal { signal, urgency, evidence: Vec::new(), acted_on: None };
        let patient = Some("P-022".to_owned());
        let alert = Alert::of_program(matter, Some(at("2026-11-24T06:00")));
        let physician_from = alert.since.filter(|_| urgency == Urgency::Today);
        let repeat = if repeats { Repeat::Policy } else { Repeat::Never };
        Alert { patient, physician_from, repeat, ..alert }
    }

    fn both() -> [Recipient; 2] {
        [("co@example.org", RecipientRole::Coordinator), ("md@example.org", RecipientRole::Physician)]
            .map(|(address, role)| Recipient { address: address.to_owned(), role })
    }

    /// The alerts of each run, as "co new overdue", if all messages are accepted.
    fn check(runs: &[(&str, Vec<Alert>)], expected: &[&str]) {
        let mut memory = Memory::default();
        let mut said = Vec::new();
        let recipients = both();
        for (now, alerts) in runs {
            let mut words = Vec::new();
            for message in messages(alerts, &recipients, &memory.clone(), 24, at(now)) {
                for (alert, why) in &message.alerts {
                    words.push(format!("{} {} {}", &message.to.address[..2], why.word(), alert.what()));
                }
                memory.tell(&message, at(now));
            }
            memory.keep(alerts, |_| false);
            said.push(words.join(", "));
        }
        assert_eq!(said, expected);
    }

    #[test]
    fn the_same_is_told_once_and_again_after_a_day() {
        let runs = [
            ("2026-11-23T13:00", vec![overdue(1, 28)]),
            ("2026-11-23T14:00", vec![overdue(1, 29)]),
            ("2026-11-24T12:40", vec![overdue(1, 51)]),
            // A run that starts seconds earlier than the one the day before still counts as a day later.
            ("2026-11-24T12:55", vec![overdue(1, 51)]),
        ];
        check(&runs, &["co new overdue", "", "", "co again overdue"]);
    }

    #[test]
    fn what_got_worse_is_told_at_once_and_the_physician_of_it_for_the_first_time() {
        let runs = [("2026-11-24T08:00", vec![overdue(1, 47)]), ("2026-11-24T10:00", vec![overdue(2, 49)])];
        check(&runs, &["co new overdue", "co worse overdue, md new overdue"]);
    }

    #[test]
    fn what_ended_and_came_back_is_new() {
        let runs = [
            ("2026-11-24T08:00", vec![overdue(1, 47)]),
            ("2026-11-24T09:00", vec![]),
            ("2026-11-24T10:00", vec![overdue(1, 49)]),
        ];
        check(&runs, &["co new overdue", "", "co new overdue"]);
    }

    #[test]
    fn a_signal_of_today_is_told_to_both_and_again_until_it_is_answered() {
        let pus = |repeats| signal(Signal::Pus, Urgency::Today, repeats);
        let runs = [
            ("2026-11-24T08:00", vec![pus(true)]),
            ("2026-11-25T08:00", vec![pus(true)]),
            ("2026-11-26T08:00", vec![pus(false)]),
        ];
        check(&runs, &["co new pus, md new pus", "co again pus, md again pus", ""]);
    }

    #[test]
    fn a_signal_of_this_week_is_told_once_to_the_coordinator() {
        let rising = || signal(Signal::ScoreRising, Urgency::ThisWeek, false);
        let runs = [("2026-11-24T08:00", vec![rising()]), ("2026-12-04T08:00", vec![rising()])];
        check(&runs, &["co new score-rising", ""]);
    }

    #[test]
    fn a_log_that_is_late_is_told_again_after_a_week_and_the_day_that_passes_is_no_part_of_its_key() {
        let late = |since: &str| {
            let signal = signal(Signal::NotLookedAt, Urgency::ThisWeek, false);
            Alert { repeat: Repeat::Weekly, since: Some(at(since)), ..signal }
        };
        let runs = [
            ("2026-11-24T08:00", vec![late("2026-11-20T09:00")]),
            ("2026-11-25T08:00", vec![late("2026-11-21T09:00")]),
            ("2026-11-30T20:00", vec![late("2026-11-26T09:00")]),
            ("2026-12-01T08:00", vec![late("2026-11-27T09:00")]),
        ];
        check(&runs, &["co new not-looked-at", "", "", "co again not-looked-at"]);
    }

    #[test]
    fn where_nothing_is_remembered_each_is_told_what_is_new_and_coordinators_the_rest_once_an_hour() {
        let alert = Alert { physician_from: Some(at("2026-11-24T08:20")), ..overdue(1, 48) };
        let (alerts, recipients) = ([alert], both());
        let told = |last_run: Option<&str>, now: &str| {
            let mut memory = Memory::default();
            memory.goes_unkept(last_run.map(at));
            let told = messages(&alerts, &recipients, &memory, 24, at(now));
            told.iter().map(|message| message.alerts.len()).collect::<Vec<_>>()
        };
        assert_eq!(told(Some("2026-11-24T08:15"), "2026-11-24T08:30"), [0, 1]);
        assert_eq!(told(Some("2026-11-24T08:45"), "2026-11-24T09:00"), [1, 0]);
        assert_eq!(told(Some("2026-11-24T09:00"), "2026-11-24T09:15"), [0, 0]);
        // Once an hour at any minute, with the physician's alerts since the last run.
        assert_eq!(told(Some("2026-11-24T07:59"), "2026-11-24T08:59"), [1, 1]);
        assert_eq!(told(None, "2026-11-24T09:10"), [1, 1]);
        assert_eq!(told(None, "2026-11-24T09:40"), [1, 0]);
        assert_eq!(told(Some("2030-01-01T00:00"), "2026-11-24T09:40"), [1, 0]);
    }

    #[test]
    fn a_clock_that_was_ahead_hides_nothing() {
        let runs = [("2030-01-01T00:00", vec![overdue(1, 47)]), ("2026-11-24T08:00", vec![overdue(1, 47)])];
        check(&runs, &["co new overdue", "co again overdue"]);
    }

    #[test]
    fn what_is_not_accepted_is_not_remembered() {
        let (alerts, recipients) = ([overdue(2, 50)], both());
        let mut memory = Memory::default();
        let now = at("2026-11-24T08:00");
        let told = messages(&alerts, &recipients, &memory.clone(), 24, now);
        memory.tell(&told[1], now);
        let told = messages(&alerts, &recipients, &memory, 24, now);
        assert_eq!(told.iter().map(|message| message.alerts.len()).collect::<Vec<_>>(), [1, 0]);
    }

    #[test]
    fn what_was_written_down_more_than_a_week_later_was_learnt_late() {
        let known = |text: &str| Alert { known_since: Some(at(text)), ..overdue(1, 30) }.learnt_after_days();
        assert_eq!(known("2026-11-29T09:00"), None);
        assert_eq!(known("2026-12-02T10:00"), Some(10));
        assert_eq!(Why::from_word("again"), Some(Why::Again));
    }
}
