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
    /// So many.
    Count(i64),
}

words! {
    /// Where on the abdomen the line leaves.
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
    pub struct Exit {
        /// Its id, such as "a".
        pub id: String,
        /// Where on the abdomen the line leaves.
        pub at as "where": Where,
        /// Its first day, POD 0.
        pub from: NaiveDate,
        /// Its last day, included.
        pub until: Option<NaiveDate>,
        /// Why there is one.
        pub why: ExitReason,
        /// Who said so.
        pub by: Option<String>,
        /// The place of its id in the file.
        pub span: Span = place("id"),
        /// The place of its first day in the file.
        pub from_span: Span = place("from"),
    }
    then check
}

impl Exit {
    fn check(&self, table: &mut Table) {
        check_until(table, self.from, self.until);
    }

    /// Whether the exit is open on `day`.
    pub fn is_open(&self, day: NaiveDate) -> bool {
        self.from <= day && self.until.is_none_or(|until| day <= until)
    }
}

words! {
    /// How a household tells what happened.
    pub enum Reports {
        /// Every change as it happens.
        Each = "each",
        /// By a log now and then.
        Log = "log",
    }
}

fields! {
    /// Where the patient is, from a day on until the next row.
    #[derive(Debug, Clone, PartialEq, Eq)]
    pub struct CareRow {
        /// The first day.
        pub from: NaiveDate,
        /// Where the patient is.
        pub place: CarePlace,
        /// Each (default): every change as it happens; log: by a log now and then.
        pub reports: Reports = or(Reports::Each),
        /// The zone, where it is not the policy's.
        pub time_zone: Option<Tz> = maybe zone(),
        /// Who said so.
        pub by: Option<String> = maybe person(&[]),
        /// Why.
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
    pub struct Order {
        /// Its first day.
        pub from: NaiveDate,
        /// Its last day, included.
        pub until: Option<NaiveDate>,
        /// How often the dressing is changed; None where it is only about showers.
        pub interval: Option<Interval> = from(Interval::read),
        /// No showers while it runs.
        pub no_showers: bool = default,
        /// The exit site that it is for; none means all.
        pub exit: Option<String>,
        /// Who gave it.
        pub by: String = needed person(&[]),
        /// Why.
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

impl Order {
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

    /// Whether it runs on `day` for the exit site `id`.
    pub fn runs_on(&self, day: NaiveDate, id: &str) -> bool {
        self.from <= day
            && self.until.is_none_or(|until| day <= until)
            && self.exit.as_ref().is_none_or(|exit| exit == id)
    }

    /// Whether both give an interval, not the same, for some day and exit.
    pub fn disagrees_with(&self, other: &Order) -> bool {
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
        /// A code, never a name.
        pub code: String = needed person(&[]),
        /// What the caregiver is to the patient.
        pub relation: Option<String>,
        /// Who said so.
        pub by: Option<String> = maybe person(&[]),
        /// Why.
        pub why: Option<String>,
        /// The place of the code in the file.
        pub span: Span = place("code"),
    }
}

words! {
    /// Why support ended.
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
    pub struct End {
        /// The day.
        pub on: NaiveDate,
        /// Why support ended.
        pub why: EndReason,
        /// Who said so.
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
