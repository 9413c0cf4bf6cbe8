//! One exit site's row of the due list.

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::Serialize;

use super::group::{Group, Standing};
use crate::chart::Unread;
use crate::day::{AsOf, Instant};
use crate::event::{Anchor, Event, Kind, Outcome, Signal};
use crate::patient::{Exit, Patient};
use crate::policy::CarePlace;
use crate::problem::Problem;
use crate::report::grade::graded;
use crate::report::{At, rfc3339};
use crate::rules::Rules;
use crate::schedule::{Because, Due, Requirement, Schedule, State};
use crate::signal::{Episode, Urgency};
use crate::timeline::Timeline;

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Row {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where the patient cannot be judged.
    pub exit: Option<String>,
    /// unusable, overdue, due, upcoming, awaiting-log, none.
    pub state: State,
    /// The care day in which it falls due.
    pub due_on: Option<NaiveDate>,
    /// When it becomes overdue.
    pub deadline: Option<String>,
    /// Why.
    pub because: Option<Because>,
    /// Whether it could not be said if a change came before or after what it answers.
    pub order_unknown: Option<bool>,
    /// The interval in days; null for weekdays.
    pub interval_days: Option<i64>,
    /// The phase's name, or `order`.
    pub phase: Option<String>,
    /// Where the patient is today.
    pub place: Option<CarePlace>,
    /// The post-operative day today.
    pub pod: Option<i64>,
    /// The last change.
    pub last_change: Option<LastChange>,
    /// Whole hours since the deadline, where overdue.
    pub hours_overdue: Option<i64>,
    /// Changes missed in a row.
    pub missed_in_a_row: Option<i64>,
    /// The last covered day of a household that is not covered today.
    pub heard_through: Option<NaiveDate>,
    /// The last day on which that household was reached, or told something.
    pub heard_from: Option<NaiveDate>,
    /// When its log is expected.
    pub log_expected: Option<NaiveDate>,
    /// The anchor as last said.
    pub anchor: Option<AnchorSaid>,
    /// What the patient does not tolerate.
    pub intolerances: Option<Vec<String>>,
    /// The last score.
    pub score: Option<LastScore>,
    /// Signals that are open; null where they are not known.
    pub signals: Option<Vec<OpenSignal>>,
    /// The last contact.
    pub last_contact: Option<LastContact>,
    /// A promised change or visit.
    pub promise: Option<Promised>,
    /// Who is signed off; null where that is not known.
    pub signed_off: Option<Vec<String>>,
    /// What else requires a change, the earliest deadline first; null where the patient cannot be judged.
    pub also: Option<Vec<Also>>,
    /// Files of events that have not happened yet; null where a moment was asked about.
    pub ahead: Option<Vec<String>>,
    /// Why, in words.
    #[serde(skip)]
    pub reason: String,
    /// What else to know before a call.
    #[serde(skip)]
    pub beside: Vec<Aside>,
    /// What is not known since a later file cannot be used: the anchor, the score, the last contact.
    #[serde(skip)]
    pub(super) not_known: Vec<&'static str>,
    /// For the order of the list.
    #[serde(skip)]
    group: Group,
    #[serde(skip)]
    deadline_instant: Option<Instant>,
    #[serde(skip)]
    pub(super) reported_deadline: Option<Instant>,
    #[serde(skip)]
    due_day_starts: Option<Instant>,
    #[serde(skip)]
    pub(super) standing: Standing,
}

/// Something to know before a call.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Aside {
    /// In words.
    pub words: String,
    /// Whether it is worth a place on the morning list; the rest is said where a patient is named.
    pub is_brief: bool,
}

/// Something else that requires a change.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Also {
    /// Why.
    pub because: Because,
    /// The care day in which it falls due.
    pub due_on: NaiveDate,
    /// When it becomes overdue.
    pub deadline: String,
    /// Whether it could not be said if a change came before or after what it answers.
    pub order_unknown: bool,
}

/// The last change.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastChange {
    /// When.
    pub at: At,
    /// Its file.
    pub file: String,
    /// Care days since then.
    pub days_ago: i64,
}

/// The anchor as last said.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AnchorSaid {
    /// in-place, loose or absent.
    pub state: Anchor,
    /// When that was said.
    pub at: At,
}

/// The last score.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastScore {
    /// The total; null where an item was not looked at.
    pub total: Option<i64>,
    /// The least it can be.
    pub total_min: i64,
    /// The most it can be.
    pub total_max: i64,
    /// The band.
    pub band: String,
    /// When.
    pub at: At,
}

/// A signal that is open.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct OpenSignal {
    /// Its name.
    pub name: Signal,
    /// today or this-week.
    pub urgency: Urgency,
    /// The exit site, where it is closed and has no row of its own.
    #[serde(skip)]
    pub closed_exit: Option<String>,
    /// Since when.
    #[serde(skip)]
    pub since: At,
    /// Whether it was answered.
    #[serde(skip)]
    pub is_answered: bool,
    /// Whether what was news last is answered, too.
    #[serde(skip)]
    pub is_news_answered: bool,
}

/// The last contact.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastContact {
    /// When.
    pub at: At,
    /// How it ended.
    pub outcome: Outcome,
}

/// A promised change or visit.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Promised {
    /// When it was promised.
    pub at: At,
    /// Until when it is expected.
    pub expect_by: String,
    /// Whether that has passed without a change.
    pub broken: bool,
}

/// The kinds of records that can say how the site was.
const WITH_SITE: [Kind; 2] = [Kind::Change, Kind::Assessment];

/// The kinds of records that can say how the anchor was.
const WITH_ANCHOR: [Kind; 4] = [Kind::Change, Kind::Inspection, Kind::Shower, Kind::Trauma];

impl LastChange {
    pub(super) fn of(event: &Event, patient: &Patient, today: NaiveDate) -> LastChange {
        let at = At::of(&event.when, &patient.calendar);
        LastChange { at, file: event.file().to_owned(), days_ago: (today - event.when.care_day).num_days() }
    }
}

impl Row {
    /// What is due of an exit site, without the words. What a file that cannot be used may say later than the one on file
    /// is not known.
    pub(super) fn of(
        rules: Rules,
        schedule: &Schedule,
        timeline: &Timeline,
        due: &Due,
        ahead: Option<Vec<String>>,
        unread: &Unread,
    ) -> Row {
        let (patient, exit, today) = (schedule.patient, schedule.exit, timeline.today);
        let calendar = &patient.calendar;
        let at = |event: &Event| At::of(&event.when, calendar);
        let scoring = rules.scoring();
        let graded = scoring.and_then(|scoring| graded(rules, scoring, timeline, exit).pop());
        let said = timeline.anchor(exit);
        let contact = timeline.contacts().next_back();
        let hidden = |what, kinds: &[Kind], used| (!unread.later_than(used, kinds).is_empty()).then_some(what);
        let not_known: Vec<&'static str> = [
            hidden("anchor", &WITH_ANCHOR, said.map(|(event, _)| event)),
            hidden("score", &WITH_SITE, graded.as_ref().map(|graded| graded.event)),
            hidden("last contact", &[Kind::Contact], contact.map(|(event, _)| event)),
            hidden("promise", &[Kind::Contact], due.promise.map(|promise| promise.event)),
        ]
        .into_iter()
        .flatten()
        .collect();
        let is_known = |what: &str| !not_known.contains(&what);
        let place = patient.place(today);
        let wall = |deadline: Instant, day| rfc3339(&calendar.on_the_wall(deadline, day));
        let also = |one: &Requirement| Also {
            because: one.because,
            due_on: one.due_on,
            deadline: wall(one.deadline, one.due_on),
            order_unknown: one.order_unknown,
        };
        Row {
            patient: patient.code.clone(),
            exit: Some(exit.id.clone()),
            state: due.state,
            due_on: due.due_on,
            deadline: due.deadline.zip(due.due_on).map(|(deadline, day)| wall(deadline, day)),
            because: due.because,
            order_unknown: Some(due.order_unknown),
            interval_days: due.interval_days,
            phase: due.phase.clone(),
            place: Some(place),
            pod: Some(schedule.pod(today)),
            last_change: due.last_change.map(|event| LastChange::of(event, patient, today)),
            hours_overdue: due.hours_overdue,
            missed_in_a_row: Some(due.missed_in_a_row),
            heard_through: due.heard_through,
            heard_from: due.heard_from,
            log_expected: due.log_expected,
            anchor: said.filter(|_| is_known("anchor")).map(|(event, state)| AnchorSaid { state, at: at(event) }),
            intolerances: Some(patient.intolerances.clone()),
            score: graded.filter(|_| is_known("score")).map(|graded| LastScore {
                total: graded.score.total(),
                total_min: graded.score.total_min,
                total_max: graded.score.total_max,
                band: graded.score.band.clone(),
                at: at(graded.event),
            }),
            signals: None,
            last_contact: contact
                .filter(|_| is_known("last contact"))
                .map(|(event, contact)| LastContact { at: at(event), outcome: contact.outcome }),
            promise: due.promise.filter(|_| is_known("promise")).map(|promise| Promised {
                at: at(promise.event),
                expect_by: rfc3339(&calendar.on_the_wall(promise.expect_by, today)),
                broken: promise.broken,
            }),
            signed_off: None,
            also: Some(due.also.iter().map(also).collect()),
            ahead,
            reason: String::new(),
            beside: Vec::new(),
            not_known,
            group: Group::of(due),
            deadline_instant: due.deadline,
            reported_deadline: due.reported_deadline(),
            due_day_starts: due.due_on.map(|day| calendar.start(day)),
            standing: Standing::of(patient, today),
        }
    }

    /// The row of a patient who cannot be judged.
    pub fn unusable(patient: &str, problem: &Problem) -> Row {
        Row {
            patient: patient.to_owned(),
            exit: None,
            state: State::Unusable,
            due_on: None,
            deadline: None,
            because: None,
            order_unknown: None,
            interval_days: None,
            phase: None,
            place: None,
            pod: None,
            last_change: None,
            hours_overdue: None,
            missed_in_a_row: None,
            heard_through: None,
            heard_from: None,
            log_expected: None,
            anchor: None,
            intolerances: None,
            score: None,
            signals: None,
            last_contact: None,
            promise: None,
            signed_off: None,
            also: None,
            ahead: None,
            reason: format!("cannot be judged: {}", problem.message),
            beside: [problem.place.to_string(), problem.help.clone()]
                .map(|words| Aside { words, is_brief: true })
                .into(),
            not_known: Vec::new(),
            group: Group::Unusable,
            deadline_instant: None,
            reported_deadline: None,
            due_day_starts: None,
            standing: Standing::Followed,
        }
    }

    /// Takes the open signals of the exit site and of the patient, and with them the place on the list.
    ///
    /// Where a file cannot be used (`is_complete` is false) those that are known are given, and no list says that there
    /// is none.
    pub(super) fn watch(&mut self, open: Option<&[Episode]>, is_complete: bool, exits: &[&Exit]) {
        let Some(open) = open else { return };
        // What is open of an exit site that has no row of its own stands in every row of the patient.
        let has_row = |id: &Option<String>| exits.iter().any(|exit| id.as_ref() == Some(&exit.id));
        let of_row = open.iter().filter(|episode| episode.exit == self.exit || !has_row(&episode.exit));
        let signal = |episode: &Episode| OpenSignal {
            name: episode.signal,
            urgency: episode.urgency,
            closed_exit: episode.exit.clone().filter(|_| !has_row(&episode.exit)),
            since: At::Time(episode.since.0),
            is_answered: episode.answered.is_some(),
            is_news_answered: episode.news_answered,
        };
        let mut signals: Vec<OpenSignal> = of_row.map(signal).collect();
        signals.sort_by_key(|signal| (signal.urgency, signal.is_answered));
        let has = |urgency, is_taken: fn(&OpenSignal) -> bool| {
            signals.iter().any(|signal| signal.urgency == urgency && is_taken(signal))
        };
        if has(Urgency::Today, |_| true) {
            self.group = self.group.min(Group::SignalOfToday);
        }
        if has(Urgency::ThisWeek, |signal| !signal.is_answered) {
            self.group = self.group.with_a_matter_of_this_week();
        }
        self.signals = (is_complete || !signals.is_empty()).then_some(signals);
    }

    /// Group, a broken promise first among the overdue, deadline, patient, exit. Within the group of showers and damage the
    /// deadline is theirs, whatever else is due.
    pub(super) fn rank(&self) -> impl Ord + use<> {
        let is_broken = self.promise.as_ref().is_some_and(|promise| promise.broken);
        let is_kept = !(self.group == Group::Overdue && is_broken);
        let deadline = if self.group == Group::Reported { self.reported_deadline } else { self.deadline_instant };
        // Nothing due sorts behind every deadline.
        let deadline = deadline.map_or((1, Instant::default()), |deadline| (0, deadline));
        (self.group, is_kept, deadline, self.patient.clone().into_bytes(), self.exit.clone())
    }

    /// Whether the row is on the list that is shown by default, or becomes due within some hours.
    pub fn is_shown(&self, as_of: AsOf, within_hours: Option<i64>) -> bool {
        let until = within_hours.map(|hours| as_of.instant + Duration::hours(hours));
        let becomes_due = || self.due_day_starts.zip(until).is_some_and(|(starts, until)| starts <= until);
        self.group <= Group::ThisWeek || self.group == Group::Upcoming && becomes_due()
    }
}
