//! The rows of patient.toml.

use chrono::NaiveDate;
use chrono_tz::Tz;

use crate::place::Span;
use crate::policy::{CarePlace, Interval};
use crate::problem::Rule;
use crate::record::{Table, fields};
use crate::word::words;

/// Driveline infections before the records begin.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InfectionsBefore {
    /// Not said; none, where the records begin at the implant.
    NotGiven,
    /// Not known.
    Unknown,
    /// A count.
    Count(i64),
}

words! {
    /// Location of the exit on the abdomen.
    pub enum Where {
        /// Right upper.
        RightUpper = "right-upper",
        /// Left upper.
        LeftUpper = "left-upper",
        /// Right lower.
        RightLower = "right-lower",
        /// Left lower.
        LeftLower = "left-lower",
        /// In the midline.
        Midline = "midline",
        /// Elsewhere.
        Other = "other",
    }
}

words! {
    /// Why there is an exit site.
    pub enum ExitReason {
        /// The first implant.
        Implant = "implant",
        /// The pump was exchanged.
        Exchange = "exchange",
        /// The line was given a new way out.
        Relocation = "relocation",
        /// There is a second pump.
        SecondPump = "second-pump",
    }
}

fields! {
    /// An exit site. Its `from` is its post-operative day 0.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct ExitSite {
        /// Id, such as "a".
        pub id: String,
        /// Location of the exit on the abdomen.
        pub at as "where": Where,
        /// First day, POD 0.
        pub from: NaiveDate,
        /// Last day, included.
        pub until: Option<NaiveDate>,
        /// Reason for the exit site.
        pub why: ExitReason,
        /// Person who reported it, by code.
        pub by: Option<String>,
        /// The place of its id in the file.
        pub span: Span = place("id"),
        /// The place of its first day in the file.
        pub from_span: Span = place("from"),
    }
    then check
}

impl ExitSite {
    fn check(&self, table: &mut Table) {
        check_until(table, self.from, self.until);
    }

    /// True if the exit is open on `day`.
    pub fn is_open(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }
}

words! {
    /// The way in which a household reports.
    pub enum Reports {
        /// Every change as it happens.
        Each = "each",
        /// By a log now and then.
        Log = "log",
    }
}

fields! {
    /// A place of care, from a day until the next row.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CareRow {
        /// First day.
        pub from: NaiveDate,
        /// Place of care.
        pub place: CarePlace,
        /// Reporting: each change as it happens (each, the default), or a log now and then (log).
        pub reports: Reports = or(Reports::Each),
        /// Time zone, where it is not the policy's.
        pub time_zone: Option<Tz> = maybe zone(),
        /// Person who reported it, by code.
        pub by: Option<String> = maybe person(&[]),
        /// Reason.
        pub why: Option<String>,
        /// The place of the row in the file.
        pub span: Span = place("from"),
        /// The place of its zone in the file.
        pub zone_span: Span = place("time_zone"),
    }
}

fields! {
    /// A clinician's order; it overrides the policy's phases while it runs.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CareOrder {
        /// First day.
        pub from: NaiveDate,
        /// Last day, included.
        pub until: Option<NaiveDate>,
        /// Interval of changes; `None` where it is only about showers.
        pub interval: Option<Interval> = from(Interval::read),
        /// No showers while it runs.
        pub no_showers: bool = default,
        /// Exit site; all where none is named.
        pub exit: Option<String>,
        /// Clinician who gave it, by code.
        pub by: String = needed person(&[]),
        /// Reason.
        pub why: Option<String>,
        /// The place of the order in the file.
        pub span: Span = place("from"),
        /// The place of its interval in days.
        pub interval_span: Span = place("every_days"),
        /// The place of who gave it.
        pub by_span: Span = place("by"),
    }
    then check
}

impl CareOrder {
    fn check(&self, table: &mut Table) {
        check_until(table, self.from, self.until);
        let says = ["every_days", "on_weekdays", "no_showers"].iter().filter(|key| table.has(key)).count();
        if says != 1 && !(table.has("every_days") && table.has("on_weekdays")) {
            table.add(
                Rule::Interval,
                "from",
                "an order says exactly one of every_days, on_weekdays, no_showers",
                "write two orders for two things",
            );
        }
        if table.has("no_showers") && !self.no_showers && table.problems().is_empty() {
            table.add(
                Rule::Interval,
                "no_showers",
                "no_showers = false orders nothing",
                "end the order that forbade showers by its `until`",
            );
        }
    }

    /// True if it runs on `day` for the exit site `id`.
    pub fn runs_on(&self, day: NaiveDate, id: &str) -> bool {
        self.from <= day
            && self.until.is_none_or(|until| day <= until)
            && self.exit.as_ref().is_none_or(|exit| exit == id)
    }

    /// True if both give an interval, not the same, for some day and exit.
    pub fn disagrees_with(&self, other: &CareOrder) -> bool {
        let runs_together =
            self.until.is_none_or(|until| other.from <= until) && other.until.is_none_or(|until| self.from <= until);
        let is_same_exit = self.exit.is_none() || other.exit.is_none() || self.exit == other.exit;
        runs_together
            && is_same_exit
            && self.interval.is_some()
            && other.interval.is_some()
            && self.interval != other.interval
    }
}

fields! {
    /// A caregiver.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct Caregiver {
        /// Code, never a name.
        pub code: String = needed person(&[]),
        /// Relation to the patient.
        pub relation: Option<String>,
        /// Person who reported it, by code.
        pub by: Option<String> = maybe person(&[]),
        /// Reason.
        pub why: Option<String>,
        /// The place of the code in the file.
        pub span: Span = place("code"),
    }
}

words! {
    /// Reason for the end of support.
    pub enum EndReason {
        /// A new heart.
        Transplant = "transplant",
        /// The own heart recovered.
        Recovery = "recovery",
        /// Death.
        Death = "death",
        /// Another program looks after the patient.
        Transferred = "transferred",
        /// Otherwise.
        Other = "other",
    }
}

fields! {
    /// The end of support: nothing is due from this day on.
    #[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
    pub struct SupportEnd {
        /// Date.
        pub on: NaiveDate,
        /// Reason for the end of support.
        pub why: EndReason,
        /// Person who reported it, by code.
        #[serde(skip)]
        pub by: Option<String> = maybe person(&[]),
        /// The place of the day in the file.
        #[serde(skip)]
        pub span: Span = place("on"),
    }
}

fn check_until(table: &mut Table, from: NaiveDate, until: Option<NaiveDate>) {
    if let Some(until) = until.filter(|until| *until < from) {
        table.add(
            Rule::EndsBeforeItBegins,
            "until",
            format!("it ends on {until}, before it begins on {from}"),
            "correct the one that is wrong",
        );
    }
}
