//! A row of the due list: an exit site, or a folder whose records cannot be read.

use chrono::{Duration, NaiveDate};
use schemars::JsonSchema;
use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::group::Group;
use super::noted::FindingInNote;
use super::open_signal::OpenSignal;
use crate::day::{AsOf, Instant, WallTime};
use crate::event::{Anchor, At, ContactOutcome, EventName, SiteField};
use crate::patient::{Caregiver, Ended, Patient, Where};
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
    /// A folder whose records cannot be read.
    Unusable(Box<UnusableRow>),
}

/// A folder whose records cannot be read. In JSON it has the keys of an exit site, all null except its code, its state and
/// the known signals.
#[derive(Debug, Clone)]
pub struct UnusableRow {
    /// The patient's code, or the name of the folder.
    pub patient: String,
    /// The first problem that makes the records unreadable.
    pub problem: Problem,
    /// The open signals that the readable records show.
    pub signals: Vec<OpenSignal>,
    /// The calendar date of `as_of` where the patient is; like the next two fields, only if the course can be read.
    pub date: Option<NaiveDate>,
    /// The patient's place today.
    pub place: Option<CarePlace>,
    /// The caregivers.
    pub caregivers: Vec<Relative>,
}

/// One exit site's row.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct SiteRow {
    /// The patient's code.
    pub patient: String,
    /// The exit site's id; null if the patient's records cannot be read.
    #[schemars(with = "Option<String>")]
    pub exit: String,
    /// The location on the abdomen.
    #[serde(rename = "where")]
    #[schemars(with = "Option<Where>")]
    pub at: Where,
    /// The number of the patient's exit sites with a row.
    #[schemars(with = "Option<usize>")]
    pub exits: usize,
    /// The result of the schedule.
    #[serde(flatten)]
    pub due: Due,
    /// The start of the care day on which it falls due.
    pub due_from: Option<WallTime>,
    /// The first day of the exit site's records.
    #[schemars(with = "Option<NaiveDate>")]
    pub begins: NaiveDate,
    /// The day of the last change before the first day, if no change has counted since and the last one before is not known.
    pub changed_before: Option<NaiveDate>,
    /// The last day of a closed exit site.
    pub closed_on: Option<NaiveDate>,
    /// The end of support, if it has ended.
    pub ended: Option<Ended>,
    /// Days since the patient went away.
    pub days_elsewhere: Option<i64>,
    /// The care day of `as_of`.
    #[schemars(with = "Option<NaiveDate>")]
    pub today: NaiveDate,
    /// The calendar date of `as_of` where the patient is; after midnight, the day after `today`.
    #[schemars(with = "Option<NaiveDate>")]
    pub date: NaiveDate,
    /// The UTC offset where the patient is, such as -07:00, if it differs from the program's at `as_of`; otherwise null.
    pub utc_offset: Option<String>,
    /// The patient's place today.
    #[schemars(with = "Option<CarePlace>")]
    pub place: CarePlace,
    /// The postoperative day today.
    #[schemars(with = "Option<i64>")]
    pub pod: i64,
    /// The last reported state of the anchor.
    pub anchor: Option<AnchorSaid>,
    /// The caregivers.
    #[schemars(with = "Option<Vec<Relative>>")]
    pub caregivers: Vec<Relative>,
    /// Materials that the patient does not tolerate.
    #[schemars(with = "Option<Vec<String>>")]
    pub intolerances: Vec<String>,
    /// The last score.
    pub score: Option<LastScore>,
    /// Open signals; null if not known.
    pub signals: Option<Vec<OpenSignal>>,
    /// The last contact.
    pub last_contact: Option<LastContact>,
    /// True if staff last recorded that support has ended, but patient.toml does not say so yet.
    #[schemars(with = "Option<bool>")]
    pub end_reported: bool,
    /// The date of the oldest culture without a result.
    pub culture_pending: Option<NaiveDate>,
    /// Unresolved infections.
    #[schemars(with = "Option<Vec<OpenInfection>>")]
    pub infections: Vec<OpenInfection>,
    /// Ongoing treatments.
    #[schemars(with = "Option<Vec<RunningTreatment>>")]
    pub treatments: Vec<RunningTreatment>,
    /// Persons signed off; null if not known.
    pub signed_off: Option<Vec<String>>,
    /// The move home within a week for which too few persons are signed off; null if there is none.
    pub move_home: Option<MoveHome>,
    /// Findings that only the notes of records since the previous care day mention.
    #[schemars(with = "Option<Vec<FindingInNote>>")]
    pub findings_in_notes: Vec<FindingInNote>,
    /// Files of future events; null if `--as-of` was given.
    pub ahead: Option<Vec<String>>,
    /// Fields that are null because a later file is invalid.
    #[schemars(with = "Option<Vec<Hidden>>")]
    pub not_known: Vec<Hidden>,
}

words! {
    /// A field that an invalid file may affect.
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
    /// The relation to the patient, as recorded.
    pub relation: Option<String>,
}

impl Relative {
    pub(super) fn all_of(patient: &Patient) -> Vec<Relative> {
        let relative = |one: &Caregiver| Relative { code: one.code.clone(), relation: one.relation.clone() };
        patient.caregivers.iter().map(relative).collect()
    }
}

/// The last reported state of the anchor.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct AnchorSaid {
    /// `in-place`, `loose` or `absent`.
    pub state: Anchor,
    /// The time of that record.
    pub at: At,
}

/// The last score.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastScore {
    /// The total; null if an item was not looked at.
    pub total: Option<i64>,
    /// The lowest possible total.
    pub total_min: i64,
    /// The highest possible total.
    pub total_max: i64,
    /// The band.
    pub band: String,
    /// Fields with a finding that the rubric does not score.
    pub unscored: Vec<SiteField>,
    /// The time.
    pub at: At,
}

/// The last contact.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct LastContact {
    /// The time.
    pub at: At,
    /// The person reached.
    pub with: String,
    /// The outcome.
    pub outcome: ContactOutcome,
    /// The clinician to whom it was escalated.
    #[serde(skip)]
    pub escalated_to: Option<String>,
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
    "heard_by_call",
    "log_expected",
    "missed_in_a_row",
    "report",
    "also",
    "ended_by_move",
    "last_change",
    "promise",
    "due_from",
    "begins",
    "changed_before",
    "closed_on",
    "ended",
    "days_elsewhere",
    "today",
    "date",
    "utc_offset",
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
    "findings_in_notes",
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
                // An empty list would claim that there are no signals.
                "signals" if !row.signals.is_empty() => map.serialize_entry(key, &row.signals)?,
                _ => map.serialize_entry(key, &None::<()>)?,
            }
        }
        map.end()
    }
}

impl UnusableRow {
    /// Returns the record that cannot be read; `None` if the file is not a record.
    pub fn record(&self) -> Option<EventName> {
        EventName::read(self.problem.place.file.rsplit('/').next()?)
    }
}

impl Row {
    /// Creates the row of a folder whose records cannot be read.
    pub(crate) fn unusable(patient: &str, problem: &Problem) -> Row {
        let (patient, problem) = (patient.to_owned(), problem.clone());
        let (signals, caregivers) = (Vec::new(), Vec::new());
        Row::Unusable(Box::new(UnusableRow { patient, problem, signals, date: None, place: None, caregivers }))
    }

    /// Returns the exit site's row; `None` if the records cannot be read.
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

    /// Returns the state; `Unusable` if the records cannot be read.
    pub fn state(&self) -> State {
        self.site().map_or(State::Unusable, |site| site.due.state)
    }

    /// Returns the known open signals.
    pub fn signals(&self) -> impl Iterator<Item = &OpenSignal> {
        let signals = match self {
            Row::Site(site) => site.signals.as_ref(),
            Row::Unusable(row) => Some(&row.signals),
        };
        signals.into_iter().flatten()
    }

    /// Returns the row's group on the list.
    pub fn group(&self) -> Group {
        self.site().map_or(Group::Unusable, |site| Group::of(&site.due, site.signals.as_deref()))
    }

    /// Returns the sort key: group, broken promises first among the overdue, deadline, patient, exit. In the group of showers
    /// and damage, the deadline is that of the shower or damage.
    pub(super) fn rank(&self) -> impl Ord + use<> {
        let (group, due) = (self.group(), self.site().map(|site| &site.due));
        let is_broken = due.is_some_and(Due::has_broken_promise);
        let is_kept = !(group == Group::Overdue && is_broken);
        let deadline =
            due.and_then(|due| if group == Group::Reported { due.reported_deadline() } else { due.deadline });
        // A row with nothing due sorts after every deadline.
        let deadline = deadline.map_or((1, Instant::default()), |deadline| (0, deadline.instant()));
        (group, is_kept, deadline, self.patient().to_owned().into_bytes(), self.exit().map(str::to_owned))
    }

    /// Returns true if the row is shown by default, or becomes due within the given hours.
    pub fn is_shown(&self, as_of: AsOf, within_hours: Option<i64>) -> bool {
        let until = within_hours.map(|hours| as_of.instant + Duration::hours(hours));
        let due_from = self.site().and_then(|site| site.due_from);
        let becomes_due = || due_from.zip(until).is_some_and(|(starts, until)| starts.instant() <= until);
        let group = self.group();
        group <= Group::ThisWeek || group == Group::Upcoming && becomes_due()
    }
}
