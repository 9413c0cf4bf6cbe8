//! The rule of a signal: its urgency, what ends and answers it, what it rests on, and the search for its episodes.
//!
//! The rule stands in the signal's file, and the signal's line in `event/signal.rs` names it.

use super::{Episode, WatchedSite, Whole};
use crate::event::{Kind, Signal, each_signal};
use crate::word::words;

words! {
    /// How soon somebody should look.
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
    /// A full look by staff, and nothing else.
    FullLook,
    /// Another record, or a move.
    Otherwise,
}

/// The record that answers a signal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answered {
    /// A look by staff, a culture, an infection, a treatment, a contact with a clinician, a visit or a hand-over agreed.
    Act,
    /// A look, a record or a contact that acts on it, or any contact about it.
    Contact,
    /// A contact with a clinician.
    Clinician,
    /// A contact with a clinician, a visit or a hand-over agreed.
    HandOver,
    /// A contact with the time until which to hear again.
    HearAgain,
    /// Its end, and nothing else.
    Remedy,
}

/// The part of the policy and the staff list without which a signal is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum RestsOn {
    /// The records alone.
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
    /// Those of some kinds, which their names tell.
    By(&'static [Kind]),
    /// None: it rises by a day that passes.
    InTime,
    /// Those of kinds that are read however old they are: cultures, infections, pulls, checkoffs; or the course.
    Rarely,
}

impl RaisedBy {
    /// A look at the site.
    pub(super) const BY_SITE: RaisedBy = RaisedBy::By(&[Kind::Change, Kind::Assessment]);
}

/// The search for a signal's episodes at one exit site.
pub(super) type SearchOfSite = fn(&WatchedSite) -> Vec<Episode>;

/// The search for a signal's episodes.
#[derive(Clone, Copy)]
pub(super) enum EpisodeSearch {
    /// At each exit site.
    Exit(SearchOfSite),
    /// In the patient as a whole.
    Patient(fn(&Whole) -> Vec<Episode>),
}

/// The rule of a signal.
pub(super) struct SignalRule {
    pub(super) urgency: Urgency,
    pub(super) ends: EndedBy,
    pub(super) answered: Answered,
    pub(super) rests_on: RestsOn,
    /// True if each record that shows it is an event of its own, so that another one is news; of a state of the site, seen
    /// again, it is none.
    pub(super) is_each_news: bool,
    pub(super) raised: RaisedBy,
    pub(super) episodes: EpisodeSearch,
}

macro_rules! rules {
    ($($(#[$about:meta])* $signal:ident = $name:literal by $file:ident :: $rule:ident
        $(, $threshold:ident $key:literal from $least:literal to $most:literal)*;)+) => {
        impl Signal {
            /// The rule.
            pub(super) fn rule(self) -> SignalRule {
                match self { $(Signal::$signal => super::$file::$rule,)+ }
            }
        }
    };
}
each_signal!(rules);

impl Signal {
    /// How soon somebody should look.
    pub fn urgency(self) -> Urgency {
        self.rule().urgency
    }

    /// The record that ends it.
    pub fn ends(self) -> EndedBy {
        self.rule().ends
    }

    /// The record that answers it.
    pub fn answered(self) -> Answered {
        self.rule().answered
    }
}
