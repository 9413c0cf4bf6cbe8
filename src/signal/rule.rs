//! The rule of a signal: urgency, what ends it and acts on it, what it depends on, and the search for its episodes.
//!
//! Each rule is defined in the signal's file; the signal's line in `event/signal.rs` names it.

use super::{Episode, WatchedSite, Whole};
use crate::event::{Kind, Signal, each_signal};
use crate::word::words;

words! {
    /// Urgency of a review.
    #[derive(PartialOrd, Ord)]
    pub enum Urgency {
        /// Today.
        Today = "today",
        /// This week.
        ThisWeek = "this-week",
    }
}

/// The record that ends a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EndedBy {
    /// A full look by staff only.
    FullLook(FullLook),
    /// A normal temperature hours later, or a full look by staff days later.
    Temperature,
    /// The sign-off that makes enough caregivers, or a move.
    SignOffs,
    /// The sign-off of the person.
    SignOff,
    /// A contact with a clinician about it, or a look by staff.
    ClinicianOrLook,
    /// A record of the anchor in place.
    Anchor,
    /// The next change.
    Change,
    /// A clinician's determination, or a contact with a physician about it.
    Determination,
    /// The log.
    Log,
    /// The result.
    Result,
    /// Changes that find it less often.
    FewerChanges,
    /// The record that acts on it.
    Action,
    /// A move.
    Move,
}

impl EndedBy {
    /// Returns true if it corrects the problem itself, so that nothing else has to be done about the signal.
    pub(crate) fn is_remedy(self) -> bool {
        match self {
            EndedBy::Anchor | EndedBy::Change | EndedBy::FewerChanges | EndedBy::Log | EndedBy::Move => true,
            EndedBy::FullLook(_) | EndedBy::Temperature | EndedBy::SignOffs | EndedBy::SignOff => false,
            EndedBy::ClinicianOrLook | EndedBy::Determination | EndedBy::Result | EndedBy::Action => false,
        }
    }
}

/// The full look by staff that ends a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FullLook {
    /// Any.
    Any,
    /// One that does not show the signal.
    WithoutIt,
    /// One without drainage.
    WithoutDrainage,
    /// One on a later day.
    OnLaterDay,
    /// One that is no worse than the last before, a set number of days later.
    NoWorse,
    /// One with a score near the earlier low.
    ScoreBack,
    /// One with redness back to its earlier size.
    RednessBack,
}

/// The record that acts on a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answered {
    /// A look by staff, a culture, an infection, a treatment, a contact with a clinician, an agreed visit or a hand-off.
    Act,
    /// A look, a record or a contact that acts on it, or any contact about it.
    Contact,
    /// A contact with a clinician.
    Clinician,
    /// A contact with a clinician, an agreed visit or a hand-off.
    HandOver,
    /// A contact with an agreed time to follow up.
    HearAgain,
    /// Only the record that ends it.
    Remedy,
}

/// The inputs without which a signal is unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RestsOn {
    /// Records only.
    Records,
    /// Scores.
    Scores,
    /// Full looks by staff.
    Looks,
    /// Sign-offs.
    SignOffs,
}

/// The records that can have raised a signal before the days that are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RaisedBy {
    /// Records of these kinds, which their file names give.
    By(&'static [Kind]),
    /// None: it starts with the passing of a day.
    InTime,
    /// Records of kinds that are always read, however old: cultures, infections, pulls, checkoffs; or the course.
    Rarely,
}

/// The kinds of a look at the site.
pub(super) const SITE: &[Kind] = &[Kind::Change, Kind::Assessment];

/// The kinds of a shower, and of what acts on it or ends it.
pub(super) const SHOWER: &[Kind] = &[Kind::Shower, Kind::Change, Kind::Assessment, Kind::Contact];

/// The kinds that give the state of dressing and anchor.
pub(super) const COVERING: &[Kind] = &[Kind::Change, Kind::Inspection, Kind::Shower];

impl RaisedBy {
    /// A look at the site.
    pub(super) const BY_SITE: RaisedBy = RaisedBy::By(SITE);
}

/// The search for a signal's episodes at one exit site.
pub(super) type SearchOfSite = fn(&WatchedSite) -> Vec<Episode>;

/// The search for a signal's episodes.
#[derive(Clone, Copy)]
pub(super) enum EpisodeSearch {
    /// For each exit site.
    Exit(SearchOfSite),
    /// For the patient.
    Patient(fn(&Whole) -> Vec<Episode>),
}

/// The rule of a signal.
pub(super) struct SignalRule {
    pub(super) urgency: Urgency,
    pub(super) ends: EndedBy,
    pub(super) answered: Answered,
    pub(super) rests_on: RestsOn,
    /// True if each record that shows it is a separate event, so that another one is news; false for a state of the site,
    /// which is not news when seen again.
    pub(super) is_each_news: bool,
    pub(super) raised: RaisedBy,
    /// The kinds of the records that raise, improve or end it, except those that are always read, however old.
    pub(super) read: &'static [Kind],
    pub(super) episodes: EpisodeSearch,
}

macro_rules! rules {
    ($($(#[$about:meta])* $signal:ident = $name:literal $words:literal by $file:ident :: $rule:ident
        $(, $threshold:ident $key:literal from $least:literal to $most:literal)*;)+) => {
        impl Signal {
            /// Returns the rule.
            pub(super) fn rule(self) -> SignalRule {
                match self { $(Signal::$signal => super::$file::$rule,)+ }
            }
        }
    };
}
each_signal!(rules);

impl Signal {
    /// The urgency of a review.
    pub fn urgency(self) -> Urgency {
        self.rule().urgency
    }

    /// The record that ends it.
    pub fn ends(self) -> EndedBy {
        self.rule().ends
    }

    /// The record that acts on it.
    pub fn answered(self) -> Answered {
        self.rule().answered
    }
}
