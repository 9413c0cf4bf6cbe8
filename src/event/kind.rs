//! The kinds of events, one line each: the word in the records and every property that depends on the kind alone.
//!
//! ```text
//! /// A shower or other water.
//! Shower = "shower" { several: "showers", concerns_one_exit: false, … lane: lane(2, "showers", "S"), about: "A shower or other water", }
//! ```
//!
//! The struct and the reader of a kind share its name: `Shower::read` reads a `Kind::Shower` into `Fact::Shower`. A
//! missing property does not compile, and neither does a question that does not decide about the kind.

use super::{
    Assessment, Change, Contact, Culture, Infection, Inspection, Log, Photo, Shower, Supply, Teaching, Trauma,
    Treatment,
};
use crate::record::{self, Field, Table};
use crate::word::{Word, words};

words! {
    /// The kind of action on a signal.
    pub enum ActedBy {
        /// A look at the site by staff.
        Look = "look",
        /// A culture, an infection or a treatment.
        Clinical = "clinical",
        /// A contact about it.
        Contact = "contact",
        /// The record that ended it.
        Remedy = "remedy",
    }
}

/// The properties of a kind.
#[derive(Debug, Clone, Copy)]
pub struct Traits {
    /// The plural, for several records of the kind.
    pub several: &'static str,
    /// A sentence for the help page.
    pub about: &'static str,
    /// True if a record concerns one exit site and may name it.
    pub concerns_one_exit: bool,
    /// True for records of the site, the dressing or the anchor: none are expected while the patient is elsewhere.
    pub is_care: bool,
    /// True if a record has a `[site]`.
    pub has_site: bool,
    /// True if a record may give the state of the anchor.
    pub has_anchor: bool,
    /// The way in which a record acts on a signal; `None` if it never does.
    pub acts: Option<ActedBy>,
    /// True if an audit reads every record of the kind, however old.
    pub is_rare: bool,
    /// Keys that exist only from their own date on and may be added later; a table stands for all its keys.
    pub later: &'static [&'static str],
    /// The lane of its marks in the picture of a patient's course.
    pub lane: Option<Lane>,
}

/// A lane of marks: position from the top, name, and letter of the marks.
#[derive(Debug, Clone, Copy)]
pub struct Lane {
    /// Position from the top.
    pub row: u8,
    /// Its name.
    pub name: &'static str,
    /// The letter of the marks.
    pub letter: &'static str,
}

const fn lane(row: u8, name: &'static str, letter: &'static str) -> Option<Lane> {
    Some(Lane { row, name, letter })
}

/// Passes the kinds to a macro that generates code for each.
macro_rules! each_kind {
    ($make:ident) => {
        $make! {
            /// A look at the site without a dressing change, or at a picture.
            Assessment = "assessment" {
                several: "assessments", concerns_one_exit: true, is_care: true, has_site: true, has_anchor: false,
                acts: Some(ActedBy::Look), is_rare: false, later: &[], lane: None,
                about: "An assessment of the exit site without a dressing change, or of a picture",
            }
            /// A dressing change.
            Change = "change" {
                several: "changes", concerns_one_exit: true, is_care: true, has_site: true, has_anchor: true,
                acts: Some(ActedBy::Look), is_rare: false, later: &[], lane: lane(6, "changes", "|"),
                about: "A dressing change: findings, materials, dressing and anchor as left",
            }
            /// A call or a message.
            Contact = "contact" {
                several: "contacts", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: Some(ActedBy::Contact), is_rare: false, later: &[], lane: None,
                about: "A call or a message",
            }
            /// A swab or blood culture.
            Culture = "culture" {
                several: "cultures", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: Some(ActedBy::Clinical), is_rare: false, later: &["result"], lane: lane(3, "cultures", "C"),
                about: "A swab or blood culture",
            }
            /// A clinician's determination of an infection.
            Infection = "infection" {
                several: "infections", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: Some(ActedBy::Clinical), is_rare: true, later: &["resolved"], lane: lane(5, "infections", "I"),
                about: "A clinician's determination of an infection",
            }
            /// A look at the dressing and anchor; the site was not seen.
            Inspection = "inspection" {
                several: "inspections", concerns_one_exit: true, is_care: true, has_site: false, has_anchor: true,
                acts: None, is_rare: false, later: &[], lane: None,
                about: "An inspection of dressing and anchor, without seeing the site",
            }
            /// A household's log that was read in.
            Log = "log" {
                several: "logs", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: Some(ActedBy::Remedy), is_rare: false, later: &[], lane: None,
                about: "A household's log, read in for a range of days",
            }
            /// A picture that was taken.
            Photo = "photo" {
                several: "photos", concerns_one_exit: true, is_care: false, has_site: false, has_anchor: false,
                acts: None, is_rare: false, later: &[], lane: None,
                about: "A picture that was taken: its checksum and where it is kept, never the picture itself",
            }
            /// A shower or other water.
            Shower = "shower" {
                several: "showers", concerns_one_exit: false, is_care: true, has_site: false, has_anchor: true,
                acts: None, is_rare: false, later: &[], lane: lane(2, "showers", "S"),
                about: "A shower or other water",
            }
            /// Supplies received, counted or lost.
            Supply = "supply" {
                several: "supplies", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: None, is_rare: false, later: &[], lane: None,
                about: "Supplies received, counted or lost",
            }
            /// A teaching checkoff.
            Teaching = "teaching" {
                several: "teachings", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: Some(ActedBy::Remedy), is_rare: true, later: &[], lane: None,
                about: "A teaching checkoff of a household or of staff",
            }
            /// A pull on the line, or dropped equipment.
            Trauma = "trauma" {
                several: "traumas", concerns_one_exit: true, is_care: true, has_site: false, has_anchor: true,
                acts: None, is_rare: false, later: &[], lane: lane(1, "pulls", "P"),
                about: "A pull on the line, or dropped equipment",
            }
            /// A treatment that a clinician ordered for an infection.
            Treatment = "treatment" {
                several: "treatments", concerns_one_exit: false, is_care: false, has_site: false, has_anchor: false,
                acts: Some(ActedBy::Clinical), is_rare: true, later: &["until"], lane: lane(4, "treatments", "T"),
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
            /// Returns true if the record is voided: it stays on file but does not count.
            Voided,
        }

        impl Kind {
            /// The properties of the kind.
            pub(crate) const fn traits(self) -> Traits {
                match self { $(Kind::$kind => Traits { $($name: $value,)+ },)+ }
            }

            pub(super) fn read_fact(self, table: &mut Table) -> Option<Fact> {
                match self { $(Kind::$kind => $kind::read(table).map(Fact::$kind),)+ }
            }
        }
    };
}
each_kind!(kinds);

// A file name is split at its hyphens, so the word of a kind has none.
const _: () = {
    let mut kind = 0;
    while kind < <Kind as Word>::WORDS.len() {
        let word = <Kind as Word>::WORDS[kind].as_bytes();
        let mut letter = 0;
        while letter < word.len() {
            assert!(word[letter].is_ascii_lowercase(), "the word of a kind of event has lower-case letters only");
            letter += 1;
        }
        kind += 1;
    }
};

impl Kind {
    /// Returns the kinds with a property.
    pub(crate) fn all_with(has: impl Fn(&Traits) -> bool) -> Vec<Kind> {
        Kind::ALL.iter().copied().filter(|kind| has(&kind.traits())).collect()
    }

    /// Returns the fields of a record of this kind, in the order in which they are written.
    pub fn fields(self) -> Vec<Field> {
        record::describe(|table| {
            table.needed().word::<Kind>("kind", "kind of event");
            super::reading::Common::read(table);
            self.read_fact(table);
            super::reading::Bookkeeping::read(table);
        })
    }
}
