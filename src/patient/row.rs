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
    /// Not given; zero if the records begin at the implant.
    NotGiven,
    /// Unknown.
    Unknown,
    /// A count.
    Count(i64),
}

words! {
    /// Location of the exit site on the abdomen.
    pub enum Where {
        /// Right upper.
        RightUpper = "right-upper",
        /// Left upper.
        LeftUpper = "left-upper",
        /// Right lower.
        RightLower = "right-lower",
        /// Left lower.
        LeftLower = "left-lower",
        /// Midline.
        Midline = "midline",
        /// Other.
        Other = "other",
    }
}

words! {
    /// Reason for an exit site.
    pub enum ExitReason {
        /// First implant.
        Implant = "implant",
        /// Pump exchange.
        Exchange = "exchange",
        /// Relocation of the driveline.
        Relocation = "relocation",
        /// Second pump.
        SecondPump = "second-pump",
    }
}

fields! {
    /// An exit site. Its `from` is post-operative day 0.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct ExitSite {
        /// Id, such as "a".
        pub id: String,
        /// Location of the exit site on the abdomen.
        pub at as "where": Where,
        /// First day, POD 0.
        pub from: NaiveDate,
        /// Last day, included.
        pub until: Option<NaiveDate>,
        /// Reason for the exit site.
        pub why: ExitReason,
        /// Person who reported it, by code.
        pub by: Option<String>,
        /// The span of its id in the file.
        pub span: Span = place("id"),
        /// The span of its first day in the file.
        pub from_span: Span = place("from"),
    }
    then check
}

impl ExitSite {
    fn check(&self, table: &mut Table) {
        check_until(table, self.from, self.until);
    }

    /// Returns true if the exit site is open on `day`.
    pub fn is_open(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }
}

words! {
    /// A household's way of reporting.
    pub enum Reports {
        /// Every change as it happens.
        Each = "each",
        /// In a log, periodically.
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
        /// Reporting: each change as it happens (each, the default), or in a log (log).
        pub reports: Reports = or(Reports::Each),
        /// Time zone, if it differs from the policy's.
        pub time_zone: Option<Tz> = maybe zone(),
        /// Person who reported it, by code.
        pub by: Option<String> = maybe person(&[]),
        /// Reason.
        pub why: Option<String>,
        /// The span of the row in the file.
        pub span: Span = place("from"),
        /// The span of its time zone in the file.
        pub zone_span: Span = place("time_zone"),
    }
}

fields! {
    /// A clinician's order; while in force, it overrides the policy's phases.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CareOrder {
        /// First day.
        pub from: NaiveDate,
        /// Last day, included.
        pub until: Option<NaiveDate>,
        /// Interval of changes; `None` if the order is only about showers.
        pub interval: Option<Interval> = from(Interval::read),
        /// True if showers are not allowed while it is in force.
        pub no_showers: bool = default,
        /// Exit site; all if omitted.
        pub exit: Option<String>,
        /// Clinician who gave it, by code.
        pub by: String = needed person(&[]),
        /// Reason.
        pub why: Option<String>,
        /// The span of the order in the file.
        pub span: Span = place("from"),
        /// The span of its interval in the file.
        pub interval_span: Span = place("every_days"),
        /// The span of the clinician's code in the file.
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
                "an order takes exactly one of every_days, on_weekdays, no_showers",
                "keep one of them, and write a second order for another",
            );
        }
        if table.has("no_showers") && !self.no_showers && table.problems().is_empty() {
            table.add(
                Rule::Interval,
                "no_showers",
                "no_showers = false has no effect",
                "set `until` on the order that does not allow showers",
            );
        }
    }

    /// Returns true if the order is in force on `day` for the exit site `id`.
    pub fn runs_on(&self, day: NaiveDate, id: &str) -> bool {
        self.from <= day
            && self.until.is_none_or(|until| day <= until)
            && self.exit.as_ref().is_none_or(|exit| exit == id)
    }

    /// Returns true if both orders give an interval, and the intervals differ on a common day and exit site.
    pub(crate) fn disagrees_with(&self, other: &CareOrder) -> bool {
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
        /// The span of the code in the file.
        pub span: Span = place("code"),
    }
}

words! {
    /// Reason for the end of support.
    pub enum EndReason {
        /// Heart transplant.
        Transplant = "transplant",
        /// Recovery of the native heart.
        Recovery = "recovery",
        /// Death.
        Death = "death",
        /// Transfer to another program.
        Transferred = "transferred",
        /// Other.
        Other = "other",
    }
}

fields! {
    /// The end of support: nothing is due from this day on.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct SupportEnd {
        /// Date.
        pub on: NaiveDate,
        /// Reason for the end of support.
        pub why: EndReason,
        /// Person who reported it, by code.
        pub by: Option<String> = maybe person(&[]),
        /// The span of the date in the file.
        pub span: Span = place("on"),
    }
}

/// The end of support, as reports print it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, serde::Serialize, schemars::JsonSchema)]
pub struct Ended {
    /// The date.
    pub on: NaiveDate,
    /// The reason.
    pub why: EndReason,
}

impl From<&SupportEnd> for Ended {
    fn from(end: &SupportEnd) -> Ended {
        Ended { on: end.on, why: end.why }
    }
}

fn check_until(table: &mut Table, from: NaiveDate, until: Option<NaiveDate>) {
    if let Some(until) = until.filter(|until| *until < from) {
        table.add(
            Rule::EndsBeforeItBegins,
            "until",
            format!("it ends on {until}, before it begins on {from}"),
            "correct the wrong date",
        );
    }
}
