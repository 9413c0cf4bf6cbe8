//! The kinds of events, a line for each: the word in the records and everything that hangs on the kind alone.
//!
//! ```text
//! /// A shower or other water.
//! Shower = "shower" { several: "showers", concerns_one_exit: false, … lane: lane(2, "showers", "S"), about: "A shower or other water", }
//! ```
//!
//! The struct and the reader of a kind have its name: `Kind::Shower` is read by `Shower::read` into `Fact::Shower`. What is left
//! out here does not compile, and neither does a question that has not decided about the kind.

use super::{
    Assessment, Change, Contact, Culture, Infection, Inspection, Log, Photo, Shower, Supply, Teaching, Trauma,
    Treatment,
};
use crate::record::{self, Field, Table};
use crate::word::words;

/// The properties of a kind.
#[derive(Debug, Clone, Copy)]
pub struct Traits {
    /// Several records of the kind.
    pub several: &'static str,
    /// A sentence for the help page.
    pub about: &'static str,
    /// True for records that concern one exit site, and may name it.
    pub concerns_one_exit: bool,
    /// True for records of the site, the dressing or the anchor: none is expected while the patient is elsewhere.
    pub is_care: bool,
    /// True for records with a `[site]`.
    pub has_site: bool,
    /// True for records that may say how the anchor is.
    pub has_anchor: bool,
    /// True for records that can answer a signal.
    pub can_answer: bool,
    /// True for kinds of which an audit reads all records, however old.
    pub is_rare: bool,
    /// Keys that exist from their own date only, and may be added later; a table stands for its keys.
    pub later: &'static [&'static str],
    /// The lane of marks in the picture of a patient's course.
    pub lane: Option<Lane>,
}

/// A lane of marks: its place from the top, its name, and the letter of its marks.
#[derive(Debug, Clone, Copy)]
pub struct Lane {
    /// Its place from the top.
    pub row: u8,
    /// Its name.
    pub name: &'static str,
    /// The letter of its marks.
    pub letter: &'static str,
}

const fn lane(row: u8, name: &'static str, letter: &'static str) -> Option<Lane> {
    Some(Lane { row, name, letter })
}

/// Hands the kinds to a macro that makes something of all of them.
macro_rules! each_kind {
    ($make:ident) => {
        $make! {
            /// Somebody looked at the site without changing the dressing, or at a picture.
            Assessment = "assessment" {
                several: "assessments", concerns_one_exit: true, is_care: true, has_site: true, has_anchor: false,
                can_answer: true, is_rare: false, later: &[], lane: None,
                about: "An assessment of the exit site without a dressing change, or of a picture",
            }
            /// A dressing change.
            Change = "change" {
                several: "changes", concerns_one_exit: true, is_care: true, has_site: true, has_anchor: true,
                can_answer: true, is_rare: false, later: &[], lane: lane(6, "changes", "|"),
                about: "A dressing change: findings, materials, dressing and anchor as left",
            }
            /// Somebody called or wrote.
            Contact = "contact" {
                several: "contacts", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: true, is_rare: false, later: &[], lane: None,
                about: "A call or a message",
            }
            /// A swab or blood culture.
            Culture = "culture" {
                several: "cultures", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: true, is_rare: false, later: &["result"], lane: lane(3, "cultures", "C"),
                about: "A swab or blood culture",
            }
            /// A clinician's determination.
            Infection = "infection" {
                several: "infections", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: true, is_rare: true, later: &["resolved"], lane: lane(5, "infections", "I"),
                about: "A clinician's determination of an infection",
            }
            /// Dressing and anchor looked at, the site not seen.
            Inspection = "inspection" {
                several: "inspections", concerns_one_exit: true, is_care: true, has_site: false, has_anchor: true,
                can_answer: false, is_rare: false, later: &[], lane: None,
                about: "An inspection of dressing and anchor, the site not seen",
            }
            /// A household's log of some days has been read in.
            Log = "log" {
                several: "logs", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: true, is_rare: false, later: &[], lane: None,
                about: "A household's log of some days, read in",
            }
            /// A picture was taken.
            Photo = "photo" {
                several: "photos", concerns_one_exit: true, is_care: false, has_site: false, has_anchor: false,
                can_answer: false, is_rare: false, later: &[], lane: None,
                about: "A picture that was taken: its sum and where it is kept, never the picture",
            }
            /// A shower or other water.
            Shower = "shower" {
                several: "showers", concerns_one_exit: false, is_care: true, has_site: false, has_anchor: true,
                can_answer: false, is_rare: false, later: &[], lane: lane(2, "showers", "S"),
                about: "A shower or other water",
            }
            /// Kits.
            Supply = "supply" {
                several: "supplies", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: false, is_rare: false, later: &[], lane: None,
                about: "Supplies received, counted or lost",
            }
            /// A checkoff.
            Teaching = "teaching" {
                several: "teachings", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: true, is_rare: true, later: &[], lane: None,
                about: "A teaching checkoff of a household or of staff",
            }
            /// The line was pulled, equipment dropped.
            Trauma = "trauma" {
                several: "traumas", concerns_one_exit: true, is_care: true, has_site: false, has_anchor: true,
                can_answer: false, is_rare: false, later: &[], lane: lane(1, "pulls", "P"),
                about: "A pull on the line, or dropped equipment",
            }
            /// A treatment that a clinician ordered for an infection.
            Treatment = "treatment" {
                several: "treatments", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                can_answer: true, is_rare: true, later: &["until"], lane: lane(4, "treatments", "T"),
                about: "A treatment that a clinician ordered for an infection",
            }
        }
    };
}

macro_rules! kinds {
    ($($(#[$doc:meta])* $kind:ident = $word:literal { $($name:ident: $value:expr,)+ })+) => {
        words! {
            /// The kind of an event.
            #[derive(PartialOrd, Ord, Hash)]
            pub enum Kind { $($(#[$doc])* $kind = $word,)+ }
        }

        /// The facts of an event, by its kind.
        #[derive(Debug, Clone, PartialEq)]
        pub enum Fact {
            $($(#[$doc])* $kind($kind),)+
            /// The record was voided: it stays on file and counts for nothing.
            Voided,
        }

        impl Kind {
            /// The properties of the kind.
            pub const fn traits(self) -> Traits {
                match self { $(Kind::$kind => Traits { $($name: $value,)+ },)+ }
            }

            pub(super) fn read_fact(self, table: &mut Table) -> Option<Fact> {
                match self { $(Kind::$kind => $kind::read(table).map(Fact::$kind),)+ }
            }
        }
    };
}
each_kind!(kinds);

impl Kind {
    /// The kinds that have a property.
    pub fn all_with(has: impl Fn(&Traits) -> bool) -> Vec<Kind> {
        Kind::ALL.iter().copied().filter(|kind| has(&kind.traits())).collect()
    }

    /// The fields of a record of this kind, in the order in which they are written.
    pub fn fields(self) -> Vec<Field> {
        record::describe(|table| {
            table.needed().word::<Kind>("kind", "kind of event");
            super::reading::Common::read(table);
            self.read_fact(table);
            super::reading::Bookkeeping::read(table);
        })
    }
}
