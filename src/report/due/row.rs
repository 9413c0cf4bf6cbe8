//! A row of the due list: an exit site, or a name whose records cannot be judged.

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::group::Group;
use super::open_signal::OpenSignal;
use crate::day::{AsOf, Instant, WallTime};
use crate::event::{Anchor, At, ContactOutcome, EventName};
use crate::patient::{Caregiver, Patient, SupportEnd, Where};
use crate::policy::CarePlace;
use crate::problem::Problem;
use crate::report::infection::{OpenInfection, RunningTreatment};
use crate::schedule::{Due, State};
use crate::teaching::MoveHome;
use crate::word::words;

/// A row of the due list.
#[derive(Debug, Clone, JsonSchema)]
#[schemars(with = "SiteRow")]
pub enum Row {
    /// An exit site.
    Site(Box<SiteRow>),
    /// A name whose records cannot be judged.
    Unusable(Box<UnusableRow>),
}

/// A name whose records cannot be judged. In JSON it has the keys of an exit site, all of them null but its code, its state and the signals that are known.
#[derive(Debug, Clone)]
pub struct UnusableRow {
    /// The patient's code, or the name of the folder.
    pub patient: String,
    /// The first problem that keeps it from being judged.
    pub problem: Problem,
    /// The open signals that the readable records show.
    pub signals: Vec<OpenSignal>,
    /// The care day of the moment asked about, where the course can be read; as are the next two.
    pub today: Option<NaiveDate>,
    /// Where the patient is today.
    pub place: Option<CarePlace>,
    /// The caregivers.
    pub caregivers: Vec<Relative>,
}

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SiteRow {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null where the patient cannot be judged.
    #[schemars(with = "Option<String>")]
    pub exit: String,
    /// Where on the abdomen.
    #[serde(rename = "where")]
    #[schemars(with = "Option<Where>")]
    pub at: Where,
    /// The number of exit sites of the patient that have a row.
    #[schemars(with = "Option<usize>")]
    pub exits: usize,
    /// The answer of the schedule.
    #[serde(flatten)]
    pub due: Due,
    /// The start of the care day in which it falls due.
    pub due_from: Option<WallTime>,
    /// The first day of the exit site's records.
    #[schemars(with = "Option<NaiveDate>")]
    pub begins: NaiveDate,
    /// The last day of an exit site that is closed.
    pub closed_on: Option<NaiveDate>,
    /// The end of support, once it has come.
    pub ended: Option<SupportEnd>,
    /// Days since the patient went elsewhere.
    pub days_elsewhere: Option<i64>,
    /// The care day of the moment asked about.
    #[schemars(with = "Option<NaiveDate>")]
    pub today: NaiveDate,
    /// Where the patient is today.
    #[schemars(with = "Option<CarePlace>")]
    pub place: CarePlace,
    /// The post-operative day today.
    #[schemars(with = "Option<i64>")]
    pub pod: i64,
    /// The anchor as last said.
    pub anchor: Option<AnchorSaid>,
    /// The caregivers.
    #[schemars(with = "Option<Vec<Relative>>")]
    pub caregivers: Vec<Relative>,
    /// Materials that the patient does not tolerate.
    #[schemars(with = "Option<Vec<String>>")]
    pub intolerances: Vec<String>,
    /// The last score.
    pub score: Option<LastScore>,
    /// Signals that are open; null where they are not known.
    pub signals: Option<Vec<OpenSignal>>,
    /// The last contact.
    pub last_contact: Option<LastContact>,
    /// True if staff last recorded that support has ended, which is not written yet.
    #[schemars(with = "Option<bool>")]
    pub end_reported: bool,
    /// The day of the oldest culture without a result.
    pub culture_pending: Option<NaiveDate>,
    /// Infections that are not resolved.
    #[schemars(with = "Option<Vec<OpenInfection>>")]
    pub infections: Vec<OpenInfection>,
    /// Treatments that run.
    #[schemars(with = "Option<Vec<RunningTreatment>>")]
    pub treatments: Vec<RunningTreatment>,
    /// Persons signed off; null if that is not known.
    pub signed_off: Option<Vec<String>>,
    /// The move home within a week for which too few are signed off; null where there is none.
    pub move_home: Option<MoveHome>,
    /// Files of events that have not happened yet; null where a moment was asked about.
    pub ahead: Option<Vec<String>>,
    /// Answers that are null since a later file cannot be used.
    #[schemars(with = "Option<Vec<Hidden>>")]
    pub not_known: Vec<Hidden>,
}

words! {
    /// An answer that a file that cannot be used may hide.
    pub enum Hidden {
        /// The anchor.
        Anchor = "anchor",
        /// The score.
        Score = "score",
        /// The last contact.
        LastContact = "last-contact",
        /// The promise.
        Promise = "promise",
    }
}

/// A caregiver.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct Relative {
    /// The code.
    pub code: String,
    /// The relation to the patient, as on record.
    pub relation: Option<String>,
}

impl Relative {
    pub(super) fn all_of(patient: &Patient) -> Vec<Relative> {
        let relative = |one: &Caregiver| Relative { code: one.code.clone(), relation: one.relation.clone() };
        patient.caregivers.iter().map(relative).collect()
    }
}

/// The anchor as last said.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AnchorSaid {
    /// in-place, loose or absent.
    pub state: Anchor,
    /// The time of that record.
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
    /// The time.
    pub at: At,
}

/// The last contact.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastContact {
    /// The time.
    pub at: At,
    /// With whom.
    pub with: String,
    /// How it ended.
    pub outcome: ContactOutcome,
}

/// The keys of an exit site's row, in its order.
const KEYS: &[&str] = &[
    "patient",
    "exit",
    "where",
    "exits",
    "state",
    "due_on",
    "deadline",
    "because",
    "order_unknown",
    "interval_days",
    "interval",
    "phase",
    "hours_overdue",
    "heard_through",
    "heard_from",
    "log_expected",
    "missed_in_a_row",
    "report",
    "also",
    "ended_by_move",
    "last_change",
    "promise",
    "due_from",
    "begins",
    "closed_on",
    "ended",
    "days_elsewhere",
    "today",
    "place",
    "pod",
    "anchor",
    "caregivers",
    "intolerances",
    "score",
    "signals",
    "last_contact",
    "end_reported",
    "culture_pending",
    "infections",
    "treatments",
    "signed_off",
    "move_home",
    "ahead",
    "not_known",
];

impl Serialize for Row {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        let row = match self {
            Row::Site(site) => return site.serialize(serializer),
            Row::Unusable(row) => row,
        };
        let mut map = serializer.serialize_map(Some(KEYS.len()))?;
        for key in KEYS {
            match *key {
                "patient" => map.serialize_entry(key, &row.patient)?,
                "state" => map.serialize_entry(key, &State::Unusable)?,
                // No list says that there is none.
                "signals" if !row.signals.is_empty() => map.serialize_entry(key, &row.signals)?,
                _ => map.serialize_entry(key, &None::<()>)?,
            }
        }
        map.end()
    }
}

impl UnusableRow {
    /// The record that keeps it from being judged; `None` of any other file.
    pub fn record(&self) -> Option<EventName> {
        EventName::read(self.problem.place.file.rsplit('/').next()?)
    }
}

impl Row {
    /// The row of a name whose records cannot be judged.
    pub(crate) fn unusable(patient: &str, problem: &Problem) -> Row {
        let (patient, problem) = (patient.to_owned(), problem.clone());
        let (signals, caregivers) = (Vec::new(), Vec::new());
        Row::Unusable(Box::new(UnusableRow { patient, problem, signals, today: None, place: None, caregivers }))
    }

    /// The exit site's row; `None` where the records cannot be judged.
    pub fn site(&self) -> Option<&SiteRow> {
        match self {
            Row::Site(site) => Some(site),
            Row::Unusable(_) => None,
        }
    }

    /// The patient's code, or the name of the folder.
    pub fn patient(&self) -> &str {
        match self {
            Row::Site(site) => &site.patient,
            Row::Unusable(row) => &row.patient,
        }
    }

    /// The exit site's id.
    pub fn exit(&self) -> Option<&str> {
        self.site().map(|site| site.exit.as_str())
    }

    /// unusable, overdue, due, upcoming, awaiting-log, none.
    pub fn state(&self) -> State {
        self.site().map_or(State::Unusable, |site| site.due.state)
    }

    /// The open signals that are known.
    pub fn signals(&self) -> impl Iterator<Item = &OpenSignal> {
        let signals = match self {
            Row::Site(site) => site.signals.as_ref(),
            Row::Unusable(row) => Some(&row.signals),
        };
        signals.into_iter().flatten()
    }

    /// The group of the list.
    pub fn group(&self) -> Group {
        self.site().map_or(Group::Unusable, Group::of)
    }

    /// Group, a broken promise first among the overdue, deadline, patient, exit. Within the group of showers and damage the
    /// deadline is theirs, whatever else is due.
    pub(super) fn rank(&self) -> impl Ord + use<> {
        let (group, due) = (self.group(), self.site().map(|site| &site.due));
        let is_broken = due.is_some_and(Due::has_broken_promise);
        let is_kept = !(group == Group::Overdue && is_broken);
        let deadline =
            due.and_then(|due| if group == Group::Reported { due.reported_deadline() } else { due.deadline });
        // Nothing due sorts behind every deadline.
        let deadline = deadline.map_or((1, Instant::default()), |deadline| (0, deadline.instant()));
        (group, is_kept, deadline, self.patient().to_owned().into_bytes(), self.exit().map(str::to_owned))
    }

    /// Returns true if the row is on the list that is shown by default, or becomes due within some hours.
    pub fn is_shown(&self, as_of: AsOf, within_hours: Option<i64>) -> bool {
        let until = within_hours.map(|hours| as_of.instant + Duration::hours(hours));
        let due_from = self.site().and_then(|site| site.due_from);
        let becomes_due = || due_from.zip(until).is_some_and(|(starts, until)| starts.instant() <= until);
        let group = self.group();
        group <= Group::ThisWeek || group == Group::Upcoming && becomes_due()
    }
}
